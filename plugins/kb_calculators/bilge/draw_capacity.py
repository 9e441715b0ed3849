"""A pump drawn: its curve, what lift and hose ask for, and where they meet."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from kb import Axis, Chart, Curve, LimitLine, NoAnswer, OperatingPoint, Value
from kb_calculators.conversions import KG_PER_M3_IN_LB_PER_FT3
from kb_calculators.hose_flow import Fluid, PumpCurve, hose_of
from kb_calculators.pumping import pumped_hose

if TYPE_CHECKING:
    from kb_calculators.bilge.pumps import PumpCapacity

_POINTS = 41
_OVER = 1.1  # how far above the pump's shut-off head the system's curve is drawn
_BEYOND = 1.3  # and how far past the flow that comes


def draw_capacity(arguments: Mapping[str, Any], results: PumpCapacity) -> Chart:
    """Draw head over flow: the pump at its voltage, as rated too where that differs, and the system."""
    hose = hose_of(*(arguments[name] for name in ("bore", "hose_length", "roughness", "fitting_losses")))
    liquid = Fluid(arguments["liquid_density"] * KG_PER_M3_IN_LB_PER_FT3, arguments["viscosity"])
    voltage, rated_at = arguments["voltage"], arguments["curve_voltage"]
    pump = pumped_hose(arguments["curve"], hose, liquid, voltage, rated_at)
    lift = arguments["lift"]
    open_flow = max(pump.working.rows[0][1], pump.rated.rows[0][1])
    most = open_flow if isinstance(results.flow, NoAnswer) else min(open_flow, _BEYOND * results.flow)
    flows = (most * i / (_POINTS - 1) for i in range(_POINTS))
    asked = [(flow, lift + pump.lost(flow)) for flow in flows]
    top = _OVER * max(pump.rated.highest, pump.working.highest, lift)
    seen = [(flow, head) for flow, head in asked if head <= top]
    curves = [Curve(f"pump\n{voltage:g} V", _points(pump.working))]
    if voltage != rated_at:
        curves.append(Curve(f"pump\n{rated_at:g} V", _points(pump.rated), is_dashed=True))
    curves.append(Curve("system", tuple(seen if len(seen) > 1 else asked[:2])))
    needed = arguments["needed"]
    limits = () if needed is None else (LimitLine("x", "needed", Value(needed, "gal/hr", name="needed")),)
    says: list[str | Value] = ["Head over flow, for a lift of ", Value(lift, "ft", name="lift"), ". "]
    works = None
    if isinstance(results.flow, NoAnswer) or isinstance(results.head, NoAnswer):
        says += ["The pump brings nothing up there: its curve ends below."]
    else:
        flow, head = Value(results.flow, "gal/hr", "down", "flow"), Value(results.head, "ft", "up", "head")
        works = OperatingPoint((results.flow, results.head), ("works at\n", flow, "\n", head))
        says += ["The pump delivers ", flow, " against ", head, ", the losses of its hose included."]
    if needed is not None:
        says += [" Needed are ", Value(needed, "gal/hr", name="needed"), "."]
    return Chart(
        "Pump and hose",
        tuple(says),
        Axis("Flow", "gal/hr"),
        Axis("Head", "ft"),
        tuple(curves),
        limits,
        works,
    )


def _points(curve: PumpCurve) -> tuple[tuple[float, float], ...]:
    return tuple((flow, head) for head, flow in curve.rows)
