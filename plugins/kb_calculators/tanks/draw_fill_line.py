"""A fill line drawn: the hose on its supports, and how it hangs between two of them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import floor, hypot, log10
from typing import TYPE_CHECKING, Any

from kb import Dimension, Drawing, Liquid, Note, Outline, Value, View
from kb.drawing import Item, Point
from kb_calculators.conversions import IN_PER_FT

if TYPE_CHECKING:
    from kb_calculators.tanks.fill_line import FillLine

_POINTS = 41
_PARTS = (5, 2, 1)  # of a power of ten: heights are drawn so many times as large
_HIGH = 0.3  # what fall and sag then take of the span at most
_STEEP = 1.0  # a hose that falls more than it runs has no belly
_DEEP = 0.25  # of the span: the shape is that of a small sag only
_MOST = 40  # supports that can be told apart
_FOOT = 0.6  # a support's height and half its width, as a share of the hose's diameter
_SUPPORT = 0.03  # its size in the picture of a span, as a share of that's width
_FLAG = 0.08  # of its width: how far above it its sag is named
_ABOVE = 0.1  # of the hose's length: how far above it its supports and fall are named
_DRY = 1e-6  # of the span: less than that is none
_PAST = 0.5  # what the middle line runs past the hose, as a share of its diameter


def draw_fill_line(arguments: Mapping[str, Any], results: FillLine) -> Drawing:
    """Draw the straight hose to scale, and one span with its heights enlarged, so that it is seen to sag."""
    views, note = [_line(arguments, results)], "The whole hose to scale, its sag left out. "
    span = _Span(arguments, results)
    if abs(span.fall) > _STEEP:
        note += "No span is drawn: the hose is too steep for a belly. "
    elif results.sag > _DEEP * span.long:
        note += "No span is drawn: so deep a sag has another shape than a small one. "
    else:
        views.append(span.view(hypot(arguments["run"], arguments["drop"])))
        times = f"{span.times:g} times as large as lengths" if span.times > 1 else "as large as lengths"
        note += f"The span is out of scale: its heights are drawn {times}. "
    return Drawing("The hose", tuple(views), note)


def _line(arguments: Mapping[str, Any], results: FillLine) -> View:
    """Draw the hose from its side, the tank's end to the right."""
    run, drop, wide = arguments["run"], arguments["drop"], arguments["outside_diameter"]
    long = hypot(run, drop)
    along, square = (run / long, -drop / long), (drop / long, run / long)

    def at(way: float, off: float) -> Point:
        return way * along[0] + off * square[0], drop + way * along[1] + off * square[1]

    half = wide / 2
    hose = (at(0, half), at(long, half), at(long, -half), at(0, -half))
    items: list[Item] = [Outline(hose)]
    items.append(Outline((at(-_PAST * wide, 0), at(long + _PAST * wide, 0)), "centre", is_closed=False))
    fall = Value(results.fall, "in/ft", "down", "fall")
    spacing = Value(arguments["spacing"], "in", name="spacing")
    count = Value(results.supports, "", "up", "supports")
    if results.supports <= _MOST:
        ways = [min(i * spacing.size, long) for i in range(results.supports)]
        foot = _FOOT * wide
        items += [
            Outline((at(way, -half), at(way - foot, -half - foot), at(way + foot, -half - foot)))
            for way in ways
        ]
    top = max(drop, 0.0) + half + _ABOVE * long
    items.append(Note((run / 2, top), (count, " supports ", spacing, " apart\nfalls ", fall)))
    level, down = Value(run, "in", name="run"), Value(abs(drop), "in", name="drop")
    items.append(Dimension(at(0, -half), at(long, -half), "below", level))
    if drop:
        items.append(Dimension(at(0, 0), at(long, 0), "left", down))
    way = "drop" if drop >= 0 else "rise"
    says = ("The hose from its side, the tank to the right: ", level, f" level, a {way} of ", down, ", ")
    held = (fall, " of fall, on ", count, " supports ", spacing, " apart.")
    return View("line", "The whole hose", (*says, *held), tuple(items))


@dataclass(frozen=True, slots=True)
class _Span:
    """The hose between two supports at the worst trim."""

    arguments: Mapping[str, Any]
    results: FillLine

    @property
    def long(self) -> float:
        size: float = self.arguments["spacing"]
        return size

    @property
    def fall(self) -> float:
        """Fall left, in of height for each in of length."""
        return self.results.net_fall / IN_PER_FT

    @property
    def times(self) -> float:
        """How many times as large heights are drawn."""
        high = max(abs(self.fall) * self.long, self.results.sag)
        return next(_nice(_HIGH * self.long / high)) if high else 1.0

    def heights(self) -> list[Point]:
        """Return the axis of the hose: lengths from the upper support, heights from the tank's end."""
        found = []
        for i in range(_POINTS):
            part = i / (_POINTS - 1)
            # The beam's own curve under an even load: 16/5 of the sag at mid-span times this.
            hang = 16 / 5 * self.results.sag * (part - 2 * part**3 + part**4)
            found.append((part * self.long, self.fall * self.long * (1 - part) - hang))
        return found

    def holds(self) -> str:
        """Return what becomes of the liquid, as the limit of the spacing has it."""
        if self.results.sag_slope > abs(self.results.net_fall):
            return "its low place holds liquid"
        return "it drains to the tank" if self.fall > 0 else "it does not drain to the tank"

    def view(self, wide: float) -> View:
        """Draw it as wide as the whole hose."""
        scale = wide / self.long
        axis = [(x * scale, y * scale * self.times) for x, y in self.heights()]
        (left, middle, right), foot = (axis[0], axis[_POINTS // 2], axis[-1]), _SUPPORT * wide
        sag = Value(self.results.sag, "in", "up", "sag")
        fall = Value(self.results.net_fall, "in/ft", "down", "net_fall")
        spacing = Value(self.long, "in", name="spacing")
        items: list[Item] = [Outline((left, right), "thin", is_closed=False)]
        belly = _belly(axis)
        if belly is not None:
            items.append(belly)
        items.append(Outline(tuple(axis), is_closed=False))
        items += [Outline(((x, y), (x - foot, y - foot), (x + foot, y - foot))) for x, y in (left, right)]
        flag = (middle[0], max(left[1], right[1]) + _FLAG * wide)
        items.append(Outline((middle, flag), "thin", is_closed=False))
        items.append(Note((flag[0], flag[1] + _FLAG / 2 * wide), ("sags ", sag)))
        items.append(Dimension(left, right, "below", spacing))
        if left[1] != right[1]:
            items.append(Dimension(left, right, "right", Value(abs(self.fall) * self.long, "in", "down")))
        title, trim = "Between two supports", self.arguments["worst_trim"]
        tilt: tuple[str | Value, ...] = ()
        if trim:
            title, tilt = (
                f"{title}, worst trim",
                (" at the worst trim of ", Value(trim, "deg", name="worst_trim")),
            )
        says = (
            "The hose between two supports ",
            spacing,
            " apart",
            *tilt,
            ": it sags ",
            sag,
            " and falls ",
            fall,
        )
        return View("span", title, (*says, f"; {self.holds()}. Out of scale in height."), tuple(items))


def _belly(axis: Sequence[Point]) -> Liquid | None:
    """Return what stands in the low place of a hose, up to the lower one of its ends."""
    level = min(axis[0][1], axis[-1][1])
    if level - min(y for _, y in axis) <= _DRY * axis[-1][0]:
        return None
    wet: list[Point] = []
    for one, other in pairwise(axis):
        if one[1] <= level:
            wet.append(one)
        if (one[1] < level) != (other[1] < level) and other[1] != one[1]:
            share = (level - one[1]) / (other[1] - one[1])
            wet.append((one[0] + (other[0] - one[0]) * share, level))
    if axis[-1][1] <= level:
        wet.append(axis[-1])
    return Liquid(tuple(wet), (wet[0], wet[-1]))


def _nice(most: float) -> Iterator[float]:
    """Go through the round numbers up to one, the greatest first; 1 is the last."""
    power = floor(log10(most)) if most >= 1 else 0
    while power >= 0:
        yield from (part * 10.0**power for part in _PARTS if part * 10.0**power <= most)
        power -= 1
    yield 1.0
