"""Flooding: what comes in through a hole, and how long there is."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from kb import NOT_NEGATIVE, POSITIVE, Caution, NoAnswer, Q, Range, Source, calculator
from kb_calculators.conversions import S_PER_HR, S_PER_MIN
from kb_calculators.orifice import bore_area, orifice_flow

_MIN_PER_HR = S_PER_HR / S_PER_MIN


@dataclass(frozen=True, slots=True)
class Flooding:
    """What comes in through a hole, what the pumps leave of it, and the time to a level."""

    inflow: Annotated[
        float,
        Q(
            "gal/hr",
            "Water coming in",
            safe="up",
            rule="coefficient * 0.7853981633974483 * hole_diameter ^ 2 * sqrt(2 * 9.80665 m/s^2 * depth)"
            " in gal/hr",
        ),
    ]
    net_inflow: Annotated[
        float,
        Q(
            "gal/hr",
            "Water the pumps leave",
            safe="up",
            note="below zero, the pumps hold it and have that much to spare",
            rule="inflow - pump_flow",
        ),
    ]
    time: Annotated[
        float | NoAnswer,
        Q(
            "min",
            "Time to the level",
            safe="down",
            method="the volume over what the pumps leave, the hole at its first depth all the while; none"
            " where they hold it",
        ),
    ]


@calculator(
    cautions=[
        Caution(
            "danger",
            "The water outside stands deeper over the hole as she sinks, and other openings go under: times"
            " are shorter than shown. Call for help and put life jackets on first, then look for the hole.",
        ),
        Caution(
            "danger",
            "Bilge pumps clear what drips and splashes. Do not rest a life on them: they clog, and they stop"
            " when the water reaches the batteries.",
        ),
        Caution(
            "warning",
            "Every hole below the waterline needs a seacock that works within reach, and a wooden plug of its"
            " size tied to it.",
            hazard="sinking",
        ),
        Caution(
            "caution",
            "Pumps deliver far less than their label, in the real hose commonly 50 to 70 %. Give the flow of"
            " pump_capacity.",
        ),
    ],
    sources=[
        Source("rule of Torricelli", "flow through an opening under a head", "memory"),
        Source(
            "handbook coefficients", "sharp edge 0.60 to 0.62; short tube 0.8; rounded 0.95 to 0.98", "memory"
        ),
        Source("common practice, no source", "pumps deliver about 50 to 70 % of their open flow", "memory"),
    ],
    example={
        "hole_diameter": "1 in",
        "depth": "14 in",
        "pump_flow": "600 gal/hr",
        "volume": "90 gal",
    },
    use="when pumps and alarms are chosen, and for the drill: how long from the alarm to the batteries.",
    not_for="proof that a boat stays afloat: flotation and stability with water aboard are another matter.",
)
def flooding(
    hole_diameter: Annotated[
        float, Q("in", "Diameter of the hole", valid=POSITIVE, note="bore of a sheared fitting or hose tail")
    ],
    depth: Annotated[
        float,
        Q(
            "in",
            "Depth of the hole",
            valid=NOT_NEGATIVE,
            note="from the waterline outside to the middle of the hole, in the worst loading",
        ),
    ],
    volume: Annotated[
        float,
        Q(
            "gal",
            "Water that fills her to the level",
            valid=POSITIVE,
            note="to the batteries, say; from bilge_water at that height",
        ),
    ],
    coefficient: Annotated[
        float,
        Q(
            "",
            "Coefficient of the hole",
            valid=Range(above=0, most=1),
            usual=Range(0.6, 1, "no hole is sharper than 0.60 to 0.62: more comes in than shown"),
            note="a sheared fitting or hose tail 0.8; 0.61 for a sharp hole",
        ),
    ] = 0.8,
    pump_flow: Annotated[
        float,
        Q(
            "gal/hr",
            "Flow of all pumps",
            valid=NOT_NEGATIVE,
            note="delivered through their hoses, not as labelled",
        ),
    ] = 0.0,
) -> Flooding:
    """Water coming in through a hole, what the pumps leave, and the time to a level.

    Through the hole comes its coefficient times its area times the square root of 2 g times its depth. The
    time is the volume to the level over what comes in less what the pumps move; where that is below zero the
    pumps hold it, with so much to spare.

    >>> flooding(hole_diameter=1.5, depth=24, volume=100, coefficient=0.61, pump_flow=1200).net_inflow
    1086.951
    """
    inflow = orifice_flow(coefficient, bore_area(hole_diameter), depth) * _MIN_PER_HR
    net_inflow = inflow - pump_flow
    return Flooding(inflow=inflow, net_inflow=net_inflow, time=_time(volume, inflow, net_inflow))


def _time(volume: float, inflow: float, net_inflow: float) -> float | NoAnswer:
    if inflow <= 0:
        return NoAnswer("no water comes in: the hole is not below the waterline")
    if net_inflow <= 0:
        return NoAnswer("the pumps hold it, as long as they run")
    return volume / net_inflow * _MIN_PER_HR
