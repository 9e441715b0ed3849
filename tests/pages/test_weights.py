"""The ledger: what the weights fences of all pages come to, and the page that shows it."""

from __future__ import annotations

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.calculators.declare import Calculator
from kb.numbers.ledger import Part, ledger
from tests.conftest import BookMaker, Command
from tests.pages.conftest import BookBuilder

PAGES = {
    "content/inputs/model.yml": "engine:\n  mass: 540 lb\n",
    "content/inputs/options/tower.yml": "tower:\n  mass: 100 lb\n",
    "content/a.md": (
        "---\ntitle: Hull\nnumber: H-1\n---\n\n```weights\n"
        "tank: {mass: 60 lb, x: 80 in, y: 2 in, z: 10 in, group: fuel}\n"
        "engine: {mass: engine.mass, x: -10 in, y: 0 in, z: 30 in, group: machinery, margin: 5 %}\n```\n\n"
        "All of it: {{ ledger.mass in lb to 1 }}.\n"
    ),
    "content/b.md": (
        "---\ntitle: Tower\n---\n\n:::when options.tower\n\n```weights\n"
        "tower: {mass: 100 lb, x: 59 in, y: 0 in, z: 100 in}\n```\n\n:::\n"
    ),
}


def sums(keelbook: Command, book: BookMaker, pages: dict[str, str]) -> dict[str, float]:
    ran = keelbook("numbers", "--json", book=book(pages))
    assert ran.code == 0, ran.err
    found = json.loads(ran.out)["numbers"]["ledger"]
    return {name: number["value"] for name, number in found.items()}


def test_the_sums_are_those_of_statics(keelbook: Command, make_book: BookMaker) -> None:
    """600 lb: 60 at 80 and 540 at -10 balance at -1 in; with 5 % on the engine 627 lb."""
    found = sums(keelbook, make_book, PAGES)
    assert found == pytest.approx({"mass": 600, "x": -1, "y": 0.2, "z": 28, "most": 627})


def test_a_part_under_an_option_is_aboard_where_the_hull_chose_it(
    keelbook: Command, make_book: BookMaker
) -> None:
    hull = {"content/hulls/H1/hull.yml": "options: [tower]\n"}
    ran = keelbook("numbers", "--hull", "H1", "--json", book=make_book({**PAGES, **hull}))
    assert json.loads(ran.out)["numbers"]["ledger"]["mass"]["value"] == pytest.approx(700)


def test_the_page_has_groups_and_their_sums(build: BookBuilder) -> None:
    page = build(PAGES).page("weights.html")
    assert [one.text for one in page.all("h2")] == ["Fuel", "Machinery"]
    feet = [one.text for one in page.all("tfoot")]
    assert feet[0].startswith("Together, 10 % of all")
    assert "540 lb" in feet[1]
    assert "600 lb" in page.one("dl", "results").text


def test_a_circle_through_the_ledger_is_found_and_named(keelbook: Command, make_book: BookMaker) -> None:
    page = (
        "---\ntitle: Round\n---\n\n```calc formula ballast\nmass: ledger.mass / 10\n```\n\n"
        "```weights\nballast: {mass: ballast.mass, x: 0 in, z: 0 in}\n"
        "hull: {mass: 10 lb, x: 0 in, z: 0 in}\n```\n"
    )
    ran = keelbook("check", book=make_book({"content/p.md": page}))
    assert ran.code == 2
    assert "rest on each other" in ran.err
    assert "ledger uses ballast" in ran.err


@pytest.mark.parametrize(
    ("line", "told"),
    [
        ("tank: 60 lb", "content/p.md:6:7: 'tank' is no part with its mass and its place"),
        ("tank: {mass: 60 lb, x: 0 in}", "content/p.md:6:1: 'tank' has no z"),
        ("tank: {mass: 60 lb, x: 0 in, z: 0 in, hight: 3 in}", "content/p.md:6:39: a part has no 'hight'"),
        ("tank: {mass: 60 in, x: 0 in, z: 0 in}", "content/p.md:6:14: "),
        ("tank: {mass: -60 lb, x: 0 in, z: 0 in}", "content/p.md:6:14: "),
        ("tank: {mass: 0 lb, x: 0 in, z: 0 in}", "weigh nothing"),
    ],
)
def test_a_faulty_part_is_told_with_its_place(
    keelbook: Command, make_book: BookMaker, line: str, told: str
) -> None:
    page = f"---\ntitle: P\n---\n\n```weights\n{line}\n```\n\n{{{{ ledger.mass }}}}\n"
    ran = keelbook("check", book=make_book({"content/p.md": page}))
    assert ran.code == 2
    assert told in ran.err


def test_an_edition_without_any_part_has_no_ledger_and_no_error(
    keelbook: Command, make_book: BookMaker
) -> None:
    files = {
        "content/inputs/options/tower.yml": "tower:\n  mass: 100 lb\n",
        "content/b.md": PAGES["content/b.md"],
    }
    ran = keelbook("check", book=make_book(files))
    assert ran.code == 0, ran.err
    files["content/c.md"] = "---\ntitle: C\n---\n\n{{ ledger.mass }}\n"
    ran = keelbook("check", book=make_book(files))
    assert "content/c.md:5:4: 'ledger' does not exist in this edition, since 'when options.tower'" in ran.err


def test_a_part_that_is_not_aboard_lends_the_ledger_no_verdict(
    keelbook: Command, make_book: BookMaker
) -> None:
    tower = PAGES["content/b.md"].replace("mass: 100 lb", "mass: tower.mass")
    limit = "\n```limit light\nrule: tower.mass <= 50 lb\n```\n"
    files = {
        "content/inputs/model.yml": "engine:\n  mass: 540 lb\ntower:\n  mass: 90 lb\n",
        "content/b.md": tower + limit,
        "content/hulls/H1/hull.yml": "options: [tower]\n",
    }
    book = make_book({**PAGES, **files})
    for hull, verdict in (([], "within"), (["--hull", "H1"], "outside")):
        found = json.loads(keelbook("numbers", *hull, "--json", book=book).out)["numbers"]["ledger"]
        assert found["mass"]["verdict"] == verdict


def test_an_input_is_used_on_the_page_whose_part_names_it_and_on_no_other(
    keelbook: Command, make_book: BookMaker
) -> None:
    other = "---\ntitle: Tank\n---\n\n```weights\nhose: {mass: 3 lb, x: 0 in, z: 0 in}\n```\n"
    files = {**PAGES, "content/0.md": other}
    ran = keelbook("uses", "engine.mass", "--json", book=make_book(files))
    uses = [(use["kind"], use["user"], use["page"]) for use in json.loads(ran.out)["uses"]]
    assert [use for use in uses if use[1] == "ledger"] == [("block", "ledger", "a")]
    assert {page for _, _, page in uses} == {"a"}


def test_a_ledger_with_a_mass_that_nobody_knows_says_why(build: BookBuilder) -> None:
    page = (
        "---\ntitle: P\n---\n\n```calc beam deck\nspan: 80 in\n```\n\n"
        "```weights\nbeam: {mass: deck.sag * 1 lb / 1 in, x: 0 in, z: 0 in}\n```\n"
    )
    told = build({"content/p.md": page}).page("weights.html").text
    assert "cannot be told: parts: the mass of 'beam': " in told
    assert "the span was never tried" in told


def test_all_that_is_wrong_with_the_parts_is_told_at_once_and_nothing_twice(
    keelbook: Command, make_book: BookMaker
) -> None:
    page = (
        "---\ntitle: P\n---\n\n```calc formula f\nx: 3 lb + 3 in\n```\n\n```weights\n"
        "a: {mass: f.x, x: 0 in, z: engine.z}\nb: {mass: engine.mas, x: 0 in, z: 0 in}\n```\n\n"
        "{{ ledger.mass }}\n\n```measure m\nwhat: Mass\naccept: value <= ledger.mass\n```\n"
    )
    files = {"content/inputs/model.yml": PAGES["content/inputs/model.yml"], "content/p.md": page}
    ran = keelbook("check", book=make_book(files))
    assert [line.split(" ")[0] for line in ran.err.splitlines()] == [
        "content/p.md:6:9:",
        "content/p.md:10:28:",
        "content/p.md:11:11:",
    ]


def test_a_part_of_a_private_page_is_weighed_and_not_named(build: BookBuilder) -> None:
    private = (
        "---\ntitle: Private\nvisibility: private\n---\n\n"
        "```weights\ncask: {mass: 30 lb, x: 0 in, z: 0 in, group: cellar}\n```\n"
    )
    site = build({**PAGES, "content/0.md": private})
    page = site.page("weights.html")
    assert "630 lb" in page.one("dl", "results").text
    assert [one.text for one in page.all("h2")] == ["Other", "Fuel", "Machinery"]
    assert not any(word in page.text for word in ("cask", "Cellar"))
    assert "ledger.mass" in site.page("numbers.html").text


def test_without_weights_there_is_no_ledger(keelbook: Command, make_book: BookMaker) -> None:
    ran = keelbook("check", book=make_book({"content/p.md": "---\ntitle: P\n---\n\n{{ ledger.mass }}\n"}))
    assert "there is no ledger" in ran.err


masses = st.floats(0.1, 1e4)
places = st.floats(-1e3, 1e3)


@given(st.lists(st.tuples(masses, places, places), min_size=1, max_size=8), places)
def test_moving_everything_moves_the_centre_by_as_much(
    parts: list[tuple[float, float, float]], by: float
) -> None:
    assert Calculator.of(ledger).name == "ledger"
    here = ledger(tuple(Part("p", mass, x, z) for mass, x, z in parts))
    there = ledger(tuple(Part("p", mass, x + by, z) for mass, x, z in parts))
    assert there.x - here.x == pytest.approx(by, abs=1e-6)
    assert min(x for _, x, _ in parts) - 1e-6 <= here.x <= max(x for _, x, _ in parts) + 1e-6
