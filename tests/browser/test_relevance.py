"""Thirty queries of the shop, written from the procedures alone: each finds its sheet in the first three."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
import yaml
from playwright.sync_api import Page

if TYPE_CHECKING:
    from tests.browser.conftest import PageOf

QUERIES: list[dict[str, Any]] = yaml.safe_load(
    (Path(__file__).parent / "queries.yml").read_text(encoding="utf-8")
)
ENOUGH = 27
FIRST = 3


@pytest.mark.slow
def test_most_of_what_the_shop_types_is_found_in_the_first_three(page_of: PageOf, book: Path) -> None:
    page = page_of()
    page.goto((book / "index.html").as_uri())
    page.keyboard.press("/")

    missed = [query for query in QUERIES if not is_found(first(page, query["query"]), query["finds"])]

    told = [f"{one['query']}: {first(page, one['query'])}" for one in missed]
    assert len(QUERIES) == 30
    assert len(missed) <= len(QUERIES) - ENOUGH, "\n".join(told)


def first(page: Page, query: str) -> list[str]:
    """Return where the first results of a query lead, below the top of the site."""
    page.get_by_role("combobox", name="Search the book").fill(query)
    page.wait_for_function("!document.querySelector('.search-told').textContent.includes('moment')")
    page.evaluate("new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)))")
    ways = [one.get_attribute("href") or "" for one in page.get_by_role("option").all()[:FIRST]]
    return [way.rpartition("/shop/")[2] for way in ways]


def is_found(ways: list[str], wanted: list[str]) -> bool:
    """Tell whether one of some results leads to a wanted page, or to the wanted place on it."""
    return any(
        way == one or ("#" not in one and way.partition("#")[0] == one) for way in ways for one in wanted
    )
