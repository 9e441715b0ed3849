"""A vent drawn: back pressure over bore, the chosen bore, and what limits it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from kb import Axis, Chart, Curve, LimitLine, NoAnswer, OperatingPoint, Value
from kb_calculators.conversions import M3_PER_GAL, PA_PER_PSI, S_PER_MIN
from kb_calculators.hose_flow import ROUGHEST, Fluid, flow_through, hose_of

if TYPE_CHECKING:
    from kb_calculators.tanks.vents import VentSize

_POINTS = 60
_WIDER, _NARROWER = 1.6, 0.97
_OVER = 2.0  # how far above the limit, and above the chosen bore's pressure, the curve is drawn


def draw_back_pressure(arguments: Mapping[str, Any], results: VentSize) -> Chart:
    """Draw the back pressure of vents of this length over their bore, with the limit that is in force."""
    gas = Fluid(arguments["gas_density"], arguments["gas_viscosity"])
    flow = arguments["fill_rate"] * M3_PER_GAL / S_PER_MIN
    run = [arguments[name] for name in ("length", "roughness", "fitting_losses")]
    bore = arguments["bore"]
    limit = _limit(arguments, results)
    needed = results.needed_bore
    widest = _WIDER * max([bore, *([] if isinstance(needed, NoAnswer) else [needed])])
    most = _OVER * max(limit.value.size, results.back_pressure)
    points: list[tuple[float, float]] = []
    for i in range(_POINTS):
        one = widest * _NARROWER**i
        if arguments["roughness"] > ROUGHEST * one:
            break
        pressure = flow_through(hose_of(one, *run), gas, flow).loss / PA_PER_PSI
        if pressure > most and len(points) > 1:
            break
        points.append((one, pressure))
    chosen = Value(bore, "in", name="bore")
    pressure_here = Value(results.back_pressure, "psi", "up", "back_pressure")
    says: list[str | Value] = ["Back pressure over the bore of the vent. A bore of ", chosen, " holds back "]
    says += [pressure_here, "; ", f"{limit.label} is ", limit.value, "."]
    limits = [limit]
    if not isinstance(needed, NoAnswer):
        least = Value(needed, "in", "up", "needed_bore")
        limits.append(LimitLine("x", "least", least))
        says += [" The smallest bore within every limit is ", least, "."]
    return Chart(
        "Vent",
        tuple(says),
        Axis("Bore", "in", from_zero=False),
        Axis("Back pressure", "psi"),
        (Curve("this vent", tuple(reversed(points))),),
        tuple(limits),
        OperatingPoint((bore, results.back_pressure), ("chosen\n", chosen, "\n", pressure_here)),
    )


def _limit(arguments: Mapping[str, Any], results: VentSize) -> LimitLine:
    """Return the limit in force: what the label allows, or what the head at the nozzle leaves."""
    head, loss = results.nozzle_pressure, results.fill_loss
    allowed = Value(results.allowed_back_pressure, "psi", "down", "allowed_back_pressure")
    if arguments["service"] == "fuel" and not isinstance(head, NoAnswer) and not isinstance(loss, NoAnswer):
        left = head - loss
        if 0 < left < results.allowed_back_pressure:
            return LimitLine("y", "spit-back", Value(left, "psi", "down"))
    return LimitLine("y", "allowed", allowed)
