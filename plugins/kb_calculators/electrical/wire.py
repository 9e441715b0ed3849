"""Wire: how thick by the drop in voltage, how thick by the heat, and what it drops then."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Annotated, NamedTuple

from kb import POSITIVE, Caution, Limit, NoAnswer, Q, Range, Refusal, Source, calculator

_NO_ONE_MEETS_BOTH = NoAnswer("the listed wires thick enough for the drop carry too little here")
_SAME = 1e-12  # sizes are equal within this share: what rounding leaves behind, as limits are judged
_GAUGE = re.compile(r"(?P<whole>[1-9]|[1-3][0-9]|40)|(?P<zeros>0{1,4})|(?P<many>[1-4])/0")


class WireRow(NamedTuple):
    """One wire that the yard stocks."""

    gauge: Annotated[str, Q("", "Gauge", note="AWG, such as 10 or 1/0; any name where the area is given")]
    amps: Annotated[float, Q("A", "Amps it may carry", valid=POSITIVE)]
    area: Annotated[float | None, Q("cmil", "Copper in it", valid=POSITIVE)] = None


class _Wire(NamedTuple):
    gauge: str
    amps: float
    area: float


@dataclass(frozen=True, slots=True)
class WireSize:
    """The wire that a circuit needs, and what is lost in it."""

    area_needed: Annotated[
        float,
        Q(
            "",
            "Circular mils that the drop asks for",
            safe="up",
            rule="conductor_constant * 1 ohm*cmil/ft * current * length / (allowed_drop * voltage) / 1 cmil",
        ),
    ]
    gauge_by_drop: Annotated[str | NoAnswer, Q("", "Thinnest listed wire by voltage drop")]
    gauge_by_ampacity: Annotated[str | NoAnswer, Q("", "Thinnest listed wire by heat")]
    gauge: Annotated[str | NoAnswer, Q("", "Wire to lay: the thinnest that meets both")]
    area: Annotated[
        float | NoAnswer,
        Q("cmil", "Copper in that wire", safe="down", method="of its row, else of its gauge by ASTM B258"),
    ]
    allowed_current: Annotated[
        float | NoAnswer,
        Q("A", "What that wire may carry here", safe="down", method="the amps of its row times derating"),
    ]
    drop: Annotated[
        float | NoAnswer,
        Q(
            "V",
            "Voltage lost in that wire",
            safe="up",
            rule="conductor_constant * 1 ohm*cmil/ft * current * length / area in V",
        ),
    ]
    drop_share: Annotated[
        float | NoAnswer, Q("%", "Share of the voltage lost", safe="up", rule="drop / voltage * 100 %")
    ]


@calculator(
    limits=[
        Limit(
            "drop",
            "drop_share <= allowed_drop",
            "enough voltage at the pump, lamp or radio that it runs as its maker means it to",
            if_none="outside",
        )
    ],
    cautions=[
        Caution(
            "danger",
            "A wire that carries more than it may burns its insulation, and the boat. A fuse or breaker at"
            " the source, no larger than the wire allows, is what prevents that: size it with fuse_size.",
        ),
        Caution(
            "warning",
            "In an engine space and in a bundle wire carries less. Where both are so the factors"
            " multiply; one that is forgotten can start a fire.",
        ),
        Caution(
            "warning",
            "33 CFR 183.425 asks for insulated stranded copper, 16 AWG or thicker, 18 AWG only"
            " inside a sheath, whatever the sum says; radios, navigation electronics and pigtails"
            " are let off. It binds boats with gasoline engines other than outboards.",
        ),
        Caution(
            "caution",
            "Boat cable of an SAE size may have up to a ninth less copper than the same AWG, and"
            " carries and drops as the copper does. Give its area, and its maker's amps.",
        ),
        Caution(
            "notice",
            "Hot wire drops more, up to 29 % at 105 degC. Poor crimps and switches come on top of this sum.",
        ),
    ],
    sources=[
        Source(
            "33 CFR 183.425, table 5 and its notes (subpart I: gasoline engines, outboards excepted)",
            "amps by gauge and insulation at 30 degC; factors for engine spaces; bundles are reduced by"
            " 183.435(b) from 50 V up; the least gauges",
            "read",
        ),
        Source("ASTM B258", "diameter of a gauge, 0.005 in x 92^((36 - n) / 39)", "memory"),
        Source("SAE J378 and J1127", "copper of SAE sizes", "memory"),
        Source("ABYC E-11", "circular mils as K I L / E, K of 10.75", "memory"),
        Source(
            "ABYC E-11, as a wire chart quotes it",
            "3 % for feeders, blowers, electronics and running lights, 10 % for the rest",
            "memory",
        ),
        Source("resistance of annealed copper", "10.75 is copper at 29 degC, 13.84 at 105 degC", "memory"),
        Source(
            "the cable's maker", "its amps, and its copper where that is less than the gauge's", "maker's"
        ),
    ],
    example={
        "current": "12 A",
        "length": "44 ft",
        "voltage": "12 V",
        "ampacity": "[[16, 25 A], [14, 35 A], [12, 45 A], [10, 60 A], [8, 80 A], [6, 120 A], [4, 160 A]]",
        "derating": "85 %",
    },
    use="for every new circuit, and again when a load is added or a run gets longer.",
    not_for="cranking motors, three-phase or shore power with a lagging load, or aluminium wire.",
)
def wire_size(
    current: Annotated[
        float, Q("A", "Current", valid=POSITIVE, note="the most that flows for longer than a surge")
    ],
    length: Annotated[
        float,
        Q("ft", "Length of wire, there and back", valid=POSITIVE, note="as it is laid, both conductors"),
    ],
    voltage: Annotated[float, Q("V", "Voltage at the source", valid=POSITIVE)],
    ampacity: Annotated[
        tuple[WireRow, ...],
        Q(
            "",
            "Wires in stock",
            note="amps by the insulation's rating, as in 33 CFR 183.425 table 5; area for cable thinner than"
            " its gauge",
        ),
    ],
    derating: Annotated[
        float,
        Q(
            "%",
            "Share of those amps that REMAINS",
            valid=Range(above=0, most=100),
            usual=Range(20, 100, "give what remains, not what is taken off"),
            note="100 % for one cable outside engine spaces; 105 degC cable in an engine space 85 %,"
            " 60 degC cable 58 %; bundles of 3 70 %, of 4 to 6 60 %, of 7 to 24 50 %, the law's"
            " from 50 V up and good practice below; multiply where several hold",
        ),
    ],
    allowed_drop: Annotated[
        float,
        Q(
            "%",
            "Share of the voltage that may be lost",
            valid=Range(above=0, most=50),
            usual=Range(most=10, why="10 % is the most in common use, for lights and what is not critical"),
        ),
    ] = 3.0,
    conductor_constant: Annotated[
        float,
        Q(
            "",
            "Ohm circular mil per foot of the wire",
            valid=POSITIVE,
            usual=Range(10.37, 13.84, "copper has 10.37 at 20 degC to 13.84 at 105 degC"),
        ),
    ] = 10.75,
) -> WireSize:
    """Conductor size by voltage drop and by ampacity, and the drop in the chosen wire.

    The drop asks for K I L / E circular mils: K the wire's constant, I the amps, L the feet there and back, E
    the volts that may be lost. Heat asks for amps that still cover the current once they are derated. Of
    the listed wires the thinnest is named that meets each, and the thinnest that meets both.

    >>> stock = (WireRow("6", 120), WireRow("4", 160), WireRow("2", 210))
    >>> wire_size(20, 50, 12, stock, 85).gauge
    '4'
    """
    wires = _stock(ampacity)
    volt_mils = conductor_constant * current * length
    needed = volt_mils / (allowed_drop / 100 * voltage)
    by_drop = [wire for wire in wires if wire.area * (1 + _SAME) >= needed]
    by_heat = [wire for wire in wires if wire.amps * derating / 100 * (1 + _SAME) >= current]
    too_thin = NoAnswer(f"no listed wire has {needed:.0f} circular mils; list thicker or shorten the run")
    too_hot = NoAnswer(f"no listed wire carries {current:g} A at {derating:g} % of its amps")
    none = too_thin if not by_drop else too_hot if not by_heat else _NO_ONE_MEETS_BOTH
    wire = _thinnest([wire for wire in by_drop if wire in by_heat], none)
    lost = none if isinstance(wire, NoAnswer) else volt_mils / wire.area
    return WireSize(
        area_needed=needed,
        gauge_by_drop=_gauge(_thinnest(by_drop, too_thin)),
        gauge_by_ampacity=_gauge(_thinnest(by_heat, too_hot)),
        gauge=_gauge(wire),
        area=wire if isinstance(wire, NoAnswer) else wire.area,
        allowed_current=wire if isinstance(wire, NoAnswer) else wire.amps * derating / 100,
        drop=lost,
        drop_share=lost if isinstance(lost, NoAnswer) else 100 * lost / voltage,
    )


def _stock(rows: tuple[WireRow, ...]) -> list[_Wire]:
    names = [row.gauge.strip() for row in rows]
    for name in names:
        if names.count(name) > 1:
            raise Refusal("ampacity", f"lists the gauge '{name}' twice", "keep one row for each gauge")
    return [
        _Wire(name, row.amps, awg_area(name) if row.area is None else row.area)
        for name, row in zip(names, rows, strict=True)
    ]


def _thinnest(wires: list[_Wire], none: NoAnswer) -> _Wire | NoAnswer:
    return min(wires, key=lambda wire: wire.area) if wires else none


def _gauge(wire: _Wire | NoAnswer) -> str | NoAnswer:
    return wire if isinstance(wire, NoAnswer) else wire.gauge


def awg_area(gauge: str) -> float:
    """Return the circular mils of a gauge: the square of its diameter in mils, by the formula of ASTM B258.

    >>> awg_area("10"), awg_area("4/0")
    (10383.0, 211600.0)
    """
    match = _GAUGE.fullmatch(gauge)
    if match is None:
        raise Refusal(
            "ampacity",
            f"has the gauge '{gauge}', which is no AWG size",
            "write it such as 10 or 1/0, from 40 to 4/0, or give the area of its copper",
        )
    if match["whole"]:
        number = int(match["whole"])
    else:
        number = 1 - (len(match["zeros"]) if match["zeros"] else int(match["many"]))
    mils: float = 5 * 92 ** ((36 - number) / 39)
    return mils**2
