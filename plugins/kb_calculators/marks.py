"""Marks in drawings: a centre, and a part's place."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from kb import Circle, Outline
from kb.calculators.section import Point
from kb.drawing import Item

_CENTRE, _PLACE = 0.034, 0.014  # of the view's larger extent
_ARM = 1.5  # of a centre's cross, in its radii


def extent_of(points: Sequence[Point]) -> float:
    """Return the larger of width and height between which points lie; 1 where they are all the same."""
    spans = [max(along) - min(along) for along in zip(*points, strict=True)]
    return max(spans) or 1.0


def centre_mark(at: Point, extent: float) -> Iterator[Item]:
    """Draw the mark of a centre, a circle with a cross through it, in a view of an extent."""
    x, y = at
    arm = _ARM * _CENTRE * extent / 2
    yield Circle(at, _CENTRE * extent)
    yield Outline(((x - arm, y), (x + arm, y)), "thin", is_closed=False)
    yield Outline(((x, y - arm), (x, y + arm)), "thin", is_closed=False)


def place_mark(at: Point, extent: float) -> Circle:
    """Return the mark of a part's place, a small circle, in a view of an extent."""
    return Circle(at, _PLACE * extent)
