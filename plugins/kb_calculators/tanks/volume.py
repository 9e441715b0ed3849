"""Tanks: what they hold, what they weigh, what they need."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, NamedTuple

from kb import (
    FALLBACK,
    NOT_NEGATIVE,
    POSITIVE,
    Caution,
    Q,
    Refusal,
    Source,
    calculator,
    pieces,
)
from kb_calculators.conversions import IN2_PER_FT2, IN3_PER_FT3, IN3_PER_GAL
from kb_calculators.dipped import (
    Aft,
    Baffles,
    DippedTank,
    DipX,
    DipY,
    Forward,
    Heel,
    Length,
    Sizes,
    Trim,
    Wall,
    dipped_tank,
)
from kb_calculators.solids import skin_area, whole
from kb_calculators.tanks.draw_volume import draw_volume

_MOST_ROWS = 500
_SAME = 1e-9  # a height so close to the top, as a share of the depth, is at the top

_GEOMETRY = Source(
    "closed-form geometry of prisms, wedges and segments of a circle",
    "the liquid below a level plane, summed along the tank between the stations where it meets a corner",
    "memory",
)
_DIPPING = Source(
    "common practice, no source",
    "dips square to the tank's own bottom; baffles taken off in proportion to the filled share",
    "memory",
)
_VAPOUR = Caution(
    "danger",
    "Vapour from an opened fuel tank explodes, from an empty one more than from a full one. No flame, no"
    " spark, no ordinary lamp; ventilate first.",
    hazard="fuel-vapour",
)
_ENTRY = Caution(
    "danger",
    "The air in a tank can kill at once. Nobody enters or leans into one before it is emptied, ventilated"
    " and its air measured, with a second person outside.",
)


class DipRow(NamedTuple):
    """What the tank holds at one height on the dip stick."""

    height: Annotated[float, Q("in", "Dip")]
    volume: Annotated[float, Q("gal", "Volume", safe="down")]
    share: Annotated[float, Q("%", "Share of the gross volume")]


@dataclass(frozen=True, slots=True)
class TankVolume:
    """What a tank holds, what plate it takes, and its dip table."""

    gross: Annotated[
        float, Q("gal", "Inside volume", safe="down", method="the inside of the plate, less the baffles")
    ]
    outside_volume: Annotated[
        float, Q("gal", "Outside volume", safe="up", method="the room that the tank takes up")
    ]
    surface: Annotated[
        float, Q("ft^2", "Outside plate area", safe="up", method="both ends and every side, no laps")
    ]
    empty_mass: Annotated[
        float,
        Q("lb", "Empty mass", safe="up", rule="(outside_volume - gross) * plate_density in lb"),
    ]
    depth: Annotated[
        float, Q("in", "Inside depth at the dip point", method="from the bottom there square up to the top")
    ]
    centroid_x: Annotated[
        float, Q("in", "Centroid of the full tank, forward", method="from the aft inside face; no baffles")
    ]
    centroid_z: Annotated[
        float, Q("in", "Centroid of the full tank, up", method="from the lowest inside point; no baffles")
    ]
    dip: Annotated[tuple[DipRow, ...], Q("", "Dip table")]
    hidden: Annotated[
        float, Q("gal", "Left when the dip is dry", safe="up", method="below the level at the dip's foot")
    ]
    unfilled: Annotated[
        float, Q("gal", "Air left when the dip is full", safe="up", method="above the level at the dip's top")
    ]


@calculator(
    cautions=[_VAPOUR, _ENTRY],
    sources=[_GEOMETRY, _DIPPING],
    example={
        "section": "{shape: box, width: 20 in, height: 12 in}",
        "length": "48 in",
        "wall": "0.19 in",
        "plate_density": "167 lb/ft^3",
        "trim": "3 deg",
        "dip_x": "10 in",
    },
    use="before a tank is ordered or built, and again for each trim that its dip stick is to serve.",
    not_for="a flexible tank, or one whose shape two end sections do not tell: fill that by a meter.",
    draws=draw_volume,
)
def tank_volume(
    section: Aft,
    length: Length,
    forward_section: Forward = FALLBACK,
    wall: Wall = 0.0,
    sizes: Sizes = "outside",
    baffle_volume: Baffles = 0.0,
    plate_density: Annotated[float, Q("lb/ft^3", "Density of the plate", valid=NOT_NEGATIVE)] = 0.0,
    trim: Trim = 0.0,
    heel: Heel = 0.0,
    dip_x: DipX = FALLBACK,
    dip_y: DipY = 0.0,
    dip_step: Annotated[float, Q("in", "Step of the dip table", valid=POSITIVE)] = 1.0,
) -> TankVolume:
    """Inside volume, plate area, empty mass and dip table of a straight or tapering tank, level or trimmed.

    With outside sizes each section is moved in by the wall in its own plane and the length loses two walls.
    Dips are measured square to the bottom line of the tank, where the dip point is. The liquid is taken to
    stand at one level: air caught below a high spot of the top counts as filled.

    >>> from kb import Section
    >>> box = Section(((-10, 0), (10, 0), (10, 12), (-10, 12)))
    >>> tank_volume(box, 48, box, wall=0.19, dip_x=23.81, dip_step=6).gross
    46.9983
    """
    tank = dipped_tank(section, forward_section, length, wall, sizes, baffle_volume, trim, heel, dip_x, dip_y)
    inside = whole(tank.inside)
    outside_volume = whole(tank.outside).volume / IN3_PER_GAL
    rows = _dip_table(tank, dip_step)
    return TankVolume(
        gross=tank.gross,
        outside_volume=outside_volume,
        surface=skin_area(tank.outside) / IN2_PER_FT2,
        empty_mass=(outside_volume - tank.gross) * plate_density * IN3_PER_GAL / IN3_PER_FT3,
        depth=tank.depth,
        centroid_x=inside.x,
        centroid_z=inside.z,
        dip=rows,
        hidden=rows[0].volume,
        unfilled=tank.gross - rows[-1].volume,
    )


def _dip_table(tank: DippedTank, step: float) -> tuple[DipRow, ...]:
    steps = tank.depth / step
    if steps > _MOST_ROWS:
        raise Refusal(
            "dip_step",
            f"makes more than {_MOST_ROWS} rows of a depth of {tank.depth:g} in",
            f"give {1.02 * tank.depth / _MOST_ROWS:.3g} in or more",
        )
    heights = [i * step for i in range(max(pieces(steps), 1))]
    return tuple(_dip_row(tank, height) for height in (*heights, tank.depth))


def _dip_row(tank: DippedTank, height: float) -> DipRow:
    volume = tank.held(height)
    return DipRow(height, volume, 100 * (volume / tank.gross))


@dataclass(frozen=True, slots=True)
class TankContents:
    """What a dip reading says is in the tank."""

    volume: Annotated[
        float,
        Q("gal", "In the tank", safe="down", method="below the level through the reading, less baffles"),
    ]
    share: Annotated[
        float, Q("%", "Share of the gross volume", method="volume over the inside volume less baffles")
    ]


@calculator(
    cautions=[
        _VAPOUR,
        Caution(
            "warning",
            "A dip read at another trim or heel than the one given is wrong, often by a fifth and more. Keep"
            " a reserve.",
        ),
    ],
    sources=[_GEOMETRY, _DIPPING],
    example={
        "section": "{shape: box, width: 24 in, height: 14 in}",
        "length": "60 in",
        "trim": "3 deg",
        "dip_x": "12 in",
        "reading": "5 in",
    },
    use="when a dip is read at another trim than the stick is marked for, or the tank has no dip table.",
    not_for="fuel that is bought or sold, or a boat that moves: the liquid must stand still.",
)
def tank_contents(
    section: Aft,
    length: Length,
    reading: Annotated[
        float,
        Q("in", "Dip reading", valid=NOT_NEGATIVE, note="square up from the bottom at the dip point"),
    ],
    forward_section: Forward = FALLBACK,
    wall: Wall = 0.0,
    sizes: Sizes = "outside",
    baffle_volume: Baffles = 0.0,
    trim: Trim = 0.0,
    heel: Heel = 0.0,
    dip_x: DipX = FALLBACK,
    dip_y: DipY = 0.0,
) -> TankContents:
    """Volume in a tank for a dip reading, at any trim and heel.

    The level surface goes through the reading at the dip point; what lies below it within the tank is summed.

    >>> from kb import Section
    >>> box = Section(((-12, 0), (12, 0), (12, 14), (-12, 14)))
    >>> tank_contents(box, 60, 5, box, trim=3, dip_x=12).volume
    25.28827
    """
    tank = dipped_tank(section, forward_section, length, wall, sizes, baffle_volume, trim, heel, dip_x, dip_y)
    if reading > tank.depth * (1 + _SAME):
        raise Refusal("reading", "is above the top of the tank", f"give a dip from 0 in to {tank.depth:g} in")
    row = _dip_row(tank, min(reading, tank.depth))
    return TankContents(row.volume, row.share)
