"""`keelbook sequence`: the procedures in the order of work, with their times."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import date
from typing import Any

import click

from kb.commands.common import EXIT_ERRORS, book_folder, columns, edition_of, print_json, tell
from kb.plan.calendar import Moment, datetime_of
from kb.plan.sequence import PlannedTask
from kb.plan.work import BuildPlan, build_plan, hours
from kb.reckon import edition_problems, open_book

_HEADS = ["sheet", "crew", "time", "cure", "earliest", "planned", "done", "slack", "chain", "procedure"]
_ON_CHAIN = "longest"


@click.command()
@click.option("--hull", metavar="ID", help="The sequence of one hull.")
@click.option("--start", metavar="DATE", help="The first day, such as 2026-03-02; gives dates.")
@click.option("--json", "as_json", is_flag=True, help="Print the sequence as JSON.")
@click.pass_context
def sequence(ctx: click.Context, hull: str | None, start: str | None, as_json: bool) -> int:
    """Print the sequence: what comes after what, when each can begin, and the longest chain.

    A book with errors has none: a need that is not understood would be left out.
    """
    first = None if start is None else _date(start, ctx)
    opened = open_book(book_folder(ctx))
    done = opened.evaluate(edition_of(opened, hull, ctx))
    if problems := edition_problems(opened, done):
        tell(problems)
        return EXIT_ERRORS
    built = build_plan(opened.book, done, first)
    if built.is_dated:
        _check_end(built, ctx)
    if as_json:
        print_json(_data(built))
    else:
        for line in _lines(built):
            click.echo(line)
    return 0


def _date(text: str, ctx: click.Context) -> date:
    fix = "write one such as 2026-03-02"
    try:
        day = date.fromisoformat(text)
    except ValueError:
        raise click.UsageError(f"--start: '{text}' is no day; {fix}", ctx) from None
    if day.isoformat() != text:
        raise click.UsageError(f"--start: '{text}' is not written as year, month, day; {fix}", ctx)
    return day


def _check_end(built: BuildPlan, ctx: click.Context) -> None:
    try:
        datetime_of(max(built.plan.end, built.plan.planned_end))
    except OverflowError:
        raise click.UsageError(
            "--start: the work would end after the year 9999; begin earlier", ctx
        ) from None


def _lines(built: BuildPlan) -> Iterator[str]:
    laid = built.plan
    if not laid.tasks:
        yield "no page has a stage, so there is no work to put in order"
        return
    yield from columns([_HEADS, *(_row(built, one) for one in laid.tasks)])
    yield ""
    yield f"begins {built.told(laid.start)}; by needs alone done {built.told(laid.end)}"
    if built.yard.crew is None:
        yield "yard.crew is not given: there are always enough people"
    else:
        yield f"with a crew of {built.yard.crew} done {built.told(laid.planned_end)}"
    yield f"longest chain: {_chain(built, laid.critical_path)}"
    for name in laid.over_crew:
        page = built.pages[name]
        yield f"{_short(built, name)} asks for {page.head.crew} people: more than the yard has"


def _row(built: BuildPlan, one: PlannedTask) -> list[str]:
    task, head = one.task, built.pages[one.task.id].head
    return [
        head.number.text if head.number else "",
        str(task.crew),
        hours(task.work) if task.work else "",
        hours(task.cure) if task.cure else "",
        built.told(one.earliest.start),
        built.told(one.planned.start),
        built.told(one.planned.finish),
        hours(one.slack) if one.slack else "none",
        _ON_CHAIN if task.id in built.plan.critical_path else "",
        task.title,
    ]


def _short(built: BuildPlan, name: str) -> str:
    head = built.pages[name].head
    return head.number.text if head.number else head.title


def _chain(built: BuildPlan, names: Iterable[str]) -> str:
    return " → ".join(_short(built, name) for name in names)


def _data(built: BuildPlan) -> dict[str, Any]:
    laid = built.plan
    return {
        "start": _when(built, laid.start),
        "end": _when(built, laid.planned_end),
        "crew": built.yard.crew,
        "tasks": [_task(built, one) for one in laid.tasks],
        "longest_chain": list(laid.critical_path),
        "hold_points": [
            {
                "name": hold.measure.name,
                "what": hold.measure.what,
                "page": hold.measure.page.id,
                "chain": list(hold.chain),
            }
            for hold in built.hold_points
        ],
    }


def _task(built: BuildPlan, one: PlannedTask) -> dict[str, Any]:
    task, head = one.task, built.pages[one.task.id].head
    return {
        "id": task.id,
        "number": head.number.text if head.number else None,
        "title": task.title,
        "crew": task.crew,
        "minutes": task.work,
        "cure_minutes": task.cure,
        "needs": list(task.needs),
        "earliest": _when(built, one.earliest.start),
        "planned": _when(built, one.planned.start),
        "finish": _when(built, one.planned.finish),
        "cured": _when(built, one.planned.cured),
        "slack_minutes": one.slack,
        "longest_chain": task.id in built.plan.critical_path,
    }


def _when(built: BuildPlan, moment: Moment) -> Any:
    if built.is_dated:
        return datetime_of(moment).isoformat(timespec="minutes")
    return built.day_time(moment)._asdict()
