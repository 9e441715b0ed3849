"""Measurements, materials and weights as a sheet shows them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import TypeVar

from markupsafe import Markup

from kb.calculators.bind import work_out
from kb.content.page import Fence, Page
from kb.content.yamltext import Scalar
from kb.language.expression import Expression
from kb.language.quantity import Quantity
from kb.language.show import Form, Safe, in_unit
from kb.language.systems import show_other
from kb.language.units import unit
from kb.numbers.ledger import WeightLine
from kb.numbers.materials import MaterialLine
from kb.numbers.printed import Printed, printed
from kb.numbers.windows import Window
from kb.pages.cards import Card
from kb.pages.drawings import figure
from kb.pages.templates import render, said
from kb.pages.view import View, sign, value_pair
from kb.problem import BookError

_Line = TypeVar("_Line", MaterialLine, WeightLine)
_TOLD = Markup("?")
"""What stands for a value that could not be worked out; why is told where the numbers are checked."""


@dataclass(frozen=True, slots=True)
class Ends:
    """A window in words: what stands before its ends, and the ends; `rule` where it has none."""

    before: str = ""
    first: str = ""
    between: str = ""
    second: str = ""
    rule: str = ""


def ends_of(view: View, window: Window) -> Ends:
    """Return the window of a measurement in words, each end rounded to the inside."""
    measure, low, high = window.measure, window.low, window.high
    if window.exactly is not None:
        word = {True: "yes", False: "no"}.get(window.exactly) if isinstance(window.exactly, bool) else None
        return Ends(first=Markup(word) if word else _end(view, window, window.exactly, "nearest"))
    if low is not None and high is not None:
        is_closed = all(end is not None and end.is_included for end in (measure.low, measure.high))
        if is_closed and low.unit == high.unit and low.value == -high.value:
            return Ends("either way, at most", _end(view, window, high, "down"))
        second = _end(view, window, high, "down")
        between = "to" if measure.high and measure.high.is_included else "to below"
        before = "" if measure.low and measure.low.is_included else "above"
        return Ends(before, _end(view, window, low, "up"), between, second)
    if high is not None:
        word = "at most" if measure.high and measure.high.is_included else "below"
        return Ends(word, _end(view, window, high, "down"))
    if low is not None:
        word = "at least" if measure.low and measure.low.is_included else "above"
        return Ends(word, _end(view, window, low, "up"))
    return Ends(rule=measure.accept.text)


def _end(view: View, window: Window, size: object, safe: Safe) -> Markup:
    form = window.measure.form
    own = printed(size, safe, form=form)
    other: Printed | None = None
    if isinstance(size, Quantity):
        parts = show_other(size, size.unit, view.book.settings.units, Form(), safe)
        other = Printed(*parts) if parts else None
    return Markup(value_pair(own, other))


def measure_card(view: View, name: str) -> Card:
    """Return the box of a measurement: what, with what, and the window in large figures."""
    window = view.done.windows[name]
    measure = window.measure
    instrument = view.book.reference.instruments.get(measure.instrument)
    html = render(
        "measure",
        measure=measure,
        ends=ends_of(view, window),
        verdict="" if window.verdict == "within" else Markup(sign(window.verdict)),
        instrument=measure.instrument,
        off=instrument.tolerance_text if instrument else "",
        signs=measure.signs,
    )
    return Card(html, said(html))


def materials_card(view: View, page: Page, fence: Fence) -> Card:
    """Return the list of materials of a fence: what the take-off sums, waste and all."""
    rows = []
    for line in _of_fence(page, fence, view.materials_on.get(page.file, ())):
        use = view.material_uses.get(line.place)
        waste = _shown(view, line.waste, line) if line.waste is not None else ""
        verdict = Markup(sign(use.verdict)) if use is not None and use.verdict != "within" else ""
        rows.append((line.material, amount(view, use.amount) if use is not None else _TOLD, waste, verdict))
    entries = fence.body.entries if fence.body else {}
    texts = {key: node.text for key, (_, node) in entries.items() if isinstance(node, Scalar)}
    said_too = {key: texts.get(key, "") for key in ("title", "note", "caption")}
    html = render("materials", rows=rows, texts=said_too)
    return Card(html, said(html))


def weights_card(view: View, page: Page, fence: Fence) -> Card:
    """Return the parts of a fence with their mass and place, worked out."""
    keys = {"mass": "lb", "x": "in", "y": "in", "z": "in"}
    rows = []
    for line in _of_fence(page, fence, view.parts_on.get(page.file, ())):
        cells = [
            _shown(view, line.expressions[key][0], line, one) if key in line.expressions else Markup("0")
            for key, one in keys.items()
        ]
        rows.append((line.name, cells))
    html = render("weights_list", rows=rows)
    return Card(html, said(html))


def _shown(view: View, expression: Expression, line: MaterialLine | WeightLine, one: str = "") -> Markup:
    try:
        value = work_out(expression, line.place, view.done.lookup, view.done.turns)
    except BookError:
        return _TOLD
    if one and isinstance(value, Quantity):
        return amount(view, in_unit(value, unit(one)), "nearest")
    return amount(view, value)


def amount(view: View, value: object, safe: Safe = "up") -> Markup:
    """Return how much of something, in both systems of units; what is counted is whole."""
    is_count = isinstance(value, Quantity) and value.unit.kind == "number"
    own = printed(value, safe, is_count=is_count)
    other = None
    if isinstance(value, Quantity) and value.unit.name:
        parts = show_other(value, value.unit, view.book.settings.units, safe=safe)
        other = Printed(*parts) if parts else None
    return Markup(value_pair(own, other))


def drawing_card(view: View, fence: Fence, key: str) -> Card:
    """Return the drawing that a fence asks for; nothing where its block is not in this edition."""
    asked = view.done.graph.bindings.drawings.get(fence.place)
    if asked is None or asked.of not in view.done.blocks:
        return Card("", "")
    drawn = figure(view, asked.of, key, only=asked.view, caption=asked.caption)
    return Card(drawn.html, drawn.words)


def _of_fence(page: Page, fence: Fence, lines: Iterable[_Line]) -> Iterator[_Line]:
    """Go through the lines that stand in a fence."""
    begin, end = page.tokens[fence.token].map or [0, 0]
    for line in lines:
        if begin < line.place.line <= end:
            yield line
