"""Numbers in a drawing of many points, which stand for their names below it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import hypot

from kb import Note
from kb.calculators.section import Point

_WAYS = ((1, 0), (-1, 0), (0, 1), (0, -1), (1, 1), (-1, 1), (1, -1), (-1, -1))
_BESIDE, _CLEAR = 0.05, 0.045  # from a mark to its number, and the least between them, of the extent


def plain(name: str) -> str:
    """Return a name in one line."""
    return " ".join(name.replace("\0", " ").split())


def first_few(ranks: Sequence[float], most: int) -> list[int]:
    """Return which of several are named, those of the lowest rank, in their own order."""
    return sorted(sorted(range(len(ranks)), key=ranks.__getitem__)[:most])


def numbered(
    places: Sequence[Point], named: Sequence[int], taken: Sequence[Point], extent: float
) -> Iterator[Note]:
    """Set 1, 2, 3 … beside the named ones of some places, clear of all places and of what is taken."""
    in_the_way = [*places, *taken]
    for number, one in enumerate(named, 1):
        x, y = places[one]
        tries = [(x + dx * _BESIDE * extent, y + dy * _BESIDE * extent) for dx, dy in _WAYS]
        room = [min(hypot(x - a, y - b) for a, b in in_the_way) for x, y in tries]
        free = (at for at, clear in zip(tries, room, strict=True) if clear >= _CLEAR * extent)
        best = next(free, tries[room.index(max(room))])
        in_the_way.append(best)
        yield Note(best, str(number))
