"""Reading a quantity as a shop writes it: `27' 6 1/2"`, `41-1/2 in ± 1/8 in`, `4 lb/ft3`."""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction

from kb.language.quantity import LARGEST, Exact, Quantity
from kb.language.units import NUMBER, TEXT, Unit, UnitError, is_unit, unit, what_it_is


class ReadError(ValueError):
    """A text that cannot be read: what was found, what to write, and where (columns from 0)."""

    def __init__(self, what: str, fix: str, at: int = 0) -> None:
        self.what = what
        self.fix = fix
        self.at = at
        super().__init__(f"{what}; {fix}")


@dataclass(frozen=True, slots=True)
class Literal:
    """A quantity as written, with its tolerance in the quantity's own unit where it has one."""

    text: str
    quantity: Quantity
    minus: Exact = Fraction(0)
    plus: Exact = Fraction(0)

    @property
    def is_toleranced(self) -> bool:
        """Tell whether the value may lie to either side of what is written."""
        return bool(self.minus or self.plus)


@dataclass(frozen=True, slots=True)
class Scanned:
    """A quantity found in a text, where it ends, and how it was written."""

    quantity: Quantity
    end: int
    has_unit: bool
    is_whole: bool
    mark: str = ""


KEYWORDS = frozenset(["then", "else", "and", "or", "not", "if", "to", "up", "down"])
"""Words that are never a unit, wherever they stand."""

FEET_MARKS = "'′’"
INCH_MARKS = '"″”'
_VULGAR = {
    "½": "1/2", "⅓": "1/3", "⅔": "2/3", "¼": "1/4", "¾": "3/4", "⅕": "1/5", "⅖": "2/5", "⅗": "3/5",
    "⅘": "4/5", "⅙": "1/6", "⅚": "5/6", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8",
}  # fmt: skip
_DECIMAL = re.compile(r"(?:[0-9]+(?:\.[0-9]+)?|\.[0-9]+)(?:[eE][+-]?[0-9]+)?")
_FRACTION = re.compile(r"([0-9]+)/([0-9]+)")
_MIXED = re.compile(r"(?:[ \u00a0]+|-)([0-9]+/[0-9]+)")
_VULGAR_PART = re.compile(rf"(?:[ \u00a0]?|-)([{''.join(_VULGAR)}])")
_COMMAS = re.compile(r"[0-9]{1,3}(?:,[0-9]{3})+(?:\.[0-9]+)?(?![0-9,])")
_COMMA = re.compile(r"[0-9.]*,[0-9]+(?:[.,][0-9]+)*")
_OTHER_DIGIT = re.compile(r"[^\W\d_]|\d")
_TOLERANCE = re.compile(r"[ \u00a0]*(?:±|\+/-|\+/−)[ \u00a0]*")
_CHAINS = (("yd", "ft", "in"), ("lb", "oz"), ("hr", "min", "s"))
_LONGEST_NUMBER = 60
_LONGEST_TEXT = 200
_OTHER_WORDS = re.compile(r"(sq|cu|square|cubic|US)\.? +([A-Za-z]+)")


def starts_number(text: str, at: int) -> bool:
    """Tell whether a number may begin at a place of a text."""
    one = text[at : at + 1]
    if one == ".":
        return text[at + 1 : at + 2] in set("0123456789")
    return one != "" and (one in "0123456789" or one in _VULGAR)


def scan_quantity(text: str, at: int) -> Scanned:
    """Read the quantity that begins at a place of a text; chains such as `27 ft 6 in` are one.

    Raises `ReadError`.
    """
    first = _scan_part(text, at)
    if not first.has_unit:
        _refuse_two_numbers(text, first)
        return first
    total, end, last, mark = first.quantity.value, first.end, first, first.mark
    while (following := _next_part(text, end, mark)) is not None:
        part = _scan_part(text, following)
        _check_chain(text, at, following, last, part)
        total += part.quantity.to(first.quantity.unit)
        last, end, mark = part, part.end, part.mark
    size = Quantity(_bounded(total, text, at), first.quantity.unit)
    return Scanned(size, end, has_unit=True, is_whole=False, mark=mark)


def _scan_part(text: str, at: int) -> Scanned:
    """Read one number and the unit that follows it, if one does."""
    value, end, is_whole = _scan_number(text, at)
    mark = text[end : end + 1]
    if mark and mark in FEET_MARKS + INCH_MARKS:
        one = unit("ft" if mark in FEET_MARKS else "in")
        return Scanned(Quantity(_bounded(value, text, at), one), end + 1, True, False, mark)
    found = _scan_unit(text, end)
    if found is None:
        return Scanned(Quantity(_bounded(value, text, at)), end, False, is_whole)
    one, end = found
    return Scanned(Quantity(_bounded(value, text, at), one), end, True, is_whole)


def _scan_number(text: str, at: int) -> tuple[Fraction, int, bool]:
    """Read a number: decimal, fraction or mixed; tell its value, its end, and whether it is whole."""
    if vulgar := _VULGAR.get(text[at : at + 1]):
        return Fraction(vulgar), at + 1, False
    if match := _FRACTION.match(text, at):
        return _proper(match[1], match[2], text, at, match.end()), match.end(), False
    match = _DECIMAL.match(text, at)
    if not match:
        raise ReadError("there is no number here", "begin with a number, such as 41 1/2 in", at)
    end = match.end()
    if text[end : end + 1] == ",":
        _refuse_comma(text, at, end)
    if text[end : end + 1] in (".", *"eE") and text[end + 1 : end + 2] in set("0123456789."):
        raise ReadError("a number has one decimal point", "write one such as 0.19 or 1.82e-5", end)
    value = _decimal(match[0], at)
    if not match[0].isdigit():
        return value, end, False
    if part := _MIXED.match(text, end):
        top, bottom = part[1].split("/")
        fraction = _proper(top, bottom, text, end + part.start(1) - part.start(), part.end())
        return value + fraction, part.end(), False
    if part := _VULGAR_PART.match(text, end):
        return value + Fraction(_VULGAR[part[1]]), part.end(), False
    return value, end, True


def _decimal(text: str, at: int) -> Fraction:
    if len(text) > _LONGEST_NUMBER:
        raise ReadError("this number is too long", f"sizes go up to {LARGEST:.0e}", at)
    mantissa, _, exponent = text.lower().partition("e")
    if exponent and abs(int(exponent)) > 99:
        raise ReadError(f"{text} is beyond any size", f"sizes go up to {LARGEST:.0e}", at)
    return Fraction(mantissa) * Fraction(10) ** int(exponent or 0)


def _proper(top: str, bottom: str, text: str, at: int, end: int) -> Fraction:
    if text[end : end + 1] == "/" and text[end + 1 : end + 2] in set("0123456789"):
        raise ReadError("a fraction has one bar", "write one such as 5/8, or spaces round a division", at)
    if len(top) + len(bottom) > _LONGEST_NUMBER:
        raise ReadError("this fraction is too long", "write a shop fraction such as 5/8", at)
    if int(bottom) == 0:
        raise ReadError(f"{top}/{bottom} divides by zero", "write a fraction such as 5/8", at)
    if int(top) >= int(bottom):
        readings = []
        if len(top) > 1 and 0 < int(top[1:]) < int(bottom):
            readings.append(f"{top[0]} {top[1:]}/{bottom}")
        whole, rest = divmod(int(top), int(bottom))
        readings.append(f"{whole} {rest}/{bottom}" if rest else f"{whole}")
        raise ReadError(
            f"{top}/{bottom} is not a proper fraction",
            f"write {' or '.join(dict.fromkeys(readings))}",
            at,
        )
    return Fraction(int(top), int(bottom))


def _refuse_comma(text: str, at: int, end: int) -> None:
    """Refuse a comma inside a number; a comma after one, as between arguments, is left alone."""
    if match := _COMMAS.match(text, at):
        raise ReadError(f"'{match[0]}' has a comma in it", f"write {match[0].replace(',', '')}", end)
    match = _COMMA.match(text, at)
    if match:
        head, _, tail = match[0].rpartition(",")
        mended = f"{re.sub('[.,]', '', head)}.{tail}" if tail.isdigit() else match[0].replace(",", "")
        raise ReadError(f"'{match[0]}' has a comma in it", f"write {mended}", end)


def _scan_unit(text: str, at: int) -> tuple[Unit, int] | None:
    """Read the unit that follows a number, or return None where there is none."""
    start = at
    while text[start : start + 1] in (" ", "\u00a0") and start < len(text):
        start += 1
    match = TEXT.match(text, start)
    if not match:
        return None
    word = re.match(r"[A-Za-z]+", match[0])
    if word and word[0] in KEYWORDS and word[0] == match[0]:
        return None
    try:
        return unit(match[0]), match.end()
    except UnitError as error:
        if words := _OTHER_WORDS.match(text, start):
            power = {"s": "^2", "c": "^3", "U": ""}[words[1][0]]
            raise ReadError(
                f"'{words[0]}' is not a unit", f"did you mean '{words[2]}{power}'?", start
            ) from None
        raise ReadError(error.what, _unit_advice(match[0], error.fix), start) from None


def _unit_advice(text: str, advice: str) -> str:
    """Return better advice where spaces were forgotten rather than the unit mistyped."""
    head, operator, tail = next(
        ((text[:i], one, text[i + 1 :]) for i, one in enumerate(text) if one in "*/"),
        (text, "", ""),
    )
    if operator and is_unit(head) and head != "1":
        return f"{advice}; as arithmetic it is written with spaces, {head} {operator} {tail}"
    if parts := re.fullmatch(r"([A-Za-z]+)([0-9.]+)([A-Za-z]+)", text):
        return f"put spaces between the parts, {parts[1]} {parts[2]} {parts[3]}"
    return advice


def _next_part(text: str, end: int, mark: str) -> int | None:
    """Return where the next part of a chain begins, or None where the quantity ends."""
    at = end
    if mark and mark in FEET_MARKS and text[at : at + 1] == "-" and starts_number(text, at + 1):
        return at + 1
    while text[at : at + 1] in (" ", "\u00a0") and at < len(text):
        at += 1
    if at == end and not mark:
        # `27ft6in`: the unit's letters have ended, so a digit here begins the next part.
        return at if starts_number(text, at) else None
    return at if starts_number(text, at) else None


def _check_chain(text: str, start: int, at: int, upper: Scanned, lower: Scanned) -> None:
    """Refuse two quantities side by side that are not a chain such as ft-in or hr-min-s."""
    above, below = upper.quantity, lower.quantity
    if not lower.has_unit:
        raise ReadError(
            f"the last number of '{text[start : lower.end]}' has no unit",
            "write every part with its unit, such as 27 ft 6 in",
            at,
        )
    family = next((f for f in _CHAINS if above.unit.name in f and below.unit.name in f), None)
    if family is None or family.index(above.unit.name) >= family.index(below.unit.name):
        raise ReadError(
            f"'{text[start : lower.end]}' is two quantities side by side",
            "chains go down as in 27 ft 6 in, 2 lb 3 oz or 1 hr 30 min; else put an operator between",
            at,
        )
    if above.value.denominator != 1:  # type: ignore[union-attr]
        raise ReadError(
            f"'{text[start : lower.end]}' has a broken number before its last part",
            "only the last part of a chain may have a fraction",
            start,
        )
    if below.to(above.unit) >= 1:
        whole, rest = divmod(below.to(above.unit), 1)
        remainder = below.unit.from_base(above.unit.to_base(rest))
        raise ReadError(
            f"'{text[at : lower.end]}' is one {above.unit.name} or more",
            f"write {above.value + int(whole)} {above.unit.name}"
            + (f" {remainder} {below.unit.name}" if remainder else ""),
            at,
        )


def _refuse_two_numbers(text: str, first: Scanned) -> None:
    rest = text[first.end :].lstrip(" \u00a0")
    if len(rest) < len(text) - first.end and starts_number(rest, 0):
        digits = re.match(r"[0-9]*", rest)
        joined = f"{first.quantity.value}{digits[0]}" if digits else ""
        fix = f"write {joined} for one number" if first.is_whole and digits else "write one number"
        raise ReadError("two numbers stand side by side", f"{fix}, or put an operator between", first.end)


def _bounded(value: Exact, text: str, at: int) -> Exact:
    if value > LARGEST:
        raise ReadError("this size is beyond 1e15", "check the number and its unit", at)
    return value


def read_literal(text: str) -> Literal:
    """Read the text of an input: a quantity or plain number, perhaps negative, perhaps toleranced.

    Raises `ReadError`.

    >>> read_literal("41-1/2 in ± 1/8 in").quantity.value
    Fraction(83, 2)
    """
    if len(text) > _LONGEST_TEXT:
        raise ReadError(f"this value has {len(text)} characters", "a quantity is written in a few words")
    body = text.strip(" \u00a0")
    offset = text.find(body)
    try:
        return _read(body)
    except ReadError as error:
        error.at += offset
        raise


def _read(text: str) -> Literal:
    sign, start = (-1, 1) if text[:1] in ("-", "−") and text[:1] else (1, 0)
    if sign < 0 and text[1:2] == " ":
        raise ReadError("a minus stands alone", "write it right before the number: -3 in", 0)
    if not starts_number(text, start):
        raise ReadError(_not_a_number(text), "begin with a number, such as 41 1/2 in", start)
    main = scan_quantity(text, start)
    size = Quantity(sign * main.quantity.value, main.quantity.unit)
    rest = text[main.end :]
    if not rest.strip():
        return Literal(text, size)
    return _read_tolerance(text, main, size)


def _not_a_number(text: str) -> str:
    if text.lower() in ("nan", "inf", "-inf", "infinity"):
        return f"'{text}' is not a size"
    if _OTHER_DIGIT.match(text[:1] or " ") and text[:1].isdigit():
        return f"'{text[:1]}' is not a plain digit"
    return f"'{text}' is not a quantity"


def _read_tolerance(text: str, main: Scanned, size: Quantity) -> Literal:
    at = main.end
    if match := _TOLERANCE.match(text, at):
        both = _tolerance_part(text, match.end())
        _nothing_after(text, both.end)
        size = _take_unit(main, size, both)
        spread = _spread(text, match.end(), size, both)
        return Literal(text, size, spread, spread)
    parts: dict[str, tuple[int, Scanned]] = {}
    for _ in range(2):
        match = re.compile(r"[ \u00a0]+([+\-−])").match(text, at)
        if not match:
            break
        sign = "+" if match[1] == "+" else "-"
        scanned = _tolerance_part(text, match.end())
        parts[sign] = (match.end(), scanned)
        at = scanned.end
    if not parts:
        raise ReadError(
            f"'{text[main.end :].strip()}' follows the quantity",
            "an input is one value; arithmetic belongs in a formula block",
            len(text) - len(text[main.end :].lstrip()),
        )
    if len(parts) < 2:
        raise ReadError(
            "a tolerance needs both sides",
            "write ± 1/8 in, or +1/4 in -0 in; arithmetic belongs in a formula block",
            len(text) - len(text[main.end :].lstrip()),
        )
    _nothing_after(text, at)
    # The unit may stand once, at the end, for all three.
    last = max(parts.values())[1]
    size = _take_unit(main, size, last)
    spreads = {}
    for sign, (start, part) in parts.items():
        with_unit = part if part.has_unit or not last.has_unit else _with_unit(part, last)
        spreads[sign] = _spread(text, start, size, with_unit)
    return Literal(text, size, minus=spreads["-"], plus=spreads["+"])


def _tolerance_part(text: str, at: int) -> Scanned:
    if not starts_number(text, at):
        raise ReadError(
            "a tolerance has no size",
            "write one such as ± 1/8 in or +1/4 in -0 in; arithmetic belongs in a formula block",
            at,
        )
    return scan_quantity(text, at)


def _nothing_after(text: str, end: int) -> None:
    if rest := text[end:].strip():
        raise ReadError(f"'{rest}' follows the tolerance", "end the value after its tolerance", end)


def _with_unit(part: Scanned, other: Scanned) -> Scanned:
    return Scanned(Quantity(part.quantity.value, other.quantity.unit), part.end, True, part.is_whole)


def _take_unit(main: Scanned, size: Quantity, last: Scanned) -> Quantity:
    """Give the main value the unit that stands once at the end, unless that is a relative %."""
    if main.has_unit or not last.has_unit or last.quantity.unit.kind == "share":
        return size
    return Quantity(size.value, last.quantity.unit)


def _spread(text: str, at: int, size: Quantity, part: Scanned) -> Exact:
    """Return a tolerance in the unit of its value."""
    one = part.quantity.unit
    if one.kind == "share" and size.unit.kind != "share":
        if size.unit.kind == "temperature":
            raise ReadError("a share of a temperature means nothing", "write ± 2 degF", at)
        return abs(Fraction(size.value)) * part.quantity.base
    if size.unit.kind == "temperature":
        if one.kind == "temperature":
            one = unit(f"delta_{one.name}")
        part = Scanned(Quantity(part.quantity.value, one), part.end, True, part.is_whole)
        target = unit(f"delta_{size.unit.name}")
    else:
        target = size.unit
    try:
        return part.quantity.to(target)
    except UnitError:
        found = f"{part.quantity.value} without a unit" if one is NUMBER else what_it_is(one)
        raise ReadError(
            f"the tolerance is {found}, the value {what_it_is(size.unit)}",
            f"write the tolerance in {target.name}" if target.name else "write it without a unit",
            at,
        ) from None
