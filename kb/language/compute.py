"""Working out an expression: names are looked up, units are checked, both branches of an `if` are read."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import Any

from kb.language import quantity as q
from kb.language.expression import (
    Binary,
    Call,
    Choice,
    Comparison,
    Constant,
    Joined,
    Name,
    Negative,
    Node,
    Not,
)
from kb.language.literal import ReadError
from kb.language.quantity import NoAnswer, NoValueError, Quantity
from kb.language.units import UnitError, what_it_is

Value = Any
"""A `Quantity`, flag, word, date, list, table, section or `NoAnswer`; None is a condition not told."""


class NoResultError(ReadError):
    """An expression without a value, such as a division by zero."""


@dataclass(slots=True)
class Computation:
    """One evaluation of one expression.

    `lookup` gives the value of a name or raises `ReadError`. Every comparison of sizes leaves its margin
    in `margins`, in the order of the tree and on every run, whatever the outcome; `decisions`, where given,
    say for each of those comparisons whether it holds (None: cannot tell). Each `if` leaves in `turned` which
    way it would go, and goes as `follow` says, where that is given.
    """

    lookup: Callable[[Name], Value]
    decisions: Sequence[bool | None] | None = None
    follow: Sequence[bool | None] | None = None
    margins: list[Quantity | None] = field(default_factory=list)
    turned: list[bool | None] = field(default_factory=list)
    held: list[bool | None] = field(default_factory=list)
    """Whether each of those comparisons holds, whatever `decisions` say."""

    def of(self, node: Node) -> Value:
        """Return the value of a tree, or raise `ReadError`."""
        try:
            return _WORKERS[type(node)](self, node)
        except UnitError as error:
            hint = getattr(node, "hint", "")
            raise ReadError(error.what, hint or error.fix, node.at) from None
        except OverflowError:
            raise NoResultError(
                "the result is too large to be a size", "check the values that go in here", node.at
            ) from None
        except NoValueError as error:
            raise NoResultError(
                f"{error}: there is no such value", "check the values that go in here", node.at
            ) from None

    def size(self, node: Node, what: str) -> Quantity | NoAnswer:
        """Return the value of a tree that must be a quantity."""
        value = self.of(node)
        if isinstance(value, (Quantity, NoAnswer)):
            return value
        raise ReadError(f"{called(value)} cannot be {what}", "use a quantity or a number here", node.at)

    def truth(self, node: Node) -> bool | None:
        """Return the value of a tree that must be a condition; None is 'cannot tell'."""
        value = self.of(node)
        if value is None or isinstance(value, bool):
            return value
        if isinstance(value, NoAnswer):
            return None
        raise ReadError(
            f"{called(value)} is not a condition",
            "write a comparison, such as a <= 3 in, or a flag",
            node.at,
        )

    def hold(self, margin: Quantity | None, *, strict: bool) -> bool | None:
        """Note a comparison's margin and tell whether it holds."""
        place = len(self.margins)
        self.margins.append(margin)
        held = None if margin is None else margin.value > 0 if strict else margin.value >= 0
        self.held.append(held)
        return held if self.decisions is None else self.decisions[place]

    def turn(self, node: Node) -> bool | None:
        """Tell which way an `if` goes."""
        place = len(self.turned)
        self.turned.append(self.truth(node))
        if self.follow is not None and place < len(self.follow):
            return self.follow[place]
        return self.turned[place]


@dataclass(slots=True)
class Turns:
    """Which way every `if` of an edition goes: with the nominal values, at each end of a tolerance.

    An expression is known by a key, such as its place. `nominal` is what is followed; `crossed` gathers the
    keys of those that would have gone another way.
    """

    nominal: Turns | None = None
    kept: dict[Any, tuple[bool | None, ...]] = field(default_factory=dict)
    crossed: set[Any] = field(default_factory=set)

    def of(self, key: Any, tree: Node, lookup: Callable[[Name], Value]) -> Value:
        """Return the value of a tree, or raise `ReadError`."""
        run = self.start(key, lookup)
        value = run.of(tree)
        self.end(key, run)
        return value

    def start(self, key: Any, lookup: Callable[[Name], Value]) -> Computation:
        """Return a computation that follows what is kept under a key."""
        return Computation(lookup, follow=self.nominal.kept.get(key) if self.nominal else None)

    def end(self, key: Any, run: Computation) -> None:
        """Keep which way a computation went, or note that it would have gone another."""
        if self.nominal is None:
            self.kept[key] = tuple(run.turned)
        elif run.follow is not None and tuple(run.turned) != tuple(run.follow):
            self.nominal.crossed.add(key)


def called(value: Value) -> str:
    """Return what a value is, in words, for messages."""
    if isinstance(value, Quantity):
        return what_it_is(value.unit)
    if isinstance(value, bool) or value is None:
        return "a flag"
    if isinstance(value, str):
        return f"the word '{value}'"
    if isinstance(value, tuple | list):
        return "a list"
    return {"Table": "a table", "Section": "a section", "date": "a date"}.get(
        type(value).__name__, "this value"
    )


def _constant(_: Computation, node: Constant) -> Value:
    return node.value


def _name(run: Computation, node: Name) -> Value:
    return run.lookup(node)


def _negative(run: Computation, node: Negative) -> Value:
    of = run.size(node.of, "negated")
    return of if isinstance(of, NoAnswer) else q.negate(of)


_ARITHMETIC = {"+": q.add, "-": q.subtract, "*": q.multiply, "/": q.divide, "^": q.power}


def _binary(run: Computation, node: Binary) -> Value:
    left = run.size(node.left, "reckoned with")
    right = run.size(node.right, "reckoned with")
    if isinstance(left, NoAnswer):
        return left
    if isinstance(right, NoAnswer):
        return right
    return _ARITHMETIC[node.operator](left, right)


def _comparison(run: Computation, node: Comparison) -> bool | None:
    values = [run.of(operand) for operand in node.operands]
    outcome: bool | None = True
    for operator, left, right in zip(node.operators, values, values[1:], strict=False):
        holds = (
            _same(left, right, operator) if operator in ("=", "!=") else _within(run, left, right, operator)
        )
        outcome = _both(outcome, holds)
    return outcome


def _within(run: Computation, left: Value, right: Value, operator: str) -> bool | None:
    strict = operator in ("<", ">")
    for value in (left, right):
        if isinstance(value, NoAnswer):
            return run.hold(None, strict=strict)
        if not isinstance(value, Quantity):
            raise UnitError(f"{called(value)} has no size", "compare words and flags with = or !=")
    # The margin stands in the left side's unit, which is the one a reader compares.
    gap = q.margin(left, right)
    return run.hold(gap if operator[0] == "<" else Quantity(-gap.value, gap.unit), strict=strict)


def _same(left: Value, right: Value, operator: str) -> bool | None:
    if isinstance(left, NoAnswer) or isinstance(right, NoAnswer) or left is None or right is None:
        return None
    for value in (left, right):
        if isinstance(value, Quantity):
            if value.unit.kind != "number" or value.value != int(value.value):
                raise UnitError(
                    f"'{operator}' between sizes is never sure",
                    "write a window, such as 1.9 in <= x <= 2.1 in",
                )
        elif not isinstance(value, str | bool):
            raise UnitError(f"{called(value)} cannot be compared", "compare words, flags or counts")
    if isinstance(left, Quantity) != isinstance(right, Quantity) or isinstance(left, str) != isinstance(
        right, str
    ):
        raise UnitError(
            f"{called(left)} and {called(right)} cannot be compared",
            "compare two of the same sort; quote words",
        )
    equal = left.value == right.value if isinstance(left, Quantity) else left == right
    return equal if operator == "=" else not equal


def _both(a: bool | None, b: bool | None) -> bool | None:
    if a is False or b is False:
        return False
    return None if a is None or b is None else True


def _not(run: Computation, node: Not) -> bool | None:
    truth = run.truth(node.of)
    return None if truth is None else not truth


def _joined(run: Computation, node: Joined) -> bool | None:
    truths = [run.truth(part) for part in node.parts]
    if node.operator == "and":
        return False if False in truths else None if None in truths else True
    return True if True in truths else None if None in truths else False


def _choice(run: Computation, node: Choice) -> Value:
    condition = run.turn(node.condition)
    # Both branches are worked out, so that a wrong unit shows before the day the other one is taken.
    then = _branch(run, node.then, needed=condition is True)
    otherwise = _branch(run, node.otherwise, needed=condition is False)
    if isinstance(then, Quantity) and isinstance(otherwise, Quantity):
        q.comparable(then, otherwise)
    elif (
        not isinstance(then, NoAnswer)
        and not isinstance(otherwise, NoAnswer)
        and (isinstance(then, Quantity) or isinstance(otherwise, Quantity))
    ):
        raise UnitError(
            f"the two values are {called(then)} and {called(otherwise)}",
            "give two of the same sort",
        )
    if condition is None:
        return NoAnswer("the condition cannot be told")
    return then if condition else otherwise


def _branch(run: Computation, node: Node, *, needed: bool) -> Value:
    before = len(run.margins)
    try:
        return run.of(node)
    except NoResultError as error:
        if needed:
            raise
        del run.margins[before:]
        del run.held[before:]
        run.margins.extend([None] * _comparisons(node))
        run.held.extend([None] * _comparisons(node))
        return NoAnswer(error.what)


def _comparisons(node: Node) -> int:
    """Count the comparisons of sizes in a tree that was left half worked out."""
    count = 0
    if isinstance(node, Comparison):
        count = sum(operator not in ("=", "!=") for operator in node.operators)
    for slot in ("of", "left", "right", "condition", "then", "otherwise"):
        child = getattr(node, slot, None)
        if isinstance(child, Node):
            count += _comparisons(child)
    for slot in ("operands", "parts", "arguments"):
        count += sum(map(_comparisons, getattr(node, slot, ())))
    return count


def _call(run: Computation, node: Call) -> Value:
    values = [run.size(argument, f"put into {node.function}") for argument in node.arguments]
    sizes = []
    for value in values:
        if isinstance(value, NoAnswer):
            return value
        sizes.append(value)
    name, first = node.function, sizes[0]
    if name == "min":
        return q.smallest(sizes)
    if name == "max":
        return q.largest(sizes)
    if name == "abs":
        return q.absolute(first)
    if name == "sqrt":
        return q.square_root(first)
    if name in ("round", "ceil", "floor"):
        return q.round_to(first, sizes[1] if len(sizes) > 1 else None, name)
    return q.sine(name, first)


_WORKERS: dict[type[Node], Callable[[Computation, Any], Value]] = {
    Constant: _constant,
    Name: _name,
    Negative: _negative,
    Binary: _binary,
    Comparison: _comparison,
    Not: _not,
    Joined: _joined,
    Choice: _choice,
    Call: _call,
}
