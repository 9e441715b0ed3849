"""Drawings: what stands on paper is what the numbers say, read back from the SVG."""

from __future__ import annotations

import re
from collections.abc import Mapping
from math import radians, tan
from typing import TYPE_CHECKING, Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

import kb
from kb.calculators.draw import draw
from kb.calculators.plugins import load_plugins
from kb.calculators.work import work
from kb.drawing import Chart, Dimension, Drawing, Outline, Value, View, Words, parts
from kb.pages.lettering import Bit, Box, Lettering, box_at
from kb.pages.plot import nice
from kb.pages.projection import lay_out
from tests.pages.site_tree import ROOT, Node, Site, dead_ends, markup_faults, sheet

if TYPE_CHECKING:
    from tests.conftest import BookMaker, Command
    from tests.pages.conftest import BookBuilder

NEAR = 0.03  # of a unit on paper, where each end of a line is rounded to a hundredth

TANK = """\
```calc tank_volume tank
section: {{shape: box, width: 40 in, height: 20 in}}
length: 80 in
{more}```
"""
PUMP = """\
```calc pump_capacity pump
curve: [[0 ft, 1000 gph], [10 ft, 0 gph]]
lift: 4 ft
bore: 2 in
hose_length: 0 ft
fitting_losses: 0
voltage: 12 V
curve_voltage: 12 V
needed: 500 gph
```
"""
BILGE = """\
```calc bilge_water well
section: {shape: vee, width: 30 in, height: 6 in, vee_depth: 10 in}
length: 48 in
off_height: 2 in
on_height: 4 in
alarm_height: 8 in
low_wiring: 12 in
max_standing: 90 lb
```
"""
VENT = """\
```calc vent_size vent
bore: 5/8 in
length: 8 ft
fill_rate: 12 gpm
label_pressure: 3 psi
service: water
```
"""
YARD_DRAWS = '''\
from dataclasses import dataclass
from typing import Annotated

from kb import Drawing, NoAnswer, Note, Outline, POSITIVE, Q, Source, View, calculator, hookimpl


@dataclass(frozen=True)
class Board:
    half: Annotated[float, Q("in", "Half", rule="length / 2")]


def draw_board(arguments, results):
    {drawing}


@calculator(sources=[Source("the yard", "boards", "memory")], draws=draw_board)
def board(
    length: Annotated[float, Q("in", "Length", valid=POSITIVE)],
    thick: Annotated[float, Q("in", "Thick")] = 2.0,
) -> Board:
    """Half a board."""
    return Board(length / 2)


@hookimpl
def kb_calculators():
    return (board,)
'''
FLAT = 'Outline(((0, 0), (arguments["length"], 0), (0, arguments["thick"])))'
BOARD = "```calc board plank\nlength: 30 in\n```\n"


def tank(more: str = "") -> str:
    return TANK.format(more=more)


def yard(drawing: str) -> dict[str, str]:
    return {"plugins/boards.py": YARD_DRAWS.format(drawing=drawing), "content/p.md": sheet(BOARD)}


def view(page: Node, name: str) -> Node:
    """Return the SVG of one view, or of a chart, by the id of its title."""
    title = page.by_id(f"drawing.{name}.title")
    assert title.parent is not None
    return title.parent


def points(path: Node) -> list[tuple[float, float]]:
    """Read the corners of a path of straight lines, in whole rounds."""
    sizes = [float(one) for one in re.findall(r"-?\d+(?:\.\d+)?", path.attrs["d"])]
    return list(zip(sizes[::2], sizes[1::2], strict=True))


def dimensions(svg: Node) -> dict[str, tuple[tuple[float, float], tuple[float, float]]]:
    """Return the ends that each dimension is measured between: where its extension lines begin."""
    found = {}
    for group in svg.all("g", "dimension"):
        first, last = (points(one)[0] for one in group.all("path", "extension"))
        found[group.one("text").text] = (first, last)
    return found


def level_length(ends: tuple[tuple[float, float], tuple[float, float]]) -> float:
    return abs(ends[1][0] - ends[0][0])


def upright_length(ends: tuple[tuple[float, float], tuple[float, float]]) -> float:
    return abs(ends[1][1] - ends[0][1])


def axis(svg: Node, name: str) -> tuple[float, float]:
    """Return of an axis where its zero stands on paper, and how many units one of its own takes."""
    group, at = svg.one("g", f"{name}-axis"), 0 if name == "x" else 1
    ticks = [points(path)[1 - at][at] for path in group.all("path", "axis")[1:]]
    sizes = [float(text.text.replace("−", "-")) for text in group.all("text")[:-1]]
    scale = (ticks[-1] - ticks[0]) / (sizes[-1] - sizes[0])
    return ticks[0] - sizes[0] * scale, scale


def ring(svg: Node) -> tuple[float, float]:
    """Return what the operating point says: its place in the units of the axes."""
    path = svg.one("path", "ring").attrs["d"]
    x, y, radius = (float(one) for one in re.findall(r"-?\d+(?:\.\d+)?", path)[:3])
    (x0, across), (y0, up) = axis(svg, "x"), axis(svg, "y")
    return (x - radius - x0) / across, (y - y0) / up


# ---- what stands on paper


def test_the_views_of_a_tank_have_its_sizes_to_one_scale(build: BookBuilder) -> None:
    page = build({"content/p.md": sheet(tank())}).page("p.html")
    section, profile = view(page, "tank.section"), view(page, "tank.profile")

    scale = level_length(dimensions(section)["40"]) / 40
    assert scale > 1
    assert upright_length(dimensions(section)["20"]) / scale == pytest.approx(20, abs=NEAR)
    assert level_length(dimensions(profile)["80"]) / scale == pytest.approx(80, abs=4 * NEAR)
    corners = points(section.all("path", "outline")[0])
    assert sorted((round(x / scale, 1), round(-y / scale, 1)) for x, y in corners) == [
        (-20, 0), (-20, 20), (20, 0), (20, 20),
    ]  # fmt: skip


def test_the_views_of_a_drawing_stand_at_the_same_height(build: BookBuilder) -> None:
    page = build({"content/p.md": sheet(tank())}).page("p.html")
    boxes = [view(page, f"tank.{name}").attrs["viewbox"].split() for name in ("section", "profile")]

    assert boxes[0][1::2] == boxes[1][1::2]


def test_the_levels_of_a_level_box_stand_at_the_quarters_of_its_depth(build: BookBuilder) -> None:
    section = view(build({"content/p.md": sheet(tank())}).page("p.html"), "tank.section")
    scale = level_length(dimensions(section)["40"]) / 40

    heights = sorted(-points(path)[0][1] / scale for path in section.all("path", "surface"))
    assert heights[:3] == pytest.approx([5, 10, 15], abs=NEAR)
    liquid = [-y / scale for _, y in points(section.one("path", "liquid"))]
    assert (min(liquid), max(liquid)) == pytest.approx((0, 10), abs=NEAR)


def test_the_surface_lies_at_the_trim_and_runs_aft_with_the_bow_up(build: BookBuilder) -> None:
    page = build({"content/p.md": sheet(tank("trim: 5 deg\n"))}).page("p.html")
    surfaces = [points(path) for path in view(page, "tank.profile").all("path", "surface")]

    slopes = [(last[1] - first[1]) / (last[0] - first[0]) for first, last in surfaces]
    assert slopes == pytest.approx([tan(radians(5))] * len(slopes), abs=1e-3)
    assert "Trim 5 deg, bow up." in page.one("figcaption").text


def test_the_lettered_dips_are_those_at_which_the_tank_holds_its_quarters(build: BookBuilder) -> None:
    profile = view(build({"content/p.md": sheet(tank())}).page("p.html"), "tank.profile")

    said = [leader.one("text").text for leader in profile.all("g", "leader")]
    assert said == ["full 20.0 in", "¾ 15 in", "½ 10 in", "¼ 5 in"]


@pytest.mark.parametrize(
    "more",
    [
        "wall: 1/4 in\ntrim: 8 deg\nheel: -6 deg\ndip_x: 4 in\n",
        "forward_section: {shape: box, width: 20 in, height: 30 in}\nsizes: inside\nwall: 1/2 in\n",
        "dip_y: 12 in\nheel: 20 deg\ndip_step: 9 in\n",
    ],
    ids=["trimmed", "tapered", "off the middle"],
)
def test_a_tank_of_any_form_is_drawn(build: BookBuilder, more: str) -> None:
    site = build({"content/p.md": sheet(tank(more))})

    assert len(site.page("p.html").all("svg", "drawn")) == 2
    assert markup_faults(site.html("p.html")) == []


def test_a_round_tank_is_as_wide_as_it_is_high(build: BookBuilder) -> None:
    sizes = "section: {shape: round, diameter: 18 in}\nlength: 30 in\nwall: 0.2 in\n"
    body = f"```calc tank_volume pipe\n{sizes}```\n"
    section = view(build({"content/p.md": sheet(body)}).page("p.html"), "pipe.section")
    first, last = dimensions(section)["18"]
    cut = points(section.one("path", "cut"))
    wide = max(x for x, _ in cut) - min(x for x, _ in cut)

    assert max(level_length((first, last)), upright_length((first, last))) == pytest.approx(wide, abs=NEAR)


def test_a_pump_works_where_its_curve_meets_the_lift(build: BookBuilder) -> None:
    chart = view(build({"content/p.md": sheet(PUMP)}).page("p.html"), "pump")

    # By hand: the straight curve gives 1000 × (1 − 4 ÷ 10) = 600 gal/hr against 4 ft; the hose takes nothing.
    assert ring(chart) == pytest.approx((600, 4), rel=2e-3)
    (x0, across), (y0, up) = axis(chart, "x"), axis(chart, "y")
    curve = [((x - x0) / across, (y - y0) / up) for x, y in points(chart.all("path", "curve")[0])]
    assert curve == [pytest.approx((1000, 0), abs=2), pytest.approx((0, 10), abs=0.02)]
    (limit,) = chart.all("path", "bound")
    assert [(x - x0) / across for x, _ in points(limit)] == pytest.approx([500, 500], abs=2)
    assert "needed" in chart.one("g", "bound-name").text
    assert "works at" in chart.one("g", "works").text


def test_a_bilge_has_its_three_waters_at_their_heights(build: BookBuilder) -> None:
    section = view(build({"content/p.md": sheet(BILGE)}).page("p.html"), "well.section")
    scale = upright_length(dimensions(section)["16"]) / 16

    heights = sorted(-points(path)[0][1] / scale for path in section.all("path", "surface"))
    assert heights == pytest.approx([2, 4, 8], abs=NEAR)
    said = " ".join(one.text for one in section.all("text"))
    assert all(word in said for word in ("pump stops", "pump starts", "alarm", "wiring 12 in"))


def test_a_vent_stands_on_its_curve_with_what_is_allowed(build: BookBuilder) -> None:
    page = build({"content/p.md": sheet(VENT)}).page("p.html")
    chart = view(page, "vent")
    bore, pressure = ring(chart)

    shown = page.one(data_number="vent.back_pressure").text.split()
    assert (bore, pressure) == pytest.approx((0.625, float(shown[0])), abs=0.02)
    (_, _), (y0, up) = axis(chart, "x"), axis(chart, "y")
    levels = [points(path) for path in chart.all("path", "bound")]
    level = next(ends for ends in levels if ends[0][1] == ends[1][1])
    assert (level[0][1] - y0) / up == pytest.approx(0.8 * 3, abs=0.02)  # 80 % of the label


def test_every_text_of_the_alternative_holds_the_numbers(build: BookBuilder) -> None:
    page = build({"content/p.md": sheet(tank() + PUMP + BILGE + VENT)}).page("p.html")

    said = {name: view(page, name).one("desc").text for name in ("tank.section", "tank.profile", "pump")}
    assert all(size in said["tank.section"] for size in ("40 in wide", "20 in high"))
    assert "80 in long" in said["tank.profile"]
    assert all(size in said["pump"] for size in ("600 gal/hr", "4", "500 gal/hr"))
    for svg in page.all("svg", "drawn"):
        assert svg.attrs["role"] == "img"
        for kind in ("aria-labelledby", "aria-describedby"):
            assert page.by_id(svg.attrs[kind]).text


def test_a_reader_of_metric_finds_the_other_unit_beside_each_value(build: BookBuilder) -> None:
    page = build({"content/p.md": sheet(tank() + PUMP)}).page("p.html")

    # 40 in are 1016 mm, to three figures 1020.
    sizes = {one.text: one.attrs.get("data-other") for one in view(page, "tank.section").all("tspan")}
    assert sizes["40"] == "1020"
    units = {one.text: one.attrs.get("data-other") for one in view(page, "pump").all("tspan")}
    assert units["gal/hr"] == "L/hr"
    assert units["ft"] == "m"
    assert "mm" in [one.attrs.get("data-other") for one in page.one("figcaption").all("span")]


def test_a_drawing_shows_a_result_as_its_card_does(build: BookBuilder) -> None:
    inputs = {"content/inputs/model.yml": "long: 80 in\ntall: 20 in ± 1/4 in\n"}
    corners = "[[-20 in, 0 in], [20 in, 0 in], [20 in, 20 in], [-20 in, 20 in]]"
    body = f"```calc tank_volume tank\nsection: {corners}\nlength: long\ndip_x: tall\n```\n"
    page = build({**inputs, "content/p.md": sheet(body)}).page("p.html")

    depth = page.one(data_number="tank.depth").text
    leaders = [one.text for one in view(page, "tank.profile").all("g", "leader")]
    assert f"full {depth}" in leaders


def test_the_same_numbers_make_the_same_bytes(build: BookBuilder) -> None:
    files = {"content/p.md": sheet(tank("trim: 3 deg\n") + PUMP + BILGE + VENT)}

    assert build(files).html("p.html") == build(files).html("p.html")


def test_coordinates_have_no_more_than_two_decimals(build: BookBuilder) -> None:
    page = build({"content/p.md": sheet(tank("trim: 3 deg\n") + PUMP + BILGE + VENT)}).page("p.html")

    paths = [path.attrs["d"] for svg in page.all("svg", "drawn") for path in svg.all("path")]
    assert [path for path in paths if re.search(r"\.\d{3}|e|nan|inf", path)] == []


# ---- fences, ids, words


def test_a_drawing_fence_shows_one_view_with_its_caption(build: BookBuilder) -> None:
    body = tank() + "\n```drawing\nof: tank\nview: profile\ncaption: As she lies\n```\n"
    site = build({"content/p.md": sheet(body)})
    page = site.page("p.html")
    figures = page.all("figure", "drawing")

    assert [len(one.all("svg")) for one in figures] == [2, 1]
    assert figures[1].one("figcaption").text.startswith("As she lies")
    assert markup_faults(site.html("p.html")) == []
    assert dead_ends(site) == []


def test_a_drawing_may_stand_on_a_page_more_than_once_and_before_its_block(build: BookBuilder) -> None:
    fence = "```drawing\nof: tank\n```\n\n"
    site = build(
        {"content/p.md": sheet(fence + tank("wall: 1/4 in\n") + fence), "content/q.md": sheet(fence)}
    )

    assert markup_faults(site.html("p.html")) == []
    for svg in site.page("p.html").all("svg", "drawn"):
        pattern = svg.one("pattern").id
        assert {path.attrs["fill"] for path in svg.all("path", "cut")} == {f"url(#{pattern})"}
    assert len(site.page("q.html").all("svg", "drawn")) == 2


@pytest.mark.parametrize(
    ("fence", "said"),
    [
        ("of: tnak", "content/p.md:{line}:5: there is no block 'tnak'; did you mean 'tank'?"),
        ("of: plain", "'plain' has no drawing: its calculator formula draws nothing"),
        ("view: section", "this drawing does not say what it shows; add a line of: BLOCK"),
        ("of: tank\nviev: section", "a drawing has no 'viev'; did you mean 'view'?"),
        ("of: tank\nview: top", "the drawing of 'tank' has no view 'top'; it has section, profile"),
        ("of: tank\nview: [a]", "'view' of a drawing is one text"),
        ("of: pump\nview: top", "'pump' is a chart without views; leave view out"),
        ("of: sometimes", "'sometimes' does not exist in this edition, since 'when options.odd'"),
    ],
)
def test_a_drawing_that_cannot_be_shown_is_told_with_its_place(
    settled: BookMaker, keelbook: Command, fence: str, said: str
) -> None:
    absent = ":::when options.odd\n" + BILGE.replace("well", "sometimes") + ":::\n"
    before = tank() + PUMP + "```calc formula plain\nx: 3 in\n```\n" + absent
    files = {
        "content/p.md": sheet(f"{before}```drawing\n{fence}\n```\n"),
        "content/inputs/options/odd.yml": "odd: 3 in\n",
    }
    ran = keelbook("check", book=settled(files))

    line = len(sheet(before).splitlines()) + 2
    assert ran.code == 2
    assert said.format(line=line) in ran.err
    assert len(ran.err.splitlines()) == 1


@pytest.mark.parametrize(
    ("drawing", "said"),
    [
        ("return 1 / 0", "failed at its drawing (ZeroDivisionError"),
        ('return "a tank"', "gave 'a tank' for a drawing"),
        ("return None", "gave None for a drawing"),
        (f'return Drawing("B", (View("side", "", "", ({FLAT}.points,)),))', "failed at its drawing"),
        (
            'return Drawing("B", (View("side", "", "", (Outline(((0, 0), (float("nan"), 1))),)),))',
            "lies at (nan, 1)",
        ),
        ('return Drawing("B", ())', "a drawing has one view at least"),
        (
            'return Drawing("B", (View("side", "", "", (Note((0, 0), "x"),)),))',
            "the view 'side' shows nothing",
        ),
    ],
)
def test_a_drawing_that_fails_is_told_as_its_calculator_s_fault(
    settled: BookMaker, keelbook: Command, drawing: str, said: str
) -> None:
    ran = keelbook("check", book=settled(yard(drawing)))

    assert ran.code == 2
    assert "content/p.md:4" in ran.err
    assert said in ran.err
    assert "board" in ran.err
    assert "Traceback" not in ran.err


def test_a_block_with_nothing_to_draw_says_why(build: BookBuilder) -> None:
    files = yard('return NoAnswer("the board is still a tree")')

    assert "the board is still a tree" in build(files).page("p.html").by_id("block-plank").text


def test_a_drawing_takes_what_is_left_out_by_its_default(build: BookBuilder) -> None:
    svg = view(
        build(yard(f'return Drawing("B", (View("side", "", "", ({FLAT},)),))')).page("p.html"), "plank.side"
    )
    corners = points(svg.one("path", "outline"))

    assert corners[1][0] / -corners[2][1] == pytest.approx(30 / 2, rel=1e-3)


def test_the_texts_of_a_drawing_are_on_the_sheet_and_so_in_its_code(build: BookBuilder) -> None:
    def code(text: str, alternative: str = "x") -> str:
        note = f'Note((0, 0), "{text}")'
        drawing = f'return Drawing("B", (View("side", "", "{alternative}", ({FLAT}, {note})),))'
        return build(yard(drawing)).code("p.html")

    assert code("port") == code("port", alternative="y")
    assert code("port") != code("starboard")


@pytest.mark.parametrize("text", ["a < b & c", "</svg><script>alert(1)</script>", "it's ]]> so", "{{ x }}"])
def test_any_text_of_a_drawing_is_text(build: BookBuilder, text: str) -> None:
    items = f"({FLAT}, Note((0, 0), {text!r}))"
    view_of = f'View("side", {text!r}, {text!r}, {items})'
    site = build(yard(f"return Drawing({text!r}, ({view_of},), {text!r})"))
    svg = view(site.page("p.html"), "plank.side")

    assert svg.one("text").text == svg.one("desc").text == text
    assert markup_faults(site.html("p.html")) == []
    assert [one.text for one in site.page("p.html").all("script") if one.text] == []


def test_the_public_is_shown_no_drawing_yet(build: BookBuilder) -> None:
    body = sheet(tank() + "\n```drawing\nof: tank\n```\n", "title: P\nvisibility: public")

    assert build({"content/p.md": body}, "public").page("p.html").all("svg", "drawn") == []


# ---- laying out


def plain(words: Words) -> Lettering:
    bits = (Bit(one if isinstance(one, str) else f"{one.size:.3g}") for one in parts(words))
    return Lettering((tuple(bits),))


def text_boxes(sizes: list[float]) -> list[Box]:
    widest = max(sizes)
    shape = Outline(((0, 0), (widest, 0), (widest, widest / 3), (0, widest / 3)))
    lines = [Dimension((0, 0), (one, 0), "below", Value(one, "in")) for one in sizes]
    (paper,) = lay_out([View("side", "", "", (shape, *lines))], plain, plain)
    texts = [text for group in paper.ink.groups for text in group.texts]
    return [box_at(float(one.x), float(one.y), one.anchor, one.words) for one in texts]


@given(st.lists(st.floats(0.05, 100), min_size=1, max_size=8, unique=True))
def test_dimensions_never_overlap_each_other_s_texts(sizes: list[float]) -> None:
    boxes = text_boxes(sizes)

    assert len(boxes) == len(sizes)
    for i, one in enumerate(boxes):
        assert not any(one.meets(other) for other in boxes[:i])


@given(
    st.lists(st.floats(-1e6, 1e6).map(lambda size: round(size, 3)), min_size=1, max_size=5),
    st.integers(2, 6),
    st.booleans(),
)
def test_an_axis_reaches_over_all_and_has_few_round_ticks(
    sizes: list[float], most: int, from_zero: bool
) -> None:
    scale = nice(sizes, most, from_zero=from_zero)
    step = scale.ticks[1] - scale.ticks[0]

    assert scale.low <= min(sizes) + 1e-6 * step
    assert max(sizes) <= scale.high + 1e-6 * step
    assert 2 <= len(scale.ticks) <= max(most, 3)
    assert round(float(f"{step:.3e}".split("e")[0]), 3) in (1, 2, 5)
    assert not from_zero or scale.low <= 0 <= scale.high


def test_every_calculator_that_draws_draws_its_own_example() -> None:
    plugins, _ = load_plugins()
    drawing = [one for one in plugins.calculators.values() if one.draws is not None]

    assert {one.name for one in drawing} >= {"tank_volume", "pump_capacity", "bilge_water", "vent_size"}
    for one in drawing:
        assert isinstance(draw(one, work(one, one.example).outcome), Drawing | Chart)


def test_the_guide_s_drawing_is_drawn_to_its_sizes() -> None:
    guide = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    fences = re.findall(r"^```python\n(.*?)^```$", guide, re.MULTILINE | re.DOTALL)
    (text,) = [one for one in fences if "def draw_" in one]
    names: dict[str, Any] = {**vars(kb), "Mapping": Mapping, "Any": Any, "HoseContents": object}
    exec(text, names)
    drawing = names["draw_contents"]({"length": 6, "bore": 1.5}, None)

    (paper,) = lay_out(drawing.views, plain, plain)
    said = [text.words.own for group in paper.ink.groups for text in group.texts]
    assert said == ["72"]  # six feet


def test_the_demonstration_s_drawings_hold_no_faulty_markup(demo: Site) -> None:
    drawn = [address for address in demo.addresses if 'class="drawn"' in demo.html(address)]

    assert len(drawn) >= 4
    assert [fault for address in drawn for fault in markup_faults(demo.html(address))] == []
