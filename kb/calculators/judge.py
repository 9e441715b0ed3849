"""Limits and verdicts: does a rule hold, by how much, and can it be told at all."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, Literal

from kb.calculators.declare import Calculator
from kb.calculators.door import DoorError
from kb.content.inputs import Acceptance
from kb.language.compute import Computation, Turns
from kb.language.expression import Comparison, Expression, Joined, Name, Node, Not
from kb.language.literal import ReadError
from kb.language.quantity import NoAnswer, Quantity
from kb.language.show import in_unit, show

Verdict = Literal["within", "accepted", "cannot tell", "outside"]
VERDICTS: tuple[Verdict, ...] = ("within", "accepted", "cannot tell", "outside")
"""From best to worst."""


@dataclass(frozen=True, slots=True)
class Judged:
    """One limit and its verdict; the margin is by how much it holds, negative where it does not.

    `value` is the size that the rule judges; `note` says who accepted the limit and why, or that an
    acceptance has lapsed.
    """

    name: str
    verdict: Verdict
    margin: Quantity | None
    rule: str
    protects: str
    value: Any = None
    note: str = ""
    held: tuple[bool | None, ...] = ()
    """Whether each comparison of the rule holds."""


def worst(*verdicts: Verdict) -> Verdict:
    """Return the worst of some verdicts; of none, `within`."""
    return max(verdicts, key=VERDICTS.index, default="within")


def judge(
    name: str,
    rule: Expression,
    protects: str,
    lookup: Callable[[Name], Any],
    if_none: Verdict = "cannot tell",
    turns: Turns | None = None,
    key: Any = None,
) -> Judged:
    """Judge one rule. Raises `ReadError` where it is no condition or its units do not fit.

    `turns` keep or follow, under a key, which way each `if` in it goes.
    """
    run = Computation(lookup) if turns is None else turns.start(key, lookup)
    truth = run.truth(rule.tree)
    if turns is not None:
        turns.end(key, run)
    margin = _tightest(run.margins)
    verdict: Verdict = "cannot tell" if truth is None else "within" if truth else "outside"
    if truth is None and None in run.margins:
        verdict = if_none
    value = None if verdict == "within" else _judged(rule.tree, lookup)
    return Judged(name, verdict, margin, rule.text, protects, value, held=tuple(run.held))


def judge_across(
    judged: Judged, others: Sequence[Judged], rule: Expression, lookup: Callable[[Name], Any]
) -> Judged:
    """Judge a rule over a band, given how it was judged at the middle and at other places of the band.

    A comparison that holds here and fails there cannot be told; the rule is worked out with that.
    """
    cannot_tell = replace(judged, verdict="cannot tell", value=_judged(rule.tree, lookup), note=_CROSSES)
    every = [judged, *others]
    if any(one.verdict != judged.verdict or len(one.held) != len(judged.held) for one in others):
        return cannot_tell
    decisions = [
        None if {True, False} <= {one.held[at] for one in every} else judged.held[at]
        for at in range(len(judged.held))
    ]
    if decisions == list(judged.held):
        return judged
    truth = Computation(lookup, decisions).truth(rule.tree)
    return cannot_tell if truth is None else judged


_CROSSES = "the tolerance of its inputs carries it across the bound"


def _judged(tree: Node, lookup: Callable[[Name], Any]) -> Any:
    """Return what the first comparison of a rule judges: its left side, or the middle of a window."""
    if isinstance(tree, Comparison):
        return Computation(lookup).of(tree.operands[1 if len(tree.operands) == 3 else 0])
    if isinstance(tree, Joined):
        return _judged(tree.parts[0], lookup)
    return _judged(tree.of, lookup) if isinstance(tree, Not) else None


def accept(judged: Judged, acceptance: Acceptance) -> Judged:
    """Return a limit that the yard accepts in spite of its verdict, for as long as its value stays.

    The acceptance lapses when the value, as it is printed, differs from the one it was given for.
    """
    if judged.verdict == "within":
        return judged
    given, found = acceptance.at, judged.value
    same = given is None and not isinstance(found, Quantity)
    if given is not None and isinstance(found, Quantity) and found.unit.same_kind(given.quantity.unit):
        one = given.quantity.unit
        same = _printed(in_unit(found, one)) == _printed(given.quantity)
    if same:
        note = f"accepted by {acceptance.by}: {acceptance.why}"
        return replace(judged, verdict="accepted", note=note)
    at = given.text if given is not None else "no value"
    return replace(judged, note=f"the acceptance by {acceptance.by} at {at} has lapsed: the value is another")


def _printed(value: Quantity) -> str:
    return show(Quantity(float(value.value), value.unit))


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
    """Judge the limits that are built into a calculator, over its arguments and results.

    Raises `DoorError` where a limit is declared so that it cannot be judged.
    """
    judged = []
    for declared in calculator.limits:
        limit = declared.limit
        if limit.given and isinstance(values.get(limit.given), NoAnswer | None):
            continue

        def lookup(node: Name) -> Any:
            return values[node.name]

        try:
            if declared.where is not None and Computation(lookup).truth(declared.where.tree) is False:
                continue
            judged.append(judge(limit.name, declared.rule, limit.protects, lookup, limit.if_none))
        except ReadError as error:
            raise DoorError.one(
                "",
                f"the limit '{limit.name}' of {calculator.name} cannot be judged: {error.what}",
                f"this is a fault in the plugin '{calculator.plugin}', not in the book",
            ) from None
    return judged
