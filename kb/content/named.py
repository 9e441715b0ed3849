"""Hazards and sources that pages call by name, and whether the book has them."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator

from kb.content.book import Book
from kb.content.head import Named
from kb.problem import Problem, offer


def name_problems(book: Book) -> Iterator[Problem]:
    """Find hazards and sources on pages that are not in the files of the book's `reference` folder."""
    reference = book.reference
    for page in book.pages:
        yield from _unknown(book, "hazard", page.hazards, reference.hazards, "cautions.yml")
        yield from _unknown(book, "source", page.head.sources, reference.sources, "sources.yml")


def _unknown(
    book: Book, noun: str, named: Iterable[Named], known: Collection[str], file: str
) -> Iterator[Problem]:
    where = f"{book.settings.content}/reference/{file}"
    for one in named:
        if one.text in known:
            continue
        if file not in book.reference.files and (book.root / where).is_file():
            continue  # a fault in the file is told already, and may be of this very entry
        fix = offer(one.text, known, f"add it to {where}")
        yield Problem(one.place, f"there is no {noun} '{one.text}'", fix)
