"""One calculator worked on texts alone: the shell, the worked examples and the handbook checks."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from kb.calculators.bind import Lookup, bind, read, work_out
from kb.calculators.declare import Calculator
from kb.calculators.door import DoorError, Outcome, missing_faults, run, value_faults
from kb.calculators.judge import Judged, judge_own
from kb.content.yamltext import Node, Scalar, read_yaml
from kb.language.compute import Turns
from kb.language.expression import Expression, Name, is_name
from kb.language.literal import ReadError
from kb.language.quantity import NoAnswer, Quantity
from kb.language.show import Form, in_unit, shown_unit, split_form
from kb.language.units import UnitError
from kb.problem import BookError, Place, Problem, offer


@dataclass(frozen=True, slots=True)
class Worked:
    """What a calculator gave for some texts."""

    calculator: Calculator
    outcome: Outcome
    limits: tuple[Judged, ...]


def work(calculator: Calculator, texts: Mapping[str, str], folder: Path | None = None) -> Worked:
    """Work a calculator on texts such as `{"gross": "90 gal"}`. Raises `BookError` with all problems.

    Sections and tables are JSON, or `@file` below `folder`.
    """
    if calculator.own_lines:
        return Worked(calculator, _own_lines(texts), ())
    root = folder or Path()
    problems: list[Problem] = []
    given: dict[str, Any] = {}
    for name, text in texts.items():
        parameter = calculator.parameters.get(name)
        if parameter is None:
            known = calculator.parameters
            problems.append(
                Problem(
                    Place(name),
                    f"{calculator.name} has no parameter '{name}'",
                    offer(name, known, f"it takes {', '.join(known)}"),
                )
            )
            continue
        try:
            bound = bind(parameter, _node(name, text, parameter.kind), root, "", shell=True)
            given[name] = bound.value(_no_names)
        except BookError as error:
            problems.extend(error.problems)
    for fault in missing_faults(calculator, texts, "add {}={}"):
        problems.append(Problem(Place(calculator.name), fault.what, fault.fix))
    try:
        if problems:
            raise DoorError(*value_faults(calculator, given))
        outcome = run(calculator, given)
        limits = judge_own(calculator, {**outcome.arguments, **outcome.values})
    except DoorError as error:
        faults = [
            Problem(fault.place or Place(fault.parameter or calculator.name), fault.what, fault.fix)
            for fault in error.faults
        ]
        raise BookError([*problems, *faults]) from error
    return Worked(calculator, outcome, tuple(limits))


def _node(name: str, text: str, kind: str) -> Node:
    if kind in ("section", "table") and text.lstrip()[:1] in ("[", "{"):
        node, problems = read_yaml(text, name)
        if problems or node is None:
            raise BookError(problems)
        return node
    body = text.strip()
    if len(body) > 1 and body[0] == body[-1] and body[0] in "\"'":
        return Scalar(body[1:-1], Place(name), quoted=True)
    return Scalar(text, Place(name))


def _no_names(node: Name) -> Any:
    raise ReadError(f"there is no name '{node.name}' here", "write the value itself", node.at)


def _own_lines(texts: Mapping[str, str]) -> Outcome:
    values: dict[str, Any] = {}

    def lookup(node: Name) -> Any:
        if node.name not in values:
            raise ReadError(
                f"there is no line '{node.name}' above", offer(node.name, values, "write it first"), node.at
            )
        return values[node.name]

    problems: list[Problem] = []
    for name, text in texts.items():
        try:
            if not is_name(name):
                fix = "a name is small letters, digits and _, and no word of the language"
                raise BookError([Problem(Place(name), f"'{name}' is not a name", fix)])
            values[name] = work_line(text, Place(name), lookup)
        except BookError as error:
            values[name] = NoAnswer("its line could not be worked out")
            problems.extend(error.problems)
    if problems:
        raise BookError(problems)
    return Outcome(values, {})


def work_line(text: str, place: Place, lookup: Lookup) -> Any:
    """Work out one line of a formula, which may end in ` in UNIT`. Raises `BookError`."""
    try:
        body, form = split_form(text)
    except ReadError as error:
        raise BookError([Problem(place.right(error.at), error.what, error.fix)]) from None
    if form.direction or form.step:
        fix = "use round, ceil or floor, or round where it is shown"
        raise BookError([Problem(place, "a formula's line is not rounded", fix)])
    return work_line_of(read(body, place), form, place, lookup)


def work_line_of(
    expression: Expression, form: Form, place: Place, lookup: Lookup, turns: Turns | None = None
) -> Any:
    """Work out a formula's line that was read. Raises `BookError`."""
    value = work_out(expression, place, lookup, turns)
    if form.unit and isinstance(value, Quantity):
        try:
            return in_unit(value, shown_unit(value, form))
        except (ReadError, UnitError) as error:
            raise BookError([Problem(place, error.what, error.fix)]) from None
    return value
