"""`keelbook print` and `keelbook verify`: sheets on paper, and whether a printed one is still current."""

from __future__ import annotations

import re
import tempfile
from collections.abc import Iterator
from pathlib import Path

import click

from kb.commands.common import book_folder, edition_of
from kb.commands.made import checked_pages
from kb.content.book import MODEL
from kb.content.page import Page
from kb.pages.edition import EditionPages
from kb.paper import PAPERS, ToPrint, find_browser, print_pages
from kb.problem import offer
from kb.reckon import OpenBook, open_book
from kb.shell import write_site

EXIT_STALE = 1
_CODE = re.compile(r"([0-9A-Z]{4})-?([0-9A-Z]{4})")


@click.command("print")
@click.option("--procedure", "ids", multiple=True, metavar="ID", help="One sheet; may be given again.")
@click.option("--hull", metavar="ID", help="The sheets of one hull.")
@click.option("--paper", type=click.Choice(PAPERS), help="[default: letter, or a4 in a metric book]")
@click.option("--pdf", "file", required=True, type=click.Path(path_type=Path, dir_okay=False), metavar="FILE")
@click.pass_context
def print_sheets(
    ctx: click.Context, ids: tuple[str, ...], hull: str | None, paper: str | None, file: Path
) -> int:
    """Print sheets to a PDF, each with its frame, its title block and its code on every page."""
    opened = open_book(book_folder(ctx))
    pages = checked_pages(opened, edition_of(opened, hull, ctx))
    pages.with_marks = True
    paper = paper or ("a4" if opened.book.settings.units == "metric" else "letter")
    chosen = [_page(pages, name, ctx) for name in ids] if ids else list(pages.view.pages)
    find_browser(file)  # where there is none, nothing has to be built
    with tempfile.TemporaryDirectory(prefix="keelbook-sheets-") as folder:
        site = Path(folder)
        write_site(pages, site)
        with (site / "assets" / "book.css").open("a", encoding="utf-8") as css:
            css.write(f"\n@page {{ size: {paper}; }}\n")
        sheets = print_pages([_to_print(pages, site, page) for page in chosen], file)
    many = "one sheet" if len(chosen) == 1 else f"{len(chosen)} sheets"
    on = "one page" if sheets == 1 else f"{sheets} pages"
    click.echo(f"{many} on {on} of {'A4' if paper == 'a4' else 'US Letter'}: {file}")
    return 0


def _page(pages: EditionPages, name: str, ctx: click.Context) -> Page:
    """Return the page of an id or a sheet number."""
    by_number = {page.head.number.text: page for page in pages.view.pages if page.head.number}
    same = {number.casefold(): page for number, page in by_number.items()}
    found = pages.view.pages_by_id.get(name) or same.get(name.casefold())
    if found is None:
        known = [*pages.view.pages_by_id, *by_number]
        fix = offer(name, known, "name a sheet by its number or by its file")
        raise click.UsageError(f"there is no sheet '{name}'; {fix}", ctx)
    return found


def _to_print(pages: EditionPages, site: Path, page: Page) -> ToPrint:
    number = f"{page.head.number.text} " if page.head.number else ""
    return ToPrint(site / pages.view.addresses[page.file], f"{number}{page.head.title}")


@click.command()
@click.argument("code")
@click.pass_context
def verify(ctx: click.Context, code: str) -> int:
    """Tell whether a printed sheet is still current, by the code in its title block.

    Exit 0: it is current. 1: no sheet has this code now, and the printed copy is void.
    """
    match = _CODE.fullmatch(code.strip().upper().replace("O", "0").replace("I", "1").replace("L", "1"))
    if match is None:
        raise click.UsageError(f"'{code}' is no sheet code; it reads like 7K3D-9M2Q", ctx)
    wanted = f"{match[1]}-{match[2]}"
    opened = open_book(book_folder(ctx))
    current = list(dict.fromkeys(_sheets_with(opened, wanted)))
    for line in current:
        click.echo(f"current: {line}")
    if not current:
        click.echo(f"void: no sheet has the code {wanted} now; fetch a new copy before you work")
    return 0 if current else EXIT_STALE


def _sheets_with(opened: OpenBook, code: str) -> Iterator[str]:
    """Go through the sheets of the model and of every hull that have a code now."""
    editions = [MODEL, *map(opened.book.hull_edition, opened.book.hulls)]
    for edition in editions:
        pages = checked_pages(opened, edition)
        for page in pages.view.pages:
            if pages.fingerprint(page) == code:
                number = f"{page.head.number.text} " if page.head.number else ""
                yield f"{number}{page.head.title}, {edition.hull or 'model'}"
