"""Pumps: what comes out at the end of the hose."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Annotated, Any, NamedTuple

from kb import (
    FALLBACK,
    NOT_NEGATIVE,
    POSITIVE,
    Caution,
    Limit,
    NoAnswer,
    Q,
    Refusal,
    Source,
    calculator,
    hookimpl,
)
from kb_calculators.conversions import G_M_PER_S2, KG_PER_M3_IN_LB_PER_FT3, M3_PER_GAL, M_PER_FT, S_PER_HR
from kb_calculators.hose_flow import Fluid, PumpCurve, flow_through, hose_of, pump_curve
from kb_calculators.roots import first_within


class CurveRow(NamedTuple):
    """One row of a pump maker's curve."""

    head: Annotated[float, Q("ft", "Head", valid=NOT_NEGATIVE)]
    flow: Annotated[float, Q("gal/hr", "Flow", valid=NOT_NEGATIVE)]


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
    if voltage <= 0:
        raise Refusal("voltage", "runs no pump", "give a voltage above 0 V")
    rated = pump_curve(curve, "curve")
    share = voltage / curve_voltage
    working = rated.at_voltage(share)
    hose = hose_of(bore, hose_length, roughness, fitting_losses)
    liquid = Fluid(liquid_density * KG_PER_M3_IN_LB_PER_FT3, viscosity)
    weight = liquid.density * G_M_PER_S2

    def lacking(head: float) -> float:
        return (
            lift + flow_through(hose, liquid, _m3_per_s(working.flow(head))).loss / weight / M_PER_FT - head
        )

    if lacking(working.highest) > 0:
        return _no_flow(working, lift)
    if lacking(working.lowest) < 0:
        raise Refusal(
            "curve",
            f"begins at {working.lowest:g} ft at this voltage, and the pump works against less",
            "add the maker's rows down to 0 ft",
        )
    head = first_within(lacking, working.lowest, working.highest)
    flow = working.flow(head)
    return PumpCapacity(
        flow=flow,
        head=head,
        share_of_open_flow=_share_of_open_flow(rated, flow),
        velocity=flow_through(hose, liquid, _m3_per_s(flow)).velocity / M_PER_FT,
    )


def _m3_per_s(gal_per_hr: float) -> float:
    return gal_per_hr * M3_PER_GAL / S_PER_HR


def _no_flow(working: PumpCurve, lift: float) -> PumpCapacity:
    if not working.shuts_off:
        raise Refusal(
            "curve",
            f"ends at {working.highest:g} ft at this voltage, and lift and hose ask for more",
            "add the maker's rows up to the head at which nothing comes",
        )
    none = NoAnswer(f"a lift of {lift:g} ft is above the {working.highest:g} ft the pump can raise")
    return PumpCapacity(none, none, none, none)


def _share_of_open_flow(rated: PumpCurve, flow: float) -> float | NoAnswer:
    head, open_flow = rated.rows[0]
    if head > 0:
        return NoAnswer("the curve has no row at 0 ft")
    return 100 * flow / open_flow


@hookimpl
def kb_calculators() -> Sequence[Callable[..., Any]]:
    """Return this plugin's calculators."""
    return (pump_capacity,)
