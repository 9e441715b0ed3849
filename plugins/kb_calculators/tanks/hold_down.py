"""Holding a tank down: what lifts it when the compartment floods, and what keeps it in its bed."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from kb import NOT_NEGATIVE, POSITIVE, Caution, Limit, NoAnswer, Q, Range, Source, calculator
from kb_calculators.conversions import IN2_PER_FT2, IN3_PER_FT3, IN3_PER_GAL

_SAME = 1e-12  # uplift so small, as a share of the buoyancy, is what conversion of units leaves behind


@dataclass(frozen=True, slots=True)
class TankHoldDown:
    """What lifts an empty tank under water, and how many times over it is held."""

    buoyancy: Annotated[
        float,
        Q(
            "lbf",
            "Buoyancy of tank and foam",
            safe="up",
            rule="water_density * (outside_volume + foam_volume) * 9.80665 m/s^2 in lbf",
        ),
    ]
    uplift: Annotated[
        float,
        Q(
            "lbf",
            "Uplift; below 0 it stays down by its own weight",
            safe="up",
            rule="buoyancy - (tank_mass + foam_mass) * 9.80665 m/s^2 in lbf",
        ),
    ]
    holding: Annotated[
        float,
        Q(
            "lbf",
            "What bond and other holding carry",
            safe="down",
            rule="bond_area * bond_strength + other_holding in lbf",
        ),
    ]
    factor: Annotated[
        float | NoAnswer, Q("", "Times over that it is held", safe="down", rule="holding / uplift")
    ]
    needed_bond_area: Annotated[
        float | NoAnswer,
        Q(
            "ft^2",
            "Least bond area, with the other holding",
            safe="up",
            rule="max(min_factor * uplift - other_holding, 0 lbf) / bond_strength in ft^2",
        ),
    ]


@calculator(
    limits=[
        Limit(
            "factor",
            "factor >= min_factor",
            "the tank stays in its bed, and its lines stay whole, in a flooded boat",
            if_none="within",
        )
    ],
    cautions=[
        Caution(
            "warning",
            "A tank that floats up tears its fill, vent and feed lines and can spill fuel into a"
            " flooded boat. Fuel lies on the water and burns at the first spark.",
        ),
        Caution(
            "warning",
            "Foam must not be the only support of a metal fuel tank. Give it chocks, cleats or straps as"
            " well, kept off the metal by something that takes up no water.",
        ),
        Caution(
            "warning",
            "Count only bond that pulls against the lift, foam stuck to the tank and to the hull as well."
            " Foam above the tank holds nothing unless a structure bears on it. Bonds peel from an edge, and"
            " foam poured on dust, oil, release wax or a cold wall does not stick.",
        ),
        Caution(
            "caution",
            "A strap holds no more than its weakest part: webbing or metal, tail, screw, and the wood or"
            " laminate that the screw is in.",
        ),
    ],
    sources=[
        Source("law of Archimedes", "buoyancy is the weight of the water displaced", "memory"),
        Source(
            "33 CFR 183.550(b), (e) and (f), and 183.552(c)",
            "no more than 1/4 in of movement; supports and straps insulated; foam not the sole support of a"
            " metal tank; a bond to metal stronger than the foam. Gasoline boats, outboard engines excepted."
            " No factor is set there",
            "read",
        ),
        Source(
            "common practice, no source",
            "a factor of 4 over the uplift; 2 lb/ft^3 foam takes 20 to 35 psi in compression",
            "memory",
        ),
        Source(
            "the foam's data sheet, or a sample pulled in the shop", "strength of foam and bond", "maker's"
        ),
    ],
    example={
        "outside_volume": "64.3 gal",
        "foam_volume": "3 ft^3",
        "tank_mass": "62 lb",
        "foam_mass": "6.9 lb",
        "bond_area": "4 ft^2",
        "bond_strength": "5 psi",
        "other_holding": "400 lbf",
    },
    use="before a tank is bedded or foamed in, and again when its size, its foam or its straps change.",
    not_for="the pounding of a tank full of fuel, which chocks and bulkheads carry, nor for weight that bears"
    " down on the foam.",
)
def tank_hold_down(
    outside_volume: Annotated[
        float,
        Q("gal", "Outside volume of the tank", valid=POSITIVE, note="walls included, as the water sees it"),
    ],
    tank_mass: Annotated[float, Q("lb", "Mass of the empty tank", valid=NOT_NEGATIVE)],
    bond_area: Annotated[
        float,
        Q(
            "ft^2",
            "Bond area that holds it down",
            valid=NOT_NEGATIVE,
            note="sides and bottom, where foam sticks to tank and hull; 0 where straps alone hold",
        ),
    ],
    bond_strength: Annotated[
        float,
        Q(
            "psi",
            "Strength of the bond",
            valid=NOT_NEGATIVE,
            usual=Range(
                most=35, why="2 lb/ft^3 foam takes 20 to 35 psi when pressed, and less when pulled or sheared"
            ),
            note="the least of the foam in tension, in shear, and its grip on the tank",
        ),
    ],
    foam_volume: Annotated[
        float, Q("ft^3", "Foam that lifts with the tank", valid=NOT_NEGATIVE, note="all that sticks to it")
    ] = 0.0,
    foam_mass: Annotated[float, Q("lb", "Mass of that foam", valid=NOT_NEGATIVE)] = 0.0,
    water_density: Annotated[
        float,
        Q(
            "lb/ft^3",
            "Density of the water",
            valid=POSITIVE,
            usual=Range(62, 64.5, "fresh water has 62.4 lb/ft^3, the sea 64"),
        ),
    ] = 64.0,
    other_holding: Annotated[
        float, Q("lbf", "Straps and cleats", valid=NOT_NEGATIVE, note="what the weakest part of each carries")
    ] = 0.0,
    min_factor: Annotated[
        float,
        Q(
            "",
            "Least factor",
            valid=POSITIVE,
            usual=Range(2, why="bonds age and peel; foam is poured by hand"),
        ),
    ] = 4.0,
) -> TankHoldDown:
    """Uplift on an empty tank in a flooded compartment against what holds it down.

    Tank and foam push up with the weight of the water that they displace, less their own. Bond area times
    bond strength, and straps, hold against that. Where nothing lifts there is no factor and none is needed.
    An empty tank lifts most: any fuel in it only weighs it down.

    >>> tank_hold_down(75, tank_mass=60, bond_area=3.5, bond_strength=6, water_density=62.4).holding
    3024.0
    """
    displaced = outside_volume * IN3_PER_GAL / IN3_PER_FT3 + foam_volume
    buoyancy = water_density * displaced  # a lb weighs a lbf
    uplift = buoyancy - (tank_mass + foam_mass)
    holding = bond_area * IN2_PER_FT2 * bond_strength + other_holding
    needed = max(min_factor * uplift - other_holding, 0.0)
    return TankHoldDown(
        buoyancy=buoyancy,
        uplift=uplift,
        holding=holding,
        factor=holding / uplift
        if uplift > _SAME * buoyancy
        else NoAnswer("nothing lifts it: tank and foam weigh as much as the water they displace, or more"),
        needed_bond_area=needed / bond_strength / IN2_PER_FT2
        if bond_strength > 0
        else NoAnswer("a bond without strength holds nothing, however large"),
    )
