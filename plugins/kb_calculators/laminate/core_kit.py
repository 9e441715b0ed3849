"""A kit of core pieces: the sheets it is cut from, the order it is laid in, the labels it must have."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Annotated, NamedTuple

from kb import NOT_NEGATIVE, POSITIVE, Caution, Limit, Q, Range, Source, calculator, pieces
from kb_calculators.conversions import IN2_PER_FT2, IN_PER_FT
from kb_calculators.laminate.draw_kit import draw_kit
from kb_calculators.laminate.labels import gaps, lay_order, listed, read_label

_SAME = 1e-9  # a piece as large as the sheet, but for what conversion of units leaves behind, fits it


class Piece(NamedTuple):
    """One row of the kit's list."""

    label: Annotated[str, Q("", "Label", note="a prefix and a number, such as B-12")]
    length: Annotated[float, Q("in", "Length over all", valid=POSITIVE)]
    width: Annotated[float, Q("in", "Width over all", valid=POSITIVE)]
    # The column is called as shops call it; nobody counts cells with a tuple's own count.
    count: Annotated[int, Q("", "Like pieces of this label", valid=Range(1))] = 1  # type: ignore[assignment]


class Laid(NamedTuple):
    """One row of the lay order."""

    place: Annotated[int, Q("", "Place")]
    label: Annotated[str, Q("", "Label, as written")]
    length: Annotated[float, Q("in", "Length", method="as given")]
    width: Annotated[float, Q("in", "Width", method="as given")]
    pieces: Annotated[int, Q("", "Pieces", method="as given")]


@dataclass(frozen=True, slots=True)
class CoreKit:
    """What a kit of core takes, and whether its labels are whole."""

    area: Annotated[
        float, Q("ft^2", "Area of the pieces", method="length times width times count, summed over the rows")
    ]
    alone: Annotated[
        int,
        Q(
            "",
            "Pieces that take a sheet each",
            safe="up",
            method="pieces that fit a sheet only so that they reach over more than half of it both ways",
        ),
    ]
    sheets: Annotated[
        int,
        Q(
            "",
            "Sheets",
            safe="up",
            rule="max(ceil(area / (sheet_length * sheet_width * nesting)), alone, 1)",
        ),
    ]
    mass: Annotated[
        float,
        Q("lb", "Mass of the dry pieces", safe="up", rule="area * thickness * density in lb"),
    ]
    order: Annotated[tuple[Laid, ...], Q("", "Lay order, run by run and by number")]
    missing: Annotated[str, Q("", "Labels missing")]
    doubled: Annotated[str, Q("", "Labels on more than one row")]
    oversize: Annotated[str, Q("", "Pieces larger than a sheet")]


@calculator(
    limits=[
        Limit("missing", 'missing = ""', "a core without a hole where a piece was lost or never cut"),
        Limit("doubled", 'doubled = ""', "each piece from being laid in another one's place"),
        Limit("oversize", 'oversize = ""', "a piece in one part, with no joint that the drawing lacks"),
    ],
    cautions=[
        Caution(
            "warning",
            "PVC foam cut with a hot wire or burnt gives off acid, poisonous fumes. Cut it with a knife or a"
            " fine saw.",
        ),
        Caution(
            "warning",
            "Saw and sanding dust of core harms the lungs, and hung in the air it can burn. Extraction, dust"
            " mask and goggles; no spark near the dust.",
            hazard="dust",
        ),
        Caution(
            "notice",
            "A piece lost from the end of a run, or a whole run, leaves no gap in the labels. Count the kit"
            " against the cutter's list.",
        ),
        Caution(
            "notice",
            "Sheets go by area: a nest on paper decides. An L or a long taper wastes far more than a box, and"
            " scored core goes one way round only.",
        ),
        Caution(
            "notice",
            "A piece larger than a sheet counts by its area; where it may be joined is the designer's word.",
        ),
    ],
    sources=[
        Source("closed-form geometry", "area and mass of plain pieces", "memory"),
        Source(
            "common practice, no source",
            "85 % of a sheet becomes pieces; no hot wire on PVC foam",
            "memory",
        ),
        Source("the core's data sheet", "size, thickness and density of a sheet", "maker's"),
    ],
    example={
        "pieces": "[[B-1, 40 in, 22 in], [B-2, 46 in, 24 in], [B-3, 46 in, 24 in], [B-4, 30 in, 18 in],"
        " [S-1, 92 in, 14 in, 2], [S-2, 60 in, 20 in, 2], [T-1, 12 in, 6 in, 8]]",
        "sheet_length": "96 in",
        "sheet_width": "48 in",
        "thickness": "3/4 in",
        "density": "5 lb/ft^3",
    },
    use="when a kit of core arrives or is cut, before the first piece is laid.",
    not_for="the nest itself, or the resin that core takes: a drawing of the sheets and laminate_stack do"
    " that.",
    draws=draw_kit,
)
def core_kit(
    pieces: Annotated[
        tuple[Piece, ...],
        Q(
            "",
            "Pieces",
            note="label is a prefix and a number, such as B-12; length and width over all;"
            " count for like pieces that share one label, else 1",
        ),
    ],
    sheet_length: Annotated[float, Q("in", "Length of a sheet", valid=POSITIVE)],
    sheet_width: Annotated[float, Q("in", "Width of a sheet", valid=POSITIVE)],
    thickness: Annotated[float, Q("in", "Thickness of the core", valid=POSITIVE)],
    density: Annotated[
        float,
        Q(
            "lb/ft^3",
            "Density of the dry core",
            valid=POSITIVE,
            usual=Range(2, 20, "foam and balsa have 3 to 16 lb/ft^3; is it per m^3?"),
        ),
    ],
    nesting: Annotated[
        float,
        Q(
            "%",
            "Share of a sheet that becomes pieces",
            valid=Range(most=100, above=0),
            usual=Range(50, 95, "saw cuts and corners take 5 % at least; under half, look at the nest again"),
        ),
    ] = 85.0,
    first_number: Annotated[
        int | None,
        Q(
            "",
            "Number that every run starts at",
            valid=NOT_NEGATIVE,
            note="give 1 where runs are numbered from 1, so that a lost first piece is seen",
            unset="each run starts at the least number it has",
        ),
    ] = None,
) -> CoreKit:
    """Sheets, lay order and label check of a kit of labelled core pieces.

    A label is a prefix and a number; capitals, spaces, dashes and leading zeros make no difference. All
    labels of one prefix are a run. Missing are the numbers that a run lacks between its least and its
    greatest. Doubled are labels on two rows: count is of like pieces and doubles none. Pieces lie square to
    the sheet, lengthwise or crosswise, and sheets are never fewer than pieces that take one each.

    >>> kit = (Piece("B-1", 40, 20), Piece("b 3", 40, 20), Piece("B03", 40, 20), Piece("S1", 97, 10, 2))
    >>> found = core_kit(kit, sheet_length=96, sheet_width=48, thickness=0.75, density=5)
    >>> found.missing, found.doubled, found.oversize, found.sheets
    ('B-2', 'B-3', 'S-1', 2)
    """
    labels = [read_label(piece.label, "pieces", row) for row, piece in enumerate(pieces, 1)]
    by_run = lay_order(labels)
    labelled = sorted(zip(labels, pieces, strict=True), key=lambda one: by_run(one[0]))
    in_order = [label for label, _ in labelled]
    sheet = sheet_length, sheet_width
    area = sum(piece.length * piece.width * piece.count for piece in pieces) / IN2_PER_FT2
    alone = sum(piece.count for piece in pieces if _takes_a_sheet(piece, sheet))
    return CoreKit(
        area=area,
        alone=alone,
        sheets=_sheets(area, alone, sheet_length * sheet_width * nesting / 100 / IN2_PER_FT2),
        mass=area * thickness / IN_PER_FT * density,
        order=tuple(
            Laid(place, piece.label.strip(), piece.length, piece.width, piece.count)
            for place, (_, piece) in enumerate(labelled, 1)
        ),
        missing=", ".join(gaps(in_order, first_number)),
        doubled=listed(label for label, rows in Counter(in_order).items() if rows > 1),
        oversize=listed(label for label, piece in labelled if not any(_ways(piece, sheet))),
    )


def _sheets(area: float, alone: int, used_of_one: float) -> int:
    return max(pieces(area / used_of_one), alone, 1)


def _ways(piece: Piece, sheet: tuple[float, float]) -> Iterator[tuple[float, float]]:
    """Go through the shares of the sheet's length and width that a piece takes, each way that it fits."""
    for along, across in ((piece.length, piece.width), (piece.width, piece.length)):
        if along <= sheet[0] * (1 + _SAME) and across <= sheet[1] * (1 + _SAME):
            yield along / sheet[0], across / sheet[1]


def _takes_a_sheet(piece: Piece, sheet: tuple[float, float]) -> bool:
    """Tell whether a piece covers the sheet's middle however it lies, so that no two share a sheet."""
    ways = list(_ways(piece, sheet))
    return bool(ways) and all(min(way) > (1 + _SAME) / 2 for way in ways)
