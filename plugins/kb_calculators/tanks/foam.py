"""Pour-in-place foam round a tank."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Literal

from kb import NOT_NEGATIVE, POSITIVE, Caution, Limit, Q, Range, Refusal, Source, calculator, pieces
from kb_calculators.conversions import IN_PER_FT

WATER_LB_PER_GAL = 3.785411784 / 0.45359237  # of 1 kg/L, which specific gravities are told against

_SAME = 1e-9  # room so small, as a share of the cavity, is what conversion of units leaves behind

_BY_VOLUME = "(part_a * gravity_a + part_b * gravity_b)"
_SHARE_A = f'(if parts_by = "volume" then part_a * gravity_a / {_BY_VOLUME} else part_a / (part_a + part_b))'
_SHARE_B = f'(if parts_by = "volume" then part_b * gravity_b / {_BY_VOLUME} else part_b / (part_a + part_b))'
_BATCH = "mass_per_lift / ceil(mass_per_lift / max_batch)"


@dataclass(frozen=True, slots=True)
class FoamInPlace:
    """What foam fills the room round a tank, and how it is mixed and poured."""

    foam_volume: Annotated[
        float, Q("ft^3", "Room that the foam fills", safe="up", rule="cavity_volume - tank_volume")
    ]
    foam_mass: Annotated[
        float,
        Q("lb", "Foam to mix", safe="up", rule="foam_volume * density * (1 + overpack) * (1 + waste) in lb"),
    ]
    mass_a: Annotated[float, Q("lb", "Part A to mix in all", safe="up", rule=f"foam_mass * {_SHARE_A}")]
    mass_b: Annotated[float, Q("lb", "Part B to mix in all", safe="up", rule=f"foam_mass * {_SHARE_B}")]
    volume_a: Annotated[
        float, Q("gal", "Part A, measured", safe="up", rule="mass_a / (gravity_a * 1 kg/L) in gal")
    ]
    volume_b: Annotated[
        float, Q("gal", "Part B, measured", safe="up", rule="mass_b / (gravity_b * 1 kg/L) in gal")
    ]
    lifts: Annotated[int, Q("", "Lifts", safe="up", rule="ceil(rise / max_lift)")]
    mass_per_lift: Annotated[
        float,
        Q(
            "lb",
            "Foam in the largest lift",
            safe="up",
            rule="min(foam_mass, max(foam_mass / lifts, pour_area * min(max_lift, rise)"
            " * density * (1 + overpack) * (1 + waste))) in lb",
        ),
    ]
    batches: Annotated[
        int,
        Q("", "Batches at most, over all lifts", safe="up", rule="lifts * ceil(mass_per_lift / max_batch)"),
    ]
    batch_a: Annotated[float, Q("lb", "Part A in a batch of the largest lift", rule=f"{_BATCH} * {_SHARE_A}")]
    batch_b: Annotated[float, Q("lb", "Part B in a batch of the largest lift", rule=f"{_BATCH} * {_SHARE_B}")]
    filled: Annotated[
        float,
        Q(
            "%",
            "Share of pour area times rise that is foam",
            usual=Range(
                most=100.01,
                why="more foam than pour area times rise has room for; measure the area, the rise and both"
                " volumes again",
            ),
            rule="foam_volume / (pour_area * rise) * 100 %",
        ),
    ]


@calculator(
    limits=[
        Limit(
            "density",
            "density >= min_density",
            "foam that stays sound round a metal fuel tank; polyurethane is judged by its density",
        )
    ],
    cautions=[
        Caution(
            "danger",
            "Part A gives off isocyanate vapour, most when warm and as foam rises. It can close the"
            " lungs; whoever has become sensitive reacts to a trace. Wear supplied air, gloves and goggles;"
            " forced ventilation; nobody else near.",
            hazard="isocyanate",
        ),
        Caution(
            "danger",
            "A pour that is too thick or too soon on the last one chars and catches fire inside, up to hours"
            " later. Keep to the lift, let each cool to the touch, watch scraps and buckets outdoors.",
        ),
        Caution(
            "warning",
            "Foam runs hot, and hides a leak for good. Pour only after the system test is"
            " accepted, with all gas relieved and no fuel or vapour about.",
        ),
        Caution(
            "warning",
            "Rising foam pushes hard: it lifts tanks, bows bulkheads and bulges hulls. Brace them, hold the"
            " tank down, and leave escape holes at the top of every pocket.",
        ),
        Caution(
            "warning",
            "A tank sealed in foam cannot be inspected, and water held against it eats it. No ferrous metal,"
            " stainless steel included, goes into foam; foam is never the only support of a metal tank;"
            " fittings and label stay within reach.",
        ),
        Caution(
            "warning",
            "Cured foam burns fast, with poisonous smoke. No welding, grinding or heat gun near it.",
        ),
    ],
    sources=[
        Source(
            "33 CFR 183.516",
            "gasoline boats, outboard engines excepted: round metal fuel tanks polyurethane of"
            " 2.0 lb/ft^3 at least (ASTM D1622), other foam of 60 psi; and tests in fuel, oil,"
            " cleaner and water, which are not judged here",
            "read",
        ),
        Source(
            "33 CFR 183.512, 183.550 and 183.552",
            "gasoline boats, outboards excepted: no ferrous alloy in foam; foam not the sole"
            " support of a metal tank; bond, water, reach",
            "read",
        ),
        Source(
            "common practice, no source",
            "packing of 10 % over free rise, 5 % waste; lifts of 4 to 8 in; parts one to one by volume",
            "memory",
        ),
        Source("the foam's data sheet", "density, parts, specific gravities, lift and batch", "maker's"),
    ],
    example={
        "cavity_volume": "11.6 ft^3",
        "tank_volume": "8.6 ft^3",
        "density": "2 lb/ft^3",
        "overpack": "15 %",
        "gravity_a": "1.24",
        "gravity_b": "1.15",
        "pour_area": "5 ft^2",
        "rise": "16 in",
        "max_lift": "6 in",
        "max_batch": "2.5 lb",
    },
    use="before foam is bought, and again at the pour, with the density of a cup poured that day.",
    not_for="flotation, which the law sizes in its own way, or a foam that is not made for tanks.",
)
def foam_in_place(
    cavity_volume: Annotated[
        float,
        Q("ft^3", "Volume of the cavity, tank included", valid=POSITIVE, note="up to the top of the pour"),
    ],
    tank_volume: Annotated[
        float,
        Q(
            "ft^3",
            "Outside volume of the tank",
            valid=NOT_NEGATIVE,
            note="of what stands below the pour's top",
        ),
    ],
    density: Annotated[
        float,
        Q(
            "lb/ft^3",
            "Free-rise density of the foam",
            valid=POSITIVE,
            usual=Range(1.5, 16, "pour foams round tanks have 2 to 8 lb/ft^3"),
            note="from the maker's sheet, or a cup poured at the temperature of the shop",
        ),
    ],
    gravity_a: Annotated[
        float,
        Q(
            "",
            "Specific gravity of part A",
            valid=POSITIVE,
            usual=Range(1.15, 1.3, "isocyanates have 1.22 to 1.25; A and B may be swapped"),
        ),
    ],
    gravity_b: Annotated[
        float,
        Q(
            "",
            "Specific gravity of part B",
            valid=POSITIVE,
            usual=Range(0.95, 1.2, "polyols have 1.05 to 1.18; A and B may be swapped"),
        ),
    ],
    pour_area: Annotated[
        float,
        Q(
            "ft^2",
            "Greatest plan area of foam in any lift",
            valid=POSITIVE,
            note="cavity less tank; below the tank and above it, the whole cavity",
        ),
    ],
    rise: Annotated[
        float,
        Q(
            "in",
            "Depth of foam",
            valid=POSITIVE,
            note="from the cavity's lowest point to the top of the pour",
        ),
    ],
    max_lift: Annotated[
        float,
        Q(
            "in",
            "Thickest lift",
            valid=POSITIVE,
            usual=Range(most=8, why="2 lb/ft^3 foam takes 4 to 8 in, denser foam less; it overheats inside"),
        ),
    ],
    max_batch: Annotated[
        float, Q("lb", "Largest batch", valid=POSITIVE, note="what is mixed and poured before it creams")
    ],
    overpack: Annotated[
        float,
        Q(
            "%",
            "Packing over free rise",
            valid=Range(0, 100),
            usual=Range(5, 20, "less leaves voids, more pushes on tank and hull"),
        ),
    ] = 10.0,
    waste: Annotated[float, Q("%", "Left in buckets and overflow", valid=Range(0, 100))] = 5.0,
    part_a: Annotated[float, Q("", "Parts of A", valid=POSITIVE)] = 1.0,
    part_b: Annotated[float, Q("", "Parts of B", valid=POSITIVE)] = 1.0,
    parts_by: Annotated[Literal["volume", "mass"], Q("", "Parts are told by")] = "volume",
    min_density: Annotated[float, Q("lb/ft^3", "Least density", valid=NOT_NEGATIVE)] = 2.0,
) -> FoamInPlace:
    """Pour-foam volume, mass, the two parts, lifts and batches round a tank.

    The foam fills the cavity less the tank, packed over its free rise, with the waste on top. Parts by volume
    weigh in proportion to their specific gravities. No lift is thicker than max_lift. The largest lift is one
    of full thickness over the greatest area, though no less than the mean and no more than all; every lift
    is counted with the batches of that one.

    >>> foam_in_place(11.6, 8.6, 2, 1.24, 1.15, 5, 16, 6, 2.5, overpack=15).foam_mass
    7.245
    """
    foam_volume = cavity_volume - tank_volume
    if foam_volume <= _SAME * cavity_volume:
        raise Refusal("tank_volume", "leaves no room for foam", f"give less than {cavity_volume:g} ft^3")
    mass_per_ft3 = density * (1 + overpack / 100) * (1 + waste / 100)
    foam_mass = foam_volume * mass_per_ft3
    weight_a, weight_b = (
        (part_a * gravity_a, part_b * gravity_b) if parts_by == "volume" else (part_a, part_b)
    )
    share_a, share_b = weight_a / (weight_a + weight_b), weight_b / (weight_a + weight_b)
    lifts = max(pieces(rise / max_lift), 1)
    full_lift = pour_area * min(max_lift, rise) / IN_PER_FT * mass_per_ft3
    mass_per_lift = min(foam_mass, max(foam_mass / lifts, full_lift))
    batches_per_lift = max(pieces(mass_per_lift / max_batch), 1)
    batch = mass_per_lift / batches_per_lift
    return FoamInPlace(
        foam_volume=foam_volume,
        foam_mass=foam_mass,
        mass_a=foam_mass * share_a,
        mass_b=foam_mass * share_b,
        volume_a=foam_mass * share_a / (gravity_a * WATER_LB_PER_GAL),
        volume_b=foam_mass * share_b / (gravity_b * WATER_LB_PER_GAL),
        lifts=lifts,
        mass_per_lift=mass_per_lift,
        batches=lifts * batches_per_lift,
        batch_a=batch * share_a,
        batch_b=batch * share_b,
        filled=100 * foam_volume / (pour_area * rise / IN_PER_FT),
    )
