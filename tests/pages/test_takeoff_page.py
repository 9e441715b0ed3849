"""The page of the take-off, and the materials on sheets that it sums."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

import pytest

from tests.pages.site_tree import Node, Site, dead_ends, markup_faults, sheet

if TYPE_CHECKING:
    from pathlib import Path

    from tests.conftest import Command
    from tests.pages.conftest import BookBuilder

CATALOGUE = """\
resin:
  unit: gal
  density: 10 lb/gal
  packs: [1 gal, 5 gal]
  shelf_life: 180 day
  lead_time: 5 day
  storage: cool & dry
  safety_sheet: green binder, 4
  note: stir it first
pail: {unit: piece, packs: [1, 10], lead_time: 1 day}
wire: {unit: ft, lead_time: 3 week}
"""
# By hand: 65 lb of resin are 6.5 gal, and 10 % more 7.15 gal; with the deck's 2 gal it is 9.15 gal.
FILES = {
    "content/reference/materials.yml": CATALOGUE,
    "content/deck.md": sheet(
        "```materials\nresin: 2 gal\npail: 12\n```\n", "title: The deck\nnumber: S-2\nstage: systems"
    ),
    "content/hull.md": sheet(
        "```materials\nresin: {quantity: 65 lb, waste: 10 %}\nwire: 10 ft\n```\n",
        "title: The hull\nnumber: H-1\nstage: hull",
    ),
}
PRICED = {
    **FILES,
    "content/reference/materials.yml": CATALOGUE.replace("[1, 10],", "[1, 10], prices: [2.5, 20.1],"),
}


def cells(site: Site, title: str) -> dict[str, dict[str, str]]:
    """Return the cells of the table below a heading by material and head, without those that say nothing."""
    (table,) = [
        one.one("table")
        for one in site.page("takeoff.html").all("section")
        if any(head.text == title for head in one.all("h2"))
    ]
    return {
        row.one("th").children[0] if isinstance(row.one("th").children[0], str) else row.one("th").text: {
            cell.attrs["data-head"]: cell.text for cell in row.all("td") if "none" not in cell.classes
        }
        for row in table.one("tbody").all("tr")
    }


@pytest.fixture
def fetched(build: BookBuilder) -> dict[str, dict[str, str]]:
    return cells(build(FILES), "What to fetch")


def test_each_material_is_summed_over_the_sheets_and_rounded_up_to_packs(
    fetched: dict[str, dict[str, str]],
) -> None:
    assert fetched["resin"] == {
        "Needed": "9.15 gal",
        "Fetch": "2 × 5 gal",
        "Bought": "10 gal",
        "Left over": "0.85 gal",
        "Used on": "H-1, S-2",
    }


def test_packs_of_several_sizes_stand_with_the_largest_first(fetched: dict[str, dict[str, str]]) -> None:
    assert fetched["pail"]["Fetch"] == "1 × 10 pieces2 pieces"  # each on a line of its own
    assert fetched["pail"]["Needed"] == fetched["pail"]["Bought"] == "12"


def test_a_material_without_packs_is_bought_as_it_is_needed(fetched: dict[str, dict[str, str]]) -> None:
    assert fetched["wire"] == {"Needed": "10 ft", "Bought": "10 ft", "Used on": "H-1"}


def test_materials_stand_in_the_order_of_the_build(fetched: dict[str, dict[str, str]]) -> None:
    assert list(fetched) == ["resin", "wire", "pail"]


def test_it_says_how_a_material_comes_and_keeps(build: BookBuilder) -> None:
    kept = cells(build(FILES), "How it comes and keeps")

    assert kept["resin"] == {
        "Lead time": "5 days",
        "Shelf life": "180 days",
        "Stored": "cool & dry",
        "Safety sheet": "green binder, 4",
    }
    assert kept["pail"] == {"Lead time": "1 day"}


def test_what_takes_longest_to_come_is_ordered_first(build: BookBuilder) -> None:
    page = build(FILES).page("takeoff.html")

    first = page.one("ol", "order-first").all("li")
    assert [one.one("b").text for one in first] == ["3 weeks", "5 days", "1 day"]
    assert [one.one("a").text for one in first] == ["wire", "resin", "pail"]
    assert "2 × 5 gal" in first[1].text
    assert page.by_id(first[1].one("a").attrs["href"].removeprefix("#")).one("th").text.startswith("resin")


def test_the_list_of_what_is_ordered_first_is_short(build: BookBuilder) -> None:
    names = [f"part {letter}" for letter in "abcdefghij"]
    catalogue = "".join(f"{name}: {{unit: piece, lead_time: {at} day}}\n" for at, name in enumerate(names))
    fence = "".join(f"{name}: 1\n" for name in names)
    files = {
        "content/reference/materials.yml": catalogue,
        "content/p.md": sheet(f"```materials\n{fence}```\n"),
    }

    first = build(files).page("takeoff.html").one("ol", "order-first").all("a")
    assert 3 <= len(first) < len(names)
    assert [one.text for one in first] == names[::-1][: len(first)]


def test_nothing_is_ordered_first_that_is_not_needed_or_is_there_at_once(build: BookBuilder) -> None:
    files = {
        "content/reference/materials.yml": (
            "a: {unit: lb, lead_time: 9 day}\nb: {unit: lb, lead_time: 0 day}\nc: {unit: lb}\n"
        ),
        "content/p.md": sheet("```materials\na: 0 lb\nb: 1 lb\nc: 1 lb\n```\n"),
    }

    assert not build(files).page("takeoff.html").all("ol", "order-first")


def test_costs_stand_only_where_prices_are_given(build: BookBuilder) -> None:
    assert "Cost" not in build(FILES).page("takeoff.html").text


def test_a_cost_is_that_of_the_packs_in_the_yard_s_money(build: BookBuilder) -> None:
    site = build({**PRICED, "content/inputs/yard.yml": "yard:\n  money: 'pounds & pence'\n"})

    found = cells(site, "What to fetch")
    assert found["pail"]["Cost, pounds & pence"] == "25.10"  # 20.10 and two at 2.50
    foot = site.page("takeoff.html").one("tfoot")
    assert foot.one("th").text == "Together, without resin; wire"
    assert foot.all("td", "numeral")[0].text == "25.10"
    assert site.page("inputs.html").by_id("yard.money").parts[-1].text == "take-off"


def test_without_a_word_for_money_a_cost_stands_alone(build: BookBuilder) -> None:
    assert cells(build(PRICED), "What to fetch")["pail"]["Cost"] == "25.10"


def test_every_size_stands_in_the_other_system_too(build: BookBuilder) -> None:
    site = build(FILES)
    row = next(row for row in site.page("takeoff.html").all("tr") if row.text.startswith("resin"))

    # 1 gal is 3.785411784 L: what is needed is rounded up, what packs hold and what is left over down.
    assert others(row) == ["34.7 L", "18.9 L", "37.8 L", "3.21 L"]


def others(row: Node) -> list[str]:
    return [
        " ".join(one.attrs["data-other"] for one in value.all("span") if "data-other" in one.attrs)
        for value in row.all("span", "value")
        if value.all("span", "unit")
    ]


def test_a_need_that_cannot_be_told_says_why_and_asks_for_no_packs(build: BookBuilder) -> None:
    files = {
        "content/reference/materials.yml": "resin: {unit: in, packs: [5 in], lead_time: 9 day}\n",
        "content/p.md": sheet(
            "```calc beam carlin\nspan: 72 in\n```\n\n```materials\nresin: carlin.sag\n```\n"
        ),
    }
    site = build(files)

    needed = cells(site, "What to fetch")["resin"]
    assert needed.keys() == {"Needed", "Used on"}
    assert "the span was never tried" in needed["Needed"]
    assert "cannot tell" in needed["Needed"]
    assert "resin" in site.page("takeoff.html").one("ol", "order-first").text


def test_a_need_that_rests_on_a_broken_limit_says_so_on_the_sheet_and_in_the_take_off(
    build: BookBuilder,
) -> None:
    calc = "```calc plank shelf\nlength: 100 in\nwidth: 12 in\n```\n\n"
    site = build({"content/p.md": sheet(f"{calc}```materials\noak: shelf.mass\n```\n")})

    assert "outside" in site.page("p.html").one("section", "materials").text
    assert "outside" in cells(site, "What to fetch")["oak"]["Needed"]


def test_what_the_catalogue_does_not_have_is_named(build: BookBuilder) -> None:
    site = build({"content/p.md": sheet("```materials\nglue: 2 lb\noak & ash: 3 ft\n```\n")})

    page = site.page("takeoff.html")
    assert "glue; oak & ash" in page.one("p", "remark").text
    assert "How it comes and keeps" not in page.text


def test_a_book_without_materials_says_how_to_ask_for_one(build: BookBuilder) -> None:
    page = build({"content/p.md": sheet("Words.\n")}).page("takeoff.html")

    assert "No sheet asks for a material yet" in page.text
    assert not page.all("table")


def test_a_sheet_shows_what_the_take_off_sums(build: BookBuilder) -> None:
    rows = build(FILES).page("hull.html").one("section", "materials").all("tr")

    assert rows[0].one("td").all("span", "value")[0].text == "7.15 gal"
    assert rows[0].one("td").one("span", "label").text == "with 10 % for waste"
    assert rows[1].one("td").text == "10 ft"


def test_the_take_off_stands_on_the_rail_and_all_its_links_lead_somewhere(build: BookBuilder) -> None:
    site = build(FILES)

    lists = site.page("deck.html").one("nav", "lists").all("a")
    assert [one.text for one in lists if one.attrs["href"] == "takeoff.html"] == ["Take-off"]
    assert dead_ends(site) == []
    assert markup_faults(site.html("takeoff.html")) == []


def test_the_public_edition_has_no_take_off(build: BookBuilder) -> None:
    public = {name: text.replace("title:", "visibility: public\ntitle:") for name, text in FILES.items()}
    site = build(public, "public")

    assert "hull.html" in site.addresses
    assert "takeoff.html" not in site.addresses
    assert "green binder" not in "".join(map(site.html, site.addresses))


def test_the_demonstration_s_page_agrees_with_the_command(
    demo: Site, demonstration: Path, keelbook: Command
) -> None:
    data = json.loads(keelbook("takeoff", "--json", book=demonstration).out)["materials"]
    found = cells(demo, "What to fetch")

    assert len(found) > 20
    assert found.keys() == {one["material"] for one in data}
    assert not demo.page("takeoff.html").all("p", "remark")
