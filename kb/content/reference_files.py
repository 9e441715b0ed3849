"""The files of the `reference` folder, read to instruments, materials, words, cautions and sources."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import get_args

from kb.content.fields import Entry, Fields, FileForm, read_entries
from kb.content.reference import (
    SIGNAL_WORDS,
    Hazard,
    Instrument,
    KnownSource,
    Material,
    Reference,
    Standing,
    Term,
)
from kb.content.yamltext import Scalar
from kb.language.quantity import Quantity
from kb.language.units import NUMBER, Unit, UnitError, unit, what_it_is
from kb.problem import Place, Problem, offer

_STANDINGS: tuple[Standing, ...] = get_args(Standing)
_PIECE = "piece"
_HAZARD_NAME = re.compile(r"[a-z0-9_-]+")


def read_reference(root: Path, content: str) -> tuple[Reference, list[Problem]]:
    """Read what stands in `<content>/reference/` of a book; no file needs to be there.

    An entry with a fault in what it needs is left out; one with a fault elsewhere stands without that part.

    Args:
        root: the book's folder.
        content: the folder of its content, relative to it.

    """
    folder = f"{content}/reference"
    problems = list(_strangers(root, folder))
    whole: set[str] = set()

    def read(form: FileForm[Entry]) -> dict[str, Entry]:
        entries, is_whole = read_entries(root, folder, form, problems)
        if is_whole:
            whole.add(form.file)
        return entries

    reference = Reference(
        instruments=read(_INSTRUMENTS),
        materials=read(_MATERIALS),
        terms=read(_TERMS),
        hazards=read(_HAZARDS),
        sources=read(_SOURCES),
        files=frozenset(whole),
    )
    return reference, problems


def _strangers(root: Path, folder: str) -> Iterator[Problem]:
    """Find files that would be passed over in silence, such as `instrument.yml`."""
    for path in sorted((root / folder).glob("*")):
        name = path.name
        if path.suffix in (".yml", ".yaml") and not name.startswith(".") and name not in _FILES:
            fix = offer(name, _FILES, f"the files are {', '.join(_FILES)}")
            yield Problem(Place(f"{folder}/{name}"), f"'{name}' is no file of a reference folder", fix)


def _instrument(fields: Fields) -> Instrument:
    calibrated, due = fields.day("calibrated"), fields.day("due")
    if calibrated and due and due < calibrated:
        what = f"'{fields.name}' is due {due}, before it was calibrated {calibrated}"
        fields.problem(fields.nodes["due"].place, what, "check both dates")
    tolerance = fields.deviation("tolerance")
    off = fields.text("tolerance") if tolerance is not None else ""
    return Instrument(fields.name, fields.place, tolerance, calibrated, due, fields.text("note"), off)


def _material(fields: Fields) -> Material | None:
    one = _unit(fields)
    packs, prices = _packs(fields, one)
    density = fields.measured("density", "10.2 lb/gal")
    shelf_life = fields.measured("shelf_life", "180 day")
    lead_time = fields.measured("lead_time", "5 day", may_be_zero=True)
    storage, safety_sheet, note = map(fields.text, ("storage", "safety_sheet", "note"))
    if one is None:
        return None
    return Material(
        fields.name,
        fields.place,
        one,
        packs,
        prices,
        density,
        shelf_life,
        lead_time,
        storage,
        safety_sheet,
        note,
    )


def _unit(fields: Fields) -> Unit | None:
    node = fields.one("unit")
    if node is None:
        return None
    word = node.text.strip()
    if word in (_PIECE, "none"):
        return NUMBER
    try:
        return unit(word)
    except UnitError as error:
        fields.problem(node.place, error.what, offer(word, [_PIECE], error.fix))
        return None


def _packs(fields: Fields, one: Unit | None) -> tuple[tuple[Quantity, ...], tuple[float, ...]]:
    """Return the packs, the smallest first, and their prices; neither where any of them has a fault."""
    wanted, given = fields.count("packs"), fields.count("prices")
    written = fields.several("packs")
    prices = [price for node in fields.several("prices") if (price := _price(fields, node)) is not None]
    if "prices" in fields.nodes and (len(written), len(prices)) == (wanted, given) and wanted != given:
        what = f"packs: {wanted}, prices: {given}"
        fields.problem(fields.nodes["prices"].place, what, "write one price for each pack, in the same order")
    packs: dict[Quantity, str] = {}
    for node in written:
        size = _pack(fields, node, one)
        if size is None:
            continue
        if size in packs:
            what = f"the pack '{node.text.strip()}' is '{packs[size]}' again"
            fields.problem(node.place, what, "keep one")
        packs.setdefault(size, node.text.strip())
    if len(packs) != wanted or len(prices) != given or given not in (0, wanted):
        return (), ()
    ordered = sorted(packs, key=lambda size: size.value)
    priced = dict(zip(packs, prices, strict=False))
    return tuple(ordered), tuple(priced[size] for size in ordered if size in priced)


def _pack(fields: Fields, node: Scalar, one: Unit | None) -> Quantity | None:
    size = fields.size(node)
    if size is None or one is None:
        return None
    text = node.text.strip()
    if not size.unit.same_kind(one):
        counted = f"in {one}" if one.name else "by the piece"
        what = f"the pack '{text}' is {what_it_is(size.unit)}, but '{fields.name}' is counted {counted}"
        fix = f"write the pack in {one}" if one.name else "write a count such as 10"
        fields.problem(node.place, what, f"{fix}, or change the unit")
    elif size.value <= 0:
        fields.problem(node.place, f"the pack '{text}' holds nothing", "write more than zero")
    elif one is NUMBER and size.value != int(size.value):
        fields.problem(node.place, f"the pack '{text}' is not a whole count", "write one such as 10")
    else:
        return Quantity(size.to(one), one)
    return None


def _price(fields: Fields, node: Scalar) -> float | None:
    size = fields.size(node)
    if size is None:
        return None
    if size.unit is not NUMBER or size.value < 0:
        fields.problem(node.place, f"'{node.text.strip()}' is not a price", "write a number such as 41.50")
        return None
    return float(size.value)


def _term(fields: Fields) -> Term | None:
    means, slang, see = fields.text("means"), fields.texts("slang"), fields.texts("see")
    return Term(fields.name, fields.place, means, slang, see) if means else None


def _check_terms(terms: Sequence[Fields]) -> None:
    """Tell slang that leads to two terms, and terms to see that are none."""
    names = {fields.name.casefold(): fields.name for fields in terms}
    owners: dict[str, str] = {}
    for fields in terms:
        for node in fields.scalars("slang"):
            word = node.text.strip()
            owner = owners.setdefault(word.casefold(), fields.name)
            if term := names.get(word.casefold()):
                what = f"the slang '{word}' is the term '{term}' of the glossary"
                fields.problem(node.place, what, "leave it out; name another term under see")
            elif owner != fields.name:
                what = f"'{word}' is slang for '{owner}' already"
                fields.problem(node.place, what, "keep it at one term")
        for node in fields.scalars("see"):
            word = node.text.strip()
            if word not in names.values():
                fix = offer(word, names.values(), "add it to the glossary, or leave it out")
                fields.problem(node.place, f"there is no term '{word}' in the glossary", fix)


def _hazard(fields: Fields) -> Hazard | None:
    word = fields.choice("word", SIGNAL_WORDS)
    title, text, words = fields.text("title"), fields.text("text"), fields.texts("words")
    has_name = _HAZARD_NAME.fullmatch(fields.name) is not None
    if not has_name:
        what = f"'{fields.name}' is not a name for a caution"
        fields.problem(fields.place, what, "use small letters, digits, - and _")
    for key in ("title", "text"):
        for node in fields.scalars(key):
            if "{{" in node.text:
                place = node.place.right(node.text.index("{{") + node.quoted)
                what = f"a caution's {key} holds no live value"
                fields.problem(place, what, "put the number on the page, beside the caution")
    if not (has_name and word and title and text):
        return None
    return Hazard(fields.name, fields.place, word, title, text, words)


def _source(fields: Fields) -> KnownSource | None:
    title, what, standing = fields.text("title"), fields.text("what"), fields.choice("standing", _STANDINGS)
    if not (title and what and standing):
        return None
    return KnownSource(fields.name, fields.place, title, what, standing)


_INSTRUMENTS = FileForm(
    "instruments.yml", "instrument", {}, ("tolerance", "calibrated", "due", "note"), _instrument
)
_MATERIALS = FileForm(
    "materials.yml",
    "material",
    {"unit": "unit: lb, or unit: piece for what is counted"},
    ("packs", "prices", "density", "shelf_life", "lead_time", "storage", "safety_sheet", "note"),
    _material,
)
_TERMS = FileForm(
    "glossary.yml", "term", {"means": "means: '…' in plain words"}, ("slang", "see"), _term, _check_terms
)
_HAZARDS = FileForm(
    "cautions.yml",
    "caution",
    {"word": f"word: {' or '.join(SIGNAL_WORDS)}", "title": "title: …", "text": "text: '…'"},
    ("words",),
    _hazard,
)
_SOURCES = FileForm(
    "sources.yml",
    "source",
    {"title": "title: …", "what": "what: '…'", "standing": f"standing: {' or '.join(_STANDINGS)}"},
    (),
    _source,
)
_FILES = tuple(form.file for form in (_INSTRUMENTS, _MATERIALS, _TERMS, _HAZARDS, _SOURCES))
