"""Sheets on paper: sizes, frames, title blocks and codes on every page, as a PDF reader finds them."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from pypdf import PageObject, PdfReader

from kb import paper
from kb.commands.main import main
from tests.conftest import BookMaker, Command
from tests.pages.site_tree import fill
from tests.tools.find import need

POINTS = {"a4": (595, 842), "letter": (612, 792)}
STEPS = "\n\n".join(f"{number}. Lift plank {number} onto the bench." for number in range(1, 61))
BOOK = {
    "content/inputs/yard.yml": "yard:\n  name: 'Reed Yard'\n  approves: 'A. Reed'\n",
    "content/a.md": f"---\ntitle: Stack the planks\nnumber: S-07\nstage: systems\n---\n\n{STEPS}\n",
    "content/b.md": "---\ntitle: Sweep\nnumber: S-08\nstage: systems\n---\n\nAfter [the planks](a.md).\n",
}


@pytest.fixture(scope="module", params=["a4", "letter"])
def printed(
    request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory
) -> tuple[str, PdfReader, Path]:
    """Return a paper size, all sheets of the book printed on it, and the book."""
    need("browser")
    folder = tmp_path_factory.mktemp("printed")
    book, file = fill(folder / "book", BOOK), folder / "sheets.pdf"
    with pytest.raises(SystemExit) as left:
        main(["--book", str(book), "print", "--paper", request.param, "--pdf", str(file)])
    assert left.value.code == 0
    return request.param, PdfReader(file), book


@pytest.mark.slow
def test_every_page_of_every_sheet_is_framed_and_named(
    printed: tuple[str, PdfReader, Path], keelbook: Command
) -> None:
    size, pdf, book = printed
    texts = [page.extract_text() for page in pdf.pages]
    assert len(texts) >= 3
    for page, text in zip(pdf.pages, texts, strict=True):
        assert (round(page.mediabox.width), round(page.mediabox.height)) == POINTS[size]
        words = " ".join(text.split())
        assert "Reed Yard" in words
        assert "A. Reed" in words
        assert "Void if this code differs from the board" in words
    planks = [text for text in texts if "Stack the planks" in text and "Sweep" not in text]
    counted = [re.search(r"Page (\d+) of (\d+)", text) for text in planks]
    assert [found and (int(found[1]), int(found[2])) for found in counted] == [
        (number, len(planks)) for number in range(1, len(planks) + 1)
    ]
    codes = {found for text in planks for found in re.findall(r"\b[0-9A-Z]{4}-[0-9A-Z]{4}\b", text)}
    assert len(codes) == 1
    assert "current: S-07 Stack the planks, model" in keelbook("verify", codes.pop(), book=book).out


@pytest.mark.slow
def test_no_step_is_lost_behind_the_title_block(printed: tuple[str, PdfReader, Path]) -> None:
    """Each step is there once, and no line of it lies as low as the block does."""
    _, pdf, _ = printed
    found: list[int] = []
    for page in pdf.pages:
        text = page.extract_text()
        found += [int(one) for one in re.findall(r"Lift plank (\d+) onto", text)]
        low = heights(page, "Reed Yard")
        assert all(height > max(low) for height in heights(page, "Lift plank"))
    assert found == list(range(1, 61))


def heights(page: PageObject, wanted: str) -> list[float]:
    """Return how high above the page's foot the lines with some words stand, in points."""
    found: list[float] = []

    def visit(text: str, cm: list[float], tm: list[float], font: object, size: object) -> None:
        if wanted in text:
            found.append(cm[1] * tm[4] + cm[3] * tm[5] + cm[5])

    page.extract_text(visitor_text=visit)
    return found


@pytest.mark.slow
def test_the_book_s_type_is_embedded(printed: tuple[str, PdfReader, Path]) -> None:
    _, pdf, _ = printed
    for page in pdf.pages:
        fonts = [one.get_object() for one in page["/Resources"]["/Font"].values()]
        for font in fonts:
            (inner,) = font.get("/DescendantFonts", [font])
            described = inner.get_object()["/FontDescriptor"].get_object()
            assert {"/FontFile2", "/FontFile3", "/FontFile"} & set(described), font["/BaseFont"]


@pytest.mark.slow
def test_a_link_on_paper_names_its_sheet(printed: tuple[str, PdfReader, Path]) -> None:
    _, pdf, _ = printed
    assert "the planks (S-07)" in " ".join(pdf.pages[-1].extract_text().split())


def test_one_sheet_is_found_by_its_number_or_its_file(
    make_book: BookMaker, keelbook: Command, tmp_path: Path
) -> None:
    need("browser")
    for name in ("s-08", "b"):
        file = tmp_path / f"{name}.pdf"
        ran = keelbook("print", "--procedure", name, "--pdf", str(file), book=make_book(BOOK))
        assert ran.code == 0, ran.err
        assert len(PdfReader(file).pages) == 1


def test_a_metric_book_is_printed_on_a4_where_nothing_else_is_said(
    make_book: BookMaker, keelbook: Command, tmp_path: Path
) -> None:
    need("browser")
    settings = "site_name: B\ndocs_dir: content\nplugins:\n  - keelbook: {units: metric}\n"
    book, file = make_book({**BOOK, "mkdocs.yml": settings}), tmp_path / "b.pdf"
    assert keelbook("print", "--procedure", "b", "--pdf", str(file), book=book).code == 0
    (page,) = PdfReader(file).pages
    assert (round(page.mediabox.width), round(page.mediabox.height)) == POINTS["a4"]


def test_an_unknown_sheet_is_told_with_the_nearest(
    make_book: BookMaker, keelbook: Command, tmp_path: Path
) -> None:
    ran = keelbook("print", "--procedure", "S-70", "--pdf", str(tmp_path / "x.pdf"), book=make_book(BOOK))
    assert ran.code == 64
    assert "there is no sheet 'S-70'; did you mean 'S-0" in ran.err
    assert not (tmp_path / "x.pdf").exists()


def test_without_a_browser_the_message_says_what_to_do(
    make_book: BookMaker, keelbook: Command, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(paper.shutil, "which", lambda name: None)
    ran = keelbook("print", "--pdf", str(tmp_path / "x.pdf"), book=make_book(BOOK))
    assert ran.code == 2
    assert "there is no Chromium to print with" in ran.err
    assert "print the pages from your browser" in ran.err


def test_a_code_that_no_sheet_has_is_void(make_book: BookMaker, keelbook: Command) -> None:
    ran = keelbook("verify", "0000-0000", book=make_book(BOOK))
    assert ran.code == 1
    assert ran.out.startswith("void: ")


def test_what_is_no_code_is_wrong_use(make_book: BookMaker, keelbook: Command) -> None:
    assert keelbook("verify", "S-07", book=make_book(BOOK)).code == 64
