"""The resin pocket at a core edge against a drawn ball that is rolled into the corner."""

from __future__ import annotations

import math
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import constants
from scipy.integrate import quad
from scipy.optimize import brentq
from shapely import Point, Polygon
from shapely.ops import nearest_points

from kb.calculators.declare import Calculator
from kb.calculators.work import work
from kb.problem import BookError
from kb_calculators.laminate.core_edge import CoreEdge, core_edge

EDGE = {
    "thickness": "3/4 in",
    "cloth_radius": "5/8 in",
    "edge_length": "52 ft",
    "resin_density": "70 lb/ft^3",
}

angles = st.floats(5, 90)
thicknesses = st.floats(0.1, 3)
radii = st.floats(0.05, 8)


def edged(thickness: float = 0.75, cloth_radius: float = 0.625, angle: float = 45, **more: Any) -> CoreEdge:
    plain = {"edge_length": 1 / 12, "resin_density": 70.0, **more}  # of 1 in: a pocket in in^3 is one in in^2
    return core_edge(thickness, cloth_radius, angle=angle, **plain)


def rolled(angle: float, thickness: float, radius: float) -> float:
    """Return the area that a ball leaves when it is rolled along the flat until it meets the core."""
    back = thickness / math.tan(math.radians(angle))
    far = -back - 10 * (radius + thickness)
    core = Polygon([(0, 0), (-back, thickness), (far, thickness), (far, 0)])

    def clear(x: float) -> float:
        return float(core.distance(Point(x, radius))) - radius

    x = brentq(clear, 0, 10 * (radius + thickness), xtol=1e-13)
    touch = nearest_points(core, Point(x, radius))[0]
    corner = Polygon([(0, 0), (x, 0), (x, radius), (touch.x, touch.y)])
    return float(corner.difference(Point(x, radius).buffer(radius, quad_segs=2000)).area)


@settings(deadline=None, max_examples=60)
@given(st.floats(10, 90), thicknesses, radii)
def test_a_pocket_is_what_a_rolled_ball_leaves(angle: float, thickness: float, radius: float) -> None:
    found = edged(thickness, radius, angle)

    assert found.bevel_pocket == pytest.approx(rolled(angle, thickness, radius), rel=0, abs=1e-6 * radius**2)
    assert found.square_pocket == pytest.approx(rolled(90, thickness, radius), rel=0, abs=1e-6 * radius**2)


@given(st.floats(5, 90), thicknesses, st.floats(1.001, 8))
def test_cloth_that_spans_the_edge_leaves_what_lies_below_its_circle(
    angle: float, thickness: float, over: float
) -> None:
    radius = over * thickness / (1 - math.cos(math.radians(angle)))
    back = thickness / math.tan(math.radians(angle))
    reach = math.sqrt(radius**2 - (radius - thickness) ** 2)
    below, _ = quad(lambda x: radius - math.sqrt(radius**2 - (x - reach) ** 2), 0, reach, epsabs=1e-13)

    found = edged(thickness, radius, angle)

    assert found.bevel_pocket == pytest.approx(below - thickness * back / 2, rel=1e-6, abs=1e-9)


@given(radii, st.floats(1, 10))
def test_cloth_that_follows_a_square_edge_leaves_the_plain_fillet(radius: float, over: float) -> None:
    found = edged(thickness=radius * over, cloth_radius=radius)

    assert found.square_pocket == pytest.approx((1 - math.pi / 4) * radius**2)
    assert found.bevel_pocket / found.square_pocket == pytest.approx(0.100253, rel=1e-5)


@given(angles, thicknesses)
def test_the_pocket_goes_on_smoothly_where_cloth_leaves_the_edge(angle: float, thickness: float) -> None:
    just = thickness / (1 - math.cos(math.radians(angle)))
    before, after = (edged(thickness, just * (1 + by), angle) for by in (-1e-9, 1e-9))

    assert after.bevel_pocket == pytest.approx(before.bevel_pocket, rel=1e-7, abs=1e-12)


@given(angles, st.floats(0, 40), thicknesses, radii, st.floats(1, 3))
def test_a_steeper_edge_a_stiffer_cloth_or_a_thicker_core_never_leaves_less(
    angle: float, steeper: float, thickness: float, radius: float, by: float
) -> None:
    pocket = edged(thickness, radius, angle).bevel_pocket * (1 - 1e-9) - 1e-12

    assert edged(thickness, radius, min(angle + steeper, 90)).bevel_pocket >= pocket
    assert edged(thickness, radius * by, angle).bevel_pocket >= pocket
    assert edged(thickness * by, radius, 90).square_pocket >= edged(thickness, radius).square_pocket * (
        1 - 1e-9
    )


@given(angles, thicknesses, radii, st.floats(0.1, 10), st.floats(0.1, 10))
def test_pockets_go_as_the_square_of_the_drawing_and_as_the_length(
    angle: float, thickness: float, radius: float, scale: float, length: float
) -> None:
    one = edged(thickness, radius, angle)
    other = edged(thickness * scale, radius * scale, angle, edge_length=length / 12)

    assert other.bevel_pocket == pytest.approx(one.bevel_pocket * scale**2 * length, rel=1e-6, abs=1e-12)
    assert other.square_pocket == pytest.approx(one.square_pocket * scale**2 * length, rel=1e-6)
    assert other.bevel_width == pytest.approx(one.bevel_width * scale, rel=1e-9, abs=1e-12)


@given(angles, thicknesses, radii, st.floats(1, 100), st.floats(60, 90))
def test_the_resin_saved_is_the_difference_of_the_pockets_in_si(
    angle: float, thickness: float, radius: float, length: float, density: float
) -> None:
    found = edged(thickness, radius, angle, edge_length=length, resin_density=density)
    m3 = (found.square_pocket - found.bevel_pocket) * constants.inch**3

    assert found.resin_saved * constants.lb == pytest.approx(
        m3 * density * constants.lb / constants.foot**3, rel=1e-9, abs=1e-12
    )
    assert 0 <= found.bevel_pocket <= found.square_pocket * (1 + 1e-9)


@pytest.mark.parametrize(("angle", "width"), [(45, 1), (30, math.sqrt(3)), (60, 1 / math.sqrt(3)), (90, 0)])
def test_the_bevel_is_as_wide_as_the_angle_makes_it(angle: float, width: float) -> None:
    assert edged(thickness=1, angle=angle).bevel_width == pytest.approx(width)


def test_a_square_edge_saves_nothing_and_is_remarked() -> None:
    found = work(Calculator.of(core_edge), {**EDGE, "angle": "90 deg"})

    assert float(found.outcome.values["resin_saved"].value) == 0
    assert float(found.outcome.values["bevel_width"].value) == 0
    assert [remark.name for remark in found.outcome.remarks] == ["angle"]


@pytest.mark.parametrize(("thickness", "radius"), [(1e-6, 1.0), (1.0, 1e6), (1e6, 1e-6), (1e-3, 1e3)])
def test_sizes_out_of_all_proportion_still_give_a_pocket(thickness: float, radius: float) -> None:
    found = edged(thickness, radius)

    assert 0 < found.bevel_pocket <= found.square_pocket < math.inf


@pytest.mark.parametrize(
    ("name", "text"),
    [
        ("thickness", "0 in"),
        ("cloth_radius", "0 in"),
        ("cloth_radius", "-1 in"),
        ("edge_length", "0 ft"),
        ("resin_density", "0 lb/ft^3"),
        ("angle", "4 deg"),
        ("angle", "91 deg"),
    ],
)
def test_what_cannot_be_is_refused_by_name(name: str, text: str) -> None:
    with pytest.raises(BookError) as refused:
        work(Calculator.of(core_edge), {**EDGE, name: text})

    (problem,) = refused.value.problems
    assert f"{name} = {text}" in problem.what
    assert problem.fix
