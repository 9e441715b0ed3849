"""`keelbook calc`: one calculator, straight from the shell."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from tests.conftest import BookMaker, Command

PLANK = ("length=48 in", "width=12 in")


@pytest.fixture
def shop(make_book: BookMaker, yard: dict[str, str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Return a book with the yard's calculators; the shell stands beside it."""
    monkeypatch.chdir(tmp_path)
    return make_book(yard)


def test_without_a_name_every_calculator_is_listed_with_what_it_does(keelbook: Command, shop: Path) -> None:
    ran = keelbook("calc", book=shop)

    assert (ran.code, ran.err) == (0, "")
    assert any(line.startswith("  plank ") and "What a plank weighs" in line for line in ran.out.splitlines())
    assert any(line.startswith("  formula ") for line in ran.out.splitlines())


def test_the_list_as_json_names_each_calculator_and_its_plugin(keelbook: Command, shop: Path) -> None:
    listed = json.loads(keelbook("calc", "--json", book=shop).out)

    (plank,) = [one for one in listed if one["calculator"] == "plank"]
    assert (plank["does"], plank["plugin"]) == ("What a plank weighs.", "yard")


def test_without_a_book_the_installed_calculators_are_there(keelbook: Command, tmp_path: Path) -> None:
    ran = keelbook("calc", "formula", "x=2 in", "y=x + 4 in", book=tmp_path)

    assert (ran.code, ran.err) == (0, "")
    assert "6 in" in ran.out


def test_a_name_alone_explains_units_needs_defaults_limits_and_sources(keelbook: Command, shop: Path) -> None:
    ran = keelbook("calc", "plank", book=shop)

    assert ran.code == 0
    for words in ("length", "(in)", "oak or ash", "ft^2", "length <= 96 in", "the yard", "maker's"):
        assert words in ran.out


def test_the_explanation_as_json_has_what_it_takes_and_gives(keelbook: Command, shop: Path) -> None:
    told = json.loads(keelbook("calc", "plank", "--json", book=shop).out)

    assert told["calculator"] == "plank"
    assert told["takes"]["length"]["required"] is True
    assert told["takes"]["thickness"]["required"] is False
    assert told["takes"]["wood"]["choices"] == ["oak", "ash"]
    assert told["gives"]["mass"]["unit"] == "lb"
    assert told["limits"] == [{"name": "bench", "rule": "length <= 96 in", "protects": "the saw bench"}]


def test_a_run_prints_every_result_and_every_limit(keelbook: Command, shop: Path) -> None:
    ran = keelbook("calc", "plank", *PLANK, book=shop)

    assert (ran.code, ran.err) == (0, "")
    assert "4.00 ft^2" in ran.out
    assert "15.0 lb" in ran.out
    assert "within" in ran.out
    assert "48 in" in ran.out


def test_a_run_as_json_has_calculator_results_and_limits(keelbook: Command, shop: Path) -> None:
    ran = keelbook("calc", "plank", *PLANK, "--json", book=shop)
    data = json.loads(ran.out)

    assert data["calculator"] == "plank"
    assert data["results"] == {"area": {"value": 4, "unit": "ft^2"}, "mass": {"value": 15, "unit": "lb"}}
    (limit,) = data["limits"]
    assert limit == {
        "name": "bench",
        "verdict": "within",
        "margin": {"value": 48, "unit": "in"},
        "rule": "length <= 96 in",
    }


def test_metric_goes_in_as_well_as_any_unit(keelbook: Command, shop: Path) -> None:
    ran = keelbook("calc", "plank", "length=1219.2 mm", "width=30.48 cm", "--json", book=shop)

    assert json.loads(ran.out)["results"]["area"]["value"] == pytest.approx(4)


def test_no_answer_as_json_is_null_with_why(keelbook: Command, shop: Path) -> None:
    data = json.loads(keelbook("calc", "beam", "span=72 in", "--json", book=shop).out)

    assert data["results"]["sag"]["value"] is None
    assert "never tried" in data["results"]["sag"]["why"]
    assert data["limits"][0]["verdict"] == "cannot tell"


def test_a_limit_outside_is_told_and_is_no_error(keelbook: Command, shop: Path) -> None:
    ran = keelbook("calc", "plank", "length=100 in", "width=12 in", book=shop)

    assert (ran.code, ran.err) == (0, "")
    assert "outside" in ran.out


def test_a_value_outside_its_usual_range_stands_with_a_note(keelbook: Command, shop: Path) -> None:
    ran = keelbook("calc", "plank", "length=48 in", "width=30 in", book=shop)

    assert ran.code == 0
    assert "wider planks cup" in ran.out


@pytest.mark.parametrize(
    "text", ["[{head: 5 ft, flow: 60 gal/hr}, {head: 2 ft, flow: 90 gal/hr}]",
             '[{"head": "5 ft", "flow": "60 gal/hr"}, {"head": "2 ft", "flow": "90 gal/hr"}]',
             "@curve.csv"]
)  # fmt: skip
def test_a_table_goes_in_inline_or_from_a_csv_beside_the_shell(
    keelbook: Command, shop: Path, tmp_path: Path, text: str
) -> None:
    (tmp_path / "curve.csv").write_text("head (ft),flow (gal/hr),note\n5,60,low\n2,90,high\n")

    ran = keelbook("calc", "curve", f"points={text}", "--json", book=shop)

    assert (ran.code, ran.err) == (0, "")
    assert json.loads(ran.out)["results"]["most"] == {"value": 90, "unit": "gal/hr"}
    assert json.loads(ran.out)["results"]["sorted"]["rows"][0][:2] == [2, 90]


@pytest.mark.parametrize(
    "text", ['{"shape": "box", "width": "3 in", "height": "4 in"}',
             '[["0 in", "0 in"], ["3 in", "0 in"], ["3 in", "4 in"], ["0 in", "4 in"]]']
)  # fmt: skip
def test_a_section_goes_in_as_a_shape_or_as_corners(keelbook: Command, shop: Path, text: str) -> None:
    ran = keelbook("calc", "girth", f"section={text}", "--json", book=shop)

    assert (ran.code, ran.err) == (0, "")
    assert json.loads(ran.out)["results"]["around"]["value"] == pytest.approx(14)


def test_a_section_can_be_a_json_file(keelbook: Command, shop: Path, tmp_path: Path) -> None:
    (tmp_path / "s.json").write_text('{"shape": "box", "width": "3 in", "height": "4 in"}')

    ran = keelbook("calc", "girth", "section=@s.json", "--json", book=shop)

    assert json.loads(ran.out)["results"]["around"]["value"] == pytest.approx(14)


WRONG = [
    (("plnk", *PLANK), ["'plnk'", "'plank'"]),
    (("plank", "lenght=48 in", "width=12 in"), ["'lenght'", "'length'"]),
    (("plank", "length=48 inn", "width=12 in"), ["length", "'inn'", "'in'"]),
    (("plank", "length=48 lb", "width=12 in"), ["length", "mass"]),
    (("plank", "length=48", "width=12 in"), ["length", "48 in"]),
    (("plank", "length=48 in"), ["width"]),
    (("plank", *PLANK, "wood=okk"), ["'okk'", "'oak'"]),
    (("plank", *PLANK, "length=50 in"), ["length", "twice"]),
    (("plank", "48 in"), ["KEY=VALUE"]),
    (("plank", "length=-48 in", "width=12 in"), ["length", "-48 in"]),
    (("plank", "length=deck.length", "width=12 in"), ["length", "deck.length"]),
    (("plank", "length=", "width=12 in"), ["length"]),
    (("label", "words=hi", "copies=1.5"), ["copies", "1.5"]),
    (("label", "words=hi", "boxed=maybe"), ["boxed", "maybe"]),
    (("curve", "points=@none.csv"), ["points", "'none.csv'"]),
    (("curve", "points=3 ft"), ["points", "table"]),
]


@pytest.mark.parametrize(("arguments", "words"), WRONG, ids=[" ".join(one) for one, _ in WRONG])
def test_wrong_use_ends_with_64_and_says_what_was_meant(
    keelbook: Command, shop: Path, arguments: tuple[str, ...], words: list[str]
) -> None:
    ran = keelbook("calc", *arguments, book=shop)

    assert (ran.code, ran.out) == (64, "")
    for word in words:
        assert word in ran.err


def test_a_mistyped_command_is_answered_with_the_nearest(keelbook: Command) -> None:
    ran = keelbook("clac")

    assert ran.code == 64
    assert "'calc'" in ran.err


def test_every_wrong_argument_is_told_at_once(keelbook: Command, shop: Path) -> None:
    ran = keelbook("calc", "plank", "length=48 inn", "width=12", "wod=oak", book=shop)

    assert ran.code == 64
    for word in ("'inn'", "width", "'wod'"):
        assert word in ran.err


def test_a_column_in_an_argument_points_at_the_word(keelbook: Command, shop: Path) -> None:
    ran = keelbook("calc", "plank", "length=48 inn", "width=12 in", book=shop)

    assert ran.err.startswith("length:4: ")


def test_a_calculator_that_fails_is_named_with_its_plugin_and_shows_no_traceback(
    keelbook: Command, shop: Path
) -> None:
    ran = keelbook("calc", "shatter", "size=4 in", book=shop)

    assert ran.code not in (0, 1)
    assert "shatter" in ran.err
    assert "yard" in ran.err
    assert "Traceback" not in ran.err


def completed(words: str, word: int, folder: Path) -> list[str]:
    done = subprocess.run(
        [str(Path(sys.executable).with_name("keelbook"))],
        cwd=folder,
        env={**os.environ, "_KEELBOOK_COMPLETE": "bash_complete", "COMP_WORDS": words,
             "COMP_CWORD": str(word)},
        capture_output=True, text=True, timeout=60, check=False,
    )  # fmt: skip
    assert done.stderr == ""
    return [line.split(",", 1)[1] for line in done.stdout.splitlines()]


def test_bash_completes_commands(tmp_path: Path) -> None:
    assert completed("keelbook ch", 1, tmp_path) == ["check"]


def test_bash_completes_the_parameters_and_choices_of_the_book_s_calculators(shop: Path) -> None:
    assert "length=" in completed("keelbook calc plank len", 3, shop)
    assert completed("keelbook calc plank wood=o", 3, shop)[-1:] == ["wood=oak"]


def test_bash_completes_calculators_from_a_book_that_is_named(shop: Path, tmp_path: Path) -> None:
    assert completed(f"keelbook --book {shop} calc pla", 4, tmp_path) == ["plank"]
