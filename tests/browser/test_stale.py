"""A copy that a device or a server in between has kept says that there is a newer one."""

from __future__ import annotations

import json
import shutil
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from playwright.sync_api import Page, expect

if TYPE_CHECKING:
    from tests.browser.conftest import PageOf, Served
    from tests.browser.small_book import SmallBook

NEWER = "A newer copy of this sheet exists: load it"


def asked(page: Page) -> list[str]:
    """Return a list that grows by what the page fetches for itself."""
    found: list[str] = []
    page.on("request", lambda one: found.append(one.url) if one.resource_type == "fetch" else None)
    return found


@pytest.fixture
def kept(small: SmallBook, tmp_path: Path) -> Path:
    """Return the site of today with the sheet `cut` and the board as they were yesterday."""
    old = tmp_path / "old"
    shutil.copytree(small.build(), old)
    site = small.build(length="47 in")
    shutil.copytree(site, tmp_path / "new")
    for name in ("cut.html", "board.html"):
        shutil.copy2(old / name, site / name)
    return site


def test_an_old_copy_says_so_and_its_link_loads_the_new_one(
    page: Page, kept: Path, served: Served, tmp_path: Path
) -> None:
    page.goto(f"{served(kept)}cut.html")
    expect(page.locator(".stale")).to_have_text(NEWER)
    assert "46.5" in page.locator(".step").first.inner_text()
    shutil.copy2(tmp_path / "new/cut.html", kept / "cut.html")
    page.get_by_role("link", name="load it").click()
    expect(page.locator(".step").first).to_contain_text("47")
    page.wait_for_load_state("networkidle")
    assert page.locator(".stale").count() == 0


def test_an_old_board_says_so_too(page: Page, kept: Path, served: Served) -> None:
    page.goto(f"{served(kept)}board.html")
    expect(page.locator(".stale")).to_have_text("A newer copy of this page exists: load it")


def test_a_sheet_that_the_book_no_longer_has_says_so(page: Page, kept: Path, served: Served) -> None:
    codes = json.loads((kept / "codes.json").read_text())
    del codes["cut.html"]
    (kept / "codes.json").write_text(json.dumps(codes))
    page.goto(f"{served(kept)}cut.html")
    expect(page.locator(".stale")).to_have_text("This sheet is no longer in the book on the server.")


def test_the_line_moves_nothing_and_covers_no_end(page_of: PageOf, kept: Path, served: Served) -> None:
    page = page_of(390)
    page.goto(f"{served(kept)}cut.html")
    expect(page.locator(".stale")).to_be_visible()
    link = page.get_by_role("link", name="load it").bounding_box()
    assert link is not None
    assert link["height"] >= 43.9
    page.evaluate("scrollTo({top: document.documentElement.scrollHeight, behavior: 'instant'})")
    line, end = page.locator(".stale").bounding_box(), page.locator(".title-block").bounding_box()
    assert line is not None
    assert end is not None
    assert end["y"] + end["height"] <= line["y"]


def test_a_sheet_asks_once_and_a_current_one_says_nothing(
    page: Page, small: SmallBook, served: Served
) -> None:
    top, fetched = served(small.build()), asked(page)
    page.goto(f"{top}cut.html")
    page.wait_for_load_state("networkidle")
    assert fetched == [f"{top}codes.json"]
    assert page.locator(".stale").count() == 0


def test_nothing_is_asked_from_a_disk_offline_or_by_the_public(
    page_of: PageOf, small: SmallBook, served: Served
) -> None:
    page, folder = page_of(), small.build()
    fetched = asked(page)
    page.goto((folder / "cut.html").as_uri())
    page.wait_for_load_state("networkidle")
    public = small.build("public")
    page.goto(f"{served(public)}cut.html")
    page.wait_for_load_state("networkidle")
    page.add_init_script("Object.defineProperty(Navigator.prototype, 'onLine', {get: () => false})")
    page.goto(f"{served(folder)}cut.html")
    page.wait_for_load_state("networkidle")
    assert fetched == []


@pytest.mark.parametrize("answer", ["", "null", "[]", '"x"', "<html>"])
def test_an_answer_that_is_no_list_of_codes_breaks_nothing(
    page: Page, small: SmallBook, served: Served, answer: str
) -> None:
    folder = small.build()
    (folder / "codes.json").write_text(answer)
    page.goto(f"{served(folder)}cut.html")
    page.wait_for_load_state("networkidle")
    page.get_by_text("Look at it.").click()
    assert page.locator("[aria-pressed='true']").count() == 1


def test_a_server_without_an_answer_leaves_the_copy_as_the_best_there_is(
    page: Page, small: SmallBook, served: Served, complaints: list[str]
) -> None:
    folder = small.build()
    (folder / "codes.json").unlink()
    page.goto(f"{served(folder)}cut.html")
    page.wait_for_load_state("networkidle")
    assert page.locator(".stale").count() == 0
    # The browser itself notes the missing file.
    assert [one for one in complaints if "codes.json" not in one] == []
    complaints.clear()


def test_the_codes_are_those_of_the_title_blocks(small: SmallBook) -> None:
    folder = small.build()
    codes = json.loads((folder / "codes.json").read_text())
    assert codes.keys() == {"cut.html", "other.html", "board.html"}
    for address, code in codes.items():
        html = (folder / address).read_text()
        assert f'<main class="sheet{" own" if address == "board.html" else ""}"' in html
        assert f'data-sheet="{address}" data-code="{code}"' in html
        assert f'"code">{code}<' in html
