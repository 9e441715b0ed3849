"""What a calculator draws: views of a thing in inches, or a chart in the units of its axes, as plain data.

The words are those of ISO 128 and ISO 129 and of the trade. Nothing here knows how it is set on paper: scale,
arrows, stacking of dimensions and rounding of values are the book's. What cannot be drawn raises `ValueError`
(`TypeError` for what is no number) where it is made, so that the calculator that made it is told.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import isfinite
from typing import Literal

from kb.language.show import Safe
from kb.language.units import unit

Point = tuple[float, float]
"""A place in a view, in inches, x to the right and y up; or on a chart, in the units of its axes."""
Style = Literal["outline", "hidden", "centre", "thin"]
"""Visible edges thick, hidden edges dashed, centre lines in dashes and dots, all else thin."""
Side = Literal["above", "below", "left", "right"]


def _check(*points: Point) -> None:
    for x, y in points:
        if not isfinite(x) or not isfinite(y):
            raise ValueError(f"a point of the drawing lies at ({x}, {y})")


def _check_words(*texts: Words) -> None:
    for one in (part for words in texts for part in parts(words)):
        if not isinstance(one, str | Value):
            raise TypeError(f"{one!r} is no text of a drawing: write a str or a Value")
        if isinstance(one, str) and "\0" in one:
            raise ValueError("a text of the drawing holds a NUL character")


def _check_one_of(name: str, *known: str) -> None:
    if name not in known:
        raise ValueError(f"'{name}' is none of {', '.join(known)}")


@dataclass(frozen=True, slots=True)
class Value:
    """A value in a text of a drawing; the book prints it, in either system of units.

    Args:
        size: the value as a plain number.
        unit: its unit; "" for a plain number.
        safe: the side it is rounded to; a value named after a result takes the side of that.
        name: the parameter or the result that it is, "" for one that is neither.

    """

    size: float
    unit: str
    safe: Safe = "nearest"
    name: str = ""

    def __post_init__(self) -> None:
        """Refuse what is no number or has no known unit."""
        if not isfinite(self.size):
            raise ValueError(f"a value of the drawing is {self.size}")
        unit(self.unit)


Words = str | Value | tuple[str | Value, ...]
"""A text of a drawing: words, a value, or both in turn: `("lift ", Value(4, "ft"))`; "\\n" begins a line."""


def parts(words: Words) -> tuple[str | Value, ...]:
    """Return a text as its words and values in turn."""
    return words if isinstance(words, tuple) else (words,)


@dataclass(frozen=True, slots=True)
class Outline:
    """Straight lines from corner to corner; closed, they come back to the first."""

    points: tuple[Point, ...]
    style: Style = "outline"
    is_closed: bool = True

    def __post_init__(self) -> None:
        """Refuse what is no line."""
        _check(*self.points)
        _check_one_of(self.style, "outline", "hidden", "centre", "thin")


@dataclass(frozen=True, slots=True)
class Circle:
    """A whole circle."""

    centre: Point
    diameter: float
    style: Style = "outline"

    def __post_init__(self) -> None:
        """Refuse what is no circle."""
        _check(self.centre, (self.diameter, 0.0))
        _check_one_of(self.style, "outline", "hidden", "centre", "thin")


@dataclass(frozen=True, slots=True)
class Arc:
    """A part of a circle, against the clock from one angle to another, in degrees from the right."""

    centre: Point
    radius: float
    start: float
    end: float
    style: Style = "outline"

    def __post_init__(self) -> None:
        """Refuse what is no arc."""
        _check(self.centre, (self.start, self.end), (self.radius, 0.0))
        _check_one_of(self.style, "outline", "hidden", "centre", "thin")


@dataclass(frozen=True, slots=True)
class Hatch:
    """A cut solid: its outer corners, and those of the rooms inside it."""

    points: tuple[Point, ...]
    holes: tuple[tuple[Point, ...], ...] = ()

    def __post_init__(self) -> None:
        """Refuse what is no face."""
        _check(*self.points)
        for hole in self.holes:
            _check(*hole)


@dataclass(frozen=True, slots=True)
class Liquid:
    """Liquid by its corners, and its surface from end to end, which carries the mark of a level."""

    points: tuple[Point, ...]
    surface: tuple[Point, Point]

    def __post_init__(self) -> None:
        """Refuse what is no liquid."""
        _check(*self.points, *self.surface)


@dataclass(frozen=True, slots=True)
class Level:
    """A surface of liquid from end to end, without the liquid."""

    surface: tuple[Point, Point]

    def __post_init__(self) -> None:
        """Refuse what is no level."""
        _check(*self.surface)


@dataclass(frozen=True, slots=True)
class Dimension:
    """A size between two points, measured level for a side above or below, upright for one left or right.

    `sign` touches the value before it: ⌀ of a diameter, R of a radius. A drawing says its unit of length
    once, so a value in inches stands without one.
    """

    first: Point
    last: Point
    side: Side
    value: Value
    sign: str = ""

    def __post_init__(self) -> None:
        """Refuse what is no dimension."""
        _check(self.first, self.last)
        _check_one_of(self.side, "above", "below", "left", "right")
        _check_words(self.value, self.sign)


@dataclass(frozen=True, slots=True)
class Leader:
    """A line from a point to a text that stands outside, at the left or at the right."""

    at: Point
    words: Words
    side: Literal["left", "right"] = "right"

    def __post_init__(self) -> None:
        """Refuse what leads nowhere."""
        _check(self.at)
        _check_one_of(self.side, "left", "right")
        _check_words(self.words)


@dataclass(frozen=True, slots=True)
class Note:
    """A text at a point; the point is at its beginning, middle or end."""

    at: Point
    words: Words
    anchor: Literal["start", "middle", "end"] = "middle"

    def __post_init__(self) -> None:
        """Refuse what stands nowhere."""
        _check(self.at)
        _check_one_of(self.anchor, "start", "middle", "end")
        _check_words(self.words)


Item = Outline | Circle | Arc | Hatch | Liquid | Level | Dimension | Leader | Note


@dataclass(frozen=True, slots=True)
class View:
    """One view of a thing, drawn to the same scale as the others of its drawing.

    Args:
        name: what a page asks for it by: small letters, digits and _.
        title: what stands below it.
        says: what it shows with its numbers, for one who cannot see it.
        items: what is drawn, the lowest first.

    """

    name: str
    title: str
    says: Words
    items: tuple[Item, ...]

    def __post_init__(self) -> None:
        """Refuse a view that no page could name, or that shows nothing."""
        _check_words(self.title, self.says)
        if not self.name.isidentifier():
            raise ValueError(f"'{self.name}' is no name for a view")
        if not any(isinstance(one, Outline | Circle | Arc | Hatch | Liquid) for one in self.items):
            raise ValueError(f"the view '{self.name}' shows nothing")


@dataclass(frozen=True, slots=True)
class Drawing:
    """A thing in one view or more; `note` stands below them."""

    title: str
    views: tuple[View, ...]
    note: Words = ""

    def __post_init__(self) -> None:
        """Refuse a drawing without views, or with two of one name."""
        _check_words(self.title, self.note)
        if not self.views or len({one.name for one in self.views}) < len(self.views):
            raise ValueError("a drawing has one view at least, and each its own name")


@dataclass(frozen=True, slots=True)
class Axis:
    """An axis of a chart; it reaches over all that is shown, and to zero where `from_zero`."""

    label: str
    unit: str
    from_zero: bool = True

    def __post_init__(self) -> None:
        """Refuse an axis without a known unit."""
        _check_words(self.label)
        unit(self.unit)


@dataclass(frozen=True, slots=True)
class Curve:
    """A curve of a chart by points in order along it, and the name that stands beside it.

    `has_dots` marks each point, where there is nothing between them: with 2 guns, with 3.
    """

    name: str
    points: tuple[Point, ...]
    is_dashed: bool = False
    has_dots: bool = False

    def __post_init__(self) -> None:
        """Refuse what is no curve."""
        _check(*self.points)
        _check_words(self.name)
        if len(self.points) < 2:
            raise ValueError(f"the curve '{self.name}' has fewer than two points")


@dataclass(frozen=True, slots=True)
class LimitLine:
    """A limit across a chart: upright at a value of x, or level at a value of y."""

    axis: Literal["x", "y"]
    label: str
    value: Value

    def __post_init__(self) -> None:
        """Refuse what is no limit."""
        _check_one_of(self.axis, "x", "y")
        _check_words(self.label, self.value)


@dataclass(frozen=True, slots=True)
class OperatingPoint:
    """Where on a chart a thing works, and what stands beside it."""

    at: Point
    words: Words

    def __post_init__(self) -> None:
        """Refuse a point that is nowhere."""
        _check(self.at)
        _check_words(self.words)


@dataclass(frozen=True, slots=True)
class Chart:
    """A chart of curves, with limits and the point at which the thing works.

    Values of a limit line and the axis it belongs to have the same unit. `says` tells what it shows with its
    numbers, for one who cannot see it.
    """

    title: str
    says: Words
    x: Axis
    y: Axis
    curves: tuple[Curve, ...]
    limits: tuple[LimitLine, ...] = ()
    works: OperatingPoint | None = None
    note: Words = ""

    def __post_init__(self) -> None:
        """Refuse a chart that shows nothing, or a limit in another unit than its axis."""
        _check_words(self.title, self.says, self.note)
        if not self.curves:
            raise ValueError("a chart has one curve at least")
        for one in self.limits:
            wanted = (self.x if one.axis == "x" else self.y).unit
            if one.value.unit != wanted:
                raise ValueError(f"the limit '{one.label}' is in {one.value.unit}, its axis in {wanted}")


Picture = Drawing | Chart
