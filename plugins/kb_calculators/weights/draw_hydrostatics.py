"""A waterline drawn: the hull's profile and half breadth, with the centres of what lies below the water."""

from __future__ import annotations

from collections.abc import Mapping
from math import radians, tan
from typing import TYPE_CHECKING, Any

from kb import Drawing, Value
from kb_calculators.hull import hull_of
from kb_calculators.weights.hull_lines import Centre, Lines, trimmed

if TYPE_CHECKING:
    from kb_calculators.weights.hydrostatics import Hydrostatics


def draw_hydrostatics(arguments: Mapping[str, Any], results: Hydrostatics) -> Drawing:
    """Draw her lines in profile and half breadth, at the waterline, with the centre of buoyancy."""
    draft, slope = Value(arguments["draft"], "in", name="draft"), tan(radians(arguments["trim"]))
    lines = Lines(hull_of(arguments["offsets"]), draft, slope)
    lift = Centre("B", Value(results.lcb, "in", name="lcb"), Value(results.kb, "in", name="kb"), is_low=True)
    places: tuple[str | Value, ...] = ("Centre of buoyancy B ", lift.x, " forward, ", lift.z, " up. ")
    centres = [lift]
    if arguments["z"] is not None:
        up = Value(arguments["z"], "in", name="z")
        plumb = Value(results.lcb - slope * (results.kb - up.size), "in")
        centres.append(Centre("G", plumb, up))
        places += ("Centre of gravity G ", up, " up, taken plumb over B. ")
    trim, way = trimmed(arguments["trim"])
    water = ("The water stands ", draft, " above the base line at x = 0, trim ", trim, f", {way}. ")
    displaced = ("She displaces ", Value(results.displacement, "lb", name="displacement"), ". ")
    profile = lines.profile(centres, None, ("Her profile. ", *water, *displaced, *places))
    plane = (
        "Her half breadth. ",
        *water,
        "The waterplane has ",
        Value(results.waterplane, "ft^2", name="waterplane"),
    )
    note = ("Trim ", trim, f", {way}. ", *places)
    return Drawing("Lines", (profile, lines.half_breadth((*plane, "."))), note)
