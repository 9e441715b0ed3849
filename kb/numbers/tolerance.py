"""Tolerance from the root inputs through the whole graph, by working the edition out at their ends.

The worst case is total, not block by block: one length feeds volume and mass alike. Every toleranced input
is put to both of its ends, alone; then all of them together, to the corners that the slopes of each
number and each margin point to. What lies outside of all those runs is not looked for.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import Any

from kb.calculators.judge import Judged, Verdict
from kb.content.book import Book, Edition
from kb.content.inputs import Input
from kb.language.quantity import Quantity
from kb.numbers.evaluate import Evaluation, conclude, evaluate
from kb.numbers.graph import Graph

_MOST_CORNERS = 64
"""Corners that are looked at; there are two for each pattern of slopes, and patterns repeat."""
Ends = dict[str, tuple[Quantity, Quantity]]


def evaluate_with_tolerance(book: Book, graph: Graph, edition: Edition) -> Evaluation:
    """Work an edition out; limits that a tolerance carries across their bound cannot be told."""
    nominal = evaluate(book, graph, edition)
    ends = {one.path: _ends(one) for one in _toleranced(nominal)}
    if not ends:
        return nominal
    runs = [nominal]
    low = {path: _at(book, graph, edition, {path: pair[0]}) for path, pair in ends.items()}
    high = {path: _at(book, graph, edition, {path: pair[1]}) for path, pair in ends.items()}
    runs += [*low.values(), *high.values()]
    for corner in _corners(ends, low, high):
        runs.append(_at(book, graph, edition, corner))
    _lay_side_by_side(nominal, runs)
    return nominal


def _toleranced(nominal: Evaluation) -> Iterator[Input]:
    used = {use.name for use in nominal.graph.uses}
    for path, one in nominal.inputs.values.items():
        if one.literal is not None and one.literal.is_toleranced and path in used:
            yield one


def _ends(one: Input) -> tuple[Quantity, Quantity]:
    literal = one.literal
    if literal is None:
        raise ValueError(f"{one.path} is no quantity")
    size = literal.quantity
    return Quantity(size.value - literal.minus, size.unit), Quantity(size.value + literal.plus, size.unit)


def _at(book: Book, graph: Graph, edition: Edition, values: dict[str, Any]) -> Evaluation:
    return evaluate(book, graph, edition, values)


def _sizes(run: Evaluation) -> dict[str, float]:
    """Return every number and every margin of a run as plain floats."""
    sizes = {
        f"{name}.{one}": float(value.value)
        for name, result in run.blocks.items()
        for one, value in result.outcome.values.items()
        if isinstance(value, Quantity)
    }
    for name, judged in _limits(run).items():
        if judged.margin is not None:
            sizes[f"limit {name}"] = float(judged.margin.value)
    return sizes


def _limits(run: Evaluation) -> dict[str, Judged]:
    limits = {f"{name}.{one.name}": one for name, result in run.blocks.items() for one in result.limits}
    return {**limits, **run.limits}


def _corners(
    ends: Ends, low: dict[str, Evaluation], high: dict[str, Evaluation]
) -> list[dict[str, Quantity]]:
    """Return the corners that the slopes point to, each pattern and its contrary once."""
    if len(ends) < 2:
        return []
    below = {path: _sizes(run) for path, run in low.items()}
    above = {path: _sizes(run) for path, run in high.items()}
    names = set().union(*below.values())
    patterns = {
        tuple(above[path].get(name, 0.0) >= below[path].get(name, 0.0) for path in ends) for name in names
    }
    patterns |= {tuple(not up for up in pattern) for pattern in patterns}
    return [
        {path: ends[path][up] for path, up in zip(ends, pattern, strict=True)}
        for pattern in sorted(patterns)[:_MOST_CORNERS]
    ]


def _lay_side_by_side(nominal: Evaluation, runs: list[Evaluation]) -> None:
    """Give the nominal run its spreads, and the verdicts that all runs together allow."""
    middle = _sizes(nominal)
    lowest, highest = dict(middle), dict(middle)
    for run in runs:
        for name, size in _sizes(run).items():
            if name in middle:
                lowest[name] = min(lowest[name], size)
                highest[name] = max(highest[name], size)
    for name, size in middle.items():
        spread = (size - lowest[name], highest[name] - size)
        if any(spread) and not name.startswith("limit "):
            nominal.spreads[name] = spread
    verdicts: dict[str, set[Verdict]] = {}
    for run in runs:
        for name, judged in _limits(run).items():
            verdicts.setdefault(name, set()).add(judged.verdict)
    crossing = {name for name, found in verdicts.items() if len(found) > 1 and "accepted" not in found}
    if crossing:
        conclude(nominal, lambda name, judged: _told(judged) if name in crossing else judged)


def _told(judged: Judged) -> Judged:
    note = "the tolerance of its inputs carries it across the bound"
    return replace(judged, verdict="cannot tell", note=judged.note or note)
