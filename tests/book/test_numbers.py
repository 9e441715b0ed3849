"""`keelbook numbers`: every number with its verdict, and what a verdict rests on."""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from kb.reckon import open_book

if TYPE_CHECKING:
    from tests.conftest import BookMaker, Command

HEAD = "---\ntitle: A page\n---\n"
INPUTS = "deck:\n  length: 48 in ± 1/4 in\n  word: oak\n  span: 72 in\n"
PAGE = HEAD + (
    "```calc plank shelf\nlength: deck.length\nwidth: 12 in\n```\n\n"
    "```calc beam carlin\nspan: deck.span\n```\n\n"
    "```calc curve pump\npoints: [{head: 5 ft, flow: 60 gal/hr, note: 'low'}, "
    "{head: 2 ft, flow: 90 gal/hr, note: 'high'}]\n"
    "```\n\n"
    "```calc label sign\nwords: 'bilge'\n```\n"
)


@pytest.fixture
def sample(make_book: BookMaker, yard: dict[str, str]) -> Path:
    return make_book({**yard, "content/work/p.md": PAGE, "content/inputs/model.yml": INPUTS})


def data_of(keelbook: Command, book: Path, *more: str) -> dict[str, Any]:
    ran = keelbook("numbers", "--json", *more, book=book)
    assert ran.err == ""
    data: dict[str, Any] = json.loads(ran.out)
    return data


def test_json_has_book_revision_fingerprint_numbers_and_inputs(keelbook: Command, sample: Path) -> None:
    data = data_of(keelbook, sample)

    assert data.keys() == {"book", "revision", "fingerprint", "numbers", "inputs"}
    assert data["book"] == "A test book"
    assert data["numbers"].keys() == {"shelf", "carlin", "pump", "sign"}


def test_a_number_as_json_has_value_unit_verdict_page_and_line(keelbook: Command, sample: Path) -> None:
    numbers = data_of(keelbook, sample)["numbers"]

    assert numbers["shelf"]["area"].items() >= {
        "value": 4.0, "unit": "ft^2", "verdict": "within", "page": "p", "line": 4
    }.items()  # fmt: skip


def test_a_count_as_json_is_a_whole_number_and_a_text_a_text(keelbook: Command, sample: Path) -> None:
    numbers = data_of(keelbook, sample)["numbers"]

    assert numbers["pump"]["points"]["value"] == 2
    assert isinstance(numbers["pump"]["points"]["value"], int)
    assert numbers["sign"]["text"]["value"] == "bilge"


def test_a_table_as_json_has_columns_with_units_and_rows(keelbook: Command, sample: Path) -> None:
    table = data_of(keelbook, sample)["numbers"]["pump"]["sorted"]

    assert table["columns"] == [
        {"name": "head", "unit": "ft"},
        {"name": "flow", "unit": "gal/hr"},
        {"name": "note", "unit": ""},
    ]
    assert table["rows"] == [[2, 90, "high"], [5, 60, "low"]]


def test_a_number_without_an_answer_is_null_with_its_declared_unit_and_why(
    keelbook: Command, sample: Path
) -> None:
    sag = data_of(keelbook, sample)["numbers"]["carlin"]["sag"]

    assert (sag["value"], sag["verdict"]) == (None, "cannot tell")
    assert "never tried" in sag["why"]
    assert sag["unit"] == "in"


def test_an_input_as_json_has_text_value_unit_layer_file_and_line(keelbook: Command, sample: Path) -> None:
    inputs = data_of(keelbook, sample)["inputs"]

    assert inputs["deck.length"] == {
        "text": "48 in ± 1/4 in",
        "value": 48,
        "unit": "in",
        "tolerance": {"minus": 0.25, "plus": 0.25},
        "layer": "model",
        "file": "content/inputs/model.yml",
        "line": 2,
    }
    assert inputs["deck.word"]["text"] == "oak"


def test_csv_has_one_line_a_number(keelbook: Command, sample: Path) -> None:
    ran = keelbook("numbers", "--csv", book=sample)
    rows = {row["number"]: row for row in csv.DictReader(io.StringIO(ran.out))}

    assert rows["shelf.area"].items() >= {
        "value": "4.0", "unit": "ft^2", "verdict": "within", "page": "p", "line": "4"
    }.items()  # fmt: skip
    assert rows["carlin.sag"]["value"] == ""
    assert rows["carlin.sag"]["verdict"] == "cannot tell"


def test_json_and_csv_together_are_wrong_use(keelbook: Command, sample: Path) -> None:
    assert keelbook("numbers", "--csv", "--json", book=sample).code == 64


def test_the_plain_list_names_every_number(keelbook: Command, sample: Path) -> None:
    ran = keelbook("numbers", book=sample)

    assert ran.code == 0
    assert [line.split()[0] for line in ran.out.splitlines()] == [
        "shelf.area", "shelf.mass", "carlin.sag", "pump.points", "pump.most", "pump.sorted", "sign.text"
    ]  # fmt: skip


def test_the_same_book_has_the_same_fingerprint_and_another_input_another_one(
    make_book: BookMaker, keelbook: Command, sample: Path
) -> None:
    first = data_of(keelbook, sample)["fingerprint"]
    again = data_of(keelbook, sample)["fingerprint"]
    make_book({"content/inputs/model.yml": INPUTS.replace("48 in ±", "49 in ±")})

    assert first == again
    assert data_of(keelbook, sample)["fingerprint"] != first


HULLS = {
    "content/inputs/options/long.yml": "deck:\n  length: 60 in\n",
    "content/hulls/A-1/hull.yml": "options: [long]\n",
    "content/hulls/A-2/hull.yml": "deck:\n  length: 36 in\n",
}


@pytest.mark.parametrize(
    ("hull", "area", "layer"), [((), 4, "model"), (("--hull", "A-1"), 5, "option long"),
                                (("--hull", "A-2"), 3, "hull A-2")]
)  # fmt: skip
def test_a_hull_has_the_numbers_of_its_own_inputs_and_options(
    make_book: BookMaker, keelbook: Command, sample: Path, hull: tuple[str, ...], area: float, layer: str
) -> None:
    make_book(HULLS)

    data = data_of(keelbook, sample, *hull)

    assert data["numbers"]["shelf"]["area"]["value"] == area
    assert data["inputs"]["deck.length"]["layer"] == layer


def test_an_unknown_hull_is_wrong_use_and_the_nearest_is_offered(
    make_book: BookMaker, keelbook: Command, sample: Path
) -> None:
    make_book(HULLS)

    ran = keelbook("numbers", "--hull", "A-11", book=sample)

    assert ran.code == 64
    assert "'A-11'" in ran.err
    assert "'A-1'" in ran.err


def verdicts(book: Path) -> dict[str, str]:
    opened = open_book(book)
    done = opened.evaluate()
    assert (*opened.problems, *done.problems) == ()
    return {name: done.verdict(name) for name in done.values}


def test_a_number_rests_on_a_built_in_limit_upstream(make_book: BookMaker, yard: dict[str, str]) -> None:
    page = HEAD + (
        "```calc halve c\nsize: b.half\n```\n\n```calc halve b\nsize: a.area / 1 ft\n```\n\n"
        "```calc plank a\nlength: 100 in\nwidth: 12 in\n```\n\n```calc halve free\nsize: 4 in\n```\n"
    )

    found = verdicts(make_book({**yard, "content/p.md": page}))

    assert found["a.area"] == found["b.half"] == found["c.half"] == "outside"
    assert found["free.half"] == "within"


def test_a_number_rests_on_a_block_s_own_limits_and_on_what_they_use(
    make_book: BookMaker, yard: dict[str, str]
) -> None:
    page = HEAD + (
        "```calc halve a\nsize: 4 in\nlimits:\n  small: half <= 1 in\n```\n\n"
        "```calc halve b\nsize: a.half\n```\n\n"
        "```calc halve c\nsize: 1 in\nlimits:\n  under: half <= a.half\n```\n"
    )

    found = verdicts(make_book({**yard, "content/p.md": page}))

    assert found["a.half"] == found["b.half"] == "outside"
    assert found["c.half"] == "outside"


FENCE = "```limit enough\nrule: NAME >= 10 in\nprotects: the fit\n```\n\n"


def test_a_limit_fence_over_a_number_marks_it_and_what_rests_on_it(
    make_book: BookMaker, yard: dict[str, str]
) -> None:
    page = HEAD + FENCE.replace("NAME", "b.half") + (
        "```calc halve a\nsize: size\n```\n\n```calc halve b\nsize: a.half\n```\n\n"
        "```calc halve c\nsize: b.half\n```\n"
    )  # fmt: skip
    files = {**yard, "content/p.md": page, "content/inputs/model.yml": "size: 16 in\n"}

    found = verdicts(make_book(files))

    assert (found["b.half"], found["c.half"]) == ("outside", "outside")
    assert (found["a.half"], found["size"]) == ("within", "within")


def test_a_limit_fence_over_an_input_marks_all_that_rests_on_the_input(
    make_book: BookMaker, yard: dict[str, str]
) -> None:
    page = HEAD + FENCE.replace("NAME", "hole.size") + (
        "```calc halve a\nsize: hole.size\n```\n\n```calc halve b\nsize: hole.other\n```\n"
    )  # fmt: skip
    files = {**yard, "content/p.md": page, "content/inputs/model.yml": "hole:\n  size: 4 in\n  other: 5 in\n"}

    found = verdicts(make_book(files))

    assert (found["hole.size"], found["a.half"], found["b.half"]) == ("outside", "outside", "within")


def test_outside_is_worse_than_cannot_tell(make_book: BookMaker, yard: dict[str, str]) -> None:
    page = HEAD + (
        "```calc plank a\nlength: 100 in\nwidth: 12 in\n```\n\n```calc beam b\nspan: 72 in\n```\n\n"
        "```calc formula both\nx: a.mass\ny: b.sag\nz: if 1 in < 2 in then a.area else b.sag * 1 ft\n```\n"
    )

    found = verdicts(make_book({**yard, "content/p.md": page}))

    assert (found["both.x"], found["both.y"], found["both.z"]) == ("outside", "cannot tell", "outside")


def test_each_line_of_a_formula_rests_on_what_it_uses_alone(
    make_book: BookMaker, yard: dict[str, str]
) -> None:
    page = HEAD + (
        "```calc plank a\nlength: 100 in\nwidth: 12 in\n```\n\n"
        "```calc formula sums\nx: a.mass + 1 lb\ny: 3 lb\nz: x + y\n```\n\n"
        "```calc formula more\nx: sums.y\nz: sums.z\n```\n"
    )

    found = verdicts(make_book({**yard, "content/p.md": page}))

    assert [found[f"sums.{line}"] for line in "xyz"] == ["outside", "within", "outside"]
    assert [found[f"more.{line}"] for line in "xz"] == ["within", "outside"]


def test_an_accepted_limit_is_carried_as_accepted(make_book: BookMaker, yard: dict[str, str]) -> None:
    page = HEAD + "```calc plank a\nlength: 100 in\nwidth: 12 in\n```\n\n```calc formula f\nx: a.mass\n```\n"
    inputs = "accepted:\n  a.bench: {by: Jo, why: sawn outdoors, at: 100 in}\n"

    found = verdicts(make_book({**yard, "content/p.md": page, "content/inputs/model.yml": inputs}))

    assert (found["a.mass"], found["f.x"]) == ("accepted", "accepted")


def test_no_answer_flows_on_with_its_reason(
    make_book: BookMaker, keelbook: Command, yard: dict[str, str]
) -> None:
    page = HEAD + (
        "```calc beam a\nspan: 72 in\n```\n\n```calc halve b\nsize: a.sag\n```\n\n"
        "```calc formula c\nx: b.half + 1 in\ny: 2 in\n```\n\n{{ c.x }}\n"
    )

    ran = keelbook("numbers", "--json", book=make_book({**yard, "content/p.md": page}))
    numbers = json.loads(ran.out)["numbers"]

    assert (ran.code, ran.err) == (0, "")
    for one in (numbers["b"]["half"], numbers["c"]["x"]):
        assert one["value"] is None
        assert one["verdict"] == "cannot tell"
        assert "never tried" in one["why"]
    assert numbers["c"]["y"]["value"] == 2
