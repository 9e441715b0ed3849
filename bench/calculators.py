"""One evaluation of every calculator that ships, on its own example, parameters read.

Run `make bench`. At most 0.2 ms without a solver, 3 ms with one.
"""

from __future__ import annotations

import gc
import sys

from bench.blocks import timed
from kb.calculators.door import run
from kb.calculators.plugins import load_plugins
from kb.calculators.work import work

PLAIN, SOLVED = 200.0, 3000.0
SOLVERS = {
    "bilge_water",  # liquid in a solid
    "box_drain",
    "float_plane",
    "hydrostatics",
    "pump_capacity",
    "pump_out",
    "tank_contents",
    "tank_volume",
    "vent_size",
}
"""Calculators that solve an equation or integrate over a solid."""
ROUNDS = 20


def main() -> int:
    """Print the figures; exit 1 where one is beyond its bound."""
    gc.disable()  # as the command does
    beyond = 0
    for name, one in sorted(load_plugins()[0].calculators.items()):
        if one.own_lines:
            continue
        arguments = work(one, one.example).outcome.arguments
        given = {key: arguments[key] for key in one.example}
        each = timed(lambda one=one, given=given: [run(one, given) for _ in range(ROUNDS)]) / ROUNDS * 1e6
        bound = SOLVED if name in SOLVERS else PLAIN
        beyond += each > bound
        print(f"{name:24s} {each:8.0f} µs   ({bound:.0f}){'  beyond' if each > bound else ''}")
    return 1 if beyond else 0


if __name__ == "__main__":
    sys.exit(main())
