"""The words of a text as a search knows them, and the file that the browser searches.

`search.js` takes words from a query and from what it shows by the same rules: one changes with the other.
"""

from __future__ import annotations

import json
import re
import unicodedata
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Literal, get_args

Kind = Literal[
    "sheet", "step", "heading", "hold", "measure", "number", "part", "word", "limit", "input", "calculator",
    "list",
]  # fmt: skip
KINDS: tuple[Kind, ...] = get_args(Kind)

_LETTERS = (
    r"0-9A-Za-z\u00aa\u00b2\u00b3\u00b9\u00b5\u00ba\u00c0-\u00d6\u00d8-\u00f6\u00f8-\u1fff\u2070-\u2079\u2080-\u2089"
    r"\u2c00-\u2dff\u3005-\ud7ff\uf900-\ufdff\ufe70-\ufefc\uff10-\uff19\uff21-\uff3a\uff41-\uff5a"
)
_HYPHENS = r"\-‐‑"
_VULGAR = "¼-¾⅐-⅞"
_WORD = re.compile(
    rf"[A-Za-z]+(?![{_LETTERS}{_HYPHENS}'’])"  # most words, the quickest way
    rf"|\d+[ {_HYPHENS}]\d+/\d+|\d+/\d+"  # 1 1/2, 5/8
    rf"|\d+[ {_HYPHENS}]?[{_VULGAR}]|[{_VULGAR}]"  # 1½
    r"|\d+(?:[.,]\d+)+"  # 46.5
    rf"|[A-Za-z]{{1,4}}\d*(?:[{_HYPHENS}]\d+)+[A-Za-z]?(?![{_LETTERS}])"  # B-12, Q26-001
    rf"|\d+[{_HYPHENS}][A-Za-z](?![{_LETTERS}])"  # 12-B
    rf"|[{_LETTERS}]+(?:['’][{_LETTERS}]+)*",
    re.ASCII,
)
_BEFORE_VULGAR = re.compile(rf"(\d)[ {_HYPHENS}]?(?=[{_VULGAR}])")
_BETWEEN = re.compile(rf"[ {_HYPHENS}]+")
_APOSTROPHE = re.compile("['’]s$|['’]")
_ACCENTS = re.compile("[\u0300-\u036f]")
_FIRST, _MIDDLE, _DIGITS, _LEADING = ord("0"), ord("]"), 44, 34


@dataclass(frozen=True, slots=True)
class Entry:
    """One thing to be found: what it is, the anchor where it stands, and its words.

    `mark` is short and stands before it: a step's number, a value, a verdict; of a word, its slang.
    """

    kind: Kind
    anchor: str
    title: str = ""
    text: str = ""
    mark: str = ""


@dataclass(frozen=True, slots=True)
class Shelf:
    """A page with all that is to be found on it; `way` leads there from the top of the site."""

    way: str
    number: str
    title: str
    entries: Sequence[Entry]


def words(text: str) -> list[str]:
    """Return the words of a text in their order, each as a search compares it.

    >>> words("Bed the tank's core B-12 on 1 1/2 in of Größe 46.5")
    ['bed', 'the', 'tank', 'core', 'b12', 'on', '1-1/2', 'in', 'of', 'grosse', '46.5']
    """
    return [form for word in _WORD.findall(text) if (form := _form(word))]


def _form(word: str) -> str:
    if word.isascii() and word.isalnum():
        return word.lower()
    word = _BEFORE_VULGAR.sub(r"\1-", word).lower().replace("ß", "ss")
    plain = unicodedata.normalize("NFKD", word).replace("⁄", "/")
    plain = _ACCENTS.sub("", plain)
    if "/" in plain:
        return _BETWEEN.sub("-", plain)
    return _APOSTROPHE.sub("", _BETWEEN.sub("", plain).replace(",", ""))


class _Forms(dict[str, str]):
    """The form of each word as it is written, worked out once."""

    def __missing__(self, word: str) -> str:
        form = self[word] = _form(word)
        return form


def search_file(shelves: Iterable[Shelf], sayings: Iterable[Sequence[str]]) -> str:
    """Return the script that hands a search its data.

    Everything is worked out here: each page with its entries, a line each, and a digit for what each is; the
    sorted words, and for each the numbers of the entries that have it in their title and in their text.
    `sayings` are words of one meaning.
    """
    forms = _Forms()
    in_title: dict[str, list[int]] = {}
    in_text: dict[str, list[int]] = {}
    kinds: list[str] = []
    pages: list[tuple[str, str, str, int, str]] = []
    for shelf in shelves:
        lines = "\n".join("\t".join(_fields(entry)) for entry in shelf.entries)
        pages.append((shelf.way, shelf.number, shelf.title, len(shelf.entries), lines))
        for entry in shelf.entries:
            number = len(kinds)
            kinds.append(f"{KINDS.index(entry.kind):x}")
            head, rest = _searched(shelf, entry)
            titled = set(map(forms.__getitem__, _WORD.findall(head)))
            for word in titled:
                in_title.setdefault(word, []).append(number)
            for word in set(map(forms.__getitem__, _WORD.findall(rest))) - titled:
                in_text.setdefault(word, []).append(number)
    known = sorted((in_title.keys() | in_text.keys()) - {""})
    data = {
        "kinds": KINDS,
        "pages": pages,
        "entries": "".join(kinds),
        "words": " ".join(known),
        "postings": " ".join(
            f"{_numbers(in_title.get(one, ()))}!{_numbers(in_text.get(one, ()))}" for one in known
        ),
        "sayings": list(_alike(sayings)),
    }
    # Nothing but ASCII, and a text for each page: a browser reads one with wide letters in it half as fast.
    return f"keelbookSearch.take({json.dumps(data, separators=(',', ':'))});\n"


def _fields(entry: Entry) -> Iterator[str]:
    for text in (entry.anchor, entry.mark, entry.title, entry.text):
        yield " ".join(text.split())


def _searched(shelf: Shelf, entry: Entry) -> tuple[str, str]:
    """Return what counts as an entry's title, and its other words."""
    if entry.kind == "sheet":
        return f"{shelf.number} | {entry.title}", f"{entry.mark} | {entry.text}"
    if entry.kind == "step":
        return entry.title, entry.text
    if entry.kind == "word":
        return f"{entry.title} | {entry.mark}", entry.text
    return entry.title, f"{entry.mark} | {entry.text}"


def _alike(sayings: Iterable[Sequence[str]]) -> Iterator[list[str]]:
    for texts in sayings:
        said = [" ".join(words(text)) for text in texts]
        alike = list(dict.fromkeys(one for one in said if one))
        if len(alike) > 1:
            yield alike


def _numbers(numbers: Sequence[int]) -> str:
    """Return rising numbers as text: each less the one before it, its last digit from another alphabet.

    The last digit is one of 44 from `0` on, those before it one of 34 from `]` on; most take one letter.
    """
    before = 0
    parts = []
    for number in numbers:
        step = number - before
        before = number
        parts.append(_SMALL[step] if step < len(_SMALL) else _digits(step))
    return "".join(parts)


def _digits(number: int) -> str:
    number, last = divmod(number, _DIGITS)
    text = chr(_FIRST + last)
    while number:
        number, digit = divmod(number, _LEADING)
        text = chr(_MIDDLE + digit) + text
    return text


_SMALL = tuple(_digits(number) for number in range(_DIGITS * _LEADING))
