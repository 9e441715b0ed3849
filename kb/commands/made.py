"""What the commands that write pages share: an edition worked out, or its errors told."""

from __future__ import annotations

import click

from kb.commands.common import EXIT_ERRORS, tell
from kb.content.book import Edition
from kb.pages.edition import EditionPages
from kb.reckon import OpenBook, edition_problems


def checked_pages(opened: OpenBook, edition: Edition) -> EditionPages:
    """Work an edition out and return its pages; a book with errors tells them and ends the command."""
    done = opened.evaluate(edition)
    if problems := edition_problems(opened, done):
        tell(problems)
        many = f"{len(problems)} errors" if len(problems) > 1 else "one error"
        click.echo(f"keelbook: the book has {many}; no page was made", err=True)
        raise click.exceptions.Exit(EXIT_ERRORS)
    return EditionPages(opened, done)
