"""Air through a compartment, against quadrature and the law's table, on either side of every bound."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad

from kb.calculators.declare import Calculator
from kb.calculators.work import Worked, work
from kb.problem import BookError
from kb_calculators.tanks.compartment_air import CompartmentAir, compartment_air

ROOM = {"net_volume": "60 ft^3", "supply_area": "14 in^2", "exhaust_area": "14 in^2", "engine": "yes"}
AREA = 12.42453324894  # in^2, of 60 ft^3 by quadrature

volumes = st.floats(5.001, 2000)


def air(net_volume: float = 60, supply: float = 14, exhaust: float = 14, **more: Any) -> CompartmentAir:
    return compartment_air(net_volume, supply, exhaust, **{"engine": True, **more})


def worked(**more: str) -> Worked:
    return work(Calculator.of(compartment_air), {**ROOM, **more})


def verdicts(**more: str) -> dict[str, str]:
    return {judged.name: judged.verdict for judged in worked(**more).limits}


def inverse(volume: float) -> float:
    return 5 / volume


@given(volumes)
def test_the_area_is_the_integral_of_5_over_the_volume(volume: float) -> None:
    area, _ = quad(inverse, 5, volume, epsabs=1e-11, limit=200)

    assert air(volume).needed_area == pytest.approx(area, rel=1e-7, abs=1e-9)


@given(st.floats(1e-6, 5))
def test_up_to_5_cubic_feet_the_formula_asks_for_nothing(volume: float) -> None:
    assert air(volume).needed_area == 0


@given(volumes, st.floats(1.001, 4))
def test_so_many_times_the_volume_adds_the_same_area_whatever_it_was(volume: float, times: float) -> None:
    added = air(volume * times).needed_area - air(volume).needed_area

    assert added == pytest.approx(5 * math.log(times))


@given(st.floats(0.01, 5000))
def test_the_blower_is_that_of_the_laws_table(volume: float) -> None:
    below, between = volume < 34, 34 <= volume <= 100
    rated = np.select([below, between], [50.0, 1.5 * volume], volume / 2 + 100)
    output = np.select([below, between], [20.0, 0.6 * volume], 0.2 * volume + 40)

    assert air(volume).needed_rated == pytest.approx(float(rated))
    assert air(volume).needed_output == pytest.approx(float(output))


@given(st.floats(0.01, 5000), st.floats(0.001, 500))
def test_a_larger_compartment_never_needs_less(volume: float, more: float) -> None:
    one, other = air(volume), air(volume + more)

    assert other.needed_area >= one.needed_area
    assert other.needed_rated >= one.needed_rated
    assert other.needed_output >= one.needed_output
    assert other.open_area > one.open_area


@given(st.floats(0.01, 5000))
def test_no_system_may_lose_more_than_six_tenths_of_its_rating(volume: float) -> None:
    assert air(volume).needed_output == pytest.approx(0.4 * air(volume).needed_rated)


@pytest.mark.parametrize("volume", ["34 ft^3", "0.962772784128 m^3", "1632 in * 36 in^2"])
def test_at_34_cubic_feet_the_larger_formula_holds(volume: str) -> None:
    values = worked(net_volume=volume).outcome.values

    assert float(values["needed_rated"].value) >= 51 * (1 - 1e-7)


@pytest.mark.parametrize(
    ("more", "verdict"),
    [
        ({}, "within"),
        ({"supply_area": f"{AREA + 1e-6} in^2"}, "within"),
        ({"supply_area": f"{AREA - 1e-6} in^2"}, "outside"),
        ({"exhaust_area": f"{AREA + 1e-6} in^2"}, "within"),
        ({"exhaust_area": f"{AREA - 1e-6} in^2"}, "outside"),
        ({"least_area": "13.99 in^2"}, "within"),
        ({"least_area": "14 in^2"}, "outside"),
        ({"net_volume": "6 ft^3", "supply_area": "3 in^2"}, "outside"),
        ({"net_volume": "6 ft^3", "supply_area": "3.001 in^2"}, "within"),
        ({"net_volume": "6 ft^3", "exhaust_area": "3 in^2"}, "outside"),
    ],
)
def test_openings_are_judged_at_their_bound(more: dict[str, str], verdict: str) -> None:
    assert verdicts(**more)["openings"] == verdict


@pytest.mark.parametrize(("smallest", "verdict"), [("3 in^2", "outside"), ("3.001 in^2", "within")])
def test_every_single_opening_is_judged_where_it_is_given(smallest: str, verdict: str) -> None:
    assert verdicts(smallest_opening=smallest)["each_opening"] == verdict
    assert "each_opening" not in verdicts()


@pytest.mark.parametrize(
    ("rated", "output", "expected"),
    [
        (None, None, dict.fromkeys(("blower", "rating", "output"), "cannot tell")),
        ("90 ft^3/min", None, {"blower": "within", "rating": "within", "output": "cannot tell"}),
        ("89.9 ft^3/min", None, {"blower": "cannot tell", "rating": "outside", "output": "cannot tell"}),
        (None, "36 ft^3/min", {"blower": "within", "rating": "cannot tell", "output": "within"}),
        (None, "35.9 ft^3/min", {"blower": "cannot tell", "rating": "cannot tell", "output": "outside"}),
        ("90 ft^3/min", "35.9 ft^3/min", {"blower": "within", "rating": "within", "output": "outside"}),
        ("89.9 ft^3/min", "36 ft^3/min", {"blower": "within", "rating": "outside", "output": "within"}),
        ("89.9 ft^3/min", "35.9 ft^3/min", {"blower": "outside", "rating": "outside", "output": "outside"}),
    ],
)
def test_rating_and_flow_of_the_blower_are_each_judged(
    rated: str | None, output: str | None, expected: dict[str, str]
) -> None:
    more = {"blower_rated": rated, "blower_output": output}
    found = verdicts(**{name: text for name, text in more.items() if text is not None})

    assert found == {"openings": "within", **expected}


def test_without_an_engine_no_blower_is_judged() -> None:
    assert verdicts(engine="no", blower_rated="1 ft^3/min", blower_output="1 ft^3/min") == {
        "openings": "within"
    }


@pytest.mark.parametrize("volume", [1e-6, 1e6])
def test_the_largest_and_smallest_compartments_give_numbers(volume: float) -> None:
    found = air(volume)

    assert found.needed_area == pytest.approx(max(0.0, 5 * (math.log(volume) - math.log(5))))
    assert found.open_area == pytest.approx(15 * volume)


@pytest.mark.parametrize(
    ("name", "value", "possible"),
    [
        ("net_volume", "0 ft^3", "above 0 ft^3"),
        ("net_volume", "-5 ft^3", "above 0 ft^3"),
        ("supply_area", "-1 in^2", "at least 0 in^2"),
        ("exhaust_area", "-1 in^2", "at least 0 in^2"),
        ("least_area", "-1 in^2", "at least 0 in^2"),
        ("smallest_opening", "-1 in^2", "at least 0 in^2"),
        ("blower_rated", "-1 ft^3/min", "at least 0 ft^3/min"),
        ("blower_output", "-1 ft^3/min", "at least 0 ft^3/min"),
    ],
)
def test_what_cannot_be_is_refused_by_name(name: str, value: str, possible: str) -> None:
    with pytest.raises(BookError) as refused:
        worked(**{name: value})

    (problem,) = refused.value.problems
    assert name in problem.what
    assert value in problem.what
    assert possible in f"{problem.what}; {problem.fix}"


def test_a_volume_for_which_the_formula_asks_nothing_is_remarked() -> None:
    small = worked(net_volume="4.9 ft^3").outcome.remarks

    assert [remark.name for remark in small] == ["net_volume"]
    assert "least_area" in small[0].text
    assert worked().outcome.remarks == ()
