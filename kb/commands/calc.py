"""`keelbook calc`: one calculator, straight from the shell."""

from __future__ import annotations

import shlex
from collections.abc import Iterator
from itertools import groupby
from pathlib import Path
from typing import Any

import click
from click.shell_completion import CompletionItem

from kb.calculators.declare import Calculator, Column, Parameter, Result
from kb.calculators.door import TableValue
from kb.calculators.plugins import Plugins, load_plugins
from kb.calculators.work import Worked, work
from kb.commands.common import columns, print_json, tell, verdict
from kb.content.book import is_book, read_settings
from kb.language.units import what_it_is
from kb.numbers.exports import calc_data, calculator_data
from kb.numbers.printed import printed
from kb.problem import BookError, Problem, offer

EXIT_USAGE = 64


def _plugins(root: Path) -> tuple[Plugins, list[Problem]]:
    """Load the installed plugins, and those of the book if there is one here."""
    return load_plugins(root, read_settings(root).without) if is_book(root) else load_plugins()


def _known(ctx: click.Context) -> dict[str, Calculator]:
    root: Path = ctx.find_root().params.get("book") or Path()
    return _plugins(root)[0].calculators


def _complete_name(ctx: click.Context, _: click.Parameter, incomplete: str) -> list[CompletionItem]:
    known = _known(ctx)
    return [
        CompletionItem(name, help=known[name].does) for name in sorted(known) if name.startswith(incomplete)
    ]


def _complete_value(ctx: click.Context, _: click.Parameter, incomplete: str) -> list[CompletionItem]:
    one = _known(ctx).get(ctx.params.get("name") or "")
    if one is None:
        return []
    name, equals, start = incomplete.partition("=")
    if equals and name in one.parameters:
        return [
            CompletionItem(f"{name}={word}")
            for word in one.parameters[name].choices
            if word.startswith(start)
        ]
    given = {value.partition("=")[0] for value in ctx.params.get("values") or ()}
    return [
        CompletionItem(f"{other}=")
        for other in one.parameters
        if other.startswith(name) and other not in given
    ]


@click.command()
@click.argument("name", required=False, shell_complete=_complete_name)
@click.argument("values", nargs=-1, metavar="[KEY=VALUE]…", shell_complete=_complete_value)
@click.option("--json", "as_json", is_flag=True, help="Print JSON.")
@click.pass_context
def calc(ctx: click.Context, name: str | None, values: tuple[str, ...], as_json: bool) -> int:
    """Run one calculator; without values explain it, without a name list them all.

    Sections and tables are JSON, or @FILE (CSV or JSON).
    """
    root: Path = ctx.find_root().obj
    plugins, problems = _plugins(root)
    tell(problems)
    if name is None:
        _list(plugins, as_json=as_json)
        return 0
    if name not in plugins.calculators:
        fix = offer(name, plugins.calculators, "`keelbook calc` lists them")
        raise click.UsageError(f"there is no calculator '{name}'; {fix}", ctx)
    calculator = plugins.calculators[name]
    if not values:
        if as_json:
            print_json(calculator_data(calculator))
        else:
            _explain(calculator)
        return 0
    try:
        worked = work(calculator, _texts(values, calculator, ctx), Path())
    except BookError as error:
        for problem in error.problems:
            click.echo(
                f"{_argument(problem.place.file, problem.place.column)}: {problem.what}; {problem.fix}",
                err=True,
            )
        return EXIT_USAGE
    if as_json:
        print_json(calc_data(worked))
    else:
        _print(worked)
    return 0


def _argument(name: str, column: int) -> str:
    return f"{name}:{column}" if column > 1 else name


def _texts(values: tuple[str, ...], calculator: Calculator, ctx: click.Context) -> dict[str, str]:
    texts: dict[str, str] = {}
    for value in values:
        key, equals, text = value.partition("=")
        if not equals or not key:
            example = next(iter(calculator.example.items()), ("length", "46 in"))
            raise click.UsageError(
                f"'{value}' is not KEY=VALUE; write one such as {shlex.quote('='.join(example))}", ctx
            )
        if key in texts:
            raise click.UsageError(f"'{key}' is given twice", ctx)
        texts[key] = text.strip()
    return texts


def _list(plugins: Plugins, *, as_json: bool) -> None:
    every = [one for plugin in plugins.plugins for one in plugin.calculators]
    known = [one for one in every if plugins.calculators[one.name] is one]
    if as_json:
        print_json(
            [
                {"calculator": one.name, "does": one.does, "plugin": one.plugin}
                for one in sorted(known, key=lambda one: one.name)
            ]
        )
        return
    lines = columns([[one.name, one.does] for one in known], "  ")
    for plugin, together in groupby(zip(known, lines, strict=True), key=lambda pair: pair[0].plugin):
        click.echo(plugin)
        for _, line in together:
            click.echo(line)
        click.echo()
    click.echo("`keelbook calc NAME` explains one.")


def _explain(calculator: Calculator) -> None:
    click.echo(f"{calculator.name}: {calculator.does}")
    if calculator.notes:
        click.echo(f"\n{calculator.notes}")
    if calculator.use:
        click.echo(f"\nUse it {calculator.use}")
    if calculator.not_for:
        click.echo(f"Not for {calculator.not_for}")
    if calculator.parameters:
        click.echo("\nTakes")
        for line in columns([_takes(one) for one in calculator.parameters.values()], "  "):
            click.echo(line)
    if calculator.results:
        click.echo("\nGives")
        for line in columns([_gives(one) for one in calculator.results.values()], "  "):
            click.echo(line)
    if calculator.limits:
        click.echo("\nLimits")
        rows = [[one.limit.name, one.limit.rule, one.limit.protects] for one in calculator.limits]
        for line in columns(rows, "  "):
            click.echo(line)
    click.echo("\nCautions")
    for caution in calculator.cautions:
        click.echo(f"  {caution.word.upper()}: {caution.text}")
    click.echo("  Local codes, the maker's instructions and licensed practice come first.")
    click.echo("\nSources")
    for source in calculator.sources:
        click.echo(f"  {source.title}: {source.what} ({source.standing})")
    if calculator.example:
        arguments = " ".join(shlex.quote(f"{key}={text}") for key, text in calculator.example.items())
        click.echo(f"\nTry\n  keelbook calc {calculator.name} {arguments}")


def _takes(one: Parameter) -> list[str]:
    what = {
        "choice": " or ".join(one.choices),
        "table": f"a table: {_columns(one.columns)}",
        "section": "a section: {shape: …} or [y, z] corners",
        "flag": "yes or no",
        "count": "a whole number",
        "text": "text",
        "number": "a plain number",
    }.get(one.kind) or f"{what_it_is(one.unit)} ({one.unit})"
    default = "needed" if one.required else f"else {one.default_text}"
    notes = [one.q.label, one.q.note]
    if one.q.valid:
        notes.append(one.q.valid.said(one.unit.name))
    if one.q.usual:
        notes.append(f"usually {one.q.usual.said(one.unit.name)}: {one.q.usual.why}")
    return [one.name, what, default, "; ".join(note for note in notes if note)]


def _columns(of: tuple[Column, ...]) -> str:
    return ", ".join(f"{column.name} ({column.unit})" if column.unit.name else column.name for column in of)


def _gives(one: Result) -> list[str]:
    safe = {"up": "rounded up", "down": "rounded down", "nearest": ""}[one.q.safe]
    what = f"a table: {_columns(one.columns)}" if one.kind == "table" else one.unit.name or one.kind
    how = f"= {one.q.rule}" if one.q.rule else one.q.method
    return [one.name, what, safe, f"{one.q.label}{': ' + how if how else ''}"]


def _print(worked: Worked) -> None:
    results = worked.calculator.results
    rows = []
    for name, value in worked.outcome.values.items():
        declared = results.get(name)
        safe = declared.q.safe if declared else "nearest"
        text = str(printed(value, safe, is_count=declared is not None and declared.kind == "count"))
        rows.append([name, text, declared.q.label if declared else ""])
    for line in columns(rows):
        click.echo(line)
    for name, value in worked.outcome.values.items():
        if isinstance(value, TableValue):
            click.echo(f"\n{name}")
            for line in _table(value):
                click.echo(line)
    for judged in worked.limits:
        margin = f", margin {printed(judged.margin)}" if judged.margin is not None else ""
        click.echo(f"{verdict(judged.verdict)}: {judged.rule}{margin} ({judged.protects})")
    for remark in worked.outcome.remarks:
        click.echo(f"note: {remark.text}")


def _table(value: TableValue) -> Iterator[str]:
    rows: list[list[Any]] = [
        [f"{column.name} ({column.unit})" if column.unit.name else column.name for column in value.columns]
    ]
    rows += [[f"{cell:.4g}" if isinstance(cell, float) else str(cell) for cell in row] for row in value.rows]
    return iter(columns(rows, "  "))
