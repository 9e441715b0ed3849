"""Printing a quantity as a shop reads it: shop fractions, feet and inches, steps, on the safe side."""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from math import ceil, floor, inf, isfinite, log10
from typing import Literal

from kb.language.expression import MOST_CHARACTERS
from kb.language.literal import KEYWORDS, ReadError, scan_quantity, starts_number
from kb.language.quantity import Exact, Quantity, quantity, whole
from kb.language.units import TEXT, Unit, UnitError, is_unit, unit, wanted

Safe = Literal["up", "down", "nearest"]
CHAINS = {"ft-in": ("ft", "in"), "yd-ft": ("yd", "ft"), "lb-oz": ("lb", "oz"), "hr-min": ("hr", "min"),
          "hr-min-s": ("hr", "min", "s"), "min-s": ("min", "s")}  # fmt: skip
"""Units that are printed as a chain, by the name an author writes."""

_FIGURES = 3
_DUST = 9
"""Decimals beyond which a temperature moved to another zero is arithmetic's own."""
_POWERS_OF_TEN = {power: float(Fraction(10) ** power) for power in range(-25, 25)}
_SHOP_STEP = Fraction(1, 16)


@dataclass(frozen=True, slots=True)
class Form:
    """How an author wants a value shown: `in UNIT`, `up` or `down`, `to STEP`."""

    unit: str = ""
    direction: Safe | None = None
    step: Fraction | None = None
    in_fractions: bool = False


AS_IT_IS = Form()


def split_form(text: str) -> tuple[str, Form]:
    """Part an inline value into its expression and the form that ends it.

    It is split at an `in` only where all that follows is one known unit or chain, then `up` or `down`,
    then `to STEP`. Raises `ReadError`.

    >>> split_form("tank.gross in gal down to 1")[0]
    'tank.gross'
    """
    if len(text) > MOST_CHARACTERS:
        return text.strip(), AS_IT_IS  # too long for an expression, which says so
    seen = _without_texts(text)
    body, step, in_fractions = _split_step(text, seen)
    direction: Safe | None = None
    if match := re.search(r"\s(up|down)\s*$", body):
        direction = "up" if match[1] == "up" else "down"
        body = body[: match.start()]
    unit_text = ""
    match = None
    for match in re.finditer(r"(?<=\s)in(?=\s)", seen[: len(body)]):
        tail = body[match.end() :].strip()
        if body[: match.start()].strip() and (tail in CHAINS or is_unit(tail)) and tail:
            unit_text, body = tail, body[: match.start()]
            break
    else:
        if match is not None:
            _check_tail(body, match.start(), match.end())
    return body.strip(), Form(unit_text, direction, step, in_fractions)


def _without_texts(text: str) -> str:
    """Return a text of the same length whose quoted words are blotted out."""
    return re.sub(r"(?<![0-9½¼¾⅛⅜⅝⅞⅓⅔])(['\"])(.*?)\1", lambda match: "_" * len(match[0]), text)


def _check_tail(body: str, start: int, end: int) -> None:
    """Name a mistyped unit after the last `in`, where what stands before it is a whole expression."""
    tail = body[end:].strip()
    if TEXT.fullmatch(tail) and tail not in KEYWORDS and not re.search(r"[0-9]$", body[:start].strip()):
        try:
            unit(tail)
        except UnitError as error:
            raise ReadError(error.what, error.fix, body.find(tail, end)) from None


def _split_step(text: str, seen: str) -> tuple[str, Fraction | None, bool]:
    match = re.search(r"\sto\s+(\S.*?)\s*$", seen)
    if not match:
        return text, None, False
    at = match.start(1)
    if not starts_number(text, at):
        raise ReadError(f"'{match[1]}' is not a rounding step", "write one such as to 1/16 or to 0.5", at)
    scanned = scan_quantity(text, at)
    if scanned.has_unit or text[scanned.end :].strip():
        raise ReadError(
            f"'{match[1]}' is not a rounding step",
            "a step is a number in the shown unit: to 1/16",
            at,
        )
    step = Fraction(scanned.quantity.value)
    if step <= 0:
        raise ReadError("a rounding step must be above zero", "write one such as to 1/16", at)
    return text[: match.start()], step, "/" in match[1] or match[1][-1:] in "½¼¾⅛⅜⅝⅞⅓⅔"


def check_direction(form: Form, safe: Safe) -> None:
    """Refuse a rounding toward danger. Raises `ReadError`."""
    if form.direction and safe != "nearest" and form.direction != safe:
        raise ReadError(
            f"rounding {form.direction} goes toward danger: the safe side of this number is {safe}",
            f"write {safe}, or leave the direction out",
        )


def need_unit(size: Quantity) -> None:
    """Refuse to show a product or quotient that does not say its unit. Raises `ReadError`."""
    if size.unit.kind != "number":
        raise ReadError(
            f"a product or quotient has no unit of its own: {wanted(size.unit)}",
            "say how to show it, with 'in UNIT' at the end",
        )


def shown_unit(size: Quantity, form: Form) -> Unit:
    """Return the unit a value is printed in (of a chain, its last), or raise `ReadError`."""
    text = CHAINS[form.unit][-1] if form.unit in CHAINS else form.unit
    if not text:
        if not size.unit.name:
            need_unit(size)
        return size.unit
    try:
        one = unit(text)
    except UnitError as error:
        raise ReadError(error.what, error.fix) from None
    if size.unit.kind == "number" and one.kind in ("share", "slope", "volume per volume"):
        return one  # a ratio says here what it is
    if not size.unit.same_kind(one):
        try:
            size.to(one)  # raises with the advice that fits
        except UnitError as error:
            raise ReadError(error.what, error.fix) from None
    return one


def in_unit(size: Quantity, one: Unit) -> Quantity:
    """Return a value in a unit; a plain ratio becomes a share, a slope or a volume per volume."""
    if size.unit.kind == "number" and one.kind in ("share", "slope", "volume per volume"):
        return Quantity(one.from_base(size.base), one)
    return Quantity(size.to(one), one)


def show(
    size: Quantity,
    form: Form = AS_IT_IS,
    safe: Safe = "nearest",
    *,
    is_count: bool = False,
    spread: Exact = 0,
) -> str:
    """Return a value with its unit as text.

    Args:
        size: the value.
        form: what the author asked for.
        safe: the side it is rounded to, unless the form says one.
        is_count: whole numbers only.
        spread: half the width of its tolerance in its own unit; no finer step is shown.

    Raises `ReadError` where the unit does not fit.

    """
    value, one = show_parts(size, form, safe, is_count=is_count, spread=spread)
    return f"{value} {one}".rstrip() if one != "%" else f"{value} %"


def show_parts(
    size: Quantity,
    form: Form = AS_IT_IS,
    safe: Safe = "nearest",
    *,
    is_count: bool = False,
    spread: Exact = 0,
) -> tuple[str, str]:
    """Return the number and the unit apart; a chain stands whole in the first part."""
    one = shown_unit(size, form)
    value = in_unit(size, one).value
    side = form.direction or safe
    if form.unit in CHAINS:
        step = form.step or (_SHOP_STEP if form.unit == "ft-in" else Fraction(1))
        rounded = whole_steps(value, step, side)
        return _chain(rounded, CHAINS[form.unit], form.in_fractions or form.unit == "ft-in"), ""
    if form.step or is_count:
        step = form.step or Fraction(1)
        rounded = whole_steps(value, step, side)
        return (_fractions(rounded) if form.in_fractions else _decimal(rounded, step)), one.name
    if isinstance(value, float) and one.offset != size.unit.offset:
        value = round(value, _DUST)  # 32 degF is 0 degC, not what subtracting leaves of it
    spread_here = spread * size.unit.scale / one.scale if spread else 0
    if isinstance(value, Fraction):
        return _exact_figures(value, spread_here, side), one.name
    if 1e-3 <= abs(value) < 1e12:
        part, power = _figures_step(value, spread_here)
        if power in _POWERS_OF_TEN:
            return _float_figures(value, part, power, side), one.name
    return _any_figures(value, spread_here, side), one.name


@lru_cache(maxsize=10_000)
def _exact_figures(value: Fraction, spread: Exact, side: Safe) -> str:
    """Return three figures of an exact value; the same few come again and again."""
    return _any_figures(value, spread, side)


def _float_figures(value: float, part: int, power: int, side: Safe) -> str:
    """Return a float in whole steps of `part` at a power of ten: `_any_figures` in plain integers."""
    steps = value / (part * _POWERS_OF_TEN[power])
    count = round(steps)
    if abs(steps - count) > 1e-9 * max(1.0, abs(steps)):  # else moved off a whole number by a hair
        if side == "nearest":
            below = floor(abs(steps))
            count = (below + (abs(steps) - below >= 0.5)) * (1 if steps >= 0 else -1)
        else:
            count = ceil(steps) if side == "up" else floor(steps)
    count *= part
    if abs(count) >= 10**_FIGURES:
        count, power = count // 10, power + 1  # 99.96 has become 100
    if power >= 0:
        return str(count * 10**power)
    sign, digits = "-" if count < 0 else "", str(abs(count)).rjust(1 - power, "0")
    return f"{sign}{digits[:power]}.{digits[power:]}"


def _any_figures(value: Exact, spread: Exact, side: Safe) -> str:
    """Return a value in three figures, or fewer where its tolerance is coarser."""
    part, power = _figures_step(value, spread)
    step = part * Fraction(10) ** power
    rounded = whole_steps(value, step, side)
    if isinstance(value, Fraction) and rounded == value:
        step = Fraction(1, rounded.denominator)  # exact as written: 7 %, not 7.00 %
    elif abs(rounded) >= Fraction(10) ** (power + _FIGURES):
        step = Fraction(10) ** (power + 1)  # 99.96 has become 100
    if 0 < abs(rounded) < Fraction(1, 10**4) or abs(rounded) >= 10**15:
        mantissa, exponent = f"{float(rounded):.{_FIGURES - 1}e}".split("e")
        return f"{mantissa}e{int(exponent)}"
    return _decimal(rounded, step)


def whole_steps(value: Exact, step: Fraction, safe: Safe) -> Fraction:
    """Return a value rounded to a step, toward the given side."""
    how = {"up": "ceil", "down": "floor", "nearest": "round"}[safe]
    if isinstance(value, float):
        near = float(step)
        steps = value / near if near else inf
        # Beyond what a float can tell, the exact way is the only one.
        return whole(steps if isfinite(steps) else Fraction(value) / step, how) * step
    return whole(value / step, how) * step


def _figures_step(value: Exact, spread: Exact) -> tuple[int, int]:
    """Return a step of three figures, never finer than the tolerance: 1, 2 or 5, at a power of ten."""
    power = _magnitude(value) - _FIGURES + 1 if value else 0
    if not spread or spread * (1 - 1e-9) <= Fraction(10) ** power:
        return 1, power
    power = _magnitude(spread)
    least = spread * (1 - 1e-9) if isinstance(spread, float) else spread  # 0.1 as subtraction left it
    for part in (1, 2, 5):
        if part * Fraction(10) ** power >= least:
            return part, power
    return 1, power + 1


def _magnitude(value: Exact) -> int:
    """Return the power of ten of a value's first figure."""
    if isinstance(value, Fraction):
        return floor(log10(abs(value.numerator)) - log10(value.denominator) + 1e-12)
    return floor(log10(abs(value)) + 1e-12)


def _decimal(value: Fraction, step: Fraction) -> str:
    """Return a multiple of a step in decimals, with as many places as the step has."""
    places = 0
    while (step * 10**places).denominator != 1 and places < 24:
        places += 1
    scaled = whole(value * 10**places, "round")
    sign = "-" if scaled < 0 else ""
    digits = str(abs(scaled.numerator)).rjust(places + 1, "0")
    return f"{sign}{digits[:-places]}.{digits[-places:]}" if places else f"{sign}{digits}"


def _fractions(value: Fraction) -> str:
    """Return a value as a shop fraction: 46 1/2."""
    sign = "-" if value < 0 else ""
    whole_part, rest = divmod(abs(value), 1)
    if not rest:
        return f"{sign}{whole_part}"
    fraction = f"{rest.numerator}/{rest.denominator}"
    return f"{sign}{whole_part} {fraction}" if whole_part else f"{sign}{fraction}"


def _chain(value: Fraction, names: tuple[str, ...], in_fractions: bool) -> str:
    """Return a value in the last unit of a chain as the whole chain: 27 ft 6 1/2 in."""
    sign = "-" if value < 0 else ""
    rest = abs(value)
    last = quantity(1, names[-1])
    parts: list[str] = []
    for name in names[:-1]:
        size = Fraction(quantity(1, name).to(last.unit))
        count, rest = divmod(rest, size)
        if count or parts:
            parts.append(f"{count} {name}")
    if rest or not parts:
        end = _fractions(rest) if in_fractions else _decimal(rest, _last_step(rest))
        parts.append(f"{end} {names[-1]}")
    return sign + " ".join(parts)


def _last_step(value: Fraction) -> Fraction:
    """Return a step fine enough to print a value that is already rounded."""
    return Fraction(1, value.denominator)
