"""`keelbook sequence` as a foreman types it: a table, JSON in working days and in dates, and refusals."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from tests.conftest import BookMaker, Command

HOLD = "```measure {}\nwhat: Places that are soft\naccept: value = 0\nhold: yes\n```\n"
YARD = """\
yard:
  crew: 3
  working_days: [mon, tue, wed, thu, fri]
  day_start: 7 hr 30 min
  day_length: 8 hr
"""

# By hand: Monday 7:30 both hull sheets. Mould, two people for seven hours, until 14:30, cured 18 hr later, on
# Tuesday 8:30. Cradle, two people for two hours: one is left, so the crew gets to it when the mould is done,
# at 14:30, until Tuesday 8:30. Deck takes both cured, so from Tuesday 8:30, one hour, until 9:30.
# Cradle could begin so late that it is done by Tuesday 8:30: seven working hours later.
FILES = {
    "content/inputs/yard.yml": YARD,
    "content/mould.md": (
        "---\ntitle: Fill the mould\nnumber: H-1\nstage: hull\ncrew: 2\ntime: 7 hr\ncure: 18 hr\n---\n"
        + HOLD.format("mould_soft")
    ),
    "content/cradle.md": "---\ntitle: Build the cradle\nstage: hull\ncrew: 2\ntime: 2 hr\n---\n",
    "content/deck.md": (
        "---\ntitle: Set the deck\nnumber: C-1\nstage: close-up\ncrew: 3\ntime: 1 hr\n"
        "needs: [mould_soft, cradle]\n---\n" + HOLD.format("deck_soft")
    ),
}


def test_json_has_the_tasks_the_longest_chain_and_what_leads_to_each_hold_point(
    make_book: BookMaker, keelbook: Command
) -> None:
    ran = keelbook("sequence", "--json", book=make_book(FILES))

    first, tuesday = {"day": 1, "time": "07:30"}, {"day": 2, "time": "08:30"}
    assert (ran.code, ran.err) == (0, "")
    assert json.loads(ran.out) == {
        "start": first,
        "end": {"day": 2, "time": "09:30"},
        "crew": 3,
        "tasks": [
            {
                "id": "mould",
                "number": "H-1",
                "title": "Fill the mould",
                "crew": 2,
                "minutes": 420,
                "cure_minutes": 1080,
                "needs": [],
                "earliest": first,
                "planned": first,
                "finish": {"day": 1, "time": "14:30"},
                "cured": tuesday,
                "slack_minutes": 0,
                "longest_chain": True,
            },
            {
                "id": "cradle",
                "number": None,
                "title": "Build the cradle",
                "crew": 2,
                "minutes": 120,
                "cure_minutes": 0,
                "needs": [],
                "earliest": first,
                "planned": {"day": 1, "time": "14:30"},
                "finish": tuesday,
                "cured": tuesday,
                "slack_minutes": 420,
                "longest_chain": False,
            },
            {
                "id": "deck",
                "number": "C-1",
                "title": "Set the deck",
                "crew": 3,
                "minutes": 60,
                "cure_minutes": 0,
                "needs": ["mould", "cradle"],
                "earliest": tuesday,
                "planned": tuesday,
                "finish": {"day": 2, "time": "09:30"},
                "cured": {"day": 2, "time": "09:30"},
                "slack_minutes": 0,
                "longest_chain": True,
            },
        ],
        "longest_chain": ["mould", "deck"],
        "hold_points": [
            {
                "name": "mould_soft",
                "what": "Places that are soft",
                "page": "mould",
                "chain": ["mould"],
            },
            {
                "name": "deck_soft",
                "what": "Places that are soft",
                "page": "deck",
                "chain": ["mould", "deck"],
            },
        ],
    }


def test_with_a_first_day_json_has_dates(make_book: BookMaker, keelbook: Command) -> None:
    # A Friday: what cures over the weekend is cured on Saturday, and the deck begins on Monday.
    ran = keelbook("sequence", "--json", "--start", "2026-03-06", book=make_book(FILES))

    data = json.loads(ran.out)
    tasks = {one["id"]: one for one in data["tasks"]}
    assert (data["start"], data["end"]) == ("2026-03-06T07:30", "2026-03-09T09:30")
    assert tasks["mould"]["cured"] == "2026-03-07T08:30"
    assert tasks["deck"]["planned"] == "2026-03-09T08:30"
    assert tasks["deck"]["earliest"] == "2026-03-09T07:30"


def test_the_table_has_a_row_a_procedure_and_says_the_chain(make_book: BookMaker, keelbook: Command) -> None:
    ran = keelbook("sequence", book=make_book(FILES))

    heads, *rows = ran.out.partition("\n\n")[0].splitlines()
    assert heads.split() == [
        "sheet", "crew", "time", "cure", "earliest", "planned", "done", "slack", "chain", "procedure",
    ]  # fmt: skip
    assert [" ".join(row.split()) for row in rows] == [
        "H-1 2 7 hr 18 hr day 1, 07:30 day 1, 07:30 day 1, 14:30 none longest Fill the mould",
        "2 2 hr day 1, 07:30 day 1, 14:30 day 2, 08:30 7 hr Build the cradle",
        "C-1 3 1 hr day 2, 08:30 day 2, 08:30 day 2, 09:30 none longest Set the deck",
    ]
    assert "longest chain: H-1 → C-1\n" in ran.out
    assert "with a crew of 3 done day 2, 09:30\n" in ran.out


def test_the_table_has_dates_with_a_first_day(make_book: BookMaker, keelbook: Command) -> None:
    ran = keelbook("sequence", "--start", "2026-03-06", book=make_book(FILES))

    assert "begins Fri 2026-03-06 07:30; by needs alone done Mon 2026-03-09 08:30\n" in ran.out


def test_who_asks_for_more_people_than_there_are_is_named(make_book: BookMaker, keelbook: Command) -> None:
    files = {**FILES, "content/inputs/yard.yml": YARD.replace("crew: 3", "crew: 2")}
    ran = keelbook("sequence", book=make_book(files))

    assert ran.out.splitlines()[-1] == "C-1 asks for 3 people: more than the yard has"


def test_a_yard_that_does_not_say_how_many_people_it_has_is_asked(
    make_book: BookMaker, keelbook: Command
) -> None:
    book = make_book({name: text for name, text in FILES.items() if "yard" not in name})

    assert "yard.crew is not given: there are always enough people\n" in keelbook("sequence", book=book).out
    assert json.loads(keelbook("sequence", "--json", book=book).out)["crew"] is None


def test_a_hull_has_its_own_sequence(make_book: BookMaker, keelbook: Command) -> None:
    book = make_book({**FILES, "content/hulls/N-1/hull.yml": "yard:\n  crew: 9\n"})

    assert json.loads(keelbook("sequence", "--json", book=book).out)["crew"] == 3
    assert json.loads(keelbook("sequence", "--json", "--hull", "N-1", book=book).out)["crew"] == 9


def test_a_hull_that_is_none_is_told(make_book: BookMaker, keelbook: Command) -> None:
    book = make_book({**FILES, "content/hulls/N-1/hull.yml": "yard:\n  crew: 9\n"})
    ran = keelbook("sequence", "--hull", "N-11", book=book)

    assert ran.code == 64
    assert "there is no hull 'N-11'; did you mean 'N-1'?" in ran.err


@pytest.mark.parametrize(
    ("date", "says"),
    [
        ("2026-02-30", "--start: '2026-02-30' is no day; write one such as 2026-03-02"),
        ("Monday", "--start: 'Monday' is no day; write one such as 2026-03-02"),
        ("3/2/2026", "--start: '3/2/2026' is no day; write one such as 2026-03-02"),
        ("", "--start: '' is no day; write one such as 2026-03-02"),
        (
            "20260302",
            "--start: '20260302' is not written as year, month, day; write one such as 2026-03-02",
        ),
        ("9999-12-31", "--start: the work would end after the year 9999; begin earlier"),
    ],
)
def test_a_wrong_date_is_wrong_use(make_book: BookMaker, keelbook: Command, date: str, says: str) -> None:
    ran = keelbook("sequence", "--start", date, book=make_book(FILES))

    assert (ran.code, ran.out) == (64, "")
    assert ran.err.splitlines()[0] == f"keelbook: {says}"


@pytest.mark.parametrize("extra", [[], ["--json"], ["--start", "2026-03-02"]], ids=["table", "json", "dates"])
def test_a_book_with_errors_has_no_sequence(
    make_book: BookMaker, keelbook: Command, extra: list[str]
) -> None:
    files = {
        **FILES,
        "content/inputs/yard.yml": YARD.replace("crew: 3", "crew: none"),
        "content/cradle.md": "---\ntitle: Build the cradle\nstage: hull\nneeds: [mold, deck]\n---\n",
    }
    ran = keelbook("sequence", *extra, book=make_book(files))

    assert (ran.code, ran.out) == (2, "")
    assert ran.err.splitlines() == [
        "content/cradle.md:4:9: there is no procedure or measurement 'mold'; did you mean 'mould'?",
        "content/cradle.md:4:15: these procedures wait for each other: cradle needs deck, deck needs cradle; "
        "take one of the needs away",
        "content/inputs/yard.yml:2:9: 'none' is not a number of people; write a count such as 5",
    ]


def test_the_check_tells_hours_that_cannot_be_of_a_hull_too(make_book: BookMaker, keelbook: Command) -> None:
    book = make_book({**FILES, "content/hulls/N-1/hull.yml": "yard:\n  day_length: 20 hr\n"})
    ran = keelbook("check", book=book)

    assert ran.code == 2
    assert ran.err == (
        "content/hulls/N-1/hull.yml:2:15: the working day ends after midnight (hull N-1); "
        "let it begin earlier or be shorter\n"
    )


def test_a_book_without_stages_says_that_there_is_nothing_to_put_in_order(
    make_book: BookMaker, keelbook: Command
) -> None:
    ran = keelbook("sequence", book=make_book({"content/p.md": "---\ntitle: P\n---\n"}))

    assert (ran.code, ran.out) == (0, "no page has a stage, so there is no work to put in order\n")


def test_a_year_on_every_page_is_no_trouble(make_book: BookMaker, keelbook: Command) -> None:
    files = {
        f"content/p{number}.md": (
            f"---\ntitle: P\nstage: hull\ntime: 365 day\ncure: 365 day\n"
            f"needs: {[f'p{number - 1}'] if number else []}\n---\n".replace("'", "")
        )
        for number in range(9)
    }
    ran = keelbook("sequence", "--json", book=make_book(files))

    # By hand: a year of minutes is 1095 days of eight hours, nine times, and cures between.
    assert ran.code == 0
    assert json.loads(ran.out)["end"]["day"] > 9 * 1095
