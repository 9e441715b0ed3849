"""Bilges: how much water stands at each height of the float switch, and what of it comes back."""

from __future__ import annotations

from dataclasses import dataclass
from math import pi
from typing import Annotated

from kb import (
    FALLBACK,
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
from kb_calculators.bilge.draw_levels import draw_levels
from kb_calculators.conversions import IN3_PER_FT3, IN3_PER_GAL, IN_PER_FT
from kb_calculators.liquid import liquid_volume, surface_through
from kb_calculators.solids import Solid, ruled, whole

_SAME = 1e-9  # a height so close to the top, as a share of it, is at the top

_MEASURED = "square up from the bilge's lowest line, z = 0, at switch_x on the centre line, y = 0"
_TILT = Range(-30, 30)


@dataclass(frozen=True, slots=True)
class BilgeWater:
    """Water in a bilge when its pump stops, when it starts and when the alarm sounds."""

    left_volume: Annotated[
        float, Q("gal", "Water left when the pump stops", safe="up", method="below the level at off_height")
    ]
    left_mass: Annotated[
        float, Q("lb", "Mass of the water left", safe="up", rule="left_volume * water_density in lb")
    ]
    on_volume: Annotated[
        float, Q("gal", "Water when the pump starts", safe="up", method="below the level at on_height")
    ]
    alarm_volume: Annotated[
        float, Q("gal", "Water when the alarm sounds", safe="up", method="below the level at alarm_height")
    ]
    cycle_volume: Annotated[
        float, Q("gal", "Water pumped in one cycle", safe="down", rule="on_volume - left_volume")
    ]
    drain_back: Annotated[
        float | NoAnswer,
        Q(
            "gal",
            "Water that runs back out of the discharge hose",
            safe="up",
            rule="3.14159265358979 / 4 * hose_bore ^ 2 * hose_length in gal",
        ),
    ]


@calculator(
    limits=[
        Limit(
            "standing",
            "left_mass <= max_standing",
            "the weight and trim that standing water takes for itself",
        ),
        Limit("on", "on_height > off_height", "a pump that stops again once it has started"),
        Limit("alarm", "alarm_height > on_height", "an alarm that means that the pump cannot keep up"),
        Limit(
            "drain_back",
            "2 * drain_back <= cycle_volume",
            "the pump from starting again on its own hose's water",
            given="hose_bore",
        ),
        Limit("wiring", "alarm_height < low_wiring", "open connections from bilge water", given="low_wiring"),
    ],
    cautions=[
        Caution(
            "danger",
            "A pump, a float switch or an alarm can spark. Where gasoline or its vapour can be, only"
            " ignition-protected gear goes in.",
        ),
        Caution(
            "warning",
            "Water at another trim or heel than the one given stands elsewhere. Work the resting trim and the"
            " running trim both.",
        ),
        Caution("notice", "Bilge water with oil or fuel in it goes ashore, not overboard."),
    ],
    sources=[
        Source(
            "closed-form geometry of prisms and wedges",
            "the water below a level plane, summed along the bilge",
            "memory",
        ),
        Source(
            "common practice, no source",
            "the whole discharge hose runs back, and no more than half of a cycle may",
            "memory",
        ),
        Source("practice for sea water", "64 lb/ft^3; fresh water has 62.4 lb/ft^3", "memory"),
    ],
    example={
        "section": "{shape: vee, width: 40 in, height: 6 in, vee_depth: 7 in}",
        "length": "10 ft",
        "trim": "2 deg",
        "switch_x": "6 in",
        "off_height": "1 1/2 in",
        "on_height": "4 in",
        "alarm_height": "6 in",
        "hose_bore": "1 1/8 in",
        "hose_length": "12 ft",
        "low_wiring": "9 in",
        "max_standing": "60 lb",
    },
    use="when pump, switch and alarm are placed, and again afloat, at the resting and at the running trim.",
    not_for="stability with water aboard, or how fast a hull floods.",
    draws=draw_levels,
)
def bilge_water(
    section: Annotated[
        Section,
        Q(
            "in",
            "Inside section at the bilge's aft end",
            note="looking forward; y to starboard, z up from its lowest point",
        ),
    ],
    length: Annotated[float, Q("in", "Length of the bilge", valid=POSITIVE)],
    off_height: Annotated[float, Q("in", "Pump stops", valid=NOT_NEGATIVE, note=_MEASURED)],
    on_height: Annotated[float, Q("in", "Pump starts", valid=NOT_NEGATIVE, note=_MEASURED)],
    alarm_height: Annotated[float, Q("in", "Alarm sounds", valid=NOT_NEGATIVE, note=_MEASURED)],
    max_standing: Annotated[float, Q("lb", "Most water that may stay", valid=NOT_NEGATIVE)],
    forward_section: Annotated[
        Section,
        Q(
            "in",
            "Inside section at the bilge's forward end",
            note="as many corners as section, in the same order; straight sides between them",
            fallback="section",
        ),
    ] = FALLBACK,
    trim: Annotated[float, Q("deg", "Trim", valid=_TILT, note="bow up is positive")] = 0.0,
    heel: Annotated[float, Q("deg", "Heel", valid=_TILT, note="starboard down is positive")] = 0.0,
    switch_x: Annotated[float, Q("in", "Float switch, forward of the aft end", valid=NOT_NEGATIVE)] = 0.0,
    hose_bore: Annotated[
        float | None, Q("in", "Bore of the discharge hose", valid=POSITIVE, unset="no hose is judged")
    ] = None,
    hose_length: Annotated[
        float | None,
        Q(
            "ft",
            "Length of hose that runs back",
            valid=POSITIVE,
            note="from the pump to the highest point of the hose",
            unset="no hose is judged",
        ),
    ] = None,
    low_wiring: Annotated[
        float | None,
        Q(
            "in",
            "Lowest open connection",
            valid=NOT_NEGATIVE,
            note="height of the level surface that reaches it, measured like the switch heights",
            unset="no wiring is judged",
        ),
    ] = None,
    water_density: Annotated[
        float,
        Q(
            "lb/ft^3",
            "Density of the water",
            valid=POSITIVE,
            usual=Range(62, 65, "this is neither fresh water nor sea water"),
        ),
    ] = 64.0,
) -> BilgeWater:
    """Water standing in the bilge at each float-switch height, and its mass.

    A level surface goes through each switch height, at the trim and heel given; the water below it and
    inside the section is summed. What stands above the section is not counted: draw it up to the sole.

    >>> from kb import Section
    >>> box = Section(((-12, 0), (12, 0), (12, 14), (-12, 14)))
    >>> bilge_water(box, 60, 3, 5, 8, 200, box, trim=4).left_volume
    6.686026
    """
    bilge = ruled(section, forward_section, length)
    if switch_x > length * (1 + _SAME):
        raise Refusal("switch_x", "is not inside the bilge", f"give from 0 in to {length:g} in")
    heights = {"off_height": off_height, "on_height": on_height, "alarm_height": alarm_height}
    top = _top(bilge, switch_x)
    for name, height in heights.items():
        if height > top * (1 + _SAME):
            raise Refusal(name, "is above the top of the bilge", f"give from 0 in to {top:g} in at switch_x")
    left, on, alarm = (_gallons(bilge, switch_x, one, trim, heel) for one in heights.values())
    return BilgeWater(
        left_volume=left,
        left_mass=left * IN3_PER_GAL / IN3_PER_FT3 * water_density,
        on_volume=on,
        alarm_volume=alarm,
        cycle_volume=on - left,
        drain_back=_hose_content(hose_bore, hose_length),
    )


def _top(bilge: Solid, x: float) -> float:
    section = bilge.section(min(x / bilge.length, 1.0))
    return max(z for _, z in section.points) if section.diameter is None else section.diameter


def _gallons(bilge: Solid, x: float, height: float, trim: float, heel: float) -> float:
    volume = liquid_volume(bilge, surface_through(x, 0.0, height, trim, heel))
    return min(max(volume, 0.0), whole(bilge).volume) / IN3_PER_GAL


def _hose_content(bore: float | None, length: float | None) -> float | NoAnswer:
    if bore is None or length is None:
        missing = [name for name, one in (("hose_bore", bore), ("hose_length", length)) if one is None]
        return NoAnswer(f"{' and '.join(missing)} not given")
    return pi / 4 * bore * bore * length * IN_PER_FT / IN3_PER_GAL
