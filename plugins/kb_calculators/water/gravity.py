"""What runs out under a head of water: flow by head and head by flow, in in and in^3/s."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from kb_calculators.conversions import G_M_PER_S2, IN3_PER_GAL, M_PER_IN, S_PER_MIN
from kb_calculators.emptying import turbulent_from
from kb_calculators.hose_flow import Fluid, Hose, flow_through
from kb_calculators.orifice import bore_area, orifice_flow
from kb_calculators.roots import first_within

OUTLET = 1.0
"""K of an outlet: the speed of what leaves it is lost."""

_IN3_PER_S = IN3_PER_GAL / S_PER_MIN  # of 1 gal/min


@dataclass(frozen=True, slots=True)
class Outflow:
    """The flow at a head, the head at a flow, and the flows at which that jumps."""

    flow: Callable[[float], float]
    head: Callable[[float], float]
    kinks: tuple[float, ...] = ()


def by_openings(coefficient: float, area: float) -> Outflow:
    """Return what runs out of bare openings of that area (in^2) together.

    >>> by_openings(0.6, 3.1416).head(by_openings(0.6, 3.1416).flow(4))
    4.0
    """
    at_one = orifice_flow(coefficient, area, 1.0) * _IN3_PER_S
    return Outflow(
        flow=lambda head: orifice_flow(coefficient, area, head) * _IN3_PER_S,
        head=lambda flow: (flow / at_one) ** 2,
    )


def by_hoses(count: float, hose: Hose, liquid: Fluid) -> Outflow:
    """Return what runs out of so many hoses running full; the hose's losses count its outlet.

    >>> hoses = by_hoses(2, Hose(0.0381, 1.2, 3e-5, 1.5), Fluid(1025, 1.08e-3))
    >>> hoses.head(hoses.flow(10))
    10.0
    """
    weight = liquid.density * G_M_PER_S2

    def head(flow: float) -> float:
        return flow_through(hose, liquid, flow / count * M_PER_IN**3).loss / weight / M_PER_IN

    def flow(over: float) -> float:
        # An outlet lets no more than this through without any other loss; twice that is surely too much.
        most = 2 * count * orifice_flow(1.0, bore_area(hose.bore / M_PER_IN), over) * _IN3_PER_S
        return first_within(lambda one: over - head(one), 0.0, most)

    return Outflow(flow, head, (count * turbulent_from(hose, liquid) / M_PER_IN**3,))
