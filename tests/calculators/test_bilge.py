"""Water in bilges against meshes, polygons and integrals, and what must hold for any bilge at all."""

from __future__ import annotations

import math
from itertools import pairwise
from typing import Any

import numpy as np
import pytest
import shapely
import trimesh
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad

from kb import NoAnswer, Section
from kb.calculators.declare import Calculator
from kb.calculators.section import Point, shaped
from kb.calculators.work import work
from kb.problem import BookError
from kb_calculators.bilge.standing_water import BilgeWater, bilge_water

BOX = shaped("box", {"width": 24, "height": 14})
TRAPEZOID = shaped("trapezoid", {"width_top": 26, "width_bottom": 14, "height": 16})
SLIM_TRAPEZOID = shaped("trapezoid", {"width_top": 18, "width_bottom": 6, "height": 16})
VEE = shaped("vee", {"width": 40, "height": 6, "vee_depth": 7})
HALF_VEE = shaped("vee", {"width": 20, "height": 3, "vee_depth": 3.5})
FLAT_VEE = shaped("vee", {"width": 22, "height": 8, "vee_depth": 2})
ROUND = shaped("round", {"diameter": 18})

TILTS = [(0, 0), (3, 0), (-3, 0), (0, 8), (4, -6), (-12, 25), (30, -30)]


def water(
    section: Section,
    forward: Section,
    length: float,
    heights: tuple[float, float, float],
    **more: Any,
) -> BilgeWater:
    return bilge_water(section, length, *heights, 100, forward, **more)


def volumes(of: BilgeWater) -> tuple[float, float, float]:
    return of.left_volume, of.on_volume, of.alarm_volume


def gallons_of_mesh(
    aft: Section, forward: Section, length: float, height: float, switch_x: float, trim: float, heel: float
) -> float:
    """Return what a mesh with flat faces holds below the level plane through the switch."""
    ends = ((0.0, aft), (length, forward))
    corners = [(x, y, z) for x, section in ends for y, z in section.points]
    mesh = trimesh.convex.convex_hull(np.array(corners, dtype=float))
    down = [-math.tan(math.radians(trim)), math.tan(math.radians(heel)), -1.0]
    below = trimesh.intersections.slice_mesh_plane(
        mesh, plane_normal=down, plane_origin=(switch_x, 0, height), cap=True
    )
    return float(below.volume) / 231 if len(below.faces) else 0.0


def gallons_of_polygons(
    aft: Section, forward: Section, length: float, height: float, switch_x: float, trim: float, heel: float
) -> float:
    """Return the water below the level plane through the switch from polygons along the bilge."""
    rise = math.tan(math.radians(heel))

    def area(x: float) -> float:
        share = x / length
        points: list[Point] = [
            ((1 - share) * a[0] + share * f[0], (1 - share) * a[1] + share * f[1])
            for a, f in zip(aft.points, forward.points, strict=True)
        ]
        level = height - math.tan(math.radians(trim)) * (x - switch_x)
        sea = [(-99, -999), (99, -999), (99, level + 99 * rise), (-99, level - 99 * rise)]
        return float(shapely.Polygon(points).intersection(shapely.Polygon(sea)).area)

    stations = np.linspace(0, length, 9)
    return sum(quad(area, a, b, epsrel=1e-8)[0] for a, b in pairwise(stations)) / 231


@pytest.mark.parametrize(("trim", "heel"), TILTS)
@pytest.mark.parametrize(
    ("aft", "forward"),
    [(BOX, BOX), (VEE, VEE), (VEE, HALF_VEE), (TRAPEZOID, SLIM_TRAPEZOID)],
    ids=["box", "vee", "tapering vee", "tapering trapezoid"],
)
def test_water_is_that_of_a_mesh_cut_by_the_level_plane(
    aft: Section, forward: Section, trim: float, heel: float
) -> None:
    heights = (0.5, 4.0, 6.2)

    found = volumes(water(aft, forward, 72, heights, switch_x=20, trim=trim, heel=heel))

    expected = [gallons_of_mesh(aft, forward, 72, one, 20, trim, heel) for one in heights]
    assert found == pytest.approx(expected, rel=1e-9, abs=1e-9)


@pytest.mark.parametrize(("trim", "heel"), [(0, 0), (3, 0), (-2, 6), (5, -12)])
def test_a_twisted_bilge_agrees_with_polygons_summed_along_it(trim: float, heel: float) -> None:
    heights = (1.0, 3.0, 6.0)

    found = volumes(water(VEE, FLAT_VEE, 90, heights, switch_x=10, trim=trim, heel=heel))

    expected = [gallons_of_polygons(VEE, FLAT_VEE, 90, one, 10, trim, heel) for one in heights]
    assert found == pytest.approx(expected, rel=1e-6)


def test_a_level_box_holds_width_times_length_times_height() -> None:
    found = water(BOX, BOX, 60, (1, 2, 14))

    assert volumes(found) == pytest.approx([24 * 60 * one / 231 for one in (1, 2, 14)])


def test_a_vee_holds_the_difference_of_two_cubes_when_it_is_trimmed() -> None:
    slope, deadrise = math.tan(math.radians(1.5)), 7 / 20

    def gallons(height: float) -> float:
        forward = max(0.0, height - 72 * slope)
        return (height**3 - forward**3) / (3 * slope * deadrise) / 231

    found = water(VEE, VEE, 72, (1, 3, 6.9), trim=1.5)

    assert volumes(found) == pytest.approx([gallons(one) for one in (1, 3, 6.9)], rel=1e-10)


def test_a_bow_down_bilge_has_its_wedge_at_the_forward_end() -> None:
    found = water(BOX, BOX, 60, (1, 2, 3), trim=-5, switch_x=60)

    expected = [24 * one**2 / (2 * math.tan(math.radians(5))) / 231 for one in (1, 2, 3)]
    assert volumes(found) == pytest.approx(expected, rel=1e-10)


def test_a_heeled_vee_holds_a_triangle_between_its_two_bottoms() -> None:
    slope, deadrise = math.tan(math.radians(6)), 7 / 20

    found = water(VEE, VEE, 50, (1, 2, 4), heel=6)

    triangle = [one**2 / 2 * (1 / (deadrise - slope) + 1 / (deadrise + slope)) for one in (1, 2, 4)]
    assert volumes(found) == pytest.approx([50 * one / 231 for one in triangle], rel=1e-10)


def test_a_switch_that_the_water_does_not_reach_leaves_the_bilge_dry() -> None:
    found = water(BOX, BOX, 60, (0, 0, 1), trim=4)

    assert (found.left_volume, found.left_mass) == (0, 0)


def test_drain_back_is_bore_area_times_length() -> None:
    found = water(BOX, BOX, 60, (1, 2, 3), hose_bore=1.125, hose_length=11)

    assert found.drain_back == pytest.approx(math.pi * (1.125 / 2) ** 2 * 11 * 12 / 231)


@pytest.mark.parametrize("missing", ["hose_bore", "hose_length"])
def test_half_a_hose_has_no_drain_back_and_says_what_is_missing(missing: str) -> None:
    hose = {"hose_bore": 1.0, "hose_length": 10.0}
    del hose[missing]

    found = water(BOX, BOX, 60, (1, 2, 3), **hose).drain_back

    assert isinstance(found, NoAnswer)
    assert found.why == f"{missing} not given"


sizes = st.floats(4, 60)
shares = st.floats(0, 1)
angles = st.floats(-30, 30)
boxy = st.builds(lambda w, h: shaped("box", {"width": w, "height": h}), sizes, sizes) | st.builds(
    lambda t, b, h: shaped("trapezoid", {"width_top": t, "width_bottom": b, "height": h}), sizes, sizes, sizes
)
vees = st.builds(
    lambda w, h, v: shaped("vee", {"width": w, "height": h, "vee_depth": v}), sizes, sizes, sizes
)
rounds = st.builds(lambda d: shaped("round", {"diameter": d}), sizes)
pairs = st.tuples(boxy, boxy) | st.tuples(vees, vees) | st.tuples(rounds, rounds)


def top(section: Section) -> float:
    return section.diameter or max(z for _, z in section.points)


@settings(deadline=None, max_examples=60)
@given(pairs, sizes, angles, angles, shares, st.tuples(shares, shares, shares))
def test_volumes_add_up_and_never_fall_as_the_switch_goes_up(
    pair: tuple[Section, Section],
    length: float,
    trim: float,
    heel: float,
    at: float,
    of_top: tuple[float, float, float],
) -> None:
    deepest = min(map(top, pair))
    off, on, alarm = sorted(one * deepest for one in of_top)

    found = water(*pair, length, (off, on, alarm), trim=trim, heel=heel, switch_x=at * length)

    slack = 1e-10 * max(found.alarm_volume, 1.0)
    assert 0 <= found.left_volume <= found.on_volume + slack <= found.alarm_volume + 2 * slack
    assert found.cycle_volume == found.on_volume - found.left_volume
    assert found.left_mass == pytest.approx(found.left_volume * 231 / 1728 * 64)


@settings(deadline=None, max_examples=30)
@given(pairs, sizes, angles, angles, shares)
def test_heel_to_either_side_is_the_same(
    pair: tuple[Section, Section], length: float, trim: float, heel: float, share: float
) -> None:
    height = share * min(map(top, pair))
    one, other = (
        water(*pair, length, (height, height, height), trim=trim, heel=way) for way in (heel, -heel)
    )

    assert one.left_volume == pytest.approx(other.left_volume, rel=1e-9, abs=1e-9)


def texts(**more: str) -> dict[str, str]:
    return {
        "section": "{shape: box, width: 23.1 in, height: 9 in}",
        "length": "100 in",
        "off_height": "1 in",
        "on_height": "2 in",
        "alarm_height": "3 in",
        "max_standing": "100 lb",
        **more,
    }


def verdicts(**more: str) -> dict[str, str]:
    return {one.name: one.verdict for one in work(Calculator.of(bilge_water), texts(**more)).limits}


@pytest.mark.parametrize(
    ("limit", "within", "outside"),
    [
        ("on", {"on_height": "1.0001 in"}, {"on_height": "1 in"}),
        ("alarm", {"alarm_height": "2.0001 in"}, {"alarm_height": "2 in"}),
        ("alarm", {"alarm_height": "50.81 mm"}, {"alarm_height": "50.8 mm"}),
        ("wiring", {"low_wiring": "3.0001 in"}, {"low_wiring": "3 in"}),
        (
            "standing",
            {"water_density": "72 lb/ft^3", "max_standing": "96.25 lb"},
            {"water_density": "72 lb/ft^3", "max_standing": "96.24 lb"},
        ),
        (
            "drain_back",
            {"hose_bore": "2 in", "hose_length": "30.6 ft"},
            {"hose_bore": "2 in", "hose_length": "30.7 ft"},
        ),
    ],
)
def test_a_limit_flips_where_it_says(limit: str, within: dict[str, str], outside: dict[str, str]) -> None:
    assert verdicts(**within)[limit] == "within"
    assert verdicts(**outside)[limit] == "outside"


def test_a_hose_that_drains_back_just_half_a_cycle_is_within() -> None:
    given = {
        "section": "{shape: round, diameter: 4 in}",
        "length": "2 ft",
        "off_height": "0 in",
        "on_height": "4 in",
        "hose_bore": "2 in",
        "hose_length": "4 ft",
    }

    assert verdicts(**given)["drain_back"] == "within"
    assert verdicts(**{**given, "hose_length": "4.001 ft"})["drain_back"] == "outside"


def test_hose_and_wiring_are_judged_only_where_they_are_given() -> None:
    assert set(verdicts()) == {"standing", "on", "alarm"}
    assert verdicts(hose_bore="1 in")["drain_back"] == "cannot tell"
    assert "wiring" in verdicts(low_wiring="5 in")


def test_a_switch_that_stops_above_where_it_starts_has_a_negative_cycle() -> None:
    found = water(BOX, BOX, 60, (4, 2, 6))

    assert found.cycle_volume == pytest.approx(-2 * 24 * 60 / 231)


@settings(deadline=None, max_examples=15)
@given(st.integers(30, 220), st.integers(-10, 10), st.integers(-10, 10), st.integers(0, 2540))
def test_units_never_change_the_answer(height: int, trim: int, heel: int, at: int) -> None:
    tilt = {"trim": f"{trim} deg", "heel": f"{heel} deg"}
    metric = texts(off_height=f"{height} mm", switch_x=f"{at} mm", hose_bore="25.4 mm", **tilt)
    inches = texts(off_height=f"{height} in / 25.4", switch_x=f"{at} in / 25.4", hose_bore="1 in", **tilt)
    metric |= {"hose_length": "3.048 m", "max_standing": "100 kg"}
    inches |= {"hose_length": "10 ft", "max_standing": "100 lb / 0.45359237"}

    one, other = (work(Calculator.of(bilge_water), given).outcome.values for given in (metric, inches))

    for name in one:
        assert float(one[name].value) == pytest.approx(float(other[name].value), rel=1e-12, abs=1e-12), name


def test_a_height_at_the_very_top_is_taken_in_any_unit() -> None:
    for height in ("9 in", "228.6 mm"):
        found = work(Calculator.of(bilge_water), texts(alarm_height=height)).outcome

        assert float(found.values["alarm_volume"].value) == pytest.approx(90)


@pytest.mark.parametrize(
    ("given", "parameter"),
    [
        ({"length": "0 in"}, "length"),
        ({"off_height": "-1 in"}, "off_height"),
        ({"off_height": "9.01 in"}, "off_height"),
        ({"on_height": "9.01 in"}, "on_height"),
        ({"alarm_height": "12 in"}, "alarm_height"),
        ({"alarm_height": "7 in", "switch_x": "100 in", "forward_section": "LOW"}, "alarm_height"),
        ({"switch_x": "100.1 in"}, "switch_x"),
        ({"switch_x": "-0.1 in"}, "switch_x"),
        ({"trim": "31 deg"}, "trim"),
        ({"heel": "-31 deg"}, "heel"),
        ({"hose_bore": "0 in"}, "hose_bore"),
        ({"hose_length": "-1 ft"}, "hose_length"),
        ({"low_wiring": "-1 in"}, "low_wiring"),
        ({"max_standing": "-1 lb"}, "max_standing"),
        ({"water_density": "0 lb/ft^3"}, "water_density"),
        ({"forward_section": "{shape: round, diameter: 12 in}"}, "forward_section"),
    ],
)
def test_what_cannot_be_is_refused_by_name(given: dict[str, str], parameter: str) -> None:
    low = "{shape: box, width: 20 in, height: 6 in}"
    given = {name: low if text == "LOW" else text for name, text in given.items()}
    with pytest.raises(BookError) as refused:
        work(Calculator.of(bilge_water), texts(**given))

    (problem,) = refused.value.problems
    assert parameter in problem.what
    assert problem.fix


def test_water_that_is_neither_fresh_nor_salt_stands_with_a_remark() -> None:
    (remark,) = work(Calculator.of(bilge_water), texts(water_density="50 lb/ft^3")).outcome.remarks

    assert remark.name == "water_density"
