"""A tank with its plate, its baffles and its dip point, as it stands at a trim and heel.

The types are the parameters that every calculator of such a tank takes.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Literal

from kb import NOT_NEGATIVE, POSITIVE, Q, Range, Refusal, Section
from kb_calculators.conversions import IN3_PER_GAL
from kb_calculators.liquid import liquid_volume, surface_through
from kb_calculators.solids import Solid, breadth, moved_in, ruled, upright, whole

_SAME = 1e-9  # a point so close to an end of the tank, as a share of its length, is on it
_NOTHING = 1e-10  # a share of the tank below which liquid or air is what rounding has left


Aft = Annotated[
    Section,
    Q("in", "Section at the aft end", note="looking forward; y to starboard, z up from its lowest point"),
]
Forward = Annotated[
    Section,
    Q(
        "in",
        "Section at the forward end",
        note="as many corners as section, in the same order; straight sides between them",
        fallback="section",
    ),
]
Length = Annotated[float, Q("in", "Length of the tank", valid=POSITIVE)]
Wall = Annotated[float, Q("in", "Thickness of the plate", valid=NOT_NEGATIVE)]
Sizes = Annotated[Literal["inside", "outside"], Q("", "What section and length are")]
Baffles = Annotated[float, Q("gal", "Metal of baffles and fittings inside", valid=NOT_NEGATIVE)]
Trim = Annotated[
    float,
    Q("deg", "Trim", valid=Range(-30, 30), note="bow up is positive; past 30 deg nobody dips a tank"),
]
Heel = Annotated[
    float,
    Q(
        "deg",
        "Heel",
        valid=Range(-30, 30),
        note="starboard down is positive; past 30 deg nobody dips a tank",
    ),
]
DipX = Annotated[
    float,
    Q(
        "in",
        "Dip point, forward of the aft inside face",
        fallback='if sizes = "outside" then length / 2 - wall else length / 2',
        unset="half of the inside length",
    ),
]
DipY = Annotated[float, Q("in", "Dip point, to starboard", note="from where the section has y = 0")]


@dataclass(frozen=True, slots=True)
class DippedTank:
    """A tank inside and outside of its plate.

    `room` and `gross` are the inside volume (gal) with and without baffles. The dip stick stands at
    (`dip_x`, `dip_y`) on z = `bottom` and meets the top of the tank `depth` above it (in). Trim and heel
    are in degrees.
    """

    inside: Solid
    outside: Solid
    room: float
    gross: float
    dip_x: float
    dip_y: float
    bottom: float
    depth: float
    trim: float
    heel: float

    def held(self, height: float) -> float:
        """Return what the tank holds (gal) when the liquid stands so high (in) at the dip point."""
        surface = surface_through(self.dip_x, self.dip_y, self.bottom + height, self.trim, self.heel)
        share = liquid_volume(self.inside, surface) / (self.room * IN3_PER_GAL)
        if share < _NOTHING:
            return 0.0
        return self.gross if share > 1 - _NOTHING else self.gross * share


def dipped_tank(
    section: Section,
    forward_section: Section,
    length: float,
    wall: float,
    sizes: str,
    baffle_volume: float,
    trim: float,
    heel: float,
    dip_x: float,
    dip_y: float,
) -> DippedTank:
    """Return the tank that the parameters of a tank calculator describe, or refuse them."""
    given = ruled(section, forward_section, length)
    if sizes == "outside":
        inside, outside = moved_in(given, wall), given
    else:
        inside, outside = given, moved_in(given, -wall)
    room = whole(inside).volume / IN3_PER_GAL
    if baffle_volume >= room:
        raise Refusal("baffle_volume", "fills the whole tank", f"give less than {room:g} gal")
    bottom, top = _dip_stretch(inside, dip_x, dip_y)
    gross = room - baffle_volume
    return DippedTank(inside, outside, room, gross, dip_x, dip_y, bottom, top - bottom, trim, heel)


def _dip_stretch(inside: Solid, x: float, y: float) -> tuple[float, float]:
    """Return where the dip stick stands and where it meets the top, as z."""
    if not -_SAME * inside.length <= x <= inside.length * (1 + _SAME):
        raise Refusal("dip_x", "is not inside the tank", f"give from 0 in to {inside.length:g} in")
    stretch = upright(inside, x, y)
    if stretch is None or stretch[0] == stretch[1]:
        port, starboard = breadth(inside.section(min(max(x / inside.length, 0.0), 1.0)))
        raise Refusal(
            "dip_y", "is not inside the tank", f"give more than {port:g} in and less than {starboard:g} in"
        )
    return stretch
