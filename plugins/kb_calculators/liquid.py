"""The liquid in a solid at any trim and heel: its volume below a level and the area of its surface.

A level surface is a plane in the axes of the solid. Trim is its angle to the x axis, taken in the plane of
x and z, bow up positive: liquid runs aft. Heel is its angle to the y axis, taken in the plane of y and z,
starboard down positive: liquid runs to starboard. With both, each slope is the tangent of its own angle.

All liquid stands at one level: air caught under a hump and puddles cut off from the rest are left out.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise
from math import acos, hypot, pi, radians, sqrt, tan
from typing import Literal

from kb_calculators.quadrature import gauss, tanh_sinh
from kb_calculators.solids import Solid

Ends = tuple[float, float]
"""A size at the aft and at the forward end; it changes evenly in between."""

Power = Literal[1, 2]
"""What is summed over a section: 1 the width of the surface (in), 2 the area of liquid (in^2)."""

_HALVINGS = 24
_SPREAD = 3.0


@dataclass(frozen=True, slots=True)
class Surface:
    """A level liquid surface: its z over the origin, and its rise per inch forward and to starboard."""

    height: float
    forward: float = 0.0
    starboard: float = 0.0

    def at(self, x: float, y: float) -> float:
        """Return the surface's z over a point of the bottom plane."""
        return self.height + self.forward * x + self.starboard * y


def surface_through(x: float, y: float, z: float, trim: float = 0.0, heel: float = 0.0) -> Surface:
    """Return the level surface through a point (in), at a trim and heel in degrees.

    >>> surface_through(0, 0, 10, trim=3).at(100, 0)
    4.759
    """
    forward, starboard = -tan(radians(trim)), tan(radians(heel))
    return Surface(z - forward * x - starboard * y, forward, starboard)


def liquid_volume(solid: Solid, surface: Surface) -> float:
    """Return the volume below a surface in in^3, within 1e-11 of the solid's whole volume.

    >>> from kb import Section
    >>> pipe = Solid(Section(diameter=18), Section(diameter=18), 48)
    >>> liquid_volume(pipe, Surface(height=9))
    6107.256
    """
    return _summed(solid, surface, 2)


def surface_area(solid: Solid, surface: Surface) -> float:
    """Return the area of the surface in in^2, seen along z: the volume that each inch of rise adds."""
    return _summed(solid, surface, 1)


def _summed(solid: Solid, surface: Surface, power: Power) -> float:
    if solid.diameters is not None:
        return solid.length * _round(solid.diameters, solid.length, surface, power)
    aft, forward = solid.aft.points, solid.forward.points
    depths = [
        (surface.at(0, a[0]) - a[1], surface.at(solid.length, f[0]) - f[1])
        for a, f in zip(aft, forward, strict=True)
    ]
    total = 0.0
    for i in range(len(aft)):
        width = (aft[i][0] - aft[i - 1][0], forward[i][0] - forward[i - 1][0])
        total += _side(depths[i - 1], depths[i], width, power)
    return solid.length * total


def _side(p: Ends, q: Ends, width: Ends, power: Power) -> float:
    """Sum the liquid that stands over one side, along the length as a share from 0 to 1.

    Args:
        p: depth below the surface of the side's first corner, aft and forward; negative where it is dry.
        q: that of its second corner.
        width: what the side goes to starboard; what goes to port takes away, so that a section's sides, round
            against the clock, leave the area of its liquid, hollow corners or not.
        power: what is summed.

    """

    def over(share: float) -> float:
        return _at(width, share) * _mean(_at(p, share), _at(q, share), power)

    def gap(share: float) -> float:
        return abs(_at(p, share) - _at(q, share))

    total = 0.0
    for start, end in pairwise(_breaks(p, q)):
        middle = (start + end) / 2
        wet = (_at(p, middle) > 0) + (_at(q, middle) > 0)
        if wet == 2:
            total += gauss(over, start, end)
        elif wet == 1:
            total += _graded(over, gap, start, end, _HALVINGS)
    return total


def _mean(p: float, q: float, power: Power) -> float:
    """Return over a side the mean depth of liquid (power 2), or the share of it that is wet (power 1)."""
    deep, shallow = max(p, q), min(p, q)
    if shallow >= 0:
        return (p + q) / 2 if power == 2 else 1.0
    return deep**power / (power * (deep - shallow)) if deep > 0 else 0.0


def _graded(
    function: Callable[[float], float],
    gap: Callable[[float], float],
    start: float,
    end: float,
    halvings: int,
) -> float:
    """Integrate a quotient over `gap`, in parts over which the gap stays within a factor of three.

    On a prism the gap stays the same. Where it closes, what is left after the last halving is nothing.
    """
    low, high = sorted((gap(start), gap(end)))
    if high <= _SPREAD * low or not halvings:
        return gauss(function, start, end)
    middle = (start + end) / 2
    return _graded(function, gap, start, middle, halvings - 1) + _graded(
        function, gap, middle, end, halvings - 1
    )


def _round(diameters: Ends, length: float, surface: Surface, power: Power) -> float:
    """Sum over a round solid, along the length as a share from 0 to 1."""
    # Heel only turns the surface about the circle's centre: what counts is their distance, square to it.
    upright = 1 / hypot(1, surface.starboard)
    radius = (diameters[0] / 2, diameters[1] / 2)
    rise = (
        (surface.at(0, 0) - radius[0]) * upright,
        (surface.at(length, 0) - radius[1]) * upright,
    )

    def segment(share: float) -> float:
        r = _at(radius, share)
        c = max(-1.0, min(1.0, _at(rise, share) / r))
        half = sqrt(1 - c * c)
        return 2 * r * half * upright if power == 1 else r * r * (pi - acos(c) + c * half)

    below = (rise[0] + radius[0], rise[1] + radius[1])
    above = (rise[0] - radius[0], rise[1] - radius[1])
    # From where the surface touches the bottom or the top, the area changes as the 3/2 power.
    return sum(
        tanh_sinh(segment, start, end)
        for start, end in pairwise(_breaks(below, above))
        if _at(below, (start + end) / 2) > 0
    )


def _breaks(*sizes: Ends) -> list[float]:
    """Return the ends of the length and, between them, where one of some sizes is zero."""
    crossings = {first / (first - last) for first, last in sizes if first * last < 0}
    return sorted({0.0, 1.0, *crossings})


def _at(ends: Ends, share: float) -> float:
    return ends[0] + (ends[1] - ends[0]) * share
