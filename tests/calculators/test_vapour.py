"""The vapour of a tank against the law's figures in exact fractions, on either side of its bounds."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.calculators.declare import Calculator
from kb.calculators.work import Worked, work
from kb.problem import BookError
from kb_calculators.tanks.vapour import VapourLoad, vapour_load

BOAT = {"capacity": "80 gal", "hull_length": "24 ft", "hull_beam": "8.5 ft"}
LAW = {True: (Fraction(16, 100), Fraction(16, 1000)), False: (Fraction(40, 100), Fraction(40, 1000))}

capacities = st.integers(1, 2000)
inches_long = st.integers(10 * 12, 40 * 12)
inches_wide = st.integers(4 * 12, 14 * 12)


def load(capacity: float = 80, length: float = 24, beam: float = 8, **more: Any) -> VapourLoad:
    return vapour_load(capacity=capacity, hull_length=length, hull_beam=beam, **more)


def worked(**more: str) -> Worked:
    return work(Calculator.of(vapour_load), {**BOAT, **more})


@given(capacities, inches_long, inches_wide)
def test_the_law_is_followed_in_exact_fractions(capacity: int, length: int, beam: int) -> None:
    found = load(capacity, length / 12, beam / 12)
    berthed = length >= 26 * 12 or Fraction(beam, 12) > Fraction(17, 2)
    rate, carbon = LAW[berthed]

    assert found.berthed == berthed
    assert found.allowed_rate == pytest.approx(float(rate))
    assert found.allowed_mass == pytest.approx(float(rate * capacity))
    assert found.carbon_volume == pytest.approx(float(carbon * capacity))


@pytest.mark.parametrize(
    ("length", "beam", "berthed"),
    [
        ("26 ft", "8 ft", True),
        ("7.9248 m", "8 ft", True),
        ("25 ft 11 15/16 in", "8 ft", False),
        ("7.9247 m", "8 ft", False),
        ("24 ft", "8 ft 6 in", False),
        ("24 ft", "2.5908 m", False),
        ("24 ft", "8 ft 6 1/16 in", True),
        ("24 ft", "2.5909 m", True),
    ],
)
def test_length_counts_at_its_bound_and_width_beyond_it(length: str, beam: str, berthed: bool) -> None:
    assert worked(hull_length=length, hull_beam=beam).outcome.values["berthed"] is berthed


@pytest.mark.parametrize("length", [24.0, 30.0])
@given(st.floats(0.1, 500), st.floats(1.001, 20))
def test_twice_the_tank_breathes_twice_as_much(length: float, capacity: float, times: float) -> None:
    one, other = load(capacity, length), load(capacity * times, length)

    assert other.allowed_rate == one.allowed_rate
    assert other.allowed_mass == pytest.approx(times * one.allowed_mass)
    assert other.carbon_volume == pytest.approx(times * one.carbon_volume)


def test_a_yard_sets_its_own_figures_for_each_class() -> None:
    own: dict[str, Any] = {
        "trailer_length": 20,
        "trailered_rate": 0.3,
        "berthed_rate": 0.1,
        "trailered_carbon": 0.05,
        "berthed_carbon": 0.02,
    }
    berthed, trailered = load(10, 20, **own), load(10, 19.9, **own)

    assert (berthed.allowed_mass, berthed.carbon_volume) == pytest.approx((1.0, 0.2))
    assert (trailered.allowed_mass, trailered.carbon_volume) == pytest.approx((3.0, 0.5))
    assert load(10, 19.9, 8, trailer_beam=7.9).berthed


@pytest.mark.parametrize("capacity", [1e-6, 1e6])
def test_the_largest_and_smallest_tanks_give_numbers(capacity: float) -> None:
    assert load(capacity).allowed_mass == pytest.approx(0.4 * capacity)


@pytest.mark.parametrize(
    ("name", "value", "possible"),
    [
        ("capacity", "0 gal", "above 0 gal"),
        ("hull_length", "-1 ft", "above 0 ft"),
        ("hull_beam", "0 ft", "above 0 ft"),
        ("trailer_length", "0 ft", "above 0 ft"),
        ("trailer_beam", "0 ft", "above 0 ft"),
        ("trailered_rate", "-1 g/gal/day", "at least 0 g/gal/day"),
        ("berthed_rate", "-1 g/gal/day", "at least 0 g/gal/day"),
        ("trailered_carbon", "-1 L/gal", "at least 0 L/gal"),
        ("berthed_carbon", "-1 L/gal", "at least 0 L/gal"),
    ],
)
def test_what_cannot_be_is_refused_by_name(name: str, value: str, possible: str) -> None:
    with pytest.raises(BookError) as refused:
        worked(**{name: value})

    (problem,) = refused.value.problems
    assert name in problem.what
    assert value in problem.what
    assert possible in f"{problem.what}; {problem.fix}"
