"""A box and its drain drawn: the section, the water in it and outside, and the outlet."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import pairwise
from typing import TYPE_CHECKING, Any

from kb import Dimension, Drawing, Leader, Level, Liquid, Outline, Value, View
from kb.calculators.section import Point, area, sides
from kb.drawing import Item
from kb_calculators.waterlines import Line, below, corners

if TYPE_CHECKING:
    from kb_calculators.water.box_drain import BoxDrain

_NEAR, _FAR = 0.06, 0.3  # where the water outside is shown beside the box, as shares of its width
_DEEP = 0.12  # how far below all else it reaches
_STUB = 0.1  # what is seen of a drain without a drop


def draw_box_drain(arguments: Mapping[str, Any], results: BoxDrain) -> Drawing:
    """Draw the section with the water at the start tinted, the level at the end, and one drain below it."""
    shape = corners(arguments["section"])
    right, top = max(y for y, _ in shape), max(z for _, z in shape)
    wide, floor = right - min(y for y, _ in shape), _floor(shape)
    given = ("depth", "end_depth", "outlet_drop", "drain_bore")
    depth, end, drop, bore = (Value(arguments[name], "in", name=name) for name in given)
    foot = min(point for point in shape if point[1] == floor[1])
    says: list[str | Value] = ["The box in section, looking forward. Water ", depth, " deep at the start"]
    items: list[Item] = []
    wet, surface = below(shape, Line(min(depth.size, top)))
    if surface is not None:
        items += [Liquid(wet, surface), Dimension(foot, surface[0], "left", depth)]
    ends = below(shape, Line(end.size))[1]
    if end.size > 0 and ends is not None:
        items += [Level(ends), Dimension(foot, ends[0], "left", end)]
        says += [", empty at ", end]
    reach = drop.size or _STUB * top
    items += _drain(shape, bore.size, reach)
    tips = [(floor[0] + way * bore.size / 2, -reach) for way in (-1, 1)]
    items.append(Dimension(tips[0], tips[1], "below", bore, "⌀"))
    if drop.size:
        items.append(Dimension(foot, tips[0], "left", drop))
        says += ["; the outlet lies ", drop, " below the floor"]
    if arguments["outside_level"] is None:
        says.append("; the water outside does not reach it. ")
    else:
        level = Value(arguments["outside_level"], "in", name="outside_level")
        bottom = min(-reach, level.size) - _DEEP * max(wide, top)
        near, far = right + _NEAR * wide, right + _FAR * wide
        line = ((near, level.size), (far, level.size))
        items += [Liquid((*line, (far, bottom), (near, bottom)), line), Leader(line[1], ("outside\n", level))]
        says += ["; the water outside stands at ", level, " from the floor. "]
    volume, note = Value(results.volume, "gal", name="volume"), _note(arguments)
    says += [f"Drains: {arguments['drains']}, bore ", bore, ". To drain: ", volume, f". {note}"]
    view = View("section", "Section, looking forward", tuple(says), tuple(items))
    return Drawing("The box", (view,), note)


def _note(arguments: Mapping[str, Any]) -> str:
    note = "Heights are from the floor at the drain. "
    if arguments["drains"] > 1:
        note += f"One of {arguments['drains']} drains is drawn. "
    if arguments["hose_length"] > 0:
        return note + "The way of the hose is not known here: it is drawn straight down. "
    return note + "The length of the drain is drawn freely. "


def _floor(shape: Sequence[Point]) -> Point:
    """Return where the drain stands: at the middle of a level floor, or at the lowest corner."""
    low = min(z for _, z in shape)
    pairs = [(a, b) for a, b in sides(tuple(shape)) if a[1] == b[1] == low]
    if pairs:
        (first, _), (last, _) = pairs[0]
        return (first + last) / 2, low
    return next(point for point in shape if point[1] == low)


def _drain(shape: tuple[Point, ...], bore: float, drop: float) -> list[Item]:
    """Draw the box, open where the drain goes down, and the drain to its outlet."""
    middle, low = _floor(shape)
    axis = ((middle, low + drop * _STUB), (middle, -drop * (1 + _STUB)))
    walls = _opened(shape, bore / 2)
    tips = [(middle + way * bore / 2, -drop) for way in (1, -1)]
    items: list[Item] = [Outline(axis, "centre", is_closed=False)]
    if walls is not None:
        return [Outline((tips[0], *walls, tips[1]), is_closed=False), *items]
    items += [Outline(((x, low), (x, z)), is_closed=False) for x, z in tips]
    return [Outline(shape), *items]


def _opened(shape: tuple[Point, ...], half: float) -> tuple[Point, ...] | None:
    """Return the walls from the starboard edge of the drain round to its port edge.

    None where the floor is narrower than the drain.
    """
    ring = shape if area(shape) > 0 else shape[::-1]
    floor = _floor(shape)
    pair = next((i for i, (a, b) in enumerate(sides(ring)) if a[1] == b[1] == floor[1]), None)
    begin = ring.index(floor) + 1 if pair is None else pair + 1
    rest = [*ring[begin:], *ring[: begin - (pair is None)]]
    walls = _beyond([floor, *rest, floor], floor[0] + half)
    if walls is None:
        return None
    mirrored = _beyond([(-x, z) for x, z in reversed(walls)], half - floor[0])
    return None if mirrored is None else tuple((-x, z) for x, z in reversed(mirrored))


def _beyond(walls: Sequence[Point], edge: float) -> list[Point] | None:
    """Return walls from where they first reach an edge to the right; None where they turn back before."""
    for i, (a, b) in enumerate(pairwise(walls)):
        if b[0] <= a[0]:
            return None
        if b[0] >= edge:
            share = (edge - a[0]) / (b[0] - a[0])
            return [(edge, a[1] + (b[1] - a[1]) * share), *walls[i + 1 :]]
    return None
