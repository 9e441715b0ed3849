"""A tank drawn: its section at the dip point and its profile, with the dip at each quarter."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from kb import Dimension, Drawing, Hatch, Leader, Level, Liquid, Outline, Value, View
from kb.calculators.section import Point
from kb.drawing import Item, Words
from kb_calculators.dipped import DippedTank, dipped_tank
from kb_calculators.liquid import Surface, surface_through
from kb_calculators.solids import Solid, floor_height, upright
from kb_calculators.waterlines import Line, below, corners, moved

if TYPE_CHECKING:
    from kb_calculators.tanks.volume import TankVolume

_QUARTERS = (("¼", 0.25), ("½", 0.5), ("¾", 0.75))
_TINTED = "½"
_STEPS = 8  # of the rule of false position between two rows of the dip table
_STATIONS = 25
_PAST = 1.2  # what the dip stick's line runs past the tank, as a share of its depth
_CORNERS = 2  # so many heights of corners between bottom and top are dimensioned
_SAME = 1e-6


@dataclass(frozen=True, slots=True)
class _Level:
    """A level: its name, the dip that reads it, and its surface."""

    name: str
    dip: Value
    surface: Surface


def draw_volume(arguments: Mapping[str, Any], results: TankVolume) -> Drawing:
    """Draw the tank full to the half, with the levels of each quarter as they lie at its trim and heel."""
    taken = ("section", "forward_section", "length", "wall", "sizes", "baffle_volume", "trim", "heel")
    tank = dipped_tank(*(arguments[name] for name in (*taken, "dip_x", "dip_y")))
    levels = list(_levels(tank, results))
    floor = floor_height(tank.outside, arguments["wall"])
    is_outside = arguments["sizes"] == "outside"
    view = _Views(tank, levels, floor, arguments["wall"], is_outside)
    tilt: list[str | Value] = []
    for name, way in (("trim", "bow up"), ("heel", "starboard down")):
        if arguments[name]:
            tilt += [f" {name.capitalize()} ", Value(arguments[name], "deg", name=name), f", {way}."]
    note = (f"{'Outside' if is_outside else 'Inside'} sizes; dips are inside.", *tilt, " ")
    return Drawing("The tank", (view.section(), view.profile(arguments["length"])), note)


def _levels(tank: DippedTank, results: TankVolume) -> Iterator[_Level]:
    for name, share in _QUARTERS:
        height = _dip_at(tank, results, share * tank.gross)
        if height is not None:
            yield _level(tank, name, Value(height, "in"))
    yield _level(tank, "full", Value(tank.depth, "in", name="depth"))


def _level(tank: DippedTank, name: str, dip: Value) -> _Level:
    height = tank.bottom + dip.size
    return _Level(name, dip, surface_through(tank.dip_x, tank.dip_y, height, tank.trim, tank.heel))


def _dip_at(tank: DippedTank, results: TankVolume, volume: float) -> float | None:
    """Return the dip at which the tank holds a volume; None where the stick is dry or drowned then."""
    rows = results.dip
    after = next((i for i, row in enumerate(rows) if row.volume >= volume), 0)
    if after == 0:
        return None
    (low, less, _), (high, more, _) = rows[after - 1], rows[after]
    height = high
    for _ in range(_STEPS):
        if more - less <= _SAME * tank.gross:
            break
        height = low + (high - low) * (volume - less) / (more - less)
        held = tank.held(height)
        if abs(held - volume) <= _SAME * tank.gross:
            break
        if held < volume:
            low, less = height, held
        else:
            high, more = height, held
    return height


@dataclass(frozen=True, slots=True)
class _Views:
    """The views of a tank, in its inside axes: z up from its lowest inside point."""

    tank: DippedTank
    levels: list[_Level]
    floor: float
    wall: float
    is_outside: bool

    def section(self) -> View:
        tank = self.tank
        share = min(max(tank.dip_x / tank.inside.length, 0.0), 1.0)
        inner = corners(tank.inside.section(share))
        outer_share = min(max((tank.dip_x + self.wall) / tank.outside.length, 0.0), 1.0)
        outer = moved(corners(tank.outside.section(outer_share)), 0.0, -self.floor)
        lines = [Line(one.surface.at(tank.dip_x, 0.0), one.surface.starboard) for one in self.levels]
        sized = outer if self.is_outside else inner
        left, right = min(y for y, _ in sized), max(y for y, _ in sized)
        low, high = min(z for _, z in sized), max(z for _, z in sized)
        wide, tall = Value(right - left, "in", name="section"), Value(high - low, "in", name="section")
        items: list[Item] = [*self._shape(outer, inner, lines), self._stick(tank.dip_y)]
        foot, head = _at(sized, low), _at(sized, high)
        items += [Dimension(_at(sized, left, 0), _at(sized, right, 0), "below", wide)]
        items += [Dimension(foot, head, "right", tall)]
        for corner in _between(tank.inside, sized, low, high):
            items.append(Dimension(foot, corner, "left", Value(corner[1] - low, "in", name="section")))
        says = ("The tank cut at the dip point, looking forward: ", wide, " wide, ", tall, " high. ")
        return View("section", "Section at the dip point", (*says, *self._dips()), tuple(items))

    def profile(self, length: float) -> View:
        tank = self.tank
        inner, outer = self._side(tank.inside), self._side(tank.outside)
        outer = moved(outer, -self.wall, -self.floor)
        lines = [Line(one.surface.at(0.0, tank.dip_y), one.surface.forward) for one in self.levels]
        items: list[Item] = [*self._shape(outer, inner, lines), *self._edges(), self._stick(tank.dip_x)]
        for one, line in zip(self.levels, lines, strict=True):
            surface = below(inner, line)[1]
            at = surface[1] if surface else _at(inner, max(z for _, z in inner))
            items.append(Leader(at, (f"{one.name} ", one.dip)))
        sized = outer if self.is_outside else inner
        long = Value(length, "in", name="length")
        ends = [_at(sized, edge(x for x, _ in sized), 0) for edge in (min, max)]
        items.append(Dimension(ends[0], ends[1], "below", long))
        top = tank.bottom + tank.depth
        place = Value(tank.dip_x, "in", name="dip_x")
        if tank.dip_x > 0:
            items.append(Dimension(_at(inner, 0.0, 0, highest=True), (tank.dip_x, top), "above", place))
        seen = ("The tank from its side, bow to the right: ", long, " long, dip point ", place)
        says: Words = (*seen, " forward of the aft inside face. ", *self._dips())
        return View("profile", "Profile, with the dip at each quarter", says, tuple(items))

    def _shape(self, outer: tuple[Point, ...], inner: tuple[Point, ...], lines: list[Line]) -> Iterator[Item]:
        """Go through the plate, the liquid at the half, and the levels of the other quarters."""
        for one, line in zip(self.levels, lines, strict=True):
            wet, surface = below(inner, line)
            if surface is None:
                continue
            if one.name == _TINTED:
                yield Liquid(wet, surface)
            else:
                yield Level(surface)
        yield Hatch(outer, (inner,)) if self.wall else Outline(inner)

    def _stick(self, across: float) -> Outline:
        tank = self.tank
        foot = tank.bottom - (_PAST - 1) * tank.depth
        return Outline(
            ((across, foot), (across, tank.bottom + _PAST * tank.depth)), "centre", is_closed=False
        )

    def _side(self, solid: Solid) -> tuple[Point, ...]:
        """Return the outline of a solid cut lengthwise through the dip point."""
        places = [solid.length * i / (_STATIONS - 1) for i in range(_STATIONS)]
        if solid.aft == solid.forward:
            places = [0.0, solid.length]
        cuts = [(x, *_heights(solid, x, self.tank.dip_y)) for x in places]
        return (*((x, low) for x, low, _ in cuts), *((x, high) for x, _, high in reversed(cuts)))

    def _edges(self) -> Iterator[Item]:
        """Go through the edges that are seen behind the cut."""
        tank = self.tank
        if tank.inside.diameters is not None:
            return
        seen: set[tuple[float, float]] = set()
        for aft, forward in zip(tank.inside.aft.points, tank.inside.forward.points, strict=True):
            heights = (aft[1], forward[1])
            cut = [_heights(tank.inside, x, tank.dip_y) for x in (0.0, tank.inside.length)]
            if aft[0] < tank.dip_y and heights not in seen and not _on_cut(heights, cut):
                seen.add(heights)
                yield Outline(((0.0, aft[1]), (tank.inside.length, forward[1])), is_closed=False)

    def _dips(self) -> tuple[str | Value, ...]:
        said: list[str | Value] = ["The dip reads "]
        for one in self.levels:
            said += [one.dip, f" at {one.name}", ", "]
        return (*said[:-1], ".")


def _heights(solid: Solid, x: float, y: float) -> tuple[float, float]:
    """Return from where to where a solid stands over a place; past its side, what its section reaches."""
    found = upright(solid, x, y)
    if found is not None:
        return found
    section = corners(solid.section(x / solid.length))
    return min(z for _, z in section), max(z for _, z in section)


def _on_cut(heights: tuple[float, float], cut: list[tuple[float, float]]) -> bool:
    return any(heights == (cut[0][i], cut[1][i]) for i in (0, 1))


def _at(points: tuple[Point, ...], size: float, axis: int = 1, *, highest: bool = False) -> Point:
    """Return the corner that lies at a height, or across at one; of several there the lowest."""
    found = [one for one in points if abs(one[axis] - size) <= _SAME * (1 + abs(size))]
    return (max if highest else min)(found, key=lambda one: one[1])


def _between(inside: Solid, points: tuple[Point, ...], low: float, high: float) -> list[Point]:
    """Return the left-hand corners between bottom and top, one of each height, if they are few."""
    if inside.diameters is not None:
        return []
    heights: dict[float, Point] = {}
    for one in sorted(points):
        if low + _SAME < one[1] < high - _SAME:
            heights.setdefault(round(one[1], 6), one)
    return list(heights.values()) if len(heights) <= _CORNERS else []
