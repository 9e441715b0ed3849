"""Hydrostatics: what the hull displaces at a waterline, and how she answers to weight there."""

from __future__ import annotations

from dataclasses import dataclass
from math import cos, radians, tan
from typing import Annotated

from kb import POSITIVE, Caution, NoAnswer, Q, Range, Refusal, Source, calculator
from kb_calculators.conversions import IN2_PER_FT2, IN3_PER_FT3, IN_PER_FT
from kb_calculators.hull import SAME, Hull, Offsets, hull_of, immersed
from kb_calculators.weights.draw_hydrostatics import draw_hydrostatics

_NOTHING = 1e-12  # a share of the hull's length by breadth by depth below which nothing is displaced

_GML = "(bml - (z - kb) / cos(trim))"

WaterDensity = Annotated[
    float,
    Q(
        "lb/ft^3",
        "Density of the water",
        valid=POSITIVE,
        usual=Range(62, 65, "this is neither fresh water nor sea water"),
        note="sea water 64 lb/ft^3, fresh water 62.4 lb/ft^3",
    ),
]

EXAMPLE_OFFSETS = (
    "[[0 in, 0 in, 0 in], [0 in, 15.25 in, 42 in], [0 in, 15.25 in, 45 in], [0 in, 44 in, 48 in],"
    " [39 in, 0 in, 0 in], [39 in, 15.25 in, 42.5 in], [39 in, 15.25 in, 45.5 in], [39 in, 44 in, 49.5 in],"
    " [78 in, 0 in, 0 in], [78 in, 15.5 in, 42.5 in], [78 in, 15.5 in, 45.5 in], [78 in, 44.5 in, 50 in],"
    " [117 in, 0 in, 0 in], [117 in, 16 in, 42 in], [117 in, 16 in, 45 in], [117 in, 45 in, 50 in],"
    " [156 in, 0.5 in, 0 in], [156 in, 17 in, 40 in], [156 in, 17 in, 43 in], [156 in, 46 in, 49.5 in],"
    " [195 in, 2.5 in, 0 in], [195 in, 19 in, 35.5 in], [195 in, 19 in, 38.25 in], [195 in, 47.5 in, 47 in],"
    " [234 in, 7 in, 0 in], [234 in, 22 in, 27 in], [234 in, 22 in, 29.25 in], [234 in, 49.5 in, 43 in],"
    " [273 in, 15 in, 0 in], [273 in, 27 in, 14 in], [273 in, 27 in, 15.5 in], [273 in, 52 in, 32 in],"
    " [312 in, 33 in, 0 in], [312 in, 34 in, 0.5 in], [312 in, 34.5 in, 0.75 in], [312 in, 55 in, 2 in]]"
)
"""A vee-bottom power boat of 26 ft: keel, chine inside, chine outside and sheer at nine stations."""


@dataclass(frozen=True, slots=True)
class Hydrostatics:
    """What a hull displaces at a waterline, where that acts, and the form of its waterplane."""

    volume: Annotated[
        float, Q("ft^3", "Volume displaced", method="summed below the water, station to station, both sides")
    ]
    displacement: Annotated[float, Q("lb", "Displacement", rule="volume * water_density in lb")]
    lcb: Annotated[
        float,
        Q("in", "Centre of buoyancy, forward of x = 0", method="moment of the displaced volume along x"),
    ]
    kb: Annotated[
        float, Q("in", "Centre of buoyancy above z = 0", method="moment of the displaced volume along z")
    ]
    waterplane: Annotated[
        float, Q("ft^2", "Area of the waterplane", method="summed in the water's own plane, both sides")
    ]
    lcf: Annotated[
        float | NoAnswer,
        Q("in", "Centre of flotation, forward of x = 0", method="centroid of the waterplane along x"),
    ]
    bm: Annotated[
        float,
        Q(
            "in",
            "Buoyancy to metacentre, BM",
            safe="down",
            method="second moment of the waterplane about its middle line over volume; square to the water",
        ),
    ]
    bml: Annotated[
        float,
        Q(
            "in",
            "Buoyancy to fore-and-aft metacentre",
            method="second moment of the waterplane about its centre of flotation, in its plane, over volume",
        ),
    ]
    length: Annotated[float, Q("in", "First station to last", method="along x; ends of the trim moment")]
    sink_rate: Annotated[
        float, Q("lb/in", "Weight that sinks her one inch", rule="waterplane * water_density in lb/in")
    ]
    trim_moment: Annotated[
        float | NoAnswer,
        Q(
            "ft*lbf/in",
            "Moment to trim one inch, first station against last",
            rule=f"displacement * 9.80665 m/s^2 * {_GML} * cos(trim) ^ 2 / length in ft*lbf/in",
        ),
    ]


@calculator(
    draws=draw_hydrostatics,
    cautions=[
        Caution(
            "warning",
            "Not a stability assessment. Enough volume keeps no boat upright: loads, free water, people and"
            " waves are not in these numbers. Have stability judged by a naval architect.",
        ),
        Caution(
            "warning",
            "The hull is taken as tight up to its top row. Openings below it - scuppers, cutouts, a low"
            " transom - flood her sooner: end the offsets at the lowest one.",
        ),
        Caution(
            "caution",
            "Wrong offsets give a wrong boat. Lay the stations out and look at them, then check one waterline"
            " against a weighed boat.",
        ),
    ],
    sources=[
        Source("closed-form geometry of ruled surfaces", "volume, moments and waterplane", "memory"),
        Source(
            "naval architecture handbooks",
            "BM = I / V; moment to trim by GM lengthwise, not the shortcut by BM, a few per cent high",
            "memory",
        ),
        Source("practice for sea water", "64 lb/ft^3; fresh water has 62.4 lb/ft^3", "memory"),
    ],
    use="when a waterline is drawn or measured, to know what she weighs there and how she answers to more.",
    not_for="a boat under way or heeled; float_plane finds the waterline for a known weight.",
    example={"offsets": EXAMPLE_OFFSETS, "draft": "18 in", "trim": "0.5 deg", "z": "30 in"},
)
def hydrostatics(
    offsets: Offsets,
    draft: Annotated[
        float, Q("in", "Draft at x = 0", note="height of the water above z = 0, square to the base line")
    ],
    trim: Annotated[
        float,
        Q("deg", "Trim", valid=Range(-30, 30), note="bow up is positive; base line against the water"),
    ] = 0.0,
    z: Annotated[
        float | None,
        Q("in", "Centre of gravity above z = 0", unset="no moment to trim is given"),
    ] = None,
    water_density: WaterDensity = 64.0,
) -> Hydrostatics:
    """Displacement and form values of a hull from its offsets, at a level or trimmed waterline.

    The hull is straight between rows and between stations, so a rounded one comes out a little small: set
    stations and rows closer where she curves. Positions are measured along the hull's own x and z at any
    trim; lengths and areas of the waterplane lie in the water's plane, so dx counts as dx / cos(trim), and
    BM stands square to it. A flat that the water only just reaches counts as dry. The sink rate is by the
    inch straight down. For the moment to trim the centre of gravity stands plumb over that of buoyancy.

    >>> from kb_calculators.hull import OffsetRow
    >>> barge = tuple(OffsetRow(x, z, 48) for x in (0, 360) for z in (0, 40))
    >>> hydrostatics(barge, draft=24, z=30).trim_moment
    3072.0
    """
    hull = hull_of(offsets)
    slope = tan(radians(trim))
    _check_draft(hull, draft, slope)
    below = immersed(hull, draft, slope)
    if below.volume <= _NOTHING * hull.length * hull.depth * max(map(max, hull.half_breadth)):
        raise _dry(hull, slope)
    flat = cos(radians(trim))
    displacement = below.volume / IN3_PER_FT3 * water_density
    waterplane = below.area / flat / IN2_PER_FT2
    bml = below.inertia_about_lcf / flat**3 / below.volume
    return Hydrostatics(
        volume=below.volume / IN3_PER_FT3,
        displacement=displacement,
        lcb=below.lcb,
        kb=below.kb,
        waterplane=waterplane,
        lcf=below.first / below.area if below.area else NoAnswer("she has no breadth at the water"),
        bm=below.inertia / flat / below.volume,
        bml=bml,
        length=hull.length,
        sink_rate=waterplane * water_density / IN_PER_FT,
        trim_moment=NoAnswer("z is not given")
        if z is None
        else displacement * (bml - (z - below.kb) / flat) * flat**2 / hull.length / IN_PER_FT,
    )


def _check_draft(hull: Hull, draft: float, slope: float) -> None:
    highest, x = hull.highest_draft(slope)
    if draft > highest + SAME * hull.depth:
        raise Refusal(
            "draft",
            f"puts the water {draft - highest:g} in above the top row at x = {x:g} in",
            f"give at most {highest:g} in at this trim, or offsets that go higher",
        )
    if draft <= hull.lowest_draft(slope):
        raise _dry(hull, slope)


def _dry(hull: Hull, slope: float) -> Refusal:
    return Refusal(
        "draft",
        "leaves the hull clear of the water",
        f"give more than {hull.lowest_draft(slope):g} in at this trim",
    )
