"""Containers: what an edition shows, what it leaves out, and the words of safety."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from tests.pages.site_tree import Site, markup_faults, sheet

if TYPE_CHECKING:
    from tests.conftest import BookMaker, Command
    from tests.pages.conftest import BookBuilder

OPTION = {
    "content/inputs/model.yml": "deck:\n  length: 48 in\n",
    "content/inputs/options/long.yml": "deck:\n  length: 60 in\n",
}


def built(build: BookBuilder, body: str, head: str = "title: A page", edition: str = "shop") -> Site:
    return build({**OPTION, "content/p.md": sheet(body, head)}, edition)


def test_what_stands_under_a_condition_that_holds_is_shown(build: BookBuilder) -> None:
    assert "Shown." in built(build, ":::when deck.length > 40 in\nShown.\n:::\n").page("p.html").text


@pytest.mark.parametrize("condition", ["options.long", "deck.length > 50 in", "not (deck.length < 50 in)"])
def test_what_stands_under_a_condition_that_does_not_hold_is_nowhere(
    build: BookBuilder, condition: str
) -> None:
    body = f"Before.\n\n:::when {condition}\nHidden {{{{ deck.length }}}}.\n\n- a list\n:::\n\nAfter.\n"
    text = built(build, body).page("p.html").text

    assert "Before." in text
    assert "After." in text
    assert "Hidden" not in text
    assert "a list" not in text


NESTED = (
    ":::::when {outer}\nOuter.\n\n1. Step.\n\n::::when {inner}\nInner.\n\n:::warning Hot\nSafe.\n:::\n\n"
    "```calc formula deep\nx: 3 in\n```\n::::\n\nTail.\n:::::\n\nEnd.\n"
)


@pytest.mark.parametrize(
    ("outer", "inner", "seen"),
    [
        ("not options.long", "not options.long", ["Outer", "Step", "Inner", "Safe", "Tail", "End"]),
        ("not options.long", "options.long", ["Outer", "Step", "Tail", "End"]),
        ("options.long", "not options.long", ["End"]),
        ("options.long", "options.long", ["End"]),
    ],
)
def test_conditions_nest(build: BookBuilder, outer: str, inner: str, seen: list[str]) -> None:
    site = built(build, NESTED.format(outer=outer, inner=inner))
    page = site.page("p.html")
    body = page.one("div", "sheet-body").text

    assert [word for word in ("Outer", "Step", "Inner", "Safe", "Tail", "End") if word in body] == seen
    assert bool([node for node in page.walk() if node.id == "block-deep"]) == ("Inner" in seen)
    assert ("deep" in json.loads(site.html("numbers.json"))["numbers"]) == ("Inner" in seen)
    assert ("deep.x" in site.page("numbers.html").text) == ("Inner" in seen)
    assert markup_faults(site.html("p.html")) == []


def test_steps_in_a_condition_are_steps_and_the_next_list_goes_on(build: BookBuilder) -> None:
    short = ":::when not options.long\n2. Short one.\n:::\n\n"
    long = ":::when options.long\n2. Long one.\n:::\n\n"
    body = f"1. Cut.\n\n{short}{long}3. Oil.\n"
    page = built(build, body).page("p.html")

    assert [step.id for step in page.all("li", "step")] == ["cut", "short-one", "oil"]
    assert [one.text for one in page.all("a", "step-number")] == ["1", "2", "3"]


def test_a_condition_stands_within_a_step(build: BookBuilder) -> None:
    long = "    :::when options.long\n    Long.\n    :::\n\n"
    short = "    :::when not options.long\n    Short.\n    :::\n\n"
    body = f"1. Cut.\n\n{long}{short}2. Oil.\n"
    site = built(build, body)
    first, second = site.page("p.html").all("li", "step")

    assert "Short." in first.text
    assert "Long." not in first.text
    assert second.text.endswith("Oil.")
    assert markup_faults(site.html("p.html")) == []


def test_a_number_of_a_block_that_this_edition_lacks_is_an_error(
    settled: BookMaker, keelbook: Command
) -> None:
    body = ":::when options.long\n```calc formula deep\nx: 3 in\n```\n:::\n\nIt is {{ deep.x }}.\n"
    ran = keelbook("build", book=settled({**OPTION, "content/p.md": sheet(body)}))

    assert ran.code == 2
    assert ran.err.startswith("content/p.md:10:10: ")


def test_the_shop_s_part_is_in_the_shop_s_edition_and_the_public_part_in_the_public_one(
    build: BookBuilder,
) -> None:
    body = ":::shop\nFor the shop.\n:::\n\n:::public\nFor all.\n:::\n\nFor both.\n"
    head = "title: A page\nvisibility: public"

    shop = built(build, body, head).page("p.html").text
    public = built(build, body, head, "public").page("p.html").text

    assert [part in shop for part in ("For the shop.", "For all.", "For both.")] == [True, False, True]
    assert [part in public for part in ("For the shop.", "For all.", "For both.")] == [False, True, True]


@pytest.mark.parametrize("word", ["danger", "warning", "caution", "notice"])
def test_a_signal_has_its_word_its_title_and_its_text(build: BookBuilder, word: str) -> None:
    page = built(build, f":::{word} Sharp **edges**\nGloves on.\n:::\n").page("p.html")
    (signal,) = page.all("section", "signal")

    assert word in signal.classes
    assert signal.one("p", "signal-word").text == word.upper()
    assert "Gloves on." in signal.text
    # ANSI Z535.6: the alert triangle stands with the first three words, never with NOTICE.
    assert bool(signal.all("svg")) == (word != "notice")


def test_a_signal_needs_no_title(build: BookBuilder) -> None:
    (signal,) = built(build, ":::danger\nGloves on.\n:::\n").page("p.html").all("section", "signal")

    assert signal.one("p", "signal-word").text == "DANGER"
    assert "Gloves on." in signal.text


def test_a_value_in_the_title_of_a_signal_is_refused(
    settled: BookMaker, keelbook: Command, tmp_path: Path
) -> None:
    # Rule 17: `{{` is literal in code, in fences, in raw HTML and after a backslash, and nowhere else.
    body = ":::danger No flame within {{ deck.length }}\nGloves on.\n:::\n"
    book = settled({**OPTION, "content/p.md": sheet(body)})
    ran = keelbook("build", "--site", str(tmp_path / "out"), book=book)

    assert ran.code == 2
    assert ran.err.startswith("content/p.md:4:27: ")


def test_a_why_is_headed_why_and_holds_what_is_written(build: BookBuilder) -> None:
    page = built(build, ":::why\nIt is long: {{ deck.length }}.\n\n- and dry\n:::\n").page("p.html")
    (why,) = page.all("section", "why")

    assert why.text.startswith("Why")
    assert "It is long: 48 in." in why.text
    assert "and dry" in why.text


def test_containers_stand_in_a_quotation_and_in_each_other(build: BookBuilder) -> None:
    body = "> :::why\n> Quoted.\n> :::\n\n::::notice Look\n:::why\nWithin.\n:::\n::::\n"
    site = built(build, body)

    assert len(site.page("p.html").all("section", "why")) == 2
    assert markup_faults(site.html("p.html")) == []


def test_comments_are_dropped_and_allowed_tags_stay(build: BookBuilder) -> None:
    body = "Press <kbd>Enter</kbd>, m<sup>2</sup>.<br>Next <!-- secret --> line.\n\n<!-- all\nsecret -->\n"
    site = built(build, body)
    text = site.html("p.html")

    assert "<kbd>Enter</kbd>" in text
    assert "m<sup>2</sup>" in text
    assert "secret" not in text


@pytest.mark.parametrize("body", ["<details>\n<summary>More</summary>\n\nText.\n", "m<sup>2 and on\n"])
def test_an_allowed_tag_that_is_left_open_does_not_swallow_the_rest_of_the_sheet(
    settled: BookMaker, keelbook: Command, tmp_path: Path, body: str
) -> None:
    book = settled({"content/p.md": sheet(body)})
    ran = keelbook("build", "--site", str(tmp_path / "out"), book=book)

    assert ran.code == 2
    assert "is not closed" in ran.err
