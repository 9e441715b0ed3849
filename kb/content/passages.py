"""A page's running text: what is read as prose, where it stands, and what its author marks as meant."""

from __future__ import annotations

import re
from bisect import bisect_right
from dataclasses import dataclass, field

from markdown_it.token import Token

from kb.content.markdown import LIVE
from kb.content.page import Page
from kb.content.reference import SIGNAL_WORDS
from kb.language.mentions import NO_WORD
from kb.problem import Place

_SIGNALS = (*SIGNAL_WORDS, "hazard")


@dataclass(frozen=True, slots=True)
class Passage:
    """A paragraph, heading or table cell.

    In `text` `NO_WORD` stands for what is no word: values, code, pictures; `plain` is as long and has no
    words of links either. `pieces` pairs places in `text` with places in `source`, the passage as
    written; `spots` says where each line of that begins in the file.
    """

    text: str
    plain: str
    emphasised: tuple[tuple[int, int], ...]
    is_heading: bool
    is_signal: bool
    source: str
    pieces: tuple[tuple[int, int], ...]
    spots: tuple[Place, ...]

    def place(self, at: int, words: str = "") -> Place:
        """Return where a place of `text` stands in the file; `words` are those that stand there."""
        begin, source = self.pieces[bisect_right(self.pieces, (at, len(self.source))) - 1]
        near = source + at - begin
        first = words or self.text[at : at + 1]
        exact = near if self.source.startswith(first, near) else self.source.find(first, source)
        return self.source_place(exact if exact >= 0 else source)

    def source_place(self, at: int) -> Place:
        """Return where a place of `source` stands in the file."""
        before = self.source[:at]
        line = before.count("\n")
        return self.spots[line].right(len(before) - before.rfind("\n") - 1)


@dataclass(frozen=True, slots=True)
class Step:
    """An item of an ordered list: where it begins, and its own paragraphs."""

    place: Place
    passages: tuple[Passage, ...]


@dataclass(frozen=True, slots=True)
class Mark:
    """A comment `<!-- meant: reason -->`; what stands on the lines it covers is meant."""

    place: Place
    reason: str
    first: int
    last: int

    def covers(self, place: Place) -> bool:
        """Tell whether what stands at a place is meant."""
        return self.first <= place.line <= self.last


@dataclass(slots=True)
class Prose:
    """The running text of a page, and the titles of its signal boxes."""

    passages: list[Passage] = field(default_factory=list)
    steps: list[Step] = field(default_factory=list)
    marks: list[Mark] = field(default_factory=list)
    titles: list[str] = field(default_factory=list)


_MEANT = re.compile(r"<!--\s*meant\s*(?::(.*?))?-->", re.DOTALL | re.IGNORECASE)


def read_prose(page: Page, text: str) -> Prose:
    """Return the running text of a page; `text` is its file's, for the columns."""
    return _Reader(page, text.split("\n")).read()


@dataclass(slots=True)
class _Item:
    lines: tuple[int, int]
    level: int
    is_step: bool
    passages: list[Passage] = field(default_factory=list)


class _Reader:
    def __init__(self, page: Page, lines: list[str]) -> None:
        self.page = page
        self.lines = lines
        self.prose = Prose()
        self.items: list[_Item] = []
        self.signals = 0
        self.table = (0, 0)
        self.is_heading = False
        self.last = Place(page.file, 0)
        """The end of the last text that was found in a line: cells of a row come in its order."""

        self.above: list[tuple[re.Match[str], Place]] = []
        """The marks above the block that comes."""

    def read(self) -> Prose:
        for token in self.page.tokens:
            kind = token.type
            if self.above and kind not in ("html_block", "ordered_list_open", "bullet_list_open"):
                self.mark_below(_span(token))
            if kind == "inline":
                self.inline(token)
            elif kind.startswith("container_"):
                self.container(token)
            elif kind == "list_item_open":
                self.items.append(_Item(_span(token), token.level, "step" in token.meta))
            elif kind == "list_item_close" and self.items:  # a footnote takes a list's beginning with it
                self.end_item()
            elif kind in ("table_open", "table_close"):
                self.table = _span(token) if token.nesting > 0 else (0, 0)
            elif kind in ("heading_open", "heading_close"):
                self.is_heading = token.nesting > 0
            elif kind == "html_block":
                self.mark_block(token)
        self.mark_below((0, 0))
        return self.prose

    def container(self, token: Token) -> None:
        kind = token.type.removeprefix("container_").rsplit("_", 1)[0]
        if kind not in _SIGNALS:
            return
        self.signals += token.nesting
        if token.nesting > 0 and kind != "hazard":
            self.prose.titles.append(token.info.strip()[len(kind) :].strip())

    def end_item(self) -> None:
        item = self.items.pop()
        if item.is_step and item.passages:
            self.prose.steps.append(Step(item.passages[0].place(0), tuple(item.passages)))

    def inline(self, token: Token) -> None:
        if token.map is None:
            return  # a footnote that stands in the text has no place of its own
        passage, comments = _passage(token, self.spots(token), self.is_heading, self.signals > 0)
        self.prose.passages.append(passage)
        if self.items and token.level == self.items[-1].level + 2:
            self.items[-1].passages.append(passage)
        around = self.items[-1].lines if self.items else self.table if any(self.table) else _span(token)
        for at, comment in comments:
            if match := _MEANT.fullmatch(comment):
                self.mark(match, passage.source_place(at), around)

    def mark(self, match: re.Match[str], place: Place, lines: tuple[int, int]) -> None:
        self.prose.marks.append(Mark(place, " ".join((match[1] or "").split()), *lines))

    def spots(self, token: Token) -> tuple[Place, ...]:
        """Return where each line of a text begins in the file."""
        begin, spots = (token.map or [0])[0], []
        for number, content in enumerate(token.content.split("\n"), begin):
            line = self.lines[number] if number < len(self.lines) else ""
            start = self.last.column - 1 if self.last.line == number + 1 else 0
            at = max(line.find(content.strip(), start), 0)
            self.last = Place(self.page.file, number + 1, at + len(content.strip()) + 1)
            lead = len(content) - len(content.lstrip())
            spots.append(Place(self.page.file, number + 1, at + 1 - lead))
        return tuple(spots)

    def mark_block(self, token: Token) -> None:
        begin, _ = _span(token)
        for match in _MEANT.finditer(token.content):
            line = begin + token.content.count("\n", 0, match.start())
            column = (self.lines[line - 1] if line <= len(self.lines) else "").find("<!--")
            place = Place(self.page.file, line, max(column, 0) + 1)
            if self.items:
                self.mark(match, place, self.items[-1].lines)
            else:
                self.above.append((match, place))

    def mark_below(self, lines: tuple[int, int]) -> None:
        """Let the marks that wait cover the block that begins, of a list its first item."""
        for match, place in self.above:
            self.mark(match, place, lines)
        self.above.clear()


def _span(token: Token) -> tuple[int, int]:
    """Return the first and the last line of a token, from 1; (0, 0) where it only ends another."""
    return (token.map[0] + 1, token.map[1]) if token.map else (0, 0)


def _passage(
    token: Token, spots: tuple[Place, ...], is_heading: bool, is_signal: bool
) -> tuple[Passage, list[tuple[int, str]]]:
    """Return a paragraph, heading or cell, and the comments in it with their places in its source."""
    text, plain, at, source, links = "", "", 0, token.content, 0
    begun: list[int] = []
    emphasised: list[tuple[int, int]] = []
    pieces = [(0, 0)]
    comments: list[tuple[int, str]] = []
    for child in token.children or ():
        kind = child.type
        words = _words(child)
        if kind == "em_open":
            begun.append(len(text))
        elif kind == "em_close" and begun:
            emphasised.append((begun.pop(), len(text)))
        elif kind in ("link_open", "link_close"):
            links += child.nesting
        elif kind == "html_inline" and (found := source.find(child.content, at)) >= 0:
            comments.append((found, child.content))
            at = found + len(child.content)
        if words:
            found = source.find(child.content or words, at)
            if found >= 0:
                pieces.append((len(text), found))
                at = found + len(child.content or words)
            text += words
            plain += NO_WORD * len(words) if links else words
    return Passage(
        text, plain, tuple(emphasised), is_heading, is_signal, source, tuple(pieces), spots
    ), comments


def _words(token: Token) -> str:
    """Return how a part of a text reads: as its words, or as something that is no word."""
    if token.type in ("softbreak", "hardbreak"):
        return "\n"
    if token.type in ("text", "text_special"):
        return token.content
    return NO_WORD if token.type in (LIVE, "code_inline", "image") else ""
