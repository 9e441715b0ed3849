"""Leak tests with air: the pressure an installed fuel system is put to, and what its gauge says after."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from kb import (
    FALLBACK,
    NOT_NEGATIVE,
    POSITIVE,
    Caution,
    Limit,
    NoAnswer,
    Q,
    Range,
    Refusal,
    Source,
    calculator,
    pieces,
)
from kb_calculators.conversions import CM3_PER_GAL, DEGF_OF_0_DEGF, IN3_PER_GAL, PSI_PER_ATM, PSI_PER_INHG

_BASE_MIN, _BASE_GAL, _STEP_GAL = 5.0, 50.0, 10.0
_SAME = 1e-9  # pressures are equal within this share: what conversion of units leaves behind
_DUST_PSI = 1e-11  # far below any gauge, above what adding pressures in floats leaves behind

_STORED = Caution(
    "danger",
    "Air under pressure stores energy, and at 3 psi a flat side takes hundreds of pounds."
    " Never the shop line by itself: a regulator, and in the rig a relief valve set to the"
    " test pressure that passes all the supply can give. Raise the pressure slowly, stand"
    " clear of flat sides and plugs, and relieve all of it before any joint is opened.",
    hazard="compressed-air",
)
_NO_OXYGEN = Caution(
    "danger",
    "Never oxygen: it makes oil and fuel burn like an explosive. Air only in a system that never held fuel;"
    " nitrogen or another inert gas in one that did, with the place ventilated: it suffocates unnoticed.",
)


@dataclass(frozen=True, slots=True)
class SystemTest:
    """The pressure of the test, how long it is held, and what gauge shows it."""

    head_pressure: Annotated[
        float,
        Q(
            "psi",
            "Pressure at the lowest point, filled to overflow",
            safe="up",
            rule="density * 9.80665 m/s^2 * head in psi",
        ),
    ]
    test_pressure: Annotated[
        float, Q("psi", "Test pressure", safe="up", rule="max(minimum, head_factor * head_pressure)")
    ]
    governed_by: Annotated[
        str,
        Q(
            "",
            "Test pressure set by",
            rule='if head_factor * head_pressure > minimum then "head" else "minimum"',
        ),
    ]
    hold_time: Annotated[
        float,
        Q(
            "min",
            "Hold the pressure for",
            safe="up",
            rule="5 min + 1 min * ceil(max((capacity - 50 gal) / 10 gal, 0))",
        ),
    ]
    allowed_range: Annotated[
        float, Q("psi", "Largest range of the gauge", safe="down", rule="range_factor * test_pressure")
    ]
    lid_force: Annotated[
        float | NoAnswer,
        Q(
            "lbf",
            "Force on the largest flat side at the test",
            safe="up",
            rule="test_pressure * lid_area in lbf",
        ),
    ]


@calculator(
    limits=[
        Limit(
            "label",
            "test_pressure <= label_pressure",
            "the tank, which its maker tried no higher than its label says",
        ),
        Limit(
            "gauge",
            "test_pressure <= gauge_range <= allowed_range",
            "a gauge that reaches the pressure and on which a small drop can still be read",
            given="gauge_range",
        ),
    ],
    cautions=[
        _STORED,
        _NO_OXYGEN,
        Caution(
            "warning",
            "This is the test of the installed system. A tank by itself is its maker's to test, at the"
            " pressure on its label and by another way than a drop of pressure: soap, immersion, tracer gas.",
        ),
        Caution(
            "notice",
            "Any drop counts as a leak. A gauge that stays still does not end the test: every joint is then"
            " examined with soap solution or another way.",
        ),
    ],
    sources=[
        Source(
            "33 CFR 183.542",
            "gasoline boats, outboard engines excepted: 3 psi, or 1.5 times the pressure at the"
            " lowest point filled to overflow if more; air or inert gas",
            "read",
        ),
        Source(
            "US Coast Guard compliance test text, fuel system static pressure test",
            "5 min and 1 min for each 10 gal or part above 50 gal; gauge range at most 3 times the pressure;"
            " a laboratory's procedure, not the regulation",
            "read",
        ),
        Source(
            "33 CFR 183.510, 183.514 and 183.580",
            "gasoline boats, outboard engines excepted: a tank is tested at the pressure on its"
            " label, by another way than a drop of pressure",
            "read",
        ),
    ],
    example={
        "head": "42 in",
        "density": "740 kg/m^3",
        "capacity": "120 gal",
        "label_pressure": "3 psi",
        "gauge_range": "5 psi",
        "lid_area": "600 in^2",
    },
    use="when tank, fill, vent and lines are all in, before the boat takes fuel, and again after any of it"
    " was opened.",
    not_for="a tank by itself, which its maker tests, or for cooking gas, hydraulics or water.",
)
def system_test(
    head: Annotated[
        float,
        Q(
            "in",
            "Height of the overflow level",
            valid=NOT_NEGATIVE,
            usual=Range(
                6, 120, "measure from the lowest point of the system up to where fuel would run over"
            ),
            note="plumb, from the lowest point of the system to the level at which it overflows",
        ),
    ],
    density: Annotated[
        float,
        Q(
            "lb/gal",
            "Density of the fuel",
            valid=POSITIVE,
            usual=Range(5.8, 8.0, "motor fuels weigh 6 to 7.3 lb/gal"),
        ),
    ],
    capacity: Annotated[
        float,
        Q("gal", "Capacity of the system", valid=POSITIVE, note="of its tanks, all that are tested together"),
    ],
    minimum: Annotated[
        float,
        Q(
            "psi",
            "Least test pressure",
            valid=NOT_NEGATIVE,
            usual=Range(least=3, why="33 CFR 183.542 asks for 3 psi at least"),
        ),
    ] = 3.0,
    head_factor: Annotated[
        float,
        Q(
            "",
            "Times the pressure at the lowest point",
            valid=POSITIVE,
            usual=Range(least=1.5, why="33 CFR 183.542 asks for 1.5 times"),
        ),
    ] = 1.5,
    label_pressure: Annotated[
        float | None,
        Q(
            "psi",
            "Pressure on the tank's label",
            valid=POSITIVE,
            unset="not known: whether the tank bears the test cannot be told",
            note="by the gauge; with several tanks, the least",
        ),
    ] = None,
    gauge_range: Annotated[
        float | None, Q("psi", "Full scale of the gauge", valid=POSITIVE, unset="no gauge is judged")
    ] = None,
    lid_area: Annotated[
        float | None,
        Q(
            "in^2",
            "Area of the largest flat side",
            valid=POSITIVE,
            unset="no force is worked out",
            note="of the tank, between its edges or stiffeners",
        ),
    ] = None,
    range_factor: Annotated[
        float, Q("", "Largest gauge, times the test pressure", valid=Range(least=1))
    ] = 3.0,
) -> SystemTest:
    """Test pressure, holding time and gauge of an installed fuel system, from the head to the overflow.

    The pressure at the lowest point is density times gravity times head. The test is at head_factor times
    that, or at the minimum where that is more. It is held 5 min, and 1 min more for each 10 gal or part of
    10 gal above 50 gal. All pressures are a gauge's, above the outside air.

    >>> system_test(head=42, density=6.1756, capacity=120).hold_time
    12.0
    """
    head_pressure = density / IN3_PER_GAL * head
    by_head = head_factor * head_pressure
    test_pressure = max(minimum, by_head)
    steps = pieces((capacity - _BASE_GAL) / _STEP_GAL)
    return SystemTest(
        head_pressure=head_pressure,
        test_pressure=test_pressure,
        governed_by="head" if by_head > minimum * (1 + _SAME) else "minimum",
        hold_time=_BASE_MIN + max(steps, 0),
        allowed_range=range_factor * test_pressure,
        lid_force=NoAnswer("lid_area is not given") if lid_area is None else test_pressure * lid_area,
    )


@dataclass(frozen=True, slots=True)
class PressureDecay:
    """What the gauge would read without a leak, and what is missing."""

    expected_end: Annotated[
        float,
        Q(
            "psi",
            "Gauge at the end with no leak",
            rule="(gauge_start + barometer_start) * (temperature_end - 0 degF + 459.67 delta_degF)"
            " / (temperature_start - 0 degF + 459.67 delta_degF) - barometer_end in psi",
        ),
    ]
    corrected_drop: Annotated[
        float, Q("psi", "Drop that weather does not explain", safe="up", rule="expected_end - gauge_end")
    ]
    leak_rate: Annotated[
        float,
        Q(
            "cm^3/min",
            "Leak, as gas at 101.325 kPa and its own temperature",
            safe="up",
            rule="corrected_drop * volume / 101.325 kPa / duration in cm^3/min",
        ),
    ]
    per_degree: Annotated[
        float,
        Q(
            "psi/delta_degF",
            "Rise of the gauge for each degree",
            rule="(gauge_start + barometer_start) / (temperature_start - 0 degF + 459.67 delta_degF)"
            " in psi/delta_degF",
        ),
    ]
    readable: Annotated[
        bool | NoAnswer, Q("", "The readings can be judged", method="no rise beyond allowed_rise")
    ]


_BAROMETER = "of the air where the boat stands; a weather report's is reduced to sea level"
_BAROMETER_USUAL = Range(24, 31.5, "take the pressure of the air on the spot, in the unit that is written")
_GAS = "where the gas cannot be reached, of the tank's shaded side, insulated from the air"


@calculator(
    limits=[
        Limit(
            "drop",
            "corrected_drop <= allowed_drop and readable",
            "a tight system; a rise that the readings' tolerance does not explain is no proof of one",
        )
    ],
    cautions=[
        _STORED,
        _NO_OXYGEN,
        Caution(
            "warning",
            "This is an extra shop check beside the examination of every joint, with soap solution or another"
            " way, never in its place. It does not test a tank by itself.",
        ),
        Caution(
            "notice",
            "At 3 psi a change of 2 degF moves the gauge by 0.07 psi, more than many an allowed drop. Let"
            " the air settle after pumping up, keep sun and heaters off, and read temperature and barometer"
            " each time with the gauge. Fuel left inside makes vapour, and a hose that swells takes up air:"
            " test dry, and start the clock when the gauge is still.",
        ),
    ],
    sources=[
        Source(
            "ideal gas in a rigid vessel",
            "absolute pressure in proportion to absolute temperature; off by about 0.0006 psi for 7 degF",
            "memory",
        ),
        Source(
            "33 CFR 183.580",
            "gasoline boats, outboard engines excepted: a tank's own test is by another way than"
            " a drop of pressure",
            "read",
        ),
        Source(
            "US Coast Guard compliance test text, fuel system static pressure test",
            "the gauge is read first, then every joint is examined; any drop of it counts as a leak",
            "read",
        ),
        Source(
            "common practice, no source",
            "where nothing else is said, a drop of what the gauge can tell is allowed, and as great a rise",
            "memory",
        ),
    ],
    example={
        "gauge_start": "3.00 psi",
        "gauge_end": "3.25 psi",
        "temperature_start": "68 degF",
        "temperature_end": "75 degF",
        "barometer_start": "30.00 inHg",
        "barometer_end": "29.92 inHg",
        "volume": "50 gal",
        "duration": "15 min",
        "allowed_drop": "0.05 psi",
    },
    use="beside the soap test, when gauge, thermometer and barometer are read at the start and at the end.",
    not_for="passing a system whose joints were not each examined, or a tank by itself, which its maker tests"
    " another way.",
)
def pressure_decay(
    gauge_start: Annotated[
        float,
        Q(
            "psi",
            "Gauge at the start",
            valid=POSITIVE,
            usual=Range(most=10, why="fuel systems are tested at about 3 psi; look at every label first"),
        ),
    ],
    gauge_end: Annotated[float, Q("psi", "Gauge at the end")],
    temperature_start: Annotated[
        float, Q("degF", "Temperature of the gas at the start", valid=Range(-60, 200), note=_GAS)
    ],
    temperature_end: Annotated[
        float, Q("degF", "Temperature of the gas at the end", valid=Range(-60, 200), note=_GAS)
    ],
    barometer_start: Annotated[
        float, Q("inHg", "Barometer at the start", valid=POSITIVE, usual=_BAROMETER_USUAL, note=_BAROMETER)
    ],
    barometer_end: Annotated[
        float, Q("inHg", "Barometer at the end", valid=POSITIVE, usual=_BAROMETER_USUAL, note=_BAROMETER)
    ],
    volume: Annotated[
        float,
        Q(
            "gal",
            "Volume of the gas",
            valid=POSITIVE,
            note="the empty tank with its lines, and the rig's hose",
        ),
    ],
    duration: Annotated[float, Q("min", "Time between the readings", valid=POSITIVE)],
    allowed_drop: Annotated[
        float,
        Q(
            "psi",
            "Drop allowed",
            valid=NOT_NEGATIVE,
            note="no less than twice what gauge, thermometer and barometer together may be off",
        ),
    ],
    allowed_rise: Annotated[
        float,
        Q(
            "psi",
            "Rise that the readings' tolerance explains",
            valid=NOT_NEGATIVE,
            fallback="allowed_drop",
            unset="as much as allowed_drop",
        ),
    ] = FALLBACK,
) -> PressureDecay:
    """Leak-test verdict with the gauge readings corrected for temperature and barometer.

    Gauge and barometer together are the absolute pressure; in a rigid, tight system it changes in proportion
    to the absolute temperature. The barometer at the end is taken off again, and what the gauge reads less
    than that is the drop. A gauge that reads more by over allowed_rise proves that a reading is wrong, so
    the verdict is then cannot tell.

    >>> pressure_decay(3, 3.1, 68, 75, 30, 29.92, 50, 15, 0.05, 0.05).corrected_drop
    0.174558
    """
    if gauge_end + barometer_end * PSI_PER_INHG < 0:
        least = -barometer_end * PSI_PER_INHG
        raise Refusal("gauge_end", "is below a complete vacuum", f"give {least:.4g} psi or more")
    per_degree = (gauge_start + barometer_start * PSI_PER_INHG) / (temperature_start + DEGF_OF_0_DEGF)
    # As a sum of changes, so that in steady weather the drop is the gauge's own to the last digit.
    by_heat = per_degree * (temperature_end - temperature_start)
    expected_end = gauge_start + by_heat + (barometer_start - barometer_end) * PSI_PER_INHG
    corrected_drop = expected_end - gauge_end
    rise = -corrected_drop
    readable: bool | NoAnswer = True
    if rise > allowed_rise + _DUST_PSI:
        readable = NoAnswer(
            f"the gauge ends {rise:.3g} psi above what heat and barometer explain, and the readings'"
            f" tolerance explains {allowed_rise:.3g} psi; a reading is wrong, or the gas was at another"
            " temperature than was read"
        )
    return PressureDecay(
        expected_end=expected_end,
        corrected_drop=corrected_drop,
        leak_rate=corrected_drop / PSI_PER_ATM * volume * CM3_PER_GAL / duration,
        per_degree=per_degree,
        readable=readable,
    )
