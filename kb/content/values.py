"""Lists, shapes and tables as a yard writes them, each cell with its place."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from kb.language.units import Unit
from kb.problem import Place


@dataclass(frozen=True, slots=True)
class Cell:
    """One value inside a list, a shape or a table: a literal, or in a block an expression."""

    value: Any
    text: str
    place: Place


@dataclass(frozen=True, slots=True)
class Listed:
    """A list of cells, lists or shapes."""

    items: tuple[Cell | Listed | Shaped, ...]
    place: Place


@dataclass(frozen=True, slots=True)
class Shaped:
    """A mapping of words to cells: a section by shape, or one row of a table."""

    cells: dict[str, Cell]
    place: Place


@dataclass(frozen=True, slots=True)
class Heading:
    """A column of a table: its name, and its unit where the heading gives one."""

    name: str
    unit: Unit | None
    place: Place


@dataclass(frozen=True, slots=True)
class Table:
    """Rows of named columns from a CSV file; a cell without a value is None."""

    file: str
    headings: tuple[Heading, ...]
    rows: tuple[tuple[Cell, ...], ...]
    place: Place
