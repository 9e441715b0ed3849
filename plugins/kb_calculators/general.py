"""A yard's own arithmetic."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any

from kb import Source, calculator, hookimpl


@calculator(
    own_lines=True,
    sources=[Source("the yard itself", "each line is the yard's own rule", "maker's")],
    example={"ring": "26 in - 24 in", "area": "ring * 48 in in ft^2"},
)
def formula(**lines: Any) -> Mapping[str, Any]:
    """Work out a yard's own arithmetic, written as named lines in the block.

    Each line is an expression, may use the lines above it, and may end in ` in UNIT`.
    """
    return lines


@hookimpl
def kb_calculators() -> Sequence[Callable[..., Any]]:
    """Return this plugin's calculators."""
    return (formula,)
