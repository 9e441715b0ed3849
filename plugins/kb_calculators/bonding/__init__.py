"""What is glued or bedded for good."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from kb import hookimpl
from kb_calculators.bonding.area import bonding_area
from kb_calculators.bonding.through_hull import through_hull


@hookimpl
def kb_calculators() -> Sequence[Callable[..., Any]]:
    """Return this plugin's calculators."""
    return (bonding_area, through_hull)
