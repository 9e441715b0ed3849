"""Tanks against meshes, polygons, integrals and another library, and what must hold for any tank at all."""

from __future__ import annotations

import math
from itertools import pairwise
from typing import Any

import fluids
import numpy as np
import pytest
import shapely
import trimesh
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy.integrate import quad

from kb import Refusal, Section
from kb.calculators.declare import Calculator
from kb.calculators.section import Point, area, polygon, shaped
from kb.calculators.work import work
from kb.problem import BookError
from kb_calculators.liquid import Surface, liquid_volume, surface_area, surface_through
from kb_calculators.solids import Solid, moved_in, ruled, skin_area, upright, whole
from kb_calculators.tanks.volume import TankVolume, tank_contents, tank_volume

BOX = shaped("box", {"width": 24, "height": 14})
TRAPEZOID = shaped("trapezoid", {"width_top": 26, "width_bottom": 14, "height": 16})
SLIM_TRAPEZOID = shaped("trapezoid", {"width_top": 18, "width_bottom": 6, "height": 16})
VEE = shaped("vee", {"width": 60, "height": 6, "vee_depth": 30 * math.tan(math.radians(18))})
FLAT_VEE = shaped("vee", {"width": 40, "height": 9, "vee_depth": 2})
SADDLE = polygon(((-15, 0), (-5, 0), (-5, 6), (5, 6), (5, 0), (15, 0), (15, 11), (-15, 11)))
LOW_SADDLE = polygon(((-12, 0), (-6, 0), (-4, 3), (7, 3), (8, 0), (10, 0), (12, 9), (-13, 8)))
ROUND = shaped("round", {"diameter": 18})
SLIM_ROUND = shaped("round", {"diameter": 11})

TILTS = [(0, 0), (3, 0), (-3, 0), (0, 8), (4, -6), (-12, 25), (30, -30)]
LEVELS = [0.0, 1.0, 5.0, 9.5, 15.0]


def mesh(solid: Solid) -> trimesh.Trimesh:
    """Return a solid with flat faces and no hollows as a triangle mesh."""
    ends = ((0.0, solid.aft), (solid.length, solid.forward))
    corners = [(x, y, z) for x, section in ends for y, z in section.points]
    found = trimesh.convex.convex_hull(np.array(corners, dtype=float))
    assert found.is_watertight
    return found


def mesh_below(cut: trimesh.Trimesh, at: tuple[float, float, float], trim: float, heel: float) -> float:
    """Return the volume of a mesh below the level plane through a point."""
    down = [-math.tan(math.radians(trim)), math.tan(math.radians(heel)), -1.0]
    below = trimesh.intersections.slice_mesh_plane(cut, plane_normal=down, plane_origin=at, cap=True)
    return float(below.volume) if len(below.faces) else 0.0


def area_below(points: tuple[Point, ...], at_0: float, per_inch: float) -> float:
    """Return by polygons how much of a section lies below z = at_0 + per_inch * y."""
    left, right = -200.0, 200.0
    sea = [(left, -999), (right, -999), (right, at_0 + per_inch * right), (left, at_0 + per_inch * left)]
    return float(shapely.Polygon(points).intersection(shapely.Polygon(sea)).area)


def polygons_below(solid: Solid, at: tuple[float, float, float], trim: float, heel: float) -> float:
    """Return the volume below a level plane by polygons at many stations along the tank."""
    forward, starboard = -math.tan(math.radians(trim)), math.tan(math.radians(heel))

    def slice_at(x: float) -> float:
        share = x / solid.length
        points = tuple(
            ((1 - share) * a[0] + share * f[0], (1 - share) * a[1] + share * f[1])
            for a, f in zip(solid.aft.points, solid.forward.points, strict=True)
        )
        return area_below(points, at[2] + forward * (x - at[0]) - starboard * at[1], starboard)

    stations = np.linspace(0, solid.length, 13)
    return sum(quad(slice_at, a, b, epsrel=1e-8)[0] for a, b in pairwise(stations))


def cone_below(solid: Solid, at: tuple[float, float, float], trim: float, heel: float) -> float:
    """Return the volume below a level plane in a round solid, from upright columns of liquid."""
    forward, starboard = -math.tan(math.radians(trim)), math.tan(math.radians(heel))
    assert solid.diameters is not None
    aft, ahead = (diameter / 2 for diameter in solid.diameters)

    count = 1200
    middles = (np.arange(count) + 0.5) / count
    x, angle = solid.length * middles[:, None], math.pi * (middles[None, :] - 0.5)
    radius = aft + (ahead - aft) * x / solid.length
    y, half = radius * np.sin(angle), radius * np.cos(angle)
    level = at[2] + forward * (x - at[0]) + starboard * (y - at[1])
    columns = np.clip(level - (radius - half), 0, 2 * half) * half
    return float(columns.mean() * solid.length * math.pi)


@pytest.mark.parametrize(("trim", "heel"), TILTS)
@pytest.mark.parametrize(
    "solid",
    [ruled(BOX, BOX, 60), ruled(VEE, VEE, 72), ruled(TRAPEZOID, SLIM_TRAPEZOID, 54)],
    ids=["box", "vee", "tapering"],
)
def test_liquid_is_that_of_a_mesh_cut_by_the_plane(solid: Solid, trim: float, heel: float) -> None:
    cut = mesh(solid)

    for level in LEVELS:
        surface = surface_through(20, -2, level, trim, heel)
        expected = mesh_below(cut, (20, -2, level), trim, heel)
        assert liquid_volume(solid, surface) == pytest.approx(expected, rel=1e-9, abs=1e-9 * cut.volume)


@pytest.mark.parametrize(
    ("trim", "dip_x", "level"),
    [(8, 10, 13), (8, 55, 12), (-8, 50, 13), (-8, 5, 12), (20, 30, 7), (8, 0, 2), (-8, 60, 2)],
)
def test_a_surface_that_leaves_through_top_or_bottom_is_followed(
    trim: float, dip_x: float, level: float
) -> None:
    solid = ruled(BOX, BOX, 60)
    slope = math.tan(math.radians(trim))

    def depth(x: float) -> float:
        return min(max(level + (dip_x - x) * slope, 0.0), 14.0)

    corners = [x for x in (dip_x + level / slope, dip_x + (level - 14) / slope) if 0 < x < 60]
    expected = 24 * quad(depth, 0, 60, points=corners or None, epsrel=1e-12)[0]

    assert corners, "this case stays clear of top and bottom"
    assert liquid_volume(solid, surface_through(dip_x, 0, level, trim)) == pytest.approx(expected, rel=1e-10)


@pytest.mark.parametrize(
    ("trim", "heel", "level"), [(0, 0, 4), (3, 0, 6), (-5, 9, 7), (2, -20, 2), (10, 4, 1)]
)
@pytest.mark.parametrize(
    "solid",
    [ruled(SADDLE, SADDLE, 40), ruled(SADDLE, LOW_SADDLE, 40), ruled(VEE, FLAT_VEE, 50)],
    ids=["hollow", "hollow and twisted", "vee to flat"],
)
def test_hollow_and_twisted_tanks_agree_with_polygons_summed_along_them(
    solid: Solid, trim: float, heel: float, level: float
) -> None:
    expected = polygons_below(solid, (15, 3, level), trim, heel)

    assert liquid_volume(solid, surface_through(15, 3, level, trim, heel)) == pytest.approx(
        expected, rel=1e-6
    )


@pytest.mark.parametrize("level", [0.5, 3, 6, 9, 12, 17.5, 18])
def test_a_cylinder_lying_down_agrees_with_another_library(level: float) -> None:
    tank = fluids.TANK(D=18, L=48, horizontal=True)
    found = tank_contents(ROUND, 48, level, ROUND, dip_x=24)

    assert found.volume * 231 == pytest.approx(tank.V_from_h(level), rel=1e-9)
    assert found.share == pytest.approx(100 * tank.V_from_h(level) / tank.V_total, rel=1e-9)


@pytest.mark.parametrize(
    ("trim", "heel", "level"), [(0, 0, 4), (4, 0, 6), (-15, 0, 12), (10, 20, 3), (3, -12, 16)]
)
@pytest.mark.parametrize("forward", [ROUND, SLIM_ROUND], ids=["cylinder", "cone"])
def test_round_tanks_agree_with_upright_columns(
    forward: Section, trim: float, heel: float, level: float
) -> None:
    solid = ruled(ROUND, forward, 48)
    expected = cone_below(solid, (12, 1, level), trim, heel)

    assert liquid_volume(solid, surface_through(12, 1, level, trim, heel)) == pytest.approx(
        expected, rel=1e-5
    )


def test_a_tilted_cylinder_has_the_closed_form_of_an_integral_over_segments() -> None:
    solid, slope = ruled(ROUND, ROUND, 48), math.tan(math.radians(5))

    def summed(e: float) -> float:
        rest = math.sqrt(81 - e * e)
        return 81 * (math.pi * e - e * math.acos(e / 9) + rest) - rest**3 / 3

    low, high = 10 - 9 - 24 * slope, 10 - 9 + 24 * slope

    assert liquid_volume(solid, surface_through(24, 0, 10, 5)) == pytest.approx(
        (summed(high) - summed(low)) / slope, rel=1e-12
    )


@pytest.mark.parametrize(
    "solid",
    [ruled(BOX, BOX, 60), ruled(VEE, VEE, 72), ruled(TRAPEZOID, SLIM_TRAPEZOID, 54)],
    ids=["box", "vee", "tapering"],
)
def test_volume_centroid_and_plate_are_those_of_a_mesh(solid: Solid) -> None:
    expected, found = mesh(solid), whole(solid)

    assert found.volume == pytest.approx(expected.volume, rel=1e-12)
    assert (found.x, found.y, found.z) == pytest.approx(tuple(expected.center_mass), rel=1e-9, abs=1e-9)
    assert skin_area(solid) == pytest.approx(expected.area, rel=1e-12)


def test_plate_of_a_twisted_face_is_that_of_many_small_triangles() -> None:
    solid, count = ruled(SADDLE, LOW_SADDLE, 40), 160
    shares = np.linspace(0, 1, count + 1)
    faces = abs(area(SADDLE.points)) + abs(area(LOW_SADDLE.points))
    aft, ahead = (np.array([*one.points, one.points[0]], dtype=float) for one in (SADDLE, LOW_SADDLE))
    for i in range(len(SADDLE.points)):
        low, high = ((1 - shares)[:, None] * a[i] + shares[:, None] * a[i + 1] for a in (aft, ahead))
        grid = (1 - shares)[:, None, None] * low + shares[:, None, None] * high
        x = np.broadcast_to(40 * shares[:, None, None], (*grid.shape[:2], 1))
        net = np.concatenate([x, grid], axis=2)
        along, across = net[1:, :-1] - net[:-1, :-1], net[:-1, 1:] - net[:-1, :-1]
        back, home = net[:-1, 1:] - net[1:, 1:], net[1:, :-1] - net[1:, 1:]
        faces += sum(
            np.linalg.norm(np.cross(a, b), axis=2).sum() / 2 for a, b in ((along, across), (back, home))
        )

    assert skin_area(solid) == pytest.approx(faces, rel=1e-5)


def test_plate_of_a_cone_is_an_integral_over_its_side() -> None:
    spread = (11 - 18) / 2 / 48
    steep = quad(lambda a: math.hypot(1, spread * (1 + math.sin(a))), 0, 2 * math.pi, epsrel=1e-12)[0]
    ends = math.pi * (9**2 + 5.5**2)

    assert skin_area(ruled(ROUND, SLIM_ROUND, 48)) == pytest.approx(
        ends + 48 * (9 + 5.5) / 2 * steep, rel=1e-10
    )
    assert skin_area(ruled(ROUND, ROUND, 48)) == pytest.approx(math.pi * 18 * (48 + 9), rel=1e-12)


@pytest.mark.parametrize(
    "section", [BOX, TRAPEZOID, VEE, SADDLE, LOW_SADDLE], ids=lambda one: len(one.points)
)
@pytest.mark.parametrize("wall", [0.19, 0.75, -0.25])
def test_a_section_moves_in_as_a_mitred_polygon_does(section: Section, wall: float) -> None:
    expected = shapely.Polygon(section.points).buffer(-wall, join_style="mitre", mitre_limit=50)
    found = moved_in(ruled(section, section, 50), wall)

    assert found.length == pytest.approx(50 - 2 * wall)
    assert area(found.aft.points) == pytest.approx(expected.area, rel=1e-12)
    assert min(z for _, z in found.aft.points) == 0


@pytest.mark.parametrize(
    ("x", "y", "expected"),
    [
        (0, 0, (6, 11)),
        (0, -10, (0, 11)),
        (40, 15, (0, 11)),
        (40, -15, (0, 11)),
        (20, 15.1, None),
        (41, 0, None),
    ],
)
def test_the_dip_stands_on_the_bottom_that_is_below_it(x: float, y: float, expected: Any) -> None:
    assert upright(ruled(SADDLE, SADDLE, 40), x, y) == expected


def test_a_dip_stick_stops_at_the_first_floor_it_meets() -> None:
    shelf = polygon(((0, 0), (20, 0), (20, 5), (8, 5), (8, 7), (20, 7), (20, 12), (0, 12)))

    assert upright(ruled(shelf, shelf, 30), 10, 15) == (7, 12)
    assert upright(ruled(shelf, shelf, 30), 10, 4) == (0, 12)


sizes = st.floats(2, 60)
angles = st.floats(-30, 30)
shares = st.floats(0, 1)
boxes = st.builds(lambda w, h: shaped("box", {"width": w, "height": h}), sizes, sizes)
trapezoids = st.builds(
    lambda t, b, h: shaped("trapezoid", {"width_top": t, "width_bottom": b, "height": h}), sizes, sizes, sizes
)
vees = st.builds(
    lambda w, h, v: shaped("vee", {"width": w, "height": h, "vee_depth": v}), sizes, sizes, sizes
)
rounds = st.builds(lambda d: shaped("round", {"diameter": d}), sizes)
saddles = st.builds(
    lambda scale: Section(tuple((y * scale, z * scale) for y, z in SADDLE.points)), st.floats(0.5, 3)
)
boxy = boxes | trapezoids
pairs = (
    st.tuples(boxy, boxy) | st.tuples(vees, vees) | st.tuples(rounds, rounds) | st.tuples(saddles, saddles)
)
solids = st.builds(lambda pair, length: ruled(pair[0], pair[1], length), pairs, sizes)


def height_of(solid: Solid) -> float:
    if solid.diameters is not None:
        return max(solid.diameters)
    return max(z for _, z in solid.aft.points + solid.forward.points)


@settings(deadline=None, max_examples=60)
@given(solids, angles, angles, st.lists(st.floats(-1, 2), min_size=2, max_size=5))
def test_a_higher_level_never_holds_less_and_never_more_than_the_tank(
    solid: Solid, trim: float, heel: float, levels: list[float]
) -> None:
    full = whole(solid).volume
    held = [
        liquid_volume(solid, surface_through(solid.length / 2, 0, level * height_of(solid), trim, heel))
        for level in sorted(levels)
    ]

    assert all(-1e-11 * full <= one <= full * (1 + 1e-11) for one in held)
    assert all(a <= b + 1e-11 * full for a, b in pairwise(held))


@settings(deadline=None, max_examples=60)
@given(solids, angles, angles, shares)
def test_liquid_and_air_fill_the_tank(solid: Solid, trim: float, heel: float, share: float) -> None:
    # Turned over, a cone with a level bottom line has a level top line, which no solid here has.
    assume(solid.diameters is None or solid.diameters[0] == solid.diameters[1])
    top, full = height_of(solid), whole(solid).volume
    x, z = 0.3 * solid.length, share * top
    liquid = liquid_volume(solid, surface_through(x, 1, z, trim, heel))
    aft, forward = (
        section if section.is_round else Section(tuple((-y, top - z) for y, z in section.points))
        for section in (solid.aft, solid.forward)
    )
    turned = Solid(aft, forward, solid.length)
    air = liquid_volume(turned, surface_through(x, -1, top - z, -trim, heel))

    assert liquid + air == pytest.approx(full, rel=1e-10)


@settings(deadline=None, max_examples=60)
@given(solids, angles, angles, shares)
def test_heel_to_either_side_is_the_same_in_a_symmetric_tank(
    solid: Solid, trim: float, heel: float, share: float
) -> None:
    z = share * height_of(solid)
    to_starboard = liquid_volume(solid, surface_through(5, 2, z, trim, heel))
    to_port = liquid_volume(solid, surface_through(5, -2, z, trim, -heel))

    assert to_starboard == pytest.approx(to_port, rel=1e-9, abs=1e-11 * whole(solid).volume)


@settings(deadline=None, max_examples=60)
@given(solids, angles, angles, shares)
def test_a_tank_turned_end_for_end_holds_the_same(
    solid: Solid, trim: float, heel: float, share: float
) -> None:
    z = share * height_of(solid)
    turned = Solid(solid.forward, solid.aft, solid.length)
    one = liquid_volume(solid, surface_through(1, 0, z, trim, heel))
    other = liquid_volume(turned, surface_through(solid.length - 1, 0, z, -trim, heel))

    assert one == pytest.approx(other, rel=1e-9, abs=1e-11 * whole(solid).volume)


@settings(deadline=None, max_examples=25)
@given(solids, angles, angles)
def test_the_surface_is_what_each_inch_of_rise_adds(solid: Solid, trim: float, heel: float) -> None:
    top, full = height_of(solid), whole(solid).volume

    def through(z: float) -> Surface:
        return surface_through(solid.length / 2, 0, z, trim, heel)

    low, high, count = 0.1 * top, 0.9 * top, 200
    rise = (high - low) / count
    added = rise * sum(surface_area(solid, through(low + (i + 0.5) * rise)) for i in range(count))

    assert added == pytest.approx(
        liquid_volume(solid, through(high)) - liquid_volume(solid, through(low)), abs=5e-3 * full
    )


def test_the_surface_in_a_box_and_a_cylinder_has_a_closed_form() -> None:
    box, pipe = ruled(BOX, BOX, 60), ruled(ROUND, ROUND, 48)
    wedge = 3 / math.tan(math.radians(4))

    assert surface_area(box, surface_through(30, 0, 5, 4, 7)) == pytest.approx(24 * 60)
    assert surface_area(box, surface_through(0, 0, 3, 4)) == pytest.approx(24 * wedge)
    assert surface_area(pipe, surface_through(0, 0, 4)) == pytest.approx(48 * 2 * math.sqrt(4 * 14))
    assert surface_area(pipe, surface_through(0, 0, 9, 0, 10)) == pytest.approx(
        48 * 18 * math.cos(math.radians(10))
    )


def worked(section: Section, forward: Section, length: float, **more: Any) -> TankVolume:
    return tank_volume(section, length, forward, **{"dip_x": length / 2, "sizes": "inside", **more})


@settings(deadline=None, max_examples=40)
@given(pairs, sizes, angles, angles, shares, st.floats(0, 0.5))
def test_a_dip_table_goes_from_what_is_hidden_to_what_can_be_filled(
    pair: tuple[Section, Section], length: float, trim: float, heel: float, at: float, baffles: float
) -> None:
    gallons = whole(ruled(*pair, length)).volume / 231
    tank = worked(
        *pair, length, trim=trim, heel=heel, dip_x=at * length, dip_step=3, baffle_volume=baffles * gallons
    )
    heights, volumes, filled = zip(*tank.dip, strict=True)

    assert tank.gross == pytest.approx(gallons * (1 - baffles))
    assert (heights[0], heights[-1]) == (0, tank.depth)
    assert all(0 < b - a <= 3 * (1 + 1e-9) for a, b in pairwise(heights))
    assert (volumes[0], volumes[-1]) == pytest.approx((tank.hidden, tank.gross - tank.unfilled))
    assert all(a <= b * (1 + 1e-9) for a, b in pairwise(volumes))
    assert filled == pytest.approx([100 * one / tank.gross for one in volumes])


@settings(deadline=None, max_examples=25)
@given(pairs, sizes, angles, angles, shares)
def test_contents_agree_with_the_dip_table(
    pair: tuple[Section, Section], length: float, trim: float, heel: float, at: float
) -> None:
    here: dict[str, Any] = {"trim": trim, "heel": heel, "dip_x": at * length, "sizes": "inside"}
    for row in worked(*pair, length, dip_step=7, **here).dip:
        found = tank_contents(pair[0], length, row.height, pair[1], **here)

        assert (found.volume, found.share) == (row.volume, row.share)


@settings(deadline=None, max_examples=15)
@given(st.integers(100, 900), st.integers(100, 600), st.integers(200, 1500), st.integers(-20, 20))
def test_units_never_change_the_answer(width: int, height: int, length: int, trim: int) -> None:
    metric = texts(f"{width} mm", f"{height} mm", f"{length} mm", wall="5 mm", trim=f"{trim} deg")
    inches = texts(
        f"{width} in / 25.4",
        f"{height} in / 25.4",
        f"{length} in / 25.4",
        wall="5 in / 25.4",
        trim=f"{trim} deg",
    )
    one, other = (work(Calculator.of(tank_volume), given).outcome.values for given in (metric, inches))

    for name in ("gross", "outside_volume", "surface", "depth", "centroid_x", "hidden", "unfilled"):
        assert float(one[name].value) == pytest.approx(float(other[name].value), rel=1e-12, abs=1e-12), name


def texts(width: str = "20 in", height: str = "12 in", length: str = "48 in", **more: str) -> dict[str, str]:
    return {"section": f"{{shape: box, width: {width}, height: {height}}}", "length": length, **more}


def test_the_dip_point_is_halfway_along_the_inside_unless_given() -> None:
    for sizes_are, half in (("outside", "23 in"), ("inside", "24 in")):
        given = texts(wall="1 in", trim="5 deg", sizes=sizes_are)
        left_out = work(Calculator.of(tank_volume), given).outcome
        named = work(Calculator.of(tank_volume), {**given, "dip_x": half}).outcome

        assert left_out.arguments["dip_x"].base == named.arguments["dip_x"].base
        assert left_out.values == named.values


def test_outside_sizes_and_the_inside_sizes_they_leave_are_one_tank() -> None:
    outer, inner = (shaped("box", {"width": w, "height": h}) for w, h in ((20, 12), (19, 11)))
    one = tank_volume(outer, 48, outer, wall=0.5, plate_density=490, dip_x=20)
    other = worked(inner, inner, 47, wall=0.5, plate_density=490, dip_x=20)

    assert one == other


@pytest.mark.parametrize(
    ("given", "parameter"),
    [
        ({"length": "-1 in"}, "length"),
        ({"wall": "-0.1 in"}, "wall"),
        ({"wall": "6 in"}, "wall"),
        ({"wall": "5.99 in", "length": "11 in"}, "wall"),
        ({"baffle_volume": "-1 gal"}, "baffle_volume"),
        ({"baffle_volume": "49.9 gal"}, "baffle_volume"),
        ({"plate_density": "-1 lb/ft^3"}, "plate_density"),
        ({"trim": "31 deg"}, "trim"),
        ({"heel": "-31 deg"}, "heel"),
        ({"dip_x": "48.1 in"}, "dip_x"),
        ({"dip_x": "-0.1 in"}, "dip_x"),
        ({"dip_y": "10.1 in"}, "dip_y"),
        ({"dip_step": "0 in"}, "dip_step"),
        ({"dip_step": "0.001 in"}, "dip_step"),
        ({"dip_step": "1e-12 in"}, "dip_step"),
        ({"forward_section": "{shape: round, diameter: 12 in}"}, "forward_section"),
        (
            {"forward_section": "{shape: vee, width: 20 in, height: 12 in, vee_depth: 2 in}"},
            "forward_section",
        ),
        ({"forward_section": "[[0 in, 0 in], [0 in, 9 in], [9 in, 9 in], [9 in, 0 in]]"}, "forward_section"),
        ({"forward_section": "[[9 in, 9 in], [0 in, 9 in], [0 in, 0 in], [9 in, 0 in]]"}, "forward_section"),
    ],
)
def test_what_cannot_be_is_refused_by_name(given: dict[str, str], parameter: str) -> None:
    with pytest.raises(BookError) as refused:
        work(Calculator.of(tank_volume), {**texts(), **given})

    (problem,) = refused.value.problems
    assert parameter in problem.what
    assert problem.fix


@pytest.mark.parametrize("reading", ["12.001 in", "-0.1 in", "12 ft"])
def test_a_reading_beyond_the_dip_is_refused(reading: str) -> None:
    with pytest.raises(BookError, match="reading"):
        work(Calculator.of(tank_contents), {**texts(), "reading": reading})


def test_a_reading_at_the_very_top_is_taken_in_any_unit() -> None:
    for reading in ("11.62 in", "295.148 mm"):
        given = {**texts(wall="0.19 in"), "reading": reading}

        assert float(work(Calculator.of(tank_contents), given).outcome.values["share"].value) == 100


NECK = polygon(
    (
        *((0, 0), (10, 0), (10, 4), (14, 4), (14, 0), (24, 0)),
        *((24, 9), (14, 9), (14, 5), (10, 5), (10, 9), (0, 9)),
    )
)
CHAMFER = polygon(((0, 0), (20, 0), (20, 9.9), (19.9, 10), (0, 10)))


@pytest.mark.parametrize(
    ("section", "wall"), [(ROUND, 9.0), (NECK, 0.55), (CHAMFER, 0.2)], ids=["round", "neck", "chamfer"]
)
def test_a_wall_too_thick_for_the_section_is_refused(section: Section, wall: float) -> None:
    with pytest.raises(Refusal) as refused:
        moved_in(ruled(section, section, 60), wall)

    assert refused.value.parameter == "wall"


def test_an_outer_wall_that_closes_a_slot_is_refused() -> None:
    slot = polygon(((0, 0), (20, 0), (20, 12), (10.2, 12), (10.2, 3), (9.8, 3), (9.8, 12), (0, 12)))

    with pytest.raises(Refusal, match="wall"):
        moved_in(ruled(slot, slot, 60), -0.25)
