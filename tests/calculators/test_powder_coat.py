"""Powder by its metric first principles, and what must hold of any part."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import constants

from kb.calculators.declare import Calculator
from kb.calculators.work import Worked, work
from kb.problem import BookError
from kb_calculators.tanks.powder_coat import PowderCoat, powder_coat

PART = {"area": "85 ft^2", "thickness": "3 mil", "specific_gravity": "1.45", "transfer": "60 %"}
TRADE = 5e-4  # the trade's 192.3 is 0.04 % more than water makes it

areas = st.floats(0.01, 1e4)
films = st.floats(0.1, 20)
gravities = st.floats(0.8, 3)
shares = st.floats(1, 100)


def coated(
    area: float = 85, thickness: float = 3, specific_gravity: float = 1.45, transfer: float = 60, **more: Any
) -> PowderCoat:
    return powder_coat(area, thickness, specific_gravity, transfer, **more)


def worked(**more: str) -> Worked:
    return work(Calculator.of(powder_coat), {**PART, **more})


@given(areas, films, gravities, shares, st.integers(1, 5))
def test_the_powder_is_the_film_and_what_blows_past(
    area: float, thickness: float, gravity: float, transfer: float, coats: int
) -> None:
    m2, m = area * constants.foot**2, thickness * constants.mil
    kg = m2 * m * coats * 1000 * gravity / (transfer / 100)
    found = coated(area, thickness, gravity, transfer, coats=coats)

    assert found.powder * constants.lb == pytest.approx(kg, rel=TRADE)
    assert found.coverage * found.powder == pytest.approx(area * coats)


def test_the_trades_figure_is_a_little_more_than_water_makes_it() -> None:
    by_water = constants.lb / (1000 * constants.mil) / constants.foot**2
    trade = coated(thickness=1, specific_gravity=1, transfer=100).coverage

    assert trade == 192.3
    assert 1.0003 < trade / by_water < 1.0005


@given(areas, films, gravities, shares, st.floats(1.01, 10))
def test_powder_grows_with_area_film_and_gravity_alike_and_falls_with_transfer(
    area: float, thickness: float, gravity: float, transfer: float, times: float
) -> None:
    one = coated(area, thickness, gravity, transfer).powder

    assert coated(area * times, thickness, gravity, transfer).powder == pytest.approx(times * one)
    assert coated(area, thickness * times, gravity, transfer).powder == pytest.approx(times * one)
    assert coated(area, thickness, gravity * times, transfer).powder == pytest.approx(times * one)
    assert coated(area, thickness, gravity, transfer / times).powder == pytest.approx(times * one)


def test_units_never_change_the_answer() -> None:
    metric = worked(area=f"{85 * constants.foot**2!r} m^2", thickness="76.2 um").outcome.values["powder"]

    assert float(metric.value) == pytest.approx(coated().powder, rel=1e-9)


@pytest.mark.parametrize("size", [1e-6, 1e6])
def test_the_largest_and_smallest_sizes_give_numbers(size: float) -> None:
    assert coated(area=size, thickness=size).powder == pytest.approx(coated().powder * size * size / 255)


@pytest.mark.parametrize(
    ("name", "value", "possible"),
    [
        ("area", "0 ft^2", "above 0 ft^2"),
        ("thickness", "-1 mil", "above 0 mil"),
        ("specific_gravity", "0", "above 0"),
        ("transfer", "0 %", "above 0 %"),
        ("transfer", "101 %", "at most 100 %"),
        ("coats", "0", "at least 1"),
    ],
)
def test_what_cannot_be_is_refused_by_name(name: str, value: str, possible: str) -> None:
    with pytest.raises(BookError) as refused:
        worked(**{name: value})

    (problem,) = refused.value.problems
    assert name in problem.what
    assert value in problem.what
    assert possible in f"{problem.what}; {problem.fix}"


def test_values_that_no_shop_sees_are_remarked() -> None:
    odd = worked(thickness="20 mil", specific_gravity="2.5", transfer="20 %").outcome.remarks

    assert {remark.name for remark in odd} == {"thickness", "specific_gravity", "transfer"}
    assert worked().outcome.remarks == ()
