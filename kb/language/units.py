"""The units of the book: what each word means, and how words combine.

Only this module knows pint. Pint reads `units.txt` (nothing is inherited from its own list) and gives
exact factors; an author's text never reaches its parser.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from fractions import Fraction
from functools import cache, lru_cache
from importlib.resources import as_file, files
from typing import Any, Literal

from kb.problem import nearest

Kind = Literal["quantity", "number", "share", "slope", "volume per volume", "temperature"]
Dims = tuple[int, int, int, int, int, int]
"""Powers of length, mass, time, temperature, current and angle."""

NO_DIMS: Dims = (0, 0, 0, 0, 0, 0)
_BASE = ("m", "kg", "s", "kelvin", "A", "deg")


class UnitError(ValueError):
    """A unit that cannot be read, with what to write instead."""

    def __init__(self, what: str, fix: str) -> None:
        self.what = what
        self.fix = fix
        super().__init__(f"{what}; {fix}")


@dataclass(frozen=True, slots=True, eq=False)
class Unit:
    """A unit: its name as printed, its factor and offset to base units, its dimensions and kind.

    There is one object a unit, so units are the same where they are identical.

    Share, slope, volume per volume and plain number have no dimensions, yet are kinds of their own.
    A temperature is a point on a scale; a difference of temperatures is a plain quantity.
    """

    name: str
    scale: Fraction
    dims: Dims
    kind: Kind = "quantity"
    offset: Fraction = Fraction(0)
    near: float = field(init=False, repr=False)
    """The factor as a float: exact fractions beside floats are ten times slower and no better."""
    near_offset: float = field(init=False, repr=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "near", float(self.scale))
        object.__setattr__(self, "near_offset", float(self.offset))

    def same_kind(self, other: Unit) -> bool:
        """Tell whether a value in the one unit can be written in the other."""
        return self.dims == other.dims and self.kind == other.kind

    def to_base(self, value: Fraction | float) -> Fraction | float:
        """Return a value of this unit in base units (m, kg, s, kelvin, A, deg)."""
        if isinstance(value, float):
            return value * self.near + self.near_offset
        return value * self.scale + self.offset if self.offset else value * self.scale

    def from_base(self, value: Fraction | float) -> Fraction | float:
        """Return a value in base units as a value of this unit."""
        if isinstance(value, float):
            return (value - self.near_offset) / self.near
        return (value - self.offset) / self.scale

    def __str__(self) -> str:
        return self.name


NUMBER = Unit("", Fraction(1), NO_DIMS, "number")

# Words that people write for units we have under one spelling only.
_OTHER_SPELLINGS = {
    "inch": "in", "inches": "in", "ins": "in", "foot": "ft", "feet": "ft", "yard": "yd", "yards": "yd",
    "millimeter": "mm", "millimetre": "mm", "meter": "m", "metre": "m", "mils": "mil", "thou": "mil",
    "gallon": "gal", "gallons": "gal", "gals": "gal", "liter": "L", "litre": "L", "liters": "L",
    "litres": "L", "l": "L", "ml": "mL", "quart": "qt", "pint": "pt", "floz": "fl oz",
    "pound": "lb", "pounds": "lb", "lbs": "lb", "ounce": "oz", "ounces": "oz", "gram": "g", "grams": "g",
    "kilogram": "kg", "kgs": "kg", "lbm": "lb", "pcf": "lb/ft^3", "psf": "lbf/ft^2", "sqft": "ft^2",
    "sqin": "in^2", "cuft": "ft^3", "cuin": "in^3", "cc": "mL", "psig": "psi", "psia": "psi",
    "sec": "s", "secs": "s", "second": "s", "seconds": "s", "mins": "min", "minute": "min",
    "minutes": "min", "hrs": "hr", "hour": "hr", "hours": "hr", "days": "day", "d": "day", "weeks": "week",
    "cfh": "ft^3/hr", "lpm": "L/min", "lph": "L/hr", "mph": "mi/hr", "kn": "nmi/hr", "knots": "nmi/hr",
    "percent": "%", "pct": "%", "degree": "deg", "degrees": "deg", "°": "deg",
    "amp": "A", "amps": "A", "volt": "V", "volts": "V", "watt": "W", "watts": "W", "a": "A", "v": "V",
    "w": "W", "pa": "Pa", "kpa": "kPa", "Kpa": "kPa", "PSI": "psi", "IN": "in", "In": "in", "FT": "ft",
    "Ft": "ft", "LB": "lb", "Lb": "lb", "GAL": "gal", "Gal": "gal", "MM": "mm", "OZ": "oz", "KG": "kg",
    "GPM": "gpm", "GPH": "gph", "CFM": "cfm", "Min": "min", "Hr": "hr", "µm": "um", "micron": "um",
    "microns": "um", "cps": "cP", "mPas": "mPa*s",
}  # fmt: skip
_PRINTED = {
    "fl_oz": "fl oz",
    "imp_gal": "imp gal",
    "h": "hr",
    "percent": "%",
}
_TWO_WORDS = {"fl": "oz", "imp": "gal"}

_WORD = r"(?:1(?=/)|°[FC]|[A-Za-zµ°Ω][A-Za-z0-9_]*[²³]?|%)(?:\^-?[0-9]+)?"
TEXT = re.compile(rf"(?:fl oz|imp gal)(?![A-Za-z0-9_])|{_WORD}(?:[*/]{_WORD})*")
"""What may be the text of a unit; `unit` says whether it is one."""

_LONGEST = 60
_MOST_POWER = 24  # beyond it a factor leaves the range of a float

_ATOM = re.compile(r"([A-Za-zµ°Ω%_][A-Za-z0-9_ °]*?|1)([23²³])?(?:\^(-?[0-9]+))?")


@cache
def _atoms() -> dict[str, Unit]:
    """Read `units.txt`: word to unit. The one place where pint is asked."""
    import pint  # half of the start-up time of the command, so only where a unit is first needed

    with as_file(files("kb.language") / "units.txt") as path:
        registry: Any = pint.UnitRegistry(str(path), non_int_type=Fraction, cache_folder=None)
    atoms: dict[str, Unit] = {}
    for word in registry._units:
        if not word.isascii():
            continue  # pint adds signs of its own beside a scale of temperature
        scale, base = registry.get_root_units(word)
        powers = {name: int(power) for name, power in base._units.items()}
        dims: Dims = tuple(powers.get(name, 0) for name in _BASE)  # type: ignore[assignment]
        offset = Fraction(getattr(registry._units[word].converter, "offset", 0))
        kind: Kind = "quantity"
        if word in ("degF", "degC"):
            kind = "temperature"
        elif word == "percent":
            kind = "share"
        atoms[word] = Unit(_PRINTED.get(word, word), Fraction(scale), dims, kind, offset)
    atoms |= {"%": atoms.pop("percent"), "fl oz": atoms["fl_oz"], "imp gal": atoms["imp_gal"]}
    atoms |= {"°F": atoms["degF"], "°C": atoms["degC"]}
    return atoms


def unit_words() -> list[str]:
    """Return every single word that is a unit, for suggestions and the handbook."""
    return sorted(word for word in _atoms() if word != "kelvin")


def is_unit(text: str) -> bool:
    """Tell whether a text is a unit of the book."""
    try:
        unit(text)
    except UnitError:
        return False
    return True


@cache
def unit(text: str) -> Unit:
    """Return the unit that a text such as `lb/ft^3` names.

    Raises `UnitError` with the nearest unit, or the forms wanted.
    """
    if text == "":
        return NUMBER
    if len(text) > _LONGEST:
        raise UnitError(f"'{text[:20]}…' is not a unit", "write units like lb/ft^3, lbf*in^2 or 1/hr")
    parts = re.split(r"([*/])", text)
    if len(parts) == 1 and text in _atoms():
        _refuse_bare_degree(text, alone=True)
        return _atoms()[text]
    scale, dims, top = Fraction(1), NO_DIMS, NO_DIMS
    sign = 1
    for position, part in enumerate(parts):
        if position % 2:
            sign = -1 if part == "/" else 1
            continue
        atom, power = _atom(part, text, alone=len(parts) == 1)
        power *= sign
        scale *= atom.scale**power
        dims = _plus(dims, atom.dims, power)
        if power > 0:
            top = _plus(top, atom.dims, power)
    if any(abs(power) > _MOST_POWER for power in dims):
        raise UnitError(f"'{text}' is no unit of anything", "check its powers")
    tidy = _tidy(text)
    return unit(tidy) if tidy != text else Unit(text, scale, dims, _ratio_kind(dims, top, text))


def _plus(dims: Dims, more: Dims, power: int) -> Dims:
    return tuple(a + power * b for a, b in zip(dims, more, strict=True))  # type: ignore[return-value]


def _atom(part: str, text: str, *, alone: bool) -> tuple[Unit, int]:
    """Return one word of a compound unit and its power."""
    if part == "1":
        return NUMBER, 1
    match = _ATOM.fullmatch(part)
    if not match:
        raise UnitError(f"'{text}' is not a unit", "write units like lb/ft^3, lbf*in^2 or 1/hr")
    word, short, power_text = match.groups()
    if part in _atoms() or f"{word}{short or ''}" in _atoms():
        word, short = f"{word}{short or ''}", None
    _refuse_bare_degree(word, alone=alone)
    if word in ("degF", "degC", "°F", "°C", "K", "kelvin"):
        # In a compound unit degrees are differences: W/m/K, 1/degF.
        word = {"F": "delta_degF", "C": "delta_degC"}.get(word[-1], "delta_degC")
    atom = _atoms().get(word)
    if atom is None:
        raise _unknown(word, text)
    power = int(power_text or {"2": 2, "²": 2, "3": 3, "³": 3}.get(short or "", 1))
    if short and atom.dims != (1, 0, 0, 0, 0, 0):
        raise UnitError(f"'{part}' is not a unit", f"only lengths take a bare 2 or 3; write {word}^{short}")
    if not 1 <= abs(power) <= 6:
        raise UnitError(f"'{part}' has the power {power}", "powers of a unit go from 1 to 6")
    return atom, power


def _refuse_bare_degree(word: str, *, alone: bool) -> None:
    if word in ("F", "C") or (word in ("K", "kelvin") and alone):
        raise UnitError(
            f"'{word}' alone is not a unit",
            "write a temperature as degF or degC, a difference as delta_degF or delta_degC",
        )


def _unknown(word: str, text: str) -> UnitError:
    if word in ("psig", "psia"):
        return UnitError(f"'{word}' is not a unit", "write psi; the name says what it is measured from")
    near = word if word in _OTHER_SPELLINGS else nearest(word, [*unit_words(), *_OTHER_SPELLINGS])
    known = _OTHER_SPELLINGS.get(near, near) if near else None
    if known:
        return UnitError(f"there is no unit '{text}'", f"did you mean '{text.replace(word, known)}'?")
    return UnitError(f"there is no unit '{text}'", "write one such as in, ft, gal, lb, psi or lb/ft^3")


def _ratio_kind(dims: Dims, top: Dims, text: str) -> Kind:
    """Tell what a unit is whose dimensions cancel: a slope, a volume per volume, or nothing."""
    if dims != NO_DIMS:
        return "quantity"
    if top == (1, 0, 0, 0, 0, 0):
        return "slope"
    if top == (3, 0, 0, 0, 0, 0):
        return "volume per volume"
    raise UnitError(f"'{text}' cancels out", "write a plain number, or a share in %")


def _tidy(text: str) -> str:
    """Return the one spelling of a compound unit that is printed: ft^3 for ft3 and ft³."""

    def power(match: re.Match[str]) -> str:
        return f"{match[1]}^{ {'²': '2', '³': '3'}.get(match[2], match[2]) }"

    text = re.sub(r"\b(in|ft|yd|mm|cm|m|mil|um|km)([23²³])(?![0-9])", power, text)
    return re.sub(r"\bh\b", "hr", text)


@cache
def coherent(dims: Dims, kind: Kind = "number") -> Unit:
    """Return the unnamed unit, in base units, of a product or quotient.

    The kind counts where the dimensions cancel: a share of a share is a number, half a share a share.
    """
    if dims != NO_DIMS:
        return Unit("", Fraction(1), dims)
    return NUMBER if kind == "number" else Unit("", Fraction(1), dims, kind)


@lru_cache(maxsize=10_000)
def ratio(one: Unit, other: Unit) -> tuple[Fraction, float]:
    """Return what a value in the one unit is multiplied by to stand in the other, exact and as a float."""
    exact = one.scale / other.scale
    return exact, float(exact)


_WORDS = {
    "a plain number": "",
    "a length": "in ft mm",
    "an area": "in^2 ft^2 m^2",
    "a volume": "gal ft^3 L",
    "a mass": "lb oz kg",
    "a force": "lbf N",
    "a pressure": "psi inHg kPa",
    "a density": "lb/ft^3 lb/gal kg/m^3",
    "a mass per area": "lb/ft^2 oz/yd^2 kg/m^2",
    "a mass per length": "lb/ft kg/m",
    "a force per length": "lbf/ft N/m",
    "a flow": "gpm gal/hr L/min",
    "a time": "min hr s",
    "a temperature": "degF degC",
    "a temperature difference": "delta_degF delta_degC",
    "an angle": "deg",
    "a share": "%",
    "a slope": "in/ft mm/m",
    "a volume per volume": "L/gal mL/L",
    "a speed": "ft/s m/s",
    "a rate": "1/hr 1/min",
    "a pressure rate": "inHg/min",
    "a mass rate": "g/day lb/hr",
    "a mass per volume and time": "g/gal/day",
    "a growth for each degree": "1/delta_degF 1/delta_degC",
    "a current": "A mA",
    "a voltage": "V mV",
    "a charge": "Ah",
    "a resistance": "ohm",
    "a power": "W hp",
    "a moment or energy": "lbf*in J",
    "a bending stiffness": "lbf*in^2",
    "a viscosity": "Pa*s cP",
    "a kinematic viscosity": "cSt m^2/s",
    "a conductivity": "W/m/K",
    "a film coefficient": "W/m^2/K",
    "an area per mass": "ft^2/lb m^2/kg",
}


@cache
def _described() -> dict[tuple[Dims, Kind], tuple[str, str]]:
    table = {}
    for words, examples in _WORDS.items():
        units = examples.split()
        first = unit(units[0]) if units else NUMBER
        table[first.dims, first.kind] = (words, ", ".join(units))
    return table


def what_it_is(one: Unit) -> str:
    """Return what a unit measures, in words: 'a length'."""
    known = _described().get((one.dims, one.kind))
    return known[0] if known else f"a quantity in {one.name or base_name(one.dims)}"


def wanted(one: Unit) -> str:
    """Return what a unit measures with the units it may be written in: 'a length (in, ft, mm)'."""
    known = _described().get((one.dims, one.kind))
    if not known:
        return f"a quantity in {one.name or base_name(one.dims)}"
    words, examples = known
    if one.name and one.name not in examples.split(", "):
        examples = f"{one.name}, {examples}" if examples else one.name
    return f"{words} ({examples})" if examples else words


def base_name(dims: Dims) -> str:
    """Return what a product or quotient without a unit of its own is in, such as m^2*kg."""
    return "*".join(
        name if power == 1 else f"{name}^{power}" for name, power in zip(_BASE, dims, strict=True) if power
    )
