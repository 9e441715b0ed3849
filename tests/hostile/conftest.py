"""Books that mean harm, built as a yard builds them."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

import pytest

from tests.hostile.reading import Reading

if TYPE_CHECKING:
    from tests.conftest import BookMaker, Command

SETTINGS = """\
site_name: A test book
docs_dir: content
theme: keelbook
use_directory_urls: false
plugins:
  - keelbook:
      units: us
      without: [tanks]
"""
HEAD = "---\ntitle: A sheet\nnumber: S-1\nstage: systems\n---\n"
MODEL = "size: 4 in\nflag: no\n"
DOT = "\x89PNG\r\n\x1a\n"


class Built(NamedTuple):
    """What became of a book: its exit code, its messages, and where its site would be."""

    code: int
    said: str
    site: Path

    @property
    def pages(self) -> dict[str, Reading]:
        """Every page of the site, read."""
        return {
            path.relative_to(self.site).as_posix(): Reading(path.read_text(encoding="utf-8"))
            for path in sorted(self.site.rglob("*.html"))
        }


Builder = Callable[..., Built]


@pytest.fixture
def built(make_book: BookMaker, keelbook: Command) -> Builder:
    """Return a function that builds a book of some files anew; a later call adds to the same book."""

    def build(files: Mapping[str, str], edition: str = "shop") -> Built:
        texts = {"mkdocs.yml": SETTINGS, "content/inputs/model.yml": MODEL, "content/dot.png": DOT, **files}
        root = make_book(texts)
        shutil.rmtree(root / "site", ignore_errors=True)
        ran = keelbook("build", "--edition", edition, book=root)
        return Built(ran.code, ran.out + ran.err, root / "site" / edition)

    return build
