"""What a hull displaces, against meshes cut by another library, double integrals and closed forms."""

from __future__ import annotations

import math
from functools import cache
from itertools import pairwise
from typing import Any

import numpy as np
import pytest
import trimesh
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy.integrate import dblquad

from kb import NoAnswer, Refusal
from kb.calculators.declare import Calculator
from kb.calculators.work import work
from kb.problem import BookError
from kb_calculators.hull import OffsetRow
from kb_calculators.weights.hydrostatics import Hydrostatics, hydrostatics

Rows = tuple[OffsetRow, ...]

STATIONS = (0, 60, 120, 180, 240, 300)
KEEL = ((0, 0), (0, 0), (0, 0), (1, 0), (8, 0), (33, 0))
CHINE = ((15, 42), (15, 42.5), (16, 42), (18, 37), (23, 24), (34, 0.5))
FLAT = ((15, 45), (15, 45.5), (16, 45), (18, 39.5), (23, 26), (34, 1))
SHEER = ((44, 48), (44.5, 50), (45, 50), (47, 48), (50, 42), (55, 2))


def boat(times: float = 1.0) -> Rows:
    """Return the offsets of a vee-bottom boat with a chine flat, grown by a factor."""
    return tuple(
        OffsetRow(times * x, times * z, times * b)
        for i, x in enumerate(STATIONS)
        for z, b in (KEEL[i], CHINE[i], FLAT[i], SHEER[i])
    )


def box(length: float = 360, half: float = 48, top: float = 40) -> Rows:
    return tuple(OffsetRow(x, z, half) for x in (0, length) for z in (0, top))


def wigley(length: float, beam: float, depth: float, bays: int, sides: int) -> Rows:
    return tuple(
        OffsetRow(length / 2 * (x + 1), depth * (1 - z), beam / 2 * (1 - x * x) * (1 - z * z))
        for x in np.linspace(-1, 1, bays + 1)
        for z in np.linspace(1, 0, sides + 1)
    )


@cache
def mesh_of(rows: Rows, pieces: int) -> trimesh.Trimesh:
    """Return a closed mesh of the hull; each bay and each side is cut into so many pieces."""
    xs = sorted({row.x for row in rows})
    table = np.array([[(row.z, row.half_breadth) for row in rows if row.x == x] for x in xs])
    fine_x = np.unique(np.concatenate([np.linspace(a, b, pieces + 1) for a, b in pairwise(xs)]))
    places = np.arange(table.shape[1])
    fine_u = np.linspace(0, places[-1], pieces * places[-1] + 1)
    rings = []
    for x in fine_x:
        line = np.array([[np.interp(x, xs, table[:, j, k]) for k in (0, 1)] for j in places])
        z, y = (np.interp(fine_u, places, line[:, k]) for k in (0, 1))
        side = np.column_stack([np.full_like(y, x), y, z])
        rings.append(np.vstack([side, side[::-1] * [1, -1, 1]]))
    around, along = len(rings[0]), len(rings)
    middle = [ring.mean(axis=0) for ring in (rings[0], rings[-1])]
    points = np.vstack([*rings, *middle])
    faces = []
    for i in range(along - 1):
        for j in range(around):
            a, b = i * around + j, i * around + (j + 1) % around
            faces += [(a, a + around, b), (b, a + around, b + around)]
    for j in range(around):
        k = (j + 1) % around
        last = (along - 1) * around
        faces += [(along * around, j, k), (along * around + 1, last + k, last + j)]
    mesh = trimesh.Trimesh(points, faces, process=False)
    return mesh if mesh.volume > 0 else trimesh.Trimesh(points, [face[::-1] for face in faces], process=False)


def clipped(mesh: trimesh.Trimesh, draft: float, trim: float, heel: float = 0.0) -> trimesh.Trimesh:
    """Return what of a mesh lies below the water; trim and heel in degrees, each by its own tangent."""
    down = [-math.tan(math.radians(trim)), math.tan(math.radians(heel)), -1.0]
    return mesh.slice_plane([0, 0, draft], down, cap=True)


PLANES = [(18, 0), (20, 1.5), (14, -2), (30, 3), (24, -1)]
TEXTS = {
    "offsets": "[[0 ft, 0 in, 4 ft], [0 ft, 40 in, 4 ft], [30 ft, 0 in, 4 ft], [30 ft, 40 in, 4 ft]]",
    "draft": "2 ft",
    "z": "2.5 ft",
}

grown = st.floats(0.05, 20)
drafts = st.floats(6, 26)
trims = st.floats(-2, 3)


@pytest.mark.parametrize(("draft", "trim"), PLANES)
def test_volume_and_its_centre_are_those_of_a_mesh_cut_by_another_library(draft: float, trim: float) -> None:
    found = hydrostatics(boat(), draft, trim)
    below = clipped(mesh_of(boat(), 12), draft, trim)

    assert found.volume == pytest.approx(below.volume / 12**3, rel=1e-6)
    assert found.lcb == pytest.approx(below.center_mass[0], rel=1e-6)
    assert found.kb == pytest.approx(below.center_mass[2], rel=1e-6)


@pytest.mark.parametrize(("draft", "trim"), PLANES)
def test_the_waterplane_is_that_of_a_section_through_the_mesh(draft: float, trim: float) -> None:
    found = hydrostatics(boat(), draft, trim)
    tilt = math.radians(trim)
    cut = mesh_of(boat(), 12).section([math.sin(tilt), 0, math.cos(tilt)], [0, 0, draft])
    assert cut is not None
    flat, back = cut.to_2D()
    (plane,) = flat.polygons_full
    middle = back @ [plane.centroid.x, plane.centroid.y, 0, 1]

    assert found.waterplane == pytest.approx(plane.area / 144, rel=1e-3)
    assert found.lcf == pytest.approx(middle[0], rel=1e-3)


@pytest.mark.parametrize(("draft", "trim"), PLANES)
def test_heeled_a_little_the_centre_of_the_mesh_moves_out_by_bm(draft: float, trim: float) -> None:
    heel, mesh = 0.1, mesh_of(boat(), 12)
    port, starboard = (clipped(mesh, draft, trim, one).center_mass[1] for one in (heel, -heel))
    # the tilt across is told in the upright section; round the trimmed keel it is less by the cosine
    angle = math.radians(heel) * math.cos(math.radians(trim))

    assert hydrostatics(boat(), draft, trim).bm == pytest.approx(abs(port - starboard) / 2 / angle, rel=3e-4)


@pytest.mark.parametrize(("draft", "trim"), PLANES)
def test_trimmed_a_little_the_weight_must_shift_as_the_trim_moment_says(draft: float, trim: float) -> None:
    z, rho, mesh = 30.0, 64.0, mesh_of(boat(), 12)
    found = hydrostatics(boat(), draft, trim, z)
    assert isinstance(found.lcf, float)
    assert isinstance(found.trim_moment, float)
    plumb = found.lcb - (found.kb - z) * math.tan(math.radians(trim))
    righting, drafts_apart = [], []
    for turn in (-0.05, 0.05):
        tilt = math.radians(trim + turn)
        at_lcf = draft - found.lcf * math.tan(math.radians(trim))
        below = clipped(mesh, at_lcf + found.lcf * math.tan(tilt), trim + turn)
        x, _, up = below.center_mass
        arm = (x - plumb) * math.cos(tilt) - (up - z) * math.sin(tilt)
        righting.append(below.volume / 12**3 * rho * arm / 12)
        drafts_apart.append(300 * math.tan(tilt))

    slope = (righting[0] - righting[1]) / (drafts_apart[1] - drafts_apart[0])
    assert found.trim_moment == pytest.approx(slope, rel=2e-3)


@settings(deadline=None, max_examples=12)
@given(
    st.floats(0, 40),
    st.floats(0, 40),
    st.floats(1, 60),
    st.floats(1, 60),
    st.floats(0.1, 30),
    st.floats(-3, 3),
)
def test_a_twisted_bay_holds_what_a_double_integral_says(
    keel: float, chine: float, aft: float, forward: float, height: float, trim: float
) -> None:
    rows = tuple(
        OffsetRow(x, z, b)
        for x, z, b in ((0, 0, keel), (0, 20, aft), (100, 3, chine), (100, 3 + height, forward))
    )
    slope = math.tan(math.radians(trim))
    draft = min(20.0, 3 + height + 100 * slope) - 0.01

    def low(x: float) -> float:
        return 0.03 * x

    def high(x: float) -> float:
        return max(low(x), min(20 + (height - 17) * x / 100, draft - slope * x))

    def half(z: float, x: float) -> float:
        b, c = keel + (chine - keel) * x / 100, aft + (forward - aft) * x / 100
        return b + (c - b) * (z - low(x)) / (20 + (height - 17) * x / 100 - low(x))

    if draft <= min(0.0, 3 + 100 * slope) + 0.1:
        return
    volume, _ = dblquad(half, 0, 100, low, high, epsabs=1e-4, epsrel=1e-7)
    assert hydrostatics(rows, draft, trim).volume == pytest.approx(2 * volume / 12**3, rel=1e-5, abs=1e-6)


def test_a_wigley_hull_comes_to_its_closed_form_as_stations_and_rows_are_doubled() -> None:
    exact = {"volume": 4 / 9 * 360 * 96 * 24 / 12**3, "kb": 15.0, "bm": 3 * 96**2 / 35 / 24, "bml": 405.0}
    wrong = []
    for bays in (20, 40):
        found = hydrostatics(wigley(360, 96, 24, bays, bays), 24)
        wrong.append({name: abs(getattr(found, name) / value - 1) for name, value in exact.items()})

    for name in exact:
        assert wrong[1][name] < 3e-3
        assert wrong[0][name] / wrong[1][name] == pytest.approx(4, rel=0.15)


@given(st.floats(100, 600), st.floats(10, 80), st.floats(-2, 2), st.floats(0.3, 0.7))
def test_a_trimmed_box_follows_its_closed_form(length: float, half: float, trim: float, share: float) -> None:
    slope = math.tan(math.radians(trim))
    draft = 40 * share + slope * length / 2
    ends = sorted((draft, draft - slope * length))
    if ends[0] <= 0 or ends[1] >= 40:
        return
    found = hydrostatics(box(length, half), draft, trim)
    volume = 2 * half * length * 40 * share

    assert found.volume * 12**3 == pytest.approx(volume)
    assert found.lcb == pytest.approx(length / 2 - slope * length**2 / 12 / (40 * share))
    assert found.kb == pytest.approx(20 * share + slope**2 * length**2 / 24 / (40 * share))
    assert found.bml == pytest.approx(half * length**3 / 6 / volume / math.cos(math.radians(trim)) ** 3)


@settings(deadline=None)
@given(grown, drafts, trims)
def test_volume_grows_as_the_cube_and_heights_as_the_size(times: float, draft: float, trim: float) -> None:
    one, other = hydrostatics(boat(), draft, trim), hydrostatics(boat(times), times * draft, trim)

    assert other.volume == pytest.approx(times**3 * one.volume)
    assert other.waterplane == pytest.approx(times**2 * one.waterplane)
    for name in ("lcb", "kb", "bm", "bml", "lcf"):
        assert getattr(other, name) == pytest.approx(times * getattr(one, name)), name


@settings(deadline=None)
@given(drafts, st.floats(0.01, 4), trims)
def test_more_draft_displaces_more_and_the_sink_rate_says_how_much(
    draft: float, more: float, trim: float
) -> None:
    one, other = hydrostatics(boat(), draft, trim), hydrostatics(boat(), draft + more, trim)
    near = hydrostatics(boat(), draft + 1e-5, trim)
    per_inch_of_draft = (near.displacement - one.displacement) / 1e-5

    assert other.volume > one.volume
    assume(near.waterplane == pytest.approx(one.waterplane, rel=1e-4))  # a flat comes under all at once
    assert per_inch_of_draft == pytest.approx(one.sink_rate * math.cos(math.radians(trim)), rel=1e-3)


@given(st.floats(-500, 500), drafts, trims)
def test_where_x_is_measured_from_changes_no_more_than_the_measures(
    shift: float, draft: float, trim: float
) -> None:
    rows = tuple(OffsetRow(row.x + shift, row.z, row.half_breadth) for row in boat())
    one = hydrostatics(boat(), draft, trim, 30)
    other = hydrostatics(rows, draft + shift * math.tan(math.radians(trim)), trim, 30)

    assert other.lcb == pytest.approx(one.lcb + shift, abs=1e-6)
    for name in ("volume", "kb", "bm", "bml", "trim_moment"):
        assert getattr(other, name) == pytest.approx(getattr(one, name), rel=1e-8), name


def test_stations_may_stand_in_any_order() -> None:
    turned = tuple(row for x in (240, 0, 300, 120, 60, 180) for row in boat() if row.x == x)

    assert hydrostatics(turned, 18, 1) == hydrostatics(boat(), 18, 1)


def test_a_chine_flat_counts_only_once_the_water_is_above_it() -> None:
    rows = tuple(OffsetRow(x, z, b) for x in (0, 100) for z, b in ((0, 10), (5, 10), (5, 20), (9, 20)))

    assert hydrostatics(rows, 5).waterplane == pytest.approx(100 * 20 / 144)
    assert hydrostatics(rows, 5 + 1e-9).waterplane == pytest.approx(100 * 40 / 144)
    assert hydrostatics(rows, 5).volume == pytest.approx(100 * 20 * 5 / 12**3)


def test_a_flat_that_opens_into_a_side_just_where_water_comes_to_it_does_no_harm() -> None:
    for draft in np.nextafter(5.0, [0.0, 9.0]):
        for trim in (0.0, 1e-13, -1e-13, 1e-9):
            rows = tuple(
                OffsetRow(x, z, b)
                for x, top in ((0, 5), (90, 7))
                for z, b in ((0, 4), (5, 9), (top, 20), (9, 20))
            )
            assert hydrostatics(rows, draft, trim).volume == pytest.approx(90 * 2 * 32.5 / 12**3)


def test_without_z_there_is_no_trim_moment() -> None:
    found = hydrostatics(box(), 24)

    assert isinstance(found.trim_moment, NoAnswer)
    assert found.trim_moment.why == "z is not given"


def test_a_hull_closed_on_top_has_no_centre_of_flotation_there() -> None:
    rows = tuple(OffsetRow(x, z, b) for x in (0, 100) for z, b in ((0, 10), (5, 10), (9, 0)))

    found = hydrostatics(rows, 9, 0, 3)

    assert isinstance(found.lcf, float | NoAnswer)
    assert found.bm == found.bml == found.sink_rate == 0


@pytest.mark.parametrize("times", [1e-6, 1e6])
def test_sizes_beyond_any_boat_give_finite_answers(times: float) -> None:
    found = hydrostatics(boat(times), 18 * times, 1, 30 * times)

    assert all(math.isfinite(getattr(found, name)) for name in Hydrostatics.__slots__)
    assert found.lcb == pytest.approx(times * hydrostatics(boat(), 18, 1).lcb)


@pytest.mark.parametrize(
    ("rows", "said"),
    [
        (((0, 0, 1), (0, 2, 1)), "one station only, at x = 0 in; give two"),
        (((0, 0, 1), (9, 0, 1)), "one row only at x = 0 in; give two rows"),
        (((0, 0, 1), (0, 2, 1), (9, 0, 1), (9, 1, 1), (9, 2, 1)), "3 rows at x = 9 in and 2 at x = 0 in"),
        (((0, 0, 1), (0, 2, 1), (9, 0, 1), (9, 2, -1)), "half breadth of -1 in at x = 9 in, z = 2 in"),
        (((0, 0, 1), (0, 2, 1), (9, 3, 1), (9, 2, 1)), "falls from z = 3 in to 2 in at x = 9 in"),
        (((0, 0, 1), (0, 2, 1), (9, 2, 1), (9, 2, 1)), "half breadth 1 in twice at x = 9 in; take one away"),
        (((0, 0, 0), (0, 2, 0), (9, 0, 0), (9, 2, 0)), "no half breadth at any station"),
    ],
)
def test_offsets_that_are_no_hull_are_refused_with_their_station(rows: Any, said: str) -> None:
    with pytest.raises(Refusal, match="offsets") as refused:
        hydrostatics(tuple(OffsetRow(*row) for row in rows), 1)

    assert said in str(refused.value)


def test_water_above_a_top_row_is_refused_and_at_it_is_not() -> None:
    highest = 44 + 0 * math.tan(math.radians(2))

    assert hydrostatics(boat(), highest, 2).volume > 0
    with pytest.raises(Refusal) as refused:
        hydrostatics(boat(), 45, 2)
    assert str(refused.value).startswith(
        "draft puts the water 1 in above the top row at x = 0 in; give at most 44 in"
    )


def test_water_that_does_not_reach_the_hull_is_refused() -> None:
    for draft in (0, -1):
        with pytest.raises(Refusal, match="draft leaves the hull clear of the water; give more than 0 in"):
            hydrostatics(boat(), draft)


@pytest.mark.parametrize(
    ("more", "parameter"),
    [
        ({"trim": "31 deg"}, "trim"),
        ({"trim": "-31 deg"}, "trim"),
        ({"water_density": "0 lb/ft^3"}, "water_density"),
        ({"draft": "41 in"}, "draft"),
        ({"draft": "0 in"}, "draft"),
        ({"offsets": "[[0 in, 0 in, 9 in], [9 in, 0 in, 9 in]]"}, "offsets"),
    ],
)
def test_what_cannot_be_is_refused_by_name(more: dict[str, str], parameter: str) -> None:
    with pytest.raises(BookError) as refused:
        work(Calculator.of(hydrostatics), {**TEXTS, **more})

    (problem,) = refused.value.problems
    assert parameter in problem.what
    assert problem.fix


def test_units_never_change_the_answer() -> None:
    metric = {
        "offsets": "[[0 m, 0 m, 1219.2 mm], [0 m, 1016 mm, 1219.2 mm],"
        " [9.144 m, 0 m, 1219.2 mm], [9144 mm, 1016 mm, 1219.2 mm]]",
        "draft": "609.6 mm",
        "z": "0.762 m",
    }
    one, other = (work(Calculator.of(hydrostatics), texts).outcome.values for texts in (TEXTS, metric))

    for name, value in one.items():
        assert float(other[name].value) == pytest.approx(float(value.value), rel=1e-12), name
