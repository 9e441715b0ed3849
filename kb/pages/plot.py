"""Charts laid out on paper: axes with ticks, curves, limits, the operating point, each with its name."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import ceil, floor, hypot, log10

from kb.drawing import Axis, Chart, Point
from kb.pages.ink import Ink
from kb.pages.lettering import LINE, SIZE, Bit, Box, Free, Letter, Lettering, Place, baseline_of

_WIDE, _HIGH = 340.0, 320.0
_TICK, _GAP = 6.0, 4.0
_RING, _DOT = 5.0, 3.5
_NEAR = (5.0, 12.0)  # how far from its line a name is tried
_FAR = (8.0, 20.0, 36.0, 56.0, 80.0)  # and how far from its point that of the operating point
_LEADER = 10.0  # from there on a line leads to it
_ALONG = tuple((2 * i + 1) / 32 for i in range(16))  # where along a line its name is tried
_MOST_TICKS = (6, 5, 4, 3, 2)


@dataclass(frozen=True, slots=True)
class Scale:
    """An axis on paper: what it reaches over, and its ticks."""

    low: float
    high: float
    ticks: tuple[float, ...]

    def share(self, size: float) -> float:
        """Return where a size stands along the axis, from 0 to 1."""
        return (size - self.low) / (self.high - self.low)


Tick = Callable[[float, str, int], Bit]
"""Prints the number at a tick: its size, the unit of its axis, and with how many decimals."""
UnitOf = Callable[[str], Bit]
"""Prints a unit."""


def plot(chart: Chart, letter: Letter, tick: Tick, unit_of: UnitOf) -> tuple[Ink, Box]:
    """Return a chart on paper, and the room it takes."""
    return _Plot(chart, letter, tick, unit_of).whole()


def nice(sizes: Sequence[float], most: int, *, from_zero: bool) -> Scale:
    """Return an axis over some sizes with at most so many ticks, 1, 2 or 5 of a power of ten apart.

    Across zero it has three at least.

    >>> nice([3.0, 47.0], 6, from_zero=True).ticks
    (0.0, 10.0, 20.0, 30.0, 40.0, 50.0)
    """
    low, high = min(sizes), max(sizes)
    if from_zero:
        low, high = min(low, 0.0), max(high, 0.0)
    if high == low:
        low, high = low - (abs(low) or 1.0) / 2, high + (abs(high) or 1.0) / 2
    for step in _steps((high - low) / (most + 1)):
        first, last = floor(low / step + 1e-9), ceil(high / step - 1e-9)
        if last - first < max(most, 3):
            break
    ticks = tuple(step * i for i in range(first, last + 1))
    return Scale(ticks[0], ticks[-1], ticks)


def _steps(least: float) -> Iterator[float]:
    power = floor(log10(least))
    while True:
        for part in (1, 2, 5):
            yield part * 10.0**power
        power += 1


def _decimals(scale: Scale) -> int:
    return max(0, -floor(log10(scale.ticks[1] - scale.ticks[0]) + 1e-9))


class _Plot:
    """One chart in the making."""

    def __init__(self, chart: Chart, letter: Letter, tick: Tick, unit_of: UnitOf) -> None:
        self.chart = chart
        self.letter = letter
        self.tick = tick
        self.unit_of = unit_of
        self.ink = Ink()
        points = [point for curve in chart.curves for point in curve.points]
        points += [chart.works.at] if chart.works else []
        xs, ys = [x for x, _ in points], [y for _, y in points]
        xs += [one.value.size for one in chart.limits if one.axis == "x"]
        ys += [one.value.size for one in chart.limits if one.axis == "y"]
        self.y = nice(ys, _MOST_TICKS[0], from_zero=chart.y.from_zero)
        y_labels = self.labels(chart.y, self.y)
        left = max(one.width for one in y_labels) + _TICK + _GAP
        self.x, x_labels = self.x_axis(xs, left)
        right = _WIDE - max(x_labels[-1].width / 2, 4.0)
        top, bottom = 2 * LINE, _HIGH - 2 * LINE - _TICK
        self.frame = Box(left, top, right, bottom)
        self.free = Free(self.frame, [], [])
        self.axes(x_labels, y_labels)

    def labels(self, axis: Axis, scale: Scale) -> list[Lettering]:
        decimals = _decimals(scale)
        return [Lettering(((self.tick(one, axis.unit, decimals),),)) for one in scale.ticks]

    def x_axis(self, xs: Sequence[float], left: float) -> tuple[Scale, list[Lettering]]:
        """Return the level axis with as many ticks as have room for their numbers."""
        for most in _MOST_TICKS:
            scale = nice(xs, most, from_zero=self.chart.x.from_zero)
            labels = self.labels(self.chart.x, scale)
            widest = max(one.width for one in labels)
            if (widest + SIZE) * (len(labels) - 1) <= _WIDE - left - widest / 2:
                break
        return scale, labels

    def at(self, point: Point) -> Point:
        """Return where a point of the chart stands on paper."""
        box = self.frame
        return (
            box.left + self.x.share(point[0]) * (box.right - box.left),
            box.bottom - self.y.share(point[1]) * (box.bottom - box.top),
        )

    def axes(self, x_labels: Sequence[Lettering], y_labels: Sequence[Lettering]) -> None:
        box, ink = self.frame, self.ink
        for one in self.x.ticks:
            x, _ = self.at((one, self.y.low))
            ink.line("grid", ((x, box.top), (x, box.bottom)))
        for one in self.y.ticks:
            _, y = self.at((self.x.low, one))
            ink.line("grid", ((box.left, y), (box.right, y)))
        ink.group("thing")
        ink.line("axis", ((box.left, box.bottom), (box.right, box.bottom)))
        for one, words in zip(self.x.ticks, x_labels, strict=True):
            x, _ = self.at((one, self.y.low))
            ink.line("axis", ((x, box.bottom), (x, box.bottom + _TICK)))
            ink.text(x, box.bottom + _TICK + SIZE, words)
        ink.text(box.right, box.bottom + _TICK + SIZE + LINE, self.name_of(self.chart.x), "end")
        ink.group("x-axis")
        ink.line("axis", ((box.left, box.top), (box.left, box.bottom)))
        for one, words in zip(self.y.ticks, y_labels, strict=True):
            _, y = self.at((self.x.low, one))
            ink.line("axis", ((box.left - _TICK, y), (box.left, y)))
            ink.text(box.left - _TICK - _GAP, y + SIZE * 0.35, words, "end")
        ink.text(0, box.top - LINE, self.name_of(self.chart.y), "start")
        ink.group("y-axis")

    def name_of(self, axis: Axis) -> Lettering:
        """Return what an axis shows, and its unit."""
        if not axis.unit:
            return self.letter(axis.label)
        return Lettering(((Bit(f"{axis.label}, "), self.unit_of(axis.unit)),))

    def whole(self) -> tuple[Ink, Box]:
        chart, ink, free = self.chart, self.ink, self.free
        curves = [[self.at(point) for point in curve.points] for curve in chart.curves]
        limits = [list(self.limit_line(one.axis, one.value.size)) for one in chart.limits]
        free.lines += [*curves, *limits]
        for curve, line in zip(chart.curves, curves, strict=True):
            ink.line("curve dashed" if curve.is_dashed else "curve", line)
            for x, y in line if curve.has_dots else ():
                start = (x + _DOT, y)
                ink.arc("dot", (x, y), _DOT, start, start)
            ink.group("thing")
        for line in limits:
            ink.line("bound", line)
            ink.group("bound-line")
        if chart.works is not None:
            self.works(self.at(chart.works.at), self.letter(chart.works.words))
        for limit, line in zip(chart.limits, limits, strict=True):
            either = [self.letter((f"{limit.label}{between}", limit.value)) for between in (" ", "\n")]
            self.name(either, line, "bound-name")
        for curve, line in zip(chart.curves, curves, strict=True):
            self.name([self.letter(curve.name)], line, "curve-name")
        if ink.box is None:
            raise ValueError("nothing has been drawn")
        return ink, ink.box

    def limit_line(self, axis: str, size: float) -> tuple[Point, Point]:
        if axis == "x":
            return self.at((size, self.y.low)), self.at((size, self.y.high))
        return self.at((self.x.low, size)), self.at((self.x.high, size))

    def works(self, at: Point, words: Lettering) -> None:
        """Mark the operating point: a ring, lines to both axes, its name."""
        x, y = at
        for to in ((x, self.frame.bottom), (self.frame.left, y)):
            self.ink.line("hidden", (at, to))
            self.free.lines.append((at, to))
        self.free.boxes.append(Box(x - _RING, y - _RING, x + _RING, y + _RING))
        start = (x + _RING, y)
        self.ink.arc("ring", at, _RING, start, start)
        _, box = self.free.place(one for off in _FAR for one in _beside(at, words, off))
        end = (min(max(x, box.left), box.right), min(max(y, box.top), box.bottom))
        away = hypot(end[0] - x, end[1] - y)
        if away > _RING + _LEADER:
            share = _RING / away
            leader = ((x + (end[0] - x) * share, y + (end[1] - y) * share), end)
            self.ink.line("thin", leader)
            self.free.lines.append(leader)
        self.ink.text(box.left, baseline_of(box), words, "start")
        self.ink.group("works")

    def name(self, either: Sequence[Lettering], line: Sequence[Point], kind: str) -> None:
        """Set the name of a line beside it, where there is room, in one of the ways it can be set."""
        words, box = self.free.place(
            (
                place
                for words in either
                for off in _NEAR
                for at in _along(line)
                for place in _beside(at, words, off)
            ),
            line,
        )
        self.ink.text(box.left, baseline_of(box), words, "start")
        self.ink.group(kind)


def _along(line: Sequence[Point]) -> Iterator[Point]:
    """Go through places along a line, the last first: there curves lie furthest apart."""
    lengths = [hypot(b[0] - a[0], b[1] - a[1]) for a, b in pairwise(line)]
    for share in reversed(_ALONG):
        rest = share * sum(lengths)
        for length, ((x1, y1), (x2, y2)) in zip(lengths, pairwise(line), strict=True):
            if rest <= length and length > 0:
                part = rest / length
                yield x1 + (x2 - x1) * part, y1 + (y2 - y1) * part
                break
            rest -= length


def _beside(at: Point, words: Lettering, off: float) -> Iterator[Place]:
    """Go through rooms for a text round a point, so far off it."""
    x, y = at
    wide, high = words.width, words.height
    for left in (x + off, x - off - wide, x - wide / 2):
        for top in (y - off - high, y + off, y - high / 2):
            if (left, top) != (x - wide / 2, y - high / 2):
                yield Place(words, Box(left, top, left + wide, top + high))
