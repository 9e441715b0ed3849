"""A value with its unit, and the arithmetic that units allow.

Values stay exact fractions until a float is needed: shop sizes such as 46 1/2 in divide without error.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from fractions import Fraction

from kb.language.units import (
    NO_DIMS,
    NUMBER,
    Dims,
    Kind,
    Unit,
    UnitError,
    coherent,
    ratio,
    unit,
    what_it_is,
)

Exact = Fraction | float

LARGEST = 10**15
"""The largest size that can be written; beyond it a value is a slip of the pen."""
_MOST_BITS = 512  # a longer exact fraction goes on as a float, so that no text can use much memory
_SAME = 1e-12  # two floats are equal within this share: what rounding in a formula leaves behind


@dataclass(frozen=True, slots=True)
class NoAnswer:
    """What stands where a value would: there is none, and why.

    A pump that cannot lift so high gives no flow. Whatever uses it has no answer either.
    """

    why: str


class NoValueError(ArithmeticError):
    """There is no such value: a division by zero, the root of a negative number."""


@dataclass(frozen=True, slots=True)
class Quantity:
    """A value in a unit. A plain number has the unit `NUMBER`."""

    value: Exact
    unit: Unit = NUMBER

    @property
    def base(self) -> Exact:
        """The value in base units."""
        return self.unit.to_base(self.value)

    def to(self, other: Unit) -> Exact:
        """Return the value in another unit of the same kind, or raise `UnitError`."""
        own = self.unit
        if other is own:
            return self.value
        if own.dims != other.dims or own.kind != other.kind:
            raise UnitError(
                f"{what_it_is(own)} stands where {what_it_is(other)} is wanted", _mismatch_advice(own, other)
            )
        if own.kind == "temperature":
            return other.from_base(self.base)
        exact, near = ratio(own, other)
        return self.value * (near if isinstance(self.value, float) else exact)


def _mismatch_advice(found: Unit, wanted: Unit) -> str:
    kinds = {found.kind, wanted.kind}
    if found.kind == "number":
        if wanted.kind == "share":
            return "write the % sign, 5 % or 500 %"
        return f"write the unit, for example {wanted.name}" if wanted.name else "write the unit"
    if what_it_is(found) == "a mass" and what_it_is(wanted) == "a force":
        return "lb is a mass; a force is written lbf"
    if what_it_is(found) == "a force" and what_it_is(wanted) == "a mass":
        return "lbf is a force; a mass is written lb"
    if kinds == {"temperature", "quantity"} and found.dims == wanted.dims:
        return "write differences as delta_degF or delta_degC, temperatures as degF or degC"
    return f"write it in {wanted.name}, or check the name" if wanted.name else "check the name"


def quantity(value: Exact | int, text: str = "") -> Quantity:
    """Return a quantity from a value and the text of its unit."""
    return Quantity(value if isinstance(value, float) else Fraction(value), unit(text))


def _checked(value: Exact, one: Unit) -> Quantity:
    """Return a result, as a float where it grew too long, or raise where it is not a number."""
    if isinstance(value, Fraction):
        if value.numerator.bit_length() > _MOST_BITS or value.denominator.bit_length() > _MOST_BITS:
            try:
                value = float(value)
            except OverflowError:
                raise NoValueError("the result is too large to be a size") from None
    elif not math.isfinite(value):
        raise NoValueError("the result is too large to be a size")
    return Quantity(value, one)


def _is_point(one: Quantity) -> bool:
    return one.unit.kind == "temperature"


def _no_points(operation: str, *operands: Quantity) -> None:
    if any(map(_is_point, operands)):
        raise UnitError(
            f"a temperature cannot be {operation}",
            "take a difference of two temperatures first, or write delta_degF or delta_degC",
        )


def _difference(point: Unit) -> Unit:
    """Return the unit of differences that belongs to a temperature scale."""
    return unit(f"delta_{point.name}")


def add(a: Quantity, b: Quantity) -> Quantity:
    """Return the sum, in the unit of the first."""
    if _is_point(a) or _is_point(b):
        if _is_point(a) and _is_point(b):
            raise UnitError(
                "two temperatures cannot be added", "add a difference, as delta_degF or delta_degC"
            )
        if _is_point(b):
            a, b = b, a
        step = b.to(_difference(a.unit))
        return _checked(a.value + step, a.unit)
    return _sum(a, b, "added to", 1)


def subtract(a: Quantity, b: Quantity) -> Quantity:
    """Return the difference, in the unit of the first; of two temperatures, as a difference."""
    if _is_point(a):
        if _is_point(b):
            return _checked(a.value - b.to(a.unit), _difference(a.unit))
        return _checked(a.value - b.to(_difference(a.unit)), a.unit)
    return _sum(a, b, "taken from", -1)


def _sum(a: Quantity, b: Quantity, verb: str, sign: int) -> Quantity:
    if a.unit is b.unit:
        return _checked(a.value + sign * b.value, a.unit)
    if {a.unit.kind, b.unit.kind} == {"number", "share"}:
        return _checked(a.base + sign * b.base, NUMBER)
    if not a.unit.same_kind(b.unit):
        first, second = what_it_is(b.unit), what_it_is(a.unit)
        if verb == "taken from":
            raise UnitError(f"{first} cannot be taken from {second}", _mismatch_advice(b.unit, a.unit))
        raise UnitError(f"{second} and {first} cannot be added", _mismatch_advice(b.unit, a.unit))
    return _checked(a.value + sign * b.to(a.unit), a.unit)


def negate(a: Quantity) -> Quantity:
    """Return the value with the other sign."""
    _no_points("negated", a)
    return Quantity(-a.value, a.unit)


def multiply(a: Quantity, b: Quantity) -> Quantity:
    """Return the product: in the unit of what a plain number multiplies, else in base units."""
    _no_points("multiplied", a, b)
    if b.unit.kind == "number":
        return _checked(a.value * b.value, a.unit)
    if a.unit.kind == "number":
        return _checked(a.value * b.value, b.unit)
    return _checked(a.base * b.base, _combined(a.unit, b.unit, 1))


def divide(a: Quantity, b: Quantity) -> Quantity:
    """Return the quotient: in the unit of what a plain number divides, else in base units."""
    _no_points("divided", a, b)
    if b.base == 0:
        raise NoValueError("division by zero")
    if b.unit.kind == "number":
        return _checked(a.value / b.value, a.unit)
    return _checked(a.base / b.base, _combined(a.unit, b.unit, -1))


def _combined(a: Unit, b: Unit, sign: int) -> Unit:
    dims: Dims = tuple(p + sign * q for p, q in zip(a.dims, b.dims, strict=True))  # type: ignore[assignment]
    if dims != NO_DIMS:
        return coherent(dims)
    return NUMBER


def power(a: Quantity, exponent: Quantity) -> Quantity:
    """Return a power; the exponent is a whole number from 0 to 9, or 0.5."""
    _no_points("raised to a power", a)
    if exponent.unit.kind != "number" or exponent.value not in (Fraction(1, 2), *range(10)):
        raise UnitError("this exponent is not allowed", "an exponent is a whole number from 0 to 9, or 0.5")
    if exponent.value == Fraction(1, 2):
        return square_root(a)
    times = int(exponent.value)
    dims: Dims = tuple(p * times for p in a.unit.dims)  # type: ignore[assignment]
    try:
        value = a.base**times
    except OverflowError:
        raise NoValueError("the result is too large to be a size") from None
    kind: Kind = a.unit.kind if times == 1 else "number"
    return _checked(value, coherent(dims, kind))


def square_root(a: Quantity) -> Quantity:
    """Return the square root of a value whose unit has one."""
    _no_points("rooted", a)
    if any(p % 2 for p in a.unit.dims):
        raise UnitError(
            f"{what_it_is(a.unit)} has no square root",
            "a square root needs an area, or another square",
        )
    if a.base < 0:
        raise NoValueError("the square root of a negative number")
    dims: Dims = tuple(p // 2 for p in a.unit.dims)  # type: ignore[assignment]
    return Quantity(_exact_root(a.base), coherent(dims))


def _exact_root(value: Exact) -> Exact:
    if isinstance(value, Fraction):
        top, bottom = math.isqrt(value.numerator), math.isqrt(value.denominator)
        if top * top == value.numerator and bottom * bottom == value.denominator:
            return Fraction(top, bottom)
    return math.sqrt(value)


def absolute(a: Quantity) -> Quantity:
    """Return the value without its sign."""
    _no_points("taken without its sign", a)
    return negate(a) if a.value < 0 else a


def smallest(values: Sequence[Quantity]) -> Quantity:
    """Return the smallest, in the unit of the first."""
    return _extreme(values, min)


def largest(values: Sequence[Quantity]) -> Quantity:
    """Return the largest, in the unit of the first."""
    return _extreme(values, max)


def _extreme(values: Sequence[Quantity], choose: Callable[[list[Exact]], Exact]) -> Quantity:
    first = values[0]
    return Quantity(choose([comparable(first, other) for other in values]), first.unit)


def comparable(a: Quantity, b: Quantity) -> Exact:
    """Return b's value in a's unit, or raise `UnitError` where the two cannot be compared."""
    if a.unit is b.unit:
        return b.value
    if not a.unit.same_kind(b.unit):
        raise UnitError(
            f"{what_it_is(a.unit)} cannot be compared with {what_it_is(b.unit)}",
            _mismatch_advice(b.unit, a.unit),
        )
    return b.to(a.unit)


def margin(a: Quantity, b: Quantity) -> Quantity:
    """Return by how much b lies above a; exactly 0 where only rounding parts them.

    The unit is a's, or b's where a is a bare product; temperatures give a difference.
    """
    comparable(a, b)
    if not a.unit.name and b.unit.name:
        a = Quantity(a.to(b.unit), b.unit)
    other = comparable(a, b)
    gap = other - a.value
    if isinstance(gap, float) and abs(gap) <= _SAME * max(abs(float(a.value)), abs(float(other))):
        gap = 0.0
    return Quantity(gap, _difference(a.unit) if _is_point(a) else a.unit)


def round_to(a: Quantity, step: Quantity | None, how: str) -> Quantity:
    """Return a value rounded (`round`, `ceil` or `floor`) to a step; a plain number to whole ones."""
    _no_points("rounded", a)
    if step is None:
        if a.unit.kind != "number":
            raise UnitError(
                f"{what_it_is(a.unit)} needs a step to be rounded to",
                f"write {how}(x, STEP), for example {how}(x, 1/2 in)",
            )
        return Quantity(whole(a.value, how), NUMBER)
    size = comparable(a, step)
    if size <= 0:
        raise NoValueError("a rounding step must be above zero")
    if isinstance(size, float):
        return _checked(float(whole(a.value / size, how)) * size, a.unit)
    return _checked(whole(Fraction(1) * a.value / size, how) * size, a.unit)


def whole(value: Exact, how: str) -> Fraction:
    """Return a whole number by `round` (halves away from zero), `ceil` or `floor`.

    A float that rounding has moved off a whole number by a hair counts as that whole number.
    """
    if isinstance(value, float):
        close = round(value)
        if abs(value - close) <= 1e-9 * max(1.0, abs(value)):
            return Fraction(close)
    if how == "ceil":
        return Fraction(math.ceil(value))
    if how == "floor":
        return Fraction(math.floor(value))
    exact = Fraction(value)
    return Fraction(math.floor(abs(exact) + Fraction(1, 2)) * (1 if exact >= 0 else -1))


def pieces(share: float) -> int:
    """Return how many whole pieces a size takes, as `ceil` in a rule does: seven full ones are not eight.

    >>> pieces(7.0000000000001), pieces(7.01)
    (7, 8)
    """
    return int(whole(share, "ceil"))


def sine(name: str, a: Quantity) -> Quantity:
    """Return the sine, cosine or tangent (`sin`, `cos`, `tan`) of an angle."""
    degree = unit("deg")
    if not a.unit.same_kind(degree):
        raise UnitError(f"{name} takes an angle, not {what_it_is(a.unit)}", "write the angle in deg")
    degrees = float(a.to(degree))
    if name == "tan" and abs(math.cos(math.radians(degrees))) < 1e-12:
        raise NoValueError(f"the tangent of {degrees:g} deg")
    return Quantity(getattr(math, name)(math.radians(degrees)), NUMBER)
