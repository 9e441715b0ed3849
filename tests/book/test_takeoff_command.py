"""`keelbook takeoff`: the materials of an edition, for the terminal, a spreadsheet and other programs."""

from __future__ import annotations

import csv
import io
import json
import os
import subprocess
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from openpyxl import load_workbook

if TYPE_CHECKING:
    from tests.conftest import BookMaker, Command

HEAD = "---\ntitle: {}\nnumber: {}\n---\n\n"
CATALOGUE = """\
resin:
  unit: gal
  packs: [1 gal, 5 gal]
  lead_time: 5 day
cartridge: {unit: piece, packs: [12]}
"""
FILES = {
    "content/reference/materials.yml": CATALOGUE,
    "content/inputs/model.yml": "deck:\n  resin: 7 gal\n",
    "content/inputs/options/long.yml": "deck:\n  resin: 11 gal\n",
    "content/hulls/A-1/hull.yml": "options: [long]\n",
    "content/a.md": HEAD.format("Bed the tank", "S-1") + "```materials\nresin: deck.resin\n```\n",
    "content/b.md": HEAD.format("Bond the deck", "S-2")
    + "```materials\ncartridge: 13\nresin: 2.5 gal\n```\n",
}


@pytest.fixture
def yard_book(make_book: BookMaker) -> Path:
    return make_book(FILES)


def test_the_table_names_need_packs_rest_lead_time_and_sheets(keelbook: Command, yard_book: Path) -> None:
    ran = keelbook("takeoff", book=yard_book)

    assert (ran.code, ran.err) == (0, "")
    assert list(words(ran.out)) == ["material", "resin", "cartridge"]
    assert words(ran.out)["resin"] == ["9.5 gal", "2 × 5 gal", "0.5 gal", "5 day", "S-1, S-2"]
    assert words(ran.out)["cartridge"] == ["13", "2 × 12", "11", "S-2"]


def words(table: str) -> dict[str, list[str]]:
    """Return the words of each line of a table, by the first of them; empty cells are left out."""
    rows = [[cell.strip() for cell in line.split("  ") if cell.strip()] for line in table.splitlines()]
    return {row[0]: row[1:] for row in rows}


def test_a_hull_has_the_materials_of_its_own_options(keelbook: Command, yard_book: Path) -> None:
    ran = keelbook("takeoff", "--hull", "A-1", book=yard_book)

    assert words(ran.out)["resin"][:2] == ["13.5 gal", "2 × 5 gal + 4 × 1 gal"]


def test_what_a_private_page_asks_for_is_not_taken_off_here_either(
    keelbook: Command, make_book: BookMaker
) -> None:
    """The page of the take-off shows no private page."""
    private = FILES["content/b.md"].replace("---\n\n", "visibility: private\n---\n\n")
    ran = keelbook("takeoff", book=make_book({**FILES, "content/b.md": private}))

    assert list(words(ran.out)) == ["material", "resin"]
    assert words(ran.out)["resin"][0] == "7 gal"


def test_an_unknown_hull_is_wrong_use_and_the_nearest_is_offered(keelbook: Command, yard_book: Path) -> None:
    ran = keelbook("takeoff", "--hull", "A-11", book=yard_book)

    assert (ran.code, ran.out) == (64, "")
    assert "'A-1'" in ran.err


def test_json_goes_to_standard_output(keelbook: Command, yard_book: Path) -> None:
    ran = keelbook("takeoff", "--json", book=yard_book)
    materials: dict[str, Any] = {one["material"]: one for one in json.loads(ran.out)["materials"]}

    assert materials["resin"]["needed"] == {"value": 9.5, "unit": "gal"}
    assert [use["page"] for use in materials["resin"]["used_on"]] == ["a", "b"]


def test_csv_goes_to_standard_output(keelbook: Command, yard_book: Path) -> None:
    ran = keelbook("takeoff", "--csv", book=yard_book)
    rows = {row["material"]: row for row in csv.DictReader(io.StringIO(ran.out))}

    assert rows["resin"]["packs"] == "2 x 5 gal"
    assert rows["cartridge"]["needed"] == "13"


def process(book: Path, *args: str, stdout: int = subprocess.PIPE) -> subprocess.CompletedProcess[bytes]:
    program = "from kb.commands.main import run; run()"
    command = [sys.executable, "-c", program, "--book", str(book), "takeoff", *args]
    return subprocess.run(command, stdout=stdout, stderr=subprocess.PIPE, check=False)


def test_a_workbook_goes_to_a_file_byte_for_byte(yard_book: Path) -> None:
    ran = process(yard_book, "--xlsx")

    assert (ran.returncode, ran.stderr) == (0, b"")
    sheet = load_workbook(io.BytesIO(ran.stdout)).worksheets[0]
    rows = {row[0]: row for row in sheet.iter_rows(values_only=True)}
    assert rows["resin"][1:4] == (9.5, "gal", "2 x 5 gal")


@pytest.mark.skipif(sys.platform == "win32", reason="Windows has no pseudo-terminal")
def test_a_workbook_is_not_written_to_a_terminal(yard_book: Path) -> None:
    import pty

    ours, theirs = pty.openpty()
    try:
        ran = process(yard_book, "--xlsx", stdout=theirs)
    finally:
        os.close(theirs)
        os.close(ours)

    assert ran.returncode == 64
    assert b"> takeoff.xlsx" in ran.stderr


@pytest.mark.parametrize("two", [("--csv", "--json"), ("--csv", "--xlsx"), ("--xlsx", "--json")])
def test_two_formats_at_once_are_wrong_use(keelbook: Command, yard_book: Path, two: tuple[str, str]) -> None:
    ran = keelbook("takeoff", *two, book=yard_book)

    assert (ran.code, ran.out) == (64, "")
    assert " and ".join(two) in ran.err or " and ".join(two[::-1]) in ran.err


def test_a_book_without_materials_says_so(make_book: BookMaker, keelbook: Command) -> None:
    ran = keelbook("takeoff", book=make_book({"content/p.md": HEAD.format("Words", "S-1") + "Words.\n"}))

    assert (ran.code, ran.err) == (0, "")
    assert ran.out == "no sheet asks for a material\n"


FAULTY = {**FILES, "content/a.md": HEAD.format("Bed the tank", "S-1") + "```materials\nresin: 7 ft\n```\n"}


@pytest.mark.parametrize("form", [(), ("--csv",), ("--json",), ("--xlsx",)])
def test_a_book_with_errors_has_no_take_off(
    make_book: BookMaker, keelbook: Command, form: tuple[str, ...]
) -> None:
    ran = keelbook("takeoff", *form, book=make_book(FAULTY))

    assert (ran.code, ran.out) == (2, "")
    assert ran.err.startswith("content/a.md:7:8: 'resin' is counted in gal, and this is a length: 7 ft;")


def test_check_and_build_tell_a_faulty_material_once_for_all_editions(
    make_book: BookMaker, keelbook: Command
) -> None:
    book = make_book(FAULTY)

    for command in ("check", "build"):
        ran = keelbook(command, book=book)
        assert ran.code == 2
        assert ran.err.count("content/a.md:7:8: ") == 1, ran.err
    assert not (book / "site").exists()


def test_a_material_that_is_faulty_on_one_hull_alone_is_told_with_that_hull(
    make_book: BookMaker, keelbook: Command
) -> None:
    book = make_book({**FILES, "content/hulls/A-1/hull.yml": "deck:\n  resin: 7 lb\n"})

    told = json.loads(keelbook("check", "--json", book=book).out)["problems"]
    assert [(one["file"], one["line"], one.get("edition")) for one in told] == [
        ("content/a.md", 7, "hull A-1")
    ]
    assert keelbook("takeoff", book=book).code == 0
    assert keelbook("takeoff", "--hull", "A-1", book=book).code == 2
