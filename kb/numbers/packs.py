"""Packs for a need: the least left over, then the fewest packs."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from itertools import product
from math import gcd, lcm, prod
from operator import mul

from kb.language.quantity import Quantity, whole

_MOST_TRIES = 20_000
"""Packs that share no common size have far more mixtures than are worth trying."""


def packs_for(need: Quantity, sizes: Sequence[Quantity]) -> tuple[int, ...]:
    """Return how many packs of each size hold a need: with the least left over, then the fewest packs.

    A large need is filled with the largest pack; what smaller packs make up besides is tried out. That is
    exact but for sizes that hardly ever add up to one another, such as pounds beside kilograms: of those no
    more than some thousand mixtures are tried, and the need is held by every one.

    Args:
        need: how much is needed, zero or more.
        sizes: what the packs hold, the smallest first, in the need's unit.

    >>> packs_for(Quantity(7.5), [Quantity(Fraction(1)), Quantity(Fraction(5))])
    (3, 1)

    """
    step, held = _in_steps([Fraction(size.value) for size in sizes])
    wanted = int(whole(need.value / step, "ceil"))
    *smaller, largest = held

    def filled(counts: tuple[int, ...]) -> tuple[int, int, tuple[int, ...]]:
        rest = wanted - sum(map(mul, counts, smaller))
        of_largest = max(-(-rest // largest), 0)
        return of_largest * largest - rest, sum(counts) + of_largest, (*counts, of_largest)

    mixtures = product(*(range(most + 1) for most in _most_of_each(held, wanted)))
    _, _, best = min(map(filled, mixtures))
    return best


def _in_steps(sizes: Sequence[Fraction]) -> tuple[Fraction, list[int]]:
    """Return the largest size that all sizes are multiples of, and how many of it each holds."""
    scale = lcm(*(size.denominator for size in sizes))
    scaled = [int(size * scale) for size in sizes]
    common = gcd(*scaled)
    return Fraction(common, scale), [size // common for size in scaled]


def _most_of_each(sizes: Sequence[int], wanted: int) -> list[int]:
    """Return how many packs of each size but the largest are worth trying.

    Packs that fill a larger pack, or several, without a rest are never bought: those are fewer packs.
    """
    most = [
        min(-(-wanted // size), *(larger // gcd(size, larger) - 1 for larger in sizes[place + 1 :]))
        for place, size in enumerate(sizes[:-1])
    ]
    while prod(count + 1 for count in most) > _MOST_TRIES:
        place = most.index(max(most))
        most[place] //= 2
    return most
