"""A hull from its offsets: what it displaces below a plane of water, and the breadth of that plane.

In inches, fixed to the hull: x forward from the transom's lowest point, z up from the base line. Rows of
equal order are joined by straight lines from station to station, rows of a station up its side. Both sides
are alike. The water stands at z = draft - slope * x; slope is the tangent of the trim, bow up positive.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import ceil, log
from typing import Annotated, NamedTuple

from kb import Q, Refusal
from kb_calculators.quadrature import gauss_rule

SAME = 1e-9
"""Water so little above the top row, as a share of the hull's depth, is at the top row."""

_GAUSS, _GAUSS_OF_CUBICS = (
    tuple(((1 + x) / 2, weight / 2) for x, weight in gauss_rule(points)) for points in (6, 2)
)
_SPREAD = 1.6  # within this ratio of heights six points give a quotient over the height to 1e-11
_SHALLOW = 1e-12  # so small a share of a bay, or of a side's height at its other end, holds nothing

Ends = tuple[float, float]
"""A size at the aft and at the forward end of a bay; it changes evenly in between."""


class OffsetRow(NamedTuple):
    """One row of a table of offsets."""

    x: Annotated[float, Q("in", "Station, forward of the transom's lowest point")]
    z: Annotated[float, Q("in", "Height above the base line")]
    half_breadth: Annotated[float, Q("in", "From the centre line out to the side")]


Offsets = Annotated[
    tuple[OffsetRow, ...],
    Q(
        "",
        "Offsets to the outside of the skin",
        note="the rows of a station from keel to sheer, every station equally many; rows of equal order"
        " make a line of the hull; a flat is two rows of one z; a first row off the centre, a flat bottom",
    ),
]


@dataclass(frozen=True, slots=True)
class Hull:
    """Stations from aft to forward, and heights and half breadths of each from keel to sheer."""

    x: tuple[float, ...]
    z: tuple[tuple[float, ...], ...]
    half_breadth: tuple[tuple[float, ...], ...]

    @property
    def length(self) -> float:
        """From the first station to the last."""
        return self.x[-1] - self.x[0]

    @property
    def depth(self) -> float:
        """From the lowest row to the highest."""
        return max(z[-1] for z in self.z) - min(z[0] for z in self.z)

    def lowest_draft(self, slope: float) -> float:
        """Return the draft at which the water just touches the hull."""
        return min(z[0] + slope * x for x, z in zip(self.x, self.z, strict=True))

    def highest_draft(self, slope: float) -> tuple[float, float]:
        """Return the draft at which the water first reaches a top row, and the x of that station."""
        return min((z[-1] + slope * x, x) for x, z in zip(self.x, self.z, strict=True))


@dataclass(frozen=True, slots=True)
class Immersed:
    """The volume below the water (in^3), its moments (in^4), and integrals of the breadth at the water.

    `area`, `first` and `second` sum the breadth times x to the power of 0, 1 and 2; `inertia` is about the
    centre line. All four are of the waterplane as seen along z.
    """

    volume: float
    moment_x: float
    moment_z: float
    area: float
    first: float
    second: float
    inertia: float

    @property
    def lcb(self) -> float:
        """The centre of buoyancy along x."""
        return self.moment_x / self.volume

    @property
    def kb(self) -> float:
        """The centre of buoyancy above z = 0."""
        return self.moment_z / self.volume

    @property
    def inertia_about_lcf(self) -> float:
        """The waterplane's second moment about the square line through its centroid."""
        return max(self.second - self.first * self.first / self.area, 0.0) if self.area else 0.0


def hull_of(rows: Sequence[OffsetRow]) -> Hull:
    """Return the hull that offsets describe, or refuse them."""
    stations: dict[float, list[OffsetRow]] = {}
    for row in rows:
        stations.setdefault(row.x, []).append(row)
    if len(stations) < 2:
        raise Refusal("offsets", f"has one station only, at x = {rows[0].x:g} in", "give two at least")
    in_order = [stations[x] for x in sorted(stations)]
    for station in in_order:
        _check(station, in_order[0])
    if not any(row.half_breadth for row in rows):
        raise Refusal("offsets", "has no half breadth at any station", "give those from keel to sheer")
    return Hull(
        tuple(station[0].x for station in in_order),
        tuple(tuple(row.z for row in station) for station in in_order),
        tuple(tuple(row.half_breadth for row in station) for station in in_order),
    )


def _check(station: Sequence[OffsetRow], first: Sequence[OffsetRow]) -> None:
    at = f"at x = {station[0].x:g} in"
    if len(station) == 1:
        raise Refusal("offsets", f"has one row only {at}", "give two rows at least, keel and sheer")
    if len(station) != len(first):
        raise Refusal(
            "offsets",
            f"has {len(station)} rows {at} and {len(first)} at x = {first[0].x:g} in",
            "give every station equally many, in the same order; a line that has run into its neighbour"
            " keeps its row, 1/16 in higher",
        )
    for row in station:
        if row.half_breadth < 0:
            raise Refusal(
                "offsets",
                f"has a half breadth of {row.half_breadth:g} in {at}, z = {row.z:g} in",
                "measure it out from the centre line; 0 in or more",
            )
    for below, above in pairwise(station):
        if above.z < below.z:
            raise Refusal(
                "offsets",
                f"falls from z = {below.z:g} in to {above.z:g} in {at}",
                "write the rows of a station from keel to sheer; a flat is two rows of one z",
            )
    for number, row in enumerate(station):
        if row in station[:number]:
            raise Refusal(
                "offsets",
                f"has the row of z = {row.z:g} in and half breadth {row.half_breadth:g} in twice {at}",
                "take one away, or where two lines run together set the upper one 1/16 in higher",
            )


def immersed(hull: Hull, draft: float, slope: float) -> Immersed:
    """Return what lies below the water, and the breadth of the waterplane.

    >>> barge = hull_of([OffsetRow(x, z, 48) for x in (0, 360) for z in (0, 40)])
    >>> immersed(barge, 24, 0).volume
    829440.0
    """
    sums = [0.0] * 7
    water = [min(draft - slope * x, z[-1]) for x, z in zip(hull.x, hull.z, strict=True)]
    for i in range(len(hull.x) - 1):
        x, w = (hull.x[i], hull.x[i + 1]), (water[i], water[i + 1])
        z, b = (hull.z[i], hull.z[i + 1]), (hull.half_breadth[i], hull.half_breadth[i + 1])
        p = w[0] - z[0][0], w[1] - z[1][0]
        for j in range(len(z[0]) - 1):
            if p[0] <= 0 and p[1] <= 0:
                break  # rows rise: whatever stands above is dry as well
            q = w[0] - z[0][j + 1], w[1] - z[1][j + 1]
            _add_side(sums, x, w, p, q, (b[0][j], b[1][j]), (b[0][j + 1], b[1][j + 1]))
            p = q
    volume, moment_x, moment_z, area, first, second, cube = sums
    return Immersed(2 * volume, 2 * moment_x, 2 * moment_z, 2 * area, 2 * first, 2 * second, 2 * cube / 3)


def _add_side(sums: list[float], x: Ends, w: Ends, p: Ends, q: Ends, lower: Ends, upper: Ends) -> None:
    """Add, for one half, what lies inward of one side over one bay.

    Depths of its lower and upper line below the water are `p` and `q`, half breadths `lower` and `upper`; the
    stations stand at `x` and the water's height there is `w`.
    """
    volume = moment_x = moment_z = area = first = second = cube = 0.0
    long, rise, fall = x[1] - x[0], w[1] - w[0], p[1] - p[0]
    height, taller = p[0] - q[0], p[1] - q[1] - (p[0] - q[0])
    widens, flares = lower[1] - lower[0], upper[0] - lower[0]
    flares_more = upper[1] - lower[1] - flares
    for start, end, cut in _parts(p, q):
        span = end - start
        for share, weight in _GAUSS if cut else _GAUSS_OF_CUBICS:
            s, weight = start + span * share, weight * span
            depth, high, inner = p[0] + fall * s, height + taller * s, lower[0] + widens * s
            bottom, place = w[0] + rise * s - depth, x[0] + long * s
            if cut:
                wet, outer = depth, inner + (flares + flares_more * s) * (depth / high)
                breadth = weight * outer
                area += breadth
                first += breadth * place
                second += breadth * place * place
                cube += breadth * outer * outer
            else:
                wet, outer = high, inner + flares + flares_more * s
            slab = weight * wet * (inner + outer) / 2
            volume += slab
            moment_x += slab * place
            moment_z += slab * bottom + weight * wet * wet * (inner + 2 * outer) / 6
    for i, one in enumerate((volume, moment_x, moment_z, area, first, second, cube)):
        sums[i] += long * one


def _parts(p: Ends, q: Ends) -> Iterator[tuple[float, float, bool]]:
    """Go through the wet parts of a bay, as shares of it, and tell of each if the water cuts the side."""
    if q[0] >= 0 and q[1] >= 0 and q != (0, 0):
        yield 0.0, 1.0, False
        return
    breaks = {first / (first - last) for first, last in (p, q) if first * last < 0}
    for start, end in pairwise(sorted({0.0, 1.0, *breaks})):
        middle = (start + end) / 2
        if end - start <= _SHALLOW or p[0] + (p[1] - p[0]) * middle <= 0:
            continue
        if q[0] + (q[1] - q[0]) * middle > 0:
            yield start, end, False
        else:
            yield from _graded(p[0] - q[0], p[1] - q[1], start, end)


def _graded(aft: float, forward: float, start: float, end: float) -> Iterator[tuple[float, float, bool]]:
    """Split a part over which the water cuts a side, so that its height changes little within each piece."""
    first, last = aft + (forward - aft) * start, aft + (forward - aft) * end
    low, high = max(min(first, last), _SHALLOW * max(first, last)), max(first, last)
    pieces = ceil(log(high / low) / log(_SPREAD) - SAME)
    if pieces <= 1:
        yield start, end, True
        return
    heights = [low * (high / low) ** (k / pieces) for k in range(1, pieces)]
    if first > last:
        heights.reverse()
    cuts = [start + (end - start) * (one - first) / (last - first) for one in heights]
    for one, other in pairwise((start, *cuts, end)):
        yield one, other, True
