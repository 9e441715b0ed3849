"""Fuses: the size by numpy, the law's figures, and where the limits flip."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb import NoAnswer
from kb.calculators.declare import Calculator
from kb.calculators.work import work
from kb.problem import BookError
from kb_calculators.electrical.fuse import FuseRow, FuseSize, fuse_size

COMMON = (1, 2, 3, 5, 7.5, 10, 15, 20, 25, 30, 40, 50, 60, 80, 100)
SIZES = tuple(FuseRow(amps) for amps in COMMON)
TEXTS = {
    "load": "8 A",
    "ampacity": "30 A",
    "appliance_max": "20 A",
    "sizes": "[[7.5 A], [10 A], [15 A], [20 A], [30 A]]",
    "lead": "6 in",
}

amps = st.floats(0.1, 150)


def fused(load: float, ampacity: float = 30, appliance_max: float = 20, **more: Any) -> FuseSize:
    return fuse_size(load, ampacity, appliance_max, SIZES, lead=5, **more)


def verdicts(**more: str) -> dict[str, str]:
    found = work(Calculator.of(fuse_size), {**TEXTS, **more})
    return {limit.name: limit.verdict for limit in found.limits}


@given(amps, amps, amps, st.floats(100, 200), st.floats(50, 150))
def test_the_fuse_is_the_first_listed_size_in_the_window_by_numpy(
    load: float, ampacity: float, appliance: float, factor: float, share: float
) -> None:
    least, greatest = load * factor / 100, min(ampacity * share / 100, appliance)
    at = int(np.searchsorted(COMMON, least * (1 - 1e-12)))
    fits = at < len(COMMON) and COMMON[at] <= greatest * (1 + 1e-12)

    found = fused(load, ampacity, appliance, load_factor=factor, ampacity_share=share)

    assert (found.least, found.greatest) == pytest.approx((least, greatest))
    if fits:
        assert found.fuse == COMMON[at]
    else:
        assert isinstance(found.fuse, NoAnswer)


@given(amps, amps, amps)
def test_a_fuse_never_lets_more_pass_than_wire_and_appliance_stand(
    load: float, ampacity: float, appliance: float
) -> None:
    found = fused(load, ampacity, appliance)

    if not isinstance(found.fuse, NoAnswer):
        assert load < found.fuse <= min(ampacity, appliance) * (1 + 1e-11)


@given(amps, amps, amps, st.randoms())
def test_the_order_of_the_sizes_does_not_matter(
    load: float, ampacity: float, appliance: float, random: Any
) -> None:
    shuffled = list(SIZES)
    random.shuffle(shuffled)

    assert fuse_size(load, ampacity, appliance, tuple(shuffled), lead=5) == fused(load, ampacity, appliance)


@pytest.mark.parametrize(
    ("given_amps", "why"),
    [
        ((8, 9, 20), "the load needs 10 A and the wire allows 9 A; lay a thicker wire"),
        ((8, 30, 9), "the load needs 10 A and the appliance's maker allows 9 A; split the circuit"),
        ((8.5, 30, 14), "no listed size lies from 10.625 A to 14 A"),
        ((90, 200, 200), "no listed size lies from 112.5 A to 200 A"),
    ],
)
def test_none_says_what_stands_in_the_way(given_amps: tuple[float, float, float], why: str) -> None:
    found = fused(*given_amps).fuse

    assert isinstance(found, NoAnswer)
    assert found.why == why


@pytest.mark.parametrize(
    ("load", "fuse"), [("8 A", 10), ("7.999 A", 10), ("8.001 A", 15), ("16 A", 20), ("0.8 A * 10", 10)]
)
def test_a_size_of_exactly_what_the_load_needs_is_taken(load: str, fuse: float) -> None:
    found = work(Calculator.of(fuse_size), {**TEXTS, "load": load})

    assert float(found.outcome.values["fuse"].value) == fuse
    assert found.limits[0].verdict == "within"


@pytest.mark.parametrize(("appliance_max", "verdict"), [("10 A", "within"), ("9.99 A", "outside")])
def test_the_size_limit_flips_where_the_last_fitting_size_falls_out(appliance_max: str, verdict: str) -> None:
    assert verdicts(appliance_max=appliance_max)["size"] == verdict


@pytest.mark.parametrize(
    ("lead", "sheathed", "verdict"),
    [
        ("7 in", "no", "within"),
        ("7.001 in", "no", "outside"),
        ("7.001 in", "yes", "within"),
        ("40 in", "yes", "within"),
        ("40.001 in", "yes", "outside"),
    ],
)
def test_the_lead_limit_flips_at_the_lengths_of_the_law(lead: str, sheathed: str, verdict: str) -> None:
    assert verdicts(lead=lead, sheathed=sheathed)["lead"] == verdict


def test_a_yard_can_set_its_own_longest_leads_and_is_told_beyond_the_law() -> None:
    own = {**TEXTS, "lead": "60 in", "max_lead": "72 in", "ampacity_share": "150 %"}
    found = work(Calculator.of(fuse_size), own)

    assert {limit.verdict for limit in found.limits} == {"within"}
    assert [remark.name for remark in found.outcome.remarks] == ["ampacity_share", "max_lead"]


@pytest.mark.parametrize("size", [1e-6, 1e6])
def test_very_small_and_very_large_currents_have_their_window(size: float) -> None:
    found = fuse_size(size, 2 * size, 2 * size, (FuseRow(1.5 * size),), lead=0)

    assert found.fuse == 1.5 * size


@pytest.mark.parametrize(
    ("texts", "said"),
    [
        ({"load": "0 A"}, "load = 0 A"),
        ({"load_factor": "99 %"}, "load_factor = 99 %"),
        ({"ampacity": "0 A"}, "ampacity = 0 A"),
        ({"ampacity_share": "151 %"}, "ampacity_share = 151 %"),
        ({"ampacity_share": "0 %"}, "ampacity_share = 0 %"),
        ({"appliance_max": "0 A"}, "appliance_max = 0 A"),
        ({"lead": "-1 in"}, "lead = -1 in"),
        ({"max_lead": "-1 in"}, "max_lead = -1 in"),
        ({"max_lead_sheathed": "-1 in"}, "max_lead_sheathed = -1 in"),
        ({"sizes": "[[0 A]]"}, "sizes: amps = 0 A cannot be"),
    ],
)
def test_what_cannot_be_is_refused_by_name(texts: dict[str, str], said: str) -> None:
    with pytest.raises(BookError) as refused:
        work(Calculator.of(fuse_size), {**TEXTS, **texts})

    (problem,) = refused.value.problems
    assert said in problem.what
    assert problem.fix
