"""Fuses: large enough for the load, small enough for wire and appliance, near enough to the source."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, NamedTuple

from kb import NOT_NEGATIVE, POSITIVE, Caution, Limit, NoAnswer, Q, Range, Source, calculator

_SAME = 1e-12  # amps are equal within this share: what rounding leaves behind, as limits are judged


class FuseRow(NamedTuple):
    """One size that is to be had."""

    amps: Annotated[float, Q("A", "Rating", valid=POSITIVE)]


@dataclass(frozen=True, slots=True)
class FuseSize:
    """The window that load, wire and appliance leave, and the fuse that fits it."""

    least: Annotated[float, Q("A", "Least that the load needs", safe="up", rule="load * load_factor")]
    greatest: Annotated[
        float,
        Q(
            "A",
            "Greatest that wire and appliance allow",
            safe="down",
            rule="min(ampacity * ampacity_share, appliance_max)",
        ),
    ]
    fuse: Annotated[
        float | NoAnswer,
        Q("A", "Fuse or breaker to fit", method="the smallest listed size from least to greatest"),
    ]


@calculator(
    limits=[
        Limit(
            "size",
            "least <= fuse <= greatest",
            "the wire from burning and the appliance from more than its maker allows, without nuisance trips",
            if_none="outside",
        ),
        Limit(
            "lead",
            "lead <= (if sheathed then max_lead_sheathed else max_lead)",
            "the stretch before the fuse, which nothing protects",
        ),
    ],
    cautions=[
        Caution(
            "danger",
            "A lead without a fuse at its source burns from end to end when it chafes through. Every"
            " ungrounded conductor has one, the bilge pump's as well.",
        ),
        Caution(
            "danger",
            "A spark into gasoline vapour blows the boat apart. In a space with a gasoline engine"
            " or tank, fuse holder and breaker are ignition-protected, or they stand elsewhere.",
        ),
        Caution(
            "warning",
            "A stalled pump draws far more than its running current and can catch fire unless its"
            " fuse opens. Never above the greatest fuse that its maker names.",
        ),
        Caution(
            "warning",
            "A fuse that opens is not made larger: find the fault. It must also be rated for the"
            " circuit's voltage and be able to break what the battery gives into a short circuit."
            " A breaker is trip-free and reset by hand, never by itself.",
        ),
        Caution(
            "warning",
            "150 % of the amps in table 5 is the most that 33 CFR 183.455 lets pass, below 50 V only, and not"
            " what to aim for. It binds boats with gasoline engines other than outboards; cranking motor"
            " circuits are left out of it.",
        ),
    ],
    sources=[
        Source(
            "33 CFR 183.455 (subpart I: gasoline engines, outboards excepted)",
            "a fuse, or a trip-free breaker reset by hand: at the source, else within 7 in, else"
            " within 40 in if sheathed or enclosed all the way; rated at most 150 % of table 5"
            " below 50 V, 100 % or the next size from 50 V up; 2015 edition",
            "read",
        ),
        Source(
            "33 CFR 183.460 (same scope)",
            "a battery's own output conductor: within 72 in, but for the cranking motor's; 2015 edition",
            "read",
        ),
        Source(
            "common practice, no source", "125 % of a load that runs for hours; 100 % of the wire", "memory"
        ),
        Source("the appliance's maker", "its greatest fuse", "maker's"),
    ],
    example={
        "load": "5 A",
        "ampacity": "21 A",
        "appliance_max": "7.5 A",
        "sizes": "[[3 A], [5 A], [7.5 A], [10 A], [15 A], [20 A]]",
        "lead": "6 in",
    },
    use="for every circuit once its wire is chosen, and again when wire or appliance change.",
    not_for="cranking motors, an alternator's output (33 CFR 183.460 has its own rule), or telling whether a"
    " fuse can break the battery's short-circuit current.",
)
def fuse_size(
    load: Annotated[float, Q("A", "Current of the load", valid=POSITIVE, note="running, all that may be on")],
    ampacity: Annotated[
        float,
        Q(
            "A",
            "What the wire may carry, after derating",
            valid=POSITIVE,
            note="of the thinnest wire behind the fuse; wire_size gives it as allowed_current",
        ),
    ],
    appliance_max: Annotated[
        float,
        Q(
            "A",
            "Greatest fuse that the appliance's maker allows",
            valid=POSITIVE,
            note="the smallest of all on the circuit; for a feeder to a panel, the panel's rating",
        ),
    ],
    sizes: Annotated[tuple[FuseRow, ...], Q("", "Sizes to be had")],
    lead: Annotated[
        float, Q("in", "Wire from the source to the fuse", valid=NOT_NEGATIVE, note="along the wire")
    ],
    load_factor: Annotated[
        float,
        Q("%", "Least fuse, as a share of the load", valid=Range(100), note="100 % for loads of a moment"),
    ] = 125.0,
    ampacity_share: Annotated[
        float,
        Q(
            "%",
            "Greatest fuse, as a share of what the wire may carry",
            valid=Range(above=0, most=150),
            usual=Range(most=100, why="33 CFR 183.455 lets up to 150 % pass below 50 V; read its scope"),
        ),
    ] = 100.0,
    sheathed: Annotated[
        bool, Q("", "In a sheath or enclosure all the way from source to fuse", note="box or closed panel")
    ] = False,
    max_lead: Annotated[
        float,
        Q(
            "in",
            "Longest lead",
            valid=NOT_NEGATIVE,
            usual=Range(0, 7, "33 CFR 183.455 allows 7 in; only a battery's own output 72 in, by 183.460"),
        ),
    ] = 7.0,
    max_lead_sheathed: Annotated[
        float,
        Q(
            "in",
            "Longest sheathed lead",
            valid=NOT_NEGATIVE,
            usual=Range(0, 40, "33 CFR 183.455 allows 40 in; only a battery's own output 72 in, by 183.460"),
        ),
    ] = 40.0,
) -> FuseSize:
    """Find the fuse or breaker of a circuit, between what the load draws and what wire and appliance allow.

    It is at least the load times load_factor, and at most the smaller of the wire's amps times
    ampacity_share and the appliance's greatest. The smallest listed size within is the one to fit.

    >>> fuse_size(8, 30, 20, (FuseRow(7.5), FuseRow(10), FuseRow(15)), lead=5).fuse
    10
    """
    least = load * load_factor / 100
    by_wire = ampacity * ampacity_share / 100
    greatest = min(by_wire, appliance_max)
    fitting = [row.amps for row in sizes if least * (1 - _SAME) <= row.amps <= greatest * (1 + _SAME)]
    return FuseSize(least, greatest, min(fitting) if fitting else _none(least, by_wire, appliance_max))


def _none(least: float, by_wire: float, appliance_max: float) -> NoAnswer:
    greatest = min(by_wire, appliance_max)
    if least <= greatest:
        return NoAnswer(f"no listed size lies from {least:g} A to {greatest:g} A")
    what = "wire allows" if by_wire <= appliance_max else "appliance's maker allows"
    cure = "lay a thicker wire" if by_wire <= appliance_max else "split the circuit"
    return NoAnswer(f"the load needs {least:g} A and the {what} {greatest:g} A; {cure}")
