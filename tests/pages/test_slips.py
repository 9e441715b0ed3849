"""Slips: every live number opens one, on its own page, that says where the number comes from."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from tests.pages.site_tree import Node, Site, dead_ends, fill, markup_faults, sheet, site_of

if TYPE_CHECKING:
    from tests.pages.conftest import BookBuilder

INPUTS = {"content/inputs/model.yml": "# The deck.\ndeck:\n  length: 48 in\n  width: 13 in\n"}
SHELF = "```calc plank shelf\nlength: deck.length\nwidth: deck.width\n```\n\n"
OTHER = {"content/other.md": sheet("Also {{ deck.length }}.\n", "title: Another\nnumber: X-7")}
V = "{{ deck.length }}"

PLACES = {
    "paragraph": (f"It is {V}.", 1),
    "two in one paragraph": (f"It is {V}, and {V}.", 2),
    "strong and struck": (f"It is **{V}** or *{V}* or ~~{V}~~.", 3),
    "heading": (f"## A deck of {V}", 1),
    "heading, underlined": (f"A deck of {V}\n===\n", 1),
    "link": (f"See [the one of {V}](other.md).", 1),
    "link in a heading": (f"### See [the one of {V}](other.md) or {V}", 2),
    "step": (f"1. Cut {V}.\n2. Cut {V}.", 2),
    "step of paragraphs": (f"1. Cut {V}.\n\n    More {V}.\n\n2. Oil.", 2),
    "list within a step": (f"1. Cut {V}:\n    - here {V}\n    - there\n2. Oil.", 2),
    "task": (f"- [ ] cut {V}\n- [x] oil {V}", 2),
    "table": (f"| a {V} | b |\n| --- | --: |\n| {V} | c |\n| d | {V} |", 3),
    "table in a step": (f"1. Read:\n\n    | a | b |\n    | --- | --- |\n    | {V} | c |", 1),
    "footnote": (f"Look.[^1]\n\n[^1]: At {V}.\n\n    And {V}.", 2),
    "inline footnote": (f"Look.^[At {V}.]", 1),
    "term": (f"A deck of {V}\n:   Long.", 1),
    "definition": (f"Deck\n:   Of {V}.\n:   Or {V}.", 2),
    "definition of paragraphs": (f"Deck\n\n:   Of {V}.\n\n    - {V}", 2),
    "table in a definition": (f"Deck\n:   So:\n\n    | a |\n    | --- |\n    | {V} |", 1),
    "quotation": (f"> It is {V}.", 1),
    "signal": (f":::danger Long\nIt is {V}.\n:::", 1),
    "why": (f":::why\n- It is {V}.\n:::", 1),
    "condition": (f":::when deck.length > 1 in\nIt is {V}.\n:::", 1),
    "details": (f"<details>\n<summary>More</summary>\n\nIt is {V}.\n\n</details>", 1),
    "sup": (f"It is 1<sup>{V}</sup>.", 1),
    "picture": (f"![A deck of {V}](deck.png)", 0),
    "picture in a link": (f"[![A deck of {V}](deck.png) and {V}](other.md)", 1),
    "picture in a heading": (f"## ![A deck of {V}](deck.png)", 0),
    "picture in a cell": (f"| a |\n| --- |\n| ![A deck of {V}](deck.png) |", 0),
}


def built(build: BookBuilder, body: str) -> Site:
    return build({**INPUTS, **OTHER, "content/deck.png": "", "content/p.md": sheet(body + "\n")})


@pytest.fixture(scope="module")
def everywhere(tmp_path_factory: pytest.TempPathFactory) -> Site:
    """Return a book with a page for each place that a value can stand in."""
    pages = {
        f"content/{name.replace(' ', '-').replace(',', '')}.md": sheet(body + "\n", f"title: {name.title()}")
        for name, (body, _) in PLACES.items()
    }
    book = tmp_path_factory.mktemp("everywhere") / "book"
    return site_of(fill(book, {**INPUTS, **OTHER, "content/deck.png": "", **pages}))


@pytest.mark.parametrize(("name", "count"), [(name, count) for name, (_, count) in PLACES.items()])
def test_a_value_works_wherever_text_can_stand(everywhere: Site, name: str, count: int) -> None:
    address = f"{name.replace(' ', '-').replace(',', '')}.html"
    page = everywhere.page(address)
    values = [one for one in page.walk() if one.attrs.get("data-number") == "deck.length"]

    assert [one.text for one in values] == ["48 in"] * count
    assert "{{" not in page.text
    assert all(picture.attrs["alt"] == "A deck of 48 in" for picture in page.all("img"))
    assert markup_faults(everywhere.html(address)) == []
    check_slips(page)


def test_every_page_has_one_heading_of_the_first_level(everywhere: Site, demo: Site) -> None:
    pages = [site.page(address) for site in (everywhere, demo) for address in site.addresses]

    assert {len(page.all("h1")) for page in pages} == {1}


def test_no_link_in_any_of_these_places_leads_nowhere(everywhere: Site) -> None:
    assert dead_ends(everywhere) == []


def check_slips(page: Node) -> None:
    """Every live number opens the slip of its own index, each slip once; none stands for nothing."""
    values = page.all("a", "live")
    slips = [slip.id for slip in page.all("aside", "slip")]
    assert sorted(one.attrs["href"] for one in values) == sorted(f"#{slip}" for slip in slips)
    for value in values:
        index = value.attrs["href"].removeprefix("#slip-")
        assert value.id == f"number-{index}"
        slip = page.by_id(f"slip-{index}")
        assert slip.all("a", "slip-close")[0].attrs["href"] == f"#number-{index}"
        assert slip.one("dl").parts
        assert slip.attrs["aria-label"]


def test_every_number_of_the_demonstration_book_opens_a_slip_of_its_own(demo: Site) -> None:
    pages = [demo.page(address) for address in demo.sheets]

    for page in pages:
        check_slips(page)
    assert sum(len(page.all("a", "live")) for page in pages) > 80
    assert not [one for page in pages for one in page.all("span", "live-plain") if not one.within("a")]


def test_every_page_of_the_demonstration_book_is_sound_and_leads_nowhere_dead(demo: Site) -> None:
    assert {one: found for one in demo.addresses if (found := markup_faults(demo.html(one)))} == {}
    assert dead_ends(demo) == []


def test_the_slip_stands_right_below_what_it_is_about(build: BookBuilder) -> None:
    page = built(build, f"1. Cut {V}.\n\n2. Oil.\n\nAfter.").page("p.html")
    first, second = page.all("li", "step")

    assert len(first.all("aside", "slip")) == 1
    assert second.all("aside", "slip") == []


def rows(slip: Node) -> dict[str, str]:
    return {row.one("dt").text: row.one("dd").text for row in slip.one("dl").parts}


def test_the_slip_of_an_input_says_how_it_is_written_and_by_which_layer_file_and_line(
    build: BookBuilder,
) -> None:
    page = built(build, f"It is {V}.").page("p.html")
    slip = page.one("aside", "slip")
    told = rows(slip)

    assert told["Input"] == "deck.length"
    assert told["Written as"] == "48 in"
    # Line 1 is the comment, line 2 the group.
    assert all(word in told["Decided in"] for word in ("model", "content/inputs/model.yml", "3"))
    assert slip.all("a")[0].attrs["href"] == "inputs.html#deck.length"


def test_the_slip_of_a_number_says_its_rule_what_is_put_in_and_what_it_gives(build: BookBuilder) -> None:
    page = built(build, SHELF + "It is {{ shelf.area }}.").page("p.html")
    slip = page.one("aside", "slip")
    told = rows(slip)

    # By hand: 48 * 13 / 144 = 4.3333, rounded up.
    assert told["Rule"].startswith("length × width")
    assert told["Put in"].startswith("48 in × 13 in")
    assert told["Gives"] == "4.33333 ft² shown as 4.34 ft²"
    assert any(link.attrs["href"] == "#block-shelf" for link in slip.all("a"))
    assert "Planks by hand" in slip.text
    assert "read" in [one.text for one in slip.all("span", "standing")]


def test_the_slip_of_a_number_without_a_rule_says_how_it_is_found(build: BookBuilder) -> None:
    page = built(build, SHELF + "It is {{ shelf.mass }}.").page("p.html")

    assert "area and weight of the wood" in page.one("aside", "slip").text
    assert "13 lb" in page.one("aside", "slip").text.replace("13.0", "13")


def test_the_slip_of_an_expression_says_it_what_is_put_in_and_what_it_gives(build: BookBuilder) -> None:
    page = built(build, "It is {{ 2 * deck.length - deck.width in ft to 1/4 }}.").page("p.html")
    slip = page.one("aside", "slip")
    told = rows(slip)

    # By hand: 2 * 48 - 13 = 83 in = 6.9167 ft, to the nearest quarter 7 ft.
    assert told["Rule"] == "2 × deck.length − deck.width"
    assert told["Put in"] == "2 × 48 in − 13 in"
    assert told["Gives"] == "7 ft"
    assert {link.attrs["href"] for link in slip.all("a") if "close" not in " ".join(link.classes)} == {
        "inputs.html#deck.length",
        "inputs.html#deck.width",
    }


def test_a_slip_says_on_which_sheets_the_number_is_used_each_once(build: BookBuilder) -> None:
    page = built(build, f"{SHELF}It is {V}, or {V}.").page("p.html")
    used = page.by_id("slip-1").all("a", "to-sheet")

    assert {link.text: link.attrs["href"] for link in used} == {"X-7": "other.html", "A page": "p.html"}
    assert len(used) == 2


def test_a_slip_of_a_hull_s_option_says_that_it_is_an_option(build: BookBuilder) -> None:
    files = {**INPUTS, "content/inputs/options/long.yml": "deck:\n  length: 60 in\n"}
    site = build({**files, "content/p.md": sheet("Long: {{ options.long }}.\n")})

    slip = site.page("p.html").one("aside", "slip")
    assert len(rows(slip)) > 1 or "option" in " ".join(rows(slip)).casefold()


def test_a_number_s_slip_names_the_tolerance_that_moves_it(build: BookBuilder) -> None:
    files = {"content/inputs/model.yml": "deck:\n  length: 48 in ± 1/4 in\n"}
    body = "```calc formula cut\nhalf: deck.length / 2\n```\n\nIt is {{ cut.half }}.\n"
    slip = build({**files, "content/p.md": sheet(body)}).page("p.html").one("aside", "slip")

    # By hand: half of 1/4 in either way.
    assert rows(slip)["Tolerance"].replace(" ", "") == "±0.125in"
    assert rows(slip)["Gives"] == "24 in"


def test_what_an_input_says_is_text_in_its_slip_and_never_markup(build: BookBuilder) -> None:
    files = {"content/inputs/model.yml": "deck:\n  word: '<b>oak</b> & \"ash\"'\n"}
    site = build(
        {
            **files,
            "content/p.md": sheet("It is {{ deck.word }}; ![of {{ deck.word }}](d.png)\n"),
            "content/d.png": "",
        }
    )
    page = site.page("p.html")

    assert page.one("a", "live").text == '<b>oak</b> & "ash"'
    assert page.one("img").attrs["alt"] == 'of <b>oak</b> & "ash"'
    assert '<b>oak</b> & "ash"' in page.one("aside", "slip").text
    assert [fault for one in site.addresses for fault in markup_faults(site.html(one))] == []
