"""`keelbook takeoff`: the materials of an edition, in packs."""

from __future__ import annotations

import sys
from collections.abc import Iterator

import click

from kb.commands.common import EXIT_ERRORS, book_folder, columns, edition_of, print_json, tell, verdict
from kb.language.quantity import Quantity
from kb.language.show import Safe
from kb.language.units import NUMBER
from kb.numbers.printed import printed
from kb.numbers.takeoff import TakeOffLine, material_uses, take_off
from kb.numbers.takeoff_exports import as_csv, as_json, as_xlsx
from kb.reckon import edition_problems, open_book

_HEADS = ["material", "needed", "packs", "left over", "comes in", "used on"]


@click.command()
@click.option("--hull", metavar="ID", help="The materials of one hull.")
@click.option("--csv", "with_csv", is_flag=True, help="Print one line a material as CSV.")
@click.option("--xlsx", "with_xlsx", is_flag=True, help="Write a workbook: --xlsx > takeoff.xlsx")
@click.option("--json", "with_json", is_flag=True, help="Print everything as JSON.")
@click.pass_context
def takeoff(ctx: click.Context, hull: str | None, with_csv: bool, with_xlsx: bool, with_json: bool) -> int:
    """Print the take-off: what the sheets ask for, waste and all, in packs.

    A book with errors has none: what is ordered by it would miss something.
    """
    formats = {"--csv": with_csv, "--xlsx": with_xlsx, "--json": with_json}
    chosen = [name for name, is_chosen in formats.items() if is_chosen]
    if len(chosen) > 1:
        raise click.UsageError(f"{' and '.join(chosen)} exclude each other", ctx)
    if with_xlsx and sys.stdout.isatty():
        raise click.UsageError("a workbook is not for the terminal; write --xlsx > takeoff.xlsx", ctx)
    opened = open_book(book_folder(ctx))
    done = opened.evaluate(edition_of(opened, hull, ctx))
    if problems := edition_problems(opened, done):
        tell(problems)
        return EXIT_ERRORS
    materials = opened.graph.bindings.materials
    uses, _ = material_uses(done, [one for one in materials if one.page.head.visibility != "private"])
    lines = take_off(uses, opened.book.reference)
    if with_xlsx:
        click.echo(as_xlsx(lines), nl=False)
    elif with_csv:
        click.echo(as_csv(lines), nl=False)
    elif with_json:
        print_json(as_json(lines))
    elif lines:
        for row in columns([_HEADS, *map(_row, lines)]):
            click.echo(row)
    else:
        click.echo("no sheet asks for a material")
    return 0


def _row(line: TakeOffLine) -> list[str]:
    time = line.entry.lead_time if line.entry else None
    return [
        line.material,
        " ".join(_needed(line)),
        " + ".join(f"{packs.count} × {printed(packs.size)}" for packs in line.packs),
        _amount(line.left_over, "down") if line.left_over is not None else "",
        str(printed(time, "up")) if time is not None else "",
        ", ".join(page.head.number.text if page.head.number else page.head.title for page in line.pages),
    ]


def _needed(line: TakeOffLine) -> Iterator[str]:
    yield _amount(line.needed, "up")
    if line.verdict != "within":
        yield verdict(line.verdict)


def _amount(value: object, safe: Safe) -> str:
    return str(printed(value, safe, is_count=isinstance(value, Quantity) and value.unit is NUMBER))
