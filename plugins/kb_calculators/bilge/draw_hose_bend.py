"""A hose's turn drawn: tail, bend and hose against the room there is."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from kb import Arc, Dimension, Drawing, Hatch, Outline, Value, View
from kb.calculators.section import Point
from kb.drawing import Item, Style

if TYPE_CHECKING:
    from kb_calculators.bilge.drains import HoseBend

_LEG = 0.6  # of the hose beyond its turn, in outside diameters
_WALL = 0.04  # thickness of fitting and of what is in the way, as a share of all
_FREE = "The thickness of walls is drawn freely. "


def draw_hose_bend(arguments: Mapping[str, Any], results: HoseBend) -> Drawing:
    """Draw the hose straight on its tail and then in a right angle, before the first thing in the way."""
    given = ("tail_length", "bend_radius", "outside_diameter", "room")
    tail, radius, across, room = (Value(arguments[name], "in", name=name) for name in given)
    needed = Value(results.needed_room, "in", "up", "needed_room")
    fits = "fits" if results.fitting == "straight" else "does not fit: it takes an elbow"
    says: list[str | Value] = ["A hose ", across, " outside leaves a tail of ", tail]
    says += [" and turns a right angle at an inside radius of ", radius, ". It needs ", needed]
    says += [" of the ", room, f" there are: it {fits}. ", _FREE]
    items = tuple(_Turn(tail, radius, across, room, needed).items())
    return Drawing("The hose", (View("side", f"The turn {fits}", tuple(says), items),), _FREE)


@dataclass(frozen=True, slots=True)
class _Turn:
    """The turn, seen from its side: the fitting's face at x = 0, the middle of the tail at y = 0."""

    tail: Value
    radius: Value
    across: Value
    room: Value
    needed: Value

    def items(self) -> Iterator[Item]:
        tail, radius, across, room = (one.size for one in (self.tail, self.radius, self.across, self.room))
        half = across / 2
        centre, low, top = (tail, half + radius), -across, half + radius + _LEG * across
        thick = _WALL * max(room, self.needed.size, top - low)
        yield Hatch(((-thick, low), (0.0, low), (0.0, across), (-thick, across)))
        yield Hatch(((room, low), (room + thick, low), (room + thick, top), (room, top)))
        lines: tuple[tuple[Style, float, float], ...] = (
            ("outline", half, radius),
            ("centre", 0.0, radius + half),
            ("outline", -half, radius + across),
        )
        for style, height, reach in lines:
            if tail:
                yield Outline(((0.0, height), (tail, height)), style, is_closed=False)
            if reach:
                yield Arc(centre, reach, 270.0, 360.0, style)
            yield Outline(((tail + reach, centre[1]), (tail + reach, top)), style, is_closed=False)
        yield Outline(((tail, -half), (tail, half)), "thin", is_closed=False)
        yield from self.dimensions(centre, low, top)

    def dimensions(self, centre: Point, low: float, top: float) -> Iterator[Item]:
        start, half = (0.0, low), self.across.size / 2
        inside = centre[0] + self.radius.size
        if self.tail.size:
            yield Dimension(start, (centre[0], -half), "below", self.tail)
        if self.radius.size:
            yield Dimension(centre, (inside, top), "above", self.radius, "R")
        yield Dimension((inside, top), (self.needed.size, top), "above", self.across, "⌀")
        yield Dimension(start, (self.needed.size, centre[1]), "below", self.needed)
        if self.room.size:
            yield Dimension(start, (self.room.size, low), "below", self.room)
