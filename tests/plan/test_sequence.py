"""Plans against a table by hand, the longest path of another library, and what must hold of any plan."""

from __future__ import annotations

from datetime import datetime
from itertools import pairwise

import networkx as nx
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kb.plan.calendar import Moment, WorkingTime, datetime_of, moment_of
from kb.plan.sequence import CircleError, Plan, PlannedTask, Task, plan

HOUR = 60
YARD = WorkingTime()
ROUND_THE_CLOCK = WorkingTime(frozenset(range(7)), 0, 24 * 60)
calm = settings(deadline=None)


def at(text: str) -> Moment:
    """Return the moment of a date and time, such as '2026-03-06 15:30'."""
    when = datetime.fromisoformat(text)
    return moment_of(when.date()) + when.hour * 60 + when.minute


MONDAY = at("2026-03-02 08:00")
FRIDAY = at("2026-03-06 08:00")


def task(name: str, hours: float, needs: str = "", *, cure: float = 0, crew: int = 1) -> Task:
    """Return a task by its hours and the names it needs, which have a space between them."""
    return Task(name, name, int(hours * HOUR), int(cure * HOUR), crew, tuple(needs.split()))


def by_name(done: Plan) -> dict[str, PlannedTask]:
    return {one.task.id: one for one in done.tasks}


# ---- the table by hand
#
# Forward, from hour 0: a task starts when the last of its needs is done. Back, from hour 48: a task is done
# when the first of those that need it starts. All in working hours; slack is late start less early start.
#
#   task        hours  needs            early        late         slack
#   hull          24                     0 .. 24      0 .. 24       0
#   deck          16                     0 .. 16      8 .. 24       8
#   stringers      8   hull             24 .. 32     24 .. 32       0
#   tank-test      4                     0 ..  4     28 .. 32      28
#   tank           4   stringers,       32 .. 36     32 .. 36       0
#                      tank-test
#   hardware      12   deck             16 .. 28     24 .. 36       8
#   close-up       8   tank, hardware   36 .. 44     36 .. 44       0
#   water-test     4   close-up         44 .. 48     44 .. 48       0

BOAT = (
    task("hull", 24),
    task("deck", 16),
    task("stringers", 8, "hull"),
    task("tank-test", 4),
    task("tank", 4, "stringers tank-test"),
    task("hardware", 12, "deck"),
    task("close-up", 8, "tank hardware"),
    task("water-test", 4, "close-up"),
)
TABLE = {
    "hull": (0, 24, 0, 24, 0),
    "deck": (0, 16, 8, 24, 8),
    "stringers": (24, 32, 24, 32, 0),
    "tank-test": (0, 4, 28, 32, 28),
    "tank": (32, 36, 32, 36, 0),
    "hardware": (16, 28, 24, 36, 8),
    "close-up": (36, 44, 36, 44, 0),
    "water-test": (44, 48, 44, 48, 0),
}


@pytest.mark.parametrize("time", [YARD, ROUND_THE_CLOCK], ids=["yard", "round the clock"])
def test_early_late_and_slack_are_those_of_the_table_by_hand(time: WorkingTime) -> None:
    done = plan(BOAT, time, crew=9, start=MONDAY)

    found = {
        name: (
            time.between(MONDAY, one.earliest.start) / HOUR,
            time.between(MONDAY, one.earliest.finish) / HOUR,
            time.between(MONDAY, one.latest.start) / HOUR,
            time.between(MONDAY, one.latest.finish) / HOUR,
            one.slack / HOUR,
        )
        for name, one in by_name(done).items()
    }
    assert found == TABLE


def test_the_critical_path_is_the_chain_without_slack() -> None:
    done = plan(BOAT, YARD, crew=9, start=MONDAY)

    assert done.critical_path == ("hull", "stringers", "tank", "close-up", "water-test")
    assert {one.task.id for one in done.tasks if one.is_critical} == set(done.critical_path)


def test_the_table_falls_on_these_days() -> None:
    # 24 h are three days, Monday to Wednesday; Thursday stringers; Friday tank until noon, then close-up
    # until Monday noon; water test on Monday afternoon.
    done = plan(BOAT, YARD, crew=9, start=MONDAY)

    starts = {name: f"{datetime_of(one.earliest.start):%a %H:%M}" for name, one in by_name(done).items()}
    assert [starts[name] for name in done.critical_path] == [
        "Mon 08:00",
        "Thu 08:00",
        "Fri 08:00",
        "Fri 12:00",
        "Mon 12:00",
    ]
    assert done.end == at("2026-03-09 16:00")


@pytest.mark.parametrize(
    ("name", "chain"),
    [
        ("hull", ("hull",)),
        ("hardware", ("deck", "hardware")),
        ("tank", ("hull", "stringers", "tank")),
        ("close-up", ("hull", "stringers", "tank", "close-up")),
    ],
)
def test_the_longest_chain_leads_to_any_task(name: str, chain: tuple[str, ...]) -> None:
    assert plan(BOAT, YARD, crew=9, start=MONDAY).chain_to(name) == chain


# ---- order


def test_tasks_that_could_be_done_as_given_stay_as_given() -> None:
    done = plan(BOAT, YARD, crew=1, start=MONDAY)

    assert [one.task for one in done.tasks] == list(BOAT)


def test_a_task_given_too_early_moves_behind_what_it_needs_and_no_further() -> None:
    given = (task("a", 1, "c"), task("b", 1), task("c", 1), task("d", 1))

    assert [one.task.id for one in plan(given, YARD, crew=1, start=MONDAY).tasks] == ["b", "c", "a", "d"]


@pytest.mark.parametrize(
    ("given", "circles"),
    [
        ({"a": "a"}, [("a", "a")]),
        ({"a": "c", "b": "a", "c": "b", "d": "a"}, [("a", "c", "b", "a")]),
        ({"a": "", "b": "a e", "e": "b", "f": "g", "g": "f a"}, [("b", "e", "b"), ("f", "g", "f")]),
    ],
)
def test_every_circle_is_named_in_order_from_the_first_given(
    given: dict[str, str], circles: list[tuple[str, ...]]
) -> None:
    with pytest.raises(CircleError) as refused:
        plan([task(name, 1, needs) for name, needs in given.items()], YARD, crew=1, start=MONDAY)

    assert list(refused.value.circles) == circles


def test_a_need_that_is_no_task_is_refused() -> None:
    with pytest.raises(KeyError, match="mould"):
        plan([task("hull", 1, "mould")], YARD, crew=1, start=MONDAY)


def test_doubled_tasks_no_crew_and_time_below_nothing_are_refused() -> None:
    with pytest.raises(ValueError, match="same id"):
        plan([task("hull", 1), task("hull", 2)], YARD, crew=1, start=MONDAY)
    with pytest.raises(ValueError, match="crew of 0"):
        plan(BOAT, YARD, crew=0, start=MONDAY)
    with pytest.raises(ValueError, match=r"hull: .* below 0"):
        task("hull", 1, cure=-1)


# ---- cures and milestones


def test_a_cure_runs_over_the_weekend() -> None:
    # Friday 8:00 and 4 h of work is noon; 24 h on it is Saturday noon, and the next work begins on Monday.
    # The cure may end as late as Monday 8:00, so the work by Sunday 8:00, that is by Friday 16:00: 4 h later.
    given = (task("laminate", 4, cure=24), task("trim", 2, "laminate"))

    done = plan(given, YARD, crew=1, start=FRIDAY)

    laminate, trim = done.tasks
    assert laminate.earliest.cured == at("2026-03-07 12:00")
    assert trim.earliest.start == at("2026-03-09 08:00")
    assert laminate.latest.start == at("2026-03-06 12:00")
    assert laminate.slack == 4 * HOUR
    assert trim.slack == 0
    assert laminate.is_critical
    assert done.critical_path == ("laminate", "trim")


def test_a_cure_of_the_last_task_sets_the_end() -> None:
    # One hour and 30 h of cure is 31 h after 8:00: Tuesday 15:00, later than 14 working hours, Tuesday 14:00.
    given = (task("fit", 14), task("paint", 1, cure=30))

    done = plan(given, YARD, crew=2, start=MONDAY)

    assert done.end == at("2026-03-03 15:00")
    assert done.critical_path == ("paint",)
    assert by_name(done)["fit"].slack == HOUR


def test_of_two_that_hold_up_a_task_the_chain_follows_the_one_with_less_room() -> None:
    # Glue is done at 15:00 and cured at 3:00, rails at 16:00; both let the next begin on Tuesday 8:00, but
    # glue could be done an hour later.
    given = (task("glue", 7, cure=12), task("rails", 8), task("trim", 1, "glue rails"))

    done = plan(given, YARD, crew=2, start=MONDAY)

    assert done.critical_path == ("rails", "trim")
    assert by_name(done)["glue"].slack == HOUR
    assert not by_name(done)["glue"].is_critical


def test_the_chain_follows_what_sets_the_start_though_another_has_less_room() -> None:
    # Foam is done on Wednesday 16:00 and cured 50 h later, on Friday 18:00: trim begins on Monday. Fit is
    # done on Friday 14:00 and has two hours of room; without foam trim would begin there.
    given = (task("foam", 24, cure=50), task("fit", 38), task("trim", 1, "foam fit"))

    done = plan(given, YARD, crew=2, start=MONDAY)

    assert by_name(done)["trim"].earliest.start == at("2026-03-09 08:00")
    assert done.critical_path == ("foam", "trim")
    assert by_name(done)["fit"].slack == 2 * HOUR


def test_a_milestone_is_reached_at_the_hour_when_its_needs_are_cured() -> None:
    given = (
        task("laminate", 8, cure=10),
        task("hull-done", 0, "laminate", crew=0),
        task("trim", 1, "hull-done"),
    )

    laminate, milestone, trim = plan(given, YARD, crew=1, start=MONDAY).tasks

    assert laminate.earliest.cured == at("2026-03-03 02:00")
    assert milestone.earliest.start == milestone.planned.cured == at("2026-03-03 02:00")
    assert trim.planned.start == at("2026-03-03 08:00")


def test_a_last_milestone_stands_at_the_end_of_the_day_and_of_the_path() -> None:
    done = plan((task("fit", 8), task("boat-done", 0, "fit")), YARD, crew=1, start=FRIDAY)

    assert done.end == at("2026-03-06 16:00")
    assert done.critical_path == ("fit", "boat-done")


def test_a_plan_begins_at_the_first_working_moment() -> None:
    done = plan((task("ready", 0), task("fit", 1)), YARD, crew=1, start=at("2026-03-07 00:00"))

    assert done.start == at("2026-03-09 08:00")
    assert {one.planned.start for one in done.tasks} == {done.start}


def test_a_plan_of_nothing_is_empty() -> None:
    done = plan((), YARD, crew=1, start=MONDAY)

    assert done.tasks == done.critical_path == ()
    assert done.end == done.planned_end == done.start == MONDAY


# ---- the crew


@pytest.mark.parametrize(
    ("given", "days"),
    [
        # Mast is needed for rig, so it goes first; then rig and deck are equally late and go as given. Deck
        # takes both people, so that rig has to wait for it, or it for rig.
        ("mast deck rig", {"mast": "Mon", "deck": "Tue", "rig": "Wed"}),
        ("mast rig deck", {"mast": "Mon", "rig": "Tue", "deck": "Wed"}),
    ],
)
def test_tasks_get_the_crew_by_latest_start_then_as_given(given: str, days: dict[str, str]) -> None:
    known = {"mast": task("mast", 8), "deck": task("deck", 8, crew=2), "rig": task("rig", 8, "mast")}

    done = plan([known[name] for name in given.split()], YARD, crew=2, start=MONDAY)

    assert {name: f"{datetime_of(one.planned.start):%a}" for name, one in by_name(done).items()} == days
    assert done.end == at("2026-03-03 16:00")
    assert done.planned_end == at("2026-03-04 16:00")


def test_the_urgent_task_goes_first_and_another_slips_into_the_hours_of_its_cure() -> None:
    # One person: hull Monday to 12:00, cured at 16:00; trim on Tuesday. Wiring, not urgent, fits in between.
    given = (task("wiring", 4), task("hull", 4, cure=4), task("trim", 8, "hull"))

    planned = by_name(plan(given, YARD, crew=1, start=MONDAY))

    assert planned["hull"].planned.start == MONDAY
    assert planned["trim"].planned.start == at("2026-03-03 08:00")
    assert planned["wiring"].planned.start == at("2026-03-02 12:00")


def test_a_task_for_more_people_than_there_are_is_planned_alone_and_named() -> None:
    given = (task("turn", 2, crew=5), task("fit", 1), task("wire", 1), task("show", 0, crew=5))

    done = plan(given, YARD, crew=2, start=MONDAY)

    planned = by_name(done)
    assert done.over_crew == ("turn",)
    others = (planned["fit"].planned, planned["wire"].planned)
    turn = planned["turn"].planned
    assert all(one.finish <= turn.start or one.start >= turn.finish for one in others)


# ---- any tasks


@st.composite
def task_lists(draw: st.DrawFn, most: int = 2_000, people: int = 4) -> list[Task]:
    """Draw tasks without circles, given in any order."""
    names = [f"t{number}" for number in range(draw(st.integers(1, 10)))]
    minutes = st.one_of(st.just(0), st.integers(0, most))
    tasks = [
        Task(
            name,
            name,
            draw(minutes),
            draw(minutes),
            draw(st.integers(0, people)),
            tuple(draw(st.lists(st.sampled_from(names[:number]), unique=True, max_size=3))) if number else (),
        )
        for number, name in enumerate(names)
    ]
    return draw(st.permutations(tasks))


times = st.sampled_from(
    [YARD, ROUND_THE_CLOCK, WorkingTime(frozenset({1, 5}), 0, 7), WorkingTime(frozenset({6}), 1_430, 10)]
)
starts = st.integers(at("2026-03-02 00:00"), at("2026-03-09 00:00"))
crews = st.integers(1, 5)


def network(tasks: list[Task]) -> nx.DiGraph:
    """Return tasks as arrows, each as long as its work and cure, between a common start and end."""
    graph = nx.DiGraph()
    for one in tasks:
        graph.add_edge("start", (one.id, 0), weight=0)
        graph.add_edge((one.id, 0), (one.id, 1), weight=one.work + one.cure)
        graph.add_edge((one.id, 1), "end", weight=0)
        graph.add_edges_from((((need, 1), (one.id, 0)) for need in one.needs), weight=0)
    return graph


@calm
@given(task_lists(), starts)
def test_round_the_clock_the_end_is_the_longest_path(tasks: list[Task], start: Moment) -> None:
    done = plan(tasks, ROUND_THE_CLOCK, crew=1, start=start)

    longest = nx.dag_longest_path_length(network(tasks))
    assert done.end - done.start == longest
    known = {one.id: one for one in tasks}
    assert sum(known[name].work + known[name].cure for name in done.critical_path) == longest
    assert all(need in known[name].needs for need, name in pairwise(done.critical_path))


@calm
@given(task_lists(), starts)
def test_round_the_clock_slack_is_what_the_longest_path_through_a_task_lacks(
    tasks: list[Task], start: Moment
) -> None:
    done = plan(tasks, ROUND_THE_CLOCK, crew=1, start=start)

    graph = network(tasks)
    longest = nx.dag_longest_path_length(graph)
    minutes = {one.id: one.work + one.cure for one in tasks}
    for one in done.tasks:
        begin, end = (one.task.id, 0), (one.task.id, 1)
        before = nx.dag_longest_path_length(graph.subgraph(nx.ancestors(graph, begin) | {begin}))
        after = nx.dag_longest_path_length(graph.subgraph(nx.descendants(graph, end) | {end}))
        lacks = longest - (before + minutes[one.task.id] + after)
        assert one.slack == lacks
        assert one.is_critical == (lacks == 0)
        assert sum(minutes[name] for name in done.chain_to(one.task.id)[:-1]) == before


@calm
@given(task_lists(), times, crews, starts)
def test_needs_and_working_time_are_always_kept(
    tasks: list[Task], time: WorkingTime, crew: int, start: Moment
) -> None:
    done = plan(tasks, time, crew, start)

    found = by_name(done)
    for one in done.tasks:
        for kind in (one.earliest, one.latest, one.planned):
            assert kind.start >= done.start
            assert time.between(kind.start, kind.finish) == one.task.work
            assert kind.cured - kind.finish == one.task.cure
            assert not one.task.work or time.between(kind.start, kind.start + 1) == 1
            assert not one.task.work or time.between(kind.finish - 1, kind.finish) == 1
        for need in one.task.needs:
            assert found[need].earliest.cured <= one.earliest.start
            assert found[need].latest.cured <= one.latest.start
            assert found[need].planned.cured <= one.planned.start
        assert one.earliest.start <= one.latest.start
        assert one.earliest.start <= one.planned.start
        assert one.latest.cured <= done.end
        assert one.slack >= 0
    assert done.planned_end == max(one.planned.cured for one in done.tasks)


@calm
@given(task_lists(), times, crews, starts)
def test_the_crew_is_never_exceeded(tasks: list[Task], time: WorkingTime, crew: int, start: Moment) -> None:
    done = plan(tasks, time, crew, start)

    working = [one for one in done.tasks if one.task.work]
    for one in working:
        now = one.planned.start
        there = [other for other in working if other.planned.start <= now < other.planned.finish]
        people = [other.task.crew for other in there if other.task.crew]
        assert sum(people) <= crew or len(people) == 1


@calm
@given(task_lists(), times, starts)
def test_a_crew_that_is_large_enough_holds_nothing_up(
    tasks: list[Task], time: WorkingTime, start: Moment
) -> None:
    everyone = max(1, sum(one.crew for one in tasks))

    assert all(one.planned == one.earliest for one in plan(tasks, time, everyone, start).tasks)


@calm
@given(task_lists(most=6), crews)
def test_no_task_could_begin_earlier_with_the_others_where_they_are(tasks: list[Task], crew: int) -> None:
    done = plan(tasks, ROUND_THE_CLOCK, crew, start=MONDAY)

    found = by_name(done)
    for one in done.tasks:
        people = min(one.task.crew, crew)
        ready = max((found[need].planned.cured for need in one.task.needs), default=done.start)
        others = [other for other in done.tasks if other is not one]
        for begin in range(ready, one.planned.start):
            most = max(
                sum(
                    min(other.task.crew, crew)
                    for other in others
                    if other.planned.start <= minute < other.planned.finish
                )
                for minute in range(begin, begin + one.task.work)
            )
            assert most + people > crew


@calm
@given(task_lists(), times, starts)
def test_the_critical_path_is_critical_and_each_waits_for_the_one_before(
    tasks: list[Task], time: WorkingTime, start: Moment
) -> None:
    done = plan(tasks, time, crew=1, start=start)

    found = by_name(done)
    first, last = found[done.critical_path[0]], found[done.critical_path[-1]]
    assert first.task.needs == ()
    assert last.earliest.cured == done.end
    assert all(found[name].is_critical for name in done.critical_path)
    for need, name in pairwise(done.critical_path):
        ready = found[need].earliest.cured
        begins = found[name].earliest.start
        assert begins == (time.next_moment(ready) if found[name].task.work else ready)


@calm
@given(task_lists(), times, crews, starts)
def test_the_latest_starts_are_as_late_as_can_be(
    tasks: list[Task], time: WorkingTime, crew: int, start: Moment
) -> None:
    done = plan(tasks, time, crew, start)

    for one in done.tasks:
        bounds = [other.latest.start for other in done.tasks if one.task.id in other.task.needs]
        later = one.latest.start + 1
        assert time.finish(later, one.task.work) + one.task.cure > min(bounds, default=done.end)
