"""What the file holds that a search reads: everything to be found in an edition, and nothing else."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any, NamedTuple

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kb.pages.search_words import Entry, Shelf, search_file, words

if TYPE_CHECKING:
    from tests.pages.conftest import BookBuilder
    from tests.pages.site_tree import Site

SHEET = """\
---
title: Bed the plank
number: S-07
stage: hull
protection: [goggles]
tools: [bevel gauge]
---

Wipe the *landing* of {{ deck.length }} first.[^1]

## Cut it

| Label | Wood | Grain |
| --- | --- | --- |
| B-12 | white oak | long |
| 3 | 4 | 5 |

1. Cut the plank to {{ deck.half }} & no more. {#cut}
2. Sand it.

## Lay it

Press it down.

```calc formula deck
title: The deck
length: yard.deck
half: yard.deck / 2
```

```calc plank board
title: The board
length: yard.deck
width: 13 in
```

```limit short_enough
rule: deck.half <= 60 in
protects: the fit under the coaming
```

```measure gap
what: Gap under the plank
accept: value <= 1/8 in
unit: in
hold: yes
with: feeler gauge
```

```measure colour_seen
what: Colour of the bedding
accept: value <= 3
```

```materials
bedding compound: 2 lb
```

[^1]: With a dry rag.
"""
PRIVATE = "---\ntitle: Zq the secret\nvisibility: private\n---\n\n1. Zqhidden step.\n"
OPEN = """\
---
title: How she is planked
number: P-1
stage: hull
visibility: public
tools: [zqtool]
---

## Planks

1. Her planks are {{ yard.deck }} long.

:::shop
Zqshop text.
:::

```calc formula zqblock
zqline: yard.deck / 3
```
"""
GLOSSARY = "plank: {means: A long board., slang: [strake, bottom board]}\nkeel: {means: Her backbone.}\n"
FILES = {
    "content/plank.md": SHEET,
    "content/secret.md": PRIVATE,
    "content/open.md": OPEN,
    "content/reference/glossary.yml": GLOSSARY,
    "content/inputs/yard.yml": "yard: {deck: 100 in}\n",
}


class Found(NamedTuple):
    """An entry as the file has it: what it is, the way to it, and its words."""

    kind: str
    way: str
    mark: str
    title: str
    text: str


def data_of(site: Site) -> dict[str, Any]:
    """Return the data that the search of a site is given."""
    text = (site.folder / "assets/search-index.js").read_text(encoding="utf-8")
    assert text.startswith("keelbookSearch.take(")
    data: dict[str, Any] = json.loads(text.removeprefix("keelbookSearch.take(").rstrip().removesuffix(");"))
    return data


def entries_of(data: dict[str, Any]) -> list[Found]:
    """Return the entries of the data, in their order."""
    kinds = [data["kinds"][int(kind, 16)] for kind in data["entries"]]
    found = []
    for way, _, _, count, lines in data["pages"]:
        for line in lines.split("\n") if count else ():
            anchor, mark, title, text = line.split("\t")
            there = f"{way}#{anchor}" if anchor else way
            found.append(Found(kinds[len(found)], there, mark, title, text))
    assert len(found) == len(kinds)
    return found


def numbers_of(text: str) -> list[int]:
    """Read a list of numbers as the browser does: each from the one before it, last digits from `0` on."""
    numbers, digits, last = [], 0, 0
    for one in text:
        if ord(one) > 92:
            digits = digits * 34 + ord(one) - 93
        else:
            last += digits * 44 + ord(one) - 48
            numbers.append(last)
            digits = 0
    return numbers


@pytest.fixture
def shop(build: BookBuilder) -> Site:
    """Return the shop's edition of the small book."""
    return build(FILES)


@pytest.fixture
def found(shop: Site) -> list[Found]:
    """Return what is to be found in it."""
    return entries_of(data_of(shop))


def of_kind(found: list[Found], kind: str) -> list[Found]:
    return [one for one in found if one.kind == kind]


def test_a_sheet_is_found_by_its_title_stage_text_and_what_it_asks_for(found: list[Found]) -> None:
    sheet = next(one for one in of_kind(found, "sheet") if one.way == "plank.html")

    assert (sheet.title, sheet.mark) == ("Bed the plank", "Hull")
    assert sheet.text == "Wipe the landing of 100 in first. goggles, bevel gauge"


def test_a_step_is_found_with_its_number_its_anchor_and_its_values_as_shown(found: list[Found]) -> None:
    steps = [one for one in of_kind(found, "step") if one.way.startswith("plank")]

    assert steps == [
        Found("step", "plank.html#cut", "1", "", "Cut the plank to 50 in & no more."),
        Found("step", "plank.html#sand-it", "2", "", "Sand it."),
    ]


def test_a_heading_is_found_with_the_text_below_it_without_its_steps(found: list[Found]) -> None:
    headings = [(one.way, one.title, one.text) for one in of_kind(found, "heading") if one.title != "Planks"]

    assert headings == [
        ("plank.html#cut-it", "Cut it", ""),
        ("plank.html#lay-it", "Lay it", "Press it down. With a dry rag."),
    ]


def test_the_row_of_a_table_is_found_under_its_label_and_a_row_of_figures_is_not(found: list[Found]) -> None:
    rows = [one for one in of_kind(found, "part") if one.way == "plank.html#cut-it"]

    assert rows == [Found("part", "plank.html#cut-it", "", "B-12", "white oak, long")]


def test_a_material_is_found_on_its_sheet_and_on_the_take_off(found: list[Found]) -> None:
    ways = [one.way for one in of_kind(found, "part") if one.title == "bedding compound"]

    assert ways == ["plank.html#lay-it", "takeoff.html#material-1"]


def test_a_number_is_found_by_name_and_label_with_its_value_where_it_is_made(found: list[Found]) -> None:
    numbers = {one.text.partition(":")[0]: one for one in of_kind(found, "number")}

    assert numbers["deck.half"] == Found(
        "number", "plank.html#block-deck", "50 in", "Half", "deck.half: The deck"
    )
    assert numbers["board.mass"].title == "Mass"


def test_measurements_and_hold_points_are_found_with_their_window(found: list[Found]) -> None:
    assert of_kind(found, "hold") == [
        Found(
            "hold", "plank.html#block-gap", "", "Gap under the plank", "at most 0.125 in. with feeler gauge"
        )
    ]
    assert [one.title for one in of_kind(found, "measure")] == ["Colour of the bedding"]


def test_a_limit_is_found_with_its_verdict_and_what_it_protects(found: list[Found]) -> None:
    limit = next(one for one in of_kind(found, "limit") if one.way == "plank.html#limit-short_enough")

    assert limit.mark == "within"
    assert limit.title == "Short enough"
    assert limit.text == "the fit under the coaming"


def test_inputs_words_calculators_and_lists_are_found(found: list[Found]) -> None:
    assert Found("input", "inputs.html#yard.deck", "100 in", "yard.deck", "") in found
    meant = Found("word", "glossary.html#word-plank", "strake, bottom board", "plank", "A long board.")
    assert meant in found
    assert {one.way for one in of_kind(found, "calculator")} >= {"calculators/plank.html"}
    assert {one.way for one in of_kind(found, "list")} >= {"board.html", "stages/hull.html", "takeoff.html"}


def test_every_way_leads_to_a_place_that_is_there(demo: Site) -> None:
    pages: dict[str, str] = {}
    for one in entries_of(data_of(demo)):
        address, _, anchor = one.way.partition("#")
        html = pages.setdefault(address, demo.html(address))
        assert not anchor or f' id="{anchor}"' in html, one


def test_every_kind_of_thing_is_found_in_the_demonstration_book(demo: Site) -> None:
    data = data_of(demo)
    assert {one.kind for one in entries_of(data)} == set(data["kinds"])


def test_slang_stands_beside_its_word(shop: Site) -> None:
    assert data_of(shop)["sayings"] == [["plank", "strake", "bottom board"]]


def test_each_word_has_the_numbers_of_the_entries_that_hold_it(shop: Site) -> None:
    data = data_of(shop)
    known, postings = data["words"].split(" "), data["postings"].split(" ")
    found = entries_of(data)
    assert known == sorted(set(known))
    assert len(postings) == len(known)
    where = {word: numbers_of(text.replace("!", "")) for word, text in zip(known, postings, strict=True)}
    titled, _ = postings[known.index("b12")].split("!")
    assert [found[number].title for number in numbers_of(titled)] == ["B-12"]
    _, in_text = postings[known.index("sand")].split("!")
    assert [found[number].way for number in numbers_of(in_text)] == ["plank.html#sand-it"]
    assert "s07" in where
    assert "50" in where


def test_a_private_page_is_in_no_search(shop: Site) -> None:
    text = json.dumps(data_of(shop), ensure_ascii=False).lower()
    assert "zqtool" in text
    assert "zqhidden" not in text
    assert "secret" not in text


def test_the_public_finds_what_its_pages_show_and_nothing_else(build: BookBuilder) -> None:
    data = data_of(build(FILES, edition="public"))

    assert data["sayings"] == []
    assert entries_of(data) == [
        Found("sheet", "open.html", "Hull", "How she is planked", ""),
        Found("heading", "open.html#planks", "", "Planks", ""),
        Found("step", "open.html#her-planks-are-long", "1", "", "Her planks are 100 in long."),
        Found("list", "stages/hull.html", "", "Hull", ""),
    ]
    known = {"p1", "how", "she", "is", "planked", "hull", "planks", "her", "are", "100", "in", "long"}
    assert set(data["words"].split(" ")) == known


def test_an_edition_without_pages_has_a_search_that_finds_nothing(build: BookBuilder) -> None:
    files = {name: text for name, text in FILES.items() if name != "content/open.md"}
    data = data_of(build(files, edition="public"))

    assert (data["pages"], data["entries"], data["words"], data["sayings"]) == ([], "", "", [])


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("Bed the TANK", ["bed", "the", "tank"]),
        ("5/8 in", ["5/8", "in"]),
        ("1 1/2 in, 1-1/2 in, 1½ in, ½ in", ["1-1/2", "in", "1-1/2", "in", "1-1/2", "in", "1/2", "in"]),
        ("B-12 b12 B‑12", ["b12", "b12", "b12"]),
        ("Q26-001, S-14", ["q26001", "s14"]),
        ("12-B", ["12b"]),
        ("half-mask, dry-fit", ["half", "mask", "dry", "fit"]),
        ("10-12 psi", ["10", "12", "psi"]),
        ("46.5 in, 1,000 lb", ["46.5", "in", "1000", "lb"]),
        ("fuel_tank.gross", ["fuel", "tank", "gross"]),
        ("the tank's, don't", ["the", "tank", "dont"]),
        ("Größe café résumé", ["grosse", "cafe", "resume"]),
        ("ft²", ["ft2"]),
        ("±, ≤, – …", []),
    ],
)
def test_words_are_taken_from_a_text_as_a_shop_types_them(text: str, expected: list[str]) -> None:
    assert words(text) == expected


def test_the_numbers_of_entries_near_and_far_are_read_back() -> None:
    far = {0, 43, 44, 1495 + 44, 1496 * 3, 60_000}
    entries = [Entry("step", "", "", "here" if number in far else "there") for number in range(60_001)]
    data = json.loads(
        search_file([Shelf("a", "", "A", entries)], []).removeprefix("keelbookSearch.take(")[:-3]
    )
    here = data["postings"].split(" ")[data["words"].split(" ").index("here")]
    assert numbers_of(here.partition("!")[2]) == sorted(far)


@settings(deadline=None)
@given(st.text())
def test_no_text_breaks_the_lines_of_the_file(text: str) -> None:
    made = search_file([Shelf("a.html", text, text, [Entry("part", "x", text, text, text)])], [[text, "b"]])
    data = json.loads(made.removeprefix("keelbookSearch.take(").rstrip("\n").removesuffix(");"))
    ((_, _, _, count, line),) = data["pages"]
    assert count == 1
    assert line.split("\t")[1:] == [" ".join(text.split())] * 3
    assert len(data["words"].split(" ")) == len(data["postings"].split(" "))
