"""Anchors of headings and steps, from the source text without its values, so that a value moves no link."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from markdown_it.token import Token

_STEP_WORDS = 6
_OWN = re.compile(r"\s*\{#([^\s{}]*)\}\s*$")
_ID = re.compile(r"[a-z][a-z0-9-]*")
_BETWEEN_WORDS = re.compile(r"[\W_]+")
_HOLDS_STEPS = ("when", "shop", "public")


@dataclass(frozen=True, slots=True)
class AnchorFault:
    """An anchor written by hand that cannot stand: its text, the inline token's line, and why."""

    text: str
    line: int
    why: str


def name_anchors(tokens: Sequence[Token], taken: Iterable[str]) -> tuple[dict[str, Token], list[AnchorFault]]:
    """Give every heading and step its anchor (`meta["anchor"]`) and every step its number (`meta["step"]`).

    An anchor is `{#id}` at the end of a heading or of a step's first line, else made of its words; a second
    one of the same words gets `-2`. Steps are the items of ordered lists that stand in no other list.
    Returns the opening token of each anchor, and those by hand that cannot stand; `taken` are ids used
    otherwise.
    """
    anchors: set[str] = set(taken)
    named: dict[str, Token] = {}
    faults: list[AnchorFault] = []
    found = [(opening, inline, _take_own(inline)) for opening, inline in _places(tokens)]
    for opening, inline, own in found:
        if own is None:
            continue
        if not _ID.fullmatch(own):
            faults.append(AnchorFault(own, inline_line(inline), "is not an anchor"))
        elif own in anchors:
            faults.append(AnchorFault(own, inline_line(inline), "is taken on this page"))
        else:
            anchors.add(own)
            opening.meta["anchor"] = own
            named[own] = opening
    for opening, inline, _ in found:
        if "anchor" not in opening.meta:
            anchor = opening.meta["anchor"] = _free(_words(opening, inline), anchors)
            anchors.add(anchor)
            named[anchor] = opening
    return named, faults


def inline_line(inline: Token | None) -> int:
    """Return the line, counted from 0, on which a text begins."""
    return inline.map[0] if inline is not None and inline.map else 0


def _places(tokens: Sequence[Token]) -> Iterator[tuple[Token, Token | None]]:
    """Go through headings and steps, each with its first text."""
    lists: list[tuple[str, int]] = []
    others = 0
    for index, token in enumerate(tokens):
        if token.type.startswith("container_"):
            if token.type.removeprefix("container_").rsplit("_", 1)[0] not in _HOLDS_STEPS:
                others += token.nesting
        elif token.type in ("blockquote_open", "blockquote_close", "dl_open", "dl_close", "footnote_open"):
            others += token.nesting
        elif token.type == "footnote_close":
            others -= 1
        elif token.type in ("ordered_list_open", "bullet_list_open"):
            lists.append((token.type, _start(token)))
            if token.type == "ordered_list_open" and len(lists) == 1 and not others:
                token.meta["steps"] = True
        elif token.type in ("ordered_list_close", "bullet_list_close"):
            lists.pop()
        elif token.type == "heading_open":
            yield token, tokens[index + 1]
        elif token.type == "list_item_open" and not others and len(lists) == 1:
            kind, number = lists[0]
            if kind == "ordered_list_open":
                token.meta["step"] = number
                lists[0] = (kind, number + 1)
                yield token, _first_text(tokens, index)


def _start(token: Token) -> int:
    start = token.attrGet("start")
    return 1 if start is None else int(start)


def _first_text(tokens: Sequence[Token], index: int) -> Token | None:
    for token in tokens[index + 1 : index + 3]:
        if token.type == "inline":
            return token
    return None


def _take_own(inline: Token | None) -> str | None:
    """Take `{#id}` off the end of a text's first line, and return the id."""
    for child in _ends(inline):
        if child.type == "text" and (match := _OWN.search(child.content)):
            child.content = child.content[: match.start()]
            return match[1]
    return None


def _ends(inline: Token | None) -> Iterator[Token]:
    """Go through the parts that end a heading, or the first line of a step."""
    last: Token | None = None
    for child in inline.children or () if inline is not None else ():
        if child.type in ("softbreak", "hardbreak"):
            break
        last = child
    if last is not None:
        yield last


def _words(opening: Token, inline: Token | None) -> str:
    text = " ".join(_plain(inline))
    words = slug_words(text)
    if "step" in opening.meta:
        return "-".join(words[:_STEP_WORDS]) or f"step-{opening.meta['step']}"
    return "-".join(words) or "section"


def _plain(inline: Token | None) -> Iterator[str]:
    for child in inline.children or () if inline is not None else ():
        if child.type in ("text", "code_inline"):
            yield child.content


def slug_words(text: str) -> list[str]:
    """Return the words of a text as an address may carry them.

    >>> slug_words("Fit the tank's 1 1/2 in hose: Größe")
    ['fit', 'the', 'tanks', '1', '1', '2', 'in', 'hose', 'grosse']
    """
    folded = text.casefold().replace("'", "").replace("’", "")
    if not folded.isascii():
        plain = unicodedata.normalize("NFKD", folded)
        folded = "".join(character for character in plain if not unicodedata.combining(character))
    return [word for word in _BETWEEN_WORDS.split(folded) if word]


def _free(wanted: str, taken: set[str]) -> str:
    if wanted not in taken:
        return wanted
    number = 2
    while f"{wanted}-{number}" in taken:
        number += 1
    return f"{wanted}-{number}"
