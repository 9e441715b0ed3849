"""Hoses: the yard's own calculators."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import pi
from typing import Annotated, Any

from kb import NOT_NEGATIVE, POSITIVE, Caution, Limit, Q, Range, Source, calculator, hookimpl

IN_PER_FT = 12.0
IN3_PER_GAL = 231.0


@dataclass(frozen=True, slots=True)
class HoseContents:
    """What a hose holds."""

    volume: Annotated[
        float,
        Q("gal", "Liquid in the hose", safe="up", rule="3.141592653589793 / 4 * bore ^ 2 * length in gal"),
    ]


@calculator(
    limits=[Limit("spill", "volume <= most", "what runs out when the hose comes off", given="most")],
    cautions=[
        Caution(
            "warning",
            "A hose that looks empty still holds liquid. Hold a can under it before you loosen a clamp.",
        )
    ],
    sources=[Source("closed-form geometry", "volume of a cylinder", "memory")],
    use="before a full hose is taken off, and to size the can that stands under it.",
    not_for="ribbed hose: its ribs hold more. Measure one by filling it.",
    example={"bore": "1 1/2 in", "length": "6 ft", "most": "1 gal"},
)
def hose_contents(
    bore: Annotated[
        float,
        Q(
            "in",
            "Bore of the hose",
            valid=POSITIVE,
            usual=Range(0.25, 4, why="this is not a hose of a small boat"),
        ),
    ],
    length: Annotated[float, Q("ft", "Length that runs out", valid=NOT_NEGATIVE)],
    most: Annotated[
        float | None, Q("gal", "Room in the can", valid=NOT_NEGATIVE, unset="no can is judged")
    ] = None,
) -> HoseContents:
    """Find what a hose holds when it is full.

    The area of the bore, pi / 4 of its square, times the length.

    >>> hose_contents(bore=1.5, length=6).volume
    0.550799
    """
    return HoseContents(volume=pi / 4 * bore * bore * length * IN_PER_FT / IN3_PER_GAL)


@hookimpl
def kb_calculators() -> Sequence[Callable[..., Any]]:
    """Return this plugin's calculators."""
    return (hose_contents,)
