"""The laminate stack: what skins and core come to in thickness, mass and resin, ply by ply."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from kb import NOT_NEGATIVE, POSITIVE, Caution, NoAnswer, Q, Range, Source, calculator
from kb_calculators.conversions import IN3_PER_FT3, ML_PER_IN3, ML_PER_L, OZ_PER_LB
from kb_calculators.laminate.draw_stack import draw_stack
from kb_calculators.laminate.plies import Layer, Ply, layer_of, lb_per_ft2


@dataclass(frozen=True, slots=True)
class LaminateStack:
    """What a laminate comes to, and what to order and to mix for it."""

    thickness: Annotated[
        float,
        Q(
            "in",
            "Thickness of the laminate",
            method="fabric: areal mass over fibre density and fibre share; core as given; summed",
        ),
    ]
    areal_mass: Annotated[
        float,
        Q("lb/ft^2", "Areal mass, cured", safe="up", method="fabric, core and their resin, summed"),
    ]
    total_mass: Annotated[
        float, Q("lb", "Mass of the part, no waste", safe="up", rule="areal_mass * area in lb")
    ]
    part_resin: Annotated[
        float,
        Q(
            "lb",
            "Resin in the part, no waste",
            safe="up",
            method="resin between the fibres of every fabric and in the faces of every core, times area",
        ),
    ]
    fabric_mass: Annotated[
        float,
        Q(
            "lb",
            "Fabric to order, waste in",
            safe="up",
            method="dry areal mass of every fabric, times area, and the waste on top",
        ),
    ]
    resin_to_mix: Annotated[
        float,
        Q(
            "lb",
            "Resin to mix, no waste",
            safe="up",
            rule="part_resin + media_uptake * area + line_volume * resin_density + left_over in lb",
        ),
    ]
    resin_mass: Annotated[
        float,
        Q("lb", "Resin to order, waste in", safe="up", rule="resin_to_mix * (100 % + waste) in lb"),
    ]
    fibre_share: Annotated[
        float | NoAnswer,
        Q(
            "%",
            "Fibre share by mass, skins only",
            usual=Range(
                25,
                76,
                "hand-laid mat has about 28 %, infused stitched glass up to 74 %; more is starved of resin,"
                " less is a slip in the table",
            ),
            method="dry fabric over fabric with its resin; no core, and no resin in the core's faces",
        ),
    ]
    stack: Annotated[tuple[Layer, ...], Q("", "Stack, in the order of the table")]


@calculator(
    cautions=[
        Caution(
            "danger",
            "Styrene vapour burns, and it is heavier than air: it fills hull and mould. It dulls the wits"
            " before the nose gives up. Move the air, no spark or flame, a mask with organic-vapour"
            " cartridges.",
            hazard="styrene",
        ),
        Caution(
            "warning",
            "What is to be mixed in all is not one batch. Resin left in a bucket runs away hot, smokes and"
            " can set fire to what stands by it; batches follow the pot life.",
        ),
        Caution(
            "warning",
            "Glass dust gets into lungs, eyes and skin when fabric is cut and laminate is ground. Extraction,"
            " dust mask, goggles, long sleeves and gloves.",
            hazard="dust",
        ),
        Caution(
            "warning",
            "Mass and resin only: this says nothing of strength. The stack is set by a qualified designer.",
        ),
        Caution(
            "notice",
            "Mat is sold by oz/ft^2, cloth by oz/yd^2, nine times apart. A 1708 is two plies: 17 oz/yd^2 of"
            " cloth and 0.75 oz/ft^2 of mat, not 25 oz/yd^2.",
        ),
    ],
    sources=[
        Source(
            "rule of mixtures",
            "ply thickness from areal mass, fibre density and fibre share; resin fills the rest, no voids",
            "memory",
        ),
        Source(
            "handbook values for laminates",
            "fibre share by volume: infused stitched glass 45 to 55 %, hand lay-up 33 to 40 %, mat 15 to"
            " 20 %; E-glass about 160 lb/ft^3",
            "memory",
        ),
        Source(
            "common practice, no source",
            "core faces take 0.66 to 1.3 oz/ft^2 each, more where coarse, cut or perforated; waste of 10 %",
            "memory",
        ),
        Source(
            "data sheets of fabric, core and resin",
            "areal mass, densities; uptake from a weighed trial piece",
            "maker's",
        ),
    ],
    example={
        "plies": "[{name: outer mat, kind: fabric, areal_mass: 1.5 oz/ft^2, fibre_density: 160 lb/ft^3,"
        " fibre_share: 18 %}, {name: outer biaxial, kind: fabric, areal_mass: 24 oz/yd^2,"
        " fibre_density: 160 lb/ft^3, fibre_share: 50 %}, {name: foam, kind: core, thickness: 3/4 in,"
        " density: 5 lb/ft^3, resin_uptake: 2.2 oz/ft^2}, {name: inner biaxial, kind: fabric,"
        " areal_mass: 24 oz/yd^2, fibre_density: 160 lb/ft^3, fibre_share: 50 %}]",
        "area": "190 ft^2",
        "resin_density": "70 lb/ft^3",
        "media_uptake": "1.6 oz/ft^2",
        "line_volume": "3 L",
        "left_over": "6 lb",
    },
    use="before fabric, core and resin are ordered, and again when resin is weighed out for the part.",
    not_for="scantlings, or batches and gel times: those are the designer's and resin_mix.",
    draws=draw_stack,
)
def laminate_stack(
    plies: Annotated[
        tuple[Ply, ...],
        Q(
            "",
            "Plies, from the mould up",
            note="kind fabric: areal_mass (dry), fibre_density, fibre_share (by volume);"
            " kind core: thickness, density (dry), resin_uptake (both faces together)",
        ),
    ],
    area: Annotated[
        float, Q("ft^2", "Area of the part", valid=POSITIVE, note="along the surface, flanges included")
    ],
    resin_density: Annotated[
        float,
        Q(
            "lb/ft^3",
            "Density of the cured resin",
            valid=POSITIVE,
            usual=Range(66, 78, "cured resins have 70 to 77 lb/ft^3; is it filled, or another unit?"),
        ),
    ],
    waste: Annotated[
        float,
        Q(
            "%",
            "Waste",
            valid=NOT_NEGATIVE,
            note="off-cuts, laps, buckets, brushes; once on what is ordered",
        ),
    ] = 10.0,
    media_uptake: Annotated[
        float,
        Q(
            "oz/ft^2",
            "Resin that flow media and peel ply keep",
            valid=NOT_NEGATIVE,
            note="weigh a trial piece",
        ),
    ] = 0.0,
    line_volume: Annotated[
        float, Q("L", "Volume of feed and vacuum lines that fill", valid=NOT_NEGATIVE)
    ] = 0.0,
    left_over: Annotated[
        float,
        Q("lb", "Resin left in bucket and trap", valid=NOT_NEGATIVE, note="so that no line draws air"),
    ] = 0.0,
) -> LaminateStack:
    """Thickness, mass, resin and take-off of a laminate, ply by ply, skins and core.

    A fabric of dry areal mass w is t = w / (fibre density * fibre share) thick, and resin fills the rest of
    t. A core is as thick as it is and takes its resin in both faces. What is mixed is the resin of part,
    media and lines and what stays over; what is ordered is that and the waste on top. Fabric laid with an
    overlap counts as the plies that lie there.

    >>> skin = Ply("biaxial", "fabric", 35.392, 159.815, 50)
    >>> laminate_stack((skin,), area=10.7639, resin_density=69.919).thickness
    0.03691
    """
    layers = tuple(layer_of(number, ply, resin_density) for number, ply in enumerate(plies, 1))
    fabric = sum(lb_per_ft2(ply.areal_mass) for ply in plies if ply.areal_mass is not None)
    skins = sum(layer.areal_mass for layer, ply in zip(layers, plies, strict=True) if ply.kind == "fabric")
    areal_mass = sum(layer.areal_mass for layer in layers)
    part_resin = sum(layer.resin for layer in layers) / OZ_PER_LB * area
    lines = line_volume * ML_PER_L / ML_PER_IN3 / IN3_PER_FT3 * resin_density
    resin_to_mix = part_resin + media_uptake / OZ_PER_LB * area + lines + left_over
    return LaminateStack(
        thickness=sum(layer.thickness for layer in layers),
        areal_mass=areal_mass,
        total_mass=areal_mass * area,
        part_resin=part_resin,
        fabric_mass=fabric * area * (1 + waste / 100),
        resin_to_mix=resin_to_mix,
        resin_mass=resin_to_mix * (1 + waste / 100),
        fibre_share=100 * fabric / skins if skins else NoAnswer("no ply is a fabric"),
        stack=layers,
    )
