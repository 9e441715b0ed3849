"""Pieces cut out of a laminate, as drawings show them: bands that lie on one another."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from kb import Hatch, Outline
from kb.drawing import Point


def bands(thicknesses: Iterable[tuple[float, bool]], width: float) -> Iterator[tuple[float, Hatch | Outline]]:
    """Go through bands from the lowest up, each with the height of its middle.

    Args:
        thicknesses: of each band its thickness (in), and whether it is hatched; a core is left clear.
        width: how wide the piece is (in).

    """
    low = 0.0
    for thickness, is_hatched in thicknesses:
        corners = _box(low, low + thickness, width)
        yield low + thickness / 2, Hatch(corners) if is_hatched else Outline(corners)
        low += thickness


def _box(low: float, high: float, width: float) -> tuple[Point, ...]:
    return ((0.0, low), (width, low), (width, high), (0.0, high))
