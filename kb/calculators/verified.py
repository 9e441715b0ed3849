"""What the handbook checks of a calculator came to, from the record that ships beside its plugins."""

from __future__ import annotations

import json
import sys
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from kb.calculators.declare import Calculator

RECORD = "verification.json"
"""The record's file, in the package of the plugins that it is about."""


@dataclass(frozen=True, slots=True)
class CheckSource:
    """Where the right answer of some checks comes from, and how that source stands."""

    source: str
    standing: str


@dataclass(frozen=True, slots=True)
class Verified:
    """The checks of one calculator.

    Args:
        checks: how many worked examples it was held to.
        greatest_difference: the greatest relative difference of a result from what its source says,
            rounded up to one figure.
        sources: the sources of the checks, each once.

    """

    checks: int
    greatest_difference: float
    sources: tuple[CheckSource, ...]


def verification(calculator: Calculator) -> Verified | None:
    """Return what the checks of a calculator came to; none are on record for a yard's own plugin."""
    return _record(calculator.function.__module__.partition(".")[0]).get(calculator.name)


@cache
def _record(package: str) -> Mapping[str, Verified]:
    # A yard's plugin is a module in a folder of its own files: what lies beside it is no record of ours.
    if not hasattr(sys.modules.get(package), "__path__"):
        return {}
    file = files(package).joinpath(RECORD)
    if not file.is_file():
        return {}
    return {
        name: Verified(
            one["checks"],
            one["greatest_difference"],
            tuple(CheckSource(source["source"], source["standing"]) for source in one["sources"]),
        )
        for name, one in json.loads(file.read_text(encoding="utf-8")).items()
    }
