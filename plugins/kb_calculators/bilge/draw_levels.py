"""A bilge drawn: its section at the float switch, with the water at each switch height."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from kb import Dimension, Drawing, Leader, Level, Liquid, Outline, Value, View
from kb.drawing import Item
from kb_calculators.liquid import surface_through
from kb_calculators.solids import ruled
from kb_calculators.waterlines import Line, below, corners

if TYPE_CHECKING:
    from kb_calculators.bilge.standing_water import BilgeWater

_LEVELS = (
    ("off_height", "left_volume", "pump stops"),
    ("on_height", "on_volume", "pump starts"),
    ("alarm_height", "alarm_volume", "alarm"),
)
_MIDDLE_PAST = 1.08


def draw_levels(arguments: Mapping[str, Any], results: BilgeWater) -> Drawing:
    """Draw the section at the float switch, with the water that is left tinted and the other levels on it."""
    bilge = ruled(arguments["section"], arguments["forward_section"], arguments["length"])
    place, heel = arguments["switch_x"], arguments["heel"]
    shape = corners(bilge.section(min(place / bilge.length, 1.0)))
    top = max(z for _, z in shape)
    items: list[Item] = []
    says: list[str | Value] = ["The bilge cut at the float switch, looking forward. "]
    for name, volume, words in _LEVELS:
        height = Value(arguments[name], "in", name=name)
        held = Value(getattr(results, volume), "gal", "up", volume)
        surface = surface_through(place, 0.0, height.size, arguments["trim"], heel)
        wet, ends = below(shape, Line(surface.at(place, 0.0), surface.starboard))
        if ends is not None:
            items.append(Liquid(wet, ends) if name == "off_height" else Level(ends))
            items.append(Leader(ends[1], (f"{words}\n", height, ": ", held)))
        says += [f"{words.capitalize()} at ", height, " with ", held, " of water. "]
    wiring = arguments["low_wiring"]
    if wiring is not None and wiring < top:
        height = Value(wiring, "in", name="low_wiring")
        _, ends = below(shape, Line(wiring, surface_through(0, 0, 0, 0, heel).starboard))
        if ends is not None:
            items += [Outline(ends, "hidden", is_closed=False), Leader(ends[1], ("wiring ", height))]
        says += ["Lowest open connection at ", height, "."]
    middle = ((0.0, (1 - _MIDDLE_PAST) * top), (0.0, _MIDDLE_PAST * top))
    left, right, lowest = min(shape), max(shape), min(shape, key=lambda corner: corner[1])
    head = next(corner for corner in sorted(shape) if corner[1] == top)
    wide, tall = Value(right[0] - left[0], "in", name="section"), Value(top, "in", name="section")
    items += [Dimension(left, right, "below", wide), Dimension(lowest, head, "left", tall)]
    items += [Outline(shape), Outline(middle, "centre", is_closed=False)]
    note: list[str | Value] = []
    for name, way in (("trim", "bow up"), ("heel", "starboard down")):
        if arguments[name]:
            note += [f"{name.capitalize()} ", Value(arguments[name], "deg", name=name), f", {way}. "]
    view = View("section", "Section at the float switch", tuple(says), tuple(items))
    return Drawing("The bilge", (view,), tuple(note) or "")
