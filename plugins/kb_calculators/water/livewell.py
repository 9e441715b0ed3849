"""Live wells: how often the water changes, and whether the overflow keeps up."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from kb import NOT_NEGATIVE, POSITIVE, Caution, Limit, Q, Range, Source, calculator
from kb_calculators.conversions import S_PER_HR, S_PER_MIN
from kb_calculators.orifice import SHARP_EDGED, bore_area, orifice_flow


@dataclass(frozen=True, slots=True)
class LivewellTurnover:
    """How often the water of a well changes, and what its overflow takes."""

    turnover: Annotated[float, Q("1/hr", "Water changes an hour", safe="down", rule="flow / volume in 1/hr")]
    overflow_flow: Annotated[
        float,
        Q(
            "gal/hr",
            "Flow the overflow takes",
            safe="down",
            rule="coefficient * open_share * 0.7853981633974483 * overflow_bore ^ 2"
            " * sqrt(2 * 9.80665 m/s^2 * overflow_head) in gal/hr",
        ),
    ]
    head_in_bores: Annotated[
        float,
        Q(
            "",
            "Head over the overflow, in bores",
            usual=Range(
                least=0.5,
                why="the opening is not covered and flows as a weir: it takes less than shown. Give it more"
                " head or prove it with the hose running",
            ),
            rule="overflow_head / overflow_bore",
        ),
    ]


@calculator(
    limits=[
        Limit("turnover", "turnover >= min_turnover", "fish that get enough air"),
        Limit("overflow", "overflow_flow >= flow", "a boat that its own livewell pump cannot fill"),
    ],
    cautions=[
        Caution(
            "danger",
            "An overflow that cannot keep up fills the boat, with nobody looking: a livewell pump is left on."
            " Size it for the most that all pumps of the well can bring at once, half its screen clogged with"
            " weed and scales.",
        ),
        Caution(
            "danger",
            "An overflow that ends below the heeled waterline runs backward and floods the boat through the"
            " well. Lead it out above that line; the pump's through-hull has a seacock within reach.",
            hazard="sinking",
        ),
        Caution(
            "caution",
            "The pump's label is its open flow. For the water changes give what comes out of the hose, for"
            " the overflow work again with the open flow of the label.",
        ),
    ],
    sources=[
        Source("rule of Torricelli", "flow through an opening under a head", "memory"),
        Source(
            "handbook coefficients", "sharp edge 0.60 to 0.62; short tube 0.8; rounded 0.95 to 0.98", "memory"
        ),
        Source(
            "common practice, no source",
            "6 changes an hour for a slow well, 8 to 10 for a fast one",
            "memory",
        ),
    ],
    example={
        "volume": "28 gal",
        "flow": "250 gal/hr",
        "overflow_bore": "1 1/2 in",
        "overflow_head": "2 in",
        "open_share": "50 %",
    },
    use="when a well's pump and overflow are chosen, and again when either is changed.",
    not_for="an overflow that drains through a long hose (box_drain takes its losses), or air for the fish at"
    " rest.",
)
def livewell_turnover(
    volume: Annotated[float, Q("gal", "Water in the well", valid=POSITIVE, note="up to the overflow")],
    flow: Annotated[
        float,
        Q(
            "gal/hr",
            "Flow into the well",
            valid=NOT_NEGATIVE,
            note="all its pumps; what the hose really brings, or the open flow to judge the overflow",
        ),
    ],
    overflow_bore: Annotated[
        float, Q("in", "Bore of the overflow", valid=POSITIVE, note="the narrowest: fitting, tail or hose")
    ],
    overflow_head: Annotated[
        float,
        Q(
            "in",
            "Head over the overflow",
            valid=NOT_NEGATIVE,
            note="from the middle of a side opening, or the rim of a standpipe, to the highest the water may"
            " rise",
        ),
    ],
    min_turnover: Annotated[
        float,
        Q("1/hr", "Least water changes an hour", valid=NOT_NEGATIVE, note="6 slow, 8 to 10 fast"),
    ] = 6.0,
    coefficient: Annotated[
        float,
        Q(
            "",
            "Coefficient of the overflow",
            valid=Range(above=0, most=1),
            note="sharp hole 0.61, short tube 0.8",
        ),
    ] = SHARP_EDGED,
    open_share: Annotated[
        float,
        Q(
            "%",
            "Open share of the overflow",
            valid=Range(above=0, most=100),
            note="what screen and weed leave open",
        ),
    ] = 100.0,
) -> LivewellTurnover:
    """Water changes an hour in a live well and the overflow it needs.

    Changes are the flow over the volume. The overflow takes its coefficient times its open area times the
    square root of 2 g times the head over it; that holds while the water covers the opening.

    >>> well = livewell_turnover(volume=35, flow=280, overflow_bore=1.5, overflow_head=24)
    >>> well.turnover, well.overflow_flow
    (8.0, 2286.951)
    """
    area = bore_area(overflow_bore) * open_share / 100
    return LivewellTurnover(
        turnover=flow / volume,
        overflow_flow=orifice_flow(coefficient, area, overflow_head) * S_PER_HR / S_PER_MIN,
        head_in_bores=overflow_head / overflow_bore,
    )
