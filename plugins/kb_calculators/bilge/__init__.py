"""Water in the bilge: what stands, what the pumps move, what comes in and how it drains."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from kb import hookimpl
from kb_calculators.bilge.drains import drain_fall, hose_bend
from kb_calculators.bilge.flooding import flooding
from kb_calculators.bilge.pumps import pump_capacity
from kb_calculators.bilge.standing_water import bilge_water


@hookimpl
def kb_calculators() -> Sequence[Callable[..., Any]]:
    """Return this plugin's calculators."""
    return (
        bilge_water,
        pump_capacity,
        flooding,
        drain_fall,
        hose_bend,
    )
