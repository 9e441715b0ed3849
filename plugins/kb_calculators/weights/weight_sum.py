"""The weight list: what all parts weigh together, and where their weight acts."""

from __future__ import annotations

from dataclasses import dataclass
from math import fsum
from typing import Annotated, NamedTuple

from kb import NOT_NEGATIVE, Caution, Q, Range, Refusal, Source, calculator
from kb_calculators.weights.draw_weight_sum import draw_weight_sum


class Part(NamedTuple):
    """One part of the list, with the place of its own centre of gravity."""

    name: Annotated[str, Q("", "Part")]
    mass: Annotated[float, Q("lb", "Mass", valid=NOT_NEGATIVE)]
    x: Annotated[float, Q("in", "Forward of the transom's lowest point")]
    y: Annotated[float, Q("in", "To starboard of the centre line")]
    z: Annotated[float, Q("in", "Above the base line")]


class PartShare(NamedTuple):
    """What one part adds to the list."""

    name: Annotated[str, Q("", "Part")]
    mass: Annotated[float, Q("lb", "Mass as listed", safe="up")]
    share: Annotated[float, Q("%", "Share of the list")]


@dataclass(frozen=True, slots=True)
class WeightSum:
    """What the parts weigh together, and their common centre of gravity."""

    listed: Annotated[
        float, Q("lb", "Mass of the parts as listed", safe="up", method="the masses of all parts, summed")
    ]
    mass: Annotated[float, Q("lb", "Mass with margin", safe="up", rule="listed * (100 % + margin)")]
    x: Annotated[
        float,
        Q("in", "Centre of gravity, forward", method="mass times x of every part, summed, over listed"),
    ]
    y: Annotated[
        float,
        Q("in", "Centre of gravity, to starboard", method="mass times y of every part, summed, over listed"),
    ]
    z: Annotated[
        float,
        Q(
            "in",
            "Centre of gravity, up",
            safe="up",
            method="mass times z of every part, summed, over listed",
        ),
    ]
    parts: Annotated[tuple[PartShare, ...], Q("", "Parts and their shares")]


@calculator(
    draws=draw_weight_sum,
    cautions=[
        Caution(
            "warning",
            "What is not on the list still weighs. People, gear, fuel, water and ice belong on it, and resin"
            " that went where none was drawn: weigh what can be weighed.",
        ),
        Caution(
            "warning",
            "Weight that lies high or to one side makes her tender and lists her. This is a sum, not a"
            " stability assessment, and not a capacity plate.",
        ),
        Caution(
            "caution",
            "The margin makes the boat heavier and moves nothing. What comes late mostly lies high and aft.",
        ),
    ],
    sources=[Source("statics", "the sum of moments over the sum of masses", "memory")],
    example={
        "items": "[{name: hull and deck, mass: 2900 lb, x: 132 in, y: 0 in, z: 30 in},"
        " {name: outboard, mass: 560 lb, x: -14 in, y: 0 in, z: 34 in},"
        " {name: fuel, mass: 515 lb, x: 110 in, y: 0 in, z: 16 in},"
        " {name: batteries, mass: 130 lb, x: 40 in, y: -18 in, z: 22 in},"
        " {name: crew and gear, mass: 800 lb, x: 120 in, y: 6 in, z: 52 in}]",
        "margin": "5 %",
    },
    use="before the first float, for each loading she may have, and again when something heavy is added or"
    " moved.",
    not_for="stability or the capacity plate. How she floats with it is told by float_plane.",
)
def weight_sum(
    items: Annotated[
        tuple[Part, ...],
        Q(
            "",
            "Parts",
            note="each with the place of its own centre: x forward of the transom's lowest point, y to"
            " starboard, z above the base line",
        ),
    ],
    margin: Annotated[
        float,
        Q(
            "%",
            "Margin on the mass",
            valid=Range(0, 100),
            note="for what is not on the list; moves no centre",
        ),
    ] = 0.0,
) -> WeightSum:
    """Mass and centre of gravity of a list of parts.

    Each part counts with its mass at the place of its own centre; the common centre is the sum of mass times
    place over the sum of masses. The margin raises the mass only.

    >>> found = weight_sum((Part("engine", 500, 10, 0, 30), Part("fuel", 300, 110, 0, 20)), margin=10)
    >>> found.mass, found.x, found.z
    (880.0, 47.5, 26.25)
    """
    listed = fsum(item.mass for item in items)
    if listed <= 0:
        raise Refusal("items", "weigh nothing together", "give one part at least a mass above 0 lb")
    return WeightSum(
        listed=listed,
        mass=listed * (1 + margin / 100),
        x=fsum(item.mass * item.x for item in items) / listed,
        y=fsum(item.mass * item.y for item in items) / listed,
        z=fsum(item.mass * item.z for item in items) / listed,
        parts=tuple(PartShare(item.name, item.mass, 100 * item.mass / listed) for item in items),
    )
