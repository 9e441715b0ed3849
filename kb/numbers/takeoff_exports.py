"""The take-off for spreadsheets and other programs: CSV, JSON and XLSX, the same bytes for the same lines."""

from __future__ import annotations

import csv
import re
from collections.abc import Iterable, Iterator
from datetime import datetime
from io import BytesIO, StringIO
from zipfile import ZIP_DEFLATED, ZipFile, ZipInfo

from kb.language.quantity import NoAnswer, Quantity
from kb.numbers.exports import Data, value_data
from kb.numbers.printed import printed, unit_text
from kb.numbers.takeoff import MaterialUse, TakeOffLine

Cell = str | int | float | None

COLUMNS = (
    "material",
    "needed",
    "unit",
    "packs",
    "bought",
    "left over",
    "cost",
    "shelf life",
    "lead time",
    "storage",
    "safety sheet",
    "used on",
    "note",
    "remark",
)
_STARTS_A_FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n")
_CONTROL = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f]")
"""Characters that XML, and so a workbook, cannot hold."""
_WIDEST = 60
_LONG_AGO = datetime(1980, 1, 1)
"""The date of every file in a workbook, the first that a ZIP can hold: a clock would change its bytes."""


def as_csv(lines: Iterable[TakeOffLine]) -> str:
    """Return the take-off as CSV, one line a material. No text in it is taken for a formula."""
    out = StringIO()
    writer = csv.writer(out, quoting=csv.QUOTE_NONNUMERIC, lineterminator="\n")
    writer.writerow(COLUMNS)
    for line in lines:
        writer.writerow([_harmless(cell) if isinstance(cell, str) else cell for cell in _cells(line)])
    return out.getvalue()


def as_json(lines: Iterable[TakeOffLine]) -> Data:
    """Return the take-off as data: `{"materials": [{"material", "needed": {"value", "unit"}, …}]}`.

    A need that cannot be told is `{"value": null, "unit", "why"}`. What a material has not is null or "".
    """
    return {"materials": [_line_data(line) for line in lines]}


def as_xlsx(lines: Iterable[TakeOffLine]) -> bytes:
    """Return the take-off as a workbook with one sheet. Texts are stored as texts, numbers as numbers."""
    from openpyxl import Workbook  # slow to load, and only this one export needs it
    from openpyxl.styles import Font
    from openpyxl.utils import get_column_letter
    from openpyxl.xml.functions import tostring

    book = Workbook()
    sheet = book.worksheets[0]
    sheet.title = "Take-off"
    sheet.freeze_panes = "B2"
    rows: list[list[Cell]] = [list(COLUMNS), *map(_cells, lines)]
    for row, cells in enumerate(rows, 1):
        for column, value in enumerate(cells, 1):
            cell = sheet.cell(row, column)
            if isinstance(value, str):
                cell.value = _CONTROL.sub("", value)
                cell.data_type = "s"  # else a text that begins with = is a formula
                cell.quotePrefix = True  # and becomes none when the cell is edited
            else:
                cell.value = value
            if row == 1:
                cell.font = Font(bold=True)
            elif COLUMNS[column - 1] == "cost":
                cell.number_format = "0.00"
    for column, one in enumerate(zip(*rows, strict=True), 1):
        widest = max(len(str(value)) for value in one if value is not None)
        sheet.column_dimensions[get_column_letter(column)].width = min(widest, _WIDEST) + 2
    written = BytesIO()
    book.save(written)
    properties = book.properties
    properties.creator, properties.created, properties.modified = "Keelbook", _LONG_AGO, _LONG_AGO
    return _without_clock(written, {"docProps/core.xml": tostring(properties.to_tree())})


def _without_clock(written: BytesIO, instead: dict[str, bytes]) -> bytes:
    """Return a ZIP whose files have all one date, some of them with another content."""
    out = BytesIO()
    with ZipFile(written) as before, ZipFile(out, "w", ZIP_DEFLATED) as after:
        for name in before.namelist():
            info = ZipInfo(name, _LONG_AGO.timetuple()[:6])
            info.compress_type = ZIP_DEFLATED
            info.create_system = 0  # else it tells Windows from the others
            after.writestr(info, instead.get(name) or before.read(name))
    return out.getvalue()


def _harmless(text: str) -> str:
    """Return a text that a spreadsheet takes for nothing but a text."""
    return f"'{text}" if text.startswith(_STARTS_A_FORMULA) else text


def _cells(line: TakeOffLine) -> list[Cell]:
    """Return a line as a row of a table, in the order of `COLUMNS`."""
    entry = line.entry
    return [
        line.material,
        _number(line.needed),
        _unit(line),
        " + ".join(f"{packs.count} x {printed(packs.size)}" for packs in line.packs),
        _number(line.bought),
        _number(line.left_over),
        line.cost,
        str(printed(entry.shelf_life)) if entry and entry.shelf_life else "",
        str(printed(entry.lead_time)) if entry and entry.lead_time else "",
        entry.storage if entry else "",
        entry.safety_sheet if entry else "",
        "; ".join(page.head.title or page.id for page in line.pages),
        entry.note if entry else "",
        "; ".join(_remarks(line)),
    ]


def _number(value: Quantity | NoAnswer | None) -> int | float | None:
    """Return a value as a number; one that cannot be told leaves its cell empty."""
    if not isinstance(value, Quantity):
        return None
    return int(value.value) if value.value == int(value.value) else float(value.value)


def _unit(line: TakeOffLine) -> str:
    if isinstance(line.needed, Quantity):
        return unit_text(line.needed)
    return line.entry.unit.name if line.entry else ""


def _remarks(line: TakeOffLine) -> Iterator[str]:
    if isinstance(line.needed, NoAnswer):
        yield f"cannot be told: {line.needed.why}"
    if line.verdict != "within":
        yield f"rests on a limit: {line.verdict}"


def _line_data(line: TakeOffLine) -> Data:
    entry = line.entry
    return {
        "material": line.material,
        "needed": value_data(line.needed, _unit(line)),
        "packs": [{"count": packs.count, "size": value_data(packs.size)} for packs in line.packs],
        "bought": _value_or_null(line.bought),
        "left_over": _value_or_null(line.left_over),
        "cost": line.cost,
        "shelf_life": _value_or_null(entry.shelf_life if entry else None),
        "lead_time": _value_or_null(entry.lead_time if entry else None),
        "storage": entry.storage if entry else "",
        "safety_sheet": entry.safety_sheet if entry else "",
        "note": entry.note if entry else "",
        "verdict": line.verdict,
        "used_on": [_use_data(use, _unit(line)) for use in line.uses],
    }


def _use_data(use: MaterialUse, unit: str) -> Data:
    place = use.line.place
    where = {"page": use.line.page.id, "file": place.file, "line": place.line}
    return {**where, "amount": value_data(use.amount, unit)}


def _value_or_null(value: Quantity | None) -> Data | None:
    return None if value is None else value_data(value)
