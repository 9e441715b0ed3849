"""Sandwich: how stiff two faces on a core are, beside solid laminate of the same mass."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from kb import POSITIVE, Caution, Q, Range, Source, calculator
from kb_calculators.conversions import IN_PER_FT
from kb_calculators.laminate.draw_panel import draw_panel
from kb_calculators.scantlings import NOT_FOR_SCANTLINGS, NOT_SCANTLINGS

_D = "(face_thickness + core_thickness)"


@dataclass(frozen=True, slots=True)
class SandwichPanel:
    """What a strip of cored panel does under pressure, and what solid laminate of its mass would do."""

    thickness: Annotated[
        float, Q("in", "Thickness of the panel", rule="2 * face_thickness + core_thickness in in")
    ]
    stiffness: Annotated[
        float,
        Q(
            "lbf*in",
            "Bending stiffness E I of each inch of width",
            safe="down",
            rule=f"face_modulus * (face_thickness * {_D} ^ 2 / 2 + face_thickness ^ 3 / 6) in lbf*in",
        ),
    ]
    bending_deflection: Annotated[
        float,
        Q("in", "Deflection by bending", safe="up", rule="5 * pressure * span ^ 4 / (384 * stiffness) in in"),
    ]
    shear_deflection: Annotated[
        float,
        Q(
            "in",
            "Deflection by shear of the core",
            safe="up",
            rule=f"pressure * span ^ 2 * core_thickness / (8 * core_shear_modulus * {_D} ^ 2) in in",
        ),
    ]
    deflection: Annotated[
        float, Q("in", "Deflection at mid-span", safe="up", rule="bending_deflection + shear_deflection")
    ]
    deflection_share: Annotated[
        float,
        Q(
            "%",
            "Deflection as a share of the span",
            usual=Range(most=2, why="the theory is for small deflections: change panel or span"),
            safe="up",
            rule="deflection / span * 100 %",
        ),
    ]
    span_ratio: Annotated[
        float,
        Q(
            "",
            "Span over thickness",
            usual=Range(least=10, why="so short a span is a block, not a strip that bends"),
            rule="span / thickness",
        ),
    ]
    face_stress: Annotated[
        float,
        Q(
            "psi",
            "Stress in the faces at mid-span, mean",
            safe="up",
            rule=f"pressure * span ^ 2 / (8 * face_thickness * {_D}) in psi",
        ),
    ]
    outer_stress: Annotated[
        float,
        Q(
            "psi",
            "Stress at mid-span, outside of the faces",
            safe="up",
            rule="pressure * span ^ 2 / 8 * face_modulus * thickness / 2 / stiffness in psi",
        ),
    ]
    core_shear: Annotated[
        float,
        Q("psi", "Shear in the core at the supports", safe="up", rule=f"pressure * span / (2 * {_D}) in psi"),
    ]
    areal_mass: Annotated[
        float,
        Q(
            "lb/ft^2",
            "Mass of each square foot",
            safe="up",
            rule="2 * face_thickness * face_density + core_thickness * core_density in lb/ft^2",
        ),
    ]
    solid_thickness: Annotated[
        float, Q("in", "Solid laminate of the same mass, thickness", rule="areal_mass / face_density in in")
    ]
    solid_deflection: Annotated[
        float,
        Q(
            "in",
            "Solid laminate of the same mass, deflection",
            method="the same strip under the same pressure, by bending alone, with face_modulus",
        ),
    ]
    stiffer_by: Annotated[
        float,
        Q(
            "",
            "Stiffer than solid of the same mass, times",
            safe="down",
            rule="solid_deflection / deflection",
        ),
    ]


@calculator(
    cautions=[
        NOT_SCANTLINGS,
        Caution(
            "warning",
            "Faces can wrinkle or come off the core, and a core can shear, crush or tire, below any stress"
            " told here. A foot, a cleat or a trailer's bunk is no uniform pressure.",
        ),
        Caution("warning", "Under every fitting that sees load, solid laminate stands in place of the core."),
        Caution(
            "notice",
            "A foam core loses stiffness as it warms: under a dark deck in the sun the sag is greater. Give"
            " the shear modulus at that temperature.",
        ),
    ],
    sources=[
        Source(
            "theory of sandwich beams, handbook",
            "equal faces about the middle and each about itself, no core in E I; shear stiffness G d^2 / c;"
            " a simple span under uniform pressure",
            "memory",
        ),
        Source("data sheets or test panels", "moduli and densities of laminate and core", "maker's"),
        Source(
            "common practice, no source",
            "solid laminate in place of core under every fitting that sees load; moduli and densities that"
            " are usual",
            "memory",
        ),
    ],
    example={
        "face_thickness": "0.10 in",
        "face_modulus": "2200000 psi",
        "face_density": "115 lb/ft^3",
        "core_thickness": "3/4 in",
        "core_shear_modulus": "4000 psi",
        "core_density": "6 lb/ft^3",
        "span": "18 in",
        "pressure": "1.5 psi",
    },
    use="to see what a core does for a sole, a deck or a hatch lid, and how much of the sag is the core's"
    " shear, before a test panel is laid up.",
    not_for=NOT_FOR_SCANTLINGS + " Nor for unequal faces, point loads, slamming, or a panel that is held fast"
    " or curved.",
    draws=draw_panel,
)
def sandwich_panel(
    face_thickness: Annotated[
        float, Q("in", "Thickness of each face", valid=POSITIVE, note="both alike, as cured")
    ],
    face_modulus: Annotated[
        float,
        Q(
            "psi",
            "Modulus of the faces along the span",
            valid=POSITIVE,
            usual=Range(5e5, 2e7, "glass laminates have 1 to 4 million psi, carbon up to 20: see the unit"),
            note="the lower of tension and compression",
        ),
    ],
    face_density: Annotated[
        float,
        Q(
            "lb/ft^3",
            "Density of the faces",
            valid=POSITIVE,
            usual=Range(75, 135, "laminates of glass or carbon have 85 to 125 lb/ft^3"),
        ),
    ],
    core_thickness: Annotated[float, Q("in", "Thickness of the core", valid=POSITIVE)],
    core_shear_modulus: Annotated[
        float,
        Q(
            "psi",
            "Shear modulus of the core",
            valid=POSITIVE,
            usual=Range(500, 50000, "foams have 1000 to 10000 psi, balsa more: see the unit"),
            note="as hot as the panel gets, along the span",
        ),
    ],
    core_density: Annotated[
        float,
        Q(
            "lb/ft^3",
            "Density of the core",
            valid=POSITIVE,
            usual=Range(2, 25, "foams have 3 to 13 lb/ft^3, balsa 6 to 16"),
            note="with the resin that its cuts, holes and faces take up",
        ),
    ],
    span: Annotated[float, Q("in", "Span between supports", valid=POSITIVE, note="the shorter way")],
    pressure: Annotated[float, Q("psi", "Uniform pressure", valid=POSITIVE, note="from the designer")],
) -> SandwichPanel:
    """Stiffness and deflection of a cored panel strip against a solid laminate of the same mass.

    The strip lies on two supports, free to turn. The faces bend about the middle of the panel and about their
    own middles; the core bends nothing and carries the shear, with a stiffness of G d^2 / c where d is from
    middle to middle of the faces. Stiffer means less deflection, shear included; the solid laminate, whose
    shear is next to nothing, only bends. A panel held on four sides sags less.

    >>> sandwich_panel(0.25, 2e6, 115, 0.75, 4500, 6, 24, 2).deflection
    0.0578547
    """
    centres = face_thickness + core_thickness
    thickness = centres + face_thickness
    stiffness = face_modulus * (face_thickness * centres**2 / 2 + face_thickness**3 / 6)
    moment = pressure * span**2 / 8
    bending = _sag(pressure, span, stiffness)
    shear = moment * core_thickness / (core_shear_modulus * centres**2)
    areal_mass = 2 * face_thickness * face_density + core_thickness * core_density
    solid_thickness = areal_mass / face_density
    solid_deflection = _sag(pressure, span, face_modulus * solid_thickness**3 / 12)
    return SandwichPanel(
        thickness=thickness,
        stiffness=stiffness,
        bending_deflection=bending,
        shear_deflection=shear,
        deflection=bending + shear,
        deflection_share=100 * (bending + shear) / span,
        span_ratio=span / thickness,
        face_stress=moment / (face_thickness * centres),
        outer_stress=moment * face_modulus * thickness / 2 / stiffness,
        core_shear=pressure * span / (2 * centres),
        areal_mass=areal_mass / IN_PER_FT,
        solid_thickness=solid_thickness,
        solid_deflection=solid_deflection,
        stiffer_by=solid_deflection / (bending + shear),
    )


def _sag(pressure: float, span: float, stiffness: float) -> float:
    """Return how far a simple span sags at its middle by bending."""
    return 5 * pressure * span**4 / (384 * stiffness)
