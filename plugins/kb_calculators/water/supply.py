"""Supply: what a crew draws from a tank, or puts into one."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from kb import POSITIVE, Caution, Limit, Q, Range, Source, calculator


@dataclass(frozen=True, slots=True)
class WaterSupply:
    """What a crew needs, and how long the tank does for them."""

    needed: Annotated[
        float, Q("gal", "Volume the crew needs", safe="up", rule="people * days * per_person in gal")
    ]
    needed_capacity: Annotated[
        float, Q("gal", "Tank that would just do", safe="up", rule="needed / usable in gal")
    ]
    lasts: Annotated[
        float,
        Q(
            "day",
            "Days the tank lasts",
            safe="down",
            rule="usable * capacity / (people * per_person) in day",
        ),
    ]


@calculator(
    limits=[
        Limit(
            "capacity",
            "usable * capacity >= needed",
            "water for every day of the trip, and room for all the waste until the next pump-out",
        )
    ],
    cautions=[
        Caution(
            "danger",
            "A waste tank gives off gases that poison, suffocate and burn. Air the space, keep flames away,"
            " and never put your head or a lamp into the tank.",
            hazard="sewage-gas",
        ),
        Caution(
            "warning",
            "A waste tank run full bursts at its weakest fitting, or comes up at the toilet."
            " Where the law asks for a level indicator, it tells when the tank is more than 3/4"
            " full.",
        ),
        Caution(
            "warning",
            "Drinking water goes only into a tank and hose made for it, cleaned and disinfected at"
            " commissioning and each spring. Offshore keep some in bottles: one leak empties one tank.",
        ),
        Caution(
            "notice",
            "Where discharge is barred, waste stays aboard and the overboard valve is secured closed.",
        ),
    ],
    sources=[
        Source(
            "33 CFR 159.83",
            "sanitation devices of boats with an installed toilet: level told above 3/4 full",
            "read",
        ),
        Source(
            "33 CFR 159.7 and 40 CFR 140.3",
            "boats with an installed toilet in US waters: where waste stays aboard; how the valve is secured",
            "read",
        ),
        Source(
            "common practice, no source",
            "85 to 90 % of a tank is used; 4 to 6 flushes a person and day, of 1 to 1.5 gal by hand pump,"
            " 0.5 to 1 gal electric, 0.1 to 0.3 gal vacuum",
            "memory",
        ),
    ],
    example={"people": "4", "days": "2.5 day", "per_person": "1.5 gal/day", "capacity": "20 gal"},
    use="when a fresh water or waste tank is chosen, and again when the crew or the trip grows.",
    not_for="how fast a tank empties (pump_out) or what its vent must let through (vent_size).",
)
def water_supply(
    people: Annotated[int, Q("", "People aboard", valid=Range(1))],
    days: Annotated[float, Q("day", "Days between fillings, or between pump-outs", valid=POSITIVE)],
    per_person: Annotated[
        float,
        Q(
            "gal/day",
            "Volume for each person",
            valid=POSITIVE,
            note="drinking, cooking and washing; for waste, flushes a day times the volume of one",
        ),
    ],
    capacity: Annotated[float, Q("gal", "Volume of the tank", valid=POSITIVE)],
    usable: Annotated[
        float,
        Q(
            "%",
            "Usable share of the tank",
            valid=Range(above=0, most=100),
            usual=Range(
                most=95, why="the pick-up leaves some water; a waste tank needs room for heel and gas"
            ),
        ),
    ] = 90.0,
) -> WaterSupply:
    """Fresh water or holding volume for a crew, and the days a tank lasts.

    People times days times what each uses is what the crew needs. Only the usable share of a tank counts
    against it: the rest stays below the pick-up, or is the air above the waste.

    >>> water_supply(people=4, days=2.5, per_person=6.25, capacity=80).needed_capacity
    69.444444
    """
    a_day = people * per_person
    needed = a_day * days
    return WaterSupply(
        needed=needed,
        needed_capacity=needed / (usable / 100),
        lasts=usable / 100 * capacity / a_day,
    )
