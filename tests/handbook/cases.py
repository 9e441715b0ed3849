"""The cases of the handbook: reading them, working them, and comparing what came out with the source."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from math import inf
from pathlib import Path
from typing import Any

import yaml

from kb.calculators.declare import Calculator
from kb.calculators.door import TableValue
from kb.calculators.plugins import load_plugins
from kb.calculators.work import Worked, work, work_line
from kb.language.expression import Name
from kb.language.quantity import NoAnswer, Quantity
from kb.problem import Place

PACKAGE = "kb_calculators"
CELL = re.compile(r"(?P<table>\w+)\[(?P<key>.+)\]\.(?P<column>\w+)")
KEYS = {"calculator", "title", "source", "standing", "given", "expect", "verdicts", "tolerance"}
STANDINGS = ("read", "memory", "maker's", "derived")
SAME = 1e-12
"""A difference in a result's own unit that counts as none: a source that says 0 has no relative one."""


@dataclass(frozen=True, slots=True)
class Case:
    """One worked example: what goes in, what its source says comes out, and how near it must be."""

    calculator: str
    title: str
    source: str
    standing: str
    given: Mapping[str, str]
    expect: Mapping[str, Any]
    tolerance: float
    verdicts: Mapping[str, str]

    def __str__(self) -> str:
        return f"{self.calculator}: {self.title}"


@dataclass(frozen=True, slots=True)
class Compared:
    """One result beside what the source says, and the relative difference of the two."""

    name: str
    came_out: Any
    said: Any
    difference: float


def _read(file: Path) -> Iterator[Case]:
    for case in yaml.safe_load(file.read_text(encoding="utf-8")):
        assert set(case) <= KEYS, f"{file.name}: {case['title']} has a key that no case has"
        tolerance = float(case.pop("tolerance"))  # YAML reads 1e-9 as a text
        yield Case(**{"verdicts": {}, **case}, tolerance=tolerance)


CASES = [case for file in sorted(Path(__file__).parent.glob("*.yml")) for case in _read(file)]
SHIPPED: dict[str, Calculator] = {
    name: one
    for name, one in sorted(load_plugins()[0].calculators.items())
    if one.function.__module__.split(".")[0] == PACKAGE and not one.own_lines
}
"""Every calculator that ships, but those that take a yard's own lines: these have no rule to check."""


@cache
def _worked(index: int) -> tuple[Compared, ...]:
    case = CASES[index]
    worked = work(SHIPPED[case.calculator], case.given)
    verdicts = {judged.name: judged.verdict for judged in worked.limits}
    results = [_compared(name, _found(worked, name), said) for name, said in case.expect.items()]
    judged = [_compared(name, verdicts.get(name), said) for name, said in case.verdicts.items()]
    return (*results, *judged)


def compare(case: Case) -> tuple[Compared, ...]:
    """Work a case and compare every result and verdict that its source gives; worked once in a run."""
    return _worked(CASES.index(case))


def _found(worked: Worked, name: str) -> Any:
    """Return a result, or the cell of a table written `dip[6 in].volume`, by its row's first column."""
    match = CELL.fullmatch(name)
    if match is None:
        return worked.outcome.values[name]
    table: TableValue = worked.outcome.values[match["table"]]
    key = float(_quantity(match["key"]).to(table.columns[0].unit))
    row = next(row for row in table.rows if abs(row[0] - key) <= 1e-9 * max(1.0, abs(key)))
    index = [column.name for column in table.columns].index(match["column"])
    return Quantity(row[index], table.columns[index].unit)


def _compared(name: str, value: Any, said: Any) -> Compared:
    if isinstance(value, Quantity) and said != "none":
        source = float(_quantity(str(said)).to(value.unit))
        return Compared(name, value, said, _relative(float(value.value), source))
    same = said == "none" if isinstance(value, NoAnswer) else value == said
    return Compared(name, value, said, 0.0 if same else inf)


def _relative(value: float, source: float) -> float:
    apart = abs(value - source)
    if apart <= SAME:
        return 0.0
    return apart / abs(source) if source else inf


def _quantity(text: str) -> Quantity:
    value = work_line(text, Place(text), _no_names)
    assert isinstance(value, Quantity)
    return value


def _no_names(node: Name) -> Any:
    raise AssertionError(f"a case uses the name {node.name}")
