"""Tanks, bilges and boxes as solids between two sections: volume, centroid, faces, walls, dip points.

Axes, fixed to the solid, in inches: x forward from the aft inside face, y to starboard, z up from the lowest
inside point. Corresponding corners of the aft and the forward section are joined by straight lines. Two
round sections both stand on z = 0: where they differ, the solid is a cone with a level bottom line.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import hypot, pi, sin, sqrt

from kb import Refusal, Section
from kb.calculators.section import Point, area, crossing, sides
from kb_calculators.quadrature import gauss

_BETWEEN = (0.25, 0.5, 0.75)  # where the sections in between are tried for crossing sides
_ROUND_THE_CLOCK = 128  # stations round a cone: an even spread is all but exact for what repeats itself
_SAME = 1e-9  # two lengths are equal within this share of the size they belong to


@dataclass(frozen=True, slots=True)
class Solid:
    """What lies between an aft section at x = 0 and a forward section at x = length.

    Polygons have equally many corners, in the same order, against the clock; `ruled` makes sure of it.
    """

    aft: Section
    forward: Section
    length: float

    def section(self, share: float) -> Section:
        """Return the section at a share of the length from aft."""
        if self.aft.diameter is not None and self.forward.diameter is not None:
            return Section(diameter=_at((self.aft.diameter, self.forward.diameter), share))
        pairs = zip(self.aft.points, self.forward.points, strict=True)
        return Section(tuple((_at((a[0], f[0]), share), _at((a[1], f[1]), share)) for a, f in pairs))

    @property
    def diameters(self) -> tuple[float, float] | None:
        """The diameters aft and forward of a round solid, else None."""
        aft, forward = self.aft.diameter, self.forward.diameter
        return None if aft is None or forward is None else (aft, forward)


@dataclass(frozen=True, slots=True)
class Whole:
    """A solid's volume in in^3 and its centroid."""

    volume: float
    x: float
    y: float
    z: float


def ruled(section: Section, forward_section: Section, length: float) -> Solid:
    """Return the solid between two sections, or refuse a pair that no straight lines can join."""
    if section.is_round != forward_section.is_round:
        raise Refusal(
            "forward_section",
            "is round and section is not" if forward_section.is_round else "is not round and section is",
            "give two round sections, or two with equally many corners",
        )
    if section.is_round:
        return Solid(section, forward_section, length)
    count, other = len(section.points), len(forward_section.points)
    if count != other:
        raise Refusal(
            "forward_section",
            f"has {other} corners and section has {count}",
            "list equally many [y, z] corners for both: each is joined to its like",
        )
    if (area(section.points) > 0) != (area(forward_section.points) > 0):
        raise Refusal(
            "forward_section",
            "goes round the other way than section",
            "list the corners of both in the same order, looking forward",
        )
    way = 1 if area(section.points) > 0 else -1
    solid = Solid(Section(section.points[::way]), Section(forward_section.points[::way]), length)
    if section != forward_section and _crosses_itself(solid):
        raise Refusal(
            "forward_section",
            "is joined to section by sides that cross",
            "start both lists at the same corner of the tank",
        )
    return solid


def _crosses_itself(solid: Solid) -> bool:
    """Tell whether a section in between is turned inside out, or its sides cross at one of a few stations."""
    aft, middle, forward = (area(solid.section(share).points) for share in (0.0, 0.5, 1.0))
    bend, slope = 2 * (aft - 2 * middle + forward), 4 * middle - 3 * aft - forward
    if bend > 0 and 0 < -slope < 2 * bend and aft - slope * slope / (4 * bend) < 0:
        return True
    return any(crossing(solid.section(share).points) for share in _BETWEEN)


def whole(solid: Solid) -> Whole:
    """Return the volume and the centroid of a solid.

    >>> whole(Solid(Section(diameter=18), Section(diameter=18), 48)).volume
    12214.51
    """
    volume = x = y = z = 0.0
    # Area grows with the square of x and its moments with the cube, where Simpson's rule is exact.
    for share, weight in ((0.0, 1 / 6), (0.5, 4 / 6), (1.0, 1 / 6)):
        slice_area, of_y, of_z = _moments(solid.section(share))
        volume += weight * slice_area
        x += weight * slice_area * share
        y += weight * of_y
        z += weight * of_z
    return Whole(solid.length * volume, solid.length * x / volume, y / volume, z / volume)


def skin_area(solid: Solid) -> float:
    """Return the area of all faces in in^2: both ends and every side, flat or twisted."""
    ends = _moments(solid.aft)[0] + _moments(solid.forward)[0]
    if solid.diameters is not None:
        return ends + _cone_skin(*solid.diameters, solid.length)
    pairs = zip(sides(solid.aft.points), sides(solid.forward.points), strict=True)
    return ends + sum(_side_skin(aft, forward, solid.length) for aft, forward in pairs)


def moved_in(solid: Solid, wall: float) -> Solid:
    """Return the solid with every face moved in by a wall, or out by a negative one.

    Each section is moved in its own plane and the length loses two walls; z starts again at the lowest point.
    Refuses, as the parameter `wall`, what leaves no inside.
    """
    if wall == 0:
        return solid
    length = solid.length - 2 * wall
    if length <= 0:
        raise Refusal("wall", "leaves no length inside", f"give less than {solid.length / 2:g} in")
    aft = _moved_section("section", solid.aft, wall)
    forward = aft if solid.forward == solid.aft else _moved_section("forward_section", solid.forward, wall)
    if solid.diameters is not None:
        return Solid(aft, forward, length)
    lowest = min(z for _, z in aft.points + forward.points)
    return Solid(_lowered(aft, lowest), _lowered(forward, lowest), length)


def floor_height(outside: Solid, wall: float) -> float:
    """Return how high the lowest inside point lies over the lowest outside one, behind a wall."""
    if wall == 0 or outside.diameters is not None:
        return wall
    aft = _moved_section("section", outside.aft, wall)
    forward = _moved_section("forward_section", outside.forward, wall)
    lowest = min(z for _, z in outside.aft.points + outside.forward.points)
    return min(z for _, z in aft.points + forward.points) - lowest


def upright(solid: Solid, x: float, y: float) -> tuple[float, float] | None:
    """Return where the line upward at a point enters and leaves the solid, as z, or None where it misses.

    Where it leaves and enters again, the highest stretch counts: a dip stick stops at its bottom.
    """
    slack = _SAME * solid.length
    if not -slack <= x <= solid.length + slack:
        return None
    section = solid.section(min(max(x / solid.length, 0.0), 1.0))
    left, right = breadth(section)
    slack = _SAME * (right - left)
    if not left - slack <= y <= right + slack:
        return None
    y = min(max(y, left), right)
    if section.diameter is not None:
        half = sqrt(max(right * right - y * y, 0.0))
        return right - half, right + half
    return _highest_stretch(section.points, y)


def breadth(section: Section) -> tuple[float, float]:
    """Return how far a section reaches to port and to starboard, as y."""
    if section.diameter is not None:
        return -section.diameter / 2, section.diameter / 2
    return min(y for y, _ in section.points), max(y for y, _ in section.points)


def _at(ends: tuple[float, float], share: float) -> float:
    return ends[0] + (ends[1] - ends[0]) * share


def _highest_stretch(points: tuple[Point, ...], y: float) -> tuple[float, float]:
    # A corner belongs to the side on its right, so that it counts once; at the right-hand end, on its left.
    end = max(corner[0] for corner in points)
    heights = []
    for (y1, z1), (y2, z2) in sides(points):
        low, high = min(y1, y2), max(y1, y2)
        if low <= y < high or (y == end and low < y == high):
            heights.append(z1 + (z2 - z1) * (y - y1) / (y2 - y1))
    heights.sort()
    stretches = list(zip(heights[::2], heights[1::2], strict=True))
    return next((one for one in reversed(stretches) if one[1] > one[0]), stretches[-1])


def _moments(section: Section) -> tuple[float, float, float]:
    """Return a section's area and its moments of y and of z."""
    if section.diameter is not None:
        circle = pi * section.diameter**2 / 4
        return circle, 0.0, circle * section.diameter / 2
    y = z = 0.0
    for (y1, z1), (y2, z2) in sides(section.points):
        cross = y1 * z2 - y2 * z1
        y += (y1 + y2) * cross / 6
        z += (z1 + z2) * cross / 6
    return area(section.points), y, z


def _side_skin(aft: tuple[Point, Point], forward: tuple[Point, Point], length: float) -> float:
    """Return the area of the face that straight lines span between two sides."""
    (ya, za), (yb, zb) = aft
    (yc, zc), (yd, zd) = forward

    def strip(share: float) -> float:
        dy, dz = _at((yb - ya, yd - yc), share), _at((zb - za, zd - zc), share)

        def element(along: float) -> float:
            turn = dy * _at((zc - za, zd - zb), along) - dz * _at((yc - ya, yd - yb), along)
            return hypot(turn, length * dy, length * dz)

        return gauss(element, 0, 1)

    return gauss(strip, 0, 1)


def _cone_skin(aft: float, forward: float, length: float) -> float:
    """Return the area of the round side of a cone whose bottom line is level."""
    spread = (forward - aft) / 2 / length
    steepness = (hypot(1, spread * (1 + sin(2 * pi * i / _ROUND_THE_CLOCK))) for i in range(_ROUND_THE_CLOCK))
    return pi * (aft + forward) / 2 * length * sum(steepness) / _ROUND_THE_CLOCK


def _moved_section(name: str, section: Section, wall: float) -> Section:
    if section.diameter is not None:
        if section.diameter <= 2 * wall:
            raise Refusal("wall", f"fills {name}", f"give less than {section.diameter / 2:g} in")
        return Section(diameter=section.diameter - 2 * wall)
    points = section.points
    corners = zip(points[-1:] + points[:-1], points, points[1:] + points[:1], strict=True)
    moved = tuple(_moved_corner(*three, wall) for three in corners)
    for (a, b), (c, d) in zip(sides(points), sides(moved), strict=True):
        if (b[0] - a[0]) * (d[0] - c[0]) + (b[1] - a[1]) * (d[1] - c[1]) <= 0:
            raise Refusal(
                "wall",
                f"leaves nothing of the side of {name} from ({a[0]:g}, {a[1]:g}) to ({b[0]:g}, {b[1]:g})",
                "give a thinner wall, or leave that side out of the section",
            )
    least = abs(wall) * (1 - _SAME)
    if crossing(moved) or any(_distance(one, *side) < least for one in moved for side in sides(points)):
        raise Refusal("wall", f"makes two sides of {name} meet", "give a thinner wall")
    return Section(moved)


def _distance(point: Point, start: Point, end: Point) -> float:
    """Return how far a point lies from the nearest place on a side."""
    dy, dz = end[0] - start[0], end[1] - start[1]
    share = ((point[0] - start[0]) * dy + (point[1] - start[1]) * dz) / (dy * dy + dz * dz)
    share = min(max(share, 0.0), 1.0)
    return hypot(point[0] - start[0] - share * dy, point[1] - start[1] - share * dz)


def _moved_corner(before: Point, corner: Point, after: Point, wall: float) -> Point:
    """Return where two sides meet once both have moved in, that is to their left."""
    y1, z1 = _left(before, corner)
    y2, z2 = _left(corner, after)
    reach = wall / (1 + y1 * y2 + z1 * z2)
    return corner[0] + reach * (y1 + y2), corner[1] + reach * (z1 + z2)


def _left(start: Point, end: Point) -> Point:
    """Return the direction square to a side, to its left, one inch long."""
    dy, dz = end[0] - start[0], end[1] - start[1]
    size = hypot(dy, dz)
    return -dz / size, dy / size


def _lowered(section: Section, by: float) -> Section:
    return Section(tuple((y, z - by) for y, z in section.points))
