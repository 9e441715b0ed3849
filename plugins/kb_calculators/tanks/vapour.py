"""Fuel vapour: what a vented tank may breathe out in a day, and the carbon that holds it back."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from kb import NOT_NEGATIVE, POSITIVE, Caution, Q, Source, calculator


@dataclass(frozen=True, slots=True)
class VapourLoad:
    """What the law lets a tank breathe out in a day, and its carbon."""

    berthed: Annotated[
        bool,
        Q(
            "",
            "Too long or too wide for a trailer",
            rule="hull_length >= trailer_length or hull_beam > trailer_beam",
        ),
    ]
    allowed_rate: Annotated[
        float,
        Q(
            "g/gal/day",
            "Vapour allowed for each gallon",
            safe="down",
            rule="if berthed then berthed_rate else trailered_rate",
        ),
    ]
    allowed_mass: Annotated[
        float, Q("g/day", "Vapour allowed in a day", safe="down", rule="allowed_rate * capacity in g/day")
    ]
    carbon_volume: Annotated[
        float,
        Q(
            "L",
            "Carbon in the canister, at least",
            safe="up",
            rule="(if berthed then berthed_carbon else trailered_carbon) * capacity in L",
        ),
    ]


@calculator(
    cautions=[
        Caution(
            "danger",
            "Fuel vapour burns and explodes, and it lies in the lowest corner. Lead the vent outboard through"
            " its canister; no spark and no flame near an open line, and none near a canister taken out.",
        ),
        Caution(
            "warning",
            "Liquid fuel ruins a canister for good, and a blocked one presses the tank or sucks it in. Fit it"
            " above the highest fuel with a valve or a drain-back that keeps liquid out at the fill, in waves"
            " and on the trailer; keep water out; never top off.",
        ),
        Caution(
            "notice",
            "The carbon volume counts only with a canister at least 3.5 times as long as wide,"
            " vapour led through all of its bed, and carbon that takes 90 g/L or more. The law"
            " asks more of canister and carbon: damp, grain, dust, carbon that cannot shift.",
        ),
        Caution(
            "notice",
            "A tank sealed to 1.0 psi needs no canister, but must be made for that pressure. Fit no vent and"
            " no canister that the certificate of the system does not name.",
        ),
    ],
    sources=[
        Source(
            "40 CFR 1060.801",
            "nontrailerable: length 26.0 ft or more, or width more than 8.5 ft; either is enough",
            "read",
        ),
        Source(
            "40 CFR 1060.105(b)",
            "0.40 g/gal/day; for nontrailerable boats 0.16 g/gal/day is an alternative, measured on a milder"
            " day. Portable tanks are outside it",
            "read",
        ),
        Source(
            "40 CFR 1060.240(e)",
            "instead of a test: carbon of 0.040 L/gal, 0.016 L/gal in nontrailerable boats, by the tank's"
            " nominal capacity",
            "read",
        ),
        Source(
            "40 CFR 1060.1(a)",
            "new equipment for gasoline and other volatile fuel, not diesel; installed tanks of outboard"
            " boats are within it",
            "read",
        ),
        Source("the label on the tank", "nominal capacity", "maker's"),
    ],
    example={"capacity": "80 gal", "hull_length": "25 ft 6 in", "hull_beam": "8 ft 6 in"},
    use="when a canister is chosen for a gasoline tank, and again when the tank or the class of the boat"
    " changes.",
    not_for="diesel, portable tanks, or what the walls of hoses and tanks let through. It does not stand in"
    " for the certificate of the parts.",
)
def vapour_load(
    capacity: Annotated[
        float, Q("gal", "Nominal capacity of the tank", valid=POSITIVE, note="as its maker states it")
    ],
    hull_length: Annotated[
        float,
        Q(
            "ft",
            "Length of the boat",
            valid=POSITIVE,
            note="the law says length and no more: close to trailer_length leave out pulpit and platform,"
            " since the shorter boat needs more carbon",
        ),
    ],
    hull_beam: Annotated[
        float,
        Q(
            "ft",
            "Width of the boat",
            valid=POSITIVE,
            note="at her widest; close to trailer_beam leave out what bolts on, since the narrower"
            " boat needs more carbon",
        ),
    ],
    trailer_length: Annotated[
        float, Q("ft", "Length from which she counts as berthed", valid=POSITIVE, note="at this length too")
    ] = 26.0,
    trailer_beam: Annotated[
        float,
        Q("ft", "Width beyond which she counts as berthed", valid=POSITIVE, note="at this width not yet"),
    ] = 8.5,
    trailered_rate: Annotated[
        float, Q("g/gal/day", "Vapour allowed, trailered boat", valid=NOT_NEGATIVE)
    ] = 0.40,
    berthed_rate: Annotated[float, Q("g/gal/day", "Vapour allowed, berthed boat", valid=NOT_NEGATIVE)] = 0.16,
    trailered_carbon: Annotated[
        float, Q("L/gal", "Carbon for each gallon, trailered boat", valid=NOT_NEGATIVE)
    ] = 0.040,
    berthed_carbon: Annotated[
        float, Q("L/gal", "Carbon for each gallon, berthed boat", valid=NOT_NEGATIVE)
    ] = 0.016,
) -> VapourLoad:
    """Daily fuel vapour of a vented tank and the carbon it needs.

    A boat too long or too wide for the road is taken to stay in the water, where her tank warms less in a
    day, and other figures hold for her. Vapour and carbon each go with the nominal capacity of the tank.

    >>> vapour_load(capacity=50, hull_length=28, hull_beam=8.5).allowed_mass
    8.0
    """
    berthed = hull_length >= trailer_length or hull_beam > trailer_beam
    allowed_rate = berthed_rate if berthed else trailered_rate
    return VapourLoad(
        berthed=berthed,
        allowed_rate=allowed_rate,
        allowed_mass=allowed_rate * capacity,
        carbon_volume=(berthed_carbon if berthed else trailered_carbon) * capacity,
    )
