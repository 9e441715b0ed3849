"""Editing one input: exactly its span is replaced, or nothing is."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from kb.content.edit import edit_input
from kb.content.inputs import Layer
from kb.problem import BookError
from kb.reckon import open_book

if TYPE_CHECKING:
    from tests.conftest import BookMaker

FILE = "content/inputs/model.yml"
TABLES = "content/inputs"
TEXT = (
    "# The model\n\nzeta:   4 in   # first\nfuel:\n    tank:\n      length: '46 1/2 in'  # quoted\n"
    "      section: {shape: vee, width: 25 in, height: 14 in, vee_depth: 3 in}\n"
    "      marks: [1 in, 2 in]\n    kind: gasoline\nalpha: {one: 1 in, two: 2 in} # flow\n\n# end"
)


def layer_of(book: Path) -> Layer:
    opened = open_book(book)
    assert opened.problems == ()
    assert opened.book.model is not None
    return opened.book.model


@pytest.mark.parametrize(
    ("path", "old", "value"),
    [
        ("zeta", "4 in", "5 in"),
        ("zeta", "4 in", "27 ft"),
        ("fuel.kind", "gasoline", "diesel"),
        ("alpha.one", "1 in, two", "3 in, two"),
        ("alpha.two", "2 in}", "7 in}"),
    ],
)
@pytest.mark.parametrize("end", ["\n", "\r\n"], ids=["LF", "CRLF"])
@pytest.mark.parametrize("mark", ["", "\ufeff"], ids=["plain", "BOM"])
def test_only_the_value_changes_byte_for_byte(
    make_book: BookMaker, path: str, old: str, value: str, end: str, mark: str
) -> None:
    before = mark + TEXT.replace("\n", end)
    book = make_book({FILE: before})

    changed = edit_input(book, layer_of(book), path, value.split(",")[0].rstrip("}"), TABLES)

    assert (book / FILE).read_bytes() == before.replace(old, value, 1).encode()
    assert changed.inputs[path].text == value.split(",")[0].rstrip("}")


def test_quotes_of_other_values_survive_and_a_quoted_value_can_be_changed(make_book: BookMaker) -> None:
    book = make_book({FILE: TEXT})

    edit_input(book, layer_of(book), "zeta", "9 in", TABLES)
    assert "'46 1/2 in'  # quoted" in (book / FILE).read_text()
    edit_input(book, layer_of(book), "fuel.tank.length", "47 in", TABLES)

    assert "# quoted" in (book / FILE).read_text()
    assert layer_of(book).inputs["fuel.tank.length"].text == "47 in"


@pytest.mark.parametrize(
    "value",
    ["27' 6 1/2\"", '5/8"', "41 in ± 1/8 in", "41 in +1/4 in -0 in", "41½ in", "-3 in", "7 %", "72 °F"],
)
@pytest.mark.parametrize("path", ["zeta", "alpha.one", "fuel.tank.length"])
def test_a_value_with_marks_that_yaml_knows_is_quoted_as_needed(
    make_book: BookMaker, path: str, value: str
) -> None:
    book = make_book({FILE: TEXT})

    edit_input(book, layer_of(book), path, value, TABLES)

    layer = layer_of(book)
    assert layer.inputs[path].text == value
    assert layer.inputs.keys() >= {"zeta", "alpha.one", "alpha.two", "fuel.kind", "fuel.tank.length"}


@pytest.mark.parametrize(
    ("path", "value"),
    [
        ("zeta", "4 oranges"),
        ("zeta", "fuel.tank.length + 1 in"),
        ("zeta", ""),
        ("zeta", "5 in # and more"),
        ("zeta", "5 in\nextra: 6 in"),
        ("zeta", "{a: 5 in}"),
        ("zeta", "[5 in, 6 in]"),
        ("zeta", "&a 5 in"),
        ("zeta", "6 in/2"),
        ("zeta", "1,000 in"),
        ("alpha.one", "3 in, three: 4 in"),
        ("alpha.one", "3 in}"),
        ("fuel.tank.section", "3 in"),
        ("fuel.tank.marks", "3 in"),
        ("fuel.tank", "3 in"),
        ("fuel.tank.lenght", "3 in"),
        ("", "3 in"),
    ],
)
def test_what_does_not_read_or_would_change_more_is_refused_and_the_file_untouched(
    make_book: BookMaker, path: str, value: str
) -> None:
    book = make_book({FILE: TEXT})
    layer = layer_of(book)

    with pytest.raises(BookError) as told:
        edit_input(book, layer, path, value, TABLES)

    assert (book / FILE).read_text() == TEXT
    assert all(problem.place.file == FILE for problem in told.value.problems)
    assert [one.name for one in (book / FILE).parent.iterdir()] == ["model.yml"]


def test_a_mistyped_path_is_answered_with_the_nearest(make_book: BookMaker) -> None:
    book = make_book({FILE: TEXT})

    with pytest.raises(BookError, match=r"'fuel\.tank\.length'"):
        edit_input(book, layer_of(book), "fuel.tank.lenght", "3 in", TABLES)


@pytest.mark.parametrize(
    "later",
    [TEXT.replace("zeta:   4 in", "zeta:   6 in"), TEXT + "\nnew: 3 in\n", "", "zeta: [\n",
     TEXT.replace("zeta:   4 in   # first\n", ""),
     TEXT + "\naccepted:\n  a.b: {by: Jo, why: so, at: 1 in}\n"],
)  # fmt: skip
def test_a_file_that_changed_meanwhile_is_refused_and_kept(make_book: BookMaker, later: str) -> None:
    book = make_book({FILE: TEXT})
    layer = layer_of(book)
    make_book({FILE: later})

    with pytest.raises(BookError):
        edit_input(book, layer, "zeta", "5 in", TABLES)

    assert (book / FILE).read_bytes() == later.encode()


def test_a_file_that_is_gone_is_refused_as_a_problem_of_the_book(make_book: BookMaker) -> None:
    book = make_book({FILE: TEXT})
    layer = layer_of(book)
    (book / FILE).unlink()

    with pytest.raises(BookError, match=r"content/inputs/model\.yml"):
        edit_input(book, layer, "zeta", "5 in", TABLES)


def test_the_layer_that_comes_back_can_be_edited_again(make_book: BookMaker) -> None:
    book = make_book({FILE: TEXT})

    once = edit_input(book, layer_of(book), "zeta", "5 in", TABLES)
    edit_input(book, once, "zeta", "6 in", TABLES)

    assert (book / FILE).read_text() == TEXT.replace("4 in", "6 in", 1)


def test_the_file_s_permissions_survive(make_book: BookMaker) -> None:
    book = make_book({FILE: TEXT})
    (book / FILE).chmod(0o640)

    edit_input(book, layer_of(book), "zeta", "5 in", TABLES)

    assert (book / FILE).stat().st_mode & 0o777 == 0o640
