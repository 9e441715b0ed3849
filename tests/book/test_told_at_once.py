"""Nothing that is wrong stays untold until something else is mended."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from kb.reckon import open_book

if TYPE_CHECKING:
    from tests.conftest import BookMaker, Command

Told = Callable[[Path], list[str]]

HEAD = "---\ntitle: A page\n---\n"
PLANK = "```calc plank deck\nlength: 48 in\nwidth: 12 in\n"
RACING = {"content/inputs/options/racing.yml": "sails: 3\n"}


@pytest.fixture
def told_of(make_book: BookMaker, yard: dict[str, str], told: Told) -> Callable[..., list[str]]:
    """Return a function that gives what is wrong with a page, in a book with the yard's calculators."""

    def lines(page: str, files: dict[str, str] | None = None) -> list[str]:
        return told(make_book({**yard, "content/p.md": HEAD + page, **(files or {})}))

    return lines


def test_every_mistake_of_a_block_is_told(told_of: Callable[..., list[str]]) -> None:
    lines = told_of(
        "```calc plank deck\n"
        "length: 48\nwood: elm\nthickness: nowhere.x\ncolour: red\nlimits:\n  light: mass <=\n```\n"
    )

    # needs 'width', and one mistake in each line
    assert [line.split(":")[1] for line in lines] == ["4", "5", "6", "7", "8", "10"]


def test_every_rule_of_a_block_that_cannot_be_judged_is_told(told_of: Callable[..., list[str]]) -> None:
    lines = told_of(PLANK + "limits:\n  one: mass <= 3 in\n  two: mass <= nowhere.x\n```\n")

    assert [line.split(":")[1] for line in lines] == ["8", "9"]


def test_a_rule_that_cannot_be_judged_does_not_hide_the_numbers_of_its_block(
    make_book: BookMaker, yard: dict[str, str]
) -> None:
    page = HEAD + PLANK + "limits:\n  one: mass <= 3 in\n```\n"

    values = open_book(make_book({**yard, "content/p.md": page})).evaluate().values

    assert float(values["deck.area"].value) == 4


def test_every_wrong_line_of_a_formula_is_told_on_the_shell_too(keelbook: Command, tmp_path: Path) -> None:
    ran = keelbook("calc", "formula", "a=3 in + 2 lb", "b=2*3 in", "c=nowhere", book=tmp_path)

    assert ran.code == 64
    assert [line.split(":")[0] for line in ran.err.splitlines()] == ["a", "b", "c"]


@pytest.mark.parametrize("line", ["a=3 in to 0", "a=3 in to x", "a=3 in up", "a=3 in in inn"])
def test_a_formulas_line_that_ends_wrongly_is_refused_on_the_shell(
    keelbook: Command, tmp_path: Path, line: str
) -> None:
    ran = keelbook("calc", "formula", line, book=tmp_path)

    assert (ran.code, ran.out) == (64, "")
    assert ran.err.startswith("a")


@pytest.mark.parametrize("value", ["none", ""])
def test_a_needed_parameter_without_a_value_is_the_pages_mistake(
    told_of: Callable[..., list[str]], value: str
) -> None:
    (line,) = told_of(f"```calc plank deck\nwidth: 12 in\nlength: {value}\n```\n")

    assert line.startswith("content/p.md:6:")
    assert "length" in line
    assert "fault" not in line


def test_a_needed_parameter_cannot_be_none_on_the_shell(
    make_book: BookMaker, keelbook: Command, yard: dict[str, str]
) -> None:
    ran = keelbook("calc", "plank", "length=none", "width=12 in", book=make_book(yard))

    assert ran.code == 64
    assert "length" in ran.err
    assert "fault" not in ran.err


INSIDE = {"a block": PLANK + "```\n", "a value": "{{ 3 in }}\n", "text": "Two hands.\n", "nothing": "\n"}


@pytest.mark.parametrize("inside", INSIDE.values(), ids=INSIDE)
@pytest.mark.parametrize(
    ("condition", "said"),
    [("options.raicng", "'options.racing'"), ("hull.fast", "'hull.fast'"), ("3 in > 2 lb", "a mass")],
)
def test_a_wrong_condition_is_told_whatever_it_holds(
    told_of: Callable[..., list[str]], inside: str, condition: str, said: str
) -> None:
    (line,) = told_of(f":::when {condition}\n\n{inside}:::\n", RACING)

    assert line.startswith("content/p.md:4:")
    assert said in line


def test_a_wrong_condition_inside_a_false_one_is_told_for_the_edition_where_it_counts(
    told_of: Callable[..., list[str]],
) -> None:
    (line,) = told_of("::::when options.racing\n:::when 3 in > 2 lb\nText.\n:::\n::::\n", RACING)

    assert line.startswith("content/p.md:5:")
    assert "(with option racing)" in line


def test_an_input_of_an_option_alone_is_told_with_the_option_that_has_it(
    told_of: Callable[..., list[str]],
) -> None:
    (line,) = told_of("{{ sails }}\n", RACING)

    assert line.startswith("content/p.md:4:4: ")
    assert "racing" in line


def test_a_live_value_in_the_words_of_a_picture_is_checked(told_of: Callable[..., list[str]]) -> None:
    line, missing = told_of("![a tank of {{ nowhere.x }}](tank.png)\n")

    assert line.startswith("content/p.md:4:16: ")
    assert missing.startswith("content/p.md:4:30: there is no picture 'content/tank.png'")


def test_a_head_that_does_not_end_is_told_as_that(make_book: BookMaker, told: Told) -> None:
    (line,) = told(make_book({"content/p.md": "---\ntitle: A page\n\nText.\n"}))

    assert line.startswith("content/p.md:1:1: ")
    assert "no title" not in line


def test_a_mistyped_setting_is_told_with_the_nearest(make_book: BookMaker, told: Told) -> None:
    settings = "site_name: A test book\nplugins:\n  - keelbook:\n      unit: metric\n"

    (line,) = told(make_book({"mkdocs.yml": settings}))

    assert line.startswith("mkdocs.yml:4:7: ")
    assert "'units'" in line


def test_an_unknown_unit_of_a_live_value_is_answered_with_the_nearest(
    told_of: Callable[..., list[str]],
) -> None:
    (line,) = told_of("{{ 90 gal in galon }}\n")

    assert line.startswith("content/p.md:4:")
    assert "'gal'" in line


@pytest.mark.parametrize("text", ['"diesel"', "'diesel'"])
def test_rule_14_quotes_round_a_text_are_not_part_of_it_on_the_shell(
    make_book: BookMaker, keelbook: Command, yard: dict[str, str], text: str
) -> None:
    ran = keelbook("calc", "label", f"words={text}", "--json", book=make_book(yard))

    assert ran.code == 0
    assert '"value": "diesel"' in ran.out


@pytest.mark.parametrize("value", ["[ 3 in", "{shape: box", "[1 in, 2 in"])
def test_rule_20_a_bracket_that_does_not_end_is_told_in_its_line(
    make_book: BookMaker, told: Told, value: str
) -> None:
    (line,) = told(make_book({"content/inputs/model.yml": f"tank:\n  size: {value}\n  wide: 3 in\n"}))

    assert line.startswith("content/inputs/model.yml:2:")


@pytest.mark.parametrize("value", ["|\n    three inches", ">\n    three inches", '"three\n    inches"'])
def test_rule_20_a_value_over_several_lines_is_not_answered_with_half_of_it(
    make_book: BookMaker, told: Told, value: str
) -> None:
    (line,) = told(make_book({"content/inputs/model.yml": f"tank:\n  size: {value}\n"}))

    assert line.startswith("content/inputs/model.yml:2:9: ")
    assert "one line" in line


def test_a_block_under_a_condition_rests_on_what_the_condition_rests_on(
    make_book: BookMaker, yard: dict[str, str]
) -> None:
    page = HEAD + PLANK + (
        "limits:\n  light: mass <= 1 lb\n```\n\n:::when deck.mass > 2 lb\n\n"
        "```calc formula lift\nhands: 2\n```\n\n```calc halve rope\nsize: 9 in\n```\n:::\n"
    )  # fmt: skip

    done = open_book(make_book({**yard, "content/p.md": page})).evaluate()

    assert done.verdict("rope.half") == "outside"
    assert done.verdict("lift.hands") == "outside"


def test_an_input_that_an_option_alone_has_can_be_asked_for(make_book: BookMaker, keelbook: Command) -> None:
    page = HEAD + ":::when options.racing\n{{ sails }}\n:::\n"

    ran = keelbook("uses", "sails", book=make_book({"content/p.md": page, **RACING}))

    assert (ran.code, ran.err) == (0, "")
    assert "content/p.md:5:4" in ran.out
