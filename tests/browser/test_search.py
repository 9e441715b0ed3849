"""The search in a real browser, over HTTP and from a disk."""

from __future__ import annotations

import random
import re
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from playwright.sync_api import Locator, Page, expect

from kb.commands.main import main
from kb.pages.search_words import words

if TYPE_CHECKING:
    from tests.browser.conftest import Axe, PageOf, Served

SETTINGS = """\
site_name: A test book
docs_dir: content
theme: keelbook
use_directory_urls: false
plugins:
  - keelbook:
      units: us
      stages: [hull, systems]
"""
TANK = """\
---
title: Bed the fuel tank
number: S-14
stage: systems
tools: [bevel gauge]
---

It stands on its bearers.

1. Lower the tank onto the bearers.
2. Strap it with {{ straps.count }} straps of 5/8 in, and check the ullage mark.
3. Pour foam round it in batches. Isocyanate hurts.

```calc formula straps
title: The straps
count: 2 * yard.pairs
width: 1 1/2 in
```

```measure tank_shift
what: Movement of the strapped vessel
accept: value <= 0.25 in
unit: in
hold: yes
```
"""
KIT = """\
---
title: Check the core kit
number: H-10
stage: hull
---

## The pieces

| Label | Where |
| --- | --- |
| B-12 | at the chine |
| B-7 | at the keel |

1. Look into each limber hole.
2. The café is out of bounds, the Größe is on the label.
3. Saw 1 1/2 in off, never 1/2 in.
"""
EVIL = "<img src=x onerror=alert(1)>"
HOSTILE = f"""\
---
title: "{EVIL} & <b>bold</b> <!-- \\"quotes\\" ' </script>"
stage: hull
---

1. Mind `{EVIL}` and \\\\u003c zebra.
"""
FAR = "---\ntitle: Much of it\nstage: hull\n---\n\n" + "\n".join(
    f"{n}. Plank {n} is scarfed." for n in range(1, 41)
)
GLOSSARY = """\
air space: {means: Room left empty., slang: [ullage]}
limber hole: {means: A hole for water., slang: [weep hole, mouse door]}
bearer: {means: A beam.}
"""


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a small book as it is built for the shop."""
    root = tmp_path_factory.mktemp("book")
    files = {
        "mkdocs.yml": SETTINGS,
        "content/procedures/bed-tank.md": TANK,
        "content/kit.md": KIT,
        "content/hostile.md": HOSTILE,
        "content/far.md": FAR,
        "content/reference/glossary.yml": GLOSSARY,
        "content/inputs/yard.yml": "yard: {pairs: 3}\n",
    }
    for name, text in files.items():
        (root / name).parent.mkdir(parents=True, exist_ok=True)
        (root / name).write_text(text, encoding="utf-8")
    with pytest.raises(SystemExit) as left:
        main(["--book", str(root), "build", "--site", str(root / "site")])
    assert left.value.code == 0
    return root / "site/shop"


@pytest.fixture(params=["http", "file"])
def top(request: pytest.FixtureRequest, book: Path, served: Served) -> str:
    """Return the address of the book's top, ending in a slash: on a server, and on a disk."""
    return served(book) if request.param == "http" else f"{book.as_uri()}/"


@pytest.fixture
def searching(page: Page, book: Path) -> Page:
    """Return a sheet deep in the book, open from a disk, with its search open."""
    page.goto((book / "procedures/bed-tank.html").as_uri())
    page.keyboard.press("/")
    expect(field(page)).to_be_focused()
    return page


def field(page: Page) -> Locator:
    return page.get_by_role("combobox", name="Search the book")


def ask(page: Page, query: str) -> list[str]:
    """Type a query, and return what it finds as the ways of its rows, without the top of the book."""
    field(page).fill(query)
    page.wait_for_function("!document.querySelector('.search-told').textContent.includes('moment')")
    page.evaluate("new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)))")
    return [way(one) for one in page.get_by_role("option").all() if one.get_attribute("href")]


def way(option: Locator) -> str:
    return str(option.get_attribute("href")).partition("/site/shop/")[2]


def groups(page: Page) -> list[str]:
    return page.locator(".find-group").all_inner_texts()


def told(page: Page) -> str:
    return page.get_by_role("dialog").get_by_role("status").inner_text()


# ---- opening


def test_the_key_opens_the_search_and_the_first_result_leads_to_its_step(page: Page, top: str) -> None:
    page.goto(f"{top}procedures/bed-tank.html")
    page.keyboard.press("/")
    page.keyboard.type("limber")
    row = page.get_by_role("option").filter(has_text="Look into each")
    expect(row).to_be_visible()
    row.click()
    page.wait_for_url(f"{top}kit.html#look-into-each-limber-hole")

    assert page.locator(".step:target").inner_text().endswith("Look into each limber hole.")
    expect(page.get_by_role("dialog")).to_have_count(0)


def test_the_control_stands_first_in_the_rails_second_line_and_opens_the_search(page: Page, top: str) -> None:
    page.goto(f"{top}index.html")
    control = page.locator(".lists li").first.get_by_role("button", name="Search")
    control.click()
    expect(field(page)).to_be_focused()
    page.keyboard.type("foam")
    expect(page.get_by_role("option").first).to_be_visible()
    page.keyboard.press("Escape")

    expect(page.get_by_role("dialog")).to_have_count(0)
    expect(control).to_be_focused()


def test_nothing_of_the_search_is_loaded_before_it_is_opened(page: Page, book: Path) -> None:
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url.rpartition("/")[2]))
    page.goto((book / "kit.html").as_uri())
    assert not {"search-index.js", "search-find.js", "search-words.js"} & set(asked)
    page.keyboard.press("/")
    ask(page, "keel")
    page.keyboard.press("Escape")
    page.keyboard.press("/")
    ask(page, "chine")

    assert asked.count("search-index.js") == 1


def test_without_javascript_there_is_no_search(page_of: PageOf, book: Path) -> None:
    page = page_of(javascript=False)
    page.goto((book / "kit.html").as_uri())
    assert page.locator(".search-control").count() == 1
    assert not page.locator(".search-control").is_visible()
    assert page.locator("dialog, .search").count() == 0


@pytest.mark.parametrize("key", ["Control+/", "Alt+/", "Meta+/"])
def test_the_key_with_another_one_is_left_to_the_browser(page: Page, book: Path, key: str) -> None:
    page.goto((book / "kit.html").as_uri())
    page.keyboard.press(key)
    assert page.locator(".search").count() == 0


def test_a_slash_in_the_field_is_a_slash(searching: Page) -> None:
    searching.keyboard.type("5/8")
    expect(field(searching)).to_have_value("5/8")
    expect(searching.get_by_role("option").first).to_contain_text("5/8")


def test_a_book_without_its_search_file_says_so_and_tries_again(
    page: Page, book: Path, complaints: list[str]
) -> None:
    page.route("**/search-index.js", lambda route: route.abort())
    page.goto((book / "kit.html").as_uri())
    page.keyboard.press("/")
    expect(page.get_by_role("dialog").get_by_role("status")).to_contain_text("search-index.js")
    page.keyboard.press("Escape")
    page.unroute("**/search-index.js")
    page.keyboard.press("/")

    assert "kit.html#the-pieces" in ask(page, "chine")[0]
    complaints.clear()


# ---- what is found


def test_results_are_grouped_by_what_they_are(searching: Page) -> None:
    ways = ask(searching, "straps")
    assert {"Steps", "Numbers"} <= set(groups(searching))
    assert "procedures/bed-tank.html#block-straps" in ways
    assert searching.get_by_role("group", name="Numbers").get_by_role("option").count() == 2


def test_the_words_of_a_query_are_all_wanted_and_the_small_ones_are_weak(searching: Page) -> None:
    assert ask(searching, "bed the tank")[0] == "procedures/bed-tank.html"
    assert "procedures/bed-tank.html#lower-the-tank-onto-the-bearers" in ask(searching, "lower onto a tank")
    assert ask(searching, "tank chine") == []
    assert "Nothing has these words" in told(searching)


@pytest.mark.parametrize(
    ("query", "step"),
    [
        pytest.param("limb", "look-into-each-limber-hole", id="a beginning"),
        pytest.param("LIMBER", "look-into-each-limber-hole", id="capitals"),
        pytest.param("limbers", "look-into-each-limber-hole", id="many of it"),
        pytest.param("weep hole", "look-into-each-limber-hole", id="slang of two words"),
        pytest.param("mouse doors", "look-into-each-limber-hole", id="slang that no text has"),
        pytest.param("cafe", "the-cafe-is-out-of-bounds", id="an accent left out"),
        pytest.param("CAFÉ", "the-cafe-is-out-of-bounds", id="an accent typed"),
        pytest.param("grosse", "the-cafe-is-out-of-bounds", id="a sharp s"),
        pytest.param("1 1/2", "saw-1-1-2-in-off", id="a mixed fraction"),
        pytest.param("1-1/2", "saw-1-1-2-in-off", id="one with a dash"),
        pytest.param("1½", "saw-1-1-2-in-off", id="one as a sign"),
    ],
)
def test_a_step_is_found_however_its_words_are_typed(searching: Page, query: str, step: str) -> None:
    found = [one.partition("#") for one in ask(searching, query)]
    assert any(page == "kit.html" and anchor.startswith(step[:20]) for page, _, anchor in found), found


def test_a_step_is_found_by_the_word_behind_its_slang(searching: Page) -> None:
    steps = [one for one in ask(searching, "air space") if one.startswith("procedures/bed-tank.html#strap")]
    assert len(steps) == 1


@pytest.mark.parametrize(
    "query", ["bearesr", "baerers", "beaers", "bearrers", "bearrs", "isocianat", "isoscyanete"]
)
def test_a_typing_error_is_forgiven(searching: Page, query: str) -> None:
    assert any(one.startswith("procedures/bed-tank.html") for one in ask(searching, query))


@pytest.mark.parametrize("query", ["xyzzy", "bxaxexs", "tan7", "fxm", "iosycanta"])
def test_what_is_too_far_from_every_word_finds_nothing(searching: Page, query: str) -> None:
    assert ask(searching, query) == []


@pytest.mark.parametrize("query", ["B-12", "b12", "b-12", "B12", "b 12", "B‑12"])
def test_a_label_is_one_word_with_its_dash_or_without(searching: Page, query: str) -> None:
    assert ask(searching, query) == ["kit.html#the-pieces"]
    expect(searching.get_by_role("option").first).to_contain_text("at the chine")


def test_a_label_is_not_mistaken_for_its_neighbour(searching: Page) -> None:
    assert ask(searching, "B-13") == []
    assert ask(searching, "B-07") == ["kit.html#the-pieces"]


def test_half_an_inch_is_not_one_and_a_half(searching: Page) -> None:
    ask(searching, "1/2")
    marked = searching.locator("mark").all_inner_texts()
    assert set(marked) == {"1/2"}


def test_the_number_of_a_sheet_finds_the_sheet_first(searching: Page) -> None:
    assert ask(searching, "s14")[0] == "procedures/bed-tank.html"


def test_a_hold_point_is_found_and_opens_at_its_box(searching: Page) -> None:
    ask(searching, "movement vessel")
    assert groups(searching)[0] == "Hold points"
    searching.keyboard.press("Enter")
    searching.wait_for_url("**/bed-tank.html#block-tank_shift")
    assert "Movement of the strapped vessel" in searching.locator(".card:target").inner_text()


def test_a_number_is_found_with_its_value(searching: Page) -> None:
    ask(searching, "straps.count")
    first = searching.get_by_role("group", name="Numbers").get_by_role("option").first
    assert first.locator(".find-mark").inner_text() == "6"


def test_the_found_words_are_marked(searching: Page) -> None:
    ask(searching, "lower the tank")
    marked = searching.get_by_role("group", name="Steps").get_by_role("option").first.locator("mark")
    assert [one.lower() for one in marked.all_inner_texts()] == ["lower", "tank"]


def test_many_results_of_one_kind_are_told_and_shown_when_asked_for(searching: Page) -> None:
    ask(searching, "scarfed")
    steps = searching.get_by_role("group", name="Steps").get_by_role("option")
    before = steps.count()
    steps.last.click()

    assert "40 found" in told(searching)
    assert steps.count() > before
    expect(field(searching)).to_be_focused()


def test_a_hostile_title_is_text(searching: Page) -> None:
    ask(searching, "bold quotes")
    row = searching.get_by_role("option").first
    assert EVIL in row.inner_text()
    assert row.locator("img, b, script").count() == 0
    ask(searching, "onerror alert zebra")
    assert EVIL in searching.get_by_role("group", name="Steps").inner_text()
    assert searching.locator(".search img").count() == 0


@pytest.mark.parametrize(
    "query", ["", "   ", "the", "-", "<b>", "\\", ".*", "(", "a" * 3000, "__proto__", "constructor"]
)
def test_any_query_is_answered(searching: Page, query: str) -> None:
    ask(searching, query)
    assert told(searching)


# ---- keys and fingers


def chosen(page: Page) -> str:
    """Return the text of the row that the field says is the current one."""
    current = field(page).get_attribute("aria-activedescendant")
    return page.locator(f"#{current}").inner_text() if current else ""


def test_the_arrows_go_through_the_rows_and_round_and_enter_follows(searching: Page) -> None:
    ask(searching, "straps")
    texts = searching.get_by_role("option").all_inner_texts()
    assert chosen(searching) == ""
    for text in (*texts, texts[0]):
        searching.keyboard.press("ArrowDown")
        assert chosen(searching) == text
        assert searching.locator("[aria-selected=true]").all_inner_texts() == [text]
    searching.keyboard.press("ArrowUp")
    assert chosen(searching) == texts[-1]
    searching.keyboard.press("ArrowDown")
    wanted = searching.get_by_role("option").first.get_attribute("href")
    searching.keyboard.press("Enter")
    searching.wait_for_url(str(wanted))


def test_escape_gives_the_focus_back_and_the_query_waits(page: Page, book: Path) -> None:
    page.goto((book / "kit.html").as_uri())
    step = page.locator(".step-number").nth(1)
    step.focus()
    page.keyboard.press("/")
    ask(page, "chine")
    page.keyboard.press("Escape")
    expect(step).to_be_focused()
    page.keyboard.press("/")

    expect(field(page)).to_have_value("chine")
    assert page.get_by_role("option").count() == 1


def test_the_field_says_what_it_controls_and_how_much_was_found(searching: Page) -> None:
    box = field(searching)
    assert box.get_attribute("aria-expanded") == "false"
    ask(searching, "straps")
    assert box.get_attribute("aria-expanded") == "true"
    assert searching.locator(f"#{box.get_attribute('aria-controls')}").get_attribute("role") == "listbox"
    assert re.fullmatch(r"\d+ found\.", told(searching))


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_the_open_search_breaks_no_rule_of_accessibility(
    page_of: PageOf, book: Path, served: Served, axe: Axe, scheme: str
) -> None:
    page = page_of(820, scheme="dark" if scheme == "dark" else "light", bypass_csp=True)
    page.goto(f"{served(book)}kit.html")
    page.keyboard.press("/")
    ask(page, "tank")
    page.keyboard.press("ArrowDown")
    assert axe(page) == []


@pytest.mark.parametrize("width", [320, 390, 1280])
def test_rows_are_high_enough_for_a_glove_and_nothing_scrolls_sideways(
    page_of: PageOf, book: Path, width: int
) -> None:
    page = page_of(width, 640, has_touch=True)
    page.goto((book / "kit.html").as_uri())
    page.locator(".search-control").tap()
    for query in ("scarfed", "quotes", "straps"):
        ask(page, query)
        touched = [*page.get_by_role("option").all(), page.get_by_role("button", name="Close"), field(page)]
        boxes = [one.bounding_box() for one in touched]
        assert min(box["height"] for box in boxes if box) >= 43.9
        assert page.evaluate("document.querySelector('.search').scrollWidth") <= width
        assert page.evaluate("document.documentElement.scrollWidth") <= width
    page.get_by_role("button", name="Close").tap()
    expect(page.get_by_role("dialog")).to_have_count(0)


def test_paper_has_no_search(searching: Page) -> None:
    ask(searching, "straps")
    searching.emulate_media(media="print")
    assert not searching.locator(".search").is_visible()


def test_the_browser_takes_the_same_words_from_a_text_as_the_book_does(searching: Page) -> None:
    ask(searching, "tank")
    letters = "aB7 1/2-.,'’½¼é²_x:3‑ßñ́"
    chosen = random.Random(7)
    texts = ["".join(chosen.choices(letters, k=16)) for _ in range(3000)]
    taken = searching.evaluate(
        "(texts) => texts.map((text) => keelbookSearch.words(text).map((one) => one.form))", texts
    )
    assert taken == [words(text) for text in texts]
