"""`keelbook numbers`: every number of an edition."""

from __future__ import annotations

import csv
import sys

import click

from kb.commands.common import book_folder, columns, edition_of, print_json, tell, verdict
from kb.numbers.evaluate import Evaluation
from kb.numbers.exports import numbers_data
from kb.numbers.printed import printed
from kb.reckon import open_book


@click.command()
@click.option("--hull", metavar="ID", help="The numbers of one hull.")
@click.option("--json", "as_json", is_flag=True, help="Print everything as JSON.")
@click.option("--csv", "as_csv", is_flag=True, help="Print one line a number as CSV.")
@click.pass_context
def numbers(ctx: click.Context, hull: str | None, as_json: bool, as_csv: bool) -> int:
    """Print every number: its value, its unit, its verdict and where it is made."""
    if as_json and as_csv:
        raise click.UsageError("--json and --csv exclude each other", ctx)
    opened = open_book(book_folder(ctx))
    done = opened.evaluate(edition_of(opened, hull, ctx))
    problems = (*opened.problems, *done.problems)
    tell(problems)
    data = numbers_data(opened.book, done)
    if as_json:
        print_json(data)
    elif as_csv:
        writer = csv.writer(sys.stdout, lineterminator="\n")
        writer.writerow(["number", "value", "unit", "verdict", "page", "line"])
        for block, results in data["numbers"].items():
            for name, one in results.items():
                if "columns" not in one:
                    writer.writerow(
                        [
                            f"{block}.{name}",
                            one["value"],
                            one["unit"],
                            one["verdict"],
                            one["page"],
                            one["line"],
                        ]
                    )
    else:
        for line in columns(_rows(done)):
            click.echo(line)
    return 2 if problems else 0


def _rows(done: Evaluation) -> list[list[str]]:
    rows = []
    for result in done.blocks.values():
        for name, value in result.outcome.values.items():
            declared = result.block.calculator.results.get(name)
            safe = declared.q.safe if declared else "nearest"
            text = str(printed(value, safe, is_count=declared is not None and declared.kind == "count"))
            word = done.verdict(f"{result.block.name}.{name}")
            where = f"{result.block.page.file}:{result.block.place.line}"
            rows.append([f"{result.block.name}.{name}", text, verdict(word), where])
    return rows
