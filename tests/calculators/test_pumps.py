"""What a pump delivers, against another library and closed forms, and what must hold of any pump."""

from __future__ import annotations

import math
from typing import Any

import fluids
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import brentq

from kb import NoAnswer, Refusal
from kb.calculators.declare import Calculator
from kb.calculators.work import work
from kb.problem import BookError
from kb_calculators.bilge.pumps import CurveRow, PumpCapacity, pump_capacity

CURVE = tuple(CurveRow(*row) for row in ((0, 2000), (5, 1500), (10, 900), (16, 0)))
TEXTS = {
    "curve": "[[0 ft, 2000 gph], [5 ft, 1500 gph], [10 ft, 900 gph], [16 ft, 0 gph]]",
    "lift": "4 ft",
    "bore": "1 1/8 in",
    "hose_length": "12 ft",
}
FT, IN, GAL_PER_HR, G = 0.3048, 0.0254, 231 * 0.0254**3 / 3600, 9.80665
SEA = 64 * 0.45359237 / FT**3

lifts = st.floats(0, 15.9)
bores = st.floats(0.4, 3)
lengths = st.floats(0, 60)
losses = st.floats(0, 12)


def pumped(
    lift: float = 4, bore: float = 1.125, hose_length: float = 12, voltage: float = 13.6, **more: Any
) -> PumpCapacity:
    return pump_capacity(CURVE, lift=lift, bore=bore, hose_length=hose_length, voltage=voltage, **more)


def flow_of(found: PumpCapacity) -> float:
    return 0.0 if isinstance(found.flow, NoAnswer) else found.flow


def asked(lift: float, flow: float, bore: float, length: float, k: float) -> float:
    """Return the head (ft) that lift and hose ask for, by another library."""
    velocity = flow * GAL_PER_HR / (math.pi * (bore * IN) ** 2 / 4)
    if velocity == 0:
        return lift
    reynolds = fluids.Reynolds(velocity, bore * IN, SEA, 1.08e-3)
    factor = fluids.friction_factor(Re=reynolds, eD=0.0012 / bore)
    k_all = fluids.K_from_f(factor, length * FT, bore * IN) + k
    return float(lift + fluids.head_from_K(k_all, velocity) / FT)


@settings(deadline=None)
@given(lifts, bores, lengths, losses, st.floats(0.7, 1.2))
def test_flow_is_where_the_curves_meet_by_another_library(
    lift: float, bore: float, length: float, k: float, volts: float
) -> None:
    heads = np.array([row.head for row in CURVE]) * volts**2
    flows = np.array([row.flow for row in CURVE]) * volts
    found = pumped(lift, bore, length, 13.6 * volts, fitting_losses=k)
    if lift > heads[-1]:
        assert isinstance(found.flow, NoAnswer)
        return

    def lacking(head: float) -> float:
        return asked(lift, float(np.interp(head, heads, flows)), bore, length, k) - head

    # At the step from laminar to turbulent the curves jump past each other; both finders end there.
    head = brentq(lacking, heads[0], heads[-1], xtol=1e-12)

    assert found.head == pytest.approx(head, rel=1e-8)
    assert found.flow == pytest.approx(float(np.interp(head, heads, flows)), rel=1e-6, abs=1e-6)


@settings(deadline=None)
@given(lifts, bores, lengths, losses, st.floats(0, 5), st.floats(0, 1), st.floats(0, 20))
def test_flow_never_rises_with_lift_length_fittings_or_a_smaller_bore(
    lift: float, bore: float, length: float, k: float, more: float, smaller: float, longer: float
) -> None:
    flow = flow_of(pumped(lift, bore, length, fitting_losses=k)) * (1 + 1e-12)

    assert flow_of(pumped(lift + more, bore, length, fitting_losses=k)) <= flow
    assert flow_of(pumped(lift, bore, length + longer, fitting_losses=k)) <= flow
    assert flow_of(pumped(lift, bore, length, fitting_losses=k + more)) <= flow
    assert flow_of(pumped(lift, bore - smaller * (bore - 0.3), length, fitting_losses=k)) <= flow


@given(lifts, st.floats(10, 13.6))
def test_flow_never_rises_as_the_battery_falls(lift: float, voltage: float) -> None:
    assert flow_of(pumped(lift, voltage=voltage)) <= flow_of(pumped(lift)) * (1 + 1e-12)


@given(st.floats(0, 11.9), st.floats(0.3, 3), losses)
def test_a_straight_curve_and_fittings_alone_follow_the_closed_form(
    lift: float, bore: float, k: float
) -> None:
    rows = (CurveRow(12, 0), CurveRow(0, 1800))
    per_flow = k / (2 * G) * (GAL_PER_HR / (math.pi * (bore * IN) ** 2 / 4)) ** 2 / FT
    slope = 12 / 1800
    # 2 c / (b + sqrt(b^2 + 4 a c)) stands for the root of a q^2 + b q - c where a may be next to nothing
    expected = 2 * (12 - lift) / (slope + math.sqrt(slope**2 + 4 * per_flow * (12 - lift)))

    found = pump_capacity(
        rows, lift=lift, bore=bore, hose_length=0, fitting_losses=k, voltage=12, curve_voltage=12
    )

    assert found.flow == pytest.approx(expected, rel=1e-9)
    assert found.share_of_open_flow == pytest.approx(expected / 18, rel=1e-9)


def test_a_positive_pump_gives_the_same_at_several_heads() -> None:
    rows = (CurveRow(0, 300), CurveRow(10, 300), CurveRow(15, 0))

    assert pump_capacity(rows, lift=5, bore=2, hose_length=1, voltage=13.6).flow == 300


def test_a_lift_at_the_shut_off_head_gives_nothing_and_above_it_none() -> None:
    assert pumped(16).flow == 0
    above = pumped(16.001)

    assert above.flow == above.head == above.velocity == above.share_of_open_flow
    assert isinstance(above.flow, NoAnswer)
    assert above.flow.why == "a lift of 16.001 ft is above the 16 ft the pump can raise"


@pytest.mark.parametrize("needed", ["0 gph", "1 gph"])
def test_none_is_outside_whatever_flow_is_needed(needed: str) -> None:
    worked = work(Calculator.of(pump_capacity), {**TEXTS, "lift": "17 ft", "needed": needed})

    assert [limit.verdict for limit in worked.limits] == ["outside"]


@pytest.mark.parametrize(("share", "verdict"), [(1 - 1e-9, "within"), (1 + 1e-9, "outside")])
def test_the_flow_limit_flips_at_the_flow(share: float, verdict: str) -> None:
    flow = flow_of(pumped())
    worked = work(Calculator.of(pump_capacity), {**TEXTS, "needed": f"{flow * share:.12f} gph"})

    assert [limit.verdict for limit in worked.limits] == [verdict]


def test_without_a_needed_flow_nothing_is_judged() -> None:
    assert work(Calculator.of(pump_capacity), TEXTS).limits == ()


def test_voltage_is_that_of_the_curve_unless_given() -> None:
    left_out, named = (
        work(Calculator.of(pump_capacity), {**TEXTS, "curve_voltage": "27.2 V", **more}).outcome.values
        for more in ({}, {"voltage": "27.2 V"})
    )

    assert left_out == named


def test_share_of_open_flow_is_of_what_the_maker_rates() -> None:
    found = pumped(voltage=12)

    assert isinstance(found.share_of_open_flow, float)
    assert found.share_of_open_flow == pytest.approx(100 * flow_of(found) / 2000)


def test_rows_that_end_short_of_the_working_point_are_refused() -> None:
    with pytest.raises(Refusal, match="ends at 10 ft at this voltage"):
        pump_capacity(CURVE[:3], lift=9.9, bore=1, hose_length=30, voltage=13.6)
    with pytest.raises(Refusal, match="begins at 10 ft at this voltage"):
        pump_capacity(CURVE[2:], lift=2, bore=2, hose_length=2, voltage=13.6)


def test_share_of_open_flow_needs_a_row_at_no_head() -> None:
    found = pump_capacity(CURVE[1:], lift=8, bore=1.5, hose_length=5, voltage=13.6)

    assert flow_of(found) > 0
    assert isinstance(found.share_of_open_flow, NoAnswer)


@pytest.mark.parametrize(
    ("given", "parameter"),
    [
        ({"lift": "-1 ft"}, "lift"),
        ({"bore": "0 in"}, "bore"),
        ({"hose_length": "-1 ft"}, "hose_length"),
        ({"fitting_losses": "-1"}, "fitting_losses"),
        ({"roughness": "-0.001 in"}, "roughness"),
        ({"roughness": "0.06 in"}, "roughness"),
        ({"voltage": "0 V"}, "voltage"),
        ({"curve_voltage": "0 V"}, "curve_voltage"),
        ({"liquid_density": "0 lb/ft^3"}, "liquid_density"),
        ({"viscosity": "0 Pa*s"}, "viscosity"),
        ({"needed": "-1 gph"}, "needed"),
        ({"curve": "[[0 ft, 2000 gph]]"}, "curve"),
        ({"curve": "[[0 ft, -1 gph], [3 ft, 0 gph]]"}, "curve"),
        ({"curve": "[[-1 ft, 2000 gph], [3 ft, 0 gph]]"}, "curve"),
        ({"curve": "[[0 ft, 100 gph], [3 ft, 200 gph]]"}, "curve"),
        ({"curve": "[[0 ft, 2000 gph], [3 ft, 1500 gph]]", "lift": "10 ft"}, "curve"),
    ],
)
def test_what_cannot_be_is_refused_by_name(given: dict[str, str], parameter: str) -> None:
    with pytest.raises(BookError) as refused:
        work(Calculator.of(pump_capacity), {**TEXTS, **given})

    (problem,) = refused.value.problems
    assert parameter in problem.what
    assert problem.fix


def test_units_never_change_the_answer() -> None:
    metric = {
        "curve": "[[0 mm, 2000 gph], [1524 mm, 25 gpm], [3.048 m, 15 gpm], [4876.8 mm, 0 L/min]]",
        "lift": "1219.2 mm",
        "bore": "28.575 mm",
        "hose_length": "3.6576 m",
        "roughness": "30.48 um",
        "liquid_density": "64 lb/ft^3",
        "viscosity": "1.08 cP",
    }
    one, other = (work(Calculator.of(pump_capacity), given).outcome.values for given in (TEXTS, metric))

    for name, value in one.items():
        assert float(other[name].value) == pytest.approx(float(value.value), rel=1e-12), name
