"""The edge of a core: how wide its bevel is, and how much resin lies in the corner that cloth bridges."""

from __future__ import annotations

from dataclasses import dataclass
from math import asin, cos, radians, sin, sqrt, tan
from typing import Annotated

from kb import POSITIVE, Caution, Q, Range, Source, calculator
from kb_calculators.conversions import IN3_PER_FT3, IN_PER_FT

_SQUARE = 90.0

_HOW = "touching the flat and the edge, or the flat and the edge's upper corner where that is met first"


@dataclass(frozen=True, slots=True)
class CoreEdge:
    """The resin pocket at an edge, square and bevelled."""

    bevel_width: Annotated[float, Q("in", "Width of the bevel", rule="thickness * cos(angle) / sin(angle)")]
    square_pocket: Annotated[
        float,
        Q(
            "in^3",
            "Resin pocket along a square edge",
            safe="up",
            method=f"area under cloth of cloth_radius, {_HOW}, times edge_length; edge at 90 deg",
        ),
    ]
    bevel_pocket: Annotated[
        float,
        Q(
            "in^3",
            "Resin pocket along the bevelled edge",
            safe="up",
            method=f"area under cloth of cloth_radius, {_HOW}, times edge_length; edge at angle",
        ),
    ]
    resin_saved: Annotated[
        float,
        Q(
            "lb",
            "Resin the bevel saves",
            safe="down",
            rule="(square_pocket - bevel_pocket) * resin_density in lb",
        ),
    ]


@calculator(
    cautions=[
        Caution(
            "warning",
            "Dust of core and glass harms lungs and eyes, and core dust in the air can burn. Extraction, dust"
            " mask and goggles at the router and the plane; no hot wire on PVC foam, its fumes are poison.",
        ),
        Caution(
            "warning",
            "A thick pocket of neat resin cures hot: it can scorch foam and crack. A pocket that stays dry is"
            " a void, and lets water run along the core.",
        ),
        Caution(
            "caution",
            "This is about the pocket alone. Where core runs out into solid laminate the edge is commonly 3"
            " to 1 or flatter (18 deg); the taper, and every edge that carries load, is the designer's.",
        ),
        Caution(
            "notice",
            "The pocket here is at the foot of the edge. Over its upper corner cloth lifts as well, most over"
            " a square one: ease that corner.",
        ),
    ],
    sources=[
        Source(
            "closed-form geometry",
            "fillet of radius r in a square corner: (1 - pi/4) r^2; where cloth turns by an angle a:"
            " (tan(a/2) - a/2) r^2",
            "memory",
        ),
        Source(
            "common practice, no source",
            "a 45 deg edge leaves far less pocket than a square one; core tapers 3 to 1 or flatter",
            "memory",
        ),
        Source("the resin's data sheet", "density", "maker's"),
    ],
    example={
        "thickness": "3/4 in",
        "cloth_radius": "5/8 in",
        "edge_length": "52 ft",
        "resin_density": "70 lb/ft^3",
    },
    use="before the edges of a core are cut, to choose square or bevelled and to mark the bevel.",
    not_for="the taper of an edge that carries load, or the cut-out at a fitting: see the designer and"
    " through_hull.",
)
def core_edge(
    thickness: Annotated[float, Q("in", "Thickness of the core", valid=POSITIVE)],
    cloth_radius: Annotated[
        float,
        Q(
            "in",
            "Tightest inside bend that the dry cloth takes",
            valid=POSITIVE,
            note="lay all plies into a square inside corner of scrap, bag on, and fit a radius gauge",
        ),
    ],
    edge_length: Annotated[float, Q("ft", "Length of edge", valid=POSITIVE)],
    resin_density: Annotated[
        float,
        Q(
            "lb/ft^3",
            "Density of the cured resin",
            valid=POSITIVE,
            usual=Range(66, 78, "cured resins have 70 to 77 lb/ft^3; is it filled, or another unit?"),
        ),
    ],
    angle: Annotated[
        float,
        Q(
            "deg",
            "Angle of the edge to the flat",
            valid=Range(5, _SQUARE),
            usual=Range(15, 60, "a steeper edge leaves a pocket; a flatter one is a feather that breaks"),
            note="90 deg is square",
        ),
    ] = 45.0,
) -> CoreEdge:
    """Find the resin pocket at a core edge, square against bevelled, and the bevel's width.

    The cloth comes off the edge and bridges the corner at its foot in an arc of cloth_radius that touches
    the flat. It touches the edge too, and turns by the edge's angle, where the edge is long enough. Where
    it is not, the cloth spans from the edge's upper corner to the flat and turns by less. The pocket is
    what lies between edge, flat and cloth.

    >>> found = core_edge(thickness=1, cloth_radius=0.5, edge_length=10, resin_density=70)
    >>> found.square_pocket, found.bevel_pocket
    (6.4381, 0.6455)
    """
    square_pocket = _pocket(_SQUARE, thickness, cloth_radius) * edge_length * IN_PER_FT
    bevel_pocket = _pocket(angle, thickness, cloth_radius) * edge_length * IN_PER_FT
    return CoreEdge(
        bevel_width=0.0 if angle == _SQUARE else thickness / tan(radians(angle)),
        square_pocket=square_pocket,
        bevel_pocket=bevel_pocket,
        resin_saved=(square_pocket - bevel_pocket) / IN3_PER_FT3 * resin_density,
    )


def _pocket(angle: float, thickness: float, radius: float) -> float:
    """Return the area (in^2) between edge, flat and cloth."""
    edge = radians(angle)
    if radius * (1 - cos(edge)) <= thickness:  # the cloth is on the edge before it is at its top
        return radius**2 * (tan(edge / 2) - edge / 2)
    turn = 2 * asin(sqrt(thickness / radius / 2))
    under_cloth = radius**2 * (sin(turn) - sin(turn) * cos(turn) / 2 - turn / 2)
    under_edge = thickness**2 * cos(edge) / sin(edge) / 2
    return under_cloth - under_edge
