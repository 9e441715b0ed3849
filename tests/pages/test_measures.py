"""Measurements on their sheets, the page of hold points, and the board: what is accepted, in figures."""

from __future__ import annotations

import pytest

from tests.conftest import BookMaker, Command
from tests.pages.conftest import BookBuilder

INPUTS = """\
tank:
  length: 46 1/2 in ± 1/8 in
  wall: 0.19 in
  fit: 1/8 in
shed:
  coldest: 68 degF
  hottest: 80 degF
"""


def sheet(body: str, head: str = "") -> str:
    return f"---\ntitle: Receive the tank\nnumber: S-10\nstage: systems\n{head}---\n\n{body}"


def measure(accept: str, *lines: str) -> str:
    return "\n".join(["```measure reading", "what: The reading", f"accept: {accept}", *lines, "```", ""])


def window(build: BookBuilder, accept: str, *lines: str, inputs: str = INPUTS) -> str:
    files = {"content/inputs/model.yml": inputs, "content/p.md": sheet(measure(accept, *lines))}
    return build(files).page("p.html").one("p", "window").text


@pytest.mark.parametrize(
    ("accept", "lines", "shown"),
    [
        ("tank.wall - 0.01 in <= value <= tank.wall", ["unit: in"], "0.18 in to 0.19 in"),
        ("value >= tank.wall", [], "at least 0.19 in"),
        ("value > tank.wall", [], "above 0.19 in"),
        ("tank.wall <= value", [], "at least 0.19 in"),
        ("value < 100 ohm", [], "below 100 ohm"),
        ("value <= 100 ohm", [], "at most 100 ohm"),
        ("1 psi < value < 2 psi", [], "above 1 psi to below 2 psi"),
        ("abs(value) <= 1/16 in", ["unit: in to 1/16"], "either way, at most 1/16 in"),
        ("-1 in <= value <= 1 ft", [], "-1 in to 1 ft"),
        ("abs(value - tank.wall) <= 0.01 in", [], "0.18 in to 0.2 in"),
        ("abs(value - 2 in - tank.wall) <= 0.01 in", ["unit: in"], "2.18 in to 2.2 in"),
        ("abs(2 in - value) <= tank.fit", ["unit: in to 1/8"], "1 7/8 in to 2 1/8 in"),
        ("value >= 1 in and value <= 2 in", [], "1 in to 2 in"),
        ("value = 9", [], "9"),
        ("value = 0", [], "0"),
        ("value", [], "yes"),
        ("shed.coldest <= value <= shed.hottest", ["unit: degF"], "68 degF to 80 degF"),
        ("value <= 25.4 mm", ["unit: in"], "at most 1 in"),
        ("1 ft 1/16 in <= value <= 1 ft 1/8 in", ["unit: ft-in to 1/8"], "1 ft 1/8 in to 1 ft 1/8 in"),
    ],
)
def test_a_window_is_said_as_a_hand_reads_it(
    build: BookBuilder, accept: str, lines: list[str], shown: str
) -> None:
    assert window(build, accept, *lines) == shown


def test_the_ends_of_a_window_are_rounded_to_its_inside(build: BookBuilder) -> None:
    """0.19 in is 3.04 sixteenths: from 4/16 up, and from 3/16 down."""
    assert window(build, "value >= tank.wall", "unit: in to 1/16") == "at least 1/4 in"
    assert window(build, "value <= tank.wall", "unit: in to 1/16") == "at most 3/16 in"


def test_a_tolerance_makes_a_window_narrower_on_both_sides(build: BookBuilder) -> None:
    """46 1/2 in, give or take 1/8: the low end is that of the longest, the high end that of the shortest."""
    accept = "tank.length - 1 in <= value <= tank.length + 1 in"
    assert window(build, accept, "unit: in to 1/8") == "45 5/8 in to 47 3/8 in"


def test_the_tolerance_of_what_is_measured_itself_does_not_narrow_its_window(build: BookBuilder) -> None:
    accept = "tank.length - tank.fit <= value <= tank.length + tank.fit"
    lines = ["unit: in to 1/8", "sets: tank.length"]
    assert window(build, accept, *lines) == "46 3/8 in to 46 5/8 in"


TWO = "tank: {length: 46 in ± 1 in, spacer: 10 in ± 1/2 in, offset: 4 in ± 1/4 in}\n"


@pytest.mark.parametrize(
    ("accept", "lines", "shown"),
    [
        ("value <= tank.spacer - tank.offset", [], "at most 5.25 in"),
        ("value <= room.left", ["sets: tank.length"], "at most 51.25 in"),
    ],
    ids=["both by themselves", "both in a number that rests on what is measured too"],
)
def test_tolerances_of_several_inputs_narrow_a_window_together(
    build: BookBuilder, accept: str, lines: list[str], shown: str
) -> None:
    """10 less 1/2, less 4 and 1/4: 5 1/4, and with the 46 of what is measured 51 1/4."""
    block = "```calc formula room\nleft: tank.length + tank.spacer - tank.offset\n```\n\n"
    lines = ["unit: in to 0.01", *lines]
    files = {"content/inputs/model.yml": TWO, "content/p.md": sheet(block + measure(accept, *lines))}
    assert build(files).page("p.html").one("p", "window").text == shown


@pytest.mark.parametrize("accept", ["value <= draft", '"value <= draft"'], ids=["bare", "in quotes"])
def test_an_input_of_no_group_narrows_a_window_too(build: BookBuilder, accept: str) -> None:
    shown = window(build, accept, "unit: in to 1", inputs="draft: 30 in ± 1 in\n")
    assert shown == "at most 29 in"


def test_rule_11_an_if_goes_its_nominal_way_at_every_end_and_the_crossing_is_told(
    keelbook: Command, build: BookBuilder, make_book: BookMaker
) -> None:
    accept = "value <= (if tank.length < 46 9/16 in then 4 in else 3 in)"
    assert window(build, accept) == "at most 4 in"
    ran = keelbook("check", book=make_book({}))
    assert "content/p.md:9:19: a tolerance carries this 'if' across its bound" in ran.err


def test_rule_18_a_measurement_over_a_block_that_an_edition_lacks_is_an_error(
    keelbook: Command, make_book: BookMaker
) -> None:
    block = ":::when options.tower\n\n```calc formula f\nx: 3 in\n```\n\n:::\n\n"
    files = {
        "content/inputs/options/tower.yml": "tower: {mass: 3 lb}\n",
        "content/p.md": sheet(block + measure("value <= f.x", "hold: yes")),
    }
    ran = keelbook("check", book=make_book(files))
    assert ran.code == 2
    assert "content/p.md:17:18: 'f' does not exist in this edition" in ran.err


@pytest.mark.parametrize("accept", ["value <= bad.x", "value <= f.x", "value <= g.x"])
def test_a_window_over_what_could_not_be_read_is_not_told_again(
    keelbook: Command, make_book: BookMaker, accept: str
) -> None:
    blocks = "```calc formula f\nx: bad.x + 1 in\n```\n\n```calc formula g\nx: f.x\n```\n\n"
    files = {
        "content/inputs/model.yml": "bad:\n  x: 3 inn\n",
        "content/p.md": sheet(blocks + measure(accept, "sets: bad.x")),
    }
    ran = keelbook("check", book=make_book(files))
    assert len(ran.err.splitlines()) == 1, ran.err


def test_tolerances_that_leave_no_window_are_an_error(keelbook: Command, make_book: BookMaker) -> None:
    accept = "tank.length - 1/16 in <= value <= tank.length + 1/16 in"
    files = {"content/inputs/model.yml": INPUTS, "content/p.md": sheet(measure(accept))}
    ran = keelbook("check", book=make_book(files))
    assert ran.code == 2
    assert "content/p.md:9:9: the tolerances leave no window for 'reading'" in ran.err
    assert "'sets'" in ran.err


@pytest.mark.parametrize(
    ("lines", "place", "told"),
    [
        (["accept: value <= 3 in"], "7:1", "'reading' does not say what is measured"),
        (["what: Depth"], "7:1", "'reading' does not say what is accepted"),
        (["what: Depth", "accept: tank.wall <= 3 in"], "9:9", "this rule says nothing of what is measured"),
        (["what: Depth", "accept: value <= tank.wal"], "9:18", "there is no name 'tank.wal'"),
        (["what: Depth", "accept: 1 in <= value <= 3 lb"], "9:9", "goes from a length to a mass"),
        (["what: Depth", 'accept: value <= "blue"'], "9:9", "is the word 'blue', and no size"),
        (["what: Depth", "accept: 3 in <= value <= 2 in"], "9:9", "is empty: from 3 in to 2 in"),
        (["what: Depth", "accept: value <= 3 in", "unit: inn"], "10:7", "inn"),
        (["what: Depth", "accept: value >= 3 in", "unit: in down to 1/16"], "10:7", "leave 'down' out"),
        (["what: Depth", "accept: 0.19 in <= value <= 0.2 in", "unit: in to 1/16"], "9:9", "no whole step"),
        (["what: Depth", "accept: value <= 3 in", "unit: psi"], "9:9", "psi"),
        (["what: Depth", "accept: value <= 3 in", "hold: maybe"], "10:7", "'maybe' is neither yes nor no"),
        (["what: Depth", "accept: value <= 3 in", "hodl: yes"], "10:1", "a measurement has no 'hodl'"),
        (["what: Depth", "accept: value <= 3 in", "sets: tank.lenght"], "10:7", "no input 'tank.lenght'"),
    ],
)
def test_a_faulty_measurement_is_told_with_its_place(
    keelbook: Command, make_book: BookMaker, lines: list[str], place: str, told: str
) -> None:
    body = "\n".join(["```measure reading", *lines, "```", ""])
    files = {"content/inputs/model.yml": INPUTS, "content/p.md": sheet(body)}
    ran = keelbook("check", book=make_book(files))
    assert ran.code == 2
    line = next(line for line in ran.err.splitlines() if told in line)
    assert line.startswith(f"content/p.md:{place}:"), line


def test_an_instrument_must_be_one_of_the_yard_s(keelbook: Command, make_book: BookMaker) -> None:
    files = {
        "content/reference/instruments.yml": "tape with 1/16 in marks: {tolerance: 1/32 in}\n",
        "content/p.md": sheet(measure("value <= 3 in", "with: tape with 1/16 in mark")),
    }
    ran = keelbook("check", book=make_book(files))
    assert "content/p.md:10:7: there is no instrument 'tape with 1/16 in mark'" in ran.err
    assert "tape with 1/16 in marks" in ran.err


def test_an_instrument_is_known_in_large_letters_and_small(build: BookBuilder) -> None:
    files = {
        "content/reference/instruments.yml": "steel tape: {tolerance: 1/32 in}\n",
        "content/p.md": sheet(measure("value <= 3 in", "with: Steel tape")),
    }
    assert "steel tape, good to 1/32 in" in build(files).page("p.html").one("section", "measure").text


def test_a_number_of_a_block_that_does_not_exist_is_told(keelbook: Command, make_book: BookMaker) -> None:
    block = "```calc formula f\nx: 3 in\n```\n\n"
    ran = keelbook("check", book=make_book({"content/p.md": sheet(block + measure("value <= f.y"))}))
    assert ran.code == 2
    assert "content/p.md:13:18: 'f' has no result 'y'; it gives x" in ran.err


def test_a_box_says_how_good_its_instrument_is(build: BookBuilder) -> None:
    files = {
        "content/reference/instruments.yml": "steel tape: {tolerance: 1/32 in}\n",
        "content/p.md": sheet(
            measure("value <= 3 in", "with: steel tape", "signs: the foreman", "hold: yes")
        ),
    }
    box = build(files).page("p.html").one("section", "measure")
    assert "steel tape, good to 1/32 in" in box.text
    assert "the foreman" in box.text
    assert "Work stops here" in box.text


def test_nothing_that_is_written_in_a_measurement_or_a_list_of_materials_is_lost(build: BookBuilder) -> None:
    materials = "```materials\ntitle: For one tank\nnote: Keep the pails\ncaption: By hand\nglue: 2 lb\n```\n"
    body = measure("value <= 3 in", "title: In the shed", "note: Twice", "how: Flat") + "\n" + materials
    page = build({"content/p.md": sheet(body)}).page("p.html")
    box, listed = page.one("section", "measure").text, page.one("section", "materials").text
    assert all(word in box for word in ("In the shed", "Twice", "Flat"))
    assert all(word in listed for word in ("For one tank", "Keep the pails", "By hand", "glue"))
    assert "note" not in listed


PLAN = {
    "content/a.md": sheet(
        measure("value <= 3 in", "hold: yes").replace("reading", "depth").replace("The depth", "Depth")
        + measure("value >= 1 in").replace("reading", "width").replace("The width", "Width")
    ),
    "content/b.md": "---\ntitle: Bed it\nnumber: S-14\nstage: systems\nneeds: [a, depth]\n---\n\nBed it.\n",
}


def test_the_hold_points_stand_in_build_order_with_their_windows(build: BookBuilder) -> None:
    page = build(PLAN).page("hold_points.html")
    rows = [[cell.text for cell in row.parts][:2] for row in page.one("tbody").parts]
    assert rows == [["Hold Depth", "at most 3 in"], ["Width", "at least 1 in"]]


def test_the_board_lists_the_hold_points_that_are_due(build: BookBuilder) -> None:
    (due,) = build(PLAN).page("board.html").all("div", "due")
    assert "Depth" in due.text
    assert "Width" not in due.text


def test_a_sheet_says_at_its_head_what_must_be_accepted_first(build: BookBuilder) -> None:
    first = build(PLAN).page("b.html").one("div", "needs")
    links = {link.text: link.attrs["href"] for link in first.all("a")}
    assert links["Receive the tank"] == "a.html"
    assert links["Depth"] == "a.html#block-depth"
    assert "accepted there first: Depth" in " ".join(first.text.split())


def test_the_code_of_a_sheet_changes_with_what_must_be_accepted_first(build: BookBuilder) -> None:
    before = build(PLAN).code("b.html")
    renamed = PLAN["content/a.md"].replace("what: Depth", "what: Depth of the pan")
    assert build({**PLAN, "content/a.md": renamed}).code("b.html") != before


def test_a_measurement_that_an_edition_lacks_is_not_asked_for_first(build: BookBuilder) -> None:
    """The sheet it stands on is still needed."""
    under = f":::when options.tower\n\n{measure('value <= 3 in')}\n:::\n"
    files = {
        "content/inputs/options/tower.yml": "tower: {mass: 3 lb}\n",
        "content/a.md": sheet(under),
        "content/b.md": "---\ntitle: Bed it\nnumber: S-14\nstage: systems\nneeds: [reading]\n---\n\nDo it.\n",
    }
    first = build(files).page("b.html").one("div", "needs")
    assert {link.text: link.attrs["href"] for link in first.all("a")} == {"Receive the tank": "a.html"}


@pytest.mark.parametrize(
    ("needs", "told"),
    [
        ("[receive]", "content/b.md:5:9: there is no procedure or measurement 'receive'"),
        ("[b]", "content/b.md:5:9: this page waits for 'b', which stands on it"),
    ],
)
def test_a_need_that_cannot_be_is_told(
    keelbook: Command, make_book: BookMaker, needs: str, told: str
) -> None:
    page = f"---\ntitle: B\nnumber: S-14\nstage: systems\nneeds: {needs}\n---\n\nDo it.\n"
    ran = keelbook("check", book=make_book({"content/b.md": page}))
    assert (ran.code, told in ran.err) == (2, True), ran.err


def test_procedures_that_wait_for_each_other_are_told_once(keelbook: Command, make_book: BookMaker) -> None:
    pages = {
        f"content/{one}.md": f"---\ntitle: {one}\nneeds: [{other}]\n---\n\nDo it.\n"
        for one, other in (("a", "b"), ("b", "c"), ("c", "a"))
    }
    ran = keelbook("check", book=make_book(pages))
    assert ran.code == 2
    (line,) = ran.err.splitlines()
    assert "wait for each other" in line
    assert all(step in line for step in ("a needs b", "b needs c", "c needs a"))
