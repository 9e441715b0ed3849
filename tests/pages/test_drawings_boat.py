"""Drawings of the boat against their numbers: lines afloat, points, weights, fittings, drains, hoses."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from math import cos, isfinite, pi, radians, sin, tan
from typing import Any, TypeVar

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from kb import (
    Arc,
    Circle,
    Dimension,
    Drawing,
    Hatch,
    Leader,
    Level,
    Liquid,
    NoAnswer,
    Note,
    Outline,
    Refusal,
    Section,
    Value,
    View,
)
from kb.calculators.declare import Calculator, Range
from kb.calculators.section import SHAPES, shaped
from kb.drawing import Words, parts
from kb.pages.lettering import Bit, Lettering
from kb.pages.projection import lay_out
from kb_calculators.bilge.drains import hose_bend
from kb_calculators.bonding.through_hull import through_hull
from kb_calculators.hull import OffsetRow
from kb_calculators.water.box_drain import box_drain
from kb_calculators.weights.above_water import Point, above_water
from kb_calculators.weights.float_plane import float_plane
from kb_calculators.weights.hydrostatics import hydrostatics
from kb_calculators.weights.weight_sum import Part, weight_sum
from tests.calculators.test_hydrostatics import boat, box

T = TypeVar("T")
Corners = tuple[tuple[float, float], ...]

BOAT, BARGE = boat(), box()
WEDGE = tuple(OffsetRow(x, z, half) for x in (0, 300) for z, half in ((0, 0), (30, 45)))
FITTING = {
    "fitting_diameter": 1.5, "flange_diameter": 3.25, "backing_diameter": 4.5, "margin": 0.75,
    "core_thickness": 0.75, "outer_skin": 0.2, "inner_skin": 0.16, "ply_thickness": 0.04,
    "solid_thickness": 0.6, "arm": 7, "shear_allowable": 4000,
}  # fmt: skip
COCKPIT = Section(((-31, 0), (31, 0), (33, 20), (-33, 20)))
BEND = {"bend_radius": 4, "outside_diameter": 1.5, "tail_length": 1.75, "room": 8}


@dataclass(frozen=True)
class Run:
    """A run of a calculator and what it draws."""

    results: Any
    picture: Drawing

    def view(self, name: str) -> View:
        """Return one view."""
        return next(one for one in self.picture.views if one.name == name)


def run(function: Callable[..., Any], **given: Any) -> Run:
    """Run a calculator on plain values, all fallbacks among them, and draw it."""
    calculator = Calculator.of(function)
    assert calculator.draws is not None
    arguments = {name: one.default for name, one in calculator.parameters.items()} | given
    results = function(**arguments)
    picture = calculator.draws(arguments, results)
    assert isinstance(picture, Drawing)
    return Run(results, picture)


def of(view: View, kind: type[T]) -> list[T]:
    return [one for one in view.items if isinstance(one, kind)]


def dimension(view: View, name: str) -> Dimension:
    """Return the dimension that shows a parameter or a result."""
    return next(one for one in of(view, Dimension) if one.value.name == name)


def length_of(one: Dimension) -> float:
    """Return what a dimension measures in the drawing, along its own direction."""
    axis = 0 if one.side in ("above", "below") else 1
    return abs(one.last[axis] - one.first[axis])


def said(words: Words) -> dict[str, float]:
    """Return the named values of a text."""
    return {one.name: one.size for one in parts(words) if isinstance(one, Value) and one.name}


def text(words: Words) -> str:
    return "".join(one if isinstance(one, str) else f"{one.size:.4g} {one.unit}" for one in parts(words))


def area(points: Corners) -> float:
    """Return the area of a polygon by its corners, whichever way round."""
    pairs = zip(points, (*points[1:], points[0]), strict=True)
    return abs(sum(a[0] * b[1] - b[0] * a[1] for a, b in pairs)) / 2


def moment(points: Corners) -> float:
    """Return the moment of a polygon's area about x = 0, for corners that run with the clock."""
    pairs = zip(points, (*points[1:], points[0]), strict=True)
    return -sum((a[0] + b[0]) * (a[0] * b[1] - b[0] * a[1]) for a, b in pairs) / 6


def water_line(run_of: Run) -> Corners:
    (found,) = [one for one in of(run_of.view("half_breadth"), Outline) if one.style == "hidden"]
    return found.points


def every_dimension_measures_its_value(picture: Drawing) -> None:
    for view in picture.views:
        for one in of(view, Dimension):
            assert length_of(one) == pytest.approx(abs(one.value.size), rel=1e-9, abs=1e-9)


# ---- lines afloat


def test_a_barge_s_centres_stand_at_half_her_length_and_half_her_draft() -> None:
    # 15 ft by 8 ft each side of the middle, 2 ft deep, in water of 64 lb/ft^3: 30720 lb.
    afloat = run(float_plane, offsets=BARGE, mass=30720, x=180, z=30)
    profile = afloat.view("profile")

    centres = sorted(one.centre for one in of(profile, Circle))
    assert centres == [pytest.approx((180, 12)), pytest.approx((180, 30))]
    (level,) = of(profile, Level)
    assert [z for _, z in level.surface] == pytest.approx([24, 24])
    assert {one.words for one in of(profile, Note)} == {"B", "G"}
    assert dimension(profile, "draft").last == pytest.approx((0, 24))
    assert length_of(dimension(profile, "draft")) == pytest.approx(24)
    assert water_line(afloat)[0] == (0, 0)
    assert water_line(afloat)[-1] == (360, 0)
    assert {half for _, half in water_line(afloat)[1:-1]} == {48}


@pytest.mark.parametrize("trim", [-2.0, 0.0, 1.5])
def test_the_water_lies_at_the_trim_and_a_level_vee_is_as_broad_as_it_is_wet(trim: float) -> None:
    lines = run(hydrostatics, offsets=WEDGE, draft=16, trim=trim)
    (level,) = of(lines.view("profile"), Level)
    (x1, z1), (x2, z2) = level.surface

    assert (z2 - z1) / (x2 - x1) == pytest.approx(-tan(radians(trim)))
    # A side that flares 45 in over 30 in of height.
    for x, half in water_line(lines)[1:-1]:
        assert half == pytest.approx((16 - x * tan(radians(trim))) * 45 / 30)


def test_the_water_line_of_a_bow_down_wedge_ends_where_the_water_leaves_the_keel() -> None:
    lines = run(hydrostatics, offsets=WEDGE, draft=6, trim=2)

    end = 6 / tan(radians(2))
    assert end < 300
    assert max(x for x, _ in water_line(lines)) == pytest.approx(end)
    for last in water_line(lines)[-2:]:
        assert last == pytest.approx((end, 0), abs=1e-9)


@settings(deadline=None)
@given(st.floats(6, 30), st.floats(-2, 3))
def test_the_drawn_water_line_holds_the_waterplane_s_area_and_its_centre(draft: float, trim: float) -> None:
    try:
        lines = run(hydrostatics, offsets=BOAT, draft=draft, trim=trim)
        above = run(hydrostatics, offsets=BOAT, draft=draft + 1e-6, trim=trim).results.waterplane
    except Refusal:
        assume(False)
    assume(above == pytest.approx(lines.results.waterplane, rel=1e-4))  # a flat comes under all at once
    half = water_line(lines)

    # Pieces of straight lines stand for its curves.
    assert 2 * area(half) / cos(radians(trim)) / 144 == pytest.approx(lines.results.waterplane, rel=5e-3)
    assert moment(half) / area(half) == pytest.approx(lines.results.lcf, rel=5e-3)


def test_lines_show_every_row_and_station_of_the_offsets() -> None:
    lines = run(hydrostatics, offsets=WEDGE, draft=16, z=20)
    profile, plan = (
        {one.points for one in of(lines.view(name), Outline)} for name in ("profile", "half_breadth")
    )

    assert profile >= {((0, 0), (300, 0)), ((0, 30), (300, 30)), ((0, 0), (0, 30)), ((300, 0), (300, 30))}
    assert plan >= {((0, 0), (300, 0)), ((0, 45), (300, 45)), ((300, 0), (300, 45))}


def test_gravity_is_drawn_plumb_over_buoyancy_in_trimmed_water() -> None:
    lines = run(hydrostatics, offsets=BOAT, draft=18, trim=3, z=30)
    found = dict(zip(("B", "G"), (one.centre for one in of(lines.view("profile"), Circle)), strict=True))

    # What is plumb stands square to the water, which falls forward by the tangent of the trim.
    (xb, zb), (xg, zg) = found["B"], found["G"]
    assert (zg, zb) == pytest.approx((30, lines.results.kb))
    assert (xg - xb) / (zg - zb) == pytest.approx(tan(radians(3)))


def test_the_text_of_a_boat_afloat_holds_her_numbers() -> None:
    afloat = run(float_plane, offsets=BOAT, mass=6400, x=100, z=30)
    wanted = ("draft", "draft_forward", "lcb", "kb")

    numbers = said(afloat.view("profile").says)
    assert {name: numbers[name] for name in wanted} == {
        name: getattr(afloat.results, name) for name in wanted
    }
    assert (numbers["x"], numbers["z"], numbers["trim"]) == (100, 30, abs(afloat.results.trim))
    assert said(afloat.picture.note)["gm"] == afloat.results.gm
    way = "bow up" if afloat.results.trim > 0 else "bow down"
    assert way in text(afloat.view("profile").says)


# ---- points and weights

points = st.builds(Point, st.text(max_size=30), *(st.floats(-200, 400) for _ in range(3)), st.floats(-10, 20))


@given(st.lists(points, min_size=1, max_size=15), st.floats(-30, 60), st.floats(-30, 30), st.floats(-60, 60))
def test_points_stand_where_a_turn_of_the_hull_into_level_water_puts_them(
    listed: list[Point], draft: float, trim: float, heel: float
) -> None:
    drawn = run(above_water, points=tuple(listed), draft=draft, trim=trim, heel=heel)
    view = drawn.view("elevation")
    marks = [one.centre for one in of(view, Circle)]

    note = text(drawn.picture.note)
    for one, (x, height) in zip(listed, marks, strict=True):
        forward, above = _in_level_water(one, draft, trim, heel)
        times = next((i for i in range(2, 21) if f"heights are drawn {i} times" in note), 1)
        assert (x, height / times) == pytest.approx((forward, above), abs=1e-6)


def _in_level_water(one: Point, draft: float, trim: float, heel: float) -> tuple[float, float]:
    """Return how far forward a point stands and how high, in axes that the water's normal sets up."""
    normal = np.array([tan(radians(trim)), -tan(radians(heel)), 1.0])
    up = normal / np.linalg.norm(normal)
    starboard = np.cross(up, [1.0, 0.0, 0.0])
    ahead = np.cross(starboard / np.linalg.norm(starboard), up)
    place = np.array([one.x, one.y, one.z - draft])
    return float(place @ ahead), float(place @ up)


def test_a_level_boat_s_points_stand_over_their_own_x_with_their_least_heights() -> None:
    listed = (Point("outlet", 10, 20, 25, 8), Point("vent", 200, 40, 44, 12))
    drawn = run(above_water, points=listed, draft=15)
    view = drawn.view("elevation")

    # 190 in long and 29 in high: three times is the most within six tenths of the length.
    assert [one.centre for one in of(view, Circle)] == [(10, 30), (200, 87)]
    thick = [one.points for one in of(view, Outline) if one.style == "outline"]
    assert thick == [((10, 0), (10, 24)), ((200, 0), (200, 36))]
    (water,) = of(view, Liquid)
    assert {height for _, height in water.surface} == {0}
    assert text(drawn.picture.note).startswith("1 outlet 10 in, least 8 in; 2 vent 29 in, least 12 in.")
    assert "heights are drawn 3 times larger" in text(drawn.picture.note)
    assert [one.words for one in of(view, Note)] == ["1", "2"]


def test_weights_stand_at_their_centres_and_balance_about_the_common_one() -> None:
    listed = (Part("engine", 500, 10, 0, 30), Part("fuel", 300, 110, 0, 20))
    drawn = run(weight_sum, items=listed, margin=10)
    view = drawn.view("profile")

    engine, fuel, centre = (one.centre for one in of(view, Circle))
    assert (engine, fuel, centre) == ((10, 30), (110, 20), (47.5, 26.25))
    assert (dimension(view, "x").value.size, dimension(view, "z").value.size) == (47.5, 26.25)
    every_dimension_measures_its_value(drawn.picture)
    assert "1 engine 500 lb; 2 fuel 300 lb. " in text(drawn.picture.note)


def test_of_many_parts_the_heaviest_are_numbered() -> None:
    listed = tuple(Part(f"part {i}", 100 + i, 10 * i, 0, 20) for i in range(20))
    drawn = run(weight_sum, items=listed)

    note = text(drawn.picture.note)
    assert "The 12 heaviest: 1 part 8 108 lb" in note
    assert "12 part 19 119 lb" in note
    assert len(of(drawn.view("profile"), Circle)) == 21


# ---- fittings, drains, hoses


def test_a_through_hull_is_drawn_to_its_sizes() -> None:
    drawn = run(through_hull, **FITTING)
    view = drawn.view("section")

    every_dimension_measures_its_value(drawn.picture)
    assert {one.value.name for one in of(view, Dimension)} == {
        "core_out_diameter", "work_diameter", "backing_diameter", "fitting_diameter", "flange_diameter",
        "taper_length", "scarf_length", "solid_thickness",
    }  # fmt: skip
    skins = [area(one.points) for one in of(view, Hatch)]
    # Work 6 + 2 (2.25 + 1.92) in across and 3 % beyond each side; the hole is 1.625 in.
    half = (6 + 2 * (2.25 + 1.92)) * 0.53
    assert skins[0] == pytest.approx(0.2 * (half - 1.625 / 2))
    assert skins[2] == pytest.approx(0.16 * (half - 3 - 2.25 - 1.92 / 2))
    # New plies: 0.4 in over the middle, and from there to nothing at the end of the scarf.
    assert skins[4] == pytest.approx(0.4 * (3 - 1.625 / 2) + 0.4 * (2.25 + 1.92) / 2)
    assert skins[1::2] == pytest.approx(skins[::2])


def test_the_core_of_a_through_hull_begins_at_the_foot_of_its_bevel() -> None:
    drawn = run(through_hull, **FITTING)
    core = [one.points for one in of(drawn.view("section"), Outline) if one.is_closed]

    foot, top = ((x, y) for x, y in core[0] if abs(x) < 6)
    assert foot == pytest.approx((3, 0.2))
    assert top == pytest.approx((5.25, 0.95))


def test_a_box_holds_its_water_and_drains_to_its_outlet() -> None:
    given = {"depth": 6, "end_depth": 1, "drain_bore": 2, "max_time": 180, "hose_length": 3}
    drawn = run(box_drain, section=COCKPIT, length=84, outlet_drop=5, outside_level=-3, **given)
    view = drawn.view("section")

    inside, outside = of(view, Liquid)
    assert area(inside.points) == pytest.approx((62 + 62 + 4 * 6 / 20) / 2 * 6)
    assert [z for _, z in outside.surface] == [-3, -3]
    assert [z for _, z in of(view, Level)[0].surface] == pytest.approx([1, 1])
    every_dimension_measures_its_value(drawn.picture)
    assert {one.value.name for one in of(view, Dimension)} == {
        "depth", "end_depth", "outlet_drop", "drain_bore",
    }  # fmt: skip
    (leader,) = of(view, Leader)
    assert said(leader.words) == {"outside_level": -3}
    walls = next(one.points for one in of(view, Outline) if one.style == "outline")
    assert walls == ((1, -5), (1, 0), (31, 0), (33, 20), (-33, 20), (-31, 0), (-1, 0), (-1, -5))


def test_a_vee_s_drain_is_cut_into_both_sides_of_its_keel() -> None:
    vee = shaped("vee", {"width": 20, "height": 10, "vee_depth": 5})
    drawn = run(box_drain, section=vee, length=84, depth=6, drain_bore=2, max_time=180)

    walls = next(one.points for one in of(drawn.view("section"), Outline) if one.style == "outline")
    assert walls[1:-1] == ((1, 0.5), (10, 5), (10, 15), (-10, 15), (-10, 5), (-1, 0.5))


def test_a_round_box_stays_whole_round_where_the_drain_is_as_wide() -> None:
    drawn = run(box_drain, section=Section(diameter=6), length=84, depth=3, drain_bore=6.5, max_time=180)
    shape = next(one for one in of(drawn.view("section"), Outline) if one.style == "outline")

    assert shape.is_closed
    assert area(shape.points) == pytest.approx(pi * 9, rel=2e-3)


@pytest.mark.parametrize(("room", "words"), [(8, "fits"), (6, "does not fit: it takes an elbow")])
def test_a_hose_turns_within_the_room_that_it_needs(room: float, words: str) -> None:
    drawn = run(hose_bend, **{**BEND, "room": room})
    view = drawn.view("side")

    ends = {
        (
            one.centre[0] + one.radius * cos(radians(one.end)),
            one.centre[1] + one.radius * sin(radians(one.end)),
        )
        for one in of(view, Arc)
    }
    assert max(x for x, _ in ends) == pytest.approx(1.75 + 4 + 1.5)
    assert sorted(one.radius for one in of(view, Arc)) == [4, 4.75, 5.5]
    (_, wall) = of(view, Hatch)
    assert min(x for x, _ in wall.points) == room
    every_dimension_measures_its_value(drawn.picture)
    assert f"there are: it {words}." in text(view.says)


# ---- any legal input


def plain(words: Words) -> Lettering:
    lines = text(words).split("\n")
    return Lettering(tuple((Bit(line),) for line in lines))


def numbers(valid: Range | None) -> st.SearchStrategy[float]:
    """Return plain numbers of a declared range, as large and as small as a boat yard could write."""
    valid = valid or Range()
    least = max(valid.least, -1e4) if valid.above is None else valid.above
    found = st.floats(least, min(valid.most, 1e4)).map(lambda one: round(one, 4))
    return found.filter(valid.holds)


sections = st.sampled_from(sorted(SHAPES)).flatmap(
    lambda shape: st.builds(
        shaped, st.just(shape), st.fixed_dictionaries({size: st.floats(0.5, 200) for size in SHAPES[shape]})
    )
)


@st.composite
def legal(draw: st.DrawFn, function: Callable[..., Any]) -> dict[str, Any]:
    """Return values for all parameters of a calculator from its declared ranges."""
    found: dict[str, Any] = {}
    for name, one in Calculator.of(function).parameters.items():
        if one.kind == "section":
            found[name] = draw(sections)
        elif one.kind == "count":
            found[name] = draw(st.integers(1, 6))
        elif one.kind == "table":
            assert one.row is not None
            cells = [
                st.text(max_size=12) if column.kind == "text" else numbers(column.q.valid)
                for column in one.columns
            ]
            found[name] = tuple(draw(st.lists(st.builds(one.row, *cells), min_size=1, max_size=20)))
        else:
            is_left_out = (
                not one.required and one.default is None and not one.q.fallback and draw(st.booleans())
            )
            found[name] = None if is_left_out else draw(numbers(one.q.valid))
    return found


@st.composite
def fittings(draw: st.DrawFn) -> dict[str, Any]:
    """Return values for a fitting whose flange and block cover the hole, in laminate that is thick enough."""
    found = draw(legal(through_hull))
    hole = found["fitting_diameter"] + 2 * found["sealant_thickness"]
    for name in ("flange_diameter", "backing_diameter"):
        found[name] += hole
    found["solid_thickness"] = found["outer_skin"] + draw(st.one_of(st.just(0.0), st.floats(0, 10)))
    return found


@st.composite
def drained(draw: st.DrawFn) -> dict[str, Any]:
    """Return values for a box that is filled to below its top, and has a hose where its outlet is lower."""
    found = draw(legal(box_drain))
    section = found["section"]
    top = section.diameter or max(z for _, z in section.points)
    found["depth"] = top * draw(st.one_of(st.just(1.0), st.floats(0.01, 1)))
    found["end_depth"] = found["depth"] * draw(st.one_of(st.just(0.0), st.floats(0, 0.9)))
    found["drain_bore"], found["roughness"] = draw(st.floats(0.25, 40)), draw(st.floats(0, 0.005))
    if not found["hose_length"]:
        found["outlet_drop"] = 0.0
    return found


@st.composite
def hulls(draw: st.DrawFn) -> tuple[OffsetRow, ...]:
    """Return offsets of a few stations with a few rows each, flats among them, 30 in deep at least."""
    count, rows = draw(st.integers(2, 5)), draw(st.integers(2, 8))
    first = draw(st.floats(-100, 100))
    size = st.one_of(st.just(0.0), st.floats(0.5, 60))
    found: list[OffsetRow] = []
    for at in (first + 60 * i for i in range(count)):
        z = draw(st.floats(-5, 5))
        for k in range(rows):
            found.append(OffsetRow(at, z, draw(size) + k))
            z += draw(size) if k < rows - 2 else 35
    return tuple(found)


def tries(function: Callable[..., Any], given: dict[str, Any]) -> None:
    """Draw a run, unless the values are refused, and lay it out."""
    calculator = Calculator.of(function)
    assert calculator.draws is not None
    try:
        results = function(**given)
    except Refusal:
        assume(False)
    picture = calculator.draws(given, results)
    if isinstance(picture, NoAnswer):
        return
    assert isinstance(picture, Drawing)
    for at in _places(picture):
        assert isfinite(at[0])
        assert isfinite(at[1])
    for sheet in lay_out(picture.views, plain, plain):
        assert all(isfinite(side) for side in sheet.box)


def _places(picture: Drawing) -> Iterator[tuple[float, float]]:
    for one in (item for view in picture.views for item in view.items):
        if isinstance(one, Outline | Hatch | Liquid):
            yield from one.points
        elif isinstance(one, Circle | Arc):
            yield one.centre
        elif isinstance(one, Dimension):
            yield from (one.first, one.last)


RUNS = [
    *((one, legal(one)) for one in (above_water, weight_sum, hose_bend)),
    (through_hull, fittings()),
    (box_drain, drained()),
]


@pytest.mark.parametrize(("function", "values"), RUNS)
@settings(deadline=None, max_examples=40)
@given(data=st.data())
def test_any_legal_values_are_drawn(
    function: Callable[..., Any], values: st.SearchStrategy[dict[str, Any]], data: st.DataObject
) -> None:
    tries(function, data.draw(values))


@settings(deadline=None)
@given(hulls(), st.floats(6, 25), st.floats(-1, 1), st.one_of(st.none(), st.floats(-50, 200)))
def test_any_hull_is_drawn_at_any_waterline_and_as_it_floats(
    rows: tuple[OffsetRow, ...], height: float, trim: float, z: float | None
) -> None:
    draft = height + tan(radians(trim)) * rows[0].x
    water: dict[str, Any] = {"offsets": rows, "draft": draft, "trim": trim, "water_density": 64.0}
    tries(hydrostatics, {**water, "z": z})

    plane = hydrostatics(**water)
    low = plane.kb - 5
    x = plane.lcb - (plane.kb - low) * tan(radians(trim))
    tries(
        float_plane,
        {"offsets": rows, "mass": plane.displacement, "x": x, "z": low, "water_density": 64.0},
    )
