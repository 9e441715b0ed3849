"""The page of hold points: what is measured on each hull, in build order, and where the work stops for it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from markupsafe import Markup

from kb.content.addresses import list_address, way
from kb.content.page import Page
from kb.numbers.windows import Window
from kb.pages.fences import Ends, ends_of
from kb.pages.sheet import SitePage, own_page
from kb.pages.templates import heading, render
from kb.pages.view import View, sign


@dataclass(frozen=True, slots=True)
class HoldLine:
    """A measurement in a list: what, its window, with what, who signs, and the way to its box."""

    what: str
    way: str
    is_hold: bool
    ends: Ends
    verdict: str
    instrument: str
    signs: str


@dataclass(frozen=True, slots=True)
class HoldSheet:
    """A sheet with its measurements."""

    number: str
    title: str
    way: str
    lines: tuple[HoldLine, ...]

    @property
    def holds(self) -> tuple[HoldLine, ...]:
        """The hold points among them."""
        return tuple(line for line in self.lines if line.is_hold)


def sheets_with_measures(view: View, here: str) -> Iterator[HoldSheet]:
    """Go through the sheets that measure something, in build order."""
    for page in view.pages:
        lines = tuple(_line(view, here, page, window) for window in view.windows_on(page))
        if lines:
            number = page.head.number.text if page.head.number else ""
            yield HoldSheet(number, page.head.title, way(here, view.addresses[page.file]), lines)


def _line(view: View, here: str, page: Page, window: Window) -> HoldLine:
    measure = window.measure
    return HoldLine(
        measure.what,
        way(here, view.addresses[page.file], f"block-{measure.name}"),
        measure.is_hold,
        ends_of(view, window),
        "" if window.verdict == "within" else Markup(sign(window.verdict)),
        measure.instrument,
        measure.signs,
    )


def hold_points(view: View) -> SitePage:
    """Return the page of all measurements and hold points: the inspection and test plan."""
    here = list_address("hold_points")
    sheets = tuple(sheets_with_measures(view, here))
    count = sum(len(sheet.holds) for sheet in sheets)
    content = render("hold_points", sheets=sheets, count=count, model=view.model)
    return own_page(view, here, heading("hold_points"), content)
