"""Limits and verdicts: does a rule hold, by how much, and can it be told at all."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any, Literal

from kb.calculators.declare import Calculator
from kb.language.compute import Computation
from kb.language.expression import Expression, Name
from kb.language.quantity import NoAnswer, Quantity

Verdict = Literal["within", "accepted", "cannot tell", "outside"]
VERDICTS: tuple[Verdict, ...] = ("within", "accepted", "cannot tell", "outside")
"""From best to worst."""


@dataclass(frozen=True, slots=True)
class Judged:
    """One limit and its verdict; the margin is by how much it holds, negative where it does not."""

    name: str
    verdict: Verdict
    margin: Quantity | None
    rule: str
    protects: str


def worst(*verdicts: Verdict) -> Verdict:
    """Return the worst of some verdicts; of none, `within`."""
    return max(verdicts, key=VERDICTS.index, default="within")


def judge(
    name: str,
    rule: Expression,
    protects: str,
    lookup: Callable[[Name], Any],
    if_none: Verdict = "cannot tell",
) -> Judged:
    """Judge one rule. Raises `ReadError` where it is no condition or its units do not fit."""
    run = Computation(lookup)
    truth = run.truth(rule.tree)
    margin = _tightest(run.margins)
    verdict: Verdict = "cannot tell" if truth is None else "within" if truth else "outside"
    if truth is None and None in run.margins:
        verdict = if_none
    return Judged(name, verdict, margin, rule.text, protects)


def _tightest(margins: list[Quantity | None]) -> Quantity | None:
    """Return the smallest margin of a rule's comparisons, where they can be laid side by side."""
    if len(margins) == 1:
        return margins[0]
    known = [margin for margin in margins if margin is not None]
    if not known or len(known) < len(margins):
        return None
    if any(margin.unit.dims != known[0].unit.dims for margin in known):
        failing = [margin for margin in known if margin.value < 0]
        return (failing or known)[0]
    return min(known, key=lambda margin: float(margin.base))


def judge_own(calculator: Calculator, values: Mapping[str, Any]) -> list[Judged]:
    """Judge the limits that are built into a calculator, over its arguments and results."""
    judged = []
    for declared in calculator.limits:
        limit = declared.limit
        if limit.given and isinstance(values.get(limit.given), NoAnswer | None):
            continue

        def lookup(node: Name) -> Any:
            return values[node.name]

        if declared.where is not None and Computation(lookup).truth(declared.where.tree) is False:
            continue
        judged.append(judge(limit.name, declared.rule, limit.protects, lookup, limit.if_none))
    return judged
