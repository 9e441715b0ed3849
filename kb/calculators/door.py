"""The door of a calculator: values with units become plain floats, and results become values again."""

from __future__ import annotations

import math
from collections.abc import Container, Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from typing import Any

from kb.calculators.declare import Calculator, Column, Parameter, Refusal, Result
from kb.calculators.section import SHAPES, Section, SectionError, polygon, shaped
from kb.content.values import Cell, Listed, Shaped, Table
from kb.language.compute import Computation, called
from kb.language.literal import ReadError
from kb.language.quantity import NoAnswer, Quantity
from kb.language.units import NUMBER, Unit, UnitError, unit, wanted, what_it_is
from kb.problem import Place, offer

_INCH = unit("in")


@dataclass(frozen=True, slots=True)
class Fault:
    """One value that a calculator cannot take, or a result it should not have given.

    `parameter` is the parameter at fault, or "" for the calculator as a whole; `place` is that of one cell.
    """

    parameter: str
    what: str
    fix: str
    place: Place | None = None


class DoorError(ValueError):
    """A calculator could not be run; carries every fault found."""

    def __init__(self, *faults: Fault) -> None:
        self.faults = faults
        super().__init__("\n".join(f"{fault.what}; {fault.fix}" for fault in faults))

    @classmethod
    def one(cls, parameter: str, what: str, fix: str, place: Place | None = None) -> DoorError:
        """Return the error of a single fault."""
        return cls(Fault(parameter, what, fix, place))


@dataclass(frozen=True, slots=True)
class TableValue:
    """A table that a calculator gave: its columns and its rows of plain values."""

    columns: tuple[Column, ...]
    rows: tuple[tuple[Any, ...], ...]


@dataclass(frozen=True, slots=True)
class Remark:
    """A value that stands although it lies outside its usual range, and why that matters."""

    name: str
    text: str


@dataclass(frozen=True, slots=True)
class Outcome:
    """What one run of a calculator gave: results as values, what went in, and remarks.

    `plain` and `results` are what its function took and gave, for what draws it; None where it was not run.
    """

    values: Mapping[str, Any]
    arguments: Mapping[str, Any]
    remarks: tuple[Remark, ...] = ()
    plain: Mapping[str, Any] | None = None
    results: Any = None


def run(calculator: Calculator, given: Mapping[str, Any]) -> Outcome:
    """Run a calculator once on values with units.

    A parameter that has no answer leaves every result without one. Raises `DoorError`.
    """
    empty = [
        Fault(
            name,
            f"{name} is needed and has no value",
            f"write one such as {calculator.example.get(name, '…')}",
        )
        for name, parameter in calculator.parameters.items()
        if parameter.required and given.get(name, "") is None
    ]
    if faults := [*_name_faults(calculator, given), *empty, *missing_faults(calculator, given)]:
        raise DoorError(*faults, *value_faults(calculator, given))
    arguments = _with_defaults(calculator, given)
    for name, value in given.items():
        if isinstance(value, NoAnswer):
            why = NoAnswer(f"{name}: {value.why}")
            return Outcome(dict.fromkeys(calculator.results, why), arguments)
    plain, faults = _enter_all(calculator, _to_enter(calculator, given, arguments))
    if faults:
        raise DoorError(*_of_fallbacks(calculator, given, faults))
    try:
        results = calculator.function(**plain)
        values = {
            name: leave(calculator, one, getattr(results, name)) for name, one in calculator.results.items()
        }
    except Refusal as refusal:
        found = _as_given(calculator, refusal.parameter, plain)
        raise DoorError.one(refusal.parameter, f"{found} {refusal.what}", refusal.fix) from None
    except DoorError:
        raise
    except Exception as error:
        # A calculator is a plugin's code: whatever it raises is told as its fault, and the rest goes on.
        raise failed(calculator, "failed", error) from error
    return Outcome(values, arguments, _remarks(calculator, plain, results), plain, results)


def failed(calculator: Calculator, what: str, error: Exception) -> DoorError:
    """Return the error of a calculator whose code raised what it should not."""
    return DoorError.one(
        "",
        f"the calculator {calculator.name} of the plugin '{calculator.plugin}' {what}"
        f" ({type(error).__name__}: {error})",
        "this is a fault in the calculator, not in the book; report it with these values",
    )


def _name_faults(calculator: Calculator, given: Mapping[str, Any]) -> Iterator[Fault]:
    known = calculator.parameters
    for name in given:
        if name not in known:
            fix = offer(name, known, f"it takes {', '.join(known)}")
            yield Fault(name, f"{calculator.name} has no parameter '{name}'", fix)


def missing_faults(
    calculator: Calculator, given: Container[str], advice: str = "add a line such as {}: {}"
) -> Iterator[Fault]:
    """Go through the needed parameters that are not given."""
    for parameter in calculator.parameters.values():
        if parameter.required and parameter.name not in given:
            yield Fault(
                "",
                f"{calculator.name} needs '{parameter.name}' ({parameter.q.label})",
                advice.format(parameter.name, calculator.example.get(parameter.name, "…")),
            )


def value_faults(calculator: Calculator, given: Mapping[str, Any]) -> list[Fault]:
    """Return what is wrong with the values given, whatever else is missing."""
    known = {name: value for name, value in given.items() if name in calculator.parameters}
    return _enter_all(calculator, known)[1]


def _enter_all(calculator: Calculator, arguments: Mapping[str, Any]) -> tuple[dict[str, Any], list[Fault]]:
    plain: dict[str, Any] = {}
    faults: list[Fault] = []
    for name, value in arguments.items():
        if value is None or isinstance(value, NoAnswer):
            continue
        try:
            plain[name] = enter(calculator.parameters[name], value, calculator.name)
        except DoorError as error:
            faults.extend(error.faults)
    return plain, faults


def _of_fallbacks(
    calculator: Calculator, given: Mapping[str, Any], faults: Iterable[Fault]
) -> Iterator[Fault]:
    """Go through faults; one of a value filled in from another that is at fault is not told again."""
    faults = list(faults)
    wrong = {fault.parameter for fault in faults}
    for fault in faults:
        parameter = calculator.parameters.get(fault.parameter)
        filled = parameter.fallback if parameter and fault.parameter not in given else None
        if filled is None or not wrong.intersection(filled.names):
            yield _of_fallback(calculator, given, fault)


def _of_fallback(calculator: Calculator, given: Mapping[str, Any], fault: Fault) -> Fault:
    """Lay a fault at the calculator's door where it filled the value in itself."""
    if fault.parameter in given or fault.parameter not in calculator.parameters:
        return fault
    what = f"{calculator.name} of the plugin '{calculator.plugin}' fills in wrongly: {fault.what}"
    return Fault(fault.parameter, what, f"give {fault.parameter}, and report this fault", fault.place)


def _to_enter(
    calculator: Calculator, given: Mapping[str, Any], arguments: Mapping[str, Any]
) -> dict[str, Any]:
    """Return the arguments that are not plain defaults: those the function has in its signature."""
    return {
        name: value
        for name, value in arguments.items()
        if given.get(name) is not None or calculator.parameters[name].fallback is not None
    }


def _with_defaults(calculator: Calculator, given: Mapping[str, Any]) -> dict[str, Any]:
    """Return a value for every parameter: as given, by default, by fallback, or that it is not given."""
    arguments: dict[str, Any] = {}
    for name, parameter in calculator.parameters.items():
        value = given.get(name)
        if value is None:
            value = parameter.default_value
        arguments[name] = NoAnswer(f"{name} is not given") if value is None else value
    for name, parameter in calculator.parameters.items():
        if parameter.fallback is not None and given.get(name) is None:
            try:
                arguments[name] = Computation(lambda node: arguments[node.name]).of(parameter.fallback.tree)
            except ReadError as error:
                raise DoorError.one(
                    name,
                    f"{calculator.name} of the plugin '{calculator.plugin}' cannot fill in {name}:"
                    f" {error.what}",
                    f"give {name}",
                ) from None
    return arguments


def _as_given(calculator: Calculator, name: str, arguments: Mapping[str, Any]) -> str:
    value = arguments.get(name)
    if isinstance(value, float | int) and not isinstance(value, bool):
        return f"{name} = {value:g} {calculator.parameters[name].unit}".rstrip()
    return name


def _remarks(calculator: Calculator, arguments: Mapping[str, Any], results: Any) -> tuple[Remark, ...]:
    found = []
    values = {**arguments, **{name: getattr(results, name) for name in calculator.results}}
    every: list[Parameter | Result] = [*calculator.parameters.values(), *calculator.results.values()]
    for one in every:
        usual, value = one.q.usual, values.get(one.name)
        if usual is not None and isinstance(value, float | int) and not usual.holds(value):
            text = f"{one.q.label} is outside the usual {usual.said(one.unit.name)}"
            found.append(Remark(one.name, f"{text}: {usual.why}" if usual.why else text))
    return tuple(found)


def enter(parameter: Parameter, value: Any, owner: str) -> Any:
    """Turn one value into what the calculator's function takes. Raises `DoorError`."""
    name = parameter.name
    if parameter.kind in ("quantity", "number", "count"):
        size = _float(name, value, parameter.unit, whole=parameter.kind == "count")
        _check_valid(parameter, size, owner)
        return size
    if parameter.kind == "flag":
        if not isinstance(value, bool):
            raise DoorError.one(name, f"{name} takes yes or no, not {called(value)}", "write yes or no")
        return value
    if parameter.kind == "choice":
        if value not in parameter.choices:
            raise DoorError.one(
                name,
                f"{name} cannot be {called(value)}",
                offer(str(value), parameter.choices, f"choose {', '.join(parameter.choices)}"),
            )
        return value
    if parameter.kind == "text":
        if not isinstance(value, str):
            raise DoorError.one(name, f"{name} takes text, not {called(value)}", "write it in quotes")
        return value
    if parameter.kind == "section":
        return _section(name, value)
    return _table(parameter, value)


def _float(name: str, value: Any, one: Unit, *, whole: bool, place: Place | None = None) -> Any:
    if not isinstance(value, Quantity):
        raise DoorError.one(name, f"{name} takes {wanted(one)}, not {called(value)}", "check the name", place)
    if one.kind == "number" and value.unit.kind == "share":
        raise DoorError.one(name, f"{name} takes a plain number, not a share", "write 0.05 for 5 %", place)
    try:
        size = value.to(one)
    except UnitError as error:
        raise DoorError.one(
            name, f"{name} takes {wanted(one)}, not {_found(value)}", _unit_advice(value, one, error), place
        ) from None
    if whole:
        if size != int(size):
            raise DoorError.one(
                name, f"{name} = {_plain(size)} is not a whole number", "write a count", place
            )
        return int(size)
    return float(size)


def _found(value: Quantity) -> str:
    return f"{_plain(value.value)} without a unit" if value.unit is NUMBER else what_it_is(value.unit)


def _unit_advice(value: Quantity, one: Unit, error: UnitError) -> str:
    if value.unit is not NUMBER or not one.name:
        return error.fix
    if one.kind == "share":
        return f"write {_plain(value.value)} %, or {_plain(100 * value.value)} %"
    return f"write the unit, for example {_plain(value.value)} {one}"


def _plain(value: Fraction | float) -> str:
    return f"{float(value):g}"


def _check_valid(parameter: Parameter, size: float, owner: str) -> None:
    valid = parameter.q.valid
    if valid is not None and not valid.holds(size):
        shown = f"{size:g} {parameter.unit}".rstrip()
        raise DoorError.one(
            parameter.name,
            f"{parameter.name} = {shown} is outside what {owner} holds for",
            f"it must be {valid.said(parameter.unit.name)}",
        )


def _section(name: str, value: Any) -> Section:
    if isinstance(value, Section):
        return value
    try:
        if isinstance(value, Shaped):
            return _shape(name, value)
        if isinstance(value, Listed):
            return polygon(tuple(_corner(name, item) for item in value.items))
    except SectionError as error:
        raise DoorError.one(name, f"{name}: {error.what}", error.fix, value.place) from None
    raise DoorError.one(
        name,
        f"{name} takes a section, not {called(value)}",
        "write {shape: box, width: 20 in, height: 12 in}, or a list of [y, z] corners",
    )


def _shape(name: str, value: Shaped) -> Section:
    word = str(value.cells["shape"].value) if "shape" in value.cells else ""
    if word not in SHAPES:
        raise DoorError.one(
            name,
            f"{name} has no shape '{word}'",
            offer(word, SHAPES, f"choose {', '.join(SHAPES)}, or list [y, z] corners"),
            value.cells["shape"].place if word else value.place,
        )
    sizes = {}
    for size in SHAPES[word]:
        if size not in value.cells:
            raise DoorError.one(name, f"{name}: a {word} needs {size}", f"add {size}: … in", value.place)
        cell = value.cells[size]
        sizes[size] = float(_float(size, cell.value, _INCH, whole=False, place=cell.place))
    for other, cell in value.cells.items():
        if other != "shape" and other not in SHAPES[word]:
            raise DoorError.one(
                name,
                f"{name}: a {word} has no '{other}'",
                offer(other, SHAPES[word], f"it takes {', '.join(SHAPES[word])}"),
                cell.place,
            )
    return shaped(word, sizes)


def _corner(name: str, item: Any) -> tuple[float, float]:
    if not isinstance(item, Listed) or len(item.items) != 2:
        raise DoorError.one(
            name, f"{name}: a corner is two lengths", "write [y, z], such as [12 in, 0 in]", item.place
        )
    sizes = []
    for axis, cell in zip("yz", item.items, strict=True):
        if not isinstance(cell, Cell):
            raise DoorError.one(name, f"{name}: {axis} is one length", "write it such as 12 in", cell.place)
        sizes.append(float(_float(axis, cell.value, _INCH, whole=False, place=cell.place)))
    return sizes[0], sizes[1]


def _table(parameter: Parameter, value: Any) -> Any:
    name = parameter.name
    columns = {column.name: column for column in parameter.columns}
    rows: list[dict[str, Any]] = []
    if isinstance(value, Table):
        rows = _rows_of_file(name, value, columns)
    elif isinstance(value, TableValue):
        have = [column.name for column in value.columns]
        _check_columns(name, have, columns, None)
        units = {column.name: column.unit for column in value.columns}
        rows = [
            {
                column: _again(cell, units[column])
                for column, cell in zip(have, row, strict=True)
                if column in columns
            }
            for row in value.rows
        ]
    elif isinstance(value, Listed):
        for item in value.items:
            if isinstance(item, Listed):
                rows.append(_row_in_order(name, item, columns))
                continue
            if not isinstance(item, Shaped):
                raise DoorError.one(name, f"{name}: a row is a mapping", _row_advice(columns), item.place)
            _check_columns(name, list(item.cells), columns, item.place, unknown=True)
            rows.append({column: (cell.value, cell.place) for column, cell in item.cells.items()})
    else:
        raise DoorError.one(
            name, f"{name} takes a table, not {called(value)}", "name a .csv file or a list of rows"
        )
    if not rows:
        raise DoorError.one(name, f"{name} has no rows", "give one row at least")
    return tuple(_row(parameter, row, columns) for row in rows)


def _again(cell: Any, one: Unit) -> tuple[Any, Place | None]:
    """Return a cell of a result's table as the value it stands for."""
    if isinstance(cell, int) and not isinstance(cell, bool):
        cell = Fraction(cell)
    return (Quantity(cell, one) if isinstance(cell, float | Fraction) else cell), None


def _row_in_order(name: str, row: Listed, columns: Mapping[str, Column]) -> dict[str, Any]:
    """Read a row written as a list, its cells in the order of the columns."""
    least = sum(not column.optional for column in columns.values())
    if not least <= len(row.items) <= len(columns):
        raise DoorError.one(
            name, f"{name}: this row has {len(row.items)} cells", f"give {', '.join(columns)}", row.place
        )
    cells: dict[str, Any] = {}
    for column, cell in zip(columns, row.items, strict=False):
        if not isinstance(cell, Cell):
            raise DoorError.one(
                name, f"{name}: '{column}' is one value", "write it without brackets", cell.place
            )
        cells[column] = (cell.value, cell.place)
    return cells


def _row_advice(columns: Mapping[str, Column]) -> str:
    return "write {" + ", ".join(f"{name}: …" for name in columns) + "}"


def _check_columns(
    name: str, have: list[str], columns: Mapping[str, Column], place: Place | None, *, unknown: bool = False
) -> None:
    for column in columns.values():
        if column.name not in have and not column.optional:
            raise DoorError.one(
                name, f"{name} has no column '{column.name}'", f"give {', '.join(columns)}", place
            )
    if unknown:
        for word in have:
            if word not in columns:
                raise DoorError.one(
                    name,
                    f"{name} has no '{word}'",
                    offer(word, columns, f"it has {', '.join(columns)}"),
                    place,
                )


def _rows_of_file(name: str, table: Table, columns: Mapping[str, Column]) -> list[dict[str, Any]]:
    headings = [heading.name for heading in table.headings]
    _check_columns(name, headings, columns, table.place)
    for heading in table.headings:
        column = columns.get(heading.name)
        if column is None:
            continue
        if column.kind == "quantity" and heading.unit is None:
            raise DoorError.one(
                name,
                f"the column '{heading.name}' says no unit",
                f"write its heading as {heading.name} ({column.unit})",
                heading.place,
            )
        if heading.unit is not None and (
            column.kind in ("text", "count") or not heading.unit.same_kind(column.unit)
        ):
            raise DoorError.one(
                name,
                f"the column '{heading.name}' is in {heading.unit}, not {wanted(column.unit)}",
                f"write its heading as {heading.name} ({column.unit})"
                if column.unit.name
                else "leave the unit out",
                heading.place,
            )
    return [
        {
            heading.name: (cell.text if columns[heading.name].kind == "text" else cell.value, cell.place)
            for heading, cell in zip(table.headings, row, strict=True)
            if heading.name in columns
        }
        for row in table.rows
    ]


def _row(parameter: Parameter, row: Mapping[str, Any], columns: Mapping[str, Column]) -> Any:
    cells: dict[str, Any] = {}
    for name, (value, place) in row.items():
        column = columns[name]
        if value is None or value == "":
            if not column.optional:
                raise DoorError.one(
                    parameter.name, f"{parameter.name}: '{name}' is empty", "fill the cell", place
                )
            continue
        if column.kind in ("quantity", "number", "count"):
            size = _float(name, value, column.unit, whole=column.kind == "count", place=place)
            if column.q.valid is not None and not column.q.valid.holds(size):
                raise DoorError.one(
                    parameter.name,
                    f"{parameter.name}: {name} = {size:g} {column.unit}".rstrip() + " cannot be",
                    f"it must be {column.q.valid.said(column.unit.name)}",
                    place,
                )
            cells[name] = size
        elif column.kind == "text":
            cells[name] = _plain(value.value) if isinstance(value, Quantity) else str(value)
        else:
            cells[name] = value
    if parameter.row is None:
        raise TypeError(f"{parameter.name} is a table without a row type")
    return parameter.row(**cells)


def leave(calculator: Calculator, result: Result, value: Any) -> Any:
    """Turn what a function gave under one name into a value. Raises `DoorError` where it is none."""
    if isinstance(value, NoAnswer):
        return value
    if result.kind in ("quantity", "number", "count"):
        _check_finite(calculator, result.name, value)
        return Quantity(Fraction(value) if isinstance(value, int) else value, result.unit)
    if result.kind == "table":
        rows = tuple(tuple(row) for row in value)
        for row in rows:
            for column, cell in zip(result.columns, row, strict=True):
                if column.kind in ("quantity", "number", "count") and not isinstance(cell, NoAnswer):
                    _check_finite(calculator, f"{result.name}.{column.name}", cell)
        return TableValue(result.columns, rows)
    return value


def _check_finite(calculator: Calculator, name: str, value: Any) -> None:
    if not isinstance(value, float | int) or isinstance(value, bool) or not math.isfinite(value):
        raise DoorError.one(
            "",
            f"the calculator {calculator.name} of the plugin '{calculator.plugin}' gave {value!r} for {name}",
            "this is a fault in the calculator, not in the book; report it with these values",
        )


def said(value: Any) -> str:
    """Return a word, flag or date as text."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    return value.isoformat() if isinstance(value, date) else str(value)
