"""A weight list drawn: its parts from the side, each at its own centre, and the common centre."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from kb import Dimension, Drawing, Note, Outline, Value, View
from kb.drawing import Item
from kb_calculators.marks import centre_mark, extent_of, place_mark
from kb_calculators.weights.named_points import first_few, numbered, plain

if TYPE_CHECKING:
    from kb_calculators.weights.weight_sum import WeightSum

_PAST = 0.05
_BESIDE = 0.035
_MOST = 12


def draw_weight_sum(arguments: Mapping[str, Any], results: WeightSum) -> Drawing:
    """Draw every part at its x and z, and their common centre G with its distances."""
    parts = arguments["items"]
    centre = (results.x, results.z)
    places = [(one.x, one.z) for one in parts]
    extent = extent_of([*places, centre, (0.0, 0.0)])
    along = [x for x, _ in [*places, centre, (0.0, 0.0)]]
    heights = [z for _, z in [*places, centre, (0.0, 0.0)]]
    base = ((min(along) - _PAST * extent, 0.0), (max(along) + _PAST * extent, 0.0))
    upright = ((0.0, min(heights) - _PAST * extent), (0.0, max(heights) + _PAST * extent))
    items: list[Item] = [Outline(one, "centre", is_closed=False) for one in (base, upright)]
    x, y, z = (Value(getattr(results, name), "in", name=name) for name in "xyz")
    items += [place_mark(place, extent) for place in places]
    items += [*centre_mark(centre, extent), Note((centre[0] - _BESIDE * extent, centre[1]), "G", "end")]
    if results.x:
        items.append(Dimension((0.0, results.z), centre, "below", x))
    if results.z:
        items.append(Dimension((0.0, 0.0), centre, "left", z))
    named = first_few([-one.mass for one in parts], _MOST)
    beside = ((centre[0] - _BESIDE * extent, centre[1]), centre)
    items += numbered(places, named, beside, extent)
    listed: list[str | Value] = []
    for number, one in enumerate((parts[i] for i in named), 1):
        listed += [f" {number} {plain(one.name)} ", Value(one.mass, "lb", "up"), ";"]
    said: list[str | Value] = []
    for one in parts:
        said += [f" {plain(one.name)}: ", Value(one.mass, "lb", "up"), " at ", Value(one.x, "in")]
        said += [" forward, ", Value(one.z, "in"), " up."]
    heaviest = f" The {_MOST} heaviest:" if len(parts) > _MOST else ""
    common = ("Common centre G ", x, " forward, ", y, " to starboard, ", z, " up.")
    says = ("The parts from starboard, bow to the right. ", *common, *said)
    view = View("profile", "From starboard, bow to the right", says, tuple(items))
    return Drawing("The weight list", (view,), (*common, heaviest, *listed[:-1], ". "))
