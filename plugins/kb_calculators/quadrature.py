"""Integration of a function of one variable over an interval, to nearly the last figure of a float."""

from __future__ import annotations

from collections.abc import Callable
from math import cos, cosh, exp, pi, sinh

Function = Callable[[float], float]

_POINTS = 12
_STEPS_PER_UNIT = 8
_REACH = 26  # steps either way; the weight beyond is below 1e-16 of the whole


def gauss_rule(points: int) -> tuple[tuple[float, float], ...]:
    """Return the places and weights of Gauss and Legendre on -1 … 1: the roots of Legendre's polynomial."""
    rule = []
    for i in range(points):
        x = cos(pi * (i + 0.75) / (points + 0.5))
        slope = 1.0
        for _ in range(8):  # Newton from this start doubles its figures each time; five rounds are enough
            before, value = 1.0, x
            for k in range(2, points + 1):
                before, value = value, ((2 * k - 1) * x * value - (k - 1) * before) / k
            slope = points * (x * value - before) / (x * x - 1)
            x -= value / slope
        rule.append((x, 2 / ((1 - x * x) * slope * slope)))
    return tuple(rule)


def _tanh_sinh_rule() -> tuple[tuple[float, float], ...]:
    """Return the shares of an interval and their weights, which fall off doubly exponentially to its ends."""
    rule = []
    for k in range(-_REACH, _REACH + 1):
        t = k / _STEPS_PER_UNIT
        u = pi / 2 * sinh(t)
        rule.append((1 / (1 + exp(-2 * u)), cosh(t) / cosh(u) ** 2))
    whole = sum(weight for _, weight in rule)
    return tuple((share, weight / whole) for share, weight in rule)


_GAUSS = gauss_rule(_POINTS)
_TANH_SINH = _tanh_sinh_rule()


def gauss(function: Function, start: float, end: float) -> float:
    """Integrate a smooth function; exact for polynomials up to the 23rd power.

    >>> gauss(lambda x: x**5, 0, 2)
    10.666666666667
    """
    middle, half = (start + end) / 2, (end - start) / 2
    return half * sum(weight * function(middle + half * x) for x, weight in _GAUSS)


def tanh_sinh(function: Function, start: float, end: float) -> float:
    """Integrate a function that is smooth inside the interval, whatever root or power it has at its ends.

    >>> tanh_sinh(lambda x: x**0.5, 0, 9)
    18.000000000000
    """
    length = end - start
    return length * sum(weight * function(start + length * share) for share, weight in _TANH_SINH)
