"""Pumps: what comes out at the end of the hose."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from kb import FALLBACK, NOT_NEGATIVE, POSITIVE, Caution, Limit, NoAnswer, Q, Source, calculator
from kb_calculators.bilge.draw_capacity import draw_capacity
from kb_calculators.conversions import KG_PER_M3_IN_LB_PER_FT3, M_PER_FT
from kb_calculators.hose_flow import Fluid, PumpCurve, hose_of
from kb_calculators.pumping import CurveRow, pumped_hose

__all__ = ["CurveRow", "PumpCapacity", "pump_capacity"]


@dataclass(frozen=True, slots=True)
class PumpCapacity:
    """Where the pump and its hose come to terms."""

    flow: Annotated[
        float | NoAnswer,
        Q(
            "gal/hr",
            "Delivered flow",
            safe="down",
            method="where the head of the curve is what lift and hose ask for",
        ),
    ]
    head: Annotated[
        float | NoAnswer,
        Q("ft", "Head the pump works against", safe="up", method="lift and hose losses at the flow found"),
    ]
    share_of_open_flow: Annotated[
        float | NoAnswer,
        Q(
            "%",
            "Share of the curve's open flow",
            safe="down",
            method="flow over the curve's flow at no head, as its maker rates the pump",
        ),
    ]
    velocity: Annotated[
        float | NoAnswer,
        Q("ft/s", "Speed in the hose", rule="flow / (0.7853981633974483 * bore ^ 2) in ft/s"),
    ]


@calculator(
    limits=[
        Limit(
            "flow", "flow >= needed", "the pump keeps up in its real hose", given="needed", if_none="outside"
        )
    ],
    cautions=[
        Caution(
            "danger",
            "An outlet that comes under water when she heels or trims siphons back and sinks the boat. Lead"
            " the hose in a high loop above the heeled waterline, with a vent at its top.",
            hazard="sinking",
        ),
        Caution(
            "danger",
            "Bilge pumps clear what drips and splashes. No pump of this size holds a hole in the hull.",
        ),
        Caution(
            "caution",
            "Ribbed hose loses far more than smooth hose: give its free bore and a greater roughness, or use"
            " smooth hose. A strainer half clogged and a low battery take more still.",
        ),
    ],
    sources=[
        Source("the pump's maker", "the curve and the voltage it was taken at", "maker's"),
        Source("Darcy and Weisbach; Colebrook", "what hose and fittings lose, running full", "memory"),
        Source("laws of similar pumps", "flow as the voltage, head as its square", "memory"),
        Source(
            "common practice, no source",
            "pumps are rated at open flow and deliver about 50 to 70 % of it",
            "memory",
        ),
    ],
    example={
        "curve": "[[0 ft, 2000 gph], [5 ft, 1500 gph], [10 ft, 900 gph], [16 ft, 0 gph]]",
        "lift": "4 ft",
        "bore": "1 1/8 in",
        "hose_length": "12 ft",
        "voltage": "12.2 V",
        "needed": "600 gph",
    },
    use="before pump and hose are bought, and again when the hose gets longer, narrower or higher.",
    not_for="the suction side of a pump, or a hole in the hull, which no pump of this size holds.",
    draws=draw_capacity,
)
def pump_capacity(
    curve: Annotated[
        tuple[CurveRow, ...], Q("", "Pump curve", note="the maker's, from open flow to shut-off")
    ],
    lift: Annotated[
        float,
        Q(
            "ft",
            "Lift",
            valid=NOT_NEGATIVE,
            note="from the water level at switch-off to the HIGHEST point of the hose",
        ),
    ],
    bore: Annotated[float, Q("in", "Bore of the hose", valid=POSITIVE)],
    hose_length: Annotated[float, Q("ft", "Length of the hose", valid=NOT_NEGATIVE)],
    fitting_losses: Annotated[
        float,
        Q("", "Losses of fittings, sum of K", valid=NOT_NEGATIVE, note="ends, bends, check valve, outlet"),
    ] = 2.0,
    roughness: Annotated[float, Q("in", "Roughness of the hose inside", valid=NOT_NEGATIVE)] = 0.0012,
    voltage: Annotated[
        float, Q("V", "Voltage at the pump while it runs", fallback="curve_voltage")
    ] = FALLBACK,
    curve_voltage: Annotated[float, Q("V", "Voltage of the pump curve", valid=POSITIVE)] = 13.6,
    liquid_density: Annotated[float, Q("lb/ft^3", "Density of the liquid", valid=POSITIVE)] = 64.0,
    viscosity: Annotated[float, Q("Pa*s", "Viscosity of the liquid", valid=POSITIVE)] = 1.08e-3,
    needed: Annotated[
        float | None,
        Q("gal/hr", "Least flow that will do", valid=NOT_NEGATIVE, unset="no least flow is judged"),
    ] = None,
) -> PumpCapacity:
    """Find what a pump really delivers through its hose, where pump curve and system curve meet.

    The system asks for the lift, and for (f L / D + K) v^2 / 2 g of hose and fittings. The curve is straight
    between its rows and tells nothing beyond them. A lift above the shut-off head leaves no flow.

    >>> rows = (CurveRow(0, 2000), CurveRow(16, 0))
    >>> pump_capacity(rows, lift=4, bore=1.125, hose_length=0, fitting_losses=0, voltage=13.6).flow
    1500.0
    """
    hose = hose_of(bore, hose_length, roughness, fitting_losses)
    liquid = Fluid(liquid_density * KG_PER_M3_IN_LB_PER_FT3, viscosity)
    pump = pumped_hose(curve, hose, liquid, voltage, curve_voltage)
    head = pump.working_head(lift)
    if head is None:
        none = NoAnswer(pump.too_high(lift))
        return PumpCapacity(none, none, none, none)
    flow = pump.working.flow(head)
    return PumpCapacity(
        flow=flow,
        head=head,
        share_of_open_flow=_share_of_open_flow(pump.rated, flow),
        velocity=pump.through(flow).velocity / M_PER_FT,
    )


def _share_of_open_flow(rated: PumpCurve, flow: float) -> float | NoAnswer:
    head, open_flow = rated.rows[0]
    if head > 0:
        return NoAnswer("the curve has no row at 0 ft")
    return 100 * flow / open_flow
