"""A pump and the hose it pushes through: heads in ft, flows in gal/hr."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Annotated, NamedTuple

from kb import NOT_NEGATIVE, Q, Refusal
from kb_calculators.conversions import G_M_PER_S2, M3_PER_GAL, M_PER_FT, S_PER_HR
from kb_calculators.hose_flow import Fluid, Hose, HoseFlow, PumpCurve, flow_through, pump_curve
from kb_calculators.roots import first_within


class CurveRow(NamedTuple):
    """One row of a pump maker's curve."""

    head: Annotated[float, Q("ft", "Head", valid=NOT_NEGATIVE)]
    flow: Annotated[float, Q("gal/hr", "Flow", valid=NOT_NEGATIVE)]


@dataclass(frozen=True, slots=True)
class PumpedHose:
    """A pump, as its maker rates it and as it works at its voltage, on a hose with a liquid in it."""

    rated: PumpCurve
    working: PumpCurve
    hose: Hose
    liquid: Fluid

    def through(self, flow: float) -> HoseFlow:
        """Return how a flow goes through the hose, in SI units."""
        return flow_through(self.hose, self.liquid, flow * M3_PER_GAL / S_PER_HR)

    def lost(self, flow: float) -> float:
        """Return the head that a flow loses in the hose."""
        return self.through(flow).loss / (self.liquid.density * G_M_PER_S2) / M_PER_FT

    def working_head(self, lift: float) -> float | None:
        """Return the head at which the curve gives what lift and hose ask for; None where no flow comes.

        Refuses rows that end short of that head as the parameter `curve`, and as `lift` a hose so far below
        the liquid that more runs out by itself than the curve tells of.
        """
        curve = self.working

        def lacking(head: float) -> float:
            return lift + self.lost(curve.flow(head)) - head

        if lacking(curve.highest) > 0:
            if curve.shuts_off:
                return None
            raise Refusal(
                "curve",
                f"ends at {curve.highest:g} ft at this voltage, and lift and hose ask for more",
                "add the maker's rows up to the head at which nothing comes",
            )
        if lacking(curve.lowest) < 0 and lift < 0:
            raise Refusal(
                "lift",
                f"is {-lift:g} ft below the liquid, which runs out faster than the curve's open flow",
                "give the lift to the highest point of the hose, or let it drain: box_drain",
            )
        if lacking(curve.lowest) < 0:
            raise Refusal(
                "curve",
                f"begins at {curve.lowest:g} ft at this voltage, and the pump works against less",
                "add the maker's rows down to 0 ft",
            )
        return first_within(lacking, curve.lowest, curve.highest)

    def too_high(self, lift: float) -> str:
        """Return why no flow comes at a lift."""
        return f"a lift of {lift:g} ft is above the {self.working.highest:g} ft the pump can raise"

    def lift_at(self, flow: float) -> float:
        """Return the lift at which a flow comes; where the curve is upright, one of them."""
        for (low, most), (high, least) in pairwise(self.working.rows):
            if most > least and least <= flow <= most:
                return low + (high - low) * ((most - flow) / (most - least)) - self.lost(flow)
        raise ValueError(f"a flow of {flow:g} is outside the rows")


def pumped_hose(
    curve: Sequence[CurveRow], hose: Hose, liquid: Fluid, voltage: float, curve_voltage: float
) -> PumpedHose:
    """Return a pump at its voltage on its hose, or refuse what no pump could have."""
    if voltage <= 0:
        raise Refusal("voltage", "runs no pump", "give a voltage above 0 V")
    rated = pump_curve(curve, "curve")
    return PumpedHose(rated, rated.at_voltage(voltage / curve_voltage), hose, liquid)
