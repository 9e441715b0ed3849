"""Putting a finished edition in the place of the last one, whole or not at all."""

from __future__ import annotations

import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from kb.problem import BookError, Place, Problem

_OURS = '<meta name="generator" content="Keelbook">'


def check_place(folder: Path) -> None:
    """Raise `BookError` where a place holds something else than an edition."""
    if not _may_go(folder):
        raise BookError(
            [Problem(Place(str(folder)), "this folder holds something else than an edition", "name another")]
        )


@contextmanager
def replaced(folder: Path) -> Iterator[Path]:
    """Give an empty folder that takes the place of `folder` when all has gone well.

    Raises `BookError` where the system does not let it be written or replaced.
    """
    folder = folder.resolve()  # what a link points to is replaced, not the link
    try:
        with _swapped(folder) as new:
            yield new
    except OSError as error:
        what = f"the edition cannot be put here ({error.strerror or error})"
        fix = "close what holds the folder open, or name another"
        raise BookError([Problem(Place(str(folder)), what, fix)]) from None


@contextmanager
def _swapped(folder: Path) -> Iterator[Path]:
    folder.parent.mkdir(parents=True, exist_ok=True)
    new = Path(tempfile.mkdtemp(prefix=f".{folder.name}-", dir=folder.parent))
    old = new.with_name(f"{new.name}-old")
    try:
        yield new
        new.chmod(0o755)
        if folder.exists():
            folder.rename(old)
        new.rename(folder)
    except BaseException:
        if old.exists() and not folder.exists():
            old.rename(folder)
        raise
    finally:
        for left in (new, old):
            shutil.rmtree(left, ignore_errors=True)


def _may_go(folder: Path) -> bool:
    """Tell whether a folder is empty, not there, or an edition that we made."""
    if not folder.exists() or (folder.is_dir() and not any(folder.iterdir())):
        return True
    first = folder / "index.html"
    if (folder / ".git").exists():
        return False  # a history stands there, which would be lost
    return first.is_file() and _OURS in first.read_text(encoding="utf-8", errors="replace")
