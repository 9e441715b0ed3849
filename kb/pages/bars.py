"""A plan as a bar chart: where each bar, day and night stands. The theme draws it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import accumulate, pairwise
from math import ceil
from textwrap import wrap

from kb.plan.calendar import DAY, Moment
from kb.plan.sequence import PlannedTask
from kb.plan.work import BuildPlan

LABELS = 306.0
"""Width of the column of sheet numbers and titles; all sizes are in the units of the drawing."""
HEAD, ROW = 34, 40
_PLOT, _MOST_PLOT, _LEAST_DAY = 500.0, 4000.0, 22.0
_BESIDE = 68.0  # room for the sheet number beside the last bar
_NIGHT = 0.2  # of a working day; a weekend is drawn as two nights
_LEAST_NIGHT = 2.0  # a narrower one is not shaded
_APART = 30.0  # least distance of two days that are numbered
_MOST_ROWS = 30  # so many go on one sheet of paper
_CHARACTERS = 29


@dataclass(frozen=True, slots=True)
class Span:
    """A stretch of the chart from left to right."""

    x: str
    width: str


@dataclass(frozen=True, slots=True)
class Bar:
    """One procedure: the middle of its row, its title in one or two lines, its work, its cure if any."""

    number: str
    lines: tuple[str, ...]
    y: float
    work: Span
    cure: Span | None
    end: str
    is_moment: bool
    is_on_chain: bool


@dataclass(frozen=True, slots=True)
class WorkingDay:
    """A working day: where it begins, its middle, and its number where there is room for one."""

    x: str
    middle: str
    number: str


@dataclass(frozen=True, slots=True)
class Chart:
    """A chart of so many procedures as go on one sheet of paper.

    `closed` are the nights and days off; `links` the paths that join the longest chain.
    """

    width: float
    height: float
    days: tuple[WorkingDay, ...]
    closed: tuple[Span, ...]
    bars: tuple[Bar, ...]
    links: tuple[str, ...]


def charts(built: BuildPlan) -> list[Chart]:
    """Return the charts of a plan: all have the same days, each some of its procedures, as even as can be."""
    tasks = built.plan.tasks
    if not tasks:
        return []
    axis = _Axis(built)
    each = ceil(len(tasks) / ceil(len(tasks) / _MOST_ROWS))
    return [_chart(built, axis, tasks[first : first + each]) for first in range(0, len(tasks), each)]


class _Axis:
    """The days of a plan from left to right: working hours wide, nights and days off narrow."""

    def __init__(self, built: BuildPlan) -> None:
        self.time = built.yard.working_time
        self.first = self.time.count(built.plan.start) // self.time.day_length
        last = max(one.planned.cured for one in built.plan.tasks)
        self.days = max(1, ceil(self.time.count(last) / self.time.day_length) - self.first)
        self.day = max(_PLOT / self.days, min(_LEAST_DAY, _MOST_PLOT / self.days)) / (1 + _NIGHT)
        nights = (self._night(day) for day in range(self.days))
        self.begins = list(accumulate((self.day + night for night in nights), initial=LABELS))
        self.width = self.begins[-1] + _BESIDE

    def _begin(self, day: int) -> Moment:
        return self.time.moment((self.first + day) * self.time.day_length)

    def _end(self, day: int) -> Moment:
        return self._begin(day) + self.time.day_length

    def _night(self, day: int) -> float:
        if self._begin(day + 1) == self._end(day):
            return 0
        days_off = self._begin(day + 1) // DAY - self._begin(day) // DAY > 1
        return self.day * _NIGHT * (2 if days_off else 1)

    def x(self, moment: Moment) -> float:
        """Return where a moment stands."""
        length = self.time.day_length
        day, minute = divmod(self.time.count(moment) - self.first * length, length)
        if minute or not day:
            return self.begins[day] + self.day * minute / length
        # The working minutes stand still all night.
        dusk, dawn = self._end(day - 1), self._begin(day)
        share = (moment - dusk) / (dawn - dusk) if dawn > dusk else 1.0
        return self.begins[day - 1] + self.day + share * self._night(day - 1)

    def span(self, first: Moment, last: Moment) -> Span:
        """Return the stretch between two moments."""
        return Span(_text(self.x(first)), _text(self.x(last) - self.x(first)))

    def working_days(self) -> Iterator[WorkingDay]:
        """Go through the days that are drawn; of very many only those that are numbered."""
        step = max(1, ceil(_APART / (self.begins[1] - self.begins[0])))
        for day in range(self.days):
            number = str(day + 1) if day % step == 0 else ""
            if number or self._is_shaded:
                x = self.begins[day]
                yield WorkingDay(_text(x), _text(x + self.day / 2), number)

    def closed(self) -> Iterator[Span]:
        """Go through the nights and days off between the working days."""
        if self._is_shaded:
            for begin, following in pairwise(self.begins):
                yield Span(_text(begin + self.day), _text(following - begin - self.day))

    @property
    def _is_shaded(self) -> bool:
        return self.day * _NIGHT >= _LEAST_NIGHT


def _chart(built: BuildPlan, axis: _Axis, tasks: Sequence[PlannedTask]) -> Chart:
    height = HEAD + ROW * len(tasks) + 8
    bars = tuple(_bar(built, axis, one, row) for row, one in enumerate(tasks))
    by_id = {one.task.id: (one, bar) for one, bar in zip(tasks, bars, strict=True)}
    on_chain = [by_id.get(name) for name in built.plan.critical_path]
    links = tuple(_links(axis, on_chain))
    return Chart(axis.width, height, tuple(axis.working_days()), tuple(axis.closed()), bars, links)


def _bar(built: BuildPlan, axis: _Axis, one: PlannedTask, row: int) -> Bar:
    number = built.pages[one.task.id].head.number
    times = one.planned
    return Bar(
        number.text if number else "",
        tuple(wrap(one.task.title, _CHARACTERS, max_lines=2, placeholder=" …")),
        HEAD + ROW * (row + 0.5),
        axis.span(times.start, times.finish),
        axis.span(times.finish, times.cured) if one.task.cure else None,
        _text(axis.x(times.cured)),
        not one.task.work,
        one.task.id in built.plan.critical_path,
    )


def _links(axis: _Axis, on_chain: Iterable[tuple[PlannedTask, Bar] | None]) -> Iterator[str]:
    """Go through the paths from each cured procedure of the chain to the next; both stand on this chart."""
    for before, after in pairwise(on_chain):
        if before is not None and after is not None:
            (first, from_bar), (second, to_bar) = before, after
            x, to_x = axis.x(first.planned.cured), axis.x(second.planned.start)
            yield f"M{_text(x)} {_text(from_bar.y)}V{_text(to_bar.y)}H{_text(to_x)}"


def _text(size: float) -> str:
    return f"{size:.1f}"
