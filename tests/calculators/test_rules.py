"""What a page prints as a result's formula is what its function works out."""

from __future__ import annotations

from typing import Any

import pytest

from kb.calculators.declare import Calculator, Result
from kb.calculators.plugins import load_plugins
from kb.calculators.work import work
from kb.language.compute import Computation
from kb.language.expression import Name
from kb.language.quantity import NoAnswer, Quantity
from kb.language.show import AS_IT_IS, in_unit, shown_unit

CALCULATORS = [one for one in load_plugins()[0].calculators.values() if not one.own_lines]


@pytest.mark.parametrize("calculator", CALCULATORS, ids=lambda one: one.name)
def test_every_declared_rule_gives_what_the_function_gives(calculator: Calculator) -> None:
    outcome = work(calculator, calculator.example).outcome
    known = {**outcome.arguments, **outcome.values}

    for result in calculator.results.values():
        if result.rule is not None:
            same(by_rule(result, known), outcome.values[result.name], result)


def by_rule(result: Result, known: dict[str, Any]) -> Any:
    def lookup(node: Name) -> Any:
        return known[node.name]

    assert result.rule is not None
    value = Computation(lookup).of(result.rule.tree)
    if not isinstance(value, Quantity) or result.kind not in ("quantity", "number", "count"):
        return value
    form = result.rule_form or AS_IT_IS
    return in_unit(value, shown_unit(value, form)) if form.unit else value


def same(ruled: Any, worked: Any, result: Result) -> None:
    if isinstance(worked, Quantity):
        assert isinstance(ruled, Quantity), result.name
        found, expected = float(ruled.to(result.unit)), float(worked.value)
        assert found == pytest.approx(expected, rel=1e-9, abs=1e-12), result.name
    elif isinstance(worked, NoAnswer):
        assert isinstance(ruled, NoAnswer), result.name
    else:
        assert ruled == worked, result.name
