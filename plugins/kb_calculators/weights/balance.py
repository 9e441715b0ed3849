"""The plane of water at which weight and buoyancy are equal and stand plumb over each other.

At each slope the draft is found that displaces the volume, and the slope by the lever that is left between
weight and buoyancy. Newton does it; where it strays, the stretch that holds the answer is halved, so it ends.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import radians, tan

from kb import Refusal
from kb_calculators.hull import Hull, Immersed, immersed

_STEEPEST_DEG = 30
_ROUNDS = 80  # after _TRIES of Newton, halving ends it within these
_TRIES = 12
_SAME_SLOPE = 1e-11
_SAME_VOLUME = 1e-11
_NEAR = 1e-8  # a slope, and a share of the depth, from which one more step of Newton is exact


@dataclass(frozen=True, slots=True)
class _Swamped:
    """She cannot displace so much at this slope: the water comes over the top row at `x`.

    `aft` tells whether bow down would lift that station; `room` is the most she displaces.
    """

    x: float
    aft: bool
    room: float


def plane_of(hull: Hull, volume: float, mass: float, x: float, z: float) -> tuple[float, float, Immersed]:
    """Return the draft and slope at which she floats, with what lies below the water there.

    Refuses a mass that the hull cannot hold, and an x at which water comes over a top row.

    Args:
        hull: her hull.
        volume: what she must displace (in^3).
        mass: the same as it was given (lb), to tell what is possible.
        x: her centre of gravity along the hull.
        z: that above the base line.

    """
    high = tan(radians(_STEEPEST_DEG))
    low, room = -high, 0.0
    too_steep = f"makes her stand at more than {_STEEPEST_DEG} deg of trim"
    bow_down, bow_up = too_steep, too_steep  # what keeps her from going on either way; "" where she floats
    slope, guess = _near(hull, volume, x, z)
    nearest = x
    for tried in range(_ROUNDS):
        sunk = _sunk_to(hull, volume, slope, guess)
        step = 0.0
        if isinstance(sunk, _Swamped):
            room, guess = max(room, sunk.room), None
            over = f"trims her until the water comes over the top row at x = {sunk.x:g} in"
            if sunk.aft:
                high, bow_up = slope, over
            else:
                low, bow_down = slope, over
        else:
            draft, below = sunk
            lever, stiffness = _lever(below, slope, x, z)
            nearest = x + lever
            step = lever / stiffness if stiffness else 0.0
            if abs(step) <= _SAME_SLOPE and stiffness > 0:
                return draft, slope, below
            if lever > 0:
                low, bow_down = slope, ""
            else:
                high, bow_up = slope, ""
        if high - low <= _SAME_SLOPE:
            break
        before, slope = slope, slope + step
        if tried > _TRIES or not low < slope < high:
            slope = (low + high) / 2
        if not isinstance(sunk, _Swamped):
            guess = draft + below.first / below.area * (slope - before) if below.area else draft
    if bow_down and bow_up:
        most = f"{mass * room / volume:g} lb"
        raise Refusal(
            "mass", "sinks her: the hull holds less with the water at its top row", f"give less than {most}"
        )
    if bow_up:
        raise Refusal("x", bow_up, f"give more than {nearest:g} in, or less mass")
    if bow_down:
        raise Refusal("x", bow_down, f"give less than {nearest:g} in, or less mass")
    return draft, slope, below


def _lever(below: Immersed, slope: float, x: float, z: float) -> tuple[float, float]:
    """Return how far buoyancy stands forward of the weight, and what a unit of slope takes off that."""
    stiffness = (1 + slope**2) * below.inertia_about_lcf / below.volume + below.kb - z
    return below.lcb - x - slope * (below.kb - z), stiffness


def _near(hull: Hull, volume: float, x: float, z: float) -> tuple[float, float | None]:
    """Return a slope and draft next to hers, by Newton on both; where it strays, level and no draft."""
    slope, draft = 0.0, (hull.lowest_draft(0.0) + hull.highest_draft(0.0)[0]) / 2
    for _ in range(_TRIES):
        below = immersed(hull, draft, slope)
        lever, stiffness = _lever(below, slope, x, z) if below.volume else (0.0, 0.0)
        if stiffness <= 0 or not below.area:
            break
        deeper, turn = (volume - below.volume) / below.area, lever / stiffness
        draft, slope = draft + deeper + below.first / below.area * turn, slope + turn
        if not hull.lowest_draft(slope) < draft < hull.highest_draft(slope)[0]:
            break
        if abs(turn) <= _NEAR and abs(deeper) <= _NEAR * hull.depth:
            return (slope, draft) if abs(slope) < tan(radians(_STEEPEST_DEG)) else (0.0, None)
    return 0.0, None


def _sunk_to(
    hull: Hull, volume: float, slope: float, guess: float | None
) -> tuple[float, Immersed] | _Swamped:
    """Return the draft at which she displaces a volume, with what lies below the water there."""
    low, (highest, x) = hull.lowest_draft(slope), hull.highest_draft(slope)
    high, draft = highest, highest if guess is None else min(max(guess, low), highest)
    for tried in range(_ROUNDS):
        below = immersed(hull, draft, slope)
        lacking = volume - below.volume
        step = lacking / below.area if below.area else 0.0
        if abs(lacking) <= _SAME_VOLUME * volume:
            break
        if lacking <= 0:
            high = draft
        elif draft >= highest:
            centre = below.first / below.area if below.area else (hull.x[0] + hull.x[-1]) / 2
            return _Swamped(x, x < centre, below.volume)
        else:
            low = draft
        draft += step
        if draft >= highest and high == highest and lacking > 0:
            draft = highest
        elif tried > _TRIES or not low < draft < high:
            draft = (low + high) / 2
    return draft, below
