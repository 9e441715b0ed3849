"""Notes on the prose of procedures: where each rule speaks and keeps still, and marks of what is meant."""

from __future__ import annotations

import re
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from kb.content.actions import actions
from kb.language.mentions import mentions
from kb.reckon import check_book
from tests.conftest import MKDOCS

if TYPE_CHECKING:
    from tests.conftest import BookMaker, Command

HEAD = "---\ntitle: A procedure\nstage: systems\nprotection: [gloves]\n---\n"
BARE_HEAD = "---\ntitle: A procedure\nstage: systems\n---\n"
FIRST = HEAD.count("\n") + 1
"""The line of the first word below the head."""
INPUTS = """\
pump:
  main: {fuse: 10 A, voltage: 12 V}
  spare: {fuse: 10 A}
hose: {length: 24 in, gap: 1/8 in ± 1/16 in}
shed: {hot: 104 degF}
step_height: 24 in
"""
CAUTIONS = """\
isocyanate:
  word: danger
  title: Isocyanate
  text: One breath can make you allergic.
  words: [isocyanate, part A]
fuel-vapour:
  word: danger
  title: Vapour
  text: It explodes. Away with every open flame.
  words: [gasoline]
flame:
  word: warning
  title: Fire
  text: Keep it away.
  words: [open flame, torch]
"""
GLOSSARY = """\
limber hole: {means: a hole that lets water pass, slang: [mouse hole]}
sole: {means: the floor of a boat}
"""

Notes = Callable[..., list[str]]


@pytest.fixture
def notes(make_book: BookMaker) -> Notes:
    """Return a function that gives the notes on one page, each from its line on."""

    def read(text: str, head: str = HEAD, **files: str) -> list[str]:
        paths = {"inputs": "content/inputs/model.yml"}
        more = {paths.get(name, f"content/reference/{name}.yml"): content for name, content in files.items()}
        checked = check_book(make_book({"content/p.md": head + text + "\n", **more}))
        assert checked.problems == ()
        return [str(one).removeprefix("content/p.md:") for one in checked.notes]

    return read


# ---- a quantity typed by hand


@pytest.mark.parametrize(
    "typed",
    [
        "12 in", "3 psi", "1/16 in", "72 °F", "72 degF", "30 minutes", "1 1/2 in", "1-1/2 in",
        "41½ in", '5/8"',
        "27' 6 1/2\"", "27 ft 6 in", "0.5 gal", "15 gpm", "4 lb/ft^3", "7 %", "7%", "5-minute",
        "2 hours", "9 inches",
        "3 fl oz", "10A", "2 days",
    ],
)  # fmt: skip
@pytest.mark.parametrize("around", ["{}", "It stands {} apart.", "Lift, {}.", "({})", "so: {}; more"])
def test_a_typed_quantity_is_told_as_it_is_written_at_its_place(
    notes: Notes, typed: str, around: str
) -> None:
    before = around.partition("{}")[0]

    (note,) = notes(around.format(typed))

    assert note.startswith(f"{FIRST}:{len(before) + 1}: '{typed}' is typed by hand; ")


@pytest.mark.parametrize(
    "text",
    [
        "Put 2 in the box.", "Lay 3 in each bay.", "Of 5 in all, 2 in {{ hose.gap }}.",
        "Steps 3 and 4 in short.",
        "See step 3 in this list.", "The 2nd, the 3d and the 1st.", "Sheet S-13 A and S-12 in hand.",
        "At 7:30 h.",
        "At 16 h the shed shuts.", "From the 1990s.", "33 CFR 183.540 says so.",
        "A wire of type 3 A.", "M8-30 mm",
        "It reads 5.", "Take 2 lids, 4 lines.", "`12 in`", "[12 in](https://example.org)", "![12 in](a.png)",
        "{{ hose.length }} long", "It says 'Step 4' and \"Step 5\" on it.", "a quarter of an hour", "No. 3 A",
        "$5 a day", "1,200 psi", "1 in 10", "<!-- 12 in -->",
    ],
)  # fmt: skip
def test_plain_words_names_and_what_is_no_text_are_passed_over(make_book: BookMaker, text: str) -> None:
    files = {"content/p.md": HEAD + text + "\n", "content/inputs/model.yml": INPUTS}

    assert [one for one in check_book(make_book(files)).notes if "by hand" in one.what] == []


@pytest.mark.parametrize(
    ("text", "places"),
    [
        ("# Cut 5 in off", ["0:7"]),
        ("- one\n- cut 5 in off", ["1:7"]),
        ("1. Cut 5 in off", ["0:8"]),
        ("> cut 5 in off", ["0:7"]),
        ("cut\n5 in off", ["1:1"]),
        ("cut 5\nin off", ["0:5"]),
        ("| 15 in | 5 in |\n| --- | --- |\n| 6 ft | 5 in, 5 in |", ["0:3", "0:11", "2:3", "2:10", "2:16"]),
        (":::why\nIt is 5 in off.\n:::", ["1:7"]),
        ("**5 in** and *6 in*", ["0:3", "0:15"]),
        (r"\* &amp; `5 in` {{ hose.gap }} 5 in", ["0:32"]),
        ("Off.[^a]\n\n[^a]: It is 5 in off.", ["2:13"]),
        ("5 in–6 in, 7-8 in", ["0:1", "0:6", "0:14"]),
        ("5 in ± 1/8 in", ["0:1"]),
    ],
)
def test_every_kind_of_text_is_read_and_places_are_exact(notes: Notes, text: str, places: list[str]) -> None:
    told = notes(text, inputs=INPUTS)

    wanted = [(int(line) + FIRST, int(column)) for line, column in (one.split(":") for one in places)]
    found = [tuple(map(int, one.split(":")[:2])) for one in told if "by hand" in one]
    assert found == wanted


def test_fences_are_not_read(notes: Notes) -> None:
    assert notes("```calc formula plank\nlength: 12 in\n```\n\n```\n12 in\n```\n\n    12 in") == []


@pytest.mark.parametrize(
    ("text", "cure"),
    [
        ("It draws 12 V.", "pump.main.voltage is 12 V: write {{ pump.main.voltage }} where that is meant"),
        (
            "The fuse is 10 A.",
            "pump.main.fuse and pump.spare.fuse are 10 A: write {{ pump.main.fuse }} or {{ pump.spare.fuse }}"
            " where one of them is meant",
        ),
        ("It is 40 °C.", "shed.hot is 40 °C: write {{ shed.hot in degC }} where that is meant"),
        ("A gap of 1/8 in.", "hose.gap is 1/8 in: write {{ hose.gap }} where that is meant"),
        ("It is 13 V.", "name it as an input, or write <!-- meant: why --> above it"),
        ("It is 12 A.", "name it as an input, or write <!-- meant: why --> above it"),
    ],
)
def test_the_names_that_have_the_value_are_offered(notes: Notes, text: str, cure: str) -> None:
    (note,) = notes(text, inputs=INPUTS)

    assert note.partition("; ")[2] == cure


def test_a_name_that_the_text_speaks_of_comes_first_and_a_number_is_offered_too(notes: Notes) -> None:
    block = "```calc formula plank\ntwice: 2 * hose.gap\n```\n\n"

    (step, number) = notes(block + "The step is 2 ft high.\n\nThen 1/4 in.", inputs=INPUTS)

    assert (
        "step_height and hose.length are 2 ft: write {{ step_height in ft }} or {{ hose.length in ft }}"
        in step
    )
    assert "plank.twice is 1/4 in: write {{ plank.twice }}" in number


# ---- a step with more than one action


@pytest.mark.parametrize(
    ("step", "verbs"),
    [
        ("Lower the deck. Clamp it.", "lower clamp"),
        ("Lower the deck. Clamp.", "lower clamp"),
        ("Lower the deck, then clamp it.", "lower clamp"),
        ("Lower the deck, and then lift it.", "lower lift"),
        ("Lower the deck; clamp it.", "lower clamp"),
        ("Slowly lower the deck. Then clamp it.", "lower clamp"),
        ("**Measure** {{ hose.gap }}. Cut\n   the hose. *Weigh* it.", "measure cut weigh"),
        ("Zero the scale.\n\n   Weigh the tank.", "zero weigh"),
        ("Stir, then read in the middle.", "stir read"),
    ],
)
def test_a_step_with_several_actions_is_told_once_with_its_verbs(notes: Notes, step: str, verbs: str) -> None:
    told = notes(f"1. Wait.\n2. {step}", inputs=INPUTS)

    named = ", ".join(f"'{one}'" for one in verbs.split())
    (note,) = told
    assert note.startswith(f"{FIRST + 1}:")
    assert f": this step has {len(verbs.split())} actions, {named}; split it" in note


@pytest.mark.parametrize(
    "step",
    [
        "Measure the gap. It must read {{ hose.gap }}.",
        "Open one cap. No smell: go on.",
        "Read the label. If it differs, stop. More or less: call the foreman.",
        "Lower the deck. Do not drop it. Never twist it.",
        "Cut the hose. Tape is no seal. Clamps come later. Water runs off.",
        "Lift the tank. Lead weights stay. Set is hard. Soap that stays eats plate.",
        "Press it. Ribbed hose is wrong; put it back.",
        "Weigh the tank. Accept 3 or more. Sign it. Write it on the card.",
        "Lift the tank\n   - lower it\n   - clamp it",
        "Lift the tank.\n\n   :::why\n   Measure it. Cut it.\n   :::",
        "Look at it. See that it lies flat. Keep it so.",
    ],
)
def test_facts_conditions_and_warnings_are_no_actions(notes: Notes, step: str) -> None:
    assert notes(f"1. {step}", inputs=INPUTS) == []


@pytest.mark.parametrize("text", ["- Lower it. Clamp it.", "Lower it. Clamp it.", "- 1. Lower it. Clamp it."])
def test_only_steps_are_looked_at_for_actions(notes: Notes, text: str) -> None:
    assert notes(text) == []


# ---- a head without protection


@pytest.mark.parametrize("protection", ["[gloves, goggles]", "gloves", "[]", "none"])
def test_protection_or_that_none_is_needed_stands_in_the_head(notes: Notes, protection: str) -> None:
    head = BARE_HEAD.replace("stage", f"protection: {protection}\nstage")

    assert notes("1. Wait.", head) == []


def test_a_procedure_with_steps_and_no_protection_is_told_at_its_title(notes: Notes) -> None:
    (note,) = notes("1. Wait.", BARE_HEAD)

    assert note.startswith("2:8: the head of this procedure has no 'protection'; write protection: [")


def test_a_page_without_steps_needs_no_protection(notes: Notes) -> None:
    assert notes("- Wait.\n\nAll is well.", BARE_HEAD) == []


# ---- a hazard's word without its caution


@pytest.mark.parametrize(
    ("text", "place", "word"),
    [
        ("Stir the ISOCYANATE. Pour isocyanate.", "0:10", "ISOCYANATE"),
        ("Weigh part\nA first.", "0:7", "part A"),
        ("# Isocyanate", "0:3", "Isocyanate"),
        ("Look.\n\n- See [the isocyanate](https://example.org)", "2:12", "isocyanate"),
        (":::why\nPart A stinks.\n:::", "1:1", "Part A"),
        (":::warning Part A\nHot.\n:::\n\nNo isocyanate.", "4:4", "isocyanate"),
    ],
)
def test_a_hazard_is_told_once_a_page_where_its_word_first_stands(
    notes: Notes, text: str, place: str, word: str
) -> None:
    told = notes(text, cautions=CAUTIONS)

    line, column = map(int, place.split(":"))
    what = f"{line + FIRST}:{column}: '{word}' stands here, and no caution of this page tells of it"
    assert told == [f"{what}; call the caution 'isocyanate': write :::hazard isocyanate"]


@pytest.mark.parametrize(
    "text",
    [
        "Isocyanates, apart a lot, part AB, part-A.",
        ":::danger Isocyanate\nBad.\n:::\n\nStir the isocyanate.",
        "Stir the isocyanate.\n\n:::notice Mind\nThe isocyanate is bad.\n:::",
        ":::hazard isocyanate\n:::\n\nStir part A, the isocyanate.",
        "{{ 1 }} `isocyanate` ![isocyanate](a.png)",
        ":::hazard fuel-vapour\n:::\n\nNo open flame, as the gasoline's caution says itself.",
    ],
)
def test_a_caution_that_is_called_or_told_and_other_words_are_enough(make_book: BookMaker, text: str) -> None:
    files = {"content/p.md": HEAD + text + "\n", "content/reference/cautions.yml": CAUTIONS}

    assert check_book(make_book(files)).notes == ()


def test_the_caution_of_a_calculator_on_the_page_counts(make_book: BookMaker, yard: dict[str, str]) -> None:
    plugin = yard["plugins/yard.py"].replace("import FALLBACK", "import FALLBACK, Caution")
    cautioned = plugin.replace(
        'limits=[Limit("flat"',
        'cautions=[Caution("danger", "Bad.", hazard="isocyanate")], limits=[Limit("flat"',
    )
    page = HEAD + "```calc beam carlin\nspan: 24 in\n```\n\nStir the isocyanate.\n"
    files = {"content/p.md": page, "content/reference/cautions.yml": CAUTIONS}

    with_it = check_book(make_book({**files, "plugins/yard.py": cautioned}))
    without = check_book(make_book({**files, "plugins/yard.py": plugin}))

    assert (len(with_it.notes), len(without.notes), without.problems) == (0, 1, ())


# ---- an undefined term


@pytest.mark.parametrize(
    "text",
    [
        "*Limber hole*, *limber holes*, *mouse\nhole*, the *sole*", "**garboard**", "`*garboard*`",
        "As *If it is wrong* says.\n\n## If it is wrong", "See *A procedure*.", "It reads *cannot tell*.",
        "*This is not the hull that you think.*", "*{{ 1 }}*", "*Stop: now*",
    ],
)  # fmt: skip
def test_known_terms_names_and_whole_sentences_may_be_emphasised(notes: Notes, text: str) -> None:
    assert notes(text, glossary=GLOSSARY) == []


@pytest.mark.parametrize("words", ["garboard", "limber", "tabbing strip", "Garboard."])
def test_an_emphasised_word_that_the_glossary_lacks_is_told(notes: Notes, words: str) -> None:
    (note,) = notes(f"The *{words}* leaks.", glossary=GLOSSARY)

    assert note.startswith(f"{FIRST}:6: '{words}' is no term of the glossary; add it to glossary.yml")


def test_without_a_glossary_no_term_is_missed(notes: Notes) -> None:
    assert notes("The *garboard* leaks.", cautions=CAUTIONS) == []


# ---- what is meant

MARK = "<!-- meant: the maker says so -->"


@pytest.mark.parametrize(
    "text",
    [
        f"{MARK}\nIt is 5 in.",
        f"{MARK}\n\nIt is 5 in.",
        f"It is 5 in. {MARK}",
        f"It is, {MARK} or seems,\n5 in.",
        f"{MARK}\n# It is 5 in",
        f"# It is 5 in {MARK}",
        f"{MARK}\n| 5 in |\n| --- |\n| 6 in |",
        f"| 5 in |\n| --- |\n| 6 in {MARK} |",
        f"{MARK}\n1. Lower it. Clamp it. It is 5 in.",
        f"1. Wait.\n{MARK}\n2. Lower it. Clamp it.",
        f"1. Lower it. Clamp it. {MARK}",
        f"1. Lower it.\n\n   Clamp it.\n\n   {MARK}",
        f"{MARK}\n- It is 5 in.",
        f"{MARK}\n:::why\nIt is 5 in.\n\nIt is 6 in.\n:::",
        f"{MARK}\nThe *garboard* and the isocyanate.",
        "<!-- Meant:\nthe maker says so -->\nIt is 5 in.",
        f"<!-- a remark -->\n\n{MARK}\n\n<!-- another -->\n\nIt is 5 in.",
    ],
)
def test_what_is_marked_as_meant_is_not_told(notes: Notes, text: str) -> None:
    assert notes(text, cautions=CAUTIONS, glossary=GLOSSARY) == []


@pytest.mark.parametrize(
    ("text", "place"),
    [
        (f"{MARK}\nOne.\n\nIt is 5 in.", "3:7"),
        (f"{MARK}\n- One.\n- It is 5 in.", "2:9"),
        (f"One. {MARK}\n\nIt is 5 in.", "2:7"),
        (f"It is 5 in.\n{MARK}", "0:7"),
        (f"1. One. {MARK}\n2. It is 5 in.", "1:10"),
    ],
)
def test_a_mark_covers_its_own_paragraph_or_item_and_no_other(notes: Notes, text: str, place: str) -> None:
    line, column = map(int, place.split(":"))
    at = text[: text.index("<!--")]
    mark = f"{FIRST + at.count(chr(10))}:{len(at) - at.rfind(chr(10))}"

    told = notes(text)

    typed = f"{FIRST + line}:{column}: '5 in' is typed by hand"
    idle = f"{mark}: this mark of what is meant holds nothing back"
    assert sorted(one.partition(";")[0] for one in told) == sorted([typed, idle])


@pytest.mark.parametrize("mark", ["<!-- meant -->", "<!-- meant: -->", "<!--meant:-->", "<!-- MEANT : -->"])
@pytest.mark.parametrize("text", ["{}\nIt is 5 in.", "{}\nIt is well.", "It is 5 in. {}"])
def test_a_mark_without_a_reason_is_told_instead(notes: Notes, mark: str, text: str) -> None:
    (note,) = notes(text.format(mark))

    place = f"{FIRST}:{text.index('{}') + 1}"
    assert note == f"{place}: this mark does not say why it is meant; write <!-- meant: why -->"


@pytest.mark.parametrize(
    "comment", ["<!-- meant for the new hand -->", "<!-- 5 in -->", "<!-- not meant: x -->"]
)
def test_another_comment_is_no_mark(notes: Notes, comment: str) -> None:
    assert [one.split("; ")[0] for one in notes(f"{comment}\nIt is 5 in.")] == [
        f"{FIRST + 1}:7: '5 in' is typed by hand"
    ]


# ---- what is read, and what notes do


def test_a_page_without_a_stage_is_not_read(notes: Notes) -> None:
    text = f"1. Lower it. Clamp it at 5 in.\n\nThe *garboard* and the isocyanate.\n\n{MARK}"

    assert notes(text, "---\ntitle: A page\n---\n", cautions=CAUTIONS, glossary=GLOSSARY) == []


def test_notes_are_no_errors_even_where_check_is_strict(make_book: BookMaker, keelbook: Command) -> None:
    ran = keelbook("check", "--strict", book=make_book({"content/p.md": HEAD + "It is 5 in.\n"}))

    assert ran.code == 0
    assert re.fullmatch(r"note: content/p\.md:6:7: '5 in' is typed by hand; [^\n]+\n", ran.err)


TEXTS = st.one_of(
    st.text(max_size=120),
    st.lists(
        st.sampled_from(
            [
                "1. ", "- ", "> ", "# ", "| ", "\n", "\n\n", "   ", "12 in", "½", "'",
                '"', "5 ft 6 in", "±", "1/",
                "*", "**", "`", "[", "](x)", "<!-- meant: a -->", "<!-- meant", "-->",
                ":::danger a\n", ":::\n",
                ":::hazard flame\n", "{{ 1 }}", "{{", "Lower it. ", "torch ", "part\nA ", "[^a]",
                "[^a]: ", "^[b]",
                "sole ", "&amp;", "\\", "| --- |", "~~", "\t", "\ufffc", "1 in ", "³", "²",
                "Term\n: ", "\r\n",
            ]
        ),
        max_size=25,
    ).map("".join),
)  # fmt: skip
ONE_FOOTNOTE = TEXTS.filter(lambda text: text.count("]:") < 2)
"""Footnotes that stand in each other are a matter of the parser's."""


@settings(max_examples=60, deadline=None)
@given(ONE_FOOTNOTE)
@example("1. a <!-- meant: x -->\n   <!-- meant: x --> 12 in ½ 3\n\n| 1 in |\n|---|\n| 1 in | 1 in |")
@example("[^a] 5 in ^[5 in <!-- meant: b -->]\n\n[^a]: 5 in <!-- meant: b -->\n<!-- meant: c -->")
def test_any_text_gives_notes_whose_places_are_in_it(text: str) -> None:
    page = HEAD + text
    with tempfile.TemporaryDirectory() as folder:
        files = {
            "mkdocs.yml": MKDOCS, "content/p.md": page, "content/inputs/model.yml": INPUTS,
            "content/reference/cautions.yml": CAUTIONS, "content/reference/glossary.yml": GLOSSARY,
        }  # fmt: skip
        for name, content in files.items():
            path = Path(folder) / name
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_text(content, encoding="utf-8", errors="replace", newline="")
        checked = check_book(Path(folder))

    lines = re.split("\r\n|\r|\n", page)
    for note in checked.notes:
        assert 1 <= note.place.line <= len(lines)
        assert 1 <= note.place.column <= len(lines[note.place.line - 1]) + 1


@given(TEXTS)
def test_a_mention_stands_where_it_says(text: str) -> None:
    last = 0
    for one in mentions(text):
        assert last <= one.at
        assert " ".join(text[one.at :].split()).startswith(one.text)
        last = one.at + 1


@given(TEXTS)
def test_an_action_is_a_word_of_its_text(text: str) -> None:
    assert all(verb in text.lower() for verb in actions(text))
