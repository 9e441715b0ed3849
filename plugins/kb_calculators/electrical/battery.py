"""Batteries: how long one carries what is left on."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, NamedTuple

from kb import NOT_NEGATIVE, POSITIVE, Caution, NoAnswer, Q, Range, Source, calculator

_NOTHING_A = 1e-9  # a mean current below it is none: the battery loses more on the shelf


class Load(NamedTuple):
    """One thing that draws from the battery."""

    name: Annotated[str, Q("", "Load")]
    current: Annotated[float, Q("A", "Current while it runs", valid=NOT_NEGATIVE)]
    duty: Annotated[float, Q("%", "Share of the time it runs", valid=Range(0, 100))] = 100.0


@dataclass(frozen=True, slots=True)
class BatteryLife:
    """What the loads draw, and how long the battery lasts."""

    mean_current: Annotated[
        float, Q("A", "Mean current", safe="up", method="current times duty of every load, summed")
    ]
    hours: Annotated[
        float | NoAnswer,
        Q(
            "hr",
            "Hours until the usable share is drawn",
            safe="down",
            rule="capacity * usable / mean_current in hr",
        ),
    ]
    flat_in: Annotated[
        float | NoAnswer,
        Q(
            "hr",
            "Hours until it is flat",
            safe="down",
            usual=Range(
                20, why="capacities are mostly rated over 20 hr; drawn faster, lead-acid gives less than that"
            ),
            rule="capacity / mean_current in hr",
        ),
    ]


@calculator(
    cautions=[
        Caution(
            "danger",
            "A battery on charge gives off hydrogen, which explodes. Vent its box from the top, let nothing"
            " that sparks stand there, and switch loads and charger off before a clamp is moved.",
        ),
        Caution(
            "danger",
            "A short circuit across its posts melts tools and sets fires. Rings and watch off, cover the"
            " posts, take the grounded post off first and put it on last.",
            hazard="electricity",
        ),
        Caution(
            "warning",
            "The acid burns skin and eyes. Gloves and goggles; water at hand; the case fixed upright.",
        ),
        Caution(
            "warning",
            "Hours are those of a full, warm battery. Age and cold take much of it. A boat left on"
            " her bilge pump needs far more than the sum, and someone who comes aboard.",
        ),
        Caution("notice", "What starts the engine is a battery of its own, apart from these loads."),
    ],
    sources=[
        Source("charge over current", "hours are usable ampere-hours over the mean amps", "memory"),
        Source(
            "common practice, no source",
            "half of a lead-acid battery is drawn at most, for its life; capacity is rated over 20 hr",
            "memory",
        ),
        Source("the labels of battery and loads", "capacity and currents", "maker's"),
    ],
    example={
        "capacity": "100 Ah",
        "loads": "[{name: bilge pump, current: 5 A, duty: 5 %},"
        " {name: anchor light, current: 0.2 A, duty: 50 %}, {name: radio, current: 1.5 A, duty: 100 %}]",
    },
    use="when loads or a battery are chosen, and again when something is added that stays on at anchor or on"
    " a mooring.",
    not_for="cranking, or loads that draw the battery flat in an hour or two: take the maker's discharge"
    " curve for those.",
)
def battery_life(
    capacity: Annotated[
        float, Q("Ah", "Capacity of the battery", valid=POSITIVE, note="by its label, at the 20 hr rate")
    ],
    loads: Annotated[
        tuple[Load, ...], Q("", "What draws from it", note="a row without a duty runs all the time")
    ],
    usable: Annotated[
        float,
        Q(
            "%",
            "Share of the capacity in use",
            valid=Range(above=0, most=100),
            note="half for lead-acid; for others what its maker says",
        ),
    ] = 50.0,
) -> BatteryLife:
    """Hours a battery carries the listed loads.

    Each load counts with its current times the share of the time that it runs. The usable ampere-hours over
    the sum of those are the hours; without a load there are none.

    >>> battery_life(100, (Load("pump", 5, 10), Load("radio", 1.5))).hours
    25.0
    """
    mean_current = sum(load.current * load.duty / 100 for load in loads)
    if mean_current < _NOTHING_A:
        none = NoAnswer("the loads draw nothing")
        return BatteryLife(mean_current=mean_current, hours=none, flat_in=none)
    return BatteryLife(
        mean_current=mean_current,
        hours=capacity * usable / 100 / mean_current,
        flat_in=capacity / mean_current,
    )
