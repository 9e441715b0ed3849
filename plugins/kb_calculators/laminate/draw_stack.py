"""A laminate drawn: its plies to scale, cut through, each with its name and thickness."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from itertools import groupby
from textwrap import fill
from typing import TYPE_CHECKING, Any, NamedTuple

from kb import Dimension, Drawing, Leader, Value, View
from kb.drawing import Item
from kb_calculators.laminate.strip import bands

if TYPE_CHECKING:
    from kb_calculators.laminate.stack import LaminateStack

_WIDE = 0.5  # the width of the piece, as a share of its thickness
_LETTERS = 20  # in a line of a name
_FEW = 5  # so many names stand in two lines each


class _Named(NamedTuple):
    """Like plies that lie on one another: how many, their name, the thickness of each and their middle."""

    times: int
    name: str
    thickness: float
    middle: float


def draw_stack(arguments: Mapping[str, Any], results: LaminateStack) -> Drawing:
    """Draw a piece of the laminate on its mould; fabrics are hatched, cores are clear."""
    is_fabric = [ply.kind == "fabric" for ply in arguments["plies"]]
    thicknesses = [layer.thickness for layer in results.stack]
    total = Value(results.thickness, "in", name="thickness")
    wide = _WIDE * results.thickness
    found = list(bands(zip(thicknesses, is_fabric, strict=True), wide))
    named = list(_named(results, [middle for middle, _ in found]))
    between = "\n" if len(named) <= _FEW else " "
    items: list[Item] = [band for _, band in found]
    says: list[str | Value] = ["The laminate cut through, from the mould up: "]
    for one in named:
        name = f"{one.times} × {one.name}" if one.times > 1 else one.name
        size: tuple[str | Value, ...] = (Value(one.thickness, "in"), *([" each"] if one.times > 1 else []))
        words = fill(name, _LETTERS)
        # What lies alone has its thickness at the left already.
        items.append(Leader((wide, one.middle), (f"{words}{between}", *size) if len(found) > 1 else words))
        says += [f"{name} ", *size, ", "]
    top = sum(thicknesses)
    items.append(Dimension((0.0, 0.0), (0.0, top), "left", total))
    says[-1:] = ["; ", total, " in all."]
    view = View("section", "Section, mould below", tuple(says), tuple(items))
    note = "Fabrics hatched, cores clear. Thickness to scale, width as it comes. "
    return Drawing("The laminate", (view,), note)


def _named(results: LaminateStack, middles: list[float]) -> Iterator[_Named]:
    """Go through the plies, like ones that lie on one another as one."""
    plies = zip(results.stack, middles, strict=True)
    for (name, thickness), like in groupby(plies, lambda one: (one[0].name, one[0].thickness)):
        heights = [middle for _, middle in like]
        yield _Named(len(heights), name, thickness, (heights[0] + heights[-1]) / 2)
