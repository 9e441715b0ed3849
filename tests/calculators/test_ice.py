"""Ice against the same box in another library's units, and what must hold for any box."""

from __future__ import annotations

from math import inf, prod
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import constants

from kb import NoAnswer, Refusal
from kb.calculators.declare import Calculator
from kb.calculators.work import Worked, work
from kb.problem import BookError
from kb_calculators.water.ice import IceLife, ice_life

BOX = {
    "inside_length": "30 in",
    "inside_width": "16 in",
    "inside_height": "15 in",
    "insulation": "3 in",
    "outside_temperature": "88 degF",
    "ice_mass": "50 lb",
}

sides = st.floats(6, 60)
foams = st.floats(0.5, 8)
warmths = st.floats(33, 130)
conductivities = st.floats(0.02, 0.04)
films = st.sampled_from([0.0, 6.0, 10.0, 25.0])


def life(
    length: float = 30,
    width: float = 16,
    height: float = 15,
    insulation: float = 3,
    warmth: float = 88,
    ice: float = 5,
    **more: Any,
) -> IceLife:
    return ice_life(length, width, height, insulation, warmth, ice, **more)


def days(found: IceLife) -> float:
    return inf if isinstance(found.days, NoAnswer) else found.days


def worked(**more: str) -> Worked:
    return work(Calculator.of(ice_life), {**BOX, **more})


@given(sides, sides, sides, foams, warmths, conductivities, films, films, st.floats(0, 100))
def test_the_heat_is_that_of_layers_in_si_units(
    length: float,
    width: float,
    height: float,
    insulation: float,
    warmth: float,
    conductivity: float,
    inside: float,
    outside: float,
    openings: float,
) -> None:
    metres = np.array([length, width, height]) * constants.inch
    thick = insulation * constants.inch
    areas = [sum(2 * prod(box) / side for side in box) for box in (metres, metres + 2 * thick)]
    resistance = thick / conductivity + sum(1 / film for film in (inside, outside) if film)
    kelvin = constants.convert_temperature(warmth, "F", "C")
    watts = np.exp(np.mean(np.log(areas))) * kelvin / resistance * (1 + openings / 100)
    kg_a_day = watts * constants.day / 334e3

    found = life(
        length, width, height, insulation, warmth, 1,
        conductivity=conductivity, inside_film=inside, outside_film=outside, openings=openings,
    )  # fmt: skip

    assert found.heat_gain == pytest.approx(watts, rel=1e-9)
    assert found.melt * constants.lb == pytest.approx(kg_a_day, rel=1e-9)
    assert days(found) == pytest.approx(constants.lb / kg_a_day, rel=1e-9)


@given(sides, sides, sides, foams)
def test_the_area_lies_between_inside_and_outside(
    length: float, width: float, height: float, insulation: float
) -> None:
    found = life(length, width, height, insulation, ice=0).area * 144
    inside, outside = (
        sum(2 * prod(box) / side for side in box)
        for box in (
            (length, width, height),
            (length + 2 * insulation, width + 2 * insulation, height + 2 * insulation),
        )
    )

    assert inside < found < outside
    assert found**2 == pytest.approx(inside * outside)


@given(sides, foams, warmths, st.floats(1.01, 3))
def test_the_days_fall_with_heat_and_openings_and_rise_with_ice_and_thicker_foam(
    length: float, insulation: float, warmth: float, times: float
) -> None:
    one = days(life(length, insulation=insulation, warmth=warmth))

    assert days(life(length, insulation=insulation, warmth=32 + times * (warmth - 32))) < one
    assert days(life(length, insulation=insulation, warmth=warmth, openings=20 * times)) < one
    assert days(life(length, insulation=insulation, warmth=warmth, conductivity=0.026 * times)) < one
    assert days(life(length * times, insulation=insulation, warmth=warmth)) < one
    assert days(life(length, insulation=insulation, warmth=warmth, ice=5 * times)) == pytest.approx(
        times * one
    )
    assert days(life(length, insulation=insulation, warmth=warmth, inside_film=10.0)) > one


@given(foams)
def test_thicker_foam_melts_less_although_it_makes_the_box_bigger(insulation: float) -> None:
    assert life(insulation=insulation * 1.1).melt < life(insulation=insulation).melt


@pytest.mark.parametrize("warmth", ["32 degF", "31 degF", "0 degC", "-20 degF"])
def test_ice_in_the_cold_lasts_without_end(warmth: str) -> None:
    found = worked(outside_temperature=warmth).outcome.values

    assert float(found["heat_gain"].value) == float(found["melt"].value) == 0
    assert found["days"] == NoAnswer("no ice melts: it is no warmer outside than 32 degF")


def test_a_box_without_ice_lasts_no_day() -> None:
    assert days(life(ice=0)) == 0


def test_more_ice_than_the_box_holds_is_refused() -> None:
    held = 30 * 16 * 15 / 1728 * 57.3

    assert days(life(ice=held)) > 0
    with pytest.raises(Refusal, match=r"ice_mass is more than the box holds; give at most 238\.8 lb"):
        life(ice=held * 1.0001)


@pytest.mark.parametrize(
    "more",
    [
        {"inside_length": "0 in"},
        {"inside_width": "-1 in"},
        {"inside_height": "0 in"},
        {"insulation": "0 in"},
        {"conductivity": "0 W/m/K"},
        {"outside_temperature": "300 degF"},
        {"inside_film": "-1 W/m^2/K"},
        {"outside_film": "-1 W/m^2/K"},
        {"ice_mass": "-1 lb"},
        {"ice_mass": "1000 lb"},
        {"openings": "-1 %"},
        {"latent_heat": "0 kJ/kg"},
    ],
)
def test_what_cannot_be_is_refused_by_name(more: dict[str, str]) -> None:
    with pytest.raises(BookError) as refused:
        worked(**more)

    (problem,) = refused.value.problems
    assert next(iter(more)) in problem.what
    assert problem.fix


@pytest.mark.parametrize(
    ("more", "named"),
    [
        ({}, []),
        ({"conductivity": "0.25 W/m/K"}, ["conductivity"]),
        ({"openings": "0 %"}, ["openings"]),
        ({"latent_heat": "80 kJ/kg"}, ["latent_heat"]),
    ],
)
def test_what_is_unusual_is_remarked(more: dict[str, str], named: list[str]) -> None:
    assert [remark.name for remark in worked(**more).outcome.remarks] == named


def test_units_never_change_the_answer() -> None:
    metric = {
        "inside_length": "762 mm",
        "inside_width": "406.4 mm",
        "inside_height": "381 mm",
        "insulation": "76.2 mm",
        "outside_temperature": "31.1111111111111 degC",
        "ice_mass": "22.6796185 kg",
    }
    one, other = worked().outcome.values, work(Calculator.of(ice_life), metric).outcome.values

    for name, value in one.items():
        assert float(other[name].value) == pytest.approx(float(value.value), rel=1e-9), name
