"""Heights above the water against rotation matrices, and what must hold at any draft, trim and heel."""

from __future__ import annotations

from math import atan, cos, degrees, radians, sin, tan

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.spatial.transform import Rotation

from kb.calculators.declare import Calculator
from kb.calculators.work import Worked, work
from kb.problem import BookError
from kb_calculators.weights.above_water import AboveWater, Point, above_water

places = st.floats(-400, 400)
points = st.builds(
    Point, st.sampled_from(["outlet", "vent", "sole"]), places, places, places, st.floats(-20, 40)
)
tables = st.lists(points, min_size=1, max_size=5).map(tuple)
drafts = st.floats(-20, 60)
trims = st.floats(-30, 30)
heels = st.floats(-60, 60)
small = st.floats(-15, 15)


def height_of(point: Point, draft: float, trim: float = 0.0, heel: float = 0.0) -> float:
    return above_water((point,), draft, trim, heel).lowest


@given(points, drafts, small, st.floats(-50, 50))
def test_height_is_what_a_turned_hull_shows_by_rotation_matrices(
    point: Point, draft: float, pitch: float, roll: float
) -> None:
    # x forward, port, up are right-handed: bow up turns about port backwards, starboard down about x
    turned = Rotation.from_euler("y", -pitch, degrees=True) * Rotation.from_euler("x", roll, degrees=True)
    world = turned.apply([point.x, -point.y, point.z - draft])
    trim = degrees(atan(tan(radians(pitch)) / cos(radians(roll))))

    assert height_of(point, draft, trim, roll) == pytest.approx(world[2], rel=1e-9, abs=1e-9)


@given(points, drafts, trims, heels)
def test_height_is_the_distance_to_the_plane_through_three_points_of_the_water(
    point: Point, draft: float, trim: float, heel: float
) -> None:
    origin = np.array([0, 0, draft])
    aft = np.array([-100, 0, draft + 100 * tan(radians(trim))])
    starboard = np.array([0, 100, draft + 100 * tan(radians(heel))])
    normal = np.cross(starboard - origin, aft - origin)
    upward = normal / np.linalg.norm(normal) * np.sign(normal[2])
    expected = np.dot(np.array([point.x, point.y, point.z]) - origin, upward)

    assert height_of(point, draft, trim, heel) == pytest.approx(expected, rel=1e-9, abs=1e-9)


@given(points, drafts)
def test_level_it_is_z_less_draft(point: Point, draft: float) -> None:
    assert height_of(point, draft) == point.z - draft


@given(points, drafts, trims)
def test_trim_alone_follows_the_closed_form(point: Point, draft: float, trim: float) -> None:
    expected = (point.z - draft) * cos(radians(trim)) + point.x * sin(radians(trim))

    assert height_of(point, draft, trim) == pytest.approx(expected, rel=1e-9, abs=1e-9)


@given(points, drafts, trims, heels)
def test_a_mirrored_point_on_the_other_heel_stands_as_high(
    point: Point, draft: float, trim: float, heel: float
) -> None:
    mirrored = point._replace(y=-point.y)

    assert height_of(mirrored, draft, trim, -heel) == pytest.approx(height_of(point, draft, trim, heel))


def test_starboard_down_brings_starboard_nearer_the_water_and_bow_up_lifts_the_bow() -> None:
    starboard, bow = Point("rail", 0, 40, 30, 0), Point("bow", 250, 0, 30, 0)

    assert height_of(starboard, 16, heel=5) < height_of(starboard, 16) < height_of(starboard, 16, heel=-5)
    assert height_of(bow, 16, trim=-2) < height_of(bow, 16) < height_of(bow, 16, trim=2)


@given(points, drafts, trims, heels, st.floats(0.1, 20))
def test_more_draft_never_lifts_a_point(
    point: Point, draft: float, trim: float, heel: float, more: float
) -> None:
    assert height_of(point, draft + more, trim, heel) < height_of(point, draft, trim, heel)


@given(tables, drafts, trims, heels)
def test_lowest_and_smallest_margin_are_those_of_the_table(
    table: tuple[Point, ...], draft: float, trim: float, heel: float
) -> None:
    found: AboveWater = above_water(table, draft, trim, heel)
    heights = [row.height for row in found.heights]
    margins = [height - point.least for height, point in zip(heights, table, strict=True)]

    assert [row.name for row in found.heights] == [point.name for point in table]
    assert [row.margin for row in found.heights] == margins
    assert (found.lowest, found.least_margin) == (min(heights), min(margins))
    assert found.lowest_name == table[heights.index(min(heights))].name
    assert found.least_margin_name == table[margins.index(min(margins))].name


TEXTS = {
    "points": "[[outlet, 4 in, 26 in, 31 in, 8 in], [vent, 70 in, -46 in, 44 in, 12 in]]",
    "draft": "16 in",
}


def worked(**more: str) -> Worked:
    return work(Calculator.of(above_water), {**TEXTS, **more})


@pytest.mark.parametrize(
    ("draft", "verdict"), [("22.999 in", "within"), ("23 in", "within"), ("23.001 in", "outside")]
)
def test_the_limit_flips_where_the_first_point_comes_to_its_least(draft: str, verdict: str) -> None:
    found = worked(draft=draft)

    assert [limit.verdict for limit in found.limits] == [verdict]


def test_one_point_too_low_among_many_is_enough() -> None:
    rows = ", ".join(f"[p{i}, {i} in, 0 in, 40 in, 5 in]" for i in range(20))

    assert [limit.verdict for limit in worked(points=f"[{rows}]").limits] == ["within"]
    low = f"[{rows}, [low, 3 in, 0 in, 20.9 in, 5 in]]"
    assert [limit.verdict for limit in worked(points=low).limits] == ["outside"]


@pytest.mark.parametrize("size", [1e-6, 1e6])
def test_very_small_and_very_large_hulls_have_heights_as_well(size: float) -> None:
    found = height_of(Point("a", size, size, 3 * size, 0), size, trim=30, heel=60)

    assert found / size == pytest.approx(height_of(Point("a", 1, 1, 3, 0), 1, trim=30, heel=60))


@pytest.mark.parametrize(
    ("texts", "said"),
    [
        ({"trim": "31 deg"}, "trim = 31 deg"),
        ({"trim": "-31 deg"}, "trim = -31 deg"),
        ({"heel": "61 deg"}, "heel = 61 deg"),
        ({"heel": "-61 deg"}, "heel = -61 deg"),
        ({"points": "[[outlet, 4 in, 26 in, 31 in]]"}, "points: this row has 4 cells"),
    ],
)
def test_what_cannot_be_is_refused_by_name(texts: dict[str, str], said: str) -> None:
    with pytest.raises(BookError) as refused:
        worked(**texts)

    (problem,) = refused.value.problems
    assert said in problem.what
    assert problem.fix
