"""Dimensions by ISO 129: stacked outward by size, with extension lines, arrows, the value above the line.

Each is worked in its own level direction, as if it were measured along the paper's foot, and turned when it
is set down.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from kb.drawing import Dimension, Point, Side
from kb.pages.ink import Ink
from kb.pages.lettering import SIZE, Box, Letter, Lettering

_STAND_OFF, _PAST = 2.0, 6.0  # of extension lines: from the outline, and past the dimension line
_OVER = 4.0  # the value over its line
_ROW = SIZE + 2 * _OVER + 2
_FIRST = {"below": SIZE + _OVER + 8, "right": SIZE + _OVER + 8, "above": 16.0, "left": 16.0}
"""From the thing to the first dimension line; below and at the right the value stands in between."""
_ARROWS = 24.0  # the least room for two arrows between extension lines
_TAIL = 16.0  # of an arrow that stands outside


@dataclass(frozen=True, slots=True)
class _Span:
    """A dimension on paper: from where to where it is measured, and with its value if that stands outside."""

    low: float
    high: float
    feet: tuple[float, float]
    words: Lettering
    is_inside: bool

    @property
    def reach(self) -> float:
        return self.high + (0 if self.is_inside else _TAIL + 4 + self.words.width)


def dimension_sides(
    ink: Ink, dimensions: Sequence[Dimension], thing: Box, letter: Letter, scale: float
) -> dict[str, float]:
    """Draw dimensions round a thing; return how far out it all reaches at the left and at the right."""
    edges: dict[Side, float] = {
        "left": thing.left,
        "right": thing.right,
        "above": thing.top,
        "below": thing.bottom,
    }
    out = {"left": thing.left, "right": thing.right}
    for side, edge in edges.items():
        spans = [_span(one, letter, scale) for one in dimensions if one.side == side]
        away = -1.0 if side in ("left", "above") else 1.0
        for span, row in _rows(spans):
            line = edge + away * (_FIRST[side] + row * _ROW)
            _set(ink, span, line, away, is_upright=side in ("left", "right"))
            if side in out:
                out[side] = line + away * (_PAST if away > 0 else _OVER + SIZE)
    return out


def _span(one: Dimension, letter: Letter, scale: float) -> _Span:
    words = letter((one.sign, one.value) if one.sign else one.value)
    (x1, y1), (x2, y2) = one.first, one.last
    if one.side in ("left", "right"):
        # Turned, the paper's height runs from the foot up: high numbers are at the top.
        (low, first), (high, last) = sorted(((y1 * scale, x1 * scale), (y2 * scale, x2 * scale)))
    else:
        (low, first), (high, last) = sorted(((x1 * scale, -y1 * scale), (x2 * scale, -y2 * scale)))
    return _Span(low, high, (first, last), words, high - low >= words.width + 4)


def _rows(spans: Iterable[_Span]) -> list[tuple[_Span, int]]:
    """Give each dimension a row: the shortest nearest the thing, and two in a row only side by side."""
    rows: list[list[_Span]] = []
    placed: list[tuple[_Span, int]] = []
    for span in sorted(spans, key=lambda one: (one.high - one.low, one.low)):
        taken = [i for i, row in enumerate(rows) if any(_meet(span, other) for other in row)]
        row = max(taken) + 1 if taken else 0
        if row == len(rows):
            rows.append([])
        rows[row].append(span)
        placed.append((span, row))
    return placed


def _meet(one: _Span, other: _Span) -> bool:
    slack = 0.01
    return one.low < other.reach - slack and other.low < one.reach - slack


def _set(ink: Ink, span: _Span, line: float, away: float, *, is_upright: bool) -> None:
    def at(along: float, across: float) -> Point:
        return (across, -along) if is_upright else (along, across)

    for along, foot in zip((span.low, span.high), span.feet, strict=True):
        ink.line("extension", (at(along, foot + away * _STAND_OFF), at(along, line + away * _PAST)))
    has_room = span.high - span.low >= _ARROWS
    start = span.low if has_room else span.low - _TAIL
    end = span.high if has_room else span.high + _TAIL
    if not span.is_inside:
        end = span.high + _TAIL + 4 + span.words.width
    ink.line("dimension-line", (at(start, line), at(end, line)))
    middle = (span.low + span.high) / 2
    ink.arrow(at(span.low, line), at(middle if has_room else span.low - _TAIL, line))
    ink.arrow(at(span.high, line), at(middle if has_room else span.high + _TAIL, line))
    place = at(middle if span.is_inside else span.high + _TAIL + 4, line - _OVER)
    set_text = ink.upright if is_upright else ink.text
    set_text(*place, span.words, "middle" if span.is_inside else "start")
    ink.group("dimension")
