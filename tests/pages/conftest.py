"""Books built through the command, and their pages read as trees."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from tests.pages.site_tree import ROOT, Site, fill, site_of

if TYPE_CHECKING:
    from tests.conftest import BookMaker, Command


BookBuilder = Callable[..., Site]


@pytest.fixture
def settled(make_book: BookMaker) -> BookMaker:
    """Return `make_book` with the theme named and a small yard's calculators; pictures are one dot."""

    def make(files: Mapping[str, str]) -> Path:
        return fill(make_book({}), files)

    return make


@pytest.fixture
def build(settled: BookMaker, keelbook: Command, tmp_path: Path) -> BookBuilder:
    """Return a function that builds a book of some files, and gives its site."""

    def built(files: Mapping[str, str], edition: str = "shop") -> Site:
        place = tmp_path / "out"
        ran = keelbook("build", "--edition", edition, "--site", str(place), book=settled(files))
        assert ran.code == 0, ran.err
        return Site(place / edition)

    return built


@pytest.fixture(scope="session")
def demonstration(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a copy of the demonstration book."""
    root = tmp_path_factory.mktemp("demonstration") / "book"
    root.mkdir()
    shutil.copy(ROOT / "mkdocs.yml", root)
    shutil.copytree(ROOT / "content", root / "content")
    return root


@pytest.fixture(scope="session")
def demo(demonstration: Path) -> Site:
    """Return the demonstration book as the shop reads it."""
    return site_of(demonstration)
