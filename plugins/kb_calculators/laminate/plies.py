"""The plies of a laminate: what a table says of each, and what each comes to as laid."""

from __future__ import annotations

from typing import Annotated, NamedTuple

from kb import NOT_NEGATIVE, POSITIVE, Q, Range, Refusal
from kb_calculators.conversions import FT2_PER_YD2, IN_PER_FT, OZ_PER_LB

_MOST_FIBRE = 90.0  # round fibres side by side fill no more than pi / (2 sqrt(3)), 90.7 % of the room

_COLUMNS = {
    "fabric": ("areal_mass", "fibre_density", "fibre_share"),
    "core": ("thickness", "density", "resin_uptake"),
}


class Ply(NamedTuple):
    """One ply; a fabric fills the first three columns of sizes, a core the last three."""

    name: Annotated[str, Q("", "Ply")]
    kind: Annotated[str, Q("", "Kind", note="fabric or core")]
    areal_mass: Annotated[float | None, Q("oz/yd^2", "Dry areal mass of the fabric", valid=POSITIVE)] = None
    fibre_density: Annotated[float | None, Q("lb/ft^3", "Density of its fibre", valid=POSITIVE)] = None
    fibre_share: Annotated[
        float | None, Q("%", "Fibre share by volume", valid=Range(most=_MOST_FIBRE, above=0))
    ] = None
    thickness: Annotated[float | None, Q("in", "Thickness of the core", valid=POSITIVE)] = None
    density: Annotated[float | None, Q("lb/ft^3", "Density of the dry core", valid=POSITIVE)] = None
    resin_uptake: Annotated[
        float | None, Q("oz/ft^2", "Resin the core takes, both faces together", valid=NOT_NEGATIVE)
    ] = None


class Layer(NamedTuple):
    """One ply as laid: how thick, how heavy, and what resin is in it."""

    ply: Annotated[int, Q("", "Ply")]
    name: Annotated[str, Q("", "Name")]
    thickness: Annotated[float, Q("in", "Thickness", method="of this ply")]
    areal_mass: Annotated[float, Q("lb/ft^2", "Areal mass, resin in", method="of this ply")]
    resin: Annotated[float, Q("oz/ft^2", "Resin", method="of this ply")]


def lb_per_ft2(oz_per_yd2: float) -> float:
    """Return an areal mass in lb/ft^2."""
    return oz_per_yd2 / OZ_PER_LB / FT2_PER_YD2


def layer_of(number: int, ply: Ply, resin_density: float) -> Layer:
    """Return what a ply comes to, the resin in it of the density given (lb/ft^3)."""
    first, second, third = _sizes(number, ply)
    if ply.kind == "fabric":
        fibre, share = lb_per_ft2(first), third / 100
        thickness = fibre / (second * share)
        resin = thickness * (1 - share) * resin_density
        return Layer(number, ply.name, thickness * IN_PER_FT, fibre + resin, resin * OZ_PER_LB)
    dry = first / IN_PER_FT * second
    return Layer(number, ply.name, first, dry + third / OZ_PER_LB, third)


def _sizes(number: int, ply: Ply) -> list[float]:
    """Return the three sizes of a ply's kind; one too few or too many is a slip in the table."""
    which = f"ply {number}, '{ply.name}'"
    if ply.kind not in _COLUMNS:
        raise Refusal("plies", f"give {which}, the kind '{ply.kind}'", "write fabric or core")
    sizes = []
    for kind, columns in _COLUMNS.items():
        for column in columns:
            size: float | None = getattr(ply, column)
            if (size is None) == (kind == ply.kind):
                whats = f"give {which}, no {column}" if size is None else f"give {which}, a {column}"
                raise Refusal("plies", whats, f"a {ply.kind} has {', '.join(_COLUMNS[ply.kind])}")
            if size is not None:
                sizes.append(size)
    return sizes
