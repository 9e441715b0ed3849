"""How long a box takes to empty, level by level: the sum of plan area over flow, exact at both ends.

Levels in inches, volumes in in^3, flows in in^3/s.

The time is the integral of dV / Q. A hose tells its head by its flow, and not its flow by its head. So the
integral is turned over, by parts, into one over the flow: V / Q at the start, and from the last flow to the
first V / Q^2 dQ, with V the liquid above the last level. Nothing has to be solved inside it, and a stretch
of levels that empties at one and the same flow, as of a pump that gives the same at several heads, needs no
care of its own.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import ceil, cos, exp, log, pi, sin

from kb import Refusal, Section
from kb_calculators.hose_flow import LAMINAR_BELOW, Fluid, Hose
from kb_calculators.liquid import Surface, liquid_volume
from kb_calculators.quadrature import Function, gauss
from kb_calculators.solids import Solid, ruled

_SAME = 1e-9  # a depth so close to the top, as a share of it, is at the top
_WIDEST = 3.0  # of a piece of the integral, as the logarithm of its flows' ratio


@dataclass(frozen=True, slots=True)
class Contents:
    """What stands in a level prism between two levels.

    `levels` are both and every level between at which the plan area jumps or bends.
    """

    levels: tuple[float, ...]
    above: Function
    """The volume from the lowest level up to a level."""

    @property
    def volume(self) -> float:
        """The volume between both levels."""
        return self.above(self.levels[-1])


def contents(section: Section, length: float, depth: float | None, end_depth: float) -> Contents:
    """Return what a box, the same section all along, holds from `end_depth` up to `depth`, or to its top.

    Refuses depths that the box does not have, under these names.

    >>> contents(Section(((0, 0), (10, 5), (-10, 5))), 60, 4, 0).volume
    1920.0
    """
    solid = ruled(section, section, length)
    top = section.diameter or max(z for _, z in section.points)
    high = top if depth is None else min(depth, top)
    if depth is not None and depth > top * (1 + _SAME):
        raise Refusal("depth", f"is above the top of the section, {top:g} in", f"give at most {top:g} in")
    if end_depth >= high:
        raise Refusal("end_depth", "leaves nothing to flow out", f"give less than {high:g} in")
    return _between(solid, end_depth, high)


def _between(solid: Solid, low: float, high: float) -> Contents:
    def held(level: float) -> float:
        return liquid_volume(solid, Surface(level))

    least = held(low)
    if solid.diameters is not None:
        return Contents((low, high), lambda level: held(level) - least)
    corners = {z for _, z in solid.aft.points if low < z < high}
    levels = (low, *sorted(corners), high)
    # Between corners the plan area goes evenly, so that three volumes give all of them.
    stretches = [tuple(held(z) - least for z in (a, (a + b) / 2, b)) for a, b in pairwise(levels)]

    def above(level: float) -> float:
        i = min(max(bisect_left(levels, level) - 1, 0), len(stretches) - 1)
        first, middle, last = stretches[i]
        share = (level - levels[i]) / (levels[i + 1] - levels[i])
        return first + share * (4 * middle - 3 * first - last + share * 2 * (first + last - 2 * middle))

    return Contents(levels, above)


def turbulent_from(hose: Hose, fluid: Fluid) -> float:
    """Return the flow (m^3/s) at which the losses of a hose jump, from laminar to turbulent."""
    return LAMINAR_BELOW * fluid.viscosity / fluid.density * pi / 4 * hose.bore


def seconds_to_fall(
    inside: Contents,
    flows: Sequence[float],
    level_at: Callable[[float], float],
    kinks: Iterable[float] = (),
) -> float:
    """Return the time (s) from the highest to the lowest level.

    Args:
        inside: what is to flow out.
        flows: the flow at each level of `inside`; above zero at the last, falling with the level.
        level_at: the level at which a flow comes.
        kinks: flows at which `level_at` jumps or bends.

    >>> box = Section(((0, 0), (10, 0), (10, 9), (0, 9)))
    >>> seconds_to_fall(contents(box, 20, 9, 0), [0, 150], lambda flow: (flow / 50) ** 2)
    24.0

    """
    low, high = inside.levels[0], inside.levels[-1]
    least, most = flows[0], flows[-1]
    breaks = sorted({*flows, *(one for one in kinks if least < one < most)})

    def above(flow: float) -> float:
        return inside.above(min(max(level_at(flow), low), high))

    return inside.volume / most + sum(_piece(above, a, b) for a, b in pairwise(breaks))


def _piece(above: Function, start: float, end: float) -> float:
    """Integrate volume over flow squared from flow to flow."""
    if start == 0:
        return _eased(lambda flow: above(flow) / flow / flow, 0.0, end)
    # Losses go as powers of the flow: over its logarithm they are all but straight.
    first, span = log(start), log(end / start)
    count = max(ceil(span / _WIDEST), 1)
    return sum(
        _eased(lambda s: above(exp(s)) / exp(s), first + span * i / count, first + span * (i + 1) / count)
        for i in range(count)
    )


def _eased(function: Function, start: float, end: float) -> float:
    """Integrate a function that may begin and end with a square root or another half power.

    Over the angle of a cosine, half powers at the ends become whole ones.
    """
    middle, half = (start + end) / 2, (end - start) / 2
    return gauss(lambda angle: function(middle - half * cos(angle)) * half * sin(angle), 0.0, pi)
