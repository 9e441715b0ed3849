"""Skeletons: pages and cards rendered once, with every value that calculation gives left as a slot.

A slot is marked by its key between two NUL characters. No text of a book holds a NUL: Markdown replaces it,
and YAML refuses it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from markupsafe import Markup

_MARK = "\0"


@dataclass(frozen=True, slots=True)
class Skeleton:
    """Text and slots in turn: `texts` has one more than `keys`."""

    texts: tuple[str, ...]
    keys: tuple[str, ...]

    def fill(self, values: Mapping[str, str]) -> str:
        """Return the text with its slots filled. Raises `KeyError` for a slot that has no value."""
        parts = [""] * (2 * len(self.keys) + 1)
        parts[::2] = self.texts
        parts[1::2] = [values[key] for key in self.keys]
        return "".join(parts)


def slot(key: str) -> Markup:
    """Return the mark of a slot, which templates leave as it is."""
    return Markup(f"{_MARK}{key}{_MARK}")


def split(text: str) -> Skeleton:
    """Part a text at its marks.

    >>> split(f"It holds {slot('gross')}.").fill({"gross": "84.7 gal"})
    'It holds 84.7 gal.'
    """
    parts = text.split(_MARK)
    return Skeleton(tuple(parts[::2]), tuple(parts[1::2]))
