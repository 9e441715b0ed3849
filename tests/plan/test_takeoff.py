"""The take-off: sums over the book, packs, and what spreadsheets and other programs get of it."""

from __future__ import annotations

import csv
from collections.abc import Callable
from fractions import Fraction
from io import BytesIO, StringIO
from itertools import product
from math import ceil
from operator import mul
from typing import TYPE_CHECKING
from zipfile import ZipFile

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from openpyxl import load_workbook

from kb.language.quantity import NoAnswer, Quantity, quantity
from kb.numbers.packs import packs_for
from kb.numbers.takeoff import TakeOffLine, material_uses, take_off
from kb.numbers.takeoff_exports import as_csv, as_json, as_xlsx
from kb.reckon import open_book

if TYPE_CHECKING:
    from tests.conftest import BookMaker

CATALOGUE = """\
resin:
  unit: gal
  density: 10 lb/gal
  packs: [1 gal, 5 gal]
  prices: [60, 250.10]
  shelf_life: 180 day
  lead_time: 5 day
  storage: cool and dry
  safety_sheet: green binder, 4
  note: stir it first
cartridge:
  unit: piece
  packs: [12]
wire:
  unit: ft
"""
PAGES = {
    "content/a.md": "---\ntitle: Bed the tank\n---\n\n```materials\nwire: 10 1/3 ft\nresin: 12.5 lb\n```\n",
    "content/b.md": (
        "---\ntitle: Bond the deck\n---\n\n```materials\ncartridge: {quantity: 24, waste: 3 %}\n"
        "Resin: 2 gal\n```\n\n```materials\nresin: {quantity: 2 gal, waste: 50 %}\n```\n"
    ),
    "content/reference/materials.yml": CATALOGUE,
}

Taken = Callable[[dict[str, str]], tuple[TakeOffLine, ...]]


@pytest.fixture
def taken(make_book: BookMaker) -> Taken:
    """Return a function that gives the take-off of a book's model."""

    def take(files: dict[str, str]) -> tuple[TakeOffLine, ...]:
        opened = open_book(make_book(files))
        done = opened.evaluate()
        uses, problems = material_uses(done, opened.graph.bindings.materials)
        assert [*opened.problems, *done.problems, *problems] == []
        return take_off(uses, opened.book.reference)

    return take


def page(lines: str) -> str:
    return f"---\ntitle: A page\n---\n\n```materials\n{lines}\n```\n"


def cents(value: int) -> Quantity:
    return Quantity(Fraction(value, 100), quantity(1, "lb").unit)


def exactly(value: Quantity | NoAnswer | None) -> Fraction:
    assert isinstance(value, Quantity)
    return Fraction(value.value)


def test_each_material_is_summed_over_the_pages_in_the_order_of_the_book(taken: Taken) -> None:
    lines = taken(PAGES)

    assert [line.material for line in lines] == ["wire", "resin", "cartridge"]
    assert [line.needed for line in lines] == [
        quantity(Fraction(31, 3), "ft"),
        quantity(Fraction(25, 4), "gal"),
        quantity(Fraction(618, 25)),
    ]
    assert [[one.id for one in line.pages] for line in lines] == [["a"], ["a", "b"], ["b"]]


def test_a_need_is_bought_in_packs_with_what_is_left_over_and_what_it_costs(taken: Taken) -> None:
    _, resin, cartridge = taken(PAGES)

    assert [(one.count, one.size) for one in resin.packs] == [
        (1, quantity(5, "gal")),
        (2, quantity(1, "gal")),
    ]
    assert (resin.bought, resin.left_over) == (quantity(7, "gal"), quantity(Fraction(3, 4), "gal"))
    assert resin.cost == 370.10
    assert [(one.count, one.size) for one in cartridge.packs] == [(3, quantity(12))]
    assert cartridge.cost is None


@pytest.mark.parametrize(
    ("line", "entry", "bought"),
    [
        ("3.2", "unit: piece", 4),
        ("2.34567 ft", "unit: ft", Fraction("2.35")),
        ("10 1/3 ft", "unit: ft", Fraction("10.4")),
        ("46 1/2 in", "unit: in", Fraction("46.5")),
        ("0 ft", "unit: ft", 0),
    ],
)
def test_what_has_no_packs_is_rounded_up_as_it_is_printed(
    taken: Taken, line: str, entry: str, bought: Fraction
) -> None:
    (one,) = taken(
        {"content/p.md": page(f"x: {line}"), "content/reference/materials.yml": f"x: {{{entry}}}\n"}
    )

    assert (one.packs, one.left_over, one.cost) == ((), None, None)
    assert exactly(one.bought) == bought


def test_without_a_catalogue_materials_are_kept_as_they_are(taken: Taken) -> None:
    hose, pails = taken({"content/a.md": page("hose: 3 ft\npails: 2"), "content/b.md": page("Hose: 18 in")})

    assert (hose.material, hose.needed, hose.entry) == ("hose", quantity(Fraction(9, 2), "ft"), None)
    assert (pails.needed, pails.bought) == (quantity(2), quantity(2))


def test_a_need_with_one_part_that_cannot_be_told_cannot_be_told(taken: Taken) -> None:
    plugin = (
        "from dataclasses import dataclass\nfrom typing import Annotated\n"
        "from kb import NoAnswer, Q, Source, calculator, hookimpl\n\n\n"
        "@dataclass(frozen=True)\nclass Found:\n"
        '    much: Annotated[float | NoAnswer, Q("lb", "Glue", method="guessed")]\n\n\n'
        '@calculator(sources=[Source("the yard", "a guess", "memory")])\n'
        'def guess(size: Annotated[float, Q("in", "Size")]) -> Found:\n    """Guess the glue."""\n'
        '    return Found(NoAnswer("nobody knows"))\n\n\n'
        "@hookimpl\ndef kb_calculators():\n    return (guess,)\n"
    )
    body = "```calc guess joint\nsize: 3 in\n```\n\n"
    (glue,) = taken(
        {
            "plugins/yard.py": plugin,
            "content/a.md": page("glue: 3 lb"),
            "content/b.md": page("glue: joint.much") + "\n" + body,
            "content/reference/materials.yml": "glue: {unit: lb, packs: 1 lb}\n",
        }
    )

    assert glue.needed == NoAnswer("nobody knows")
    assert (glue.packs, glue.bought, glue.left_over) == ((), None, None)
    assert as_json([glue])["materials"][0]["needed"] == {"value": None, "unit": "lb", "why": "nobody knows"}
    assert next(csv.DictReader(StringIO(as_csv([glue]))))["remark"] == "cannot be told: nobody knows"


def by_trying_all(need: int, sizes: list[int]) -> tuple[int, int]:
    """Return the least that is left over and the fewest packs with that, by trying every mixture."""
    mixtures = product(*(range(ceil(need / size) + 1) for size in sizes))
    held = ((sum(map(mul, counts, sizes)) - need, sum(counts)) for counts in mixtures)
    return min(one for one in held if one[0] >= 0)


@settings(deadline=None)
@given(st.integers(0, 150), st.lists(st.integers(7, 120), min_size=1, max_size=3, unique=True))
def test_no_mixture_of_packs_leaves_less_or_leaves_as_little_in_fewer_packs(
    need: int, sizes: list[int]
) -> None:
    counts = packs_for(cents(need), [cents(size) for size in sorted(sizes)])
    left = sum(map(mul, counts, sorted(sizes))) - need

    assert (left, sum(counts)) == by_trying_all(need, sizes)


@settings(deadline=None)
@given(
    st.fractions(0, 10**6, max_denominator=1000) | st.floats(0, 10**6),
    st.lists(
        st.fractions(Fraction(1, 100), 1000, max_denominator=10**8), min_size=1, max_size=4, unique=True
    ),
)
def test_packs_of_any_sizes_hold_any_need_with_less_than_the_largest_left_over(
    need: Fraction | float, sizes: list[Fraction]
) -> None:
    one = quantity(1, "lb").unit
    ordered = sorted(sizes)
    counts = packs_for(Quantity(need, one), [Quantity(size, one) for size in ordered])
    left = sum(count * size for count, size in zip(counts, ordered, strict=True)) - Fraction(need)

    assert -(Fraction(need) + ordered[0]) / 10**8 <= left < ordered[-1]


@pytest.mark.parametrize(
    ("need", "sizes", "counts"),
    [
        (0, [1, 5], (0, 0)),
        (6, [4, 5], (2, 0)),
        (8, [1, 4, 5], (0, 2, 0)),
        (10**12 + 1, [1, 5], (1, 2 * 10**11)),
        (Fraction(1, 2), [Fraction(1, 1000), 1], (500, 0)),
    ],
)
def test_packs_come_with_the_least_left_over_first_and_then_in_the_fewest(
    need: Fraction, sizes: list[Fraction], counts: tuple[int, ...]
) -> None:
    assert packs_for(quantity(need), [quantity(size) for size in sizes]) == counts


@given(st.integers(1, 60), st.sampled_from(["0.1", "0.7", "1.1", "2.3"]))
def test_what_arithmetic_leaves_behind_buys_no_further_pack(count: int, size: str) -> None:
    need = sum([float(size)] * count)

    assert packs_for(Quantity(need), [Quantity(Fraction(size))]) == (count,)


def test_json_gives_values_with_units_and_where_each_is_used(taken: Taken) -> None:
    data = as_json(taken(PAGES))["materials"]
    resin = data[1]

    assert [one["material"] for one in data] == ["wire", "resin", "cartridge"]
    assert resin["needed"] == {"value": 6.25, "unit": "gal"}
    assert resin["packs"] == [
        {"count": 1, "size": {"value": 5.0, "unit": "gal"}},
        {"count": 2, "size": {"value": 1.0, "unit": "gal"}},
    ]
    assert (resin["bought"]["value"], resin["left_over"]["value"], resin["cost"]) == (7, 0.75, 370.10)
    assert (resin["shelf_life"], resin["lead_time"]) == (
        {"value": 180.0, "unit": "day"},
        {"value": 5.0, "unit": "day"},
    )
    assert (resin["storage"], resin["safety_sheet"]) == ("cool and dry", "green binder, 4")
    assert [(one["page"], one["line"], one["amount"]["value"]) for one in resin["used_on"]] == [
        ("a", 7, 1.25),
        ("b", 7, 2),
        ("b", 11, 3),
    ]


def test_csv_has_one_line_a_material_with_plain_numbers(taken: Taken) -> None:
    rows = list(csv.DictReader(StringIO(as_csv(taken(PAGES)))))

    assert [row["material"] for row in rows] == ["wire", "resin", "cartridge"]
    assert rows[1] == {
        "material": "resin",
        "needed": "6.25",
        "unit": "gal",
        "packs": "1 x 5 gal + 2 x 1 gal",
        "bought": "7",
        "left over": "0.75",
        "cost": "370.1",
        "shelf life": "180 day",
        "lead time": "5 day",
        "storage": "cool and dry",
        "safety sheet": "green binder, 4",
        "used on": "Bed the tank; Bond the deck",
        "note": "stir it first",
        "remark": "",
    }


def test_a_number_that_rests_on_a_limit_outside_says_so_in_every_form(taken: Taken) -> None:
    inputs = "size: 3 lb\n"
    body = page("glue: size") + "\n```limit light\nrule: size <= 2 lb\nprotects: the scale\n```\n"
    (glue,) = taken({"content/p.md": body, "content/inputs/model.yml": inputs})

    assert as_json([glue])["materials"][0]["verdict"] == "outside"
    assert next(csv.DictReader(StringIO(as_csv([glue]))))["remark"] == "rests on a limit: outside"


NASTY = ["=1+1", "+1", "-1", "@SUM(A1)", '=HYPERLINK("http://x.example")']


@pytest.mark.parametrize("text", NASTY)
def test_no_text_of_a_yard_becomes_a_formula(taken: Taken, text: str) -> None:
    quoted = f"'{text}'"
    files = {
        "content/p.md": page(f"{quoted}: 3").replace("A page", quoted),
        "content/reference/materials.yml": (
            f"{quoted}:\n  unit: piece\n  storage: {quoted}\n  safety_sheet: {quoted}\n  note: {quoted}\n"
        ),
    }
    lines = taken(files)
    row = next(csv.DictReader(StringIO(as_csv(lines))))
    (cells,) = load_workbook(BytesIO(as_xlsx(lines)))["Take-off"].iter_rows(min_row=2)

    for column in ("material", "storage", "safety sheet", "used on", "note"):
        assert row[column] == f"'{text}"
    assert row["needed"] == "3"
    assert [cell.value for cell in cells].count(text) == 5
    assert "f" not in {cell.data_type for cell in cells}
    assert {cell.data_type for cell in cells if isinstance(cell.value, int)} == {"n"}


@given(st.text(min_size=1, max_size=20), st.sampled_from("=+-@\t\r\n"))
def test_any_text_after_such_a_sign_is_a_text(text: str, sign: str) -> None:
    line = TakeOffLine(sign + text, quantity(3), ())
    (_, row) = csv.reader(StringIO(as_csv([line]), newline=""))

    assert row[0] == f"'{sign}{text}"


def test_a_workbook_reads_back_as_it_was_written(taken: Taken) -> None:
    book = load_workbook(BytesIO(as_xlsx(taken(PAGES))))
    head, *rows = book["Take-off"].iter_rows(values_only=True)
    table = [dict(zip(head, row, strict=True)) for row in rows]

    assert book.sheetnames == ["Take-off"]
    assert [row["material"] for row in table] == ["wire", "resin", "cartridge"]
    assert (table[1]["needed"], table[1]["bought"], table[1]["cost"]) == (6.25, 7, 370.1)
    assert (table[0]["left over"], table[0]["cost"]) == (None, None)


def test_a_workbook_holds_no_character_that_its_form_forbids() -> None:
    book = load_workbook(BytesIO(as_xlsx([TakeOffLine("a\x00b\x1b", quantity(3), ())])))

    assert book["Take-off"]["A2"].value == "ab"


def test_a_workbook_of_the_same_lines_has_the_same_bytes_and_no_clock_in_it(taken: Taken) -> None:
    written = as_xlsx(taken(PAGES))
    files = ZipFile(BytesIO(written))
    core = files.read("docProps/core.xml").decode()

    assert as_xlsx(taken(PAGES)) == written
    assert {info.date_time for info in files.infolist()} == {(1980, 1, 1, 0, 0, 0)}
    assert core.count("1980-01-01T00:00:00Z") == 2
    assert files.testzip() is None


def test_a_take_off_of_nothing_is_a_head_without_lines() -> None:
    assert as_json([]) == {"materials": []}
    assert len(as_csv([]).splitlines()) == 1
    assert load_workbook(BytesIO(as_xlsx([])))["Take-off"].max_row == 1
