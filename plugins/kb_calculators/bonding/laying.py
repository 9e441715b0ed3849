"""How long guns take to lay the adhesive of a joint."""

from __future__ import annotations

from math import ceil


def lay_time(volume: float, cartridges: int, guns: int, flow: float, change_time: float) -> float:
    """Return the minutes that guns take, each of which lays its share and changes all its cartridges but one.

    Args:
        volume: of the adhesive, mL.
        cartridges: that it takes.
        guns: that lay at once.
        flow: of one gun, mL/min.
        change_time: of one cartridge, min.

    """
    return volume / (flow * guns) + (ceil(cartridges / guns) - 1) * change_time
