"""`keelbook build`: editions as folders of plain files."""

from __future__ import annotations

import logging
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import click
from jinja2 import TemplateError

from kb.commands.common import EXIT_LIMIT, book_folder, broken
from kb.commands.made import checked_pages
from kb.content.book import MODEL, PUBLIC, SETTINGS
from kb.numbers.exports import edition_limits
from kb.pages.edition import EditionPages
from kb.problem import BookError, Place, Problem
from kb.publish import check_place, replaced
from kb.reckon import open_book
from kb.shell import write_site

EDITIONS = {"shop": MODEL, "public": PUBLIC}


@click.command()
@click.option(
    "--edition",
    type=click.Choice([*EDITIONS, "all"]),
    default="shop",
    help="For the shop, for the public, or both.",
    show_default=True,
)
@click.option(
    "--site",
    type=click.Path(path_type=Path, file_okay=False),
    metavar="DIR",
    help="Where editions go; each is a folder in it. [default: site, in the book's folder]",
)
@click.option("--strict", is_flag=True, help="Exit 1 where a limit is outside or cannot be told.")
@click.pass_context
def build(ctx: click.Context, edition: str, site: Path | None, strict: bool) -> int:
    """Build the book: pages that open from a server, from a disk, and on paper.

    A book with errors is not built, and the last good one stays in place.
    """
    root = book_folder(ctx)
    start = time.perf_counter()
    opened = open_book(root)
    chosen = EDITIONS if edition == "all" else {edition: EDITIONS[edition]}
    folders = [(site or root / "site") / name for name in chosen]
    for folder in folders:
        check_place(folder)
    made = [checked_pages(opened, one) for one in chosen.values()]
    for name, pages, folder in zip(chosen, made, folders, strict=True):
        with replaced(folder) as empty, _progress(name) as progress:
            _write(root, pages, empty, progress)
        took = time.perf_counter() - start
        click.echo(f"{name} edition: {len(pages.addresses)} pages in {took:.1f} s, {folder / 'index.html'}")
        start = time.perf_counter()
    worse = broken(edition_limits(made[0].done))
    if worse:
        many = "one limit is" if worse == 1 else f"{worse} limits are"
        click.echo(f"{many} outside or cannot be told; `keelbook check` names them", err=True)
    return EXIT_LIMIT if strict and worse else 0


def _write(root: Path, pages: EditionPages, folder: Path, progress: Callable[[int, int], None]) -> None:
    """Write an edition into a folder; MkDocs does it where the settings ask for something of its own.

    The small shell writes the same bytes in less time.
    """
    if pages.opened.book.settings.is_plain:
        write_site(pages, folder, progress)
    else:
        _through_mkdocs(root, pages, folder, progress)


def _through_mkdocs(
    root: Path, pages: EditionPages, folder: Path, progress: Callable[[int, int], None]
) -> None:
    # Here, since few books need MkDocs and it is slow to load.
    from mkdocs.commands.build import build as mkdocs_build
    from mkdocs.config import load_config
    from mkdocs.exceptions import MkDocsException

    from kb.site import Keelbook

    logging.getLogger("mkdocs").setLevel(logging.WARNING)
    with _mkdocs_told() as told:
        try:
            config = load_config(str(root / SETTINGS), site_dir=str(folder.resolve()))
        except MkDocsException as error:
            what = f"MkDocs cannot use this ({'; '.join(told) or error})"
            raise BookError([Problem(Place(SETTINGS), what, "mend it")]) from None
    plugin = config.plugins.get("keelbook")
    if not isinstance(plugin, Keelbook):
        where = Place(SETTINGS)
        raise BookError([Problem(where, "the plugin keelbook is not named", "write plugins: [keelbook]")])
    plugin.prepare(pages, progress)
    try:
        config.plugins.on_startup(command="build", dirty=False)
        mkdocs_build(config)
    except (MkDocsException, TemplateError) as error:
        what = f"MkDocs cannot build this ({error})"
        raise BookError([Problem(Place(SETTINGS), what, "mend it")]) from None
    finally:
        config.plugins.on_shutdown()


@contextmanager
def _mkdocs_told() -> Iterator[list[str]]:
    """Give what MkDocs says of its settings, which it would only print."""
    told: list[str] = []
    handler = logging.Handler(logging.ERROR)
    handler.emit = lambda record: told.append(record.getMessage())  # type: ignore[method-assign]
    logger = logging.getLogger("mkdocs")
    logger.addHandler(handler)
    try:
        yield told
    finally:
        logger.removeHandler(handler)


@contextmanager
def _progress(name: str) -> Iterator[Callable[[int, int], None]]:
    """Give what tells the progress: a line that is written over on a terminal, nothing elsewhere."""
    if not sys.stderr.isatty():
        yield lambda done, of: None
        return
    last = -1.0

    def tell_progress(done: int, of: int) -> None:
        nonlocal last
        now = time.perf_counter()
        if now - last > 0.1 or done == of:
            last = now
            click.echo(f"\r{name} edition: page {done} of {of}", nl=False, err=True)

    try:
        yield tell_progress
    finally:
        click.echo("\r\033[K", nl=False, err=True)
