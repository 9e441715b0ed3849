"""An infusion drawn: how far the resin has come over time, and when it must be there."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from kb import Axis, Chart, Curve, LimitLine, NoAnswer, OperatingPoint, Value

if TYPE_CHECKING:
    from kb_calculators.laminate.infusion import InfusionFill

_POINTS = 41
_PAST = 1.4  # how far past the fill and the limit the front is drawn: beside a limit its name has room


def draw_fill(arguments: Mapping[str, Any], results: InfusionFill) -> Chart | NoAnswer:
    """Draw the flow front over time, the far edge, and the gel time less what is kept in hand."""
    if isinstance(results.fill_time, NoAnswer) or isinstance(results.max_flow_length, NoAnswer):
        return NoAnswer("the resin stops on the way, and no front reaches the far edge")
    gel, margin = Value(arguments["gel_time"], "min", name="gel_time"), arguments["margin"]
    within = Value(gel.size * (1 - margin / 100), "min", "down") if margin else gel
    last = _PAST * max(results.fill_time, within.size)
    # By the square, so that the steep beginning has its points too.
    times = [last * (i / (_POINTS - 1)) ** 2 for i in range(_POINTS)]
    front = [(time, results.max_flow_length * (time / within.size) ** 0.5) for time in times]
    far = Value(arguments["flow_length"], "in", name="flow_length")
    time = Value(results.fill_time, "min", "up", "fill_time")
    reach = Value(results.max_flow_length, "in", "down", "max_flow_length")
    before = "gel time less margin" if margin else "gel time"
    says = ("Way of the flow front over time. It is at the far edge, ", far, " from the feed, after ", time)
    until = ("; it has until ", within, f", the {before}, and comes ", reach, " far by then.")
    return Chart(
        "Flow front",
        (*says, *until),
        Axis("Time", "min"),
        Axis("Way from the feed", "in"),
        (Curve("front", tuple(front)),),
        (LimitLine("x", "fill by", within),),
        OperatingPoint((results.fill_time, far.size), ("far edge\n", far, "\n", time)),
    )
