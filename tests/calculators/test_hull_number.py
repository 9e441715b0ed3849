"""Hull identification numbers against a pattern and the calendar, and what any text at all gives."""

from __future__ import annotations

import re
from datetime import date
from string import ascii_uppercase, digits

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb import NoAnswer
from kb.calculators.declare import Calculator
from kb.calculators.work import work
from kb_calculators.weights.hull_number import hull_number

PATTERN = re.compile(r"[A-Z]{3}[0-9A-HJ-NPR-Z]{5}[A-L][0-9][0-9]{2}")
MONTHS = st.integers(1, 12)
YEARS = st.integers(1973, 2071)

right = st.from_regex(PATTERN, fullmatch=True)
near = st.text("ABIOQMZ0189-/ ", min_size=10, max_size=14)
twelve = st.text(ascii_uppercase + digits, min_size=12, max_size=12)


def verdict(number: str) -> str:
    (limit,) = work(Calculator.of(hull_number), {"number": f"'{number}'"}).limits
    return limit.verdict


@given(st.one_of(right, near, twelve, st.text(max_size=16)))
def test_a_number_has_problems_exactly_where_the_pattern_does_not_hold(number: str) -> None:
    bare = re.sub("[a-z]", lambda small: small[0].upper(), number.strip()).removeprefix("US-")

    assert (hull_number(number).problems == "") == bool(PATTERN.fullmatch(bare))


@given(right)
def test_a_right_number_is_read_part_by_part(number: str) -> None:
    found = hull_number(number)

    assert (found.maker_code, found.serial) == (number[:3], number[3:8])
    assert str(found.model_year)[2:] == number[10:]
    assert str(found.built)[-1] == number[9]
    assert 0 <= int(str(found.model_year)) - int(str(found.built)[-4:]) <= 9


@given(MONTHS, YEARS, st.integers(0, 3))
def test_a_date_warns_exactly_outside_the_widest_model_year(month: int, model: int, before: int) -> None:
    year = model - before
    letter = "ABCDEFGHIJKL"[month - 1]
    first, last = date(model - 1, 6, 1), date(model, 7, 31)

    found = hull_number(f"ZZZ0A123{letter}{year % 10}{model % 100:02}")

    assert found.built == f"{date(year, month, 1):%B} {year}"
    assert found.model_year == str(model)
    assert (found.warnings == "") == (first <= date(year, month, 1) <= last)
    assert found.problems == ""


@pytest.mark.parametrize("size", ["72", "99", "00", "71"])
def test_two_figures_are_a_year_from_1972_to_2071(size: str) -> None:
    expected = {"72": "1972", "99": "1999", "00": "2000", "71": "2071"}

    assert hull_number(f"ZZZ0A123A1{size}").model_year == expected[size]


def test_a_figure_above_that_of_the_model_year_is_of_the_decade_before() -> None:
    found = hull_number("ZZZ0A123C726")

    assert found.built == "March 2017"
    assert found.warnings == "March 2017 is not in model year 2026: June 2025 to July 2026 at the widest"


@given(right)
def test_its_country_and_small_letters_warn_and_change_nothing_else(number: str) -> None:
    plain, written = hull_number(number), hull_number(f" us-{number.lower()} ")

    assert written.problems == ""
    assert "small letters are read as capitals" in written.warnings
    assert "US- is the country" in written.warnings
    assert (written.maker_code, written.serial, written.built, written.model_year) == (
        plain.maker_code, plain.serial, plain.built, plain.model_year
    )  # fmt: skip


@pytest.mark.parametrize(
    ("number", "problem"),
    [
        ("ZZZ0A123C6260", "it has 13 characters, not 12"),
        ("", "it has 0 characters, not 12"),
        ("ZZZ-0A123-C626", "it has 14 characters, not 12; it must not hold hyphens"),
        ("ZZZ 0A123/C626", "it has 14 characters, not 12; it must not hold spaces, slashes"),
        ("Z1Z0A123C626", "characters 1 to 3, the maker's code, must be letters (found '1')"),
        (
            "ZZZIOQ23C626",
            "characters 4 to 8, the serial, must be figures, or letters other than I, O and Q"
            " (found 'I', 'O', 'Q')",
        ),
        ("ZZZ0A123M626", "character 9, the month, must be a letter from A to L (found 'M')"),
        ("ZZZ0A123CA26", "character 10, the year, must be a figure (found 'A')"),
        ("ZZZ0A123C6Z6", "characters 11 and 12, the model year, must be figures (found 'Z')"),
        ("ZZZ0A123C6٢6", "characters 11 and 12, the model year, must be figures (found '٢')"),
        ("ZZZ0A12\x07C626", "characters 4 to 8, the serial, must be figures, or letters other than I, O and Q"
         " (found an unprintable one)"),
    ],
)  # fmt: skip
def test_a_problem_says_where_what_is_wanted_and_what_was_found(number: str, problem: str) -> None:
    assert hull_number(number).problems == problem


def test_every_problem_is_told_at_once_and_what_can_be_read_is_read() -> None:
    found = hull_number("Z1ZO1234M627")

    assert found.problems.count(";") == 2
    assert found.model_year == "2027"
    for unread in (found.maker_code, found.serial, found.built):
        assert isinstance(unread, NoAnswer)


def test_without_a_model_year_the_year_is_not_guessed() -> None:
    found = hull_number("ZZZ0A123C6XX")

    assert isinstance(found.built, NoAnswer)
    assert isinstance(found.model_year, NoAnswer)
    assert found.serial == "0A123"


def test_problems_fail_the_number_and_warnings_do_not() -> None:
    assert verdict("ZZZ0A123C626") == "within"
    assert verdict("ZZZ0A123C627") == "within"
    assert verdict("US-ZZZ0A123C627") == "within"
    assert verdict("ZZZ0A123M626") == "outside"
    assert verdict("ZZZ0A123C62") == "outside"
