"""The keelbook command: its groups, exit codes and messages."""

from __future__ import annotations

import gc
import os
import sys
from collections.abc import Iterable
from pathlib import Path

import click

from kb.commands.build import build
from kb.commands.calc import calc
from kb.commands.check import check
from kb.commands.common import EXIT_ERRORS
from kb.commands.numbers import numbers
from kb.commands.printing import print_sheets, verify
from kb.commands.sequence import sequence
from kb.commands.start import start
from kb.commands.takeoff import takeoff
from kb.commands.uses import uses
from kb.problem import BookError, nearest

EXIT_USAGE = 64


class Commands(click.Group):
    """The group of commands; a mistyped one is answered with the nearest."""

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """Find a command, or say which was probably meant."""
        if args and not args[0].startswith("-") and self.get_command(ctx, args[0]) is None:
            near = nearest(args[0], self.list_commands(ctx))
            advice = f"did you mean '{near}'?" if near else f"there are {', '.join(self.list_commands(ctx))}"
            raise click.UsageError(f"there is no command '{args[0]}'; {advice}", ctx)
        return super().resolve_command(ctx, args)


@click.group(cls=Commands, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(package_name="keelbook", message="%(prog)s %(version)s")
@click.option(
    "--book",
    "book",
    type=click.Path(path_type=Path, file_okay=False),
    default=Path(),
    metavar="DIR",
    help="The book's folder, if it is not this one.",
)
@click.pass_context
def keelbook(ctx: click.Context, book: Path) -> None:
    """Build a yard's manual whose numbers always come from the current inputs."""
    ctx.obj = book


for command in (build, calc, check, numbers, print_sheets, sequence, start, takeoff, uses, verify):
    keelbook.add_command(command)


def run() -> None:
    """Run the command as a process of its own."""
    # The process ends before a collection would pay; walking a whole book's objects doubles the time, and
    # giving them back one by one at the end takes seconds.
    gc.disable()
    try:
        main()
    except SystemExit as left:
        sys.stdout.flush()
        sys.stderr.flush()
        os._exit(left.code if isinstance(left.code, int) else 1)


def main(args: Iterable[str] | None = None) -> None:
    """Run the command; wrong use of it exits 64, a book with errors 2."""
    try:
        outcome = keelbook.main(
            args=None if args is None else list(args), prog_name="keelbook", standalone_mode=False
        )
    except click.UsageError as error:
        context = f"\n{error.ctx.get_usage()}" if error.ctx else ""
        click.echo(f"keelbook: {error.format_message()}{context}", err=True)
        sys.exit(EXIT_USAGE)
    except click.Abort:
        sys.exit(130)
    except BookError as error:
        for problem in error.problems:
            click.echo(str(problem), err=True)
        sys.exit(EXIT_ERRORS)
    sys.exit(outcome if isinstance(outcome, int) else 0)
