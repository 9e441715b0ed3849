"""What tanks hold, and how they are tested, filled, vented, bedded and held down."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from kb import hookimpl
from kb_calculators.tanks.compartment_air import compartment_air
from kb_calculators.tanks.fill_line import fill_line
from kb_calculators.tanks.foam import foam_in_place
from kb_calculators.tanks.fuel import fuel_load
from kb_calculators.tanks.hold_down import tank_hold_down
from kb_calculators.tanks.leak_tests import pressure_decay, system_test
from kb_calculators.tanks.powder_coat import powder_coat
from kb_calculators.tanks.vapour import vapour_load
from kb_calculators.tanks.vents import vent_size
from kb_calculators.tanks.volume import tank_contents, tank_volume


@hookimpl
def kb_calculators() -> Sequence[Callable[..., Any]]:
    """Return this plugin's calculators."""
    return (
        tank_volume,
        tank_contents,
        fuel_load,
        system_test,
        pressure_decay,
        fill_line,
        vent_size,
        foam_in_place,
        tank_hold_down,
        vapour_load,
        compartment_air,
        powder_coat,
    )
