"""Work laid into working time, against days added up one by one."""

from __future__ import annotations

from datetime import date, datetime

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kb.plan.calendar import Moment, WorkingTime, WorkingTimeError, datetime_of, moment_of

YARD = WorkingTime()
ROUND_THE_CLOCK = WorkingTime(frozenset(range(7)), 0, 24 * 60)
EARLY_SATURDAY = WorkingTime(frozenset({5}), 6 * 60, 90)


def at(text: str) -> Moment:
    """Return the moment of a date and time, such as '2026-03-06 15:30'."""
    when = datetime.fromisoformat(text)
    return moment_of(when.date()) + when.hour * 60 + when.minute


def worked(time: WorkingTime, first: Moment, last: Moment) -> int:
    """Return the working minutes of a stretch, day by day of the calendar."""
    total = 0
    for day in range(datetime_of(first).toordinal(), datetime_of(last).toordinal() + 1):
        if date.fromordinal(day).weekday() in time.weekdays:
            begin = moment_of(date.fromordinal(day)) + time.day_start
            total += max(0, min(last, begin + time.day_length) - max(first, begin))
    return total


@st.composite
def working_times(draw: st.DrawFn) -> WorkingTime:
    day_start = draw(st.integers(0, 24 * 60 - 1))
    return WorkingTime(
        draw(st.frozensets(st.integers(0, 6), min_size=1)),
        day_start,
        draw(st.integers(1, 24 * 60 - day_start)),
    )


times = st.one_of(st.just(YARD), working_times())
moments = st.integers(at("2026-01-01 00:00"), at("2027-01-01 00:00"))
works = st.integers(1, 5_000)
calm = settings(deadline=None)


# ---- by hand, in March 2026: the 2nd is a Monday, the 6th a Friday


@pytest.mark.parametrize(
    ("time", "moment", "following"),
    [
        (YARD, "2026-03-06 07:59", "2026-03-06 08:00"),
        (YARD, "2026-03-06 08:00", "2026-03-06 08:00"),
        (YARD, "2026-03-06 15:59", "2026-03-06 15:59"),
        (YARD, "2026-03-06 16:00", "2026-03-09 08:00"),
        (YARD, "2026-03-08 12:00", "2026-03-09 08:00"),
        (EARLY_SATURDAY, "2026-03-02 00:00", "2026-03-07 06:00"),
        (EARLY_SATURDAY, "2026-03-07 07:30", "2026-03-14 06:00"),
        (ROUND_THE_CLOCK, "2026-03-08 03:33", "2026-03-08 03:33"),
    ],
)
def test_work_begins_at_the_next_working_moment(time: WorkingTime, moment: str, following: str) -> None:
    assert time.next_moment(at(moment)) == at(following)


@pytest.mark.parametrize(
    ("time", "start", "work", "finish"),
    [
        (YARD, "2026-03-06 15:00", 60, "2026-03-06 16:00"),
        (YARD, "2026-03-06 15:00", 61, "2026-03-09 08:01"),
        (YARD, "2026-03-07 15:00", 30, "2026-03-09 08:30"),
        (YARD, "2026-03-02 08:00", 5 * 480, "2026-03-06 16:00"),
        (YARD, "2026-03-02 12:00", 5 * 480, "2026-03-09 12:00"),
        (EARLY_SATURDAY, "2026-03-07 06:00", 100, "2026-03-14 06:10"),
        (ROUND_THE_CLOCK, "2026-03-07 22:00", 180, "2026-03-08 01:00"),
    ],
)
def test_work_stops_overnight_and_over_the_weekend(
    time: WorkingTime, start: str, work: int, finish: str
) -> None:
    assert time.finish(at(start), work) == at(finish)


@pytest.mark.parametrize(
    ("finish", "work", "start"),
    [
        ("2026-03-06 16:00", 60, "2026-03-06 15:00"),
        ("2026-03-08 12:00", 60, "2026-03-06 15:00"),
        ("2026-03-09 08:00", 60, "2026-03-06 15:00"),
        ("2026-03-09 08:01", 60, "2026-03-06 15:01"),
        ("2026-03-09 09:00", 60, "2026-03-09 08:00"),
        ("2026-03-09 09:00", 61, "2026-03-06 15:59"),
    ],
)
def test_work_begins_at_the_latest_so_that_it_is_done_in_time(finish: str, work: int, start: str) -> None:
    assert YARD.latest_start(at(finish), work) == at(start)


def test_no_work_is_done_at_once_and_at_any_hour() -> None:
    night = at("2026-03-08 03:00")

    assert YARD.finish(night, 0) == night
    assert YARD.latest_start(night, 0) == night


def test_a_moment_is_a_date_and_time_of_the_yard() -> None:
    assert datetime_of(at("2026-03-06 15:30")) == datetime(2026, 3, 6, 15, 30)


@pytest.mark.parametrize(
    ("weekdays", "day_start", "day_length", "field"),
    [
        ([], 480, 480, "weekdays"),
        ([0, 7], 480, 480, "weekdays"),
        ([-1], 480, 480, "weekdays"),
        ([0], -1, 480, "day_start"),
        ([0], 24 * 60, 1, "day_start"),
        ([0], 480, 0, "day_length"),
        ([0], 480, 16 * 60 + 1, "day_length"),
    ],
)
def test_a_working_time_that_cannot_be_is_refused(
    weekdays: list[int], day_start: int, day_length: int, field: str
) -> None:
    with pytest.raises(WorkingTimeError) as refused:
        WorkingTime(frozenset(weekdays), day_start, day_length)

    assert refused.value.field == field


# ---- any working time


@calm
@given(times, moments, moments)
def test_minutes_between_moments_are_those_of_each_day_added_up(
    time: WorkingTime, one: Moment, other: Moment
) -> None:
    first, last = sorted((one, other))

    assert time.between(first, last) == worked(time, first, last)
    assert time.between(last, first) == -worked(time, first, last)


@calm
@given(times, moments)
def test_the_next_moment_is_a_working_one_with_none_before_it(time: WorkingTime, moment: Moment) -> None:
    following = time.next_moment(moment)

    assert following >= moment
    assert worked(time, moment, following) == 0
    assert worked(time, following, following + 1) == 1


@calm
@given(times, moments, works)
def test_work_is_done_with_its_last_working_minute(time: WorkingTime, start: Moment, work: int) -> None:
    finish = time.finish(start, work)

    assert worked(time, start, finish) == work
    assert worked(time, start, finish - 1) == work - 1


@calm
@given(times, moments, works)
def test_a_minute_after_the_latest_start_is_too_late(time: WorkingTime, by: Moment, work: int) -> None:
    start = time.latest_start(by, work)

    assert worked(time, start, by) == work
    assert worked(time, start + 1, by) == work - 1


@calm
@given(times, moments, works)
def test_latest_start_is_the_inverse_of_finish(time: WorkingTime, moment: Moment, work: int) -> None:
    start = time.next_moment(moment)
    finish = time.finish(start, work)

    assert time.latest_start(finish, work) == start
    assert time.finish(time.latest_start(finish, work), work) == finish
    assert time.finish(time.latest_start(moment, work), work) <= moment


@given(moments)
def test_round_the_clock_every_minute_counts(moment: Moment) -> None:
    assert ROUND_THE_CLOCK.next_moment(moment) == moment
    assert ROUND_THE_CLOCK.finish(moment, 100) == moment + 100
    assert ROUND_THE_CLOCK.latest_start(moment, 100) == moment - 100
