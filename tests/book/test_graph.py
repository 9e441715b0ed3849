"""The order of calculation follows from use; each block is worked out once."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from kb.reckon import check_book, open_book

if TYPE_CHECKING:
    from tests.conftest import BookMaker

HEAD = "---\ntitle: A page\n---\n"
Told = Callable[[Path], list[str]]


def block(name: str, size: str, calculator: str = "halve") -> str:
    return f"```calc {calculator} {name}\nsize: {size}\n```\n\n"


def test_a_page_may_use_a_number_that_a_later_page_makes(make_book: BookMaker, yard: dict[str, str]) -> None:
    book = make_book(
        {
            **yard,
            "content/a.md": HEAD + block("one", "two.half"),
            "content/b.md": HEAD + block("three", "16 in"),
            "content/c.md": HEAD + block("two", "three.half"),
        }
    )

    opened = open_book(book)
    done = opened.evaluate()

    assert opened.graph.order == ("three", "two", "one")
    assert (*opened.problems, *done.problems) == ()
    assert float(done.values["one.half"].value) == 2


def test_each_block_is_worked_out_once_an_edition_however_often_it_is_used(
    make_book: BookMaker, yard: dict[str, str]
) -> None:
    users = "".join(block(f"user{number}", "base.half") for number in range(3))
    page = HEAD + users + block("base", "40 in") + "{{ base.half }} and {{ base.half in mm }}\n"
    book = make_book({**yard, "content/p.md": page})

    assert check_book(book).problems == ()
    assert (book / "plugins/calls.txt").read_text().split() == ["40", "20", "20", "20"]


def test_a_circle_names_every_block_in_it_with_its_place_and_is_told_once(
    make_book: BookMaker, yard: dict[str, str], told: Told
) -> None:
    book = make_book(
        {
            **yard,
            "content/a.md": HEAD + block("one", "two.half"),
            "content/b.md": HEAD + block("two", "three.half") + block("three", "1 in + one.half"),
        }
    )

    (line,) = told(book)

    for words in ("one uses two (content/a.md:5)", "two uses three (content/b.md:5)"):
        assert words in line
    assert "three uses one (content/b.md:9)" in line


def test_a_block_that_uses_itself_is_a_circle(make_book: BookMaker, yard: dict[str, str], told: Told) -> None:
    (line,) = told(make_book({**yard, "content/a.md": HEAD + block("one", "one.half")}))

    assert line.startswith("content/a.md:4:")
    assert "one uses one (content/a.md:5)" in line


@pytest.mark.parametrize(
    "page",
    [
        ":::when one.half > 1 in\n\n" + block("one", "4 in") + ":::\n",
        "```calc halve one\nsize: 4 in\nlimits:\n  small: half <= one.half\n```\n",
        "```calc formula one\nx: one.y\ny: 1 in\n```\n",
    ],
    ids=["when", "limits", "formula"],
)
def test_a_circle_through_a_condition_a_rule_or_a_line_is_found(
    make_book: BookMaker, yard: dict[str, str], told: Told, page: str
) -> None:
    (line,) = told(make_book({**yard, "content/a.md": HEAD + page}))

    assert line.startswith("content/a.md:")
    assert "one" in line


def test_two_circles_are_both_found_and_the_rest_goes_on(
    make_book: BookMaker, yard: dict[str, str], told: Told
) -> None:
    page = HEAD + block("a", "b.half") + block("b", "a.half") + block("c", "d.half") + block("d", "c.half")
    book = make_book({**yard, "content/p.md": page + block("free", "6 in") + block("rests", "a.half")})

    lines = told(book)

    assert [line.split(": ")[0].rsplit(":", 1)[0] for line in lines] == ["content/p.md:4", "content/p.md:12"]
    assert float(open_book(book).evaluate().values["free.half"].value) == 3


def test_two_circles_through_one_block_are_each_told_or_told_together(
    make_book: BookMaker, yard: dict[str, str], told: Told
) -> None:
    page = HEAD + block("a", "b.half + c.half") + block("b", "a.half") + block("c", "a.half")

    text = "\n".join(told(make_book({**yard, "content/p.md": page})))

    assert "b uses a" in text or "c uses a" in text
    assert "there is no name" not in text


@pytest.mark.parametrize(
    ("name", "meant"),
    [("two.hlf", "two.half"), ("tow.half", "two.half"), ("hole.sise", "hole.size"), ("two", "two.half"),
     ("hole", "hole.size")],
)  # fmt: skip
def test_an_unknown_name_has_its_place_and_the_nearest_is_offered(
    make_book: BookMaker, yard: dict[str, str], told: Told, name: str, meant: str
) -> None:
    files = {
        **yard,
        "content/p.md": HEAD + block("one", f"1 in + {name}") + block("two", "4 in"),
        "content/inputs/model.yml": "hole:\n  size: 4 in\n",
    }

    (line,) = told(make_book(files))

    assert line.startswith("content/p.md:5:14: ")
    assert f"'{name}'" in line or f"'{name.split('.')[0]}'" in line
    assert meant in line or f"'{meant.split('.')[1]}'" in line


def test_what_rests_on_a_failed_block_is_not_told_again(
    make_book: BookMaker, yard: dict[str, str], told: Told
) -> None:
    page = HEAD + block("one", "4 lb") + block("two", "one.half") + "{{ two.half }} {{ one.half }}\n"

    (line,) = told(make_book({**yard, "content/p.md": page}))

    assert line.startswith("content/p.md:5:7: ")


def test_a_calculator_that_fails_is_named_with_its_plugin_and_the_rest_goes_on(
    make_book: BookMaker, yard: dict[str, str], told: Told
) -> None:
    page = HEAD + block("bad", "4 in", "shatter") + block("good", "4 in") + block("rests", "bad.half")
    book = make_book({**yard, "content/p.md": page})

    (line,) = told(book)

    assert line.startswith("content/p.md:4:")
    assert all(word in line for word in ("shatter", "yard", "ZeroDivisionError"))
    assert "kb_local" not in line
    assert float(open_book(book).evaluate().values["good.half"].value) == 2
