"""A plugin that is wrong is named with its place, and the rest of the book goes on."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from kb.reckon import open_book

if TYPE_CHECKING:
    from tests.conftest import BookMaker, Command

HEAD = "---\ntitle: A page\n---\n"
GOOD = HEAD + "```calc halve good\nsize: 4 in\n```\n"
Told = Callable[[Path], list[str]]

TOP = """\
from dataclasses import dataclass
from typing import Annotated

from kb import Limit, Q, Source, calculator, hookimpl


@dataclass(frozen=True)
class Doubled:
    twice: Annotated[float, Q("in", "Twice it", rule="size * 2")]


"""
CALCULATOR = """\
@calculator(sources=[Source("the yard", "its own rule", "maker's")])
def double(size: Annotated[float, Q("in", "Size")]) -> Doubled:
    \"\"\"Double a size.\"\"\"
    return Doubled(size * 2)


"""
HOOK = "@hookimpl\ndef kb_calculators():\n    return (double,)\n"
SOUND = TOP + CALCULATOR + HOOK


def test_a_plugin_of_the_book_is_found_without_being_installed(make_book: BookMaker, told: Told) -> None:
    page = HEAD + "```calc double it\nsize: 4 in\n```\n"

    assert told(make_book({"plugins/more.py": SOUND, "content/p.md": page})) == []


WRONG = {
    "syntax": ("x = 1\n\ndef kb_calculators(:\n    pass\n", 3, "SyntaxError"),
    "import": ("import os\nimport nothing_of_that_name\n", 2, "nothing_of_that_name"),
    "name": ("import os\n\nos.nothing_there\n", 3, "nothing_there"),
    "inside": ("def f():\n    return 1 / 0\n\nf()\n", 2, "ZeroDivisionError"),
    "hook": (TOP + CALCULATOR + HOOK.replace("(double,)", "(dubble,)"), 20, "dubble"),
    "unit": (SOUND.replace('Q("in", "Size")', 'Q("inn", "Size")'), 12, "inn"),
    "no unit": (SOUND.replace('size: Annotated[float, Q("in", "Size")]', "size: float"), 12, "size"),
    "no result": (SOUND.replace(" -> Doubled", ""), 12, "double"),
    "limit": (
        SOUND.replace("maker's\")]", "maker's\")], limits=[Limit('l', 'sise <= 1 in', 'fit')]"), 12, "sise"
    ),
    "no calculators": ("x = 1\n", 1, "kb_calculators"),
    "hook gives none": (TOP + CALCULATOR + HOOK.replace("return (double,)", "pass"), 18, "kb_calculators"),
    "no calculator": ("from kb import hookimpl\n\n" + HOOK.replace("double", "len"), 3, "len"),
}  # fmt: skip


@pytest.mark.parametrize(("text", "line", "words"), WRONG.values(), ids=WRONG)
def test_a_wrong_plugin_is_named_with_file_and_line_and_the_rest_goes_on(
    make_book: BookMaker, yard: dict[str, str], told: Told, text: str, line: int, words: str
) -> None:
    book = make_book({**yard, "plugins/bad.py": text, "content/p.md": GOOD})

    (problem,) = told(book)

    assert problem.split(":")[0] == "plugins/bad.py"
    assert words in problem
    assert abs(int(problem.split(":")[1]) - line) <= 1
    assert str(book) not in problem
    assert float(open_book(book).evaluate().values["good.half"].value) == 2


def test_a_plugin_that_leaves_python_does_not_end_the_command(
    make_book: BookMaker, keelbook: Command, yard: dict[str, str]
) -> None:
    book = make_book({**yard, "plugins/bad.py": "import sys\nsys.exit('gone')\n", "content/p.md": GOOD})

    ran = keelbook("check", book=book)

    assert ran.code == 2
    assert ran.err.startswith("plugins/bad.py:2:")
    assert "good" not in ran.err


def test_a_mistyped_hook_is_found_and_the_right_one_offered(
    make_book: BookMaker, yard: dict[str, str], told: Told
) -> None:
    text = TOP + CALCULATOR + HOOK.replace("kb_calculators", "kb_calculator")

    (line,) = told(make_book({**yard, "plugins/bad.py": text, "content/p.md": GOOD}))

    assert line.startswith(("plugins/bad.py:17:", "plugins/bad.py:18:"))
    assert "'kb_calculator'" in line
    assert "kb_calculators" in line


def test_two_calculators_of_one_name_name_both_plugins_and_the_first_is_used(
    make_book: BookMaker, yard: dict[str, str], told: Told
) -> None:
    twice = SOUND.replace("double", "halve")
    book = make_book({**yard, "plugins/again.py": twice, "content/p.md": GOOD})

    (line,) = told(book)

    assert line.startswith("plugins/yard.py:")
    assert all(word in line for word in ("'halve'", "'again'", "'yard'"))


def test_a_plugin_can_be_left_out(make_book: BookMaker, told: Told) -> None:
    settings = "site_name: B\ndocs_dir: content\nplugins:\n  - keelbook:\n      without: [bad]\n"
    page = HEAD + "```calc double it\nsize: 4 in\n```\n"
    files = {"mkdocs.yml": settings, "plugins/bad.py": "x = (\n", "plugins/more.py": SOUND}

    assert told(make_book({**files, "content/p.md": page})) == []


def test_the_shell_leaves_out_what_the_book_leaves_out(make_book: BookMaker, keelbook: Command) -> None:
    settings = "site_name: B\ndocs_dir: content\nplugins:\n  - keelbook:\n      without: [bad]\n"
    files = {"mkdocs.yml": settings, "plugins/bad.py": "x = (\n", "plugins/more.py": SOUND}

    ran = keelbook("calc", "double", "size=4 in", book=make_book(files))

    assert (ran.code, ran.err) == (0, "")


def test_a_name_in_without_that_is_no_plugin_is_told(make_book: BookMaker, told: Told) -> None:
    settings = "site_name: B\ndocs_dir: content\nplugins:\n  - keelbook:\n      without: [mor]\n"

    (line,) = told(make_book({"mkdocs.yml": settings, "plugins/more.py": SOUND}))

    assert line.startswith("mkdocs.yml:5:")
    assert "'mor'" in line
    assert "'more'" in line


def test_a_block_of_a_plugin_that_failed_does_not_blame_the_page_with_a_wrong_suggestion(
    make_book: BookMaker, told: Told
) -> None:
    page = HEAD + "```calc double it\nsize: 4 in\n```\n"

    lines = told(make_book({"plugins/more.py": "x = (\n", "content/p.md": page}))

    assert [line.split(":")[0] for line in lines] == ["content/p.md", "plugins/more.py"]
    assert "'double'" in lines[0]
