"""A sandwich drawn: a piece of the panel, and beside it the solid laminate of the same mass."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from kb import Dimension, Drawing, Value, View
from kb_calculators.laminate.strip import bands

if TYPE_CHECKING:
    from kb_calculators.laminate.sandwich import SandwichPanel

_WIDE = 1.2  # the width of each piece, as a share of the panel's thickness


def draw_panel(arguments: Mapping[str, Any], results: SandwichPanel) -> Drawing:
    """Draw the panel and the solid laminate cut through, to the same scale and on the same ground."""
    wide = _WIDE * results.thickness
    face = Value(arguments["face_thickness"], "in", name="face_thickness")
    core = Value(arguments["core_thickness"], "in", name="core_thickness")
    whole = Value(results.thickness, "in", name="thickness")
    solid = Value(results.solid_thickness, "in", name="solid_thickness")
    mass = Value(results.areal_mass, "lb/ft^2", "up", "areal_mass")
    above = face.size + core.size
    panel = View(
        "panel",
        "Sandwich",
        ("The panel cut through: two faces, each ", face, ", on a core of ", core, ", ", whole, " in all."),
        (
            *(band for _, band in bands([(face.size, True), (core.size, False), (face.size, True)], wide)),
            Dimension((wide, above), (wide, results.thickness), "right", face),
            Dimension((wide, face.size), (wide, above), "right", core),
            Dimension((0.0, 0.0), (0.0, results.thickness), "left", whole),
        ),
    )
    beside = View(
        "solid",
        "Solid, same mass",
        (
            "Solid laminate of the same mass, ", solid, " thick. The sandwich is stiffer ",
            Value(results.stiffer_by, "", "down", "stiffer_by"), " times.",
        ),
        (
            *(band for _, band in bands([(solid.size, True)], wide)),
            Dimension((wide, 0.0), (wide, solid.size), "right", solid),
        ),
    )  # fmt: skip
    note = ("Laminate hatched, core clear. Both ", mass, "; thickness to scale, width as it comes. ")
    return Drawing("The panel", (panel, beside), note)
