"""The plane a hull floats at: draft and trim for a mass and a centre of gravity."""

from __future__ import annotations

from dataclasses import dataclass
from math import atan, cos, degrees
from typing import Annotated

from kb import POSITIVE, Caution, Q, Range, Refusal, Source, calculator
from kb_calculators.conversions import IN3_PER_FT3
from kb_calculators.hull import Offsets, hull_of
from kb_calculators.weights.balance import plane_of
from kb_calculators.weights.draw_float_plane import draw_float_plane
from kb_calculators.weights.hydrostatics import EXAMPLE_OFFSETS, WaterDensity


@dataclass(frozen=True, slots=True)
class FloatPlane:
    """How she floats: draft, trim, and the centres that make her do so."""

    draft: Annotated[
        float,
        Q(
            "in",
            "Draft at x = 0",
            method="height of the water above z = 0 at which weight and buoyancy are equal",
        ),
    ]
    trim: Annotated[
        float,
        Q(
            "deg",
            "Trim, bow up positive",
            usual=Range(-5, 5, "a boat at rest lies within a few degrees; look at x and the offsets again"),
            method="at which the centre of gravity stands plumb over the centre of buoyancy",
        ),
    ]
    draft_aft: Annotated[
        float,
        Q("in", "Water above z = 0 at the first station", method="draft less tan(trim) times its x"),
    ]
    draft_forward: Annotated[
        float,
        Q("in", "Water above z = 0 at the last station", method="draft less tan(trim) times its x"),
    ]
    lcb: Annotated[
        float,
        Q("in", "Centre of buoyancy, forward of x = 0", method="moment of the displaced volume along x"),
    ]
    kb: Annotated[
        float, Q("in", "Centre of buoyancy above z = 0", method="moment of the displaced volume along z")
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
    gm: Annotated[
        float,
        Q(
            "in",
            "Metacentric height GM, solid",
            safe="down",
            usual=Range(above=0, why="she does not stay upright at this weight; bring it down"),
            rule="bm - (z - kb) / cos(trim)",
        ),
    ]


@calculator(
    draws=draw_float_plane,
    cautions=[
        Caution(
            "warning",
            "Not a stability assessment. A good GM at rest does not keep her from capsizing when she heels,"
            " turns, takes water or people move. Have stability judged by a naval architect.",
        ),
        Caution(
            "warning",
            "GM is the solid one. Water free to run in the bilge, in tanks and in wells takes from it, and"
            " can take all of it.",
        ),
        Caution(
            "warning",
            "The hull is taken as tight up to its top row. Scuppers, cutouts and outlets that come under at"
            " this plane let her fill; check their heights with above_water.",
        ),
        Caution(
            "caution",
            "Draft and trim are no better than the weights. Work the light and the fullest boat both, with"
            " people where they will stand.",
        ),
    ],
    sources=[
        Source(
            "Archimedes; naval architecture handbooks",
            "weight equals buoyancy, centres plumb over each other; GM = KB + BM - KG",
            "memory",
        ),
        Source("closed-form geometry of ruled surfaces", "volume, moments and waterplane", "memory"),
        Source("practice for sea water", "64 lb/ft^3; fresh water has 62.4 lb/ft^3", "memory"),
        Source("common practice, no source", "boats at rest lie within a few degrees of trim", "memory"),
    ],
    use="when the weights are summed, before tanks and engine are set, and again when one of them moves.",
    not_for="a boat under way, heeled or flooded.",
    example={"offsets": EXAMPLE_OFFSETS, "mass": "6400 lb", "x": "103 in", "z": "30 in"},
)
def float_plane(
    offsets: Offsets,
    mass: Annotated[float, Q("lb", "Mass of boat and load", valid=POSITIVE)],
    x: Annotated[float, Q("in", "Centre of gravity, forward of x = 0", note="along the base line")],
    z: Annotated[float, Q("in", "Centre of gravity above z = 0", note="square to the base line")],
    water_density: WaterDensity = 64.0,
) -> FloatPlane:
    """Draft and trim at which a hull floats for a mass and a centre of gravity.

    She sinks until the water displaced weighs what she does, and trims until her centre of gravity stands
    plumb over her centre of buoyancy: (lcb - x) cos(trim) = (kb - z) sin(trim). Positions are measured along
    the hull's own x and z at any trim. GM stands square to the water, and counts no free liquid. The hull is
    straight between rows and between stations.

    >>> from kb_calculators.hull import OffsetRow
    >>> barge = tuple(OffsetRow(x, z, 48) for x in (0, 360) for z in (0, 40))
    >>> float_plane(barge, mass=30720, x=180, z=30).gm
    14.0
    """
    hull = hull_of(offsets)
    if not hull.x[0] <= x <= hull.x[-1]:
        raise Refusal("x", "is off the hull", f"give from {hull.x[0]:g} in to {hull.x[-1]:g} in")
    draft, slope, below = plane_of(hull, mass / water_density * IN3_PER_FT3, mass, x, z)
    flat = cos(atan(slope))
    bm = below.inertia / flat / below.volume
    return FloatPlane(
        draft=draft,
        trim=degrees(atan(slope)),
        draft_aft=draft - slope * hull.x[0],
        draft_forward=draft - slope * hull.x[-1],
        lcb=below.lcb,
        kb=below.kb,
        bm=bm,
        gm=bm - (z - below.kb) / flat,
    )
