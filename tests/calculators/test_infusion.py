"""Infusion against a front that scipy lets run and the atmosphere of another library, and the drop test."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

import fluids
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import constants
from scipy.integrate import solve_ivp

from kb import NoAnswer
from kb.calculators.declare import Calculator
from kb.calculators.work import Worked, work
from kb.problem import BookError
from kb_calculators.laminate.bag import VacuumDrop, vacuum_drop
from kb_calculators.laminate.infusion import InfusionFill, infusion_fill

PA_PER_INHG = 3386.389
FILL = {
    "permeability": "1e-9 m^2",
    "porosity": "50 %",
    "viscosity": "0.3 Pa*s",
    "flow_length": "40 in",
    "vacuum": "26 inHg",
    "gel_time": "60 min",
}
DROP = {"start": "28 inHg", "end": "27.7 inHg", "duration": "30 min", "allowed_rate": "0.03 inHg/min"}

permeabilities = st.floats(1e-11, 1e-8)
porosities = st.floats(20, 100)
viscosities = st.floats(0.05, 2)
lengths = st.floats(4, 200)
vacuums = st.floats(15, 29.9)
minutes = st.floats(5, 300)
rises = st.floats(0, 8)
times = st.floats(1.01, 5)


def filled(**more: float) -> InfusionFill:
    plain = {
        "permeability": 1e-9,
        "porosity": 50.0,
        "viscosity": 0.3,
        "flow_length": 40.0,
        "vacuum": 26.0,
        "gel_time": 60.0,
    }
    return infusion_fill(**{**plain, **more})


def size(value: float | NoAnswer) -> float:
    assert isinstance(value, float)
    return value


def worked(of: Any, texts: Mapping[str, str], **more: str) -> Worked:
    return work(Calculator.of(of), {**texts, **more})


def verdicts(found: Worked) -> dict[str, str]:
    return {judged.name: judged.verdict for judged in found.limits}


def arrival(length_m: float, speed_times_way: Any) -> float:
    """Return when (s) a front arrives whose speed times its way is given at each place, by scipy."""
    run = solve_ivp(
        lambda way, _: [way / speed_times_way(way)],
        (0, length_m),
        [0.0],
        rtol=1e-10,
        atol=1e-9,
        method="LSODA",
    )
    return float(run.y[0, -1])


@settings(deadline=None, max_examples=40)
@given(permeabilities, porosities, viscosities, lengths, vacuums, rises)
def test_the_front_arrives_when_scipy_lets_it(
    k: float, porosity: float, viscosity: float, length: float, vacuum: float, rise: float
) -> None:
    found = filled(
        permeability=k, porosity=porosity, viscosity=viscosity, flow_length=length, vacuum=vacuum, rise=rise
    )
    head = 70 * constants.lb / constants.foot**3 * constants.g * rise * constants.foot
    drive = vacuum * PA_PER_INHG - head

    seconds = arrival(length * constants.inch, lambda _: k * drive / (porosity / 100 * viscosity))

    assert found.head * constants.psi == pytest.approx(head, rel=1e-12, abs=1e-9)
    assert found.drive * constants.psi == pytest.approx(drive, rel=1e-12)
    assert size(found.fill_time) * 60 == pytest.approx(seconds, rel=1e-7)


@settings(deadline=None, max_examples=40)
@given(permeabilities, viscosities, lengths, vacuums, rises)
def test_a_front_that_climbs_as_it_goes_is_never_later_than_the_worst_case(
    k: float, viscosity: float, length: float, vacuum: float, rise: float
) -> None:
    found = filled(permeability=k, viscosity=viscosity, flow_length=length, vacuum=vacuum, rise=rise)
    way = length * constants.inch
    head = found.head * constants.psi

    seconds = arrival(way, lambda x: k * (vacuum * PA_PER_INHG - head * min(x / way, 1)) / (0.5 * viscosity))

    assert seconds <= size(found.fill_time) * 60 * (1 + 1e-7)
    if rise > 1:
        assert seconds < size(found.fill_time) * 60 * 0.999


@given(permeabilities, viscosities, vacuums, minutes, st.floats(0, 90), rises)
def test_the_farthest_flow_is_filled_in_the_gel_time_less_margin(
    k: float, viscosity: float, vacuum: float, gel: float, margin: float, rise: float
) -> None:
    same = {
        "permeability": k,
        "viscosity": viscosity,
        "vacuum": vacuum,
        "gel_time": gel,
        "margin": margin,
        "rise": rise,
    }
    farthest = size(filled(**same).max_flow_length)

    again = filled(**same, flow_length=farthest)

    assert again.fill_time == pytest.approx(gel * (1 - margin / 100), rel=1e-9)
    assert size(again.feed_spacing) == pytest.approx(2 * farthest)


@given(st.floats(-1000, 36000))
def test_the_air_is_that_of_another_library(altitude: float) -> None:
    geopotential = altitude * constants.foot
    geometric = geopotential * 6356766 / (6356766 - geopotential)
    expected = fluids.ATMOSPHERE_1976(geometric).P / constants.psi

    assert filled(altitude=altitude).air_pressure == pytest.approx(expected, rel=2e-6)


@given(times)
def test_time_goes_with_viscosity_and_the_square_of_length_and_against_permeability(by: float) -> None:
    one = size(filled().fill_time)

    assert filled(viscosity=0.3 * by).fill_time == pytest.approx(one * by)
    assert filled(flow_length=40 * by).fill_time == pytest.approx(one * by**2)
    assert filled(permeability=1e-9 * by).fill_time == pytest.approx(one / by)
    assert filled(porosity=50 / by).fill_time == pytest.approx(one / by)
    assert filled(gel_time=60 * by**2).max_flow_length == pytest.approx(size(filled().max_flow_length) * by)


@given(vacuums, st.floats(0, 3), rises, st.floats(0.1, 3), st.floats(0, 9000))
def test_more_vacuum_never_fills_later_and_more_climb_or_altitude_never_sooner(
    vacuum: float, more: float, rise: float, higher: float, altitude: float
) -> None:
    one = filled(vacuum=vacuum, rise=rise)
    room = 1 + 1e-12

    assert size(filled(vacuum=vacuum + more, rise=rise).fill_time) <= size(one.fill_time) * room
    assert size(filled(vacuum=vacuum, rise=rise + higher).fill_time) > size(one.fill_time)
    assert size(filled(vacuum=vacuum, rise=rise, altitude=altitude).fill_time) * room >= size(one.fill_time)


def test_no_vacuum_drives_more_than_the_air_outside() -> None:
    high = filled(vacuum=35, altitude=5000)

    assert high.drive == high.air_pressure
    assert high.fill_time == filled(vacuum=29, altitude=5000).fill_time


@pytest.mark.parametrize(
    ("vacuum", "altitude", "verdict"),
    [
        ("29.921 inHg", "0 ft", "within"),
        ("29.922 inHg", "0 ft", "outside"),
        ("101325 Pa", "0 ft", "within"),
        ("26.5399 inHg", "1000 m", "within"),
        ("26.5400 inHg", "1000 m", "outside"),
        ("28 inHg", "2000 m", "outside"),
    ],
)
def test_a_vacuum_above_the_air_is_outside(vacuum: str, altitude: str, verdict: str) -> None:
    found = worked(infusion_fill, FILL, vacuum=vacuum, altitude=altitude)

    assert verdicts(found)["vacuum"] == verdict


@pytest.mark.parametrize(("share", "verdict"), [(1 - 1e-9, "outside"), (1, "within"), (1 + 1e-9, "within")])
@pytest.mark.parametrize("margin", [0, 30, 55])
def test_the_gel_limit_flips_at_the_gel_time_less_margin(share: float, verdict: str, margin: int) -> None:
    gel = size(filled().fill_time) / (1 - margin / 100) * share
    found = worked(infusion_fill, FILL, gel_time=f"{gel!r} min", margin=f"{margin} %")

    assert verdicts(found)["gel"] == verdict


@pytest.mark.parametrize("rise", [10 * 144 / 70, 25, 1e6])
def test_a_climb_that_eats_the_drive_gives_no_time_and_says_why(rise: float) -> None:
    found = filled(vacuum=10 * constants.psi / PA_PER_INHG, rise=rise)

    assert found.drive < 1e-9
    assert found.fill_time == found.max_flow_length == found.feed_spacing
    assert isinstance(found.fill_time, NoAnswer)
    assert f"the climb of {rise:g} ft takes" in found.fill_time.why
    assert "the vacuum gives 10 psi" in found.fill_time.why


def test_a_climb_just_short_of_that_gives_a_long_time() -> None:
    barely = filled(vacuum=10 * constants.psi / PA_PER_INHG, rise=10 * 144 / 70 * 0.999)

    assert size(barely.fill_time) == pytest.approx(
        1000 * size(filled(vacuum=10 * constants.psi / PA_PER_INHG).fill_time)
    )


def test_no_answer_is_outside_the_gel_limit() -> None:
    assert verdicts(worked(infusion_fill, FILL, rise="40 ft"))["gel"] == "outside"


@pytest.mark.parametrize("by", [1e-6, 1e6])
@pytest.mark.parametrize("name", ["viscosity", "flow_length", "gel_time"])
def test_sizes_a_million_times_off_stay_finite(name: str, by: float) -> None:
    found = filled(**{name: {"viscosity": 0.3, "flow_length": 40, "gel_time": 60}[name] * by})

    assert all(
        math.isfinite(size(one)) and size(one) > 0
        for one in (found.fill_time, found.max_flow_length, found.feed_spacing)
    )


@pytest.mark.parametrize(
    ("more", "was"),
    [
        ({"permeability": "1e-4 m^2"}, "0.0001"),
        ({"permeability": "0 m^2"}, "0"),
        ({"porosity": "0 %"}, "0"),
        ({"porosity": "100.1 %"}, "100.1"),
        ({"viscosity": "0 Pa*s"}, "0"),
        ({"flow_length": "0 in"}, "0"),
        ({"vacuum": "0 inHg"}, "0"),
        ({"vacuum": "-5 inHg"}, "-5"),
        ({"gel_time": "0 min"}, "0"),
        ({"altitude": "40000 ft"}, "40000"),
        ({"margin": "-1 %"}, "-1"),
        ({"margin": "100 %"}, "100"),
        ({"rise": "-1 ft"}, "-1"),
        ({"resin_density": "0 lb/ft^3"}, "0"),
    ],
)
def test_what_cannot_be_is_refused_by_name(more: dict[str, str], was: str) -> None:
    with pytest.raises(BookError) as refused:
        worked(infusion_fill, FILL, **more)

    (problem,) = refused.value.problems
    assert problem.what.startswith(f"{next(iter(more))} = {was} ")
    assert problem.fix.startswith("it must be ")


def test_units_never_change_the_answer() -> None:
    metric = {
        "permeability": "0.001 mm^2",
        "porosity": "50 %",
        "viscosity": "300 cP",
        "flow_length": "1016 mm",
        "vacuum": "88.046114 kPa",
        "gel_time": "1 hr",
        "rise": "0.6096 m",
    }
    one = worked(infusion_fill, FILL, rise="2 ft").outcome.values
    other = worked(infusion_fill, metric).outcome.values

    for name, value in one.items():
        assert float(other[name].value) == pytest.approx(float(value.value), rel=1e-12), name


@given(st.floats(1, 32), st.floats(0, 1), minutes)
def test_what_is_lost_comes_back_with_the_rate_and_the_time(
    start: float, left: float, duration: float
) -> None:
    found = vacuum_drop(start, start * left, duration, 0.03)

    assert start * left + size(found.rate) * duration == pytest.approx(start, rel=1e-12)
    assert found.drop == start - start * left


@given(st.floats(20, 30), st.floats(0.01, 5), minutes, times)
def test_the_same_drop_in_more_time_is_a_lesser_rate(
    start: float, drop: float, duration: float, by: float
) -> None:
    quick = vacuum_drop(start, start - drop, duration, 0.03)
    slow = vacuum_drop(start, start - drop, duration * by, 0.03)

    assert size(slow.rate) == pytest.approx(size(quick.rate) / by)


def test_a_gauge_that_ends_deeper_gives_no_rate_and_no_verdict() -> None:
    found = worked(vacuum_drop, DROP, end="28.1 inHg")

    assert verdicts(found) == {"start": "within", "rate": "cannot tell"}
    assert vacuum_drop(28, 28.1, 30, 0.03).rate == NoAnswer(
        "the gauge ends 0.1 inHg deeper than it began; close the line to the pump and read again"
    )


def test_a_gauge_that_stays_has_lost_nothing() -> None:
    assert vacuum_drop(28, 28, 30, 0) == VacuumDrop(0, 0)
    assert (
        verdicts(worked(vacuum_drop, DROP, end="94818.892 Pa", allowed_rate="0 inHg/min"))["rate"] == "within"
    )


@pytest.mark.parametrize(
    ("more", "expected"),
    [
        ({}, {"start": "within", "rate": "within"}),
        ({"start": "27 inHg", "end": "27 inHg"}, {"start": "within", "rate": "within"}),
        ({"start": "26.999 inHg", "end": "26.9 inHg"}, {"start": "outside", "rate": "within"}),
        (
            {"start": "24 inHg", "end": "24 inHg", "min_start": "24 inHg"},
            {"start": "within", "rate": "within"},
        ),
        ({"end": "27.1 inHg"}, {"start": "within", "rate": "within"}),
        ({"end": "27.099 inHg"}, {"start": "within", "rate": "outside"}),
        ({"end": "27.099 inHg", "duration": "31 min"}, {"start": "within", "rate": "within"}),
    ],
)
def test_start_and_rate_are_judged_at_their_bounds(more: dict[str, str], expected: dict[str, str]) -> None:
    assert verdicts(worked(vacuum_drop, DROP, **more)) == expected


@pytest.mark.parametrize(
    ("more", "was"),
    [
        ({"start": "0 inHg"}, "0"),
        ({"start": "33 inHg"}, "33"),
        ({"end": "-1 inHg"}, "-1"),
        ({"end": "33 inHg"}, "33"),
        ({"duration": "0 min"}, "0"),
        ({"allowed_rate": "-0.1 inHg/min"}, "-0.1"),
        ({"min_start": "-1 inHg"}, "-1"),
    ],
)
def test_a_drop_that_cannot_be_is_refused_by_name(more: dict[str, str], was: str) -> None:
    with pytest.raises(BookError) as refused:
        worked(vacuum_drop, DROP, **more)

    (problem,) = refused.value.problems
    assert problem.what.startswith(f"{next(iter(more))} = {was} ")
    assert problem.fix.startswith("it must be ")
