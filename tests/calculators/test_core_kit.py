"""A kit of core: its labels against plain sets, its sheets against exact fractions and drawn boxes."""

from __future__ import annotations

import re
from fractions import Fraction
from itertools import product
from math import ceil
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import constants
from shapely import box

from kb.calculators.declare import Calculator
from kb.calculators.work import Worked, work
from kb.problem import BookError
from kb_calculators.laminate.core_kit import CoreKit, Piece, core_kit

KIT = {
    "pieces": "[[B-1, 40 in, 22 in], [B-2, 46 in, 24 in]]",
    "sheet_length": "96 in",
    "sheet_width": "48 in",
    "thickness": "3/4 in",
    "density": "5 lb/ft^3",
}

prefixes = st.sampled_from(["", "B", "S", "D2", "D10"])
numbers = st.integers(0, 30)
labels = st.lists(st.tuples(prefixes, numbers), min_size=1, max_size=25)
sides = st.integers(1, 120)


def kit(*pieces: Piece, length: float = 96, width: float = 48, **more: Any) -> CoreKit:
    return core_kit(pieces, length, width, thickness=0.75, density=5, **more)


def labelled(*texts: str, **more: Any) -> CoreKit:
    return kit(*(Piece(text, 12, 6) for text in texts), **more)


def worked(pieces: str, **more: str) -> Worked:
    return work(Calculator.of(core_kit), {**KIT, "pieces": pieces, **more})


def verdicts(found: Worked) -> dict[str, str]:
    return {judged.name: judged.verdict for judged in found.limits}


def spelled_out(text: str) -> set[tuple[str, int]]:
    """Return every label of a text such as `B-2, B-4 to B-6`."""
    found = set()
    for part in filter(None, text.split(", ")):
        ends = [re.fullmatch(r"(?:(.+)-)?(\d+)", end) for end in part.split(" to ")]
        first, last = ends[0], ends[-1]
        assert first is not None
        assert last is not None
        assert first[1] == last[1]
        found |= {(first[1] or "", number) for number in range(int(first[2]), int(last[2]) + 1)}
    return found


def written(prefix: str, number: int) -> str:
    return f"{prefix}-{number}"


@given(labels)
def test_missing_and_doubled_are_what_sets_and_counts_say(given_labels: list[tuple[str, int]]) -> None:
    found = labelled(*(written(*label) for label in given_labels))
    runs = {prefix: {n for p, n in given_labels if p == prefix} for prefix, _ in given_labels}
    lacking = {
        (prefix, number)
        for prefix, run in runs.items()
        for number in range(min(run), max(run))
        if number not in run
    }

    assert spelled_out(found.missing) == lacking
    assert spelled_out(found.doubled) == {one for one in given_labels if given_labels.count(one) > 1}


@given(labels, st.integers(0, 10))
def test_with_a_first_number_a_run_lacks_what_is_below_its_least_too(
    given_labels: list[tuple[str, int]], first: int
) -> None:
    texts = [written(*label) for label in given_labels]
    more = spelled_out(labelled(*texts, first_number=first).missing)
    least = {prefix: min(n for p, n in given_labels if p == prefix) for prefix, _ in given_labels}

    assert more - spelled_out(labelled(*texts).missing) == {
        (prefix, number) for prefix, start in least.items() for number in range(first, start)
    }


@given(labels)
def test_the_lay_order_is_run_by_run_and_by_number(given_labels: list[tuple[str, int]]) -> None:
    found = labelled(*(written(*label) for label in given_labels))
    by_hand = ["", "B", "D2", "D10", "S"]
    expected = sorted(given_labels, key=lambda one: (by_hand.index(one[0]), one[1]))

    assert [row.label for row in found.order] == [written(*label) for label in expected]
    assert [row.place for row in found.order] == list(range(1, len(given_labels) + 1))


@pytest.mark.parametrize("other", ["B-12", "b12", " B 12 ", "B–12", "B - 12", "b_012", "B−12"])
def test_spelling_makes_no_other_label(other: str) -> None:
    assert labelled("B-12", other).doubled == "B-12"


@pytest.mark.parametrize("other", ["D27", "D-27", "E2-7", "2-7", "7"])
def test_another_run_or_number_is_another_label(other: str) -> None:
    assert labelled("D2-7", other).doubled == ""


def test_like_pieces_under_one_label_double_nothing() -> None:
    assert kit(Piece("B-1", 12, 6, 4), Piece("B-2", 12, 6)).doubled == ""


def test_a_gap_of_millions_is_told_in_one_line() -> None:
    assert labelled("B-1", "B-99999999").missing == "B-2 to B-99999998"


@given(sides, sides, st.integers(1, 9), st.integers(50, 100))
def test_sheets_are_counted_as_in_exact_fractions(length: int, width: int, count: int, nesting: int) -> None:
    found = kit(Piece("B-1", length, width, count), nesting=nesting)
    by_area = ceil(Fraction(length * width * count, 96 * 48) / Fraction(nesting, 100))

    assert found.sheets == max(by_area, found.alone)
    assert found.area == pytest.approx(length * width * count / 144)
    assert found.mass * constants.lb == pytest.approx(
        length * width * count * 0.75 * constants.inch**3 * 5 * constants.lb / constants.foot**3, rel=1e-9
    )


@given(sides, sides)
def test_a_piece_takes_a_sheet_when_no_two_boxes_of_it_lie_apart(length: int, width: int) -> None:
    found = kit(Piece("B-1", length, width))
    ways = [way for way in ((length, width), (width, length)) if way[0] <= 96 and way[1] <= 48]
    apart = any(
        box(0, 0, *one).intersection(box(96 - other[0], 48 - other[1], 96, 48)).area == 0
        for one, other in product(ways, ways)
    )

    assert (found.oversize == "B-1") == (not ways)
    assert found.alone == (1 if ways and not apart else 0)


@given(st.lists(st.tuples(sides, sides), min_size=1, max_size=12), st.floats(0.1, 10))
def test_a_kit_drawn_to_another_scale_takes_the_same_sheets(
    drawn: list[tuple[int, int]], scale: float
) -> None:
    rows = [Piece(f"B-{i}", *sizes) for i, sizes in enumerate(drawn)]
    one = kit(*rows)
    same = kit(
        *(row._replace(length=row.length * scale, width=row.width * scale) for row in rows),
        length=96 * scale,
        width=48 * scale,
    )

    assert (same.sheets, same.alone, same.oversize) == (one.sheets, one.alone, one.oversize)


@given(st.lists(st.tuples(sides, sides), min_size=1, max_size=12), sides, sides, st.floats(20, 100))
def test_one_more_piece_or_a_worse_nest_never_takes_fewer_sheets(
    drawn: list[tuple[int, int]], length: int, width: int, nesting: float
) -> None:
    rows = [Piece(f"B-{i}", *sizes) for i, sizes in enumerate(drawn)]

    assert kit(*rows, Piece("C-1", length, width)).sheets >= kit(*rows).sheets
    assert kit(*rows, nesting=nesting).sheets >= kit(*rows, nesting=100).sheets


def test_sheets_that_are_just_full_are_no_sheet_more() -> None:
    row = Piece("B-1", 24, 24, 7)  # seven eighths of a sheet

    assert kit(row, nesting=87.5).sheets == 1
    assert kit(row, nesting=87.4999).sheets == 2
    assert kit(row._replace(length=1e-6, width=1e-6)).sheets == 1


@pytest.mark.parametrize(
    ("size", "verdict"),
    [
        ("96 in, 48 in", "within"),
        ("4 ft, 8 ft", "within"),
        ("2438.4 mm, 1219.2 mm", "within"),
        ("96.001 in, 1 in", "outside"),
        ("48.001 in, 48.001 in", "outside"),
    ],
)
def test_the_oversize_limit_flips_at_the_size_of_a_sheet(size: str, verdict: str) -> None:
    assert verdicts(worked(f"[[B-1, {size}]]"))["oversize"] == verdict


@pytest.mark.parametrize(
    ("names", "missing", "doubled"),
    [
        ("B-1 B-2 B-3", "within", "within"),
        ("B-3 B-1 B-2", "within", "within"),
        ("B-1 B-3", "outside", "within"),
        ("B-1 B-2 b2", "within", "outside"),
        ("B-1 B-3 B-1", "outside", "outside"),
        ("B-4 S-9", "within", "within"),
    ],
)
def test_the_label_limits_flip_with_the_first_gap_and_the_first_double(
    names: str, missing: str, doubled: str
) -> None:
    found = verdicts(worked("[" + ", ".join(f"[{one}, 12 in, 6 in]" for one in names.split()) + "]"))

    assert (found["missing"], found["doubled"]) == (missing, doubled)


def test_a_run_without_its_first_piece_is_seen_only_with_a_first_number() -> None:
    assert verdicts(worked("[[B-2, 12 in, 6 in]]"))["missing"] == "within"
    assert verdicts(worked("[[B-2, 12 in, 6 in]]", first_number="1"))["missing"] == "outside"


@pytest.mark.parametrize("label", ["keel", "B-", "B-12A", "B" * 40 + "1", "B-1234567890x"])
def test_a_label_without_a_number_at_its_end_is_refused(label: str) -> None:
    with pytest.raises(BookError) as refused:
        worked(f"[[B-1, 12 in, 6 in], [{label}, 12 in, 6 in]]")

    (problem,) = refused.value.problems
    assert "pieces have the label" in problem.what
    assert "in row 2" in problem.what
    assert "B-12" in problem.fix


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ({"pieces": "[[B-1, 0 in, 6 in]]"}, "length = 0 in cannot be"),
        ({"pieces": "[[B-1, 6 in, -6 in]]"}, "width = -6 in cannot be"),
        ({"pieces": "[[B-1, 6 in, 6 in, 0]]"}, "count = 0 cannot be"),
        ({"sheet_length": "0 in"}, "sheet_length = 0 in"),
        ({"sheet_width": "-1 in"}, "sheet_width = -1 in"),
        ({"thickness": "0 in"}, "thickness = 0 in"),
        ({"density": "0 lb/ft^3"}, "density = 0 lb/ft^3"),
        ({"nesting": "0 %"}, "nesting = 0 %"),
        ({"nesting": "101 %"}, "nesting = 101 %"),
        ({"first_number": "-1"}, "first_number = -1"),
    ],
)
def test_what_cannot_be_is_refused_by_name(given: dict[str, str], said: str) -> None:
    with pytest.raises(BookError) as refused:
        work(Calculator.of(core_kit), {**KIT, **given})

    (problem,) = refused.value.problems
    assert said in problem.what
    assert problem.fix
