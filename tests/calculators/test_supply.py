"""Supply for a crew against another library's units, and what must hold for any crew."""

from __future__ import annotations

from typing import Any

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.calculators.declare import Calculator
from kb.calculators.work import Worked, work
from kb.problem import BookError
from kb_calculators.water.supply import water_supply

CREW = {"people": "4", "days": "3 day", "per_person": "2 gal/day", "capacity": "30 gal"}

crews = st.integers(1, 12)
days = st.floats(0.1, 60)
shares = st.floats(0.1, 8)
tanks = st.floats(1, 400)


def worked(**more: str) -> Worked:
    return work(Calculator.of(water_supply), {**CREW, **more})


@given(crews, days, shares, tanks, st.floats(1, 100))
def test_the_tank_needed_lasts_exactly_the_days(
    people: int, days: float, share: float, capacity: float, usable: float
) -> None:
    needed = water_supply(people, days, share, capacity, usable).needed_capacity

    assert water_supply(people, days, share, needed, usable).lasts == pytest.approx(days)


@given(crews, days, shares, tanks)
def test_a_bigger_crew_needs_more_and_the_tank_lasts_less(
    people: int, days: float, share: float, capacity: float
) -> None:
    one = water_supply(people, days, share, capacity)
    other = water_supply(people + 1, days, share, capacity)

    assert other.needed * people == pytest.approx(one.needed * (people + 1))
    assert other.lasts * (people + 1) == pytest.approx(one.lasts * people)


@given(crews, days, shares, tanks)
def test_the_length_of_the_trip_does_not_change_how_long_a_tank_lasts(
    people: int, days: float, share: float, capacity: float
) -> None:
    one = water_supply(people, days, share, capacity)
    other = water_supply(people, 2 * days, share, capacity)

    assert other.lasts == one.lasts
    assert other.needed == pytest.approx(2 * one.needed)


def test_litres_by_another_library() -> None:
    units: Any = pint.UnitRegistry()
    found = worked(days="1 week", per_person="11 L/day", capacity="400 L", usable="85 %").outcome.values

    assert float(found["needed"].value) == pytest.approx(units.Quantity(308, "liter").to("gallon").magnitude)
    assert float(found["lasts"].value) == pytest.approx(0.85 * 400 / 44)


@pytest.mark.parametrize(
    ("more", "verdict"),
    [
        ({"capacity": "26.6667 gal"}, "within"),
        ({"capacity": "26.6666 gal"}, "outside"),
        ({"usable": "80 %"}, "within"),
        ({"usable": "79.999 %"}, "outside"),
    ],
)
def test_the_capacity_flips_at_what_is_needed(more: dict[str, str], verdict: str) -> None:
    assert [(judged.name, judged.verdict) for judged in worked(**more).limits] == [("capacity", verdict)]


@pytest.mark.parametrize(
    ("more", "possible"),
    [
        ({"people": "0"}, "at least 1"),
        ({"people": "2.5"}, "whole"),
        ({"days": "0 day"}, "above 0 day"),
        ({"per_person": "-1 gal/day"}, "above 0 gal/day"),
        ({"capacity": "0 gal"}, "above 0 gal"),
        ({"usable": "0 %"}, "above 0 % and at most 100 %"),
        ({"usable": "101 %"}, "above 0 % and at most 100 %"),
    ],
)
def test_what_cannot_be_is_refused_by_name(more: dict[str, str], possible: str) -> None:
    with pytest.raises(BookError) as refused:
        worked(**more)

    (problem,) = refused.value.problems
    assert next(iter(more)) in problem.what
    assert possible in f"{problem.what}; {problem.fix}"


def test_a_tank_used_to_the_last_drop_is_remarked() -> None:
    assert [remark.name for remark in worked(usable="100 %").outcome.remarks] == ["usable"]
    assert worked().outcome.remarks == ()
