"""Ice boxes: what heat comes in, and how long the ice stands against it."""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt
from typing import Annotated

from kb import NOT_NEGATIVE, POSITIVE, Caution, NoAnswer, Q, Range, Refusal, Source, calculator
from kb_calculators.conversions import (
    IN2_PER_FT2,
    IN3_PER_FT3,
    J_PER_KJ,
    K_PER_DELTA_DEGF,
    KG_PER_LB,
    M_PER_FT,
    M_PER_IN,
    S_PER_DAY,
)

_MELTING_DEGF = 32.0
_ICE_LB_PER_FT3 = 57.3  # solid, without air between lumps: the most a box can hold
_SAME = 1e-9  # a share of the ice so small is what conversion of units leaves behind

_INSIDE = "(inside_length * inside_width + inside_length * inside_height + inside_width * inside_height)"
_L, _W, _H = (f"(inside_{side} + 2 * insulation)" for side in ("length", "width", "height"))
_FILM = "(if {0} > 0 W/m^2/K then 1 / {0} else 0 m^2*delta_degC/W)"


@dataclass(frozen=True, slots=True)
class IceLife:
    """The heat that comes into a box, and what it does to the ice."""

    area: Annotated[
        float,
        Q(
            "ft^2",
            "Area the heat comes through",
            safe="up",
            rule=f"2 * sqrt({_INSIDE} * ({_L} * {_W} + {_L} * {_H} + {_W} * {_H})) in ft^2",
        ),
    ]
    u_value: Annotated[
        float,
        Q(
            "W/m^2/K",
            "Heat through each area and degree (U)",
            safe="up",
            rule=f"1 / (insulation / conductivity + {_FILM.format('inside_film')}"
            f" + {_FILM.format('outside_film')}) in W/m^2/K",
        ),
    ]
    heat_gain: Annotated[
        float,
        Q(
            "W",
            "Heat coming in",
            safe="up",
            rule="u_value * area * max(outside_temperature - 32 degF, 0 delta_degF) * (1 + openings) in W",
        ),
    ]
    melt: Annotated[
        float, Q("lb/day", "Ice melted a day", safe="up", rule="heat_gain / latent_heat in lb/day")
    ]
    days: Annotated[
        float | NoAnswer,
        Q("day", "Days the ice lasts", safe="down", method="mass of ice over what melts a day"),
    ]


@calculator(
    cautions=[
        Caution(
            "danger",
            "A box that a child can climb into has a lid that opens from the inside, and no latch that falls"
            " shut by itself.",
        ),
        Caution(
            "danger",
            "Dry ice gives off carbon dioxide that suffocates below deck and bursts a tight box. These"
            " figures are not for it.",
        ),
        Caution(
            "warning",
            "Food is no longer safe once the ice is gone and the box warms. Carry ice for longer than the"
            " trip: a box in the sun, a bad lid seal or wet foam shortens its days much.",
        ),
        Caution(
            "notice",
            "Lead meltwater overboard or to its own tank, through a trap that holds the cold in. In the bilge"
            " it smells, and it runs the pump.",
        ),
    ],
    sources=[
        Source("conduction through layers", "heat by area, thickness and films", "memory"),
        Source(
            "handbook practice for thick boxes",
            "corners and edges by the geometric mean of inside and outside area",
            "memory",
        ),
        Source(
            "handbook values",
            "334 kJ/kg melts ice (333.55 if told finer), 57.3 lb/ft^3 solid; polyurethane 0.022 to 0.026"
            " W/m/K, PVC foam 0.03 to 0.035, polystyrene 0.03 to 0.038; films of still air 10 inside, 6"
            " W/m^2/K outside",
            "memory",
        ),
        Source("common practice, no source", "20 to 50 % more heat for lid, drain and openings", "memory"),
    ],
    example={
        "inside_length": "30 in",
        "inside_width": "16 in",
        "inside_height": "15 in",
        "insulation": "3 in",
        "outside_temperature": "88 degF",
        "ice_mass": "50 lb",
        "openings": "30 %",
    },
    use="before a box is built, to choose its insulation, and again for each trip's ice.",
    not_for="a refrigerated box, warm goods put in (each pound of fish or drink melts ice of its own), or dry"
    " ice.",
)
def ice_life(
    inside_length: Annotated[float, Q("in", "Inside length", valid=POSITIVE)],
    inside_width: Annotated[float, Q("in", "Inside width", valid=POSITIVE)],
    inside_height: Annotated[float, Q("in", "Inside height", valid=POSITIVE)],
    insulation: Annotated[
        float, Q("in", "Thickness of insulation", valid=POSITIVE, note="the same on all sides, lid included")
    ],
    outside_temperature: Annotated[
        float,
        Q("degF", "Temperature round the box", valid=Range(-60, 200), note="in the space it stands in"),
    ],
    ice_mass: Annotated[float, Q("lb", "Ice", valid=NOT_NEGATIVE)],
    conductivity: Annotated[
        float,
        Q(
            "W/m/K",
            "Conductivity of the insulation",
            valid=POSITIVE,
            usual=Range(0.018, 0.045, "dry foams have 0.022 to 0.038; wet foam has several times as much"),
            note="aged; the maker's, or polyurethane 0.025, PVC foam 0.035",
        ),
    ] = 0.026,
    inside_film: Annotated[
        float, Q("W/m^2/K", "Inside film", valid=NOT_NEGATIVE, note="0 means no film resistance")
    ] = 0.0,
    outside_film: Annotated[
        float, Q("W/m^2/K", "Outside film", valid=NOT_NEGATIVE, note="0 means no film resistance")
    ] = 0.0,
    openings: Annotated[
        float,
        Q(
            "%",
            "Added heat of lid, drain and openings",
            valid=Range(0, 500),
            usual=Range(20, 100, "lid, drain and openings commonly add 20 to 50 %"),
        ),
    ] = 20.0,
    latent_heat: Annotated[
        float,
        Q(
            "kJ/kg",
            "Heat that melts the ice",
            valid=POSITIVE,
            usual=Range(200, 335, "ice of water takes 334 kJ/kg, slush takes less"),
            note="less for wet ice: some of it is water already",
        ),
    ] = 334.0,
) -> IceLife:
    """How long ice lasts in an insulated box.

    Heat comes in by U times area times the degrees between outside and melting ice, and openings add their
    share. U is one over the sum of thickness over conductivity and one over each film given. The days are
    the ice over what that heat melts. Nothing is counted for ice colder than melting.

    >>> ice_life(40, 20, 16, 3, 86, 80, conductivity=0.025).days
    4.161259
    """
    inside = _faces(inside_length, inside_width, inside_height)
    outside = _faces(*(side + 2 * insulation for side in (inside_length, inside_width, inside_height)))
    held = inside_length * inside_width * inside_height / IN3_PER_FT3 * _ICE_LB_PER_FT3
    if ice_mass > held * (1 + _SAME):
        raise Refusal("ice_mass", "is more than the box holds", f"give at most {held:.4g} lb")
    area = sqrt(inside) * sqrt(outside) / IN2_PER_FT2
    films = sum(1 / film for film in (inside_film, outside_film) if film > 0)
    u_value = 1 / (insulation * M_PER_IN / conductivity + films)
    kelvin = max(outside_temperature - _MELTING_DEGF, 0.0) * K_PER_DELTA_DEGF
    heat_gain = u_value * area * M_PER_FT**2 * kelvin * (1 + openings / 100)
    melt = heat_gain * S_PER_DAY / (latent_heat * J_PER_KJ) / KG_PER_LB
    return IceLife(
        area=area,
        u_value=u_value,
        heat_gain=heat_gain,
        melt=melt,
        days=ice_mass / melt if melt > 0 else NoAnswer("no ice melts: it is no warmer outside than 32 degF"),
    )


def _faces(length: float, width: float, height: float) -> float:
    return 2 * (length * width + length * height + width * height)
