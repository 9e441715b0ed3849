"""Inputs in layers: what a yard decides or measures, each value with its layer, file, line and column."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path
from typing import Any

from kb.content.files import leads_out, read_text
from kb.content.tables import read_table
from kb.content.values import Cell, Listed, Shaped, Table
from kb.content.yamltext import Entries, Items, Node, Scalar, read_yaml
from kb.language.expression import RESERVED
from kb.language.literal import Literal, ReadError, read_literal, starts_number
from kb.problem import Place, Problem

FLAGS = {"yes": True, "no": False, "true": True, "false": False}
_KEY = re.compile(r"[a-z][a-z0-9_]*")
_WORD = re.compile(r"[A-Za-z][A-Za-z0-9_-]*")
_DATE = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")
_CSV = re.compile(r"[A-Za-z0-9_][A-Za-z0-9_./-]*\.csv")
_LIKE_EXPRESSION = re.compile(r"[a-z][a-z0-9_]*\.[a-z]|\s[-+*/^<>=]\s|\(|^if\b")


@dataclass(frozen=True, slots=True)
class Input:
    """One input: its dotted path, its value, and where the layer in force gives it.

    `value` is a `Quantity`, flag, word, date, `Listed`, `Shaped` or `Table`; `literal` keeps the tolerance
    of a quantity. `overrides` are the values of the earlier layers that it hides, nearest first.
    """

    path: str
    value: Any
    text: str
    layer: str
    place: Place
    literal: Literal | None = None
    overrides: tuple[Input, ...] = ()


@dataclass(frozen=True, slots=True)
class Acceptance:
    """A limit accepted in spite of its verdict: by whom, why, and at which value."""

    limit: str
    by: str
    why: str
    at: Literal | None
    place: Place
    layer: str


@dataclass(frozen=True, slots=True)
class Layer:
    """One inputs file: its values, the groups they stand in, and what it accepts or chooses."""

    name: str
    file: str
    inputs: dict[str, Input]
    groups: dict[str, Place]
    accepted: tuple[Acceptance, ...] = ()
    options: tuple[Cell, ...] = ()
    failed: frozenset[str] = frozenset()
    """Paths whose value could not be read; what rests on them is not told again."""
    is_unread: bool = False
    """Whether the file as a whole could not be read, so that any name may be missing."""


@dataclass(frozen=True, slots=True)
class Inputs:
    """The layers of one edition laid over each other."""

    values: dict[str, Input] = field(default_factory=dict)
    groups: frozenset[str] = frozenset()
    accepted: tuple[Acceptance, ...] = ()
    failed: frozenset[str] = frozenset()
    is_unread: bool = False

    @property
    def top_level(self) -> dict[str, Place]:
        """The first words of all paths, with the place where each first stands."""
        words: dict[str, Place] = {}
        for path, one in self.values.items():
            words.setdefault(path.split(".")[0], one.place)
        return words


def read_layer(root: Path, file: str, name: str, tables: str) -> tuple[Layer, list[Problem]]:
    """Read one inputs file of a book.

    Args:
        root: the book's folder; every other path is relative to it.
        file: the inputs file.
        name: the layer's name, such as `model` or `option macerated_box`.
        tables: the folder that names of CSV files are relative to.

    """
    text, problems = read_text(root, file)
    if text is None:
        return Layer(name, file, {}, {}, is_unread=True), problems
    return layer_from_text(text, root, file, name, tables)


def layer_from_text(text: str, root: Path, file: str, name: str, tables: str) -> tuple[Layer, list[Problem]]:
    """Read the text of an inputs file."""
    top, problems = read_yaml(text, file)
    reader = _LayerReader(name, root, tables, problems)
    if isinstance(top, Entries):
        reader.group(top, "")
    elif top is not None:
        reader.problem(
            top.place, "inputs are groups of names and values", "write lines such as length: 46 in"
        )
    return (
        Layer(
            name,
            file,
            reader.inputs,
            reader.groups,
            tuple(reader.accepted),
            tuple(reader.options),
            frozenset(reader.failed),
            top is None and bool(problems),
        ),
        reader.problems,
    )


class _LayerReader:
    def __init__(self, name: str, root: Path, tables: str, problems: list[Problem]) -> None:
        self.name = name
        self.root = root
        self.tables = tables
        self.problems = problems
        self.inputs: dict[str, Input] = {}
        self.groups: dict[str, Place] = {}
        self.accepted: list[Acceptance] = []
        self.options: list[Cell] = []
        self.failed: set[str] = set()

    def problem(self, place: Place, what: str, fix: str) -> None:
        self.problems.append(Problem(place, what, fix))

    def group(self, entries: Entries, above: str) -> None:
        for key, (key_node, node) in entries.entries.items():
            if not above and key == "accepted":
                self.read_accepted(node)
                continue
            if not above and key == "options":
                self.read_options(node)
                continue
            if not _KEY.fullmatch(key):
                self.problem(
                    key_node.place,
                    f"'{key}' is not a name",
                    "a name is small letters, digits and _, and begins with a letter",
                )
                continue
            if not above and key in RESERVED:
                self.problem(key_node.place, f"'{key}' is a word of the language", "choose another name")
                continue
            path = f"{above}.{key}" if above else key
            if isinstance(node, Entries) and "shape" not in node.entries:
                self.groups[path] = key_node.place
                self.group(node, path)
            else:
                self.value(path, node)

    def value(self, path: str, node: Node) -> None:
        try:
            if isinstance(node, Scalar):
                value, literal = self.scalar(node)
                self.inputs[path] = Input(path, value, node.text, self.name, node.place, literal)
            else:
                whole = self.structure(node)
                self.inputs[path] = Input(path, whole, as_written(node), self.name, node.place)
        except _BadError:
            self.failed.add(path)

    def scalar(self, node: Scalar) -> tuple[Any, Literal | None]:
        """Return the value that a scalar's form decides, and the literal where it is a quantity."""
        text = node.text.strip()
        body = text[1:] if text[:1] in ("-", "−") and text else text
        if node.quoted:
            return self.quoted(node)
        if not text:
            self.problem(node.place, "there is no value here", "write one, or drop the line")
            raise _BadError
        if text.lower() in FLAGS:
            return FLAGS[text.lower()], None
        if _CSV.fullmatch(text):
            return self.table(text, node.place), None
        if _DATE.fullmatch(text):
            return self.date(text, node.place), None
        if starts_number(body, 0):
            return self.quantity(text, node)
        if _WORD.fullmatch(text):
            return text, None
        self.refuse(text, node.place)
        raise _BadError

    def quoted(self, node: Scalar) -> tuple[Any, Literal | None]:
        """Return a quoted quantity as such (quotes make no difference for numbers), else the text."""
        try:
            literal = read_literal(node.text)
        except ReadError:
            return node.text, None
        return literal.quantity, literal

    def quantity(self, text: str, node: Scalar) -> tuple[Any, Literal]:
        try:
            literal = read_literal(text)
        except ReadError as error:
            self.problem(node.place.right(error.at), error.what, error.fix)
            raise _BadError from None
        return literal.quantity, literal

    def refuse(self, text: str, place: Place) -> None:
        if _LIKE_EXPRESSION.search(text):
            self.problem(
                place,
                f"'{text}' looks like an expression",
                "inputs hold values; reckon in a formula block on a page",
            )
            return
        if re.fullmatch(r"[A-Za-z][\w'’.,&-]*( [\w'’.,&()-]+)*", text):
            inside = text.replace("'", "''")
            self.problem(place, f"'{text}' is not one plain word", f"put quotes round free text: '{inside}'")
            return
        try:
            read_literal(text)
        except ReadError as error:
            self.problem(place, error.what, f"{error.fix}; put quotes round free text")

    def date(self, text: str, place: Place) -> date:
        try:
            return date.fromisoformat(text)
        except ValueError:
            self.problem(place, f"there is no day {text}", "write a date as 2026-03-01")
            raise _BadError from None

    def table(self, text: str, place: Place) -> Table:
        if ".." in Path(text).parts or leads_out(self.root, self.root / self.tables / text):
            self.problem(place, f"'{text}' leads out of the inputs folder", "keep tables below inputs/")
            raise _BadError
        file = f"{self.tables}/{text}"
        if not (self.root / file).is_file():
            self.problem(
                place, f"there is no table '{text}'", f"names of tables are relative to {self.tables}/"
            )
            raise _BadError
        table, problems = read_table(self.root / file, file)
        if table is None:
            self.problems.extend(problems)
            raise _BadError
        return table

    def structure(self, node: Node) -> Cell | Listed | Shaped:
        if isinstance(node, Scalar):
            value, literal = self.scalar(node)
            if literal is not None and literal.is_toleranced:
                self.problem(node.place, "a value inside a list or shape has no tolerance", "leave it out")
            return Cell(value, node.text, node.place)
        if isinstance(node, Items):
            return Listed(tuple(self.structure(item) for item in node.items), node.place)
        cells: dict[str, Cell] = {}
        for key, (_, child) in node.entries.items():
            part = self.structure(child)
            if not isinstance(part, Cell):
                self.problem(part.place, f"'{key}' must be one value here", "write a quantity or a word")
                raise _BadError
            cells[key] = part
        return Shaped(cells, node.place)

    def read_options(self, node: Node) -> None:
        items = node.items if isinstance(node, Items) else (node,)
        for item in items:
            if isinstance(item, Scalar) and _KEY.fullmatch(item.text):
                self.options.append(Cell(item.text, item.text, item.place))
            elif not (isinstance(item, Scalar) and not item.text):
                self.problem(
                    item.place, "an option is chosen by its file's name", "write options: [name, name]"
                )

    def read_accepted(self, node: Node) -> None:
        if not isinstance(node, Entries):
            self.problem(node.place, "'accepted' lists limits", "write block.limit: {by: …, why: …, at: …}")
            return
        for limit, (key, body) in node.entries.items():
            fields = body.entries if isinstance(body, Entries) else {}
            texts = {name: value for name, (_, value) in fields.items() if isinstance(value, Scalar)}
            if missing := [name for name in ("by", "why", "at") if not (name in texts and texts[name].text)]:
                self.problem(
                    key.place,
                    f"the acceptance of '{limit}' does not say {' and '.join(missing)}",
                    "write {by: name, why: reason, at: value}",
                )
                continue
            at = None
            if texts["at"].text not in ("none", "cannot tell"):
                try:
                    at = read_literal(texts["at"].text)
                except ReadError as error:
                    self.problem(texts["at"].place.right(error.at), error.what, error.fix)
                    continue
            self.accepted.append(
                Acceptance(limit, texts["by"].text, texts["why"].text, at, key.place, self.name)
            )


class _BadError(Exception):
    """A value was refused; its problem has been told."""


def as_written(node: Node) -> str:
    """Return a list or mapping as one line of text."""
    if isinstance(node, Scalar):
        return node.text
    if isinstance(node, Items):
        return "[" + ", ".join(map(as_written, node.items)) + "]"
    return "{" + ", ".join(f"{key}: {as_written(value)}" for key, (_, value) in node.entries.items()) + "}"


def lay_over(layers: Iterable[Layer]) -> tuple[Inputs, list[Problem]]:
    """Lay the layers of an edition over each other; a later value hides an earlier one and remembers it."""
    values: dict[str, Input] = {}
    groups: dict[str, Place] = {}
    accepted: dict[str, Acceptance] = {}
    failed: set[str] = set()
    is_unread = False
    problems: list[Problem] = []
    for layer in layers:
        failed |= layer.failed
        is_unread = is_unread or layer.is_unread
        problems.extend(_clashes(layer, values, groups))
        groups.update(layer.groups)
        for path, one in layer.inputs.items():
            earlier = values.get(path)
            if earlier is not None:
                one = Input(
                    path,
                    one.value,
                    one.text,
                    one.layer,
                    one.place,
                    one.literal,
                    (earlier, *earlier.overrides),
                )
            values[path] = one
        accepted.update({acceptance.limit: acceptance for acceptance in layer.accepted})
    return Inputs(
        values,
        frozenset(groups),
        tuple(accepted.values()),
        frozenset(failed - set(values)),
        is_unread,
    ), problems


def _clashes(layer: Layer, values: dict[str, Input], groups: dict[str, Place]) -> Iterator[Problem]:
    for path, one in layer.inputs.items():
        if path in groups:
            yield Problem(
                one.place,
                f"'{path}' is a group in {groups[path].file}",
                f"give the values inside it: {path}.…",
            )
    for path, place in layer.groups.items():
        if path in values:
            yield Problem(
                place, f"'{path}' is one value in {values[path].place}", "give it one value here too"
            )
