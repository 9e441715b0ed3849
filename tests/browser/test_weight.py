"""What a visit costs a slow line, and that nothing moves under the reader's thumb as a page is drawn."""

from __future__ import annotations

import gzip
from pathlib import Path
from typing import TYPE_CHECKING
from urllib.parse import unquote, urlsplit

import pytest
from playwright.sync_api import Page

from tests.browser.sample import some

if TYPE_CHECKING:
    from tests.browser.conftest import PageOf, Served
    from tests.browser.small_book import SmallBook

FIRST_VISIT = 200_000
NEXT_VISIT = 30_000
SHIFTS = """window.shifts = [];
    new PerformanceObserver((list) => { for (const one of list.getEntries()) {
        shifts.push([one.value, ...one.sources.map((source) => source.node && source.node.className)]);
    } }).observe({ type: 'layout-shift', buffered: true })"""


def loaded(page: Page, address: str) -> list[str]:
    """Open a page, and return the addresses of all that it loads, each once."""
    asked: list[str] = []
    page.on("request", lambda one: asked.append(one.url))
    page.goto(address)
    page.wait_for_load_state("networkidle")
    return list(dict.fromkeys(asked))


def weight(folder: Path, addresses: list[str]) -> int:
    """Return the bytes of some files of a site, compressed as a server does."""
    files = [folder / unquote(urlsplit(one).path).lstrip("/") for one in addresses]
    return sum(len(gzip.compress(file.read_bytes(), mtime=0)) for file in files)


def test_a_procedure_is_light_on_the_first_visit_and_lighter_on_the_next(
    page_of: PageOf, book: Path, served: Served
) -> None:
    top = served(book)
    weights = {}
    for path in some((book / "procedures").rglob("*.html"), 5):
        page = page_of()
        first = loaded(page, top + path.relative_to(book).as_posix())
        assert f"{top}assets/fonts.css" in first
        kept = [one for one in first if "/assets/" in one]
        next_visit = [one for one in first if one not in kept]
        assert f"{top}codes.json" in next_visit
        weights[path.name] = weight(book, first), weight(book, next_visit)
        page.context.close()
    assert len(weights) > 1
    assert {name: one for name, one in weights.items() if one[0] > FIRST_VISIT or one[1] > NEXT_VISIT} == {}


@pytest.mark.parametrize("width", [390, 1280])
def test_nothing_moves_while_a_page_is_drawn(page_of: PageOf, book: Path, opened: Served, width: int) -> None:
    page = page_of(width)
    page.add_init_script(SHIFTS)
    top = opened(book)
    for path in some(book.rglob("*.html")):
        if path.parent.name == "calculators" and path.name != "tank_volume.html":
            continue  # all alike
        page.goto(top + path.relative_to(book).as_posix())
        page.wait_for_load_state("networkidle")
        assert page.evaluate("shifts") == [], path.name


def test_nothing_moves_where_ticks_units_and_notices_come_back(
    page_of: PageOf, small: SmallBook, opened: Served
) -> None:
    page = page_of(390)
    page.add_init_script(SHIFTS)
    top = opened(small.build())
    page.goto(f"{top}cut.html")
    page.get_by_text("Look at it.").click()
    page.locator(".units-control").click()
    for address in ("cut.html", "board.html", "cut.html"):
        small.build(length=f"{40 + small.built} in")
        page.goto(top + address)
        page.wait_for_load_state("networkidle")
        assert page.evaluate("shifts") == []


def test_a_shift_is_seen(page: Page, small: SmallBook) -> None:
    page.add_init_script(SHIFTS)
    page.goto((small.build() / "cut.html").as_uri())
    page.wait_for_load_state("networkidle")
    page.evaluate("document.querySelector('h1').prepend(document.createElement('br'))")
    page.wait_for_function("shifts.length > 0")
