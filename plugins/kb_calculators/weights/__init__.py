"""What she weighs, how she floats with it, and what stays above the water."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from kb import hookimpl
from kb_calculators.weights.above_water import above_water
from kb_calculators.weights.float_plane import float_plane
from kb_calculators.weights.hull_number import hull_number
from kb_calculators.weights.hydrostatics import hydrostatics
from kb_calculators.weights.weight_sum import weight_sum


@hookimpl
def kb_calculators() -> Sequence[Callable[..., Any]]:
    """Return this plugin's calculators."""
    return (weight_sum, hydrostatics, float_plane, above_water, hull_number)
