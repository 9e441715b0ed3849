"""Drawings as pages show them: a picture of a block as SVG with real text, in the book's units."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import isclose

from kb.drawing import Chart, Picture, Value, Words, parts
from kb.language.quantity import NoAnswer, Quantity
from kb.language.show import in_unit
from kb.language.systems import counterpart, show_other
from kb.language.units import unit
from kb.numbers.drawn import drawing_of
from kb.numbers.evaluate import BlockResult
from kb.numbers.printed import Printed, printed
from kb.pages.ink import Group, number
from kb.pages.lettering import SIZE, Bit, Box, Lettering
from kb.pages.plot import plot
from kb.pages.projection import lay_out
from kb.pages.templates import render, set_rule, set_unit
from kb.pages.view import View

_LENGTH = "in"
"""The unit of a view, which its drawing says once."""
_MARGIN = 3.0
_DUST = 9  # decimals beyond which a size has only what arithmetic left of it


@dataclass(frozen=True, slots=True)
class Figure:
    """A drawing as HTML, and the words of it that paper shows; both "" where there is none."""

    html: str = ""
    words: str = ""


@dataclass(frozen=True, slots=True)
class Drawn:
    """One picture of a figure: its id on the page, what stands below it, its texts, its room, its marks."""

    id: str
    name: str
    title: str
    says: Bit
    view_box: str
    wide: str
    high: str
    groups: Sequence[Group]

    @property
    def has_cut(self) -> bool:
        """Tell whether a cut solid is hatched in it."""
        return any(path.kind == "cut" for group in self.groups for path in group.paths)


def figure(view: View, name: str, key: str, *, only: str = "", caption: str = "") -> Figure:
    """Return the drawing of a block.

    Args:
        view: the edition.
        name: the block.
        key: what the ids of the figure begin with: one of its own for each on a page.
        only: the one view that is wanted; "" for all.
        caption: what stands below it instead of its own title.

    """
    picture = drawing_of(view.done, name)
    if picture is None:
        return Figure()
    if isinstance(picture, NoAnswer):
        html = render("drawing", drawn=(), caption=caption, why=picture.why, note=None, length=None)
        return Figure(html, f"{caption} {picture.why}")
    writer = _Writer(view, view.done.blocks[name])
    drawn = _drawn(picture, writer, f"drawing.{key}", only)
    length = None if isinstance(picture, Chart) else writer.unit_of(_LENGTH)
    note = writer.words(picture.note) if picture.note else None
    html = render(
        "drawing", drawn=drawn, caption=caption, why="", note=note, length=length, letters=number(SIZE)
    )
    return Figure(html, " ".join(_words(drawn, [caption, note.own if note else ""])))


def _drawn(picture: Picture, writer: _Writer, key: str, only: str) -> list[Drawn]:
    if isinstance(picture, Chart):
        ink, box = plot(picture, writer.words, writer.tick, writer.unit_of)
        return [_one(key, picture.title, "", writer.words(picture.says), ink.groups, box)]
    views = [one for one in picture.views if only in ("", one.name)]
    return [
        _one(
            f"{key}.{sheet.view.name}",
            f"{picture.title}: {sheet.view.title}",
            sheet.view.title,
            writer.words(sheet.view.says),
            sheet.ink.groups,
            sheet.box,
        )
        for sheet in lay_out(views, writer.words, writer.bare)
    ]


def _one(key: str, title: str, below: str, says: Lettering, groups: Sequence[Group], box: Box) -> Drawn:
    sides = (box.left - _MARGIN, box.top - _MARGIN)
    room = (box.right - box.left + 2 * _MARGIN, box.bottom - box.top + 2 * _MARGIN)
    other = says.other if says.other != says.own else ""
    view_box = " ".join(map(number, (*sides, *room)))
    wide, high = map(number, room)
    return Drawn(key, below, title, Bit(says.own, other), view_box, wide, high, groups)


def _words(drawn: Sequence[Drawn], more: Sequence[str]) -> Sequence[str]:
    found = [text.words.own for one in drawn for group in one.groups for text in group.texts]
    return [*(one.name for one in drawn), *found, *more]


class _Writer:
    """Prints the texts of one block's drawing, in the book's units and the others."""

    def __init__(self, view: View, result: BlockResult) -> None:
        self.result = result
        self.system = view.book.settings.units
        self.spreads = view.done.spreads
        self.known: dict[tuple[Words, str], Lettering] = {}

    def words(self, words: Words) -> Lettering:
        """Return a text, each value with its unit."""
        return self._lettering(words, bare="")

    def bare(self, words: Words) -> Lettering:
        """Return the text of a dimension: a length stands without its unit."""
        return self._lettering(words, bare=_LENGTH)

    def _lettering(self, words: Words, bare: str) -> Lettering:
        key = (words, bare)
        if key not in self.known:
            self.known[key] = self._print(words, bare)
        return self.known[key]

    def _print(self, words: Words, bare: str) -> Lettering:
        lines: list[list[Bit]] = [[]]
        for part in parts(words):
            if isinstance(part, Value):
                lines[-1].append(self._value(part, has_unit=part.unit != bare))
                continue
            first, *others = part.split("\n")
            lines[-1].append(Bit(first))
            lines += [[Bit(one)] for one in others]
        return Lettering(tuple(tuple(bit for bit in line if bit.own) for line in lines))

    def _value(self, value: Value, *, has_unit: bool) -> Bit:
        size, safe, spread, is_count = self._size(value), value.safe, 0.0, False
        declared = self.result.block.calculator.results.get(value.name)
        if declared is not None:
            safe, is_count = declared.q.safe, declared.kind == "count"
        if declared is not None and declared.unit.name == value.unit:
            # The same rounding as the card's own: never finer than the tolerance.
            spread = max(self.spreads.get(f"{self.result.block.name}.{value.name}", (0.0, 0.0)))
        own = printed(size, safe, is_count=is_count, spread=spread)
        others = show_other(size, size.unit, self.system, safe=safe, spread=spread)
        other = _set(Printed(*others), has_unit=has_unit) if others else ""
        return Bit(_set(own, has_unit=has_unit), other)

    def _size(self, value: Value) -> Quantity:
        """Return a value as a quantity; what an author wrote exactly as it was written, 30 and not 30.0."""
        one = unit(value.unit)
        given = self.result.outcome.arguments.get(value.name)
        if isinstance(given, Quantity) and given.unit.same_kind(one):
            exact = in_unit(given, one)
            if isclose(float(exact.value), value.size):
                return exact
        if value.name in self.result.outcome.values:
            return Quantity(float(value.size), one)
        return Quantity(Fraction(str(round(value.size, _DUST))), one)

    def tick(self, size: float, name: str, decimals: int) -> Bit:
        """Return the number at a tick of an axis with so many decimals."""
        own = set_rule(f"{size:.{decimals}f}").replace("-", "−")
        one = unit(name)
        others = show_other(Quantity(size, one), one, self.system) if size else None
        return Bit(own, others[0].replace("-", "−") if others else "")

    def unit_of(self, name: str) -> Bit:
        """Return a unit as it is set, and its counterpart."""
        other = counterpart(unit(name), self.system)
        return Bit(set_unit(name), set_unit(other.name) if other else "")


def _set(value: Printed, *, has_unit: bool) -> str:
    size = value.number.replace("-", "−")
    return f"{size} {set_unit(value.unit)}".rstrip() if has_unit else size
