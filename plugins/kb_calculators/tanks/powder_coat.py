"""Powder coating: how much powder a tank or a part takes."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from kb import POSITIVE, Caution, Q, Range, Source, calculator

COVERAGE_FT2_MIL_PER_LB = 192.3  # of the trade, for specific gravity 1


@dataclass(frozen=True, slots=True)
class PowderCoat:
    """How far powder goes, and how much to have."""

    coverage: Annotated[
        float,
        Q(
            "ft^2/lb",
            "Area that a pound covers",
            safe="down",
            rule="192.3 ft^2*mil/lb / (specific_gravity * thickness) * transfer in ft^2/lb",
        ),
    ]
    powder: Annotated[float, Q("lb", "Powder for all coats", safe="up", rule="area * coats / coverage in lb")]


@calculator(
    cautions=[
        Caution(
            "danger",
            "Powder in the air explodes at one spark. Spray only in a booth with its fan running; ground"
            " part, hook, gun and yourself; never blow powder about with air, and clean up as you go.",
        ),
        Caution(
            "danger",
            "A tank that held fuel never goes into the oven, however well it was washed: fuel stays in seams,"
            " baffles and fittings, and its vapour explodes.",
        ),
        Caution(
            "warning",
            "A closed tank or tube can burst in the oven. Leave an opening into every hollow.",
        ),
        Caution(
            "warning",
            "Oven, rack and part burn skin long after they come out, and hot powder gives off fumes. Wear"
            " gloves for heat; vent the oven outdoors. Wear a dust mask, and spray nothing over bare skin.",
        ),
        Caution(
            "caution",
            "Test for leaks before coating: a coat hides a pinhole for a season. Mask ground tabs, threads,"
            " sealing faces and labels, for powder does not conduct.",
        ),
        Caution(
            "caution",
            "The heat of curing takes strength from some tempers of aluminium. Ask the maker of the metal.",
        ),
    ],
    sources=[
        Source(
            "several trade pages",
            "ft^2/lb is 192.3 by transfer efficiency over specific gravity and mil. Of water at 62.43 lb/ft^3"
            " it is 192.2, 0.04 % less",
            "read",
        ),
        Source(
            "common practice, no source",
            "2 to 4 mil for looks, primer from 1.5, to 12 against wear; specific gravity 1.2 to 1.9; 50 to"
            " 70 % of what is sprayed stays on",
            "memory",
        ),
        Source("the powder's data sheet", "specific gravity and film thickness", "maker's"),
    ],
    example={"area": "85 ft^2", "thickness": "3 mil", "specific_gravity": "1.45", "transfer": "60 %"},
    use="before powder is ordered for a new tank or part, and again when the powder or the film changes.",
    not_for="wet paint and gelcoat, nor for a tank that has held fuel: that one goes into no oven.",
)
def powder_coat(
    area: Annotated[
        float, Q("ft^2", "Area to coat", valid=POSITIVE, note="all faces that get powder, edges and tabs too")
    ],
    thickness: Annotated[
        float,
        Q(
            "mil",
            "Film of one coat, cured",
            valid=POSITIVE,
            usual=Range(1.5, 12, "2 to 4 mil is usual for looks, primer from 1.5, against wear up to 12"),
        ),
    ],
    specific_gravity: Annotated[
        float,
        Q(
            "",
            "Specific gravity of the powder",
            valid=POSITIVE,
            usual=Range(1.2, 1.9, "powders have 1.2 to 1.9"),
            note="from its data sheet",
        ),
    ],
    transfer: Annotated[
        float,
        Q(
            "%",
            "Transfer efficiency",
            valid=Range(above=0, most=100),
            usual=Range(50, 95, "50 to 70 % stays on at the first pass, up to 95 % with powder reclaimed"),
            note="share of what is sprayed that stays on the part",
        ),
    ],
    coats: Annotated[int, Q("", "Coats of this film", valid=Range(least=1))] = 1,
) -> PowderCoat:
    """Powder for a tank or part from area, film thickness and transfer efficiency.

    A pound of a powder as dense as water makes a film of 1 mil on 192.3 ft^2, if nothing is lost; a denser
    powder, a thicker film and what blows past make it less.

    >>> powder_coat(area=30, thickness=2, specific_gravity=1.5, transfer=100).coverage
    64.1
    """
    coverage = COVERAGE_FT2_MIL_PER_LB / (specific_gravity * thickness) * transfer / 100
    return PowderCoat(coverage=coverage, powder=area * coats / coverage)
