"""The small shell: an edition written to a folder with the theme's one template, without MkDocs."""

from __future__ import annotations

import posixpath
import shutil
from collections.abc import Callable
from dataclasses import dataclass
from importlib.resources import as_file, files
from pathlib import Path

from jinja2 import Environment, PackageLoader, StrictUndefined

from kb.content.addresses import up
from kb.pages.edition import EditionPages

Progress = Callable[[int, int], None]
"""Called with the number of pages made and of all pages."""


@dataclass(frozen=True, slots=True)
class _Page:
    title: str
    content: str


@dataclass(frozen=True, slots=True)
class _Config:
    site_name: str


def write_site(pages: EditionPages, folder: Path, progress: Progress = lambda done, of: None) -> None:
    """Write an edition into a folder: its pages, pictures and data, and the theme's files."""
    template = Environment(
        loader=PackageLoader("kb_theme", ""), autoescape=False, undefined=StrictUndefined
    ).get_template("main.html")  # the template escapes what needs it, as MkDocs' environment asks
    with as_file(files("kb_theme") / "assets") as assets:
        shutil.copytree(assets, folder / "assets", dirs_exist_ok=True)
    config = _Config(pages.opened.book.settings.name)
    of = len(pages.addresses)
    for done, page in enumerate(pages.pages(), 1):
        base = posixpath.normpath(up(page.address) or ".")
        html = template.render(page=_Page(page.title, page.html), config=config, base_url=base)
        _write(folder / page.address, html)
        progress(done, of)
    for address, text in pages.data.items():
        _write(folder / address, text)
    content = pages.opened.book.root / pages.opened.book.settings.content
    for address in pages.pictures:
        (folder / address).parent.mkdir(parents=True, exist_ok=True)
        shutil.copyfile(content / address, folder / address)


def _write(path: Path, text: str) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(text.encode())
