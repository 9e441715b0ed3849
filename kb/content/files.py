"""Reading the files of a book: as UTF-8 text, and none that lies outside the book."""

from __future__ import annotations

from os import sep
from os.path import realpath
from pathlib import Path

from kb.problem import Place, Problem


def leads_out(root: Path, path: Path) -> bool:
    """Tell whether a path inside a book's folder leads out of it, by a link or by dots."""
    top, real = realpath(root), realpath(path)
    return real != top and not real.startswith(top.rstrip(sep) + sep)


def read_text(root: Path, file: str) -> tuple[str | None, list[Problem]]:
    """Read a file of the book; None where it cannot be read, with why."""
    path = root / file
    if leads_out(root, path):
        return None, [Problem(Place(file), "this file leads out of the book", "copy it into the book")]
    try:
        return path.read_text(encoding="utf-8-sig"), []
    except UnicodeDecodeError:
        return None, [Problem(Place(file), "this file is not UTF-8 text", "save it as UTF-8")]
    except OSError as error:
        return None, [Problem(Place(file), f"this file cannot be read ({error.strerror})", "check it")]
