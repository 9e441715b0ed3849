"""Where each file of the content stands in a site, and the way from one page to another."""

from __future__ import annotations

import posixpath
from functools import lru_cache
from urllib.parse import quote

from kb.content.anchors import slug_words
from kb.content.reference import Reference

LISTS = (
    "numbers", "inputs", "limits", "hold_points", "weights", "takeoff", "sequence", "calculators",
    "glossary", "board",
)  # fmt: skip
"""The lists that the book makes itself; they stand at the top of a site."""
PICTURES = (".avif", ".gif", ".jpeg", ".jpg", ".png", ".svg", ".webp")
"""Files that a page may show; no other file of the content reaches a site."""
NEVER = ("inputs", "hulls", "revisions", "reference", "templates")
"""Folders of the content from which nothing reaches a site; `templates` is hidden by MkDocs too."""


def page_address(file: str, content: str) -> str:
    """Return the address of a page in a site.

    >>> page_address("content/procedures/systems/bed-tank.md", "content")
    'procedures/systems/bed-tank.html'
    """
    return f"{file.removeprefix(content + '/').removesuffix('.md')}.html"


def stage_address(stage: str) -> str:
    """Return the address of a stage's own page.

    >>> stage_address("water test")
    'stages/water-test.html'
    """
    return f"stages/{'-'.join(slug_words(stage))}.html"


def list_address(name: str) -> str:
    """Return the address of one of the book's own lists."""
    return f"{name}.html"


def list_words(name: str) -> str:
    """Return what one of the book's own lists is called; its address is spelt as its command is.

    >>> list_words("takeoff"), list_words("hold_points")
    ('take-off', 'hold points')
    """
    return "take-off" if name == "takeoff" else name.replace("_", " ")


def lists_of(reference: Reference) -> tuple[str, ...]:
    """Return the lists that a book makes: a glossary only where it explains a word."""
    return tuple(name for name in LISTS if name != "glossary" or reference.terms)


def calculator_address(name: str) -> str:
    """Return the address of the page that explains a calculator."""
    return f"calculators/{name}.html"


def way(here: str, there: str, anchor: str = "") -> str:
    """Return the relative address of a page, or of an anchor on it, as seen from another.

    >>> way("procedures/systems/bed-tank.html", "board.html")
    '../../board.html'
    """
    if here == there and anchor:
        return f"#{quote(anchor)}"
    path = _from_folder(here.rpartition("/")[0], there)
    return f"{path}#{quote(anchor)}" if anchor else path


@lru_cache(maxsize=100_000)
def _from_folder(folder: str, there: str) -> str:
    return quote(posixpath.relpath(there, folder or "."))


def up(here: str) -> str:
    """Return the way from a page to the top of its site, with a closing slash where it is not empty."""
    return "../" * here.count("/")
