"""Words of the glossary: found in a page's text where each is first used, and explained by slips."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from html import escape as html_escape

from kb.content.addresses import list_address, way
from kb.content.anchors import slug_words
from kb.content.reference import Term
from kb.pages.templates import escape, piece

_WORD = re.compile(r"([^\W_]+)")
_GLUE = frozenset("-‐‑_")
_ALIKE = re.compile(r"\s+|[-‐‑]")


@dataclass(frozen=True, slots=True)
class Saying:
    """A term or a slang word of it as it stands in a text: its words, and what stands between them."""

    text: str
    term: Term
    words: tuple[str, ...]
    between: tuple[str, ...]


class Glossary:
    """The words of a book's glossary, by the first word of each.

    `anchors` gives for each term its place on the Glossary page.
    """

    def __init__(self, terms: Mapping[str, Term]) -> None:
        self.terms = terms
        self.anchors = _anchors(terms)
        self.by_first: dict[str, list[Saying]] = {}
        self._rows: dict[tuple[str, str], str] = {}
        for term in terms.values():
            for text in (term.term, *term.slang):
                self._add(text, term)
        for sayings in self.by_first.values():
            sayings.sort(key=lambda one: -len(one.words))

    def _add(self, text: str, term: Term) -> None:
        parts = _WORD.split(text.strip())
        words, between = tuple(word.casefold() for word in parts[1::2]), tuple(map(_level, parts[2:-1:2]))
        if not words:
            return
        one = Saying(text, term, words, between)
        for first in _forms(words[0]) if len(words) == 1 else words[:1]:
            self.by_first.setdefault(first, []).append(one)

    def slip_rows(self, here: str, term: Term) -> str:
        """Return the rows of a term's slip as seen from a page; they are the same in all of a folder."""
        key = (here.rpartition("/")[0], term.term)
        if key not in self._rows:
            self._rows[key] = "".join(self._about(here, term))
        return self._rows[key]

    def _about(self, here: str, term: Term) -> Iterator[str]:
        if term.slang:
            yield piece("slip_row").fill({"head": "Also called", "text": escape(", ".join(term.slang))})
        if term.see:
            links = ", ".join(self.link(here, name, name) for name in term.see)
            yield piece("slip_row").fill({"head": "See also", "text": links})
        there = self.link(here, term.term, f"{term.term} in the glossary")
        yield piece("slip_row").fill({"head": "All words", "text": there})

    def link(self, here: str, name: str, text: str) -> str:
        """Return a link, as HTML, to a term on the Glossary page."""
        there = way(here, list_address("glossary"), self.anchors[name]) if name in self.anchors else ""
        return piece("link").fill({"way": there, "text": escape(text)}) if there else escape(text)


@dataclass
class PageWords:
    """The words of the glossary that a page has used so far, each marked where it is first used.

    Args:
        glossary: the book's glossary.
        taken: the ids that stand on the page already.

    """

    glossary: Glossary
    taken: Mapping[str, object] = field(default_factory=dict)
    used: list[tuple[int, Saying]] = field(default_factory=list)
    """The number on the page and the saying of each mark made so far."""
    _told: set[str] = field(default_factory=set)
    _last: int = 0

    def mark(self, text: str) -> str:
        """Return a running text as HTML, with each word that it is the first to use linked to its slip."""
        parts = _WORD.split(text)
        words = [word.casefold() for word in parts[1::2]]
        by_first = self.glossary.by_first
        marked: list[str] = []
        done = end = 0  # done counts parts, end counts words
        for at in [at for at, word in enumerate(words) if word in by_first]:
            saying = self._saying(words, parts, at) if at >= end else None
            if saying is None:
                continue
            end = at + len(saying.words)
            if saying.text not in self._told:
                self._told.add(saying.text)
                self.used.append((self._number(), saying))
                shown = _text("".join(parts[2 * at + 1 : 2 * end]))
                marked.append(_text("".join(parts[done : 2 * at + 1])))
                marked.append(piece("term").fill({"index": str(self._last), "text": shown}))
                done = 2 * end
        return "".join((*marked, _text("".join(parts[done:])))) if marked else _text(text)

    def _saying(self, words: list[str], parts: list[str], at: int) -> Saying | None:
        """Return the longest saying that begins with a word."""
        for one in self.glossary.by_first[words[at]]:
            end = at + len(one.words)
            if (
                words[at : end - 1] == list(one.words[:-1])
                and end <= len(words)
                and words[end - 1] in _forms(one.words[-1])
                and tuple(map(_level, parts[2 * at + 2 : 2 * end - 1 : 2])) == one.between
                and parts[2 * at] not in _GLUE
                and parts[2 * end] not in _GLUE
            ):
                return one
        return None

    def _number(self) -> int:
        """Return the next number whose ids are free: a heading may be called `Term 1`."""
        self._last += 1
        while self.taken.keys() & {f"word-{self._last}", f"term-{self._last}"}:
            self._last += 1
        return self._last

    def slips(self, here: str) -> str:
        """Return the slips of the words marked so far, as HTML, for the end of the sheet."""
        return "".join(
            piece("term_slip").fill(
                {
                    "index": str(number),
                    "title": escape(saying.term.term),
                    "means": escape(saying.term.means),
                    "rows": self.glossary.slip_rows(here, saying.term),
                }
            )
            for number, saying in self.used
        )


def _text(text: str) -> str:
    """Return a text as Markdown has it in HTML, so that a sheet reads the same with a glossary or without."""
    return html_escape(text, quote=False).replace('"', "&quot;")


def _forms(word: str) -> tuple[str, str, str]:
    return word, f"{word}s", f"{word}es"


def _level(between: str) -> str:
    """Return what stands between two words, with a hyphen and a space alike."""
    return " " if _ALIKE.fullmatch(between) else between


def _anchors(terms: Mapping[str, Term]) -> dict[str, str]:
    """Return the id of each term's entry: `word-limber-hole`; names that come to the same are numbered."""
    anchors: dict[str, str] = {}
    taken: set[str] = set()
    for name in terms:
        wanted = anchor = "-".join(["word", *slug_words(name)])
        number = 1
        while anchor in taken:
            number += 1
            anchor = f"{wanted}-{number}"
        taken.add(anchor)
        anchors[name] = anchor
    return anchors
