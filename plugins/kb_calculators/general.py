"""A yard's own arithmetic."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any

from kb import Source, calculator, hookimpl
from kb_calculators.scantlings import NOT_FOR_SCANTLINGS


@calculator(
    own_lines=True,
    sources=[Source("the yard itself", "each line is the yard's own rule", "maker's")],
    example={"ring": "26 in - 24 in", "area": "ring * 48 in in ft^2"},
    use="for a gap, a count or a share that no other calculator here works out.",
    not_for="a sum that a calculator here does with its limits and cautions, or " + NOT_FOR_SCANTLINGS,
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
