"""Sheets on paper: pages of a site printed to one PDF by the Chromium of this machine."""

from __future__ import annotations

import os
import shutil
import subprocess
import tempfile
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from pypdf import PdfWriter

from kb.problem import BookError, Place, Problem

Paper = Literal["a4", "letter"]
PAPERS: tuple[Paper, ...] = ("a4", "letter")
_BROWSERS = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable", "chrome", "msedge")
_MOST_SECONDS = 120


@dataclass(frozen=True, slots=True)
class ToPrint:
    """A page to be printed: its file, and the title it has among the bookmarks of the PDF."""

    file: Path
    title: str


def find_browser(out: Path) -> Path:
    """Return the Chromium that is installed here. Raises `BookError` where there is none to print `out`."""
    for name in _BROWSERS:
        if (found := shutil.which(name)) is not None:
            return Path(found)
    what = f"there is no Chromium to print with ({', '.join(_BROWSERS[:3])} were looked for)"
    raise BookError([Problem(Place(str(out)), what, "install one, or print the pages from your browser")])


def print_pages(pages: Sequence[ToPrint], out: Path) -> int:
    """Print pages to one PDF, each with page numbers of its own; return the number of paper sheets.

    Raises `BookError` where there is no browser, or where it does not print.
    """
    browser = find_browser(out)
    writer = PdfWriter()
    with tempfile.TemporaryDirectory(prefix="keelbook-print-") as folder:
        for number, page in enumerate(pages):
            one = Path(folder) / f"{number}.pdf"
            _print(browser, page, one, Path(folder) / "profile")
            writer.append(one, outline_item=page.title)
        sheets = len(writer.pages)
        whole = Path(folder) / "whole.pdf"
        writer.write(whole)
        _put(whole, out)
    return sheets


def _print(browser: Path, page: ToPrint, out: Path, profile: Path) -> None:
    command = [
        str(browser),
        "--headless",
        "--disable-gpu",
        "--no-pdf-header-footer",
        f"--user-data-dir={profile}",
        f"--print-to-pdf={out}",
        page.file.resolve().as_uri(),
    ]
    if getattr(os, "geteuid", lambda: 1)() == 0:
        command.insert(1, "--no-sandbox")  # Chromium does not run as root with it
    try:
        ran = subprocess.run(command, capture_output=True, text=True, timeout=_MOST_SECONDS, check=False)
    except (OSError, subprocess.TimeoutExpired) as error:
        raise _failed(page, str(error)) from None
    if ran.returncode or not out.is_file():
        raise _failed(page, ran.stderr.strip().splitlines()[-1] if ran.stderr.strip() else "no PDF came out")


def _failed(page: ToPrint, why: str) -> BookError:
    what = f"Chromium did not print '{page.title}' ({why})"
    return BookError([Problem(Place(page.file.name), what, "try again, or print the page from your browser")])


def _put(whole: Path, out: Path) -> None:
    """Put the finished PDF in its place, whole or not at all."""
    try:
        out.parent.mkdir(parents=True, exist_ok=True)
        near = out.with_name(f".{out.name}.part")
        shutil.copyfile(whole, near)
        near.replace(out)
    except OSError as error:
        what = f"the PDF cannot be put here ({error.strerror or error})"
        raise BookError([Problem(Place(str(out)), what, "name another file with --pdf")]) from None
