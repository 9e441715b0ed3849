"""Air through a compartment with a gasoline engine or tank: its openings and its blower."""

from __future__ import annotations

from dataclasses import dataclass
from math import log
from typing import Annotated

from kb import NOT_NEGATIVE, POSITIVE, Caution, Limit, Q, Range, Source, calculator

SMALL_FT3, LARGE_FT3 = 34.0, 100.0  # where the law's table for blowers changes its formula
OPEN_IN2_PER_FT3 = 15.0  # so much open area makes a compartment open to the atmosphere

_SAME = 1e-12  # a volume so near the table's step stands on it: what conversion of units leaves behind


@dataclass(frozen=True, slots=True)
class CompartmentAir:
    """What openings and what blower the law asks of a compartment."""

    needed_area: Annotated[
        float,
        Q(
            "in^2",
            "Least area of openings, supply and exhaust each",
            safe="up",
            method="5 ln(V / 5) with the net volume V in ft^3; nothing up to 5 ft^3",
        ),
    ]
    needed_rated: Annotated[
        float,
        Q(
            "ft^3/min",
            "Least rating of a blower",
            safe="up",
            rule="if net_volume < 34 ft^3 then 50 ft^3/min else if net_volume <= 100 ft^3"
            " then 1.5 1/min * net_volume else 0.5 1/min * net_volume + 100 ft^3/min in ft^3/min",
        ),
    ]
    needed_output: Annotated[
        float,
        Q(
            "ft^3/min",
            "Least flow out of the boat, blower and ducts together",
            safe="up",
            rule="if net_volume < 34 ft^3 then 20 ft^3/min else if net_volume <= 100 ft^3"
            " then 0.6 1/min * net_volume else 0.2 1/min * net_volume + 40 ft^3/min in ft^3/min",
        ),
    ]
    open_area: Annotated[
        float,
        Q(
            "in^2",
            "Area straight to the open air that makes it open to the atmosphere",
            safe="up",
            rule="15 in^2/ft^3 * net_volume in in^2",
        ),
    ]


@calculator(
    limits=[
        Limit(
            "openings",
            "supply_area >= needed_area and exhaust_area >= needed_area"
            " and supply_area > least_area and exhaust_area > least_area",
            "air passes through by itself and carries vapour out",
        ),
        Limit(
            "each_opening",
            "smallest_opening > least_area",
            "no opening so small that nothing goes through it",
            given="smallest_opening",
        ),
        Limit(
            "blower",
            "blower_rated >= needed_rated or blower_output >= needed_output",
            "vapour is blown out before the engine is cranked",
            where="engine",
        ),
        Limit(
            "rating",
            "blower_rated >= needed_rated",
            "a blower as large as the volume asks, whatever comes out",
            where="engine",
        ),
        Limit(
            "output",
            "blower_output >= needed_output",
            "as much out of the boat as the volume asks, whatever the blower's label says",
            where="engine",
        ),
    ],
    cautions=[
        Caution(
            "danger",
            "Gasoline vapour is heavier than air, lies in the bilge, and a little of it can blow a boat"
            " apart. Before every start and after every fill run the blower at least 4 minutes, open up and"
            " smell the bilge. At any smell, crank nothing and switch nothing.",
        ),
        Caution(
            "danger",
            "Ventilation does not make up for a leak, nor for a spark. Blower, switches, pumps and all else"
            " electrical in such a compartment are ignition-protected.",
        ),
        Caution(
            "warning",
            "A supply opening near the engine's exhaust, or near the fill, vent or blower outlet, draws"
            " carbon monoxide or vapour in. Keep them well apart, supply and exhaust too.",
        ),
        Caution(
            "warning",
            "The law asks for the blower's rating AND for the flow out of the boat, with the engine at rest."
            " Hose, bends and louvres can take more than half: measure at the outlet, on the boat's battery.",
        ),
        Caution(
            "warning",
            "Exhaust ducts begin in the lower third of the compartment, above the bilge water that normally"
            " stands; a duct end under water moves no air. Supplies open on the outside of the boat.",
        ),
        Caution(
            "caution",
            "Take areas inside at the narrowest place, less what grilles and screens close. A fitting at the"
            " end of a flexible duct has at least 80 % of the area asked of the duct.",
        ),
        Caution(
            "notice",
            "A boat that needs a blower needs the law's warning label, in the operator's view, as close to"
            " each ignition switch as can be.",
        ),
    ],
    sources=[
        Source(
            "33 CFR 183.601 and 183.605",
            "boats with gasoline engines for propulsion, power or electricity; diesel is outside it, outboard"
            " engines are not excepted as they are in subpart J; open to the atmosphere from 15 in^2 of open"
            " area for each ft^3",
            "read",
        ),
        Source(
            "33 CFR 183.610",
            "blower, rating and output for a permanently installed gasoline engine with a cranking motor,"
            " unless open to the atmosphere; both must hold",
            "read",
        ),
        Source(
            "33 CFR 183.620",
            "natural ventilation where there is such an engine; a tank beside anything electrical that is not"
            " ignition-protected; a tank vented into it; a plastic tank above 1.2 g/day for each ft^3; or"
            " openings of over 2 % into such a compartment. A cabin above a deck is excepted from the last",
            "read",
        ),
        Source(
            "33 CFR 183.630",
            "supply and exhaust 5 ln(V / 5) each; every single opening over 3.0 in^2; where ducts begin",
            "read",
        ),
        Source("the blower's maker", "rating, by the standards the law names", "maker's"),
    ],
    example={
        "net_volume": "60 ft^3",
        "supply_area": "14 in^2",
        "exhaust_area": "14 in^2",
        "engine": "yes",
        "blower_rated": "130 ft^3/min",
        "blower_output": "60 ft^3/min",
    },
    use="when vents, ducts and blower are laid out for a compartment with a gasoline engine, a gasoline tank"
    " or both, and again when a bulkhead is opened up or a tank taken out.",
    not_for="diesel engines and the air that an engine breathes, and not for the clearing of a spill. A"
    " compartment open to the atmosphere needs neither openings nor blower by this law.",
)
def compartment_air(
    net_volume: Annotated[
        float,
        Q(
            "ft^3",
            "Net volume",
            valid=POSITIVE,
            usual=Range(
                5,
                1000,
                "up to 5 ft^3 the formula asks for nothing and least_area alone counts;"
                " above 1000 ft^3 look for a slip",
            ),
            note="air only, without engine and tanks, with the compartments that are open to it by more than"
            " 2 % of the bulkhead",
        ),
    ],
    supply_area: Annotated[
        float, Q("in^2", "Supply openings, in all", valid=NOT_NEGATIVE, note="inside, at the narrowest")
    ],
    exhaust_area: Annotated[
        float, Q("in^2", "Exhaust openings, in all", valid=NOT_NEGATIVE, note="inside, at the narrowest")
    ],
    engine: Annotated[bool, Q("", "A fixed gasoline engine with a starter is in it, or in one open to it")],
    least_area: Annotated[float, Q("in^2", "Area that every opening must exceed", valid=NOT_NEGATIVE)] = 3.0,
    smallest_opening: Annotated[
        float | None,
        Q("in^2", "Smallest single opening", valid=NOT_NEGATIVE, unset="single openings are not judged"),
    ] = None,
    blower_rated: Annotated[
        float | None,
        Q(
            "ft^3/min",
            "Rating of the blower, or of all together",
            valid=NOT_NEGATIVE,
            unset="the rating stays open; the law asks for it too",
        ),
    ] = None,
    blower_output: Annotated[
        float | None,
        Q(
            "ft^3/min",
            "Flow measured out of the boat",
            valid=NOT_NEGATIVE,
            unset="the flow out stays open, whatever the rating; the law asks for it too",
            note="with the engine at rest",
        ),
    ] = None,
) -> CompartmentAir:
    """Ventilation openings and blower of a compartment with a gasoline engine or tank.

    Openings for supply and for exhaust have 5 ln(V / 5) in^2 each, in all, for V ft^3 of net volume, and each
    single one more than 3 in^2. A blower is asked for by an engine with a starter: it is rated for at least
    50 ft^3/min below 34 ft^3, 1.5 V up to 100 ft^3 and V / 2 + 100 above, and 20, 0.6 V or 0.2 V + 40 come
    out of the boat.

    >>> compartment_air(net_volume=80, supply_area=15, exhaust_area=15, engine=True).needed_rated
    120.0
    """
    if net_volume < SMALL_FT3 * (1 - _SAME):
        rated, output = 50.0, 20.0
    elif net_volume <= LARGE_FT3:
        rated, output = 1.5 * net_volume, 0.6 * net_volume
    else:
        rated, output = net_volume / 2 + 100, 0.2 * net_volume + 40
    return CompartmentAir(
        needed_area=max(5 * log(net_volume / 5), 0.0),
        needed_rated=rated,
        needed_output=output,
        open_area=OPEN_IN2_PER_FT3 * net_volume,
    )
