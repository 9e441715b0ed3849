"""The pages that the book makes itself: numbers, inputs, limits, calculators, board, stages, cover."""

from __future__ import annotations

import json
import re
from fractions import Fraction
from typing import TYPE_CHECKING

import pytest

from tests.pages.site_tree import Node, Site, dead_ends, sheet

if TYPE_CHECKING:
    from pathlib import Path

    from tests.conftest import Command
    from tests.pages.conftest import BookBuilder

WORST_FIRST = ["outside", "cannot tell", "accepted", "within"]
FOUR = {
    "content/inputs/yard.yml": "accepted:\n  taken: {by: Jo, why: dry, at: 48 in}\nidle:\n  one: 3 in\n",
    "content/inputs/model.yml": "deck:\n  length: 48 in\n  span: 72 in\n",
    "content/p.md": sheet(
        "```limit fine\nrule: deck.length <= 50 in\n```\n\n"
        "```limit broken\nrule: deck.length <= 40 in\n```\n\n"
        "```limit taken\nrule: deck.length <= 30 in\n```\n\n```calc beam carlin\nspan: deck.span\n```\n"
    ),
}


def test_numbers_has_every_number_exactly_once(demo: Site) -> None:
    data = json.loads(demo.html("numbers.json"))["numbers"]
    page = demo.page("numbers.html")

    listed = [row.id for row in page.all("tr") if row.id]
    every = [f"{block}.{name}" for block, results in data.items() for name in results]
    assert sorted(listed) == sorted(every)
    assert len(every) > 20


def test_numbers_shows_each_number_as_its_card_shows_it(demo: Site) -> None:
    listed = {
        cell.attrs["data-number"]: said(cell)
        for cell in demo.page("numbers.html").all("span", "value")
        if cell.attrs.get("data-number")
    }
    on_cards = {
        cell.attrs["data-number"]: said(cell)
        for address in demo.sheets
        for results in demo.page(address).all("dl", "results")
        for cell in results.all("span", "value")
        if cell.attrs.get("data-number")
    }

    assert len(on_cards) > 20
    assert {name: listed[name] for name in on_cards} == on_cards


def said(cell: Node) -> str:
    """Return the number and unit of a cell, without the word of a verdict."""
    words = [one.text for one in cell.walk() if one.classes and one.classes[0] in ("numeral", "unit")]
    return " ".join(words).strip()


def test_every_number_links_to_its_card_and_names_the_sheets_that_use_it(demo: Site) -> None:
    row = demo.page("numbers.html").by_id("load.fill_limit")

    assert row.all("a")[0].attrs["href"] == "procedures/systems/dip-rod-and-load.html#block-load"
    assert "S-11" in [link.text for link in row.all("a", "to-sheet")]


def test_inputs_has_every_input_as_it_is_written_with_its_layer_and_place(demo: Site) -> None:
    data = json.loads(demo.html("numbers.json"))["inputs"]
    rows = {row.id: row for row in demo.page("inputs.html").all("tr") if row.id}

    assert rows.keys() == data.keys()
    for name, one in data.items():
        cells = [cell.text for cell in rows[name].parts]
        assert cells[1].startswith(one["text"]), name
        assert cells[2] == one["layer"]
        assert cells[3] == f"{one['file']}:{one['line']}"


def test_inputs_flags_what_nothing_uses_and_only_that(build: BookBuilder) -> None:
    page = build(FOUR).page("inputs.html")

    flagged = [row.id for row in page.all("tr") if "not used" in row.text]
    assert flagged == ["idle.one"]
    assert "Nothing uses idle.one." in page.text


def test_what_every_title_block_shows_is_used(build: BookBuilder) -> None:
    yard = {"content/inputs/yard.yml": "yard:\n  name: 'The yard'\n  approves: 'Jo'\n"}
    site = build({**yard, "content/p.md": sheet("Words.\n")})

    assert "not used" not in site.page("inputs.html").text
    assert "The yard" in site.page("p.html").one("footer").text


def test_an_input_shows_the_values_that_it_hides_and_their_layers(build: BookBuilder) -> None:
    files = {
        "content/inputs/yard.yml": "deck:\n  length: 40 in\n",
        "content/inputs/model.yml": "deck:\n  length: 48 in\n",
        "content/inputs/options/long.yml": "deck:\n  length: 60 in\n",
        "content/p.md": sheet("It is {{ deck.length }}.\n"),
    }
    row = build(files).page("inputs.html").by_id("deck.length")

    assert [cell.text for cell in row.parts][1] == "48 in40 in yard"
    assert [cell.text for cell in row.parts][2] == "model"
    assert "60 in" not in row.text  # the option is no part of the model


def test_limits_go_from_the_worst_to_the_best_and_are_counted(build: BookBuilder) -> None:
    page = build(FOUR).page("limits.html")

    verdicts = [
        next(word for word in WORST_FIRST if word in one.all("strong", "verdict")[0].text)
        for one in page.all("li", "limit-of")
    ]
    names = [one.text for one in page.all("p", "limit-name")]
    assert verdicts == WORST_FIRST
    assert names == ["broken", "carlin.flat", "taken", "fine"]
    assert [one.one("b").text for one in page.one("ul", "counts").parts] == ["1", "1", "1", "1"]


def test_limits_names_all_that_the_check_names(demo: Site, demonstration: Path, keelbook: Command) -> None:
    ran = keelbook("check", "--json", book=demonstration)
    limits = {
        one["name"]: one["verdict"] for one in json.loads(ran.out)["limits"] if one["edition"] == "model"
    }
    page = demo.page("limits.html")

    found = {
        one.one("p", "limit-name").text: one.all("strong", "verdict")[0].text.lstrip("●◐◇■ ")
        for one in page.all("li", "limit-of")
    }
    assert found == limits


@pytest.mark.parametrize("name", ["formula", "fuel_load", "tank_contents", "tank_volume"])
def test_a_calculator_s_worked_example_is_what_the_shell_works_out(
    demo: Site, demonstration: Path, keelbook: Command, name: str
) -> None:
    explained = json.loads(keelbook("calc", name, "--json", book=demonstration).out)
    page = demo.page(f"calculators/{name}.html")
    example = page.one("div", "example")
    given, gives = (
        {row.one("dt").text: row.one("dd").text for row in rows.parts} for rows in example.all("dl")
    )
    assert given == explained["example"]

    words = [f"{key}={value}" for key, value in given.items()]
    results = json.loads(keelbook("calc", name, *words, "--json", book=demonstration).out)["results"]
    assert len(gives) == len(results)
    for text, one in zip(gives.values(), results.values(), strict=True):
        if "columns" in one:
            assert str(len(one["rows"])) in text
        elif isinstance(one["value"], int | float):
            assert_rounded(text, one["value"])


def assert_rounded(text: str, value: float) -> None:
    """Hold that a number is printed within one step of its last figure."""
    number = text.split()[0]
    step = Fraction(1, 10 ** len(number.partition(".")[2]))
    assert abs(Fraction(number) - Fraction(value)) <= step, (text, value)


def test_every_calculator_says_what_it_takes_gives_and_where_it_is_used(build: BookBuilder) -> None:
    body = "```calc plank shelf\ntitle: A shelf\nlength: 48 in\nwidth: 12 in\n```\n"
    site = build({"content/p.md": sheet(body)})
    page = site.page("calculators/plank.html")

    assert all(
        word in page.text for word in ("What a plank weighs.", "The blade takes fingers.", "the saw bench")
    )
    assert all(
        name in [one.text for one in page.all("code")]
        for name in ("length", "width", "weight", "area", "mass")
    )
    assert "Planks by hand: page 3 read" in page.text
    assert [link.attrs["href"] for link in page.all("a") if link.text == "A shelf"] == [
        "../p.html#block-shelf"
    ]
    row = next(row for row in site.page("calculators.html").all("tr") if "plank" in row.text)
    assert row.parts[-1].text == "1"


def test_the_board_lists_every_sheet_with_the_code_of_its_title_block(demo: Site) -> None:
    board = codes(demo)

    assert board == {address: demo.code(address) for address in demo.sheets}
    assert len(board) >= 3
    assert all(re.fullmatch(r"[0-9A-Z]{4}-[0-9A-Z]{4}", code) for code in board.values())
    assert len(set(board.values())) == len(board)


def codes(site: Site) -> dict[str, str]:
    """Return the code of each sheet on the board, by its address."""
    table = site.page("board.html").one("table", "board")
    return {row.one("a").attrs["href"]: row.one("td", "code").text for row in table.one("tbody").parts}


def test_the_board_lists_a_first_page_of_the_yard_s_own_only_if_that_page_shows_its_code(
    build: BookBuilder,
) -> None:
    files = {"content/index.md": sheet("Welcome.\n", "title: Welcome"), "content/p.md": sheet("Words.\n")}
    site = build(files)

    assert "Welcome." in site.page("index.html").text
    assert sorted(codes(site)) == site.sheets


def test_the_board_shows_the_code_of_the_book_that_the_numbers_carry(demo: Site) -> None:
    foot = demo.page("board.html").one("tfoot").one("td", "code").text

    assert foot == json.loads(demo.html("numbers.json"))["fingerprint"]


ORDER = {
    "content/a.md": sheet("A.\n", "title: Last\nnumber: S-10\nstage: systems"),
    "content/b.md": sheet("B.\n", "title: First\nnumber: S-9\nstage: systems\ncrew: 2\ntime: 90 min"),
    "content/c.md": sheet("C.\n", "title: Lay up\nnumber: H-1\nstage: hull"),
    "content/d.md": sheet("D.\n", "title: Loose"),
}


def test_the_cover_has_the_stages_in_build_order_and_the_sheets_by_number(build: BookBuilder) -> None:
    site = build(ORDER)

    titles = [one.text for one in site.page("index.html").all("span", "sheet-title")]
    assert titles == ["Loose", "Lay up", "First", "Last"]
    assert [one.text for one in site.page("index.html").all("h2")] == ["Hull", "Systems"]


def test_a_stage_has_a_page_and_the_rail_of_its_sheets_is_lit(build: BookBuilder) -> None:
    site = build(ORDER)

    assert [one.text for one in site.page("stages/systems.html").all("span", "sheet-title")] == [
        "First",
        "Last",
    ]
    page = site.page("b.html")
    assert page.one("li", "here").text == "Systems"
    procedures = page.one("ol", "procedures").parts
    assert [one.text for one in procedures] == ["S-9 First", "S-10 Last"]
    assert procedures[0].one("a").attrs["aria-current"] == "page"
    assert "1 hr 30 min" in page.one("dl", "sheet-facts").text


def test_the_stages_of_the_rail_are_the_book_s_own_in_their_order(demo: Site) -> None:
    stops = [one.text for one in demo.page("board.html").one("ol", "stops").parts]

    assert stops == ["Hull", "Systems", "Close-up", "Fit-out", "Water test"]


def test_the_title_block_has_the_fields_of_a_sheet(demo: Site) -> None:
    block = demo.page("procedures/systems/dip-rod-and-load.html").one("footer", "title-block")
    told = {row.one("dt").text: row.one("dd").text for row in block.one("dl").parts}

    assert told["Title"] == "Mark the dip rod and set the fuel load"
    assert told["Document"] == "S-11"
    assert told["Approved by"] == "R. Alder"
    assert told["Revision"] == "not issued"
    assert {"Date of issue", "Sheet", "Hull or model", "Sheet code"} <= told.keys()


@pytest.mark.parametrize(
    "fence",
    [
        "```measure size\nwhat: Size\naccept: abs(value) <= deck.length\nunit: in\n```\n",
        "```materials\nplank: deck.length\n```\n",
        "```weights\nplank: {mass: 3 lb, x: deck.length, y: 0 in, z: 0 in}\n```\n",
    ],
    ids=["measure", "materials", "weights"],
)
def test_what_any_fence_of_the_book_uses_is_not_flagged(build: BookBuilder, fence: str) -> None:
    files = {"content/inputs/model.yml": "deck:\n  length: 48 in\n", "content/p.md": sheet(fence)}
    page = build(files).page("inputs.html")

    assert "Nothing uses" not in page.text
    assert "A page" in page.by_id("deck.length").text


@pytest.mark.parametrize("name", ["sheet", "main", "number"])
def test_an_input_of_any_name_has_a_row_that_a_link_finds(build: BookBuilder, name: str) -> None:
    files = {
        "content/inputs/model.yml": f"{name}: 48 in\n",
        "content/p.md": sheet(f"It is {{{{ {name} }}}}.\n"),
    }
    page = build(files).page("inputs.html")

    assert page.by_id(name).tag == "tr"


def test_a_private_page_is_named_nowhere_and_linked_from_nowhere(build: BookBuilder) -> None:
    files = {
        "content/p.md": sheet("See [it](own.md). It is {{ own_b.x }}.\n"),
        "content/own.md": sheet(
            "```calc formula own_b\nx: 3 in\n```\n", "title: Hushed\nvisibility: private"
        ),
    }
    site = build(files)

    assert dead_ends(site) == []
    assert not [name for name in site.addresses if "Hushed" in site.html(name)]
