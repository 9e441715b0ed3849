"""Steps are ticked with a glove or a key; the ticks stay on the device as long as the sheet is the same."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from playwright.sync_api import Page, expect

if TYPE_CHECKING:
    from tests.browser.conftest import PageOf, Served
    from tests.browser.small_book import SmallBook

BLOCKED = """Object.defineProperty(window, 'localStorage', {
    get() { throw new DOMException('blocked', 'SecurityError'); } });"""
CHANGED = "This sheet has changed since you ticked it: start again, and read what is new."


def ticked(page: Page) -> list[str]:
    """Return the labels of the steps that are ticked."""
    return [str(one.get_attribute("aria-label")) for one in page.locator("[aria-pressed='true']").all()]


def said(page: Page) -> str:
    return page.locator(".ticks p").inner_text()


def test_a_touch_on_a_row_ticks_it_and_the_device_keeps_it(
    page_of: PageOf, small: SmallBook, opened: Served
) -> None:
    page = page_of(390, has_touch=True)
    page.goto(opened(small.build()) + "cut.html")
    assert said(page) == "0 of 3 steps ticked."
    page.get_by_text("Look at it.").tap()
    assert ticked(page) == ["Step 3 done"]
    assert said(page) == "1 of 3 steps ticked."
    page.reload()
    assert ticked(page) == ["Step 3 done"]
    page.get_by_text("Look at it.").tap()
    assert ticked(page) == []
    page.reload()
    assert ticked(page) == []


def test_a_touch_on_a_line_in_a_step_ticks_the_step(page: Page, small: SmallBook) -> None:
    page.goto((small.build() / "cut.html").as_uri())
    page.get_by_text("Wipe it.").click()
    assert ticked(page) == ["Step 2 done"]


def test_a_link_a_slip_a_card_and_a_box_in_a_step_tick_nothing(page: Page, small: SmallBook) -> None:
    page.goto((small.build() / "cut.html").as_uri())
    page.locator(".step .live").first.click()
    page.locator(".slip:visible .slip-rows").click()
    page.locator(".slip:visible .slip-close").click()
    page.locator(".step .card-title").click()
    page.locator(".step summary").click()
    page.get_by_text("It is heavy.").click()
    page.locator(".step-number").first.click()
    assert ticked(page) == []


def test_a_key_reaches_the_box_and_turns_it(page: Page, small: SmallBook) -> None:
    page.goto((small.build() / "cut.html").as_uri())
    page.locator(".step-number").first.focus()
    page.keyboard.press("Tab")
    box = page.get_by_role("button", name="Step 1 done")
    expect(box).to_be_focused()
    expect(box).to_have_attribute("aria-pressed", "false")
    page.keyboard.press("Space")
    expect(box).to_have_attribute("aria-pressed", "true")
    assert box.evaluate("one => getComputedStyle(one).outlineStyle") == "solid"
    page.keyboard.press("Enter")
    expect(box).to_have_attribute("aria-pressed", "false")


@pytest.mark.parametrize("width", [320, 390, 1280])
def test_the_box_is_large_enough_for_a_glove(page_of: PageOf, small: SmallBook, width: int) -> None:
    page = page_of(width)
    page.goto((small.build() / "cut.html").as_uri())
    for one in (*page.locator(".step-tick").all(), page.locator(".ticks button")):
        box = one.bounding_box()
        assert box is not None
        assert min(box["width"], box["height"]) >= 43.9


def test_a_sheet_that_changed_has_lost_its_ticks_and_says_so_once(
    page: Page, small: SmallBook, opened: Served
) -> None:
    top = opened(small.build())
    page.goto(f"{top}cut.html")
    page.get_by_text("Look at it.").click()
    page.goto(f"{top}other.html")
    page.get_by_text("Stack it.").click()
    small.build(length="47 in")

    page.goto(f"{top}cut.html")
    assert ticked(page) == []
    assert CHANGED in page.locator(".sheet-head .told").inner_text()
    page.reload()
    assert page.locator(".told").count() == 0
    assert ticked(page) == []
    # The other sheet shows nothing that changed.
    page.goto(f"{top}other.html")
    assert page.locator(".told").count() == 0
    assert ticked(page) == ["Step 2 done"]


def test_ticks_are_cleared_and_brought_back_at_a_touch(page: Page, small: SmallBook) -> None:
    page.goto((small.build() / "cut.html").as_uri())
    page.get_by_text("Look at it.").click()
    page.get_by_role("button", name="Clear ticks").click()
    assert ticked(page) == []
    page.reload()
    assert ticked(page) == []
    page.get_by_text("Look at it.").click()
    page.get_by_role("button", name="Clear ticks").click()
    page.get_by_role("button", name="Bring ticks back").click()
    assert ticked(page) == ["Step 3 done"]
    page.reload()
    assert ticked(page) == ["Step 3 done"]


def test_a_second_window_of_the_same_sheet_follows(page: Page, small: SmallBook, opened: Served) -> None:
    address = opened(small.build()) + "cut.html"
    page.goto(address)
    second = page.context.new_page()
    second.goto(address)
    page.get_by_text("Look at it.").click()
    expect(second.get_by_role("button", name="Step 3 done")).to_have_attribute("aria-pressed", "true")


def test_where_nothing_is_kept_the_ticks_work_and_the_sheet_says_so(page: Page, small: SmallBook) -> None:
    page.add_init_script(BLOCKED)
    page.goto((small.build() / "cut.html").as_uri())
    page.get_by_text("Look at it.").click()
    assert said(page).startswith("1 of 3 steps ticked. This device keeps nothing")


@pytest.mark.parametrize("kept", ["", "null", "[]", "7", "{", '{"code": 1}', '{"code": "X", "ticks": "ab"}'])
def test_what_the_device_kept_wrongly_counts_for_nothing(page: Page, small: SmallBook, kept: str) -> None:
    page.goto((small.build() / "cut.html").as_uri())
    page.evaluate("kept => Object.keys(localStorage).forEach((key) => localStorage.setItem(key, kept))", kept)
    page.reload()
    assert page.locator(".told").count() == 0
    page.get_by_text("Look at it.").click()
    assert ticked(page) == ["Step 3 done"]


def test_paper_shows_neither_ticks_nor_notices(page: Page, small: SmallBook) -> None:
    folder = small.build()
    page.goto((folder / "cut.html").as_uri())
    page.emulate_media(media="print")
    plain = page.locator(".step-text").first.evaluate("one => getComputedStyle(one).color")
    page.emulate_media(media="screen")
    page.get_by_text("Look at it.").click()
    small.build(length="47 in")
    page.reload()
    page.get_by_text("Look at it.").click()
    page.emulate_media(media="print")
    for css in (".step-tick", ".ticks", ".told"):
        assert page.locator(css).count() > 0
        assert page.locator(f"{css}:visible").count() == 0
    assert page.locator(".ticked .step-text").first.evaluate("one => getComputedStyle(one).color") == plain


def test_without_scripts_and_for_the_public_a_sheet_has_no_ticks(
    page_of: PageOf, small: SmallBook, opened: Served
) -> None:
    still = page_of(javascript=False)
    still.goto(opened(small.build()) + "cut.html")
    assert still.locator(".step").count() == 3
    assert still.locator(".step-tick, .ticks").count() == 0
    public = page_of()
    public.goto(opened(small.build("public")) + "cut.html")
    public.get_by_text("Look at it.").click()
    assert public.locator(".step").count() == 3
    assert public.locator(".step-tick, .ticks").count() == 0
    assert public.evaluate("Object.keys(localStorage)") == []
