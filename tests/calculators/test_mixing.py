"""Mixing against the interpolation of scipy and exact fractions, and what must hold for any gel table."""

from __future__ import annotations

from fractions import Fraction
from itertools import product
from math import ceil, log
from typing import Any, Literal

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import constants
from scipy.interpolate import RegularGridInterpolator

from kb import NoAnswer, Refusal
from kb.calculators.declare import Calculator
from kb.calculators.work import Worked, work
from kb.problem import BookError
from kb_calculators.laminate.gel_table import GelRow
from kb_calculators.laminate.mixing import ResinMix, resin_mix

TEMPERATURES, SHARES = (59.0, 68.0, 77.0, 86.0), (1.0, 1.5, 2.0)
MINUTES = ((60.0, 40.0, 30.0), (42.4, 28.3, 21.2), (30.0, 20.0, 15.0), (21.2, 14.1, 10.6))
ROWS = tuple(
    GelRow(temperature, share, MINUTES[t][s])
    for (t, temperature), (s, share) in product(enumerate(TEMPERATURES), enumerate(SHARES))
)
MIX = {
    "system": "peroxide",
    "resin_mass": "20 lb",
    "hardener_share": "1.5 %",
    "hardener_gravity": "1.15",
    "temperature": "70 degF",
    "gel_table": "[[59 degF, 1 %, 60 min], [59 degF, 2 %, 30 min],"
    " [86 degF, 1 %, 21 min], [86 degF, 2 %, 10 min]]",
    "max_batch": "8 lb",
}

degrees = st.floats(59, 86)
shares = st.floats(1, 2)
masses = st.floats(0.1, 500)


def mixed(
    system: Literal["peroxide", "epoxy"] = "peroxide", rows: tuple[GelRow, ...] = ROWS, **more: Any
) -> ResinMix:
    plain: dict[str, float] = {
        "resin_mass": 20,
        "hardener_share": 1.5,
        "hardener_gravity": 1.15,
        "temperature": 70,
        "max_batch": 8,
    }
    return resin_mix(system, gel_table=rows, **{**plain, **more})


def gel(temperature: float, share: float, rows: tuple[GelRow, ...] = ROWS) -> float:
    found = mixed(temperature=temperature, hardener_share=share, rows=rows).gel_time
    assert isinstance(found, float)
    return found


def worked(**more: str) -> Worked:
    return work(Calculator.of(resin_mix), {**MIX, **more})


def verdicts(found: Worked) -> dict[str, str]:
    return {judged.name: judged.verdict for judged in found.limits}


@settings(deadline=None)
@given(degrees, shares)
def test_the_gel_time_is_that_of_scipy_on_the_logarithm(temperature: float, share: float) -> None:
    by_scipy = RegularGridInterpolator((TEMPERATURES, SHARES), np.log(MINUTES))

    assert log(gel(temperature, share)) == pytest.approx(float(by_scipy([[temperature, share]])[0]), rel=1e-9)


@pytest.mark.parametrize("row", ROWS)
def test_at_a_row_the_gel_time_is_its_own(row: GelRow) -> None:
    assert gel(row.temperature, row.hardener_share) == pytest.approx(row.gel_time, rel=1e-12)


@given(st.floats(50, 100), st.floats(5, 40), st.floats(0, 1))
def test_a_time_that_halves_for_each_ten_degrees_is_met_between_the_rows(
    start: float, span: float, part: float
) -> None:
    def minutes(degf: float) -> float:
        return float(20 * 2 ** ((77 - degf) / 18))

    rows = tuple(GelRow(at, 1.5, minutes(at)) for at in (start, start + span))
    between = start + span * part

    assert gel(between, 1.5, rows) == pytest.approx(minutes(between), rel=1e-9)


@given(shares)
def test_against_one_over_the_share_the_time_is_never_short_and_a_few_percent_long_at_most(
    share: float,
) -> None:
    """What the card says of shares between the rows."""
    coarse = tuple(GelRow(77, at, 30 / at) for at in (1.0, 2.0))
    fine = tuple(GelRow(77, at, 30 / at) for at in (1.0, 1.5, 2.0))
    true = 30 / share

    assert true * (1 - 1e-9) <= gel(77, share, fine) <= true * 1.021
    assert true * (1 - 1e-9) <= gel(77, share, coarse) <= true * 1.062


@given(degrees, shares, st.floats(0, 1), st.floats(0, 1))
def test_heat_or_hardener_never_makes_it_gel_later(
    temperature: float, share: float, warmer: float, more: float
) -> None:
    here = gel(temperature, share) * (1 + 1e-9)

    assert gel(temperature + warmer * (86 - temperature), share) <= here
    assert gel(temperature, share + more * (2 - share)) <= here


@given(st.permutations(ROWS))
def test_the_order_of_the_rows_does_not_matter(rows: list[GelRow]) -> None:
    assert mixed(rows=tuple(rows)) == mixed()


@pytest.mark.parametrize(
    ("temperature", "share"), [(58.9, 1.5), (86.1, 1.5), (70, 0.99), (70, 2.01), (20, 5)]
)
def test_outside_the_table_there_is_no_gel_time_and_the_rest_stands(temperature: float, share: float) -> None:
    found = mixed(temperature=temperature, hardener_share=share)

    assert found.gel_time == NoAnswer(
        f"{temperature:g} degF and {share:g} % lie outside the table, which goes from 59 to 86 degF and from"
        " 1 to 2 %"
    )
    assert found.batch_hardener > 0


def test_a_table_of_one_share_tells_of_that_share_only() -> None:
    rows = (GelRow(68, 30, 60), GelRow(86, 30, 30))

    assert gel(77, 30, rows) == pytest.approx(1800**0.5)
    assert isinstance(mixed(rows=rows, temperature=77, hardener_share=30.001).gel_time, NoAnswer)


@given(masses, st.floats(0.1, 100), st.floats(0.5, 60), st.floats(0.8, 1.3))
def test_equal_batches_hold_all_and_none_is_too_large(
    resin: float, batch: float, share: float, gravity: float
) -> None:
    found = mixed(resin_mass=resin, max_batch=batch, hardener_share=share, hardener_gravity=gravity)
    grams = found.batch_hardener

    assert found.batch_resin <= batch * (1 + 1e-9)
    assert found.batches * found.batch_resin == pytest.approx(resin)
    assert found.batches == 1 or resin / (found.batches - 1) > batch
    assert found.hardener_mass == pytest.approx(resin * share / 100)
    assert grams * found.batches == pytest.approx(found.hardener_mass * constants.lb * 1000)
    assert found.batch_hardener_volume * gravity == pytest.approx(grams)


@given(st.integers(1, 4000), st.integers(1, 200))
def test_the_batches_are_counted_as_in_exact_fractions(resin: int, batch: int) -> None:
    assert mixed(resin_mass=resin / 10, max_batch=batch / 10).batches == ceil(Fraction(resin, batch))


@given(masses, st.floats(1.01, 9))
def test_twice_the_resin_takes_twice_the_hardener(resin: float, by: float) -> None:
    assert mixed(resin_mass=resin * by).hardener_mass == pytest.approx(
        by * mixed(resin_mass=resin).hardener_mass
    )


@pytest.mark.parametrize(
    ("more", "remarked"),
    [
        ({"table_batch": "8.119 lb", "resin_mass": "8 lb"}, True),
        ({"table_batch": "8.121 lb", "resin_mass": "8 lb"}, False),
        ({"resin_mass": "0.2 lb"}, False),
        ({"resin_mass": "0.22 lb"}, True),
    ],
)
def test_a_batch_larger_than_the_tables_is_remarked(more: dict[str, str], remarked: bool) -> None:
    names = [remark.name for remark in worked(**more).outcome.remarks]

    assert names == (["batch_over_table"] if remarked else [])


WITHIN = {"temperature": "within", "share": "within", "maker_share": "within"}


@pytest.mark.parametrize(
    ("more", "expected"),
    [
        ({}, {}),
        ({"temperature": "86 degF"}, {}),
        ({"temperature": "30 degC"}, {}),
        ({"temperature": "86.01 degF"}, {"temperature": "outside"}),
        ({"temperature": "15 degC"}, {}),
        ({"temperature": "58.99 degF"}, {"temperature": "outside"}),
        ({"hardener_share": "1 %"}, {}),
        ({"hardener_share": "0.999 %"}, {"share": "outside", "maker_share": "outside"}),
        ({"hardener_share": "2 %"}, {}),
        ({"hardener_share": "2.001 %"}, {"share": "outside"}),
        ({"hardener_share": "3 %"}, {"share": "outside"}),
        ({"hardener_share": "3.001 %"}, {"share": "outside", "maker_share": "outside"}),
        ({"max_share": "1.5 %"}, {}),
        ({"max_share": "1.499 %"}, {"maker_share": "outside"}),
        ({"min_share": "1.501 %"}, {"maker_share": "outside"}),
    ],
)
def test_each_limit_flips_at_its_bound(more: dict[str, str], expected: dict[str, str]) -> None:
    found = worked(**more)
    inside = expected.get("temperature") != "outside" and expected.get("share") != "outside"

    assert verdicts(found) == {**WITHIN, **expected}
    assert isinstance(found.outcome.values["gel_time"], NoAnswer) is not inside


def test_an_epoxy_knows_no_share_of_a_peroxides_maker() -> None:
    found = worked(
        system="epoxy", hardener_share="30 %", gel_table="[[20 degC, 30 %, 60 min], [30 degC, 30 %, 30 min]]"
    )

    assert verdicts(found) == {"temperature": "within", "share": "within"}


@pytest.mark.parametrize(
    ("rows", "message"),
    [
        (ROWS[:-1], "gel_table has no row for 86 degF and 2 %; give every temperature"),
        ((*ROWS, GelRow(60, 1, 50)), "gel_table has no row for 60 degF and 1.5 %; give every"),
        ((*ROWS, ROWS[0]), "gel_table has two rows for 59 degF and 1 %; give one"),
        ((*ROWS, GelRow(59, 1, 59)), "gel_table has two rows for 59 degF and 1 %; give one"),
        (
            (GelRow(59, 1, 30), GelRow(77, 1, 31)),
            r"gel_table gels later at 77 degF \(31 min\) than at 59 degF \(30 min\) with 1 %; check",
        ),
        (
            (GelRow(59, 1, 30), GelRow(59, 2, 31)),
            r"gel_table gels later with 2 % \(31 min\) than with 1 % \(30 min\) at 59 degF; check",
        ),
    ],
)
def test_a_table_that_cannot_be_is_refused(rows: tuple[GelRow, ...], message: str) -> None:
    with pytest.raises(Refusal, match=message):
        mixed(rows=rows)


def test_times_that_stay_the_same_are_taken() -> None:
    level = tuple(GelRow(t, s, 25) for t in (60, 80) for s in (1, 2))

    assert gel(70, 1.5, level) == pytest.approx(25)


@pytest.mark.parametrize(
    "more",
    [
        {"resin_mass": "0 lb"},
        {"hardener_share": "0 %"},
        {"hardener_share": "201 %"},
        {"hardener_gravity": "0"},
        {"hardener_gravity": "1150"},
        {"temperature": "-100 degF"},
        {"gel_table": "[[59 degF, 1 %, 0 min]]"},
        {"gel_table": "[[59 degF, 0 %, 60 min]]"},
        {"gel_table": "[[59 degF, 1 %, 60 min], [60 degF, 1 %, 61 min]]"},
        {"max_batch": "0 lb"},
        {"min_share": "3.5 %"},
        {"max_share": "0.5 %"},
        {"table_batch": "0 lb"},
    ],
)
def test_what_cannot_be_is_refused_by_name(more: dict[str, str]) -> None:
    with pytest.raises(BookError) as refused:
        worked(**more)

    (problem,) = refused.value.problems
    assert next(iter(more)) in problem.what
    assert problem.fix


def test_units_never_change_the_answer() -> None:
    metric = {
        "resin_mass": "9.0718474 kg",
        "temperature": "21.1111111111111111 degC",
        "gel_table": "[[15 degC, 1 %, 1 hr], [15 degC, 2 %, 1800 s],"
        " [30 degC, 1 %, 21 min], [30 degC, 2 %, 10 min]]",
        "max_batch": "128 oz",
        "table_batch": "99.7903214 g",
    }
    one, other = worked().outcome.values, worked(**metric).outcome.values

    for name, value in one.items():
        assert float(other[name].value) == pytest.approx(float(value.value), rel=1e-12), name
