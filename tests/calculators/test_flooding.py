"""Flooding against another library's nozzle and an integration, and what must hold for any hole."""

from __future__ import annotations

from math import inf
from typing import Any

import fluids
import pytest
from fluids.flow_meter import flow_meter_discharge
from hypothesis import given
from hypothesis import strategies as st
from scipy import constants
from scipy.integrate import solve_ivp

from kb import NoAnswer
from kb.calculators.declare import Calculator
from kb.calculators.work import Worked, work
from kb.problem import BookError
from kb_calculators.bilge.flooding import Flooding, flooding

HOLE = {"hole_diameter": "1 in", "depth": "14 in", "volume": "90 gal"}
GAL_PER_HR = constants.gallon / constants.hour

holes = st.floats(0.1, 6)
depths = st.floats(0.5, 60)
volumes = st.floats(1, 500)
coefficients = st.floats(0.6, 1)


def worked(**more: str) -> Worked:
    return work(Calculator.of(flooding), {**HOLE, **more})


def flooded(hole: float = 1, depth: float = 14, volume: float = 90, **more: Any) -> Flooding:
    return flooding(hole_diameter=hole, depth=depth, volume=volume, **more)


def minutes(found: Flooding) -> float:
    return inf if isinstance(found.time, NoAnswer) else found.time


@given(holes, depths, coefficients)
def test_what_comes_in_is_that_of_another_library(hole: float, depth: float, coefficient: float) -> None:
    size, rho = hole * constants.inch, 1025.0
    outside = 1e7 + rho * fluids.constants.g * depth * constants.inch
    kg_per_s = flow_meter_discharge(D=1e4 * size, Do=size, P1=outside, P2=1e7, rho=rho, C=coefficient)

    found = flooded(hole, depth, coefficient=coefficient).inflow

    assert found == pytest.approx(kg_per_s / rho / GAL_PER_HR, rel=1e-6)


@given(holes, depths, volumes, st.floats(0, 0.95))
def test_the_time_fills_the_volume_by_integration(
    hole: float, depth: float, volume: float, share: float
) -> None:
    open_hole = flooded(hole, depth, volume)
    found = flooded(hole, depth, volume, pump_flow=share * open_hole.inflow)
    per_minute = (open_hole.inflow - share * open_hole.inflow) / 60

    filled = solve_ivp(lambda _, __: [per_minute], (0, minutes(found)), [0.0]).y[0][-1]

    assert filled == pytest.approx(volume, rel=1e-9)


def test_a_hole_that_goes_down_with_her_fills_her_sooner_than_shown() -> None:
    found = flooded(volume=600)
    sinking = 2.0 / 100  # inches of depth for each gallon aboard

    filled = solve_ivp(
        lambda _, aboard: [flooded(depth=14 + sinking * aboard[0], volume=600).inflow / 60],
        (0, minutes(found)),
        [0.0],
    ).y[0][-1]

    assert filled > 600


@given(holes, depths, volumes, st.floats(1.01, 4))
def test_a_wider_or_deeper_hole_leaves_less_time(
    hole: float, depth: float, volume: float, times: float
) -> None:
    one = flooded(hole, depth, volume)

    assert flooded(hole * times, depth, volume).inflow == pytest.approx(times**2 * one.inflow)
    assert flooded(hole, depth * times**2, volume).inflow == pytest.approx(times * one.inflow)
    assert minutes(flooded(hole, depth * times, volume)) < minutes(one)
    assert minutes(flooded(hole, depth, volume * times)) == pytest.approx(times * minutes(one))


@given(holes, depths, st.floats(0, 5000), st.floats(1, 500))
def test_more_pump_never_leaves_less_time(hole: float, depth: float, pump: float, more: float) -> None:
    one, other = (flooded(hole, depth, pump_flow=flow) for flow in (pump, pump + more))

    assert minutes(other) >= minutes(one)
    assert other.net_inflow == pytest.approx(one.net_inflow - more, abs=1e-6)


@given(holes, depths)
def test_the_time_ends_just_where_the_pumps_hold_it(hole: float, depth: float) -> None:
    inflow = flooded(hole, depth).inflow

    assert minutes(flooded(hole, depth, pump_flow=inflow * (1 - 1e-9))) < inf
    for pumps in (inflow, inflow * (1 + 1e-9)):
        assert flooded(hole, depth, pump_flow=pumps).time == NoAnswer(
            "the pumps hold it, as long as they run"
        )


def test_a_hole_at_the_waterline_takes_none() -> None:
    found = worked(depth="0 in").outcome.values

    assert float(found["inflow"].value) == float(found["net_inflow"].value) == 0
    assert found["time"] == NoAnswer("no water comes in: the hole is not below the waterline")


@pytest.mark.parametrize(
    "more",
    [
        {"hole_diameter": "0 in"},
        {"depth": "-1 in"},
        {"volume": "0 gal"},
        {"coefficient": "0"},
        {"coefficient": "1.01"},
        {"pump_flow": "-1 gph"},
    ],
)
def test_what_cannot_be_is_refused_by_name(more: dict[str, str]) -> None:
    with pytest.raises(BookError) as refused:
        worked(**more)

    (problem,) = refused.value.problems
    assert next(iter(more)) in problem.what
    assert problem.fix


def test_a_coefficient_below_that_of_a_sharp_edge_is_remarked() -> None:
    assert [remark.name for remark in worked(coefficient="0.5").outcome.remarks] == ["coefficient"]
    assert worked(coefficient="0.61").outcome.remarks == ()
