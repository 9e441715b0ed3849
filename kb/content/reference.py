"""What a yard keeps beside its pages: instruments, materials, words, cautions and sources."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Literal, get_args

from kb.language.quantity import Quantity
from kb.language.units import Unit
from kb.problem import Place

SignalWord = Literal["danger", "warning", "caution", "notice"]
"""The signal words of ANSI Z535 and ISO 3864, the gravest first."""
SIGNAL_WORDS: tuple[SignalWord, ...] = get_args(SignalWord)
Standing = Literal["read", "memory", "maker's"]
"""Whether a source was opened, is remembered, or is the maker's own data."""


@dataclass(frozen=True, slots=True)
class Instrument:
    """An instrument of the shop: how far it may be off, and when it was and will be calibrated."""

    name: str
    place: Place
    tolerance: Quantity | None = None
    calibrated: date | None = None
    due: date | None = None
    note: str = ""
    tolerance_text: str = ""


@dataclass(frozen=True, slots=True)
class Material:
    """A material of the catalogue: what it is counted in, its packs, how it keeps, how long it takes to come.

    `packs` are sizes in `unit`, the smallest first; `prices` are those of the packs, in the yard's money.
    """

    name: str
    place: Place
    unit: Unit
    packs: tuple[Quantity, ...] = ()
    prices: tuple[float, ...] = ()
    density: Quantity | None = None
    shelf_life: Quantity | None = None
    lead_time: Quantity | None = None
    storage: str = ""
    safety_sheet: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True)
class Term:
    """A word of the trade: its plain meaning, what the shop also calls it, and the terms to see beside it."""

    term: str
    place: Place
    means: str
    slang: tuple[str, ...] = ()
    see: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Hazard:
    """A caution by its name: one wording for every page and card that calls it.

    `words` are those that should not stand on a page without this caution.
    """

    name: str
    place: Place
    word: SignalWord
    title: str
    text: str
    words: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class KnownSource:
    """A source by its name, and whether it was read, is remembered, or is the maker's."""

    name: str
    place: Place
    title: str
    what: str
    standing: Standing


@dataclass(frozen=True, slots=True)
class Reference:
    """The files of a book's `reference` folder; `files` says which are there, with no entry left out.

    A name that is missing from such a file is unknown; a file with a faulty entry cannot say so.
    """

    instruments: Mapping[str, Instrument] = field(default_factory=dict)
    materials: Mapping[str, Material] = field(default_factory=dict)
    terms: Mapping[str, Term] = field(default_factory=dict)
    hazards: Mapping[str, Hazard] = field(default_factory=dict)
    sources: Mapping[str, KnownSource] = field(default_factory=dict)
    files: frozenset[str] = frozenset()
