"""Values of any kind as a number and its unit, ready to be set on a page or a terminal."""

from __future__ import annotations

from typing import Any, NamedTuple

from kb.calculators.door import TableValue, said
from kb.content.values import Listed, Shaped, Table
from kb.language.quantity import Exact, NoAnswer, Quantity
from kb.language.show import AS_IT_IS, Form, Safe, show_parts
from kb.language.units import UnitError, base_name


class Printed(NamedTuple):
    """A value as text: the number, or the word that stands in its place, and the unit."""

    number: str
    unit: str = ""

    def __str__(self) -> str:
        return f"{self.number} {self.unit}".rstrip()


def unit_text(value: Quantity) -> str:
    """Return the unit of a value; of a bare product, its base units."""
    return value.unit.name or base_name(value.unit.dims)


def printed(
    value: Any, safe: Safe = "nearest", *, form: Form = AS_IT_IS, is_count: bool = False, spread: Exact = 0
) -> Printed:
    """Return a value as text, a quantity rounded to its safe side in its own unit."""
    if isinstance(value, Quantity):
        try:
            return Printed(*show_parts(value, form, safe, is_count=is_count, spread=spread))
        except (UnitError, ValueError):
            return Printed(f"{float(value.value):.4g}", unit_text(value))
    if isinstance(value, NoAnswer):
        return Printed(f"none ({value.why})")
    if isinstance(value, TableValue | Table):
        return Printed(f"a table of {len(value.rows)} rows")
    if isinstance(value, Shaped):
        cells = ", ".join(f"{key} {cell.text}" for key, cell in value.cells.items() if key != "shape")
        return Printed(f"{value.cells['shape'].text}: {cells}" if "shape" in value.cells else cells)
    if isinstance(value, Listed):
        return Printed(f"a list of {len(value.items)}")
    return Printed(said(value))
