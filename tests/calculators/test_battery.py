"""How long a battery lasts: by numpy, by stepping through time, and what must hold of any loads."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb import NoAnswer
from kb.calculators.declare import Calculator
from kb.calculators.work import work
from kb.problem import BookError
from kb_calculators.electrical.battery import BatteryLife, Load, battery_life

currents = st.floats(0.01, 200)
duties = st.floats(1, 100)
loads = st.lists(st.builds(Load, st.just("load"), currents, duties), min_size=1, max_size=5).map(tuple)
capacities = st.floats(1, 2000)
shares = st.floats(1, 100)


def hours_of(found: BatteryLife) -> float:
    assert isinstance(found.hours, float)
    return found.hours


@given(capacities, loads, shares)
def test_hours_are_usable_charge_over_the_mean_current_by_numpy(
    capacity: float, some: tuple[Load, ...], usable: float
) -> None:
    mean = np.dot([load.current for load in some], [load.duty / 100 for load in some])

    found = battery_life(capacity, some, usable)

    assert found.mean_current == pytest.approx(mean, rel=1e-12)
    assert found.hours == pytest.approx(capacity * usable / 100 / mean, rel=1e-12)
    assert found.flat_in == pytest.approx(capacity / mean, rel=1e-12)


@pytest.mark.parametrize(("current", "minutes", "capacity"), [(5.0, 3, 80), (12.0, 10, 100), (3.5, 60, 70)])
def test_stepping_through_each_minute_comes_to_the_same_hours(
    current: float, minutes: int, capacity: float
) -> None:
    left, minute = capacity / 2, 0
    while left > 1e-9:
        left -= current / 60 if minute % 60 < minutes else 0.0
        minute += 1

    found = battery_life(capacity, (Load("pump", current, 100 * minutes / 60),))

    assert hours_of(found) == pytest.approx(minute / 60, abs=1)


@given(capacities, loads, currents, duties)
def test_one_more_load_never_makes_it_last_longer(
    capacity: float, some: tuple[Load, ...], current: float, duty: float
) -> None:
    more = battery_life(capacity, (*some, Load("more", current, duty)))

    assert hours_of(more) < hours_of(battery_life(capacity, some))


@given(capacities, loads, st.floats(1, 10))
def test_a_battery_so_many_times_as_large_lasts_so_many_times_as_long(
    capacity: float, some: tuple[Load, ...], times: float
) -> None:
    larger = battery_life(capacity * times, some)

    assert hours_of(larger) == pytest.approx(times * hours_of(battery_life(capacity, some)))


@given(capacities, loads)
def test_half_of_it_lasts_half_as_long_as_all(capacity: float, some: tuple[Load, ...]) -> None:
    found = battery_life(capacity, some)

    assert found.flat_in == pytest.approx(2 * hours_of(found))


def test_a_row_without_a_duty_runs_all_the_time() -> None:
    assert battery_life(100, (Load("radio", 2),)) == battery_life(100, (Load("radio", 2, 100),))


@pytest.mark.parametrize("nothing", [Load("off", 0, 100), Load("off", 5, 0), Load("off", 1e-12, 1e-6)])
def test_without_a_load_there_are_no_hours(nothing: Load) -> None:
    found = battery_life(100, (nothing,))

    assert isinstance(found.hours, NoAnswer)
    assert found.hours.why == "the loads draw nothing"
    assert found.flat_in == found.hours


@pytest.mark.parametrize("current", [1e-6, 1e6])
def test_very_small_and_very_large_currents_have_their_hours(current: float) -> None:
    assert hours_of(battery_life(100, (Load("load", current),))) == pytest.approx(50 / current)


@pytest.mark.parametrize(("current", "remarks"), [("4.99 A", []), ("5.01 A", ["flat_in"])])
def test_drawing_faster_than_the_rated_20_hr_is_remarked(current: str, remarks: list[str]) -> None:
    found = work(Calculator.of(battery_life), {"capacity": "100 Ah", "loads": f"[[fridge, {current}]]"})

    assert [remark.name for remark in found.outcome.remarks] == remarks


@pytest.mark.parametrize(
    ("texts", "said"),
    [
        ({"capacity": "0 Ah"}, "capacity = 0 Ah"),
        ({"capacity": "100 A"}, "capacity takes a charge"),
        ({"usable": "0 %"}, "usable = 0 %"),
        ({"usable": "101 %"}, "usable = 101 %"),
        ({"loads": "[[pump, -1 A]]"}, "loads: current = -1 A cannot be"),
        ({"loads": "[[pump, 1 A, 101 %]]"}, "loads: duty = 101 % cannot be"),
    ],
)
def test_what_cannot_be_is_refused_by_name(texts: dict[str, str], said: str) -> None:
    with pytest.raises(BookError) as refused:
        work(Calculator.of(battery_life), {"capacity": "100 Ah", "loads": "[[pump, 1 A]]", **texts})

    (problem,) = refused.value.problems
    assert said in problem.what
    assert problem.fix
