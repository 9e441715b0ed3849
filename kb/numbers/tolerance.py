"""Tolerance from the root inputs through the whole graph, by working the edition out at their ends.

The worst case is total, not block by block: one length feeds volume and mass alike. Every toleranced input
is put to both of its ends, alone; then those that a number rests on together: to all corners where they are
few, else to the two that its slopes point to. What lies outside of all those runs is not looked for.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from functools import partial
from math import hypot

from kb.calculators.bind import work_out
from kb.calculators.judge import Judged
from kb.content.book import Book, Edition
from kb.content.inputs import Input
from kb.content.page import Condition, LiveValue
from kb.language.quantity import Quantity
from kb.numbers.evaluate import Evaluation, conclude, evaluate, evaluate_again, judge_band
from kb.numbers.graph import Graph, followers
from kb.numbers.narrowing import Pattern, narrow_windows
from kb.numbers.narrowing import corners as all_corners
from kb.problem import BookError, Problem

_MOST_CORNERS = 256
"""Corners that are looked at; numbers that do not share an input share theirs."""
_LIMIT = "limit "


@dataclass(slots=True)
class _Ends:
    """A toleranced input: its two ends, what rests on it, and the sizes at each end.

    `blocks`, `fences` and `conditions` are given by their place in the order of all.
    """

    low: Quantity
    high: Quantity
    blocks: frozenset[int]
    fences: frozenset[str]
    conditions: frozenset[int]
    below: dict[str, float] = field(default_factory=dict)
    above: dict[str, float] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class _Run:
    """One evaluation at some ends, and which inputs stand at which."""

    done: Evaluation
    pattern: Pattern


class _Reach:
    """What rests on each input: blocks, limit fences and conditions."""

    def __init__(self, nominal: Evaluation, book: Book) -> None:
        self.nominal = nominal
        self.order = {name: at for at, name in enumerate(nominal.graph.order) if name in nominal.blocks}
        self.names = tuple(nominal.graph.order)
        self.conditions = [condition for page in book.pages for condition in page.conditions]
        self.rests_on = followers(nominal.graph)
        self.fences: dict[str, set[str]] = {}
        self.turns: dict[str, set[int]] = {}
        for name in nominal.limits:
            for used in nominal.graph.bindings.limits[name].rule.expression.names:
                self.fences.setdefault(self.source(used), set()).add(name)
        for at, condition in enumerate(self.conditions):
            for used in condition.expression.names:
                self.turns.setdefault(self.source(used), set()).add(at)

    def source(self, name: str) -> str:
        """Return the block that gives a name, or the name of an input."""
        first = name.partition(".")[0]
        return first if first in self.nominal.graph.bindings.blocks else name

    def ends(self, one: Input) -> _Ends:
        """Return the ends of an input, and what rests on it."""
        blocks = self.rests_on(one.path)
        sources = (one.path, *blocks)
        return _Ends(
            *_ends(one),
            frozenset(self.order[name] for name in blocks if name in self.order),
            frozenset[str]().union(*(self.fences.get(name, ()) for name in sources)),
            frozenset[int]().union(*(self.turns.get(name, ()) for name in sources)),
        )

    def at(self, ends: Mapping[str, _Ends], pattern: Pattern) -> _Run:
        """Work out what rests on some inputs, each at one of its ends."""
        some = [ends[path] for path in pattern]
        values = {path: ends[path].high if is_high else ends[path].low for path, is_high in pattern.items()}
        blocks = sorted(frozenset[int]().union(*(one.blocks for one in some)))
        fences = sorted(frozenset[str]().union(*(one.fences for one in some)))
        turns = sorted(frozenset[int]().union(*(one.conditions for one in some)))
        done = evaluate_again(
            self.nominal,
            values,
            [self.names[at] for at in blocks],
            fences,
            [self.conditions[at] for at in turns],
        )
        return _Run(done, pattern)


def evaluate_with_tolerance(book: Book, graph: Graph, edition: Edition) -> Evaluation:
    """Work an edition out; limits that a tolerance carries across their bound cannot be told."""
    nominal = evaluate(book, graph, edition)
    toleranced = list(_toleranced(nominal))
    if not toleranced:
        return nominal
    reach = _Reach(nominal, book)
    ends = {one.path: reach.ends(one) for one in toleranced}
    middle = _sizes(nominal)
    runs: list[_Run] = []
    for path, end in ends.items():
        for is_high, sizes in ((False, end.below), (True, end.above)):
            runs.append(reach.at(ends, {path: is_high}))
            sizes.update(_sizes(runs[-1].done))
    moving: dict[str, list[str]] = {}
    for path, end in ends.items():
        for name in end.above.keys() & end.below.keys():
            moving.setdefault(name, []).append(path)
    runs += [reach.at(ends, corner) for corner in _corners(nominal, ends, moving)]
    _lay_side_by_side(nominal, middle, runs)
    _lay_alone(nominal, middle, ends, moving)
    _lay_live(nominal, book, runs, ends)
    _lay_windows(nominal, reach, runs, ends)
    _note_crossings(nominal, reach.conditions)
    return nominal


def _toleranced(nominal: Evaluation) -> Iterator[Input]:
    used = {use.name for use in nominal.graph.uses}
    for path, one in nominal.inputs.values.items():
        if one.literal is not None and one.literal.is_toleranced and path in used:
            yield one


def _ends(one: Input) -> tuple[Quantity, Quantity]:
    literal = one.literal
    if literal is None:
        raise ValueError(f"{one.path} is no quantity")
    size = literal.quantity
    return Quantity(size.value - literal.minus, size.unit), Quantity(size.value + literal.plus, size.unit)


def _sizes(run: Evaluation) -> dict[str, float]:
    """Return every number and every margin of a run as plain floats."""
    sizes = {
        f"{name}.{one}": float(value.value)
        for name, result in run.blocks.items()
        for one, value in result.outcome.values.items()
        if isinstance(value, Quantity)
    }
    for name, judged in _limits(run).items():
        if judged.margin is not None:
            sizes[_LIMIT + name] = float(judged.margin.value)
    return sizes


def _limits(run: Evaluation) -> dict[str, Judged]:
    limits = {f"{name}.{one.name}": one for name, result in run.blocks.items() for one in result.limits}
    return {**limits, **run.limits}


def _corners(
    nominal: Evaluation, ends: Mapping[str, _Ends], moving: Mapping[str, list[str]]
) -> list[dict[str, bool]]:
    """Return the corners that are looked at: of few inputs all, of many those that the slopes point to.

    `moving` gives for each number and margin the inputs that it rests on. Two of them share a corner where
    they do not want one input at different ends.
    """
    corners: list[dict[str, bool]] = []
    seen: set[tuple[tuple[str, bool], ...]] = set()
    is_full = False
    for name, paths in sorted(moving.items()):
        is_up = partial(_is_up, ends, name)
        for pattern in all_corners(paths, is_up) if len(paths) > 1 else ():
            key = tuple(pattern.items())
            if key in seen:
                continue
            seen.add(key)
            fitting = next((corner for corner in corners if _fits(pattern, corner)), None)
            if fitting is not None:
                fitting.update(pattern)
            elif len(corners) < _MOST_CORNERS:
                corners.append(pattern)
            else:
                is_full = True
    if is_full:
        first = next(iter(nominal.inputs.values.values())).place
        what = f"the tolerances ask for more than {_MOST_CORNERS} corners; bands may be wider than told"
        nominal.notes.append(Problem(first, what, "give fewer inputs a tolerance", nominal.edition.name))
    return corners


def _is_up(ends: Mapping[str, _Ends], name: str, path: str) -> bool:
    return ends[path].above[name] >= ends[path].below[name]


def _fits(pattern: Pattern, corner: Pattern) -> bool:
    return all(corner.get(path, up) == up for path, up in pattern.items())


def _lay_side_by_side(nominal: Evaluation, middle: Mapping[str, float], runs: list[_Run]) -> None:
    """Give the nominal run its spreads, and the verdicts that all runs together allow."""
    lowest, highest = dict(middle), dict(middle)
    judged = _limits(nominal)
    others: dict[str, list[Judged]] = {name: [] for name in judged}
    lost: set[str] = set()
    for run in runs:
        for name, size in _sizes(run.done).items():
            if name in middle:
                lowest[name] = min(lowest[name], size)
                highest[name] = max(highest[name], size)
        found = _limits(run.done)
        for name in run.done.asked:
            if name in found:
                others[name].append(found[name])
            else:
                lost.add(name)
        _note_problems(nominal, run.done)
    for name, size in middle.items():
        spread = (size - lowest[name], highest[name] - size)
        if any(spread) and not name.startswith(_LIMIT):
            nominal.spreads[name] = spread
    changed = {
        name: _over_band(nominal, name, one, others[name], is_lost=name in lost)
        for name, one in judged.items()
        if one.verdict != "accepted" and (others[name] or name in lost)
    }
    if any(one is not judged[name] for name, one in changed.items()):
        conclude(nominal, lambda name, one: changed.get(name, one))


def _over_band(nominal: Evaluation, name: str, one: Judged, others: list[Judged], *, is_lost: bool) -> Judged:
    """Judge a limit over its band; one that cannot be judged at some end cannot be told."""
    if is_lost:
        others = [*others, replace(one, verdict="cannot tell")]
    return judge_band(nominal, name, one, others)


def _note_problems(nominal: Evaluation, run: Evaluation) -> None:
    """Note what cannot be worked out at some end of a tolerance."""
    for problem in run.problems:
        what = f"at the end of a tolerance: {problem.what}"
        note = Problem(problem.place, what, problem.fix, nominal.edition.name)
        if note not in nominal.notes:
            nominal.notes.append(note)


def _lay_alone(
    nominal: Evaluation,
    middle: Mapping[str, float],
    ends: Mapping[str, _Ends],
    moving: Mapping[str, list[str]],
) -> None:
    """Find for every number what moves it most, and the root of the sum of squares of what moves it."""
    for name in nominal.spreads:
        size = middle[name]
        minus, plus, most = 0.0, 0.0, ("", 0.0)
        for path in moving.get(name, ()):
            alone = (ends[path].below[name] - size, ends[path].above[name] - size)
            minus = hypot(minus, min(*alone, 0.0))
            plus = hypot(plus, max(*alone, 0.0))
            by = max(map(abs, alone))
            most = (path, by) if by > most[1] else most
        nominal.likely[name] = (minus, plus)
        if most[0]:
            nominal.movers[name] = most


def _lay_live(nominal: Evaluation, book: Book, runs: list[_Run], ends: Mapping[str, _Ends]) -> None:
    """Find how far the live values move that are more than one name."""
    moved = _moved_by(nominal, ends)
    runs_of: dict[str, list[Evaluation]] = {}
    for run in runs:
        for path in run.pattern:
            runs_of.setdefault(path, []).append(run.done)
    for page in book.pages:
        for live in page.live:
            if live.expression.single_name or not nominal.in_force(live.conditions):
                continue
            paths = {
                path
                for name in live.expression.names
                for path in moved.get(name) or moved.get(name.partition(".")[0]) or ()
            }
            some = {id(done): done for path in paths for done in runs_of[path]}
            if some:
                nominal.live_spreads[id(live)] = _farthest(nominal, list(some.values()), live)


def _lay_windows(nominal: Evaluation, reach: _Reach, runs: list[_Run], ends: Mapping[str, _Ends]) -> None:
    """Narrow the windows; runs that were made for numbers serve again, and those of one window for others."""

    def at(pattern: Pattern, without: str) -> Evaluation:
        wanted = pattern.items()
        serving = (run for run in runs if without not in run.pattern and wanted <= run.pattern.items())
        found = next(serving, None)
        if found is None:
            found = reach.at(ends, pattern)
            runs.append(found)
        return found.done

    narrow_windows(nominal, _moved_by(nominal, ends), at)


def _moved_by(nominal: Evaluation, ends: Mapping[str, _Ends]) -> dict[str, list[str]]:
    """Return the toleranced inputs that move each input and each block."""
    moved = {path: [path] for path in ends}
    for path, end in ends.items():
        for at in end.blocks:
            moved.setdefault(nominal.graph.order[at], []).append(path)
    return moved


def _farthest(nominal: Evaluation, runs: list[Evaluation], live: LiveValue) -> float:
    """Return how far a live value lies from its middle at most, in its own unit."""
    try:
        middle = work_out(live.expression, live.place, nominal.lookup, nominal.turns)
        values = [work_out(live.expression, live.place, run.lookup, run.turns) for run in runs]
    except BookError:
        return 0.0  # told where it is shown, or noted at its block
    if not isinstance(middle, Quantity):
        return 0.0
    size = float(middle.value)
    return max(
        (abs(float(one.to(middle.unit)) - size) for one in values if isinstance(one, Quantity)), default=0.0
    )


def _note_crossings(nominal: Evaluation, conditions: list[Condition]) -> None:
    """Note each `if` and `when` that would go another way at some end of a tolerance."""
    places = {condition.place for condition in conditions}
    for place in sorted(nominal.turns.crossed):
        word = "when" if place in places else "if"
        what = f"a tolerance carries this '{word}' across its bound, and the nominal value decides"
        fix = "choose a bound farther away, or a narrower tolerance"
        nominal.notes.append(Problem(place, what, fix, nominal.edition.name))
