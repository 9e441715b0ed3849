"""Pump-out: how long a waste tank or a box takes to empty through a pump."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Annotated

from kb import (
    FALLBACK,
    NOT_NEGATIVE,
    POSITIVE,
    Caution,
    NoAnswer,
    Q,
    Range,
    Section,
    Source,
    calculator,
)
from kb_calculators.conversions import (
    IN3_PER_GAL,
    IN_PER_FT,
    KG_PER_M3_IN_LB_PER_FT3,
    M_PER_IN,
    S_PER_HR,
    S_PER_MIN,
)
from kb_calculators.emptying import Contents, contents, seconds_to_fall, turbulent_from
from kb_calculators.hose_flow import Fluid, hose_of
from kb_calculators.pumping import CurveRow, PumpedHose, pumped_hose

_IN3_PER_S = IN3_PER_GAL / S_PER_HR  # of 1 gal/hr


@dataclass(frozen=True, slots=True)
class PumpOut:
    """What is to be pumped out, how long it takes, and the flow at both ends of it."""

    volume: Annotated[
        float,
        Q("gal", "Liquid to pump out", safe="up", method="below the level at depth, above that at end_depth"),
    ]
    time: Annotated[
        float | NoAnswer,
        Q(
            "min",
            "Time to pump out",
            safe="up",
            method="level by level, plan area over the flow at that level, summed from depth to end_depth",
        ),
    ]
    first_flow: Annotated[
        float | NoAnswer,
        Q(
            "gal/hr",
            "Flow at the start",
            safe="up",
            note="as much air the vent has to let in",
            method="where the pump's head is what lift and hose ask for, liquid at depth",
        ),
    ]
    last_flow: Annotated[
        float | NoAnswer,
        Q("gal/hr", "Flow at the end", safe="down", method="the same, liquid at end_depth"),
    ]


@calculator(
    cautions=[
        Caution(
            "danger",
            "Sewage gas is poisonous, drives out the air and burns. Ventilate, no flame and no spark, keep"
            " your face away from the openings; nobody enters a tank or its closed compartment to look.",
            hazard="sewage-gas",
        ),
        Caution(
            "danger",
            "An outlet that comes under water when she heels siphons back and sinks the boat. A hose that"
            " leads overboard has a vented high loop above the heeled waterline and a seacock.",
            hazard="sinking",
        ),
        Caution(
            "warning",
            "A vent that is clogged or too small lets the pump collapse the tank and spill it"
            " into the boat, most of all once it sucks air at full speed. Open the vent first and"
            " size it with vent_size at that flow.",
        ),
        Caution(
            "warning",
            "Raw sewage over the side is against the law in many waters: check the local rules"
            " first. In US waters, inside the three-mile line, untreated sewage stays aboard until"
            " it goes ashore, and every valve that leads overboard is closed and secured.",
        ),
        Caution(
            "warning",
            "Sewage carries disease. Gloves and eye protection; flush the hose back before it is taken off,"
            " and wash.",
        ),
        Caution(
            "notice",
            "Solids, a low battery and air drawn in over the last inch make it slower than shown; what lies"
            " below the pick-up stays in the tank.",
        ),
    ],
    sources=[
        Source("the pump's maker", "the curve and the voltage it was taken at", "maker's"),
        Source(
            "Darcy and Weisbach; Colebrook; laws of similar pumps",
            "what the hose loses running full; flow as the voltage, head as its square",
            "memory",
        ),
        Source(
            "33 CFR 159.111",
            "retention parts of a certified type III device: pumped out at 45 gal/min or more, with the"
            " maker's venting, 30 s beyond empty",
            "read",
        ),
        Source(
            "33 CFR 159.7",
            "vessels with an installed toilet in US waters, where discharge is barred: valves closed and"
            " secured",
            "read",
        ),
        Source(
            "40 CFR 140.3(a)",
            "no discharge at all in fresh lakes closed to vessel traffic and rivers not navigable interstate",
            "read",
        ),
        Source("33 USC 1322", "untreated sewage barred inside the three-mile territorial sea", "memory"),
    ],
    example={
        "section": "{shape: trapezoid, width_top: 20 in, width_bottom: 14 in, height: 13 in}",
        "length": "26 in",
        "end_depth": "3/4 in",
        "curve": "[[0 ft, 1200 gph], [8 ft, 960 gph], [16 ft, 560 gph], [22 ft, 0 gph]]",
        "lift": "5 1/2 ft",
        "bore": "1 1/2 in",
        "hose_length": "14 ft",
        "fitting_losses": "4.5",
        "voltage": "12.4 V",
    },
    use="when a pump, its hose and its fitting are chosen for a waste tank, a water tank or a box, and to"
    " tell a blocked hose or a tired pump by the clock.",
    not_for="fuel, or a pump that has no curve; box_drain is for what drains by itself.",
)
def pump_out(
    section: Annotated[
        Section,
        Q(
            "in",
            "Inside section, the same all along",
            note="looking forward; y to starboard, z up from its lowest point",
        ),
    ],
    length: Annotated[float, Q("in", "Inside length", valid=POSITIVE)],
    curve: Annotated[
        tuple[CurveRow, ...], Q("", "Pump curve", note="the maker's, from open flow to shut-off")
    ],
    lift: Annotated[
        float,
        Q(
            "ft",
            "Lift",
            valid=NOT_NEGATIVE,
            usual=Range(
                most=20,
                why="a pump above the tank cannot suck from so deep; one that pushes may",
            ),
            note="from the tank's lowest inside point to the HIGHEST point of the hose",
        ),
    ],
    bore: Annotated[
        float, Q("in", "Bore of the hose", valid=POSITIVE, note="the narrowest: pick-up, hose or fitting")
    ],
    hose_length: Annotated[
        float, Q("ft", "Length of the hose", valid=NOT_NEGATIVE, note="from the pick-up to the outlet")
    ],
    fitting_losses: Annotated[
        float,
        Q(
            "",
            "Losses of fittings, sum of K",
            valid=NOT_NEGATIVE,
            note="pick-up 0.5, outlet 1; bends, valves, deck fitting besides",
        ),
    ] = 2.0,
    roughness: Annotated[float, Q("in", "Roughness of the hose inside", valid=NOT_NEGATIVE)] = 0.0012,
    liquid_density: Annotated[float, Q("lb/ft^3", "Density of the liquid", valid=POSITIVE)] = 64.0,
    viscosity: Annotated[float, Q("Pa*s", "Viscosity of the liquid", valid=POSITIVE)] = 1.08e-3,
    depth: Annotated[
        float | None,
        Q("in", "Depth of liquid at the start", valid=POSITIVE, unset="full to the top of the section"),
    ] = None,
    end_depth: Annotated[
        float,
        Q("in", "Depth left at the end", valid=NOT_NEGATIVE, note="what the pick-up does not reach"),
    ] = 0.0,
    voltage: Annotated[
        float, Q("V", "Voltage at the pump while it runs", fallback="curve_voltage")
    ] = FALLBACK,
    curve_voltage: Annotated[float, Q("V", "Voltage of the pump curve", valid=POSITIVE)] = 13.6,
) -> PumpOut:
    """Time to empty a tank or box through a pump, a hose and a fitting, level by level.

    At each level the pump works where its curve gives what lift and hose ask for, as in pump_capacity; the
    lift grows as the level falls. Plan area over that flow, summed over all levels, is the time. It has no
    answer where the pump cannot raise the last of the liquid.

    >>> from kb import Section
    >>> box = Section(((0, 0), (22, 0), (22, 10.5), (0, 10.5)))
    >>> rows = (CurveRow(0, 300), CurveRow(10, 300), CurveRow(15, 0))
    >>> pump_out(box, 30, rows, lift=6, bore=1.5, hose_length=10, voltage=13.6).time
    6.0
    """
    inside = contents(section, length, depth, end_depth)
    hose = hose_of(bore, hose_length, roughness, fitting_losses)
    liquid = Fluid(liquid_density * KG_PER_M3_IN_LB_PER_FT3, viscosity)
    pump = pumped_hose(curve, hose, liquid, voltage, curve_voltage)
    flows = [_flow(pump, lift - level / IN_PER_FT) for level in inside.levels]
    return PumpOut(
        volume=inside.volume / IN3_PER_GAL,
        time=_time(inside, pump, lift, flows),
        first_flow=flows[-1],
        last_flow=flows[0],
    )


def _flow(pump: PumpedHose, lift: float) -> float | NoAnswer:
    head = pump.working_head(lift)
    return NoAnswer(pump.too_high(lift)) if head is None else pump.working.flow(head)


def _time(
    inside: Contents, pump: PumpedHose, lift: float, flows: Sequence[float | NoAnswer]
) -> float | NoAnswer:
    """Return the time in minutes."""
    found = [flow * _IN3_PER_S for flow in flows if not isinstance(flow, NoAnswer)]
    if len(found) < len(flows) or found[0] <= 0:
        end, most = inside.levels[0], pump.working.highest
        return NoAnswer(
            f"the pump cannot raise the last of it: at {end:g} in the lift is {lift - end / IN_PER_FT:g} ft,"
            f" and at {most:g} ft nothing comes"
        )

    def level_at(flow: float) -> float:
        return (lift - pump.lift_at(flow / _IN3_PER_S)) * IN_PER_FT

    kinks = [flow * _IN3_PER_S for _, flow in pump.working.rows]
    kinks.append(turbulent_from(pump.hose, pump.liquid) / M_PER_IN**3)
    return seconds_to_fall(inside, found, level_at, kinks) / S_PER_MIN
