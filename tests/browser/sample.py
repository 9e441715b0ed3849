"""Which of many pages a test goes through."""

from __future__ import annotations

import os
from collections.abc import Iterable
from pathlib import Path


def some(pages: Iterable[Path], count: int = 10) -> list[Path]:
    """Return pages spread over all of them, enough for every run; `make fuzz` goes through every one."""
    every = sorted(pages)
    if os.environ.get("KEELBOOK_LONG"):
        return every
    step = max(1, len(every) // count)
    return every[::step]
