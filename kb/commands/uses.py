"""`keelbook uses NAME`: everything that rests on an input or a number."""

from __future__ import annotations

import click

from kb.commands.common import book_folder, columns, print_json, tell
from kb.numbers.graph import resting_on
from kb.problem import offer
from kb.reckon import open_book


@click.command()
@click.argument("name")
@click.option("--json", "as_json", is_flag=True, help="Print the uses as JSON.")
@click.pass_context
def uses(ctx: click.Context, name: str, as_json: bool) -> int:
    """Print everything that rests on NAME: an input, a group of inputs, a block or a number."""
    opened = open_book(book_folder(ctx))
    done = opened.evaluate()
    bindings = opened.graph.bindings
    known = [*done.values, *done.inputs.groups, *bindings.blocks]
    for layer in done.layers:
        known.extend([*layer.inputs, *layer.groups])
    for block in bindings.blocks.values():
        known.extend(f"{block.name}.{result}" for result in block.result_names)
    if name not in known:
        raise click.UsageError(
            f"there is no name '{name}'; {offer(name, known, '`keelbook numbers` lists them')}", ctx
        )
    found = resting_on(opened.graph, name)
    if as_json:
        print_json(
            {
                "name": name,
                "uses": [
                    {
                        "kind": use.kind,
                        "user": use.user,
                        "through": use.name,
                        "distance": distance,
                        "page": use.page,
                        "file": use.place.file,
                        "line": use.place.line,
                        "column": use.place.column,
                    }
                    for use, distance in found
                ],
            }
        )
        return 0
    tell(opened.problems)
    if not found:
        click.echo(f"nothing rests on '{name}'")
    rows = [
        [
            str(use.place),
            f"{use.kind} {use.user}".strip(),
            f"uses {use.name}" + (" (through others)" if distance > 1 else ""),
        ]
        for use, distance in found
    ]
    for line in columns(rows):
        click.echo(line)
    return 0
