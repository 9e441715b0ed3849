"""The pages that the book makes itself: cover, stages, numbers, inputs, limits, board."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from markupsafe import Markup

from kb.calculators.judge import VERDICTS, Judged
from kb.content.addresses import list_address, stage_address, way
from kb.content.inputs import Input
from kb.content.page import Page
from kb.numbers.evaluate import BlockResult
from kb.numbers.exports import fingerprint as book_fingerprint
from kb.pages.cards import limit_row, tolerance
from kb.pages.holds import sheets_with_measures
from kb.pages.sheet import SitePage, duration, own_page
from kb.pages.slips import page_link
from kb.pages.takeoff import MONEY
from kb.pages.templates import escape, heading, piece, render
from kb.pages.view import View, sign, value_pair
from kb.plan.yard import YARD_INPUTS

_USED_BESIDE = {
    "yard.name": "title block",
    "yard.approves": "title block",
    MONEY: "take-off",
    **dict.fromkeys(YARD_INPUTS, "sequence"),
}
"""Inputs that no page has to name, and what shows them."""


@dataclass(frozen=True, slots=True)
class SheetLine:
    """A procedure in a list of sheets."""

    number: str
    title: str
    way: str
    crew: str
    time: str
    code: str
    address: str


def _line(view: View, here: str, page: Page, code: str = "") -> SheetLine:
    head, there = page.head, view.addresses[page.file]
    if view.is_public:
        return SheetLine("", head.title, way(here, there), "", "", "", there)
    return SheetLine(
        head.number.text if head.number else "",
        head.title,
        way(here, there),
        str(head.crew) if head.crew else "",
        duration(head.time) if head.time else "",
        code,
        there,
    )


def cover(view: View, codes: Mapping[str, str], intro: str = "") -> SitePage:
    """Return the first page: the stages in build order, with their procedures.

    `codes` are the fingerprints of the sheets by the file of each; none for the public.
    """
    here = "index.html"
    stages = [
        (
            heading(name),
            way(here, stage_address(name)),
            [_line(view, here, page, codes.get(page.file, "")) for page in view.stages[name]],
        )
        for name in view.book.settings.stages
        if name in view.stages
    ]
    others = [
        _line(view, here, page, codes.get(page.file, ""))
        for page in view.stages.get("", ())
        if view.addresses[page.file] != here
    ]
    content = render("cover", intro=Markup(intro), stages=stages, others=others)
    return own_page(view, here, view.book.settings.name, content)


def stage_page(view: View, stage: str) -> SitePage:
    """Return the page of one stage: its procedures in order."""
    here = stage_address(stage)
    pages = [_line(view, here, page) for page in view.stages[stage]]
    return own_page(view, here, heading(stage), render("stage", pages=pages), stage)


def board(view: View, codes: Mapping[str, str]) -> SitePage:
    """Return the board: the fingerprints of all sheets, by the file of each, and the hold points due."""
    here = list_address("board")
    pages = [
        _line(view, here, page, codes[page.file])
        for page in view.pages
        if view.addresses[page.file] != "index.html"
    ]
    code = book_fingerprint(view.book, view.done)
    holds = [sheet for sheet in sheets_with_measures(view, here) if sheet.holds]
    content = render("board", pages=pages, book=code, model=view.model, holds=holds)
    return own_page(view, here, heading("board"), content, code=code)


def numbers(view: View) -> SitePage:
    """Return the page of every number: value, tolerance, verdict, where it is made and used."""
    here = list_address("numbers")
    results = [view.done.blocks[name] for name in view.done.graph.bindings.blocks if name in view.done.blocks]
    groups: dict[str, list[BlockResult]] = {}
    for result in results:
        groups.setdefault(result.block.page.file, []).append(result)
    sheets = [
        (
            page.head.number.text if page.head.number else "",
            page.head.title,
            way(here, view.addresses[page.file]),
            Markup("".join(_number_rows(view, here, groups[page.file]))),
        )
        for page in view.pages
        if page.file in groups
    ]
    return own_page(view, here, heading("numbers"), render("numbers", sheets=sheets))


def _number_rows(view: View, here: str, results: list[BlockResult]) -> Iterator[str]:
    for result in results:
        for one in result.outcome.values:
            name = f"{result.block.name}.{one}"
            declared = result.block.calculator.results.get(one)
            shown = view.printed(name)
            yield piece("number_row").fill(
                {
                    "name": name,
                    "link": view.link(here, name),
                    "label": escape(declared.q.label if declared else ""),
                    "value": value_pair(shown, view.other(name), name),
                    "tolerance": tolerance(view, name),
                    "verdict": sign(view.done.verdict(name)),
                    "users": ", ".join(_users(view, here, name)),
                }
            )


def _users(view: View, here: str, name: str) -> Iterator[str]:
    for page in view.users.get(name, ()):
        yield page_link(view, here, page)


@dataclass(frozen=True, slots=True)
class InputRow:
    """One input on its page: as written, from which layer, what it hides, who uses it."""

    path: str
    text: str
    layer: str
    place: str
    hides: tuple[tuple[str, str], ...]
    users: Markup
    is_used: bool


def inputs(view: View) -> SitePage:
    """Return the page of every input with its layers; those that nothing uses are flagged."""
    here = list_address("inputs")
    groups: dict[str, list[InputRow]] = {}
    for path, one in sorted(view.done.inputs.values.items(), key=lambda pair: pair[0].split(".")):
        groups.setdefault(path.split(".", 1)[0], []).append(_input_row(view, here, one))
    unused = [row.path for rows in groups.values() for row in rows if not row.is_used]
    content = render("inputs", groups=groups, unused=unused)
    return own_page(view, here, heading("inputs"), content)


def _input_row(view: View, here: str, one: Input) -> InputRow:
    users = Markup(", ".join(_users(view, here, one.path)) or _USED_BESIDE.get(one.path, ""))
    is_used = bool(view.uses.get(one.path)) or one.path in _USED_BESIDE
    place = f"{one.place.file}:{one.place.line}"
    hides = tuple((other.text, other.layer) for other in one.overrides)
    return InputRow(one.path, one.text, one.layer, place, hides, users, is_used)


def limits(view: View) -> SitePage:
    """Return the page of every limit, the worst first."""
    here = list_address("limits")
    every: list[tuple[str, Judged, Page]] = [
        (f"{result.block.name}.{judged.name}", judged, result.block.page)
        for result in view.done.blocks.values()
        if result.block.page.file in view.addresses
        for judged in result.limits
    ]
    fences = view.done.graph.bindings.limits
    every += [
        (name, judged, fences[name].page)
        for name, judged in view.done.limits.items()
        if fences[name].page.file in view.addresses
    ]
    groups = [
        (verdict, Markup(sign(verdict)), [
            (name, Markup(limit_row(judged, view.book.settings.units)), _where(view, here, name, page))
            for name, judged, page in every
            if judged.verdict == verdict
        ])
        for verdict in reversed(VERDICTS)
    ]  # fmt: skip
    counts = [(verdict, shape, len(rows)) for verdict, shape, rows in groups]
    content = render("limits", groups=[group for group in groups if group[2]], counts=counts)
    return own_page(view, here, heading("limits"), content)


def _where(view: View, here: str, name: str, page: Page) -> str:
    block, dot, _ = name.partition(".")
    if dot:
        return view.way_to_block(here, view.done.blocks[block].block) or ""
    there = view.addresses.get(page.file)
    anchor = f"limit-{name}"
    return way(here, there, anchor) if there and view.shows(page.anchors[anchor]) else ""
