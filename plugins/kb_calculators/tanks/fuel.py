"""Fuel: how much of a tank it may fill, and what it weighs."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Literal

from kb import FALLBACK, NOT_NEGATIVE, POSITIVE, Caution, Limit, Q, Range, Refusal, Source, calculator

_MEMORY_FUEL = Source("handbook values for motor fuel", "density and growth with heat", "memory")


@dataclass(frozen=True, slots=True)
class FuelLoad:
    """What a tank takes, what of it is usable, and what it weighs then."""

    air_space: Annotated[float, Q("gal", "Air space above the fuel", rule="gross * expansion in gal")]
    fill_limit: Annotated[float, Q("gal", "Fill to", safe="down", rule="gross - air_space")]
    usable: Annotated[float, Q("gal", "Usable fuel", safe="down", rule="fill_limit - unusable")]
    mass_full: Annotated[
        float, Q("lb", "Fuel mass at the fill limit", safe="up", rule="fill_limit * density in lb")
    ]
    heat_growth: Annotated[
        float,
        Q(
            "gal",
            "Growth of a full tank from fill to hot",
            safe="up",
            rule="fill_limit * growth * max(hot_temperature - fill_temperature, 0 delta_degF) in gal",
        ),
    ]


@calculator(
    limits=[
        Limit(
            "expansion", "expansion >= min_expansion", "room for the fuel to grow before it reaches the vent"
        ),
        Limit("growth", "heat_growth <= air_space", "no liquid in the vent on a hot day"),
    ],
    cautions=[
        Caution(
            "danger",
            "Gasoline vapour burns and explodes. No flame, no spark, no phone near an open tank.",
            hazard="fuel-vapour",
        ),
        Caution(
            "warning",
            "A tank filled to the top pushes fuel out of its vent when it warms, and what runs"
            " out burns. Cool fuel from an underground tank grows most. The air space counts only"
            " with the boat level and the fill stopped at the limit.",
        ),
    ],
    sources=[
        Source(
            "40 CFR 1060 and 33 CFR 183 subpart J",
            "gasoline, not diesel; subpart J leaves outboard engines out, 1060 does not; neither"
            " sets the air space",
            "memory",
        ),
        _MEMORY_FUEL,
        Source("common practice, no source", "5 % of the volume kept empty", "memory"),
    ],
    example={"gross": "90 gal", "expansion": "7 %", "unusable": "2 gal", "fuel": "gasoline"},
    use="before a tank goes in, and again when its fuel, its volume or its fill changes.",
    not_for="gas under pressure, or a blend whose density and growth its supplier has not told.",
)
def fuel_load(
    gross: Annotated[
        float,
        Q(
            "gal",
            "Inside volume of the tank",
            valid=POSITIVE,
            note="of the plate, less baffles; tank_volume gives it",
        ),
    ],
    expansion: Annotated[
        float,
        Q(
            "%",
            "Share of the volume kept empty",
            valid=Range(0, 50),
            note="of the gross volume, above the level at which the fill stops, boat level",
        ),
    ],
    fuel: Annotated[Literal["gasoline", "diesel"], Q("", "Fuel")],
    unusable: Annotated[
        float,
        Q("gal", "Fuel the pick-up cannot reach", valid=NOT_NEGATIVE, note="at the worst trim she runs at"),
    ] = 0.0,
    density: Annotated[
        float,
        Q(
            "lb/gal",
            "Density of the fuel",
            valid=Range(5, 9),
            fallback='if fuel = "gasoline" then 0.74 kg/L else 0.85 kg/L',
            unset="by fuel: gasoline 0.74 kg/L, diesel 0.85 kg/L",
        ),
    ] = FALLBACK,
    growth: Annotated[
        float,
        Q(
            "1/delta_degF",
            "Growth with heat",
            valid=Range(0, 0.002),
            fallback='if fuel = "gasoline" then 0.00095 1/delta_degC else 0.00083 1/delta_degC',
            unset="by fuel: gasoline 0.00095, diesel 0.00083 1/delta_degC",
        ),
    ] = FALLBACK,
    fill_temperature: Annotated[
        float,
        Q(
            "degF",
            "Temperature of the fuel at filling",
            valid=Range(-60, 200),
            note="as it comes from the nozzle; cool from an underground tank",
        ),
    ] = 60.0,
    hot_temperature: Annotated[
        float,
        Q(
            "degF",
            "Hottest the tank gets",
            valid=Range(-60, 200),
            note="in its space, after a day in the sun",
        ),
    ] = 110.0,
    min_expansion: Annotated[float, Q("%", "Least share kept empty", valid=Range(0, 50))] = 5.0,
) -> FuelLoad:
    """From gross volume to the fill limit, the usable fuel and its mass; does the air space hold the growth.

    >>> fuel_load(gross=100, expansion=5, fuel="diesel", density=7.094, growth=0.00046).mass_full
    673.93
    """
    air_space = gross * expansion / 100
    fill_limit = gross - air_space
    if unusable >= fill_limit:
        raise Refusal("unusable", "leaves nothing in the tank", f"give less than {fill_limit:g} gal")
    return FuelLoad(
        air_space=air_space,
        fill_limit=fill_limit,
        usable=fill_limit - unusable,
        mass_full=fill_limit * density,
        heat_growth=fill_limit * growth * max(hot_temperature - fill_temperature, 0.0),
    )
