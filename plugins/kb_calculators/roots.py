"""The one root finder: where something that falls comes down to nothing."""

from __future__ import annotations

from collections.abc import Callable


def first_within(excess: Callable[[float], float], low: float, high: float) -> float:
    """Return the least x from low to high at which an excess that falls with x is zero or less.

    The interval is halved until no float lies inside it. So a step of the excess is found as well as a
    crossing, and what is returned always holds, while the next float below it does not. Raises `ValueError`
    where the excess is above zero all the way to `high`.

    >>> first_within(lambda x: 2 - x * x, 0, 10)
    1.414213562373095
    """
    if excess(high) > 0:
        raise ValueError(f"the excess is still above zero at {high:g}")
    if excess(low) <= 0:
        return low
    while low < (middle := low + (high - low) / 2) < high:
        if excess(middle) > 0:
            low = middle
        else:
            high = middle
    return high
