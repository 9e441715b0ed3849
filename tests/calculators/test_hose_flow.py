"""Friction in hoses against another library, roots against another finder, and what a pump curve may be."""

from __future__ import annotations

import math

import fluids
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq

from kb import Refusal
from kb_calculators.conversions import PA_PER_PSI
from kb_calculators.hose_flow import (
    LAMINAR_BELOW,
    Fluid,
    Hose,
    PumpCurve,
    flow_through,
    friction_factor,
    hose_of,
    pump_curve,
)
from kb_calculators.roots import first_within

roughnesses = st.floats(0, 0.05)
reynolds_numbers = st.floats(-1, 8).map(lambda power: 10**power)


@given(reynolds_numbers, roughnesses)
def test_the_friction_factor_is_that_of_another_library(reynolds: float, rough: float) -> None:
    expected = fluids.friction_factor(Re=reynolds, eD=rough)

    assert friction_factor(reynolds, rough) == pytest.approx(expected, rel=1e-10)


@given(st.floats(LAMINAR_BELOW, 1e8), roughnesses)
def test_turbulent_friction_satisfies_colebrook(reynolds: float, rough: float) -> None:
    root = math.sqrt(friction_factor(reynolds, rough))

    assert 1 / root == pytest.approx(-2 * math.log10(rough / 3.7 + 2.51 / (reynolds * root)), rel=1e-12)


@given(st.floats(LAMINAR_BELOW, 4000), roughnesses)
def test_between_laminar_and_turbulent_the_larger_factor_is_taken(reynolds: float, rough: float) -> None:
    assert friction_factor(reynolds, rough) >= 64 / reynolds
    assert friction_factor(reynolds, rough) >= fluids.friction.Colebrook(reynolds, rough) * (1 - 1e-12)


@pytest.mark.parametrize(
    ("reynolds", "rough", "published"),
    [(4463.999, 1.5e-6 / 0.0142875, 0.03875285), (52614, 1.5e-6 / 0.0381, 0.02080176)],
)
def test_friction_factors_worked_elsewhere_come_out(reynolds: float, rough: float, published: float) -> None:
    assert friction_factor(reynolds, rough) == pytest.approx(published, rel=5e-6)


@given(
    st.floats(0.005, 0.1),
    st.floats(0, 50),
    roughnesses,
    st.floats(0, 10),
    st.floats(1e-7, 1e-2),
    st.sampled_from([Fluid(1000, 1e-3), Fluid(2.0, 1.2e-5), Fluid(740, 5e-4), Fluid(880, 0.2)]),
)
def test_the_loss_is_that_of_another_library(
    bore: float, length: float, rough: float, losses: float, flow: float, fluid: Fluid
) -> None:
    velocity = flow / (math.pi * bore**2 / 4)
    factor = fluids.friction_factor(
        Re=fluids.Reynolds(velocity, bore, fluid.density, fluid.viscosity), eD=rough
    )
    k = fluids.K_from_f(factor, length, bore) + losses
    found = flow_through(Hose(bore, length, rough * bore, losses), fluid, flow)

    assert found.velocity == pytest.approx(velocity)
    assert found.loss == pytest.approx(fluids.dP_from_K(k, fluid.density, velocity), rel=1e-10)


def test_laminar_loss_is_that_of_hagen_and_poiseuille() -> None:
    found = flow_through(Hose(0.02, 3, 0, 0), Fluid(900, 0.1), 1e-4)

    assert found.reynolds < LAMINAR_BELOW
    assert found.loss == pytest.approx(128 * 0.1 * 3 * 1e-4 / (math.pi * 0.02**4))


def test_nothing_is_lost_where_nothing_flows() -> None:
    assert flow_through(Hose(0.02, 3, 1e-6, 2), Fluid(1000, 1e-3), 0).loss == 0


def test_a_psi_is_what_it_is() -> None:
    assert pytest.approx(6894.757293, rel=1e-9) == PA_PER_PSI


@pytest.mark.parametrize(("roughness", "refused"), [(0.05, False), (0.0501, True)])
def test_a_roughness_beyond_the_friction_rule_is_refused(roughness: float, refused: bool) -> None:
    if not refused:
        assert hose_of(1, 10, roughness, 2).bore == pytest.approx(0.0254)
        return
    with pytest.raises(Refusal, match="bore") as found:
        hose_of(1, 10, roughness, 2)

    assert found.value.parameter == "roughness"


@given(st.floats(0.1, 9.9), st.floats(0.2, 3))
def test_a_root_is_that_of_another_finder(target: float, power: float) -> None:
    def excess(x: float) -> float:
        return float(target**power - x**power)

    assert first_within(excess, 0, 10) == pytest.approx(brentq(excess, 0, 10, xtol=1e-14), rel=1e-12)


@given(st.floats(-1e6, 1e6))
def test_a_root_holds_and_the_float_before_it_does_not(edge: float) -> None:
    found = first_within(lambda x: 1.0 if x < edge else -1.0, -2e6, 2e6)

    assert found == edge


def test_a_root_at_either_end_is_found() -> None:
    assert first_within(lambda x: -x, 0, 5) == 0
    assert first_within(lambda x: 5 - x, 0, 5) == 5


def test_an_excess_that_never_ends_is_told() -> None:
    with pytest.raises(ValueError, match="still above zero at 5"):
        first_within(lambda x: 1.0, 0, 5)


@st.composite
def curves(draw: st.DrawFn) -> PumpCurve:
    """Draw a curve from open flow at no head to shut-off."""
    steps = draw(st.lists(st.tuples(st.floats(0.5, 6), st.floats(10, 900)), min_size=1, max_size=6))
    heads = np.concatenate(([0.0], np.cumsum([head for head, _ in steps])))
    flows = np.concatenate((np.cumsum([flow for _, flow in steps[::-1]])[::-1], [0.0]))
    return pump_curve([(float(h), float(f)) for h, f in zip(heads, flows, strict=True)], "curve")


@given(curves(), st.floats(0, 1))
def test_between_its_rows_a_curve_is_straight(curve: PumpCurve, share: float) -> None:
    head = share * curve.highest
    heads, flows = zip(*curve.rows, strict=True)

    assert curve.flow(head) == pytest.approx(float(np.interp(head, heads, flows)), rel=1e-9, abs=1e-9)


@given(curves(), st.floats(0.5, 1.5), st.floats(0, 1))
def test_voltage_takes_flow_along_and_head_by_its_square(
    curve: PumpCurve, volts: float, share: float
) -> None:
    head = share * curve.highest

    assert curve.at_voltage(volts).flow(head * volts**2 * (1 - 1e-15)) == pytest.approx(
        curve.flow(head) * volts, rel=1e-9, abs=1e-9
    )


@pytest.mark.parametrize("head", [-0.1, 12.1])
def test_a_curve_tells_nothing_outside_its_rows(head: float) -> None:
    with pytest.raises(ValueError, match="outside the rows"):
        PumpCurve(((0, 30), (12, 0))).flow(head)


@pytest.mark.parametrize(
    ("rows", "what"),
    [
        ([(0, 30)], "one row"),
        ([(0, 30), (0, 20), (12, 0)], "two rows at 0 ft"),
        ([(0, 20), (6, 30), (12, 0)], r"gives more at 6 ft \(30 gal/hr\) than at 0 ft \(20 gal/hr\)"),
        ([(0, 0), (12, 0)], "no flow at any head"),
    ],
)
def test_rows_that_no_pump_could_have_are_refused(rows: list[tuple[float, float]], what: str) -> None:
    with pytest.raises(Refusal, match=what) as refused:
        pump_curve(rows, "curve")

    assert refused.value.parameter == "curve"


def test_rows_come_in_any_order_and_end_at_the_first_without_flow() -> None:
    curve = pump_curve([(14, 0), (6, 15), (12, 0), (0, 30)], "curve")

    assert curve.rows == ((0, 30), (6, 15), (12, 0))
