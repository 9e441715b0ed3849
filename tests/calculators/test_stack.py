"""A laminate's thickness, mass and resin against the rule of mixtures in SI, and what must hold of any."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import constants

from kb import NoAnswer
from kb.calculators.declare import Calculator
from kb.calculators.work import Worked, work
from kb.problem import BookError
from kb_calculators.laminate.plies import Ply
from kb_calculators.laminate.stack import LaminateStack, laminate_stack

OZ_YD2 = constants.oz / constants.yard**2
OZ_FT2 = constants.oz / constants.foot**2
LB_FT2 = constants.lb / constants.foot**2
LB_FT3 = constants.lb / constants.foot**3

GLASS = "{name: biaxial, kind: fabric, areal_mass: 24 oz/yd^2, fibre_density: 160 lb/ft^3, fibre_share: 50 %}"
CORE = "{name: foam, kind: core, thickness: 3/4 in, density: 5 lb/ft^3, resin_uptake: 2 oz/ft^2}"
PANEL = {"plies": f"[{GLASS}, {CORE}, {GLASS}]", "area": "100 ft^2", "resin_density": "70 lb/ft^3"}

fabrics = st.builds(
    lambda mass, density, share: Ply("fabric", "fabric", mass, density, share),
    st.floats(2, 60),
    st.floats(90, 165),
    st.floats(10, 80),
)
cores = st.builds(
    lambda thickness, density, uptake: Ply(
        "core", "core", thickness=thickness, density=density, resin_uptake=uptake
    ),
    st.floats(0.1, 3),
    st.floats(2, 16),
    st.floats(0, 6),
)
stacks = st.lists(fabrics | cores, min_size=1, max_size=8).map(tuple)
areas = st.floats(0.5, 1000)
resins = st.floats(60, 90)
extras = st.floats(0, 20)


def laid(plies: tuple[Ply, ...], area: float = 100, resin_density: float = 70, **more: Any) -> LaminateStack:
    return laminate_stack(plies, area, resin_density, **more)


def worked(**more: str) -> Worked:
    return work(Calculator.of(laminate_stack), {**PANEL, **more})


def size(one: float | None) -> float:
    assert one is not None
    return one


@given(stacks, areas, resins)
def test_the_sums_are_those_of_fibre_core_and_resin_volumes_in_si(
    plies: tuple[Ply, ...], area: float, resin: float
) -> None:
    found = laid(plies, area, resin)
    fabric = [ply for ply in plies if ply.kind == "fabric"]
    core = [ply for ply in plies if ply.kind == "core"]
    fibre_m = [size(p.areal_mass) * OZ_YD2 / (size(p.fibre_density) * LB_FT3) for p in fabric]
    resin_m = [
        m * (100 / size(p.fibre_share) - 1) for m, p in zip(fibre_m, fabric, strict=True)
    ]  # what fibre leaves of the room
    core_m = [size(p.thickness) * constants.inch for p in core]
    resin_kg = sum(resin_m) * resin * LB_FT3 + sum(size(p.resin_uptake) * OZ_FT2 for p in core)
    dry_kg = sum(size(p.areal_mass) * OZ_YD2 for p in fabric) + sum(
        m * size(p.density) * LB_FT3 for m, p in zip(core_m, core, strict=True)
    )

    assert found.thickness * constants.inch == pytest.approx(sum(fibre_m) + sum(resin_m) + sum(core_m))
    assert found.areal_mass * LB_FT2 == pytest.approx(dry_kg + resin_kg)
    assert found.total_mass * constants.lb == pytest.approx(
        (dry_kg + resin_kg) * area * constants.foot**2, rel=1e-9
    )
    assert found.part_resin * constants.lb == pytest.approx(
        resin_kg * area * constants.foot**2, rel=1e-9, abs=1e-12
    )


@given(fabrics, resins)
def test_fibre_share_by_mass_turns_back_into_the_one_by_volume(ply: Ply, resin: float) -> None:
    by_mass = laid((ply,), resin_density=resin).fibre_share
    assert isinstance(by_mass, float)
    fibre, rest = by_mass / size(ply.fibre_density), (100 - by_mass) / resin

    assert 100 * fibre / (fibre + rest) == pytest.approx(ply.fibre_share)


@given(stacks, areas)
def test_the_rows_of_the_stack_add_up_and_keep_their_order(plies: tuple[Ply, ...], area: float) -> None:
    found = laid(plies, area)

    assert [row.ply for row in found.stack] == list(range(1, len(plies) + 1))
    assert [row.name for row in found.stack] == [ply.name for ply in plies]
    assert sum(row.thickness for row in found.stack) == pytest.approx(found.thickness)
    assert sum(row.areal_mass for row in found.stack) * area == pytest.approx(found.total_mass)
    assert sum(row.resin for row in found.stack) / 16 * area == pytest.approx(found.part_resin)


@given(stacks, st.randoms())
def test_sums_do_not_mind_the_order_of_the_plies(plies: tuple[Ply, ...], luck: Any) -> None:
    other = list(plies)
    luck.shuffle(other)
    one, same = laid(plies), laid(tuple(other))

    assert same.thickness == pytest.approx(one.thickness)
    assert same.resin_mass == pytest.approx(one.resin_mass)
    assert same.fabric_mass == pytest.approx(one.fabric_mass)


@given(stacks, areas, st.floats(0, 60), extras, extras, extras)
def test_waste_goes_once_on_what_is_ordered_and_never_into_part_or_mix(
    plies: tuple[Ply, ...], area: float, waste: float, media: float, lines: float, left: float
) -> None:
    more = {"media_uptake": media, "line_volume": lines, "left_over": left}
    none, some = laid(plies, area, waste=0, **more), laid(plies, area, waste=waste, **more)

    assert some.fabric_mass == pytest.approx(none.fabric_mass * (1 + waste / 100))
    assert some.resin_mass == pytest.approx(none.resin_mass * (1 + waste / 100))
    assert none.resin_mass == none.resin_to_mix == some.resin_to_mix
    assert (some.total_mass, some.part_resin) == (none.total_mass, none.part_resin)


@given(stacks, areas, resins, extras, extras, extras)
def test_resin_to_mix_is_part_media_lines_and_what_stays_over(
    plies: tuple[Ply, ...], area: float, resin: float, media: float, lines: float, left: float
) -> None:
    found = laid(plies, area, resin, media_uptake=media, line_volume=lines, left_over=left)
    kg = (
        found.part_resin * constants.lb
        + media * OZ_FT2 * area * constants.foot**2
        + lines * constants.liter * resin * LB_FT3
        + left * constants.lb
    )

    assert found.resin_to_mix * constants.lb == pytest.approx(kg, rel=1e-9, abs=1e-12)


@given(fabrics, st.floats(0, 10))
def test_more_fibre_by_volume_is_a_thinner_lighter_and_drier_ply(ply: Ply, more: float) -> None:
    loose, tight = laid((ply,)), laid((ply._replace(fibre_share=size(ply.fibre_share) + more),))

    assert tight.thickness <= loose.thickness * (1 + 1e-12)
    assert tight.total_mass <= loose.total_mass * (1 + 1e-12)
    assert tight.part_resin <= loose.part_resin * (1 + 1e-12)
    assert tight.fabric_mass == loose.fabric_mass


@given(stacks, areas, st.floats(0.1, 10))
def test_twice_the_area_is_twice_the_mass_and_no_thicker(
    plies: tuple[Ply, ...], area: float, by: float
) -> None:
    one, other = laid(plies, area), laid(plies, area * by)

    assert other.total_mass == pytest.approx(one.total_mass * by)
    assert other.resin_mass == pytest.approx(one.resin_mass * by)
    assert (other.thickness, other.areal_mass, other.fibre_share) == (
        one.thickness,
        one.areal_mass,
        one.fibre_share,
    )


@given(st.lists(fabrics, min_size=1, max_size=4).map(tuple), cores)
def test_fibre_share_is_of_the_skins_whatever_core_lies_between(plies: tuple[Ply, ...], core: Ply) -> None:
    assert laid((*plies, core)).fibre_share == pytest.approx(laid(plies).fibre_share)


def test_core_alone_has_no_fibre_share() -> None:
    assert worked(plies=f"[{CORE}]").outcome.values["fibre_share"] == NoAnswer("no ply is a fabric")


@pytest.mark.parametrize(
    ("ply", "remarks"),
    [
        (GLASS, []),
        (GLASS.replace("50 %", "80 %"), ["fibre_share"]),
        (GLASS.replace("50 %", "10 %"), ["fibre_share"]),
    ],
)
def test_a_starved_or_swimming_skin_is_remarked(ply: str, remarks: list[str]) -> None:
    assert [one.name for one in worked(plies=f"[{ply}]").outcome.remarks] == remarks


def test_a_csv_file_leaves_empty_what_a_kind_does_not_have(tmp_path: Path) -> None:
    (tmp_path / "plies.csv").write_text(
        "name,kind,areal_mass (oz/yd^2),fibre_density (lb/ft^3),fibre_share (%),thickness (in),"
        "density (lb/ft^3),resin_uptake (oz/ft^2)\n"
        "biaxial,fabric,24,160,50,,,\nfoam,core,,,,3/4,5,2\nbiaxial,fabric,24,160,50,,,\n",
        encoding="utf-8",
    )
    from_file = work(Calculator.of(laminate_stack), {**PANEL, "plies": "@plies.csv"}, tmp_path)

    assert from_file.outcome.values == worked().outcome.values


@pytest.mark.parametrize(
    ("ply", "said"),
    [
        (GLASS.replace("kind: fabric", "kind: cloth"), "ply 2, 'biaxial', the kind 'cloth'"),
        (GLASS.replace(", fibre_share: 50 %", ""), "ply 2, 'biaxial', no fibre_share"),
        (GLASS.replace(", areal_mass: 24 oz/yd^2", ""), "ply 2, 'biaxial', no areal_mass"),
        (GLASS.replace("}", ", thickness: 1 mm}"), "ply 2, 'biaxial', a thickness"),
        (CORE.replace(", resin_uptake: 2 oz/ft^2", ""), "ply 2, 'foam', no resin_uptake"),
        (CORE.replace("}", ", fibre_share: 50 %}"), "ply 2, 'foam', a fibre_share"),
        (GLASS.replace("50 %", "91 %"), "fibre_share = 91 % cannot be"),
        (GLASS.replace("50 %", "0 %"), "fibre_share = 0 % cannot be"),
        (GLASS.replace("24 oz/yd^2", "0 oz/yd^2"), "areal_mass = 0 oz/yd^2 cannot be"),
        (CORE.replace("2 oz/ft^2", "-2 oz/ft^2"), "resin_uptake = -2 oz/ft^2 cannot be"),
        (CORE.replace("3/4 in", "0 in"), "thickness = 0 in cannot be"),
    ],
)
def test_a_ply_that_cannot_be_is_refused_by_its_number(ply: str, said: str) -> None:
    with pytest.raises(BookError) as refused:
        worked(plies=f"[{GLASS}, {ply}]")

    (problem,) = refused.value.problems
    assert "plies" in problem.what
    assert said in problem.what
    assert problem.fix


@pytest.mark.parametrize("name", ["area", "resin_density", "waste", "media_uptake", "line_volume"])
def test_a_size_below_zero_is_refused_by_name(name: str) -> None:
    unit = {"area": "ft^2", "resin_density": "lb/ft^3", "waste": "%", "media_uptake": "oz/ft^2"}
    with pytest.raises(BookError) as refused:
        worked(**{name: f"-1 {unit.get(name, 'L')}"})

    (problem,) = refused.value.problems
    assert f"{name} = -1" in problem.what
