"""Every case of the handbook comes out as its source says."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest
import yaml

from kb.calculators.door import TableValue
from kb.calculators.plugins import load_plugins
from kb.calculators.work import Worked, work, work_line
from kb.language.expression import Name
from kb.language.quantity import NoAnswer, Quantity
from kb.problem import Place

CELL = re.compile(r"(?P<table>\w+)\[(?P<key>.+)\]\.(?P<column>\w+)")
CALCULATORS = load_plugins()[0].calculators
KEYS = {"calculator", "title", "source", "standing", "given", "expect", "verdicts", "tolerance"}


CASES: list[dict[str, Any]] = [
    case
    for file in sorted(Path(__file__).parent.glob("*.yml"))
    for case in yaml.safe_load(file.read_text(encoding="utf-8"))
]
COVERED = sorted({case["calculator"] for case in CASES})


@pytest.mark.parametrize("case", CASES, ids=lambda case: f"{case['calculator']}: {case['title']}")
def test_a_case_comes_out_as_its_source_says(case: dict[str, Any]) -> None:
    assert set(case) <= KEYS
    assert case["source"]
    assert case["standing"] in ("read", "memory", "maker's", "derived")

    worked = work(CALCULATORS[case["calculator"]], case["given"])

    for name, text in case["expect"].items():
        check(found(worked, name), text, float(case["tolerance"]), name)
    verdicts = {judged.name: judged.verdict for judged in worked.limits}
    for name, verdict in case.get("verdicts", {}).items():
        assert verdicts[name] == verdict, name


@pytest.mark.parametrize("name", COVERED)
def test_a_calculator_has_three_cases_and_one_off_every_default(name: str) -> None:
    given = [set(case["given"]) for case in CASES if case["calculator"] == name]

    assert len(given) >= 3
    assert set(CALCULATORS[name].parameters) in given


def found(worked: Worked, name: str) -> Any:
    """Return a result, or the cell of a table written `dip[6 in].volume`, by its row's first column."""
    match = CELL.fullmatch(name)
    if match is None:
        return worked.outcome.values[name]
    table: TableValue = worked.outcome.values[match["table"]]
    key = float(quantity(match["key"]).to(table.columns[0].unit))
    row = next(row for row in table.rows if row[0] == pytest.approx(key, rel=1e-9, abs=1e-9))
    index = [column.name for column in table.columns].index(match["column"])
    return Quantity(row[index], table.columns[index].unit)


def check(value: Any, text: str, tolerance: float, name: str) -> None:
    if isinstance(value, NoAnswer):
        assert text == "none", name
    elif isinstance(value, Quantity):
        expected = float(quantity(str(text)).to(value.unit))
        assert float(value.value) == pytest.approx(expected, rel=tolerance, abs=1e-12), name
    else:
        assert value == text, name


def quantity(text: str) -> Quantity:
    value = work_line(text, Place(text), no_names)
    assert isinstance(value, Quantity)
    return value


def no_names(node: Name) -> Any:
    raise AssertionError(f"a case uses the name {node.name}")
