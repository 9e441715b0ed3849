"""The unit file against outside references, and the kinds that do not stand in for each other."""

from __future__ import annotations

from fractions import Fraction
from itertools import permutations
from typing import Any

import pint
import pytest

from kb.language.compute import Computation
from kb.language.expression import Name, read_expression
from kb.language.literal import ReadError, read_literal
from kb.language.quantity import Quantity
from kb.language.units import UnitError, is_unit, unit, unit_words

SP811 = {
    # NIST SP 811 (2008), appendix B.8 and B.9: the unit in SI units, to the seven figures printed there.
    # Rounding to seven figures can move a value by 5 parts in ten million.
    "in": 2.54e-2,
    "ft": 3.048e-1,
    "yd": 9.144e-1,
    "mil": 2.54e-5,
    "mi": 1.609344e3,
    "nmi": 1.852e3,
    "um": 1e-6,
    "mm": 1e-3,
    "cm": 1e-2,
    "km": 1e3,
    "cmil": 5.067075e-10,
    "in^2": 6.4516e-4,
    "ft^2": 9.290304e-2,
    "yd^2": 8.361274e-1,
    "in^3": 1.638706e-5,
    "ft^3": 2.831685e-2,
    "in^4": 4.162314e-7,
    "L": 1e-3,
    "mL": 1e-6,
    "gal": 3.785412e-3,
    "qt": 9.463529e-4,
    "pt": 4.731765e-4,
    "fl oz": 2.957353e-5,
    "imp gal": 4.54609e-3,
    "g": 1e-3,
    "tonne": 1e3,
    "lb": 4.535924e-1,
    "oz": 2.834952e-2,
    "lbf": 4.448222,
    "lbf/ft": 1.459390e1,
    "lbf*in": 1.129848e-1,
    "lbf*ft": 1.355818,
    "Pa": 1.0,
    "psi": 6.894757e3,
    "ksi": 6.894757e6,
    "lbf/ft^2": 4.788026e1,
    "inHg": 3.386389e3,
    "mmHg": 1.333224e2,
    "inH2O": 2.490889e2,
    "atm": 1.01325e5,
    "bar": 1e5,
    "mbar": 1e2,
    "lb/ft^3": 1.601846e1,
    "lb/gal": 1.198264e2,
    "lb/ft^2": 4.882428,
    "oz/yd^2": 3.390575e-2,
    "lb/ft": 1.488164,
    "gpm": 6.309020e-5,
    "cfm": 4.719474e-4,
    "min": 60.0,
    "hr": 3.6e3,
    "h": 3.6e3,
    "day": 8.64e4,
    "mi/hr": 4.4704e-1,
    "nmi/hr": 5.144444e-1,
    "Btu": 1.055056e3,
    "kWh": 3.6e6,
    "Wh": 3.6e3,
    "hp": 7.456999e2,
    "Ah": 3.6e3,
    "cP": 1e-3,
    "cSt": 1e-6,
    "delta_degF": 5.555556e-1,
    "delta_degC": 1.0,
}
SAME_WORD_IN_PINT = """
    in ft yd mi nmi mm cm m km um cmil L mL gal qt pt g kg mg tonne lb oz N kN lbf Pa hPa kPa MPa GPa bar mbar
    atm psi ksi s min hr h day week degC degF delta_degC delta_degF J kJ W kW Wh kWh hp A mA V mV ohm Ah mAh
    cP cSt
"""
EXACT = {
    # International yard and pound agreement of 1959, the US gallon of 231 cubic inches, standard gravity.
    "in": Fraction(254, 10000),
    "ft": Fraction(3048, 10000),
    "lb": Fraction(45359237, 10**8),
    "gal": 231 * Fraction(254, 10000) ** 3,
    "lbf": Fraction(45359237, 10**8) * Fraction(980665, 10**5),
    "delta_degF": Fraction(5, 9),
    "gph": 231 * Fraction(254, 10000) ** 3 / 3600,
}
KINDS = {
    "a plain number": "",
    "a share": "%",
    "an angle": "deg",
    "a slope": "in/ft",
    "a slope in metric": "mm/m",
    "a volume per volume": "mL/L",
}
LIKE_EACH_OTHER = {"a slope", "a slope in metric"}


@pytest.fixture(scope="module")
def registry() -> pint.UnitRegistry[Any]:
    return pint.UnitRegistry()


def no_names(node: Name) -> Quantity:
    raise ReadError(f"there is no name {node.name}", "", node.at)


@pytest.mark.parametrize(("word", "si"), SP811.items())
def test_rule_3_a_unit_has_the_size_that_nist_prints(word: str, si: float) -> None:
    assert float(unit(word).to_base(Fraction(1))) == pytest.approx(si, rel=5.5e-7)


@pytest.mark.parametrize(("word", "si"), EXACT.items())
def test_rule_3_a_unit_defined_exactly_has_an_exact_factor(word: str, si: Fraction) -> None:
    assert unit(word).to_base(Fraction(1)) == si


@pytest.mark.parametrize("word", SAME_WORD_IN_PINT.split())
def test_rule_3_a_word_that_pint_has_too_means_the_same_size(
    word: str, registry: pint.UnitRegistry[Any]
) -> None:
    theirs = registry.Quantity(1.0, word).to_base_units().magnitude
    assert float(unit(word).to_base(Fraction(1))) == pytest.approx(theirs, rel=1e-12)


@pytest.mark.parametrize(("ours", "theirs"), [("mil", "thou"), ("cfm", "ft**3/min"), ("%", "percent")])
def test_rule_3_no_meaning_is_inherited_from_pint(
    ours: str, theirs: str, registry: pint.UnitRegistry[Any]
) -> None:
    """In pint `mil` is an angle, `cfm` a length and `pct` a mass; here they are what a shop means."""
    expected = registry.Quantity(1.0, theirs).to_base_units().magnitude
    assert float(unit(ours).to_base(Fraction(1))) == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize("word", ["furlong", "parsec", "smoot", "dozen", "pct", "inch", "micron", "hogshead"])
def test_rule_3_a_word_of_pint_that_the_unit_file_does_not_define_is_no_unit(word: str) -> None:
    assert not is_unit(word)


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("180 deg", "3.141592653589793 rad"),
        ("1 psi", "1 lbf/in^2"),
        ("1 gpm", "60 gph"),
        ("1 gal", "231 in^3"),
        ("1 gal", "128 fl oz"),
        ("1 gal", "4 qt"),
        ("1 qt", "2 pt"),
        ("1 lb", "16 oz"),
        ("1 hp", "550 lbf*ft/s"),
        ("12 in/ft", "1000 mm/m"),
        ("1 V", "1 W/A"),
        ("1 ohm", "1 V/A"),
        ("1 cP", "1e-3 Pa*s"),
        ("1 W/m/K", "1 W/m/delta_degC"),
        ("9 1/delta_degF", "16.2 1/delta_degC"),
        ("1 week", "168 hr"),
    ],
)
def test_rule_3_two_ways_to_write_one_size_are_equal(one: str, other: str) -> None:
    a, b = read_literal(one).quantity, read_literal(other).quantity
    assert float(a.to(b.unit)) == pytest.approx(float(b.value), rel=1e-12)


@pytest.mark.parametrize(
    ("text", "kelvin"),
    [
        # The fixed points of both scales.
        ("0 degC", Fraction(27315, 100)),
        ("32 degF", Fraction(27315, 100)),
        ("212 °F", Fraction(37315, 100)),
        ("100 °C", Fraction(37315, 100)),
        ("-40 degF", Fraction(23315, 100)),
        ("-40 degC", Fraction(23315, 100)),
    ],
)
def test_rule_4_a_temperature_is_a_point_on_its_scale(text: str, kelvin: Fraction) -> None:
    assert read_literal(text).quantity.base == kelvin


@pytest.mark.parametrize(
    ("one", "other"),
    [("degF", "delta_degF"), ("degC", "delta_degC"), ("lb", "lbf"), ("oz", "fl oz"), ("mil", "cmil")],
)
def test_rule_3_and_4_look_alikes_are_not_the_same_kind(one: str, other: str) -> None:
    assert not unit(one).same_kind(unit(other))


@pytest.mark.parametrize(("one", "other"), list(permutations(KINDS, 2)))
def test_rule_3_share_angle_slope_volume_per_volume_and_number_do_not_stand_in_for_each_other(
    one: str, other: str
) -> None:
    same = {one, other} == LIKE_EACH_OTHER
    assert unit(KINDS[one]).same_kind(unit(KINDS[other])) == same
    text = f"3 {KINDS[one]} <= 4 {KINDS[other]}"
    if same:
        assert isinstance(Computation(no_names).of(read_expression(text).tree), bool)
    else:
        with pytest.raises(ReadError):
            Computation(no_names).of(read_expression(text).tree)


@pytest.mark.parametrize(
    ("text", "same"),
    [
        ("in2", "in^2"),
        ("in²", "in^2"),
        ("ft3", "ft^3"),
        ("ft³", "ft^3"),
        ("m2", "m^2"),
        ("mm2", "mm^2"),
        ("yd3", "yd^3"),
        ("lb/ft3", "lb/ft^3"),
        ("oz/yd²", "oz/yd^2"),
        ("fl_oz", "fl oz"),
        ("imp_gal", "imp gal"),
        ("°F", "degF"),
        ("°C", "degC"),
        ("1/degF", "1/delta_degF"),
        ("W/m^2/degC", "W/m^2/delta_degC"),
    ],
)
def test_rules_2_3_and_4_two_spellings_of_one_unit(text: str, same: str) -> None:
    one, other = unit(text), unit(same)
    assert (one.scale, one.dims, one.kind, one.offset) == (other.scale, other.dims, other.kind, other.offset)


def test_rule_3_in_a_quotient_each_bar_divides_by_the_next_word() -> None:
    assert unit("W/m/K").dims == unit("kg*m/s^3/delta_degC").dims


@pytest.mark.parametrize("word", unit_words())
def test_rule_2_every_unit_can_be_written_after_a_number_and_read_back_as_printed(word: str) -> None:
    size = read_literal(f"3 {word}").quantity
    assert (size.value, size.unit) == (3, unit(word))
    again = read_literal(f"3 {size.unit.name}").quantity
    assert (again.base, again.unit.kind) == (size.base, size.unit.kind)
    assert again.unit.name == size.unit.name


@pytest.mark.parametrize("word", ["F", "C", "K"])
@pytest.mark.parametrize("text", ["72 {}", "72{}", "-5 {}", "72 {} ± 2 {}"])
def test_rule_3_f_c_and_k_alone_are_refused_with_the_forms_wanted(word: str, text: str) -> None:
    with pytest.raises(ReadError) as told:
        read_literal(text.replace("{}", word))
    assert f"'{word}'" in told.value.what
    for form in ("degF", "degC", "delta_degF", "delta_degC"):
        assert form in told.value.fix


@pytest.mark.parametrize("text", ["W/m/F", "1/C", "lb*F"])
def test_rule_3_f_and_c_are_refused_in_compound_units_too(text: str) -> None:
    with pytest.raises(UnitError):
        unit(text)


@pytest.mark.parametrize(
    ("wrong", "right"),
    [
        ("inch", "in"),
        ("inches", "in"),
        ("foot", "ft"),
        ("feet", "ft"),
        ("yards", "yd"),
        ("pounds", "lb"),
        ("lbs", "lb"),
        ("ounces", "oz"),
        ("gallons", "gal"),
        ("litres", "L"),
        ("l", "L"),
        ("ml", "mL"),
        ("PSI", "psi"),
        ("GPM", "gpm"),
        ("KPA", "kPa"),
        ("mins", "min"),
        ("hours", "hr"),
        ("degrees", "deg"),
        ("ohms", "ohm"),
        ("floz", "fl oz"),
        ("thou", "mil"),
        ("pcf", "lb/ft^3"),
        ("psf", "lbf/ft^2"),
        ("cc", "mL"),
        ("inchs", "in"),
        ("gall", "gal"),
        ("LBF", "lbf"),
        ("lb/foot^3", "lb/ft^3"),
        ("lbs/ft^3", "lb/ft^3"),
    ],
)
def test_rule_3_a_word_that_is_no_unit_is_refused_with_the_nearest_unit(wrong: str, right: str) -> None:
    with pytest.raises(ReadError) as told:
        read_literal(f"5 {wrong}")
    assert f"'{wrong}'" in told.value.what
    assert f"'{right}'" in told.value.fix
    assert told.value.at == 2


@pytest.mark.parametrize(
    ("wrong", "right"), [("sq ft", "ft^2"), ("cu ft", "ft^3"), ("cu in", "in^3"), ("US gal", "gal")]
)
def test_rule_2_a_two_word_unit_is_refused_with_the_one_word_of_the_same_size(wrong: str, right: str) -> None:
    """`fl oz` and `imp gal` are the only two-word units."""
    with pytest.raises(ReadError) as told:
        read_literal(f"5 {wrong}")
    assert f"'{right}'" in told.value.fix


@pytest.mark.parametrize(
    "text",
    [
        "gal2",  # only lengths take a bare 2 or 3
        "lb3",
        "in^0",
        "in^99",
        "in^",
        "in^x",
        "/ft",
        "lb/",
        "lb//ft",
        "lb**2",
        "lb per ft",
        "(lb)",
        "in ft",
        "lb/lb",  # cancels out: a share is in %
        "%/%",
        "gal oz",
        "kelvin",
    ],
)
def test_rule_2_a_text_that_is_no_unit_does_not_stand_behind_a_number(text: str) -> None:
    assert not is_unit(text)
    with pytest.raises(ReadError):
        read_literal(f"5 {text}")


@pytest.mark.parametrize("text", ["W/m^2/K", "lb/ft^2/day", "g/m^2/day", "m^2/kg", "N*m/rad", "1/min"])
def test_rule_2_units_combine_by_star_slash_and_power_without_spaces(text: str) -> None:
    assert is_unit(text)
    size = read_literal(f"2 {text}").quantity
    assert (size.value, size.unit) == (2, unit(text))
