"""Write down what the handbook checks of every shipped calculator came to.

`python -m tests.handbook.verify`, or `make verified`, writes the record that the Calculators pages show.
"""

from __future__ import annotations

import json
import sys
from decimal import ROUND_UP, Decimal
from pathlib import Path
from typing import Any

from kb.calculators.verified import RECORD
from tests.handbook.cases import CASES, PACKAGE, SHIPPED, Case, compare

FILE = Path(__file__).parents[2] / "plugins" / PACKAGE / RECORD
FEWEST = 3
"""A calculator with fewer checks than this is not verified."""
FINEST = 1e-9
"""A smaller difference is written as this one: below it machines differ in their last figures."""


def main() -> None:
    """Write the record, unless a case does not come out or a calculator has too few."""
    faults = [*_wrong(), *_too_few()]
    if faults:
        sys.exit("\n".join(["The record was not written:", *faults]))
    FILE.write_text(text(), encoding="utf-8", newline="\n")


def text() -> str:
    """Return the record as its file holds it."""
    record = {name: _entry(cases_of(name)) for name in SHIPPED}
    return json.dumps(record, ensure_ascii=False, indent=1, sort_keys=True) + "\n"


def cases_of(name: str) -> list[Case]:
    """Return the cases of one calculator, in the order of the handbook."""
    return [case for case in CASES if case.calculator == name]


def greatest_difference(cases: list[Case]) -> float:
    """Return the greatest relative difference of any result of some cases from its source."""
    return max((one.difference for case in cases for one in compare(case)), default=0.0)


def upward(difference: float) -> float:
    """Return a difference rounded up to one figure, so that the last figures of a machine do not matter.

    >>> upward(5.26e-06), upward(9.1e-05), upward(4e-08), upward(0.0)
    (6e-06, 0.0001, 4e-08, 1e-09)
    """
    exact = Decimal(repr(max(difference, FINEST)))  # repr, since the float 1e-9 is a hair above 1e-9
    return float(exact.quantize(Decimal(1).scaleb(exact.adjusted()), rounding=ROUND_UP))


def _entry(cases: list[Case]) -> dict[str, Any]:
    sources = dict.fromkeys((case.source, case.standing) for case in cases)
    return {
        "checks": len(cases),
        "greatest_difference": upward(greatest_difference(cases)),
        "sources": [{"source": source, "standing": standing} for source, standing in sources],
    }


def _wrong() -> list[str]:
    return [
        f"{case}: '{one.name}' came out as {one.came_out}, its source says {one.said}"
        for case in CASES
        for one in compare(case)
        if not one.difference <= case.tolerance
    ]


def _too_few() -> list[str]:
    return [
        f"{name} has {len(cases_of(name))} of the {FEWEST} checks that it needs"
        for name in SHIPPED
        if len(cases_of(name)) < FEWEST
    ]


if __name__ == "__main__":
    main()
