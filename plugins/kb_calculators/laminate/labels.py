"""Labels of pieces: a prefix and a number. All labels of one prefix are a run."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator
from itertools import groupby, pairwise
from operator import attrgetter
from typing import NamedTuple

from kb import Refusal

_LABEL = re.compile(r"(?P<prefix>.*?)(?P<number>[0-9]{1,9})")
_LONGEST = 40
_SPACES_AND_DASHES = re.compile(r"[\s_\-\u2010-\u2015\u2212]+")


class Label(NamedTuple):
    """A label as all spellings of it are read; its text is the one that lists print.

    >>> str(Label("B", 12))
    'B-12'
    """

    prefix: str
    number: int

    def __str__(self) -> str:
        return f"{self.prefix}-{self.number}" if self.prefix else str(self.number)


def read_label(text: str, parameter: str, row: int) -> Label:
    """Return a label of a table's row; capitals, spaces, dashes and leading zeros make no difference.

    >>> read_label("b 012", "pieces", 1)
    Label(prefix='B', number=12)
    """
    body = text.strip()
    match = _LABEL.fullmatch(body)
    if match is None or len(body) > _LONGEST:
        raise Refusal(
            parameter,
            f"have the label '{body[:_LONGEST]}' in row {row}",
            "write a prefix and a number, such as B-12",
        )
    return Label(_SPACES_AND_DASHES.sub("", match["prefix"]).upper(), int(match["number"]))


def lay_order(labels: Iterable[Label]) -> Callable[[Label], tuple[int, int]]:
    """Return what sorts labels run by run and by number, D2 before D10, as a hand would lay them out."""
    runs = sorted({label.prefix for label in labels}, key=_natural)
    rank = {prefix: at for at, prefix in enumerate(runs)}
    return lambda label: (rank[label.prefix], label.number)


def _natural(prefix: str) -> list[tuple[int, str]]:
    parts = re.findall(r"[0-9]+|[^0-9]+", prefix)
    return [(int(part), "") if part.isascii() and part.isdigit() else (-1, part) for part in parts]


def listed(labels: Iterable[Label]) -> str:
    """Return labels as one text, each told once."""
    return ", ".join(map(str, dict.fromkeys(labels)))


def gaps(in_order: Iterable[Label], first_number: int | None) -> Iterator[str]:
    """Go through what every run lacks, from first_number or else its least number up to its greatest.

    >>> list(gaps([Label("B", 2), Label("B", 3), Label("B", 7)], 1))
    ['B-1', 'B-4 to B-6']
    """
    for prefix, run in groupby(in_order, attrgetter("prefix")):
        numbers = [label.number for label in run]
        least = numbers[0] if first_number is None else min(numbers[0], first_number)
        for below, above in pairwise((least - 1, *numbers)):
            first, last = Label(prefix, below + 1), Label(prefix, above - 1)
            if first.number <= last.number:
                yield str(first) if first == last else f"{first} to {last}"
