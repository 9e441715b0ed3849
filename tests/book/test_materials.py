"""Materials: what a page's `materials` fences ask for, in the unit that the yard's catalogue counts."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from kb.content.book import MODEL, Edition
from kb.language.quantity import NoAnswer, Quantity
from kb.numbers.printed import printed
from kb.numbers.takeoff import MaterialUse, material_uses
from kb.problem import Problem
from kb.reckon import open_book

if TYPE_CHECKING:
    from tests.conftest import BookMaker

HEAD = "---\ntitle: A page\n---\n\n"
CATALOGUE = """\
Pour foam part A:
  unit: lb
  packs: [5 lb, 50 lb]
epoxy resin:
  unit: gal
  density: 9.6 lb/gal
glass cloth:
  unit: yd^2
mixing pail:
  unit: piece
"""


class Asked:
    """A book's materials in one edition: the uses, and everything that is told."""

    def __init__(self, root: Path, edition: Edition = MODEL) -> None:
        opened = open_book(root)
        done = opened.evaluate(edition)
        uses, problems = material_uses(done, opened.graph.bindings.materials)
        self.uses: list[MaterialUse] = uses
        self.problems: list[Problem] = [*opened.problems, *done.problems, *problems]

    @property
    def amounts(self) -> dict[str, str]:
        """The amounts as text, by material; there is no problem."""
        assert self.problems == []
        return {use.line.material: str(printed(use.amount)) for use in self.uses}

    @property
    def told(self) -> list[str]:
        """What is wrong, in the lines a foreman reads."""
        return [str(problem) for problem in self.problems]


@pytest.fixture
def asked(make_book: BookMaker) -> Callable[..., Asked]:
    """Return a function that works out the lines of a fence, with a catalogue where one is given."""

    def ask(lines: str, catalogue: str = "", edition: Edition = MODEL, **files: str) -> Asked:
        pages = {"content/p.md": f"{HEAD}```materials\n{lines}\n```\n"}
        reference = {"content/reference/materials.yml": catalogue} if catalogue else {}
        return Asked(make_book({**pages, **reference, **files}), edition)

    return ask


Ask = Callable[..., Asked]


def test_a_material_stands_in_the_unit_it_is_given_in_where_there_is_no_catalogue(asked: Ask) -> None:
    found = asked("bilge hose 1 1/8 in, smooth: 2 * 6 ft\nhose clamp: 4\nglue: 12 oz + 1 lb")

    assert found.amounts == {"bilge hose 1 1/8 in, smooth": "12 ft", "hose clamp": "4", "glue": "28 oz"}


def test_a_material_is_counted_in_the_unit_of_the_catalogue(asked: Ask) -> None:
    found = asked("pour foam part a: 32 oz\nglass cloth: 18 ft^2\nmixing pail: 3", CATALOGUE)

    assert found.amounts == {"Pour foam part A": "2 lb", "glass cloth": "2 yd^2", "mixing pail": "3"}


@pytest.mark.parametrize(
    ("entry", "quantity", "counted"),
    [
        ("{unit: gal, density: 9.6 lb/gal}", "24 lb", "2.5 gal"),
        ("{unit: lb, density: 9.6 lb/gal}", "2 qt", "4.8 lb"),
        ("{unit: kg, density: 1.2 kg/L}", "500 mL", "0.6 kg"),
        ("{unit: L, density: 1200 kg/m^3}", "600 g", "0.5 L"),
    ],
)
def test_a_density_turns_a_mass_into_a_volume_and_the_other_way(
    asked: Ask, entry: str, quantity: str, counted: str
) -> None:
    assert asked(f"resin: {quantity}", f"resin: {entry}\n").amounts == {"resin": counted}


def test_waste_is_counted_on_top_once(asked: Ask) -> None:
    found = asked(
        "glass cloth: {quantity: 10 yd^2, waste: 15 %}\nmixing pail: {quantity: 4}\n"
        "epoxy resin: {quantity: 2 gal, waste: model.waste + 5 %}",
        CATALOGUE,
        **{"content/inputs/model.yml": "model:\n  waste: 20 %\n"},
    )

    assert found.amounts == {"glass cloth": "11.5 yd^2", "mixing pail": "4", "epoxy resin": "2.5 gal"}


def test_a_quantity_may_be_any_expression_over_the_numbers_of_the_book(
    make_book: BookMaker, yard: dict[str, str]
) -> None:
    page = (
        f"{HEAD}```calc beam deck\nspan: 48 in\n```\n\n"
        '```materials\nplank: 3 * deck.sag\nrod: "deck.sag + 1 in"\n```\n'
    )

    assert Asked(make_book({**yard, "content/p.md": page})).amounts == {"plank": "1.20 in", "rod": "1.40 in"}


def test_what_has_no_answer_stands_as_that_with_its_reason(
    make_book: BookMaker, yard: dict[str, str]
) -> None:
    page = f"{HEAD}```calc beam deck\nspan: 90 in\n```\n\n```materials\nplank: 3 * deck.sag\n```\n"
    found = Asked(make_book({**yard, "content/p.md": page}))

    assert found.problems == []
    assert [use.amount for use in found.uses] == [NoAnswer("the span was never tried")]


def test_a_material_carries_the_verdict_that_its_quantity_rests_on(
    make_book: BookMaker, yard: dict[str, str]
) -> None:
    page = (
        f"{HEAD}```calc plank long\nlength: 120 in\nwidth: 12 in\n```\n\n"
        "```materials\nvarnish, sq ft: long.area\nnails: 3\n```\n"
    )
    found = Asked(make_book({**yard, "content/p.md": page}))

    assert [use.verdict for use in found.uses] == ["outside", "within"]


def test_a_line_counts_only_in_the_editions_that_it_is_in_force_in(make_book: BookMaker) -> None:
    page = (
        f"{HEAD}```materials\nglue: 2 lb\n```\n\n"
        ":::when options.box\n```materials\nscrews: box.screws\n```\n:::\n"
    )
    root = make_book({"content/p.md": page, "content/inputs/options/box.yml": "box:\n  screws: 12\n"})

    assert Asked(root).amounts == {"glue": "2 lb"}
    assert Asked(root, Edition("with option box", ("box",))).amounts == {"glue": "2 lb", "screws": "12"}


def test_a_title_and_a_note_of_the_fence_are_no_materials(asked: Ask) -> None:
    assert asked("title: On the bench\nnote: Fetch it the day before\nglue: 2 lb").amounts == {"glue": "2 lb"}


@pytest.mark.parametrize(
    ("lines", "told"),
    [
        (
            "pour foam part AA: 2 lb",
            "content/p.md:6:1: there is no material 'pour foam part AA' in the catalogue;"
            " did you mean 'Pour foam part A'?",
        ),
        (
            "wheel nut: 4",
            "content/p.md:6:1: there is no material 'wheel nut' in the catalogue;"
            " add it to reference/materials.yml with its unit",
        ),
        (
            "glass cloth: [1 yd^2, 2 yd^2]",
            "content/p.md:6:14: 'glass cloth' has a list where one quantity is wanted;"
            " write glass cloth: 3 lb, or glass cloth: {quantity: 3 lb, waste: 10 %}",
        ),
        (
            "glass cloth: {quantity: 1 yd^2, wast: 5 %}",
            "content/p.md:6:33: a material has no 'wast'; did you mean 'waste'?",
        ),
        (
            "glass cloth: {waste: 5 %}",
            "content/p.md:6:1: 'glass cloth' does not say how much;"
            " write glass cloth: 3 lb, or glass cloth: {quantity: 3 lb, waste: 10 %}",
        ),
        (
            "glass cloth: {quantity: 2 yd^2*3}",
            "content/p.md:6:31: '*' has no space on both sides; write 2 yd^2 * 3",
        ),
        (
            "glass cloth:",
            "content/p.md:6:13: there is nothing here; write a name, a quantity or an expression",
        ),
        ('"": 3', "content/p.md:6:1: this material has no name; write name: quantity"),
        ("title: Materials", "content/p.md:5:1: this materials fence names no material; add a line such as"
         " pour foam part A: 12 lb"),
    ],
)  # fmt: skip
def test_a_line_that_cannot_be_read_is_told_at_its_place(asked: Ask, lines: str, told: str) -> None:
    assert asked(lines, CATALOGUE).told == [told]


@pytest.mark.parametrize(
    ("line", "told"),
    [
        (
            "glass cloth: 3 lb",
            "content/p.md:6:14: 'glass cloth' is counted in yd^2, and this is a mass: 3 lb;"
            " write an area (yd^2, in^2, ft^2, m^2), or change its unit in content/reference/materials.yml:7",
        ),
        (
            "Pour foam part A: 3 gal",
            "content/p.md:6:19: 'Pour foam part A' is counted in lb, and this is a volume: 3 gal;"
            " give its density in content/reference/materials.yml:1, or write a mass (lb, oz, kg)",
        ),
        (
            "mixing pail: 3 ft",
            "content/p.md:6:14: 'mixing pail' is counted by the piece, and this is a length: 3 ft;"
            " write a plain number, or change its unit in content/reference/materials.yml:9",
        ),
        (
            "Pour foam part A: 3",
            "content/p.md:6:19: 'Pour foam part A' is counted in lb, and this is a plain number: 3;"
            " write a mass (lb, oz, kg), or change its unit in content/reference/materials.yml:1",
        ),
        (
            "epoxy resin: 30 %",
            "content/p.md:6:14: a share is no quantity of 'epoxy resin';"
            " write one such as 3 lb, 12 ft or a plain count",
        ),
        (
            "mixing pail: 2 - 5",
            "content/p.md:6:14: the quantity of 'mixing pail' is below zero: -3; a quantity is zero or more",
        ),
        (
            "mixing pail: 3 > 2",
            "content/p.md:6:14: a flag is no quantity of 'mixing pail';"
            " write one such as 3 lb, 12 ft or a plain count",
        ),
        (
            "mixing pail: 1e9 * 1e9",
            "content/p.md:6:14: the quantity of 'mixing pail' is too large to be one;"
            " check the values that go in here",
        ),
        (
            "mixing pail: {quantity: 3, waste: 0.1}",
            "content/p.md:6:35: the waste of 'mixing pail' is a plain number, not a share;"
            " write it in %, such as 10 %",
        ),
        (
            "mixing pail: {quantity: 3, waste: 110 %}",
            "content/p.md:6:35: the waste of 'mixing pail' is 110 %;"
            " waste is a share of the quantity, from 0 % to 100 %",
        ),
    ],
)
def test_a_quantity_that_cannot_be_counted_is_told_with_both_sides(asked: Ask, line: str, told: str) -> None:
    found = asked(line, CATALOGUE)

    assert found.told == [told]
    assert found.uses == []


def test_a_bare_product_takes_the_unit_of_the_catalogue(asked: Ask) -> None:
    assert asked("cloth: 3 ft * 2 ft", "cloth: {unit: ft^2}\n").amounts == {"cloth": "6 ft^2"}


def test_a_bare_product_needs_a_unit_where_no_catalogue_gives_one(asked: Ask) -> None:
    assert asked("film: 3 ft * 2 ft").told == [
        "content/p.md:6:7: the quantity of 'film' is an area (in^2, ft^2, m^2) without a unit of its own;"
        " work it out in a formula block, where a line may end in 'in UNIT', and name that line here"
    ]


def test_two_pages_that_count_a_material_in_two_ways_are_told(make_book: BookMaker) -> None:
    root = make_book(
        {
            "content/a.md": f"{HEAD}```materials\nhose: 6 ft\n```\n",
            "content/b.md": f"{HEAD}```materials\nHose: 3\n```\n",
        }
    )

    assert Asked(root).told == [
        "content/b.md:6:7: 'Hose' is a plain number here and a length in content/a.md:6;"
        " count it in one way, or add it to reference/materials.yml with its unit and density"
    ]


def test_every_fault_of_a_fence_is_told_at_once_and_the_good_lines_stand(asked: Ask) -> None:
    found = asked(
        "mixing pail: {quantity: 1 - 2, waste: 3}\nnut: 3\nepoxy resin: 1 gal\nglass cloth: no_such.area",
        CATALOGUE,
    )

    assert [(problem.place.line, problem.what) for problem in found.problems] == [
        (7, "there is no material 'nut' in the catalogue"),
        (6, "the quantity of 'mixing pail' is below zero: -1"),
        (6, "the waste of 'mixing pail' is a plain number, not a share"),
        (9, "there is no name 'no_such.area'"),
    ]
    assert [use.line.material for use in found.uses] == ["nut", "epoxy resin"]


def test_the_problems_of_an_edition_say_which_one(make_book: BookMaker) -> None:
    page = f"{HEAD}```materials\nglue: size\n```\n"
    root = make_book(
        {
            "content/p.md": page,
            "content/inputs/model.yml": "size: 3 lb\n",
            "content/inputs/options/odd.yml": "size: 3 %\n",
        }
    )
    found = Asked(root, Edition("with option odd", ("odd",)))

    assert found.problems[-1].edition == "with option odd"


def test_a_material_s_amount_is_exact_where_its_sizes_are(asked: Ask) -> None:
    (use,) = asked("glass cloth: {quantity: 3 1/3 ft^2, waste: 10 %}", CATALOGUE).uses
    amount: Any = use.amount

    assert isinstance(amount, Quantity)
    assert amount.value * 27 == 11
