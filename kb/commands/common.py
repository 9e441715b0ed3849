"""What the commands share: finding the book, colour, printing tables."""

from __future__ import annotations

import json
import os
import sys
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from typing import Any

import click

from kb.content.book import MODEL, Edition, is_book
from kb.problem import Problem, offer
from kb.reckon import OpenBook

VERDICT_STYLE: dict[str, dict[str, Any]] = {
    "within": {"fg": "green"},
    "accepted": {"fg": "yellow"},
    "cannot tell": {"fg": "yellow", "bold": True},
    "outside": {"fg": "red", "bold": True},
}


def book_folder(ctx: click.Context) -> Path:
    """Return the folder of the book, or end with what to do where there is none."""
    root: Path = ctx.find_root().obj
    if not is_book(root):
        raise click.UsageError(f"there is no book in '{root}' (no mkdocs.yml); name one with --book DIR", ctx)
    return root


def edition_of(opened: OpenBook, hull: str | None, ctx: click.Context) -> Edition:
    """Return the edition that `--hull` names, else the model."""
    if hull is None:
        return MODEL
    if hull not in opened.book.hulls:
        fix = offer(hull, opened.book.hulls, "hulls are folders in hulls/ with a hull.yml")
        raise click.UsageError(f"there is no hull '{hull}'; {fix}", ctx)
    return opened.book.hull_edition(hull)


EXIT_LIMIT = 1
EXIT_ERRORS = 2


def broken(limits: Iterable[Mapping[str, Any]]) -> int:
    """Return how many limits are outside or cannot be told, and are not accepted."""
    return sum(limit["verdict"] in ("outside", "cannot tell") for limit in limits)


def tell(problems: Iterable[Problem]) -> None:
    """Print problems to standard error, one a line."""
    for problem in problems:
        place, colon, rest = str(problem).partition(": ")
        click.echo(paint(place, err=True, bold=True) + colon + rest, err=True)


def paint(text: str, *, err: bool = False, **style: Any) -> str:
    """Return a text in colour on a terminal, plain elsewhere and where NO_COLOR is set."""
    stream = sys.stderr if err else sys.stdout
    if "NO_COLOR" in os.environ or not stream.isatty():
        return text
    return click.style(text, **style)


def verdict(word: str, width: int = 0) -> str:
    """Return a verdict in its colour, padded."""
    return paint(word.ljust(width), **VERDICT_STYLE.get(word, {}))


def print_json(data: Any) -> None:
    """Print data as JSON to standard output."""
    click.echo(json.dumps(data, indent=2, ensure_ascii=False, allow_nan=False))


def columns(rows: Sequence[Sequence[str]], indent: str = "") -> Iterable[str]:
    """Lay rows of text out in columns; the last column runs free."""
    if not rows:
        return
    widths = [max(len(row[i]) for row in rows) for i in range(len(rows[0]) - 1)]
    for row in rows:
        cells = [cell.ljust(width) for cell, width in zip(row, widths, strict=False)]
        yield (indent + "  ".join([*cells, row[-1]])).rstrip()
