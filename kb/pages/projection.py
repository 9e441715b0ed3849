"""Views of a thing laid out on paper: to one scale, dimensioned by ISO 129, with leaders at the sides."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import cos, radians, sin

from kb.drawing import (
    Arc,
    Circle,
    Dimension,
    Hatch,
    Item,
    Leader,
    Level,
    Liquid,
    Note,
    Outline,
    Point,
    View,
)
from kb.pages.dimensioning import dimension_sides
from kb.pages.ink import Ink
from kb.pages.lettering import LINE, SIZE, Box, Letter, Lettering

_WIDE, _HIGH = 340.0, 300.0
"""The most room of a view, its texts too: so wide, a phone still shows letters that can be read."""
_LEAST = 60.0  # the least size of the thing itself, whatever its texts take
_ROUNDS, _SETTLED = 6, 1e-3
_DOT, _LANDING, _APART = 1.8, 9.0, 14.0
_BETWEEN = 9.0  # leaders of several lines
_LEVEL = 10.0  # the mark of a level
_MARK_AT = 0.3  # where along a surface it stands


@dataclass(frozen=True, slots=True)
class Sheet:
    """A view as set on paper."""

    view: View
    ink: Ink
    box: Box


def lay_out(views: Sequence[View], letter: Letter, sizes: Letter) -> list[Sheet]:
    """Return the views of a drawing on paper, all to the same scale and at the same heights.

    `sizes` prints the texts of dimensions, `letter` all others.
    """
    scale = min(_scale(view, letter, sizes) for view in views)
    inks = [_draw(view, letter, sizes, scale) for view in views]
    boxes = [_box(ink) for ink in inks]
    top, bottom = min(box.top for box in boxes), max(box.bottom for box in boxes)
    return [
        Sheet(view, ink, Box(box.left, top, box.right, bottom))
        for view, ink, box in zip(views, inks, boxes, strict=True)
    ]


def _box(ink: Ink) -> Box:
    if ink.box is None:
        raise ValueError("nothing has been drawn")
    return ink.box


def _scale(view: View, letter: Letter, sizes: Letter) -> float:
    """Return the scale at which a view and its texts just fit; what the texts take hardly depends on it."""
    points = [point for one in view.items for point in _corners(one)]
    wide = max(x for x, _ in points) - min(x for x, _ in points)
    high = max(y for _, y in points) - min(y for _, y in points)
    size = max(wide, high)
    if size == 0:
        return 1.0
    scale, least = _WIDE / size, _LEAST / size
    for _ in range(_ROUNDS):
        box = _box(_draw(view, letter, sizes, scale))
        beside, above = box.right - box.left - wide * scale, box.bottom - box.top - high * scale
        fits = [
            (room - texts) / extent
            for room, texts, extent in ((_WIDE, beside, wide), (_HIGH, above, high))
            if extent
        ]
        before, scale = scale, max(min(fits), least)
        if abs(scale - before) <= _SETTLED * scale:
            break
    return scale


def _draw(view: View, letter: Letter, sizes: Letter, scale: float) -> Ink:
    ink = Ink()
    thing = _thing(view, ink, scale)
    for one in view.items:
        if isinstance(one, Note):
            _note(ink, one, letter(one.words), scale)
    dimensions = [one for one in view.items if isinstance(one, Dimension)]
    beside = dimension_sides(ink, dimensions, thing, sizes, scale)
    for side in ("left", "right"):
        leaders = [one for one in view.items if isinstance(one, Leader) and one.side == side]
        _leaders(ink, leaders, beside[side], letter, scale)
    return ink


def _thing(view: View, ink: Ink, scale: float) -> Box:
    """Draw the thing itself, and return the room that it takes."""
    for one in view.items:
        if isinstance(one, Outline):
            ink.line(one.style, _on_paper(one.points, scale), is_closed=one.is_closed)
        elif isinstance(one, Circle | Arc):
            _round(ink, one, scale)
        elif isinstance(one, Hatch):
            rings = [_on_paper(ring, scale) for ring in (one.points, *one.holes)]
            ink.face("cut", rings)
        elif isinstance(one, Liquid):
            ink.face("liquid", (_on_paper(one.points, scale),))
            _level(ink, *_on_paper(one.surface, scale))
        elif isinstance(one, Level):
            ink.line("surface", _on_paper(one.surface, scale))
        else:
            continue
        ink.group("thing")
    return _box(ink)


def _corners(item: Item) -> Sequence[Point]:
    """Return the points between which a part of the thing lies."""
    if isinstance(item, Outline | Hatch):
        return item.points
    if isinstance(item, Liquid):
        return (*item.points, *item.surface)
    if isinstance(item, Level):
        return item.surface
    if isinstance(item, Circle | Arc):
        radius = item.radius if isinstance(item, Arc) else item.diameter / 2
        x, y = item.centre
        return ((x - radius, y - radius), (x + radius, y + radius))
    return ()


def _on_paper(points: Iterable[Point], scale: float) -> list[Point]:
    return [(x * scale, -y * scale) for x, y in points]


def _round(ink: Ink, one: Circle | Arc, scale: float) -> None:
    if isinstance(one, Circle):
        radius, start, end = one.diameter / 2, 0.0, 0.0
    else:
        radius, start, end = one.radius, one.start, one.end
    x, y = one.centre
    places = [(x + radius * cos(radians(turn)), y + radius * sin(radians(turn))) for turn in (start, end)]
    (centre,), (first, last) = _on_paper([one.centre], scale), _on_paper(places, scale)
    ink.arc(one.style, centre, radius * scale, first, last, is_long=(end - start) % 360 > 180)


def _level(ink: Ink, start: Point, end: Point) -> None:
    """Draw a surface with the mark of a level: a triangle that stands on it, and lines that fade below."""
    ink.line("surface", (start, end))
    x, y = (a + (b - a) * _MARK_AT for a, b in zip(start, end, strict=True))
    half, high = _LEVEL / 2, _LEVEL * 0.87
    ink.face("level", (((x, y), (x - half, y - high), (x + half, y - high)),))
    for wide, below in ((half, 3.5), (half / 2, 6.5)):
        ink.line("thin", ((x - wide, y + below), (x + wide, y + below)))


def _note(ink: Ink, one: Note, words: Lettering, scale: float) -> None:
    ((x, y),) = _on_paper([one.at], scale)
    ink.text(x, y + SIZE * 0.35 - LINE * (len(words.lines) - 1) / 2, words, one.anchor)
    ink.group("words")


def _leaders(ink: Ink, leaders: Sequence[Leader], edge: float, letter: Letter, scale: float) -> None:
    """Set texts in a column beyond an edge, as near to the height of their points as their lines allow."""
    if not leaders:
        return
    side = -1.0 if leaders[0].side == "left" else 1.0
    places = _on_paper([one.at for one in leaders], scale)
    found = sorted(zip(places, map(letter, (one.words for one in leaders)), strict=True), key=_height)
    between = _BETWEEN if any(len(words.lines) > 1 for _, words in found) else LINE - SIZE
    middles: list[float] = []
    free_from = float("-inf")
    for (_, y), words in found:
        high = words.height + between
        middles.append(max(y, free_from + high / 2))
        free_from = middles[-1] + high / 2
    shift = sum(at[1] - middle for (at, _), middle in zip(found, middles, strict=True)) / len(found)
    x = edge + side * _APART
    for (at, words), spread in zip(found, middles, strict=True):
        y = spread + shift
        ink.line("thin", (at, (x, y), (x + side * _LANDING, y)))
        dot = (at[0] + _DOT, at[1])
        ink.arc("dot", at, _DOT, dot, dot)
        first = y + SIZE * 0.35 - LINE * (len(words.lines) - 1) / 2
        ink.text(x + side * (_LANDING + 4), first, words, "start" if side > 0 else "end")
        ink.group("leader")


def _height(found: tuple[Point, Lettering]) -> float:
    return found[0][1]
