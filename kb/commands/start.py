"""`keelbook start`: a new book, small enough to be read whole on the first day."""

from __future__ import annotations

import shlex
import shutil
from importlib.resources import as_file, files
from importlib.resources.abc import Traversable
from pathlib import Path

import click

from kb.content.book import SETTINGS

_CHECKOUT = Path(__file__).parents[2]
_COMPILED = shutil.ignore_patterns("__pycache__")


@click.command()
@click.argument("folder", metavar="DIR", type=click.Path(path_type=Path, file_okay=False))
@click.option("--demonstration", is_flag=True, help="Copy the demonstration yard's book instead.")
@click.pass_context
def start(ctx: click.Context, folder: Path, demonstration: bool) -> int:
    """Make a new book in DIR: a small one that builds, to be changed into your own."""
    if folder.exists() and any(folder.iterdir()):
        raise click.UsageError(f"'{folder}' is not empty; name a new folder", ctx)
    with as_file(_demonstration() if demonstration else files("kb") / "starter") as source:
        folder.mkdir(parents=True, exist_ok=True)
        shutil.copy(source / SETTINGS, folder / SETTINGS)
        shutil.copytree(source / "content", folder / "content", dirs_exist_ok=True)
        if not demonstration:
            shutil.copytree(source / "plugins", folder / "plugins", ignore=_COMPILED)
    click.echo(f"a new book is in {folder}; now:")
    click.echo(f"  cd {shlex.quote(str(folder))}")
    click.echo("  keelbook check     what is wrong, with file and line")
    click.echo("  keelbook build     the pages, in site/shop/index.html")
    return 0


def _demonstration() -> Traversable:
    """Return the demonstration book: inside the package when installed, at the top of a checkout."""
    shipped = files("kb") / "demonstration"
    return shipped if shipped.is_dir() else _CHECKOUT
