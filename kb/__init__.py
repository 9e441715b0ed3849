"""Keelbook: a boat yard's build manual whose numbers always come from the current inputs.

These are the names that a plugin needs; everything else is the engine's.
"""

from kb.calculators.declare import (
    FALLBACK,
    NOT_NEGATIVE,
    POSITIVE,
    Caution,
    Limit,
    Q,
    Range,
    Refusal,
    Source,
    calculator,
)
from kb.calculators.hookspecs import hookimpl
from kb.calculators.section import Section
from kb.language.quantity import NoAnswer, pieces

__all__ = [
    "FALLBACK",
    "NOT_NEGATIVE",
    "POSITIVE",
    "Caution",
    "Limit",
    "NoAnswer",
    "Q",
    "Range",
    "Refusal",
    "Section",
    "Source",
    "calculator",
    "hookimpl",
    "pieces",
]
