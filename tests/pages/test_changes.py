"""A change reaches exactly the pages that it should; what a sheet's fingerprint is about."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

import pytest

from tests.pages.site_tree import Site, sheet

if TYPE_CHECKING:
    from pathlib import Path

    from tests.conftest import Command
    from tests.pages.conftest import BookBuilder

YARD = "yard:\n  name: 'The yard'\n  approves: 'Jo'\n"
INPUTS = "deck:\n  length: 48 in   # as drawn\n  width: 13 in\n"
FILES = {
    "content/inputs/yard.yml": YARD,
    "content/inputs/model.yml": INPUTS,
    "content/shelf.md": sheet(
        "```calc plank shelf\nlength: deck.length\nwidth: deck.width\n```\n",
        "title: The shelf\nnumber: S-1\nstage: systems",
    ),
    "content/far.md": sheet(
        "```calc formula far\ntwice: 2 * shelf.area\n```\n", "title: Far\nnumber: S-2\nstage: systems"
    ),
    "content/text.md": sheet("1. Cut {{ deck.length }}.\n", "title: Text\nnumber: H-1\nstage: hull"),
    "content/limit.md": sheet("```limit fits\nrule: far.twice <= 20 ft^2\n```\n", "title: Limit"),
    "content/when.md": sheet(":::when deck.length < 50 in\nShort.\n:::\n\nWords.\n", "title: When"),
    "content/width.md": sheet("It is {{ deck.width }}.\n", "title: Width"),
    "content/plain.md": sheet("Words.\n", "title: Plain\nneeds: [text]"),
}
LISTS = {"numbers.html", "inputs.html", "board.html", "numbers.json", "codes.json", "index.html"}
"""What tells of every sheet or number; the cover knows the codes, to mark what changed on a device."""


def changed(build: BookBuilder, *changes: tuple[str, str, str]) -> set[str]:
    """Return the files that differ when some words of some files are others."""
    before = build(FILES).files
    after = build({**FILES, **altered(*changes)}).files
    return {name for name in before.keys() | after.keys() if before.get(name) != after.get(name)}


def altered(*changes: tuple[str, str, str]) -> dict[str, str]:
    files: dict[str, str] = {}
    for file, old, new in changes:
        text = files.get(file, FILES[file])
        assert old in text
        files[file] = text.replace(old, new)
    return files


def pages_using(keelbook: Command, book: Path, name: str) -> set[str]:
    ran = keelbook("uses", name, "--json", book=book)
    return {f"{use['page']}.html" for use in json.loads(ran.out)["uses"]}


def test_a_changed_input_changes_the_pages_that_rest_on_it_and_the_lists(
    build: BookBuilder, keelbook: Command, tmp_path: Path
) -> None:
    found = changed(build, ("content/inputs/model.yml", "48 in", "60 in"))

    # By hand: the shelf, what rests on it, the text, the limit over it, and the condition that turns false.
    resting = pages_using(keelbook, tmp_path / "book", "deck.length")
    assert resting == {"shelf.html", "far.html", "text.html", "limit.html", "when.html"}
    assert found == resting | LISTS | {"limits.html"}


def test_a_changed_input_that_no_limit_rests_on_leaves_the_limits_alone(build: BookBuilder) -> None:
    page = {"content/width.md": sheet("It is {{ deck.width }}.\n", "title: Width")}
    far = {**page, "content/inputs/model.yml": INPUTS}
    before, after = (
        build(far).files,
        build({**far, "content/inputs/model.yml": INPUTS.replace("13", "14")}).files,
    )

    assert {name for name in before if before[name] != after[name]} == LISTS - {"numbers.html"} | {
        "width.html"
    }


def test_a_condition_that_stays_true_leaves_its_page_alone(build: BookBuilder) -> None:
    found = changed(build, ("content/inputs/model.yml", "48 in", "47 in"))

    assert "when.html" not in found
    assert {"text.html", "shelf.html"} <= found


def test_a_changed_comment_in_the_inputs_changes_nothing(build: BookBuilder) -> None:
    assert changed(build, ("content/inputs/model.yml", "# as drawn", "# as agreed")) == set()


def test_a_changed_comment_in_a_page_changes_no_sheet(build: BookBuilder) -> None:
    with_comment = FILES["content/plain.md"] + "\n<!-- to do -->\n"
    before = build({**FILES, "content/plain.md": with_comment})
    code, files = before.code("plain.html"), before.files
    after = build({**FILES, "content/plain.md": with_comment.replace("to do", "done")})

    assert after.code("plain.html") == code
    assert {one for one in after.sheets if after.files[one] != files[one]} == set()


def test_a_changed_title_changes_its_stage_the_board_the_cover_and_the_sheets_that_name_it(
    build: BookBuilder,
) -> None:
    found = changed(build, ("content/shelf.md", "title: The shelf", "title: A shelf"))

    # Its own page, its stage's page, the other sheet of its stage (by the rail), the lists of sheets, the
    # list of numbers, which it heads, and wherever it is named as a user of an input.
    stage = {"stages/systems.html", "board.html", "index.html", "numbers.html"}
    assert found >= {"shelf.html", "far.html"} | stage
    assert not found & {"plain.html", "when.html", "limit.html", "limits.html", "stages/hull.html"}


def test_a_changed_text_changes_its_page_the_board_and_the_code_of_the_book(build: BookBuilder) -> None:
    found = changed(build, ("content/text.md", "Cut", "Saw"))

    assert found == {"text.html", "board.html", "index.html", "numbers.json", "codes.json"}


def fingerprints(build: BookBuilder, page: str, *changes: tuple[str, str, str]) -> tuple[str, str]:
    """Return a page's fingerprint before and after some changes."""
    before = build(FILES).code(page)
    return before, build({**FILES, **altered(*changes)}).code(page)


SHOWN = {
    "a value": ("text.html", ("content/inputs/model.yml", "48 in", "49 in")),
    "a value on its card": ("shelf.html", ("content/inputs/model.yml", "13 in", "14 in")),
    "a value that it rests on": ("far.html", ("content/inputs/model.yml", "13 in", "14 in")),
    "its text": ("text.html", ("content/text.md", "Cut", "Saw")),
    "its title": ("text.html", ("content/text.md", "title: Text", "title: Words")),
    "its number": ("text.html", ("content/text.md", "H-1", "H-2")),
    "its stage": ("text.html", ("content/text.md", "stage: hull", "stage: systems")),
    "its crew": ("text.html", ("content/text.md", "stage: hull", "stage: hull\ncrew: 2")),
    "its time": ("text.html", ("content/text.md", "stage: hull", "stage: hull\ntime: 2 hr")),
    "what to wear": ("text.html", ("content/text.md", "stage: hull", "stage: hull\nprotection: [gloves]")),
    "its tools": ("text.html", ("content/text.md", "stage: hull", "stage: hull\ntools: [saw]")),
    "what comes first": ("text.html", ("content/text.md", "stage: hull", "stage: hull\nneeds: [shelf]")),
    "who approves": ("plain.html", ("content/inputs/yard.yml", "'Jo'", "'Kim'")),
    "the yard's name": ("plain.html", ("content/inputs/yard.yml", "'The yard'", "'A yard'")),
    "a condition that turns false": ("when.html", ("content/inputs/model.yml", "48 in", "60 in")),
    "a verdict": ("limit.html", ("content/limit.md", "20 ft^2", "2 ft^2")),
    "a step's number": ("text.html", ("content/text.md", "1. Cut", "2. Cut")),
    "words struck out": ("text.html", ("content/text.md", "1. Cut {{", "1. ~~Cut~~ {{")),
    "a raised figure": ("plain.html", ("content/plain.md", "Words.", "Words 10<sup>2</sup>.")),
    "the title of what comes first": ("plain.html", ("content/text.md", "title: Text", "title: Words")),
}


@pytest.mark.parametrize(("page", "change"), SHOWN.values(), ids=SHOWN.keys())
def test_the_fingerprint_changes_with_what_the_sheet_shows(
    build: BookBuilder, page: str, change: tuple[str, str, str]
) -> None:
    before, after = fingerprints(build, page, change)

    assert before != after


PAIRS = {
    "a struck word": ("~~Never~~ weld.", "Never weld."),
    "a raised figure": ("Up to 10<sup>2</sup> psi.", "Up to 10 2 psi."),
    "a ticked box": ("- [x] dry", "- [ ] dry"),
    "a row of a table": ("| a | b |\n| --- | --- |\n| c | d |", "| a | b |\n| --- | --- |\n| d | c |"),
}


@pytest.mark.parametrize(("one", "other"), PAIRS.values(), ids=PAIRS.keys())
def test_two_sheets_that_read_otherwise_have_other_fingerprints(
    build: BookBuilder, one: str, other: str
) -> None:
    first, second = (build({"content/p.md": sheet(text + "\n")}).code("p.html") for text in (one, other))

    assert first != second


NOT_SHOWN = {
    "another sheet's use of its number": (
        "text.html",
        ("content/plain.md", "Words.", "It is {{ deck.length }}."),
    ),
    "another sheet's text": ("text.html", ("content/plain.md", "Words.", "Other words.")),
    "another sheet's title": ("shelf.html", ("content/far.md", "title: Far", "title: Farther")),
    "another input": ("text.html", ("content/inputs/model.yml", "13 in", "14 in")),
    "a comment in the inputs": ("text.html", ("content/inputs/model.yml", "# as drawn", "# as agreed")),
    "a line more in the inputs": ("text.html", ("content/inputs/model.yml", "deck:", "# The deck.\ndeck:")),
    "a comment in its text": ("text.html", ("content/text.md", "1. Cut", "<!-- why? -->\n\n1. Cut")),
    "another written form of one space": ("plain.html", ("content/plain.md", "Words.", "Words.  ")),
    "another page": ("text.html", ("content/plain.md", "title: Plain", "title: Plain\nnumber: X-1")),
}


@pytest.mark.parametrize(("page", "change"), NOT_SHOWN.values(), ids=NOT_SHOWN.keys())
def test_the_fingerprint_stays_whatever_else_changes(
    build: BookBuilder, page: str, change: tuple[str, str, str]
) -> None:
    before, after = fingerprints(build, page, change)

    assert before == after


def with_picture(build: BookBuilder, body: str, picture: str) -> Site:
    option = {"content/inputs/options/long.yml": "deck:\n  length: 60 in\n"}
    return build({**option, "content/p.md": sheet(body), "content/saw.png": picture})


def test_the_fingerprint_changes_with_a_picture_s_bytes_and_so_does_that_of_the_book(
    build: BookBuilder,
) -> None:
    codes = []
    for picture in ("one", "two"):
        site = with_picture(build, "![A saw](saw.png)\n", picture)
        foot = site.page("board.html").one("tfoot").one("td", "code").text
        codes.append((site.code("p.html"), foot))

    assert codes[0][0] != codes[1][0]
    assert codes[0][1] != codes[1][1]


@pytest.mark.parametrize("container", ["when options.long", "public"])
def test_the_fingerprint_stays_when_a_picture_changes_that_the_sheet_does_not_show(
    build: BookBuilder, container: str
) -> None:
    body = f"Words.\n\n:::{container}\n![A saw](saw.png)\n:::\n"
    first, second = (with_picture(build, body, picture).code("p.html") for picture in ("one", "two"))

    assert first == second
