"""Leak tests against amounts of gas and columns of liquid, and what must hold for any reading at all."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import constants

from kb import NoAnswer
from kb.calculators.declare import Calculator
from kb.calculators.work import Worked, work
from kb.problem import BookError
from kb_calculators.tanks.leak_tests import PressureDecay, SystemTest, pressure_decay, system_test

PA_PER_INHG = 3386.389
M3_PER_GAL = constants.gallon

SYSTEM = {"head": "42 in", "density": "6.2 lb/gal", "capacity": "60 gal"}
DECAY = {
    "gauge_start": "3 psi",
    "gauge_end": "2.95 psi",
    "temperature_start": "70 degF",
    "temperature_end": "70 degF",
    "barometer_start": "30 inHg",
    "barometer_end": "30 inHg",
    "volume": "60 gal",
    "duration": "10 min",
    "allowed_drop": "0.05 psi",
}

gauges = st.floats(0.25, 15)
degrees = st.floats(-20, 130)
glasses = st.floats(24, 31.5)
gallons = st.floats(1, 500)
minutes = st.floats(1, 600)
allowed = st.floats(0, 1)


def worked(of: Any, texts: Mapping[str, str], **more: str) -> Worked:
    return work(Calculator.of(of), {**texts, **more})


def verdicts(found: Worked) -> dict[str, str]:
    return {judged.name: judged.verdict for judged in found.limits}


def decay(**more: float) -> PressureDecay:
    plain: dict[str, float] = {
        "gauge_start": 3,
        "gauge_end": 3,
        "temperature_start": 70,
        "temperature_end": 70,
        "barometer_start": 30,
        "barometer_end": 30,
        "volume": 60,
        "duration": 10,
        "allowed_drop": 0.05,
        "allowed_rise": 0.05,
    }
    return pressure_decay(**{**plain, **more})


def kelvin(degrees_f: float) -> float:
    return float(constants.convert_temperature(degrees_f, "Fahrenheit", "Kelvin"))


@given(st.floats(0, 200), st.floats(5, 9), gallons, st.floats(0, 6), st.floats(1, 3))
def test_the_test_pressure_is_that_of_a_column_of_the_fuel(
    head: float, density: float, capacity: float, minimum: float, factor: float
) -> None:
    kg_per_m3 = density * constants.lb / M3_PER_GAL
    column = kg_per_m3 * constants.g * head * constants.inch / constants.psi
    found = system_test(head, density, capacity, minimum, factor)

    assert found.head_pressure == pytest.approx(column, rel=1e-12)
    assert found.test_pressure == pytest.approx(max(minimum, factor * column), rel=1e-12)
    assert found.governed_by in ("head", "minimum")
    if found.governed_by == "head":
        assert found.test_pressure > minimum


@given(st.integers(1, 5000))
def test_the_holding_time_counts_every_part_of_ten_gallons_above_fifty(tenths: int) -> None:
    over = max(tenths - 500, 0)

    assert system_test(10, 6, tenths / 10).hold_time == 5 + (over + 99) // 100


@pytest.mark.parametrize(
    ("capacity", "minutes_held"),
    [
        ("49 gal", 5),
        ("50 gal", 5),
        ("50.01 gal", 6),
        ("60 gal", 6),
        ("227.12470704 L", 6),
        ("227.2 L", 7),
        ("13860 in^3", 6),
        ("120 gal", 12),
        ("0.5 gal", 5),
    ],
)
def test_the_holding_time_steps_at_whole_tens_in_any_unit(capacity: str, minutes_held: int) -> None:
    found = worked(system_test, SYSTEM, capacity=capacity).outcome.values["hold_time"]

    assert float(found.value) == minutes_held


@given(st.floats(1, 100), st.floats(1.1, 4))
def test_twice_the_head_is_twice_the_pressure_once_it_governs(head: float, times: float) -> None:
    one = system_test(head, 6, 60, minimum=0)
    other = system_test(times * head, 6, 60, minimum=0)

    assert other.test_pressure == pytest.approx(times * one.test_pressure)
    assert other.allowed_range == pytest.approx(3 * times * one.test_pressure)


@pytest.mark.parametrize(
    ("given_texts", "expected"),
    [
        ({}, {"label": "cannot tell"}),
        ({"label_pressure": "3 psi"}, {"label": "within"}),
        ({"label_pressure": "2.999 psi"}, {"label": "outside"}),
        ({"label_pressure": "20.684271879 kPa"}, {"label": "outside"}),
        ({"label_pressure": "20.684271880 kPa"}, {"label": "within"}),
        ({"label_pressure": "3 psi", "head": "80 in"}, {"label": "outside"}),
        ({"label_pressure": "3 psi", "gauge_range": "9 psi"}, {"label": "within", "gauge": "within"}),
        ({"label_pressure": "3 psi", "gauge_range": "9.001 psi"}, {"label": "within", "gauge": "outside"}),
        ({"label_pressure": "3 psi", "gauge_range": "3 psi"}, {"label": "within", "gauge": "within"}),
        ({"label_pressure": "3 psi", "gauge_range": "2.9 psi"}, {"label": "within", "gauge": "outside"}),
        ({"gauge_range": "10 psi", "range_factor": "4"}, {"label": "cannot tell", "gauge": "within"}),
    ],
)
def test_label_and_gauge_are_judged_at_their_bounds(
    given_texts: dict[str, str], expected: dict[str, str]
) -> None:
    assert verdicts(worked(system_test, SYSTEM, **given_texts)) == expected


def test_a_force_on_the_lid_is_worked_out_only_where_its_area_is_known() -> None:
    assert isinstance(system_test(10, 6, 60).lid_force, NoAnswer)
    assert system_test(10, 6, 60, lid_area=600).lid_force == pytest.approx(1800)


def test_at_the_very_height_where_both_are_equal_the_minimum_governs() -> None:
    head = 3 / 1.5 * 231 / 6.2

    assert system_test(head, 6.2, 60).governed_by == "minimum"
    assert system_test(head * 1.000001, 6.2, 60).governed_by == "head"


@given(gauges, gauges, degrees, degrees, glasses, glasses, gallons, minutes)
def test_the_leak_is_the_gas_that_is_missing(
    p1: float, p2: float, t1: float, t2: float, b1: float, b2: float, volume: float, duration: float
) -> None:
    def moles(gauge: float, degrees_f: float, glass: float) -> float:
        pressure = gauge * constants.psi + glass * PA_PER_INHG
        return pressure * volume * M3_PER_GAL / (constants.R * kelvin(degrees_f))

    lost = moles(p1, t1, b1) - moles(p2, t2, b2)
    cm3 = lost * constants.R * kelvin(t2) / constants.atm * 1e6
    found = pressure_decay(p1, p2, t1, t2, b1, b2, volume, duration, 0.05, 0.05)

    drop = lost * constants.R * kelvin(t2) / (volume * M3_PER_GAL) / constants.psi
    assert found.leak_rate == pytest.approx(cm3 / duration, rel=1e-8, abs=1e-7)
    assert found.corrected_drop == pytest.approx(drop, rel=1e-9, abs=1e-10)
    assert found.expected_end - p2 == found.corrected_drop


@given(gauges, gauges, degrees, glasses)
def test_in_steady_weather_the_drop_is_the_gauges_own(p1: float, p2: float, t: float, b: float) -> None:
    found = decay(
        gauge_start=p1,
        gauge_end=p2,
        temperature_start=t,
        temperature_end=t,
        barometer_start=b,
        barometer_end=b,
    )

    assert found.expected_end == p1
    assert found.corrected_drop == p1 - p2


@given(gauges, degrees, degrees, glasses, glasses)
def test_a_tight_system_that_warms_and_cools_again_reads_what_it_read(
    p1: float, t1: float, t2: float, b1: float, b2: float
) -> None:
    there = decay(
        gauge_start=p1, temperature_start=t1, temperature_end=t2, barometer_start=b1, barometer_end=b2
    ).expected_end
    back = decay(
        gauge_start=there, temperature_start=t2, temperature_end=t1, barometer_start=b2, barometer_end=b1
    ).expected_end

    assert back == pytest.approx(p1, rel=1e-12, abs=1e-11)


@given(gallons, minutes, st.floats(0.1, 10))
def test_the_leak_goes_with_the_volume_and_against_the_time(
    volume: float, duration: float, times: float
) -> None:
    one = decay(gauge_end=2.9, volume=volume, duration=duration).leak_rate

    assert decay(gauge_end=2.9, volume=times * volume, duration=duration).leak_rate == pytest.approx(
        times * one
    )
    assert decay(gauge_end=2.9, volume=volume, duration=times * duration).leak_rate == pytest.approx(
        one / times
    )


@given(degrees, st.floats(-5, 5))
def test_each_degree_moves_the_gauge_by_what_is_said(t: float, change: float) -> None:
    found = decay(temperature_start=t, temperature_end=t + change)

    assert found.expected_end - 3 == pytest.approx(found.per_degree * change, abs=1e-10)


@pytest.mark.parametrize(
    ("gauge_end", "verdict"),
    [
        ("2.949 psi", "outside"),
        ("2.95 psi", "within"),
        ("3 psi", "within"),
        ("3.05 psi", "within"),
        ("3.051 psi", "cannot tell"),
        ("6 psi", "cannot tell"),
    ],
)
def test_a_drop_is_judged_and_a_rise_beyond_the_readings_cannot_be(gauge_end: str, verdict: str) -> None:
    assert verdicts(worked(pressure_decay, DECAY, gauge_end=gauge_end)) == {"drop": verdict}


@pytest.mark.parametrize(
    ("gauge_end", "verdict"), [("3 psi", "within"), ("3.0001 psi", "cannot tell"), ("2.9999 psi", "outside")]
)
def test_where_any_drop_is_a_leak_any_rise_cannot_be_told(gauge_end: str, verdict: str) -> None:
    found = worked(pressure_decay, DECAY, gauge_end=gauge_end, allowed_drop="0 psi")

    assert verdicts(found) == {"drop": verdict}


@settings(deadline=None)
@given(st.integers(1, 400), st.integers(0, 100), st.integers(0, 100), st.integers(-150, 150))
def test_the_verdict_flips_exactly_at_both_bounds(
    start: int, drop_allowed: int, rise_allowed: int, drop: int
) -> None:
    found = worked(
        pressure_decay,
        DECAY,
        gauge_start=f"{start / 100} psi",
        gauge_end=f"{start} psi / 100 - {drop} psi / 100",
        allowed_drop=f"{drop_allowed / 100} psi",
        allowed_rise=f"{rise_allowed / 100} psi",
    )
    told = "within" if drop <= drop_allowed else "outside"

    assert verdicts(found) == {"drop": told if -drop <= rise_allowed else "cannot tell"}


def test_a_rise_that_cannot_be_told_says_by_how_much_and_why() -> None:
    readable = decay(gauge_end=3.3).readable

    assert isinstance(readable, NoAnswer)
    assert "0.3 psi" in readable.why
    assert "0.05 psi" in readable.why


def test_a_leak_that_warm_air_hides_is_found() -> None:
    hidden = worked(
        pressure_decay, DECAY, gauge_end="3.1 psi", temperature_start="68 degF", temperature_end="75 degF"
    )

    assert verdicts(hidden) == {"drop": "outside"}


@settings(deadline=None, max_examples=25)
@given(st.integers(1, 100), st.integers(0, 40), st.integers(0, 40), st.integers(900, 1050))
def test_units_never_change_a_corrected_drop(gauge: int, warm: int, cool: int, glass: int) -> None:
    metric = {
        **DECAY,
        "gauge_start": f"{gauge} kPa",
        "gauge_end": f"{gauge} kPa",
        "temperature_start": f"{warm} degC",
        "temperature_end": f"{cool} degC",
        "barometer_start": f"{glass} hPa",
        "volume": "200 L",
    }
    shop = {
        **metric,
        "gauge_start": f"{gauge * 1000} psi / {constants.psi!r}",
        "gauge_end": f"{gauge} bar / 100",
        "temperature_start": f"{warm * 9 / 5 + 32} degF",
        "temperature_end": f"{cool * 9 / 5 + 32} degF",
        "barometer_start": f"{glass * 100} inHg / 3386.389",
        "volume": "200000 cm^3",
    }
    one, other = (worked(pressure_decay, texts).outcome.values for texts in (metric, shop))

    for name in ("expected_end", "corrected_drop", "leak_rate"):
        assert float(one[name].value) == pytest.approx(float(other[name].value), rel=1e-9, abs=1e-9), name


@settings(deadline=None, max_examples=25)
@given(st.integers(1, 300), st.integers(1, 2000))
def test_units_never_change_a_test_pressure(head_cm: int, litres: int) -> None:
    metric = {"head": f"{head_cm} cm", "density": "740 kg/m^3", "capacity": f"{litres} L"}
    shop = {
        "head": f"{head_cm} in / 2.54",
        "density": f"740 lb/gal * {M3_PER_GAL!r} / {constants.lb!r}",
        "capacity": f"{litres} gal / {1000 * M3_PER_GAL!r}",
    }
    one, other = (worked(system_test, texts).outcome.values for texts in (metric, shop))

    for name in ("head_pressure", "test_pressure", "hold_time"):
        assert float(one[name].value) == pytest.approx(float(other[name].value), rel=1e-9), name


@pytest.mark.parametrize(
    ("of", "texts", "more"),
    [
        (system_test, SYSTEM, {"head": "-1 in"}),
        (system_test, SYSTEM, {"density": "0 lb/gal"}),
        (system_test, SYSTEM, {"capacity": "0 gal"}),
        (system_test, SYSTEM, {"minimum": "-1 psi"}),
        (system_test, SYSTEM, {"head_factor": "0"}),
        (system_test, SYSTEM, {"label_pressure": "0 psi"}),
        (system_test, SYSTEM, {"gauge_range": "0 psi"}),
        (system_test, SYSTEM, {"lid_area": "0 in^2"}),
        (system_test, SYSTEM, {"range_factor": "0.5"}),
        (pressure_decay, DECAY, {"gauge_start": "0 psi"}),
        (pressure_decay, DECAY, {"gauge_end": "-14.8 psi"}),
        (pressure_decay, DECAY, {"temperature_start": "201 degF"}),
        (pressure_decay, DECAY, {"temperature_end": "300 degF"}),
        (pressure_decay, DECAY, {"barometer_start": "0 inHg"}),
        (pressure_decay, DECAY, {"barometer_end": "-1 inHg"}),
        (pressure_decay, DECAY, {"volume": "0 gal"}),
        (pressure_decay, DECAY, {"duration": "0 min"}),
        (pressure_decay, DECAY, {"allowed_drop": "-0.01 psi"}),
        (pressure_decay, DECAY, {"allowed_rise": "-0.01 psi"}),
    ],
)
def test_what_cannot_be_is_refused_by_name(of: Any, texts: dict[str, str], more: dict[str, str]) -> None:
    with pytest.raises(BookError) as refused:
        worked(of, texts, **more)

    (problem,) = refused.value.problems
    assert next(iter(more)) in problem.what
    assert problem.fix


def test_a_gauge_that_ends_a_little_below_the_air_outside_is_still_read() -> None:
    found = decay(gauge_start=0.25, gauge_end=-0.02, temperature_end=60)

    assert math.isfinite(found.corrected_drop)
    assert found.expected_end == pytest.approx(-0.0321, abs=1e-3)


@pytest.mark.parametrize(
    ("of", "texts", "more", "name"),
    [
        (system_test, SYSTEM, {"minimum": "2.9 psi"}, "minimum"),
        (system_test, SYSTEM, {"head_factor": "1.4"}, "head_factor"),
        (pressure_decay, DECAY, {"barometer_end": "14.7 inHg"}, "barometer_end"),
        (pressure_decay, DECAY, {"gauge_start": "20 psi"}, "gauge_start"),
    ],
)
def test_an_unusual_value_stands_with_a_remark(
    of: Any, texts: dict[str, str], more: dict[str, str], name: str
) -> None:
    assert [remark.name for remark in worked(of, texts, **more).outcome.remarks] == [name]
    assert worked(of, texts).outcome.remarks == ()


def test_results_are_what_a_shop_would_call_them() -> None:
    assert isinstance(system_test(10, 6, 60), SystemTest)
    assert isinstance(decay(), PressureDecay)
