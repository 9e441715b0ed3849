"""Wires, fuses and batteries below deck."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from kb import hookimpl
from kb_calculators.electrical.battery import battery_life
from kb_calculators.electrical.fuse import fuse_size
from kb_calculators.electrical.wire import wire_size


@hookimpl
def kb_calculators() -> Sequence[Callable[..., Any]]:
    """Return this plugin's calculators."""
    return (wire_size, battery_life, fuse_size)
