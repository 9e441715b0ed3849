"""Tables from CSV files, with the units in their headings."""

from __future__ import annotations

import csv
import io
import re
from pathlib import Path

from kb.content.values import Cell, Heading, Table
from kb.language.literal import ReadError, read_literal, starts_number
from kb.language.quantity import Quantity
from kb.language.units import NUMBER, UnitError, unit
from kb.problem import Place, Problem

_HEADING = re.compile(r"\s*([A-Za-z][A-Za-z0-9_ ]*?)\s*(?:\(\s*([^()]+?)\s*\))?\s*")
_LONGEST_HEADING = 80
_MOST_ROWS = 100_000


def read_table(path: Path, name: str) -> tuple[Table | None, list[Problem]]:
    """Read a CSV file; `name` is the path that problems give. A cell stays text where it is no number."""
    try:
        text = path.read_text(encoding="utf-8-sig")
    except FileNotFoundError:
        return None, [Problem(Place(name), "there is no such file", "check the name and its folder")]
    except (OSError, UnicodeDecodeError) as error:
        return None, [Problem(Place(name), f"this file cannot be read ({error})", "save it as CSV in UTF-8")]
    return table_from_text(text, name)


def table_from_text(text: str, name: str) -> tuple[Table | None, list[Problem]]:
    """Read the text of a CSV file."""
    problems: list[Problem] = []
    source = text.splitlines()
    reader = csv.reader(io.StringIO(text, newline=""), strict=True)
    rows: list[tuple[int, list[str]]] = []
    start = 1
    try:
        for row in reader:
            if any(cell.strip() for cell in row):
                rows.append((start, row))
            start = reader.line_num + 1
    except csv.Error as error:
        return None, [
            Problem(Place(name, reader.line_num), f"this row cannot be read ({error})", "check its quotes")
        ]
    if not rows:
        return None, [
            Problem(Place(name), "this table is empty", "write a heading such as head (ft),flow (gal/hr)")
        ]
    if len(rows) > _MOST_ROWS:
        return None, [Problem(Place(name), f"this table has {len(rows)} rows", f"keep it under {_MOST_ROWS}")]
    line, first = rows[0]
    headings = _headings(first, _places(name, line, first, source), problems)
    body = []
    for line, row in rows[1:]:
        places = _places(name, line, row, source)
        if len(row) != len(first):
            problems.append(
                Problem(
                    Place(name, line),
                    f"this row has {len(row)} cells, its heading {len(first)}",
                    "give every row one cell a column",
                )
            )
            continue
        body.append(
            tuple(_cell(cell, h, p, problems) for cell, h, p in zip(row, headings, places, strict=True))
        )
    if problems:
        return None, problems
    return Table(name, tuple(headings), tuple(body), Place(name)), []


def _places(name: str, line: int, row: list[str], source: list[str]) -> list[Place]:
    """Find the column of each cell; quoted cells are found by their text."""
    text = source[line - 1]
    places, at = [], 0
    for cell in row:
        stripped = cell.strip()
        found = text.find(stripped, at) if stripped else at
        places.append(Place(name, line, max(found, 0) + 1))
        at = max(found, at) + len(stripped) + 1
    return places


def _headings(row: list[str], places: list[Place], problems: list[Problem]) -> list[Heading]:
    headings: list[Heading] = []
    for text, place in zip(row, places, strict=True):
        match = _HEADING.fullmatch(text) if len(text) <= _LONGEST_HEADING else None
        if not match:
            problems.append(
                Problem(place, f"'{text.strip()}' is not a heading", "write a name and its unit: head (ft)")
            )
            continue
        column = re.sub(r"\s+", "_", match[1].lower())
        try:
            one = unit(match[2]) if match[2] else None
        except UnitError as error:
            problems.append(Problem(place, error.what, error.fix))
            one = None
        if column in [heading.name for heading in headings]:
            problems.append(Problem(place, f"there are two columns '{column}'", "rename or drop one"))
        headings.append(Heading(column, one, place))
    if problems:
        return [Heading("", None, place) for place in places]
    return headings


def _cell(text: str, heading: Heading, place: Place, problems: list[Problem]) -> Cell:
    body = text.strip()
    if not body:
        return Cell(None, "", place)
    if not starts_number(body, 1 if body[0] in "-−" else 0):
        return Cell(body, body, place)
    try:
        size = read_literal(body)
    except ReadError as error:
        if heading.unit is None:
            return Cell(body, body, place)  # a label such as 2-B or 4/0
        problems.append(Problem(place.right(error.at), error.what, error.fix))
        return Cell(None, body, place)
    if size.is_toleranced:
        problems.append(Problem(place, "a cell of a table has no tolerance", "leave it out"))
    value = size.quantity
    if heading.unit is not None and value.unit is NUMBER:
        value = Quantity(value.value, heading.unit)
    elif heading.unit is not None and not value.unit.same_kind(heading.unit):
        problems.append(
            Problem(place, f"'{body}' does not fit its column", f"write a number in {heading.unit.name}")
        )
    return Cell(value, body, place)
