"""Steps: their numbers, their anchors, and that a value never moves one."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from tests.pages.site_tree import Node, sheet

if TYPE_CHECKING:
    from tests.conftest import BookMaker, Command
    from tests.pages.conftest import BookBuilder

INPUTS = {"content/inputs/model.yml": "deck:\n  length: 48 in\n"}


def steps_of(page: Node) -> list[tuple[str, str]]:
    """Return number and anchor of every step."""
    return [(step.all("a", "step-number")[0].text, step.id) for step in page.all("li", "step")]


def steps(build: BookBuilder, body: str, inputs: str = "deck:\n  length: 48 in\n") -> list[tuple[str, str]]:
    site = build({"content/p.md": sheet(body), "content/inputs/model.yml": inputs})
    return steps_of(site.page("p.html"))


def test_a_step_has_a_number_an_anchor_of_its_words_and_a_link_to_itself(build: BookBuilder) -> None:
    page = build({"content/p.md": sheet("1. Cut the plank.\n2. Turn it over.\n")}).page("p.html")

    assert steps_of(page) == [("1", "cut-the-plank"), ("2", "turn-it-over")]
    assert page.all("a", "step-number")[1].attrs["href"] == "#turn-it-over"


def test_a_list_that_goes_on_below_a_card_goes_on_in_number(build: BookBuilder) -> None:
    body = "1. Cut.\n2. Turn.\n\nA word between.\n\n3. Plane.\n4. Oil.\n"

    assert [number for number, _ in steps(build, body)] == ["1", "2", "3", "4"]


def test_a_list_begins_with_the_number_that_is_written(build: BookBuilder) -> None:
    assert [number for number, _ in steps(build, "19. Cut.\n20. Turn.\n")] == ["19", "20"]


def test_a_list_may_begin_with_nought(build: BookBuilder) -> None:
    assert [number for number, _ in steps(build, "0. Think.\n1. Cut.\n")] == ["0", "1"]


def test_steps_under_a_heading_of_their_own_begin_anew_with_other_anchors(build: BookBuilder) -> None:
    found = steps(build, "## Port\n\n1. Cut the plank.\n\n## Starboard\n\n1. Cut the plank.\n")

    assert [number for number, _ in found] == ["1", "1"]
    assert len({anchor for _, anchor in found}) == 2


def test_a_list_within_a_step_has_no_steps_of_its_own(build: BookBuilder) -> None:
    found = steps(build, "1. Cut.\n\n    1. with the saw\n    2. or the adze\n\n2. Turn.\n")

    assert [anchor for _, anchor in found] == ["cut", "turn"]


def test_an_ordered_list_in_a_footnote_or_a_box_is_no_step(build: BookBuilder) -> None:
    body = "1. Cut.[^a]\n\n:::why\n1. It is\n2. long.\n:::\n\n[^a]: Well:\n\n    1. one\n    2. two\n"

    assert [anchor for _, anchor in steps(build, body)] == ["cut"]


@pytest.mark.parametrize("value", ["{{ deck.length }}", "{{ deck.length in ft }}", "{{ 3 in }}"])
def test_a_value_is_no_part_of_an_anchor(build: BookBuilder, value: str) -> None:
    assert steps(build, f"1. Cut {value} off.\n") == [("1", "cut-off")]


def test_a_changed_value_moves_no_anchor(build: BookBuilder) -> None:
    body = "## A deck of {{ deck.length }} here\n\n1. Cut {{ deck.length }} off.\n"
    files = {"content/p.md": sheet(body)}
    before = build({**files, "content/inputs/model.yml": "deck:\n  length: 48 in\n"}).page("p.html")
    after = build({**files, "content/inputs/model.yml": "deck:\n  length: 9 ft\n"}).page("p.html")

    anchors = [node.id for node in before.walk() if node.id]
    assert anchors == [node.id for node in after.walk() if node.id]
    assert before.text != after.text
    assert {"a-deck-of-here", "cut-off"} <= set(anchors)


def test_a_step_of_nothing_but_a_value_has_an_anchor_too(build: BookBuilder) -> None:
    ((number, anchor),) = steps(build, "1. {{ deck.length }}\n")

    assert number == "1"
    assert anchor


@pytest.mark.parametrize(
    "body",
    [
        "1. Cut the plank. {#cut}\n",
        "1. Cut the plank, {#cut}\n   and turn it.\n",
        "1. Cut **the** plank {#cut}\n\n   More words.\n",
        "1. Cut {{ deck.length }} {#cut}\n",
    ],
)
def test_an_anchor_by_hand_stands_at_the_end_of_a_step_s_first_line(build: BookBuilder, body: str) -> None:
    site = build({"content/p.md": sheet(body), **INPUTS})

    assert steps_of(site.page("p.html")) == [("1", "cut")]
    assert "{#" not in site.page("p.html").text


def test_an_anchor_by_hand_stands_on_a_heading(build: BookBuilder) -> None:
    page = build({"content/p.md": sheet("## The deck {#top}\n")}).page("p.html")

    assert (page.by_id("top").tag, page.by_id("top").text) == ("h2", "The deck")


def test_an_anchor_by_hand_wins_over_one_of_words_that_stands_above_it(build: BookBuilder) -> None:
    found = steps(build, "1. Cut.\n2. Turn it. {#cut}\n")

    assert found[1][1] == "cut"
    assert found[0][1] != "cut"


@pytest.mark.parametrize(
    ("body", "place"),
    [
        ("1. Cut. {#a}\n2. Turn. {#a}\n", "content/p.md:5:10"),
        ("## Deck {#a}\n\n1. Turn. {#a}\n", "content/p.md:6:10"),
        ("1. Cut. {#Cut}\n", "content/p.md:4:9"),
        ("1. Cut. {#9}\n", "content/p.md:4:9"),
        ("1. Cut {{ 3 in }}. {#slip-1}\n", "content/p.md:4:20"),
    ],
    ids=["twice", "heading and step", "capitals", "a number", "a slip's own"],
)
def test_an_anchor_that_cannot_stand_is_refused_with_its_place(
    settled: BookMaker, keelbook: Command, body: str, place: str
) -> None:
    ran = keelbook("check", book=settled({"content/p.md": sheet(body)}))

    assert (ran.code, ran.err.count("\n")) == (2, 1), ran.err
    assert ran.err.startswith(f"{place}: ")


@pytest.mark.parametrize(
    "heading", ["Sheet", "Number 1", "Slip 1", "Block deck", "Fn1", "Fnref1", "Limit fits"]
)
def test_a_heading_never_takes_an_id_that_the_page_needs_itself(build: BookBuilder, heading: str) -> None:
    body = (
        f"## {heading}\n\nIt is {{{{ deck.length }}}}.[^1]\n\n[^1]: In fact.\n\n"
        "```limit fits\nrule: deck.length <= 50 in\n```\n\n```calc formula deck_b\nx: 3 in\n```\n"
    )
    page = build({"content/p.md": sheet(body), **INPUTS}).page("p.html")

    ids = [node.id for node in page.walk() if node.id]
    assert sorted(ids) == sorted(set(ids))


def test_every_step_of_a_task_list_keeps_its_box(build: BookBuilder) -> None:
    page = build({"content/p.md": sheet("1. Check.\n\n    - [ ] flat\n    - [x] dry\n")}).page("p.html")

    boxes = [box.attrs["aria-label"] for box in page.all("span", "box")]
    assert boxes == ["to do", "done"]
    assert not page.all("input")
