"""What a reader of the procedures would stumble over: notes on their prose, none of them an error."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from kb.content.actions import actions
from kb.content.book import Book
from kb.content.files import read_text
from kb.content.page import Page
from kb.content.passages import Prose, read_prose
from kb.content.reference import Hazard, Reference
from kb.language.mentions import NO_WORD, mentions
from kb.language.quantity import Quantity
from kb.numbers.evaluate import Evaluation
from kb.problem import Place, Problem

_MEANT = "<!-- meant: why -->"
_MOST_NAMES = 2
_LONGEST_TERM = 4  # words; what is longer is emphasis, not a word of the trade
_WORDING = re.compile(rf"[^.,:;!?{NO_WORD}]+")
_VERDICTS = frozenset(["within", "outside", "cannot tell", "accepted"])

_Key = tuple[object, object, str]


def prose_notes(book: Book, done: Evaluation) -> list[Problem]:
    """Return what should be known of the prose of a book's procedures, the pages that have a stage.

    A quantity typed by hand, a step with several actions, a head without `protection`, a word of a hazard
    without its caution, a term that is not in the glossary. What an author marks as meant is left out; a mark
    without a reason, or that holds nothing back, is a note itself. `done` gives the names of values.
    """
    values = _Values.of(done)
    hazards = [
        _HazardWords.of(one) for one in book.reference.hazards.values() if any(map(str.split, one.words))
    ]
    terms = _terms(book.reference)
    titles = frozenset(_plain(page.head.title) for page in book.pages)
    called = _called(book, done)
    notes: list[Problem] = []
    for page in book.pages:
        if page.head.stage is None:
            continue
        text, _ = read_text(book.root, page.file)
        prose = read_prose(page, text or "")
        cautions = [
            book.reference.hazards[name] for name in called[page.file] & book.reference.hazards.keys()
        ]
        found = [*_typed(prose, values), *_crowded(prose), *_unwarned(prose, hazards, cautions)]
        if terms is not None:
            found.extend(_undefined(prose, terms, titles))
        notes.extend((*_bare(page, prose), *_not_meant(prose, found)))
    return notes


def _not_meant(prose: Prose, found: Iterable[Problem]) -> Iterator[Problem]:
    """Leave out the notes that the author marks as meant; add those on the marks themselves."""
    useful: set[Place] = set()
    for note in found:
        marks = [mark for mark in prose.marks if mark.covers(note.place)]
        useful.update(mark.place for mark in marks)
        if not marks:
            yield note
    for mark in prose.marks:
        if not mark.reason:
            yield Problem(mark.place, "this mark does not say why it is meant", f"write {_MEANT}")
        elif mark.place not in useful:
            fix = "drop it, or move it to the line above what is meant"
            yield Problem(mark.place, "this mark of what is meant holds nothing back", fix)


# ---- a quantity typed by hand


@dataclass(frozen=True, slots=True)
class _Values:
    """The names of an edition by their values."""

    names: Mapping[_Key, list[str]]
    quantities: Mapping[str, Quantity]

    @classmethod
    def of(cls, done: Evaluation) -> _Values:
        quantities = {name: one for name, one in done.values.items() if isinstance(one, Quantity)}
        names: dict[_Key, list[str]] = defaultdict(list)
        for name in sorted(quantities, key=lambda name: name not in done.inputs.values):
            names[_key(quantities[name])].append(name)
        return cls(names, quantities)

    def like(self, size: Quantity, words: set[str]) -> list[str]:
        """Return the names that have a value, those first of which the text around it speaks, then inputs."""
        known = self.names.get(_key(size), [])
        return sorted(known, key=lambda name: -len(words.intersection(re.split(r"[._]", name))))[:_MOST_NAMES]


def _key(size: Quantity) -> _Key:
    return size.unit.dims, size.unit.kind, f"{float(size.base):.9g}"


def _typed(prose: Prose, values: _Values) -> Iterator[Problem]:
    for passage in prose.passages:
        words: set[str] = set()
        for one in mentions(passage.plain):
            words = words or set(re.findall(r"[a-z]+", passage.text.lower()))
            place = passage.place(one.at, one.text.split()[0])
            names = values.like(one.quantity, words)
            fix = f"name it as an input, or write {_MEANT} above it"
            if names:
                shown = " or ".join(_live(name, values.quantities[name], one.quantity) for name in names)
                shown += " where one of them is meant" if len(names) > 1 else " where that is meant"
                fix = f"{' and '.join(names)} {'are' if len(names) > 1 else 'is'} {one.text}: write {shown}"
            yield Problem(place, f"'{one.text}' is typed by hand", fix)


def _live(name: str, size: Quantity, typed: Quantity) -> str:
    unit = "" if size.unit is typed.unit else f" in {typed.unit}"
    return f"{{{{ {name}{unit} }}}}"


# ---- a step with more than one action


def _crowded(prose: Prose) -> Iterator[Problem]:
    for step in prose.steps:
        verbs = [verb for passage in step.passages for verb in actions(passage.text)]
        if len(verbs) > 1:
            told = ", ".join(f"'{verb}'" for verb in verbs)
            fix = f"split it, or write {_MEANT} above it"
            yield Problem(step.place, f"this step has {len(verbs)} actions, {told}", fix)


# ---- a head without protection


def _bare(page: Page, prose: Prose) -> Iterator[Problem]:
    if prose.steps and "protection" not in page.head.places:
        fix = "write protection: [safety glasses, …], or protection: [] where none is needed"
        yield Problem(page.title_place, "the head of this procedure has no 'protection'", fix)


# ---- a hazard's word without its caution


@dataclass(frozen=True, slots=True)
class _HazardWords:
    hazard: Hazard
    pattern: re.Pattern[str]
    firsts: frozenset[str]
    """The first words of each, in small letters: a page without them is not gone through."""

    @classmethod
    def of(cls, hazard: Hazard) -> _HazardWords:
        longest_first = sorted(filter(None, map(str.split, hazard.words)), key=len, reverse=True)
        words = (r"\s+".join(map(re.escape, word)) for word in longest_first)
        pattern = re.compile(rf"(?<!\w)(?:{'|'.join(words)})(?!\w)", re.IGNORECASE)
        return cls(hazard, pattern, frozenset(_first_word(word[0]) for word in longest_first))

    def found(self, text: str) -> Iterator[tuple[int, str]]:
        for match in self.pattern.finditer(text):
            yield match.start(), " ".join(match[0].split())


def _first_word(text: str) -> str:
    return next(iter(re.findall(r"\w+", text.lower())), "")


def _called(book: Book, done: Evaluation) -> Mapping[str, set[str]]:
    """Return the names of the hazards that each page calls, itself or by the calculators of its blocks."""
    called: dict[str, set[str]] = defaultdict(set)
    for page in book.pages:
        called[page.file].update(one.text for one in page.hazards)
    for block in done.graph.bindings.blocks.values():
        called[block.page.file].update(one.hazard for one in block.calculator.cautions)
    return called


def _unwarned(prose: Prose, hazards: Iterable[_HazardWords], cautions: Iterable[Hazard]) -> Iterator[Problem]:
    called = {one.name for one in cautions}
    signals = [*prose.titles, *(one.text for one in prose.passages if one.is_signal)]
    signals.extend(text for one in cautions for text in (one.title, one.text))
    words = {"", *(word for one in prose.passages for word in re.findall(r"\w+", one.text.lower()))}
    for one in hazards:
        name = one.hazard.name
        if name in called or words.isdisjoint(one.firsts):
            continue
        told = {word.lower() for text in signals for _, word in one.found(text)}
        for passage in prose.passages:
            first = next((found for found in one.found(passage.text) if found[1].lower() not in told), None)
            if first is not None:
                at, word = first
                place = passage.place(at, word.split()[0])
                what = f"'{word}' stands here, and no caution of this page tells of it"
                yield Problem(place, what, f"call the caution '{name}': write :::hazard {name}")
                break


# ---- an undefined term


def _terms(reference: Reference) -> frozenset[str] | None:
    """Return every word that the glossary explains, in small letters; None where there is no glossary."""
    if "glossary.yml" not in reference.files:
        return None
    known = (word for one in reference.terms.values() for word in (one.term, *one.slang))
    return frozenset(map(_plain, known))


def _plain(words: str) -> str:
    return " ".join(words.casefold().replace("’", "'").split())


def _undefined(prose: Prose, terms: frozenset[str], titles: frozenset[str]) -> Iterator[Problem]:
    headings = {_plain(one.text) for one in prose.passages if one.is_heading}
    for passage in prose.passages:
        for begin, end in passage.emphasised:
            text = " ".join(passage.text[begin:end].split())
            word = _plain(text).strip(".,:;!?")
            if not _WORDING.fullmatch(word) or len(word.split()) > _LONGEST_TERM:
                continue
            is_known = _has(terms, word) or word in _VERDICTS or word in headings or word in titles
            if not is_known:
                what = f"'{text}' is no term of the glossary"
                yield Problem(passage.place(begin), what, "add it to glossary.yml, or take its emphasis away")


def _has(terms: frozenset[str], word: str) -> bool:
    """Tell whether a word is a term, or the plural of one."""
    return any(one in terms for one in (word, word.removesuffix("s"), word.removesuffix("es")))
