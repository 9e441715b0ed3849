"""Infusion: does the resin reach the far edge before it gels, and how far apart may the feeds stand."""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt
from typing import Annotated

from kb import NOT_NEGATIVE, POSITIVE, Caution, Limit, NoAnswer, Q, Range, Source, calculator
from kb_calculators.conversions import (
    IN2_PER_FT2,
    M_PER_FT,
    M_PER_IN,
    PA_PER_PSI,
    PSI_PER_ATM,
    PSI_PER_INHG,
    S_PER_MIN,
)
from kb_calculators.laminate.draw_fill import draw_fill

_ISA_K, _ISA_K_PER_M, _ISA_POWER = 288.15, 0.0065, 5.25588
_SAME = 1e-9  # a drive of so small a share of the vacuum is none: what conversion of units leaves behind


@dataclass(frozen=True, slots=True)
class InfusionFill:
    """What drives the resin, when it arrives, and how far it may have to go."""

    air_pressure: Annotated[
        float,
        Q(
            "psi",
            "Standard pressure of the outside air",
            safe="down",
            method="standard atmosphere at the altitude, 101325 Pa (1 - 0.0065 H / 288.15)^5.25588, H in m",
        ),
    ]
    head: Annotated[
        float,
        Q(
            "psi",
            "Pressure that the climb takes",
            safe="up",
            rule="resin_density * 9.80665 m/s^2 * rise in psi",
        ),
    ]
    drive: Annotated[
        float,
        Q(
            "psi",
            "Pressure that drives the resin",
            safe="down",
            rule="min(vacuum, air_pressure) - head in psi",
        ),
    ]
    fill_time: Annotated[
        float | NoAnswer,
        Q(
            "min",
            "Time to the far edge",
            safe="up",
            rule="porosity * viscosity * flow_length ^ 2 / (2 * permeability * drive) in min",
        ),
    ]
    max_flow_length: Annotated[
        float | NoAnswer,
        Q(
            "in",
            "Farthest the resin may have to flow",
            safe="down",
            rule="sqrt(2 * permeability * drive * gel_time * (1 - margin) / (porosity * viscosity)) in in",
        ),
    ]
    feed_spacing: Annotated[
        float | NoAnswer,
        Q(
            "in",
            "Widest spacing of feed lines, with a vacuum line midway",
            safe="down",
            rule="2 * max_flow_length",
        ),
    ]


@calculator(
    limits=[
        Limit(
            "gel",
            "fill_time <= gel_time * (1 - margin)",
            "a part that is full before its resin gels; what is dry then stays dry",
            if_none="outside",
        ),
        Limit(
            "vacuum",
            "vacuum <= air_pressure",
            "a reading that can be true: no bag is pulled down by more than the air outside weighs",
        ),
    ],
    cautions=[
        Caution(
            "warning",
            "Resin left in a bucket, trap or feed line runs away hot: it smokes, boils and can set fire to"
            " what it touches, after you have gone. Spread leftovers thin or cool them, outdoors, and watch"
            " them until cold.",
        ),
        Caution(
            "danger",
            "A trap, bucket or vessel under vacuum can collapse and throw its pieces: a full vacuum loads"
            " each square foot with about a ton. Use only what is made for full vacuum, guarded, and wear"
            " glasses.",
            hazard="vacuum",
        ),
        Caution(
            "warning",
            "Vapour of resin and of what the pump blows out harms and can burn. Lead the exhaust outdoors,"
            " ventilate, wear gloves and a mask for organic vapour, keep flame and spark away.",
        ),
        Caution(
            "notice",
            "Measure the permeability on a trial panel of the same plies, mesh, core and vacuum; figures"
            " from books are off by ten times. The rule is for one straight front: thick plies under a mesh"
            " fill later than the mesh, and round or branching flow is slower.",
        ),
        Caution(
            "notice",
            "Fronts of two feeds that meet shut air in. Put a vacuum line where they meet, or open the next"
            " feed only when the front has passed it.",
        ),
    ],
    sources=[
        Source(
            "Darcy's law, one straight front at constant pressure",
            "t = porosity * viscosity * L^2 / (2 K dP)",
            "memory",
        ),
        Source(
            "International Standard Atmosphere",
            "101325 Pa, 288.15 K, 6.5 K less for each km, up to 11 km",
            "memory",
        ),
        Source(
            "common practice, no source",
            "fill in 70 % of the gel time; liquid resin of 70 lb/ft^3; infusion resins of 0.2 to 0.5 Pa*s at"
            " 25 C; flow mesh 1e-9 to 1e-8 m^2, stitched glass 2e-11 to 2e-10 m^2",
            "memory",
        ),
        Source("the resin's data sheet, a trial panel", "viscosity and gel time; permeability", "maker's"),
    ],
    example={
        "permeability": "5e-10 m^2",
        "porosity": "50 %",
        "viscosity": "0.3 Pa*s",
        "flow_length": "40 in",
        "vacuum": "28 inHg",
        "altitude": "600 ft",
        "gel_time": "60 min",
        "rise": "3 ft",
    },
    use="when feeds and vacuum lines of a part are laid out, and again on the day with the shop's own"
    " temperature, gel time and vacuum.",
    not_for="resin pushed in by pressure, or a lay-up whose permeability was never measured.",
    draws=draw_fill,
)
def infusion_fill(
    permeability: Annotated[
        float,
        Q(
            "m^2",
            "Permeability of the lay-up in the plane",
            valid=Range(1e-15, 1e-5),
            usual=Range(1e-11, 2e-8, "stitched glass has 2e-11 m^2 and more, flow mesh up to 1e-8 m^2"),
            note="from a trial panel; of layers side by side, the mean weighted by thickness",
        ),
    ],
    porosity: Annotated[
        float,
        Q(
            "%",
            "Share of the lay-up that resin fills",
            valid=Range(above=0, most=100),
            usual=Range(40, 90, "100 % less the fibre volume; infused stitched glass leaves 45 to 55 %"),
        ),
    ],
    viscosity: Annotated[
        float,
        Q(
            "Pa*s",
            "Viscosity of the mixed resin",
            valid=POSITIVE,
            usual=Range(0.1, 0.8, "infusion resins have 0.2 to 0.5 Pa*s at 25 C; 1 cP is 0.001 Pa*s"),
            note="at the temperature of resin and mould, the colder of the two",
        ),
    ],
    flow_length: Annotated[
        float,
        Q(
            "in",
            "Farthest way from feed to vacuum",
            valid=POSITIVE,
            note="along the surface; half the spacing of feeds with a vacuum line between",
        ),
    ],
    vacuum: Annotated[
        float,
        Q(
            "inHg",
            "Vacuum in the bag",
            valid=Range(least=0.1),
            usual=Range(least=20, why="so little drives slowly and leaves voids; look for the leak first"),
            note="the gauge's reading below the outside air, at the bag, not at the pump",
        ),
    ],
    gel_time: Annotated[
        float,
        Q(
            "min",
            "Gel time",
            valid=POSITIVE,
            note="at the temperature and hardener of the day; it runs from mixing, so take off what passes"
            " before the feed is opened",
        ),
    ],
    altitude: Annotated[
        float,
        Q(
            "ft",
            "Altitude of the shop",
            valid=Range(-1500, 36000),
            usual=Range(-300, 10000, "few boats are built there; is it in feet?"),
        ),
    ] = 0.0,
    margin: Annotated[
        float,
        Q(
            "%",
            "Share of the gel time kept in hand",
            valid=Range(0, 99),
            usual=Range(20, 60, "resin thickens well before it gels, and a corner may fill slowly"),
        ),
    ] = 30.0,
    rise: Annotated[
        float,
        Q(
            "ft",
            "Climb of the resin",
            valid=NOT_NEGATIVE,
            note="plumb, from the resin in the bucket at its lowest to the highest point it must reach",
        ),
    ] = 0.0,
    resin_density: Annotated[
        float,
        Q(
            "lb/ft^3",
            "Density of the liquid resin",
            valid=POSITIVE,
            usual=Range(60, 80, "liquid resins weigh 65 to 75 lb/ft^3"),
        ),
    ] = 70.0,
) -> InfusionFill:
    """Time for resin to reach the far edge, and the feed spacing that fills before gel.

    A straight front at constant pressure takes porosity times viscosity times length squared, over twice the
    permeability times the drive. The drive is the vacuum less the head of resin over the climb. The head of
    the whole climb is taken off from the start, the worst case; the true front, low at first, is quicker. A
    climb that leaves no drive gives no time. A vacuum above the air outside cannot be: it breaks its limit,
    and the drive is reckoned with the air's pressure instead. Weather moves that by up to about 1 inHg either
    way of the standard used here. The farthest flow is the length that fills in the gel time less margin.

    >>> infusion_fill(2e-9, 50, 0.25, 23.622047, 26.576982, gel_time=60).fill_time
    2.08333
    """
    air_pressure = PSI_PER_ATM * (1 - _ISA_K_PER_M * altitude * M_PER_FT / _ISA_K) ** _ISA_POWER
    head = resin_density * rise / IN2_PER_FT2
    pulled = min(vacuum * PSI_PER_INHG, air_pressure)
    drive = pulled - head
    if drive <= _SAME * pulled:
        none = NoAnswer(
            f"the climb of {rise:g} ft takes {head:.3g} psi, and the vacuum gives {pulled:.3g} psi; the resin"
            " stops on the way"
        )
        return InfusionFill(air_pressure, head, drive, none, none, none)
    # The front goes as L^2 = 2 K dP / (porosity viscosity) * t.
    m2_per_s = 2 * permeability * drive * PA_PER_PSI / (porosity / 100 * viscosity)
    fill_within = gel_time * (1 - margin / 100)
    max_flow_length = sqrt(m2_per_s * fill_within * S_PER_MIN) / M_PER_IN
    return InfusionFill(
        air_pressure=air_pressure,
        head=head,
        drive=drive,
        fill_time=(flow_length * M_PER_IN) ** 2 / m2_per_s / S_PER_MIN,
        max_flow_length=max_flow_length,
        feed_spacing=2 * max_flow_length,
    )
