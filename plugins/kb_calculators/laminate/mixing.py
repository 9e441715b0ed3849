"""Mixing: how much hardener, how long it stays liquid, in how many batches."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Literal

from kb import POSITIVE, Caution, Limit, NoAnswer, Q, Range, Refusal, Source, calculator, pieces
from kb_calculators.conversions import G_PER_LB
from kb_calculators.laminate.gel_table import GelRow, GelTable, gel_table_of


@dataclass(frozen=True, slots=True)
class ResinMix:
    """What is weighed out, in how many batches, and how long each stays liquid."""

    hardener_mass: Annotated[
        float, Q("lb", "Hardener in all", rule="resin_mass * hardener_share in lb", safe="nearest")
    ]
    gel_time: Annotated[
        float | NoAnswer,
        Q(
            "min",
            "Gel time of a bucket as large as the table's",
            safe="down",
            method="of the table; between its rows the logarithm of the time goes straight in temperature and"
            " in share",
        ),
    ]
    batches: Annotated[int, Q("", "Batches", safe="up", rule="ceil(resin_mass / max_batch)")]
    batch_resin: Annotated[float, Q("lb", "Resin in a batch", rule="resin_mass / batches")]
    batch_hardener: Annotated[float, Q("g", "Hardener in a batch", rule="batch_resin * hardener_share in g")]
    batch_hardener_volume: Annotated[
        float,
        Q("mL", "The same, measured", rule="batch_hardener / (hardener_gravity * 1 kg/L) in mL"),
    ]
    batch_over_table: Annotated[
        float,
        Q(
            "",
            "Mixed batch, times the mass of the table's bucket",
            safe="up",
            usual=Range(
                most=1,
                why="a bucket larger than the table's gels sooner than the time here, heats up and can smoke;"
                " pour it out flat at once, or mix less",
            ),
            rule="batch_resin * (1 + hardener_share) / table_batch",
        ),
    ]
    table_coldest: Annotated[
        float, Q("degF", "Lowest temperature of the table", method="the least of the table's temperatures")
    ]
    table_hottest: Annotated[
        float,
        Q("degF", "Highest temperature of the table", method="the greatest of the table's temperatures"),
    ]
    table_least_share: Annotated[
        float, Q("%", "Least hardener of the table", method="the least of the table's shares")
    ]
    table_most_share: Annotated[
        float, Q("%", "Most hardener of the table", method="the greatest of the table's shares")
    ]


@calculator(
    limits=[
        Limit(
            "temperature",
            "table_coldest <= temperature <= table_hottest",
            "a gel time that the maker measured and nobody guessed",
        ),
        Limit(
            "share",
            "table_least_share <= hardener_share <= table_most_share",
            "a gel time that the maker measured and nobody guessed",
        ),
        Limit(
            "maker_share",
            "min_share <= hardener_share <= max_share",
            "full cure: too little peroxide never hardens through, too much weakens and overheats",
            where='system = "peroxide"',
        ),
    ],
    cautions=[
        Caution(
            "danger",
            "Never bring peroxide and promoter (cobalt, dimethylaniline) together, not even in one cup,"
            " syringe or rag: they explode. One is stirred fully into the resin before the other comes near.",
        ),
        Caution(
            "danger",
            "A splash of peroxide or epoxy hardener in the eye blinds unless it is rinsed out at"
            " once. Goggles, face shield and gloves; an eyewash within reach. Rinse for 15 min or"
            " more, then to a doctor.",
        ),
        Caution(
            "danger",
            "Organic peroxide feeds fire and can take fire by itself, warm, dirty or soaked in rags and"
            " sawdust. Keep it cool, in its own container, away from flame, metal and promoter; never back"
            " into the bottle; wet spills and rags with water and get them outdoors.",
            hazard="peroxide",
        ),
        Caution(
            "warning",
            "A bucket larger than the table's gels sooner, heats itself, can smoke and set fire to what it"
            " touches. Pour it out flat at once; take one that warms outdoors and leave it alone.",
        ),
        Caution(
            "warning",
            "An epoxy's ratio is never changed to change the time: what has no partner never hardens. Choose"
            " another hardener of the same maker.",
        ),
        Caution(
            "warning",
            "Vapour of styrene burns and harms; epoxy and its hardener make the skin allergic for life."
            " Gloves and long sleeves, ventilation, a mask for organic vapour, no flame or spark.",
        ),
    ],
    sources=[
        Source("the maker of resin and hardener", "gel table, share or ratio, specific gravity", "maker's"),
        Source(
            "common practice, no source",
            "peroxide of 1.0 to 2.5 % of the resin, never below 1 % or above 3 % without the resin maker's"
            " word; gel time halves for each 10 C, so its logarithm goes straight in temperature",
            "memory",
        ),
        Source("common practice, no source", "makers measure gel time on 100 g, 0.22 lb", "memory"),
    ],
    example={
        "system": "peroxide",
        "resin_mass": "45 lb",
        "hardener_share": "1.5 %",
        "hardener_gravity": "1.15",
        "temperature": "72 degF",
        "gel_table": "[[59 degF, 1 %, 60 min], [59 degF, 2 %, 30 min], [77 degF, 1 %, 30 min],"
        " [77 degF, 2 %, 15 min], [86 degF, 1 %, 21 min], [86 degF, 2 %, 10 min]]",
        "max_batch": "9 lb",
    },
    use="each time resin is mixed, with the temperature of the hour.",
    not_for="a gun or cartridge that mixes by itself, or a share or ratio that the maker does not name.",
)
def resin_mix(
    system: Annotated[Literal["peroxide", "epoxy"], Q("", "How the resin hardens")],
    resin_mass: Annotated[float, Q("lb", "Resin to be used in all", valid=POSITIVE, note="without hardener")],
    hardener_share: Annotated[
        float,
        Q(
            "%",
            "Hardener, of the resin's mass",
            valid=Range(above=0, most=200),
            note="by mass; of an epoxy it is the maker's fixed ratio, 100 to 30 being 30 %",
        ),
    ],
    hardener_gravity: Annotated[
        float,
        Q(
            "",
            "Specific gravity of the hardener",
            valid=Range(0.5, 2.5),
            usual=Range(0.85, 1.25, "peroxides have about 1.0 to 1.2, epoxy hardeners 0.9 to 1.1"),
            note="the maker's",
        ),
    ],
    temperature: Annotated[
        float,
        Q("degF", "Temperature", valid=Range(-60, 400), note="of shop, resin and mould, the warmest of them"),
    ],
    gel_table: Annotated[
        tuple[GelRow, ...],
        Q("", "Gel table", note="the maker's: every temperature with every share; an epoxy has one share"),
    ],
    max_batch: Annotated[
        float,
        Q(
            "lb",
            "Most resin in a batch",
            valid=POSITIVE,
            note="without hardener: what is used up well before it gels",
        ),
    ],
    min_share: Annotated[
        float,
        Q(
            "%",
            "Least peroxide",
            valid=Range(0, 100),
            usual=Range(least=1, why="below 1 % only on the resin maker's word"),
            note="the resin maker's; not for epoxy",
        ),
    ] = 1.0,
    max_share: Annotated[
        float,
        Q(
            "%",
            "Most peroxide",
            valid=Range(0, 100),
            usual=Range(most=3, why="above 3 % only on the resin maker's word"),
            note="the resin maker's; not for epoxy",
        ),
    ] = 3.0,
    table_batch: Annotated[
        float,
        Q(
            "lb",
            "Mass that the table was measured on",
            valid=POSITIVE,
            note="resin and hardener; most makers mix 100 g",
        ),
    ] = 0.22,
) -> ResinMix:
    """Resin and hardener for a batch, gel time at the shop temperature, batches within the pot life.

    The hardener is a share of the resin's mass. The batches are equal, as few as max_batch allows. The gel
    time is the table's; between its rows the logarithm of the time goes straight in temperature, as a time
    does that halves for each 10 C, and straight in share. Where the time goes as one over the share that is
    2 % too long between 1 % and 1.5 %, and 6 % between 1 % and 2 %. Outside the table there is no gel time.
    The time holds for a bucket of the mass that the table was measured on.

    >>> rows = (GelRow(77, 1.5, 20), GelRow(95, 1.5, 10))
    >>> mix = resin_mix("peroxide", 8.818490487, 1.5, 1.15, 86, rows, max_batch=10)
    >>> mix.batch_hardener_volume, mix.gel_time
    (52.17391, 14.1421)
    """
    if min_share > max_share:
        raise Refusal("min_share", f"is above max_share = {max_share:g} %", f"give at most {max_share:g} %")
    table = gel_table_of(gel_table, "gel_table")
    batches = max(pieces(resin_mass / max_batch), 1)
    batch_resin = resin_mass / batches
    batch_hardener = batch_resin * G_PER_LB * hardener_share / 100
    return ResinMix(
        hardener_mass=resin_mass * hardener_share / 100,
        gel_time=_gel_time(table, temperature, hardener_share),
        batches=batches,
        batch_resin=batch_resin,
        batch_hardener=batch_hardener,
        batch_hardener_volume=batch_hardener / hardener_gravity,
        batch_over_table=batch_resin * (1 + hardener_share / 100) / table_batch,
        table_coldest=table.temperatures[0],
        table_hottest=table.temperatures[-1],
        table_least_share=table.shares[0],
        table_most_share=table.shares[-1],
    )


def _gel_time(table: GelTable, temperature: float, share: float) -> float | NoAnswer:
    found = table.gel_time(temperature, share)
    if found is not None:
        return found
    return NoAnswer(
        f"{temperature:g} degF and {share:g} % lie outside the table, which goes from"
        f" {table.temperatures[0]:g} to {table.temperatures[-1]:g} degF and from {table.shares[0]:g} to"
        f" {table.shares[-1]:g} %"
    )
