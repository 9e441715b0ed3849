"""A hull's lines drawn: the profile and the half breadth, with her water line and centres."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from kb import Dimension, Level, Note, Outline, Value, View
from kb.calculators.section import Point
from kb.drawing import Item, Side, Style, Words
from kb_calculators.hull import Hull
from kb_calculators.marks import centre_mark

_PAST = 0.04  # what water and base line run past the hull, as a share of her length
_CHINES = 6  # up to so many rows, those between keel and sheer are edges; of more they only show the form
_PIECES = 6  # of the water line between two places where it bends
_BESIDE = 0.04  # from a centre to its letter, as a share of the view's extent
_SAME = 1e-9


@dataclass(frozen=True, slots=True)
class Centre:
    """A centre in the profile: its letter, its places along x and z; a low one is dimensioned below."""

    letter: str
    x: Value
    z: Value
    is_low: bool = False

    @property
    def at(self) -> Point:
        """Its place in the profile."""
        return self.x.size, self.z.size


@dataclass(frozen=True, slots=True)
class Lines:
    """A hull and the water she lies in, at z = draft - slope * x."""

    hull: Hull
    draft: Value
    slope: float

    def profile(self, centres: Sequence[Centre], forward: Value | None, says: Words) -> View:
        """Draw her from starboard, bow to the right, with centres; `forward` is the water at the bow."""
        hull, items = self.hull, list(self._rows(self.hull.z))
        aft, fore = hull.x[0], hull.x[-1]
        past = _PAST * hull.length
        ends = min(aft, 0.0) - past, fore + past
        items.append(Outline(((ends[0], 0.0), (ends[1], 0.0)), "thin", is_closed=False))
        start, end = ((x, self._water(x)) for x in ends)
        items.append(Level((start, end)))
        if abs(self.draft.size) > _SAME:
            items.append(Dimension((0.0, 0.0), (0.0, self.draft.size), "left", self.draft))
        if forward is not None and abs(forward.size) > _SAME:
            items.append(Dimension((fore, 0.0), (fore, forward.size), "right", forward))
        extent = max(ends[1] - ends[0], hull.depth)
        for one in centres:
            side: Side = "below" if one.is_low else "above"
            items += centre_mark(one.at, extent)
            away = -_BESIDE if one.is_low else _BESIDE
            place = (one.at[0] + away * extent, one.at[1])
            items.append(Note(place, one.letter, "end" if one.is_low else "start"))
            if abs(one.x.size) > _SAME:
                items.append(Dimension((0.0, one.at[1]), one.at, side, one.x))
        return View("profile", "Profile, bow to the right", says, tuple(items))

    def half_breadth(self, says: Words) -> View:
        """Draw her lines on one side of the centre line, as seen from above, with the water line dashed."""
        hull = self.hull
        items = list(self._rows(hull.half_breadth))
        past = _PAST * hull.length
        middle = ((hull.x[0] - past, 0.0), (hull.x[-1] + past, 0.0))
        items.append(Outline(middle, "centre", is_closed=False))
        items += [Outline(one, "hidden", is_closed=False) for one in self.water_line()]
        wide = max(max(one) for one in hull.half_breadth)
        at = next((x, wide) for x, one in zip(hull.x, hull.half_breadth, strict=True) if max(one) == wide)
        items.append(Dimension((at[0], 0.0), at, "left", Value(wide, "in", name="offsets")))
        ends = ((hull.x[0], 0.0), (hull.x[-1], 0.0))
        items.append(Dimension(*ends, "below", Value(hull.length, "in", name="length")))
        return View("half_breadth", "Half breadth, water line dashed", says, tuple(items))

    def _rows(self, sizes: Sequence[Sequence[float]]) -> Iterator[Item]:
        """Draw stations, and the lines that join their rows, as seen with these sizes upward."""
        x = self.hull.x
        for at, station in zip(x, sizes, strict=True):
            is_end = at in (x[0], x[-1])
            ends = ((at, min(station)), (at, max(station)))
            yield Outline(ends, "outline" if is_end else "thin", is_closed=False)
        rows = list(zip(*sizes, strict=True))
        for row in dict.fromkeys(rows):  # an inside and an outside chine of one height are one line
            is_edge = len(rows) <= _CHINES or row in (rows[0], rows[-1])
            style: Style = "outline" if is_edge else "thin"
            yield Outline(tuple(zip(x, row, strict=True)), style, is_closed=False)

    def _water(self, x: float) -> float:
        return self.draft.size - self.slope * x

    def water_line(self) -> Iterator[tuple[Point, ...]]:
        """Go through the pieces of the water line, as half breadths over x, each closed to the centre."""
        run: list[Point] = []
        for i in range(len(self.hull.x) - 1):
            for start, end in pairwise(self._bends(i)):
                middle = (start + end) / 2
                if self._depth(i, 0, middle) <= 0:
                    if run:
                        yield _closed(run)
                    run = []
                    continue
                shares = [start + (end - start) * k / _PIECES for k in range(_PIECES + 1)]
                run += [(self._x(i, one), self._breadth(i, one, middle)) for one in shares]
        if run:
            yield _closed(run)

    def _x(self, bay: int, share: float) -> float:
        return _between(self.hull.x[bay], self.hull.x[bay + 1], share)

    def _depth(self, bay: int, row: int, share: float) -> float:
        """Return how deep a row lies below the water, at a share of a bay."""
        height = _between(self.hull.z[bay][row], self.hull.z[bay + 1][row], share)
        return self._water(self._x(bay, share)) - height

    def _bends(self, bay: int) -> list[float]:
        """Return the shares of a bay at which the water meets a row, and its ends."""
        found = {0.0, 1.0}
        for row in range(len(self.hull.z[bay])):
            aft, fore = self._depth(bay, row, 0.0), self._depth(bay, row, 1.0)
            if aft * fore < 0:
                found.add(aft / (aft - fore))
        return sorted(found)

    def _breadth(self, bay: int, share: float, middle: float) -> float:
        """Return the half breadth at the water; `middle` tells between which rows the water stands."""
        rows = range(len(self.hull.z[bay]))
        wet = [row for row in rows if self._depth(bay, row, middle) >= 0]
        lower, upper = wet[-1], min(wet[-1] + 1, rows[-1])
        aft, fore = self.hull.half_breadth[bay], self.hull.half_breadth[bay + 1]
        inner, outer = (_between(aft[row], fore[row], share) for row in (lower, upper))
        under, over = self._depth(bay, lower, share), -self._depth(bay, upper, share)
        high = under + over
        return inner + (outer - inner) * min(max(under / high, 0.0), 1.0) if high > 0 else outer


def _between(first: float, last: float, share: float) -> float:
    return first + (last - first) * share


def _closed(run: Sequence[Point]) -> tuple[Point, ...]:
    return (run[0][0], 0.0), *run, (run[-1][0], 0.0)


def trimmed(size: float) -> tuple[Value, str]:
    """Return a trim as a value and the words that say which way."""
    return Value(abs(size), "deg", name="trim"), "bow down" if size < 0 else "bow up"
