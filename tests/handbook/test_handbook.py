"""Every case of the handbook comes out as its source says."""

from __future__ import annotations

import pytest

from tests.handbook.cases import CASES, SHIPPED, STANDINGS, Case, compare


@pytest.mark.parametrize("case", CASES, ids=str)
def test_a_case_comes_out_as_its_source_says(case: Case) -> None:
    assert case.source
    assert case.standing in STANDINGS

    assert [one for one in compare(case) if not one.difference <= case.tolerance] == []


@pytest.mark.parametrize("name", SHIPPED)
def test_a_calculator_has_a_case_off_every_default(name: str) -> None:
    given = [set(case.given) for case in CASES if case.calculator == name]

    assert set(SHIPPED[name].parameters) in given
