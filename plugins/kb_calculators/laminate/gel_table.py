"""A maker's table of gel times, over temperature and hardener."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import exp, log
from typing import Annotated, NamedTuple

from kb import POSITIVE, Q, Range, Refusal

_SAME = 1e-12  # a value so near an end of the table stands at it, as it does for the limits


class GelRow(NamedTuple):
    """One row of a gel table."""

    temperature: Annotated[float, Q("degF", "Temperature", valid=Range(-60, 400))]
    hardener_share: Annotated[float, Q("%", "Hardener, of the resin's mass", valid=POSITIVE)]
    gel_time: Annotated[float, Q("min", "Gel time", valid=POSITIVE)]


@dataclass(frozen=True, slots=True)
class GelTable:
    """Gel times on a full grid: for each temperature in turn, one for each share in turn."""

    temperatures: tuple[float, ...]
    shares: tuple[float, ...]
    gel_times: tuple[tuple[float, ...], ...]

    def gel_time(self, temperature: float, share: float) -> float | None:
        """Return the gel time between the four rows around, or None outside the table.

        The logarithm of the time goes straight between temperatures, and straight between shares.

        >>> halves = GelTable((59.0, 77.0), (1.0,), ((60.0,), (30.0,)))
        >>> halves.gel_time(68.0, 1.0), halves.gel_time(58.0, 1.0)
        (42.42641, None)
        """
        by_heat, by_share = _between(self.temperatures, temperature), _between(self.shares, share)
        if by_heat is None or by_share is None:
            return None
        return exp(
            sum(
                part_t * part_s * log(self.gel_times[t][s])
                for t, part_t in by_heat
                for s, part_s in by_share
                if part_t and part_s
            )
        )


def _between(lines: Sequence[float], value: float) -> tuple[tuple[int, float], ...] | None:
    """Return the lines that a value lies between, and the part that each has in it; None outside them."""
    dust = _SAME * max(abs(value), abs(lines[0]), abs(lines[-1]))
    if not lines[0] - dust <= value <= lines[-1] + dust:
        return None
    value = min(max(value, lines[0]), lines[-1])
    high = bisect_right(lines, value)
    if high == len(lines):
        return ((high - 1, 1.0),)
    part = (value - lines[high - 1]) / (lines[high] - lines[high - 1])
    return (high - 1, 1 - part), (high, part)


def gel_table_of(rows: Sequence[GelRow], parameter: str) -> GelTable:
    """Return the table of rows in any order, or refuse rows that leave holes or that no resin could have."""
    found: dict[tuple[float, float], float] = {}
    for temperature, share, minutes in rows:
        if (temperature, share) in found:
            raise Refusal(
                parameter,
                f"has two rows for {temperature:g} degF and {share:g} %",
                "give one gel time for each temperature and share",
            )
        found[temperature, share] = minutes
    temperatures = tuple(sorted({temperature for temperature, _ in found}))
    shares = tuple(sorted({share for _, share in found}))
    for temperature in temperatures:
        for share in shares:
            if (temperature, share) not in found:
                raise Refusal(
                    parameter,
                    f"has no row for {temperature:g} degF and {share:g} %",
                    "give every temperature with every share, or leave out what is not complete",
                )
    _check_quicker(parameter, temperatures, shares, found)
    return GelTable(temperatures, shares, tuple(tuple(found[t, s] for s in shares) for t in temperatures))


def _check_quicker(
    parameter: str,
    temperatures: Sequence[float],
    shares: Sequence[float],
    found: dict[tuple[float, float], float],
) -> None:
    """Refuse a gel time that grows with heat or with hardener."""
    for share in shares:
        for cold, hot in pairwise(temperatures):
            if found[hot, share] > found[cold, share]:
                raise Refusal(
                    parameter,
                    f"gels later at {hot:g} degF ({found[hot, share]:g} min) than at {cold:g} degF"
                    f" ({found[cold, share]:g} min) with {share:g} %",
                    "check those rows: heat makes it gel sooner",
                )
    for temperature in temperatures:
        for less, more in pairwise(shares):
            if found[temperature, more] > found[temperature, less]:
                raise Refusal(
                    parameter,
                    f"gels later with {more:g} % ({found[temperature, more]:g} min) than with {less:g} %"
                    f" ({found[temperature, less]:g} min) at {temperature:g} degF",
                    "check those rows: hardener makes it gel sooner",
                )
