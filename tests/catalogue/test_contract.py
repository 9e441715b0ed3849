"""The names that procedures, command lines and saved numbers rest on: all are there, none is renamed.

`contract.yml` is what was promised. A calculator may take and give more; it takes and gives no less.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
import yaml

from kb.calculators.declare import Calculator, Parameter, Result
from kb.calculators.plugins import load_plugins
from kb.language.units import unit

CONTRACT: dict[str, dict[str, dict[str, Any]]] = yaml.safe_load(
    (Path(__file__).parent / "contract.yml").read_text(encoding="utf-8")
)
PROMISED = [(group, name) for group, entries in CONTRACT.items() for name in entries]
NAMED = [(group, name) for group, name in PROMISED if name != "formula"]
THERE = load_plugins()[0].calculators


@pytest.mark.parametrize(("group", "name"), PROMISED)
def test_every_promised_calculator_is_in_its_plugin(group: str, name: str) -> None:
    assert THERE[name].plugin == group


def test_no_calculator_ships_that_was_not_promised() -> None:
    shipped = {one for one, found in THERE.items() if found.function.__module__.startswith("kb_calculators")}
    assert shipped == {name for _, name in PROMISED}


def entries(kind: str) -> list[Any]:
    return [
        pytest.param(name, key, said, id=f"{name}.{key}")
        for group, name in NAMED
        for key, said in CONTRACT[group][name][kind].items()
    ]


@pytest.mark.parametrize(("name", "key", "said"), entries("takes"))
def test_every_promised_parameter_is_taken_in_its_unit(name: str, key: str, said: dict[str, Any]) -> None:
    parameter = THERE[name].parameters[key]

    same_kind_and_unit(parameter, said)
    assert parameter.required == ("default" not in said)
    if said.get("kind") == "choice":
        assert set(parameter.choices) >= set(said["of"])


@pytest.mark.parametrize(("name", "key", "said"), entries("gives"))
def test_every_promised_result_is_given_in_its_unit(name: str, key: str, said: dict[str, Any]) -> None:
    same_kind_and_unit(THERE[name].results[key], said)


@pytest.mark.parametrize(("group", "name"), NAMED)
def test_every_promised_limit_is_judged(group: str, name: str) -> None:
    promised = [rule.partition(":")[0] for rule in CONTRACT[group][name].get("limits", ())]
    judged = [one.limit.name for one in THERE[name].limits]
    assert set(promised) <= set(judged)


@pytest.mark.parametrize(("group", "name"), NAMED)
def test_a_promised_danger_is_a_caution_on_the_card(group: str, name: str) -> None:
    if "danger" in CONTRACT[group][name]:
        assert THERE[name].cautions


@pytest.mark.parametrize("calculator", THERE.values(), ids=lambda one: one.name)
def test_every_calculator_says_when_to_use_it_and_when_not(calculator: Calculator) -> None:
    assert calculator.use
    assert calculator.not_for
    assert calculator.sources


def same_kind_and_unit(declared: Parameter | Result, said: dict[str, Any]) -> None:
    kind = said.get("kind", "quantity")
    assert declared.kind == kind
    if kind == "quantity":
        assert declared.unit == unit(said["unit"])
    if kind == "table" and "columns" in said:
        assert {column.name for column in declared.columns} >= set(said["columns"])
