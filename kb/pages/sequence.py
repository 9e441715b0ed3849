"""The page of the sequence: a chart of the work, its table, the longest chain, what leads to hold points."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import groupby

from kb.content.addresses import list_address, way
from kb.pages.bars import HEAD, charts
from kb.pages.sheet import SitePage, own_page
from kb.pages.templates import heading, render
from kb.pages.view import View
from kb.plan.calendar import DAY, WEEKDAYS
from kb.plan.sequence import PlannedTask
from kb.plan.work import BuildPlan, build_plan, hours


@dataclass(frozen=True, slots=True)
class Line:
    """One procedure of the sequence, as its table shows it."""

    number: str
    title: str
    way: str
    crew: int
    time: str
    cure: str
    earliest: str
    planned: str
    done: str
    slack: str
    is_on_chain: bool

    @property
    def short(self) -> str:
        """What it is called in a chain: its sheet number, else its title."""
        return self.number or self.title


@dataclass(frozen=True, slots=True)
class Stop:
    """A sheet with hold points: what is measured there and the way to it, and the chain that leads there."""

    line: Line
    measures: tuple[tuple[str, str], ...]
    chain: tuple[Line, ...]


def sequence(view: View) -> SitePage:
    """Return the page of the sequence. Its days are counted, never dated: it is the same at every build."""
    here = list_address("sequence")
    built = build_plan(view.book, view.done)
    lines = {one.task.id: _line(view, here, built, one) for one in built.plan.tasks}
    content = render(
        "sequence",
        lines=list(lines.values()),
        charts=charts(built),
        top=HEAD,
        chain=[lines[name] for name in built.plan.critical_path],
        stops=list(_stops(view, here, built, lines)),
        over_crew=[lines[name] for name in built.plan.over_crew],
        crew=built.yard.crew,
        hours=_yard_hours(built),
        end=built.told(built.plan.end),
        planned_end=built.told(built.plan.planned_end),
        is_later=built.plan.planned_end > built.plan.end,
    )
    return own_page(view, here, heading("sequence"), content)


def _line(view: View, here: str, built: BuildPlan, one: PlannedTask) -> Line:
    page = built.pages[one.task.id]
    return Line(
        page.head.number.text if page.head.number else "",
        page.head.title,
        way(here, view.addresses[page.file]),
        one.task.crew,
        hours(one.task.work) if one.task.work else "",
        hours(one.task.cure) if one.task.cure else "",
        built.told(one.earliest.start),
        built.told(one.planned.start),
        built.told(one.planned.finish),
        hours(one.slack) if one.slack else "none",
        one.task.id in built.plan.critical_path,
    )


def _stops(view: View, here: str, built: BuildPlan, lines: dict[str, Line]) -> Iterator[Stop]:
    for name, holds in groupby(built.hold_points, lambda hold: hold.measure.page.id):
        some = list(holds)
        there = view.addresses[built.pages[name].file]
        measures = tuple((hold.measure.what, way(here, there, f"block-{hold.measure.name}")) for hold in some)
        yield Stop(lines[name], measures, tuple(lines[one] for one in some[0].chain))


def _yard_hours(built: BuildPlan) -> str:
    """Return when the yard works, in words."""
    time = built.yard.working_time
    days = ", ".join(WEEKDAYS[day] for day in sorted(time.weekdays))
    ends = time.day_start + time.day_length
    return f"{days}, {_clock(time.day_start)} to {_clock(ends) if ends < DAY else '24:00'}"


def _clock(minutes: int) -> str:
    return f"{minutes // 60:02}:{minutes % 60:02}"
