"""Lines: hoses that must drain, and vents that must breathe."""

from __future__ import annotations

from dataclasses import dataclass
from math import atan, hypot, pi, radians, tan
from typing import Annotated

from kb import (
    NOT_NEGATIVE,
    POSITIVE,
    Caution,
    Limit,
    NoAnswer,
    Q,
    Range,
    Refusal,
    Source,
    calculator,
    pieces,
)
from kb_calculators.conversions import IN3_PER_GAL, IN_PER_FT
from kb_calculators.tanks.draw_fill_line import draw_fill_line


@dataclass(frozen=True, slots=True)
class FillLine:
    """How a hose run falls, how far it sags, and how far apart it may be held."""

    fall: Annotated[float, Q("in/ft", "Fall as built, level trim", safe="down", rule="drop / run in in/ft")]
    net_fall: Annotated[
        float,
        Q(
            "in/ft",
            "Fall left at the worst trim",
            safe="down",
            rule="(drop / run - tan(worst_trim)) / (1 + drop / run * tan(worst_trim)) in in/ft",
        ),
    ]
    liquid_mass: Annotated[
        float,
        Q(
            "lb",
            "Liquid in the full hose",
            safe="up",
            rule="0.7853981633974483 * bore ^ 2 * sqrt(run ^ 2 + drop ^ 2) * liquid_density in lb",
        ),
    ]
    load: Annotated[
        float,
        Q(
            "lbf/ft",
            "Load of hose and liquid",
            safe="up",
            rule="(hose_mass + 0.7853981633974483 * bore ^ 2 * liquid_density) * 1 lbf / 1 lb in lbf/ft",
        ),
    ]
    sag: Annotated[
        float,
        Q(
            "in",
            "Sag between two supports",
            safe="up",
            rule="5 * load * spacing ^ 4 * creep / (384 * bending_stiffness) in in",
        ),
    ]
    sag_slope: Annotated[
        float,
        Q(
            "in/ft",
            "Slope of the sag at a support",
            safe="up",
            rule="load * spacing ^ 3 * creep / (24 * bending_stiffness) in in/ft",
        ),
    ]
    max_spacing: Annotated[
        float | NoAnswer,
        Q(
            "in",
            "Widest spacing of supports",
            safe="down",
            method="cube root of 24 E I / creep, times the fall left at worst_trim, over the load",
        ),
    ]
    supports: Annotated[
        int,
        Q(
            "",
            "Supports, both end fittings counted",
            safe="up",
            rule="ceil(sqrt(run ^ 2 + drop ^ 2) / spacing) + 1",
        ),
    ]
    wall_stiffness: Annotated[
        float,
        Q(
            "psi",
            "Bending modulus of the wall that the stiffness means",
            rule="64 * bending_stiffness / (3.141592653589793 * (outside_diameter ^ 4 - bore ^ 4)) in psi",
        ),
    ]


@calculator(
    limits=[
        Limit(
            "spacing",
            "spacing <= max_spacing",
            "no belly between supports holds liquid, even at the worst trim",
            if_none="outside",
        ),
        Limit("fall", "fall >= min_fall", "the hose drains to the tank"),
    ],
    cautions=[
        Caution(
            "warning",
            "Fuel that stays in a belly of the hose gives off explosive vapour as long as it"
            " stands there, and spits back at the nozzle. Before the space is closed, pour water"
            " through a mock-up, or fill the hose with water before the tank is joined and look"
            " along it. Never try it with fuel.",
        ),
        Caution(
            "notice",
            "Rubber goes on sagging for months, more when warm. Measure stiffness on the hose, over days.",
        ),
    ],
    sources=[
        Source("handbook beam tables", "uniform load on simple spans; slope at a support, sag", "memory"),
        Source("common practice, no source", "a fall of 1/4 in a foot; stiffness halved for creep", "memory"),
        Source(
            "40 CFR 1045.801",
            "boats with spark-ignition engines, outboards too: a fill or vent hose where liquid"
            " stays after a normal fill counts as fuel line",
            "read",
        ),
        Source(
            "40 CFR 1060.101(f)",
            "gasoline, outboard boats too: a fill neck that ends level, or nearly so, will not do",
            "read",
        ),
        Source(
            "government guidance to 33 CFR 183.520",
            "gasoline, outboard boats excepted; not law: no liquid traps in a fuel vent",
            "read",
        ),
    ],
    example={
        "bore": "1 1/2 in",
        "outside_diameter": "2 in",
        "hose_mass": "0.62 lb/ft",
        "bending_stiffness": "480 lbf*in^2",
        "liquid_density": "6.18 lb/gal",
        "run": "60 in",
        "drop": "4 in",
        "spacing": "12 in",
        "worst_trim": "1 deg",
    },
    use="before fill plate and tank are fixed, and again when the hose, its route or the trim changes.",
    not_for="a hose with a bend, a rise or a loop between its ends: work each straight stretch by itself.",
    draws=draw_fill_line,
)
def fill_line(
    bore: Annotated[float, Q("in", "Bore of the hose", valid=POSITIVE)],
    outside_diameter: Annotated[float, Q("in", "Outside diameter of the hose", valid=POSITIVE)],
    hose_mass: Annotated[float, Q("lb/ft", "Mass of the empty hose", valid=NOT_NEGATIVE)],
    bending_stiffness: Annotated[
        float,
        Q(
            "lbf*in^2",
            "Bending stiffness E I",
            valid=POSITIVE,
            note="clamp one end level, load the other with P at a distance a, read how far P lowers"
            " it, d: E I = P a^3 / (3 d)",
        ),
    ],
    liquid_density: Annotated[float, Q("lb/gal", "Density of the liquid", valid=POSITIVE)],
    run: Annotated[
        float,
        Q("in", "Level distance from fitting to fitting", valid=POSITIVE, note="not along the hose"),
    ],
    drop: Annotated[
        float,
        Q(
            "in",
            "Drop over the run",
            note="from the fill's end of the hose to the tank's, boat level; the tank's end lower",
        ),
    ],
    spacing: Annotated[float, Q("in", "Spacing of supports along the hose", valid=POSITIVE)],
    min_fall: Annotated[float, Q("in/ft", "Least fall as built", valid=NOT_NEGATIVE)] = 0.25,
    creep: Annotated[
        float, Q("", "Creep of the hose", valid=Range(least=1), note="the stiffness is divided by it")
    ] = 2.0,
    worst_trim: Annotated[
        float,
        Q(
            "deg",
            "Worst trim against the fall",
            valid=Range(0, 30),
            note="of a hose that runs athwart, the worst heel",
        ),
    ] = 0.0,
) -> FillLine:
    """Fall, sag and greatest support spacing of a fuel or water fill hose, so that no belly holds liquid.

    The full hose hangs in simple spans. At the low end of a span its sag takes w L^3 / (24 E I / creep) off
    the fall; where that is more than the fall left at the worst trim, liquid stands in the belly. The slopes
    are those of a small sag: of a deep one they only tell that it is deep.

    >>> fill_line(1.5, 2, 0.62, 483.2039, 6.1756, 48, 2, 12, creep=1).max_spacing
    16.96798
    """
    if outside_diameter <= bore:
        raise Refusal("outside_diameter", "is not above the bore", f"give more than {bore:g} in")
    fall = drop / run
    net_fall = tan(atan(fall) - radians(worst_trim))
    liquid_lb_per_in = pi / 4 * bore**2 * liquid_density / IN3_PER_GAL
    load_lbf_per_in = hose_mass / IN_PER_FT + liquid_lb_per_in
    stiffness = bending_stiffness / creep
    length = hypot(run, drop)
    return FillLine(
        fall=fall * IN_PER_FT,
        net_fall=net_fall * IN_PER_FT,
        liquid_mass=liquid_lb_per_in * length,
        load=load_lbf_per_in * IN_PER_FT,
        sag=5 * load_lbf_per_in * spacing**4 / (384 * stiffness),
        sag_slope=load_lbf_per_in * spacing**3 / (24 * stiffness) * IN_PER_FT,
        max_spacing=(24 * stiffness * net_fall / load_lbf_per_in) ** (1 / 3)
        if net_fall > 0
        else NoAnswer("no fall is left at the worst trim"),
        supports=pieces(length / spacing) + 1,
        wall_stiffness=64 * bending_stiffness / (pi * (outside_diameter**4 - bore**4)),
    )
