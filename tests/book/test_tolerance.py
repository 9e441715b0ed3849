"""Rule 11 and the engine's tolerance: worst case from the root inputs through the whole graph."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from pathlib import Path

import pytest

from kb.reckon import open_book

BookMaker = Callable[[Mapping[str, str]], Path]

HEAD = "---\ntitle: A page\n---\n\n"
SIZES = "box:\n  long: 40 in ± 1 in\n  wide: 20 in ± 1/2 in\n  gap: 2 in +1/4 in -0 in\n"


def spreads(make_book: BookMaker, line: str, inputs: str = SIZES) -> tuple[float, float]:
    page = HEAD + f"```calc formula f\nx: {line}\n```\n"
    done = open_book(make_book({"content/p.md": page, "content/inputs/model.yml": inputs})).evaluate()

    assert not done.problems
    return done.spreads.get("f.x", (0.0, 0.0))


@pytest.mark.parametrize(
    ("line", "minus", "plus"),
    [
        ("box.long / 2", 0.5, 0.5),
        ("box.gap + 1 in", 0, 0.25),
        # 39 x 19 1/2 to 41 x 20 1/2 square inches, about 800
        ("box.long * box.wide in in^2", 800 - 39 * 19.5, 41 * 20.5 - 800),
        # the ends that lie farthest apart are opposite ones
        ("box.long - box.wide", 1.5, 1.5),
        # one input twice is one input: no block-by-block sum
        ("box.long - box.long", 0, 0),
        ("3 in", 0, 0),
    ],
)
def test_the_worst_case_is_that_of_the_root_inputs_together(
    make_book: BookMaker, line: str, minus: float, plus: float
) -> None:
    assert spreads(make_book, line) == pytest.approx((minus, plus))


def test_a_number_as_json_carries_minus_and_plus(
    make_book: BookMaker, keelbook: Callable[..., object]
) -> None:
    page = HEAD + "```calc formula half\nx: deck.length / 2\n```\n"
    inputs = "deck:\n  length: 48 in ± 1/4 in\n"
    book = make_book({"content/p.md": page, "content/inputs/model.yml": inputs})

    number = json.loads(keelbook("numbers", "--json", book=book).out)["numbers"]["half"]["x"]  # type: ignore[attr-defined]

    assert number["value"] == 24
    assert number["tolerance"] == {"minus": 0.125, "plus": 0.125}


@pytest.mark.parametrize(
    ("size", "verdict"),
    [
        ("22 in ± 1 in", "within"),  # 10 1/2 to 11 1/2
        ("21 in ± 1 in", "within"),  # the low end is the bound itself
        ("20 in ± 1 in", "cannot tell"),
        ("19 in ± 1 1/2 in", "cannot tell"),
        ("18 in ± 1 in", "outside"),
        ("20 in", "within"),
    ],
)
def test_rule_11_a_limit_whose_band_crosses_cannot_be_told(
    make_book: BookMaker, size: str, verdict: str
) -> None:
    page = HEAD + "```calc formula a\nhalf: size / 2\n```\n\n```limit low\nrule: a.half >= 10 in\n```\n"
    done = open_book(
        make_book({"content/p.md": page, "content/inputs/model.yml": f"size: {size}\n"})
    ).evaluate()

    assert done.limits["low"].verdict == verdict
    assert done.verdict("a.half") == verdict


def test_a_band_that_crosses_is_carried_to_what_rests_on_it(make_book: BookMaker) -> None:
    page = HEAD + (
        "```calc fuel_load load\ngross: gross\nexpansion: 5 %\nfuel: diesel\n"
        "limits:\n  room: fill_limit >= 95 gal\n```\n\n"
        "```calc formula f\nx: load.usable\n```\n"
    )
    inputs = "gross: 100 gal ± 1 gal\n"
    done = open_book(make_book({"content/p.md": page, "content/inputs/model.yml": inputs})).evaluate()

    assert done.verdict("f.x") == "cannot tell"


def test_a_wider_tolerance_never_makes_a_limit_sure(make_book: BookMaker) -> None:
    found = []
    for spread in ("1/8", "1/4", "1/2", "1", "2"):
        page = HEAD + "```limit low\nrule: size >= 10 in\n```\n"
        inputs = f"size: 10 3/8 in ± {spread} in\n"
        done = open_book(make_book({"content/p.md": page, "content/inputs/model.yml": inputs})).evaluate()
        found.append(done.limits["low"].verdict)

    assert found == ["within", "within", "cannot tell", "cannot tell", "cannot tell"]
