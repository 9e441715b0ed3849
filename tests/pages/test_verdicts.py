"""A number carries the word of the worst limit that it rests on, wherever that limit stands."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from tests.pages.site_tree import Node, sheet

if TYPE_CHECKING:
    from tests.pages.conftest import BookBuilder

WORDS = ("accepted", "cannot tell", "outside")
INPUTS = "deck:\n  length: {}\n  other: 5 in\n"
FAR = "content/work/far.md"
LIMIT = sheet("```limit fits\nrule: deck.length <= 50 in\n```\n", "title: Far")
PLANK = sheet("```calc plank shelf\nlength: deck.length\nwidth: 12 in\n```\n", "title: Far")
BEAM = sheet("```calc beam carlin\nspan: deck.length\n```\n", "title: Far")
FORMULA = sheet(
    "```calc formula cut\nhalf: deck.length / 2\nquarter: half / 2\nother: 2 * deck.other\n"
    "limits:\n  short: quarter <= 12 in\n```\n",
    "title: Far",
)
ON_A_LINE = sheet(
    "```calc formula cut\nhalf: deck.length / 2\nother: 2 * deck.other\n```\n\n"
    "```limit fits\nrule: cut.half <= 24 in\n```\n",
    "title: Far",
)
CHAIN = "```calc formula near\nsame: {}\nagain: same + 0 in\n```\n\n"


def words_of(page: Node) -> list[str]:
    """Return the word beside each live value of the text, '' where there is none."""
    found = []
    for value in page.all("a", "live") + page.all("span", "live-plain"):
        above = value.parent
        assert above is not None
        after = above.children[above.children.index(value) + 1 :]
        following = after[0] if after and isinstance(after[0], Node) else None
        said = following.text if following is not None and "verdict" in following.classes else ""
        found.append(next((word for word in WORDS if word in said), said))
    return found


def words(build: BookBuilder, far: str, length: str, body: str) -> list[str]:
    files = {FAR: far, "content/p.md": sheet(body), "content/inputs/model.yml": INPUTS.format(length)}
    return words_of(build(files).page("p.html"))


CASES = [
    (LIMIT, "48 in", "60 in", "{{ deck.length }}"),
    (PLANK, "48 in", "100 in", "{{ shelf.area }}"),
    (PLANK, "48 in", "100 in", "{{ 2 * shelf.mass in lb }}"),
    (PLANK, "48 in", "100 in", "{{ deck.other + shelf.area / 1 ft in in }}"),
    (FORMULA, "48 in", "60 in", "{{ cut.half }}"),
    (ON_A_LINE, "48 in", "60 in", "{{ cut.half }}"),
    (LIMIT, "48 in", "60 in", CHAIN.format("deck.length") + "{{ near.again }}"),
    (ON_A_LINE, "48 in", "60 in", CHAIN.format("cut.half") + "{{ near.again }}"),
    (LIMIT, "48 in", "60 in", CHAIN.format("if deck.length > 1 in then 2 in else 1 in") + "{{ near.again }}"),
    (LIMIT, "48 in", "60 in", "1. Cut [it at {{ deck.length }}](work/far.md)."),
    (LIMIT, "48 in", "60 in", "| a |\n| --- |\n| {{ deck.length }} |"),
    (
        LIMIT,
        "48 in",
        "60 in",
        ":::when deck.length > 1 in\n" + CHAIN.format("deck.other") + ":::\n\n{{ near.again }}",
    ),
]


@pytest.mark.parametrize(("far", "good", "bad", "body"), CASES)
def test_a_number_carries_the_word_of_a_limit_that_is_outside_on_another_page(
    build: BookBuilder, far: str, good: str, bad: str, body: str
) -> None:
    assert words(build, far, good, body + "\n") == [""]
    assert words(build, far, bad, body + "\n") == ["outside"]


def test_a_number_that_rests_on_what_has_no_answer_carries_cannot_tell(build: BookBuilder) -> None:
    body = CHAIN.format("carlin.sag") + "Sag {{ carlin.sag }}, again {{ near.again }}.\n"

    assert words(build, BEAM, "72 in", body) == ["cannot tell", "cannot tell"]
    assert words(build, BEAM, "48 in", body) == ["", ""]


def test_a_limit_whose_tolerance_crosses_it_gives_cannot_tell(build: BookBuilder) -> None:
    # 49 7/8 in may be 50 1/8 in, which is more than 50 in.
    assert words(build, LIMIT, "49 7/8 in ± 1/4 in", "{{ deck.length }}\n") == ["cannot tell"]
    assert words(build, LIMIT, "49 7/8 in ± 1/16 in", "{{ deck.length }}\n") == [""]


@pytest.mark.parametrize("far", [LIMIT, ON_A_LINE])
def test_a_number_that_rests_on_another_input_carries_no_word(build: BookBuilder, far: str) -> None:
    assert words(build, far, "60 in", "{{ deck.other }} and {{ 3 in }}\n") == ["", ""]


def test_the_lines_of_a_formula_rest_on_what_they_use_and_no_more(build: BookBuilder) -> None:
    assert words(build, ON_A_LINE, "60 in", "{{ cut.half }} {{ cut.other }}\n") == ["outside", ""]


@pytest.mark.parametrize(
    ("limit", "far", "length", "at", "value"),
    [
        ("fits", LIMIT, "60 in", "60 in", "{{ deck.length }}"),
        ("shelf.bench", PLANK, "100 in", "100 in", "{{ shelf.area }}"),
        ("cut.short", FORMULA, "60 in", "15 in", "{{ cut.half }}"),
    ],
)
def test_what_the_yard_accepted_is_called_accepted_until_its_value_is_another(
    build: BookBuilder, limit: str, far: str, length: str, at: str, value: str
) -> None:
    accepted = f"accepted:\n  {limit}: {{by: Jo, why: sawn outdoors, at: {at}}}\n"
    files = {FAR: far, "content/p.md": sheet(value + "\n"), "content/inputs/yard.yml": accepted}

    site = build({**files, "content/inputs/model.yml": INPUTS.format(length)})
    assert words_of(site.page("p.html")) == ["accepted"]
    assert "sawn outdoors" in site.page("limits.html").text

    lapsed = files["content/inputs/yard.yml"].replace(f"at: {at}", "at: 99 in")
    site = build({**files, "content/inputs/yard.yml": lapsed})
    assert words_of(site.page("p.html")) == ["outside"]


def test_of_two_limits_the_worst_word_stands_beside_the_number(build: BookBuilder) -> None:
    far = sheet(
        "```limit fits\nrule: deck.length <= 50 in\n```\n\n```limit turns\nrule: deck.length <= 40 in\n```\n",
        "title: Far",
    )
    assert words(build, far, "49 7/8 in ± 1/4 in", "{{ deck.length }}\n") == ["outside"]


def test_a_limit_in_a_false_when_gives_no_word(build: BookBuilder) -> None:
    far = sheet(":::when options.long\n```limit fits\nrule: deck.length <= 50 in\n```\n:::\n", "title: Far")
    files = {
        FAR: far,
        "content/p.md": sheet("{{ deck.length }}\n"),
        "content/inputs/model.yml": INPUTS.format("60 in"),
        "content/inputs/options/long.yml": "deck:\n  other: 6 in\n",
    }
    assert words_of(build(files).page("p.html")) == [""]


def test_the_word_stands_in_the_words_of_a_picture_too(build: BookBuilder) -> None:
    files = {
        FAR: LIMIT,
        "content/p.md": sheet("![A deck of {{ deck.length }}](deck.png)\n"),
        "content/deck.png": "",
        "content/inputs/model.yml": INPUTS.format("60 in"),
    }
    alt = build(files).page("p.html").one("img").attrs["alt"]

    assert "60 in" in alt
    assert "outside" in alt


def test_the_card_the_slip_and_the_list_of_numbers_carry_the_same_word(build: BookBuilder) -> None:
    body = CHAIN.format("shelf.area / 1 in in in") + "It is {{ near.same }}.\n"
    files = {FAR: PLANK, "content/p.md": sheet(body), "content/inputs/model.yml": INPUTS.format("100 in")}
    site = build(files)
    page = site.page("p.html")

    on_card = next(
        one
        for one in page.one("dl", "results").all("dd")
        if one.one("span", "value").attrs.get("data-number") == "near.same"
    )
    assert "outside" in on_card.text
    assert "outside" in page.one("aside", "slip").all("p", "slip-title")[0].text
    assert "outside" in site.page("numbers.html").by_id("near.same").text
