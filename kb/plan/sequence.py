"""Tasks to a plan: their order, the earliest and latest each can be, and when a crew gets to them."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from graphlib import CycleError, TopologicalSorter
from heapq import heappop, heappush
from typing import Any

from kb.plan.calendar import Moment, WorkingTime


@dataclass(frozen=True, slots=True)
class Task:
    """Work to be done by so many people at once, and the cure after it.

    `work` is in working minutes, `cure` in minutes: it runs day and night and needs nobody. A task begins
    when all that it needs is cured. One without work is a milestone: it is reached at whatever hour that is.
    """

    id: str
    title: str
    work: int
    cure: int = 0
    crew: int = 1
    needs: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        if min(self.work, self.cure, self.crew) < 0:
            raise ValueError(f"{self.id}: work, cure and crew cannot be below 0")


@dataclass(frozen=True, slots=True)
class Times:
    """When a task starts, when its work is done, and when it is cured."""

    start: Moment
    finish: Moment
    cured: Moment


@dataclass(frozen=True, slots=True)
class PlannedTask:
    """A task with its times.

    `earliest` is as its needs alone allow, `latest` as late as the end of all of them allows, `planned` as
    the crew allows too. `slack` is in working minutes, from the earliest start to the latest. A critical task
    stands on a longest chain: it has no slack, but for what the yard's closed hours give it where a cure ends
    within them.
    """

    task: Task
    earliest: Times
    latest: Times
    planned: Times
    slack: int
    is_critical: bool


@dataclass(frozen=True, slots=True)
class Plan:
    """The tasks in an order that their needs allow, as near to the given one as can be.

    `end` is when the last is cured by needs alone, `planned_end` with the crew. `critical_path` is the chain
    that sets `end`, the longest; `over_crew` names the tasks that ask for more people than there are.
    `waits_for` gives for each task the need that sets its earliest start.
    """

    tasks: tuple[PlannedTask, ...]
    start: Moment
    end: Moment
    planned_end: Moment
    critical_path: tuple[str, ...]
    over_crew: tuple[str, ...]
    waits_for: Mapping[str, str | None]

    def chain_to(self, task_id: str) -> tuple[str, ...]:
        """Return the longest chain that leads to a task, which stands last. Raises `KeyError`."""
        return _chain(self.waits_for, task_id)


class CircleError(ValueError):
    """Tasks that wait for each other.

    In each of the `circles` every task needs the next; the first stands again at the end.
    """

    def __init__(self, circles: Iterable[tuple[str, ...]]) -> None:
        self.circles = tuple(circles)
        super().__init__("; ".join(" needs ".join(circle) for circle in self.circles))


def plan(tasks: Sequence[Task], working_time: WorkingTime, crew: int, start: Moment) -> Plan:
    """Plan tasks from the first working moment at or after `start`, with so many people in the yard.

    Tasks go to the crew one after another, of those whose needs are planned the one with the earliest latest
    start, then the one given first. Each gets the first stretch of time in which enough people are free, and
    keeps them until its work is done. One that asks for more people than there are gets all of them.

    Raises `CircleError`, `KeyError` for a need that is no task, `ValueError` for a doubled id or no crew.
    """
    if crew < 1:
        raise ValueError(f"a crew of {crew} does no work")
    given = {task.id: number for number, task in enumerate(tasks)}
    if len(given) < len(tasks):
        raise ValueError("two tasks have the same id")
    if circles := tuple(_circles(tasks)):
        raise CircleError(circles)
    order = _in_order(tasks, lambda task: given[task.id])
    begin = working_time.next_moment(start)
    earliest = _earliest(order, working_time, begin)
    end = max((times.cured for times in earliest.values()), default=begin)
    latest = _latest(order, working_time, end)
    by_urgency = _in_order(tasks, lambda task: (latest[task.id].start, given[task.id]))
    planned = _with_crew(by_urgency, working_time, crew, begin)
    waits_for, critical = _chains(order, working_time, earliest, end)
    needed = {need for task in tasks for need in task.needs}
    # A milestone may stand behind the task that is cured last: the path goes through to it.
    last = next((one.id for one in order if earliest[one.id].cured == end and one.id not in needed), None)
    return Plan(
        tasks=tuple(
            PlannedTask(
                task,
                earliest[task.id],
                latest[task.id],
                planned[task.id],
                working_time.between(earliest[task.id].start, latest[task.id].start),
                task.id in critical,
            )
            for task in order
        ),
        start=begin,
        end=end,
        planned_end=max((times.cured for times in planned.values()), default=begin),
        critical_path=() if last is None else _chain(waits_for, last),
        over_crew=tuple(task.id for task in order if task.work and task.crew > crew),
        waits_for=waits_for,
    )


def _circles(tasks: Iterable[Task]) -> Iterator[tuple[str, ...]]:
    needs = {task.id: task.needs for task in tasks}
    while True:
        try:
            TopologicalSorter(needs).prepare()
        except CycleError as error:
            circle: list[str] = error.args[1][:0:-1]
            first = next(circle.index(one) for one in needs if one in circle)
            yield (*circle[first:], *circle[: first + 1])
            # The circle's tasks are taken out, so that other circles are found too.
            needs = {one: used for one, used in needs.items() if one not in circle}
        else:
            return


def _in_order(tasks: Iterable[Task], rank: Callable[[Task], Any]) -> list[Task]:
    """Return the tasks in an order that needs allow; of those that could come next, the lowest rank does."""
    by_id = {task.id: task for task in tasks}
    sorter = TopologicalSorter({task.id: task.needs for task in by_id.values()})
    sorter.prepare()
    ready: list[tuple[Any, str]] = []
    order: list[Task] = []
    while sorter.is_active():
        for one in sorter.get_ready():
            heappush(ready, (rank(by_id[one]), one))
        _, following = heappop(ready)
        order.append(by_id[following])
        sorter.done(following)
    return order


def _times(task: Task, working_time: WorkingTime, ready: Moment) -> Times:
    """Return the times of a task that begins as soon as can be once it is ready."""
    start = working_time.next_moment(ready) if task.work else ready
    finish = working_time.finish(start, task.work)
    return Times(start, finish, finish + task.cure)


def _earliest(order: Iterable[Task], working_time: WorkingTime, begin: Moment) -> dict[str, Times]:
    earliest: dict[str, Times] = {}
    for task in order:
        ready = max((earliest[need].cured for need in task.needs), default=begin)
        earliest[task.id] = _times(task, working_time, ready)
    return earliest


def _latest(order: Sequence[Task], working_time: WorkingTime, end: Moment) -> dict[str, Times]:
    latest: dict[str, Times] = {}
    cured_by = dict.fromkeys((task.id for task in order), end)
    for task in reversed(order):
        start = working_time.latest_start(cured_by[task.id] - task.cure, task.work)
        latest[task.id] = _times(task, working_time, start)
        for need in task.needs:
            cured_by[need] = min(cured_by[need], start)
    return latest


def _with_crew(
    by_urgency: Iterable[Task], working_time: WorkingTime, crew: int, begin: Moment
) -> dict[str, Times]:
    planned: dict[str, Times] = {}
    # People taken and set free, by the count of working minutes: nights and weekends are not in it.
    changes: dict[int, int] = {}
    for task in by_urgency:
        ready = max((planned[need].cured for need in task.needs), default=begin)
        people = min(task.crew, crew)
        if task.work:
            first = _first_room(changes, working_time.count(ready), task.work, crew - people)
            changes[first] = changes.get(first, 0) + people
            changes[first + task.work] = changes.get(first + task.work, 0) - people
            ready = working_time.moment(first)
        planned[task.id] = _times(task, working_time, ready)
    return planned


def _first_room(changes: Mapping[int, int], ready: int, work: int, most: int) -> int:
    """Return the first count of working minutes, `ready` or later, at which the work finds its people.

    All through it no more than `most` people may be taken by others.
    """
    first, taken = ready, 0
    for at in sorted(changes):
        if taken > most:
            first = max(first, at)
        elif at >= first + work:
            break
        taken += changes[at]
    return first


def _chains(
    order: Sequence[Task], working_time: WorkingTime, earliest: Mapping[str, Times], end: Moment
) -> tuple[dict[str, str | None], set[str]]:
    """Return for each task the need that sets its start, and the tasks that stand on a longest chain.

    Of several needs that set it, the one that could be done least later counts: a cure that ends at night
    leaves its work an hour or two, work that stops in the evening has none.
    """
    cures = {task.id: task.cure for task in order}
    waits_for: dict[str, str | None] = {}
    critical = {one for one, times in earliest.items() if times.cured == end}
    for task in reversed(order):
        start = earliest[task.id].start
        room = {
            need: working_time.between(earliest[need].finish, start - cures[need])
            for need in task.needs
            if _times(task, working_time, earliest[need].cured).start == start
        }
        waits_for[task.id] = min(room, key=room.__getitem__, default=None)
        if task.id in critical:
            critical.update(need for need in room if room[need] == min(room.values()))
    return waits_for, critical


def _chain(waits_for: Mapping[str, str | None], last: str) -> tuple[str, ...]:
    chain = [last]
    while (need := waits_for[chain[-1]]) is not None:
        chain.append(need)
    return tuple(reversed(chain))
