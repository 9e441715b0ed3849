"""Water through an opening: the rule of Torricelli, with the coefficient of the opening."""

from __future__ import annotations

from math import pi, sqrt

from kb_calculators.conversions import G_M_PER_S2, IN3_PER_GAL, M_PER_IN, S_PER_MIN

SHARP_EDGED = 0.61
"""Coefficient of a hole with sharp edges; a short tube has about 0.8, a well rounded mouth 0.95 to 0.98."""

_G_IN_PER_S2 = G_M_PER_S2 / M_PER_IN


def orifice_flow(coefficient: float, area_in2: float, head_in: float) -> float:
    """Return the flow (gal/min) of coefficient x area x square root of (2 g x head).

    The head (in) is that of the liquid above the middle of the opening, or the difference of the levels on
    its two sides; where there is none, nothing flows.

    >>> round(orifice_flow(0.61, bore_area(1.5), 24), 5)
    38.11585
    """
    speed = sqrt(2 * _G_IN_PER_S2 * max(head_in, 0.0))
    return coefficient * area_in2 * speed * S_PER_MIN / IN3_PER_GAL


def bore_area(bore_in: float) -> float:
    """Return the area (in^2) of a round opening of that bore (in)."""
    return pi / 4 * bore_in * bore_in
