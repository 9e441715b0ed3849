"""Where a hull floats: back to the plane it came from, weights on a mesh in balance, laws of any hull."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
import trimesh
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from kb import Refusal
from kb.calculators.declare import Calculator
from kb.calculators.work import Worked, work
from kb.problem import BookError
from kb_calculators.hull import OffsetRow
from kb_calculators.weights.float_plane import FloatPlane, float_plane
from kb_calculators.weights.hydrostatics import hydrostatics
from tests.calculators.test_hydrostatics import boat, box

BOAT, BOX = boat(), box()
TEXTS = {
    "offsets": "[[0 ft, 0 in, 4 ft], [0 ft, 40 in, 4 ft], [30 ft, 0 in, 4 ft], [30 ft, 40 in, 4 ft]]",
    "mass": "30720 lb",
    "x": "15 ft",
    "z": "2.5 ft",
}

masses = st.floats(3000, 16000)
centres = st.floats(85, 125)
heights = st.floats(15, 50)


def afloat(mass: float = 6400, x: float = 105, z: float = 30, **more: Any) -> FloatPlane:
    return float_plane(BOAT, mass, x, z, **more)


def plane_or_reason(mass: float, x: float, z: float) -> FloatPlane | Refusal:
    try:
        return afloat(mass, x, z)
    except Refusal as refusal:
        return refusal


def worked(**more: str) -> Worked:
    return work(Calculator.of(float_plane), {**TEXTS, **more})


@settings(deadline=None)
@given(st.floats(4, 30), st.floats(-3, 4), heights, st.floats(55, 70))
def test_she_comes_back_to_the_plane_whose_displacement_and_centre_she_is_given(
    draft: float, trim: float, z: float, rho: float
) -> None:
    plane = hydrostatics(BOAT, draft, trim, water_density=rho)
    x = plane.lcb - (plane.kb - z) * math.tan(math.radians(trim))
    assume(0 < x < 300)

    found = float_plane(BOAT, plane.displacement, x, z, rho)

    assert found.draft == pytest.approx(draft, abs=1e-6)
    assert found.trim == pytest.approx(trim, abs=1e-6)
    assert found.lcb == pytest.approx(plane.lcb, rel=1e-7)
    # at a chine flat the waterplane, and BM with it, jumps: what is found lies on either side of the jump
    near = [hydrostatics(BOAT, draft + shift, trim).bm for shift in (-1e-5, 1e-5)]
    assert min(near) * (1 - 1e-5) <= found.bm <= max(near) * (1 + 1e-5)


@pytest.mark.parametrize(
    ("mass", "x", "z"),
    [(30720, 180, 30), (30720, 170, 30), (20000, 196, 12), (9000, 120, 20), (40000, 181, 38)],
)
def test_on_a_box_of_another_library_weight_and_buoyancy_stand_plumb(mass: float, x: float, z: float) -> None:
    found = float_plane(BOX, mass, x, z)
    tilt = math.radians(found.trim)
    barge = trimesh.creation.box(bounds=[[0, -48, 0], [360, 48, 40]])
    below = barge.slice_plane([0, 0, found.draft], [-math.sin(tilt), 0, -math.cos(tilt)], cap=True)
    upward = np.array([math.sin(tilt), 0, math.cos(tilt)])
    apart = np.array([x, 0, z]) - below.center_mass

    assert below.volume / 12**3 * 64 == pytest.approx(mass, rel=1e-9)
    assert np.linalg.norm(apart - upward * (apart @ upward)) == pytest.approx(0, abs=1e-6)
    assert found.gm == pytest.approx(found.bm - apart @ upward, abs=1e-6)


@settings(deadline=None)
@given(masses, st.floats(1.01, 1.3), heights)
def test_heavier_over_her_centre_of_flotation_she_sinks_deeper(mass: float, more: float, z: float) -> None:
    light = afloat(mass, z=z)
    heavy = afloat(mass * more, z=z)
    middle = 110.0

    def deep(found: FloatPlane) -> float:
        return found.draft - middle * math.tan(math.radians(found.trim))

    assert deep(heavy) > deep(light)


@settings(deadline=None)
@given(masses, centres, st.floats(0.01, 10), heights)
def test_weight_moved_forward_trims_her_bow_down(mass: float, x: float, further: float, z: float) -> None:
    assert afloat(mass, x + further, z).trim < afloat(mass, x, z).trim


@settings(deadline=None)
@given(masses, st.floats(0.1, 10))
def test_weight_brought_down_by_an_inch_adds_an_inch_to_gm_when_level(mass: float, lower: float) -> None:
    level = float_plane(BOX, mass, 180, 30)

    assert level.trim == pytest.approx(0, abs=1e-9)
    assert float_plane(BOX, mass, 180, 30 - lower).gm == pytest.approx(level.gm + lower)


@settings(deadline=None)
@given(st.floats(0.01, 1000), masses, centres)
def test_a_hull_n_times_as_large_with_the_cube_of_the_mass_floats_alike(
    times: float, mass: float, x: float
) -> None:
    rows = tuple(OffsetRow(*(times * one for one in row)) for row in BOAT)
    one, other = afloat(mass, x), float_plane(rows, times**3 * mass, times * x, times * 30)

    assert other.trim == pytest.approx(one.trim, abs=1e-7)
    for name in ("draft", "lcb", "kb", "bm", "gm"):
        assert getattr(other, name) == pytest.approx(times * getattr(one, name), rel=1e-6), name


@settings(deadline=None)
@given(masses, centres)
def test_the_drafts_at_the_ends_lie_on_the_plane(mass: float, x: float) -> None:
    found = afloat(mass, x)

    assert found.draft_aft == found.draft
    assert (found.draft_aft - found.draft_forward) / 300 == pytest.approx(math.tan(math.radians(found.trim)))


@settings(deadline=None, max_examples=60)
@given(st.floats(1e-6, 1e6), st.floats(0, 300), st.floats(-1e3, 1e3))
def test_it_always_ends_with_a_plane_or_a_reason(mass: float, x: float, z: float) -> None:
    found = plane_or_reason(mass, x, z)
    if isinstance(found, Refusal):
        assert found.parameter in ("mass", "x")
        assert found.fix.startswith("give ")
        return
    again = hydrostatics(BOAT, found.draft, found.trim)

    assert again.displacement == pytest.approx(mass, rel=1e-6)
    assert all(math.isfinite(getattr(found, name)) for name in FloatPlane.__slots__)


def test_heavier_than_the_hull_can_hold_she_is_refused_and_just_below_she_is_not() -> None:
    most = 360 * 96 * 40 / 12**3 * 64

    assert float_plane(BOX, most * (1 - 1e-9), 180, 10).draft == pytest.approx(40)
    with pytest.raises(
        Refusal, match="mass sinks her: the hull holds less with the water at its top row"
    ) as no:
        float_plane(BOX, most * 1.001, 180, 10)
    assert no.value.fix == f"give less than {most:g} lb"


@pytest.mark.parametrize(
    ("x", "station", "advice"), [(60, 0, "give more than"), (300, 360, "give less than")]
)
def test_a_centre_of_gravity_that_trims_her_under_is_refused(x: float, station: int, advice: str) -> None:
    with pytest.raises(
        Refusal, match=f"x trims her until the water comes over the top row at x = {station} in"
    ) as no:
        float_plane(BOX, 30720, x, 30)

    assert no.value.fix.startswith(advice)
    bound = float(no.value.fix.removeprefix(advice).split()[0])
    inward = 0.01 if x < 180 else -0.01
    assert float_plane(BOX, 30720, bound + inward, 30).draft <= 40
    with pytest.raises(Refusal, match="x trims her"):
        float_plane(BOX, 30720, bound - inward, 30)


@pytest.mark.parametrize("x", [-0.1, 300.1])
def test_a_centre_of_gravity_off_the_hull_is_refused(x: float) -> None:
    with pytest.raises(Refusal, match="x is off the hull; give from 0 in to 300 in"):
        afloat(x=x)


def test_a_light_shallow_box_that_would_stand_on_end_is_refused() -> None:
    tall = tuple(OffsetRow(x, z, 48) for x in (0, 60) for z in (0, 400))

    with pytest.raises(Refusal, match="x makes her stand at more than 30 deg of trim; give more than"):
        float_plane(tall, 20000, 10, 300)


def test_a_negative_gm_and_a_steep_trim_are_remarked() -> None:
    assert worked().outcome.remarks == ()
    assert [one.name for one in worked(z="45 in").outcome.remarks] == ["gm"]
    assert [one.name for one in worked(mass="9000 lb", x="6 ft", z="10 in").outcome.remarks] == ["trim"]


@pytest.mark.parametrize(
    ("more", "parameter"),
    [
        ({"mass": "0 lb"}, "mass"),
        ({"mass": "60000 lb"}, "mass"),
        ({"x": "31 ft"}, "x"),
        ({"water_density": "0 lb/ft^3"}, "water_density"),
        ({"offsets": "[[0 in, 0 in, 9 in], [0 in, 9 in, 9 in]]"}, "offsets"),
    ],
)
def test_what_cannot_be_is_refused_by_name(more: dict[str, str], parameter: str) -> None:
    with pytest.raises(BookError) as refused:
        worked(**more)

    (problem,) = refused.value.problems
    assert parameter in problem.what
    assert problem.fix
