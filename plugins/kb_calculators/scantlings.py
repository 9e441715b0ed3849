"""The one wording of what no calculator of this book does: set structure."""

from __future__ import annotations

from kb import Caution

NOT_SCANTLINGS = Caution(
    "warning", "Not a scantling calculation: structure is set by a qualified designer, never by this result."
)
NOT_FOR_SCANTLINGS = "scantlings: structure is set by a qualified designer."
