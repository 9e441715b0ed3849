"""What lifts a tank and what holds it, against SI constants, and what must hold of any tank."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy import constants

from kb import NoAnswer
from kb.calculators.declare import Calculator
from kb.calculators.work import Worked, work
from kb.problem import BookError
from kb_calculators.tanks.hold_down import TankHoldDown, tank_hold_down

TANK = {
    "outside_volume": "8.6 ft^3",
    "foam_volume": "3 ft^3",
    "tank_mass": "62 lb",
    "foam_mass": "6.9 lb",
    "bond_area": "538.8 in^2",
    "bond_strength": "5 psi",
}
PSI_PA = constants.psi
LBF_N = constants.lbf

volumes = st.floats(1, 300)
foams = st.floats(0, 40)
masses = st.floats(0, 200)
areas = st.floats(0, 2000)
strengths = st.floats(0.1, 100)
forces = st.floats(0, 5000)


def held(**more: Any) -> TankHoldDown:
    plain: dict[str, Any] = {
        "outside_volume": 64.3,
        "foam_volume": 3.0,
        "tank_mass": 62.0,
        "foam_mass": 6.9,
        "bond_area": 3.5,
        "bond_strength": 5.0,
    }
    return tank_hold_down(**{**plain, **more})


def factor_of(found: TankHoldDown) -> float:
    assert isinstance(found.factor, float)
    return found.factor


def worked(**more: str) -> Worked:
    return work(Calculator.of(tank_hold_down), {**TANK, **more})


def verdicts(found: Worked) -> dict[str, str]:
    return {judged.name: judged.verdict for judged in found.limits}


@given(volumes, foams, masses, masses, st.floats(62, 64.5), areas, strengths, forces)
def test_uplift_and_holding_are_those_of_si_units(
    tank: float,
    foam: float,
    tank_mass: float,
    foam_mass: float,
    density: float,
    area: float,
    strength: float,
    other: float,
) -> None:
    found = held(
        outside_volume=tank,
        foam_volume=foam,
        tank_mass=tank_mass,
        foam_mass=foam_mass,
        water_density=density,
        bond_area=area,
        bond_strength=strength,
        other_holding=other,
    )
    m3 = tank * constants.gallon + foam * constants.foot**3
    lift = density * constants.lb / constants.foot**3 * m3 * constants.g
    weight = (tank_mass + foam_mass) * constants.lb * constants.g
    hold = strength * PSI_PA * area * constants.foot**2 + other * LBF_N

    assert found.buoyancy * LBF_N == pytest.approx(lift, rel=1e-9)
    assert found.uplift * LBF_N == pytest.approx(lift - weight, rel=1e-9, abs=1e-9 * lift)
    assert found.holding * LBF_N == pytest.approx(hold, rel=1e-9)
    if lift - weight > 1e-6 * lift:
        assert factor_of(found) == pytest.approx(hold / (lift - weight), rel=1e-6)


@given(volumes, masses, st.floats(0.001, 50))
def test_a_heavier_tank_lifts_less_and_a_larger_one_more(volume: float, mass: float, more: float) -> None:
    one = held(outside_volume=volume, tank_mass=mass)

    assert held(outside_volume=volume, tank_mass=mass + more).uplift < one.uplift
    assert held(outside_volume=volume + more, tank_mass=mass).uplift > one.uplift


@given(st.floats(0.01, 100))
def test_everything_times_over_leaves_the_factor(times: float) -> None:
    scaled = held(
        outside_volume=64.3 * times,
        foam_volume=3 * times,
        tank_mass=62 * times,
        foam_mass=6.9 * times,
        bond_area=3.5 * times,
    )

    assert factor_of(scaled) == pytest.approx(factor_of(held()))


@given(volumes, st.floats(0, 8), strengths, forces, st.floats(1, 10))
def test_the_needed_bond_area_brings_the_factor_to_its_least(
    volume: float, mass: float, strength: float, other: float, least: float
) -> None:
    plain: dict[str, Any] = {
        "outside_volume": volume,
        "tank_mass": mass,
        "foam_mass": 0.0,
        "bond_strength": strength,
        "other_holding": other,
        "min_factor": least,
    }
    needed = held(**plain).needed_bond_area
    assert isinstance(needed, float)
    found = factor_of(held(**plain, bond_area=needed))

    if needed > 0:
        assert found == pytest.approx(least)
    else:
        assert found >= least * (1 - 1e-9)


@given(volumes, st.floats(0, 1000))
def test_there_is_a_factor_exactly_where_something_lifts(volume: float, mass: float) -> None:
    found = held(outside_volume=volume, tank_mass=mass)
    assume(abs(found.uplift) > 1e-9 * found.buoyancy)

    assert isinstance(found.factor, NoAnswer) == (found.uplift < 0)


def test_a_tank_that_just_floats_has_no_factor_and_is_within() -> None:
    floating = worked(tank_mass="11.6 * 64 lb - 6.9 lb", bond_area="0 in^2")
    factor = floating.outcome.values["factor"]

    assert isinstance(factor, NoAnswer)
    assert "weigh as much as the water" in factor.why
    assert verdicts(floating) == {"factor": "within"}
    assert verdicts(worked(tank_mass="11.6 * 64 lb - 7 lb", bond_area="0 in^2")) == {"factor": "outside"}


@pytest.mark.parametrize(
    ("more", "verdict"),
    [
        ({}, "within"),
        ({"bond_area": "538.79 in^2"}, "outside"),
        ({"bond_area": "538.79 in^2", "other_holding": "0.05 lbf"}, "within"),
        ({"min_factor": "4.001"}, "outside"),
        ({"water_density": "62.4 lb/ft^3", "bond_area": "530 in^2"}, "within"),
        ({"water_density": "64.2 lb/ft^3"}, "outside"),
        ({"foam_mass": "6.8 lb"}, "outside"),
    ],
)
def test_the_factor_is_judged_at_its_bound(more: dict[str, str], verdict: str) -> None:
    assert verdicts(worked(**more)) == {"factor": verdict}


def test_a_bond_without_strength_needs_no_area_that_could_be_told() -> None:
    found = held(bond_strength=0.0, other_holding=700.0)

    assert isinstance(found.needed_bond_area, NoAnswer)
    assert found.holding == 700.0


@pytest.mark.parametrize("size", [1e-6, 1e6])
def test_the_largest_and_smallest_sizes_give_numbers(size: float) -> None:
    found = held(outside_volume=size, foam_volume=0, tank_mass=0, foam_mass=0, bond_strength=1 / size)

    assert factor_of(found) * found.uplift == pytest.approx(found.holding)


@pytest.mark.parametrize(
    ("name", "value", "possible"),
    [
        ("outside_volume", "0 gal", "above 0 gal"),
        ("outside_volume", "-1 gal", "above 0 gal"),
        ("foam_volume", "-1 ft^3", "at least 0 ft^3"),
        ("tank_mass", "-1 lb", "at least 0 lb"),
        ("foam_mass", "-1 lb", "at least 0 lb"),
        ("water_density", "0 lb/ft^3", "above 0 lb/ft^3"),
        ("bond_area", "-1 ft^2", "at least 0 ft^2"),
        ("bond_strength", "-1 psi", "at least 0 psi"),
        ("other_holding", "-1 lbf", "at least 0 lbf"),
        ("min_factor", "0", "above 0"),
    ],
)
def test_what_cannot_be_is_refused_by_name(name: str, value: str, possible: str) -> None:
    with pytest.raises(BookError) as refused:
        worked(**{name: value})

    (problem,) = refused.value.problems
    assert name in problem.what
    assert value in problem.what
    assert possible in f"{problem.what}; {problem.fix}"


def test_a_bond_stronger_than_foam_and_water_that_is_none_are_remarked() -> None:
    odd = worked(bond_strength="50 psi", water_density="55 lb/ft^3", min_factor="1").outcome.remarks

    assert {remark.name for remark in odd} == {"bond_strength", "water_density", "min_factor"}
    assert worked().outcome.remarks == ()
