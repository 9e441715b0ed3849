"""A through-hull against integrals round its ring and areas of discs, and what must hold of any."""

from __future__ import annotations

import math
from dataclasses import asdict
from fractions import Fraction
from math import ceil, pi
from typing import Any

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy.integrate import quad
from shapely import Point

from kb import Refusal
from kb.calculators.declare import Calculator
from kb.calculators.work import Worked, work
from kb.problem import BookError
from kb_calculators.bonding.area import bonding_area
from kb_calculators.bonding.through_hull import ThroughHull, through_hull

SEACOCK = {
    "fitting_diameter": "1 1/2 in",
    "flange_diameter": "3 in",
    "margin": "3/4 in",
    "core_thickness": "3/4 in",
    "outer_skin": "0.2 in",
    "ply_thickness": "0.04 in",
    "solid_thickness": "0.6 in",
    "arm": "6 in",
    "shear_allowable": "4000 psi",
}

flanges = st.floats(2, 8)
thicknesses = st.floats(0.2, 2)
loads = st.floats(50, 5000)
arms = st.floats(0, 20)


def fitted(**more: float) -> ThroughHull:
    plain: dict[str, Any] = {
        "fitting_diameter": 1.5,
        "flange_diameter": 3.0,
        "margin": 0.75,
        "core_thickness": 0.75,
        "outer_skin": 0.2,
        "ply_thickness": 0.04,
        "solid_thickness": 0.6,
        "arm": 6.0,
        "shear_allowable": 4000.0,
        **more,
    }
    plain.setdefault("inner_skin", plain["outer_skin"])
    plain.setdefault("backing_diameter", plain["flange_diameter"])
    return through_hull(**plain)


def worked(**more: str) -> Worked:
    return work(Calculator.of(through_hull), {**SEACOCK, **more})


@given(flanges, thicknesses, loads, arms)
def test_the_stress_summed_round_the_ring_holds_pull_and_moment(
    flange: float, thickness: float, load: float, arm: float
) -> None:
    found = fitted(
        flange_diameter=flange, solid_thickness=thickness, outer_skin=0.1, proof_load=load, arm=arm
    )
    pull = fitted(flange_diameter=flange, solid_thickness=thickness, outer_skin=0.1, proof_load=load, arm=0)
    even, radius = pull.shear_stress, flange / 2
    per_inch = (found.shear_stress - even) / radius  # of the distance from the tilting axis

    def stress(angle: float) -> float:
        return even + per_inch * radius * math.cos(angle)

    held = quad(lambda a: stress(a) * thickness * radius, 0, 2 * pi)[0]
    turned = quad(lambda a: stress(a) * radius * math.cos(a) * thickness * radius, 0, 2 * pi)[0]

    assert held == pytest.approx(load, rel=1e-9)
    assert turned == pytest.approx(load * arm, rel=1e-9, abs=1e-9 * load * radius)
    assert found.moment == pytest.approx(load * arm)
    assert found.factor == pytest.approx(4000 / stress(0), rel=1e-9)


@settings(deadline=None, max_examples=15)
@given(st.floats(0.5, 3), st.floats(0.3, 3), st.floats(0.01, 0.1), thicknesses)
def test_sealant_is_the_ring_under_the_flange_and_the_sleeve_round_the_fitting(
    fitting: float, lip: float, sealant: float, thickness: float
) -> None:
    flange = fitting + 2 * lip
    found = fitted(
        fitting_diameter=fitting,
        flange_diameter=flange,
        sealant_thickness=sealant,
        solid_thickness=thickness,
        outer_skin=0.1,
    )

    def disc(diameter: float) -> Any:
        return Point(0, 0).buffer(diameter / 2, quad_segs=4000)

    ring = disc(flange).difference(disc(fitting)).area * sealant
    sleeve = disc(fitting + 2 * sealant).difference(disc(fitting)).area * thickness

    assert found.sealant == pytest.approx(ring + sleeve, rel=1e-6)


@given(flanges, flanges, st.floats(0, 5))
def test_solid_laminate_stands_under_flange_and_block_alike(
    flange: float, backing: float, margin: float
) -> None:
    found = fitted(flange_diameter=flange, backing_diameter=backing, margin=margin)

    for clamped in (flange, backing):
        assert (found.core_out_diameter - clamped) / 2 >= margin - 1e-12
    assert min(found.core_out_diameter - one for one in (flange, backing)) == pytest.approx(2 * margin)


@given(st.floats(0, 10), st.floats(0, 30), st.floats(0.1, 2), st.floats(0.05, 0.5))
def test_the_work_reaches_out_by_the_bevel_and_then_the_scarf(
    taper: float, scarf: float, core: float, inner: float
) -> None:
    found = fitted(taper=taper, scarf=scarf, core_thickness=core, inner_skin=inner)

    assert found.taper_length == pytest.approx(taper * core)
    assert found.scarf_length == pytest.approx(scarf * inner)
    assert found.work_diameter == pytest.approx(4.5 + 2 * taper * core + 2 * scarf * inner)


@given(st.integers(1, 500), st.integers(0, 1500), st.integers(1, 100))
def test_plies_are_counted_as_in_exact_fractions(outer: int, added: int, ply: int) -> None:
    found = fitted(outer_skin=outer / 1000, solid_thickness=(outer + added) / 1000, ply_thickness=ply / 1000)

    assert found.plies == ceil(Fraction(added, ply))


@given(flanges, st.floats(2, 8))
def test_the_smaller_of_flange_and_block_sets_the_stress(flange: float, backing: float) -> None:
    found = fitted(flange_diameter=flange, backing_diameter=backing)

    assert found.shear_stress == fitted(flange_diameter=min(flange, backing)).shear_stress


@given(flanges, thicknesses, loads, arms, st.floats(1.01, 3))
def test_stress_falls_with_flange_and_thickness_and_grows_with_load_and_arm(
    flange: float, thickness: float, load: float, arm: float, times: float
) -> None:
    plain = {
        "flange_diameter": flange,
        "solid_thickness": thickness,
        "outer_skin": 0.1,
        "proof_load": load,
        "arm": arm,
    }
    stress = fitted(**plain).shear_stress

    assert fitted(**{**plain, "flange_diameter": flange * times}).shear_stress < stress
    assert fitted(**{**plain, "solid_thickness": thickness * times}).shear_stress == pytest.approx(
        stress / times
    )
    assert fitted(**{**plain, "proof_load": load * times}).shear_stress == pytest.approx(stress * times)
    assert fitted(**{**plain, "arm": arm + times}).shear_stress > stress


@given(st.floats(0.1, 10))
def test_a_fitting_larger_in_all_bears_a_load_larger_by_the_square(times: float) -> None:
    sizes = {
        "fitting_diameter": 1.5,
        "flange_diameter": 3.0,
        "margin": 0.75,
        "core_thickness": 0.75,
        "outer_skin": 0.2,
        "ply_thickness": 0.04,
        "solid_thickness": 0.6,
        "arm": 6.0,
        "sealant_thickness": 0.0625,
    }
    one = fitted(**sizes, proof_load=500)
    other = fitted(**{name: size * times for name, size in sizes.items()}, proof_load=500 * times**2)

    assert other.shear_stress == pytest.approx(one.shear_stress)
    assert other.work_diameter == pytest.approx(one.work_diameter * times)
    assert other.sealant == pytest.approx(one.sealant * times**3)
    assert other.plies == one.plies


@pytest.mark.parametrize(("share", "verdict"), [(1 - 1e-9, "outside"), (1 + 1e-9, "within")])
def test_the_factor_limit_flips_at_the_factor(share: float, verdict: str) -> None:
    allowable = 4 * fitted().shear_stress * share

    (limit,) = worked(shear_allowable=f"{allowable:.12f} psi").limits
    assert (limit.name, limit.verdict) == ("factor", verdict)


def test_skin_and_block_that_are_left_out_are_as_the_outer_skin_and_the_flange() -> None:
    left_out, named = (
        worked(**more).outcome.values for more in ({}, {"inner_skin": "0.2 in", "backing_diameter": "3 in"})
    )

    assert left_out == named


def test_a_skin_that_is_thick_enough_by_itself_takes_no_plies() -> None:
    values = worked(solid_thickness="0.2 in").outcome.values

    assert float(values["plies"].value) == 0
    assert worked(outer_skin="5.08 mm", solid_thickness="0.2 in").outcome.values["plies"] == values["plies"]


@pytest.mark.parametrize(
    ("more", "was", "possible"),
    [
        ({"margin": "-1/8 in"}, "-0.125 in", "at least 0 in"),
        ({"solid_thickness": "0.19 in"}, "0.19 in", "0.2 in or more"),
        ({"flange_diameter": "1.6 in"}, "1.6 in", "more than 1.625 in"),
        ({"flange_diameter": "1.625 in"}, "1.625 in", "more than 1.625 in"),
        ({"backing_diameter": "1 in"}, "1 in", "more than 1.625 in"),
        ({"fitting_diameter": "0 in"}, "0 in", "above 0 in"),
        ({"core_thickness": "0 in"}, "0 in", "above 0 in"),
        ({"outer_skin": "0 in"}, "0 in", "above 0 in"),
        ({"inner_skin": "0 in"}, "0 in", "above 0 in"),
        ({"ply_thickness": "0 in"}, "0 in", "above 0 in"),
        ({"sealant_thickness": "-1 in"}, "-1 in", "at least 0 in"),
        ({"taper": "-1"}, "-1", "at least 0"),
        ({"scarf": "-1"}, "-1", "at least 0"),
        ({"proof_load": "0 lbf"}, "0 lbf", "above 0 lbf"),
        ({"arm": "-1 in"}, "-1 in", "at least 0 in"),
        ({"shear_allowable": "0 psi"}, "0 psi", "above 0 psi"),
        ({"min_factor": "0.9"}, "0.9", "at least 1"),
    ],
)
def test_what_cannot_be_is_refused_by_name(more: dict[str, str], was: str, possible: str) -> None:
    with pytest.raises(BookError) as refused:
        worked(**more)

    (problem,) = refused.value.problems
    (name,) = more
    assert problem.what.startswith(f"{name} = {was} ")
    assert possible in problem.fix or possible in problem.what


@pytest.mark.parametrize(
    ("more", "remarked"),
    [
        ({}, []),
        ({"taper": "2.99"}, ["taper"]),
        ({"scarf": "11.9"}, ["scarf"]),
        ({"proof_load": "499 lbf"}, ["proof_load"]),
    ],
)
def test_less_than_common_practice_is_remarked(more: dict[str, str], remarked: list[str]) -> None:
    assert [one.name for one in worked(**more).outcome.remarks] == remarked


@given(st.lists(st.sampled_from([1e-6, 1.0, 1e6]), min_size=11, max_size=11))
def test_sizes_a_million_times_off_give_numbers_or_a_refusal(times: list[float]) -> None:
    names = (
        "fitting_diameter", "flange_diameter", "margin", "core_thickness", "outer_skin", "ply_thickness",
        "solid_thickness", "arm", "shear_allowable", "sealant_thickness", "proof_load",
    )  # fmt: skip
    plain = (1.5, 3.0, 0.75, 0.75, 0.2, 0.04, 0.6, 6.0, 4000.0, 0.0625, 500.0)
    sizes = {name: size * by for name, size, by in zip(names, plain, times, strict=True)}
    hole = sizes["fitting_diameter"] + 2 * sizes["sealant_thickness"]
    if sizes["flange_diameter"] <= hole or sizes["solid_thickness"] < sizes["outer_skin"]:
        with pytest.raises(Refusal, match=r"^(flange_diameter|solid_thickness) "):
            fitted(**sizes)
        return
    found = fitted(**sizes)
    assert all(math.isfinite(one) and one >= 0 for one in asdict(found).values())


@given(st.floats(0.01, 3), st.floats(0.01, 3))
def test_solid_laminate_is_never_thinner_than_the_skin_it_is_laid_on(outer: float, solid: float) -> None:
    assume(abs(solid - outer) > 1e-6)
    if solid > outer:
        assert fitted(outer_skin=outer, solid_thickness=solid).plies >= 1
        return
    with pytest.raises(Refusal, match="thinner than the outer skin"):
        fitted(outer_skin=outer, solid_thickness=solid)


@pytest.mark.parametrize("function", [through_hull, bonding_area])
def test_the_card_says_that_structure_is_set_by_a_designer(function: Any) -> None:
    card = Calculator.of(function)

    assert any("structure is set by a qualified designer" in one.text for one in card.cautions)
    assert "structure is set by a qualified designer" in card.not_for
