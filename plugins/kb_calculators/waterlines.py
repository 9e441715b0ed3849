"""Sections as they are drawn, and the liquid that stands in them below a line."""

from __future__ import annotations

from dataclasses import dataclass
from math import cos, pi, sin

from kb import Section
from kb.calculators.section import Point, sides

_ROUND = 96  # corners that stand for a circle; off it by less than a line is thick


@dataclass(frozen=True, slots=True)
class Line:
    """A straight line across a view: its height at 0, and its rise per inch to the right."""

    height: float
    rise: float = 0.0

    def at(self, across: float) -> float:
        """Return its height there."""
        return self.height + self.rise * across


def corners(section: Section) -> tuple[Point, ...]:
    """Return the corners of a section; a round one stands on its lowest point."""
    if section.diameter is None:
        return section.points
    radius = section.diameter / 2
    turns = (2 * pi * i / _ROUND - pi / 2 for i in range(_ROUND))
    return tuple((radius * cos(turn), radius + radius * sin(turn)) for turn in turns)


def moved(points: tuple[Point, ...], across: float, up: float) -> tuple[Point, ...]:
    """Return points moved to the right and up."""
    return tuple((x + across, y + up) for x, y in points)


def below(points: tuple[Point, ...], line: Line) -> tuple[tuple[Point, ...], tuple[Point, Point] | None]:
    """Return what of a closed shape lies below a line, and where the line runs in it from end to end.

    >>> below(((0, 0), (10, 0), (10, 8), (0, 8)), Line(3))[1]
    ((0.0, 3.0), (10.0, 3.0))
    """
    wet: list[Point] = []
    surface: list[Point] = []
    for a, b in sides(points):
        over_a, over_b = a[1] - line.at(a[0]), b[1] - line.at(b[0])
        if over_a <= 0:
            wet.append(a)
        if over_a == 0:
            surface.append(a)
        if over_a * over_b < 0:
            share = over_a / (over_a - over_b)
            place = (a[0] + (b[0] - a[0]) * share, a[1] + (b[1] - a[1]) * share)
            wet.append(place)
            surface.append(place)
    return tuple(wet), (min(surface), max(surface)) if len(surface) > 1 else None
