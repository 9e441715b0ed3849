"""A book's procedures as a plan: what becomes a task, the yard's hours, the chains to hold points."""

from __future__ import annotations

from datetime import date, datetime
from typing import TYPE_CHECKING

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kb.content.book import MODEL
from kb.plan.calendar import WorkingTime, datetime_of
from kb.plan.sequence import PlannedTask, plan
from kb.plan.work import BuildPlan, build_plan
from kb.plan.yard import Yard
from kb.problem import BookError
from kb.reckon import edition_problems, open_book

if TYPE_CHECKING:
    from pathlib import Path

    from tests.conftest import BookMaker

HOUR = 60
MONDAY = date(2026, 3, 2)
YARD = """\
yard:
  crew: 2
  working_days: [mon, tue, wed, thu, fri]
  day_start: 7 hr 30 min
  day_length: 8 hr
"""


def page(head: str, body: str = "") -> str:
    return f"---\n{head}\n---\n{body}"


def hold(name: str, is_hold: str = "yes") -> str:
    return f"```measure {name}\nwhat: Places that are soft\naccept: value = 0\nhold: {is_hold}\n```\n"


def planned(root: Path, start: date | None = None, hull: str = "") -> BuildPlan:
    opened = open_book(root)
    edition = opened.book.hull_edition(hull) if hull else MODEL
    done = opened.evaluate(edition)
    assert edition_problems(opened, done) == []
    return build_plan(opened.book, done, start)


def tasks(built: BuildPlan) -> dict[str, PlannedTask]:
    return {one.task.id: one for one in built.plan.tasks}


def starts(built: BuildPlan) -> dict[str, str]:
    return {one.task.id: f"{datetime_of(one.planned.start):%a %H:%M}" for one in built.plan.tasks}


# ---- what becomes a task


def test_pages_with_a_stage_are_tasks_in_the_order_of_the_build(make_book: BookMaker) -> None:
    built = planned(
        make_book(
            {
                "content/a.md": page("title: Wire\nnumber: S-10\nstage: systems"),
                "content/b.md": page("title: Pipe\nnumber: S-9\nstage: systems\ncrew: 3\ntime: 90 min"),
                "content/c.md": page("title: Lay up\nnumber: H-1\nstage: hull\ntime: 2 hr\ncure: 1 day"),
                "content/d.md": page("title: How to read this"),
                "content/e.md": page("title: Not yet\nstage: hull\nvisibility: private"),
            }
        )
    )

    found = [(one.task.title, one.task.crew, one.task.work, one.task.cure) for one in built.plan.tasks]
    assert found == [("Lay up", 1, 120, 1440), ("Pipe", 3, 90, 0), ("Wire", 1, 0, 0)]
    assert list(built.pages) == ["c", "b", "a"]


def test_a_part_of_a_minute_counts_as_a_whole_one(make_book: BookMaker) -> None:
    built = planned(make_book({"content/a.md": page("title: A\nstage: hull\ntime: 61 s\ncure: 1 s")}))

    assert (built.plan.tasks[0].task.work, built.plan.tasks[0].task.cure) == (2, 1)


def test_a_need_is_the_page_or_the_page_of_the_measurement_that_it_names(make_book: BookMaker) -> None:
    built = planned(
        make_book(
            {
                "content/a.md": page("title: A\nstage: hull", hold("a_soft") + hold("a_white")),
                "content/b.md": page("title: B\nstage: hull"),
                "content/c.md": page("title: C\nstage: hull\nneeds: [a_soft, b, a_white, a]"),
            }
        )
    )

    assert {name: one.task.needs for name, one in tasks(built).items()} == {
        "a": (),
        "b": (),
        "c": ("a", "b"),
    }


def test_what_is_needed_through_a_page_that_is_no_procedure_is_needed(make_book: BookMaker) -> None:
    built = planned(
        make_book(
            {
                "content/a.md": page("title: A\nstage: hull"),
                "content/drawing.md": page("title: The drawing\nneeds: [list, a]"),
                "content/list.md": page("title: The list\nneeds: [a]"),
                "content/b.md": page("title: B\nstage: hull\nneeds: [drawing, list]"),
            }
        )
    )

    assert tasks(built)["b"].task.needs == ("a",)


def test_a_book_without_stages_has_an_empty_plan(make_book: BookMaker) -> None:
    built = planned(make_book({"content/a.md": page("title: A")}))

    assert built.plan.tasks == ()
    assert built.plan.critical_path == ()


# ---- the yard's hours, by hand
#
# Two people; Monday to Friday, 7:30 to 15:30. Lay up: six hours from Monday 7:30, done 13:30, cured for 24 hr
# until Tuesday 13:30. Trim: one hour after that. Paint needs the stand, 22 hours of one person from Monday
# 7:30: 8 + 8 + 6, done Wednesday 13:30. Paint takes four hours, two on Wednesday and two on Thursday until
# 9:30, and cures 48 hr until Saturday 9:30, when nobody works: the float begins on Monday 7:30.

BOAT = {
    "content/inputs/yard.yml": YARD,
    "content/lay-up.md": page("title: Lay up\nnumber: H-1\nstage: hull\ntime: 6 hr\ncure: 24 hr"),
    "content/trim.md": page(
        "title: Trim\nnumber: H-2\nstage: hull\ntime: 1 hr\nneeds: [lay-up]", hold("trim_soft")
    ),
    "content/stand.md": page("title: Build the stand\nnumber: H-3\nstage: hull\ntime: 22 hr"),
    "content/paint.md": page(
        "title: Paint\nnumber: S-1\nstage: systems\ntime: 4 hr\ncure: 48 hr\nneeds: [stand, trim_soft]",
        hold("paint_thin") + hold("paint_runs", "no"),
    ),
    "content/float.md": page(
        "title: Float\nnumber: W-1\nstage: water test\ntime: 3 hr\nneeds: [paint]", hold("float_weep")
    ),
}


def test_work_is_laid_into_the_yards_hours_and_cures_run_through_nights_and_weekends(
    make_book: BookMaker,
) -> None:
    built = planned(make_book(BOAT), MONDAY)

    assert starts(built) == {
        "lay-up": "Mon 07:30",
        "stand": "Mon 07:30",
        "trim": "Tue 13:30",
        "paint": "Wed 13:30",
        "float": "Mon 07:30",
    }
    assert datetime_of(tasks(built)["paint"].planned.finish) == datetime(2026, 3, 5, 9, 30)
    assert datetime_of(tasks(built)["paint"].planned.cured) == datetime(2026, 3, 7, 9, 30)
    assert datetime_of(built.plan.planned_end) == datetime(2026, 3, 9, 10, 30)
    assert built.plan.critical_path == ("stand", "paint", "float")


def test_without_a_first_day_the_same_plan_is_told_in_working_days(make_book: BookMaker) -> None:
    built = planned(make_book(BOAT))

    told = {one.task.id: built.told(one.planned.start) for one in built.plan.tasks}
    assert told == {
        "lay-up": "day 1, 07:30",
        "stand": "day 1, 07:30",
        "trim": "day 2, 13:30",
        "paint": "day 3, 13:30",
        "float": "day 6, 07:30",
    }
    # Saturday is no working day: it is told as Monday, when work can go on.
    assert built.told(tasks(built)["paint"].planned.cured) == "day 6, 07:30"
    # A cure that ends on a working day before or after hours is told as it is.
    assert built.told(tasks(built)["lay-up"].planned.cured) == "day 2, 13:30"


def test_with_a_first_day_it_is_told_in_dates(make_book: BookMaker) -> None:
    built = planned(make_book(BOAT), MONDAY)

    assert built.told(tasks(built)["paint"].planned.cured) == "Sat 2026-03-07 09:30"


def test_a_first_day_on_which_nobody_works_begins_on_the_next_working_day(make_book: BookMaker) -> None:
    built = planned(make_book(BOAT), date(2026, 2, 28))

    assert datetime_of(built.plan.start) == datetime(2026, 3, 2, 7, 30)


def test_without_the_yards_inputs_it_works_eight_hours_from_eight_with_people_enough(
    make_book: BookMaker,
) -> None:
    files = {f"content/{name}.md": page(f"title: {name}\nstage: hull\ncrew: 9\ntime: 9 hr") for name in "abc"}
    built = planned(make_book(files), MONDAY)

    assert set(starts(built).values()) == {"Mon 08:00"}
    assert datetime_of(built.plan.planned_end) == datetime(2026, 3, 3, 9)
    assert built.yard.crew is None
    assert built.plan.over_crew == ()


def test_a_hull_has_its_own_crew(make_book: BookMaker) -> None:
    files = {
        **BOAT,
        "content/hulls/N-1/hull.yml": "yard:\n  crew: 1\n",
        "content/lay-up.md": page("title: Lay up\nnumber: H-1\nstage: hull\ntime: 6 hr\ncrew: 2"),
    }
    root = make_book(files)

    assert planned(root).plan.over_crew == ()
    assert planned(root, hull="N-1").plan.over_crew == ("lay-up",)


# ---- what is wrong with the yard's hours

WRONG = {
    "crew: 0": "2:9: '0' is not a number of people; write a count such as 5",
    "crew: 2.5": "2:9: '2.5' is not a number of people; write a count such as 5",
    "crew: 3 hr": "2:9: '3 hr' is not a number of people; write a count such as 5",
    "crew: all": "2:9: 'all' is not a number of people; write a count such as 5",
    "working_days: [mon, tues]": "2:23: 'tues' is no day of the week; did you mean 'tue'?",
    "working_days: [mon, 5]": "2:23: '5' is no day of the week; "
    "the days are mon, tue, wed, thu, fri, sat, sun",
    "working_days: []": "2:17: no day is a working day; name one at least",
    "working_days: mon": "2:17: 'mon' is no list of days; write a list such as [mon, tue, wed, thu, fri]",
    "day_start: 7": "2:14: '7' is not a time; write one such as 7 hr 30 min",
    "day_start: 7 ft": "2:14: '7 ft' is not a time; write one such as 7 hr 30 min",
    "day_start: 25 hr": "2:14: '25 hr' is not a time of the day; "
    "write how long after midnight work begins, such as 7 hr 30 min",
    "day_start: -1 hr": "2:14: '-1 hr' is not a time of the day; "
    "write how long after midnight work begins, such as 7 hr 30 min",
    "day_start: 20 hr": "2:14: the working day ends after midnight; let it begin earlier or be shorter",
    "day_length: 0 hr": "2:15: a working day of 0 min has no work; write more than 0",
    "day_length: 17 hr": "2:15: the working day ends after midnight; let it begin earlier or be shorter",
    "day_length: long": "2:15: 'long' is not a time; write one such as 8 hr",
}


@pytest.mark.parametrize(("line", "says"), WRONG.items(), ids=WRONG.keys())
def test_hours_and_a_crew_that_cannot_be_are_told_with_their_place(
    make_book: BookMaker, line: str, says: str
) -> None:
    opened = open_book(make_book({"content/inputs/yard.yml": f"yard:\n  {line}\n"}))
    done = opened.evaluate()

    expected = [f"content/inputs/yard.yml:{says}"]
    assert [str(problem) for problem in edition_problems(opened, done)] == expected
    with pytest.raises(BookError) as refused:
        build_plan(opened.book, done)
    assert [str(problem) for problem in refused.value.problems] == expected


def test_all_that_is_wrong_with_the_hours_is_told_at_once(make_book: BookMaker) -> None:
    yard = "yard:\n  crew: no\n  working_days: [son, mun]\n  day_start: late\n  day_length: short\n"
    opened = open_book(make_book({"content/inputs/yard.yml": yard}))

    lines = [problem.place.line for problem in edition_problems(opened, opened.evaluate())]
    assert lines == [2, 3, 3, 4, 5]


def test_needs_that_go_in_a_circle_are_no_plan(make_book: BookMaker) -> None:
    files = {
        "content/a.md": page("title: A\nstage: hull\nneeds: [b]"),
        "content/b.md": page("title: B\nstage: hull\nneeds: [a]"),
    }
    opened = open_book(make_book(files))

    with pytest.raises(BookError, match="wait for each other"):
        build_plan(opened.book, opened.evaluate())


# ---- a cure in a page's head


@pytest.mark.parametrize(
    ("written", "says"),
    [
        ("24", "'24' is not a time; write one such as 3 hr or 45 min"),
        ("3 ft", "'3 ft' is not a time; write one such as 3 hr or 45 min"),
        ("-1 hr", "'-1 hr' is not a time; write one such as 3 hr or 45 min"),
        ("366 day", "'366 day' is longer than a year; write one such as 3 hr or 45 min"),
    ],
)
def test_a_cure_that_cannot_be_is_told_with_its_place(make_book: BookMaker, written: str, says: str) -> None:
    opened = open_book(make_book({"content/a.md": page(f"title: A\ncure: {written}")}))

    assert [str(problem) for problem in opened.problems] == [f"content/a.md:3:7: {says}"]


# ---- hold points


def test_the_chain_to_each_hold_point_is_the_longest_that_ends_on_its_page(make_book: BookMaker) -> None:
    built = planned(make_book(BOAT))

    assert {one.measure.name: one.chain for one in built.hold_points} == {
        "trim_soft": ("lay-up", "trim"),
        "paint_thin": ("stand", "paint"),
        "float_weep": ("stand", "paint", "float"),
    }


def test_a_hold_point_that_an_edition_does_not_have_has_no_chain(make_book: BookMaker) -> None:
    body = f":::when options.teak\n{hold('teak_soft')}:::\n\n{hold('deck_soft')}"
    root = make_book(
        {
            "content/a.md": page("title: A\nstage: hull\ntime: 1 hr", body),
            "content/inputs/options/teak.yml": "teak:\n  wide: 2 in\n",
            "content/hulls/N-1/hull.yml": "options: [teak]\n",
        }
    )

    assert [one.measure.name for one in planned(root).hold_points] == ["deck_soft"]
    assert [one.measure.name for one in planned(root, hull="N-1").hold_points] == ["teak_soft", "deck_soft"]


# ---- working days


@given(
    st.sets(st.integers(0, 6), min_size=1),
    st.integers(0, 23 * HOUR),
    st.integers(1, 24 * HOUR),
    st.integers(0, 10**6),
)
@settings(deadline=None)
def test_a_working_minute_is_told_by_its_day_and_its_time(
    days: set[int], day_start: int, day_length: int, count: int
) -> None:
    time = WorkingTime(frozenset(days), day_start, min(day_length, 24 * HOUR - day_start))
    built = BuildPlan(plan([], time, 1, 0), {}, Yard(time))

    day, clock = built.day_time(time.moment(count))

    hours, minutes = map(int, clock.split(":"))
    assert (day - 1) * time.day_length + hours * HOUR + minutes - time.day_start == count


@pytest.mark.parametrize(
    ("length", "told"), [(8 * HOUR, "day 1, 24:00"), (7 * HOUR, "day 1, 23:00")], ids=["midnight", "before"]
)
def test_the_end_of_a_late_day_belongs_to_that_day(length: int, told: str) -> None:
    # Fridays only, from 16:00: Saturday's first midnight is Friday's last.
    time = WorkingTime(frozenset([4]), 16 * HOUR, length)
    built = BuildPlan(plan([], time, 1, 0), {}, Yard(time))

    assert built.told(time.finish(built.plan.start, length)) == told
