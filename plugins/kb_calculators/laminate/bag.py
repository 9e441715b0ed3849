"""The bag before it is filled: does it hold its vacuum."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from kb import NOT_NEGATIVE, Caution, Limit, NoAnswer, Q, Range, Source, calculator

_DUST_INHG = 1e-9  # far below any gauge, above what conversion of units leaves behind


@dataclass(frozen=True, slots=True)
class VacuumDrop:
    """What the bag lost, and how fast."""

    drop: Annotated[float, Q("inHg", "Vacuum lost", safe="up", rule="start - end")]
    rate: Annotated[
        float | NoAnswer, Q("inHg/min", "Loss in a minute", safe="up", rule="drop / duration in inHg/min")
    ]


@calculator(
    limits=[
        Limit(
            "start", "start >= min_start", "a test at full vacuum; a bag that leaks badly never gets there"
        ),
        Limit("rate", "rate <= allowed_rate", "a laminate without the bubbles that leaking air draws in"),
    ],
    cautions=[
        Caution(
            "danger",
            "A trap or vessel under vacuum can collapse and throw its pieces: a full vacuum loads each"
            " square foot with about a ton. Use only what is made for full vacuum, guarded, and wear"
            " glasses.",
            hazard="vacuum",
        ),
        Caution(
            "warning",
            "A bag presses closed forms and unbraced sides together with the same load. Brace them, and keep"
            " hands and tools clear while it draws down.",
        ),
        Caution(
            "notice",
            "Close the line at the bag, so that pump and trap are no part of the test, and read a gauge on"
            " the bag itself. Let it settle first: trapped air still creeping to the gauge looks like a"
            " leak, and a falling barometer does too. A trap left in the test hides one: the same leak shows"
            " less in a larger volume.",
        ),
    ],
    sources=[
        Source(
            "common practice, no source",
            "27 to 28 inHg at sea level, line closed; 1 inHg lost in 30 min passes, with care 5 to 10 mbar"
            " in 10 min",
            "memory",
        ),
        Source("the yard, or the resin's maker", "the rate that is allowed", "maker's"),
    ],
    example={
        "start": "28.5 inHg",
        "end": "28.2 inHg",
        "duration": "30 min",
        "allowed_rate": "0.033 inHg/min",
    },
    use="before each infusion, when the bag is on and every line is closed.",
    not_for="pressure tests, or finding the place of a leak.",
)
def vacuum_drop(
    start: Annotated[
        float,
        Q(
            "inHg",
            "Gauge when the line is closed",
            valid=Range(above=0, most=32),
            note="below the outside air",
        ),
    ],
    end: Annotated[float, Q("inHg", "Gauge at the end", valid=Range(0, 32), note="of the same gauge")],
    duration: Annotated[
        float,
        Q(
            "min",
            "Time between the readings",
            valid=Range(least=0.1),
            usual=Range(least=10, why="a slow leak does not show in less; 10 to 30 min are common"),
        ),
    ],
    allowed_rate: Annotated[
        float,
        Q(
            "inHg/min",
            "Loss allowed in a minute",
            valid=NOT_NEGATIVE,
            usual=Range(most=0.034, why="1 inHg in 30 min is the most that common practice passes"),
        ),
    ],
    min_start: Annotated[
        float,
        Q(
            "inHg",
            "Least vacuum to start from",
            valid=Range(0, 32),
            usual=Range(least=20, why="a test from so little shows less of the leak"),
            note="27 inHg is for sea level; take off about 1 inHg for each 1000 ft of altitude",
        ),
    ] = 27.0,
) -> VacuumDrop:
    """Drop test of a bag before infusion.

    The drop is the gauge at the start less that at the end; the rate is the drop over the time between. A
    gauge that ends deeper than it began tells of a pump that still draws, or of a glass that rose, and not of
    a tight bag: there is no rate then, and whether the bag holds cannot be told.

    >>> vacuum_drop(start=28.5, end=28.2, duration=30, allowed_rate=0.033).rate
    0.01
    """
    drop = start - end
    rate: float | NoAnswer = drop / duration
    if drop < -_DUST_INHG:
        rate = NoAnswer(
            f"the gauge ends {-drop:.3g} inHg deeper than it began; close the line to the pump and read again"
        )
    return VacuumDrop(drop, rate)
