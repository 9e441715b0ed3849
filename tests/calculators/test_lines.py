"""Hose runs against integrated beams, vents against another library, and what must hold of any of them."""

from __future__ import annotations

import math
from typing import Any

import fluids
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.optimize import brentq

from kb import NoAnswer
from kb.calculators.declare import Calculator
from kb.calculators.work import work
from kb.problem import BookError
from kb_calculators.tanks.fill_line import FillLine, fill_line
from kb_calculators.tanks.vents import VentSize, vent_size

IN, FT, GAL, G = 0.0254, 0.3048, 231 * 0.0254**3, 9.80665
PSI = 0.45359237 * G / IN**2
LB_PER_GAL = 0.45359237 / GAL

LINE = {
    "bore": "1.5 in",
    "outside_diameter": "2 in",
    "hose_mass": "0.62 lb/ft",
    "bending_stiffness": "480 lbf*in^2",
    "liquid_density": "6.18 lb/gal",
    "run": "60 in",
    "drop": "4 in",
    "spacing": "12 in",
    "worst_trim": "1 deg",
}
VENT = {
    "bore": "9/16 in",
    "length": "8 ft",
    "fill_rate": "12 gal/min",
    "label_pressure": "3 psi",
    "nozzle_height": "24 in",
    "fill_bore": "1.5 in",
    "fill_length": "6 ft",
}


def line(
    spacing: float = 12, drop: float = 4, run: float = 60, stiffness: float = 480, **more: Any
) -> FillLine:
    return fill_line(
        bore=1.5,
        outside_diameter=2,
        hose_mass=0.62,
        bending_stiffness=stiffness,
        liquid_density=6.18,
        run=run,
        drop=drop,
        spacing=spacing,
        **more,
    )


def vent(
    bore: float = 0.5625, length: float = 8, fill_rate: float = 12, label_pressure: float = 3, **more: Any
) -> VentSize:
    return vent_size(bore, length, fill_rate, label_pressure, **more)


def fuel_vent(bore: float = 0.5625, **more: Any) -> VentSize:
    return vent(bore, **{"nozzle_height": 24, "fill_bore": 1.5, "fill_length": 6, **more})


def known(value: float | NoAnswer) -> float:
    assert isinstance(value, float)
    return value


def verdicts(function: Any, given: dict[str, str]) -> dict[str, str]:
    return {limit.name: limit.verdict for limit in work(Calculator.of(function), given).limits}


def lost(q: float, bore: float, length: float, k: float, rough: float, rho: float, mu: float) -> float:
    """Return what a hose loses (psi), by another library: gal/min, in, ft, K, in, kg/m^3, Pa s."""
    velocity = q * GAL / 60 / (math.pi * (bore * IN) ** 2 / 4)
    reynolds = fluids.Reynolds(velocity, bore * IN, rho, mu)
    factor = fluids.friction_factor(Re=reynolds, eD=rough / bore)
    return float(fluids.dP_from_K(fluids.K_from_f(factor, length * FT, bore * IN) + k, rho, velocity) / PSI)


spacings = st.floats(2, 40)
drops = st.floats(0.5, 30)
runs = st.floats(12, 200)
stiffnesses = st.floats(10, 3000)
creeps = st.floats(1, 4)


@settings(deadline=None, max_examples=40)
@given(spacings, stiffnesses, creeps)
def test_sag_and_slope_are_those_of_the_bending_moment_integrated(
    spacing: float, stiffness: float, creep: float
) -> None:
    found = line(spacing, stiffness=stiffness, creep=creep)
    load, ei = found.load / 12, stiffness / creep

    def moment(x: float) -> float:
        return load * x * (spacing - x) / 2

    half = spacing / 2
    slope = quad(lambda x: moment(x) * (spacing - x) / spacing / ei, 0, spacing)[0]
    sag = 2 * quad(lambda x: moment(x) * x / 2 / ei, 0, half)[0]

    assert found.sag_slope == pytest.approx(12 * slope, rel=1e-9)
    assert found.sag == pytest.approx(sag, rel=1e-9)


@given(drops, runs, stiffnesses, creeps, st.floats(0, 10))
def test_at_the_widest_spacing_the_sag_takes_just_the_fall_that_is_left(
    drop: float, run: float, stiffness: float, creep: float, trim: float
) -> None:
    found = line(drop=drop, run=run, stiffness=stiffness, creep=creep, worst_trim=trim)
    if isinstance(found.max_spacing, NoAnswer):
        assert found.net_fall <= 0
        return
    there = line(found.max_spacing, drop, run, stiffness, creep=creep, worst_trim=trim)

    assert there.sag_slope == pytest.approx(found.net_fall, rel=1e-12)
    assert there.sag == pytest.approx(5 / 16 * found.net_fall / 12 * found.max_spacing, rel=1e-12)


@given(drops, runs, stiffnesses, st.floats(0, 5), st.floats(1, 3))
def test_supports_may_stand_farther_apart_with_more_fall_and_a_stiffer_hose(
    drop: float, run: float, stiffness: float, trim: float, more: float
) -> None:
    widest = line(drop=drop, run=run, stiffness=stiffness, worst_trim=trim).max_spacing
    assume(not isinstance(widest, NoAnswer))
    least = known(widest) * (1 - 1e-12)

    assert known(line(drop=drop * more, run=run, stiffness=stiffness, worst_trim=trim).max_spacing) >= least
    assert known(line(drop=drop, run=run, stiffness=stiffness * more, worst_trim=trim).max_spacing) >= least
    assert known(line(drop=drop, run=run, stiffness=stiffness, worst_trim=trim / more).max_spacing) >= least


@given(drops, runs, st.floats(0, 12))
def test_the_fall_left_is_that_of_the_hose_turned_by_the_trim(drop: float, run: float, trim: float) -> None:
    turn = math.radians(trim)
    level = run * math.cos(turn) + drop * math.sin(turn)
    down = drop * math.cos(turn) - run * math.sin(turn)

    assert line(drop=drop, run=run, worst_trim=trim).net_fall == pytest.approx(12 * down / level, abs=1e-9)


@pytest.mark.parametrize(
    ("run", "drop", "spacing", "supports"),
    [(60, 0, 12, 6), (60, 0.1, 12, 7), (59.9, 0, 12, 6), (3, 4, 5, 2), (3, 4, 4.9, 3), (10, 0, 50, 2)],
)
def test_supports_count_every_span_along_the_hose_and_both_ends(
    run: float, drop: float, spacing: float, supports: int
) -> None:
    assert line(spacing, drop, run).supports == supports


@pytest.mark.parametrize(("share", "verdict"), [(1 - 1e-9, "within"), (1 + 1e-8, "outside")])
def test_the_spacing_limit_flips_at_the_widest_spacing(share: float, verdict: str) -> None:
    widest = known(line(worst_trim=1).max_spacing)

    assert verdicts(fill_line, {**LINE, "spacing": f"{widest * share:.12f} in"})["spacing"] == verdict


@pytest.mark.parametrize(("drop", "verdict"), [("1.25 in", "within"), ("1.2499 in", "outside")])
def test_the_fall_limit_flips_at_a_quarter_inch_in_a_foot(drop: str, verdict: str) -> None:
    assert verdicts(fill_line, {**LINE, "drop": drop, "worst_trim": "0 deg"})["fall"] == verdict


@pytest.mark.parametrize("change", [{"drop": "0 in"}, {"drop": "-1 in"}, {"worst_trim": "5 deg"}])
def test_without_fall_no_spacing_is_close_enough(change: dict[str, str]) -> None:
    worked = work(Calculator.of(fill_line), {**LINE, "spacing": "0.1 in", **change})

    assert worked.outcome.values["max_spacing"] == NoAnswer("no fall is left at the worst trim")
    assert worked.limits[0].verdict == "outside"


@pytest.mark.parametrize(
    ("given", "parameter"),
    [
        ({"bore": "0 in"}, "bore"),
        ({"outside_diameter": "1.5 in"}, "outside_diameter"),
        ({"hose_mass": "-1 lb/ft"}, "hose_mass"),
        ({"bending_stiffness": "0 lbf*in^2"}, "bending_stiffness"),
        ({"liquid_density": "0 lb/gal"}, "liquid_density"),
        ({"run": "0 in"}, "run"),
        ({"spacing": "0 in"}, "spacing"),
        ({"min_fall": "-1 in/ft"}, "min_fall"),
        ({"creep": "0.9"}, "creep"),
        ({"worst_trim": "-1 deg"}, "worst_trim"),
    ],
)
def test_a_hose_run_that_cannot_be_is_refused_by_name(given: dict[str, str], parameter: str) -> None:
    refused(fill_line, {**LINE, **given}, parameter)


def refused(function: Any, given: dict[str, str], parameter: str) -> None:
    with pytest.raises(BookError) as found:
        work(Calculator.of(function), given)

    (problem,) = found.value.problems
    assert parameter in problem.what
    assert problem.fix


bores = st.floats(0.2, 2)
lengths = st.floats(0, 30)
rates = st.floats(0.05, 60)
losses = st.floats(0, 10)


@given(bores, lengths, rates, losses)
def test_back_pressure_is_that_of_another_library(bore: float, length: float, rate: float, k: float) -> None:
    found = vent(bore, length, rate, fitting_losses=k)

    assert found.back_pressure == pytest.approx(
        lost(rate, bore, length, k, 0.00006, 2.0, 1.2e-5), rel=1e-9, abs=1e-15
    )


@given(st.floats(0.75, 2.5), lengths, rates, losses)
def test_fill_loss_is_that_of_another_library(bore: float, length: float, rate: float, k: float) -> None:
    found = vent(fill_rate=rate, fill_bore=bore, fill_length=length, fill_losses=k)

    expected = lost(rate, bore, length, k, 0.00006, 6.18 * LB_PER_GAL, 5e-4)
    assert found.fill_loss == pytest.approx(expected, rel=1e-9, abs=1e-15)


@given(bores, lengths, rates, losses, st.floats(1, 3))
def test_back_pressure_rises_with_rate_and_length_and_falls_with_bore(
    bore: float, length: float, rate: float, k: float, more: float
) -> None:
    here = vent(bore, length, rate, fitting_losses=k).back_pressure
    least, most = here * (1 - 1e-12), here * (1 + 1e-12)

    assert vent(bore, length, rate * more, fitting_losses=k).back_pressure >= least
    assert vent(bore, length * more, rate, fitting_losses=k).back_pressure >= least
    assert vent(bore, length, rate, fitting_losses=k * more).back_pressure >= least
    assert vent(bore * more, length, rate, fitting_losses=k).back_pressure <= most


@settings(deadline=None)
@given(st.floats(0.5, 30), rates, st.floats(0.5, 10), st.floats(0.05, 10))
def test_the_needed_bore_is_the_root_of_another_finder_and_library(
    length: float, rate: float, k: float, label: float
) -> None:
    def excess(bore: float) -> float:
        return lost(rate, bore, length, k, 0.00006, 2.0, 1.2e-5) - 0.8 * label

    needed = known(vent(0.5, length, rate, label, service="water", fitting_losses=k).needed_bore)

    assert needed == pytest.approx(brentq(excess, 0.002, 50, xtol=1e-14, rtol=1e-13), rel=1e-8)


@settings(deadline=None)
@given(
    st.sampled_from(["fuel", "water", "waste"]),
    st.floats(0.5, 30),
    rates,
    st.floats(0.02, 5),
    st.floats(0.2, 60),
    st.sampled_from([0.0, 0.3, 0.5625]),
)
def test_at_the_needed_bore_every_limit_holds_and_just_below_it_one_does_not(
    service: str, length: float, rate: float, label: float, height: float, least: float
) -> None:
    def given_at(bore: float) -> VentSize:
        return fuel_vent(
            bore,
            length=length,
            fill_rate=rate,
            label_pressure=label,
            service=service,
            nozzle_height=height,
            min_bore=least,
        )

    def holds(bore: float) -> bool:
        at = given_at(bore)
        within = at.back_pressure <= at.allowed_back_pressure * (1 + 1e-12)
        if service != "fuel":
            return within
        spits = at.back_pressure + known(at.fill_loss) > known(at.nozzle_pressure) * (1 + 1e-12)
        return within and not spits and bore >= least

    needed = given_at(0.5).needed_bore
    if isinstance(needed, NoAnswer):
        assert known(given_at(0.5).fill_loss) >= known(given_at(0.5).nozzle_pressure)
        assert not holds(1000)
        return

    assert holds(needed)
    assert not holds(needed * (1 - 1e-9))


def test_the_needed_bore_steps_over_the_jump_from_laminar_to_turbulent() -> None:
    # 0.5 gal/min is at Reynolds 2040 in the bore d; just below it friction jumps up by half.
    d = 4 * 0.5 * GAL / 60 * 2.0 / (math.pi * 1.2e-5 * 2040) / IN
    laminar, turbulent = (
        vent(d * share, 20, 0.5, fitting_losses=0).back_pressure for share in (1 + 1e-9, 1 - 1e-9)
    )
    assert turbulent > 1.4 * laminar

    between = (laminar + turbulent) / 2 / 0.8
    found = vent(1, 20, 0.5, between, service="water", fitting_losses=0)

    assert found.needed_bore == pytest.approx(d, rel=1e-9)


@pytest.mark.parametrize("missing", ["nozzle_height", "fill_bore", "fill_length"])
def test_spit_back_cannot_be_told_without_the_fill(missing: str) -> None:
    given = {name: text for name, text in VENT.items() if name != missing}
    worked = work(Calculator.of(vent_size), given)

    assert isinstance(worked.outcome.values["needed_bore"], NoAnswer)
    assert missing in worked.outcome.values["needed_bore"].why
    assert verdicts(vent_size, given) == {
        "back_pressure": "within",
        "spit_back": "cannot tell",
        "min_bore": "within",
    }


@pytest.mark.parametrize("service", ["water", "waste"])
def test_only_a_fuel_vent_is_judged_by_spit_back_and_the_guidance(service: str) -> None:
    given = {**VENT, "service": service, "bore": "0.3 in", "nozzle_height": "0.1 in"}

    assert verdicts(vent_size, given) == {"back_pressure": "within"}


def test_a_fill_hose_too_narrow_for_its_head_is_beyond_any_vent() -> None:
    found = fuel_vent(fill_bore=0.5)

    assert isinstance(found.needed_bore, NoAnswer)
    assert "no vent helps" in found.needed_bore.why
    assert verdicts(vent_size, {**VENT, "fill_bore": "0.5 in"})["spit_back"] == "outside"


@pytest.mark.parametrize(("share", "verdict"), [(1 + 1e-9, "within"), (1 - 1e-8, "outside")])
def test_the_back_pressure_limit_flips_at_the_share_of_the_label(share: float, verdict: str) -> None:
    label = vent(0.3).back_pressure / 0.8 * share

    assert verdicts(vent_size, {**VENT, "bore": "0.3 in", "label_pressure": f"{label:.14f} psi"})[
        "back_pressure"
    ] == (verdict)


@pytest.mark.parametrize(("share", "verdict"), [(1 + 1e-9, "within"), (1 - 1e-8, "outside")])
def test_the_spit_back_limit_flips_where_the_head_is_used_up(share: float, verdict: str) -> None:
    found = fuel_vent()
    height = (found.back_pressure + known(found.fill_loss)) * PSI / (6.18 * LB_PER_GAL * G) / IN * share

    assert verdicts(vent_size, {**VENT, "nozzle_height": f"{height:.12f} in"})["spit_back"] == verdict


@pytest.mark.parametrize(("bore", "verdict"), [("9/16 in", "within"), ("0.5624 in", "outside")])
def test_the_guidance_flips_at_nine_sixteenths(bore: str, verdict: str) -> None:
    assert verdicts(vent_size, {**VENT, "bore": bore})["min_bore"] == verdict


def test_gas_so_fast_that_it_is_squeezed_is_remarked() -> None:
    slow, fast = (
        work(Calculator.of(vent_size), {**VENT, "bore": bore}).outcome.remarks
        for bore in ("9/16 in", "0.12 in")
    )

    assert not slow
    assert [remark.name for remark in fast] == ["velocity"]


@pytest.mark.parametrize(
    ("given", "parameter"),
    [
        ({"bore": "0 in"}, "bore"),
        ({"length": "-1 ft"}, "length"),
        ({"fill_rate": "0 gal/min"}, "fill_rate"),
        ({"label_pressure": "0 psi"}, "label_pressure"),
        ({"fitting_losses": "-1"}, "fitting_losses"),
        ({"roughness": "-1 um"}, "roughness"),
        ({"roughness": "0.03 in"}, "roughness"),
        ({"bore": "2 in", "roughness": "0.08 in"}, "roughness"),
        ({"gas_density": "0 kg/m^3"}, "gas_density"),
        ({"gas_viscosity": "0 Pa*s"}, "gas_viscosity"),
        ({"label_share": "0 %"}, "label_share"),
        ({"label_share": "101 %"}, "label_share"),
        ({"nozzle_height": "0 in"}, "nozzle_height"),
        ({"fill_bore": "0 in"}, "fill_bore"),
        ({"fill_length": "-1 ft"}, "fill_length"),
        ({"fill_losses": "-1"}, "fill_losses"),
        ({"liquid_density": "0 lb/gal"}, "liquid_density"),
        ({"liquid_viscosity": "0 Pa*s"}, "liquid_viscosity"),
        ({"min_bore": "-1 in"}, "min_bore"),
    ],
)
def test_a_vent_that_cannot_be_is_refused_by_name(given: dict[str, str], parameter: str) -> None:
    refused(vent_size, {**VENT, **given}, parameter)


@pytest.mark.parametrize(
    ("function", "shop", "metric"),
    [
        (
            fill_line,
            LINE,
            {
                "bore": "38.1 mm",
                "outside_diameter": "50.8 mm",
                "liquid_density": "46.2296103896103896 lb/ft^3",
                "run": "1.524 m",
                "drop": "101.6 mm",
                "spacing": "1 ft",
            },
        ),
        (
            vent_size,
            VENT,
            {
                "bore": "14.2875 mm",
                "length": "2.4384 m",
                "fill_rate": "720 gph",
                "nozzle_height": "609.6 mm",
                "fill_bore": "38.1 mm",
                "fill_length": "72 in",
                "gas_density": "0.002 kg/L",
                "gas_viscosity": "0.012 cP",
            },
        ),
    ],
    ids=["fill_line", "vent_size"],
)
def test_units_never_change_the_answer(function: Any, shop: dict[str, str], metric: dict[str, str]) -> None:
    one, other = (work(Calculator.of(function), given).outcome.values for given in (shop, {**shop, **metric}))

    for name, value in one.items():
        assert float(other[name].value) == pytest.approx(float(value.value), rel=1e-11), name
