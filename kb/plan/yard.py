"""When the yard works and with how many people, as its inputs say."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any

from kb.content.inputs import Input
from kb.content.values import Cell, Listed
from kb.language.quantity import Quantity
from kb.language.units import unit
from kb.plan.calendar import DAY, WEEKDAYS, WorkingTime, WorkingTimeError
from kb.problem import Problem, offer

CREW = "yard.crew"
_FIELDS = {
    "yard.working_days": "weekdays",
    "yard.day_start": "day_start",
    "yard.day_length": "day_length",
}
YARD_INPUTS = frozenset((CREW, *_FIELDS))
"""The inputs that the plan rests on; each may be left out."""
_WEEKDAYS = tuple(map(str.lower, WEEKDAYS))


@dataclass(frozen=True, slots=True)
class Yard:
    """The hours a yard works, and its people; `crew` is None where nobody says how many there are."""

    working_time: WorkingTime = field(default_factory=WorkingTime)
    crew: int | None = None


def read_yard(inputs: Mapping[str, Input]) -> tuple[Yard, list[Problem]]:
    """Read the yard's hours and crew from the inputs of an edition.

    Without any of them the yard works Monday to Friday, eight hours from 8:00. What is wrong is told, and
    taken as not there.
    """
    problems: list[Problem] = []
    fields: dict[str, Any] = {}
    for path, name in _FIELDS.items():
        if path in inputs:
            one = inputs[path]
            value = _READERS[name](one, problems)
            if value is not None:
                fields[name] = value
    crew = _crew(inputs[CREW], problems) if CREW in inputs else None
    try:
        return Yard(WorkingTime(**fields), crew), problems
    except WorkingTimeError as error:
        path = next(path for path, name in _FIELDS.items() if name == error.field)
        # What is at fault may be left to its default: then the other end of the day is.
        given = [path, *(one for one in _FIELDS if _FIELDS[one] in fields)]
        place = next(inputs[one].place for one in given if one in inputs)
        problems.append(Problem(place, error.what, error.fix))
        return Yard(crew=crew), problems


def _weekdays(one: Input, problems: list[Problem]) -> frozenset[int] | None:
    if not isinstance(one.value, Listed):
        fix = "write a list such as [mon, tue, wed, thu, fri]"
        problems.append(Problem(one.place, f"'{one.text}' is no list of days", fix))
        return None
    days: set[int] = set()
    wrong: list[Problem] = []
    for item in one.value.items:
        word = item.text.strip().lower() if isinstance(item, Cell) else ""
        if word in _WEEKDAYS:
            days.add(_WEEKDAYS.index(word))
        else:
            fix = offer(word, _WEEKDAYS, f"the days are {', '.join(_WEEKDAYS)}")
            shown = f"'{item.text.strip()}'" if isinstance(item, Cell) else "this"
            wrong.append(Problem(item.place, f"{shown} is no day of the week", fix))
    problems.extend(wrong)
    return None if wrong else frozenset(days)


def _day_start(one: Input, problems: list[Problem]) -> int | None:
    minutes = _minutes(one, problems, "7 hr 30 min")
    if minutes is None or 0 <= minutes < DAY:
        return minutes
    fix = "write how long after midnight work begins, such as 7 hr 30 min"
    problems.append(Problem(one.place, f"'{one.text}' is not a time of the day", fix))
    return None


def _day_length(one: Input, problems: list[Problem]) -> int | None:
    return _minutes(one, problems, "8 hr")


def _minutes(one: Input, problems: list[Problem], example: str) -> int | None:
    value = one.value
    if isinstance(value, Quantity) and value.unit.same_kind(unit("hr")):
        return round(value.to(unit("min")))
    problems.append(Problem(one.place, f"'{one.text}' is not a time", f"write one such as {example}"))
    return None


def _crew(one: Input, problems: list[Problem]) -> int | None:
    value = one.value
    if isinstance(value, Quantity) and value.unit.kind == "number":
        size = value.value
        if size >= 1 and size == int(size):
            return int(size)
    problems.append(Problem(one.place, f"'{one.text}' is not a number of people", "write a count such as 5"))
    return None


_READERS: Mapping[str, Callable[[Input, list[Problem]], Any]] = {
    "weekdays": _weekdays,
    "day_start": _day_start,
    "day_length": _day_length,
}
