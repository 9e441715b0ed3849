"""leak_tests."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from kb import hookimpl


@hookimpl
def kb_calculators() -> Sequence[Callable[..., Any]]:
    """Return this plugin's calculators."""
    return ()
