"""Drain times against another library and closed forms, and what must hold of any box and drain."""

from __future__ import annotations

import math
from collections.abc import Callable
from itertools import pairwise
from typing import Any

import fluids
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
from kb_calculators.water.box_drain import BoxDrain, box_drain

BOX = shaped("box", {"width": 22, "height": 14})
TRAPEZOID = shaped("trapezoid", {"width_top": 20, "width_bottom": 12, "height": 16})
VEE = shaped("vee", {"width": 40, "height": 6, "vee_depth": 7})
ROUND = shaped("round", {"diameter": 18})
STEPPED = Section(((0, 0), (8, 0), (8, 5), (20, 5), (20, 12), (0, 12)))
FT, IN, G = 0.3048, 0.0254, 9.80665
GAL_PER_MIN = 231 * IN**3 / 60
SEA = 64 * 0.45359237 / FT**3

BOXES: list[tuple[Section, Callable[[float], float], float, list[float]]] = [
    (BOX, lambda z: 22.0, 14, []),
    (TRAPEZOID, lambda z: 12 + z / 2, 16, []),
    (VEE, lambda z: 40 * min(1.0, z / 7), 13, [7]),
    (ROUND, lambda z: 2 * math.sqrt(max(z * (18 - z), 0)), 18, []),
    (STEPPED, lambda z: 8.0 if z < 5 else 20.0, 12, [5]),
]
"""Sections with their width at a level by hand, their top, and the levels at which it bends or jumps."""


def drained(section: Section = BOX, depth: float = 10, bore: float = 1.5, **more: Any) -> BoxDrain:
    return box_drain(section, depth=depth, drain_bore=bore, **{"length": 60, "max_time": 300, **more})


def seconds(found: BoxDrain) -> float:
    assert not isinstance(found.time, NoAnswer), found.time.why
    return found.time


def torricelli(head: float, area: float, coefficient: float = 0.61) -> float:
    """Return the flow (gal/min) of a bare opening under a head (in)."""
    return coefficient * area * IN**2 * math.sqrt(2 * G * head * IN) / GAL_PER_MIN


def by_hose(head: float, bore: float, length: float, k: float, viscosity: float) -> float:
    """Return the flow (gal/min) of a hose under a head (in), its outlet lost as K = 1, by another library."""
    area = math.pi * (bore * IN) ** 2 / 4

    def lacking(velocity: float) -> float:
        reynolds = fluids.Reynolds(velocity, bore * IN, SEA, mu=viscosity)
        factor = fluids.friction_factor(Re=reynolds, eD=0.0012 / bore)
        k_all = fluids.K_from_f(factor, length * FT, bore * IN) + k + 1
        return float(fluids.head_from_K(k_all, velocity) / IN - head)

    return float(brentq(lacking, 1e-12, 20, xtol=1e-15) * area / GAL_PER_MIN)


def summed(
    flow: Callable[[float], float],
    width: Callable[[float], float],
    marks: list[float],
    base: float,
) -> float:
    """Return the time (s) over the root of the head, in which neither Torricelli nor a hose has a pole."""

    def per_root(root: float) -> float:
        return width(base + root**2) * 60 / 231 / flow(root**2) * 60 * 2 * root

    roots = [math.sqrt(one - base) for one in marks]
    return sum(float(quad(per_root, a, b, epsrel=1e-9)[0]) for a, b in pairwise(roots))


@pytest.mark.parametrize(("outside", "end"), [(None, 0.0), (None, 0.7), (0.5, 0.7)])
@pytest.mark.parametrize(("section", "width", "top", "bends"), BOXES)
def test_a_bare_opening_drains_in_the_integral_of_torricelli(
    section: Section,
    width: Callable[[float], float],
    top: float,
    bends: list[float],
    outside: float | None,
    end: float,
) -> None:
    area = math.pi * 1.5**2 / 4
    expected = summed(lambda head: torricelli(head, area), width, [end, *bends, top], outside or 0.0)

    found = drained(section, top, outside_level=outside, end_depth=end)

    assert found.time == pytest.approx(expected, rel=1e-7)
    assert found.first_flow == pytest.approx(torricelli(top - (outside or 0), area), rel=1e-12)


@pytest.mark.parametrize(
    ("drop", "outside", "viscosity", "count", "share"),
    [
        (5.0, None, 1.08e-3, 1, 1.0),
        (5.0, -2.0, 1.08e-3, 3, 0.6),
        (5.0, -7.0, 0.02, 2, 1.0),
        (5.0, 0.4, 0.02, 1, 0.9),
        (0.0, None, 1.08e-3, 1, 1.0),
    ],
)
@pytest.mark.parametrize(("section", "width", "top", "bends"), BOXES)
def test_hoses_drain_in_the_integral_of_another_library(
    section: Section,
    width: Callable[[float], float],
    top: float,
    bends: list[float],
    drop: float,
    outside: float | None,
    viscosity: float,
    count: int,
    share: float,
) -> None:
    base = -drop if outside is None else max(-drop, outside)

    def flow(head: float) -> float:
        return count * share * by_hose(head, 1.25, 4, 0.5, viscosity)

    expected = summed(flow, width, [0.7, *bends, top], base)

    found = drained(
        section, top, 1.25, end_depth=0.7, hose_length=4, outlet_drop=drop, outside_level=outside,
        viscosity=viscosity, drains=count, open_share=100 * share,
    )  # fmt: skip

    assert found.time == pytest.approx(expected, rel=1e-6)
    assert found.first_flow == pytest.approx(flow(top - base), rel=1e-9)


def test_the_level_that_falls_by_a_solver_is_there_at_the_time() -> None:
    found = drained(ROUND, 16, 1.25, end_depth=3, hose_length=4, outlet_drop=6)

    def falling(_: float, level: list[float]) -> list[float]:
        area = 2 * math.sqrt(level[0] * (18 - level[0])) * 60
        return [-by_hose(level[0] + 6, 1.25, 4, 0.5, 1.08e-3) * 231 / 60 / area]

    path = solve_ivp(falling, (0, seconds(found)), [16.0], rtol=1e-9, atol=1e-9)

    assert path.y[0][-1] == pytest.approx(3, abs=1e-6)


@given(st.floats(0.1, 14), st.floats(0, 0.99), st.floats(0.3, 6), st.floats(0.3, 1), st.integers(1, 6))
def test_a_box_follows_the_closed_form(
    depth: float, share: float, bore: float, coefficient: float, drains: int
) -> None:
    end = depth * share
    openings = drains * coefficient * math.pi * bore**2 / 4
    fall = math.sqrt(depth) - math.sqrt(end)
    expected = 2 * 22 * 60 * fall / (openings * math.sqrt(2 * G / IN))

    found = drained(depth=depth, bore=bore, end_depth=end, coefficient=coefficient, drains=drains)

    assert found.time == pytest.approx(expected, rel=1e-8)
    assert found.volume == pytest.approx(22 * 60 * (depth - end) / 231, rel=1e-9)


@given(st.floats(0.1, 7), st.floats(0.3, 6))
def test_a_vee_follows_the_closed_form_down_to_its_keel(depth: float, bore: float) -> None:
    expected = 4 * 60 * depth**1.5 * (20 / 7) / (3 * 0.61 * math.pi * bore**2 / 4 * math.sqrt(2 * G / IN))

    assert drained(VEE, depth, bore).time == pytest.approx(expected, rel=1e-8)


@given(st.floats(0.1, 18), st.floats(0.3, 6))
def test_a_lying_cylinder_follows_the_closed_form(depth: float, bore: float) -> None:
    gone = 18**1.5 - (18 - depth) ** 1.5
    expected = 4 * 60 * gone / (3 * 0.61 * math.pi * bore**2 / 4 * math.sqrt(2 * G / IN))

    assert drained(ROUND, depth, bore).time == pytest.approx(expected, rel=1e-7)


@settings(deadline=None, max_examples=25)
@given(
    st.sampled_from([one[0] for one in BOXES]), st.floats(1, 11), st.floats(0.5, 3), st.sampled_from([0, 4])
)
def test_a_stop_on_the_way_adds_nothing(
    section: Section, stop: float, bore: float, hose_length: float
) -> None:
    whole, upper, lower = (
        drained(section, depth, bore, end_depth=end, hose_length=hose_length)
        for depth, end in ((11.5, 0.5), (11.5, stop), (stop, 0.5))
    )

    assert seconds(whole) == pytest.approx(seconds(upper) + seconds(lower), rel=1e-7)
    assert whole.volume == pytest.approx(upper.volume + lower.volume, rel=1e-9)


@settings(deadline=None, max_examples=25)
@given(st.floats(3, 14), st.floats(0.5, 3), st.floats(0.1, 20), st.floats(0, 5), st.floats(0.01, 5))
def test_time_never_falls_with_depth_hose_fittings_dirt_outside_water_or_a_smaller_bore(
    depth: float, bore: float, hose: float, k: float, more: float
) -> None:
    def time(
        depth: float = depth, bore: float = bore, hose: float = hose, k: float = k, **rest: Any
    ) -> float:
        fixed = {"outlet_drop": 4.0, "end_depth": 1.0, **rest}
        return seconds(drained(shaped("box", {"width": 22, "height": 30}), depth, bore, hose_length=hose,
                               fitting_losses=k, **fixed))  # fmt: skip

    least = time() * (1 - 1e-9)

    assert time(depth=depth + more) >= least
    assert time(bore=bore / (1 + more / 10)) >= least
    assert time(hose=hose + more) >= least
    assert time(k=k + more) >= least
    assert time(open_share=100 / (1 + more)) >= least
    assert time(outlet_drop=4 / (1 + more)) >= least
    assert time(outside_level=-4 + 0.9 * more) >= least


@settings(deadline=None, max_examples=20)
@given(st.sampled_from([0.0, 4.0]), st.integers(2, 8))
def test_twice_the_drains_take_half_the_time_and_half_a_grating_twice(hose: float, drains: int) -> None:
    one = drained(end_depth=1, hose_length=hose)
    many = drained(end_depth=1, hose_length=hose, drains=drains)
    closed = drained(end_depth=1, hose_length=hose, drains=drains, open_share=100 / drains)

    assert seconds(many) == pytest.approx(seconds(one) / drains, rel=1e-9)
    assert seconds(closed) == pytest.approx(seconds(one), rel=1e-9)
    assert closed.first_flow == pytest.approx(one.first_flow, rel=1e-9)


def test_an_outlet_lower_down_pulls_harder_but_not_below_the_water_outside() -> None:
    hose: dict[str, Any] = {"hose_length": 3, "end_depth": 1}
    level, low = drained(**hose), drained(**hose, outlet_drop=6)
    drowned = drained(**hose, outlet_drop=6, outside_level=0)
    clear = drained(**hose, outlet_drop=6, outside_level=-6.5)

    assert seconds(low) < seconds(level)
    assert drowned.time == level.time
    assert clear.time == low.time


@pytest.mark.parametrize("hose", [{}, {"hose_length": 4.0, "outlet_drop": 3.0}])
def test_a_box_never_drains_to_the_water_outside(hose: dict[str, Any]) -> None:
    at, above = (drained(end_depth=2, outside_level=one, **hose) for one in (2, 5))

    assert isinstance(at.time, NoAnswer)
    assert at.time.why == "it never falls to 2 in: the water outside stands at 2 in"
    assert isinstance(above.time, NoAnswer)
    assert not isinstance(above.first_flow, NoAnswer)
    assert seconds(drained(end_depth=2, outside_level=1.999, **hose)) > 0


def test_water_outside_above_the_water_inside_runs_in() -> None:
    found = drained(depth=4, outside_level=4)

    assert isinstance(found.first_flow, NoAnswer)
    assert found.first_flow.why == "the water outside, at 4 in, stands as high: it runs in, not out"
    assert isinstance(found.time, NoAnswer)


def test_a_level_hose_asks_for_a_depth_that_counts_as_empty() -> None:
    found = drained(hose_length=3)

    assert isinstance(found.time, NoAnswer)
    assert "end_depth" in found.time.why
    assert "outlet_drop" in found.time.why
    assert seconds(drained(hose_length=3, end_depth=0.25)) > 0
    assert seconds(drained(hose_length=3, outlet_drop=0.25)) > 0


def test_a_short_hose_is_never_faster_than_free_fall() -> None:
    area = math.pi * 1.5**2 / 4

    found = drained(hose_length=1e-6, fitting_losses=0).first_flow

    assert found == pytest.approx(torricelli(10, area, 1.0), rel=1e-4)


def test_an_outlet_below_the_floor_without_a_hose_is_refused() -> None:
    with pytest.raises(Refusal, match="outlet_drop needs a hose"):
        drained(outlet_drop=3)


TEXTS = {
    "section": "{shape: box, width: 22 in, height: 14 in}",
    "length": "60 in",
    "depth": "10 in",
    "drain_bore": "1 1/2 in",
    "max_time": "300 s",
}


def verdict(**more: str) -> str:
    (limit,) = work(Calculator.of(box_drain), {**TEXTS, **more}).limits
    return limit.verdict


def test_the_time_limit_flips_at_the_time() -> None:
    time = seconds(drained())

    assert verdict(max_time=f"{time * (1 + 1e-9):.9f} s") == "within"
    assert verdict(max_time=f"{time * (1 - 1e-9):.9f} s") == "outside"


@pytest.mark.parametrize(
    "given", [{"outside_level": "0 in"}, {"outside_level": "11 in"}, {"hose_length": "3 ft"}]
)
def test_no_time_is_outside_however_long_is_allowed(given: dict[str, str]) -> None:
    assert verdict(**given, max_time="1e6 s") == "outside"


@pytest.mark.parametrize(
    ("given", "parameter", "words"),
    [
        ({"length": "0 in"}, "length", "above 0"),
        ({"depth": "0 in"}, "depth", "above 0"),
        ({"depth": "14.01 in"}, "depth", "at most 14 in"),
        ({"end_depth": "10 in"}, "end_depth", "less than 10 in"),
        ({"end_depth": "-1 in"}, "end_depth", "at least 0"),
        ({"drain_bore": "0 in"}, "drain_bore", "above 0"),
        ({"drains": "0"}, "drains", "at least 1"),
        ({"coefficient": "0"}, "coefficient", "above 0"),
        ({"coefficient": "1.01"}, "coefficient", "at most 1"),
        ({"hose_length": "-1 ft"}, "hose_length", "at least 0"),
        ({"fitting_losses": "-1"}, "fitting_losses", "at least 0"),
        ({"roughness": "-1 mil"}, "roughness", "at least 0"),
        ({"roughness": "0.08 in", "hose_length": "1 ft"}, "roughness", "at most 0.075 in"),
        ({"open_share": "0 %"}, "open_share", "above 0"),
        ({"open_share": "101 %"}, "open_share", "at most 100"),
        ({"outlet_drop": "-1 in"}, "outlet_drop", "at least 0"),
        ({"outlet_drop": "1 in"}, "outlet_drop", "hose_length"),
        ({"liquid_density": "0 lb/ft^3"}, "liquid_density", "above 0"),
        ({"viscosity": "0 Pa*s"}, "viscosity", "above 0"),
        ({"max_time": "0 s"}, "max_time", "above 0"),
    ],
)
def test_what_cannot_be_is_refused_by_name_with_what_is_possible(
    given: dict[str, str], parameter: str, words: str
) -> None:
    with pytest.raises(BookError) as refused:
        work(Calculator.of(box_drain), {**TEXTS, **given})

    (problem,) = refused.value.problems
    assert parameter in problem.what
    assert words in f"{problem.what} {problem.fix}"


def test_an_opening_sharper_than_sharp_stands_with_a_remark() -> None:
    (remark,) = work(Calculator.of(box_drain), {**TEXTS, "coefficient": "0.5"}).outcome.remarks

    assert remark.name == "coefficient"


def test_a_depth_at_the_very_top_is_taken_in_any_unit() -> None:
    for depth in ("14 in", "355.6 mm", "0.3556 m"):
        found = work(Calculator.of(box_drain), {**TEXTS, "depth": depth}).outcome

        assert float(found.values["volume"].value) == pytest.approx(80)


def test_units_never_change_the_answer() -> None:
    inches = {**TEXTS, "hose_length": "3 ft", "outlet_drop": "4 in", "outside_level": "-1 in"}
    metric = {
        "section": "{shape: box, width: 558.8 mm, height: 355.6 mm}",
        "length": "1524 mm",
        "depth": "254 mm",
        "drain_bore": "38.1 mm",
        "hose_length": "914.4 mm",
        "outlet_drop": "101.6 mm",
        "outside_level": "-25.4 mm",
        "viscosity": "1.08 cP",
        "max_time": "5 min",
    }
    one, other = (work(Calculator.of(box_drain), given).outcome.values for given in (inches, metric))

    for name, value in one.items():
        assert float(other[name].value) == pytest.approx(float(value.value), rel=1e-10), name


@pytest.mark.parametrize(
    "given",
    [
        {"length": 6e7},
        {"length": 6e-5},
        {"bore": 1.5e6},
        {"bore": 1.5e-6},
        {"depth": 1e-6},
        {"hose_length": 4e6, "outlet_drop": 1e-6},
        {"hose_length": 4, "outlet_drop": 1e6},
        {"hose_length": 4, "outlet_drop": 3, "viscosity": 1e3},
        {"hose_length": 4, "outlet_drop": 3, "liquid_density": 6.4e7},
        {"hose_length": 4, "end_depth": 1e-6, "fitting_losses": 5e5},
    ],
)
def test_huge_and_tiny_inputs_give_a_number(given: dict[str, Any]) -> None:
    assert 0 < seconds(drained(VEE, **given)) < math.inf
