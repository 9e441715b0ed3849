"""A bond drawn: how long it takes to lay and close with each number of guns, and how long it may."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from kb import Axis, Chart, Curve, LimitLine, NoAnswer, OperatingPoint, Value
from kb_calculators.bonding.laying import lay_time
from kb_calculators.conversions import ML_PER_L

if TYPE_CHECKING:
    from kb_calculators.bonding.area import BondingArea

_LEAST = 5  # the chart reaches over so many guns at least
_MORE = 2  # and over so many more than there are
_MOST = 60  # of points


def draw_lay_time(arguments: Mapping[str, Any], results: BondingArea) -> Chart:
    """Draw the time to lay and to close over the number of guns, with the open time in use as its limit."""
    guns, closing = arguments["guns"], arguments["closing_time"]
    volume = results.adhesive * ML_PER_L
    run = arguments["flow"], arguments["change_time"]
    last = max(guns + _MORE, _LEAST)
    every = -(-last // _MOST)
    numbers = sorted({1, guns, *range(every, last + 1, every)})
    points = [(some, lay_time(volume, results.cartridges, some, *run) + closing) for some in numbers]
    usable = Value(arguments["use_of_open_time"] / 100 * results.open_time_now, "min", "down")
    laid = Value(results.lay_time + closing, "min", "up", "" if closing else "lay_time")
    used = Value(guns, "", name="guns")
    words = "gun" if guns == 1 else "guns"
    does = "lay and close" if closing else "lay"
    says: list[str | Value] = [f"Time to {does} over the number of guns. With ", used, f" {words} it takes "]
    says += [laid, "; the usable open time is ", usable, ". "]
    if isinstance(results.guns_needed, NoAnswer):
        says += ["No number of guns is in time."]
    else:
        says += ["Guns needed: ", Value(results.guns_needed, "", "up", "guns_needed"), "."]
    # The point of one gun is at the top, where there is room for one line.
    between = ", " if guns == 1 else "\n"
    return Chart(
        "Guns",
        tuple(says),
        Axis("Guns", ""),
        Axis(f"Time to {does}", "min"),
        (Curve("time", tuple(points), has_dots=True),),
        (LimitLine("y", "usable time", usable),),
        OperatingPoint((guns, laid.size), (used, f" {words}{between}", laid)),
    )
