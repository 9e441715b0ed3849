"""The control that shows the other system of units, in pages opened from a disk."""

from __future__ import annotations

import re
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from playwright.sync_api import Page, expect

from kb.commands.main import main

if TYPE_CHECKING:
    from tests.browser.conftest import PageOf

SETTINGS = """\
site_name: A test book
docs_dir: content
theme: keelbook
use_directory_urls: false
plugins:
  - keelbook:
      units: {units}
"""
FIRST = """\
---
title: Cut the plank
---

```calc formula plank
length: deck.length
half: deck.length / 2
pieces: ceil(deck.length / 5 {inch})
```

1. Cut {{{{ deck.length }}}}, which is {{{{ plank.half }}}} twice.
2. Make {{{{ plank.pieces }}}} pieces of {{{{ deck.wood }}}}.
3. Keep the shed at {{{{ deck.air }}}}.
"""
SECOND = """\
---
title: Lay the plank
---

1. Lay {{ plank.half }} forward.
"""
US = "deck:\n  length: 46 1/2 in\n  air: 50 degF\n  wood: oak\n"
METRIC = "deck:\n  length: 1200 mm\n  air: 10 degC\n  wood: oak\n"
BLOCKED = """Object.defineProperty(window, 'localStorage', {
    get() { throw new DOMException('blocked', 'SecurityError'); } });"""


@pytest.fixture(scope="module")
def books(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """Return the same small book in each system of units, built for the shop."""
    found = {}
    for units, inputs, inch in (("us", US, "in"), ("metric", METRIC, "mm")):
        root = tmp_path_factory.mktemp(units)
        (root / "content/inputs").mkdir(parents=True)
        (root / "mkdocs.yml").write_text(SETTINGS.format(units=units))
        (root / "content/first.md").write_text(FIRST.format(inch=inch))
        (root / "content/second.md").write_text(SECOND)
        (root / "content/inputs/model.yml").write_text(inputs)
        with pytest.raises(SystemExit) as left:
            main(["--book", str(root), "build", "--site", str(root / "site")])
        assert left.value.code == 0
        found[units] = root / "site/shop"
    return found


@pytest.fixture
def us(page: Page, books: dict[str, Path]) -> Page:
    """Return the first page of the book in US units, open from a disk."""
    page.goto((books["us"] / "first.html").as_uri())
    return page


def plain(text: str) -> str:
    """Return a text with single plain spaces."""
    return re.sub(r"\s+", " ", text).strip()


def in_steps(page: Page) -> list[str]:
    """Return the values that stand in the steps of a page, in order."""
    return [plain(one) for one in page.locator(".step a.live .value").all_inner_texts()]


def in_cards(page: Page) -> list[str]:
    """Return the values that stand in the cards of a page, in order."""
    return [plain(one) for one in page.locator(".card .value").all_inner_texts()]


def control(page: Page) -> str:
    return plain(page.locator(".units-control").inner_text())


def test_without_javascript_there_is_no_control_and_the_books_own_units_stand(
    page_of: PageOf, books: dict[str, Path]
) -> None:
    page = page_of(javascript=False)
    page.goto((books["us"] / "first.html").as_uri())

    assert page.locator(".units-control").count() == 1
    assert not page.locator(".units-control").is_visible()
    assert in_steps(page)[0] == "46.5 in"


def test_a_click_swaps_numbers_and_units_in_steps_and_cards_and_another_brings_them_back(us: Page) -> None:
    steps, cards = in_steps(us), in_cards(us)
    assert control(us) == "Show metric"
    us.locator(".units-control").click()

    assert control(us) == "Show US units"
    swapped = in_steps(us)
    assert swapped[0] == "1180 mm"
    # 46.5 x 25.4 = 1181.1, half of it 590.55; (50 - 32) / 1.8 = 10
    assert swapped[1] == "591 mm"
    assert re.fullmatch(r"10(\.0)? ?(degC|°C)", swapped[-1])
    assert "1180 mm" in in_cards(us)
    assert "591 mm" in in_cards(us)
    assert not any(re.search(r"\bin$", one) for one in (*swapped, *in_cards(us)))
    us.locator(".units-control").click()

    assert (in_steps(us), in_cards(us), control(us)) == (steps, cards, "Show metric")


def test_a_count_and_a_word_stay_as_they_are(us: Page) -> None:
    before = plain(us.locator(".step").nth(1).inner_text())
    us.locator(".units-control").click()

    assert plain(us.locator(".step").nth(1).inner_text()) == before
    assert "10 pieces of oak" in before


def test_every_swapped_value_has_a_text_and_no_page_holds_an_empty_one(us: Page) -> None:
    assert us.locator("[data-other]").count() > 0
    assert us.locator("[data-other='']").count() == 0
    us.locator(".units-control").click()
    assert us.locator("[data-other='']").count() == 0


def test_a_metric_book_offers_us_units(page: Page, books: dict[str, Path]) -> None:
    page.goto((books["metric"] / "first.html").as_uri())
    assert control(page) == "Show US units"
    assert in_steps(page)[0] == "1200 mm"
    page.locator(".units-control").click()

    assert control(page) == "Show metric"
    # 1200 / 25.4 = 47.244 and half of it 23.622
    assert in_steps(page)[:2] == ["47.2 in", "23.6 in"]


def test_the_choice_is_remembered_on_the_next_page_and_after_going_back(us: Page) -> None:
    us.locator(".units-control").click()
    us.goto(us.url.replace("first.html", "second.html"))
    assert control(us) == "Show US units"
    assert in_steps(us) == ["591 mm"]
    us.locator(".units-control").click()
    us.go_back()

    # The last choice was the book's own units, whichever way the page came back.
    assert control(us) == "Show metric"
    assert in_steps(us)[0] == "46.5 in"


def test_where_storage_is_blocked_the_control_works_and_the_next_page_starts_with_the_books_units(
    page: Page, books: dict[str, Path]
) -> None:
    page.add_init_script(BLOCKED)
    page.goto((books["us"] / "first.html").as_uri())
    page.locator(".units-control").click()
    assert in_steps(page)[0] == "1180 mm"
    page.goto((books["us"] / "second.html").as_uri())

    assert page.locator(".units-control").is_visible()
    assert control(page) == "Show metric"
    assert plain(page.locator(".step .value").first.inner_text()).endswith("in")


def test_paper_shows_the_books_own_units_and_the_screen_goes_on_as_it_was(us: Page) -> None:
    own = in_steps(us), in_cards(us)
    us.locator(".units-control").click()
    other = in_steps(us), in_cards(us)
    us.emulate_media(media="print")
    us.evaluate("window.dispatchEvent(new Event('beforeprint'))")

    assert (in_steps(us), in_cards(us)) == own
    assert not us.locator(".units-control").is_visible()
    us.evaluate("window.dispatchEvent(new Event('afterprint'))")
    us.emulate_media(media="screen")

    assert (in_steps(us), in_cards(us)) == other
    assert control(us) == "Show US units"


def test_paper_is_the_same_where_nothing_was_swapped(us: Page) -> None:
    own = in_steps(us)
    us.evaluate("window.dispatchEvent(new Event('beforeprint'))")
    assert in_steps(us) == own
    us.evaluate("window.dispatchEvent(new Event('afterprint'))")
    assert in_steps(us) == own


def test_the_control_is_large_enough_for_a_glove(page_of: PageOf, books: dict[str, Path]) -> None:
    page = page_of(has_touch=True)
    page.goto((books["us"] / "first.html").as_uri())
    for width in (390, 820, 1400):
        page.set_viewport_size({"width": width, "height": 800})
        box = page.locator(".units-control").bounding_box()
        assert box is not None
        assert min(box["width"], box["height"]) >= 43.9  # 44 px, in parts of the reader's text size
        page.locator(".units-control").tap()


def test_the_keyboard_reaches_the_control_and_turns_it(us: Page) -> None:
    button = us.get_by_role("button", name="Show metric")
    button.focus()
    us.keyboard.press("Enter")
    expect(us.get_by_role("button", name="Show US units")).to_be_focused()
    us.keyboard.press("Space")

    assert in_steps(us)[0] == "46.5 in"
