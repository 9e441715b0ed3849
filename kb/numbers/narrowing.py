"""Acceptance windows narrowed to their worst case, over the tolerances of what they rest on."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from functools import partial
from itertools import product

from kb.language.quantity import Quantity
from kb.numbers.evaluate import Evaluation
from kb.numbers.measures import Measure
from kb.numbers.windows import Window, narrowed, work_window
from kb.problem import BookError, Problem

_FEW = 4
"""Inputs of which all corners are looked at."""
Pattern = Mapping[str, bool]
"""For some inputs, whether each stands at its upper end."""
RunAt = Callable[[Pattern, str], Evaluation]
"""Works out what rests on some inputs, each at one of its ends; the one that is named stays in its middle."""


def narrow_windows(nominal: Evaluation, moved_by: Mapping[str, Collection[str]], at: RunAt) -> None:
    """Narrow each window of an edition; what a measurement sets is not its own tolerance's concern.

    Args:
        nominal: the edition as it is worked out.
        moved_by: the toleranced inputs that move each input and each block, in an order that stays.
        at: gives the runs at the ends.

    """
    for name, window in nominal.windows.items():
        measure = window.measure
        paths = [path for path in _paths(measure, moved_by) if path != measure.sets]
        narrow = narrowed(window, _at_all_ends(measure, paths, at))
        if narrow.is_empty or narrow.is_between_steps:
            why = "they are wider than it is" if narrow.is_empty else "no whole step of its unit lies in it"
            what = f"the tolerances leave no window for '{name}': {why}"
            fix = "name in 'sets' the input that is measured, or widen the window"
            nominal.problems.append(Problem(measure.accept_place, what, fix, nominal.edition.name))
        nominal.windows[name] = narrow


def _paths(measure: Measure, moved_by: Mapping[str, Collection[str]]) -> Sequence[str]:
    """Return the toleranced inputs that a window rests on."""
    found = (
        path
        for used in measure.accept.names
        for path in moved_by.get(used) or moved_by.get(used.partition(".")[0]) or ()
    )
    return list(dict.fromkeys(found))


def _at_all_ends(measure: Measure, paths: Sequence[str], at: RunAt) -> Iterator[Window]:
    """Go through the window at each end of each input alone, then of all of them together."""
    alone: dict[tuple[str, bool], Window] = {}
    for end in product(paths, (False, True)):
        path, is_high = end
        if (window := _window(measure, at({path: is_high}, measure.sets))) is not None:
            alone[end] = window
            yield window
    if len(paths) < 2:
        return
    lows = {end: _size(window.low) for end, window in alone.items()}
    highs = {end: _size(window.high) for end, window in alone.items()}
    for sizes in (lows, highs):
        for corner in corners(paths, partial(_is_up, sizes)):
            if (window := _window(measure, at(corner, measure.sets))) is not None:
                yield window


def _is_up(sizes: Mapping[tuple[str, bool], float], path: str) -> bool:
    return sizes.get((path, True), 0.0) >= sizes.get((path, False), 0.0)


def corners(paths: Sequence[str], is_up: Callable[[str], bool]) -> Iterator[dict[str, bool]]:
    """Go through the corners worth a look: of few inputs all, of many the two that the slopes point to.

    `is_up` tells for an input whether what is looked at is larger at its upper end.
    """
    if len(paths) <= _FEW:
        # A count, a choice or a product of differences may show no slope at the middle.
        for sides in product((False, True), repeat=len(paths)):
            yield dict(zip(paths, sides, strict=True))
        return
    up = {path: is_up(path) for path in paths}
    yield up
    yield {path: not side for path, side in up.items()}


def _size(end: Quantity | None) -> float:
    return 0.0 if end is None else float(end.base)


def _window(measure: Measure, run: Evaluation) -> Window | None:
    try:
        return work_window(measure, run.lookup, run.turns)
    except BookError:
        return None  # noted at its block
