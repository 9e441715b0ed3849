"""The browser and what watches it are themselves alive: a guard that hears nothing would pass every page."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from playwright.sync_api import Page

if TYPE_CHECKING:
    from tests.browser.conftest import Axe, PageOf, Served

PLAIN = """<!doctype html>
<html lang="en"><meta charset="utf-8"><title>Tank 46½ in</title>
<link rel="icon" href="data:,">
<main><h1>Tank</h1><p id="said">no script</p></main>
<script>document.getElementById("said").textContent = "script"</script>
<style>p { color: black } @media (prefers-color-scheme: dark) { p { color: white } }</style>
</html>
"""


@pytest.fixture
def plain(tmp_path: Path) -> Path:
    """Return a page in a file."""
    path = tmp_path / "index.html"
    path.write_text(PLAIN, encoding="utf-8")
    return path


def test_a_page_opens_from_a_file_at_the_width_that_was_asked_for(page_of: PageOf, plain: Path) -> None:
    page = page_of(360, 640)
    page.goto(plain.as_uri())
    assert page.title() == "Tank 46½ in"
    assert page.evaluate("[innerWidth, innerHeight]") == [360, 640]


def test_a_page_is_light_or_dark_with_scripts_or_without(page_of: PageOf, plain: Path) -> None:
    dark = page_of(scheme="dark")
    dark.goto(plain.as_uri())
    assert dark.evaluate("getComputedStyle(document.querySelector('p')).color") == "rgb(255, 255, 255)"
    assert dark.inner_text("p") == "script"
    still = page_of(javascript=False)
    still.goto(plain.as_uri())
    assert still.inner_text("p") == "no script"


def test_a_folder_is_served(page: Page, served: Served, plain: Path) -> None:
    page.goto(served(plain.parent))
    assert page.title() == "Tank 46½ in"


@pytest.mark.parametrize(
    "markup",
    [
        '<img src="https://example.org/logo.png" alt="">',
        '<link rel="stylesheet" href="http://example.org/a.css">',
        '<script>fetch("https://example.org/count").catch(() => {})</script>',
        '<iframe src="https://example.org/"></iframe>',
        '<script>new WebSocket("wss://example.org/live")</script>',
    ],
    ids=["image", "stylesheet", "fetch", "frame", "socket"],
)
def test_a_request_that_leaves_the_site_is_caught(
    page: Page, complaints: list[str], tmp_path: Path, markup: str
) -> None:
    path = tmp_path / "leaves.html"
    path.write_text(f"<!doctype html><title>Leaves</title>{markup}", encoding="utf-8")
    page.goto(path.as_uri())
    page.wait_for_load_state("networkidle")
    left = [told for told in complaints if told.startswith("left the site")]
    complaints.clear()
    assert len(left) == 1
    assert "//example.org/" in left[0]


@pytest.mark.parametrize(
    ("markup", "told"),
    [
        ('<script>console.error("the tank is gone")</script>', "on the console: the tank is gone"),
        ('<script>throw new Error("the pump is gone")</script>', "script failed: the pump is gone"),
        ('<img src="gone.png" alt="">', "on the console: Failed to load resource"),
    ],
    ids=["console", "uncaught", "missing file"],
)
def test_an_error_of_a_page_is_caught(
    page: Page, complaints: list[str], tmp_path: Path, markup: str, told: str
) -> None:
    path = tmp_path / "wrong.html"
    path.write_text(f"<!doctype html><title>Wrong</title>{markup}", encoding="utf-8")
    page.goto(path.as_uri())
    page.wait_for_load_state("networkidle")
    heard, complaints[:] = list(complaints), []
    assert [line[: len(told)] for line in heard] == [told]


def test_axe_finds_a_picture_without_words_and_nothing_in_a_good_page(
    page: Page, axe: Axe, plain: Path, tmp_path: Path
) -> None:
    page.goto(plain.as_uri())
    assert axe(page) == []
    path = tmp_path / "mute.html"
    path.write_text(PLAIN.replace("<h1>", '<img src="data:," width=9 height=9><h1>'), encoding="utf-8")
    page.goto(path.as_uri())
    assert any(told.startswith("image-alt:") for told in axe(page))
