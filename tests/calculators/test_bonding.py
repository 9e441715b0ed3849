"""Bonding against exact arithmetic and another library of units, and what must hold for any joint at all."""

from __future__ import annotations

import math
from fractions import Fraction
from typing import Any

import pint
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kb import NoAnswer
from kb.calculators.declare import Calculator
from kb.calculators.work import Worked, work
from kb.problem import BookError
from kb_calculators.bonding.area import BondingArea, Run, bonding_area

UNITS: Any = pint.UnitRegistry()


def joint(**more: Any) -> BondingArea:
    given: dict[str, Any] = {
        "runs": (Run("deck edge", 56.0, 1.5), Run("bulkhead", 9.0, 2.0)),
        "thickness": 0.125,
        "cartridge": 400.0,
        "flow": 150.0,
        "guns": 2,
        "open_time": 40.0,
        "shear_strength": 1200.0,
        "temperature": 75.0,
    }
    return bonding_area(**{**given, **more})


lengths = st.floats(0.5, 200)
widths = st.floats(0.25, 12)
tables = st.lists(st.builds(Run, st.just("run"), lengths, widths), min_size=1, max_size=5).map(tuple)
joints = st.fixed_dictionaries(
    {
        "runs": tables,
        "thickness": st.floats(0.03, 1),
        "waste": st.floats(0, 60),
        "cartridge": st.sampled_from([50.0, 400.0, 490.0, 1500.0]) | st.floats(50, 1500),
        "usable": st.floats(50, 100),
        "flow": st.floats(40, 2000),
        "guns": st.integers(1, 12),
        "change_time": st.floats(0, 3),
        "open_time": st.floats(5, 120),
        "closing_time": st.floats(0, 60),
        "use_of_open_time": st.floats(20, 100),
        "temperature": st.floats(0, 150),
        "rated_temperature": st.floats(0, 150),
        "shear_strength": st.floats(100, 4000),
        "knockdown": st.floats(0, 100),
    }
)


@settings(deadline=None, max_examples=60)
@given(joints)
def test_area_adhesive_bead_and_strength_are_those_of_another_library_of_units(given: dict[str, Any]) -> None:
    found = bonding_area(**given)

    area = sum(UNITS.Quantity(one.length, "ft") * UNITS.Quantity(one.width, "in") for one in given["runs"])
    adhesive = area * UNITS.Quantity(given["thickness"], "in") * (1 + given["waste"] / 100)
    strength = area * UNITS.Quantity(given["shear_strength"], "psi") * (1 - given["knockdown"] / 100)
    bead = math.pi / 4 * found.bead_diameter**2
    assert found.area == pytest.approx(area.to("in^2").magnitude)
    assert found.adhesive == pytest.approx(adhesive.to("L").magnitude)
    assert found.strength == pytest.approx(strength.to("lbf").magnitude, rel=1e-9, abs=1e-9)
    assert bead == pytest.approx(max(one.width for one in given["runs"]) * given["thickness"])


@settings(deadline=None, max_examples=100)
@given(joints)
def test_the_cartridges_cover_the_adhesive_and_one_less_does_not(given: dict[str, Any]) -> None:
    found = bonding_area(**given)
    each = given["cartridge"] * given["usable"] / 100 / 1000

    assert found.cartridges * each >= found.adhesive * (1 - 2e-9)
    assert (found.cartridges - 1) * each < found.adhesive


@settings(deadline=None, max_examples=100)
@given(st.integers(1, 400), st.sampled_from([50, 380, 400, 490, 820, 1500]), st.integers(80, 100))
def test_full_cartridges_are_never_one_more_for_rounding(count: int, cartridge: int, usable: int) -> None:
    wanted = Fraction(count * cartridge * usable, 100)  # mL
    width = wanted * 1000 / (3 * 1000)  # mm, of a run of 1 m, 3 mm thick
    given = texts(
        runs=f"[{{name: run, length: 1000 mm, width: {width.numerator} mm / {width.denominator}}}]",
        thickness="3 mm",
        waste="0 %",
        cartridge=f"{cartridge} mL",
        usable=f"{usable} %",
    )

    assert worked(given).outcome.values["cartridges"].value == count


@settings(deadline=None, max_examples=100)
@given(joints)
def test_one_more_gun_never_lays_slower(given: dict[str, Any]) -> None:
    one, more = (bonding_area(**{**given, "guns": given["guns"] + i}) for i in (0, 1))

    assert more.lay_time <= one.lay_time


@settings(deadline=None, max_examples=100)
@given(joints, st.floats(0, 150))
def test_hotter_never_gives_more_open_time_and_colder_never_more_than_is_rated(
    given: dict[str, Any], other: float
) -> None:
    colder, hotter = sorted((given["temperature"], other))
    cold, hot = (bonding_area(**{**given, "temperature": one}) for one in (colder, hotter))

    assert hot.open_time_now <= cold.open_time_now <= given["open_time"]
    if colder <= given["rated_temperature"]:
        assert cold.open_time_now == given["open_time"]


@pytest.mark.parametrize(("hotter", "share"), [(0, 1), (8, 0.5**0.5), (16, 0.5), (32, 0.25), (-40, 1)])
def test_open_time_halves_for_each_16_degrees(hotter: float, share: float) -> None:
    assert joint(temperature=75.0 + hotter).open_time_now == pytest.approx(40 * share, rel=1e-14)


@settings(deadline=None, max_examples=100)
@given(joints)
def test_the_guns_needed_are_in_time_and_one_less_is_not(given: dict[str, Any]) -> None:
    found = bonding_area(**given)
    time = given["use_of_open_time"] / 100 * found.open_time_now - given["closing_time"]

    def laid(guns: int) -> float:
        return bonding_area(**{**given, "guns": guns}).lay_time

    if isinstance(found.guns_needed, NoAnswer):
        assert time <= 0 or laid(1000) > time
        return
    assert laid(found.guns_needed) <= time + 1e-9
    assert found.guns_needed == 1 or laid(found.guns_needed - 1) > time - 1e-9


@pytest.mark.parametrize(
    ("guns", "minutes"), [(1, 17.5), (2, 7.5 + 1), (3, 5 + 0.5), (4, 3.75 + 0.5), (5, 3 + 0.5), (6, 2.5)]
)
def test_a_gun_changes_all_its_cartridges_but_the_first(guns: int, minutes: float) -> None:
    given = texts(guns=str(guns))

    assert float(worked(given).outcome.values["lay_time"].to(UNIT_MIN)) == pytest.approx(minutes)


def texts(**more: str) -> dict[str, str]:
    """Return a joint of 2400 mL, six full cartridges."""
    return {
        "runs": "[{name: deck edge, length: 20 m, width: 40 mm}]",
        "thickness": "3 mm",
        "waste": "0 %",
        "cartridge": "400 mL",
        "flow": "160 mL/min",
        "guns": "1",
        "open_time": "25 min",
        "shear_strength": "6 MPa",
        **more,
    }


def worked(given: dict[str, str]) -> Worked:
    return work(Calculator.of(bonding_area), given)


UNIT_MIN = Calculator.of(bonding_area).results["lay_time"].unit


def verdicts(**more: str) -> dict[str, str]:
    return {one.name: one.verdict for one in worked(texts(**more)).limits}


def test_the_open_time_limit_flips_where_it_is_used_up() -> None:
    assert verdicts(closing_time="2.5 min")["open_time"] == "within"
    assert verdicts(closing_time="2.501 min")["open_time"] == "outside"


def test_the_guns_needed_agree_with_the_limit_at_the_very_end_of_the_time() -> None:
    for closing, guns in (("150 s", 1), ("150.1 s", 2)):
        assert worked(texts(closing_time=closing)).outcome.values["guns_needed"].value == guns


def test_the_factor_flips_where_it_is_the_least() -> None:
    assert verdicts(load="600 kN")["factor"] == "within"
    assert verdicts(load="600.1 kN")["factor"] == "outside"
    assert verdicts(load="600 kN", min_factor="4.001")["factor"] == "outside"


def test_without_a_load_there_is_no_factor_and_no_limit_on_it() -> None:
    without = worked(texts())

    assert isinstance(without.outcome.values["factor"], NoAnswer)
    assert [one.name for one in without.limits] == ["open_time"]


def test_without_a_temperature_it_is_the_rated_one() -> None:
    for rated in ("60 degF", "90 degF"):
        found = worked(texts(rated_temperature=rated)).outcome

        assert found.values["open_time_now"].value == 25


def test_no_number_of_guns_is_in_time_where_closing_takes_it_all() -> None:
    found = joint(closing_time=32.0).guns_needed

    assert isinstance(found, NoAnswer)
    assert "guns are in time" in found.why


def test_a_run_in_two_parts_is_the_same_joint() -> None:
    whole = joint(runs=(Run("deck edge", 30.0, 1.5),))
    parts = joint(runs=(Run("port", 10.0, 1.5), Run("starboard", 20.0, 1.5)))

    assert whole == parts


@settings(deadline=None, max_examples=20)
@given(st.integers(1, 60), st.integers(5, 200), st.integers(1, 25), st.integers(1, 9), st.integers(0, 40))
def test_units_never_change_the_answer(length: int, width: int, thick: int, guns: int, celsius: int) -> None:
    metric = texts(
        runs=f"[{{name: run, length: {length} m, width: {width} mm}}]",
        thickness=f"{thick} mm",
        guns=str(guns),
        temperature=f"{celsius} degC",
        load="10 kN",
    )
    inches = texts(
        runs=f"[{{name: run, length: {length} ft / 0.3048, width: {width} in / 25.4}}]",
        thickness=f"{thick} in / 25.4",
        guns=str(guns),
        temperature=f"{32 + 1.8 * celsius:.1f} degF",
        load="10000 N",
        flow="9.6 L/hr",
        cartridge="0.4 L",
        open_time="1500 s",
    )

    one, other = (worked(given).outcome.values for given in (metric, inches))

    for name in one:
        if isinstance(one[name], NoAnswer):
            assert isinstance(other[name], NoAnswer), name
        else:
            assert float(one[name].value) == pytest.approx(float(other[name].value), rel=1e-12), name


@pytest.mark.parametrize(
    ("given", "parameter"),
    [
        ({"runs": "[]"}, "runs"),
        ({"runs": "[{name: edge, length: 0 ft, width: 2 in}]"}, "runs"),
        ({"runs": "[{name: edge, length: 3 ft, width: -2 in}]"}, "runs"),
        ({"runs": "[{name: edge, length: 3 ft}]"}, "runs"),
        ({"runs": "[{name: edge, length: 3, width: 2 in}]"}, "length"),
        ({"thickness": "0 in"}, "thickness"),
        ({"waste": "-1 %"}, "waste"),
        ({"cartridge": "0 mL"}, "cartridge"),
        ({"usable": "0 %"}, "usable"),
        ({"usable": "101 %"}, "usable"),
        ({"flow": "0 mL/min"}, "flow"),
        ({"guns": "0"}, "guns"),
        ({"guns": "1.5"}, "guns"),
        ({"open_time": "0 min"}, "open_time"),
        ({"closing_time": "-1 min"}, "closing_time"),
        ({"change_time": "-1 min"}, "change_time"),
        ({"use_of_open_time": "101 %"}, "use_of_open_time"),
        ({"rated_temperature": "151 degF"}, "rated_temperature"),
        ({"knockdown": "101 %"}, "knockdown"),
        ({"shear_strength": "0 psi"}, "shear_strength"),
        ({"load": "0 lbf"}, "load"),
        ({"load": "100 lb"}, "load"),
        ({"min_factor": "0.9"}, "min_factor"),
    ],
)
def test_what_cannot_be_is_refused_by_name(given: dict[str, str], parameter: str) -> None:
    with pytest.raises(BookError) as refused:
        worked(texts(**given))

    (problem,) = refused.value.problems
    assert parameter in problem.what
    assert problem.fix


@pytest.mark.parametrize(
    ("given", "name"), [({"thickness": "30 mm"}, "thickness"), ({"temperature": "151 degF"}, "temperature")]
)
def test_an_unusual_joint_stands_with_a_remark(given: dict[str, str], name: str) -> None:
    (remark,) = worked(texts(**given)).outcome.remarks

    assert remark.name == name
