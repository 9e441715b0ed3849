"""The inside cross-section of a tank or a bilge, looking forward."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import pairwise

Point = tuple[float, float]


class SectionError(ValueError):
    """A section that cannot be: what is wrong, and what to do."""

    def __init__(self, what: str, fix: str) -> None:
        self.what = what
        self.fix = fix
        super().__init__(f"{what}; {fix}")


@dataclass(frozen=True, slots=True)
class Section:
    """A closed shape in inches: y to starboard, z up from the lowest point.

    A polygon has its corners in order; a round section has a diameter and no corners, and is exact.
    """

    points: tuple[Point, ...] = ()
    diameter: float | None = None

    @property
    def is_round(self) -> bool:
        """Tell whether the section is a circle."""
        return self.diameter is not None


SHAPES: Mapping[str, tuple[str, ...]] = {
    "box": ("width", "height"),
    "trapezoid": ("width_top", "width_bottom", "height"),
    "vee": ("width", "height", "vee_depth"),
    "round": ("diameter",),
}
"""The shapes that have a name, with the sizes each takes; all symmetric about y = 0."""


def shaped(shape: str, sizes: Mapping[str, float]) -> Section:
    """Return a named shape from its sizes in inches. Raises `SectionError`."""
    for name, size in sizes.items():
        if name == "vee_depth" and size == 0:
            continue  # a vee as flat as a box
        if size <= 0:
            raise SectionError(f"{name} = {size:g} in is not a size", "write one above 0 in")
    if shape == "round":
        return Section(diameter=sizes["diameter"])
    if shape == "vee":
        half, corner = sizes["width"] / 2, sizes["vee_depth"]
        top = corner + sizes["height"]
        keel: tuple[Point, ...] = ((0.0, 0.0),) if corner else ()
        return Section((*keel, (half, corner), (half, top), (-half, top), (-half, corner)))
    bottom = sizes["width_bottom"] if shape == "trapezoid" else sizes["width"]
    top_width = sizes["width_top"] if shape == "trapezoid" else sizes["width"]
    height = sizes["height"]
    return Section(((-bottom / 2, 0.0), (bottom / 2, 0.0), (top_width / 2, height), (-top_width / 2, height)))


def polygon(points: tuple[Point, ...]) -> Section:
    """Return a section by its corners in inches, in order round it. Raises `SectionError`."""
    if len(points) < 3:
        raise SectionError(f"a section has {len(points)} corners", "give three at least, as [y, z]")
    if points[0] == points[-1]:
        raise SectionError("the last corner repeats the first", "leave it out: the section closes itself")
    if any(a == b for a, b in pairwise(points)):
        raise SectionError("two corners in a row are the same", "leave one of them out")
    if (first := crossing(points)) is not None:
        raise SectionError(
            f"the side from corner {first[0] + 1} crosses the side from corner {first[1] + 1}",
            "give the corners in order round the section",
        )
    lowest = min(z for _, z in points)
    if lowest != 0:
        raise SectionError(
            f"the lowest corner stands at z = {lowest:g} in",
            "heights are measured up from the lowest point: z = 0",
        )
    if area(points) == 0:
        raise SectionError("this section has no area", "give the corners round it")
    return Section(points)


def area(points: tuple[Point, ...]) -> float:
    """Return the area of a polygon, positive where its corners run against the clock."""
    return sum(y1 * z2 - y2 * z1 for (y1, z1), (y2, z2) in sides(points)) / 2


def sides(points: tuple[Point, ...]) -> Iterator[tuple[Point, Point]]:
    """Go round a polygon, side by side."""
    return zip(points, (*points[1:], points[0]), strict=True)


def crossing(points: tuple[Point, ...]) -> tuple[int, int] | None:
    """Return the first pair of sides that cross or touch, by their first corners, or None."""
    edges = list(sides(points))
    for i, (a, b) in enumerate(edges):
        for j in range(i + 1, len(edges)):
            c, d = edges[j]
            neighbours = j == i + 1 or (i == 0 and j == len(edges) - 1)
            if neighbours:
                shared, before, after = (b, a, d) if j == i + 1 else (a, b, c)
                if _turn(before, shared, after) == 0 and _between(before, after, shared) is False:
                    return i, j
            elif _meet(a, b, c, d):
                return i, j
    return None


def _turn(a: Point, b: Point, c: Point) -> float:
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


def _between(a: Point, b: Point, c: Point) -> bool:
    return min(a[0], b[0]) <= c[0] <= max(a[0], b[0]) and min(a[1], b[1]) <= c[1] <= max(a[1], b[1])


def _meet(a: Point, b: Point, c: Point, d: Point) -> bool:
    one, two = _turn(a, b, c), _turn(a, b, d)
    three, four = _turn(c, d, a), _turn(c, d, b)
    if (one > 0) != (two > 0) and (three > 0) != (four > 0) and 0 not in (one, two, three, four):
        return True
    return any(
        turn == 0 and _between(*side, corner)
        for turn, side, corner in ((one, (a, b), c), (two, (a, b), d), (three, (c, d), a), (four, (c, d), b))
    )
