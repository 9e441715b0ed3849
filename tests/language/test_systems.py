"""Rule 16: a value in the other system of units; floats in print, against plain decimals."""

from __future__ import annotations

from decimal import ROUND_CEILING, ROUND_FLOOR, ROUND_HALF_UP, Decimal, localcontext
from fractions import Fraction
from functools import cache
from re import findall, fullmatch
from typing import Any

import pint
import pytest
from hypothesis import assume, example, given, settings
from hypothesis import strategies as st

from kb.language.quantity import Quantity
from kb.language.show import AS_IT_IS, Form, Safe, show, show_parts
from kb.language.systems import System, counterpart, show_other
from kb.language.units import unit

# What a drawing of a US yard may say, and what a metric one may.
US = [
    *("in", "ft", "yd", "mil", "mi", "in^2", "ft^2", "yd^2", "cmil", "in^3", "ft^3", "gal", "qt", "pt"),
    *("fl oz", "lb", "oz", "lb/ft", "lb/ft^2", "oz/ft^2", "oz/yd^2", "lb/ft^3", "lb/gal", "lb/in"),
    *("ft^2/lb", "lbf", "lbf/ft", "psi", "ksi", "inHg", "inH2O", "lbf/ft^2", "lbf*in^2", "lbf*ft", "lbf*in"),
    *("gpm", "gph", "gal/min", "gal/hr", "cfm", "ft^3/min", "ft/s", "ft/min", "degF", "delta_degF"),
    *("1/delta_degF", "in/ft", "hp"),
]
METRIC = [
    *("mm", "cm", "m", "km", "um", "mm^2", "cm^2", "m^2", "cm^3", "m^3", "mL", "L", "g", "kg", "tonne"),
    *("kg/m", "kg/m^2", "g/m^2", "kg/m^3", "kg/L", "m^2/kg", "N", "kN", "N/m", "Pa", "hPa", "kPa", "MPa"),
    *("bar", "mbar", "N*m^2", "N*m", "L/min", "L/hr", "m^3/min", "m/s", "m/min", "degC", "delta_degC"),
    *("1/delta_degC", "mm/m", "kW"),
]
EVERY: list[tuple[System, str]] = [*(("us", one) for one in US), *(("metric", one) for one in METRIC)]
SIDES: list[Safe] = ["up", "down", "nearest"]

# ---- a reference: pint's own list of units, which the engine does not load

_IN_PINT = {
    **{"in": "inch", "mil": "thou", "cmil": "circular_mil", "fl oz": "fluid_ounce", "tonne": "metric_ton"},
    **{"lb": "pound", "oz": "ounce", "gal": "gallon", "qt": "quart", "pt": "pint", "hr": "hour"},
    **{"min": "minute", "lbf": "force_pound", "gpm": "gallon/minute", "gph": "gallon/hour"},
    **{"cfm": "foot**3/minute", "um": "micrometer", "hp": "horsepower", "yd": "yard", "mi": "mile"},
}
_COLUMNS = {"inHg": 3386.389, "inH2O": 249.0889}
"""The conventional columns in pascal: NIST SP 811, appendix B.8."""
_DIFFERENCES = {"degF": 5 / 9, "degC": 1.0, "delta_degF": 5 / 9, "delta_degC": 1.0}
_OFFSETS = {"degF": 459.67 * 5 / 9, "degC": 273.15}


@cache
def _pint() -> Any:
    return pint.UnitRegistry()


@cache
def size_of(text: str) -> float:
    """Return how much of the base units one of a unit is."""
    if text in _COLUMNS:
        return _COLUMNS[text]
    size = 1.0
    for sign, word, power in findall(r"(^|[*/])([^*/^]+)(?:\^(\d))?", text):
        plain = word in ("1", *_DIFFERENCES)
        one = _DIFFERENCES.get(word, 1.0) if plain else _pint()(_IN_PINT.get(word, word)).to_base_units()
        exponent = int(power or 1) * (-1 if sign == "/" else 1)
        size *= float(getattr(one, "magnitude", one)) ** exponent
    return size


def read_back(number: str, other: str, own: str) -> float:
    """Return a printed number of one unit in another, as a reader with a table of units would."""
    return (float(number) * size_of(other) + _OFFSETS.get(other, 0) - _OFFSETS.get(own, 0)) / size_of(own)


def figures(number: str) -> int:
    """Count the figures that a printed number needs: 0.0123 has three, 1200 two."""
    mantissa = number.lstrip("-").split("e")[0]
    return len(mantissa.replace(".", "").strip("0"))


def coarser(spread: float) -> Decimal:
    """Return the smallest of 1, 2 or 5 times a power of ten that is no finer than a spread."""
    power = Decimal(10) ** Decimal(spread).adjusted()
    return next(part * power for part in (1, 2, 5, 10) if part * power >= Decimal(spread))


sizes = st.builds(
    lambda mantissa, power, sign: sign * mantissa * 10.0**power,
    st.floats(1, 10, exclude_max=True),
    st.integers(-3, 6),
    st.sampled_from([1, -1]),
)
exact_sizes = st.fractions(-10_000, 10_000, max_denominator=64)


# ---- which unit stands beside which


@pytest.mark.parametrize(("system", "own"), EVERY)
def test_every_unit_of_a_yard_has_a_unit_of_the_same_kind_in_the_other_system(
    system: System, own: str
) -> None:
    other = counterpart(unit(own), system)

    assert other is not None
    assert other.same_kind(unit(own))
    assert other.name in (METRIC if system == "us" else [*US, "fl oz"])


@pytest.mark.parametrize("own", ["", "%", "deg", "min", "hr", "s", "1/hr", "A", "V", "ohm", "Ah"])
@pytest.mark.parametrize("system", ["us", "metric"])
def test_what_both_systems_measure_alike_has_no_other_unit(system: System, own: str) -> None:
    assert counterpart(unit(own), system) is None
    assert show_other(Quantity(Fraction(5), unit(own)), unit(own), system) is None


@pytest.mark.parametrize("own", [one for one in US if one not in METRIC])
def test_a_metric_book_leaves_a_value_that_stands_in_us_units_as_it_is(own: str) -> None:
    assert counterpart(unit(own), "metric") is None


# ---- the value there


@settings(max_examples=250, deadline=None)
@given(where=st.sampled_from(EVERY), value=sizes | exact_sizes, safe=st.sampled_from(SIDES))
@example(where=("us", "in"), value=0.1 + 0.2, safe="up")
@example(where=("us", "degF"), value=-40.0, safe="down")
@example(where=("metric", "kg"), value=Fraction(1), safe="down")
def test_the_other_system_never_says_more_than_is_safe(
    where: tuple[System, str], value: float | Fraction, safe: Safe
) -> None:
    system, own = where
    parts = show_other(Quantity(value, unit(own)), unit(own), system, AS_IT_IS, safe)
    assert parts is not None
    number, other = parts
    back, true = read_back(number, other, own), float(value)
    dust = 1e-9 * (abs(true) + (1000 if own in _OFFSETS else 0))
    step = float(Decimal(10) ** (Decimal(number).adjusted() - 2)) * size_of(other) / size_of(own)

    if safe == "up":
        assert true - dust <= back
    if safe == "down":
        assert back <= true + dust
    assert figures(number) <= 3 or own in _OFFSETS
    if own not in _OFFSETS:
        # The three figures of what is printed may be one place coarser than those of the value.
        assert abs(back - true) <= (1 if safe != "nearest" else 0.5) * step + dust


@settings(max_examples=150, deadline=None)
@given(
    where=st.sampled_from(EVERY),
    value=sizes | exact_sizes,
    share=st.floats(1e-4, 2),
    safe=st.sampled_from(SIDES),
)
def test_the_other_system_shows_nothing_finer_than_the_tolerance_and_stays_safe(
    where: tuple[System, str], value: float | Fraction, share: float, safe: Safe
) -> None:
    system, own = where
    assume(abs(float(value)) > 1e-3)
    spread = share * abs(float(value))
    parts = show_other(Quantity(value, unit(own)), unit(own), system, AS_IT_IS, safe, spread)
    assert parts is not None
    number, other = parts
    here = spread * size_of(own) / size_of(other)
    step = coarser(here * (1 - 1e-9))
    back, true = read_back(number, other, own), float(value)
    dust = 1e-9 * (abs(true) + (1000 if own in _OFFSETS else 0))

    three_figures = Decimal(10) ** (Decimal(read_back(str(true), own, other)).adjusted() - 2)
    if here > float(three_figures) * (1 + 1e-9):
        assert Decimal(number) % step == 0
    if safe == "up":
        assert true - dust <= back
    if safe == "down":
        assert back <= true + dust


@settings(max_examples=100, deadline=None)
@given(where=st.sampled_from(EVERY), value=sizes, safe=st.sampled_from(SIDES))
def test_both_systems_stay_on_the_safe_side_of_the_same_value(
    where: tuple[System, str], value: float, safe: Safe
) -> None:
    """The other system starts from the value, not from what the book's own system has rounded it to."""
    system, own = where
    size = Quantity(value, unit(own))
    here = show_parts(size, AS_IT_IS, safe)
    there = show_other(size, unit(own), system, Form(step=Fraction(5), direction=None), safe)

    assert there == show_other(size, unit(own), system, AS_IT_IS, safe)
    assert there == show_parts(size, Form(unit=str(there and there[1])), safe)
    assert here[1] == own


@pytest.mark.parametrize(
    ("system", "value", "own", "safe", "expected"),
    [
        ("us", Fraction(1), "in", "nearest", ("25.4", "mm")),
        ("us", Fraction(93, 2), "in", "down", ("1180", "mm")),  # 1181.1
        ("us", Fraction(93, 2), "in", "up", ("1190", "mm")),
        ("us", 100.0, "gal", "down", ("378", "L")),  # 378.541
        ("us", 100.0, "gal", "up", ("379", "L")),
        ("us", 1.0, "lb", "up", ("0.454", "kg")),  # 0.453592
        ("us", 1.0, "psi", "down", ("6.89", "kPa")),  # 6.894757
        ("us", 212.0, "degF", "nearest", ("100", "degC")),
        ("us", -40.0, "degF", "nearest", ("-40", "degC")),
        ("us", 18.0, "delta_degF", "nearest", ("10", "delta_degC")),
        ("metric", 25.4, "mm", "up", ("1", "in")),
        ("metric", 100.0, "L", "down", ("26.4", "gal")),  # 26.4172
        ("metric", 100.0, "L", "up", ("26.5", "gal")),
        ("metric", 100.0, "degC", "nearest", ("212", "degF")),
        ("metric", 10.0, "delta_degC", "nearest", ("18", "delta_degF")),
        ("metric", 1000.0, "kg", "up", ("2210", "lb")),  # 2204.62
        ("us", 1.0, "fl oz", "down", ("29.5", "mL")),  # 29.5735
    ],
)
def test_a_value_in_the_other_system_by_hand(
    system: System, value: float | Fraction, own: str, safe: Safe, expected: tuple[str, str]
) -> None:
    parts = show_other(Quantity(value, unit(own)), unit(own), system, AS_IT_IS, safe)

    assert parts is not None
    assert (Fraction(parts[0]), parts[1]) == (Fraction(expected[0]), expected[1])


@pytest.mark.parametrize(
    ("system", "value", "own", "safe"),
    [
        ("us", 32.0, "degF", "up"),
        ("us", 32.0, "degF", "down"),
        ("us", 32.0, "degF", "nearest"),
        ("metric", -160 / 9, "degC", "up"),  # 0 degF
        ("metric", -160 / 9, "degC", "nearest"),
    ],
)
def test_a_temperature_at_the_other_scales_zero_is_zero_there(
    system: System, value: float, own: str, safe: Safe
) -> None:
    parts = show_other(Quantity(value, unit(own)), unit(own), system, AS_IT_IS, safe)

    assert parts is not None
    assert Fraction(parts[0]) == 0


@pytest.mark.parametrize(("direction", "expected"), [("up", "1190"), ("down", "1180")])
def test_of_the_authors_form_only_the_direction_counts_in_the_other_system(
    direction: Safe, expected: str
) -> None:
    size = Quantity(Fraction(93, 2), unit("in"))
    form = Form("ft-in", direction, Fraction(1, 16), True)

    assert show_other(size, unit("in"), "us", form) == (expected, "mm")


# ---- floats in print, against plain decimals

_ROUNDING = {"up": ROUND_CEILING, "down": ROUND_FLOOR, "nearest": ROUND_HALF_UP}


def by_decimals(value: float, spread: float, safe: Safe) -> tuple[Decimal, Decimal]:
    """Return a float rounded by the decimal module, and how far it lies between two steps."""
    with localcontext() as context:
        context.prec = 400
        exact = Decimal(value)
        step = Decimal(10) ** (exact.adjusted() - 2)
        if Decimal(spread) > step:
            step = coarser(spread)
        steps = exact / step
        near = steps.to_integral_value(ROUND_HALF_UP)
        if abs(steps - near) > Decimal("1e-9") * max(Decimal(1), abs(steps)):
            near = steps.to_integral_value(_ROUNDING[safe])
        return near * step, abs(steps) % 1


def same_as_by_decimals(value: float, spread: float, safe: Safe) -> None:
    expected, part = by_decimals(value, spread, safe)
    assume(safe != "nearest" or abs(part - Decimal("0.5")) > Decimal("1e-9"))
    number, _ = show_parts(Quantity(value, unit("in")), AS_IT_IS, safe, spread=spread)

    assert fullmatch(r"-?\d+(\.\d+)?(e-?\d+)?", number)
    assert not (number.startswith("-") and Decimal(number) == 0)
    assert Decimal(number) == expected


@settings(max_examples=400, deadline=None)
@given(value=sizes, safe=st.sampled_from(SIDES))
@example(value=99.96, safe="nearest")
@example(value=99.91, safe="up")
@example(value=-99.96, safe="nearest")
@example(value=-99.91, safe="down")
@example(value=999.6, safe="up")
@example(value=9.996, safe="nearest")
@example(value=0.0099951, safe="up")
@example(value=1e-3, safe="up")
@example(value=0.1 + 0.2, safe="up")
def test_rule_16_a_float_is_printed_as_plain_decimals_would(value: float, safe: Safe) -> None:
    same_as_by_decimals(value, 0.0, safe)


@settings(max_examples=250, deadline=None)
@given(
    value=st.one_of(
        st.floats(1e-280, 1e280),
        st.floats(-1e280, -1e-280),
        st.floats(1e-6, 1e-2),
        st.floats(1e10, 1e17),
    ),
    safe=st.sampled_from(SIDES),
)
@example(value=9.9999e-5, safe="up")
@example(value=9.9951e-4, safe="nearest")
@example(value=999_999_999_999.9, safe="up")
@example(value=1e12, safe="up")
@example(value=9.999e14, safe="up")
@example(value=1e15, safe="down")
@example(value=-9.999e-5, safe="down")
def test_rule_16_a_tiny_or_huge_float_is_printed_as_plain_decimals_would(value: float, safe: Safe) -> None:
    same_as_by_decimals(value, 0.0, safe)


@settings(max_examples=400, deadline=None)
@given(value=sizes, share=st.floats(1e-5, 30), safe=st.sampled_from(SIDES))
@example(value=99.96, share=0.0015, safe="nearest")
@example(value=-0.3, share=3.0, safe="up")
@example(value=-0.3, share=3.0, safe="nearest")
def test_rule_16_a_float_with_a_tolerance_goes_in_steps_of_1_2_or_5(
    value: float, share: float, safe: Safe
) -> None:
    spread = share * abs(value)
    mantissa = float(Decimal(spread).scaleb(-Decimal(spread).adjusted()))
    assume(all(abs(mantissa - part) > 1e-6 for part in (1, 2, 5, 10)))
    same_as_by_decimals(value, spread, safe)


@pytest.mark.parametrize(
    ("value", "spread", "expected"),
    [
        (46.5, 0.1, "46.5 in"),
        (46.5, 46.5 - 46.4, "46.5 in"),  # 0.10000000000000142, as two runs leave it
        (4.65, 0.3 - 0.25, "4.65 in"),  # 0.04999999999999999
        (46.36, 0.7 - 0.5, "46.4 in"),  # 0.19999999999999996
        (7.36, 7.3 - 7.1, "7.4 in"),  # 0.20000000000000018
    ],
)
def test_rule_16_dust_on_a_tolerance_makes_no_coarser_step(
    value: float, spread: float, expected: str
) -> None:
    assert show(Quantity(value, unit("in")), spread=spread) == expected


@pytest.mark.parametrize("spread", [1e20, 1e26, 1e200])
@pytest.mark.parametrize("value", [1.0, 1e-30, 1e20])
def test_rule_16_a_value_with_any_tolerance_can_be_printed(value: float, spread: float) -> None:
    assert show(Quantity(value, unit("in")), spread=spread) != ""
