"""Supply, waste, boxes and wells, and how they empty."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from kb import hookimpl
from kb_calculators.water.box_drain import box_drain
from kb_calculators.water.ice import ice_life
from kb_calculators.water.livewell import livewell_turnover
from kb_calculators.water.pump_out import pump_out
from kb_calculators.water.supply import water_supply


@hookimpl
def kb_calculators() -> Sequence[Callable[..., Any]]:
    """Return this plugin's calculators."""
    return (
        water_supply,
        pump_out,
        box_drain,
        ice_life,
        livewell_turnover,
    )
