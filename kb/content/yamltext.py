"""YAML read node by node: every scalar stays as written, every node knows its place.

Only this module knows PyYAML. Nothing is constructed from a text, so `no`, `1:30` and `1.20` stay what was
written; what YAML itself would cut, split or resolve is a problem that says what to quote.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import NamedTuple

import yaml

from kb.problem import Place, Problem

_Loader = getattr(yaml, "CSafeLoader", yaml.SafeLoader)

_CONTROL = re.compile(r"[\x00-\x08\x0b-\x1f\x7f-\x9f]")


class Scalar(NamedTuple):
    """One value as written, its place, and its span in the file's text (quotes included)."""

    text: str
    place: Place
    quoted: bool = False
    start: int = 0
    end: int = 0


@dataclass(frozen=True, slots=True)
class Items:
    """A list."""

    items: tuple[Node, ...]
    place: Place


@dataclass(frozen=True, slots=True)
class Entries:
    """A mapping: each key's text to its own node and its value's."""

    entries: dict[str, tuple[Scalar, Node]]
    place: Place


Node = Scalar | Items | Entries

# One line of a block's body that means to YAML just what it says: the great majority of all lines.
_PLAIN_LINE = re.compile(r"([a-z][a-z0-9_]*):( +)([A-Za-z0-9(.][^\n\r#:'\"\[\]{}\t]*?) *(?:\n|\Z)")
_VALUE_LINE = re.compile(r"^( *(?:- +)?)(?!- )([^\s#'\"{\[][^:#\n]*):([ \t]+)(\S.*)$", re.MULTILINE)
_ITEM_LINE = re.compile(r"^( *(?:- +)+)([>|*&%@!?`].*)$", re.MULTILINE)
_LONGEST = 2000
_LONG_LINE = re.compile(rf"^[^\n]{{{_LONGEST + 1}}}", re.MULTILINE)
_SPECIAL = {
    ">": "begins with >",
    "|": "begins with |",
    "*": "begins with *",
    "&": "begins with &",
    "%": "begins with %",
    "@": "begins with @",
    "!": "begins with !",
    "?": "begins with ?",
    "`": "begins with a backtick",
}


def read_yaml(text: str, file: str, line: int = 1, column: int = 1) -> tuple[Node | None, list[Problem]]:
    """Read a YAML text that begins at a place of a file; return its root (None if empty) and the problems.

    Where there is a problem that hides others, the root is None.
    """
    if long := _LONG_LINE.search(text):
        place = Place(file, line + text.count("\n", 0, long.start()), column)
        what = f"this line has more than {_LONGEST} characters"
        return None, [Problem(place, what, "write it shorter, or move a table to a CSV file")]
    plain = _read_plain(text, file, line, column)
    if plain is not None:
        return plain, []
    reader = _Reader(text, file, line, column)
    problems = list(reader.traps())
    if problems:
        return None, problems
    try:
        root = yaml.compose(text, Loader=_Loader)
        node = None if root is None else reader.node(root)
    except yaml.YAMLError as error:
        return None, [reader.refused(error)]
    except RecursionError:
        place = Place(file, line, column)
        return None, [Problem(place, "this is nested too deep", "write lists and groups a few levels deep")]
    return node, reader.problems


def _read_plain(text: str, file: str, line: int, column: int) -> Entries | None:
    """Read a body of nothing but plain `key: value` lines, or return None; YAML would say the same."""
    entries: dict[str, tuple[Scalar, Node]] = {}
    at = 0
    number = line
    while at < len(text):
        match = _PLAIN_LINE.match(text, at)
        if match is None or match[1] in entries:
            return None
        start = match.start(3)
        entries[match[1]] = (
            Scalar(match[1], Place(file, number, column), False, at, match.end(1)),
            Scalar(match[3], Place(file, number, column + start - at), False, start, start + len(match[3])),
        )
        at = match.end()
        number += 1
    return Entries(entries, Place(file, line, column)) if entries else None


class _Reader:
    def __init__(self, text: str, file: str, line: int, column: int) -> None:
        self.text = text
        self.file = file
        self.line = line
        self.column = column
        self.problems: list[Problem] = []
        self.seen: set[int] = set()

    def place(self, line: int, column: int) -> Place:
        return Place(self.file, self.line + line, self.column + column)

    def problem(self, place: Place, what: str, fix: str) -> None:
        self.problems.append(Problem(place, what, fix))

    def traps(self) -> Iterator[Problem]:
        """Find values that YAML would cut, split or refuse, by their look."""
        for match in _VALUE_LINE.finditer(self.text):
            key, value = match[2].strip(), match[4].rstrip()
            trap = _trap(value)
            if trap:
                line = self.text.count("\n", 0, match.start())
                place = self.place(line, match.start(4) - match.start())
                inside = value.replace("'", "''")
                fix = f"quote all of it: {key}: '{inside}'"
                if value[0] in "|>" and len(value) < 3:
                    fix = "write the value on one line"
                elif value[0] in "\"'":
                    fix = f"a value stands on one line; {fix}"
                yield Problem(place, f"the value of '{key}' {trap}", fix)

        for match in _ITEM_LINE.finditer(self.text):
            line = self.text.count("\n", 0, match.start())
            inside = match[2].rstrip().replace("'", "''")
            what = f"this value {_SPECIAL[match[2][0]]}"
            yield Problem(self.place(line, len(match[1])), what, f"quote all of it: '{inside}'")

    def refused(self, error: yaml.YAMLError) -> Problem:
        """Say in shop words why a text is no YAML."""
        mark = getattr(error, "problem_mark", None)
        context = getattr(error, "context_mark", None)
        place = self.place(mark.line, mark.column) if mark else self.place(0, 0)
        first = self.text[mark.index : mark.index + 1] if mark else ""
        if mark and first in _SPECIAL:
            value = re.split(r"[,\]}\n]", self.text[mark.index :], maxsplit=1)[0].strip()
            return Problem(place, f"this value {_SPECIAL[first]}", f"quote all of it: '{value}'")
        if context and self.text[context.index : context.index + 1] in ("[", "{"):
            bracket = self.text[context.index]
            return Problem(
                self.place(context.line, context.column),
                f"this {bracket} is not closed in order",
                "close every bracket, and quote a value that has a comma or a bracket in it",
            )
        what = str(getattr(error, "problem", None) or error).replace("\n", " ")
        return Problem(
            place,
            f"this cannot be read as YAML ({what})",
            "check indentation, brackets and quotes here and on the line above; indent with spaces",
        )

    def node(self, node: yaml.Node) -> Node:
        start, end = node.start_mark, node.end_mark
        place = self.place(start.line, start.column)
        if id(node) in self.seen:
            self.problem(place, "this is a YAML alias", "write the value again, or name it in the inputs")
            return Scalar("", place)  # an alias may hold itself, or a great many more
        self.seen.add(id(node))
        if isinstance(node, yaml.ScalarNode):
            self.check_scalar(node, place)
            return Scalar(node.value, place, node.style in ("'", '"'), start.index, end.index)
        if self.text[start.index : start.index + 1] in "&!" and start.index < len(self.text):
            self.problem(place, "YAML tags and anchors are not read", "leave the word after & or ! out")
        if isinstance(node, yaml.SequenceNode):
            return Items(tuple(self.node(item) for item in node.value), place)
        if not isinstance(node, yaml.MappingNode):
            raise TypeError(f"a node of an unknown sort: {node!r}")
        return self.mapping(node, place)

    def check_scalar(self, node: yaml.ScalarNode, place: Place) -> None:
        if _CONTROL.search(node.value):
            self.problem(place, "this value holds a control character", "write letters, figures and signs")
        start, end = node.start_mark, node.end_mark
        rest = self.text[end.index : self.text.find("\n", end.index) % (len(self.text) + 1)]
        if cut := re.match(r"[ \t]+(#\S.*)", rest):
            self.problem(
                place,
                f"this value would lose '{cut[1]}', since a # begins a comment",
                "quote all of the value",
            )
        if node.style in ("'", '"'):
            if self.text[start.index] != node.style:
                self.problem(place, "YAML tags and anchors are not read", "leave the word after & or ! out")
            if start.line != end.line:
                self.problem(place, "this value runs over several lines", "write it on one line")
            return
        written = self.text[start.index : end.index].rstrip()
        if written == node.value:
            return
        if start.line != end.line:
            self.problem(place, "this value runs over several lines", "write it on one line")
        else:
            self.problem(place, f"'{written}' is not read as written", "quote it, or leave out & ! and *")

    def mapping(self, node: yaml.MappingNode, place: Place) -> Entries:
        entries: dict[str, tuple[Scalar, Node]] = {}
        for key_node, value_node in node.value:
            key = self.node(key_node)
            if not isinstance(key, Scalar):
                self.problem(key.place, "a key must be one word", "write it as name: value")
                continue
            if key.text == "<<":
                self.problem(key.place, "merge keys are not read", "write the values out")
                continue
            if key.text in entries:
                first = entries[key.text][0].place
                self.problem(
                    key.place, f"'{key.text}' stands here twice, first in line {first.line}", "keep one"
                )
                continue
            value = self.node(value_node)
            lone = isinstance(value, Scalar) and not value.quoted and not value.text
            if lone and node.flow_style and ":" not in self.text[key.end : key.end + 2]:
                self.problem(
                    key.place,
                    f"'{key.text}' has no value",
                    "in { } a comma parts entries; quote a value that has a comma in it",
                )
                continue
            entries[key.text] = (key, value)
        return Entries(entries, place)


def _trap(value: str) -> str | None:
    """Tell how YAML would misread a value, or return None where it reads what is written."""
    first = value[0]
    if first == "#" and value[1:2] in (" ", ""):
        return None  # a comment after the name of a group
    if first in "'\"":
        closing = _closing_quote(value)
        if closing is None:
            return f"begins with {first} and does not end with it"
        rest = value[closing + 1 :].strip()
        return f"goes on after its closing {first}" if rest and not rest.startswith("# ") else None
    if first in _SPECIAL:
        return _SPECIAL[first]
    if first == "-" and value[1:2] in (" ", ""):
        return "begins with - and a space"
    if first in "[{":
        closes = re.sub(r"\s+# .*$", "", value).rstrip()[-1:] == {"[": "]", "{": "}"}[first]
        opens = "\n" not in value and value.count("[") + value.count("{") > value.count("]") + value.count(
            "}"
        )
        return None if closes or opens else f"begins with {first}"
    match = re.search(r"\s#", value)
    if match and value[match.end() : match.end() + 1].strip():
        return f"would lose '{value[match.start() + 1 :]}', since a # begins a comment"
    uncommented = re.sub(r"\s+#\s.*$", "", value)
    if re.search(r":(\s|$)", uncommented):
        return "has a colon and a space in it"
    return None


def _closing_quote(value: str) -> int | None:
    mark = value[0]
    at = 1
    while at < len(value):
        if mark == '"' and value[at] == "\\":
            at += 2
            continue
        if value[at] == mark:
            if mark == "'" and value[at + 1 : at + 2] == "'":
                at += 2
                continue
            return at
        at += 1
    return None


def quoted(text: str, *, always: bool = False) -> str:
    """Return a text as YAML that reads back the same: plain where that is safe, else in quotes."""
    plain = _PLAIN_LINE.fullmatch(f"x: {text}")
    if plain and plain[3] == text and not always:
        return text
    return "'" + text.replace("'", "''") + "'"
