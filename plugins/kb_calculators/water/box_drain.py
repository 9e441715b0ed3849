"""Drains: how long a cockpit, a well or a box takes to empty by gravity."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from kb import (
    NOT_NEGATIVE,
    POSITIVE,
    Caution,
    Limit,
    NoAnswer,
    Q,
    Range,
    Refusal,
    Section,
    Source,
    calculator,
)
from kb_calculators.conversions import IN3_PER_GAL, KG_PER_M3_IN_LB_PER_FT3, S_PER_MIN
from kb_calculators.emptying import contents, seconds_to_fall
from kb_calculators.hose_flow import Fluid, hose_of
from kb_calculators.orifice import SHARP_EDGED, bore_area
from kb_calculators.water.draw_box_drain import draw_box_drain
from kb_calculators.water.gravity import OUTLET, by_hoses, by_openings


@dataclass(frozen=True, slots=True)
class BoxDrain:
    """What drains, how fast at first, and how long it takes."""

    volume: Annotated[
        float,
        Q("gal", "Water to drain", safe="up", method="below the level at depth, above that at end_depth"),
    ]
    first_flow: Annotated[
        float | NoAnswer,
        Q(
            "gal/min",
            "Flow at the start, all drains",
            safe="down",
            method="of an opening: coefficient times area times the root of 2 g times the head; through a"
            " hose the flow whose losses are the head",
        ),
    ]
    time: Annotated[
        float | NoAnswer,
        Q(
            "s",
            "Time to drain",
            safe="up",
            method="level by level, plan area over the flow at that level, summed from depth to end_depth",
        ),
    ]


@calculator(
    draws=draw_box_drain,
    limits=[
        Limit(
            "time",
            "time <= max_time",
            "a boat that throws off the sea she shipped before the next one comes",
            if_none="outside",
        )
    ],
    cautions=[
        Caution(
            "danger",
            "A drain that ends under the heeled or loaded waterline brings water in and floods her through"
            " the cockpit, the well or the box. Find that line with everyone aft and to one side; below it a"
            " drain needs a seacock within reach, and its hose two clamps.",
            hazard="sinking",
        ),
        Caution(
            "warning",
            "A full cockpit is a heavy weight high up with a free surface: she may roll over before it has"
            " drained. This is a time, not a proof of stability.",
        ),
        Caution(
            "warning",
            "Leaves, bait and fish scales close a grating within minutes. Give the open share it has when"
            " dirty, and have two drains at least, one to each side.",
        ),
        Caution(
            "warning",
            "An outlet below the floor pulls only while its hose runs full: no high spot and no dip, and no"
            " air drawn in. Once it gurgles, all of that drop may be lost.",
        ),
        Caution(
            "caution",
            "The last inch flows as over a weir, slower than shown. What stands in corners and behind a sill,"
            " or is held back by trim and heel, does not drain at all.",
        ),
    ],
    sources=[
        Source("rule of Torricelli", "flow through an opening under a head", "memory"),
        Source(
            "handbook coefficients", "sharp edge 0.60 to 0.62; short tube 0.8; rounded 0.95 to 0.98", "memory"
        ),
        Source("Darcy and Weisbach; Colebrook", "what a hose and its fittings lose, running full", "memory"),
        Source(
            "ISO 11812",
            "cockpits drained by gravity alone, boats up to 24 m: longest times by category and cockpit size;"
            " none of its figures is used here, take max_time from the edition you build to",
            "memory",
        ),
        Source("practice for sea water", "64 lb/ft^3; fresh water has 62.4 lb/ft^3", "memory"),
    ],
    example={
        "section": "{shape: trapezoid, width_top: 66 in, width_bottom: 62 in, height: 20 in}",
        "length": "7 ft",
        "depth": "6 in",
        "drain_bore": "2 in",
        "drains": "2",
        "hose_length": "3 ft",
        "fitting_losses": "1.2",
        "open_share": "80 %",
        "outlet_drop": "5 in",
        "outside_level": "-3 in",
        "max_time": "180 s",
    },
    use="when the drains of a cockpit, an anchor well, a fish box or an ice box are chosen, and again when"
    " she is weighed and her loaded waterline is known.",
    not_for="scuppers and freeing ports that flow as a weir, or a box with a pump: pump_out takes that.",
)
def box_drain(
    section: Annotated[
        Section,
        Q(
            "in",
            "Inside section, the same all along",
            note="looking forward; y to starboard, z up from its lowest point, where the drains are",
        ),
    ],
    length: Annotated[float, Q("in", "Inside length", valid=POSITIVE)],
    depth: Annotated[float, Q("in", "Depth of water at the start", valid=POSITIVE)],
    drain_bore: Annotated[
        float, Q("in", "Bore of a drain", valid=POSITIVE, note="the narrowest: fitting, tail or hose")
    ],
    max_time: Annotated[
        float,
        Q("s", "Longest time allowed", valid=POSITIVE, note="of the standard or the rule you build to"),
    ],
    end_depth: Annotated[float, Q("in", "Depth at which it counts as empty", valid=NOT_NEGATIVE)] = 0.0,
    drains: Annotated[int, Q("", "Drains", valid=Range(1), note="all alike, each with its own hose")] = 1,
    coefficient: Annotated[
        float,
        Q(
            "",
            "Coefficient of the opening",
            valid=Range(above=0, most=1),
            usual=Range(0.6, 0.98, "sharp 0.60 to 0.62, short tube 0.8, well rounded 0.95 to 0.98"),
            note="only where no hose is given",
        ),
    ] = SHARP_EDGED,
    hose_length: Annotated[
        float, Q("ft", "Length of each drain hose", valid=NOT_NEGATIVE, note="0 ft for a bare opening")
    ] = 0.0,
    fitting_losses: Annotated[
        float,
        Q(
            "",
            "Losses of a hose's fittings, sum of K",
            valid=NOT_NEGATIVE,
            note="inlet 0.5; bends and valves besides. The speed lost at the outlet is counted on top",
        ),
    ] = 0.5,
    roughness: Annotated[float, Q("in", "Roughness of the hose inside", valid=NOT_NEGATIVE)] = 0.0012,
    open_share: Annotated[
        float,
        Q(
            "%",
            "Open share of the drains",
            valid=Range(above=0, most=100),
            note="what grating and dirt leave open; the flow goes down with it",
        ),
    ] = 100.0,
    outlet_drop: Annotated[
        float,
        Q(
            "in",
            "Outlet below the floor of the box",
            valid=NOT_NEGATIVE,
            note="needs a hose; to the middle of its end",
        ),
    ] = 0.0,
    outside_level: Annotated[
        float | None,
        Q(
            "in",
            "Water outside, above the floor of the box",
            note="where the outlet is under water, loaded and heeled; below the floor it is negative",
            unset="the outlet is above the water outside",
        ),
    ] = None,
    liquid_density: Annotated[
        float, Q("lb/ft^3", "Density of the water", valid=POSITIVE, note="counts in a hose only")
    ] = 64.0,
    viscosity: Annotated[
        float, Q("Pa*s", "Viscosity of the water", valid=POSITIVE, note="counts in a hose only")
    ] = 1.08e-3,
) -> BoxDrain:
    """Time for a box, well or cockpit to drain by gravity.

    The head is from the water inside down to the floor, or with a hose down to its outlet, though never
    below the water outside. A bare opening takes its coefficient times its area times the root of 2 g times
    the head; a hose the flow whose losses (f L / D + K + 1) v^2 / 2 g are the head. Plan area over flow,
    summed over all levels, is the time.

    >>> from kb import Section
    >>> cockpit = Section(((0, 0), (60, 0), (60, 12), (0, 12)))
    >>> box_drain(cockpit, 96, depth=4, drain_bore=2, max_time=300, drains=2, coefficient=0.6).time
    219.9343
    """
    inside = contents(section, length, depth, end_depth)
    if outlet_drop > 0 and hose_length == 0:
        raise Refusal("outlet_drop", "needs a hose down to the outlet", "give hose_length, or 0 in")
    count = drains * open_share / 100
    if hose_length > 0:
        hose = hose_of(drain_bore, hose_length, roughness, fitting_losses + OUTLET, bore="drain_bore")
        out = by_hoses(count, hose, Fluid(liquid_density * KG_PER_M3_IN_LB_PER_FT3, viscosity))
    else:
        out = by_openings(coefficient, count * bore_area(drain_bore))
    base = -outlet_drop if outside_level is None else max(-outlet_drop, outside_level)
    full, end = inside.levels[-1], inside.levels[0]
    first_flow: float | NoAnswer
    time: float | NoAnswer
    if base >= full:
        first_flow = NoAnswer(f"the water outside, at {base:g} in, stands as high: it runs in, not out")
    else:
        first_flow = out.flow(full - base) * S_PER_MIN / IN3_PER_GAL
    if outside_level is not None and outside_level >= end:
        time = NoAnswer(f"it never falls to {end:g} in: the water outside stands at {outside_level:g} in")
    elif hose_length > 0 and base >= end:
        time = NoAnswer(
            f"at {end:g} in no head is left to push the last film through the hose: give outlet_drop, or an"
            " end_depth at which it counts as empty"
        )
    else:
        flows = [out.flow(level - base) for level in inside.levels]
        time = seconds_to_fall(inside, flows, lambda flow: base + out.head(flow), out.kinks)
    return BoxDrain(volume=inside.volume / IN3_PER_GAL, first_flow=first_flow, time=time)
