"""A through-hull drawn: the section through fitting, solid laminate, core and skins."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, Any

from kb import Dimension, Drawing, Hatch, Outline, Value, View
from kb.calculators.section import Point
from kb.drawing import Item, Side

if TYPE_CHECKING:
    from kb_calculators.bonding.through_hull import ThroughHull

_PAST = 0.03  # what the section shows beyond the work, as a share of its diameter
_FREE = 0.04  # thickness of flange and block, as a share of it
_BARREL = 0.12  # what is seen of the fitting inside, as a share of it

_GIVEN = (
    "fitting_diameter",
    "flange_diameter",
    "backing_diameter",
    "solid_thickness",
    "outer_skin",
    "core_thickness",
    "inner_skin",
)
_FOUND = ("core_out_diameter", "work_diameter", "taper_length", "scarf_length")


def draw_through_hull(arguments: Mapping[str, Any], results: ThroughHull) -> Drawing:
    """Draw the section through the fitting, outside below: what stays, what is laid up, what is clamped."""
    sizes = {name: Value(arguments[name], "in", name=name) for name in _GIVEN}
    sizes |= {name: Value(getattr(results, name), "in", "up", name) for name in _FOUND}
    layers: list[str | Value] = []
    for name, words in (
        ("outer_skin", "Outer skin "),
        ("core_thickness", ", core "),
        ("inner_skin", ", inner skin "),
    ):
        layers += [words, sizes[name]]
    says: list[str | Value] = ["Section through the fitting, outside below. Solid laminate "]
    for name, words in (
        ("solid_thickness", " thick, "),
        ("core_out_diameter", " across; the core is bevelled over "),
        ("taper_length", " and the inner skin scarfed over "),
        ("scarf_length", ", to "),
        ("work_diameter", " across. Fitting "),
        ("fitting_diameter", ", flange "),
        ("flange_diameter", ", block "),
        ("backing_diameter", ". "),
    ):
        says += [sizes[name], words]
    free = ". Flange, block and fitting stand in thin lines; their thickness and length are not to scale. "
    section = _Section(arguments, results)
    items = (*section.laminate(), *section.fitting(), *section.dimensions(sizes))
    view = View("section", "Section, outside below", (*says, *layers, free), items)
    return Drawing("Through-hull", (view,), (*layers, free))


class _Section:
    """The section in its own axes: across from the middle of the hole, up from the outside of the skin."""

    def __init__(self, arguments: Mapping[str, Any], results: ThroughHull) -> None:
        self.outer, self.solid = arguments["outer_skin"], arguments["solid_thickness"]
        self.core_top = self.outer + arguments["core_thickness"]
        self.top = self.core_top + arguments["inner_skin"]
        self.sealant = arguments["sealant_thickness"]
        self.barrel = arguments["fitting_diameter"] / 2
        self.flange, self.block = arguments["flange_diameter"] / 2, arguments["backing_diameter"] / 2
        self.foot = results.core_out_diameter / 2
        self.bevel, self.work = self.foot + results.taper_length, results.work_diameter / 2
        self.across = results.work_diameter

    def laminate(self) -> Iterator[Item]:
        """Draw skins and new plies hatched, and the core between them plain."""
        hole, end = self.barrel + self.sealant, self.work + _PAST * self.across
        skin = ((hole, 0.0), (end, 0.0), (end, self.outer), (hole, self.outer))
        inner = ((self.bevel, self.core_top), (self.work, self.top), (end, self.top), (end, self.core_top))
        core = ((self.foot, self.outer), (end, self.outer), (end, self.core_top), (self.bevel, self.core_top))
        for shape in (skin, inner):
            yield from (Hatch(one) for one in _both(shape))
        yield from (Outline(one) for one in _both(core))
        if self.solid > self.outer:
            yield from (Hatch(one) for one in _both(self._plies(hole)))

    def _plies(self, hole: float) -> tuple[Point, ...]:
        """Return the new plies: they end evenly spread over bevel and scarf."""
        thick, spread = self.solid - self.outer, self.work - self.foot
        left = thick * (self.work - self.bevel) / spread if spread else 0.0
        under = (
            (hole, self.outer),
            (self.foot, self.outer),
            (self.bevel, self.core_top),
            (self.work, self.top),
        )
        return (*under, (self.bevel, self.core_top + left), (self.foot, self.solid), (hole, self.solid))

    def fitting(self) -> Iterator[Item]:
        """Draw the fitting, its flange and the block in thin lines, and the middle of the hole."""
        free, inside = _FREE * self.across, max(self.solid, self.top) + _BARREL * self.across
        face = -self.sealant
        flange = ((self.barrel, face), (self.flange, face), (self.flange, face - free), (0.0, face - free))
        block = (
            (self.barrel, self.solid),
            (self.block, self.solid),
            (self.block, self.solid + free),
            (self.barrel, self.solid + free),
        )
        for shape in (((self.barrel, inside), *flange), block):
            yield from (Outline(one, "thin", is_closed=False) for one in _both(shape))
        past = _BARREL * self.across / 2
        yield Outline(((0.0, face - free - past), (0.0, inside + past)), "centre", is_closed=False)

    def dimensions(self, values: Mapping[str, Value]) -> Iterator[Item]:
        """Draw the sizes: diameters of what is cut above, of what is clamped below."""
        free = _FREE * self.across
        diameters: tuple[tuple[str, Side, float, float], ...] = (
            ("core_out_diameter", "above", self.foot, self.outer),
            ("work_diameter", "above", self.work, self.top),
            ("backing_diameter", "above", self.block, self.solid + free),
            ("fitting_diameter", "below", self.barrel, -self.sealant - free),
            ("flange_diameter", "below", self.flange, -self.sealant - free),
        )
        for name, side, half, height in diameters:
            yield Dimension((-half, height), (half, height), side, values[name], "⌀")
        if self.bevel > self.foot:
            ends = (self.foot, self.outer), (self.bevel, self.core_top)
            yield Dimension(*ends, "below", values["taper_length"])
        if self.work > self.bevel:
            # At the other side, where its value does not stand in the way of the bevel's.
            ends = (-self.work, self.top), (-self.bevel, self.core_top)
            yield Dimension(*ends, "below", values["scarf_length"])
        yield Dimension((-self.foot, 0.0), (-self.foot, self.solid), "left", values["solid_thickness"])


def _both(points: Sequence[Point]) -> tuple[tuple[Point, ...], tuple[Point, ...]]:
    """Return a shape and its mirror image across the middle."""
    return tuple(points), tuple((-x, y) for x, y in points)
