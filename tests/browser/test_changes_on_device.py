"""A device knows which sheets it has opened, and says which of them have changed since."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING

from playwright.sync_api import Page

if TYPE_CHECKING:
    from tests.browser.conftest import PageOf, Served
    from tests.browser.small_book import SmallBook

WORD = "changed since you opened it"


def marked(page: Page) -> list[str]:
    """Return the titles of the sheets that a list marks as changed."""
    rows = page.locator(".sheet-body [data-code]", has=page.locator(".changed-word")).all()
    assert all(WORD in row.inner_text() for row in rows)
    return [row.locator(".sheet-title, a").last.inner_text().removesuffix(WORD).strip() for row in rows]


def test_a_sheet_says_that_it_changed_since_the_day_it_was_last_opened(
    page: Page, small: SmallBook, opened: Served
) -> None:
    address = opened(small.build()) + "cut.html"
    page.clock.set_fixed_time(datetime(2026, 11, 3, 12))
    page.goto(address)
    assert page.locator(".told").count() == 0
    page.clock.set_fixed_time(datetime(2026, 11, 9, 12))
    page.goto(address)
    assert page.locator(".told").count() == 0
    small.build(length="47 in")
    page.clock.set_fixed_time(datetime(2026, 12, 1, 12))
    page.goto(address)
    told = "This sheet has changed since you last opened it on November 9, 2026."
    assert page.locator(".sheet-head .told").inner_text() == told
    page.reload()
    assert page.locator(".told").count() == 0


def test_the_cover_and_the_board_mark_the_sheets_that_changed_until_they_are_opened(
    page: Page, small: SmallBook, opened: Served
) -> None:
    top = opened(small.build())
    for address in ("cut.html", "other.html"):
        page.goto(top + address)
    for address in ("index.html", "board.html"):
        page.goto(top + address)
        assert marked(page) == []
    small.build(length="47 in")
    for address in ("index.html", "board.html"):
        page.goto(top + address)
        assert marked(page) == ["Cut the plank"]
    page.goto(f"{top}cut.html")
    for address in ("index.html", "board.html"):
        page.goto(top + address)
        assert marked(page) == []


def test_a_list_that_comes_back_marks_what_is_still_unread(page: Page, small: SmallBook) -> None:
    top = f"{small.build().as_uri()}/"
    page.goto(f"{top}cut.html")
    small.build(length="47 in")
    page.goto(f"{top}board.html")
    assert marked(page) == ["Cut the plank"]
    page.get_by_role("link", name="Cut the plank").click()
    page.wait_for_url("**/cut.html")
    page.go_back()
    page.wait_for_url("**/board.html")
    assert marked(page) == []


def test_a_sheet_that_was_never_opened_is_not_marked(page: Page, small: SmallBook) -> None:
    top = f"{small.build().as_uri()}/"
    page.goto(f"{top}index.html")
    small.build(length="47 in")
    page.goto(f"{top}index.html")
    assert marked(page) == []
    page.goto(f"{top}cut.html")
    assert page.locator(".told").count() == 0


def test_two_books_on_one_device_know_nothing_of_each_other(
    page: Page, small: SmallBook, served: Served
) -> None:
    small.build()
    top = served(small.root)
    page.goto(f"{top}site/shop/cut.html")
    small.build(length="47 in")
    (small.root / "site/shop").rename(small.root / "site/second")
    page.goto(f"{top}site/second/cut.html")
    assert page.locator(".told").count() == 0
    page.goto(f"{top}site/second/board.html")
    assert marked(page) == []


def test_the_public_edition_carries_no_code_and_the_device_keeps_nothing_of_it(
    page_of: PageOf, small: SmallBook, opened: Served
) -> None:
    folder = small.build("public")
    assert not (folder / "codes.json").exists()
    page = page_of()
    for address in ("index.html", "cut.html"):
        page.goto(opened(folder) + address)
        assert page.locator("[data-code], [data-sheet]").count() == 0
        assert page.evaluate("Object.keys(localStorage)") == []
