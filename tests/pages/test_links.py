"""Links and pictures: what they lead to, and what is refused."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from tests.pages.site_tree import Site, dead_ends, sheet

if TYPE_CHECKING:
    from tests.conftest import BookMaker, Command
    from tests.pages.conftest import BookBuilder

OTHER = {
    "content/hull/cut-plank.md": sheet("## Before\n\n1. Sharpen the saw.\n2. Cut. {#cut}\n", "title: Cut"),
    "content/hull/saw.png": "",
}


@pytest.mark.parametrize(
    ("written", "leads_to"),
    [
        ("hull/cut-plank.md", "hull/cut-plank.html"),
        ("hull/cut-plank.md#cut", "hull/cut-plank.html#cut"),
        ("hull/cut-plank.md#sharpen-the-saw", "hull/cut-plank.html#sharpen-the-saw"),
        ("./hull/../hull/cut-plank.md#before", "hull/cut-plank.html#before"),
        ("#here", "#here"),
        ("board.html", "board.html"),
        ("numbers.html", "numbers.html"),
        ("inputs.html", "inputs.html"),
        ("limits.html", "limits.html"),
        ("calculators.html", "calculators.html"),
        ("https://example.org/a?b=c&d#e", "https://example.org/a?b=c&d#e"),
        ("mailto:jo@example.org", "mailto:jo@example.org"),
        ("tel:+1555", "tel:+1555"),
    ],
)
def test_a_link_leads_where_it_is_written(build: BookBuilder, written: str, leads_to: str) -> None:
    site = build({**OTHER, "content/p.md": sheet(f"## Here\n\nSee [that]({written}).\n")})

    (link,) = [one for one in site.page("p.html").all("a") if one.text == "that"]
    assert link.attrs["href"] == leads_to
    assert dead_ends(site) == []


def test_a_link_from_a_folder_finds_the_page_above_it_and_the_board(build: BookBuilder) -> None:
    body = "See [up](../p.md#here), [board](../board.html) and [own](cut-plank.md).\n"
    files = {**OTHER, "content/p.md": sheet("## Here\n"), "content/hull/q.md": sheet(body, "title: Q")}

    site = build(files)

    hrefs = [one.attrs["href"] for one in site.page("hull/q.html").one("div", "sheet-body").all("a")]
    assert hrefs == ["../p.html#here", "../board.html", "cut-plank.html"]
    assert dead_ends(site) == []


def test_a_page_whose_name_has_a_space_is_found(build: BookBuilder) -> None:
    files = {
        "content/dip rod.md": sheet("1. Cut.\n"),
        "content/p.md": sheet("See [it](<dip rod.md#cut>).\n", "title: P"),
    }

    site = build(files)

    assert dead_ends(site) == []
    assert (site.folder / "dip rod.html").is_file()


def test_a_picture_is_shown_and_copied_byte_for_byte(build: BookBuilder, tmp_path: Path) -> None:
    site = build({**OTHER, "content/p.md": sheet("![A saw](hull/saw.png)\n")})

    picture = site.page("p.html").one("img")
    assert (picture.attrs["src"], picture.attrs["alt"]) == ("hull/saw.png", "A saw")
    assert (site.folder / "hull/saw.png").read_bytes() == (
        tmp_path / "book/content/hull/saw.png"
    ).read_bytes()


def test_a_picture_that_no_page_shows_stays_in_the_yard(build: BookBuilder) -> None:
    site = build({**OTHER, "content/p.md": sheet("No picture.\n")})

    assert [name for name in site.files if name.endswith(".png")] == []


WRONG = [
    ("See [it](hull/cut-plan.md).", "4:10", "cut-plank.md"),
    ("See [it](hull/cut-plank.md#sharpen-the-sew).", "4:10", "#sharpen-the-saw"),
    ("## Here\n\nSee [it](#hare).", "6:10", "#here"),
    ("See [it](hull/cut-plank.md) and\nthen [it](nowhere/at-all.md).", "5:11", ""),
    ("See [it](numbrs.html).", "4:10", ""),
    ("![A saw](hull/sow.png)", "4:10", ""),
    ("1. Look:\n\n    ![A saw](hull/sow.png)", "6:14", ""),
    ("| a |\n| --- |\n| [it](cut.md) |", "6:8", ""),
    ("See [it](../../etc/passwd).", "4:10", "content"),
    ("See [it](../mkdocs.yml).", "4:10", "content"),
    ("See [it](/hull/cut-plank.md).", "4:10", "top"),
    ("See [it](file:///etc/passwd).", "4:10", ""),
    ("See [it](inputs/model.yml).", "4:10", ""),
    ("![A saw](https://example.org/saw.png)", "4:10", "outside the book"),
    ("![A saw](//example.org/saw.png)", "4:10", "outside the book"),
    ("See [it](hull/cut-plank.md?x=1).", "4:10", ""),
]


@pytest.mark.parametrize(("body", "place", "told"), WRONG, ids=[one[0][-40:] for one in WRONG])
def test_a_link_that_leads_nowhere_is_an_error_with_its_place(
    settled: BookMaker, keelbook: Command, body: str, place: str, told: str
) -> None:
    ran = keelbook("check", book=settled({**OTHER, "content/p.md": sheet(body + "\n")}))

    assert (ran.code, ran.err.count("\n")) == (2, 1), ran.err
    assert ran.err.startswith(f"content/p.md:{place}: ")
    assert "; " in ran.err
    assert told in ran.err


def test_a_dead_link_in_a_false_when_is_an_error_all_the_same(settled: BookMaker, keelbook: Command) -> None:
    files = {
        "content/inputs/options/long.yml": "deck: 3 in\n",
        "content/p.md": sheet(":::when options.long\nSee [it](gone.md).\n:::\n"),
    }
    assert keelbook("check", book=settled(files)).code == 2


def test_a_dead_link_in_a_footnote_has_its_place(settled: BookMaker, keelbook: Command) -> None:
    ran = keelbook("check", book=settled({"content/p.md": sheet("Look.[^1]\n\n[^1]: See [it](gone.md).\n")}))

    assert ran.err.startswith("content/p.md:6:16: ")


def test_a_dead_link_by_reference_has_the_place_of_its_use_or_of_its_definition(
    settled: BookMaker, keelbook: Command
) -> None:
    body = "Words.\n\nSee [it][x].\n\n[x]: gone.md\n"
    ran = keelbook("check", book=settled({"content/p.md": sheet(body)}))

    assert ran.code == 2
    assert ran.err.startswith(("content/p.md:6:5: ", "content/p.md:8:6: ")), ran.err


def test_a_drawing_that_is_more_than_a_picture_is_refused(settled: BookMaker, keelbook: Command) -> None:
    drawing = '<svg xmlns="http://www.w3.org/2000/svg"><{}path d="M0 0h9"/></svg>'
    book = settled({"content/p.md": sheet("![D](d.svg)\n"), "content/d.svg": drawing.format("")})
    assert keelbook("check", book=book).code == 0

    settled({"content/d.svg": drawing.format("script>alert(1)</script><")})
    ran = keelbook("check", book=book)
    assert ran.code == 2
    assert ran.err.startswith("content/p.md:4:6: ")


@pytest.mark.parametrize("folder", ["inputs", "hulls", "revisions", "reference"])
def test_a_picture_in_a_folder_that_never_leaves_the_yard_is_refused(
    settled: BookMaker, keelbook: Command, folder: str
) -> None:
    files = {"content/p.md": sheet(f"![D]({folder}/d.png)\n"), f"content/{folder}/d.png": ""}

    assert keelbook("check", book=settled(files)).code == 2


def test_a_dead_link_in_an_inline_footnote_has_its_line(settled: BookMaker, keelbook: Command) -> None:
    ran = keelbook("check", book=settled({"content/p.md": sheet("First.\n\nLook.^[See [it](gone.md).]\n")}))

    assert ran.code == 2
    assert ran.err.startswith("content/p.md:6:"), ran.err


def test_the_second_of_two_links_to_one_missing_page_has_its_own_place(
    settled: BookMaker, keelbook: Command
) -> None:
    ran = keelbook("check", book=settled({"content/p.md": sheet("[a](gone.md) and [b](gone.md)\n")}))

    assert [line.split(": ")[0] for line in ran.err.splitlines()] == ["content/p.md:4:5", "content/p.md:4:22"]


@pytest.mark.parametrize("page", ["index", "numbers", "board", "stages/hull", "calculators/plank"])
def test_no_page_of_the_yard_stands_where_the_book_makes_its_own(
    settled: BookMaker, keelbook: Command, page: str
) -> None:
    ran = keelbook("check", book=settled({f"content/{page}.md": sheet("Hello.\n")}))

    assert ran.code == (0 if page == "index" else 2)


def test_a_link_to_what_this_edition_does_not_show_is_never_left_dangling(
    settled: BookMaker, keelbook: Command, tmp_path: Path
) -> None:
    files = {
        "content/inputs/options/long.yml": "deck: 3 in\n",
        "content/p.md": sheet(":::when options.long\n## The long deck\n\n1. Cut it.\n:::\n"),
        "content/q.md": sheet("See [it](p.md#the-long-deck) and [that](p.md#cut-it).\n", "title: Q"),
    }
    ran = keelbook("build", "--site", str(tmp_path / "out"), book=settled(files))

    assert ran.code == 0, ran.err
    assert dead_ends(Site(tmp_path / "out/shop")) == []


def test_a_link_to_a_block_that_stands_in_a_public_part_is_never_left_dangling(build: BookBuilder) -> None:
    body = ":::public\n```calc formula deck\nx: 3 in\n```\n:::\n\nIt is {{ deck.x }}.\n"

    assert dead_ends(build({"content/p.md": sheet(body)})) == []
