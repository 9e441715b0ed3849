"""Measurements bound: what is measured on each hull, with what, and the rule that it must keep."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from kb.calculators.bind import read
from kb.content.page import Around, Fence, Page
from kb.content.reference import Reference
from kb.content.yamltext import Node as YamlNode
from kb.content.yamltext import Scalar
from kb.language.expression import (
    Binary,
    Call,
    Choice,
    Comparison,
    Expression,
    Joined,
    Name,
    Negative,
    Node,
    Not,
)
from kb.language.literal import ReadError
from kb.language.show import AS_IT_IS, Form, split_form
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
    `sets` is the input that the measured size stands for on its hull, `sets_place` where that is written.
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
    sets_place: Place | None = None
    note: str = ""
    title: str = ""
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
        sets = self.scalar("sets")
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
            sets.text.strip() if sets else "",
            sets.place if sets else None,
            self.text("note"),
            self.text("title"),
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
        """Return what it is measured with, in the spelling of the yard's list of instruments."""
        node = self.scalar("with")
        if node is None:
            return ""
        word = node.text.strip()
        known = {name.casefold(): name for name in self.reference.instruments}
        if "instruments.yml" in self.reference.files and word.casefold() not in known:
            fix = offer(word, known.values(), "add it to reference/instruments.yml with its tolerance")
            self.problem(node.place, f"there is no instrument '{word}'", fix)
        return known.get(word.casefold(), word)

    def form(self) -> Form:
        """Return how the window is shown: `unit: in`, or `unit: in to 1/16`."""
        node = self.scalar("unit")
        if node is None:
            return AS_IT_IS
        try:
            _, form = split_form(f"{RECORD} in {node.text.strip()}")
            if not form.unit:
                raise UnitError(f"'{node.text}' is no unit", "write one such as in, or in to 1/16")
            if form.direction:
                raise UnitError(
                    "each end of a window is rounded to its inside", f"leave '{form.direction}' out"
                )
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
    return any(map(_uses_record, _parts(node)))


def _parts(node: Node) -> tuple[Node, ...]:
    match node:
        case Negative() | Not():
            return (node.of,)
        case Binary():
            return node.left, node.right
        case Call():
            return node.arguments
        case Comparison():
            return node.operands
        case Joined():
            return node.parts
        case Choice():
            return node.condition, node.then, node.otherwise
        case _:
            return ()
