"""The HTML checker is alive: one that reads nothing would pass every page."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from tests.markup.conftest import Invalid

GOOD = '<!doctype html>\n<html lang="en"><title>Tank</title><p>46½ in</p></html>\n'


def test_a_valid_page_passes_and_a_wrong_one_in_a_folder_is_named(invalid: Invalid, tmp_path: Path) -> None:
    good = tmp_path / "good.html"
    good.write_text(GOOD, encoding="utf-8")
    assert invalid(good) == []
    wrong = tmp_path / "deep" / "wrong.html"
    wrong.parent.mkdir()
    wrong.write_text(GOOD.replace("<p>", "<p><table>"), encoding="utf-8")
    told = invalid(tmp_path)
    assert told
    assert all("deep/wrong.html:2: " in line for line in told)
