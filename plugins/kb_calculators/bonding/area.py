"""Bonding: adhesive, cartridges and guns for a joint, the time it takes to lay, and what it carries."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Callable
from dataclasses import dataclass
from math import pi, sqrt
from typing import Annotated, NamedTuple

from kb import (
    FALLBACK,
    NOT_NEGATIVE,
    POSITIVE,
    Caution,
    Limit,
    NoAnswer,
    Q,
    Range,
    Source,
    calculator,
    pieces,
)
from kb_calculators.bonding.draw_lay_time import draw_lay_time
from kb_calculators.bonding.laying import lay_time
from kb_calculators.conversions import IN_PER_FT, ML_PER_IN3, ML_PER_L
from kb_calculators.scantlings import NOT_FOR_SCANTLINGS, NOT_SCANTLINGS

HALVING_DEGF = 16.0  # open time halves for each so many degrees

_MOST_GUNS = 1000
_SAME = 1e-12  # minutes are equal within this share: what rounding leaves behind, as limits are judged


class Run(NamedTuple):
    """One stretch of a joint, as wide all along."""

    name: Annotated[str, Q("", "Run")]
    length: Annotated[float, Q("ft", "Length", valid=POSITIVE)]
    width: Annotated[float, Q("in", "Width of the bond", valid=POSITIVE)]


@dataclass(frozen=True, slots=True)
class BondingArea:
    """What a bonded joint takes in adhesive, guns and minutes, and what it carries in shear."""

    area: Annotated[float, Q("in^2", "Bond area", method="length times width of every run, summed")]
    adhesive: Annotated[
        float, Q("L", "Adhesive with waste", safe="up", rule="area * thickness * (100 % + waste) in L")
    ]
    cartridges: Annotated[int, Q("", "Cartridges", safe="up", rule="ceil(adhesive / (cartridge * usable))")]
    lay_time: Annotated[
        float,
        Q(
            "min",
            "Time to lay the adhesive",
            safe="up",
            rule="adhesive / (flow * guns) + (ceil(cartridges / guns) - 1) * change_time in min",
        ),
    ]
    open_time_now: Annotated[
        float,
        Q(
            "min",
            "Open time now",
            safe="down",
            method="halves each 16 delta_degF hotter, never longer colder",
        ),
    ]
    guns_needed: Annotated[
        int | NoAnswer,
        Q("", "Guns needed", safe="up", method="the fewest with which the limit open_time holds"),
    ]
    strength: Annotated[
        float,
        Q("lbf", "Shear strength left", safe="down", rule="area * shear_strength * (100 % - knockdown)"),
    ]
    factor: Annotated[float | NoAnswer, Q("", "Factor over the load", safe="down", rule="strength / load")]
    widest: Annotated[float, Q("in", "Width of the widest run", method="the largest width of the table")]
    bead_diameter: Annotated[
        float,
        Q("in", "Bead for the widest run", safe="up", rule="2 * sqrt(widest * thickness / 3.14159265358979)"),
    ]


@calculator(
    limits=[
        Limit(
            "open_time",
            "lay_time + closing_time <= use_of_open_time * open_time_now",
            "a joint that is closed while all of the adhesive still wets",
        ),
        Limit("factor", "factor >= min_factor", "the joint from shear failure", given="load"),
    ],
    cautions=[
        Caution(
            "danger",
            "The monomer's vapour burns, and in a closed hull explodes. No spark; ventilate.",
            hazard="adhesive-vapour",
        ),
        Caution(
            "warning", "On the skin it can make a person allergic for good. Gloves that its maker names."
        ),
        NOT_SCANTLINGS,
        Caution("warning", "Shear only: peel breaks a joint at a fraction of it."),
        Caution(
            "caution", "A thick bead, a warm cartridge or a sun-warmed part cures sooner than this says."
        ),
    ],
    sources=[
        Source(
            "common practice, no source",
            "open time halves for about each 16 delta_degF; four fifths of it in use; half of the strength"
            " lost to age, wet, heat and surface; a factor of 4 on static shear",
            "memory",
        ),
        Source("the adhesive's data sheet", "open time, its temperature, shear strength", "maker's"),
        Source("closed-form geometry", "volume of a bond line; a round bead of the same volume", "memory"),
    ],
    example={
        "runs": "[{name: deck, length: 56 ft, width: 1 1/2 in}, {name: bulkhead, length: 9 ft, width: 2 in}]",
        "thickness": "1/8 in",
        "cartridge": "400 mL",
        "usable": "96 %",
        "flow": "150 mL/min",
        "guns": "2",
        "open_time": "40 min",
        "closing_time": "8 min",
        "temperature": "80 degF",
        "shear_strength": "1200 psi",
        "load": "9000 lbf",
    },
    use="before a deck or bulkhead is bonded, to order adhesive and choose guns, and again on the day, at the"
    " warmest temperature.",
    not_for=NOT_FOR_SCANTLINGS + " Nor for peel, or for a joint that is pulled apart.",
    draws=draw_lay_time,
)
def bonding_area(
    runs: Annotated[tuple[Run, ...], Q("", "Runs of the joint")],
    thickness: Annotated[
        float,
        Q(
            "in",
            "Thickness of the bond line",
            valid=POSITIVE,
            usual=Range(0.03, 1, "no grade fills that: ask the maker"),
        ),
    ],
    cartridge: Annotated[float, Q("mL", "Content of a cartridge", valid=POSITIVE)],
    flow: Annotated[float, Q("mL/min", "Flow of one gun", valid=POSITIVE)],
    guns: Annotated[
        int, Q("", "Guns", valid=Range(1, _MOST_GUNS), note="all start loaded and share the joint evenly")
    ],
    open_time: Annotated[float, Q("min", "Open time at rated_temperature", valid=POSITIVE)],
    shear_strength: Annotated[
        float,
        Q("psi", "Lap shear strength", valid=POSITIVE, note="of adhesive or laminate, whichever is weaker"),
    ],
    waste: Annotated[
        float, Q("%", "Adhesive squeezed out and wasted", valid=NOT_NEGATIVE, note="on top of the bond line")
    ] = 10.0,
    usable: Annotated[
        float,
        Q(
            "%",
            "Share of a cartridge that comes out",
            valid=Range(most=100, above=0),
            note="3 % to 5 % commonly stays inside",
        ),
    ] = 100.0,
    change_time: Annotated[float, Q("min", "Time to change a cartridge", valid=NOT_NEGATIVE)] = 0.5,
    rated_temperature: Annotated[
        float, Q("degF", "Temperature that the open time is for", valid=Range(0, 150))
    ] = 75.0,
    temperature: Annotated[
        float,
        Q(
            "degF",
            "Temperature now",
            usual=Range(55, 95, "the rule is for shop temperatures: ask the maker"),
            note="of the warmest of adhesive, parts and air",
            fallback="rated_temperature",
        ),
    ] = FALLBACK,
    closing_time: Annotated[float, Q("min", "Time to bring the parts together", valid=NOT_NEGATIVE)] = 0.0,
    use_of_open_time: Annotated[
        float, Q("%", "Share of the open time in use", valid=Range(most=100, above=0))
    ] = 80.0,
    knockdown: Annotated[
        float, Q("%", "Strength lost to age, wet, heat and surface", valid=Range(0, 100))
    ] = 50.0,
    load: Annotated[
        float | None,
        Q(
            "lbf",
            "Design load in shear",
            valid=POSITIVE,
            note="from the designer only",
            unset="no load: the factor is not judged",
        ),
    ] = None,
    min_factor: Annotated[float, Q("", "Least factor over the load", valid=Range(1))] = 4.0,
) -> BondingArea:
    """Bond area, adhesive, cartridges, lay-down time against open time, and strength of a bonded joint.

    Adhesive is area times thickness and the waste on top. Every gun lays its share of it and stops to change
    all its cartridges but the first. What the joint carries is its area times the shear strength that is left
    after the knockdown.

    >>> edge = Run("deck edge", 59.0551, 1.5748)
    >>> bonding_area((edge,), 0.11811, 400, 150, 2, 20, 1160.3, 15, 96, temperature=75).adhesive
    2.48399
    """
    area = sum(run.length * IN_PER_FT * run.width for run in runs)
    volume = area * thickness * (1 + waste / 100) * ML_PER_IN3
    cartridges = max(pieces(volume / (cartridge * usable / 100)), 1)
    open_time_now: float = open_time * 0.5 ** (max(temperature - rated_temperature, 0.0) / HALVING_DEGF)

    def laid(some: int) -> float:
        return lay_time(volume, cartridges, some, flow, change_time)

    def in_time(some: int) -> bool:
        return laid(some) + closing_time <= use_of_open_time / 100 * open_time_now * (1 + _SAME)

    strength = area * shear_strength * (1 - knockdown / 100)
    widest = max(run.width for run in runs)
    return BondingArea(
        area=area,
        adhesive=volume / ML_PER_L,
        cartridges=cartridges,
        lay_time=laid(guns),
        open_time_now=open_time_now,
        guns_needed=_fewest(in_time),
        strength=strength,
        factor=NoAnswer("load is not given: it is the designer's") if load is None else strength / load,
        widest=widest,
        bead_diameter=2 * sqrt(widest * thickness / pi),
    )


def _fewest(in_time: Callable[[int], bool]) -> int | NoAnswer:
    """Return the fewest guns that are in time; with more guns laying never takes longer."""
    fewest = bisect_left(range(1, _MOST_GUNS + 1), True, key=in_time) + 1
    if fewest > _MOST_GUNS:
        return NoAnswer(f"not even {_MOST_GUNS} guns are in time; use a slower grade or cool the shop")
    return fewest
