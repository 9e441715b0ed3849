"""Wire by voltage drop and by heat: resistance in SI, the table of the law, printed gauges."""

from __future__ import annotations

from math import pi
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pint import UnitRegistry

from kb import NoAnswer, Refusal
from kb.calculators.declare import Calculator
from kb.calculators.work import Worked, work
from kb.problem import BookError
from kb_calculators.electrical.wire import WireRow, WireSize, awg_area, wire_size

GAUGES = ("18", "16", "14", "12", "10", "8", "6", "4", "3", "2", "1", "1/0", "2/0", "3/0", "4/0")
LAW_105 = (20, 25, 35, 45, 60, 80, 120, 160, 180, 210, 245, 285, 330, 385, 445)
"""33 CFR 183.425 table 5, the column of 105 degC."""

PRINTED_MILS = {
    "18": 40.30, "16": 50.82, "14": 64.08, "12": 80.81, "10": 101.90, "8": 128.49, "6": 162.02, "4": 204.31,
    "3": 229.42, "2": 257.63, "1": 289.30, "1/0": 324.86, "2/0": 364.80, "3/0": 409.64, "4/0": 460.00,
}  # fmt: skip
"""Diameters as tables after ASTM B258 print them."""

STOCK = tuple(WireRow(gauge, amps) for gauge, amps in zip(GAUGES, LAW_105, strict=True))
TEXTS = {
    "current": "20 A",
    "length": "50 ft",
    "voltage": "12 V",
    "ampacity": "[[6, 120 A], [4, 160 A], [1/0, 285 A]]",
    "derating": "85 %",
}
UNITS: Any = UnitRegistry()
COPPER_AT_20_DEGC = 1.7241e-8 / (pi / 4 * 25.4e-6**2) * 0.3048

currents = st.floats(0.1, 200)
lengths = st.floats(1, 100)
volts = st.sampled_from([12.0, 24.0, 36.0, 120.0])
drops = st.floats(1, 10)
deratings = st.floats(20, 100)


def sized(
    current: float = 20, length: float = 50, voltage: float = 12, derating: float = 85, **more: Any
) -> WireSize:
    return wire_size(current, length, voltage, STOCK, derating, **more)


def worked(**more: str) -> Worked:
    return work(Calculator.of(wire_size), {**TEXTS, **more})


def rank(gauge: str | NoAnswer) -> int:
    return len(GAUGES) if isinstance(gauge, NoAnswer) else GAUGES.index(gauge)


@pytest.mark.parametrize("gauge", GAUGES)
def test_the_area_of_a_gauge_is_that_of_its_printed_diameter(gauge: str) -> None:
    half_a_figure = 2 * 0.005 / PRINTED_MILS[gauge]

    assert awg_area(gauge) == pytest.approx(PRINTED_MILS[gauge] ** 2, rel=half_a_figure)


def test_the_ends_of_the_gauges_are_those_that_define_them() -> None:
    assert awg_area("36") == 25
    assert awg_area("4/0") == pytest.approx(211600, rel=1e-12)
    for zeros, many in (("0", "1/0"), ("00", "2/0"), ("000", "3/0"), ("0000", "4/0")):
        assert awg_area(zeros) == awg_area(many)


@given(currents, lengths, volts, drops)
def test_the_drop_is_current_times_resistance_in_si(
    current: float, length: float, voltage: float, allowed: float
) -> None:
    found = sized(current, length, voltage, 100, allowed_drop=allowed, conductor_constant=COPPER_AT_20_DEGC)
    if isinstance(found.gauge, NoAnswer):
        assert isinstance(found.drop, NoAnswer)
        return
    number = 1 - int(found.gauge[0]) if "/" in found.gauge else int(found.gauge)
    diameter = 0.127e-3 * 92 ** ((36 - number) / 39)
    resistance = 1.7241e-8 * length * 0.3048 / (pi / 4 * diameter**2)

    assert found.drop == pytest.approx(current * resistance, rel=1e-9)
    assert found.drop_share == pytest.approx(100 * current * resistance / voltage, rel=1e-9)


@given(currents, lengths, volts, drops)
def test_the_area_needed_is_k_i_l_over_e_with_the_units_of_another_library(
    current: float, length: float, voltage: float, allowed: float
) -> None:
    constant = 10.75 * UNITS.ohm * UNITS.circular_mil / UNITS.foot
    lost = voltage * allowed / 100 * UNITS.volt
    expected = (constant * current * UNITS.ampere * length * UNITS.foot / lost).to("circular_mil").magnitude

    assert sized(current, length, voltage, allowed_drop=allowed).area_needed == pytest.approx(
        expected, rel=1e-9
    )


@given(currents, lengths, volts, drops, deratings)
def test_each_gauge_is_the_first_of_the_table_that_will_do_and_the_wire_the_thicker(
    current: float, length: float, voltage: float, allowed: float, derating: float
) -> None:
    found = sized(current, length, voltage, derating, allowed_drop=allowed)
    by_heat = [i for i, amps in enumerate(LAW_105) if amps * derating / 100 >= current]
    by_drop = [
        i
        for i, gauge in enumerate(GAUGES)
        if 10.75 * current * length / awg_area(gauge) <= voltage * allowed / 100
    ]

    assert rank(found.gauge_by_ampacity) == min(by_heat, default=len(GAUGES))
    assert rank(found.gauge_by_drop) == min(by_drop, default=len(GAUGES))
    assert rank(found.gauge) == max(rank(found.gauge_by_drop), rank(found.gauge_by_ampacity))


@given(currents, lengths, volts, st.floats(1, 3), st.floats(0.3, 1))
def test_more_current_length_or_heat_never_calls_for_a_thinner_wire(
    current: float, length: float, voltage: float, more: float, less: float
) -> None:
    wire = rank(sized(current, length, voltage).gauge)

    assert rank(sized(current * more, length, voltage).gauge) >= wire
    assert rank(sized(current, length * more, voltage).gauge) >= wire
    assert rank(sized(current, length, voltage, 85 * less).gauge) >= wire
    assert rank(sized(current, length, voltage * more).gauge) <= wire


@given(currents, lengths, st.floats(0.1, 10))
def test_area_needed_goes_with_the_load_and_against_the_volts(
    current: float, length: float, times: float
) -> None:
    needed = sized(current, length).area_needed

    assert sized(current * times, length).area_needed == pytest.approx(needed * times)
    assert sized(current, length, 12 * times).area_needed == pytest.approx(needed / times)


@given(st.randoms())
def test_the_order_of_the_stock_does_not_matter(random: Any) -> None:
    shuffled = list(STOCK)
    random.shuffle(shuffled)

    assert wire_size(20, 50, 12, tuple(shuffled), 85) == sized()


def test_copper_that_is_given_counts_and_not_that_of_the_gauge() -> None:
    metric = worked(ampacity="[{gauge: 16 mm2, amps: 130 A, area: 16 mm^2}, {gauge: 1/0, amps: 285 A}]")
    area = metric.outcome.values["area"]

    assert metric.outcome.values["gauge"] == "16 mm2"
    assert float(area.value) == pytest.approx(16 / (pi / 4 * 0.0254**2), rel=1e-9)


@pytest.mark.parametrize(("length", "verdict"), [("72 ft", "within"), ("72.001 ft", "outside")])
def test_the_drop_limit_flips_where_the_thickest_wire_is_used_up(length: str, verdict: str) -> None:
    found = worked(
        current="100 A", length=length, conductor_constant="10.58", ampacity="[[3/0, 385 A], [4/0, 445 A]]"
    )

    assert [limit.verdict for limit in found.limits] == [verdict]


@pytest.mark.parametrize(("current", "gauge"), [("51 A", "10"), ("51.001 A", None)])
def test_heat_lets_pass_exactly_the_amps_of_the_row_that_remain(current: str, gauge: str | None) -> None:
    found = worked(current=current, length="1 ft", ampacity="[[14, 35 A], [10, 60 A]]").outcome.values

    assert found["gauge"] == gauge or (gauge is None and isinstance(found["gauge"], NoAnswer))


@pytest.mark.parametrize(
    ("rows", "by_drop", "by_heat", "why"),
    [
        (
            (WireRow("18", 500),),
            False,
            True,
            "no listed wire has 29861 circular mils; list thicker or shorten the run",
        ),
        ((WireRow("2", 10),), True, False, "no listed wire carries 20 A at 85 % of its amps"),
        (
            (WireRow("18", 500), WireRow("2", 10)),
            True,
            True,
            "the listed wires thick enough for the drop carry too little here",
        ),
    ],
)
def test_where_no_listed_wire_does_it_says_why(
    rows: tuple[WireRow, ...], by_drop: bool, by_heat: bool, why: str
) -> None:
    found = wire_size(20, 50, 12, rows, 85)

    assert isinstance(found.gauge_by_drop, str) == by_drop
    assert isinstance(found.gauge_by_ampacity, str) == by_heat
    for none in (found.gauge, found.area, found.allowed_current, found.drop, found.drop_share):
        assert isinstance(none, NoAnswer)
        assert none.why == why


@pytest.mark.parametrize("gauge", ["41", "5/0", "-1", "ten", "", "10.5", "00000", "16 mm2", "1 / 0"])
def test_a_gauge_that_is_none_is_refused_unless_its_area_is_given(gauge: str) -> None:
    with pytest.raises(
        Refusal, match=f"^ampacity has the gauge '{gauge}', which is no AWG size; write it such"
    ):
        wire_size(20, 50, 12, (WireRow(gauge, 100),), 85)

    assert wire_size(20, 50, 12, (WireRow(gauge, 100, 50000),), 85).gauge == gauge


def test_a_gauge_that_stands_twice_is_refused() -> None:
    with pytest.raises(Refusal, match=r"^ampacity lists the gauge '10' twice; keep one row for each gauge$"):
        wire_size(20, 50, 12, (WireRow("10", 60), WireRow(" 10", 55)), 85)


@pytest.mark.parametrize(
    ("texts", "remarks"),
    [
        ({"derating": "19 %", "ampacity": "[[1/0, 285 A]]"}, ["derating"]),
        ({"allowed_drop": "11 %"}, ["allowed_drop"]),
        ({"conductor_constant": "17"}, ["conductor_constant"]),
        ({}, []),
    ],
)
def test_unusual_values_are_remarked(texts: dict[str, str], remarks: list[str]) -> None:
    assert [remark.name for remark in worked(**texts).outcome.remarks] == remarks


@pytest.mark.parametrize("size", [1e-6, 1e6])
def test_very_small_and_very_large_currents_have_their_wire(size: float) -> None:
    found = wire_size(size, 50, 12, (WireRow("wire", 2 * size, 2000 * size),), 100)

    assert found.gauge == "wire"
    assert found.area_needed == pytest.approx(50 * 10.75 / 0.36 * size)


@pytest.mark.parametrize(
    ("texts", "said"),
    [
        ({"current": "0 A"}, "current = 0 A"),
        ({"length": "0 ft"}, "length = 0 ft"),
        ({"voltage": "-12 V"}, "voltage = -12 V"),
        ({"allowed_drop": "0 %"}, "allowed_drop = 0 %"),
        ({"allowed_drop": "51 %"}, "allowed_drop = 51 %"),
        ({"allowed_drop": "3"}, "allowed_drop takes a share (%), not 3"),
        ({"conductor_constant": "0"}, "conductor_constant = 0"),
        ({"derating": "0 %"}, "derating = 0 %"),
        ({"derating": "101 %"}, "derating = 101 %"),
        ({"ampacity": "[[10, 0 A]]"}, "ampacity: amps = 0 A cannot be"),
        ({"ampacity": "[[10, 60 A, 0 cmil]]"}, "ampacity: area = 0 cmil cannot be"),
        ({"ampacity": "[[ten, 60 A]]"}, "ampacity has the gauge 'ten', which is no AWG size"),
    ],
)
def test_what_cannot_be_is_refused_by_name(texts: dict[str, str], said: str) -> None:
    with pytest.raises(BookError) as refused:
        worked(**texts)

    (problem,) = refused.value.problems
    assert said in problem.what
    assert problem.fix
