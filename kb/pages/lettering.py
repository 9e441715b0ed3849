"""Lettering of drawings: texts, the room they take in the units of a drawing, and where they find it."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal, NamedTuple

from kb.drawing import Point, Words

SIZE = 16.0
"""Height of the letters. A unit is a pixel where a drawing has all the room it wants."""
LINE = 19.2
_ADVANCE = 0.632  # of the numeral face, whose letters are all of one width
_RISE, _FALL = 0.72, 0.24  # what letters reach above and below the line they stand on

_CLEAR = 5.0  # between a text and what is not its own

Anchor = Literal["start", "middle", "end"]


class Bit(NamedTuple):
    """A piece of a text, and what stands there in the other system of units; "" where it is the same."""

    own: str
    other: str = ""


@dataclass(frozen=True, slots=True)
class Lettering:
    """A text in lines of bits."""

    lines: tuple[tuple[Bit, ...], ...]

    @property
    def width(self) -> float:
        """The room its longest line takes in either system of units."""
        return max(max(_length(line, 0), _length(line, 1)) for line in self.lines) * SIZE * _ADVANCE

    @property
    def height(self) -> float:
        """The room its lines take."""
        return LINE * (len(self.lines) - 1) + SIZE * (_RISE + _FALL)

    @property
    def own(self) -> str:
        """Its words as the book's own system has them."""
        return " ".join("".join(bit.own for bit in line) for line in self.lines)

    @property
    def other(self) -> str:
        """Its words in the other system of units."""
        return " ".join("".join(bit.other or bit.own for bit in line) for line in self.lines)


def _length(line: tuple[Bit, ...], system: int) -> int:
    return sum(len(bit[system] or bit.own) for bit in line)


Letter = Callable[[Words], Lettering]
"""Prints a text of a drawing."""


class Box(NamedTuple):
    """Room on paper; y runs down."""

    left: float
    top: float
    right: float
    bottom: float

    def around(self, other: Box) -> Box:
        """Return the room that holds both."""
        return Box(
            min(self.left, other.left),
            min(self.top, other.top),
            max(self.right, other.right),
            max(self.bottom, other.bottom),
        )

    def grown(self, by: float) -> Box:
        """Return the room with some more on every side."""
        return Box(self.left - by, self.top - by, self.right + by, self.bottom + by)

    def holds(self, other: Box) -> bool:
        """Tell whether another lies within."""
        return (
            self.left <= other.left
            and self.top <= other.top
            and self.right >= other.right
            and self.bottom >= other.bottom
        )

    def meets(self, other: Box) -> bool:
        """Tell whether two overlap."""
        return (
            self.left < other.right
            and other.left < self.right
            and self.top < other.bottom
            and other.top < self.bottom
        )

    def crosses(self, start: Point, end: Point) -> bool:
        """Tell whether a straight line from one place to another goes through it."""
        if (
            max(start[0], end[0]) <= self.left
            or min(start[0], end[0]) >= self.right
            or max(start[1], end[1]) <= self.top
            or min(start[1], end[1]) >= self.bottom
        ):
            return False
        first, last = 0.0, 1.0
        for at, way, low, high in (
            (start[0], end[0] - start[0], self.left, self.right),
            (start[1], end[1] - start[1], self.top, self.bottom),
        ):
            if way == 0:
                if not low < at < high:
                    return False
                continue
            enters, leaves = sorted(((low - at) / way, (high - at) / way))
            first, last = max(first, enters), min(last, leaves)
        return first < last


def box_at(x: float, baseline: float, anchor: Anchor, words: Lettering) -> Box:
    """Return the room of a level text; `baseline` is that of its first line."""
    left = x - {"start": 0.0, "middle": 0.5, "end": 1.0}[anchor] * words.width
    top = baseline - SIZE * _RISE
    return Box(left, top, left + words.width, top + words.height)


def baseline_of(box: Box) -> float:
    """Return where the first line of a text stands in its room."""
    return box.top + SIZE * _RISE


class Place(NamedTuple):
    """A text, and room for it."""

    words: Lettering
    box: Box


@dataclass(slots=True)
class Free:
    """The room that is left within a frame: what stands in it already, and the lines that run through it."""

    frame: Box
    boxes: list[Box]
    lines: list[Sequence[Point]]

    def place(self, tries: Iterable[Place], own: Sequence[Point] = ()) -> Place:
        """Return the first of some places that is free, else the one that overlaps least, and take it up.

        A text keeps clear of other texts and of all lines; it may come near to its own, whose name it is.
        """
        best, least = None, float("inf")
        for one in tries:
            faults = self._faults(one.box, own, least)
            if faults < least:
                best, least = one, faults
            if not faults:
                break
        if best is None:
            raise ValueError("a text needs one place to be tried at least")
        self.boxes.append(best.box)
        return best

    def _faults(self, box: Box, own: Sequence[Point], least: float) -> float:
        """Return how much stands in the way of a text; once it is the least or more, the count ends."""
        wide = box.grown(_CLEAR)
        faults = 100.0 * (not self.frame.holds(box))
        faults += 10.0 * sum(wide.meets(other) for other in self.boxes)
        for line in self.lines:
            if faults >= least:
                break
            room = box if line is own else wide
            faults += any(room.crosses(*piece) for piece in pairwise(line))
        return faults
