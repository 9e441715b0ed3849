"""`keelbook uses`: everything that rests on an input or a number."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

if TYPE_CHECKING:
    from tests.conftest import BookMaker, Command

FILES = {
    "content/a.md": "---\ntitle: A\n---\n```calc halve one\nsize: hole.size\n```\n\nIt is {{ one.half }}.\n",
    "content/b.md": (
        "---\ntitle: B\n---\n```calc halve two\nsize: one.half\nlimits:\n  room: half <= hole.room\n```\n\n"
        "```limit fits\nrule: two.half <= 9 in\n```\n\n:::when hole.size > 1 in\nBig.\n:::\n"
    ),
    "content/inputs/model.yml": "hole:\n  size: 8 in\n  room: 3 in\n  idle: 1 in\n",
}


@pytest.fixture
def sample(make_book: BookMaker, yard: dict[str, str]) -> Path:
    return make_book({**yard, **FILES})


def found(keelbook: Command, book: Path, name: str) -> list[dict[str, Any]]:
    uses: list[dict[str, Any]] = json.loads(keelbook("uses", name, "--json", book=book).out)["uses"]
    return uses


def test_everything_is_told_once_with_its_place_and_how_far_away_it_is(
    keelbook: Command, sample: Path
) -> None:
    uses = [
        (use["kind"], use["user"], use["distance"], f"{use['file']}:{use['line']}:{use['column']}")
        for use in found(keelbook, sample, "hole.size")
    ]

    assert sorted(uses) == [
        ("block", "one", 1, "content/a.md:5:7"),
        ("block", "two", 2, "content/b.md:5:7"),
        ("limit", "fits", 3, "content/b.md:11:7"),
        ("text", "", 2, "content/a.md:8:10"),
        ("when", "", 1, "content/b.md:14:9"),
    ]


def test_a_block_s_own_limit_is_a_use(keelbook: Command, sample: Path) -> None:
    (use, *_) = found(keelbook, sample, "hole.room")

    assert (use["user"], use["file"], use["line"]) == ("two", "content/b.md", 7)


@pytest.mark.parametrize("name", ["hole", "one", "one.half", "hole.size"])
def test_a_group_a_block_a_number_and_an_input_can_be_asked_for(
    keelbook: Command, sample: Path, name: str
) -> None:
    ran = keelbook("uses", name, book=sample)

    assert ran.code == 0
    assert "content/b.md:5:7" in ran.out


def test_what_nothing_rests_on_is_said_in_words(keelbook: Command, sample: Path) -> None:
    ran = keelbook("uses", "hole.idle", book=sample)

    assert (ran.code, ran.err) == (0, "")
    assert "nothing" in ran.out


def test_a_mistyped_name_is_wrong_use_and_the_nearest_is_offered(keelbook: Command, sample: Path) -> None:
    ran = keelbook("uses", "hole.sise", book=sample)

    assert (ran.code, ran.out) == (64, "")
    assert "'hole.size'" in ran.err


def test_a_place_after_a_name_that_another_begins_with_is_its_own(
    make_book: BookMaker, keelbook: Command
) -> None:
    files = {
        "content/a.md": "---\ntitle: A\n---\n```calc formula f\nx: aa.b + a.b\n```\n",
        "content/inputs/model.yml": "aa: {b: 1 in}\na: {b: 2 in}\n",
    }

    (use,) = found(keelbook, make_book(files), "a.b")

    assert (use["line"], use["column"]) == (5, 11)
