"""Points above the water drawn: an elevation square to the level bow line, with each point's least height."""

from __future__ import annotations

from collections.abc import Mapping
from math import hypot
from typing import TYPE_CHECKING, Any

from kb import Drawing, Liquid, NoAnswer, Outline, Value, View
from kb.drawing import Item
from kb_calculators.liquid import Surface, surface_through
from kb_calculators.marks import extent_of, place_mark
from kb_calculators.weights.named_points import first_few, numbered, plain

if TYPE_CHECKING:
    from kb_calculators.weights.above_water import AboveWater, Point

_TALL = 0.6  # heights are drawn larger than lengths until they reach so far, as a share of the length
_MOST = 20  # but no more than so many times
_PAST = 0.08
_NAMED = 12


def draw_above_water(arguments: Mapping[str, Any], results: AboveWater) -> Drawing | NoAnswer:
    """Draw each point at its true height above the water, and how far forward it stands there."""
    points = arguments["points"]
    if not points:
        return NoAnswer("no point is given")
    water = surface_through(0.0, 0.0, arguments["draft"], arguments["trim"], arguments["heel"])
    along = [_forward(one, water, arguments["draft"]) for one in points]
    heights = [one.height for one in results.heights]
    reach = max(*map(abs, heights), *(abs(one.least) for one in points))
    times = _times(max(along) - min(along), reach)
    drawn = [(x, times * height) for x, height in zip(along, heights, strict=True)]
    extent = extent_of([*drawn, (along[0], 0.0)])
    ends = min(along) - _PAST * extent, max(along) + _PAST * extent
    surface = ((ends[0], 0.0), (ends[1], 0.0))
    deep = [(x, -_PAST * extent) for x in reversed(ends)]
    items: list[Item] = [Liquid((*surface, *deep), surface)]
    said: list[tuple[str | Value, ...]] = []
    for one, at, height in zip(points, drawn, heights, strict=True):
        items.append(Outline(((at[0], 0.0), at), "thin", is_closed=False))
        items.append(Outline(((at[0], 0.0), (at[0], times * one.least)), is_closed=False))
        items.append(place_mark(at, extent))
        high, low = Value(height, "in", "down"), Value(one.least, "in", "up")
        said.append((f"{plain(one.name)} ", high, ", least ", low, "; "))
    named = first_few([one.margin for one in results.heights], _NAMED)
    items += numbered(drawn, named, (), extent)
    scale = f"Out of scale: heights are drawn {times} times larger than lengths. " if times > 1 else ""
    numbers = [part for one in said for part in one]
    says = ("Points above the water outside, bow to the right: ", *numbers[:-1], ". ", scale)
    view = View("elevation", "Heights above the water, bow to the right", says, tuple(items))
    listed = [part for number, i in enumerate(named, 1) for part in (f"{number} ", *said[i])]
    return Drawing("Above the water", (view,), (*listed[:-1], ". ", *scale, *_note(arguments, len(points))))


def _forward(point: Point, water: Surface, draft: float) -> float:
    """Return how far forward a point stands of x = 0 at the water, level, in the direction of the bow."""
    # The bow's direction laid into the water's plane, whose slopes are `forward` and `starboard`.
    rise, across = water.forward, water.starboard
    ahead = (1 + across**2, -rise * across, rise)
    size = hypot(*ahead)
    place = (point.x, point.y, point.z - draft)
    return sum(a * b for a, b in zip(ahead, place, strict=True)) / size


def _times(length: float, height: float) -> int:
    """Return how many times heights are drawn larger than lengths."""
    return max(1, min(_MOST, int(_TALL * length / height))) if height > 0 else 1


def _note(arguments: Mapping[str, Any], count: int) -> tuple[str | Value, ...]:
    note: list[str | Value] = ["Thick: up to the least height. "]
    if count > _NAMED:
        note.append(f"Numbered are the {_NAMED} with the smallest margin. ")
    for name, ways in (("trim", ("bow up", "bow down")), ("heel", ("starboard down", "port down"))):
        size = arguments[name]
        if size:
            note += [f"{name.capitalize()} ", Value(abs(size), "deg", name=name), f", {ways[size < 0]}. "]
    return tuple(note)
