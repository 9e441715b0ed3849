"""`keelbook check`: everything except writing pages."""

from __future__ import annotations

from typing import Any

import click

from kb.commands.common import (
    EXIT_ERRORS,
    EXIT_LIMIT,
    book_folder,
    broken,
    columns,
    print_json,
    tell,
    verdict,
)
from kb.numbers.exports import edition_limits, problem_data
from kb.reckon import Checked, check_book


@click.command()
@click.option("--strict", is_flag=True, help="Exit 1 where a limit is outside or cannot be told.")
@click.option("--json", "as_json", is_flag=True, help="Print problems and limits as JSON.")
@click.pass_context
def check(ctx: click.Context, strict: bool, as_json: bool) -> int:
    """Check the book: the model, each option alone, and every hull.

    Exits 0 without errors, 1 with --strict where a limit does not hold, 2 where the book has errors.
    """
    checked = check_book(book_folder(ctx))
    limits = [limit for done in checked.evaluations for limit in edition_limits(done)]
    if as_json:
        problems, notes = ([problem_data(p) for p in some] for some in (checked.problems, checked.notes))
        print_json({"problems": problems, "notes": notes, "limits": limits})
    else:
        tell(checked.problems)
        for note in checked.notes:
            click.echo(f"note: {note}", err=True)
        _print(checked, limits)
    if checked.problems:
        return EXIT_ERRORS
    return EXIT_LIMIT if strict and broken(limits) else 0


def _print(checked: Checked, limits: list[dict[str, Any]]) -> None:
    book = checked.opened.book
    bindings = checked.opened.graph.bindings
    open_limits = [limit for limit in limits if limit["verdict"] != "within"]
    rows = [
        [
            f"{limit['file']}:{limit['line']}",
            limit["name"],
            verdict(limit["verdict"]),
            f"{limit['rule']}{_margin(limit)}{_note(limit)} ({limit['edition']})",
        ]
        for limit in open_limits
    ]
    for line in columns(rows):
        click.echo(line)
    numbers = sum(len(block.result_names) for block in bindings.blocks.values())
    editions = len(checked.evaluations)
    click.echo(
        f"{book.settings.name}: {len(book.pages)} pages, {len(bindings.blocks)} blocks, {numbers} numbers, "
        f"{editions} editions checked; {len(limits)} limits, {len(open_limits)} of them not within; "
        f"{len(checked.problems) or 'no'} error{'s' if len(checked.problems) != 1 else ''}"
    )


def _note(limit: dict[str, Any]) -> str:
    return f"; {limit['note']}" if "note" in limit else ""


def _margin(limit: dict[str, Any]) -> str:
    margin = limit["margin"]
    return f", margin {margin['value']:.3g} {margin['unit']}".rstrip() if margin else ""
