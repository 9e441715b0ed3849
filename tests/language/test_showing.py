"""How an inline value is parted, rounded and printed: rule 16."""

from __future__ import annotations

from fractions import Fraction

import pytest

from kb.language.expression import read_expression
from kb.language.literal import ReadError, read_literal
from kb.language.quantity import Quantity, multiply
from kb.language.show import AS_IT_IS, Form, Safe, check_direction, show, split_form
from kb.language.units import unit

F = Fraction


def shown(text: str, form: str = "", safe: Safe = "nearest", *, is_count: bool = False) -> str:
    """Print a literal in the form that an inline value would give it."""
    return show(read_literal(text).quantity, split_form(f"x {form}")[1], safe, is_count=is_count)


def with_tolerance(text: str, spread: str, form: str) -> str:
    """Print a literal that has a tolerance."""
    size, half = read_literal(text).quantity, read_literal(spread).quantity
    return show(size, split_form(f"x {form}")[1], spread=half.value * half.unit.scale / size.unit.scale)


# ---- where it is split


@pytest.mark.parametrize(
    ("text", "expression", "form"),
    [
        ("tank.gross", "tank.gross", AS_IT_IS),
        ("tank.gross in gal", "tank.gross", Form("gal")),
        ("tank.gross in gal down to 1", "tank.gross", Form("gal", "down", F(1))),
        ("tank.gross in gal up", "tank.gross", Form("gal", "up")),
        ("tank.gross in gal to 0.5", "tank.gross", Form("gal", None, F(1, 2))),
        ("tank.gross up", "tank.gross", Form("", "up")),
        ("tank.gross down to 1/16", "tank.gross", Form("", "down", F(1, 16), True)),
        ("tank.gross to 5", "tank.gross", Form("", None, F(5))),
        ("x in ft-in to 1/16", "x", Form("ft-in", None, F(1, 16), True)),
        ("x in ft-in", "x", Form("ft-in")),
        ("x in lb-oz", "x", Form("lb-oz")),
        ("x in yd-ft", "x", Form("yd-ft")),
        ("x in hr-min-s", "x", Form("hr-min-s")),
        ("x in lb/ft^3", "x", Form("lb/ft^3")),
        ("x in in/ft", "x", Form("in/ft")),
        ("x in %", "x", Form("%")),
        ("x in fl oz up", "x", Form("fl oz", "up")),
        ("x in imp gal", "x", Form("imp gal")),
        ("x in 1/hr", "x", Form("1/hr")),
        ("  x   in   mm   up   to   5  ", "x", Form("mm", "up", F(5))),
        ("a + 2 in in mm", "a + 2 in", Form("mm")),
        ("5 in", "5 in", AS_IT_IS),
        ("5 in in in", "5 in", Form("in")),
        ("a * b in in", "a * b", Form("in")),
        ("line.in in mm", "line.in", Form("mm")),
        ("line.in", "line.in", AS_IT_IS),
        ("hose.up", "hose.up", AS_IT_IS),
        ("hose.to.up down", "hose.to.up", Form("", "down")),
        ("if a then 1 in else 2 in", "if a then 1 in else 2 in", AS_IT_IS),
        ("if a then 1 in else 2 in in mm", "if a then 1 in else 2 in", Form("mm")),
        ("max(a, 3 in) in mm", "max(a, 3 in)", Form("mm")),
    ],
)
def test_rule_16_a_form_is_split_off_where_only_a_unit_a_direction_and_a_step_follow(
    text: str, expression: str, form: Form
) -> None:
    assert split_form(text) == (expression, form)


@pytest.mark.parametrize(
    "text",
    [
        "in mm",  # nothing stands before it
        "x in mm + 1",
        "x in mm * 2 up + 1",
        "x in",
        "up",
        "'lift in mm'",
        "'fill up'",
        "'x in mm' = a",
        "'set to high'",
        '"set to 3"',
        "if a then 'set to high' else 'low'",
        "if a then 'to 1' else 'to 2'",
    ],
)
def test_rule_16_what_is_no_form_stays_in_the_expression(text: str) -> None:
    assert split_form(text) == (text.strip(), AS_IT_IS)


@pytest.mark.parametrize(
    "text",
    ["x in nonsense", "x in F", "x in ft-lb", "x in in-ft", "x in gal oz", "x in mm + 1", "x up in mm"],
)
def test_rule_16_where_something_else_follows_an_in_no_expression_can_be_read(text: str) -> None:
    with pytest.raises(ReadError):
        read_expression(split_form(text)[0])


@pytest.mark.parametrize(
    "text",
    [
        "x to y",
        "x to 0",
        "x to -1",
        "x to 1/16 in",
        "x to 1 mm",
        "x to 1,5",
        "x to 11/2",
        "x to 1/0",
        "x to nan",
        "x to 1e16",
        "x to 1 2",
        "x in mm to",
    ],
)
def test_rule_16_a_step_is_a_number_above_zero_in_the_shown_unit(text: str) -> None:
    with pytest.raises(ReadError):
        read_expression(split_form(text)[0])


# ---- what is printed


@pytest.mark.parametrize(
    ("text", "form", "expected"),
    [
        # shop fractions
        ("46.5 in", "to 1/16", "46 1/2 in"),
        ("46 1/16 in", "to 1/16", "46 1/16 in"),
        ("46.03 in", "to 1/16", "46 in"),
        ("46.04 in", "to 1/16", "46 1/16 in"),
        ("0.13 in", "to 1/8", "1/8 in"),
        ("-0.13 in", "to 1/8", "-1/8 in"),
        ("-46.5 in", "to 1/2", "-46 1/2 in"),
        ("46.9 in", "to ¼", "47 in"),
        ("0 in", "to 1/16", "0 in"),
        # feet and inches
        ("330.5 in", "in ft-in to 1/16", "27 ft 6 1/2 in"),
        ("330 in", "in ft-in to 1/16", "27 ft 6 in"),
        ("324 in", "in ft-in to 1/16", "27 ft"),
        ("6.5 in", "in ft-in to 1/16", "6 1/2 in"),
        ("335.99 in", "in ft-in to 1/16", "28 ft"),
        ("-330.5 in", "in ft-in to 1/2", "-27 ft 6 1/2 in"),
        ("0 in", "in ft-in to 1/16", "0 in"),
        ("8.4 m", "in ft-in to 1/8", "27 ft 6 3/4 in"),  # 330.708661 in
        # other chains: the step is in the last unit
        ("52.4 oz", "in lb-oz to 0.5", "3 lb 4.5 oz"),
        ("52.4 oz", "in lb-oz to 1", "3 lb 4 oz"),
        ("95 min", "in hr-min to 5", "1 hr 35 min"),
        ("3605 s", "in hr-min-s to 1", "1 hr 0 min 5 s"),
        ("100 ft", "in yd-ft to 1", "33 yd 1 ft"),
        # decimals: as many places as the step has
        ("46.03 in", "to 0.5", "46.0 in"),
        ("46.03 in", "to 0.01", "46.03 in"),
        ("46.03 in", "to 5", "45 in"),
        ("46.03 in", "in mm to 1", "1169 mm"),  # 1169.162
        ("100 gal", "in L to 1", "379 L"),  # 378.541
        ("1234.4 lb", "to 1", "1234 lb"),
        ("12345678 lb", "to 1", "12345678 lb"),
        ("123456789.4 lb", "to 1", "123456789 lb"),
        ("0.00001234 in", "to 0.00000001", "0.00001234 in"),
        # without a step: three figures
        ("41.666 in", "", "41.7 in"),
        ("1234.4 lb", "", "1230 lb"),
        ("0.0123456 in", "", "0.0123 in"),
        ("99.96 in", "", "100 in"),
        ("1/3 in", "", "0.333 in"),
        ("-1/3 in", "", "-0.333 in"),
        ("100 gal", "in L", "379 L"),
        ("7 %", "", "7 %"),
        ("72 degF", "in degC", "22.2 degC"),
        ("0 in", "", "0 in"),
        ("5 lb/ft3", "", "5 lb/ft^3"),
        # a plain ratio is shown as what the form says
        ("0.05", "in %", "5 %"),
        ("0.02", "in in/ft", "0.24 in/ft"),
    ],
)
def test_rule_16_what_is_printed_to_the_nearest(text: str, form: str, expected: str) -> None:
    assert shown(text, form) == expected


@pytest.mark.parametrize(
    ("text", "form", "safe", "expected"),
    [
        ("46.01 in", "to 1/16", "up", "46 1/16 in"),
        ("46.99 in", "to 1/16", "down", "46 15/16 in"),
        ("46 1/16 in", "to 1/16", "up", "46 1/16 in"),
        ("46 1/16 in", "to 1/16", "down", "46 1/16 in"),
        ("-46.01 in", "to 1/2", "up", "-46 in"),
        ("-46.01 in", "to 1/2", "down", "-46 1/2 in"),
        ("330.01 in", "in ft-in to 1/4", "up", "27 ft 6 1/4 in"),
        ("335.9 in", "in ft-in to 1/2", "up", "28 ft"),
        ("335.9 in", "in ft-in to 1/2", "down", "27 ft 11 1/2 in"),
        ("41.61 in", "", "up", "41.7 in"),
        ("41.69 in", "", "down", "41.6 in"),
        ("1234 lb", "", "up", "1240 lb"),
        ("1239 lb", "", "down", "1230 lb"),
        ("99.91 in", "", "up", "100 in"),
        ("72 %", "to 5", "down", "70 %"),
        ("12345678.2 lb", "to 1", "up", "12345679 lb"),
        ("12345678.9 lb", "to 1", "down", "12345678 lb"),
        ("12399999 lb", "to 1", "down", "12399999 lb"),
        ("0.00009876 in", "to 0.00000001", "down", "0.00009876 in"),
        # again after each change of unit
        ("100 gal", "in L to 1", "down", "378 L"),  # 378.541
        ("100 gal", "in L to 1", "up", "379 L"),
        ("100 gal", "in L", "down", "378 L"),
        ("100 gal", "in L", "up", "379 L"),
        ("1 lb", "in kg", "up", "0.454 kg"),  # 0.453592
        ("1 lb", "in kg", "down", "0.453 kg"),
        ("1 in", "in mm", "up", "25.4 mm"),
        ("72 degF", "in degC to 1", "up", "23 degC"),  # 22.2
    ],
)
def test_rule_16_the_safe_side_decides_how_a_number_rounds(
    text: str, form: str, safe: Safe, expected: str
) -> None:
    assert shown(text, form, safe) == expected


@pytest.mark.parametrize(
    ("form", "safe", "expected"),
    [
        ("up to 1", "nearest", "47 in"),
        ("down to 1", "nearest", "46 in"),
        ("up to 1", "up", "47 in"),
        ("down to 1", "down", "46 in"),
        ("up", "nearest", "46.5 in"),
    ],
)
def test_rule_16_up_and_down_override_the_nearest(form: str, safe: Safe, expected: str) -> None:
    assert shown("46.42 in", form, safe) == expected


@pytest.mark.parametrize(("direction", "safe"), [("up", "down"), ("down", "up")])
def test_rule_16_rounding_toward_danger_is_refused_with_the_reason(direction: Safe, safe: Safe) -> None:
    with pytest.raises(ReadError) as told:
        check_direction(Form("", direction), safe)
    assert direction in told.value.what
    assert safe in f"{told.value.what}; {told.value.fix}"
    assert "danger" in told.value.what


@pytest.mark.parametrize(
    ("direction", "safe"),
    [("up", "up"), ("down", "down"), ("up", "nearest"), ("down", "nearest"), (None, "up"), (None, "nearest")],
)
def test_rule_16_any_other_direction_is_allowed(direction: Safe | None, safe: Safe) -> None:
    check_direction(Form("", direction), safe)


@pytest.mark.parametrize(
    ("text", "safe", "expected"),
    [
        ("12", "nearest", "12"),
        ("12.2", "nearest", "12"),
        ("12.2", "up", "13"),
        ("12.9", "down", "12"),
        ("1234", "nearest", "1234"),
        ("12345678", "nearest", "12345678"),
        ("0", "up", "0"),
    ],
)
def test_rule_16_counts_are_shown_whole(text: str, safe: Safe, expected: str) -> None:
    assert shown(text, "", safe, is_count=True) == expected


@pytest.mark.parametrize(
    ("text", "spread", "form", "expected"),
    [
        ("46.123 in", "0.001 in", "", "46.1 in"),  # three figures are coarser
        ("46.123 in", "0.1 in", "", "46.1 in"),
        ("46.123 in", "1 in", "", "46 in"),
        ("46.123 in", "10 in", "", "50 in"),
        ("72 degF", "10 delta_degF", "", "70 degF"),
    ],
)
def test_rule_16_without_a_step_nothing_finer_than_the_tolerance_is_shown(
    text: str, spread: str, form: str, expected: str
) -> None:
    assert with_tolerance(text, spread, form) == expected


@pytest.mark.parametrize(
    ("text", "spread", "form", "expected"),
    [
        ("46.123 in", "9 in", "", "50 in"),  # a step of 1 in is finer than 9 in
        ("4.123 in", "1/8 in", "", "4.2 in"),  # one of 0.1 in is finer than 1/8 in, one of 0.2 in is not
        ("4.123 in", "1/8 in", "in mm", "105 mm"),  # 104.7 ± 3.2 mm: steps of 5 mm
    ],
)
def test_rule_16_without_a_step_a_tolerance_between_two_decades_takes_1_2_or_5(
    text: str, spread: str, form: str, expected: str
) -> None:
    assert with_tolerance(text, spread, form) == expected


def test_rule_16_a_float_that_reckoning_moved_by_a_hair_does_not_jump_a_step() -> None:
    """0.1 + 0.2 is not 0.3 in binary; on the safe side it must not become 0.4."""
    assert show(Quantity(0.1 + 0.2, unit("in")), split_form("x to 0.1")[1], "up") == "0.3 in"
    assert show(Quantity(3 * 1.1 * 10, unit("in")), split_form("x to 1")[1], "up") == "33 in"
    assert show(Quantity((0.1 + 0.7) * 10, unit("in")), split_form("x to 1")[1], "down") == "8 in"


def test_rule_16_a_product_needs_its_unit_said() -> None:
    area = multiply(read_literal("4 ft").quantity, read_literal("2 ft").quantity)
    with pytest.raises(ReadError) as told:
        show(area)
    assert "in UNIT" in told.value.fix
    assert show(area, Form("ft^2")) == "8 ft^2"


@pytest.mark.parametrize(
    ("text", "form"),
    [
        ("5 in", "in gal"),
        ("5 lb", "in lbf"),
        ("5 %", "in in/ft"),
        ("5 in/ft", "in %"),
        ("5", "in mm"),
        ("72 degF", "in delta_degF"),
        ("5 gal", "in ft-in"),
        ("5 deg", "in %"),
    ],
)
def test_rules_3_and_16_a_unit_of_another_kind_is_an_error_of_the_language(text: str, form: str) -> None:
    with pytest.raises(ReadError):
        shown(text, form)


@pytest.mark.parametrize(
    "size",
    [
        Quantity(1e300, unit("in")),
        Quantity(1e-300, unit("in")),
        Quantity(F(1, 10**400), unit("in")),
        Quantity(F(10) ** 15, unit("mi")),
        Quantity(5e-324, unit("in")),
    ],
    ids=["huge", "tiny", "tiny and exact", "many miles", "the smallest float"],
)
@pytest.mark.parametrize(
    "form", ["", "to 1/16", "in ft-in to 1/16", "in um", "in mi", "in mm to 1e-99", "up to 1e15"]
)
def test_rule_16_any_size_is_printed(size: Quantity, form: str) -> None:
    assert show(size, split_form(f"x {form}")[1]) != ""
