"""Working time: which minutes of a week the yard works, and work laid into them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, timedelta

Moment = int
"""Whole minutes since midnight of Monday, 1 January of the year 1."""
DAY = 24 * 60
"""Minutes of a day."""
WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")


class WorkingTimeError(ValueError):
    """A working time that cannot be: the field, what is wrong with it, and what to do."""

    def __init__(self, field: str, what: str, fix: str) -> None:
        self.field = field
        self.what = what
        self.fix = fix
        super().__init__(f"{what}; {fix}")


@dataclass(frozen=True, slots=True)
class WorkingTime:
    """The hours a yard works: the same ones on each of its weekdays.

    `weekdays` counts from 0, Monday, to 6; `day_start` is in minutes after midnight, `day_length` in working
    minutes. Raises `WorkingTimeError` where nobody would ever work, or work would run past midnight.
    """

    weekdays: frozenset[int] = frozenset(range(5))
    day_start: int = 8 * 60
    day_length: int = 8 * 60

    def __post_init__(self) -> None:
        if not self.weekdays:
            raise WorkingTimeError("weekdays", "no day is a working day", "name one at least")
        if wrong := sorted(self.weekdays - set(range(7))):
            raise WorkingTimeError(
                "weekdays", f"{wrong[0]} is not a weekday", "write 0, Monday, to 6, Sunday"
            )
        if not 0 <= self.day_start < DAY:
            raise WorkingTimeError(
                "day_start", f"{self.day_start} min is not a time of the day", "write 0:00 to 23:59"
            )
        if self.day_length <= 0:
            raise WorkingTimeError(
                "day_length", f"a working day of {self.day_length} min has no work", "write more than 0"
            )
        if self.day_start + self.day_length > DAY:
            raise WorkingTimeError(
                "day_length", "the working day ends after midnight", "let it begin earlier or be shorter"
            )

    def count(self, moment: Moment) -> int:
        """Return how many working minutes lie between moment 0 and this one; below 0 before it."""
        week, day_of_week = divmod(moment // DAY, 7)
        days = week * len(self.weekdays) + sum(day < day_of_week for day in self.weekdays)
        today = min(max(moment % DAY - self.day_start, 0), self.day_length)
        return days * self.day_length + (today if day_of_week in self.weekdays else 0)

    def moment(self, count: int) -> Moment:
        """Return the moment at which a working minute begins, by how many of them lie before it."""
        days, minute = divmod(count, self.day_length)
        week, nth = divmod(days, len(self.weekdays))
        return (week * 7 + sorted(self.weekdays)[nth]) * DAY + self.day_start + minute

    def next_moment(self, moment: Moment) -> Moment:
        """Return the first moment, this one or a later, at which work can begin."""
        return self.moment(self.count(moment))

    def finish(self, start: Moment, work: int) -> Moment:
        """Return when so many working minutes are done that begin at a moment, or at the next working one.

        No work is done at once, at any hour.
        """
        return self.moment(self.count(start) + work - 1) + 1 if work else start

    def latest_start(self, finish: Moment, work: int) -> Moment:
        """Return the last moment at which so many working minutes can begin and be done by `finish`.

        No work can begin at `finish`, at any hour.
        """
        return self.moment(self.count(finish) - work) if work else finish

    def between(self, first: Moment, last: Moment) -> int:
        """Return the working minutes from one moment to another; below 0 where the other comes earlier."""
        return self.count(last) - self.count(first)


def moment_of(day: date) -> Moment:
    """Return the midnight that begins a day."""
    return (day.toordinal() - 1) * DAY


def datetime_of(moment: Moment) -> datetime:
    """Return a moment by the yard's own clock. Raises `OverflowError` past the year 9999."""
    return datetime.min + timedelta(minutes=moment)
