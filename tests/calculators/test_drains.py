"""Falls and bends against figures drawn by another library, and what must hold for any of them."""

from __future__ import annotations

from math import cos, pi, sin

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.affinity import rotate
from shapely.geometry import LineString

from kb import Refusal
from kb.calculators.declare import Calculator
from kb.calculators.work import Worked, work
from kb.problem import BookError
from kb_calculators.bilge.drains import drain_fall, hose_bend

RUN = {"run": "60 in", "drop": "4 in", "worst_trim": "3 deg"}
BEND = {"bend_radius": "4 in", "outside_diameter": "1 1/2 in", "tail_length": "1 3/4 in", "room": "8 in"}

runs = st.floats(5, 300)
slopes = st.floats(-0.5, 2)
trims = st.floats(0, 30)
falls = st.floats(0, 6)
sizes = st.floats(0.25, 20)


def fall(**more: str) -> Worked:
    return work(Calculator.of(drain_fall), {**RUN, **more})


def bend(**more: str) -> Worked:
    return work(Calculator.of(hose_bend), {**BEND, **more})


@given(runs, slopes, trims)
def test_the_net_fall_is_that_of_the_run_turned_by_the_trim(run: float, slope: float, trim: float) -> None:
    turned = rotate(LineString([(0, slope * run), (run, 0)]), trim, origin=(0, 0))
    (high_x, high_z), (drain_x, drain_z) = turned.coords

    found = drain_fall(run, slope * run, trim)

    assert found.built_fall == pytest.approx(12 * slope)
    assert found.net_fall == pytest.approx(12 * (high_z - drain_z) / (drain_x - high_x), rel=1e-9, abs=1e-9)


@given(runs, trims, falls)
def test_the_needed_drop_leaves_the_least_fall(run: float, trim: float, least: float) -> None:
    needed = drain_fall(run, 0, trim, least).needed_drop

    assert drain_fall(run, needed, trim, least).net_fall == pytest.approx(least, rel=1e-9, abs=1e-9)


@given(runs, slopes, st.floats(0, 25), st.floats(0.01, 5))
def test_more_trim_leaves_less_fall_and_needs_more_drop(
    run: float, slope: float, trim: float, more: float
) -> None:
    one, other = (drain_fall(run, slope * run, each) for each in (trim, trim + more))

    assert other.net_fall < one.net_fall
    assert other.needed_drop > one.needed_drop


@given(runs, st.floats(0, 2))
def test_without_trim_the_fall_stays_as_built(run: float, slope: float) -> None:
    found = drain_fall(run, slope * run, 0)

    assert found.net_fall == found.built_fall
    assert found.needed_drop == pytest.approx(run / 96)


@pytest.mark.parametrize(
    ("more", "verdict"),
    [
        ({}, "within"),
        ({"drop": "3.77153 in"}, "within"),
        ({"drop": "3.77152 in"}, "outside"),
        ({"worst_trim": "0 deg", "drop": "5/8 in"}, "within"),
        ({"worst_trim": "0 deg", "drop": "0.62499 in"}, "outside"),
        ({"min_fall": "0.1705 in/ft"}, "within"),
        ({"min_fall": "0.1706 in/ft"}, "outside"),
        ({"drop": "-1 in"}, "outside"),
    ],
)
def test_the_fall_flips_at_the_least_fall(more: dict[str, str], verdict: str) -> None:
    assert [(judged.name, judged.verdict) for judged in fall(**more).limits] == [("fall", verdict)]


def test_a_run_built_backward_is_remarked_and_one_beyond_45_deg_refused() -> None:
    assert [remark.name for remark in fall(drop="-1/2 in").outcome.remarks] == ["drop"]
    with pytest.raises(Refusal, match="drop runs back steeper than the run is long; give at least -60 in"):
        drain_fall(60, -60.1, 3)


@settings(max_examples=40)
@given(sizes, sizes, sizes)
def test_the_room_is_that_of_the_bend_drawn(radius: float, outside: float, tail: float) -> None:
    middle = radius + outside / 2
    turn = [
        (tail + middle * sin(angle), middle * (1 - cos(angle)))
        for angle in (pi / 2 * step / 400 for step in range(401))
    ]
    drawn = LineString([(0, 0), *turn, (tail + middle, middle + outside)]).buffer(
        outside / 2, cap_style="flat"
    )

    assert hose_bend(radius, outside, tail, 0).needed_room == pytest.approx(drawn.bounds[2], rel=1e-9)


@given(sizes, sizes, sizes)
def test_an_elbow_is_needed_just_where_the_room_ends(radius: float, outside: float, tail: float) -> None:
    needed = hose_bend(radius, outside, tail, 0).needed_room

    assert hose_bend(radius, outside, tail, needed).fitting == "straight"
    assert hose_bend(radius, outside, tail, needed * (1 - 1e-9)).fitting == "elbow"


@pytest.mark.parametrize(
    ("more", "fitting"),
    [
        ({"room": "7 1/4 in"}, "straight"),
        ({"room": "7 3/16 in"}, "elbow"),
        ({"room": "184.15 mm", "tail_length": "44.45 mm", "bend_radius": "101.6 mm"}, "straight"),
        ({"room": "184.1 mm"}, "elbow"),
        ({"tail_length": "2 9/16 in"}, "elbow"),
    ],
)
def test_the_fitting_goes_by_the_room(more: dict[str, str], fitting: str) -> None:
    assert bend(**more).outcome.values["fitting"] == fitting


@pytest.mark.parametrize(
    ("worker", "more"),
    [
        (fall, {"run": "0 in"}),
        (fall, {"drop": "-61 in"}),
        (fall, {"worst_trim": "-1 deg"}),
        (fall, {"worst_trim": "31 deg"}),
        (fall, {"min_fall": "-0.1 in/ft"}),
        (fall, {"min_fall": "13 in/ft"}),
        (bend, {"bend_radius": "-1 in"}),
        (bend, {"outside_diameter": "0 in"}),
        (bend, {"tail_length": "-1 in"}),
        (bend, {"room": "-1 in"}),
    ],
)
def test_what_cannot_be_is_refused_by_name(worker: object, more: dict[str, str]) -> None:
    assert callable(worker)
    with pytest.raises(BookError) as refused:
        worker(**more)

    (problem,) = refused.value.problems
    assert next(iter(more)) in problem.what
    assert problem.fix
