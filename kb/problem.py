"""What is wrong, where it stands and what to do about it."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from difflib import get_close_matches
from typing import NamedTuple


class Place(NamedTuple):
    """A place in one of the book's files; line and column count from 1."""

    file: str
    line: int = 1
    column: int = 1

    def __str__(self) -> str:
        return f"{self.file}:{self.line}:{self.column}"

    def right(self, columns: int) -> Place:
        """Return the place so many columns further on the same line."""
        return Place(self.file, self.line, self.column + columns)


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing that is wrong: its place, what was found, what to do.

    `edition` names the edition the problem belongs to, where the model itself is free of it.
    """

    place: Place
    what: str
    fix: str
    edition: str = ""

    def __str__(self) -> str:
        edition = f" ({self.edition})" if self.edition else ""
        return _CONTROL.sub(_visible, f"{self.place}: {self.what}{edition}; {self.fix}")


_CONTROL = re.compile(r"[\x00-\x1f\x7f-\x9f\u200e\u200f\u202a-\u202e\u2066-\u2069]")
"""Characters that would do something to a terminal, or turn the order of its text."""


def _visible(match: re.Match[str]) -> str:
    return match[0].encode("unicode_escape").decode()


class BookError(Exception):
    """The book, or something typed for it, cannot be read; carries every problem found."""

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems = tuple(problems)
        super().__init__("\n".join(map(str, self.problems)))


def nearest(word: str, known: Iterable[str]) -> str | None:
    """Return the known word that lies nearest to a mistyped one, or None."""
    candidates = list(known)
    same = [candidate for candidate in candidates if candidate.lower() == word.lower()]
    close = same or get_close_matches(word, candidates, n=1, cutoff=0.6)
    if not close:
        lowered = {candidate.lower(): candidate for candidate in reversed(candidates)}
        close = [lowered[near] for near in get_close_matches(word.lower(), lowered, n=1)]
    if not close and len(word) > 1:
        close = [candidate for candidate in candidates if candidate.startswith(word)][:1]
    return close[0] if close else None


def offer(word: str, known: Iterable[str], otherwise: str) -> str:
    """Return the advice for an unknown word: the nearest known one, else `otherwise`."""
    near = nearest(word, known)
    return f"did you mean '{near}'?" if near else otherwise
