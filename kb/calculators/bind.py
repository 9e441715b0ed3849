"""Binding what an author wrote under a parameter's name to what the parameter takes."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from kb.calculators.declare import Parameter
from kb.content.files import leads_out
from kb.content.inputs import FLAGS
from kb.content.tables import read_table
from kb.content.values import Cell, Listed, Shaped, Table
from kb.content.yamltext import Entries, Items, Node, Scalar, read_yaml
from kb.language.compute import Computation, Turns
from kb.language.expression import Expression, Name, read_expression
from kb.language.literal import ReadError, read_literal
from kb.language.quantity import Quantity
from kb.problem import BookError, Place, Problem, offer

Lookup = Callable[[Name], Any]
_WORD = re.compile(r"[a-z][a-z0-9_]*")
_NAME = re.compile(r"[a-z][a-z0-9_]*(\.[a-z][a-z0-9_]*)*")


@dataclass(frozen=True, slots=True)
class Bound:
    """A value as written, ready to be worked out: a constant, an expression, or a structure of those."""

    text: str
    place: Place
    content: Any
    choices: tuple[str, ...] = ()

    def names(self) -> Iterator[tuple[str, Place]]:
        """Go through the names that the value uses."""
        yield from _names(self.content, self.place)

    def value(self, lookup: Lookup, turns: Turns | None = None) -> Any:
        """Work the value out. Raises `BookError`."""
        try:
            return _value(self.content, self.place, lookup, turns)
        except BookError as error:
            if not self.choices or not _WORD.fullmatch(self.text.strip()):
                raise
            fix = offer(self.text, self.choices, f"choose {', '.join(self.choices)}, or a name")
            raise BookError([Problem(self.place, f"'{self.text}' is not one of the choices", fix)]) from error


def _names(content: Any, place: Place) -> Iterator[tuple[str, Place]]:
    if isinstance(content, Expression):
        for name, at in content.places:
            yield name, place.right(at)
    elif isinstance(content, Cell):
        yield from _names(content.value, content.place)
    elif isinstance(content, Listed):
        for item in content.items:
            yield from _names(item, item.place)
    elif isinstance(content, Shaped):
        for cell in content.cells.values():
            yield from _names(cell, cell.place)


def _value(content: Any, place: Place, lookup: Lookup, turns: Turns | None) -> Any:
    if isinstance(content, Expression):
        return work_out(content, place, lookup, turns)
    if isinstance(content, Cell):
        return Cell(_value(content.value, content.place, lookup, turns), content.text, content.place)
    if isinstance(content, Listed):
        items = tuple(_value(item, item.place, lookup, turns) for item in content.items)
        return Listed(items, content.place)
    if isinstance(content, Shaped):
        cells = {key: _value(cell, cell.place, lookup, turns) for key, cell in content.cells.items()}
        return Shaped(cells, content.place)
    return content


def work_out(expression: Expression, place: Place, lookup: Lookup, turns: Turns | None = None) -> Any:
    """Work out an expression that stands at a place. Raises `BookError`.

    `turns` keep or follow which way each `if` goes.
    """
    try:
        if turns is not None and "if " in expression.text:
            return turns.of(place, expression.tree, lookup)
        return Computation(lookup).of(expression.tree)
    except ReadError as error:
        raise BookError([Problem(place.right(error.at), error.what, error.fix)]) from None


def bind(parameter: Parameter, node: Node, root: Path, tables: str, *, shell: bool = False) -> Bound:
    """Bind a node to a parameter.

    Args:
        parameter: what the calculator takes.
        node: what was written.
        root: the book's folder; on the shell, the folder the command runs in.
        tables: the folder below it that names of CSV files are relative to.
        shell: whether `@file` names a file, as it does on the command line only.

    Raises `BookError`.

    """
    text = node.text if isinstance(node, Scalar) else ""
    place = _inside(node)
    if isinstance(node, Scalar):
        content = _scalar(parameter, node, root, tables, shell=shell)
        return Bound(text, place, content, parameter.choices)
    if parameter.kind in ("section", "table"):
        return Bound("", place, structure(node, _text_columns(parameter)))
    raise BookError([Problem(place, f"{parameter.name} takes one value, not a list", "write one value")])


def _inside(node: Node) -> Place:
    """Return where a node's text begins, inside its quotes."""
    return node.place.right(1) if isinstance(node, Scalar) and node.quoted else node.place


def _scalar(parameter: Parameter, node: Scalar, root: Path, tables: str, *, shell: bool) -> Any:
    text = node.text.strip()
    place = _inside(node)
    if not text:
        raise BookError(
            [Problem(node.place, f"{parameter.name} has no value", "write one, or drop the line")]
        )
    if text == "none" and not node.quoted:
        return None
    if shell and text.startswith("-") and (size := _negative(text)) is not None:
        return size
    if parameter.kind == "choice" and text in parameter.choices:
        return text
    if parameter.kind == "flag" and text in FLAGS:
        return FLAGS[text]
    if parameter.kind == "text":
        if node.quoted or not _NAME.fullmatch(text):
            _check_text(parameter, node, shell=shell)
            return node.text
        return read(text, place)
    if parameter.kind in ("section", "table"):
        if text.startswith("@") and shell:
            return _file(text[1:], root, place, _text_columns(parameter))
        if text.endswith(".csv"):
            return _table(text, root, tables, place)
        if text.startswith("@"):
            raise BookError([Problem(place, "@ names a file on the shell only", f"write {text[1:]}")])
    return read(text, place)


def _negative(text: str) -> Quantity | None:
    """Return a literal below zero, such as -10 degF, which in an expression only a number may be."""
    try:
        return read_literal(text).quantity
    except ReadError:
        return None


def _check_text(parameter: Parameter, node: Scalar, *, shell: bool) -> None:
    if not node.quoted and not shell:
        raise BookError(
            [
                Problem(
                    node.place,
                    f"{parameter.name} takes text or a name, and '{node.text}' is neither",
                    f"put it in quotes: {parameter.name}: '{node.text}'",
                )
            ]
        )


def read(text: str, place: Place) -> Expression:
    """Read an expression that stands at a place. Raises `BookError`."""
    try:
        return read_expression(text)
    except ReadError as error:
        raise BookError([Problem(place.right(error.at), error.what, error.fix)]) from None


def _table(text: str, root: Path, tables: str, place: Place) -> Table:
    file = f"{tables}/{text}" if tables else text
    if ".." in Path(text).parts or Path(text).is_absolute() or leads_out(root, root / file):
        raise BookError(
            [Problem(place, f"'{text}' leads out of the inputs folder", "keep tables below inputs/")]
        )
    if not (root / file).is_file():
        raise BookError([Problem(place, f"there is no table '{file}'", "check its name and folder")])
    table, problems = read_table(root / file, file)
    if table is None:
        raise BookError(problems)
    return table


def _file(name: str, root: Path, place: Place, words: frozenset[str | int]) -> Any:
    path = root / name
    if not path.is_file():
        raise BookError([Problem(place, f"there is no file '{name}'", "check its name and folder")])
    if path.suffix == ".csv":
        table, problems = read_table(path, name)
        if table is None:
            raise BookError(problems)
        return table
    node, problems = read_yaml(path.read_text(encoding="utf-8-sig"), name)
    if problems or node is None or isinstance(node, Scalar):
        raise BookError(problems or [Problem(Place(name), "this is no list or mapping", "write it as JSON")])
    return structure(node, words)


def _text_columns(parameter: Parameter) -> frozenset[str | int]:
    """Return the columns that hold text, by name and by position in a row written as a list."""
    text = [(i, column.name) for i, column in enumerate(parameter.columns) if column.kind == "text"]
    return frozenset(key for pair in text for key in pair)


def structure(
    node: Node, words: frozenset[str | int] = frozenset(), key: str | int = ""
) -> Cell | Listed | Shaped:
    """Return a list or mapping whose cells are expressions, but for those that hold text.

    Args:
        node: what was written.
        words: the keys, or positions in a row, whose cells are text.
        key: the key or position of this node.

    Raises `BookError`.

    """
    if isinstance(node, Scalar):
        place = _inside(node)
        if key in words or key == "shape":
            return Cell(node.text, node.text, place)
        if node.quoted:
            return Cell(_quoted(node.text), node.text, place)
        text = node.text.strip()
        if not text:
            raise BookError([Problem(place, "there is no value here", "write one")])
        if text in FLAGS:
            return Cell(FLAGS[text], text, place)
        return Cell(read(text, place), text, place)
    if isinstance(node, Items):
        items = tuple(structure(item, words, i) for i, item in enumerate(node.items))
        return Listed(items, node.place)
    return _mapping(node, words)


def _quoted(text: str) -> Any:
    """Return a quoted cell: a number is a number in quotes too, anything else is text."""
    try:
        expression = read_expression(text)
    except ReadError:
        return text
    return text if isinstance(expression.tree, Name) else expression


def _mapping(node: Entries, words: frozenset[str | int]) -> Shaped:
    cells: dict[str, Cell] = {}
    for key, (key_node, child) in node.entries.items():
        part = structure(child, words, key)
        if not isinstance(part, Cell):
            raise BookError(
                [Problem(key_node.place, f"'{key}' must be one value", "write a quantity or a name")]
            )
        cells[key] = part
    return Shaped(cells, node.place)
