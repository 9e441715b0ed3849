"""US and metric: which unit of the other system stands beside one."""

from __future__ import annotations

from functools import cache
from typing import Literal

from kb.language.quantity import Exact, Quantity
from kb.language.show import AS_IT_IS, Form, Safe, show_parts
from kb.language.units import Unit, unit

System = Literal["us", "metric"]

_PAIRS = {
    "in": "mm", "ft": "m", "yd": "m", "mil": "um", "mi": "km",
    "in^2": "cm^2", "ft^2": "m^2", "yd^2": "m^2", "cmil": "mm^2",
    "in^3": "cm^3", "ft^3": "m^3", "gal": "L", "qt": "L", "pt": "L", "fl oz": "mL",
    "lb": "kg", "oz": "g", "lb/ft": "kg/m", "lb/ft^2": "kg/m^2", "oz/ft^2": "g/m^2", "oz/yd^2": "g/m^2",
    "lb/ft^3": "kg/m^3", "lb/gal": "kg/L", "lb/in": "kg/m", "ft^2/lb": "m^2/kg",
    "lbf": "N", "lbf/ft": "N/m", "psi": "kPa", "ksi": "MPa", "inHg": "hPa", "inH2O": "Pa", "lbf/ft^2": "Pa",
    "lbf*in^2": "N*m^2", "lbf*ft": "N*m", "lbf*in": "N*m",
    "gpm": "L/min", "gph": "L/hr", "gal/min": "L/min", "gal/hr": "L/hr",
    "cfm": "m^3/min", "ft^3/min": "m^3/min",
    "ft/s": "m/s", "ft/min": "m/min", "degF": "degC", "delta_degF": "delta_degC",
    "1/delta_degF": "1/delta_degC", "in/ft": "mm/m", "hp": "kW",
}  # fmt: skip
_BACK = {
    "mm": "in", "cm": "in", "m": "ft", "km": "mi", "um": "mil",
    "mm^2": "in^2", "cm^2": "in^2", "m^2": "ft^2", "cm^3": "in^3", "m^3": "ft^3", "mL": "fl oz", "L": "gal",
    "g": "oz", "kg": "lb", "tonne": "lb", "kg/m": "lb/ft", "kg/m^2": "lb/ft^2", "g/m^2": "oz/yd^2",
    "kg/m^3": "lb/ft^3", "kg/L": "lb/gal", "m^2/kg": "ft^2/lb",
    "N": "lbf", "kN": "lbf", "N/m": "lbf/ft", "Pa": "inH2O", "hPa": "inHg", "kPa": "psi", "MPa": "ksi",
    "bar": "psi", "mbar": "inHg", "N*m^2": "lbf*in^2", "N*m": "lbf*ft",
    "L/min": "gal/min", "L/hr": "gal/hr", "m^3/min": "ft^3/min",
    "m/s": "ft/s", "m/min": "ft/min", "degC": "degF", "delta_degC": "delta_degF",
    "1/delta_degC": "1/delta_degF", "mm/m": "in/ft", "kW": "hp",
}  # fmt: skip


@cache
def counterpart(one: Unit, system: System) -> Unit | None:
    """Return the unit that a book of one system shows beside this one; None where both use the same.

    >>> counterpart(unit("in"), "us").name
    'mm'
    """
    other = (_PAIRS if system == "us" else _BACK).get(one.name)
    return unit(other) if other else None


def show_other(
    size: Quantity,
    shown: Unit,
    system: System,
    form: Form = AS_IT_IS,
    safe: Safe = "nearest",
    spread: Exact = 0,
) -> tuple[str, str] | None:
    """Return a value in the other system, rounded for itself to its own safe side, to three figures.

    Args:
        size: the value.
        shown: the unit that the book's own system shows.
        system: that system.
        form: what the author asked for there; of it only the direction counts here.
        safe: the side it is rounded to, unless the form says one.
        spread: half the width of its tolerance in its own unit.

    Returns the number and the unit, or None where both systems use the same.

    """
    other = counterpart(shown, system)
    if other is None:
        return None
    return show_parts(size, Form(unit=other.name, direction=form.direction), safe, spread=spread)
