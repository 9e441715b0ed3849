"""A file of named entries, each read key by key; every fault is told with its place."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Generic, TypeVar

from kb.content.files import read_text
from kb.content.yamltext import Entries, Items, Node, Scalar, read_yaml
from kb.language.literal import ReadError, read_literal
from kb.language.quantity import Quantity
from kb.language.units import unit, what_it_is
from kb.problem import Place, Problem, nearest, offer

Entry = TypeVar("Entry")
Choice = TypeVar("Choice", bound=str)


@dataclass(frozen=True, slots=True)
class FileForm(Generic[Entry]):
    """What a file holds.

    `noun` is what an entry is called; `needed` gives for each needed key what to write; `make` returns None
    where an entry cannot stand; `check` sees all entries, those that cannot stand too.
    """

    file: str
    noun: str
    needed: Mapping[str, str]
    optional: tuple[str, ...]
    make: Callable[[Fields], Entry | None]
    check: Callable[[Sequence[Fields]], None] | None = None

    @property
    def keys(self) -> tuple[str, ...]:
        """Every key of an entry, the needed ones first."""
        return (*self.needed, *self.optional)


class Fields:
    """One entry: its name, its place, and its keys by the reading of them.

    A key that is not there is read as nothing; one with a fault too, and the fault is told.
    """

    def __init__(self, name: str, place: Place, nodes: Mapping[str, Node], problems: list[Problem]) -> None:
        self.name = name
        self.place = place
        self.nodes = nodes
        self.problems = problems

    def problem(self, place: Place, what: str, fix: str) -> None:
        """Tell a fault of this entry."""
        self.problems.append(Problem(place, what, fix))

    def count(self, key: str) -> int:
        """Return how many items stand at a key, good or not."""
        return len(self._written(key))

    def scalars(self, key: str) -> tuple[Scalar, ...]:
        """Return the good items of a list; nothing is told."""
        if _is_run_together(self.nodes.get(key)):
            return ()
        return tuple(node for node in self._written(key) if isinstance(node, Scalar) and node.text.strip())

    def several(self, key: str) -> tuple[Scalar, ...]:
        """Return the items of a list, or the one that stands without brackets."""
        node = self.nodes.get(key)
        if isinstance(node, Scalar) and _is_run_together(node):
            text = node.text.strip()
            self.problem(node.place, f"'{text}' is read as one", f"put several in brackets: {key}: [{text}]")
            return ()
        return tuple(one for one in map(self._filled, self._written(key)) if one is not None)

    def texts(self, key: str) -> tuple[str, ...]:
        """Return the items of a list as texts."""
        return tuple(one.text.strip() for one in self.several(key))

    def one(self, key: str) -> Scalar | None:
        """Return the one value at a key."""
        node = self.nodes.get(key)
        return self._filled(node) if node is not None else None

    def text(self, key: str) -> str:
        """Return the text at a key."""
        node = self.one(key)
        return node.text.strip() if node else ""

    def choice(self, key: str, among: tuple[Choice, ...]) -> Choice | None:
        """Return the one of some words that stands at a key."""
        node = self.one(key)
        if node is None:
            return None
        word = node.text.strip()
        for one in among:
            if word == one:
                return one
        fix = offer(word, among, f"choose {', '.join(among)}")
        self.problem(node.place, f"there is no {key} '{word}'", fix)
        return None

    def day(self, key: str) -> date | None:
        """Return the day at a key, written as 2026-03-01."""
        node = self.one(key)
        if node is None:
            return None
        text = node.text.strip()
        try:
            day = date.fromisoformat(text)
        except ValueError:
            day = None
        if day is None or day.isoformat() != text:
            self.problem(node.place, f"'{text}' is not a day", "write a date as 2026-03-01")
            return None
        return day

    def size(self, node: Scalar) -> Quantity | None:
        """Read one value as a quantity or plain number without a tolerance."""
        try:
            literal = read_literal(node.text)
        except ReadError as error:
            self.problem(node.place.right(error.at + node.quoted), error.what, error.fix)
            return None
        if literal.is_toleranced:
            self.problem(node.place, f"'{literal.text}' has a tolerance", "leave the tolerance out")
            return None
        return literal.quantity

    def measured(self, key: str, example: str, *, may_be_zero: bool = False) -> Quantity | None:
        """Return a size above zero, or not below it, of the kind that an example such as `5 day` is of."""
        node = self.one(key)
        size = self.size(node) if node else None
        if node is None or size is None:
            return None
        text, spoken = node.text.strip(), key.replace("_", " ")
        like = read_literal(example).quantity.unit
        if not size.unit.same_kind(like):
            self.problem(node.place, f"'{text}' is not {what_it_is(like)}", f"write one such as {example}")
        elif size.value < 0 or (size.value == 0 and not may_be_zero):
            fix = f"write {'zero or more' if may_be_zero else 'more than zero'}, such as {example}"
            self.problem(node.place, f"'{text}' cannot be a {spoken}", fix)
        else:
            return size
        return None

    def deviation(self, key: str) -> Quantity | None:
        """Return how far something may be off to either side; of a temperature, as a difference."""
        node = self.one(key)
        size = self.size(node) if node else None
        if node is None or size is None:
            return None
        text = node.text.strip()
        if size.unit.kind == "number":
            self.problem(node.place, f"'{text}' has no unit", "write it with its unit, such as 0.05 oz")
        elif size.value < 0:
            self.problem(node.place, f"'{text}' is below zero", "write how far it may be off to either side")
        elif size.unit.kind == "temperature":
            return Quantity(size.value, unit(f"delta_{size.unit.name}"))
        else:
            return size
        return None

    def _written(self, key: str) -> tuple[Node, ...]:
        node = self.nodes.get(key)
        if node is None:
            return ()
        return node.items if isinstance(node, Items) else (node,)

    def _filled(self, node: Node) -> Scalar | None:
        if not isinstance(node, Scalar):
            self.problem(node.place, "this must be one line of text", "write it without brackets or keys")
            return None
        if not node.text.strip():
            self.problem(node.place, "there is no value here", "write one, or drop the line")
            return None
        return node


def _is_run_together(node: Node | None) -> bool:
    """Tell whether a list was written without its brackets."""
    return isinstance(node, Scalar) and ", " in node.text and not node.quoted


def read_entries(
    root: Path, folder: str, form: FileForm[Entry], problems: list[Problem]
) -> tuple[dict[str, Entry], bool]:
    """Read a file, if it is there, to its entries by name; tell whether it is there with none left out.

    Args:
        root: the book's folder.
        folder: the file's folder, relative to it.
        form: what the file holds.
        problems: every fault is added here.

    """
    file = f"{folder}/{form.file}"
    if not (root / file).exists():
        return {}, False
    text, found = read_text(root, file)
    problems.extend(found)
    if text is None:
        return {}, False
    top, found = read_yaml(text, file)
    problems.extend(found)
    if top is None:
        return {}, not found
    if not isinstance(top, Entries):
        what = f"every {form.noun} stands under its name here"
        problems.append(Problem(top.place, what, f"write lines such as name: {{{form.keys[0]}: …}}"))
        return {}, False
    entries = _entries(top, form, problems)
    made = {fields.name: entry for fields in entries if (entry := form.make(fields)) is not None}
    if form.check:
        form.check(entries)
    return made, len(made) == len(top.entries)


def _entries(top: Entries, form: FileForm[Entry], problems: list[Problem]) -> list[Fields]:
    """Return the entries that have a name of their own; tell unknown and missing keys."""
    entries: list[Fields] = []
    first: dict[str, Place] = {}
    for key, node in top.entries.values():
        name = key.text.strip()
        if not name:
            problems.append(Problem(key.place, f"this {form.noun} has no name", "write one before the colon"))
            continue
        if name.casefold() in first:
            what = f"the {form.noun} '{name}' stands here twice, first in line {first[name.casefold()].line}"
            problems.append(Problem(key.place, what, "keep one, or give it another name"))
            continue
        first[name.casefold()] = key.place
        nodes: dict[str, Node] = {}
        if isinstance(node, Entries):
            nodes = _known_keys(node, form, name, key.place, problems)
        elif isinstance(node, Scalar) and not node.text and not node.quoted:
            problems.extend(_missing(form, name, key.place, ()))
        else:
            what = f"the {form.noun} '{name}' is not written key by key"
            problems.append(Problem(node.place, what, f"write {name}: {{{form.keys[0]}: …}}"))
        entries.append(Fields(name, key.place, nodes, problems))
    return entries


def _known_keys(
    node: Entries, form: FileForm[Entry], name: str, place: Place, problems: list[Problem]
) -> dict[str, Node]:
    nodes: dict[str, Node] = {}
    meant: list[str | None] = []
    for key, value in node.entries.values():
        if key.text in form.keys:
            nodes[key.text] = value
            continue
        meant.append(nearest(key.text, form.keys))
        fix = offer(key.text, form.keys, f"their keys are {', '.join(form.keys)}")
        problems.append(Problem(key.place, f"{form.noun}s have no '{key.text}'", fix))
    problems.extend(_missing(form, name, place, (*nodes, *meant)))
    return nodes


def _missing(form: FileForm[Entry], name: str, place: Place, given: Sequence[str | None]) -> list[Problem]:
    """Return the needed keys that are not given; one that was mistyped is told already."""
    return [
        Problem(place, f"the {form.noun} '{name}' does not say '{key}'", f"write {example}")
        for key, example in form.needed.items()
        if key not in given
    ]
