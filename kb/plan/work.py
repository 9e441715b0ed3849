"""The work of a book as a plan: its procedures with their times, and what leads to each hold point."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from math import ceil
from typing import NamedTuple

from kb.content.book import Book
from kb.content.order import in_build_order
from kb.content.page import Page
from kb.language.quantity import Quantity, quantity
from kb.language.show import Form, show
from kb.language.units import unit
from kb.numbers.evaluate import Evaluation
from kb.numbers.measures import Measure
from kb.plan.calendar import DAY, WEEKDAYS, Moment, datetime_of, moment_of
from kb.plan.needs import need_problems, needs_of
from kb.plan.sequence import Plan, Task, plan
from kb.plan.yard import Yard, read_yard
from kb.problem import BookError

_A_MONDAY: Moment = 0
"""Where a plan begins that nobody gave a date."""


class DayTime(NamedTuple):
    """A moment by the working days of a plan: the first is day 1; `time` is such as 07:30."""

    day: int
    time: str

    def __str__(self) -> str:
        return f"day {self.day}, {self.time}"


@dataclass(frozen=True, slots=True)
class HoldPoint:
    """A measurement at which the work stops, and the longest chain of procedures to the page it stands on.

    The chain is of page ids; the page itself is the last.
    """

    measure: Measure
    chain: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class BuildPlan:
    """The procedures of an edition in the order their needs allow, laid into the yard's hours.

    `pages` are those that have a stage, by their ids, which name the tasks. `is_dated` tells whether the plan
    begins on a day that somebody named.
    """

    plan: Plan
    pages: Mapping[str, Page]
    yard: Yard
    hold_points: tuple[HoldPoint, ...] = ()
    is_dated: bool = False

    def day_time(self, moment: Moment) -> DayTime:
        """Return a moment by the plan's working days.

        One on a day off is told as when work can go on; its first midnight, as the end of the day before.
        """
        time = self.yard.working_time
        if not self._is_worked(moment):
            if moment % DAY == 0 and self._is_worked(moment - 1):
                return DayTime(self.day_time(moment - 1).day, "24:00")
            moment = time.next_moment(moment)
        days = time.count(moment - moment % DAY) - time.count(self.plan.start - self.plan.start % DAY)
        hours, minutes = divmod(moment % DAY, 60)
        return DayTime(days // time.day_length + 1, f"{hours:02}:{minutes:02}")

    def told(self, moment: Moment) -> str:
        """Return a moment in words: its date and time where the plan has dates, else its working day.

        Raises `OverflowError` past the year 9999.
        """
        if not self.is_dated:
            return str(self.day_time(moment))
        when = datetime_of(moment)
        return f"{WEEKDAYS[when.weekday()]} {when:%Y-%m-%d %H:%M}"

    def _is_worked(self, moment: Moment) -> bool:
        return moment // DAY % 7 in self.yard.working_time.weekdays


def build_plan(book: Book, done: Evaluation, start: date | None = None) -> BuildPlan:
    """Plan the procedures of an edition, those pages that have a stage and are not private.

    A procedure without a `crew` takes one person, one without a `time` no time. Where it needs a page that
    is no procedure, it waits for what that page needs. Where the yard does not say how many people it has,
    there are always enough.

    Args:
        book: the book; its pages are planned in the order of the build.
        done: the edition worked out, whose inputs give the yard's hours and crew.
        start: the first day; without one the plan begins on a Monday.

    Raises:
        BookError: needs that are nothing or wait for each other, hours or a crew that cannot be.

    """
    measures = done.graph.bindings.measures
    yard, problems = read_yard(done.inputs.values)
    problems.extend(need_problems(book.pages, measures))
    if problems:
        raise BookError(problems)
    by_id = {page.id: page for page in book.pages}
    staged = [page for page in book.pages if page.head.stage and page.head.visibility != "private"]
    pages = {page.id: page for page in in_build_order(staged, book.settings.stages)}
    tasks = [
        Task(
            page.id,
            page.head.title,
            _minutes(page.head.time),
            _minutes(page.head.cure),
            page.head.crew or 1,
            tuple(dict.fromkeys(_before(page, pages, by_id, measures, set()))),
        )
        for page in pages.values()
    ]
    crew = yard.crew or max(1, sum(task.crew for task in tasks))
    laid = plan(tasks, yard.working_time, crew, _A_MONDAY if start is None else moment_of(start))
    holds = tuple(
        HoldPoint(measure, laid.chain_to(page.id))
        for page in pages.values()
        for fence in page.fences
        if (measure := measures.get(fence.name)) is not None
        and measure.is_hold
        and done.in_force(measure.around.conditions)
    )
    return BuildPlan(laid, pages, yard, holds, start is not None)


def _before(
    page: Page,
    pages: Mapping[str, Page],
    by_id: Mapping[str, Page],
    measures: Mapping[str, Measure],
    seen: set[str],
) -> Iterator[str]:
    """Go through the procedures that a page waits for; `pages` are the procedures, `seen` the other pages."""
    for need in needs_of(page, by_id, measures):
        if need.page.id in pages:
            yield need.page.id
        elif need.page.id not in seen:
            seen.add(need.page.id)
            yield from _before(need.page, pages, by_id, measures, seen)


def hours(minutes: int) -> str:
    """Return a length of time in hours and minutes.

    >>> hours(150)
    '2 hr 30 min'
    """
    return show(quantity(minutes, "min"), Form(unit="hr-min"), "nearest")


def _minutes(time: Quantity | None) -> int:
    """Return a time in whole minutes, none too few."""
    return 0 if time is None else ceil(time.to(unit("min")))
