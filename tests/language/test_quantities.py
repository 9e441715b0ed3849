"""Quantities as a shop writes them: rules 1 to 6 of the language."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import Annotated

import pytest

from kb import Q, Source, calculator
from kb.calculators.declare import Calculator
from kb.calculators.work import work
from kb.language.compute import Computation
from kb.language.expression import Name, read_expression
from kb.language.literal import Literal, ReadError, read_literal
from kb.language.quantity import Quantity
from kb.language.units import unit
from kb.problem import BookError

F = Fraction

LISTED = [
    # Every form that rule 1 lists, and the same with other marks: text, value, unit.
    ("41 in", F(41), "in"),
    ("41 1/2 in", F(83, 2), "in"),
    ("41-1/2 in", F(83, 2), "in"),
    ("41½ in", F(83, 2), "in"),
    ("41 ½ in", F(83, 2), "in"),
    ("5/8 in", F(5, 8), "in"),
    ('5/8"', F(5, 8), "in"),
    ("½ in", F(1, 2), "in"),
    ("⅞″", F(7, 8), "in"),
    ("27 ft 6 in", F(330), "in"),
    ("27' 6 1/2\"", F(661, 2), "in"),
    ("27'-6 1/2\"", F(661, 2), "in"),
    ("27′6½″", F(661, 2), "in"),
    ("27’ 6”", F(330), "in"),
    ("27'6\"", F(330), "in"),
    ("27'", F(27), "ft"),
    ('6"', F(6), "in"),
    ('27 ft 6"', F(330), "in"),
    ("27' 6 in", F(330), "in"),
    ("4 lb/ft^3", F(4), "lb/ft^3"),
    ("4 lb/ft3", F(4), "lb/ft^3"),
    ("1/4 in/ft", F(1, 4), "in/ft"),
    ("2 1/4 in/ft", F(9, 4), "in/ft"),
    ("6 1/hr", F(6), "1/hr"),
    ("6 1/2 1/hr", F(13, 2), "1/hr"),
    ("3/4 1/hr", F(3, 4), "1/hr"),
    ("72 degF", F(72), "degF"),
    ("72 °F", F(72), "degF"),
    ("72°F", F(72), "degF"),
    ("7 %", F(7), "%"),
    ("7%", F(7), "%"),
    ("15 gpm", F(15), "gpm"),
    ("800 gph", F(800), "gph"),
    ("1.82e-5 Pa*s", F(182, 10**7), "Pa*s"),
    ("1.5E3 Pa", F(1500), "Pa"),
    ("0.19 in", F(19, 100), "in"),
    (".19 in", F(19, 100), "in"),
    ("41in", F(41), "in"),
    ("41\u00a0in", F(41), "in"),
    ("  41 in  ", F(41), "in"),
    ("12 fl oz", F(12), "fl oz"),
    ("12 fl_oz", F(12), "fl oz"),
    ("12 imp gal", F(12), "imp gal"),
    ("12 imp_gal", F(12), "imp gal"),
    ("5 min", F(5), "min"),
    ("0 in", F(0), "in"),
    ("1e15 in", F(10**15), "in"),
    ("41", F(41), ""),
    ("41 1/2", F(83, 2), ""),
    ("0.1", F(1, 10), ""),
]
CHAINS = [
    # ft-in, yd-ft, lb-oz, hr-min-s go down, and are one literal: text, value in the last unit, that unit.
    ("2 yd 1 ft", F(7), "ft"),
    ("2 yd 1 ft 3 in", F(87), "in"),
    ("3 lb 4 oz", F(52), "oz"),
    ("3 lb 4 1/2 oz", F(105, 2), "oz"),
    ("1 hr 30 min", F(90), "min"),
    ("1 hr 30 min 15 s", F(5415), "s"),
    ("30 min 15 s", F(1815), "s"),
    ("0 ft 6 in", F(6), "in"),
    ("27 ft 0 in", F(324), "in"),
    ("27 ft 11.9375 in", F(335) + F(15, 16), "in"),
]
NEGATIVE = [
    ("-3 in", F(-3), "in"),
    ("−3 in", F(-3), "in"),
    ("-41 1/2 in", F(-83, 2), "in"),
    ("-41-1/2 in", F(-83, 2), "in"),
    ("-27 ft 6 in", F(-330), "in"),
    ("-27' 6 1/2\"", F(-661, 2), "in"),
    ("-3 lb 4 oz", F(-52), "oz"),
    ("-40 degF", F(-40), "degF"),
    ("-5/8", F(-5, 8), ""),
]


def refused(text: str) -> ReadError:
    with pytest.raises(ReadError) as told:
        read_literal(text)
    return told.value


def worked(text: str) -> Quantity:
    def no_names(node: Name) -> Quantity:
        raise ReadError(f"there is no name {node.name}", "", node.at)

    value = Computation(no_names).of(read_expression(text).tree)
    assert isinstance(value, Quantity)
    return value


@pytest.mark.parametrize(("text", "value", "word"), LISTED + CHAINS + NEGATIVE)
def test_rule_1_every_listed_form_is_read_exactly(text: str, value: F, word: str) -> None:
    size = read_literal(text).quantity
    assert isinstance(size.to(unit(word)), F)
    assert size.to(unit(word)) == value


@pytest.mark.parametrize(("text", "value", "word"), LISTED + CHAINS)
def test_rule_1_an_expression_reads_the_same_forms(text: str, value: F, word: str) -> None:
    size = worked(text)
    assert isinstance(size.to(unit(word)), F)
    assert size.to(unit(word)) == value


@pytest.mark.parametrize(
    ("text", "value", "word"),
    [("-27 ft 6 in", F(-330), "in"), ("-41-1/2 in", F(-83, 2), "in"), ("-3 lb 4 oz", F(-52), "oz")],
)
def test_rule_1_in_an_expression_minus_is_an_operator_and_the_chain_still_one_literal(
    text: str, value: F, word: str
) -> None:
    assert worked(text).to(unit(word)) == value


@pytest.mark.parametrize(
    ("text", "offers"),
    [
        ("11/2 in", ["1 1/2", "5 1/2"]),
        ("3/3 in", ["1"]),
        ("9/8 in", ["1 1/8"]),
        ("41 3/2 in", ["1 1/2"]),
        ("41-8/8 in", ["1"]),
        ("16/8", ["2"]),
    ],
)
def test_rule_1_a_fraction_is_proper(text: str, offers: list[str]) -> None:
    told = refused(text)
    assert "proper fraction" in told.what
    for one in offers:
        assert one in told.fix


@pytest.mark.parametrize(
    ("text", "corrected"),
    [
        ("1,200 in", "1200"),
        ("1,234,567 lb", "1234567"),
        ("1,234.5 lb", "1234.5"),
        ("1,5 in", "1.5"),
        ("0,19 in", "0.19"),
        ("1.234,5 in", "1234.5"),
        ("12,50", "12.50"),
    ],
)
def test_rule_1_a_comma_in_a_number_is_an_error_with_the_corrected_form(text: str, corrected: str) -> None:
    told = refused(text)
    assert "comma" in told.what
    assert corrected in told.fix
    assert text[told.at] == ","


@pytest.mark.parametrize(
    "text", ["nan", "NaN", "nan in", "inf", "-inf", "Infinity", "infinity in", "∞", "∞ in", "1e in", "--3 in"]
)
def test_rule_1_nan_and_infinity_are_not_numbers(text: str) -> None:
    refused(text)


@pytest.mark.parametrize(
    "text",
    [
        "1.1e15 in",
        "1e16 in",
        "-1e16 in",
        "1e400",
        "1e99",
        "1000000000000001",
        "9" * 40 + " in",
        "9" * 400,
        "9" * 5000 + " in",
        "1e" + "9" * 5000,
        "999999999999999 1/2 ft 999999999999999 in",
        "1000000000000000.5",
        "1000000000000000 1/2 in",
    ],
)
def test_rule_1_a_size_beyond_1e15_is_refused(text: str) -> None:
    refused(text)


def test_rule_1_a_relative_tolerance_is_no_way_round_the_largest_size() -> None:
    """A tolerance is a size too."""
    refused("5 in ± 1e16 in")


@pytest.mark.parametrize(
    "text",
    [
        "٣ in",
        "４ in",
        "4２ in",
        "४१ in",
        "³ in",
        "5² in",
        "1/٢ in",
        "41 ١/2 in",
        "1.٥ in",
        "5 in^٢",
        "1e٥",
        "① in",
    ],
)
def test_rule_1_digits_are_ascii(text: str) -> None:
    refused(text)


@pytest.mark.parametrize("text", ["4２ in", "٣ in", "1.٥ in"])
def test_rule_1_a_foreign_digit_is_named(text: str) -> None:
    told = refused(text)
    foreign = next(one for one in text if not one.isascii())
    assert foreign in told.what


@pytest.mark.parametrize(
    "text",
    [
        "6 in 2 ft",
        "30 min 1 hr",
        "4 oz 3 lb",
        "2 ft 1 yd",
        "6\" 2'",
        "6 in 3 in",
        "2 ft 3 ft",
        "3 s 2 min",
        "1 ft 2 lb",
        "1 lb 2 in",
        "1 gal 2 qt",  # not among the four chains
        "1 m 20 cm",
        "1 day 3 hr",
        "2 degF 3 degF",
        "1 ft^2 3 in^2",
    ],
)
def test_rule_1_chains_go_down_and_there_are_four(text: str) -> None:
    refused(text)


@pytest.mark.parametrize("text", ["27 ft 13 in", "27' 12\"", "3 lb 16 oz", "1 hr 75 min", "2 yd 3 ft"])
def test_rule_1_a_lower_part_that_is_a_whole_upper_one_is_a_slip(text: str) -> None:
    refused(text)


@pytest.mark.parametrize(
    "text",
    ["27.5 ft 6 in", "27 1/2 ft 6 in", "½ ft 6 in", "1.5 hr 10 min", "27 ft -6 in", "27' 6", "27 ft 6"],
)
def test_rule_1_only_the_last_part_of_a_chain_is_broken_and_every_part_has_its_unit(text: str) -> None:
    refused(text)


@pytest.mark.parametrize(
    "text",
    [
        "1/0 in",
        "1/2/3 in",
        "1.5.2 in",
        "1..5 in",
        "2.5 1/2 in",
        "2.5½ in",
        "1e3 1/2 in",
        "6 1/2 1/2 in",
        "6 7 in",
        "1 000 in",
        "1_000 in",
        "0x10 in",
        "- 5 in",
        "+5 in",
        "(5 in)",
        "5 in;",
        "5 in 6",
        "in",
        "5 in * 2",
        "5 in + 3 in",
        "fuel.tank",
        "",
        "   ",
        "1/hr",
        "'5 in'",
        "5 '",
        '5 "',
        "5 in\n6 in",
        "5\n in",
    ],
)
def test_rules_1_and_13_what_is_no_quantity_is_refused(text: str) -> None:
    refused(text)


def test_rule_1_the_same_number_with_one_bar_is_a_fraction_before_a_digit_and_a_unit_before_a_letter() -> (
    None
):
    assert read_literal("6 1/2 hr").quantity.base == F(13, 2) * 3600
    assert read_literal("6 1/hr").quantity.base == F(6, 3600)


@pytest.mark.parametrize(
    "text",
    ["5 fl  oz", "5 fl", "5 imp", "5 lb ft", "5 lb /ft^3", "5 lb/ ft^3", "5 lb / ft^3", "5 ft ^3", "5 sq in"],
)
def test_rule_2_a_unit_has_no_spaces_but_for_two(text: str) -> None:
    refused(text)


@pytest.mark.parametrize("word", ["then", "else", "and", "or", "not", "if", "to", "up", "down"])
def test_rule_2_a_word_of_the_language_is_never_a_unit(word: str) -> None:
    told = refused(f"5 {word}")
    assert "unit" not in told.what


@pytest.mark.parametrize("text", ["in 5", "lb", "lb + 2 lb", "2 lb + lb", "gal * 2", "(2) lb", "fuel.x lb"])
def test_rule_2_a_unit_follows_only_a_number(text: str) -> None:
    with pytest.raises(ReadError):
        worked(text)


@pytest.mark.parametrize("text", ["5 'a'", "(2)'", "5 in'", '2 "', "fuel'", "2' '"])
def test_rule_2_a_mark_that_is_not_straight_after_a_digit_opens_text(text: str) -> None:
    with pytest.raises(ReadError):
        worked(text)


@pytest.mark.parametrize(
    ("text", "base"), [('5\' 6" + 6"', F(72)), ('max(1", 2")', F(2)), ("½' + 1/2\"", F(13, 2))]
)
def test_rule_2_a_mark_straight_after_a_digit_or_fraction_is_feet_or_inches(text: str, base: F) -> None:
    assert worked(text).to(unit("in")) == base


@pytest.mark.parametrize(
    ("text", "value", "word"),
    [
        ("72 degF - 70 degF", F(2), "delta_degF"),
        ("100 degC - 32 degF", F(100), "delta_degC"),
        ("72 degF + 5 delta_degF", F(77), "degF"),
        ("72 degF - 5 delta_degF", F(67), "degF"),
        ("5 delta_degF + 72 degF", F(77), "degF"),
        ("20 degC + 9 delta_degF", F(25), "degC"),
        ("min(72 degF, 20 degC)", F(68), "degF"),
        ("max(72 degF, 20 degC)", F(72), "degF"),
        ("2 * (72 degF - 70 degF)", F(4), "delta_degF"),
        ("3 1/delta_degF * 2 delta_degF", F(6), ""),
        ("3 1/degF * 2 delta_degF", F(6), ""),
        ("10 delta_degC / 2", F(9), "delta_degF"),
        ("abs(70 degF - 72 degF)", F(2), "delta_degF"),
    ],
)
def test_rule_4_points_and_differences_of_temperature(text: str, value: F, word: str) -> None:
    size = worked(text)
    assert size.unit.kind == unit(word).kind
    assert size.to(unit(word)) == value


@pytest.mark.parametrize(
    "text", ["20 degC < 72 degF", "20 degC <= 68 degF <= 20 degC", "not 20 degC > 72 degF"]
)
def test_rule_4_temperatures_are_compared_across_their_scales(text: str) -> None:
    assert Computation(lambda node: None).of(read_expression(text).tree) is True


@pytest.mark.parametrize(
    "text",
    [
        "72 degF + 70 degF",
        "72 degF * 2",
        "2 * 72 degF",
        "72 degF / 2",
        "72 degF / 70 degF",
        "-72 degF",
        "-(72 degF)",
        "72 degF ^ 2",
        "sqrt(72 degF)",
        "abs(72 degF)",
        "round(72 degF, 1 degF)",
        "round(72 degF, 1 delta_degF)",
        "72 degF - 5",
        "72 degF + 5",
        "5 delta_degF - 72 degF",
        "5 delta_degF + 5",
        "72 degF < 5 delta_degF",
        "72 degF < 80",
        "min(72 degF, 5 delta_degF)",
        "if true then 72 degF else 5 delta_degF",
        "72 degF + 5 in",
        "72 % * 72 degF",
    ],
)
def test_rule_4_nothing_else_is_done_with_a_temperature(text: str) -> None:
    with pytest.raises(ReadError):
        Computation(lambda node: None).of(read_expression(text).tree)


TOLERANCES = [
    # text, value, minus and plus in the unit that follows
    ("41 in ± 1/8 in", F(41), F(1, 8), F(1, 8), "in"),
    ("41 in +/- 1/8 in", F(41), F(1, 8), F(1, 8), "in"),
    ("41 in±1/8 in", F(41), F(1, 8), F(1, 8), "in"),
    ('41 1/2" ± 1/8"', F(83, 2), F(1, 8), F(1, 8), "in"),
    ("41-1/2 in ± 1/8 in", F(83, 2), F(1, 8), F(1, 8), "in"),
    ('27\' 6" ± 1/8"', F(330), F(1, 8), F(1, 8), "in"),
    ("27 ft 6 in ± 1 ft 1 in", F(330), F(13), F(13), "in"),
    ("1 ft ± 3 mm", F(3048, 10), F(3), F(3), "mm"),
    ("41 in +1/4 in -0 in", F(41), F(0), F(1, 4), "in"),
    ("41 in -0 in +1/4 in", F(41), F(0), F(1, 4), "in"),
    ("41 in +1/4 in −1/8 in", F(41), F(1, 8), F(1, 4), "in"),
    ("-3 in ± 1/2 in", F(-3), F(1, 2), F(1, 2), "in"),
    ("-3 in +1 in -2 in", F(-3), F(2), F(1), "in"),
    # the unit stands once, at the end
    ("41 ± 1/8 in", F(41), F(1, 8), F(1, 8), "in"),
    ("41 1/2 ± 1/8 in", F(83, 2), F(1, 8), F(1, 8), "in"),
    ("41 +1/4 -0 in", F(41), F(0), F(1, 4), "in"),
    ("41 in +1/4 -0 in", F(41), F(0), F(1, 4), "in"),
    ("72 ± 2 degF", F(72), F(2), F(2), "degF"),
    ("6 ± 1/2", F(6), F(1, 2), F(1, 2), ""),
    # a share of a value that is not in % is relative
    ("200 lb ± 5 %", F(200), F(10), F(10), "lb"),
    ("-200 lb ± 5 %", F(-200), F(10), F(10), "lb"),
    ("200 lb +5 % -2 %", F(200), F(4), F(10), "lb"),
    ("200 ± 5 %", F(200), F(10), F(10), ""),
    ("7 % ± 1 %", F(7), F(1), F(1), "%"),
    # rule 4: the second is a difference
    ("72 degF ± 2 degF", F(72), F(2), F(2), "degF"),
    ("72 degF ± 2 delta_degF", F(72), F(2), F(2), "degF"),
    ("20 degC ± 9 delta_degF", F(20), F(5), F(5), "degC"),
    ("20 degC ± 9 degF", F(20), F(5), F(5), "degC"),
    ("72 degF +4 degF -0 degF", F(72), F(0), F(4), "degF"),
]


def in_word(literal: Literal, value: F | float, word: str) -> F | float:
    """Return a tolerance, which stands in its value's own unit, in another unit."""
    own = literal.quantity.unit
    return value * own.scale / unit(word).scale


@pytest.mark.parametrize(("text", "value", "minus", "plus", "word"), TOLERANCES)
def test_rules_4_and_5_every_form_of_a_tolerance(text: str, value: F, minus: F, plus: F, word: str) -> None:
    literal = read_literal(text)
    assert literal.quantity.to(unit(word)) == value
    assert in_word(literal, literal.minus, word) == minus
    assert in_word(literal, literal.plus, word) == plus
    assert literal.is_toleranced


def test_rule_5_a_value_without_a_tolerance_has_none() -> None:
    literal = read_literal("41 in")
    assert (literal.minus, literal.plus, literal.is_toleranced) == (0, 0, False)


@pytest.mark.parametrize(
    "text",
    [
        "41 in ±",
        "41 in +/-",
        "± 1/8 in",
        "41 in ± 1/8",  # the unit may stand once at the end, not once at the beginning
        "41 in +1/4 in -0",
        "41 in +1/4 in",  # both signs
        "41 in -1/4 in",
        "41 in +1/4 in +1/8 in",
        "41 in -1/4 in -1/8 in",
        "41 in +1/4 in -0 in -0 in",
        "41 in ± 1/8 in ± 1/8 in",
        "41 in ± -1/8 in",
        "41 in ± 1/8 lb",
        "41 ± 1/8 in 2",
        "41 in ± x",
        "7 % ± 1",
        "5 ± 1/8 in ± 1 %",
        "72 degF ± 5 %",
        "72 degF ± 2",
        "72 degF ± 2 in",
        "41 in ± 11/2 in",
        "41 in ± 1,5 in",
        "41 in + 1/4 in - 0 in",
        "41 in + 3 in",
        "41 in - 3 in",
        "41 in ± 1/8 in * 2",
    ],
)
def test_rules_4_and_5_a_tolerance_in_another_form_is_refused(text: str) -> None:
    refused(text)


@pytest.mark.parametrize(
    "text", ["41 in ± 1/8 in", "41 in +/- 1/8 in", "41 in +1/4 in -0 in", "2 * 41 in ± 1 in"]
)
def test_rule_5_no_tolerance_stands_in_an_expression(text: str) -> None:
    with pytest.raises(ReadError):
        worked(text)


@dataclass(frozen=True)
class Found:
    """What the calculator below gives."""

    left: Annotated[float, Q("gal", "what is left", rule="volume")]


@calculator(sources=[Source("none", "a calculator for these tests", "read")])
def cup(
    volume: Annotated[float, Q("gal", "volume")],
    share: Annotated[float, Q("%", "share")] = 5.0,
    factor: Annotated[float, Q("", "factor")] = 1.0,
    pieces: Annotated[int, Q("", "pieces")] = 1,
) -> Found:
    """Take one of each kind of number."""
    return Found(volume * share / 100 * factor * pieces)


CUP = Calculator.of(cup)


def left(**texts: str) -> float:
    value = work(CUP, texts).outcome.values["left"]
    assert isinstance(value, Quantity)
    return float(value.to(unit("gal")))


def test_rule_6_the_kinds_of_number_take_what_is_theirs() -> None:
    assert left(volume="20 gal", share="10 %", factor="2", pieces="3") == pytest.approx(12)
    assert left(volume="40 qt", share="1/2 %", factor="1/2", pieces="2 * 2") == pytest.approx(0.1)


@pytest.mark.parametrize(
    ("texts", "offers"),
    [
        ({"volume": "20"}, "gal"),
        ({"volume": "20", "share": "5 %"}, "20 gal"),
        ({"volume": "20 lb"}, "gal"),
        ({"volume": "20 %"}, "gal"),
        ({"volume": "20 gal", "share": "5"}, "5 %"),
        ({"volume": "20 gal", "share": "5"}, "500 %"),
        ({"volume": "20 gal", "share": "0.05"}, "0.05 %"),
        ({"volume": "20 gal", "share": "0.05"}, "5 %"),
        ({"volume": "20 gal", "share": "5 in/ft"}, "%"),
        ({"volume": "20 gal", "factor": "5 %"}, "0.05"),
        ({"volume": "20 gal", "factor": "5 in"}, "number"),
        ({"volume": "20 gal", "pieces": "2.5"}, "whole"),
        ({"volume": "20 gal", "pieces": "5/8"}, "whole"),
        ({"volume": "20 gal", "pieces": "200 %"}, "number"),
    ],
)
def test_rule_6_on_the_shell_a_number_without_its_unit_is_an_error_that_offers_the_readings(
    texts: dict[str, str], offers: str
) -> None:
    with pytest.raises(BookError) as told:
        work(CUP, texts)
    assert offers in str(told.value)


@pytest.mark.parametrize("text", ["41 in + 3", "3 + 41 in", "41 in < 42", "max(41 in, 3)", "41 in - 3 * 2"])
def test_rule_6_a_plain_number_where_a_unit_is_wanted_is_an_error(text: str) -> None:
    with pytest.raises(ReadError) as told:
        Computation(lambda node: None).of(read_expression(text).tree)
    assert "number" in told.value.what


@pytest.mark.parametrize(
    ("text", "value"),
    [("7 % * 100", F(7)), ("100 lb * 7 %", None), ("1 + 7 %", F(107, 100)), ("(1 - 7 %) * 2", F(186, 100))],
)
def test_rule_6_seven_per_cent_is_0_07_in_arithmetic(text: str, value: F | None) -> None:
    assert worked(text).base == (value if value is not None else read_literal("7 lb").quantity.base)


@pytest.mark.parametrize("text", ["5 % < 0.1", "0.1 >= 5 %", "max(5 %, 0.1)", "if true then 5 % else 0.1"])
def test_rules_3_and_6_a_share_is_not_compared_with_a_plain_number(text: str) -> None:
    with pytest.raises(ReadError):
        Computation(lambda node: None).of(read_expression(text).tree)
