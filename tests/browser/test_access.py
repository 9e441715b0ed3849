"""Every kind of page for everyone: WCAG 2.2 AA, gloves, the keyboard, large text, few colours, no motion."""

from __future__ import annotations

import os
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

import pytest
from playwright.sync_api import Page

from tests.tools.find import need

if TYPE_CHECKING:
    from tests.browser.conftest import PageOf, Served
    from tests.browser.small_book import SmallBook

PROCEDURE = "procedures/systems/dip-rod-and-load.html"
WIDTHS = [390, 1280] if os.environ.get("KEELBOOK_LONG") else [390]
"""A telephone in every run, a desk too where a run may take its time."""
KINDS = {
    "cover": "index.html",
    "stage": "stages/systems.html",
    "sheet": PROCEDURE,
    "sheet with lists": "procedures/systems/bed-and-foam-tank.html",
    "first page": "first-day.html",
    "numbers": "numbers.html",
    "inputs": "inputs.html",
    "limits": "limits.html",
    "hold points": "hold_points.html",
    "weights": "weights.html",
    "take-off": "takeoff.html",
    "sequence": "sequence.html",
    "calculators": "calculators.html",
    "calculator": "calculators/tank_volume.html",
    "glossary": "glossary.html",
    "board": "board.html",
}
WCAG = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]
BY_COLOUR = ["color-contrast", "link-in-text-block"]
DRAWN = "new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)))"
TOO_WIDE = """() => {
    const root = document.documentElement;
    return root.scrollWidth > root.clientWidth ? [`${root.scrollWidth} in ${root.clientWidth}`] : [];
}"""
# A link stands alone where its line, cell or item says nothing else; a control always does. Live numbers are
# words of their sentences.
SMALL = """() => [...document.querySelectorAll('a:not(.live), button, summary')]
    .filter((one) => one.checkVisibility() && !one.matches('.skip'))
    .filter((one) => {
        const around = one.closest('li, td, th, dd, dt, h1, h2, h3, h4, p, summary');
        return !one.matches('a') || !around
            || !/\\w/.test(around.textContent.replace(one.textContent, ''));
    })
    .map((one) => [one, one.getBoundingClientRect()])
    .filter(([, box]) => Math.min(box.width, box.height) < 43.9)
    .map(([one, box]) => `${one.className} ${one.textContent.trim()} ${box.width} x ${box.height}`)"""


def violations(page: Page, rules: list[str]) -> list[tuple[str, Any]]:
    """Return what axe finds wrong."""
    page.evaluate(need("axe").read_text())
    # Nothing is loaded ahead: a page from a disk may not read its own style sheet.
    asked = {"runOnly": rules, "preload": False, "resultTypes": ["violations"]}
    found = page.evaluate("asked => axe.run(asked)", asked)["violations"]
    return [(one["id"], node["target"]) for one in found for node in one["nodes"]]


def unfold(page: Page) -> None:
    """Open everything that a reader can open."""
    page.evaluate("document.querySelectorAll('details').forEach((one) => { one.open = true })")
    if page.locator("a.live").count():
        page.locator("a.live").first.click()
    if page.locator(".step-tick").count():
        page.locator(".step-tick").nth(1).click()
    page.evaluate(DRAWN)


@pytest.mark.slow
@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("address", KINDS.values(), ids=KINDS)
def test_a_page_breaks_no_rule_of_accessibility(
    page_of: PageOf, book: Path, address: str, width: int
) -> None:
    page = page_of(width)
    page.goto((book / address).as_uri())
    unfold(page)
    assert violations(page, WCAG) == []
    page.emulate_media(color_scheme="dark")
    # The schemes differ in their colours only.
    assert violations(page, BY_COLOUR) == []


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_notices_marks_and_ticks_break_no_rule_either(
    page_of: PageOf, small: SmallBook, served: Served, scheme: Literal["light", "dark"]
) -> None:
    page = page_of(390, scheme=scheme)
    folder = small.build()
    top, old = served(folder), (folder / "cut.html").read_bytes()
    page.goto(f"{top}cut.html")
    page.get_by_text("Look at it.").click()
    folder = small.build(length="47 in")
    page.goto(f"{top}board.html")
    assert page.locator(".changed-word").is_visible()
    assert violations(page, WCAG) == []
    page.goto(f"{top}cut.html")
    assert page.locator(".told").is_visible()
    unfold(page)
    assert page.locator(".ticked").count() == 1
    assert violations(page, WCAG) == []
    small.put(folder / "cut.html", old)
    page.reload()
    page.locator(".stale").wait_for()
    assert violations(page, WCAG) == []


@pytest.mark.parametrize("width", [320, *WIDTHS])
def test_what_stands_alone_is_large_enough_for_a_glove(page_of: PageOf, book: Path, width: int) -> None:
    page = page_of(width)
    small = {}
    for kind, address in KINDS.items():
        page.goto((book / address).as_uri())
        unfold(page)
        small[kind] = page.evaluate(SMALL)
    assert {kind: found for kind, found in small.items() if found} == {}


@pytest.mark.parametrize(("width", "text"), [(320, "112.5%"), (640, "225%")], ids=["320 px", "text twice"])
def test_no_page_scrolls_sideways(page_of: PageOf, book: Path, width: int, text: str) -> None:
    page = page_of(width, bypass_csp=True)  # the test's own style is none of the page's
    for kind, address in KINDS.items():
        page.goto((book / address).as_uri())
        page.add_style_tag(content=f"html {{ font-size: {text} !important; }}")
        unfold(page)
        assert page.evaluate(TOO_WIDE) == [], kind


@pytest.mark.parametrize(
    "address", [PROCEDURE, "index.html", "sequence.html", "calculators/tank_volume.html"]
)
@pytest.mark.parametrize("width", WIDTHS)
def test_the_keyboard_reaches_everything_shows_where_it_is_and_gets_out(
    page_of: PageOf, book: Path, address: str, width: int
) -> None:
    page = page_of(width, reduced_motion="reduce")  # what is reached is there at once
    page.goto((book / address).as_uri())
    page.evaluate(DRAWN)
    all_of_them = page.evaluate("""() => [...document.querySelectorAll(
        'a[href], button, summary, input, select, [tabindex="0"]')].filter((one) => one.checkVisibility())
        .map((one, at) => { one.dataset.stop = at; return String(at); })""")
    reached = []
    for _ in all_of_them:
        page.keyboard.press("Tab")
        stop, outline, seen = page.evaluate("""() => {
            const one = document.activeElement, style = getComputedStyle(one);
            const box = one.getBoundingClientRect();
            return [one.dataset.stop, style.outlineStyle + style.outlineWidth,
                box.bottom > 0 && box.top < innerHeight];
        }""")
        assert outline == "solid3px", stop
        assert seen, stop
        reached.append(stop)
    assert reached == all_of_them
    # One more leaves the page: nothing holds the reader.
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.dataset.stop || ''") in ("", "0")


def test_the_skip_link_leads_past_the_rail(page: Page, book: Path) -> None:
    page.goto((book / PROCEDURE).as_uri())
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.className") == "skip"
    page.keyboard.press("Enter")
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.closest('main') !== null")


def test_a_table_wider_than_the_screen_is_scrolled_with_the_keyboard(page_of: PageOf, book: Path) -> None:
    wide = "[...document.querySelectorAll('.wide')].filter((one) => one.scrollWidth > one.clientWidth)"
    page = page_of(390)
    page.goto((book / "calculators/tank_volume.html").as_uri())
    page.evaluate(DRAWN)
    found = page.evaluate(f"{wide}.map((one) => one.tabIndex === 0 || one.querySelector('a') !== null)")
    assert found
    assert all(found)
    page.set_viewport_size({"width": 1400, "height": 800})
    page.evaluate(DRAWN)
    assert page.locator(".wide[tabindex]").count() == page.evaluate(f"{wide}.length")


def test_nothing_moves_for_who_asked_for_no_motion(page_of: PageOf, book: Path) -> None:
    moving = """() => [getComputedStyle(document.documentElement).scrollBehavior,
        document.getAnimations().length, [...document.querySelectorAll('*')].filter((one) => {
            const style = getComputedStyle(one);
            return style.animationName !== 'none' || parseFloat(style.transitionDuration) > 0;
        }).length]"""
    page = page_of(reduced_motion="reduce")
    page.goto((book / PROCEDURE).as_uri())
    unfold(page)
    assert page.evaluate(moving) == ["auto", 0, 0]


def test_in_forced_colours_a_tick_a_verdict_and_a_signal_still_show(page_of: PageOf, book: Path) -> None:
    page = page_of(forced_colors="active")
    page.goto((book / PROCEDURE).as_uri())
    unfold(page)
    border = "one => [getComputedStyle(one, '::after').borderRightStyle, getComputedStyle(one).color]"
    ticked = page.locator("[aria-pressed='true']").first.evaluate(border)
    assert ticked[0] == "solid"
    assert page.locator("[aria-pressed='false']").first.evaluate(border)[0] == "none"
    for word in page.locator(".signal-word").all():
        assert word.evaluate("one => getComputedStyle(one).borderTopStyle") == "solid"
    assert violations(page, ["color-contrast"]) == []
