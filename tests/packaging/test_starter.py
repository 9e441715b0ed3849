"""The starter builds, with the calculator of its own; the guide for developers shows that very file."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
import yaml

from kb.calculators.plugins import load_plugins
from kb.calculators.work import work
from kb.language.quantity import Quantity
from tests.conftest import Command

ROOT = Path(__file__).parents[2]
STARTER = ROOT / "kb" / "starter"
GUIDE = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")


def shown(language: str, holding: str) -> str:
    """Return the one fenced part of the guide in a language that holds a text."""
    fences = re.findall(rf"^(`{{3,}}){language}\n(.*?)^\1$", GUIDE, flags=re.MULTILINE | re.DOTALL)
    found = [text for _, text in fences if holding in text]
    assert len(found) == 1, f"the guide has {len(found)} {language} fences with '{holding}'"
    return found[0]


def test_the_guide_shows_the_calculator_of_the_starter_to_the_letter() -> None:
    assert shown("python", "def hose_contents") == (STARTER / "plugins" / "hoses.py").read_text("utf-8")


def test_the_guide_s_handbook_case_comes_out_as_it_says() -> None:
    (case,) = yaml.safe_load(shown("yaml", "hose_contents"))
    calculator = load_plugins(STARTER)[0].calculators[case["calculator"]]
    values = work(calculator, case["given"]).outcome.values
    for name, said in case["expect"].items():
        value, number = values[name], float(said.split()[0])
        assert isinstance(value, Quantity)
        assert said.split()[1] == value.unit.name
        assert float(value.value) == pytest.approx(number, rel=float(case["tolerance"]))


def test_the_guide_s_block_works_on_a_page(tmp_path: Path, keelbook: Command) -> None:
    book = tmp_path / "book"
    assert keelbook("start", str(book)).code == 0
    page = "---\ntitle: Try\n---\n\n" + shown("markdown", "calc hose_contents")
    (book / "content" / "try.md").write_text(page, encoding="utf-8")
    assert keelbook("check", "--strict", book=book).code == 0
    built = keelbook("build", book=book)
    assert built.code == 0, built.err
    html = (book / "site" / "shop" / "try.html").read_text(encoding="utf-8")
    assert "0.551 gal" in html


def test_a_new_book_holds_the_starter_s_calculator_and_its_page(tmp_path: Path, keelbook: Command) -> None:
    book = tmp_path / "book"
    keelbook("start", str(book))
    assert keelbook("build", book=book).code == 0
    site = book / "site" / "shop"
    assert "Liquid in the hose" in (site / "calculators" / "hose_contents.html").read_text(encoding="utf-8")
    assert "What the fill hose holds" in (
        site / "procedures" / "systems" / "take-off-fill-hose.html"
    ).read_text(encoding="utf-8")
