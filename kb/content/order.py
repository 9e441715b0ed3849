"""The order of the pages as the boat is built."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence

from kb.content.page import Page

_FIGURES = re.compile(r"(\d+)")


def in_build_order(pages: Iterable[Page], stages: Sequence[str]) -> list[Page]:
    """Sort pages by stage, sheet number and title; those of no stage stand last."""
    return sorted(pages, key=lambda page: _place(page, stages))


def _place(page: Page, stages: Sequence[str]) -> tuple[object, ...]:
    stage = page.head.stage.text if page.head.stage else ""
    number = page.head.number.text if page.head.number else "~"
    natural = tuple(int(part) if part.isdecimal() else part for part in _FIGURES.split(number))
    return stages.index(stage) if stage in stages else len(stages), natural, page.head.title, page.file
