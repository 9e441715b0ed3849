"""Points of the hull and the water outside: how far each stands above it."""

from __future__ import annotations

from dataclasses import dataclass
from math import hypot
from typing import Annotated, NamedTuple

from kb import Caution, Limit, Q, Range, Source, calculator
from kb_calculators.liquid import surface_through
from kb_calculators.weights.draw_above_water import draw_above_water


class Point(NamedTuple):
    """One point that is to stay above the water outside."""

    name: Annotated[str, Q("", "Point")]
    x: Annotated[float, Q("in", "Forward of the transom's lowest point")]
    y: Annotated[float, Q("in", "To starboard of the centre line")]
    z: Annotated[float, Q("in", "Above the base line")]
    least: Annotated[float, Q("in", "Least height above the water")]


class PointHeight(NamedTuple):
    """How high one point stands."""

    name: Annotated[str, Q("", "Point")]
    height: Annotated[float, Q("in", "Above the water", safe="down")]
    margin: Annotated[float, Q("in", "Above its least", safe="down")]


@dataclass(frozen=True, slots=True)
class AboveWater:
    """How high each point stands above the water outside, and which is lowest."""

    heights: Annotated[tuple[PointHeight, ...], Q("", "Heights above the water outside")]
    lowest: Annotated[
        float, Q("in", "Height of the lowest point", safe="down", method="the smallest height of the table")
    ]
    lowest_name: Annotated[str, Q("", "Lowest point")]
    least_margin: Annotated[
        float, Q("in", "Smallest margin over a least height", safe="down", method="of all points")
    ]
    least_margin_name: Annotated[str, Q("", "Point with the smallest margin")]


@calculator(
    draws=draw_above_water,
    limits=[
        Limit(
            "heights",
            "least_margin >= 0 in",
            "her from filling: every point stands at least as high as its least",
        )
    ],
    cautions=[
        Caution(
            "danger",
            "An outlet, vent or hatch that load or heel puts under water fills the boat, and a pump's hose"
            " siphons back. Judge her fully laden with people at the rail, to both sides.",
        ),
        Caution(
            "warning",
            "This is still water and a boat at rest. Waves, wake, squat, a hard turn and water already inside"
            " come on top; the least heights must leave room for them.",
        ),
        Caution(
            "warning",
            "Heel and trim change the draft as well. Give the draft of that very condition, by float_plane or"
            " a measurement afloat; the level one is only a first look.",
        ),
    ],
    sources=[
        Source("closed-form geometry", "distance of a point from the plane of the water", "memory"),
        Source(
            "the yard's drawings", "where the points are, and what least height each must keep", "maker's"
        ),
    ],
    example={
        "points": "[{name: bilge outlet, x: 4 in, y: 26 in, z: 31 in, least: 8 in},"
        " {name: fuel vent, x: 70 in, y: 46 in, z: 44 in, least: 12 in},"
        " {name: cockpit sole, x: 10 in, y: 0 in, z: 25 in, least: 2 in}]",
        "draft": "16 in",
        "trim": "1 deg",
        "heel": "5 deg",
    },
    use="before an outlet, vent or sole is placed, once she floats, and again when weight is added; once for"
    " each side she may heel to.",
    not_for="stability, flooding in waves, or the freeboard that a rule asks for.",
)
def above_water(
    points: Annotated[
        tuple[Point, ...],
        Q(
            "",
            "Points to keep above water",
            note="the lowest edge of each opening; least below 0 in for one that may lie so far under",
        ),
    ],
    draft: Annotated[
        float,
        Q("in", "Draft", note="height of the water above the base line at the transom, on the centre line"),
    ],
    trim: Annotated[
        float,
        Q("deg", "Trim", valid=Range(-30, 30), note="bow up is positive; in the hull's lengthwise plane"),
    ] = 0.0,
    heel: Annotated[
        float,
        Q(
            "deg",
            "Heel",
            valid=Range(-60, 60),
            note="starboard down is positive; in the hull's cross-section",
        ),
    ] = 0.0,
) -> AboveWater:
    """Height of outlets, vents, fills, soles and switches above the outside water at a draft, trim and heel.

    In the hull's axes the water is the plane z = draft - x tan(trim) + y tan(heel). How far a point lies
    above it along z, times the cosine of the plane's slope, is its true vertical height, exactly.

    >>> above_water((Point("outlet", 0, 30, 20, 6),), draft=12, heel=10).lowest
    2.669
    """
    water = surface_through(0.0, 0.0, draft, trim, heel)
    cosine = 1 / hypot(1.0, water.forward, water.starboard)
    heights = []
    for point in points:
        height = (point.z - water.at(point.x, point.y)) * cosine
        heights.append(PointHeight(point.name, height, height - point.least))
    lowest = min(heights, key=lambda one: one.height)
    tightest = min(heights, key=lambda one: one.margin)
    return AboveWater(tuple(heights), lowest.height, lowest.name, tightest.margin, tightest.name)
