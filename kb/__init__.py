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
from kb.drawing import (
    Arc,
    Axis,
    Chart,
    Circle,
    Curve,
    Dimension,
    Drawing,
    Hatch,
    Leader,
    Level,
    LimitLine,
    Liquid,
    Note,
    OperatingPoint,
    Outline,
    Value,
    View,
)
from kb.language.quantity import NoAnswer, pieces

__all__ = [
    "FALLBACK",
    "NOT_NEGATIVE",
    "POSITIVE",
    "Arc",
    "Axis",
    "Caution",
    "Chart",
    "Circle",
    "Curve",
    "Dimension",
    "Drawing",
    "Hatch",
    "Leader",
    "Level",
    "Limit",
    "LimitLine",
    "Liquid",
    "NoAnswer",
    "Note",
    "OperatingPoint",
    "Outline",
    "Q",
    "Range",
    "Refusal",
    "Section",
    "Source",
    "Value",
    "View",
    "calculator",
    "hookimpl",
    "pieces",
]
