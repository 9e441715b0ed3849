"""Rule 11 and the engine's tolerance: worst case from the root inputs through the whole graph."""

from __future__ import annotations

import json
import math
import re
from collections.abc import Callable
from itertools import product
from pathlib import Path
from random import Random
from typing import TYPE_CHECKING, Any

import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from kb.numbers.evaluate import Evaluation
from kb.reckon import open_book

if TYPE_CHECKING:
    from tests.conftest import BookMaker, Command

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


# ---- against brute force

GIVEN = {"a": (40.0, 1.0, 1.0), "b": (20.0, 0.5, 0.5), "c": (8.0, 0.25, 0.5), "d": (2.0, 0.0, 0.125)}
"""Middle, minus and plus of four inputs in inches."""
FOUR = "a: 40 in ± 1 in\nb: 20 in ± 1/2 in\nc: 8 in +1/2 in -1/4 in\nd: 2 in +1/8 in -0 in\nplain: 5 in\n"


def corners_of(formula: Callable[..., float]) -> tuple[float, float]:
    """Return how far a formula goes below and above its middle, over every corner of the four inputs."""
    middle = formula(*(size for size, _, _ in GIVEN.values()))
    ends = [(size - minus, size, size + plus) for size, minus, plus in GIVEN.values()]
    found = [formula(*corner) for corner in product(*ends)]
    return middle - min(found), max(found) - middle


def worked(make_book: BookMaker, body: str, inputs: str) -> Evaluation:
    """Work out a book of one page."""
    book = make_book({"content/p.md": HEAD + body, "content/inputs/model.yml": inputs})
    done = open_book(book).evaluate()

    assert not done.problems
    return done


def formulas(**lines: str) -> str:
    """Return a page of formulas, each a block of one line `x`."""
    return "\n".join(f"```calc formula {name}\nx: {line}\n```\n" for name, line in lines.items())


@pytest.mark.parametrize(
    ("line", "by_hand"),
    [
        ("a * b * c in in^3", lambda a, b, c, d: a * b * c),
        ("a * b / c in in", lambda a, b, c, d: a * b / c),
        ("a / b - c / d", lambda a, b, c, d: a / b - c / d),
        ("a - b - c - d", lambda a, b, c, d: a - b - c - d),
        ("(a - b) * (c - d) in in^2", lambda a, b, c, d: (a - b) * (c - d)),
        ("(a + b) / (c + d)", lambda a, b, c, d: (a + b) / (c + d)),
        ("sqrt(a * b) + c in in", lambda a, b, c, d: math.sqrt(a * b) + c),
        ("a / (b - c - d)", lambda a, b, c, d: a / (b - c - d)),
        ("min(a, 39 1/2 in) - d", lambda a, b, c, d: min(a, 39.5) - d),
        ("max(b, 2 * c) + d", lambda a, b, c, d: max(b, 2 * c) + d),
        ("a * a / b - c in in", lambda a, b, c, d: a * a / b - c),
        ("ceil(a * b / c / c)", lambda a, b, c, d: math.ceil(a * b / c / c)),
        ("floor(a, 1/2 in) + d", lambda a, b, c, d: math.floor(2 * a) / 2 + d),
        ("-a + b - 2 * c", lambda a, b, c, d: -a + b - 2 * c),
    ],
)
def test_the_worst_case_is_the_worst_of_all_corners(
    make_book: BookMaker, line: str, by_hand: Callable[..., float]
) -> None:
    done = worked(make_book, formulas(f=line), FOUR)

    assert done.spreads["f.x"] == pytest.approx(corners_of(by_hand), abs=1e-9)


def test_the_worst_case_goes_through_a_chain_of_blocks_and_a_calculator(
    make_book: BookMaker, yard: dict[str, str]
) -> None:
    body = formulas(long="a + b") + (
        "\n```calc plank p\nlength: long.x\nwidth: c\nthickness: d\ndensity: 48 lb/ft^3\n```\n\n"
        "```calc formula rest\nx: p.mass - a * 1 lb/in in lb\n```\n"
    )
    book = make_book({**yard, "content/p.md": HEAD + body, "content/inputs/model.yml": FOUR})
    done = open_book(book).evaluate()

    mass = corners_of(lambda a, b, c, d: (a + b) * c * d / 1728 * 48)
    assert done.spreads["p.mass"] == pytest.approx(mass)
    # Through the plank and directly: one input is at one end at a time.
    rest = corners_of(lambda a, b, c, d: (a + b) * c * d / 1728 * 48 - a)
    assert done.spreads["rest.x"] == pytest.approx(rest)


def test_a_moment_about_a_middle_counts_both_of_its_inputs(make_book: BookMaker) -> None:
    """At a lever of nought the mass alone moves nothing; at its ends it does: 110 lb at 1 in."""
    inputs = "lever: 0 in ± 1 in\nmass: 100 lb ± 10 lb\n"
    done = worked(make_book, formulas(f="lever * mass in lb*in"), inputs)

    assert done.spreads["f.x"] == pytest.approx((110, 110))


def many(signs: list[list[int]]) -> tuple[str, str, list[float]]:
    """Return a page of sums of twenty inputs, the inputs, and each sum's spread by hand."""
    inputs = "".join(f"  x{i}: 10 in ± 1/{i + 2} in\n" for i in range(20))
    lines = {
        f"b{at}": " + ".join(f"({sign}) * g.x{i}" for i, sign in enumerate(row) if sign)
        for at, row in enumerate(signs)
    }
    by_hand = [sum(abs(sign) / (i + 2) for i, sign in enumerate(row)) for row in signs]
    return formulas(**lines), "g:\n" + inputs, by_hand


def test_twenty_inputs_on_sixty_blocks_that_go_one_way_are_the_sum_of_each(make_book: BookMaker) -> None:
    chance = Random(20)
    signs = [[chance.choice([0, 0, 1, 2]) for _ in range(20)] for _ in range(60)]
    page, inputs, by_hand = many(signs)
    done = worked(make_book, page, inputs)

    assert [done.spreads[f"b{at}.x"] for at in range(60)] == [
        pytest.approx((spread, spread)) for spread in by_hand
    ]


def test_twenty_inputs_on_sixty_blocks_that_go_any_way_are_the_sum_of_each(make_book: BookMaker) -> None:
    """Sixty sums want sixty different corners, and none is left out."""
    chance = Random(60)
    signs = [[chance.choice([-1, 0, 0, 1]) for _ in range(20)] for _ in range(60)]
    page, inputs, by_hand = many(signs)
    done = worked(make_book, page, inputs)

    wrong = {
        at: (done.spreads[f"b{at}.x"], spread)
        for at, spread in enumerate(by_hand)
        if done.spreads[f"b{at}.x"] != pytest.approx((spread, spread))
    }
    assert wrong == {}


def test_a_limit_far_down_a_large_book_is_judged_at_its_own_corner(make_book: BookMaker) -> None:
    chance = Random(61)
    signs = [[chance.choice([-1, 1]) for _ in range(8)] for _ in range(60)]
    page, inputs, by_hand = many(signs)
    middle = 10 * sum(signs[59])
    # A sixteenth inside what the sum may fall to.
    bound = f"{middle - by_hand[59] + 1 / 16:.6f}"
    done = worked(make_book, f"{page}\n```limit last\nrule: b59.x >= {bound} in\n```\n", inputs)

    assert done.limits["last"].verdict == "cannot tell"


# ---- beside the worst case


def number_of(keelbook: Command, book: Path, block: str) -> dict[str, Any]:
    data = json.loads(keelbook("numbers", "--json", book=book).out)
    number: dict[str, Any] = data["numbers"][block]["x"]
    return number


@pytest.mark.parametrize(
    ("line", "worst", "likely", "mover"),
    [
        # 3 and twice 2
        ("a + 2 * b", (7, 7), (5, 5), ("b", 4)),
        ("a - 2 * b", (7, 7), (5, 5), ("b", 4)),
        # c goes up only: 0 and 12 beside 3 and 4
        ("a + 2 * b + c", (7, 19), (5, 13), ("c", 12)),
        ("a + 2 * b - c", (19, 7), (13, 5), ("c", 12)),
        ("a / 3", (1, 1), (1, 1), ("a", 1)),
        ("max(c, 1 in) * 1", (0, 12), (0, 12), ("c", 12)),
    ],
)
def test_the_likely_band_is_the_root_of_the_sum_of_squares_and_the_mover_moves_most(
    make_book: BookMaker,
    keelbook: Command,
    line: str,
    worst: tuple[float, float],
    likely: tuple[float, float],
    mover: tuple[str, float],
) -> None:
    inputs = "a: 50 in ± 3 in\nb: 30 in ± 2 in\nc: 60 in +12 in -0 in\n"
    book = make_book({"content/p.md": HEAD + formulas(f=line), "content/inputs/model.yml": inputs})
    number = number_of(keelbook, book, "f")

    assert number["tolerance"] == pytest.approx({"minus": worst[0], "plus": worst[1]})
    assert number["likely"] == pytest.approx({"minus": likely[0], "plus": likely[1]})
    assert number["moves_most_with"] == {"input": mover[0], "by": pytest.approx(mover[1])}


def test_nothing_is_judged_by_the_likely_band(make_book: BookMaker) -> None:
    inputs = "a: 50 in ± 3 in\nb: 30 in ± 4 in\n"
    body = formulas(f="a + b") + "\n```limit low\nrule: f.x >= 74 in\n```\n"
    done = worked(make_book, body, inputs)

    assert done.likely["f.x"] == pytest.approx((5, 5))  # 75 at least, likely
    assert done.limits["low"].verdict == "cannot tell"


def test_what_rests_on_no_toleranced_input_is_untouched(make_book: BookMaker, keelbook: Command) -> None:
    body = (
        formulas(f="a * 2", g="plain * 2", h="plain - plain / 3")
        + "\n```limit g_low\nrule: g.x >= 10 in\n```\n"
    )
    book = make_book({"content/p.md": HEAD + body, "content/inputs/model.yml": FOUR})
    done = open_book(book).evaluate()

    assert set(done.spreads) == {"f.x"}
    assert set(done.likely) == {"f.x"}
    assert set(done.movers) == {"f.x"}
    assert done.limits["g_low"].verdict == "within"
    assert {"tolerance", "likely", "moves_most_with"}.isdisjoint(number_of(keelbook, book, "g"))


@pytest.mark.parametrize(("limit", "verdict"), [("n.x <= 10", "cannot tell"), ("n.x <= 11", "within")])
def test_a_count_may_be_one_more_at_the_end_of_a_tolerance(
    make_book: BookMaker, limit: str, verdict: str
) -> None:
    body = formulas(n="ceil(long / 10 in)") + f"\n```limit room\nrule: {limit}\n```\n"
    done = worked(make_book, body, "long: 100 in ± 1 in\n")

    assert done.values["n.x"].value == 10
    assert done.spreads["n.x"] == (0, 1)
    assert done.limits["room"].verdict == verdict


@pytest.mark.parametrize(
    ("size", "body", "shown"),
    [
        ("46.5 in ± 0.1 in", formulas(f="size + 0 in") + "\nCut {{ f.x }}.\n", "46.5 in"),
        ("46.12 in ± 0.2 in", formulas(f="size + 1.24 in") + "\nCut {{ f.x }}.\n", "47.4 in"),
        ("46.12 in ± 1 in", "Cut {{ size }}.\n", "46 in"),
        ("46.12 in ± 1 in", formulas(f="size + 1 in") + "\nCut {{ f.x }}.\n", "47 in"),
        ("46.12 in ± 1 in", "Cut {{ size + 1 in }}.\n", "47 in"),
        ("46.12 in ± 1 in", "Cut {{ size * 2 in in }}.\n", "92 in"),
        ("46.12 in ± 1 in", "Cut {{ size in mm }}.\n", "1150 mm"),  # 1171.4 ± 25.4, in steps of 50
    ],
)
def test_rule_16_a_live_value_shows_nothing_finer_than_its_tolerance_and_no_coarser_step_than_it_needs(
    make_book: BookMaker, size: str, body: str, shown: str
) -> None:
    book = make_book({"content/p.md": HEAD + body, "content/inputs/model.yml": f"size: {size}\n"})
    opened = open_book(book)
    done = opened.evaluate()

    assert done.show(opened.book.pages[0].live[0]).text == shown


# ---- limits at the edge of the band


@pytest.mark.parametrize(
    ("size", "rule", "verdict"),
    [
        ("10 1/2 in ± 1/2 in", "size >= 10 in", "within"),
        ("10 1/2 in ± 1/2 in", "size > 10 in", "cannot tell"),
        ("10 1/2 in ± 33/64 in", "size >= 10 in", "cannot tell"),
        ("9 1/2 in ± 1/2 in", "size >= 10 in", "cannot tell"),
        ("9 1/2 in ± 1/2 in", "size > 10 in", "outside"),
        ("9 1/2 in ± 31/64 in", "size >= 10 in", "outside"),
        ("10 1/2 in ± 1/2 in", "10 in <= size <= 11 in", "within"),
        ("10 1/2 in +9/16 in -1/2 in", "10 in <= size <= 11 in", "cannot tell"),
        ("10 1/2 in +1/2 in -9/16 in", "10 in <= size <= 11 in", "cannot tell"),
        ("12 in ± 1 in", "10 in <= size <= 11 in", "cannot tell"),
        ("12 in ± 1 in", "10 in <= size < 11 in", "outside"),
        ("0.3 in ± 0.1 in", "3 * size <= 1.2 in", "within"),
        ("0.3 in ± 0.1 in", "size * size >= 0.04 in^2", "within"),
        ("72 degF ± 2 degF", "size <= 74 degF", "within"),
        ("72 degF ± 2 degF", "size < 74 degF", "cannot tell"),
        ("100 in ± 5 %", "size >= 95 in", "within"),
        ("100 in ± 5 %", "size >= 95.01 in", "cannot tell"),
    ],
)
def test_rule_11_a_limit_flips_exactly_at_the_edge_of_its_band(
    make_book: BookMaker, size: str, rule: str, verdict: str
) -> None:
    done = worked(make_book, f"```limit edge\nrule: {rule}\n```\n", f"size: {size}\n")

    assert done.limits["edge"].verdict == verdict


@pytest.mark.parametrize(
    ("size", "rule"),
    [
        # Both ends and the middle lie on the good side, and what is between lies on the other.
        ("9 in ± 3 in", "size <= 10 in or size >= 11 in"),
        ("9 in ± 3 in", "not 10 in <= size <= 11 in"),
        ("9 in ± 3 in", "size <= 10 in or not size < 11 in"),
        # The same the other way round: between lies the window.
        ("9 in ± 3 in", "10 in <= size <= 11 in"),
        ("9 in ± 3 in", "size >= 10 in and size <= 11 in"),
    ],
)
def test_rule_11_each_comparison_whose_band_crosses_cannot_be_told_and_and_or_not_are_three_valued(
    make_book: BookMaker, size: str, rule: str
) -> None:
    done = worked(make_book, f"```limit band\nrule: {rule}\n```\n", f"size: {size}\n")

    assert done.limits["band"].verdict == "cannot tell"


RULES = [
    "{a} >= {k} in",
    "{a} < {k} in",
    "{a} - {b} >= {k} in",
    "{a} * {b} <= {k} * {k} in^2",
    "{a} / {b} > {k} / 10",
    "{k} in <= {a} + {b}",
    "{k} in <= {a} <= {k} in + 4 in",
    "{a} >= {k} in and {b} <= {k} in",
    "{a} >= {k} in or {b} >= {k} in",
    "not {a} >= {k} in",
    "{a} <= {k} in or {a} >= {k} in + 1 in",
    "not {k} in <= {a} <= {k} in + 1 in",
]


@pytest.mark.parametrize("rule", RULES)
@settings(
    max_examples=6,
    deadline=None,
    phases=[Phase.explicit, Phase.reuse, Phase.generate],
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
@given(
    first=st.integers(32, 320),
    second=st.integers(32, 320),
    bound=st.integers(16, 400),
    spreads=st.lists(st.integers(0, 31), min_size=5, max_size=5).map(sorted),
)
def test_a_wider_tolerance_never_turns_cannot_tell_into_within(
    make_book: BookMaker, rule: str, first: int, second: int, bound: int, spreads: list[int]
) -> None:
    inputs, limits = "", ""
    for at, spread in enumerate(spreads):
        inputs += f"a{at}: {first / 16} in ± {spread / 16} in\nb{at}: {second / 16} in ± {spread / 32} in\n"
        limits += f"```limit w{at}\nrule: {rule.format(a=f'a{at}', b=f'b{at}', k=bound / 16)}\n```\n\n"
    done = worked(make_book, limits, inputs)
    verdicts = [done.limits[f"w{at}"].verdict for at in range(5)]
    unsure = [at for at, verdict in enumerate(verdicts) if verdict == "cannot tell"]

    assert "within" not in (verdicts[unsure[0] :] if unsure else [])
    if "within" in verdicts:
        assert "outside" not in verdicts


# ---- accepted limits: rule 13

LOW = "```limit low\nrule: size >= 10 in\n```\n"


def accepted_at(size: str, at: str) -> str:
    return f"size: {size}\naccepted:\n  low: {{by: Ada, why: built so before, at: {at}}}\n"


@pytest.mark.parametrize(
    ("size", "at", "verdict", "strict"),
    [
        ("9 1/2 in ± 1/8 in", "9.5 in", "accepted", 0),  # outside at every end
        ("9 1/2 in ± 1 in", "9.5 in", "accepted", 0),  # within at one
        ("9 1/2 in ± 1/8 in", "9 in", "outside", 1),  # lapsed
        ("9 1/2 in ± 1 in", "9 in", "cannot tell", 1),
        # "Accepted in spite of their verdict": cannot tell is such a one.
        ("10 1/2 in ± 1 in", "10.5 in", "accepted", 0),
        ("10 1/2 in ± 1 in", "10 in", "cannot tell", 1),
        # The value at one end of the tolerance is not the value.
        ("10 1/2 in ± 1 in", "9.5 in", "cannot tell", 1),
        ("9 in ± 1/2 in", "9.5 in", "outside", 1),
        ("11 in ± 1/2 in", "11 in", "within", 0),
    ],
)
def test_rule_13_an_acceptance_holds_for_the_nominal_value_and_no_other(
    make_book: BookMaker, keelbook: Command, size: str, at: str, verdict: str, strict: int
) -> None:
    book = make_book({"content/p.md": HEAD + LOW, "content/inputs/model.yml": accepted_at(size, at)})

    assert open_book(book).evaluate().limits["low"].verdict == verdict
    assert keelbook("check", "--strict", book=book).code == strict
    assert keelbook("check", book=book).code == 0


def test_rule_13_an_accepted_limit_stays_accepted_where_its_block_is_refused_at_one_end(
    make_book: BookMaker,
) -> None:
    inputs = "un: 9 gal ± 1 gal\naccepted:\n  load.room: {by: Ada, why: a day tank, at: 0.5 gal}\n"
    rule = "usable >= 5 gal"
    done = worked(make_book, REFUSED.replace("fill_limit >= 5 gal", rule), inputs)

    assert {one.name: one.verdict for one in done.blocks["load"].limits}["room"] == "accepted"


# ---- where a tolerance carries a book over an edge of its own

REFUSED = (
    "```calc fuel_load load\ngross: 10 gal\nexpansion: 5 %\nfuel: diesel\nunusable: un\n"
    "limits:\n  room: fill_limit >= 5 gal\n```\n\n"
    "```calc formula rest\nx: load.usable\nlimits:\n  some: x >= 0 gal\n```\n\n"
    "```calc formula apart\nx: un / 2\nlimits:\n  some: x >= 0 gal\n```\n"
)


def test_a_block_that_is_refused_at_one_end_cannot_be_told_and_is_noted(
    make_book: BookMaker, keelbook: Command
) -> None:
    """Nine gallons of 9 1/2 may stay in the tank; ten may not."""
    book = make_book({"content/p.md": HEAD + REFUSED, "content/inputs/model.yml": "un: 9 gal ± 1 gal\n"})
    done = open_book(book).evaluate()
    ran = keelbook("check", book=book)

    assert not done.problems
    assert {one.verdict for one in done.blocks["load"].limits} == {"cannot tell"}
    assert [one.verdict for one in done.blocks["rest"].limits] == ["cannot tell"]
    assert [one.verdict for one in done.blocks["apart"].limits] == ["within"]
    assert ran.code == 0
    assert re.fullmatch(r"note: content/p\.md:9:11: [^\n]*un[^\n]*\n", ran.err)
    assert "leaves nothing in the tank" in ran.err
    assert keelbook("check", "--strict", book=book).code == 1


@pytest.mark.parametrize(
    "body",
    [
        "```limit low\nrule: 100 in^2 / gap <= 200 in\n```\n",
        "```calc formula f\nx: gap * 1\nlimits:\n  low: 100 in^2 / x <= 200 in\n```\n",
        "```calc formula f\nx: 100 in^2 / gap in in\n```\n\n```limit low\nrule: f.x <= 200 in\n```\n",
    ],
    ids=["a limit fence", "a block's own limit", "a line of a formula"],
)
def test_a_rule_that_cannot_be_worked_out_at_one_end_cannot_be_told(make_book: BookMaker, body: str) -> None:
    done = worked(make_book, body, "gap: 1 in ± 1 in\n")
    found = {**done.limits, **{one.name: one for result in done.blocks.values() for one in result.limits}}

    assert found["low"].verdict == "cannot tell"
    assert any("division by zero" in note.what for note in done.notes)


GATED = '''\
from dataclasses import dataclass
from typing import Annotated

from kb import Limit, Q, Source, calculator, hookimpl


@dataclass(frozen=True)
class Half:
    half: Annotated[float, Q("in", "Half of it", rule="size / 2")]


@calculator(
    sources=[Source("the yard", "its own rule", "maker's")],
    limits=[Limit("enough", "half >= 1 in", "the deck", given="needed")],
)
def halved(
    size: Annotated[float, Q("in", "Size")],
    needed: Annotated[float | None, Q("in", "Needed", unset="not judged")] = None,
) -> Half:
    """Halve a size."""
    return Half(size / 2)


@hookimpl
def kb_calculators():
    return (halved,)
'''


def test_a_built_in_limit_whose_parameter_has_no_answer_at_one_end_cannot_be_told(
    make_book: BookMaker,
) -> None:
    body = formulas(f="100 in^2 / gap in in") + "\n```calc halved h\nsize: 10 in\nneeded: f.x\n```\n"
    files = {"plugins/gated.py": GATED, "content/p.md": HEAD + body}
    done = open_book(make_book({**files, "content/inputs/model.yml": "gap: 1 in ± 1 in\n"})).evaluate()

    assert not done.problems
    assert [one.verdict for one in done.blocks["h"].limits] == ["cannot tell"]


# ---- if and when follow the nominal value: rule 11

CHOICE = "if size > 10 in then 1 in else 2 in"


@pytest.mark.parametrize(
    ("body", "word", "place"),
    [
        (f"```calc formula f\nx: {CHOICE}\n```\n", "if", "6:"),
        (f"```calc plank p\nwidth: 12 in\nlength: {CHOICE}\n```\n", "if", "7:"),
        ("::: when size > 10 in\n```calc formula f\nx: size\n```\n:::\n", "when", "5:"),
        ("::: when size > 10 in\n```limit low\nrule: plain < 20 in\n```\n:::\n", "when", "5:"),
        ("::: when size > 10 in\nSee the lofting.\n:::\n", "when", "5:"),
        ("::: when size > 11 in\n```calc formula f\nx: plain\n```\n:::\n", "when", "5:"),
        (f"Cut {{{{ {CHOICE} }}}}.\n", "if", "5:"),
        (f"```limit low\nrule: plain < ({CHOICE}) + 9 in\n```\n", "if", "6:"),
    ],
    ids=[
        "a line of a formula",
        "a parameter",
        "a block under when",
        "a limit under when",
        "words under when",
        "a block left out by when",
        "a live value",
        "a limit",
    ],
)
def test_rule_11_an_if_or_a_when_that_a_tolerance_carries_across_its_bound_is_noted(
    make_book: BookMaker, keelbook: Command, yard: dict[str, str], body: str, word: str, place: str
) -> None:
    inputs = "size: 10 1/2 in ± 1 in\nplain: 5 in\n"
    book = make_book({**yard, "content/p.md": HEAD + body, "content/inputs/model.yml": inputs})
    ran, strict = keelbook("check", book=book), keelbook("check", "--strict", book=book)
    data = json.loads(keelbook("check", "--json", book=book).out)

    assert (ran.code, strict.code) == (0, 0)
    assert re.fullmatch(rf"note: content/p\.md:{place}\d+: [^\n;]*'{word}'[^\n;]*; [^\n]+\n", ran.err)
    assert data["problems"] == []
    (note,) = data["notes"]
    assert f"note: {note['file']}:{note['line']}:{note['column']}: {note['what']}; {note['fix']}\n" == ran.err


def test_rule_11_an_if_follows_the_nominal_value_at_both_ends(make_book: BookMaker) -> None:
    body = formulas(
        step=CHOICE,
        both="if size > 10 in then size else 2 * size",
        other="if size < 10 in then 0 in else size",
    )
    done = worked(make_book, body, "size: 10 1/2 in ± 1 in\n")

    assert "step.x" not in done.spreads
    assert done.spreads["both.x"] == (1, 1)
    assert done.spreads["other.x"] == (1, 1)
    assert len(done.notes) == 3


@pytest.mark.parametrize("bound", ["9 1/2 in", "9 in", "11 3/4 in"])
def test_an_if_that_no_end_carries_across_is_not_noted(make_book: BookMaker, bound: str) -> None:
    body = formulas(f=f"if size >= {bound} then 1 in else 2 in") + (
        f"\n::: when size >= {bound}\n```calc formula g\nx: size\n```\n:::\n"
    )
    done = worked(make_book, body, "size: 10 1/2 in ± 1 in\n")

    assert done.notes == []


def test_a_note_of_one_option_names_no_other_place_twice(make_book: BookMaker, keelbook: Command) -> None:
    files = {
        "content/p.md": HEAD + formulas(f=CHOICE),
        "content/inputs/model.yml": "size: 10 1/2 in ± 1 in\n",
        "content/inputs/options/big.yml": "size: 10 1/4 in ± 1 in\n",
    }
    ran = keelbook("check", book=make_book(files))

    assert ran.err.count("note: ") == 1


# ---- how check ends


@pytest.mark.parametrize(
    ("size", "code"),
    [("12 in ± 1 in", 0), ("10 1/2 in ± 1 in", 1), ("8 in ± 1 in", 1), ("9 1/2 in ± 1 in", 1)],
)
def test_strict_ends_with_1_where_a_tolerance_leaves_a_limit_untold(
    make_book: BookMaker, keelbook: Command, size: str, code: int
) -> None:
    book = make_book({"content/p.md": HEAD + LOW, "content/inputs/model.yml": f"size: {size}\n"})

    assert keelbook("check", "--strict", book=book).code == code
    assert keelbook("check", "--strict", "--json", book=book).code == code
    assert keelbook("check", book=book).code == 0
