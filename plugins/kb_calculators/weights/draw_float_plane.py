"""A boat afloat drawn: her profile and half breadth, at the water she lies in."""

from __future__ import annotations

from collections.abc import Mapping
from math import radians, tan
from typing import TYPE_CHECKING, Any

from kb import Drawing, Value
from kb_calculators.hull import hull_of
from kb_calculators.weights.hull_lines import Centre, Lines, trimmed

if TYPE_CHECKING:
    from kb_calculators.weights.float_plane import FloatPlane


def draw_float_plane(arguments: Mapping[str, Any], results: FloatPlane) -> Drawing:
    """Draw her lines in profile and half breadth, with her water line and the centres of weight and lift."""
    draft = Value(results.draft, "in", name="draft")
    forward = Value(results.draft_forward, "in", name="draft_forward")
    lines = Lines(hull_of(arguments["offsets"]), draft, tan(radians(results.trim)))
    gravity = Centre("G", Value(arguments["x"], "in", name="x"), Value(arguments["z"], "in", name="z"))
    buoyancy = Centre(
        "B", Value(results.lcb, "in", name="lcb"), Value(results.kb, "in", name="kb"), is_low=True
    )
    trim, way = trimmed(results.trim)
    metacentre = Value(results.gm, "in", "down", "gm")
    places = (
        "Centre of gravity G ", gravity.x, " forward, ", gravity.z, " up. Centre of buoyancy B ", buoyancy.x,
        " forward, ", buoyancy.z, " up. ",
    )  # fmt: skip
    water = (
        "The water stands ",
        draft,
        " above the base line at x = 0 and ",
        forward,
        " at the last station",
    )
    lies = (", trim ", trim, f", {way}. ")
    profile = lines.profile((buoyancy, gravity), forward, ("Her profile. ", *water, *lies, *places))
    plan = lines.half_breadth(
        ("Her half breadth, with the water line of draft ", draft, *lies[:2], f", {way}.")
    )
    note = ("Trim ", trim, f", {way}. ", *places, "GM ", metacentre, ". ")
    return Drawing("Afloat", (profile, plan), note)
