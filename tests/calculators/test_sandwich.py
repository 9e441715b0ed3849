"""A cored strip against integrals of its layers and a solved beam equation, and what must hold of any."""

from __future__ import annotations

import math
from dataclasses import asdict
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import constants
from scipy.integrate import quad, solve_bvp

from kb.calculators.declare import Calculator
from kb.calculators.work import work
from kb.problem import BookError
from kb_calculators.laminate.sandwich import SandwichPanel, sandwich_panel

SOLE = {
    "face_thickness": "0.1 in",
    "face_modulus": "2200000 psi",
    "face_density": "115 lb/ft^3",
    "core_thickness": "3/4 in",
    "core_shear_modulus": "4000 psi",
    "core_density": "6 lb/ft^3",
    "span": "18 in",
    "pressure": "1.5 psi",
}
PLAIN = {
    "face_thickness": 0.1,
    "face_modulus": 2.2e6,
    "face_density": 115.0,
    "core_thickness": 0.75,
    "core_shear_modulus": 4000.0,
    "core_density": 6.0,
    "span": 18.0,
    "pressure": 1.5,
}

faces = st.floats(0.02, 0.5)
cores = st.floats(0.2, 2)
moduli = st.floats(5e5, 2e7)
shear_moduli = st.floats(500, 50_000)
spans = st.floats(5, 60)
pressures = st.floats(0.05, 20)


def panel(**more: float) -> SandwichPanel:
    return sandwich_panel(**{**PLAIN, **more})


def layered(face: float, core: float, modulus: float, density: float, heavy: float) -> tuple[float, float]:
    """Return stiffness and mass of a panel (psi in^3, lb/ft^3 in), summed through its thickness."""

    def through(weight: Any, of_face: float, of_core: float) -> float:
        out = quad(lambda z: of_face * weight(z), core / 2, core / 2 + face)[0]
        mid = quad(lambda z: of_core * weight(z), 0, core / 2)[0]
        return float(2 * (out + mid))

    return through(lambda z: z * z, modulus, 0.0), through(lambda z: 1.0, heavy, density)


def solved(pressure: float, span: float, stiffness: float, shear_stiffness: float) -> tuple[float, ...]:
    """Return deflection and moment at mid-span and shear at the end of a strip, by its equations.

    In sizes of the strip's own: x over the span, moments over q L^2, shear over q L.
    """
    by_bending = pressure * span**4 / stiffness
    by_shear = pressure * span**2 / shear_stiffness

    def slopes(x: Any, y: Any) -> Any:
        _, turn, moment, shear = y
        return np.vstack([turn + by_shear / by_bending * shear, -moment, shear, np.full_like(x, -1.0)])

    def ends(low: Any, high: Any) -> Any:
        return np.array([low[0], high[0], low[2], high[2]])

    mesh = np.linspace(0, 1, 21)
    found = solve_bvp(slopes, ends, mesh, np.zeros((4, mesh.size)), tol=1e-9)
    assert found.success
    middle = found.sol(0.5)
    return middle[0] * by_bending, middle[2] * pressure * span**2, found.sol(0)[3] * pressure * span


@settings(deadline=None, max_examples=20)
@given(faces, cores, moduli, shear_moduli, spans, pressures)
def test_deflection_is_that_of_the_solved_beam_with_the_layers_summed(
    face: float, core: float, modulus: float, shear: float, span: float, pressure: float
) -> None:
    found = panel(
        face_thickness=face,
        core_thickness=core,
        face_modulus=modulus,
        core_shear_modulus=shear,
        span=span,
        pressure=pressure,
    )
    stiffness, mass = layered(face, core, modulus, 6, 115)
    centres = face + core
    # Shear stiffness by energy: V^2 / 2 S is what an even stress V / d stores in the core.
    stored = quad(lambda z: (1 / centres) ** 2 / shear, -core / 2, core / 2)[0]
    deflection, moment, shear_force = solved(pressure, span, stiffness, 1 / stored)
    solid = mass / 115
    solid_deflection, _, _ = solved(pressure, span, layered(solid / 2, 0, modulus, 6, 115)[0], math.inf)

    assert found.stiffness == pytest.approx(stiffness, rel=1e-9)
    assert found.deflection == pytest.approx(deflection, rel=1e-6)
    assert found.outer_stress == pytest.approx(moment * modulus * (core / 2 + face) / stiffness, rel=1e-6)
    assert found.core_shear * centres == pytest.approx(shear_force, rel=1e-6)
    assert found.face_stress * face * centres == pytest.approx(moment, rel=1e-6)
    assert found.areal_mass * 12 == pytest.approx(mass, rel=1e-9)
    assert found.solid_thickness == pytest.approx(solid, rel=1e-9)
    assert found.solid_deflection == pytest.approx(solid_deflection, rel=1e-6)
    assert found.stiffer_by == pytest.approx(solid_deflection / deflection, rel=1e-6)


def test_a_panel_whose_core_is_next_to_nothing_is_the_solid_laminate() -> None:
    found = panel(core_thickness=1e-9, face_thickness=0.25)

    assert found.stiffness == pytest.approx(2.2e6 * 0.5**3 / 12)
    assert found.stiffer_by == pytest.approx(1)
    assert found.outer_stress == pytest.approx(6 * 1.5 * 18**2 / 8 / 0.5**2)


@given(faces, cores)
def test_the_stress_at_the_outside_is_above_the_mean_of_the_face_by_no_more_than_half(
    face: float, core: float
) -> None:
    found = panel(face_thickness=face, core_thickness=core)

    assert found.face_stress < found.outer_stress < 1.5 * found.face_stress


@given(st.floats(0.01, 100))
def test_a_panel_of_another_size_in_all_has_the_same_stresses(times: float) -> None:
    one = panel()
    other = panel(face_thickness=0.1 * times, core_thickness=0.75 * times, span=18 * times)

    for name in ("face_stress", "outer_stress", "core_shear", "stiffer_by", "deflection_share", "span_ratio"):
        assert getattr(other, name) == pytest.approx(getattr(one, name)), name
    assert other.deflection == pytest.approx(one.deflection * times)
    assert other.stiffness == pytest.approx(one.stiffness * times**3)
    assert other.areal_mass == pytest.approx(one.areal_mass * times)


@given(st.floats(0.01, 100))
def test_deflection_and_stresses_go_as_the_pressure_and_stiffness_does_not(times: float) -> None:
    one, other = panel(), panel(pressure=1.5 * times)

    for name in ("deflection", "bending_deflection", "shear_deflection", "solid_deflection"):
        assert getattr(other, name) == pytest.approx(getattr(one, name) * times), name
    for name in ("face_stress", "outer_stress", "core_shear"):
        assert getattr(other, name) == pytest.approx(getattr(one, name) * times), name
    assert (other.stiffness, other.areal_mass) == (one.stiffness, one.areal_mass)
    assert other.stiffer_by == pytest.approx(one.stiffer_by)


@given(faces, cores, st.floats(1.01, 3))
def test_deflection_falls_with_stiffer_faces_core_and_a_shorter_span(
    face: float, core: float, times: float
) -> None:
    thick: dict[str, float] = {"face_thickness": face, "core_thickness": core}
    deflection = panel(**thick).deflection

    assert panel(**thick, face_modulus=2.2e6 * times).deflection < deflection
    assert panel(**thick, core_shear_modulus=4000 * times).deflection < deflection
    assert panel(**thick, span=18 / times).deflection < deflection
    assert panel(face_thickness=face * times, core_thickness=core).deflection < deflection


@given(faces, st.floats(1, 10), st.floats(1.01, 3))
def test_a_core_thicker_than_a_face_deflects_less_the_thicker_it_is(
    face: float, faces_thick: float, times: float
) -> None:
    core = face * faces_thick
    thin, thick = (panel(face_thickness=face, core_thickness=one) for one in (core, core * times))

    assert thick.bending_deflection < thin.bending_deflection
    assert thick.shear_deflection < thin.shear_deflection


@pytest.mark.parametrize("key", SOLE)
@pytest.mark.parametrize("value", ["0", "-1"])
def test_what_cannot_be_is_refused_by_name(key: str, value: str) -> None:
    unit = SOLE[key].split()[-1]
    with pytest.raises(BookError) as refused:
        work(Calculator.of(sandwich_panel), {**SOLE, key: f"{value} {unit}"})

    (problem,) = refused.value.problems
    assert key in problem.what
    assert value in problem.what
    assert f"above 0 {unit}" in problem.what + problem.fix


@pytest.mark.parametrize(
    ("more", "remarked"),
    [
        ({}, []),
        ({"span": "9.5001 in"}, []),
        ({"span": "9.4999 in"}, ["span_ratio"]),
        ({"pressure": "13.03 psi"}, ["deflection_share"]),
        ({"pressure": "13.02 psi"}, []),
        ({"face_modulus": "15 kPa", "pressure": "0.000001 psi"}, ["face_modulus"]),
        ({"core_shear_modulus": "29 GPa"}, ["core_shear_modulus"]),
        ({"core_density": "80 lb/ft^3"}, ["core_density"]),
        ({"face_density": "18 lb/ft^3"}, ["face_density"]),
    ],
)
def test_a_value_out_of_what_is_usual_is_remarked(more: dict[str, str], remarked: list[str]) -> None:
    assert [
        one.name for one in work(Calculator.of(sandwich_panel), {**SOLE, **more}).outcome.remarks
    ] == remarked


@given(st.lists(st.sampled_from([1e-6, 1.0, 1e6]), min_size=8, max_size=8))
def test_sizes_a_million_times_off_still_give_numbers(times: list[float]) -> None:
    found = panel(**{name: value * by for (name, value), by in zip(PLAIN.items(), times, strict=True)})

    assert all(math.isfinite(one) and one > 0 for one in asdict(found).values())


def test_units_never_change_the_answer() -> None:
    metric = {
        "face_thickness": "2.54 mm",
        "face_modulus": f"{2.2e6 * constants.psi:.9f} Pa",
        "face_density": f"{115 * constants.lb / constants.foot**3!r} kg/m^3",
        "core_thickness": "19.05 mm",
        "core_shear_modulus": f"{4000 * constants.psi:.9f} Pa",
        "core_density": f"{6 * constants.lb / constants.foot**3!r} kg/m^3",
        "span": "45.72 cm",
        "pressure": f"{1.5 * constants.psi!r} Pa",
    }
    one, other = (work(Calculator.of(sandwich_panel), given).outcome.values for given in (SOLE, metric))

    for name, value in one.items():
        assert float(other[name].value) == pytest.approx(float(value.value), rel=1e-12), name


def test_the_card_says_that_structure_is_set_by_a_designer() -> None:
    card = Calculator.of(sandwich_panel)

    assert any("structure is set by a qualified designer" in one.text for one in card.cautions)
    assert "structure is set by a qualified designer" in card.not_for
