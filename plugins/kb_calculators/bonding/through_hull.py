"""Through-hulls: where core gives way to solid laminate, and how that stands the proof load."""

from __future__ import annotations

from dataclasses import dataclass
from math import pi
from typing import Annotated

from kb import FALLBACK, NOT_NEGATIVE, POSITIVE, Caution, Limit, Q, Range, Refusal, Source, calculator, pieces
from kb_calculators.bonding.draw_through_hull import draw_through_hull
from kb_calculators.scantlings import NOT_FOR_SCANTLINGS, NOT_SCANTLINGS

_SAME = 1e-9  # thicknesses are equal within this share: what conversion of units leaves behind
_PI = "3.141592653589793"
_EDGE = "min(flange_diameter, backing_diameter)"


@dataclass(frozen=True, slots=True)
class ThroughHull:
    """What is cut, laid up and bedded for a fitting, and what the laminate bears."""

    core_out_diameter: Annotated[
        float,
        Q(
            "in",
            "Solid laminate across",
            safe="up",
            rule="max(flange_diameter, backing_diameter) + 2 * margin",
        ),
    ]
    taper_length: Annotated[
        float, Q("in", "Bevel of the core edge, width", safe="up", rule="taper * core_thickness in in")
    ]
    scarf_length: Annotated[
        float, Q("in", "Scarf of the inner skin, width", safe="up", rule="scarf * inner_skin in in")
    ]
    work_diameter: Annotated[
        float,
        Q(
            "in",
            "Inner skin ground back to, across",
            safe="up",
            rule="core_out_diameter + 2 * (taper_length + scarf_length)",
        ),
    ]
    plies: Annotated[
        int,
        Q(
            "",
            "Plies on the outer skin",
            safe="up",
            rule="ceil((solid_thickness - outer_skin) / ply_thickness)",
        ),
    ]
    sealant: Annotated[
        float,
        Q(
            "in^3",
            "Sealant under the flange and in the bore",
            safe="up",
            rule=f"{_PI} * sealant_thickness * ((flange_diameter ^ 2 - fitting_diameter ^ 2) / 4"
            " + (fitting_diameter + sealant_thickness) * solid_thickness) in in^3",
        ),
    ]
    moment: Annotated[
        float,
        Q("lbf*in", "Moment of the proof load on the laminate", safe="up", rule="proof_load * arm in lbf*in"),
    ]
    shear_stress: Annotated[
        float,
        Q(
            "psi",
            "Shear stress in the laminate at the edge of flange or block",
            safe="up",
            rule=f"(proof_load / {_EDGE} + 4 * moment / {_EDGE} ^ 2) / ({_PI} * solid_thickness) in psi",
        ),
    ]
    factor: Annotated[
        float, Q("", "Factor over the proof load", safe="down", rule="shear_allowable / shear_stress")
    ]


@calculator(
    draws=draw_through_hull,
    limits=[Limit("factor", "factor >= min_factor", "the laminate round the fitting from shearing out")],
    cautions=[
        Caution(
            "danger",
            "A fitting that fails below the waterline sinks the boat. Someone watches it, at launch and"
            " after, before she is left; a plug that fits hangs beside it.",
            hazard="sinking",
        ),
        NOT_SCANTLINGS,
        Caution(
            "warning",
            "Never clamp a fitting on core: core creeps, and once water reaches it, rots or parts from its"
            " skins. Solid laminate stands under all of the flange, the block and the margin round them.",
        ),
        Caution(
            "warning",
            "The dust of laminate and core harms lungs and eyes. Wear a respirator and goggles, with"
            " extraction at the tool.",
            hazard="dust",
        ),
        Caution(
            "caution",
            "Many plies at once run hot and shrink. Lay no more at a time than the resin's maker allows.",
        ),
    ],
    sources=[
        Source(
            "ABYC H-27",
            "500 lbf at the innermost end of a fitting near or below the waterline, worst direction, 30 s",
            "memory",
        ),
        Source(
            "closed-form statics",
            "shear round a stiff flange: even from the pull, and by distance from the tilting axis",
            "memory",
        ),
        Source(
            "common practice, no source",
            "core is removed and solid laminate stands under every fitting that sees load; core edges 3 to 1,"
            " scarfs of glass 12 to 1; a factor of 4 on static shear",
            "memory",
        ),
        Source("the qualified designer", "margin, solid thickness and allowable shear stress", "maker's"),
        Source("the fitting's maker", "sizes, the hole, and the proof of the fitting itself", "maker's"),
    ],
    example={
        "fitting_diameter": "1 5/8 in",
        "flange_diameter": "3 1/4 in",
        "backing_diameter": "4 1/2 in",
        "margin": "3/4 in",
        "core_thickness": "3/4 in",
        "outer_skin": "0.20 in",
        "inner_skin": "0.16 in",
        "ply_thickness": "0.042 in",
        "solid_thickness": "0.60 in",
        "arm": "7 in",
        "shear_allowable": "4000 psi",
    },
    use="before a hole is cut for a through-hull, a transducer or a drain in a cored hull, to mark out the"
    " work and to order plies and sealant.",
    not_for=NOT_FOR_SCANTLINGS + " Nor for the strength of the fitting, its thread or its valve, which its"
    " maker proves, or for struts, rudders and legs.",
)
def through_hull(
    fitting_diameter: Annotated[
        float, Q("in", "Outside diameter of the fitting in the bore", valid=POSITIVE, note="over its thread")
    ],
    flange_diameter: Annotated[
        float, Q("in", "Diameter of the flange", valid=POSITIVE, note="of an oval flange, its least width")
    ],
    margin: Annotated[
        float, Q("in", "Solid laminate beyond flange and block", valid=NOT_NEGATIVE, note="from the designer")
    ],
    core_thickness: Annotated[float, Q("in", "Thickness of the core", valid=POSITIVE)],
    outer_skin: Annotated[float, Q("in", "Outer skin, left in place", valid=POSITIVE)],
    ply_thickness: Annotated[
        float, Q("in", "Thickness of a ply as cured", valid=POSITIVE, note="from a test laminate")
    ],
    solid_thickness: Annotated[
        float, Q("in", "Solid laminate, outer skin and new plies", valid=POSITIVE, note="from the designer")
    ],
    arm: Annotated[
        float, Q("in", "Laminate to the innermost end, valve and tail included", valid=NOT_NEGATIVE)
    ],
    shear_allowable: Annotated[
        float, Q("psi", "Shear strength through the wet laminate", valid=POSITIVE, note="from the designer")
    ],
    inner_skin: Annotated[
        float, Q("in", "Inner skin, cut away and scarfed", valid=POSITIVE, fallback="outer_skin")
    ] = FALLBACK,
    backing_diameter: Annotated[
        float,
        Q(
            "in",
            "Diameter of the backing block inside",
            valid=POSITIVE,
            note="square, across its corners; with no block, the nut's, across its flats",
            fallback="flange_diameter",
        ),
    ] = FALLBACK,
    taper: Annotated[
        float,
        Q(
            "",
            "Bevel of the core edge, run to rise",
            valid=NOT_NEGATIVE,
            usual=Range(least=3, why="cloth bridges a steeper edge and leaves a void"),
        ),
    ] = 3.0,
    scarf: Annotated[
        float,
        Q(
            "",
            "Scarf of the inner skin, run to thickness",
            valid=NOT_NEGATIVE,
            usual=Range(least=12, why="12 is for glass, carbon takes 20 and more"),
        ),
    ] = 12.0,
    sealant_thickness: Annotated[
        float, Q("in", "Sealant under the flange and round the bore", valid=NOT_NEGATIVE)
    ] = 0.0625,
    proof_load: Annotated[
        float,
        Q(
            "lbf",
            "Proof load on the innermost end",
            valid=POSITIVE,
            usual=Range(least=500, why="ABYC H-27 proves a fitting near or below the waterline with 500 lbf"),
        ),
    ] = 500.0,
    min_factor: Annotated[float, Q("", "Least factor over the proof load", valid=Range(1))] = 4.0,
) -> ThroughHull:
    """Core cut-out, solid laminate and sealant for a fitting through a cored hull, and the laminate's stress.

    Core comes out under the larger of flange and backing block and the margin round it; its edge is bevelled
    from there on, and the inner skin beyond the bevel is scarfed over its own thickness, so that the new
    plies lie on both. Sealant is the ring under the flange and the sleeve of the same thickness round the
    fitting, as deep as the solid laminate; none is counted for the block or for what squeezes out.

    The stress adds the worst of the pull, F / (pi d t), and of the tilting, M / (pi r^2 t), on the ring at
    the edge of the smaller of flange and block, both taken as stiff, as if the load did both in full.

    >>> through_hull(1.5, 3.5, 0.5, 0.75, 0.25, 0.05, 0.5, 0, 400, 0.25, 3.5).shear_stress
    90.94568
    """
    hole = fitting_diameter + 2 * sealant_thickness
    for name, clamp in (("flange_diameter", flange_diameter), ("backing_diameter", backing_diameter)):
        if clamp <= hole:
            raise Refusal(name, "does not cover the hole", f"give more than {hole:g} in")
    if solid_thickness < outer_skin * (1 - _SAME):
        raise Refusal(
            "solid_thickness", "is thinner than the outer skin that stays", f"give {outer_skin:g} in or more"
        )
    moment = proof_load * arm
    edge = min(flange_diameter, backing_diameter)
    shear_stress = (proof_load / edge + 4 * moment / edge**2) / (pi * solid_thickness)
    under_flange = pi / 4 * (flange_diameter**2 - fitting_diameter**2) * sealant_thickness
    in_bore = pi * (fitting_diameter + sealant_thickness) * sealant_thickness * solid_thickness
    core_out_diameter = max(flange_diameter, backing_diameter) + 2 * margin
    taper_length, scarf_length = taper * core_thickness, scarf * inner_skin
    return ThroughHull(
        core_out_diameter=core_out_diameter,
        taper_length=taper_length,
        scarf_length=scarf_length,
        work_diameter=core_out_diameter + 2 * (taper_length + scarf_length),
        plies=max(pieces((solid_thickness - outer_skin) / ply_thickness), 0),
        sealant=under_flange + in_bore,
        moment=moment,
        shear_stress=shear_stress,
        factor=shear_allowable / shear_stress,
    )
