"""`keelbook numbers`: values in their declared units, and the worst verdict each number rests on."""

from __future__ import annotations

import csv
import json
import re
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from kb.content.book import Edition
from kb.reckon import open_book

if TYPE_CHECKING:
    from tests.conftest import BookMaker, Command

HEAD = "---\ntitle: A page\n---\n"
PLANK = HEAD + "```calc plank deck\nlength: deck_length\nwidth: 1 ft\n```\n"
LENGTH = {"content/inputs/model.yml": "deck_length: 4 ft\n"}


@pytest.fixture
def numbers(make_book: BookMaker, keelbook: Command, yard: dict[str, str]) -> Any:
    """Return a function that gives `numbers --json` of a book of pages and inputs, with the yard's plugin."""

    def data(files: dict[str, str], *arguments: str) -> Any:
        return json.loads(keelbook("numbers", "--json", *arguments, book=make_book({**yard, **files})).out)

    return data


@pytest.fixture
def verdicts(numbers: Any) -> Any:
    """Return a function that gives the verdict of every number of a book, by its full name."""

    def found(files: dict[str, str], *arguments: str) -> dict[str, str]:
        blocks = numbers(files, *arguments)["numbers"]
        return {f"{block}.{name}": one["verdict"] for block in blocks for name, one in blocks[block].items()}

    return found


def test_json_holds_the_book_its_revision_its_fingerprint_its_numbers_and_its_inputs(numbers: Any) -> None:
    data = numbers({"content/p.md": PLANK, **LENGTH})

    assert data.keys() == {"book", "revision", "fingerprint", "numbers", "inputs"}
    assert data["book"] == "A test book"


def test_a_number_has_value_unit_verdict_page_and_line(numbers: Any) -> None:
    area = numbers({"content/stage/p.md": PLANK, **LENGTH})["numbers"]["deck"]["area"]

    assert area == {"value": 4, "unit": "ft^2", "verdict": "within", "page": "p", "line": 4}


def test_an_input_has_its_text_value_unit_layer_file_and_line(numbers: Any) -> None:
    inputs = numbers({"content/inputs/model.yml": "# sizes\ndeck:\n  length: 46 1/2 in\n"})["inputs"]

    assert inputs == {
        "deck.length": {
            "text": "46 1/2 in",
            "value": 46.5,
            "unit": "in",
            "layer": "model",
            "file": "content/inputs/model.yml",
            "line": 3,
        }
    }


def test_an_input_that_is_no_quantity_has_its_text_and_no_unit(numbers: Any) -> None:
    inputs = numbers({"content/inputs/model.yml": "fuel: diesel\nlaid: 2026-03-01\n"})["inputs"]

    assert inputs["fuel"]["text"] == "diesel"
    assert inputs["laid"]["text"] == "2026-03-01"
    assert not {"unit", "tolerance"} & (inputs["fuel"].keys() | inputs["laid"].keys())


def test_values_are_in_the_units_that_the_calculator_declares(numbers: Any) -> None:
    metric = "deck_length: 1.2192 m\n"  # four feet: a foot is 0.3048 m by definition

    area = numbers({"content/p.md": PLANK, "content/inputs/model.yml": metric})["numbers"]["deck"]["area"]

    assert (area["value"], area["unit"]) == (pytest.approx(4), "ft^2")


def test_a_line_of_a_formula_that_ends_in_a_unit_is_given_in_it(numbers: Any) -> None:
    page = HEAD + "```calc formula sums\nside: 2 ft * 3 ft in in^2\n```\n"

    side = numbers({"content/p.md": page})["numbers"]["sums"]["side"]

    assert (side["value"], side["unit"]) == (864, "in^2")


def test_a_share_is_given_in_percent(numbers: Any) -> None:
    page = HEAD + "```calc formula sums\nkept: 7 %\npart: 1 gal / 4 gal in %\n```\n"

    sums = numbers({"content/p.md": page})["numbers"]["sums"]

    assert (sums["kept"]["value"], sums["kept"]["unit"]) == (7, "%")
    assert (sums["part"]["value"], sums["part"]["unit"]) == (25, "%")


def test_a_count_is_a_whole_number(make_book: BookMaker, keelbook: Command, yard: dict[str, str]) -> None:
    page = (
        HEAD
        + "```calc curve pump\npoints: [{head: 1 ft, flow: 900 gal/hr}, {head: 9 ft, flow: 0 gal/hr}]\n```\n"
    )

    ran = keelbook("numbers", "--json", book=make_book({**yard, "content/p.md": page}))

    assert re.search(r'"points": \{\s*"value": 2,', ran.out)


def test_a_table_has_columns_with_units_and_rows(numbers: Any) -> None:
    page = (
        HEAD + "```calc curve pump\npoints: [{head: 9 ft, flow: 0 gph}, {head: 12 in, flow: 15 gpm}]\n```\n"
    )

    table = numbers({"content/p.md": page})["numbers"]["pump"]["sorted"]

    assert table["columns"] == [
        {"name": "head", "unit": "ft"},
        {"name": "flow", "unit": "gal/hr"},
        {"name": "note", "unit": ""},
    ]
    assert table["rows"] == [[1, pytest.approx(900), ""], [9, 0, ""]]


def test_a_number_without_an_answer_has_no_value_and_says_why(numbers: Any) -> None:
    page = HEAD + "```calc beam carlin\nspan: 72 in\n```\n"

    sag = numbers({"content/p.md": page})["numbers"]["carlin"]["sag"]

    assert (sag["value"], sag["why"]) == (None, "the span was never tried")


def test_what_rests_on_a_number_without_an_answer_has_none_either_and_says_why(numbers: Any) -> None:
    page = HEAD + (
        "```calc beam carlin\nspan: 72 in\n```\n\n"
        "```calc formula sums\nroom: carlin.sag + 1 in\n```\n\n"
        "```calc halve mid\nsize: sums.room\n```\n"
    )

    found = numbers({"content/p.md": page})["numbers"]

    assert found["sums"]["room"]["value"] is None
    assert found["mid"]["half"]["value"] is None
    assert "the span was never tried" in found["sums"]["room"]["why"]
    assert "the span was never tried" in found["mid"]["half"]["why"]


def test_a_number_without_an_answer_is_no_error(
    make_book: BookMaker, keelbook: Command, yard: dict[str, str]
) -> None:
    page = HEAD + "```calc beam carlin\nspan: 72 in\n```\n\nIt sags {{ carlin.sag }}.\n"

    ran = keelbook("check", book=make_book({**yard, "content/p.md": page}))

    assert (ran.code, ran.err) == (0, "")


def test_one_line_a_number_is_printed_with_its_place(
    make_book: BookMaker, keelbook: Command, yard: dict[str, str]
) -> None:
    ran = keelbook("numbers", book=make_book({**yard, "content/p.md": PLANK, **LENGTH}))

    area = next(line for line in ran.out.splitlines() if line.startswith("deck.area"))

    assert "4.00 ft^2" in area or "4.00 ft²" in area
    assert area.endswith("content/p.md:4")


def rows_of(text: str) -> list[dict[str, str]]:
    return list(csv.DictReader(text.splitlines()))


def test_csv_has_one_line_a_number(make_book: BookMaker, keelbook: Command, yard: dict[str, str]) -> None:
    ran = keelbook("numbers", "--csv", book=make_book({**yard, "content/p.md": PLANK, **LENGTH}))

    area, mass = rows_of(ran.out)

    assert (area["number"], float(area["value"]), area["unit"]) == ("deck.area", 4, "ft^2")
    assert (mass["number"], float(mass["value"]), mass["unit"]) == ("deck.mass", 15, "lb")
    assert (area["verdict"], area["page"], area["line"]) == ("within", "p", "4")


def test_csv_leaves_the_value_empty_where_there_is_no_answer(
    make_book: BookMaker, keelbook: Command, yard: dict[str, str]
) -> None:
    page = HEAD + "```calc beam carlin\nspan: 72 in\n```\n"

    (sag,) = rows_of(keelbook("numbers", "--csv", book=make_book({**yard, "content/p.md": page})).out)

    assert (sag["number"], sag["value"], sag["verdict"]) == ("carlin.sag", "", "cannot tell")


def test_csv_and_json_exclude_each_other(make_book: BookMaker, keelbook: Command) -> None:
    ran = keelbook("numbers", "--csv", "--json", book=make_book({}))

    assert (ran.code, ran.out) == (64, "")


HULLS = {
    "content/p.md": PLANK,
    "content/inputs/model.yml": "deck_length: 4 ft\nwood: oak\n",
    "content/inputs/options/long.yml": "deck_length: 6 ft\n",
    "content/hulls/A-1/hull.yml": "options: [long]\n",
    "content/hulls/A-2/hull.yml": "options: [long]\ndeck_length: 7 ft\n",
}


@pytest.mark.parametrize(("hull", "area"), [([], 4), (["--hull", "A-1"], 6), (["--hull", "A-2"], 7)])
def test_a_later_layer_overrides_an_earlier_one(numbers: Any, hull: list[str], area: float) -> None:
    data = numbers(HULLS, *hull)

    assert data["numbers"]["deck"]["area"]["value"] == area


def test_a_value_remembers_the_layer_file_and_line_it_comes_from(numbers: Any) -> None:
    inputs = numbers(HULLS, "--hull", "A-2")["inputs"]

    assert (inputs["wood"]["layer"], inputs["wood"]["line"]) == ("model", 2)
    assert "A-2" in inputs["deck_length"]["layer"]
    assert inputs["deck_length"]["file"] == "content/hulls/A-2/hull.yml"
    assert inputs["deck_length"]["line"] == 2


def test_an_unknown_hull_ends_with_64_and_the_nearest(make_book: BookMaker, keelbook: Command) -> None:
    book = make_book({"content/hulls/Q26-001/hull.yml": "name: Skua\n"})

    ran = keelbook("numbers", "--hull", "Q26-01", book=book)

    assert (ran.code, ran.out) == (64, "")
    assert "'Q26-001'" in ran.err


def test_numbers_of_a_book_with_errors_end_with_2_and_give_the_rest(
    make_book: BookMaker, keelbook: Command, yard: dict[str, str]
) -> None:
    wrong = HEAD + "```calc formula sums\nx: nowhere.at_all\n```\n"

    ran = keelbook(
        "numbers", "--json", book=make_book({**yard, "content/p.md": PLANK, "content/q.md": wrong, **LENGTH})
    )

    assert ran.code == 2
    assert "nowhere.at_all" in ran.err
    assert json.loads(ran.out)["numbers"]["deck"]["area"]["value"] == 4


def test_the_fingerprint_follows_an_input(make_book: BookMaker, yard: dict[str, str], numbers: Any) -> None:
    before = numbers({"content/p.md": PLANK, **LENGTH})["fingerprint"]

    after = numbers({"content/p.md": PLANK, "content/inputs/model.yml": "deck_length: 5 ft\n"})["fingerprint"]

    assert before != after


def test_the_fingerprint_is_the_same_for_the_same_book_elsewhere(
    make_book: BookMaker, yard: dict[str, str], numbers: Any, tmp_path: Path, keelbook: Command
) -> None:
    here = numbers({"content/p.md": PLANK, **LENGTH})["fingerprint"]
    (tmp_path / "book").rename(tmp_path / "elsewhere")

    there = json.loads(keelbook("numbers", "--json", book=tmp_path / "elsewhere").out)["fingerprint"]

    assert here == there


def test_a_limit_of_the_calculator_marks_every_number_of_its_block(verdicts: Any) -> None:
    found = verdicts({"content/p.md": PLANK, "content/inputs/model.yml": "deck_length: 9 ft\n"})

    assert found == {"deck.area": "outside", "deck.mass": "outside"}


def test_a_limit_of_the_calculator_marks_what_rests_on_its_block_at_any_distance(verdicts: Any) -> None:
    page = PLANK + (
        "\n```calc formula a_bundle\nmass: 3 * deck.mass\n```\n"
        "\n```calc formula a_load\nmass: 2 * a_bundle.mass\nother: 2 lb\n```\n"
    )

    found = verdicts({"content/p.md": page, "content/inputs/model.yml": "deck_length: 9 ft\n"})

    assert found["a_bundle.mass"] == "outside"
    assert found["a_load.mass"] == "outside"


def test_a_limit_of_the_yards_own_on_a_block_marks_its_numbers_and_what_rests_on_them(verdicts: Any) -> None:
    page = HEAD + (
        "```calc plank deck\nlength: 4 ft\nwidth: 1 ft\nlimits:\n  light: mass <= 10 lb\n```\n"
        "\n```calc formula bundle\nmass: 3 * deck.mass\n```\n"
    )

    found = verdicts({"content/p.md": page})

    assert set(found.values()) == {"outside"}


FENCE = HEAD + "```limit light\nrule: deck.mass <= 10 lb\n```\n"


@pytest.mark.parametrize("page", ["content/a.md", "content/z.md"])
def test_a_limit_fence_marks_the_number_it_judges_wherever_it_stands(verdicts: Any, page: str) -> None:
    found = verdicts({"content/p.md": PLANK, page: FENCE, **LENGTH})

    assert found["deck.mass"] == "outside"


def test_a_limit_fence_marks_what_rests_on_the_number_it_judges(verdicts: Any) -> None:
    bundle = HEAD + "```calc formula a_bundle\nmass: 3 * deck.mass\nrope: 9 ft\n```\n"

    found = verdicts({"content/p.md": PLANK, "content/a.md": bundle, "content/z.md": FENCE, **LENGTH})

    assert found["a_bundle.mass"] == "outside"
    assert found["a_bundle.rope"] == "within"


def test_a_limit_fence_over_a_formulas_line_marks_the_lines_that_use_it(verdicts: Any) -> None:
    page = HEAD + (
        "```calc formula sums\na: 5 in\nb: a + 1 in\nc: 3 in\n```\n\n```limit low\nrule: sums.a <= 4 in\n```\n"
    )

    found = verdicts({"content/p.md": page})

    assert found == {"sums.a": "outside", "sums.b": "outside", "sums.c": "within"}


def test_a_limit_fence_over_an_input_marks_every_number_that_rests_on_it(verdicts: Any) -> None:
    page = PLANK + (
        "\n```limit short\nrule: deck_length <= 3 ft\n```\n\n```calc formula b\nx: 2 * deck.mass\ny: 1 in\n```\n"
    )

    found = verdicts({"content/p.md": page, **LENGTH})

    assert found == {"deck.area": "outside", "deck.mass": "outside", "b.x": "outside", "b.y": "within"}


def test_a_limit_that_holds_marks_nothing(verdicts: Any) -> None:
    page = PLANK + "\n```limit short\nrule: deck_length <= 5 ft\n```\n"

    assert set(verdicts({"content/p.md": page, **LENGTH}).values()) == {"within"}


def test_a_limit_over_a_number_without_an_answer_cannot_be_told_and_marks_it(verdicts: Any) -> None:
    page = HEAD + (
        "```calc beam carlin\nspan: 72 in\n```\n\n"
        "```calc formula sums\nroom: carlin.sag + 1 in\n```\n\n"
        "```limit enough\nrule: sums.room >= 1 in\n```\n"
    )

    assert verdicts({"content/p.md": page})["sums.room"] == "cannot tell"


def test_of_two_verdicts_upstream_the_worse_counts(verdicts: Any) -> None:
    page = HEAD + (
        "```calc beam carlin\nspan: 72 in\n```\n\n"
        "```calc plank deck\nlength: 9 ft\nwidth: 1 ft\n```\n\n"
        "```calc formula sums\nboth: if deck.mass > 1 lb then carlin.sag else 1 in\nfirst: carlin.sag + 1 in\n```\n"
    )

    found = verdicts({"content/p.md": page})

    assert found["sums.first"] == "cannot tell"
    assert found["sums.both"] == "outside"


def test_a_number_that_stands_beside_rests_on_nothing_of_it(verdicts: Any) -> None:
    page = PLANK + "\n```calc plank shelf\nlength: 1 ft\nwidth: 1 ft\n```\n"

    found = verdicts({"content/p.md": page, "content/inputs/model.yml": "deck_length: 9 ft\n"})

    assert (found["deck.mass"], found["shelf.mass"]) == ("outside", "within")


def test_a_limit_inside_a_false_when_judges_nothing(verdicts: Any) -> None:
    page = PLANK + "\n:::when options.racing\n\n```limit light\nrule: deck.mass <= 10 lb\n```\n:::\n"
    files = {
        "content/p.md": page,
        "content/inputs/options/racing.yml": "",
        "content/hulls/R/hull.yml": "options: [racing]\n",
        **LENGTH,
    }

    assert verdicts(files)["deck.mass"] == "within"
    assert verdicts(files, "--hull", "R")["deck.mass"] == "outside"


def test_a_block_in_a_when_rests_on_what_its_condition_rests_on(verdicts: Any) -> None:
    page = PLANK + (
        "\n:::when deck.mass > 1 lb\n\n```calc formula lift\nhands: 2\n```\n:::\n"
        "\n```limit light\nrule: deck.mass <= 10 lb\n```\n"
    )

    assert verdicts({"content/p.md": page, **LENGTH})["lift.hands"] == "outside"


def test_a_shown_value_carries_the_verdict_of_what_it_rests_on(
    make_book: BookMaker, yard: dict[str, str]
) -> None:
    page = PLANK + "\nCarry {{ deck.mass }}, {{ 2 * deck.mass in lb }}, {{ 3 lb }}.\n"
    opened = open_book(make_book({**yard, "content/p.md": page, "content/z.md": FENCE, **LENGTH}))

    done = opened.evaluate()
    shown = [done.show(live).verdict for one in opened.book.pages for live in one.live]

    assert shown == ["outside", "outside", "within"]


def test_a_shown_number_rounds_to_the_safe_side_that_its_calculator_declares(
    make_book: BookMaker, yard: dict[str, str]
) -> None:
    page = (
        HEAD
        + "```calc plank deck\nlength: 49 in\nwidth: 11 in\n```\n\n{{ deck.mass }} {{ deck.mass to 1 }}\n"
    )
    opened = open_book(make_book({**yard, "content/p.md": page}))

    done = opened.evaluate(Edition())
    shown = [done.show(live).text for live in opened.book.pages[0].live]

    # 49 * 11 / 144 ft2, an inch thick, at 45 lb/ft3: 14.036… lb, and a mass is rounded up
    assert shown == ["14.1 lb", "15 lb"]


def test_a_tolerance_of_an_input_is_given_in_the_unit_of_its_value(numbers: Any) -> None:
    inputs = numbers({"content/inputs/model.yml": "length: 46 in +1/4 in -0 in\nbore: 1 1/8 in ± 0.01 in\n"})

    assert inputs["inputs"]["length"]["tolerance"] == {"minus": 0, "plus": 0.25}
    assert inputs["inputs"]["bore"]["tolerance"] == pytest.approx({"minus": 0.01, "plus": 0.01})
