"""Live wells and the rule for openings against another library, and what must hold for any well."""

from __future__ import annotations

import fluids
import pytest
from fluids.flow_meter import flow_meter_discharge
from hypothesis import given
from hypothesis import strategies as st
from scipy import constants

from kb.calculators.declare import Calculator
from kb.calculators.work import Worked, work
from kb.problem import BookError
from kb_calculators.orifice import bore_area, orifice_flow
from kb_calculators.water.livewell import LivewellTurnover, livewell_turnover

WELL = {"volume": "35 gal", "flow": "280 gph", "overflow_bore": "1 1/2 in", "overflow_head": "2 in"}
RHO = 1000.0

coefficients = st.floats(0.5, 1)
bores = st.floats(0.25, 4)
heads = st.floats(0.1, 60)


def worked(**more: str) -> Worked:
    return work(Calculator.of(livewell_turnover), {**WELL, **more})


def well(volume: float = 35, flow: float = 280, bore: float = 1.5, head: float = 2) -> LivewellTurnover:
    return livewell_turnover(volume, flow, bore, head)


@given(coefficients, bores, heads)
def test_the_flow_through_an_opening_is_that_of_another_library(
    coefficient: float, bore: float, head: float
) -> None:
    size = bore * constants.inch
    # Out of a tank so wide that the water in it stands still.
    kg_per_s = flow_meter_discharge(
        D=1e4 * size, Do=size, P1=1e7 + RHO * fluids.constants.g * head * constants.inch, P2=1e7, rho=RHO,
        C=coefficient,
    )  # fmt: skip

    found = orifice_flow(coefficient, bore_area(bore), head)

    assert found == pytest.approx(kg_per_s / RHO / (constants.gallon / constants.minute), rel=1e-6)


def test_no_head_drives_no_flow() -> None:
    assert orifice_flow(0.61, 2, 0) == orifice_flow(0.61, 2, -3) == 0


@given(coefficients, bores, heads, st.floats(1.1, 4))
def test_the_flow_goes_with_the_area_and_the_root_of_the_head(
    coefficient: float, bore: float, head: float, times: float
) -> None:
    one = orifice_flow(coefficient, bore_area(bore), head)

    assert orifice_flow(coefficient, bore_area(bore * times), head) == pytest.approx(times**2 * one)
    assert orifice_flow(coefficient, bore_area(bore), head * times**2) == pytest.approx(times * one)


@given(bores, heads, st.floats(1, 100))
def test_a_screen_takes_its_share_of_the_overflow(bore: float, head: float, share: float) -> None:
    one = livewell_turnover(35, 280, bore, head)
    other = livewell_turnover(35, 280, bore, head, open_share=share)

    assert other.overflow_flow == pytest.approx(share / 100 * one.overflow_flow)
    assert other.turnover == one.turnover


@given(st.floats(1, 100), st.floats(0, 2000), st.floats(1.1, 9))
def test_the_changes_go_with_the_flow_and_against_the_volume(
    volume: float, flow: float, times: float
) -> None:
    one = well(volume, flow).turnover

    assert well(volume, flow * times).turnover == pytest.approx(times * one)
    assert well(volume * times, flow).turnover == pytest.approx(one / times)


@pytest.mark.parametrize(
    ("more", "turnover", "overflow"),
    [
        ({}, "within", "within"),
        ({"min_turnover": "8 1/hr"}, "within", "within"),
        ({"min_turnover": "8.0001 1/hr"}, "outside", "within"),
        ({"flow": "209.9 gph"}, "outside", "within"),
        ({"flow": "660.18 gph"}, "within", "within"),
        ({"flow": "660.19 gph"}, "within", "outside"),
        ({"open_share": "42.412 %"}, "within", "outside"),
        ({"open_share": "42.413 %"}, "within", "within"),
    ],
)
def test_the_limits_flip_where_they_should(more: dict[str, str], turnover: str, overflow: str) -> None:
    verdicts = {judged.name: judged.verdict for judged in worked(**more).limits}

    assert verdicts == {"turnover": turnover, "overflow": overflow}


@pytest.mark.parametrize(("head", "named"), [("3/4 in", []), ("0.74 in", ["head_in_bores"])])
def test_an_opening_that_is_not_covered_is_remarked(head: str, named: list[str]) -> None:
    assert [remark.name for remark in worked(overflow_head=head).outcome.remarks] == named


@pytest.mark.parametrize(
    "more",
    [
        {"volume": "0 gal"},
        {"flow": "-1 gph"},
        {"overflow_bore": "0 in"},
        {"overflow_head": "-1 in"},
        {"min_turnover": "-1 1/hr"},
        {"coefficient": "0"},
        {"coefficient": "1.1"},
        {"open_share": "0 %"},
        {"open_share": "101 %"},
    ],
)
def test_what_cannot_be_is_refused_by_name(more: dict[str, str]) -> None:
    with pytest.raises(BookError) as refused:
        worked(**more)

    (problem,) = refused.value.problems
    assert next(iter(more)) in problem.what
    assert problem.fix
