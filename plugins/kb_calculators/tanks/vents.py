"""Vents: what the gas that a tank breathes is held back by, and what that does at the fill."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Annotated, Literal

from kb import NOT_NEGATIVE, POSITIVE, Caution, Limit, NoAnswer, Q, Range, Source, calculator
from kb_calculators.conversions import (
    G_M_PER_S2,
    KG_PER_M3_IN_LB_PER_GAL,
    M3_PER_GAL,
    M_PER_FT,
    M_PER_IN,
    PA_PER_PSI,
    S_PER_MIN,
)
from kb_calculators.hose_flow import ROUGHEST, Fluid, flow_through, hose_of
from kb_calculators.roots import first_within
from kb_calculators.tanks.draw_back_pressure import draw_back_pressure

_NARROWEST_IN = 0.001
_ROUGHEST_TRIED = ROUGHEST * (1 - 1e-9)  # keeps the narrowest bore on the valid side of its roughness


@dataclass(frozen=True, slots=True)
class VentSize:
    """What a vent makes of the flow through it, and the bore that would do."""

    velocity: Annotated[
        float,
        Q(
            "ft/s",
            "Speed of the gas",
            usual=Range(most=330, why="faster gas is squeezed, and the true back pressure is higher"),
            rule="fill_rate / (0.7853981633974483 * bore ^ 2) in ft/s",
        ),
    ]
    reynolds: Annotated[float, Q("", "Reynolds number", rule="gas_density * velocity * bore / gas_viscosity")]
    friction_factor: Annotated[
        float,
        Q("", "Friction factor (Darcy)", method="laminar below 2040, else the larger of it and Colebrook's"),
    ]
    back_pressure: Annotated[
        float,
        Q(
            "psi",
            "Back pressure in the tank",
            safe="up",
            rule="(friction_factor * length / bore + fitting_losses) * gas_density * velocity ^ 2 / 2 in psi",
        ),
    ]
    allowed_back_pressure: Annotated[
        float,
        Q("psi", "Allowed back pressure", safe="down", rule="label_share * label_pressure in psi"),
    ]
    fill_loss: Annotated[
        float | NoAnswer,
        Q("psi", "Loss in the fill hose running full", safe="up", method="as in the vent, with the liquid"),
    ]
    nozzle_pressure: Annotated[
        float | NoAnswer,
        Q(
            "psi",
            "Head of liquid from the tank top to the fill opening",
            safe="down",
            rule="liquid_density * 9.80665 m/s^2 * nozzle_height in psi",
        ),
    ]
    needed_bore: Annotated[
        float | NoAnswer,
        Q("in", "Smallest bore within every limit", safe="up", method="by trial, against each in force"),
    ]


@calculator(
    limits=[
        Limit(
            "back_pressure",
            "back_pressure <= allowed_back_pressure",
            "the tank is never pressed, or sucked, beyond the share of the pressure given for it",
        ),
        Limit(
            "spit_back",
            "back_pressure + fill_loss <= nozzle_pressure",
            "fuel goes down the fill and does not come back at the nozzle",
            where='service = "fuel"',
        ),
        Limit("min_bore", "bore >= min_bore", "as wide as was found enough", where='service = "fuel"'),
    ],
    cautions=[
        Caution(
            "danger",
            "What leaves a fuel vent explodes. Lead it outboard, away from every opening and spark; no flame"
            " and no running engine while filling.",
        ),
        Caution(
            "warning",
            "A flame screen blocked by dirt, salt or an insect's nest can rupture the tank or"
            " throw fuel back at the one who fills. Inspect and clean it every season.",
        ),
        Caution(
            "warning",
            "A starved or clogged vent lets the pump-out collapse a waste tank: pump-out pulls far faster"
            " than any filling.",
        ),
        Caution("warning", "A low loop in a vent fills with liquid and closes it. Slope it up all the way."),
    ],
    sources=[
        Source(
            "33 CFR 183.520",
            "gasoline, outboard engines excepted: never above 80 % of the label pressure; a flame"
            " arrester; it states no least bore",
            "read",
        ),
        Source(
            "government guidance to 33 CFR 183.520",
            "gasoline, outboards excepted: 9/16 in of bore has been found enough at 9 to 12 gal/min; not law",
            "read",
        ),
        Source("33 CFR 159.61", "waste: a vent that does not clog; it states no bore", "read"),
        Source("Darcy and Weisbach; Colebrook", "friction of a hose running full", "memory"),
        Source("handbook loss factors", "entrance 0.5, exit 1, screen 1 to 5 by its maker", "memory"),
        Source("common practice, no source", "vapour-rich gas is taken at 2 kg/m^3; air is 1.2", "memory"),
        Source("the label on the tank", "label pressure", "maker's"),
    ],
    example={
        "bore": "9/16 in",
        "length": "8 ft",
        "fill_rate": "12 gal/min",
        "label_pressure": "3 psi",
        "nozzle_height": "24 in",
        "fill_bore": "1 1/2 in",
        "fill_length": "6 ft",
    },
    use="before vent fitting, screen and hose are bought, and again when the fill gets faster.",
    not_for="a tank heated by fire, a fill under pressure, or the ventilation of a compartment.",
    draws=draw_back_pressure,
)
def vent_size(
    bore: Annotated[
        float, Q("in", "Bore of the vent", valid=POSITIVE, note="the narrowest: hose, fitting or screen body")
    ],
    length: Annotated[
        float,
        Q("ft", "Length of the vent", valid=NOT_NEGATIVE, note="from the tank to the outlet, along the hose"),
    ],
    fill_rate: Annotated[
        float, Q("gal/min", "Rate of filling or pumping out", valid=POSITIVE, note="the fastest it will see")
    ],
    label_pressure: Annotated[
        float,
        Q(
            "psi",
            "Pressure on the tank's label",
            valid=POSITIVE,
            note="by the gauge; for pump-out give the vacuum that the tank's maker allows, another"
            " figure and often far less",
        ),
    ],
    service: Annotated[Literal["fuel", "water", "waste"], Q("", "What the tank holds")] = "fuel",
    fitting_losses: Annotated[
        float,
        Q(
            "",
            "Losses of vent fittings, sum of K",
            valid=NOT_NEGATIVE,
            note="entrance 0.5, exit 1, flame screen 2.5; each smooth bend 0.4 more",
        ),
    ] = 4.0,
    roughness: Annotated[float, Q("in", "Roughness inside, vent and fill", valid=NOT_NEGATIVE)] = 0.00006,
    gas_density: Annotated[
        float, Q("kg/m^3", "Density of the gas", valid=POSITIVE, note="vapour-rich; air is 1.2 kg/m^3")
    ] = 2.0,
    gas_viscosity: Annotated[
        float, Q("Pa*s", "Viscosity of the gas", valid=POSITIVE, note="vapour-rich; air is 1.82e-5 Pa*s")
    ] = 1.2e-5,
    label_share: Annotated[
        float,
        Q(
            "%",
            "Share of the label pressure",
            valid=Range(above=0, most=100),
            note="80 % is the law's for gasoline, outboards excepted",
        ),
    ] = 80.0,
    nozzle_height: Annotated[
        float | None,
        Q(
            "in",
            "Fill opening above the tank top",
            valid=POSITIVE,
            unset="spit-back cannot be told",
            note="plumb, from the tank's highest point to the lower lip of the fill, boat level",
        ),
    ] = None,
    fill_bore: Annotated[
        float | None, Q("in", "Bore of the fill hose", valid=POSITIVE, unset="spit-back cannot be told")
    ] = None,
    fill_length: Annotated[
        float | None,
        Q(
            "ft",
            "Length of the fill hose",
            valid=NOT_NEGATIVE,
            unset="spit-back cannot be told",
            note="from the fill to the tank, along the hose",
        ),
    ] = None,
    fill_losses: Annotated[float, Q("", "Losses of fill fittings, sum of K", valid=NOT_NEGATIVE)] = 1.5,
    liquid_density: Annotated[float, Q("lb/gal", "Density of the liquid", valid=POSITIVE)] = 6.18,
    liquid_viscosity: Annotated[float, Q("Pa*s", "Viscosity of the liquid", valid=POSITIVE)] = 5e-4,
    min_bore: Annotated[
        float, Q("in", "Least bore of a fuel vent", valid=NOT_NEGATIVE, note="guidance, not law")
    ] = 0.5625,
) -> VentSize:
    """Pressure in a tank vent while filling or emptying, the smallest bore within the limit, and spit-back.

    As much gas goes through the vent as liquid comes or goes. It loses (f L / D + K) rho v^2 / 2. Fuel runs
    down the fill only while its head from the tank top to the fill opening is more than the back pressure
    and the loss in the full fill hose together; friction nearly always asks for more than the label does.

    >>> air = {"gas_density": 1.204575, "gas_viscosity": 1.820568e-5, "fitting_losses": 3}
    >>> vent_size(0.5625, 8, 12, 3, **air).back_pressure
    0.018727
    """
    flow = fill_rate * M3_PER_GAL / S_PER_MIN
    gas = Fluid(gas_density, gas_viscosity)
    liquid = Fluid(liquid_density * KG_PER_M3_IN_LB_PER_GAL, liquid_viscosity)
    allowed = label_share * label_pressure / 100

    def back_pressure(bore_in: float) -> float:
        return flow_through(hose_of(bore_in, length, roughness, fitting_losses), gas, flow).loss / PA_PER_PSI

    fill_loss: float | NoAnswer = NoAnswer("fill_bore and fill_length are not both given")
    if fill_bore is not None and fill_length is not None:
        fill = hose_of(fill_bore, fill_length, roughness, fill_losses, "fill_bore")
        fill_loss = flow_through(fill, liquid, flow).loss / PA_PER_PSI
    head: float | NoAnswer = NoAnswer("nozzle_height is not given")
    if nozzle_height is not None:
        head = liquid.density * G_M_PER_S2 * nozzle_height * M_PER_IN / PA_PER_PSI

    vent = flow_through(hose_of(bore, length, roughness, fitting_losses), gas, flow)
    most = _most_back_pressure(allowed, head, fill_loss) if service == "fuel" else allowed
    narrowest = max(roughness / _ROUGHEST_TRIED, _NARROWEST_IN)
    return VentSize(
        velocity=vent.velocity / M_PER_FT,
        reynolds=vent.reynolds,
        friction_factor=vent.friction_factor,
        back_pressure=vent.loss / PA_PER_PSI,
        allowed_back_pressure=allowed,
        fill_loss=fill_loss,
        nozzle_pressure=head,
        needed_bore=most
        if isinstance(most, NoAnswer)
        else max(_needed_bore(back_pressure, most, narrowest), min_bore if service == "fuel" else 0.0),
    )


def _most_back_pressure(
    allowed: float, head: float | NoAnswer, fill_loss: float | NoAnswer
) -> float | NoAnswer:
    """Return what a fuel vent may hold back (psi), by the label and by spit-back."""
    if isinstance(head, NoAnswer):
        return head
    if isinstance(fill_loss, NoAnswer):
        return fill_loss
    if fill_loss >= head:
        return NoAnswer("the fill hose alone takes all the head of the fill opening; no vent helps")
    return min(allowed, head - fill_loss)


def _needed_bore(back_pressure: Callable[[float], float], most: float, narrowest: float) -> float:
    wide = 2 * narrowest
    while back_pressure(wide) > most:
        wide *= 2
    return first_within(lambda bore: back_pressure(bore) - most, narrowest, wide)
