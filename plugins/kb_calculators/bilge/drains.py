"""Drains: the fall that trim leaves them, and the room their hoses need."""

from __future__ import annotations

from dataclasses import dataclass
from math import radians, tan
from typing import Annotated

from kb import NOT_NEGATIVE, POSITIVE, Caution, Limit, Q, Range, Refusal, Source, calculator
from kb_calculators.bilge.draw_hose_bend import draw_hose_bend
from kb_calculators.conversions import IN_PER_FT

_SAME = 1e-12  # a share of the room so small is what conversion of units leaves behind


@dataclass(frozen=True, slots=True)
class DrainFall:
    """The fall of a run as built, and what the worst trim leaves of it."""

    built_fall: Annotated[float, Q("in/ft", "Fall as built", safe="down", rule="drop / run in in/ft")]
    net_fall: Annotated[
        float,
        Q(
            "in/ft",
            "Fall left at the worst trim",
            safe="down",
            note="below zero, the water runs back",
            rule="(drop / run - tan(worst_trim)) / (1 + drop / run * tan(worst_trim)) in in/ft",
        ),
    ]
    needed_drop: Annotated[
        float,
        Q(
            "in",
            "Drop that would just do",
            safe="up",
            rule="(run * min_fall + run * tan(worst_trim)) / (1 - run * min_fall / run * tan(worst_trim))"
            " in in",
        ),
    ]


@calculator(
    limits=[Limit("fall", "net_fall >= min_fall", "a run that drains dry however she trims")],
    cautions=[
        Caution(
            "danger",
            "A drain that ends under the heeled or loaded waterline brings water in. Find that line first;"
            " below it a drain needs a seacock, and a plug or flap is no substitute.",
            hazard="sinking",
        ),
        Caution(
            "warning",
            "Fuel that stands in a low loop of a vent or fill hose closes the vent and can throw"
            " fuel back at the nozzle. There the fall never reverses, between supports too:"
            " fill_line judges it.",
        ),
        Caution(
            "warning",
            "Water that stays on a deck or in a locker adds weight high up, freezes, makes people slip and"
            " finds its way into the core through every fastener.",
        ),
        Caution(
            "caution",
            "A mean fall hides a belly. Pour a bucket in at the high end and look, at rest and with the crew"
            " aft.",
        ),
    ],
    sources=[
        Source("geometry of a slope turned by the trim", "angles taken from each other, exact", "memory"),
        Source("common practice, no source", "drains fall 1/8 in a foot at least", "memory"),
        Source(
            "government guidance to 33 CFR 183.520",
            "no trap for liquid in a fuel vent; gasoline only, outboard boats excepted; not law",
            "read",
        ),
    ],
    example={"run": "60 in", "drop": "4 in", "worst_trim": "3 deg"},
    use="before decks, lockers and drain hoses are moulded or run, and again with the trims of the sea"
    " trial.",
    not_for="the time a cockpit takes to drain (box_drain), or the sag of a hose between supports"
    " (fill_line).",
)
def drain_fall(
    run: Annotated[
        float,
        Q(
            "in",
            "Length of the run",
            valid=POSITIVE,
            note="level, from the high end to the drain; not along the hose",
        ),
    ],
    drop: Annotated[
        float,
        Q(
            "in",
            "Drop over the run",
            usual=Range(above=0, why="as built the run does not fall to its drain"),
            note="high end above drain, the boat level on her lines",
        ),
    ],
    worst_trim: Annotated[
        float,
        Q(
            "deg",
            "Worst trim",
            valid=Range(0, 30),
            note="trim against the drain, from the lines it was built to; athwart, the worst heel",
        ),
    ],
    min_fall: Annotated[float, Q("in/ft", "Least fall that drains", valid=Range(0, 12))] = 0.125,
) -> DrainFall:
    """Fall of a deck, locker or hose run that still drains at the worst trim.

    The built fall is drop over level run. Trim turns the whole run, so the angle of its slope is the built
    angle less the trim's; the net fall is the tangent of that, again drop over level run. The drop needed is
    level run times the tangent of the least fall's angle and the trim's together. A degree of trim takes
    a little over 0.2 in/ft.

    >>> drain_fall(run=60, drop=4, worst_trim=3).net_fall
    0.170511
    """
    if drop < -run:
        raise Refusal("drop", "runs back steeper than the run is long", f"give at least {-run:g} in")
    built, trim, least = drop / run, tan(radians(worst_trim)), min_fall / IN_PER_FT
    return DrainFall(
        built_fall=built * IN_PER_FT,
        net_fall=(built - trim) / (1 + built * trim) * IN_PER_FT,
        needed_drop=run * (least + trim) / (1 - least * trim),
    )


@dataclass(frozen=True, slots=True)
class HoseBend:
    """The room a hose needs to turn a right angle, and the fitting that suits."""

    needed_room: Annotated[
        float,
        Q("in", "Room needed", safe="up", rule="tail_length + bend_radius + outside_diameter"),
    ]
    fitting: Annotated[str, Q("", "Fitting", rule='if needed_room <= room then "straight" else "elbow"')]


@calculator(
    draws=draw_hose_bend,
    cautions=[
        Caution(
            "danger",
            "A hose bent below its radius kinks, and one levered off a tail below the waterline sinks the"
            " boat. Fix the hose so that it pulls on no tail; close the seacock before one is taken off.",
        ),
        Caution(
            "warning",
            "A kinked fuel fill, vent or engine water hose throws fuel back, bursts a tank or overheats the"
            " engine. Check the bend again hot and with the engine running.",
        ),
        Caution(
            "caution",
            "The radius is the hose maker's, for the coldest day it is bent. An elbow has losses of its own:"
            " count it in the flow.",
        ),
    ],
    sources=[
        Source("the hose's maker", "least bend radius, and whether it is to the inside", "maker's"),
        Source("plane geometry", "a quarter turn that starts where the tail ends", "memory"),
        Source(
            "common practice, no source",
            "inside radius in bores: wire-reinforced 3 to 6, smooth fuel or water 6 to 10, corrugated vent or"
            " fill 2 to 3; to plan with, not to build by",
            "memory",
        ),
    ],
    example={
        "bend_radius": "4 in",
        "outside_diameter": "1 1/2 in",
        "tail_length": "1 3/4 in",
        "room": "8 in",
    },
    use="before a hole is cut, wherever a hose leaves a fitting toward a bulkhead, a stringer or a liner.",
    not_for="rigid pipe, or bends of more than a right angle.",
)
def hose_bend(
    bend_radius: Annotated[
        float,
        Q("in", "Least bend radius", valid=NOT_NEGATIVE, note="the maker's, to the inside of the bend"),
    ],
    outside_diameter: Annotated[
        float, Q("in", "Outside diameter of the hose", valid=POSITIVE, note="over the clamp if that is more")
    ],
    tail_length: Annotated[
        float,
        Q("in", "Length of the tail", valid=NOT_NEGATIVE, note="from the fitting's face to the tail's end"),
    ],
    room: Annotated[
        float,
        Q(
            "in",
            "Room",
            valid=NOT_NEGATIVE,
            note="square out from the fitting's face to the first thing in the way",
        ),
    ],
) -> HoseBend:
    """Room a hose needs to turn behind a fitting, and whether an elbow fitting is needed.

    The hose stays straight on the tail and then turns a right angle: the tail, the inside radius and the
    outside diameter stand behind each other. Where the room is less, the fitting is an elbow; the room that
    the elbow itself needs is its maker's to say.

    >>> hose_bend(bend_radius=4, outside_diameter=1.5, tail_length=1.75, room=7)
    HoseBend(needed_room=7.25, fitting='elbow')
    """
    needed_room = tail_length + bend_radius + outside_diameter
    fits = needed_room <= room * (1 + _SAME)
    return HoseBend(needed_room=needed_room, fitting="straight" if fits else "elbow")
