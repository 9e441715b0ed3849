"""The demonstration book in a real browser, as a new hand meets it: on a telephone, a tablet, on paper."""

from __future__ import annotations

import io
import re
from html.parser import HTMLParser
from pathlib import Path
from typing import TYPE_CHECKING
from urllib.parse import unquote, urldefrag, urljoin, urlsplit

import pytest
from playwright.sync_api import Page
from pypdf import PdfReader

from tests.browser.sample import some

if TYPE_CHECKING:
    from tests.browser.conftest import PageOf, Served

ROOT = Path(__file__).parents[2]
PROCEDURE = "procedures/systems/dip-rod-and-load.html"
KINDS = {
    "cover": "index.html",
    "stage": "stages/systems.html",
    "procedure": PROCEDURE,
    "first page": "first-day.html",
    "numbers": "numbers.html",
    "inputs": "inputs.html",
    "limits": "limits.html",
    "calculators": "calculators.html",
    "calculator": "calculators/tank_volume.html",
    "board": "board.html",
}
WIDTHS = [390, 820, 1400]
TOO_WIDE = """() => {
    const root = document.documentElement;
    if (root.scrollWidth <= root.clientWidth) return [];
    const within = (element) => element.parentElement && (
        getComputedStyle(element.parentElement).overflowX !== 'visible' || within(element.parentElement));
    return [`${root.scrollWidth} in ${root.clientWidth}`, ...[...document.body.querySelectorAll('*')]
        .filter((one) => one.getBoundingClientRect().right > root.clientWidth + 1 && !within(one))
        .map((one) => `${one.tagName} ${one.className}: ${one.textContent.trim().slice(0, 40)}`)];
}"""


@pytest.fixture
def procedure(page: Page, book: Path) -> Page:
    """Return a procedure of the book, open from a disk."""
    page.goto((book / PROCEDURE).as_uri())
    return page


# ---- opening


@pytest.mark.parametrize("javascript", [True, False], ids=["scripts", "no scripts"])
@pytest.mark.parametrize("width", WIDTHS)
def test_every_kind_of_page_opens_from_a_disk_and_fits(
    page_of: PageOf, book: Path, width: int, javascript: bool
) -> None:
    # A dark screen here and a light one there: the schemes share their sizes.
    page = page_of(width, scheme="light" if javascript else "dark", javascript=javascript)
    for kind, address in KINDS.items():
        page.goto((book / address).as_uri())
        assert page.locator("h1").count() == 1, kind
        assert page.locator("h1").is_visible(), kind
        assert page.inner_text("h1") in page.title(), kind
        # Playwright's own scripts run where the page's may not.
        assert page.evaluate(TOO_WIDE) == [], kind


def test_every_page_opens_over_http_without_a_complaint(page: Page, book: Path, served: Served) -> None:
    top = served(book)
    for path in some(book.rglob("*.html")):
        page.goto(top + path.relative_to(book).as_posix())
        assert page.locator("h1").is_visible()


def test_no_page_scrolls_sideways_on_the_smallest_telephone(page_of: PageOf, book: Path) -> None:
    page = page_of(320, 640)
    for path in some(book.rglob("*.html")):
        page.goto(path.as_uri())
        assert page.evaluate(TOO_WIDE) == [], path.name


@pytest.mark.parametrize("width", [640, 1280])
def test_nothing_is_cut_off_when_text_is_twice_as_large(page_of: PageOf, book: Path, width: int) -> None:
    """The reader's own text size is doubled, the window stays: text flows, and stays within its box."""
    page = page_of(width, bypass_csp=True)  # the test's own style is none of the page's
    for kind, address in KINDS.items():
        page.goto((book / address).as_uri())
        page.add_style_tag(content="html { font-size: 225% !important; }")
        assert page.evaluate(TOO_WIDE) == [], kind
        cut = page.evaluate("""() => [...document.querySelectorAll('body *')].filter((one) => {
            const style = getComputedStyle(one);
            return ['hidden', 'clip'].includes(style.overflowY) && one.scrollHeight > one.clientHeight + 1;
        }).map((one) => one.className)""")
        assert cut == [], kind


def test_a_page_follows_the_text_size_that_the_reader_set(page_of: PageOf, book: Path) -> None:
    """A size fixed in pixels would not."""
    page = page_of(bypass_csp=True)
    page.goto((book / PROCEDURE).as_uri())
    before = page.evaluate("parseFloat(getComputedStyle(document.querySelector('.step-text')).fontSize)")
    page.add_style_tag(content="html { font-size: 225% !important; }")
    after = page.evaluate("parseFloat(getComputedStyle(document.querySelector('.step-text')).fontSize)")
    assert after == pytest.approx(2 * before)


# ---- numbers and their slips


@pytest.mark.parametrize("javascript", [True, False], ids=["scripts", "no scripts"])
def test_a_touch_opens_the_slip_of_a_number_and_close_hides_it(
    page_of: PageOf, book: Path, javascript: bool
) -> None:
    page = page_of(820, 1180, javascript=javascript, has_touch=True)
    page.goto((book / PROCEDURE).as_uri())
    number = page.locator(".step .live").first
    slip = page.locator(str(number.get_attribute("href")))
    assert not slip.is_visible()
    number.tap()
    assert slip.is_visible()
    assert slip.get_by_text("Made in").or_(slip.get_by_text("Decided in")).first.is_visible()
    assert page.locator(".slip:visible").count() == 1
    slip.get_by_text("Close").tap()
    assert not slip.is_visible()


@pytest.mark.parametrize("javascript", [True, False], ids=["scripts", "no scripts"])
def test_enter_opens_the_slip_of_a_number_and_closes_it(
    page_of: PageOf, book: Path, javascript: bool
) -> None:
    page = page_of(javascript=javascript)
    page.goto((book / PROCEDURE).as_uri())
    number = page.locator(".step .live").nth(2)
    slip = page.locator(str(number.get_attribute("href")))
    number.focus()
    page.keyboard.press("Enter")
    assert slip.is_visible()
    slip.get_by_text("Close").focus()
    page.keyboard.press("Enter")
    assert not slip.is_visible()


def test_every_number_has_a_slip_of_its_own_that_is_hidden_at_first(page: Page, book: Path) -> None:
    for path in some((book / "procedures").rglob("*.html"), 5):
        page.goto(path.as_uri())
        ways = [str(live.get_attribute("href")) for live in page.locator("a.live").all()]
        assert ways
        assert len(ways) == len(set(ways))
        assert all(page.locator(way).count() == 1 for way in ways)
        assert page.locator(".slip:visible").count() == 0


def test_an_open_slip_covers_nothing_of_its_step(page_of: PageOf, book: Path) -> None:
    page = page_of(390)
    page.goto((book / PROCEDURE).as_uri())
    number = page.locator(".step p .live").first
    number.click()
    slip = page.locator(str(number.get_attribute("href"))).bounding_box()
    text = page.locator("p", has=page.locator(f"#{number.get_attribute('id')}")).last.bounding_box()
    assert slip is not None
    assert text is not None
    assert slip["y"] >= text["y"] + text["height"] - 1


def test_the_way_to_a_step_leads_to_it(procedure: Page) -> None:
    step = procedure.locator(".step").nth(9)
    step.locator(".step-number").first.click()
    assert procedure.url.endswith(f"#{step.get_attribute('id')}")
    procedure.wait_for_function(
        "id => { const y = document.getElementById(id).getBoundingClientRect().y;"
        " return y >= 0 && y < innerHeight }",
        arg=step.get_attribute("id"),
    )
    assert step.evaluate("one => one.matches(':target')")


# ---- finding the way


@pytest.mark.parametrize("width", WIDTHS)
def test_the_rail_leads_from_the_cover_to_a_procedure_in_two_touches(
    page_of: PageOf, book: Path, width: int
) -> None:
    page = page_of(width, has_touch=True)
    page.goto((book / "index.html").as_uri())
    page.locator("header a", has_text="Systems").tap()
    page.wait_for_url("**/stages/systems.html")
    assert page.inner_text("h1") == "Systems"
    assert page.locator("header [aria-current]").inner_text().strip() == "Systems"
    page.locator("header a", has_text="dip rod").tap()
    page.wait_for_url(f"**/{PROCEDURE}")
    assert page.locator("header [aria-current='page']").inner_text().endswith(page.inner_text("h1"))


class Ways(HTMLParser):
    """The links and the anchors of a page."""

    def __init__(self, path: Path) -> None:
        super().__init__()
        self.links: list[str] = []
        self.anchors: set[str] = set()
        self.doubled: list[str] = []
        self.feed(path.read_text(encoding="utf-8"))

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Note an element's ways and its id."""
        given = dict(attrs)
        self.links += [str(given[name]) for name in ("href", "src") if name in given]
        if one := given.get("id"):
            if one in self.anchors:
                self.doubled.append(one)
            self.anchors.add(one)


def test_every_way_within_the_book_leads_to_a_page_and_an_anchor_that_are_there(book: Path) -> None:
    ways = {path.as_uri(): Ways(path) for path in book.rglob("*.html")}
    dead = []
    for here, page in ways.items():
        dead += [f"{here}: the id {one} stands twice" for one in page.doubled]
        for link in page.links:
            there, anchor = urldefrag(urljoin(here, link))
            if urlsplit(there).scheme != "file":
                continue
            file = Path(unquote(urlsplit(there).path))
            known = ways.get(there)
            if not file.is_file() or (anchor and known is not None and unquote(anchor) not in known.anchors):
                dead.append(f"{here}: {link}")
    assert dead == []


def test_every_page_is_reached_from_the_cover(book: Path) -> None:
    start = (book / "index.html").as_uri()
    reached, next_ones = {start}, [start]
    while next_ones:
        here = next_ones.pop()
        for link in Ways(Path(unquote(urlsplit(here).path))).links:
            there = urldefrag(urljoin(here, link))[0]
            if there.startswith("file:") and there.endswith(".html") and there not in reached:
                reached.add(there)
                next_ones.append(there)
    assert reached == {path.as_uri() for path in book.rglob("*.html")}


# ---- sizes


def test_text_is_large_enough_to_read_at_arms_length(page_of: PageOf, book: Path) -> None:
    page = page_of(390)
    for kind, address in KINDS.items():
        page.goto((book / address).as_uri())
        sizes = page.evaluate("""() => ['body', '.sheet-body p:not([class])', '.sheet-body li:not([class])']
            .flatMap((one) => [...document.querySelectorAll(one)])
            .filter((one) => !one.closest('details, aside, .card, nav, .footnotes, .limits, .source-list'))
            .map((one) => parseFloat(getComputedStyle(one).fontSize))""")
        assert min(sizes) >= 18, kind


@pytest.mark.parametrize("width", WIDTHS)
def test_a_number_in_a_step_is_much_larger_than_its_text(page_of: PageOf, book: Path, width: int) -> None:
    page = page_of(width)
    for path in some((book / "procedures").rglob("*.html"), 5):
        page.goto(path.as_uri())
        shares = page.evaluate("""() => [...document.querySelectorAll('.step .live:not(.word) .numeral')]
            .filter((one) => !one.closest('table'))
            .map((one) => parseFloat(getComputedStyle(one).fontSize)
                / parseFloat(getComputedStyle(one.closest('p, li, dd, .step-text')).fontSize))""")
        assert shares
        assert min(shares) >= 1.6


TARGETS = "header a, .skip, .step-number, summary, .sheets a, .slip-close, .cover-stage h2 a"


@pytest.mark.parametrize("width", WIDTHS)
def test_what_is_touched_is_large_enough_for_a_glove(page_of: PageOf, book: Path, width: int) -> None:
    page = page_of(width)
    small = {}
    for kind, address in KINDS.items():
        page.goto((book / address).as_uri())
        if kind == "procedure":
            page.locator(".step .live").first.click()
        small[kind] = page.evaluate(
            """(targets) => [...document.querySelectorAll(targets)]
            .filter((one) => one.checkVisibility())
            .map((one) => [one.textContent.trim().slice(0, 40), one.getBoundingClientRect().height])
            .filter(([, height]) => height < 43.9)""",
            TARGETS,
        )
    assert {kind: found for kind, found in small.items() if found} == {}


# ---- for everyone


@pytest.mark.parametrize("address", [PROCEDURE, "index.html"])
def test_the_keyboard_reaches_everything_and_shows_where_it_is(page: Page, book: Path, address: str) -> None:
    page.goto((book / address).as_uri())
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.className") == "skip"
    for _ in range(12):
        page.keyboard.press("Tab")
        outline = page.evaluate("getComputedStyle(document.activeElement).outlineStyle")
        assert outline != "none"
        assert page.evaluate("document.activeElement.checkVisibility()")


# ---- on paper


@pytest.mark.parametrize("size", ["A4", "Letter"])
def test_a_printed_sheet_has_its_title_block_and_neither_rail_nor_slips(procedure: Page, size: str) -> None:
    title, rail = procedure.inner_text("h1"), procedure.inner_text("nav >> nth=1").split("\n")
    code = procedure.inner_text(".title-block .code")
    slips = procedure.locator(".slip .slip-rows dt").all_text_contents()
    printed = PdfReader(io.BytesIO(procedure.pdf(format=size)))
    text = re.sub(r"\s+", " ", "\n".join(page.extract_text() for page in printed.pages))
    assert title in text
    for field in ("Approved by", "Revision", "Date of issue", "Sheet code", "Hull or model"):
        assert field in text
    assert code in text
    assert "Void if this code differs from the board" in text
    assert "Calculators" in rail
    assert "Calculators" not in text
    assert "Decided in" in slips
    assert "Decided in" not in text
    assert "To the sheet" not in text
    assert "Decided in" not in text


def test_paper_is_light_on_a_dark_screen_too(page_of: PageOf, book: Path) -> None:
    page = page_of(scheme="dark")
    page.goto((book / PROCEDURE).as_uri())
    page.emulate_media(media="print")
    ink = page.evaluate("getComputedStyle(document.querySelector('.step-text')).color")
    assert ink == "rgb(0, 0, 0)"
    paper = page.evaluate("getComputedStyle(document.body).backgroundColor")
    assert paper in ("rgb(255, 255, 255)", "rgba(0, 0, 0, 0)")
