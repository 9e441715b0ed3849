"""The weight list against numpy and shapely, and what must hold of any list of parts."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
import shapely
from hypothesis import assume, given
from hypothesis import strategies as st

from kb import Refusal
from kb.calculators.declare import Calculator
from kb.calculators.work import work
from kb.problem import BookError
from kb_calculators.weights.weight_sum import Part, weight_sum

masses = st.floats(0.01, 1e5)
places = st.floats(-1000, 1000)
parts = st.builds(Part, st.sampled_from(["hull", "engine", "fuel"]), masses, places, places, places)
lists = st.lists(parts, min_size=1, max_size=6).map(tuple)
triangles = st.lists(st.tuples(places, places), min_size=3, max_size=3)


@given(lists, st.floats(0, 100))
def test_mass_and_centre_are_the_weighted_mean_by_numpy(items: tuple[Part, ...], margin: float) -> None:
    weights = np.array([item.mass for item in items])
    centres = np.array([(item.x, item.y, item.z) for item in items])
    expected = np.average(centres, axis=0, weights=weights)

    found = weight_sum(items, margin)

    assert found.listed == pytest.approx(weights.sum(), rel=1e-12)
    assert found.mass == pytest.approx(weights.sum() * (1 + margin / 100), rel=1e-12)
    assert (found.x, found.y, found.z) == pytest.approx(tuple(expected), rel=1e-9, abs=1e-9)


@given(triangles, masses)
def test_three_equal_masses_balance_at_the_centroid_by_shapely(
    corners: list[tuple[float, float]], mass: float
) -> None:
    triangle = shapely.Polygon(corners)
    assume(triangle.area > 1)

    found = weight_sum(tuple(Part("corner", mass, x, y, 0) for x, y in corners))

    assert (found.x, found.y) == pytest.approx((triangle.centroid.x, triangle.centroid.y), rel=1e-6, abs=1e-6)


@given(lists, st.randoms())
def test_the_order_of_the_list_does_not_matter(items: tuple[Part, ...], random: Any) -> None:
    other = list(items)
    random.shuffle(other)
    one, two = weight_sum(items), weight_sum(tuple(other))

    assert (one.mass, one.x, one.y, one.z) == (two.mass, two.x, two.y, two.z)


@given(lists, lists)
def test_two_lists_together_are_the_same_as_their_sums_as_two_parts(
    items: tuple[Part, ...], more: tuple[Part, ...]
) -> None:
    sums = [weight_sum(items), weight_sum(more)]
    together = weight_sum((*items, *more))
    by_sums = weight_sum(tuple(Part("sum", one.mass, one.x, one.y, one.z) for one in sums))

    for name in ("mass", "x", "y", "z"):
        assert getattr(together, name) == pytest.approx(getattr(by_sums, name), rel=1e-9, abs=1e-7), name


@given(lists, places)
def test_moving_every_part_moves_the_centre_as_far(items: tuple[Part, ...], by: float) -> None:
    moved = weight_sum(tuple(item._replace(x=item.x + by) for item in items))

    assert moved.x == pytest.approx(weight_sum(items).x + by, rel=1e-9, abs=1e-7)
    assert moved.mass == weight_sum(items).mass


@given(lists)
def test_the_centre_lies_among_the_parts(items: tuple[Part, ...]) -> None:
    found = weight_sum(items)
    heights = [item.z for item in items]

    assert min(heights) - 1e-9 <= found.z <= max(heights) + 1e-9


@given(lists, st.floats(0.1, 100))
def test_a_margin_raises_the_mass_and_moves_nothing(items: tuple[Part, ...], margin: float) -> None:
    bare, with_margin = weight_sum(items), weight_sum(items, margin)

    assert with_margin.mass > bare.mass
    assert with_margin.listed == bare.listed
    assert (with_margin.x, with_margin.y, with_margin.z) == (bare.x, bare.y, bare.z)


@given(lists)
def test_the_table_names_every_part_and_its_shares_make_up_the_list(items: tuple[Part, ...]) -> None:
    table = weight_sum(items).parts

    assert [(row.name, row.mass) for row in table] == [(item.name, item.mass) for item in items]
    assert sum(row.share for row in table) == pytest.approx(100)


def test_shares_are_of_the_list_without_its_margin() -> None:
    found = weight_sum((Part("a", 30, 0, 0, 0), Part("b", 10, 0, 0, 0)), margin=50)

    assert [row.share for row in found.parts] == [75, 25]


def test_a_list_that_weighs_nothing_is_refused() -> None:
    with pytest.raises(
        Refusal, match=r"^items weigh nothing together; give one part at least a mass above 0 lb$"
    ):
        weight_sum((Part("a", 0, 1, 1, 1), Part("b", 0, 2, 2, 2)))


@pytest.mark.parametrize("size", [1e-6, 1e6])
def test_very_small_and_very_large_lists_are_summed_as_well(size: float) -> None:
    found = weight_sum((Part("a", 3 * size, 0, 0, 0), Part("b", size, 4 * size, 0, 0)))

    assert found.mass == pytest.approx(4 * size)
    assert found.x == pytest.approx(size)


@pytest.mark.parametrize(
    ("texts", "said"),
    [
        ({"items": "[[a, -1 lb, 0 in, 0 in, 0 in]]"}, "items: mass = -1 lb cannot be"),
        ({"items": "[[a, 1 in, 0 in, 0 in, 0 in]]"}, "mass takes a mass"),
        ({"items": "[{name: a, mass: 1 lb, x: 0 in, y: 0 in}]"}, "items has no column 'z'"),
        ({"margin": "-1 %"}, "margin = -1 %"),
        ({"margin": "101 %"}, "margin = 101 %"),
    ],
)
def test_what_cannot_be_is_refused_by_name(texts: dict[str, str], said: str) -> None:
    with pytest.raises(BookError) as refused:
        work(Calculator.of(weight_sum), {"items": "[[a, 1 lb, 0 in, 0 in, 0 in]]", **texts})

    (problem,) = refused.value.problems
    assert said in problem.what
    assert problem.fix
