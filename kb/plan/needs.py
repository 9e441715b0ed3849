"""What each procedure needs before it: other procedures, and measurements that must be accepted."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from graphlib import CycleError, TopologicalSorter
from itertools import pairwise

from kb.content.head import Named
from kb.content.page import Page
from kb.numbers.measures import Measure
from kb.problem import Problem, offer


@dataclass(frozen=True, slots=True)
class Need:
    """A need of a page: the page that it waits for, and the measurement there, if it names one."""

    named: Named
    page: Page
    measure: Measure | None = None


def needs_of(page: Page, pages: Mapping[str, Page], measures: Mapping[str, Measure]) -> Iterator[Need]:
    """Go through what a page needs; what is unknown is left out, and told by `need_problems`."""
    for named in page.head.needs:
        yield from needs_of_one(named, pages, measures)


def needs_of_one(named: Named, pages: Mapping[str, Page], measures: Mapping[str, Measure]) -> Iterator[Need]:
    """Go through what one name of a head means: a page, or a measurement and its page."""
    if named.text in pages:
        yield Need(named, pages[named.text])
    elif named.text in measures:
        measure = measures[named.text]
        yield Need(named, measure.page, measure)


def need_problems(pages: Sequence[Page], measures: Mapping[str, Measure]) -> Iterator[Problem]:
    """Find needs that are nothing in the book, and pages that wait for each other."""
    by_id = {page.id: page for page in pages}
    waits: dict[str, dict[str, Need]] = {}
    for page in pages:
        for named in page.head.needs:
            if named.text not in by_id and named.text not in measures:
                fix = offer(named.text, [*by_id, *measures], "name a page by its file, or a measurement")
                yield Problem(named.place, f"there is no procedure or measurement '{named.text}'", fix)
        waits[page.id] = {}
        for need in needs_of(page, by_id, measures):
            if need.page is page:
                what = f"this page waits for '{need.named.text}', which stands on it"
                yield Problem(need.named.place, what, "leave it out, or move the work to a page of its own")
            else:
                waits[page.id].setdefault(need.page.id, need)
    yield from _circles(waits)


def _circles(waits: dict[str, dict[str, Need]]) -> Iterator[Problem]:
    while True:
        try:
            TopologicalSorter(waits).prepare()
        except CycleError as error:
            circle: list[str] = error.args[1][::-1]
            steps = [f"{user} needs {used}" for user, used in pairwise(circle)]
            first = waits[circle[0]][circle[1]].named
            what = f"these procedures wait for each other: {', '.join(steps)}"
            yield Problem(first.place, what, "take one of the needs away")
            waits = {
                user: {used: need for used, need in needs.items() if used not in circle}
                for user, needs in waits.items()
                if user not in circle
            }
        else:
            return
