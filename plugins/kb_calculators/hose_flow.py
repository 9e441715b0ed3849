"""What liquid or gas loses on its way through a hose, and what a pump still gives against a head.

Everything here is in SI units; the calculators turn shop units into them with the factors below.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import log, log10, pi

from kb import Refusal
from kb_calculators.conversions import M_PER_FT, M_PER_IN

LAMINAR_BELOW = 2040.0
"""Reynolds number; from here on flow may be turbulent, and the larger of both factors is taken."""

ROUGHEST = 0.05
"""Colebrook's rule holds up to this share of roughness in the bore."""

_NEWTON_STEPS = 8  # each doubles the right figures; five are enough from any start


@dataclass(frozen=True, slots=True)
class Fluid:
    """A liquid or gas: density in kg/m^3, viscosity in Pa s."""

    density: float
    viscosity: float


@dataclass(frozen=True, slots=True)
class Hose:
    """A hose run: bore, length and roughness in m, and the sum of K of its ends, bends and fittings."""

    bore: float
    length: float
    roughness: float
    losses: float


@dataclass(frozen=True, slots=True)
class HoseFlow:
    """How a flow goes through a hose: velocity in m/s, Darcy's friction factor, pressure lost in Pa."""

    velocity: float
    reynolds: float
    friction_factor: float
    loss: float


def hose_of(bore_in: float, length_ft: float, roughness_in: float, losses: float, bore: str = "bore") -> Hose:
    """Return a hose given in shop units; refuse a roughness that no friction rule covers in this bore."""
    if roughness_in > ROUGHEST * bore_in:
        raise Refusal(
            "roughness",
            f"is more than a twentieth of {bore}",
            f"give at most {ROUGHEST * bore_in:g} in, or the bore that ribs leave free as {bore}",
        )
    return Hose(bore_in * M_PER_IN, length_ft * M_PER_FT, roughness_in * M_PER_IN, losses)


def flow_through(hose: Hose, fluid: Fluid, flow: float) -> HoseFlow:
    """Return how a flow in m^3/s goes through a hose running full, by Darcy and Weisbach.

    >>> air = Fluid(density=1.204575, viscosity=1.820568e-5)
    >>> vent = Hose(bore=9 / 16 * 0.0254, length=8 * 0.3048, roughness=1.5e-6, losses=3.0)
    >>> flow_through(vent, air, 7.570824e-4).loss
    129.116
    """
    velocity = flow / (pi / 4 * hose.bore**2)
    reynolds = fluid.density * velocity * hose.bore / fluid.viscosity
    if reynolds == 0:
        return HoseFlow(0.0, 0.0, 0.0, 0.0)
    factor = friction_factor(reynolds, hose.roughness / hose.bore)
    resistance = factor * hose.length / hose.bore + hose.losses
    return HoseFlow(velocity, reynolds, factor, resistance * fluid.density * velocity**2 / 2)


def friction_factor(reynolds: float, relative_roughness: float = 0.0) -> float:
    """Return Darcy's friction factor: laminar below 2040, from there the larger of laminar and Colebrook.

    >>> friction_factor(1000)
    0.064
    >>> friction_factor(52614, 3.937e-5)
    0.020802
    """
    laminar = 64 / reynolds
    if reynolds < LAMINAR_BELOW:
        return laminar
    return max(laminar, _colebrook(reynolds, relative_roughness))


def _colebrook(reynolds: float, relative_roughness: float) -> float:
    rough, smooth = relative_roughness / 3.7, 2.51 / reynolds
    x = 6.0  # 1 / sqrt(f) of a common hose
    for _ in range(_NEWTON_STEPS):
        inside = rough + smooth * x
        x -= (x + 2 * log10(inside)) / (1 + 2 / log(10) * smooth / inside)
    return 1 / x**2


@dataclass(frozen=True, slots=True)
class PumpCurve:
    """What a pump delivers against a head: pairs of both, head rising, flow at most once down to nothing."""

    rows: tuple[tuple[float, float], ...]

    @property
    def lowest(self) -> float:
        """The least head the curve tells of."""
        return self.rows[0][0]

    @property
    def highest(self) -> float:
        """The greatest head the curve tells of."""
        return self.rows[-1][0]

    @property
    def shuts_off(self) -> bool:
        """Tell whether the curve goes up to the head at which nothing comes."""
        return self.rows[-1][1] == 0

    def at_voltage(self, share: float) -> PumpCurve:
        """Return the curve at a share of its voltage: flow goes as the voltage, head as its square."""
        return PumpCurve(tuple((head * share**2, flow * share) for head, flow in self.rows))

    def flow(self, head: float) -> float:
        """Return the flow against a head within the rows, on the straight line between two of them.

        >>> PumpCurve(((0, 30), (4, 20), (12, 0))).flow(6)
        15.0
        """
        for (low, most), (high, least) in pairwise(self.rows):
            if low <= head <= high:
                return most + (least - most) * ((head - low) / (high - low))
        raise ValueError(f"a head of {head:g} is outside the rows")


def pump_curve(rows: Sequence[tuple[float, float]], parameter: str) -> PumpCurve:
    """Return a curve of rows in any order, or refuse rows that no pump could have."""
    if len(rows) < 2:
        raise Refusal(parameter, "has one row only", "give two rows at least, from open flow to shut-off")
    found = sorted((head, flow) for head, flow in rows)
    for (low, most), (high, least) in pairwise(found):
        if low == high:
            raise Refusal(parameter, f"has two rows at {low:g} ft", "give one row for each head")
        if least > most:
            raise Refusal(
                parameter,
                f"gives more at {high:g} ft ({least:g} gal/hr) than at {low:g} ft ({most:g} gal/hr)",
                "check those rows: flow falls as head rises",
            )
    giving = sum(flow > 0 for _, flow in found)
    if not giving:
        raise Refusal(parameter, "gives no flow at any head", "give the maker's rows from open flow on")
    return PumpCurve(tuple(found[: giving + 1]))
