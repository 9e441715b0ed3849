"""Words of the glossary: explained on every sheet where they are first used, and listed on their own page."""

from __future__ import annotations

import string
from typing import TYPE_CHECKING

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from kb.content.reference import Term
from kb.pages.terms import Glossary, PageWords
from kb.problem import Place
from tests.pages.site_tree import Node, Site, dead_ends, markup_faults, sheet, tree

if TYPE_CHECKING:
    from tests.conftest import Command
    from tests.pages.conftest import BookBuilder, BookMaker

GLOSSARY = """\
limber hole: {means: 'A hole low in a frame, for water & air.', slang: [weep hole], see: [bilge]}
bilge: {means: The lowest part inside., slang: sump}
tank: {means: A vessel.}
fuel tank: {means: A vessel for fuel., see: [tank, limber hole]}
box: {means: A small room.}
"""
FILES = {"content/reference/glossary.yml": GLOSSARY}


def site_with(build: BookBuilder, body: str, edition: str = "shop", **more: str) -> Site:
    head = f"title: A page\nvisibility: {'public' if edition == 'public' else 'shop'}"
    return build({**FILES, "content/work/p.md": sheet(body + "\n", head), **more}, edition)


def marked(build: BookBuilder, body: str) -> list[str]:
    """Return the words of a page's text that are explained, in their order."""
    page = site_with(build, body).page("work/p.html")
    return [one.text for one in page.all("a", "term")]


def slips(page: Node) -> dict[str, Node]:
    return {one.id: one for one in page.all("section", "slip")}


def test_the_first_use_of_a_word_opens_a_slip_at_the_sheet_s_end_and_leads_back(build: BookBuilder) -> None:
    site = site_with(build, "Clear the limber hole.\n\n## More\n\nThe limber hole again.")
    page = site.page("work/p.html")
    (term,) = page.all("a", "term")
    (slip,) = slips(page).values()

    assert term.text == "limber hole"
    assert term.attrs["href"] == f"#{slip.id}" == "#term-1"
    assert slip.one("a", "slip-close").attrs["href"] == f"#{term.id}"
    body = page.one("div", "sheet-body")
    assert body.parts[-1] is slip
    assert markup_faults(site.html("work/p.html")) == []
    assert dead_ends(site) == []


def test_a_slip_says_the_meaning_the_slang_and_what_to_see_and_leads_to_the_glossary(
    build: BookBuilder,
) -> None:
    (slip,) = slips(site_with(build, "Clear the limber hole.").page("work/p.html")).values()
    told = {row.one("dt").text: row.one("dd") for row in slip.one("dl").parts}

    assert slip.one("p", "slip-title").text == "limber hole"
    assert "A hole low in a frame, for water & air." in slip.text
    assert told["Also called"].text == "weep hole"
    assert told["See also"].one("a").attrs["href"] == "../glossary.html#word-bilge"
    assert "../glossary.html#word-limber-hole" in [link.attrs["href"] for link in slip.all("a")]


def test_slang_is_explained_by_the_slip_of_its_term(build: BookBuilder) -> None:
    page = site_with(build, "Clear the weep hole, then the limber hole.").page("work/p.html")

    assert [one.text for one in page.all("a", "term")] == ["weep hole", "limber hole"]
    assert [one.one("p", "slip-title").text for one in slips(page).values()] == ["limber hole"] * 2


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("A Bilge is wet.", ["Bilge"]),
        ("Two limber holes, three boxes.", ["limber holes", "boxes"]),
        ("The limber-hole and the Limber\nHole.", ["limber-hole"]),
        ("At the limber\nhole.", ["limber hole"]),
        ("> At the limber\n> hole.", ["limber hole"]),
        ("The fuel tank, the fuel tank, a tank.", ["fuel tank", "tank"]),
        ("Fuel-tank and tank.", ["Fuel-tank", "tank"]),
        ('(bilge), "box"; the tank\'s.', ["bilge", "box", "tank"]),
        ("**Bilge**, then *box*.", ["Bilge", "box"]),
        ("A limber, a hole.", []),
        ("The bilges' boxer, tanker, subtank, limber. hole", ["bilges"]),
        ("A box-wrench and a toy-box and box_1.", []),
        ("limber / hole, limber  \nhole", []),
    ],
)
def test_a_word_is_found_whole_in_any_case_in_the_plural_and_with_a_hyphen(
    build: BookBuilder, text: str, words: list[str]
) -> None:
    assert marked(build, text) == words


@pytest.mark.parametrize(
    "text",
    [
        "## The bilge",
        "The bilge\n===",
        "See [the bilge](p.md).",
        "See [**the** bilge](p.md).",
        "Write `bilge` here.",
        "```\nbilge\n```",
        "    bilge",
        ":::warning The bilge\nMind it.\n:::",
        "![the bilge](p.png)",
        "It is {{ word.it }}.",
        "| The bilge | b |\n| --- | --- |\n| c | d |",
        "Bilge\n:   Wet.",
        "<https://example.org/bilge>",
    ],
)
def test_heads_links_code_live_values_and_signal_titles_are_left_alone(build: BookBuilder, text: str) -> None:
    more = {
        "content/inputs/model.yml": "word: {it: 'the bilge'}\n",
        "content/work/p.png": "",
        "content/reference/glossary.yml": "bilge: {means: Low.}\n",
    }
    page = site_with(build, text, **more).page("work/p.html")

    assert page.all("a", "term") == []
    assert slips(page) == {}


@pytest.mark.parametrize(
    "text",
    [
        "The bilge.",
        "- the bilge",
        "1. Dry the bilge.",
        "| a |\n| --- |\n| the bilge |",
        "> the bilge",
        "Place\n:   The bilge.",
        ":::warning Water\nMind the bilge.\n:::",
        ":::why\nThe bilge.\n:::",
        "Look.[^1]\n\n[^1]: At the bilge.",
        "- [ ] bilge dry",
    ],
)
def test_running_text_of_every_kind_is_explained(build: BookBuilder, text: str) -> None:
    site = site_with(build, text)

    assert [one.text.lower() for one in site.page("work/p.html").all("a", "term")] == ["bilge"]
    assert markup_faults(site.html("work/p.html")) == []


def test_a_word_in_a_part_that_the_edition_leaves_out_is_not_its_first_use(build: BookBuilder) -> None:
    page = site_with(build, ":::public\nThe bilge.\n:::\n\nDry the bilge.").page("work/p.html")

    assert page.one("a", "term").text == "bilge"


def test_a_heading_called_term_1_keeps_its_anchor(build: BookBuilder) -> None:
    site = site_with(build, "Dry the bilge, see [there](#term-1).\n\n## Term 1\n\n## Word 2\n")
    page = site.page("work/p.html")

    assert page.by_id("term-1").tag == "h2"
    assert page.one("a", "term").attrs["href"] == "#term-3"
    assert markup_faults(site.html("work/p.html")) == []
    assert dead_ends(site) == []


def test_the_glossary_changes_no_sheet_s_code(build: BookBuilder) -> None:
    body = 'Clear the limber hole (bilge), the "box" & it\'s fuel\ntank.\n\n1. Dry the sump.\n'
    with_it = site_with(build, body).code("work/p.html")
    without = site_with(build, body, **{"content/reference/glossary.yml": "crane: {means: A bird.}\n"})

    assert without.page("work/p.html").all("a", "term") == []
    assert without.code("work/p.html") == with_it


def test_the_public_edition_has_no_word_of_the_glossary_that_the_page_does_not_say(
    build: BookBuilder,
) -> None:
    site = site_with(build, "Dry the bilge.", edition="public")

    assert "glossary.html" not in site.addresses
    assert all(
        "A vessel" not in site.html(one) and "lowest part" not in site.html(one) for one in site.addresses
    )
    assert "Dry the bilge." in site.page("work/p.html").text
    assert site.page("work/p.html").all("a", "term") == []


def test_the_glossary_lists_every_term_and_slang_word_in_the_order_of_the_alphabet(
    build: BookBuilder,
) -> None:
    site = site_with(build, "Words.")
    entries = site.page("glossary.html").one("dl", "glossary").parts

    assert [one.one("dt").text for one in entries] == [
        "bilge", "box", "fuel tank", "limber hole", "sump", "tank", "weep hole",
    ]  # fmt: skip
    by_word = {one.one("dt").text: one for one in entries}
    assert "Also called sump" in by_word["bilge"].text
    assert by_word["sump"].one("dd").text == "see bilge"
    assert by_word["sump"].one("a").attrs["href"] == f"#{by_word['bilge'].id}"
    assert [link.text for link in by_word["fuel tank"].all("a")] == ["tank", "limber hole"]
    assert markup_faults(site.html("glossary.html")) == []
    assert dead_ends(site) == []


def test_terms_whose_names_come_to_the_same_have_entries_of_their_own(build: BookBuilder) -> None:
    terms = (
        "a b: {means: One.}\na-b: {means: Two.}\n'a b 2': {means: Three.}\n'±': {means: Four., see: [a-b]}\n"
    )
    site = site_with(build, "Words.", **{"content/reference/glossary.yml": terms})

    assert markup_faults(site.html("glossary.html")) == []
    assert dead_ends(site) == []
    ids = [one.id for one in site.page("glossary.html").one("dl", "glossary").parts]
    assert len(set(ids)) == 4


def test_a_book_without_a_glossary_has_no_page_of_it_and_names_none(build: BookBuilder) -> None:
    site = build({"content/p.md": sheet("Dry the bilge.\n")})

    assert "glossary.html" not in site.addresses
    assert all("glossary" not in site.html(one).lower() for one in ("p.html", "index.html", "numbers.html"))


def test_the_rail_leads_to_the_glossary_from_every_page_of_the_shop(build: BookBuilder) -> None:
    site = site_with(build, "Words.")

    for address in ("work/p.html", "index.html", "glossary.html"):
        lists = site.page(address).one("nav", "lists")
        assert [link.text for link in lists.all("a")].count("Glossary") == 1


def test_a_page_links_to_the_glossary_only_in_a_book_that_has_one(
    build: BookBuilder, settled: BookMaker, keelbook: Command
) -> None:
    body = "All [words](../glossary.html)."
    link = site_with(build, body).page("work/p.html").one("div", "sheet-body").one("a")
    assert link.attrs["href"] == "../glossary.html"

    root = settled({"content/work/p.md": sheet(body + "\n")})
    (root / "content/reference/glossary.yml").unlink()
    ran = keelbook("check", book=root)
    assert ran.code == 2
    assert "content/work/p.md:4:13: there is no page 'content/glossary.html'" in ran.err


def test_every_word_of_the_demonstration_book_is_explained_at_most_once_a_sheet(demo: Site) -> None:
    explained = 0
    for address in demo.sheets:
        page = demo.page(address)
        terms = page.all("a", "term")
        assert sorted(one.attrs["href"].removeprefix("#") for one in terms) == sorted(slips(page))
        assert len({one.text.lower() for one in terms}) == len(terms)
        explained += len(terms)
    assert explained > 50


# ---- any text whatever

WORD = st.text(st.sampled_from(string.ascii_letters + "éß1"), min_size=1, max_size=4)
NAMES = st.lists(
    st.lists(WORD, min_size=1, max_size=3).map(" ".join), max_size=6, unique_by=lambda name: name.casefold()
)


def glossary(names: list[str]) -> Glossary:
    return Glossary({name: Term(name, Place("content/reference/glossary.yml"), "Means.") for name in names})


@settings(max_examples=300, deadline=None)
@given(
    names=NAMES,
    text=st.one_of(st.text(max_size=60), st.lists(WORD).map("-".join), st.lists(WORD).map(" ".join)),
)
@example(names=["a b", "a"], text="a-b a b a")
@example(names=["İ"], text="İ i̇s")
def test_marking_words_changes_no_letter_of_any_text(names: list[str], text: str) -> None:
    words = PageWords(glossary(names))
    html = words.mark(text)

    if "\r" not in text and "\0" not in text:
        page = tree(f"<p>{html}</p>")
        assert page.raw == text
        assert len(page.all("a", "term")) == len(words.used)
    told = [saying.text for _, saying in words.used]
    assert len(set(told)) == len(told)


@settings(max_examples=200, deadline=None)
@given(names=NAMES.filter(bool), before=WORD, after=WORD)
def test_a_term_that_stands_between_other_words_is_marked(names: list[str], before: str, after: str) -> None:
    words = PageWords(glossary(names))
    longest = max(names, key=lambda name: len(name.split()))
    words.mark(f"({before}) {longest} ({after})")

    marked = [saying.text for _, saying in words.used]
    # One with as many words may be its plural: "as" of "a". Nothing else takes its place.
    assert any(len(one.split()) == len(longest.split()) for one in marked)
