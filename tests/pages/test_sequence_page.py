"""The page of the sequence: its bars read back against the plan, its table, its words, and a sheet's cure."""

from __future__ import annotations

import json
import re
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING, Any

import pytest

from tests.pages.site_tree import Node, Site, dead_ends, markup_faults, sheet

if TYPE_CHECKING:
    from pathlib import Path

    from tests.conftest import Command
    from tests.pages.conftest import BookBuilder

NEAR = 0.3  # of a unit of the drawing: its figures have one decimal
START, LENGTH = 7 * 60 + 30, 8 * 60
YARD = "yard:\n  crew: 3\n  day_start: 7 hr 30 min\n  day_length: 8 hr\n"
HOLD = "```measure {}\nwhat: Places that are {}\naccept: value = 0\nhold: yes\n```\n"
FILES = {
    "content/inputs/yard.yml": YARD,
    "content/mould.md": sheet(
        HOLD.format("mould_soft", "soft"),
        "title: Fill the mould\nnumber: H-1\nstage: hull\ncrew: 2\ntime: 7 hr\ncure: 18 hr",
    ),
    "content/cradle.md": sheet("Words.\n", "title: Build the <cradle>\nstage: hull\ncrew: 2\ntime: 2 hr"),
    "content/deck.md": sheet(
        HOLD.format("deck_soft", "soft") + HOLD.format("deck_white", "white"),
        "title: Set the deck\nnumber: S-1\nstage: systems\ncrew: 3\ntime: 90 min\ncure: 40 hr\n"
        "needs: [mould_soft, cradle]",
    ),
    "content/paint.md": sheet(
        "Words.\n", "title: Paint\nnumber: S-2\nstage: systems\ntime: 20 hr\nneeds: [deck]"
    ),
    "content/launch.md": sheet("Words.\n", "title: Launch\nnumber: S-3\nstage: systems\nneeds: [paint]"),
    "content/plan.md": sheet("Words.\n", "title: Hushed\nstage: systems\nvisibility: private\ntime: 9 hr"),
}


@pytest.fixture
def page(build: BookBuilder) -> Node:
    return build(FILES).page("sequence.html")


def sequence(keelbook: Command, book: Path) -> dict[str, Any]:
    data: dict[str, Any] = json.loads(keelbook("sequence", "--json", book=book).out)
    return data


# ---- the chart


@dataclass
class Chart:
    """A drawn chart as its reader measures it: by the lines of its days and the strips of its nights."""

    svg: Node

    @property
    def dawns(self) -> list[float]:
        """Return where the working days begin."""
        return [float(one.attrs["d"][1:].split()[0]) for one in self.svg.all("path", "tick")]

    @property
    def nights(self) -> list[tuple[float, float]]:
        """Return where each night begins and ends."""
        strips = self.svg.all("rect", "closed")
        return [(float(one.attrs["x"]), float(one.attrs["x"]) + float(one.attrs["width"])) for one in strips]

    @property
    def bars(self) -> dict[str, Node]:
        """Return the rows by their titles."""
        return {
            " ".join(one.text for one in bar.all("text", "title")): bar for bar in self.svg.all("g", "bar")
        }

    def x(self, moment: dict[str, Any]) -> float:
        """Return where a moment within working hours must stand."""
        hours, minutes = map(int, moment["time"].split(":"))
        share = (hours * 60 + minutes - START) / LENGTH
        day: int = moment["day"] - 1
        dawn, dusk = self.dawns[day], self.nights[day][0]
        return dawn + share * (dusk - dawn)


def ends(bar: Node) -> tuple[float, float]:
    x = float(bar.attrs["x"])
    return x, x + float(bar.attrs["width"])


def test_each_bar_stands_from_the_planned_start_until_the_work_is_done(
    build: BookBuilder, keelbook: Command, tmp_path: Path
) -> None:
    chart = Chart(build(FILES).page("sequence.html").one("svg", "bars"))
    data = sequence(keelbook, tmp_path / "book")

    worked = [one for one in data["tasks"] if one["minutes"]]
    assert len(worked) == 4
    for one in worked:
        first, last = ends(chart.bars[one["title"]].one("rect", "work"))
        assert first == pytest.approx(chart.x(one["planned"]), abs=NEAR), one["id"]
        assert last == pytest.approx(chart.x(one["finish"]), abs=NEAR), one["id"]


def test_the_bars_stand_where_they_do_by_hand(page: Node) -> None:
    # Mould: Monday 7:30 to 14:30 and cured Tuesday 8:30. Deck: Tuesday 8:30 to 10:00, cured on Thursday 2:00,
    # 10 1/2 of the night's 16 hours after Wednesday 15:30.
    chart = Chart(page.one("svg", "bars"))
    mould, deck = chart.bars["Fill the mould"], chart.bars["Set the deck"]
    dusk, dawn = chart.nights[2]

    assert ends(mould.one("rect", "work")) == pytest.approx(
        (chart.x({"day": 1, "time": "07:30"}), chart.x({"day": 1, "time": "14:30"})), abs=NEAR
    )
    assert ends(mould.one("rect", "cure")) == pytest.approx(
        (chart.x({"day": 1, "time": "14:30"}), chart.x({"day": 2, "time": "08:30"})), abs=NEAR
    )
    assert ends(deck.one("rect", "cure")) == pytest.approx(
        (chart.x({"day": 2, "time": "10:00"}), dusk + 10.5 / 16 * (dawn - dusk)), abs=NEAR
    )


def test_only_what_cures_has_a_cure_and_work_of_no_time_is_a_mark_of_its_own(page: Node) -> None:
    bars = Chart(page.one("svg", "bars")).bars

    assert [title for title, bar in bars.items() if bar.all("rect", "cure")] == [
        "Fill the mould",
        "Set the deck",
    ]
    assert [title for title, bar in bars.items() if not bar.all("rect", "work")] == ["Launch"]
    assert len(bars["Launch"].all("path", "work")) == 1


def test_there_is_one_row_a_procedure_in_the_plans_order_and_none_on_another(
    build: BookBuilder, keelbook: Command, tmp_path: Path
) -> None:
    chart = Chart(build(FILES).page("sequence.html").one("svg", "bars"))
    data = sequence(keelbook, tmp_path / "book")

    assert list(chart.bars) == [one["title"] for one in data["tasks"]]
    rows = [float(bar.all("text", "beside")[0].attrs["y"]) for bar in chart.bars.values()]
    gaps = {round(below - above, 3) for above, below in pairwise(rows)}
    assert len(gaps) == 1
    assert min(gaps) >= 20


def test_the_days_are_numbered_from_one(page: Node) -> None:
    # By hand: deck done Tuesday, cured Thursday 2:00; paint 20 hr from Thursday 7:30 until Monday 11:30.
    chart = Chart(page.one("svg", "bars"))
    numbers = [one.text for one in chart.svg.all("text", "middle")]

    assert numbers == ["1", "2", "3", "4", "5", "6"]
    assert len(chart.dawns) == len(chart.nights) == 6
    # The weekend, between the fifth day and the sixth, is wider than a night.
    widths = [last - first for first, last in chart.nights]
    assert widths[4] == pytest.approx(2 * widths[0], abs=NEAR)


def test_the_longest_chain_is_marked_by_a_sign_and_a_line_and_a_taller_bar(page: Node) -> None:
    chart = Chart(page.one("svg", "bars"))

    marked = [title for title, bar in chart.bars.items() if bar.all("text", "mark")]
    assert marked == ["Fill the mould", "Set the deck", "Paint", "Launch"]
    heights = {title: bar.all("rect", "work") for title, bar in chart.bars.items()}
    assert float(heights["Paint"][0].attrs["height"]) > float(
        heights["Build the <cradle>"][0].attrs["height"]
    )
    links = [re.findall(r"[\d.]+", one.attrs["d"]) for one in chart.svg.all("path", "chain-link")]
    assert len(links) == 3
    mould, deck = chart.bars["Fill the mould"], chart.bars["Set the deck"]
    assert float(links[0][0]) == pytest.approx(ends(mould.one("rect", "cure"))[1], abs=NEAR)
    assert float(links[0][3]) == pytest.approx(ends(deck.one("rect", "work"))[0], abs=NEAR)


def test_the_chart_has_words_for_who_cannot_see_it(page: Node) -> None:
    said = page.one("svg", "bars").attrs["aria-label"]

    assert "5 procedures" in said
    assert "from day 1 to day 6, 11:30" in said
    assert "The longest chain is H-1, S-1, S-2, S-3." in said


def test_many_procedures_are_drawn_on_several_charts_that_a_page_of_paper_takes(build: BookBuilder) -> None:
    files = {
        f"content/p{number}.md": sheet("W.\n", f"title: P{number}\nstage: hull\ntime: 1 hr")
        for number in range(61)
    }
    charts = [Chart(one) for one in build(files).page("sequence.html").all("svg", "bars")]

    assert [len(chart.bars) for chart in charts] == [21, 21, 19]
    assert {title for chart in charts for title in chart.bars} == {f"P{number}" for number in range(61)}
    assert charts[0].dawns == charts[1].dawns == charts[2].dawns


def test_a_plan_of_years_is_drawn_with_few_lines(build: BookBuilder) -> None:
    files = {
        f"content/p{number}.md": sheet(
            "W.\n",
            f"title: P{number}\nstage: hull\ntime: 365 day\nneeds: [{f'p{number - 1}' * bool(number)}]",
        )
        for number in range(5)
    }
    chart = Chart(build(files).page("sequence.html").one("svg", "bars"))

    assert 1 < len(chart.dawns) < 200
    numbers = [int(one.text) for one in chart.svg.all("text", "middle")]
    assert numbers == sorted(numbers)
    # A year of minutes is 1095 days of eight hours.
    assert 4 * 1095 < numbers[-1] <= 5 * 1095


def test_a_yard_that_works_round_the_clock_has_no_nights(build: BookBuilder) -> None:
    yard = (
        "yard:\n  working_days: [mon, tue, wed, thu, fri, sat, sun]\n  day_start: 0 hr\n  day_length: 24 hr\n"
    )
    files = {
        "content/inputs/yard.yml": yard,
        "content/a.md": sheet("W.\n", "title: A\nstage: hull\ntime: 60 hr\ncure: 12 hr"),
    }
    chart = Chart(build(files).page("sequence.html").one("svg", "bars"))

    assert {last - first for first, last in chart.nights} <= {0.0}
    (first, last), (wet, dry) = (ends(chart.bars["A"].one("rect", kind)) for kind in ("work", "cure"))
    assert first == chart.dawns[0]
    assert last == pytest.approx((chart.dawns[2] + dry) / 2, abs=NEAR)
    assert wet == pytest.approx(last, abs=NEAR)


# ---- table and words


def test_the_table_has_every_procedure_with_its_times(
    build: BookBuilder, keelbook: Command, tmp_path: Path
) -> None:
    table = build(FILES).page("sequence.html").one("table", "sequence")
    data = sequence(keelbook, tmp_path / "book")

    rows = [[cell.text for cell in row.parts] for row in table.one("tbody").parts]
    told = [
        [f"day {one[key]['day']}, {one[key]['time']}" for key in ("earliest", "planned", "finish")]
        for one in data["tasks"]
    ]
    assert [row[5:8] for row in rows] == told
    # By hand: paint begins on Thursday 7:30, so deck is done by Tuesday 15:30 and begins by 14:00; and mould
    # is done by Monday 15:30, since 18 hr before 14:00 nobody works, and begins by 8:30.
    assert rows[0][:5] + rows[0][8:] == [
        "H-1",
        "Fill the mould",
        "2",
        "7 hr",
        "18 hr",
        "1 hr",
        "◆ on it",
    ]
    assert rows[1][:5] + rows[1][9:] == ["–", "Build the <cradle>", "2", "2 hr", "–", ""]
    assert [link.attrs["href"] for link in table.all("a")] == [f"{one['id']}.html" for one in data["tasks"]]


def test_the_longest_chain_and_what_leads_to_each_hold_point_are_told(page: Node) -> None:
    chain = [one.text for one in page.one("ol", "chain").parts]
    stops = [
        (row.one("th").text, [one.text for one in row.one("ul").parts], row.parts[2].text)
        for row in page.one("table", "leads-to").one("tbody").parts
    ]

    assert chain == [
        "H-1 Fill the mould: 7 hr, then 18 hr of cure",
        "S-1 Set the deck: 1 hr 30 min, then 40 hr of cure",
        "S-2 Paint: 20 hr",
        "S-3 Launch",
    ]
    assert stops == [
        ("H-1 Fill the mould", ["Places that are soft"], "H-1"),
        ("S-1 Set the deck", ["Places that are soft", "Places that are white"], "H-1 → S-1"),
    ]


def test_who_asks_for_more_people_than_there_are_is_told(build: BookBuilder) -> None:
    page = build({**FILES, "content/inputs/yard.yml": YARD.replace("3", "2")}).page("sequence.html")

    assert [one.text for one in page.one("ul", "over-crew").parts] == [
        "S-1 Set the deck asks for 3 people; the yard has 2."
    ]


@pytest.mark.parametrize(
    ("yard", "says"),
    [
        (YARD, "A crew of 3 is enough for that."),
        ("yard:\n  name: 'The yard'\n", "there are always enough"),
        (YARD.replace("crew: 3", "crew: 1"), "With a crew of 1 it is done on"),
    ],
    ids=["enough", "not given", "too few"],
)
def test_the_page_says_what_the_crew_does_to_the_end(build: BookBuilder, yard: str, says: str) -> None:
    files = {
        "content/inputs/yard.yml": yard,
        "content/a.md": sheet("W.\n", "title: A\nstage: hull\ntime: 3 hr"),
        "content/b.md": sheet("W.\n", "title: B\nstage: hull\ntime: 3 hr"),
    }

    assert says in build(files).page("sequence.html").text


def test_a_book_without_stages_says_that_there_is_nothing_to_put_in_order(build: BookBuilder) -> None:
    page = build({"content/p.md": sheet("W.\n")}).page("sequence.html")

    assert "there is no work to put in order" in page.text
    assert page.all("svg", "bars") == []


# ---- the page in its site


def test_the_page_is_sound_and_every_link_of_it_leads_somewhere(build: BookBuilder) -> None:
    site = build(FILES)

    assert markup_faults(site.html("sequence.html")) == []
    assert dead_ends(site) == []


def test_the_same_book_gives_the_same_bytes(build: BookBuilder) -> None:
    first = build(FILES).files["sequence.html"]

    assert build(FILES).files["sequence.html"] == first


def test_a_private_procedure_is_not_in_the_sequence(build: BookBuilder) -> None:
    assert "Hushed" not in build(FILES).html("sequence.html")


def test_the_public_edition_has_no_sequence(build: BookBuilder) -> None:
    files = {**FILES, "content/open.md": sheet("W.\n", "title: Open\nstage: hull\nvisibility: public")}
    site: Site = build(files, "public")

    assert "sequence.html" not in site.files
    assert [name for name in site.addresses if "sequence" in site.html(name)] == []


def test_the_rail_leads_to_the_sequence_and_pages_may_link_to_it(build: BookBuilder) -> None:
    site = build({**FILES, "content/open.md": sheet("See [the order](sequence.html).\n", "title: Open")})

    rail = [one.attrs["href"] for one in site.page("open.html").one("nav", "lists").all("a")]
    assert "sequence.html" in rail
    assert dead_ends(site) == []


def test_the_yards_hours_are_inputs_that_are_used(build: BookBuilder) -> None:
    yard = f"{YARD}  working_days: [mon, tue]\n  idle: 3 in\n"
    page = build({**FILES, "content/inputs/yard.yml": yard}).page("inputs.html")

    assert "Nothing uses yard.idle." in page.text


# ---- the cure on a sheet


def test_a_sheet_shows_what_its_work_must_cure(build: BookBuilder) -> None:
    facts = build(FILES).page("mould.html").one("dl", "sheet-facts")

    assert {row.one("dt").text: row.one("dd").text for row in facts.parts} == {
        "Crew": "2",
        "Time": "7 hr",
        "Cure": "18 hr",
    }


def test_the_fingerprint_of_a_sheet_changes_with_its_cure_and_no_other_does(build: BookBuilder) -> None:
    def codes(cure: str) -> dict[str, str]:
        mould = FILES["content/mould.md"].replace("cure: 18 hr", cure)
        site = build({**FILES, "content/mould.md": mould})
        return {address: site.code(address) for address in site.sheets}

    before, after, without = codes("cure: 18 hr"), codes("cure: 20 hr"), codes("tools: []")

    assert {name for name in before if before[name] != after[name]} == {"mould.html"}
    assert {name for name in before if before[name] != without[name]} == {"mould.html"}


# ---- the demonstration


def test_the_demonstrations_bars_stand_where_its_plan_has_them(
    demo: Site, demonstration: Path, keelbook: Command
) -> None:
    charts = [Chart(one) for one in demo.page("sequence.html").all("svg", "bars")]
    data = sequence(keelbook, demonstration)

    bars = [(chart, bar) for chart in charts for bar in chart.bars.values()]
    assert len(bars) == len(data["tasks"]) > 10
    for one, (chart, bar) in zip(data["tasks"], bars, strict=True):
        assert bar.one("text", "beside").text == one["number"]
        if one["minutes"]:
            first, last = ends(bar.one("rect", "work"))
            assert first == pytest.approx(chart.x(one["planned"]), abs=NEAR)
            assert last == pytest.approx(chart.x(one["finish"]), abs=NEAR)
