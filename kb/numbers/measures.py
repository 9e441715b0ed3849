"""Measurements bound: what is measured on each hull, with what, and the window it must fall in."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Any

from kb.calculators.bind import Lookup, read
from kb.calculators.judge import Verdict
from kb.content.page import Around, Fence, Page
from kb.content.reference import Reference
from kb.content.yamltext import Node as YamlNode
from kb.content.yamltext import Scalar
from kb.language.compute import Computation
from kb.language.expression import Binary, Call, Comparison, Expression, Joined, Name, Negative, Node
from kb.language.literal import ReadError
from kb.language.quantity import NoAnswer, Quantity
from kb.language.show import AS_IT_IS, Form, in_unit, shown_unit, split_form
from kb.language.units import UnitError
from kb.problem import BookError, Place, Problem, offer

MEASURE_KEYS = ("what", "how", "accept", "unit", "with", "hold", "signs", "sets", "title", "note")
RECORD = "value"
"""The name of what was measured, in `accept` and nowhere else."""
_FLAGS = {"yes": True, "no": False, "true": True, "false": False}
_TURNED = {"<": ">", "<=": ">=", ">": "<", ">=": "<="}


@dataclass(frozen=True, slots=True)
class Bound:
    """One end of a window: the tree that gives it, and whether the end itself is accepted."""

    tree: Node
    is_included: bool = True


@dataclass(frozen=True, slots=True)
class Measure:
    """A measurement of a page.

    `low` and `high` are the ends of its window, where its rule gives them; `exactly` is what it must be.
    `sets` is the input that the measured size stands for on its hull.
    """

    name: str
    page: Page
    place: Place
    around: Around
    what: str
    accept: Expression
    accept_place: Place
    how: str = ""
    instrument: str = ""
    form: Form = AS_IT_IS
    is_hold: bool = False
    signs: str = ""
    sets: str = ""
    note: str = ""
    low: Bound | None = None
    high: Bound | None = None
    exactly: Node | None = None


def bind_measure(page: Page, fence: Fence, reference: Reference) -> tuple[Measure | None, list[Problem]]:
    """Bind a `measure` fence; what is wrong with it is told, and one without a rule is left out."""
    binder = _Binder(fence, reference)
    return binder.measure(page), binder.problems


class _Binder:
    def __init__(self, fence: Fence, reference: Reference) -> None:
        self.fence = fence
        self.reference = reference
        self.problems: list[Problem] = []
        self.entries: Mapping[str, tuple[Scalar, YamlNode]] = fence.body.entries if fence.body else {}

    def problem(self, place: Place, what: str, fix: str) -> None:
        self.problems.append(Problem(place, what, fix))

    def measure(self, page: Page) -> Measure | None:
        fence = self.fence
        if fence.body is None:
            return None
        for key, (key_node, _) in self.entries.items():
            if key not in MEASURE_KEYS:
                fix = offer(key, MEASURE_KEYS, f"a measurement has {', '.join(MEASURE_KEYS)}")
                self.problem(key_node.place, f"a measurement has no '{key}'", fix)
        what = self.text("what")
        if not what:
            fix = "add a line such as what: Length along the top"
            self.problem(fence.place, f"'{fence.name}' does not say what is measured", fix)
        accept = self.accept()
        if accept is None:
            return None
        expression, place = accept
        low, high, exactly = window_of(expression.tree)
        return Measure(
            fence.name,
            page,
            fence.place,
            fence.around,
            what,
            expression,
            place,
            self.text("how"),
            self.instrument(),
            self.form(),
            self.hold(),
            self.text("signs"),
            self.sets(),
            self.text("note"),
            low,
            high,
            exactly,
        )

    def scalar(self, key: str) -> Scalar | None:
        if key not in self.entries:
            return None
        node = self.entries[key][1]
        if isinstance(node, Scalar):
            return node
        self.problem(node.place, f"'{key}' is one line", f"write {key}: …")
        return None

    def text(self, key: str) -> str:
        node = self.scalar(key)
        return node.text.strip() if node else ""

    def accept(self) -> tuple[Expression, Place] | None:
        node = self.scalar("accept")
        if node is None:
            if "accept" not in self.entries:
                fix = "add a line such as accept: a <= value <= b"
                self.problem(self.fence.place, f"'{self.fence.name}' does not say what is accepted", fix)
            return None
        place = node.place.right(1) if node.quoted else node.place
        try:
            expression = read(node.text, place)
        except BookError as error:
            self.problems.extend(error.problems)
            return None
        if RECORD not in expression.names:
            fix = "write value where the reading stands, such as a <= value <= b"
            self.problem(place, "this rule says nothing of what is measured", fix)
            return None
        return expression, place

    def instrument(self) -> str:
        node = self.scalar("with")
        if node is None:
            return ""
        known = {name.casefold() for name in self.reference.instruments}
        if "instruments.yml" in self.reference.files and node.text.strip().casefold() not in known:
            names = list(self.reference.instruments)
            fix = offer(node.text, names, "add it to reference/instruments.yml with its tolerance")
            self.problem(node.place, f"there is no instrument '{node.text}'", fix)
        return node.text.strip()

    def form(self) -> Form:
        """Return how the window is shown: `unit: in`, or `unit: in to 1/16`."""
        node = self.scalar("unit")
        if node is None:
            return AS_IT_IS
        try:
            _, form = split_form(f"{RECORD} in {node.text.strip()}")
            if not form.unit:
                raise UnitError(f"'{node.text}' is no unit", "write one such as in, or in to 1/16")
        except (ReadError, UnitError) as error:
            self.problem(node.place, error.what, error.fix)
            return AS_IT_IS
        return form

    def hold(self) -> bool:
        node = self.scalar("hold")
        if node is None:
            return False
        if node.text.strip().lower() not in _FLAGS:
            self.problem(node.place, f"'{node.text}' is neither yes nor no", "write hold: yes or hold: no")
            return False
        return _FLAGS[node.text.strip().lower()]

    def sets(self) -> str:
        node = self.scalar("sets")
        return node.text.strip() if node else ""


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


def work_window(measure: Measure, lookup: Lookup) -> Window:
    """Work out the window of a measurement. Raises `BookError`."""

    def work(node: Node) -> Any:
        try:
            return Computation(lookup).of(node)
        except ReadError as error:
            raise BookError([Problem(measure.accept_place.right(error.at), error.what, error.fix)]) from None

    def end(bound: Bound | None) -> Quantity | None:
        if bound is None:
            return None
        value = work(bound.tree)
        if not isinstance(value, Quantity):
            what = f"an end of the window of '{measure.name}' has no value"
            why = f": {value.why}" if isinstance(value, NoAnswer) else ""
            raise BookError([Problem(measure.accept_place, what + why, "state the window over known sizes")])
        return _in_form(measure, value)

    if measure.exactly is not None:
        must = True if isinstance(measure.exactly, Name) and measure.exactly.name == RECORD else None
        return Window(measure, exactly=work(measure.exactly) if must is None else must)
    if measure.low is None and measure.high is None:
        for name, at in measure.accept.places:
            if name != RECORD:
                work(Name(at, name))
        return Window(measure)
    return Window(measure, end(measure.low), end(measure.high))


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


def window_of(tree: Node) -> tuple[Bound | None, Bound | None, Node | None]:
    """Return the low and the high end of an acceptance rule, and what the reading must equal.

    All are None where the rule has another form than a window round `value` or round `abs(value - a)`.
    """
    if isinstance(tree, Comparison):
        return _of_comparison(tree)
    if isinstance(tree, Joined) and tree.operator == "and" and len(tree.parts) == 2:
        found = [window_of(part) for part in tree.parts]
        lows = [low for low, _, _ in found if low is not None]
        highs = [high for _, high, _ in found if high is not None]
        if len(lows) == 1 and len(highs) == 1:
            return lows[0], highs[0], None
    if isinstance(tree, Name) and tree.name == RECORD:
        return None, None, tree
    return None, None, None


def _of_comparison(tree: Comparison) -> tuple[Bound | None, Bound | None, Node | None]:
    low: Bound | None = None
    high: Bound | None = None
    for operator, left, right in zip(tree.operators, tree.operands, tree.operands[1:], strict=False):
        if _uses_record(left) and not _uses_record(right):
            judged, other, sign = left, right, operator
        elif _uses_record(right) and not _uses_record(left):
            judged, other, sign = right, left, _TURNED.get(operator, operator)
        else:
            return None, None, None
        if sign == "=" and isinstance(judged, Name):
            return None, None, other
        ends = _ends(judged, other, sign)
        if ends is None:
            return None, None, None
        low, high = ends[0] or low, ends[1] or high
    return low, high, None


def _ends(judged: Node, other: Node, sign: str) -> tuple[Bound | None, Bound | None] | None:
    """Return the ends that one comparison gives: of `value`, or of its distance from something."""
    is_included = sign in ("<=", ">=")
    if isinstance(judged, Name):
        bound = Bound(other, is_included)
        return (None, bound) if sign in ("<", "<=") else (bound, None) if sign in (">", ">=") else None
    if not (isinstance(judged, Call) and judged.function == "abs" and sign in ("<", "<=")):
        return None
    (inside,) = judged.arguments
    at = judged.at
    if isinstance(inside, Name):
        return Bound(Negative(at, other), is_included), Bound(other, is_included)
    middle = _middle(inside)
    if middle is None:
        return None
    low, high = Binary(at, "-", middle, other), Binary(at, "+", middle, other)
    return Bound(low, is_included), Bound(high, is_included)


def _middle(inside: Node) -> Node | None:
    """Return what is taken from `value`: of `value - a - b` the sum of a and b, of `a - value` a."""
    if not (isinstance(inside, Binary) and inside.operator == "-"):
        return None
    left, right = inside.left, inside.right
    if isinstance(left, Name) and left.name == RECORD and not _uses_record(right):
        return right
    if isinstance(right, Name) and right.name == RECORD and not _uses_record(left):
        return left
    further = _middle(left)
    if further is not None and not _uses_record(right):
        return Binary(inside.at, "+", further, right)
    return None


def _uses_record(node: Node) -> bool:
    if isinstance(node, Name):
        return node.name == RECORD
    if isinstance(node, Negative):
        return _uses_record(node.of)
    if isinstance(node, Binary):
        return _uses_record(node.left) or _uses_record(node.right)
    if isinstance(node, Call):
        return any(map(_uses_record, node.arguments))
    return False
