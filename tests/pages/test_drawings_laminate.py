"""Drawings of laminates, kits, infusions, bonds and fill lines against closed forms, and of any input."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from math import atan, cos, hypot, radians, sin, sqrt, tan
from typing import TYPE_CHECKING, Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kb import NoAnswer
from kb.calculators.declare import Calculator
from kb.calculators.door import Outcome
from kb.calculators.draw import draw
from kb.calculators.work import work
from kb.drawing import (
    Chart,
    Dimension,
    Drawing,
    Hatch,
    Leader,
    Liquid,
    Note,
    Outline,
    View,
    Words,
    parts,
)
from kb.pages.lettering import Bit, Lettering
from kb.pages.plot import plot
from kb.pages.projection import lay_out
from kb_calculators.bonding.area import Run, bonding_area
from kb_calculators.laminate.core_kit import Piece, core_kit
from kb_calculators.laminate.infusion import infusion_fill
from kb_calculators.laminate.plies import Ply
from kb_calculators.laminate.sandwich import sandwich_panel
from kb_calculators.laminate.stack import laminate_stack
from kb_calculators.tanks.fill_line import fill_line
from tests.pages.site_tree import sheet

if TYPE_CHECKING:
    from tests.pages.conftest import BookBuilder

MAT = "{name: mat, kind: fabric, areal_mass: 1.5 oz/ft^2, fibre_density: 100 lb/ft^3, fibre_share: 25 %}"
FOAM = "{name: foam, kind: core, thickness: 1/2 in, density: 5 lb/ft^3, resin_uptake: 2 oz/ft^2}"
BOND = {
    "runs": "[[edge, 10 ft, 1 in]]",
    "thickness": "1/8 in",
    "cartridge": "400 mL",
    "flow": "100 mL/min",
    "guns": "2",
    "open_time": "20 min",
    "shear_strength": "1000 psi",
    "waste": "0 %",
    "change_time": "0 min",
}
HOSE = {
    "bore": "1 1/2 in",
    "outside_diameter": "2 in",
    "hose_mass": "0.6 lb/ft",
    "bending_stiffness": "480 lbf*in^2",
    "liquid_density": "6 lb/gal",
    "run": "60 in",
    "drop": "4 in",
    "spacing": "12 in",
}
ANY = settings(deadline=None, max_examples=50)


def drawn(function: Any, **texts: str) -> Any:
    """Draw a calculator's example with some of its values given otherwise."""
    calculator = Calculator.of(function)
    return draw(calculator, work(calculator, {**calculator.example, **texts}).outcome)


def drawn_of(function: Any, **plain: Any) -> Any:
    """Draw what a calculator gives for plain arguments."""
    return draw(Calculator.of(function), Outcome({}, {}, plain=plain, results=function(**plain)))


def said(words: Words) -> str:
    return "".join(one if isinstance(one, str) else f"{one.size:.4g} {one.unit}" for one in parts(words))


def letters(words: Words) -> Lettering:
    return Lettering(tuple((Bit(line),) for line in said(words).split("\n")))


def of_kind(view: View, kind: Any) -> Any:
    return [one for one in view.items if isinstance(one, kind)]


def room(points: Sequence[tuple[float, float]]) -> tuple[float, float, float, float]:
    xs, ys = [x for x, _ in points], [y for _, y in points]
    return min(xs), min(ys), max(xs), max(ys)


def set_on_paper(picture: Drawing | Chart | NoAnswer) -> None:
    """Set a picture on paper: whatever does not fit there, or is no number, is told by an error."""
    if isinstance(picture, Drawing):
        boxes = [one.box for one in lay_out(picture.views, letters, letters)]
    elif isinstance(picture, Chart):
        boxes = [plot(picture, letters, lambda size, _, decimals: Bit(f"{size:.{decimals}f}"), Bit)[1]]
    else:
        assert picture.why
        return
    for box in boxes:
        assert all(abs(edge) < 1e5 for edge in box)


# ---- laminate_stack


def test_plies_lie_on_one_another_as_thick_as_fibre_and_share_make_them() -> None:
    view = drawn(laminate_stack, plies=f"[{MAT}, {FOAM}, {MAT}]").views[0]

    # 1.5 oz/ft^2 over 16 oz/lb, over 100 lb/ft^3 and a quarter: 0.00375 ft.
    mat = 1.5 / 16 / (100 * 0.25) * 12
    bands = [room(one.points) for one in view.items if isinstance(one, Hatch | Outline)]
    edges = [0, mat, mat + 0.5, 2 * mat + 0.5]
    assert [(low, high) for _, low, _, high in bands] == [pytest.approx(pair) for pair in pairwise(edges)]
    assert [len(of_kind(view, kind)) for kind in (Hatch, Outline)] == [2, 1]
    (total,) = of_kind(view, Dimension)
    assert total.last[1] - total.first[1] == pytest.approx(total.value.size) == pytest.approx(edges[-1])


def test_each_ply_is_named_at_its_middle_from_the_mould_up_and_like_ones_once() -> None:
    view = drawn(laminate_stack, plies=f"[{MAT}, {MAT}, {FOAM}]").views[0]

    leaders = of_kind(view, Leader)
    assert [said(one.words) for one in leaders] == ["2 × mat\n0.045 in each", "foam\n0.5 in"]
    assert [one.at[1] for one in leaders] == pytest.approx([0.045, 0.09 + 0.25])
    assert said(view.says).endswith("2 × mat 0.045 in each, foam 0.5 in; 0.59 in in all.")


def test_the_thickness_of_a_single_ply_stands_once() -> None:
    view = drawn(laminate_stack, plies=f"[{FOAM}]").views[0]

    assert [said(one.words) for one in of_kind(view, Leader)] == ["foam"]
    assert [one.value.size for one in of_kind(view, Dimension)] == [0.5]


fabrics = st.builds(
    lambda name, mass, density, share: Ply(name, "fabric", mass, density, share),
    st.text(st.characters(codec="utf-8", exclude_characters="\0"), max_size=60),
    st.floats(0.01, 500),
    st.floats(10, 1000),
    st.floats(1, 90),
)
cores = st.builds(
    lambda thickness: Ply("core", "core", thickness=thickness, density=5, resin_uptake=1),
    st.floats(0.001, 100),
)


@ANY
@given(st.lists(fabrics | cores, min_size=1, max_size=25).map(tuple))
def test_any_stack_is_drawn(plies: tuple[Ply, ...]) -> None:
    set_on_paper(drawn_of(laminate_stack, plies=plies, area=10.0, resin_density=70.0))


# ---- sandwich_panel


def test_panel_and_solid_stand_side_by_side_to_one_scale_and_width() -> None:
    sizes = {"face_thickness": "0.1 in", "core_thickness": "0.8 in", "face_density": "100 lb/ft^3"}
    picture = drawn(sandwich_panel, **sizes, core_density="5 lb/ft^3")
    panel, solid = picture.views

    bands = [room(one.points) for one in (*of_kind(panel, Hatch), *of_kind(panel, Outline))]
    assert [(low, high) for _, low, _, high in bands] == [
        pytest.approx(pair) for pair in ((0, 0.1), (0.9, 1.0), (0.1, 0.9))
    ]
    (block,) = of_kind(solid, Hatch)
    # Two faces are 0.2 in of laminate, and the core weighs what 0.8 * 5 / 100 in of it do.
    assert room(block.points) == pytest.approx((0, 0, bands[0][2], 0.24))
    assert sorted(one.value.size for one in of_kind(panel, Dimension)) == pytest.approx([0.1, 0.8, 1.0])
    for one in (*of_kind(panel, Dimension), *of_kind(solid, Dimension)):
        assert one.last[1] - one.first[1] == pytest.approx(one.value.size)


@ANY
@given(st.floats(1e-3, 10), st.floats(1e-3, 50), st.floats(1, 500), st.floats(0.1, 500))
def test_any_panel_is_drawn(face: float, core: float, dense: float, light: float) -> None:
    set_on_paper(drawn_of(
        sandwich_panel, face_thickness=face, core_thickness=core, face_density=dense, core_density=light,
        face_modulus=2e6, core_shear_modulus=4e3, span=20.0, pressure=1.0,
    ))  # fmt: skip


# ---- core_kit


def boxes_by_name(picture: Drawing) -> dict[str, tuple[float, float, float, float]]:
    """Return each outline of a kit by the words that stand in it or below it."""
    found = {}
    for view in picture.views:
        outlines, notes = of_kind(view, Outline), of_kind(view, Note)
        for one, note in zip(outlines, notes, strict=True):
            found[said(note.words)] = room(one.points)
    return found


def test_pieces_are_drawn_to_their_sizes_in_lay_order_a_row_for_each_run() -> None:
    picture = drawn(core_kit, pieces="[[B-2, 40 in, 20 in], [S-1, 30 in, 24 in, 3], [B-1, 50 in, 10 in]]")
    found = boxes_by_name(picture)

    sizes = {name: (right - left, high - low) for name, (left, low, right, high) in found.items()}
    assert sizes == {
        "B-1": pytest.approx((50, 10)),
        "B-2": pytest.approx((40, 20)),
        "S-1 ×3": pytest.approx((30, 24)),
        "a sheet": pytest.approx((96, 48)),
    }
    assert list(found) == ["B-1", "B-2", "S-1 ×3", "a sheet"]
    assert found["B-1"][2] < found["B-2"][0]
    assert found["B-1"][1] == found["B-2"][1] > found["S-1 ×3"][3]
    assert "B-1 50 in by 10 in, B-2 40 in by 20 in, S-1 ×3 30 in by 24 in." in said(picture.views[0].says)


def test_what_the_labels_lack_and_what_no_sheet_holds_stands_below() -> None:
    picture = drawn(core_kit, pieces="[[B-1, 40 in, 20 in], [B-3, 99 in, 20 in], [b 1, 40 in, 20 in]]")

    assert "Missing: B-2. On more than one row: B-1. Larger than a sheet: B-3." in picture.note


kits = st.lists(
    st.builds(
        Piece,
        st.tuples(st.sampled_from(["B-", "S", "Keel "]), st.integers(0, 120)).map(
            lambda one: f"{one[0]}{one[1]}"
        ),
        st.floats(4, 120),
        st.floats(2, 60),
        st.integers(1, 12),
    ),
    min_size=1,
    max_size=60,
).map(tuple)


@ANY
@given(kits)
def test_pieces_and_labels_of_any_kit_keep_clear_of_one_another(pieces: tuple[Piece, ...]) -> None:
    picture = drawn_of(
        core_kit, pieces=pieces, sheet_length=96.0, sheet_width=48.0, thickness=0.75, density=5.0,
        first_number=None,
    )  # fmt: skip

    papers = lay_out(picture.views, letters, letters)
    drawn_pieces = [one for view in picture.views for one in of_kind(view, Outline) if one.style == "outline"]
    assert len(drawn_pieces) == len(pieces)
    for view, paper in zip(picture.views, papers, strict=True):
        notes = [one for group in paper.ink.groups if group.kind == "words" for one in group.texts]
        rooms = [
            (float(one.x) - one.words.width / 2, float(one.x) + one.words.width / 2, float(one.y))
            for one in notes
        ]
        for i, (left, right, y) in enumerate(rooms):
            assert not any(
                left < far and near < right and abs(y - line) < 14 for near, far, line in rooms[:i]
            )
        shapes = [room(one.points) for one in of_kind(view, Outline)]
        for i, (left, low, right, high) in enumerate(shapes):
            assert not any(
                left < x1 and x0 < right and low < y1 and y0 < high for x0, y0, x1, y1 in shapes[:i]
            )


@ANY
@given(
    st.lists(st.tuples(st.floats(1e-3, 1e4), st.floats(1e-3, 1e4)), min_size=1, max_size=12),
    st.floats(1e-2, 1e4),
    st.floats(1e-2, 1e4),
)
def test_any_kit_is_drawn(sizes: list[tuple[float, float]], long: float, broad: float) -> None:
    pieces = tuple(Piece(f"B-{i}", *one) for i, one in enumerate(sizes))
    set_on_paper(
        drawn_of(core_kit, pieces=pieces, sheet_length=long, sheet_width=broad, thickness=1.0, density=5.0)
    )


# ---- infusion_fill


def test_the_front_comes_as_the_root_of_the_time_and_meets_the_far_edge_at_the_fill_time() -> None:
    chart = drawn(infusion_fill, gel_time="60 min", margin="30 %", flow_length="40 in")

    time, far = chart.works.at
    (curve,), (limit,) = chart.curves, chart.limits
    assert far == 40
    assert [way for _, way in curve.points] == pytest.approx([far * sqrt(t / time) for t, _ in curve.points])
    assert (limit.axis, limit.value.size) == ("x", pytest.approx(42))
    # Darcy's law in SI: the climb of 3 ft takes 3 * 70 / 144 psi.
    drive = 28 * 3386.389 - 3 * 70 / 144 * 6894.757
    assert time * 60 == pytest.approx(0.5 * 0.3 * (40 * 0.0254) ** 2 / (2 * 5e-10 * drive), rel=1e-6)
    assert curve.points[-1][0] > max(time, 42)


def test_resin_that_stops_on_the_way_draws_no_front() -> None:
    picture = drawn(infusion_fill, rise="60 ft")

    assert isinstance(picture, NoAnswer)
    assert "stops" in picture.why


@ANY
@given(
    st.floats(1e-15, 1e-5), st.floats(1, 100), st.floats(0.01, 10), st.floats(0.1, 1000), st.floats(0.1, 30),
    st.floats(0.1, 1000), st.floats(0, 99), st.floats(0, 100),
)  # fmt: skip
def test_any_infusion_is_drawn(
    permeability: float, porosity: float, viscosity: float, way: float, vacuum: float, gel: float,
    margin: float, rise: float,
) -> None:  # fmt: skip
    set_on_paper(drawn_of(
        infusion_fill, permeability=permeability, porosity=porosity, viscosity=viscosity, flow_length=way,
        vacuum=vacuum, gel_time=gel, margin=margin, rise=rise,
    ))  # fmt: skip


# ---- bonding_area


def bond(**more: str) -> Any:
    calculator = Calculator.of(bonding_area)
    return draw(calculator, work(calculator, {**BOND, **more}).outcome)


def test_with_each_number_of_guns_laying_takes_its_part_of_the_time_of_one() -> None:
    chart = bond()

    one_gun = 120 * 0.125 * 2.54**3 / 100  # 15 in^3 in mL, at 100 mL in a minute
    (curve,), (limit,) = chart.curves, chart.limits
    assert curve.points == tuple((n, pytest.approx(one_gun / n)) for n in range(1, 6))
    assert curve.has_dots
    assert chart.works.at == (2, pytest.approx(one_gun / 2))
    assert (limit.axis, limit.value.size) == ("y", pytest.approx(0.8 * 20))


def test_closing_and_changes_of_cartridge_add_to_the_time() -> None:
    runs = "[[edge, 100 ft, 1 in]]"  # 150 in^3 are 2458 mL, 7 cartridges
    plain, slow = bond(runs=runs), bond(runs=runs, closing_time="3 min", change_time="2 min")

    changes = [6, 3, 2, 1, 1]
    for (_, quick), (_, late), some in zip(
        plain.curves[0].points, slow.curves[0].points, changes, strict=True
    ):
        assert late - quick == pytest.approx(3 + 2 * some)
    assert "lay and close" in slow.y.label


@ANY
@given(
    st.lists(st.tuples(st.floats(0.1, 1000), st.floats(0.1, 20)), min_size=1, max_size=5), st.floats(0.01, 3),
    st.floats(10, 3000), st.floats(1, 5000), st.integers(1, 1000), st.floats(1, 500), st.floats(0, 100),
    st.floats(1, 100), st.floats(0, 100), st.floats(30, 150),
)  # fmt: skip
def test_any_bond_is_drawn(
    runs: list[tuple[float, float]], thick: float, cartridge: float, flow: float, guns: int, open_time: float,
    closing: float, use: float, waste: float, temperature: float,
) -> None:  # fmt: skip
    table = tuple(Run("run", *one) for one in runs)
    texts = {
        "thickness": thick, "cartridge": cartridge, "flow": flow, "guns": guns, "open_time": open_time,
        "closing_time": closing, "use_of_open_time": use, "waste": waste, "temperature": temperature,
        "shear_strength": 1000.0,
    }  # fmt: skip
    chart = drawn_of(bonding_area, runs=table, **texts)

    set_on_paper(chart)
    times = [time for _, time in chart.curves[0].points]
    assert all(after <= before for before, after in pairwise(times))
    assert dict(chart.curves[0].points)[guns] == pytest.approx(chart.works.at[1])


def test_dots_of_a_curve_stand_at_its_points(build: BookBuilder) -> None:
    lines = "".join(f"{name}: {text}\n" for name, text in BOND.items())
    page = build({"content/p.md": sheet(f"```calc bonding_area bond\n{lines}```\n")}).page("p.html")
    (svg,) = page.all("svg", "drawn")

    assert len(svg.all("path", "dot")) == 5
    assert "2 guns it takes 1.23 min; the usable open time is 16 min" in svg.one("desc").text


# ---- fill_line


def hose(**more: str) -> Any:
    calculator = Calculator.of(fill_line)
    return draw(calculator, work(calculator, {**HOSE, **more}).outcome)


def test_the_whole_hose_is_to_scale_with_a_support_at_each_spacing() -> None:
    line = hose().views[0]

    body, middle, *supports = of_kind(line, Outline)
    assert middle.style == "centre"
    left, right = body.points[:2]
    assert (right[0] - left[0], left[1] - right[1]) == pytest.approx((60, 4))
    assert hypot(*(a - b for a, b in zip(body.points[1], body.points[2], strict=True))) == pytest.approx(2)
    long = hypot(60, 4)
    ways = [hypot(a - b, c - d) for (a, c), (b, d) in ((one.points[0], body.points[3]) for one in supports)]
    assert ways == pytest.approx([0, 12, 24, 36, 48, 60, long])
    sizes = {one.side: one for one in of_kind(line, Dimension)}
    assert sizes["below"].last[0] - sizes["below"].first[0] == pytest.approx(60)
    assert abs(sizes["left"].last[1] - sizes["left"].first[1]) == pytest.approx(4)
    assert "7  supports 12 in apart\nfalls 0.8 in/ft" in [said(one.words) for one in of_kind(line, Note)]


def span_of(picture: Drawing) -> tuple[View, list[tuple[float, float]], float]:
    """Return the view of a span, the axis of its hose, and how many times heights are enlarged in it."""
    view = picture.views[1]
    axis = max((one.points for one in of_kind(view, Outline) if not one.is_closed), key=len)
    assert isinstance(picture.note, str)
    drawn_times = picture.note.split("heights are drawn ")[1].split(" times")[0]
    return view, list(axis), 1.0 if drawn_times.startswith("as large") else float(drawn_times)


@pytest.mark.parametrize("trim", [0, 1, 3])
def test_the_span_hangs_as_a_beam_does_its_heights_enlarged_as_the_note_says(trim: int) -> None:
    _, axis, times = span_of(hose(worst_trim=f"{trim} deg", creep="1"))

    scale = (axis[-1][0] - axis[0][0]) / 12
    load = 0.6 / 12 + 0.25 * 3.14159265 * 1.5**2 * 6 / 231  # lbf on each inch
    sag = 5 * load * 12**4 / (384 * 480)
    fall = 12 * tan(atan(4 / 60) - radians(trim))
    (_, start), (_, middle), (_, end) = axis[0], axis[len(axis) // 2], axis[-1]
    assert (start - end) / scale / times == pytest.approx(fall)
    assert ((start + end) / 2 - middle) / scale / times == pytest.approx(sag)
    # At a quarter of the span a beam has 57/80 of what it has at its middle.
    quarter = axis[len(axis) // 4]
    assert (0.75 * start + 0.25 * end - quarter[1]) / scale / times == pytest.approx(57 / 80 * sag)


@pytest.mark.parametrize(("spacing", "holds"), [("12 in", False), ("15 1/2 in", False), ("17 in", True)])
def test_liquid_stands_in_a_belly_where_the_limit_of_spacing_is_passed(spacing: str, *, holds: bool) -> None:
    calculator = Calculator.of(fill_line)
    worked = work(calculator, {**HOSE, "spacing": spacing})
    view, axis, _ = span_of(draw(calculator, worked.outcome))  # type: ignore[arg-type]

    assert [one.verdict for one in worked.limits if one.name == "spacing"] == [
        "outside" if holds else "within"
    ]
    bellies = of_kind(view, Liquid)
    assert len(bellies) == holds
    for one in bellies:
        assert one.surface[0][1] == pytest.approx(axis[-1][1])
        assert one.surface[1] == pytest.approx(axis[-1])
    assert ("holds liquid" in said(view.says)) is holds


def test_a_span_whose_shape_is_not_known_is_left_out_and_said_so() -> None:
    deep, steep = hose(spacing="60 in"), hose(run="10 in", drop="40 in")

    assert [len(one.views) for one in (deep, steep)] == [1, 1]
    assert "so deep a sag" in deep.note
    assert "too steep" in steep.note


@ANY
@given(
    st.floats(0.1, 10), st.floats(1.01, 3), st.floats(0, 20), st.floats(0.1, 1e6), st.floats(0.01, 100),
    st.floats(0.1, 1000), st.floats(-1000, 1000) | st.just(0.0), st.floats(0.1, 500), st.floats(0, 30),
)  # fmt: skip
def test_any_hose_is_drawn(
    bore: float, wall: float, mass: float, stiff: float, dense: float, run: float, drop: float,
    spacing: float, trim: float,
) -> None:  # fmt: skip
    picture = drawn_of(
        fill_line, bore=bore, outside_diameter=wall * bore, hose_mass=mass, bending_stiffness=stiff,
        liquid_density=dense, run=run, drop=drop, spacing=spacing, worst_trim=trim,
    )  # fmt: skip

    set_on_paper(picture)
    corners = of_kind(picture.views[0], Outline)[0].points
    turn = atan(drop / run)
    assert corners[0] == pytest.approx(
        (wall * bore / 2 * sin(turn), drop + wall * bore / 2 * cos(turn)), abs=1e-6
    )
