"""A calculator that misbehaves is told as its own fault, at its block, and the rest of the book goes on."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from kb.reckon import open_book

if TYPE_CHECKING:
    from tests.conftest import BookMaker, Command

Told = Callable[[Path], list[str]]

HEAD = "---\ntitle: A page\n---\n"
PAGE = HEAD + (
    "```calc odd first\nsize: 4 in\n```\n\n"
    "```calc halve second\nsize: 6 in\n```\n\n"
    "```calc formula third\nx: 2 * first.half\n```\n\n{{ first.half }}\n"
)
PLUGIN = """\
import math
from dataclasses import dataclass
from typing import Annotated, NamedTuple

from kb import FALLBACK, Limit, Q, Refusal, Source, calculator, hookimpl


class Row(NamedTuple):
    at: Annotated[float, Q("in", "At")]
    held: Annotated[float, Q("gal", "Held")]


@dataclass(frozen=True)
class Odd:
    half: Annotated[float, Q("in", "Half", method="halved")]
    weight: Annotated[float, Q("lb", "Weight", method="weighed")] = 1.0
    rows: Annotated[tuple[Row, ...], Q("", "Rows")] = ()


@calculator(sources=[Source("the yard", "its own rule", "maker's")], limits=[LIMITS])
def odd(
    size: Annotated[float, Q("in", "Size")],
    share: Annotated[float, Q("%", "Share", fallback="FILLED")] = FALLBACK,
) -> Odd:
    \"\"\"Do something odd.\"\"\"
    BODY


@hookimpl
def kb_calculators():
    return (odd,)
"""


def odd(body: str = "return Odd(size / 2)", limits: str = "", filled: str = "5 %") -> dict[str, str]:
    text = PLUGIN.replace("BODY", body).replace("LIMITS", limits).replace("FILLED", filled)
    return {"plugins/strange.py": text, "content/p.md": PAGE}


FAULTY = {
    "an exception": odd("raise KeyError('size')"),
    "a division by zero": odd("return Odd(size / 0)"),
    "nothing given": odd("return None"),
    "a mapping given": odd("return {'half': size / 2}"),
    "a number given": odd("return size / 2"),
    "not a number": odd("return Odd(math.nan)"),
    "infinity": odd("return Odd(-math.inf)"),
    "a text for a number": odd("return Odd('half')"),
    "a flag for a number": odd("return Odd(True)"),
    "no table for a table": odd("return Odd(1.0, 1.0, None)"),
    "a row too short": odd("return Odd(1.0, 1.0, ((1.0,),))"),
    "a row of texts": odd("return Odd(1.0, 1.0, (('a', 'b'),))"),
    "a limit that compares a length with a mass": odd(limits="Limit('fit', 'half <= weight', 'the fit')"),
    "a limit that is no condition": odd(limits="Limit('fit', 'half + size', 'the fit')"),
    "a limit where a length is a mass": odd(
        limits="Limit('fit', 'half <= size', 'the fit', where='half <= weight')"
    ),
    "a fallback of another unit": odd(filled="2 * size"),
    "a fallback that cannot be added up": odd(filled="size + 5 %"),
}


@pytest.mark.parametrize("files", FAULTY.values(), ids=FAULTY)
def test_a_faulty_calculator_is_named_with_its_plugin_at_the_block_or_at_its_code(
    make_book: BookMaker, yard: dict[str, str], told: Told, files: dict[str, str]
) -> None:
    lines = told(make_book({**yard, **files}))

    ours = [line for line in lines if line.startswith(("content/p.md:4:", "plugins/strange.py:"))]
    assert len(ours) == 1
    assert "odd" in ours[0]
    assert "strange" in ours[0]
    assert "kb_local" not in ours[0]


@pytest.mark.parametrize("files", FAULTY.values(), ids=FAULTY)
def test_the_rest_of_the_book_goes_on(
    make_book: BookMaker, yard: dict[str, str], files: dict[str, str]
) -> None:
    values = open_book(make_book({**yard, **files})).evaluate().values

    assert float(values["second.half"].value) == 3


@pytest.mark.parametrize("files", FAULTY.values(), ids=FAULTY)
def test_the_shell_tells_it_in_words(
    make_book: BookMaker, keelbook: Command, yard: dict[str, str], files: dict[str, str]
) -> None:
    ran = keelbook("calc", "odd", "size=4 in", book=make_book({**yard, **files}))

    assert ran.code != 0
    assert "odd" in ran.err


def test_a_refusal_is_told_at_the_value_that_cannot_be(
    make_book: BookMaker, yard: dict[str, str], told: Told
) -> None:
    body = "raise Refusal('size', 'is longer than the bench', 'give at most 3 in')"

    (line,) = told(make_book({**yard, **odd(body)}))

    assert line.startswith("content/p.md:5:7: ")
    assert "size = 4 in is longer than the bench" in line
    assert "give at most 3 in" in line


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("    size: Annotated", "    *size: Annotated"),
        ("    size: Annotated", "    title: Annotated"),
        ("    size: Annotated", "    Size: Annotated"),
        ("    half: Annotated", "    min: Annotated"),
        ("    half: Annotated", "    Half: Annotated"),
    ],
    ids=["any number", "a key of the fence", "no name", "a function of the language", "no name of a result"],
)
def test_a_parameter_or_result_that_no_page_could_name_is_a_wrong_declaration(
    make_book: BookMaker, yard: dict[str, str], told: Told, old: str, new: str
) -> None:
    text = odd("return None")["plugins/strange.py"].replace(old, new)

    lines = told(make_book({**yard, "plugins/strange.py": text}))

    assert len(lines) == 1
    assert lines[0].startswith("plugins/strange.py:")


def test_a_plugin_is_called_by_its_own_name_in_the_list(
    make_book: BookMaker, keelbook: Command, yard: dict[str, str]
) -> None:
    ran = keelbook("calc", "plank", "--json", book=make_book(yard))

    assert '"yard"' in ran.out
    assert "kb_local" not in ran.out
