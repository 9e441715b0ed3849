"""Numbers, limits and problems as plain data, for JSON, CSV and other programs."""

from __future__ import annotations

from collections.abc import Container, Iterable
from hashlib import blake2b
from typing import Any

from kb.calculators.declare import Calculator
from kb.calculators.door import TableValue, said
from kb.calculators.judge import Judged
from kb.calculators.work import Worked
from kb.content.book import Book
from kb.content.inputs import Input
from kb.content.links import LinkError, Links
from kb.content.page import Link, Page
from kb.language.quantity import NoAnswer, Quantity
from kb.numbers.evaluate import Evaluation
from kb.numbers.printed import unit_text
from kb.problem import Problem

Data = dict[str, Any]
_ALPHABET = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"  # no I, L, O, U: a code is read aloud in a shop


def value_data(value: Any, unit: str = "") -> Data:
    """Return a value as data: value and unit, a table, a word, or null with why.

    `unit` is the one that a value without an answer would have been in.
    """
    if isinstance(value, Quantity):
        number = float(value.value)
        whole = value.unit.kind == "number" and number == int(number) and not isinstance(value.value, float)
        return {"value": int(number) if whole else number, "unit": unit_text(value)}
    if isinstance(value, NoAnswer):
        return {"value": None, "unit": unit, "why": value.why}
    if isinstance(value, TableValue):
        columns = [{"name": column.name, "unit": column.unit.name} for column in value.columns]
        return {"columns": columns, "rows": [[_cell(cell) for cell in row] for row in value.rows]}
    if isinstance(value, bool | str):
        return {"value": value, "unit": ""}
    return {"value": said(value), "unit": ""}


def _cell(cell: Any) -> Any:
    return None if isinstance(cell, NoAnswer) else cell


def _unit_of(calculator: Calculator, name: str) -> str:
    return calculator.results[name].unit.name if name in calculator.results else ""


def limit_data(judged: Judged) -> Data:
    """Return a judged limit as data."""
    margin = value_data(judged.margin) if judged.margin is not None else None
    data = {"name": judged.name, "verdict": judged.verdict, "margin": margin, "rule": judged.rule}
    return {**data, "note": judged.note} if judged.note else data


def calc_data(worked: Worked) -> Data:
    """Return what `keelbook calc NAME … --json` prints."""
    return {
        "calculator": worked.calculator.name,
        "results": {
            name: value_data(value, _unit_of(worked.calculator, name))
            for name, value in worked.outcome.values.items()
        },
        "limits": [limit_data(judged) for judged in worked.limits],
        "remarks": [remark.text for remark in worked.outcome.remarks],
    }


def calculator_data(calculator: Calculator) -> Data:
    """Return what a calculator takes and gives, for `keelbook calc NAME --json`."""
    return {
        "calculator": calculator.name,
        "does": calculator.does,
        "plugin": calculator.plugin,
        "takes": {
            one.name: {
                "kind": one.kind,
                "unit": one.unit.name,
                "label": one.q.label,
                "required": one.required,
                "default": one.default_text,
                "choices": list(one.choices),
                "columns": [{"name": column.name, "unit": column.unit.name} for column in one.columns],
            }
            for one in calculator.parameters.values()
        },
        "gives": {
            one.name: {
                "kind": one.kind,
                "unit": one.unit.name,
                "label": one.q.label,
                "safe": one.q.safe,
                "rule": one.q.rule or one.q.method,
            }
            for one in calculator.results.values()
        },
        "limits": [
            {"name": one.limit.name, "rule": one.limit.rule, "protects": one.limit.protects}
            for one in calculator.limits
        ],
        "cautions": [{"word": one.word, "text": one.text} for one in calculator.cautions],
        "sources": [
            {"title": one.title, "what": one.what, "standing": one.standing} for one in calculator.sources
        ],
        "example": dict(calculator.example),
    }


def numbers_data(book: Book, done: Evaluation, pages: Container[str] | None = None) -> Data:
    """Return every number and every input of an edition, as `keelbook numbers --json` prints them.

    `pages` are the ids of the pages whose numbers are told, where not all are.
    """
    numbers: Data = {}
    for name in done.graph.bindings.blocks:
        result = done.blocks.get(name)
        if result is None or (pages is not None and result.block.page.id not in pages):
            continue
        place = {"page": result.block.page.id, "line": result.block.place.line}
        numbers[name] = {
            one: {
                **value_data(value, _unit_of(result.block.calculator, one)),
                **_tolerance(done, f"{name}.{one}"),
                "verdict": done.verdict(f"{name}.{one}"),
                **place,
            }
            for one, value in result.outcome.values.items()
        }
    inputs = {path: input_data(one) for path, one in sorted(done.inputs.values.items())}
    return {
        "book": book.settings.name,
        "revision": None,
        "fingerprint": fingerprint(book, done),
        "numbers": numbers,
        "inputs": inputs,
    }


def _tolerance(done: Evaluation, name: str) -> Data:
    if name not in done.spreads:
        return {}
    minus, plus = done.spreads[name]
    data: Data = {"tolerance": {"minus": minus, "plus": plus}}
    if name in done.likely:
        data["likely"] = dict(zip(("minus", "plus"), done.likely[name], strict=True))
    if name in done.movers:
        data["moves_most_with"] = dict(zip(("input", "by"), done.movers[name], strict=True))
    return data


def input_data(one: Input) -> Data:
    """Return an input as data; its value is in the unit it was written in."""
    data: Data = {"text": one.text}
    if isinstance(one.value, Quantity):
        data |= value_data(one.value)
    if one.literal is not None and one.literal.is_toleranced:
        data["tolerance"] = {"minus": float(one.literal.minus), "plus": float(one.literal.plus)}
    return {**data, "layer": one.layer, "file": one.place.file, "line": one.place.line}


def edition_limits(done: Evaluation) -> Iterable[Data]:
    """Go through every limit of an edition, with where it stands."""
    for result in done.blocks.values():
        for judged in result.limits:
            place = result.block.place
            yield {
                **limit_data(judged),
                "name": f"{result.block.name}.{judged.name}",
                "protects": judged.protects,
                "edition": done.edition.name or "model",
                "file": place.file,
                "line": place.line,
            }
    for name, judged in done.limits.items():
        place = done.graph.bindings.limits[name].place
        yield {
            **limit_data(judged),
            "protects": judged.protects,
            "edition": done.edition.name or "model",
            "file": place.file,
            "line": place.line,
        }


def problem_data(problem: Problem) -> Data:
    """Return a problem as data."""
    place = problem.place
    data = {
        "file": place.file,
        "line": place.line,
        "column": place.column,
        "what": problem.what,
        "fix": problem.fix,
    }
    return {**data, "edition": problem.edition} if problem.edition else data


def fingerprint(book: Book, done: Evaluation) -> str:
    """Return the code of everything an edition says: its pages, pictures, inputs and numbers."""
    digest = blake2b(digest_size=5)
    for page in book.pages:
        digest.update(f"{page.file}\0{page.digest}\n".encode())
        for link in page.links:
            if link.is_picture:
                digest.update(_picture(book, page, link))
    for path, one in sorted(done.inputs.values.items()):
        digest.update(f"{path}\0{one.text}\n".encode())
    for name, value in sorted(done.values.items()):
        digest.update(f"{name}\0{value_data(value)}\n".encode())
    return code(digest.digest())


def _picture(book: Book, page: Page, link: Link) -> bytes:
    """Return the digest of a picture; of one that cannot be had, nothing."""
    try:
        path = book.root / book.settings.content / Links(book).target(page, link).address
        return blake2b(path.read_bytes(), digest_size=16).digest()
    except (LinkError, OSError):
        return b""


def code(digest: bytes) -> str:
    """Return five bytes as a short code: two groups of four characters."""
    number = int.from_bytes(digest[:5], "big")
    letters = "".join(_ALPHABET[number >> shift & 31] for shift in range(35, -1, -5))
    return f"{letters[:4]}-{letters[4:]}"
