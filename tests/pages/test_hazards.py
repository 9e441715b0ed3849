"""Hazards and sources by name: one wording of the book on pages, cards and the pages of calculators."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from tests.pages.site_tree import YARD, Node, Site, markup_faults, sheet

if TYPE_CHECKING:
    from tests.conftest import Command
    from tests.pages.conftest import BookBuilder, BookMaker

CAUTIONS = """\
fuel-vapour: {word: danger, title: Fuel & vapour, text: 'It explodes, <quickly>. Air the bilge.'}
dust: {word: caution, title: Dust, text: Wear a mask.}
"""
SOURCES = """\
planks: {title: Planks & beams, what: 'page <3>', standing: read}
the yard: {title: The yard, what: what it knows, standing: memory}
"""
FILES = {
    "content/reference/cautions.yml": CAUTIONS,
    "content/reference/sources.yml": SOURCES,
    "content/inputs/model.yml": "far: 12 ft\n",
}
CALLED = "1. Look.\n\n:::hazard fuel-vapour\nStay {{ far }} away.\n:::\n\n2. Go.\n"
NAMED = YARD.replace('"The blade takes fingers.")', '"The blade takes fingers.", hazard="saw")').replace(
    '"page 3", "read")', '"page 3", "read", name="by hand")'
)
SHELF = "```calc plank shelf\nlength: 48 in\nwidth: 13 in\n```\n"
SAW = "saw: {word: warning, title: Saw, text: Hands off the blade.}\n"
BY_HAND = "by hand: {title: Planks again, what: page 9, standing: maker's}\n"


def page_of(build: BookBuilder, body: str, head: str = "title: A page", edition: str = "shop") -> Site:
    return build({**FILES, "content/p.md": sheet(body, head)}, edition)


def boxes(page: Node) -> list[Node]:
    return page.all("section", "signal")


@pytest.mark.parametrize("edition", ["shop", "public"])
def test_a_hazard_shows_as_a_signal_box_in_the_book_s_wording_and_then_the_page_s_own(
    build: BookBuilder, edition: str
) -> None:
    site = page_of(build, CALLED, "title: A page\nvisibility: public", edition)
    (box,) = boxes(site.page("p.html"))

    assert "danger" in box.classes
    assert "DANGER" in box.one("p", "signal-word").text
    assert box.one("p", "signal-title").text == "Fuel & vapour"
    assert [one.text for one in box.one("div", "signal-text").parts if one.tag == "p"] == [
        "Fuel & vapour",
        "It explodes, <quickly>. Air the bilge.",
        "Stay 12 ft away.",
    ]
    assert markup_faults(site.html("p.html")) == []


def test_a_hazard_needs_no_text_of_the_page_and_looks_like_a_box_written_out(build: BookBuilder) -> None:
    by_name = page_of(build, ":::hazard dust\n:::\n\nAfter.\n").html("p.html")
    written = page_of(build, ":::caution Dust\nWear a mask.\n:::\n\nAfter.\n").html("p.html")

    assert " ".join(by_name.split()) == " ".join(written.split())


def test_a_hazard_nests_and_stands_under_a_condition_like_any_box(build: BookBuilder) -> None:
    body = (
        "::::when far > 100 ft\n:::hazard dust\n:::\n::::\n\n"
        "::::when far < 100 ft\n:::hazard fuel-vapour\n- a\n- b\n:::\n::::\n"
    )
    site = page_of(build, body)
    (box,) = boxes(site.page("p.html"))

    assert box.one("p", "signal-title").text == "Fuel & vapour"
    assert [one.text for one in box.all("li")] == ["a", "b"]
    assert markup_faults(site.html("p.html")) == []


def test_the_words_of_a_hazard_are_explained_like_the_page_s_own(build: BookBuilder) -> None:
    glossary = {"content/reference/glossary.yml": "bilge: {means: Low.}\nfuel: {means: It burns.}\n"}
    page = build({**FILES, **glossary, "content/p.md": sheet(CALLED)}).page("p.html")

    assert [one.text for one in page.all("a", "term")] == ["bilge"]  # its title is left alone


def test_another_wording_of_a_hazard_is_another_code_for_the_sheets_that_call_it(build: BookBuilder) -> None:
    other = {"content/q.md": sheet("Nothing here.\n", "title: Q")}
    before = build({**FILES, **other, "content/p.md": sheet(CALLED)})
    codes = before.code("p.html"), before.code("q.html")
    mended = {"content/reference/cautions.yml": CAUTIONS.replace("It explodes", "It burns")}
    after = build({**FILES, **other, **mended, "content/p.md": sheet(CALLED)})

    assert after.code("p.html") != codes[0]
    assert after.code("q.html") == codes[1]


@pytest.mark.parametrize(
    ("page", "said"),
    [
        (":::hazard fuel-vapor\n:::\n", "4:11: there is no hazard 'fuel-vapor'; did you mean 'fuel-vapour'?"),
        (
            ":::hazard crane\n:::\n",
            "4:11: there is no hazard 'crane'; add it to content/reference/cautions.yml",
        ),
        (
            "1. Go.\n\n   :::hazard  dust here\n   :::\n",
            "6:15: there is no hazard 'dust here'; did you mean 'dust'?",
        ),
        (":::hazard\n:::\n", "4:1: this hazard has no name; write :::hazard NAME, one of cautions.yml"),
        (":::hazzard dust\n:::\n", "4:1: there is no container 'hazzard'; did you mean 'hazard'?"),
    ],
)
def test_an_unknown_hazard_is_told_with_its_place_and_the_nearest_name(
    settled: BookMaker, keelbook: Command, page: str, said: str
) -> None:
    ran = keelbook("check", book=settled({**FILES, "content/p.md": sheet(page)}))

    assert ran.code == 2
    assert f"content/p.md:{said}" in ran.err


def test_a_hazard_is_unknown_where_the_book_has_no_such_file(settled: BookMaker, keelbook: Command) -> None:
    head = "title: A page\nsources: [planks]"
    ran = keelbook("check", book=settled({"content/p.md": sheet(":::hazard dust\n:::\n", head)}))

    assert ran.code == 2
    assert "there is no hazard 'dust'; add it to content/reference/cautions.yml" in ran.err
    assert "there is no source 'planks'; add it to content/reference/sources.yml" in ran.err


def test_a_fault_in_the_file_is_told_and_not_that_its_entry_is_unknown(
    settled: BookMaker, keelbook: Command
) -> None:
    faulty = {"content/reference/cautions.yml": CAUTIONS.replace("word: caution", "word: beware")}
    ran = keelbook("check", book=settled({**FILES, **faulty, "content/p.md": sheet(":::hazard dust\n:::\n")}))

    assert ran.code == 2
    assert "cautions.yml:2:" in ran.err
    assert "there is no hazard" not in ran.err


# ---- calculators


def cautions(page: Node) -> list[str]:
    return [one.text for one in page.all("p", "card-caution")]


@pytest.mark.parametrize("address", ["p.html", "calculators/plank.html"])
def test_a_caution_with_a_hazard_is_worded_by_the_book_if_the_book_has_it(
    build: BookBuilder, address: str
) -> None:
    files = {"plugins/yard.py": NAMED, "content/p.md": sheet(SHELF)}
    assert cautions(build(files).page(address)) == ["DANGER The blade takes fingers."]

    mended = build({**files, "content/reference/cautions.yml": SAW}).page(address)
    assert cautions(mended) == ["WARNING Saw: Hands off the blade."]
    assert "warning" in mended.one("p", "card-caution").classes


def test_two_cautions_of_one_hazard_are_told_once(build: BookBuilder) -> None:
    twice = NAMED.replace(
        'cautions=[Caution("danger", ',
        'cautions=[Caution("caution", "Mind the saw.", hazard="saw"), Caution("danger", ',
    )
    files = {"plugins/yard.py": twice, "content/p.md": sheet(SHELF)}
    assert len(cautions(build(files).page("p.html"))) == 2

    mended = build({**files, "content/reference/cautions.yml": SAW})
    assert cautions(mended.page("p.html")) == ["WARNING Saw: Hands off the blade."]


@pytest.mark.parametrize("address", ["p.html", "calculators/plank.html"])
def test_a_source_with_a_name_is_the_book_s_own_if_the_book_has_it(build: BookBuilder, address: str) -> None:
    files = {"plugins/yard.py": NAMED, "content/p.md": sheet(f"{SHELF}\nIt is {{{{ shelf.mass }}}}.\n")}
    own = build(files).page(address).text
    assert "Planks by hand: page 3 read" in own

    mended = build({**files, "content/reference/sources.yml": BY_HAND}).page(address)
    assert "Planks again: page 9 maker's" in mended.text
    assert "Planks by hand" not in mended.text  # on the card and on its slips alike


# ---- sources in a page's head


def test_the_sources_of_a_page_stand_at_its_end_with_their_standing(build: BookBuilder) -> None:
    site = page_of(build, "Words.\n", "title: A page\nsources: [the yard, planks]")
    listed = site.page("p.html").one("section", "sheet-sources")

    assert [one.text for one in listed.all("li")] == [
        "The yard: what it knows memory",
        "Planks & beams: page <3> read",
    ]
    assert markup_faults(site.html("p.html")) == []


def test_the_sources_of_a_page_are_part_of_its_code(build: BookBuilder) -> None:
    without = page_of(build, "Words.\n").code("p.html")
    one = page_of(build, "Words.\n", "title: A page\nsources: planks").code("p.html")
    other = page_of(build, "Words.\n", "title: A page\nsources: the yard").code("p.html")

    assert len({without, one, other}) == 3


def test_the_public_is_told_no_source(build: BookBuilder) -> None:
    head = "title: A page\nvisibility: public\nsources: [planks]"
    site = page_of(build, "Words.\n", head, "public")

    assert "Planks" not in site.html("p.html")
    assert site.page("p.html").all("section", "sheet-sources") == []


def test_an_unknown_source_is_told_with_its_place_and_the_nearest_name(
    settled: BookMaker, keelbook: Command
) -> None:
    page = sheet("Words.\n", "title: A page\nsources: [planks, the yards]")
    ran = keelbook("check", book=settled({**FILES, "content/p.md": page}))

    assert ran.code == 2
    assert "content/p.md:3:19: there is no source 'the yards'; did you mean 'the yard'?" in ran.err
