"""Cards: a block with its results, limits, cautions, working and sources; a limit of the yard's own."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cache
from typing import Any

from kb.calculators.declare import Column, Parameter
from kb.calculators.door import TableValue
from kb.calculators.judge import Judged
from kb.content.addresses import calculator_address, way
from kb.language.expression import Expression
from kb.language.quantity import NoAnswer, Quantity
from kb.language.systems import System, counterpart, show_other
from kb.numbers.blocks import Block, LimitFence
from kb.numbers.evaluate import BlockResult
from kb.numbers.printed import Printed, printed
from kb.pages.drawings import figure
from kb.pages.skeleton import Skeleton
from kb.pages.templates import escape, heading, piece, said, set_rule, set_unit
from kb.pages.view import View, sign, value_pair
from kb.pages.wording import cautions_of, sources_of

_OWN_ROWS = 60
"""Rows of a table that a card shows; longer ones are in `numbers.json`."""


@dataclass(frozen=True, slots=True)
class Card:
    """A card as HTML, and its words, by which a sheet's fingerprint knows it."""

    html: str
    words: str


def block_card(view: View, here: str, name: str, *, with_cautions: bool = True) -> Card:
    """Return the card of a block; a page says a calculator's cautions on its first card."""
    result = view.done.blocks[name]
    block = result.block
    calculator = block.calculator
    lines = tuple(line.name for line in block.lines)
    values = {
        "id": f"block-{name}",
        "name": name,
        "title": escape(block.title or calculator.does),
        "note": piece("note").fill({"text": escape(block.note)}) if block.note else "",
        "calculator_way": way(here, calculator_address(calculator.name)),
        "limits": limit_list(result.limits, view.book.settings.units),
        "remarks": "".join(
            piece("remark").fill({"text": escape(one.text)}) for one in result.outcome.remarks
        ),
        "tables": "".join(_tables(view, result)),
    }
    drawn = figure(view, name, name)
    values["drawing"] = drawn.html
    own = view.own(result)
    for one in result.outcome.values:
        shown = view.printed(f"{name}.{one}")
        values[f"gives {one}"] = view.gives(f"{name}.{one}")
        values[f"value {one}"] = value_pair(shown, view.other(f"{name}.{one}"), f"{name}.{one}")
        verdict = view.done.verdict(f"{name}.{one}")
        values[f"verdict {one}"] = "" if verdict == "within" else sign(verdict)
        values[f"tolerance {one}"] = tolerance(view, f"{name}.{one}")
        mover = view.mover(here, f"{name}.{one}")
        values[f"mover {one}"] = piece("mover_note").fill({"mover": mover}) if mover else ""
    if calculator.own_lines:
        for line in block.lines:
            values[f"rule {line.name}"], values[f"put {line.name}"] = view.working(
                result, line.name, line.expression
            )
            values[f"from {line.name}"] = _origins(view, here, block, line.expression, set(lines))
    else:
        for one, declared in calculator.results.items():
            if declared.rule is not None:
                values[f"put {one}"] = view.working(result, one, declared.rule)[1]
                values[f"from {one}"] = _parameters(view, here, block, declared.rule.names)
        if any(declared.rule is None for declared in calculator.results.values()):
            values["all given"] = escape(", ".join(f"{one} = {own[one]}" for one in block.parameters))
            values["from all"] = _parameters(view, here, block, tuple(block.parameters))
    reference = view.book.reference
    frame = piece(
        "card",
        calculator=calculator,
        lines=lines,
        cautions=cautions_of(calculator, reference) if with_cautions else (),
        sources=sources_of(calculator, reference),
    )
    own_words = " ".join(text for key, text in values.items() if not key.startswith(_NO_WORDS))
    return Card(frame.fill(values), f"{_frame_words(frame)} {said(own_words)} {drawn.words}".rstrip())


_NO_WORDS = ("from ", "put ", "gives ", "mover ", "all given", "tables", "drawing", "calculator_way", "id")
"""Beginnings of the keys whose texts paper does not show: where links lead, and the working."""


@cache
def _frame_words(frame: Skeleton) -> str:
    """Return the words of a card that are the same for every block of its calculator."""
    # The working and the sources, which paper leaves out, are what stands within <details>.
    return said(_FOLDED.sub("", " ".join(frame.texts)))


_FOLDED = re.compile(r"<details.*?</details>", re.DOTALL)


def tolerance(view: View, name: str) -> str:
    """Return how far a number may lie from what is shown, in either system; "" where nothing moves it."""
    own, other = view.tolerance(name), view.tolerance_in_other_units(name)
    if own and other:
        return piece("tolerances").fill({"own": escape(own), "other": escape(other)})
    return piece("tolerance").fill({"text": escape(own)}) if own else ""


def _origins(view: View, here: str, block: Block, expression: Expression, own: set[str]) -> str:
    """Return links to where the names of an expression are made, but for the block's own."""
    return ", ".join(view.link(here, name) for name in expression.names if name not in own)


def _parameters(view: View, here: str, block: Block, names: tuple[str, ...]) -> str:
    """Return where some parameters come from: the names behind them, or that they are left out."""
    parts = []
    for name in names:
        declared = block.calculator.parameters.get(name)
        if declared is None:
            continue
        parts.append(f"{escape(name)}: {_origin(view, here, block, declared)}")
    return ", ".join(parts)


def _origin(view: View, here: str, block: Block, parameter: Parameter) -> str:
    bound = block.parameters.get(parameter.name)
    if bound is None:
        return piece("left_out").fill({"text": escape(parameter.default_text)})
    if isinstance(bound.content, Expression) and bound.content.names:
        if bound.content.single_name:
            return view.link(here, bound.content.single_name)
        return ", ".join(view.link(here, name) for name in bound.content.names)
    return escape(bound.text or "given here")


def limit_list(limits: Iterable[Judged], system: System) -> str:
    """Return some limits as a list; none, where there are none."""
    rows = "".join(limit_row(judged, system) for judged in limits)
    return piece("limits").fill({"rows": rows}) if rows else ""


def limit_row(judged: Judged, system: System) -> str:
    """Return a limit as an item of a list: its verdict, its rule, by how much, and what it protects."""
    note = piece("note").fill({"text": escape(judged.note)}) if judged.note else ""
    return piece("limit").fill({**_limit(judged, system), "protects": escape(judged.protects), "note": note})


def limit_text(judged: Judged, system: System) -> str:
    """Return a limit within a line: its verdict, its rule and by how much."""
    return piece("limit_text").fill(_limit(judged, system))


def _limit(judged: Judged, system: System) -> dict[str, str]:
    return {
        "sign": sign(judged.verdict),
        "rule": escape(set_rule(judged.rule)),
        "margin": _margin(judged, system),
    }


def _margin(judged: Judged, system: System) -> str:
    """Return by how much a limit holds or is broken, in words; never more than it holds, in either system."""
    if judged.margin is None:
        return ""
    own = printed(judged.margin, "down")
    parts = show_other(judged.margin, judged.margin.unit, system, safe="down")
    broken = own.number.startswith("-")
    size = _size(own)
    if parts:
        size = piece("text_pair").fill({"own": size, "other": _size(Printed(*parts))})
    return piece("misses" if broken else "margin").fill({"size": size})


def _size(value: Printed) -> str:
    return escape(set_rule(str(Printed(value.number.lstrip("-"), value.unit))))


def _tables(view: View, result: BlockResult) -> Iterator[str]:
    system = view.book.settings.units
    for name, value in result.outcome.values.items():
        if isinstance(value, TableValue) and value.rows:
            declared = result.block.calculator.results[name]
            heads = "".join(_head(column, system) for column in value.columns)
            rows = "".join(_row(value, row, system) for row in value.rows[:_OWN_ROWS])
            more = len(value.rows) - _OWN_ROWS
            yield piece("table").fill(
                {
                    "title": escape(declared.q.label),
                    "heads": heads,
                    "rows": rows,
                    "more": piece("note").fill({"text": f"{more} more rows stand in numbers.json"})
                    if more > 0
                    else "",
                }
            )


def _head(column: Column, system: System) -> str:
    texts = {"text": escape(column.q.label), "unit": escape(set_unit(column.unit.name))}
    other = counterpart(column.unit, system)
    if other is None:
        return piece("table_head").fill(texts)
    return piece("table_head_pair").fill({**texts, "other": escape(set_unit(other.name))})


def _row(value: TableValue, row: tuple[Any, ...], system: System) -> str:
    cells = (_cell(cell, column, system) for cell, column in zip(row, value.columns, strict=True))
    return piece("table_row").fill({"cells": "".join(cells)})


def _cell(cell: Any, column: Column, system: System) -> str:
    """Return a cell of a result's table, rounded to the safe side of its column."""
    if isinstance(cell, NoAnswer):
        return piece("table_cell").fill({"text": "none"})
    if not isinstance(cell, float):
        return piece("table_cell").fill({"text": escape(str(cell))})
    size, safe = Quantity(cell, column.unit), column.q.safe
    text = escape(printed(size, safe).number)
    parts = show_other(size, column.unit, system, safe=safe)
    if parts is None:
        return piece("table_cell").fill({"text": text})
    return piece("table_cell_pair").fill({"text": text, "other": escape(parts[0])})


def limit_card(view: View, here: str, name: str) -> Card:
    """Return the card of a limit of the yard's own."""
    fence: LimitFence = view.done.graph.bindings.limits[name]
    judged = view.done.limits[name]
    links = ", ".join(view.link(here, one) for one in fence.rule.expression.names)
    html = piece("limit_card").fill(
        {
            "id": f"limit-{name}",
            "title": escape(fence.title or heading(name)),
            "limit": limit_row(judged, view.book.settings.units),
            "put": escape(view.put_in(fence.rule.expression)),
            "from": links,
            "note": piece("note").fill({"text": escape(fence.note)}) if fence.note else "",
        }
    )
    return Card(html, said(_FOLDED.sub("", html)))
