"""What a page prints and what `numbers.json` holds are the same number, everywhere."""

from __future__ import annotations

import json
import re
from fractions import Fraction
from typing import TYPE_CHECKING, Any

import pytest

from tests.pages.site_tree import Node, Site, fill, sheet, site_of

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from tests.conftest import Command

# By definition: an inch is 25.4 mm, a US gallon 231 cubic inches, a pound 0.45359237 kg, and 128 fluid ounces
# are a gallon.
SIZES: dict[str, tuple[str, Fraction]] = {
    "in": ("length", Fraction(254, 10000)),
    "ft": ("length", Fraction(3048, 10000)),
    "mm": ("length", Fraction(1, 1000)),
    "gal": ("volume", Fraction(231)),
    "fl_oz": ("volume", Fraction(231, 128)),
    "fl oz": ("volume", Fraction(231, 128)),
    "m": ("length", Fraction(1)),
    "in^2": ("area", Fraction(1)),
    "ft^2": ("area", Fraction(144)),
    "in^3": ("volume", Fraction(1)),
    "ft^3": ("volume", Fraction(1728)),
    "lb": ("mass", Fraction(45359237, 10**8)),
    "kg": ("mass", Fraction(1)),
    "%": ("share", Fraction(1, 100)),
    "s": ("time", Fraction(1)),
    "min": ("time", Fraction(60)),
    "hr": ("time", Fraction(3600)),
    "day": ("time", Fraction(86400)),
    "oz": ("mass", Fraction(45359237, 16 * 10**8)),
    "g": ("mass", Fraction(1, 1000)),
    "mL": ("volume", Fraction(10**6, 16387064)),
    "L": ("volume", Fraction(10**9, 16387064)),
    "gph": ("flow", Fraction(231, 3600)),
    "gal/hr": ("flow", Fraction(231, 3600)),
    "gpm": ("flow", Fraction(231, 60)),
    "gal/min": ("flow", Fraction(231, 60)),
}
MORE = sheet(
    "```calc plank shelf\nlength: deck.length\nwidth: deck.width\n```\n\n"
    "```calc formula cut\nhalf: deck.length / 2\narea: half * deck.width in ft^2\n"
    "share: deck.width / half in %\n"
    "count: 7\n```\n\n"
    "Cut {{ deck.length in mm }}, {{ deck.length in ft-in }}, {{ deck.length in ft to 1/8 }}, "
    "{{ cut.half in mm to 5 }}, "
    "{{ shelf.area in in^2 }}, {{ shelf.mass in kg up to 0.1 }}, {{ cut.share }}, {{ cut.share in % to 1 }}, "
    "{{ cut.count }}, {{ deck.word }}, {{ deck.small }}, {{ deck.large in mm }}, {{ deck.loose }}.\n"
)
BOOKS = {
    "inches": "deck:\n  length: 48 3/16 in\n  width: 13.7 in\n  word: oak\n  small: 0.00123 in\n"
    "  large: 9999 ft\n  loose: 12.3456 in ± 1/4 in\n",
    "metric": "deck:\n  length: 1237 mm\n  width: 333 mm\n  word: ash\n  small: 0.1 mm\n  large: 99.95 m\n"
    "  loose: 313 mm ± 2 mm\n",
}


def printed(site: Site) -> Iterator[tuple[str, str, str, str]]:
    """Go through every number that a site prints: page, name, number and unit."""
    for address in site.addresses:
        for one in site.page(address).walk():
            name = one.attrs.get("data-number")
            if name:
                yield address, name, *number_of(one)


def number_of(one: Node) -> tuple[str, str]:
    numeral = one.one("span", "numeral").text
    unit = "".join(part.text for part in one.all("span", "unit"))
    for raised, plain in {"²": "^2", "³": "^3", "⁴": "^4", "·": "*"}.items():
        unit = unit.replace(raised, plain)
    return numeral, unit


def plain(text: str) -> str:
    return text.replace("²", "^2").replace("³", "^3")


def values_of(site: Site) -> dict[str, dict[str, Any]]:
    data = json.loads(site.html("numbers.json"))
    numbers = {
        f"{block}.{name}": one for block, results in data["numbers"].items() for name, one in results.items()
    }
    return {**data["inputs"], **numbers}


def told(text: str, unit: str) -> tuple[Fraction, Fraction, str] | None:
    """Return a printed number in its own unit, the step it was printed to, and the unit; None for words."""
    if chain := re.fullmatch(r"(\d+) ft(?: (.+) in)?", text):
        inches = told(chain[2], "in") if chain[2] else (Fraction(0), Fraction(1, 16), "in")
        assert inches is not None
        return 12 * int(chain[1]) + inches[0], Fraction(1, 16), "in"
    if match := re.fullmatch(r"(-?)(?:(\d+) )?(\d+)/(\d+)", text):
        size = int(match[2] or 0) + Fraction(int(match[3]), int(match[4]))
        return (-size if match[1] else size), Fraction(1, int(match[4])), unit
    if re.fullmatch(r"-?\d+(\.\d+)?", text):
        return Fraction(text), Fraction(1, 10 ** len(text.partition(".")[2])), unit
    return None


def disagreements(site: Site) -> tuple[list[str], int]:
    """Return what is printed otherwise than `numbers.json` has it, and how many numbers were compared."""
    values, wrong, compared = values_of(site), [], 0
    for address, name, text, unit in printed(site):
        one = values[name]
        value = one.get("value")
        where = f"{address}: {name} is printed {text} {unit}, and is {one}"
        if "columns" in one:
            continue
        if value is None or isinstance(value, str | bool):
            said = {True: "yes", False: "no"}.get(value, one.get("text", value))
            if (said is not None and str(said) != text) or (said is None and one.get("why", "") not in text):
                wrong.append(where)
            continue
        found = told(text, unit)
        compared += 1
        if found is None:
            wrong.append(where)
            continue
        size, step, shown_in = found
        if shown_in == one["unit"]:
            factor = Fraction(1)
        else:
            (kind, scale), (own, own_scale) = SIZES[shown_in], SIZES[one["unit"]]
            assert kind == own, where
            factor = own_scale / scale
        # A whole number may have been rounded to the step that its author asked for, or to its first figures.
        if step == 1 and (zeros := re.search(r"[1-9](0+)$", text)):
            step = Fraction(10 ** len(zeros[1]))
        if re.search(r"[05]$", text):
            step *= 5
        if "tolerance" in one:
            step *= 5  # a tolerance may have made the steps two or five of the last place
        if abs(Fraction(value) * factor - size) > step * Fraction(10001, 10000):
            wrong.append(where)
    return wrong, compared


def test_every_number_of_the_demonstration_book_is_the_one_in_numbers_json(demo: Site) -> None:
    wrong, compared = disagreements(demo)

    assert wrong == []
    assert compared > 100


@pytest.mark.parametrize("inputs", BOOKS.values(), ids=BOOKS.keys())
def test_every_number_of_a_book_in_either_system_is_the_one_in_numbers_json(
    tmp_path_factory: pytest.TempPathFactory, inputs: str
) -> None:
    book = fill(
        tmp_path_factory.mktemp("agreement") / "book",
        {"content/p.md": MORE, "content/inputs/model.yml": inputs},
    )
    wrong, compared = disagreements(site_of(book))

    assert wrong == []
    assert compared > 12


def test_a_number_is_printed_on_its_safe_side_in_every_unit(build_area: Site) -> None:
    # By hand: 48 in * 13 in = 624 in^2 = 4.3333 ft^2; the mass is 3 times that, 13 lb = 5.8967 kg; up, both.
    shown = [one.text for one in build_area.page("p.html").all("a", "live")]

    assert shown == ["4.34 ft²", "624 in²", "5 ft²", "5.90 kg", "5.9 kg", "13 lb"]


@pytest.fixture
def build_area(tmp_path_factory: pytest.TempPathFactory) -> Site:
    body = (
        "```calc plank shelf\nlength: 48 in\nwidth: 13 in\n```\n\n"
        "{{ shelf.area }}, {{ shelf.area in in^2 }}, {{ shelf.area to 1 }}, {{ shelf.mass in kg }}, "
        "{{ shelf.mass in kg to 0.1 }}, {{ shelf.mass to 1 }}\n"
    )
    return site_of(fill(tmp_path_factory.mktemp("safe") / "book", {"content/p.md": sheet(body)}))


def test_numbers_json_is_what_the_command_prints(demo: Site, demonstration: Path, keelbook: Command) -> None:
    ran = keelbook("numbers", "--json", book=demonstration)

    assert json.loads(ran.out) == json.loads(demo.html("numbers.json"))


def test_the_values_in_a_working_are_those_of_its_card(demo: Site) -> None:
    for address in demo.sheets:
        for card in demo.page(address).all("section", "card"):
            results = {
                row.one("dt").text: f"{number_of(row.one('dd'))[0]} {number_of(row.one('dd'))[1]}".strip()
                for row in (card.all("dl", "results")[0].parts if card.all("dl", "results") else [])
            }
            gives = {
                row.parts[0].text: row.parts[3]
                .text.replace("²", "^2")
                .replace("³", "^3")
                .rpartition("shown as ")[2]
                for table in card.all("details", "working")
                for row in table.all("tr")
                if len(row.parts) == 5 and row.parts[0].text in results
            }
            assert gives == results
