"""Foam round a tank against exact fractions, and what must hold for any pour at all."""

from __future__ import annotations

from fractions import Fraction
from math import ceil
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import constants

from kb.calculators.declare import Calculator
from kb.calculators.work import Worked, work
from kb.problem import BookError
from kb_calculators.tanks.foam import FoamInPlace, foam_in_place

POUR = {
    "cavity_volume": "11.6 ft^3",
    "tank_volume": "8.6 ft^3",
    "density": "2 lb/ft^3",
    "gravity_a": "1.24",
    "gravity_b": "1.15",
    "pour_area": "3 ft^2",
    "rise": "16 in",
    "max_lift": "6 in",
    "max_batch": "2.5 lb",
}

positive = st.floats(0.05, 50)
shares = st.floats(0, 100)
gravities = st.floats(0.8, 1.4)
parts = st.floats(0.1, 100)
ways = st.sampled_from(["volume", "mass"])


def poured(**more: Any) -> FoamInPlace:
    plain: dict[str, Any] = {
        "cavity_volume": 11.6,
        "tank_volume": 8.6,
        "density": 2.0,
        "gravity_a": 1.24,
        "gravity_b": 1.15,
        "pour_area": 3.0,
        "rise": 16.0,
        "max_lift": 6.0,
        "max_batch": 2.5,
    }
    return foam_in_place(**{**plain, **more})


def worked(**more: str) -> Worked:
    return work(Calculator.of(foam_in_place), {**POUR, **more})


def value(found: Worked, name: str) -> float:
    return float(found.outcome.values[name].value)


@given(positive, positive, positive, shares, shares)
def test_the_mass_is_volume_by_density_with_packing_and_waste_on_top(
    tank: float, foam: float, density: float, overpack: float, waste: float
) -> None:
    found = poured(
        cavity_volume=tank + foam, tank_volume=tank, density=density, overpack=overpack, waste=waste
    )
    kg = foam * constants.foot**3 * density * constants.lb / constants.foot**3

    assert found.foam_volume == pytest.approx(foam, rel=1e-9)
    assert found.foam_mass * constants.lb == pytest.approx(
        kg * (1 + overpack / 100) * (1 + waste / 100), rel=1e-9
    )


@given(gravities, gravities, parts, parts, ways)
def test_the_parts_add_up_and_stand_in_the_ratio_that_is_told(
    gravity_a: float, gravity_b: float, part_a: float, part_b: float, by: str
) -> None:
    found = poured(gravity_a=gravity_a, gravity_b=gravity_b, part_a=part_a, part_b=part_b, parts_by=by)
    told = (found.mass_a, found.mass_b) if by == "mass" else (found.volume_a, found.volume_b)

    assert found.mass_a + found.mass_b == pytest.approx(found.foam_mass)
    assert told[0] * part_b == pytest.approx(told[1] * part_a)
    for mass, volume, gravity in (
        (found.mass_a, found.volume_a, gravity_a),
        (found.mass_b, found.volume_b, gravity_b),
    ):
        kg_per_m3 = mass * constants.lb / (volume * constants.gallon)
        assert kg_per_m3 == pytest.approx(1000 * gravity)


@given(gravities, parts, parts)
def test_of_two_parts_of_one_gravity_it_does_not_matter_how_they_are_told(
    gravity: float, part_a: float, part_b: float
) -> None:
    same: dict[str, Any] = {
        "gravity_a": gravity,
        "gravity_b": gravity,
        "part_a": part_a,
        "part_b": part_b,
    }

    assert poured(**same, parts_by="mass").mass_a == pytest.approx(poured(**same, parts_by="volume").mass_a)


@given(st.integers(1, 400), st.integers(1, 100))
def test_the_lifts_are_counted_as_in_exact_fractions(rise: int, lift: int) -> None:
    expected = ceil(Fraction(rise, lift))

    assert poured(rise=rise / 10, max_lift=lift / 10).lifts == expected


@pytest.mark.parametrize(
    ("rise", "max_lift", "lifts"),
    [
        ("18 in", "6 in", 3),
        ("45.72 cm", "6 in", 3),
        ("0.3 ft", "0.1 ft", 3),
        ("0.9 m", "0.3 m", 3),
        ("18.001 in", "6 in", 4),
        ("17.999 in", "6 in", 3),
        ("16 in", "6 in", 3),
        ("1 in", "6 in", 1),
        ("2.1 in", "0.7 in", 3),
    ],
)
def test_a_rise_of_exactly_three_lifts_is_three(rise: str, max_lift: str, lifts: int) -> None:
    assert value(worked(rise=rise, max_lift=max_lift), "lifts") == lifts


@given(positive, positive, st.floats(1, 40), st.floats(1, 12), st.floats(0.2, 20))
def test_batches_hold_all_the_foam_and_none_is_too_large(
    area: float, foam: float, rise: float, lift: float, batch: float
) -> None:
    found = poured(
        cavity_volume=5 + foam, tank_volume=5, pour_area=area, rise=rise, max_lift=lift, max_batch=batch
    )
    each = found.batch_a + found.batch_b

    assert found.batches % found.lifts == 0
    assert found.batches >= found.lifts
    assert each <= batch * (1 + 1e-8)
    assert found.batches * each >= found.foam_mass * (1 - 1e-8)
    assert found.mass_per_lift <= found.foam_mass * (1 + 1e-12)
    assert found.batch_a * found.mass_b == pytest.approx(found.batch_b * found.mass_a)


@given(st.integers(1, 12), st.floats(1, 12), st.floats(0.5, 20))
def test_a_straight_sided_cavity_is_poured_in_equal_lifts(lifts: int, lift: float, area: float) -> None:
    found = poured(
        cavity_volume=10 + area * lifts * lift / 12,
        tank_volume=10,
        pour_area=area,
        rise=lifts * lift,
        max_lift=lift,
    )

    assert found.lifts == lifts
    assert found.mass_per_lift == pytest.approx(found.foam_mass / lifts)
    assert found.filled == pytest.approx(100)


def test_a_lift_that_is_just_one_batch_takes_one() -> None:
    lift = "3 ft^2 * 6 in * 2 lb/ft^3 * 1.1 * 1.05"

    assert value(worked(max_batch=lift), "batches") == 3
    assert value(worked(max_batch=f"{lift} * 0.999"), "batches") == 6
    assert value(worked(max_batch=f"{lift} / 2"), "batches") == 6


def test_more_foam_than_the_area_has_room_for_is_remarked_and_not_undercounted() -> None:
    tight = worked(pour_area="1 ft^2", max_batch="100 lb")

    assert [remark.name for remark in tight.outcome.remarks] == ["filled"]
    assert value(tight, "mass_per_lift") == pytest.approx(value(tight, "foam_mass") / 3)
    assert worked().outcome.remarks == ()


@settings(max_examples=30)
@given(st.floats(1.01, 10))
def test_twice_the_cavity_and_tank_take_twice_the_foam(times: float) -> None:
    one, other = poured(), poured(cavity_volume=11.6 * times, tank_volume=8.6 * times)

    assert other.foam_mass == pytest.approx(times * one.foam_mass)
    assert other.mass_a == pytest.approx(times * one.mass_a)


@pytest.mark.parametrize(
    ("more", "verdict"),
    [
        ({}, "within"),
        ({"density": "1.999 lb/ft^3"}, "outside"),
        ({"density": "32.0369266 kg/m^3"}, "outside"),
        ({"density": "32.0369268 kg/m^3"}, "within"),
        ({"min_density": "2.001 lb/ft^3"}, "outside"),
        ({"density": "3 lb/ft^3", "min_density": "3 lb/ft^3"}, "within"),
    ],
)
def test_the_density_is_judged_at_its_bound(more: dict[str, str], verdict: str) -> None:
    assert [(judged.name, judged.verdict) for judged in worked(**more).limits] == [("density", verdict)]


@settings(deadline=None, max_examples=20)
@given(st.integers(50, 400), st.integers(1, 40), st.integers(10, 90), st.integers(5, 25))
def test_units_never_change_the_answer(litres: int, foam: int, rise_cm: int, lift_cm: int) -> None:
    metric = {
        "cavity_volume": f"{litres + foam} L",
        "tank_volume": f"{litres} L",
        "density": "40 kg/m^3",
        "pour_area": "0.4 m^2",
        "rise": f"{rise_cm} cm",
        "max_lift": f"{lift_cm} cm",
        "max_batch": "1 kg",
    }
    shop = {
        "cavity_volume": f"{litres + foam} ft^3 / {1000 * constants.foot**3!r}",
        "tank_volume": f"{litres} ft^3 / {1000 * constants.foot**3!r}",
        "density": f"40 lb/ft^3 * {constants.foot**3!r} / {constants.lb!r}",
        "pour_area": f"0.4 ft^2 / {constants.foot**2!r}",
        "rise": f"{rise_cm} in / 2.54",
        "max_lift": f"{lift_cm} in / 2.54",
        "max_batch": f"1 lb / {constants.lb!r}",
    }
    one, other = worked(**metric), worked(**shop)

    for name, found in one.outcome.values.items():
        assert float(found.value) == pytest.approx(value(other, name), rel=1e-9), name


@pytest.mark.parametrize(
    "more",
    [
        {"tank_volume": "11.6 ft^3"},
        {"tank_volume": "12 ft^3"},
        {"tank_volume": "-1 ft^3"},
        {"cavity_volume": "0 ft^3"},
        {"density": "0 lb/ft^3"},
        {"overpack": "-1 %"},
        {"overpack": "101 %"},
        {"waste": "-1 %"},
        {"part_a": "0"},
        {"part_b": "-1"},
        {"gravity_a": "0"},
        {"gravity_b": "0"},
        {"pour_area": "0 ft^2"},
        {"rise": "0 in"},
        {"max_lift": "0 in"},
        {"max_batch": "0 lb"},
        {"min_density": "-1 lb/ft^3"},
    ],
)
def test_what_cannot_be_is_refused_by_name(more: dict[str, str]) -> None:
    with pytest.raises(BookError) as refused:
        worked(**more)

    (problem,) = refused.value.problems
    assert next(iter(more)) in problem.what
    assert problem.fix


def test_swapped_parts_are_remarked() -> None:
    swapped = worked(gravity_a="1.08", gravity_b="1.24").outcome.remarks

    assert [remark.name for remark in swapped] == ["gravity_a", "gravity_b"]
