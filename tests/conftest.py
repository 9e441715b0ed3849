"""A book to test on, and the command line as a yard types it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import NamedTuple

import pytest

from kb.commands.main import main

MKDOCS = """\
site_name: A test book
docs_dir: content
plugins:
  - keelbook:
      units: us
"""


class Ran(NamedTuple):
    """What a command gave back."""

    code: int
    out: str
    err: str


BookMaker = Callable[[Mapping[str, str]], Path]
Command = Callable[..., Ran]


@pytest.fixture
def make_book(tmp_path: Path) -> BookMaker:
    """Return a function that writes a book of some files; settings stand in where none are given.

    Texts are written byte for byte. A second call adds to the same book.
    """

    def make(files: Mapping[str, str]) -> Path:
        root = tmp_path / "book"
        for name, text in {"mkdocs.yml": MKDOCS, **files}.items():
            path = root / name
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_bytes(text.encode())
        (root / "content").mkdir(exist_ok=True)
        return root

    return make


@pytest.fixture
def keelbook(capsys: pytest.CaptureFixture[str]) -> Command:
    """Return a function that runs `keelbook` with some arguments, on a book where one is given."""

    def run(*args: str, book: Path | None = None) -> Ran:
        before = [] if book is None else ["--book", str(book)]
        capsys.readouterr()
        with pytest.raises(SystemExit) as left:
            main([*before, *args])
        out, err = capsys.readouterr()
        assert isinstance(left.value.code, int)
        return Ran(left.value.code, out, err)

    return run
