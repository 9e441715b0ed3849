"""Acceptance windows: what a measurement may come to, worked out in an edition."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Any

from kb.calculators.bind import Lookup
from kb.calculators.judge import Verdict
from kb.language.compute import Turns, called
from kb.language.expression import Name, Node
from kb.language.literal import ReadError
from kb.language.quantity import NoAnswer, Quantity, whole
from kb.language.show import in_unit, shown_unit
from kb.language.units import UnitError, unit
from kb.numbers.measures import RECORD, Bound, Measure
from kb.problem import BookError, Problem


@dataclass(frozen=True, slots=True)
class Window:
    """The window of a measurement in an edition; an end without a bound is None.

    `low` and `high` are its worst-case ends: a tolerance makes a window narrower, never wider. `verdict` is
    the worst that its ends rest on.
    """

    measure: Measure
    low: Quantity | None = None
    high: Quantity | None = None
    exactly: Any = None
    verdict: Verdict = "within"

    @property
    def is_empty(self) -> bool:
        """Tell whether nothing could be accepted."""
        if self.low is None or self.high is None:
            return False
        return self.low.value > self.high.to(self.low.unit)

    @property
    def is_between_steps(self) -> bool:
        """Tell whether no reading in whole steps, as its ends are shown, lies in it."""
        form = self.measure.form
        if self.low is None or self.high is None or form.step is None:
            return False
        one = unit(form.unit.rpartition("-")[2])  # a step is in the last unit of a chain
        return whole(self.low.to(one) / form.step, "ceil") > whole(self.high.to(one) / form.step, "floor")


def work_window(measure: Measure, lookup: Lookup, turns: Turns) -> Window:
    """Work out the window of a measurement; `turns` keep or follow each `if`. Raises `BookError`."""

    def work(node: Node) -> Any:
        try:
            return turns.of(measure.accept_place.right(node.at), node, lookup)
        except ReadError as error:
            raise BookError([Problem(measure.accept_place.right(error.at), error.what, error.fix)]) from None

    def end(bound: Bound | None) -> Quantity | None:
        if bound is None:
            return None
        value = work(bound.tree)
        if not isinstance(value, Quantity):
            is_unknown = isinstance(value, NoAnswer)
            why = f"has no value: {value.why}" if is_unknown else f"is {called(value)}, and no size"
            what = f"an end of the window of '{measure.name}' {why}"
            raise BookError([Problem(measure.accept_place, what, "state the window over known sizes")])
        return _in_form(measure, value)

    if measure.exactly is not None:
        must = True if isinstance(measure.exactly, Name) and measure.exactly.name == RECORD else None
        return Window(measure, exactly=work(measure.exactly) if must is None else must)
    if measure.low is None and measure.high is None:
        for name, at in measure.accept.places:
            if name != RECORD:
                work(Name(at, name))
        return Window(measure)
    low, high = end(measure.low), end(measure.high)
    if low is not None and high is not None and not low.unit.same_kind(high.unit):
        what = f"the window of '{measure.name}' goes from {called(low)} to {called(high)}"
        raise BookError([Problem(measure.accept_place, what, "state both ends in what is measured")])
    return Window(measure, low, high)


def _in_form(measure: Measure, value: Quantity) -> Quantity:
    """Return an end in the unit that the measurement is read in."""
    if not measure.form.unit:
        return value
    try:
        return in_unit(value, shown_unit(value, measure.form))
    except (ReadError, UnitError) as error:
        raise BookError([Problem(measure.accept_place, error.what, error.fix)]) from None


def narrowed(window: Window, others: Iterable[Window]) -> Window:
    """Return a window with the highest low end and the lowest high end of some."""
    low, high = window.low, window.high
    for one in others:
        if low is not None and one.low is not None and one.low.to(low.unit) > low.value:
            low = in_unit(one.low, low.unit)
        if high is not None and one.high is not None and one.high.to(high.unit) < high.value:
            high = in_unit(one.high, high.unit)
    return replace(window, low=low, high=high)
