"""`keelbook check`: what it runs, what it tells, how it ends."""

from __future__ import annotations

import json
import os
import pty
import re
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

if TYPE_CHECKING:
    from tests.conftest import BookMaker, Command

HEAD = "---\ntitle: A page\n---\n"
SOUND = HEAD + "```calc plank deck\nlength: 48 in\nwidth: 12 in\n```\n"
TOO_LONG = HEAD + "```calc plank deck\nlength: 100 in\nwidth: 12 in\n```\n"
UNTRIED = HEAD + "```calc beam carlin\nspan: 72 in\n```\n"
WRONG = HEAD + "```calc formula deck\nlength: nowhere.at_all + 1 in\n```\n"
LIMIT = HEAD + "```limit fits\nrule: mast.height <= 30 ft\nprotects: the bridge at the yard\n```\n"
COMMAND = [sys.executable, "-c", "from kb.commands.main import main; main()"]


def test_a_sound_book_ends_with_0_and_says_nothing_on_standard_error(
    make_book: BookMaker, keelbook: Command, yard: dict[str, str]
) -> None:
    ran = keelbook("check", book=make_book({**yard, "content/p.md": SOUND}))

    assert (ran.code, ran.err) == (0, "")


def test_a_book_with_an_error_ends_with_2(make_book: BookMaker, keelbook: Command) -> None:
    assert keelbook("check", book=make_book({"content/p.md": WRONG})).code == 2


def test_an_error_is_one_line_of_place_what_and_what_to_do_on_standard_error(
    make_book: BookMaker, keelbook: Command
) -> None:
    ran = keelbook("check", book=make_book({"content/p.md": WRONG}))

    assert re.fullmatch(r"content/p\.md:5:9: [^;\n]*'nowhere\.at_all'[^;\n]*; [^\n]+\n", ran.err)
    assert "nowhere" not in ran.out


@pytest.mark.parametrize("page", [TOO_LONG, UNTRIED], ids=["outside", "cannot tell"])
def test_a_limit_that_does_not_hold_is_no_error_of_the_book(
    make_book: BookMaker, keelbook: Command, yard: dict[str, str], page: str
) -> None:
    ran = keelbook("check", book=make_book({**yard, "content/p.md": page}))

    assert (ran.code, ran.err) == (0, "")


@pytest.mark.parametrize("page", [TOO_LONG, UNTRIED], ids=["outside", "cannot tell"])
def test_strict_ends_with_1_where_a_limit_does_not_hold(
    make_book: BookMaker, keelbook: Command, yard: dict[str, str], page: str
) -> None:
    assert keelbook("check", "--strict", book=make_book({**yard, "content/p.md": page})).code == 1


def test_strict_ends_with_0_where_every_limit_holds(
    make_book: BookMaker, keelbook: Command, yard: dict[str, str]
) -> None:
    assert keelbook("check", "--strict", book=make_book({**yard, "content/p.md": SOUND})).code == 0


def test_strict_ends_with_2_where_the_book_has_errors_too(
    make_book: BookMaker, keelbook: Command, yard: dict[str, str]
) -> None:
    book = make_book({**yard, "content/p.md": TOO_LONG, "content/q.md": WRONG.replace("deck", "other")})

    assert keelbook("check", "--strict", book=book).code == 2


def test_strict_ends_with_1_where_a_limit_is_outside_on_one_hull_only(
    make_book: BookMaker, keelbook: Command
) -> None:
    files = {
        "content/p.md": LIMIT,
        "content/inputs/model.yml": "mast:\n  height: 28 ft\n",
        "content/hulls/A-1/hull.yml": "mast:\n  height: 31 ft\n",
    }

    assert keelbook("check", "--strict", book=make_book(files)).code == 1


def accepting(at: str) -> dict[str, str]:
    accepted = f"accepted:\n  deck.bench: {{by: Jo, why: sawn outdoors, at: {at}}}\n"
    return {"content/p.md": TOO_LONG, "content/inputs/model.yml": accepted}


def test_strict_ends_with_0_where_the_limit_is_accepted_with_a_reason(
    make_book: BookMaker, keelbook: Command, yard: dict[str, str]
) -> None:
    assert keelbook("check", "--strict", book=make_book({**yard, **accepting("100 in")})).code == 0


def test_the_verdict_of_an_accepted_limit_is_accepted(
    make_book: BookMaker, keelbook: Command, yard: dict[str, str]
) -> None:
    ran = keelbook("check", "--json", book=make_book({**yard, **accepting("100 in")}))

    assert [limit["verdict"] for limit in json.loads(ran.out)["limits"]] == ["accepted"]


def test_an_acceptance_lapses_when_the_value_is_no_longer_the_accepted_one(
    make_book: BookMaker, keelbook: Command, yard: dict[str, str]
) -> None:
    ran = keelbook("check", "--json", book=make_book({**yard, **accepting("99 in")}))

    assert [limit["verdict"] for limit in json.loads(ran.out)["limits"]] == ["outside"]


@pytest.mark.parametrize(
    "arguments", [["check", "--jsn"], ["check", "now"], ["chek"], ["check", "--strict=very"]]
)
def test_wrong_use_of_the_command_line_ends_with_64(
    make_book: BookMaker, keelbook: Command, arguments: list[str]
) -> None:
    ran = keelbook(*arguments, book=make_book({}))

    assert (ran.code, ran.out) == (64, "")
    assert ran.err


@pytest.mark.parametrize("command", [["check"], ["numbers"], ["uses", "x"]])
def test_a_folder_without_a_book_ends_with_64_and_says_how_to_name_one(
    keelbook: Command, tmp_path: Path, command: list[str]
) -> None:
    ran = keelbook(*command, book=tmp_path)

    assert (ran.code, ran.out) == (64, "")
    assert "--book" in ran.err


def test_json_holds_problems_notes_and_limits_and_nothing_else(
    make_book: BookMaker, keelbook: Command, yard: dict[str, str]
) -> None:
    ran = keelbook("check", "--json", book=make_book({**yard, "content/p.md": TOO_LONG}))

    assert json.loads(ran.out).keys() == {"problems", "notes", "limits"}
    assert ran.err == ""


def test_a_problem_as_json_has_its_place_what_and_fix(make_book: BookMaker, keelbook: Command) -> None:
    ran = keelbook("check", "--json", book=make_book({"content/p.md": WRONG}))

    (problem,) = json.loads(ran.out)["problems"]

    assert ran.code == 2
    assert problem.keys() == {"file", "line", "column", "what", "fix"}
    assert (problem["file"], problem["line"], problem["column"]) == ("content/p.md", 5, 9)
    assert "'nowhere.at_all'" in problem["what"]


def limits_of(ran_out: str) -> dict[str, dict[str, Any]]:
    return {limit["name"]: limit for limit in json.loads(ran_out)["limits"]}


def test_a_limit_as_json_has_name_verdict_margin_and_rule(
    make_book: BookMaker, keelbook: Command, yard: dict[str, str]
) -> None:
    ran = keelbook("check", "--json", book=make_book({**yard, "content/p.md": TOO_LONG}))

    limit = limits_of(ran.out)["deck.bench"]

    assert (limit["verdict"], limit["rule"]) == ("outside", "length <= 96 in")
    assert limit["margin"] == {"value": -4, "unit": "in"}


def test_a_limit_that_cannot_be_told_has_no_margin(
    make_book: BookMaker, keelbook: Command, yard: dict[str, str]
) -> None:
    ran = keelbook("check", "--json", book=make_book({**yard, "content/p.md": UNTRIED}))

    limit = limits_of(ran.out)["carlin.flat"]

    assert (limit["verdict"], limit["margin"]) == ("cannot tell", None)


def test_a_limit_fence_is_among_the_limits(make_book: BookMaker, keelbook: Command) -> None:
    files = {"content/p.md": LIMIT, "content/inputs/model.yml": "mast:\n  height: 28 ft\n"}

    ran = keelbook("check", "--json", book=make_book(files))

    assert limits_of(ran.out)["fits"]["margin"] == {"value": 2, "unit": "ft"}


def test_a_limit_that_is_not_within_is_named_with_place_verdict_and_margin(
    make_book: BookMaker, keelbook: Command, yard: dict[str, str]
) -> None:
    ran = keelbook("check", book=make_book({**yard, "content/p.md": TOO_LONG}))

    line = next(line for line in ran.out.splitlines() if "deck.bench" in line)

    assert line.startswith("content/p.md:4")
    assert "outside" in line
    assert "-4 in" in line


EDITIONS = {
    "content/p.md": LIMIT,
    "content/inputs/model.yml": "mast:\n  height: 28 ft\n",
    "content/inputs/options/tall.yml": "mast:\n  height: 31 ft\n",
    "content/inputs/options/short.yml": "mast:\n  height: 25 ft\n",
    "content/hulls/A-1/hull.yml": "options: [tall]\nmast:\n  height: 29 ft\n",
    "content/hulls/A-2/hull.yml": "options: [short]\n",
}


def test_the_model_each_option_alone_and_every_hull_are_run(make_book: BookMaker, keelbook: Command) -> None:
    ran = keelbook("check", "--json", book=make_book(EDITIONS))

    margins = [limit["margin"]["value"] for limit in json.loads(ran.out)["limits"]]

    assert sorted(margins) == [-1, 1, 2, 5, 5]


def nobody(kind: str) -> str:
    return f"mast:\n  height: 28 {kind}\n"


def test_an_error_of_the_model_is_told_once_and_names_no_edition(
    make_book: BookMaker, told: Callable[[Path], list[str]]
) -> None:
    book = make_book(
        {
            "content/p.md": LIMIT,
            "content/inputs/model.yml": nobody("lb"),
            "content/inputs/options/tall.yml": "flag:\n  colour: red\n",
            "content/hulls/A-1/hull.yml": "options: [tall]\n",
        }
    )

    (line,) = told(book)

    assert "tall" not in line
    assert "A-1" not in line


def test_an_error_that_only_an_option_brings_names_the_option(
    make_book: BookMaker, told: Callable[[Path], list[str]]
) -> None:
    book = make_book(
        {
            "content/p.md": LIMIT,
            "content/inputs/model.yml": nobody("ft"),
            "content/inputs/options/tall.yml": nobody("lb"),
        }
    )

    (line,) = told(book)

    assert "(with option tall)" in line


def test_an_error_that_only_one_hull_has_names_the_hull(
    make_book: BookMaker, told: Callable[[Path], list[str]]
) -> None:
    book = make_book(
        {
            "content/p.md": LIMIT,
            "content/inputs/model.yml": nobody("ft"),
            "content/hulls/A-1/hull.yml": "flag:\n  colour: red\n",
            "content/hulls/A-2/hull.yml": nobody("lb"),
        }
    )

    (line,) = told(book)

    assert "(hull A-2)" in line


def test_an_option_is_run_alone_and_not_on_top_of_another(
    make_book: BookMaker, told: Callable[[Path], list[str]]
) -> None:
    book = make_book(
        {
            "content/p.md": HEAD + ":::when options.tall\n{{ mast.stays }}\n:::\n",
            "content/inputs/options/rigged.yml": "mast:\n  stays: 3\n",
            "content/inputs/options/tall.yml": "",
            "content/hulls/A-1/hull.yml": "options: [rigged, tall]\n",
        }
    )

    (line,) = told(book)

    assert "(with option tall)" in line


def test_every_problem_of_every_file_is_told_at_once(
    make_book: BookMaker, told: Callable[[Path], list[str]]
) -> None:
    book = make_book(
        {
            "plugins/bad.py": "import nothing_of_that_name\n",
            "content/a.md": HEAD + "{{ one.thing }} and {{ another.thing }}\n",
            "content/b.md": HEAD + "```calc formula sums\nx: 1 in + 1 lb\ny: 2 furlong\n```\n",
            "content/c.md": "---\ntitle: C\nstage: nowhere\n---\n",
            "content/inputs/model.yml": "a:\n  x: 3 oranges\n  y: 2026-02-30\n",
            "content/hulls/A-1/hull.yml": "options: [missing]\n",
        }
    )

    places = [line.split(": ")[0] for line in told(book)]

    assert places == [
        "content/a.md:4:4",
        "content/a.md:4:24",
        "content/b.md:5:9",
        "content/b.md:6:6",
        "content/c.md:3:8",
        "content/hulls/A-1/hull.yml:1:11",
        "content/inputs/model.yml:2:8",
        "content/inputs/model.yml:3:6",
        "plugins/bad.py:1:1",
    ]


def test_a_file_that_is_not_text_is_named_and_the_rest_goes_on(
    make_book: BookMaker, keelbook: Command
) -> None:
    book = make_book({"content/p.md": WRONG})
    (book / "content" / "q.md").write_bytes(b"\xff\xfe\x00")

    ran = keelbook("check", book=book)

    assert "content/q.md" in ran.err
    assert "content/p.md:5:9" in ran.err


def test_a_book_can_be_named_from_another_folder_with_a_relative_path(
    make_book: BookMaker, keelbook: Command, monkeypatch: pytest.MonkeyPatch
) -> None:
    book = make_book({"content/p.md": WRONG})
    monkeypatch.chdir(book.parent)

    ran = keelbook("check", book=Path("book"))

    assert ran.err.startswith("content/p.md:5:9: ")


def on_a_terminal(book: Path, **environment: str) -> str:
    """Return what `check` prints where standard output is a terminal."""
    ours, theirs = pty.openpty()
    kept = {key: value for key, value in os.environ.items() if key != "NO_COLOR"}
    subprocess.run(
        [*COMMAND, "check"],
        cwd=book,
        env={**kept, "TERM": "xterm", **environment},
        stdin=subprocess.DEVNULL,
        stdout=theirs,
        stderr=theirs,
        timeout=60,
        check=False,
    )
    os.close(theirs)
    with os.fdopen(ours, "rb") as stream:
        printed = stream.read1()
    return printed.decode()


def test_verdicts_are_coloured_on_a_terminal_and_plain_with_no_color(
    make_book: BookMaker, yard: dict[str, str]
) -> None:
    book = make_book({**yard, "content/p.md": TOO_LONG})

    coloured, plain = on_a_terminal(book), on_a_terminal(book, NO_COLOR="1")

    assert "\x1b[" in coloured
    assert "\x1b" not in plain
    assert "outside" in plain


def test_a_pipe_gets_no_colour_and_no_mixture_of_the_two_streams(
    make_book: BookMaker, yard: dict[str, str]
) -> None:
    book = make_book({**yard, "content/p.md": TOO_LONG, "content/q.md": WRONG.replace("deck", "other")})

    done = subprocess.run(
        [*COMMAND, "check"], cwd=book, capture_output=True, text=True, timeout=60, check=False
    )

    assert done.returncode == 2
    assert "\x1b" not in done.stdout + done.stderr
    assert "outside" in done.stdout
    assert "outside" not in done.stderr
    assert done.stderr.startswith("content/q.md:5:9: ")
