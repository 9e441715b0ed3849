"""Pump-out times against another library and closed forms, and what must hold of any tank and pump."""

from __future__ import annotations

import math
from collections.abc import Callable
from itertools import pairwise
from typing import Any

import fluids
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad, solve_ivp
from scipy.optimize import brentq

from kb import NoAnswer, Refusal, Section
from kb.calculators.declare import Calculator
from kb.calculators.section import shaped
from kb.calculators.work import work
from kb.problem import BookError
from kb_calculators.bilge.pumps import pump_capacity
from kb_calculators.pumping import CurveRow
from kb_calculators.water.pump_out import PumpOut, pump_out

CURVE = tuple(CurveRow(*row) for row in ((0, 1200), (8, 960), (16, 560), (22, 0)))
STRAIGHT = (CurveRow(0, 900), CurveRow(20, 0))
BOX = shaped("box", {"width": 22, "height": 14})
TRAPEZOID = shaped("trapezoid", {"width_top": 20, "width_bottom": 12, "height": 16})
VEE = shaped("vee", {"width": 40, "height": 6, "vee_depth": 7})
ROUND = shaped("round", {"diameter": 18})
STEPPED = Section(((0, 0), (8, 0), (8, 5), (20, 5), (20, 12), (0, 12)))
FT, IN, G = 0.3048, 0.0254, 9.80665
GAL_PER_HR = 231 * IN**3 / 3600
SEA = 64 * 0.45359237 / FT**3

TANKS: list[tuple[Section, Callable[[float], float], float, list[float]]] = [
    (BOX, lambda z: 22.0, 14, []),
    (TRAPEZOID, lambda z: 12 + z / 2, 16, []),
    (VEE, lambda z: 40 * min(1.0, z / 7), 13, [7]),
    (ROUND, lambda z: 2 * math.sqrt(max(z * (18 - z), 0)), 18, []),
    (STEPPED, lambda z: 8.0 if z < 5 else 20.0, 12, [5]),
]
"""Sections with their width at a level by hand, their top, and the levels at which it bends or jumps."""


def pumped(section: Section = BOX, lift: float = 5, **more: Any) -> PumpOut:
    given = {"length": 30, "curve": CURVE, "bore": 1.5, "hose_length": 14, "voltage": 13.6, **more}
    return pump_out(section, lift=lift, **given)


def minutes(found: PumpOut) -> float:
    assert not isinstance(found.time, NoAnswer), found.time.why
    return found.time


def flow_of(lift: float, bore: float, length: float, k: float, viscosity: float) -> float:
    """Return the flow (gal/hr) at a lift, by another library."""
    heads, flows = (np.array(one, dtype=float) for one in zip(*CURVE, strict=True))

    def lacking(head: float) -> float:
        velocity = float(np.interp(head, heads, flows)) * GAL_PER_HR / (math.pi * (bore * IN) ** 2 / 4)
        if velocity == 0:
            return lift - head
        reynolds = fluids.Reynolds(velocity, bore * IN, SEA, mu=viscosity)
        factor = fluids.friction_factor(Re=reynolds, eD=0.0012 / bore)
        k_all = fluids.K_from_f(factor, length * FT, bore * IN) + k
        return float(lift + fluids.head_from_K(k_all, velocity) / FT - head)

    return float(np.interp(brentq(lacking, heads[0], heads[-1], xtol=1e-13), heads, flows))


@pytest.mark.parametrize(
    ("lift", "bore", "viscosity"), [(3, 1.5, 1.08e-3), (12, 1, 5e-3), (20.5, 1.5, 0.004), (20.5, 1.5, 0.05)]
)
@pytest.mark.parametrize(("section", "width", "top", "bends"), TANKS)
def test_time_is_the_integral_of_area_over_flow_by_other_libraries(
    section: Section,
    width: Callable[[float], float],
    top: float,
    bends: list[float],
    lift: float,
    bore: float,
    viscosity: float,
) -> None:
    def per_inch(level: float) -> float:
        return width(level) * 30 / 231 / flow_of(lift - level / 12, bore, 14, 2, viscosity) * 60

    marks = [0.5, *bends, top]
    expected = sum(quad(per_inch, a, b, epsrel=1e-9)[0] for a, b in pairwise(marks))

    found = pumped(section, lift, bore=bore, viscosity=viscosity, end_depth=0.5)

    assert found.time == pytest.approx(expected, rel=1e-7)
    assert found.first_flow == pytest.approx(flow_of(lift - top / 12, bore, 14, 2, viscosity), rel=1e-8)
    assert found.last_flow == pytest.approx(flow_of(lift - 0.5 / 12, bore, 14, 2, viscosity), rel=1e-8)


def test_the_level_that_falls_by_a_solver_is_there_at_the_time() -> None:
    found = pumped(ROUND, 6, end_depth=4, depth=16)

    def falling(_: float, level: list[float]) -> list[float]:
        area = 2 * math.sqrt(level[0] * (18 - level[0])) * 30
        return [-flow_of(6 - level[0] / 12, 1.5, 14, 2, 1.08e-3) * 231 / 60 / area]

    path = solve_ivp(falling, (0, minutes(found)), [16.0], rtol=1e-9, atol=1e-9)

    assert path.y[0][-1] == pytest.approx(4, abs=1e-6)


@given(st.floats(0.5, 13.9), st.floats(0, 0.45), st.floats(2, 19.9))
def test_a_straight_curve_without_losses_follows_the_logarithm(depth: float, end: float, lift: float) -> None:
    found = pumped(lift=lift, curve=STRAIGHT, hose_length=0, fitting_losses=0, depth=depth, end_depth=end)

    first, last = (900 * (1 - (lift - level / 12) / 20) for level in (depth, end))
    # log1p keeps its figures where both flows are all but the same
    gallons = 22 * 30 * (depth - end) / 231
    expected = gallons * math.log1p((first - last) / last) / (first - last) * 60
    assert found.time == pytest.approx(expected, rel=1e-8)
    assert found.volume == pytest.approx(gallons, rel=1e-9)


def test_a_positive_pump_takes_volume_over_flow_and_slows_only_where_its_curve_falls() -> None:
    rows = (CurveRow(0, 300), CurveRow(10, 300), CurveRow(15, 0))
    level: dict[str, Any] = {"curve": rows, "hose_length": 0, "fitting_losses": 0}

    assert minutes(pumped(lift=9, **level)) == pytest.approx(22 * 30 * 14 / 231 / 300 * 60, rel=1e-12)
    # From a lift of 10 ft on, 60 gal/hr go for each foot: the last 6 in of 14 lie there.
    flat, falling = 22 * 30 * 8 / 231 / 300, 22 * 30 * 12 / 231 / 60 * math.log(300 / 270)
    assert minutes(pumped(lift=10.5, **level)) == pytest.approx((flat + falling) * 60, rel=1e-10)


@settings(deadline=None, max_examples=25)
@given(st.sampled_from([one[0] for one in TANKS]), st.floats(2, 21), st.floats(0.8, 3), st.floats(1, 11))
def test_a_stop_on_the_way_adds_nothing(section: Section, lift: float, bore: float, stop: float) -> None:
    whole, upper, lower = (
        pumped(section, lift, bore=bore, depth=depth, end_depth=end)
        for depth, end in ((11.5, 0.5), (11.5, stop), (stop, 0.5))
    )

    assert minutes(whole) == pytest.approx(minutes(upper) + minutes(lower), rel=1e-7)
    assert whole.volume == pytest.approx(upper.volume + lower.volume, rel=1e-9)


@settings(deadline=None, max_examples=25)
@given(st.floats(2, 15), st.floats(0.8, 3), st.floats(0, 40), st.floats(0, 10), st.floats(0.01, 5))
def test_time_never_falls_with_lift_hose_fittings_a_smaller_bore_or_a_weaker_battery(
    lift: float, bore: float, length: float, k: float, more: float
) -> None:
    def time(lift: float, bore: float, length: float, k: float, voltage: float = 13.6) -> float:
        found = pumped(lift=lift, bore=bore, hose_length=length, fitting_losses=k, voltage=voltage)
        return minutes(found)

    least = time(lift, bore, length, k) * (1 - 1e-9)

    assert time(lift + more, bore, length, k) >= least
    assert time(lift, bore, length + more, k) >= least
    assert time(lift, bore, length, k + more) >= least
    assert time(lift, bore / (1 + more / 10), length, k) >= least
    assert time(lift, bore, length, k, voltage=13.0) >= least


@settings(deadline=None, max_examples=15)
@given(st.floats(1e-3, 1e3))
def test_time_goes_as_the_length_of_the_tank(factor: float) -> None:
    one, other = pumped(VEE), pumped(VEE, length=30 * factor)

    assert minutes(other) == pytest.approx(factor * minutes(one), rel=1e-9)
    assert other.first_flow == one.first_flow


def test_flows_are_those_of_pump_capacity_at_both_lifts() -> None:
    found = pumped(depth=12, end_depth=3, voltage=12.1)

    for level, flow in ((12, found.first_flow), (3, found.last_flow)):
        capacity = pump_capacity(CURVE, 5 - level / 12, bore=1.5, hose_length=14, voltage=12.1)
        assert flow == capacity.flow


def test_a_tank_whose_last_inch_is_too_deep_has_no_time_and_says_so() -> None:
    deep = pumped(lift=22.5)

    assert isinstance(deep.time, NoAnswer)
    assert "at 0 in the lift is 22.5 ft, and at 22 ft nothing comes" in deep.time.why
    assert isinstance(deep.last_flow, NoAnswer)
    assert not isinstance(deep.first_flow, NoAnswer)
    assert deep.volume == pytest.approx(40)


def test_time_ends_exactly_where_the_lift_comes_to_the_shut_off_head() -> None:
    assert isinstance(pumped(lift=22).time, NoAnswer)
    assert minutes(pumped(lift=21.999)) > minutes(pumped(lift=21))
    assert minutes(pumped(lift=22.5, end_depth=6.001)) > 0
    assert isinstance(pumped(lift=22.5, end_depth=6).time, NoAnswer)


def test_a_hose_below_the_liquid_is_refused_where_the_curve_tells_nothing() -> None:
    with pytest.raises(Refusal, match=r"lift is 0\.66\d* ft below the liquid") as refused:
        pumped(lift=0.5, bore=4, hose_length=0, fitting_losses=0)
    assert refused.value.parameter == "lift"
    # A narrow hose still asks for some head, which the curve does tell.
    assert minutes(pumped(lift=0.5, bore=1, hose_length=20)) > 0


TEXTS = {
    "section": "{shape: box, width: 22 in, height: 14 in}",
    "length": "30 in",
    "curve": "[[0 ft, 1200 gph], [8 ft, 960 gph], [16 ft, 560 gph], [22 ft, 0 gph]]",
    "lift": "5 ft",
    "bore": "1 1/2 in",
    "hose_length": "14 ft",
}


def test_a_tank_is_full_to_its_top_and_the_curve_at_its_voltage_unless_said() -> None:
    left_out, named = (
        work(Calculator.of(pump_out), {**TEXTS, **more}).outcome.values
        for more in ({}, {"depth": "14 in", "end_depth": "0 in", "voltage": "13.6 V"})
    )

    assert left_out == named


@pytest.mark.parametrize(
    ("given", "parameter", "words"),
    [
        ({"length": "0 in"}, "length", "above 0"),
        ({"lift": "-1 ft"}, "lift", "at least 0"),
        ({"bore": "0 in"}, "bore", "above 0"),
        ({"hose_length": "-1 ft"}, "hose_length", "at least 0"),
        ({"fitting_losses": "-1"}, "fitting_losses", "at least 0"),
        ({"roughness": "-1 mil"}, "roughness", "at least 0"),
        ({"roughness": "0.08 in"}, "roughness", "at most 0.075 in"),
        ({"liquid_density": "0 lb/ft^3"}, "liquid_density", "above 0"),
        ({"viscosity": "0 Pa*s"}, "viscosity", "above 0"),
        ({"depth": "14.01 in"}, "depth", "at most 14 in"),
        ({"depth": "0 in"}, "depth", "above 0"),
        ({"end_depth": "14 in"}, "end_depth", "less than 14 in"),
        ({"depth": "3 in", "end_depth": "3 in"}, "end_depth", "less than 3 in"),
        ({"end_depth": "-1 in"}, "end_depth", "at least 0"),
        ({"voltage": "0 V"}, "voltage", "above 0"),
        ({"curve_voltage": "0 V"}, "curve_voltage", "above 0"),
        ({"curve": "[[0 ft, 900 gph]]"}, "curve", "two rows"),
        ({"curve": "[[0 ft, 900 gph], [4 ft, 800 gph]]"}, "curve", "nothing comes"),
        ({"curve": "[[6 ft, 900 gph], [9 ft, 0 gph]]"}, "curve", "down to 0 ft"),
    ],
)
def test_what_cannot_be_is_refused_by_name_with_what_is_possible(
    given: dict[str, str], parameter: str, words: str
) -> None:
    with pytest.raises(BookError) as refused:
        work(Calculator.of(pump_out), {**TEXTS, **given})

    (problem,) = refused.value.problems
    assert parameter in problem.what
    assert words in f"{problem.what} {problem.fix}"


def test_a_lift_that_no_pump_above_the_tank_sucks_stands_with_a_remark() -> None:
    (remark,) = work(Calculator.of(pump_out), {**TEXTS, "lift": "20.5 ft"}).outcome.remarks

    assert remark.name == "lift"


def test_units_never_change_the_answer() -> None:
    metric = {
        "section": "{shape: box, width: 558.8 mm, height: 355.6 mm}",
        "length": "762 mm",
        "curve": "[[0 mm, 20 gpm], [2438.4 mm, 16 gpm], [4876.8 mm, 560 gph], [6705.6 mm, 0 L/min]]",
        "lift": "1.524 m",
        "bore": "38.1 mm",
        "hose_length": "4267.2 mm",
        "depth": "355.6 mm",
        "viscosity": "1.08 cP",
    }
    one, other = (work(Calculator.of(pump_out), given).outcome.values for given in (TEXTS, metric))

    for name, value in one.items():
        assert float(other[name].value) == pytest.approx(float(value.value), rel=1e-10), name


@pytest.mark.parametrize(
    "given",
    [
        {"length": 3e7},
        {"length": 3e-5},
        {"bore": 1500},
        {"hose_length": 1.4e7},
        {"bore": 0.03, "viscosity": 1e3},
        {"liquid_density": 6.4e7},
        {"curve": tuple(CurveRow(head, flow * 1e6) for head, flow in CURVE)},
        {"curve": tuple(CurveRow(head, flow / 1e6) for head, flow in CURVE)},
    ],
)
def test_huge_and_tiny_inputs_give_a_number(given: dict[str, Any]) -> None:
    time = minutes(pumped(VEE, **given))

    assert 0 < time < math.inf
