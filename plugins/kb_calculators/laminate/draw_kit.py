"""A core kit drawn: its pieces in the order they are laid in, run by run, and the sheet they are cut from."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import TYPE_CHECKING, Any, NamedTuple

from kb import Dimension, Drawing, Note, Outline, Value, View
from kb.drawing import Item
from kb_calculators.laminate.labels import read_label

if TYPE_CHECKING:
    from kb_calculators.laminate.core_kit import CoreKit, Laid

# Letters keep their size on paper: what they take of the thing is a share of how wide it is drawn.
_LETTER, _LINE, _GAP = 0.036, 0.07, 0.03
_HIGH = 0.85  # the most height of a view, as a share of its width
_STEP, _STEPS = 1.1, 13  # by which the view grows, and how often: up to three times the longest piece
_LOWER, _LOWERINGS = 0.95, 14  # by which views of a kit are made lower while their number stays
_SHEET = 3.0  # a sheet longer than so many of the longest piece would leave nothing to see


class _Place(NamedTuple):
    """A piece or the sheet in its row: its words, its size, and where its room begins and ends."""

    words: str
    length: float
    width: float
    left: float
    right: float
    has_words_inside: bool


@dataclass(frozen=True, slots=True)
class _Row:
    """Pieces beside one another."""

    places: tuple[_Place, ...]
    height: float
    is_sheet: bool = False


def draw_kit(arguments: Mapping[str, Any], results: CoreKit) -> Drawing:
    """Draw every row of the kit's list once, to scale; a kit too large for one view goes on in the next."""
    sheet = arguments["sheet_length"], arguments["sheet_width"]
    order = results.order
    longest = max(max(piece.length, piece.width / (_HIGH - _LINE - _GAP)) for piece in order)
    shown = sheet if max(sheet) <= _SHEET * longest else None
    least = max(longest, *(shown or ()), shown[1] / (_HIGH - _GAP) if shown else 0.0)
    tried = [least * _STEP**step for step in range(_STEPS)]
    laid = [(wide, list(_rows(order, shown, wide))) for wide in tried]
    wide, rows = min(laid, key=lambda one: len(_filled(one[1], _HIGH * one[0])))
    pages = _even(rows, _HIGH * wide)
    views = tuple(_view(page, at, len(pages), sheet, wide) for at, page in enumerate(pages, 1))
    faults = (
        ("Missing: ", results.missing),
        ("On more than one row: ", results.doubled),
        ("Larger than a sheet: ", results.oversize),
    )
    told = "".join(f"{what}{labels}. " for what, labels in faults if labels)
    return Drawing("The kit", views, f"Pieces over all, like ones drawn once. {told}")


def _rows(order: Sequence[Laid], sheet: tuple[float, float] | None, wide: float) -> Iterator[_Row]:
    for _, run in groupby(order, lambda one: read_label(one.label, "pieces", one.place).prefix):
        places: list[_Place] = []
        for piece in run:
            words = f"{piece.label} ×{piece.pieces}" if piece.pieces > 1 else piece.label
            place = _placed(words, piece.length, piece.width, places, wide)
            if places and place.right > wide:
                yield _row(places, wide)
                places = []
                place = _placed(words, piece.length, piece.width, places, wide)
            places.append(place)
        yield _row(places, wide)
    if sheet is not None:
        place = _placed("a sheet", *sheet, (), wide)
        yield _Row((place,), place.width + _GAP * wide, is_sheet=True)


def _placed(words: str, length: float, width: float, before: Sequence[_Place], wide: float) -> _Place:
    left = before[-1].right + _GAP * wide if before else 0.0
    room = (len(words) + 1) * _LETTER * wide
    is_inside = room <= length and _LINE * wide <= width
    return _Place(words, length, width, left, left + (length if is_inside else max(length, room)), is_inside)


def _row(places: Sequence[_Place], wide: float) -> _Row:
    line = 0.0 if all(one.has_words_inside for one in places) else _LINE * wide
    return _Row(tuple(places), max(one.width for one in places) + line + _GAP * wide)


def _even(rows: Sequence[_Row], high: float) -> list[list[_Row]]:
    """Return the rows of each view: as few views as will do, all about as full."""
    pages = _filled(rows, high)
    for step in range(1, _LOWERINGS):
        lower = _filled(rows, high * _LOWER**step)
        if len(lower) > len(pages):
            break
        pages = lower
    return pages


def _filled(rows: Sequence[_Row], high: float) -> list[list[_Row]]:
    pages: list[list[_Row]] = [[]]
    for row in rows:
        if pages[-1] and sum(one.height for one in pages[-1]) + row.height > high:
            pages.append([])
        pages[-1].append(row)
    return pages


def _view(rows: Sequence[_Row], at: int, of: int, sheet: tuple[float, float], wide: float) -> View:
    items: list[Item] = []
    says: list[str | Value] = ["Pieces in lay order, a row for each run: "]
    long, broad = Value(sheet[0], "in", name="sheet_length"), Value(sheet[1], "in", name="sheet_width")
    top = 0.0
    for row in rows:
        foot = top - max(one.width for one in row.places)
        for one in row.places:
            left = (one.left + one.right - one.length) / 2
            right, head = left + one.length, foot + one.width
            corners = ((left, foot), (right, foot), (right, head), (left, head))
            items.append(Outline(corners, "thin" if row.is_sheet else "outline"))
            middle = (foot + head) / 2 if one.has_words_inside else foot - _LINE * wide / 2
            items.append(Note(((left + right) / 2, middle), one.words))
            if row.is_sheet:
                items.append(Dimension(corners[0], corners[1], "below", long))
                items.append(Dimension(corners[0], corners[3], "left", broad))
            else:
                says += [f"{one.words} ", Value(one.length, "in"), " by ", Value(one.width, "in"), ", "]
        top -= row.height
    says[-1] = f"{says[-1]}".replace(", ", ".")
    says += [" A sheet is ", long, " by ", broad, "."]
    title = "In lay order" if of == 1 else f"In lay order, {at} of {of}"
    return View("kit" if at == 1 else f"kit_{at}", title, tuple(says), tuple(items))
