"""Cards: a block with its results, working, limits, cautions and sources; limits; other fences."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import pytest

from kb.language.compute import Computation
from kb.language.expression import read_expression
from kb.language.quantity import Quantity
from kb.language.show import split_form
from tests.pages.site_tree import Node, Site, dead_ends, markup_faults, sheet

if TYPE_CHECKING:
    from tests.conftest import BookMaker, Command
    from tests.pages.conftest import BookBuilder

INPUTS = "deck:\n  length: 48 in\n  width: 13 in\n  most: 50 in\n"
SHELF = (
    "```calc plank shelf\ntitle: The shelf\nnote: Cut it last.\nlength: deck.length\nwidth: wide.twice / 2\n"
    "weight: 2.5 lb/ft^2\nlimits:\n  short: length <= deck.most\n  light: mass <= 10 lb\n```\n"
)
FILES = {
    "content/inputs/model.yml": INPUTS,
    "content/p.md": sheet(SHELF),
    "content/work/q.md": sheet("```calc formula wide\ntwice: 2 * deck.width\n```\n", "title: Q"),
}

_AREA = "4.33333 ft² shown as 4.34 ft²"  # by hand, 48 × 13 ÷ 144


@pytest.fixture
def card(build: BookBuilder) -> Node:
    """Return the card of one plank: 48 in by 13 in, of 2.5 lb/ft^2."""
    return build(FILES).page("p.html").by_id("block-shelf")


def cells(row: Node) -> list[str]:
    return [cell.text for cell in row.parts]


def test_a_card_has_the_block_s_title_note_and_name_with_a_link_to_its_calculator(card: Node) -> None:
    title = card.all("p", "card-title")[0]

    assert title.text.startswith("The shelf")
    assert title.one("code").text == "shelf"
    assert title.one("a").attrs["href"] == "calculators/plank.html"
    assert "Cut it last." in card.text


def test_a_card_shows_every_result_with_label_and_unit_on_its_safe_side(card: Node) -> None:
    # By hand: 48 * 13 / 144 = 4.3333 ft^2, and 2.5 times that is 10.8333 lb; both are rounded up.
    rows = {row.one("dt").text: row.one("dd") for row in card.one("dl", "results").parts}

    assert rows["Area of one face"].text.startswith("4.34 ft²")
    assert rows["Mass"].text.startswith("10.9 lb")
    assert rows["Mass"].one("span", "value").attrs["data-number"] == "shelf.mass"


def test_the_working_has_rule_what_is_put_in_what_it_gives_and_where_from(card: Node) -> None:
    table = card.one("details", "working").one("table")
    area = next(row for row in table.all("tr") if "Area" in row.text)

    assert cells(table.all("tr")[0]) == ["What", "Rule", "Put in", "Gives", "From"]
    assert cells(area)[:4] == ["Area of one face", "length × width", "48 in × 13 in", _AREA]
    assert {link.text: link.attrs["href"] for link in area.all("a")} == {
        "deck.length": "inputs.html#deck.length",
        "wide.twice": "work/q.html#block-wide",
    }


def test_the_working_of_a_method_says_the_method_and_all_that_is_given(card: Node) -> None:
    table = card.one("details", "working").one("table")
    mass = next(row for row in table.all("tr") if row.text.startswith("Mass"))

    assert cells(mass)[1] == "area and weight of the wood"
    assert all(size in cells(mass)[2] for size in ("48 in", "13 in", "2.5 lb/ft"))
    assert cells(mass)[3] == "10.8333 lb shown as 10.9 lb"


def test_a_parameter_that_is_left_out_is_said_with_what_stands_in_for_it(build: BookBuilder) -> None:
    body = "```calc plank shelf\nlength: 48 in\nwidth: 13 in\n```\n"
    card = build({"content/p.md": sheet(body)}).page("p.html").by_id("block-shelf")

    mass = next(row for row in card.one("details", "working").all("tr") if row.text.startswith("Mass"))
    assert "3" in mass.text  # the default weight, which a reader needs to follow the mass


def test_limits_have_verdict_rule_margin_and_what_they_protect(card: Node) -> None:
    limits = {limit.one("span", "rule").text: limit for limit in card.all("li", "limit")}

    # By hand: 96 - 48 = 48 in, 50 - 48 = 2 in, 10 - 10.8333 = -0.8333 lb.
    assert limits["length ≤ 96 in"].one("strong").text.endswith("within")
    assert "48 in to spare" in limits["length ≤ 96 in"].text.replace("48.0", "48")
    assert "the saw bench" in limits["length ≤ 96 in"].text
    assert "2 in to spare" in limits["length ≤ deck.most"].text.replace("2.00", "2")
    assert limits["mass ≤ 10 lb"].one("strong").text.endswith("outside")
    assert "misses by 0.834 lb" in limits["mass ≤ 10 lb"].text


def test_a_verdict_is_a_word_and_a_shape(card: Node) -> None:
    for verdict in card.all("strong", "verdict"):
        word = verdict.text.lstrip("●◐◇■ ")
        assert word in ("within", "outside", "accepted", "cannot tell")
        assert len(verdict.text) > len(word)


def test_a_table_of_results_is_shown_with_its_columns_and_every_row(card: Node) -> None:
    table = card.one("details", "block-table").one("table")

    assert [cell.text for cell in table.all("th")] == ["Cut", "From the end in"]
    rows = [cells(row) for row in table.one("tbody").parts]
    assert [(row[0], float(row[1])) for row in rows] == [("1", 24.0), ("2", 48.0)]


def test_sources_stand_on_the_card_with_their_standing(card: Node) -> None:
    said = [one.text for one in card.one("details", "sources").all("li")]

    assert said == ["Planks by hand: page 3 read", "The yard: what it knows memory"]


def test_cautions_stand_once_a_page_for_each_calculator_and_on_every_page(build: BookBuilder) -> None:
    def plank(name: str) -> str:
        return f"```calc plank {name}\nlength: 48 in\nwidth: 13 in\n```\n\n"

    files = {
        "content/p.md": sheet(plank("a") + plank("b")),
        "content/q.md": sheet(plank("c"), "title: Q"),
    }
    site = build(files)

    warned = [site.page(name).text.count("The blade takes fingers.") for name in ("p.html", "q.html")]
    assert warned == [1, 1]
    assert site.page("p.html").by_id("block-a").text.count("The blade takes fingers.") == 1


def test_a_caution_is_on_the_first_card_that_the_edition_shows(build: BookBuilder) -> None:
    plank = "```calc plank {}\nlength: 48 in\nwidth: 13 in\n```\n"
    body = ":::when options.long\n" + plank.format("a") + ":::\n\n" + plank.format("b")
    files = {"content/p.md": sheet(body), "content/inputs/options/long.yml": "deck: 3 in\n"}

    assert build(files).page("p.html").text.count("The blade takes fingers.") == 1


def test_a_formula_s_card_has_a_row_of_working_for_every_line(build: BookBuilder) -> None:
    body = "```calc formula cut\nhalf_length: deck.length / 2\nboth: half_length * 3 in ft\n```\n"
    page = build({"content/p.md": sheet(body), "content/inputs/model.yml": INPUTS}).page("p.html")
    card = page.by_id("block-cut")

    # By hand: 48 in / 2 = 24 in; 3 * 24 in = 72 in = 6 ft.
    rows = [cells(row) for row in card.one("details", "working").one("tbody").parts]
    assert [row[0].casefold() for row in rows] == ["half length", "both"]
    assert rows[0][1:4] == ["deck.length ÷ 2", "48 in ÷ 2", "24 in"]
    assert rows[1][1:3] == ["half_length × 3", "24 in × 3"]
    assert rows[1][3] in ("6 ft", "6.00 ft")
    assert rows[0][4] == "deck.length"


def test_a_number_without_an_answer_says_why_on_the_card(build: BookBuilder) -> None:
    body = "```calc beam carlin\nspan: 72 in\n```\n"
    card = build({"content/p.md": sheet(body)}).page("p.html").by_id("block-carlin")

    assert "the span was never tried" in card.one("dl", "results").text
    assert card.all("li", "limit")[0].one("strong").text.endswith("cannot tell")


def test_a_limit_fence_is_a_card_of_its_own(build: BookBuilder) -> None:
    lines = "rule: deck.length <= 2 * wide.twice\nprotects: the fit of the deck\nnote: See Jo.\n"
    body = f"```limit fits\n{lines}```\n"
    site = build({**FILES, "content/p.md": sheet(body)})
    card = site.page("p.html").by_id("limit-fits")

    # By hand: 2 * 26 in - 48 in = 4 in.
    assert card.one("li", "limit").one("strong").text.endswith("within")
    assert card.one("span", "rule").text == "deck.length ≤ 2 × wide.twice"
    assert "4 in to spare" in card.text.replace("4.00", "4")
    assert "the fit of the deck" in card.text
    assert "See Jo." in card.text
    assert "48 in ≤ 2 × 26 in" in card.text.replace("26.0", "26")
    assert {link.text: link.attrs["href"] for link in card.all("a")} == {
        "deck.length": "inputs.html#deck.length",
        "wide.twice": "work/q.html#block-wide",
    }
    assert dead_ends(site) == []


def test_a_measure_fence_shows_what_and_all_its_lines(build: BookBuilder) -> None:
    body = (
        "```measure deck_size\nwhat: Length of the deck\naccept: 47 in <= value <= 49 in\nunit: in\n"
        "with: tape\nhold: yes\n```\n"
    )
    card = build({"content/p.md": sheet(body)}).page("p.html").one("section", "measure")

    assert "Length of the deck" in card.text
    assert card.one("p", "window").text == "47 in to 49 in"
    assert card.one("dl", "measure-facts").text == "Withtape"


@pytest.mark.parametrize(
    ("fence", "said"),
    [
        ("materials\noak plank: deck.length\nglue: 2 lb", ["oak plank", "48 in", "glue", "2 lb"]),
        ("weights\nplank: {mass: 9 lb, x: 3 ft, y: 0 in, z: 1 ft}", ["plank", "9 lb", "36 in", "12 in"]),
    ],
    ids=["materials", "weights"],
)
def test_any_other_fence_shows_its_lines_worked_out(build: BookBuilder, fence: str, said: list[str]) -> None:
    site = build({**FILES, "content/p.md": sheet(f"{SHELF}\n```{fence}\n```\n")})
    (card,) = site.page("p.html").all("section", "fence")

    assert all(word in card.text for word in said)
    assert markup_faults(site.html("p.html")) == []


def test_a_fence_that_is_not_the_book_s_own_is_code(build: BookBuilder) -> None:
    page = build({"content/p.md": sheet("```text\n{{ deck.length }} <b>\n```\n")}).page("p.html")

    assert page.one("pre").raw.strip() == "{{ deck.length }} <b>"


@pytest.mark.parametrize("text", ["a < b & c", "<b>bold</b>", 'it\'s \\"so\\"', "</section>"])
def test_what_an_author_writes_in_a_title_is_text_on_every_page(
    settled: BookMaker, keelbook: Command, build: BookBuilder, text: str
) -> None:
    shown = text.replace("\\", "")
    body = f'```calc formula cut\ntitle: "{text}"\nnote: "{text}"\nx: 3 in\n```\n\nIt is {{{{ cut.x }}}}.\n'
    site = build({"content/p.md": f'---\ntitle: "{text}"\n---\n{body}'})

    assert site.page("p.html").by_id("block-cut").all("p", "card-title")[0].text.startswith(shown)
    assert site.page("p.html").one("h1").text == shown
    assert [fault for one in site.addresses for fault in markup_faults(site.html(one))] == []


def test_a_size_that_falls_short_of_its_least_is_not_called_over(build: BookBuilder) -> None:
    body = "```limit fits\nrule: deck.length >= 50 in\n```\n"
    site = build({"content/p.md": sheet(body), "content/inputs/model.yml": INPUTS})

    # By hand: 50 in - 48 in; the deck is 2 in too short, and nothing is over anything.
    for said in (site.page("p.html").by_id("limit-fits"), site.page("limits.html").all("li", "limit-of")[0]):
        assert "2 in" in said.text.replace("2.00", "2")
        assert " over" not in said.text


def test_a_working_of_the_demonstration_book_works_out_to_what_it_gives(demo: Site) -> None:
    wrong = []
    for address in demo.sheets:
        for table in demo.page(address).all("details", "working"):
            for row in table.all("tr"):
                if (
                    len(row.parts) == 5
                    and "rule" in row.parts[1].classes
                    and not re.search(r"\bnone\b|\bif\b|[≤≥<>]", " ".join(part.text for part in row.parts))
                ):
                    put, gives = worked(row.parts[2].text), worked(row.parts[3].text.partition(" shown")[0])
                    # A reader who reckons it again may be off by what was rounded, and by no more.
                    if abs(put - gives) > 0.05 * abs(gives):
                        wrong.append(f"{address}: {row.text}")

    assert wrong == []


def worked(text: str) -> float:
    """Work out a rule as it is printed, in base units; tolerances are left out."""
    text = re.sub(r"\)([²³⁴])", lambda raised: f") ^ {'²³⁴'.index(raised[1]) + 2}", text)
    printed = {"×": "*", "÷": "/", "−": "-", "²": "^2", "³": "^3", "·": "*"}
    for sign, written in printed.items():
        text = text.replace(sign, written)
    text = re.sub(r" ± [\d./ ]*[a-z%]+", "", text)
    body, _ = split_form(text)
    value = Computation(lambda node: None).of(read_expression(body).tree)
    assert isinstance(value, Quantity)
    return float(value.base)
