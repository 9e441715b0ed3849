"""The cautions and sources of a calculator in the book's own wording, where the book has them by name."""

from __future__ import annotations

from kb.calculators.declare import Calculator, Caution, Source
from kb.content.reference import Reference


def cautions_of(calculator: Calculator, reference: Reference) -> tuple[Caution, ...]:
    """Return the cautions that cards and pages show; one wording of the book stands once."""
    told = (_caution(one, reference) for one in calculator.cautions)
    return tuple(dict.fromkeys(told))


def _caution(own: Caution, reference: Reference) -> Caution:
    hazard = reference.hazards.get(own.hazard)
    if hazard is None:
        return own
    return Caution(hazard.word, f"{hazard.title}: {hazard.text}", hazard.name)


def sources_of(calculator: Calculator, reference: Reference) -> tuple[Source, ...]:
    """Return the sources that cards, slips and pages show."""
    told = (_source(one, reference) for one in calculator.sources)
    return tuple(dict.fromkeys(told))


def _source(own: Source, reference: Reference) -> Source:
    known = reference.sources.get(own.name)
    return own if known is None else Source(known.title, known.what, known.standing, known.name)
