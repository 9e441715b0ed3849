"""The record of the checks is current, says no less than what was found, and stands on the pages."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from kb.calculators.plugins import load_plugins
from kb.calculators.verified import Verified, verification
from tests.handbook import verify
from tests.handbook.cases import CASES, SHIPPED, compare
from tests.handbook.verify import FEWEST, FILE, cases_of, greatest_difference, text
from tests.pages.site_tree import Node, fill, sheet, site_of

if TYPE_CHECKING:
    from tests.conftest import BookMaker


def recorded(name: str) -> Verified:
    found = verification(SHIPPED[name])
    assert found is not None, f"{name} has no entry; run 'make verified'"
    return found


def test_the_record_is_current() -> None:
    assert FILE.read_text(encoding="utf-8") == text(), "run 'make verified'"


def test_every_case_is_of_a_shipped_calculator() -> None:
    assert {case.calculator for case in CASES} == SHIPPED.keys()


@pytest.mark.parametrize("name", SHIPPED)
def test_a_shipped_calculator_has_three_checks_or_more(name: str) -> None:
    assert recorded(name).checks == len(cases_of(name)) >= FEWEST


@pytest.mark.parametrize("name", SHIPPED)
def test_a_shipped_calculator_is_checked_by_two_routes_or_more(name: str) -> None:
    assert len({one.source for one in recorded(name).sources}) >= 2


@pytest.mark.parametrize("name", SHIPPED)
def test_the_greatest_difference_is_no_less_than_any_found_and_every_one_is_within_its_case(
    name: str,
) -> None:
    assert recorded(name).greatest_difference >= greatest_difference(cases_of(name))
    for case in cases_of(name):
        assert max(one.difference for one in compare(case)) <= case.tolerance, case.title


@pytest.mark.parametrize("name", SHIPPED)
def test_the_greatest_difference_has_one_figure(name: str) -> None:
    assert len(Decimal(repr(recorded(name).greatest_difference)).normalize().as_tuple().digits) == 1


def test_no_record_is_written_of_too_few_checks_or_of_one_that_fails(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    first = CASES[0]
    monkeypatch.setattr(verify, "FILE", tmp_path / "record.json")
    monkeypatch.setattr(verify, "CASES", [replace(first, tolerance=-1.0)])
    monkeypatch.setattr(verify, "compare", lambda case: compare(first))

    with pytest.raises(SystemExit, match=f"{first.calculator} has 1 of the 3 checks") as left:
        verify.main()

    assert f"{first.calculator}: {first.title}: " in str(left.value)
    assert not verify.FILE.exists()


def test_a_yard_s_own_plugin_has_no_record_even_beside_a_file_of_that_name(tmp_path: Path) -> None:
    root = fill(tmp_path, {"plugins/verification.json": '{"plank": {}}'})
    known = load_plugins(root)[0].calculators

    assert verification(known["plank"]) is None
    assert verification(known["formula"]) is None


def test_the_pages_show_the_record(make_book: BookMaker) -> None:
    site = site_of(fill(make_book({}), {"content/p.md": sheet("Words.\n")}))

    cells = {
        row.one("th").text: [one.text for one in row.parts][2:4]
        for body in site.page("calculators.html").all("tbody")
        for row in body.parts
    }
    load = recorded("fuel_load")
    told = f"{Decimal(repr(load.greatest_difference)) * 100:.9f}".rstrip("0") + " %"
    assert cells["fuel_load"] == [str(load.checks), told]
    assert cells["plank"] == cells["formula"] == ["none", ""]

    page = site.page("calculators/fuel_load.html")
    assert f"{load.checks} checks" in page.text
    assert told in page.text
    assert [one.source in shown.text for one, shown in zip(load.sources, listed(page), strict=True)]
    assert "The yard's own arithmetic" in site.page("calculators/formula.html").text
    assert "No checks are on record" in site.page("calculators/plank.html").text


def listed(page: Node) -> list[Node]:
    """Return the sources of the checks that a calculator's page lists."""
    return page.one("ul", "check-sources").parts
