"""The files of the reference folder: read whole, and every fault told where it stands."""

from __future__ import annotations

import tempfile
from collections.abc import Callable, Mapping
from datetime import date
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from kb.content.book import read_book
from kb.content.reference import Hazard, Instrument, KnownSource, Material, Reference, Term
from kb.content.reference_files import read_reference
from kb.language.quantity import quantity
from kb.language.units import unit
from kb.problem import Place, Problem

if TYPE_CHECKING:
    from tests.conftest import BookMaker, Command

FOLDER = "content/reference"
NAMES = ("instruments.yml", "materials.yml", "glossary.yml", "cautions.yml", "sources.yml")
GOOD = {
    "instruments.yml": """\
kitchen scale: {tolerance: 0.05 oz, calibrated: 2026-03-01, due: 2027-03-01, note: 'on the bench, left'}
tape with 1/16 in marks: {tolerance: 1/32 in}
6" caliper: {}
stick thermometer:
  tolerance: 2 degF
dip rod:
pressure gauge: {tolerance: 2 %}
""",
    "materials.yml": """\
# by the drum
pour foam part A:
  unit: lb
  packs: [50 lb, 10 lb, 960 oz]
  prices: [180, 41, 212.50]
  density: 10.2 lb/gal
  shelf_life: 180 day
  lead_time: 5 day
  storage: 'dry, 60 to 80 degF'
  safety_sheet: 'binder F, tab 3'
  note: shake it
#10 screws: {unit: piece}
hose clamp: {unit: piece, packs: [100, 1]}
label: {unit: none, packs: 1, prices: 2, lead_time: 0 day}
""".replace("#10 screws", "'#10 screws'"),
    "glossary.yml": """\
limber hole: {means: 'a hole low in a frame, for water', slang: [weep hole, mouse hole], see: [Bilge]}
Bilge: {means: the lowest part inside, slang: sump, see: limber hole}
""",
    "cautions.yml": """\
isocyanate: {word: warning, title: Isocyanate, text: 'Foam gives off vapour: wear masks.', words: [foam, MDI]}
hot_work-2: {word: danger, title: Hot work, text: No flame here.}
""",
    "sources.yml": """\
cfr-183-542: {title: '33 CFR 183.542', what: 'fuel systems, the general rule', standing: read}
foam data: {title: The drum's sheet, what: rise and cure, standing: maker's}
""",
}


def read(root: Path) -> tuple[Reference, list[Problem]]:
    return read_reference(root, "content")


@pytest.fixture
def read_files(make_book: BookMaker) -> Callable[[Mapping[str, str]], tuple[Reference, list[Problem]]]:
    """Return a function that reads some files of the reference folder, and what is wrong with them."""

    def result(files: Mapping[str, str]) -> tuple[Reference, list[Problem]]:
        return read(make_book({f"{FOLDER}/{name}": text for name, text in files.items()}))

    return result


Read = Callable[[Mapping[str, str]], tuple[Reference, list[Problem]]]


def at(file: str, line: int, column: int = 1) -> Place:
    return Place(f"{FOLDER}/{file}", line, column)


# ---- what is good is read whole


def test_good_files_have_no_problem_and_are_all_there(read_files: Read) -> None:
    reference, problems = read_files(GOOD)

    assert [str(problem) for problem in problems] == []
    assert reference.files == set(NAMES)


def test_instruments_are_read_whole(read_files: Read) -> None:
    file = "instruments.yml"

    assert read_files(GOOD)[0].instruments == {
        "kitchen scale": Instrument(
            "kitchen scale",
            at(file, 1),
            quantity(Fraction(1, 20), "oz"),
            date(2026, 3, 1),
            date(2027, 3, 1),
            "on the bench, left",
            "0.05 oz",
        ),
        "tape with 1/16 in marks": Instrument(
            "tape with 1/16 in marks",
            at(file, 2),
            quantity(Fraction(1, 32), "in"),
            tolerance_text="1/32 in",
        ),
        '6" caliper': Instrument('6" caliper', at(file, 3)),
        "stick thermometer": Instrument(
            "stick thermometer", at(file, 4), quantity(2, "delta_degF"), tolerance_text="2 degF"
        ),
        "dip rod": Instrument("dip rod", at(file, 6)),
        "pressure gauge": Instrument("pressure gauge", at(file, 7), quantity(2, "%"), tolerance_text="2 %"),
    }


def test_materials_are_read_whole_with_the_smallest_pack_first(read_files: Read) -> None:
    file = "materials.yml"

    assert read_files(GOOD)[0].materials == {
        "pour foam part A": Material(
            "pour foam part A",
            at(file, 2),
            unit("lb"),
            (quantity(10, "lb"), quantity(50, "lb"), quantity(60, "lb")),
            (41.0, 180.0, 212.5),
            quantity(Fraction(102, 10), "lb/gal"),
            quantity(180, "day"),
            quantity(5, "day"),
            "dry, 60 to 80 degF",
            "binder F, tab 3",
            "shake it",
        ),
        "#10 screws": Material("#10 screws", at(file, 12), unit("")),
        "hose clamp": Material("hose clamp", at(file, 13), unit(""), (quantity(1), quantity(100))),
        "label": Material(
            "label", at(file, 14), unit(""), (quantity(1),), (2.0,), lead_time=quantity(0, "day")
        ),
    }


def test_words_cautions_and_sources_are_read_whole(read_files: Read) -> None:
    reference, _ = read_files(GOOD)

    assert reference.terms == {
        "limber hole": Term(
            "limber hole",
            at("glossary.yml", 1),
            "a hole low in a frame, for water",
            ("weep hole", "mouse hole"),
            ("Bilge",),
        ),
        "Bilge": Term("Bilge", at("glossary.yml", 2), "the lowest part inside", ("sump",), ("limber hole",)),
    }
    assert reference.hazards == {
        "isocyanate": Hazard(
            "isocyanate",
            at("cautions.yml", 1),
            "warning",
            "Isocyanate",
            "Foam gives off vapour: wear masks.",
            ("foam", "MDI"),
        ),
        "hot_work-2": Hazard("hot_work-2", at("cautions.yml", 2), "danger", "Hot work", "No flame here."),
    }
    assert reference.sources == {
        "cfr-183-542": KnownSource(
            "cfr-183-542",
            at("sources.yml", 1),
            "33 CFR 183.542",
            "fuel systems, the general rule",
            "read",
        ),
        "foam data": KnownSource(
            "foam data", at("sources.yml", 2), "The drum's sheet", "rise and cure", "maker's"
        ),
    }


def test_a_book_without_the_folder_has_an_empty_reference(make_book: BookMaker) -> None:
    assert read(make_book({})) == (Reference(), [])


@pytest.mark.parametrize("file", NAMES)
def test_a_file_with_nothing_but_a_comment_is_there_and_empty(read_files: Read, file: str) -> None:
    assert read_files({file: "# later\n"}) == (Reference(files=frozenset([file])), [])


@pytest.mark.parametrize("file", NAMES)
def test_each_file_may_stand_alone(read_files: Read, file: str) -> None:
    reference, problems = read_files({file: GOOD[file]})

    assert problems == []
    assert reference.files == {file}


# ---- what is wrong is told where it stands

# file; text, with ‸ before the place of the fault; words that must be said; the cure
FAULTS = {
    "instruments.yml": [
        ("scale: {‸tolernce: 1 oz}", "instruments have no 'tolernce'", "did you mean 'tolerance'?"),
        ("scale: {‸zzz: 1 oz}", "no 'zzz'", "tolerance, calibrated, due, note"),
        ("scale: {tolerance: ‸3}", "'3' has no unit", "0.05 oz"),
        ("scale: {tolerance: ‸-1 oz}", "'-1 oz' is below zero", "either side"),
        ("scale: {tolerance: 1 ‸onz}", "no unit 'onz'", "did you mean 'oz'?"),
        ("scale: {tolerance: '1 ‸onz'}", "no unit 'onz'", "did you mean 'oz'?"),
        ("scale: {tolerance: ‸1 oz ± 1/2 oz}", "has a tolerance", "leave the tolerance out"),
        ("scale: {tolerance: ‸[1 oz]}", "must be one line of text", "without brackets"),
        ("scale:\n  note: ‸''", "no value here", "drop the line"),
        ("scale: {calibrated: ‸2026-02-30}", "'2026-02-30' is not a day", "2026-03-01"),
        ("scale: {calibrated: ‸20260301}", "'20260301' is not a day", "2026-03-01"),
        ("scale: {due: ‸next spring}", "'next spring' is not a day", "2026-03-01"),
        (
            "scale: {calibrated: 2026-03-01, due: ‸2026-02-28}",
            "due 2026-02-28, before it was calibrated 2026-03-01",
            "check both dates",
        ),
        ("scale: {}\n‸Scale: {}", "'Scale' stands here twice, first in line 1", "another name"),
        ("scale: ‸[a, b]", "'scale' is not written key by key", "scale: {tolerance: …}"),
        ("scale: ‸good", "'scale' is not written key by key", "scale: {tolerance: …}"),
        ("‸'': {}", "has no name", "before the colon"),
        ("‸- scale", "stands under its name", "name: {tolerance: …}"),
        ("‸scale", "stands under its name", "name: {tolerance: …}"),
        ("scale: {note: ‸&a b}", "'&a b' is not read as written", "quote it"),
        ("scale: {}\n‸scale: {}", "'scale' stands here twice", "keep one"),
    ],
    "materials.yml": [
        ("‸foam: {packs: [10 lb]}", "'foam' does not say 'unit'", "unit: piece"),
        ("‸foam:", "'foam' does not say 'unit'", "unit: lb"),
        ("foam: {‸units: lb}", "materials have no 'units'", "did you mean 'unit'?"),
        ("foam: {unit: ‸pounds}", "no unit 'pounds'", "did you mean 'lb'?"),
        ("foam: {unit: ‸pieces}", "no unit 'pieces'", "did you mean 'piece'?"),
        ("foam: {unit: ‸[lb]}", "must be one line of text", "without brackets"),
        ("foam: {unit: lb, packs: [‸3 gal]}", "'3 gal' is a volume", "write the pack in lb"),
        ("foam: {unit: lb, packs: [‸3 lbf]}", "'3 lbf' is a force", "write the pack in lb"),
        ("foam: {unit: lb, packs: [‸3]}", "'3' is a plain number", "write the pack in lb"),
        ("foam: {unit: lb, packs: [‸0 lb]}", "'0 lb' holds nothing", "more than zero"),
        ("foam: {unit: lb, packs: [‸-5 lb]}", "'-5 lb' holds nothing", "more than zero"),
        ("foam: {unit: lb, packs: [10 lb, ‸160 oz]}", "'160 oz' is '10 lb' again", "keep one"),
        ("foam: {unit: lb, packs: [‸[10 lb]]}", "must be one line of text", "without brackets"),
        ("foam: {unit: lb, packs: [10 ‸lbz]}", "no unit 'lbz'", "did you mean 'lb'?"),
        ("foam:\n  unit: lb\n  packs: ‸10 lb, 50 lb", "'10 lb, 50 lb' is read as one", "[10 lb, 50 lb]"),
        ("clamp: {unit: piece, packs: [‸2.5]}", "'2.5' is not a whole count", "such as 10"),
        ("clamp: {unit: piece, packs: [‸3 lb]}", "'3 lb' is a mass", "write a count"),
        ("foam: {unit: lb, packs: [1 lb, 2 lb], prices: ‸[4]}", "packs: 2, prices: 1", "same order"),
        ("foam: {unit: lb, packs: [1 lb], prices: ‸[]}", "packs: 1, prices: 0", "same order"),
        ("foam: {unit: lb, prices: ‸[4]}", "packs: 0, prices: 1", "same order"),
        ("foam: {unit: lb, packs: [1 lb], prices: [‸4 lb]}", "'4 lb' is not a price", "41.50"),
        ("foam: {unit: lb, packs: [1 lb], prices: [‸-4]}", "'-4' is not a price", "41.50"),
        ("foam: {unit: lb, packs: [1 lb], prices: [‸$4]}", "'$4' is not a quantity", "begin with a number"),
        ("foam: {unit: lb, density: ‸10 lb}", "'10 lb' is not a density", "10.2 lb/gal"),
        ("foam: {unit: lb, density: ‸0 lb/gal}", "'0 lb/gal' cannot be a density", "more than zero"),
        ("foam: {unit: lb, shelf_life: ‸6 lb}", "'6 lb' is not a time", "180 day"),
        ("foam: {unit: lb, shelf_life: ‸0 day}", "'0 day' cannot be a shelf life", "more than zero"),
        ("foam: {unit: lb, lead_time: ‸5}", "'5' is not a time", "5 day"),
        ("foam: {unit: lb, lead_time: ‸-5 day}", "'-5 day' cannot be a lead time", "zero or more"),
        ("foam: {unit: lb, storage: ‸[dry]}", "must be one line of text", "without brackets"),
        ("foam: {unit: lb, safety_sheet: ‸{tab: 3}}", "must be one line of text", "without brackets"),
    ],
    "glossary.yml": [
        ("‸bilge: {slang: [sump]}", "the term 'bilge' does not say 'means'", "means:"),
        ("bilge: {means: low, ‸sea: [keel]}", "terms have no 'sea'", "did you mean 'see'?"),
        ("bilge: {means: low, see: [‸keal]}\nkeel: {means: k}", "no term 'keal'", "did you mean 'keel'?"),
        ("bilge: {means: low, see: [‸Keel]}\nkeel: {means: k}", "no term 'Keel'", "did you mean 'keel'?"),
        ("bilge: {means: low, see: [‸zzz]}", "no term 'zzz'", "add it to the glossary"),
        (
            "a: {means: b, slang: [sump]}\nc: {means: d, slang: [‸Sump]}",
            "'Sump' is slang for 'a'",
            "one term",
        ),
        ("a: {means: b, slang: [‸Keel]}\nkeel: {means: d}", "slang 'Keel' is the term 'keel'", "under see"),
        ("keel: {means: b, slang: [‸keel]}", "slang 'keel' is the term 'keel'", "leave it out"),
        ("bilge: {means: low, slang: [‸[sump]]}", "must be one line of text", "without brackets"),
        ("bilge:\n  means: low\n  see: ‸keel, frame", "'keel, frame' is read as one", "see: [keel, frame]"),
        ("bilge: {means: ‸{is: low}}", "must be one line of text", "without brackets"),
        ("bilge: ‸the lowest part", "'bilge' is not written key by key", "bilge: {means: …}"),
    ],
    "cautions.yml": [
        ("‸hot: {title: Hot, text: No flame.}", "'hot' does not say 'word'", "danger or warning"),
        ("‸hot: {word: danger, text: No flame.}", "'hot' does not say 'title'", "title: …"),
        ("‸hot: {word: danger, title: Hot}", "'hot' does not say 'text'", "text:"),
        ("hot: {word: ‸Danger, title: Hot, text: T}", "no word 'Danger'", "did you mean 'danger'?"),
        ("hot: {word: ‸zzz, title: Hot, text: T}", "no word 'zzz'", "danger, warning, caution, notice"),
        ("‸Hot: {word: danger, title: Hot, text: T}", "'Hot' is not a name", "small letters"),
        ("‸hot work: {word: danger, title: Hot, text: T}", "'hot work' is not a name", "small letters"),
        (
            "hot: {word: danger, title: Hot, text: 'Below ‸{{ a.b }}.'}",
            "a caution's text holds no live value",
            "on the page",
        ),
        (
            "hot:\n  word: danger\n  title: Over ‸{{ a.b }}\n  text: T",
            "a caution's title holds no live value",
            "on the page",
        ),
        ("hot: {word: danger, title: Hot, text: ‸''}", "no value here", "drop the line"),
        ("hot: {word: danger, title: H, text: T, ‸word s: a}", "cautions have no 'word s'", "'words'?"),
    ],
    "sources.yml": [
        ("‸a: {what: b, standing: read}", "the source 'a' does not say 'title'", "title: …"),
        ("‸a: {title: b, standing: read}", "the source 'a' does not say 'what'", "what:"),
        ("‸a: {title: b, what: c}", "the source 'a' does not say 'standing'", "read or memory or maker's"),
        ("a: {title: b, what: c, standing: ‸makers}", "no standing 'makers'", "did you mean 'maker's'?"),
        ("a: {title: b, what: c, standing: ‸zzz}", "no standing 'zzz'", "read, memory, maker's"),
        (
            "a: {title: b, what: c, standing: read, ‸year: 2}",
            "sources have no 'year'",
            "title, what, standing",
        ),
    ],
}


@pytest.mark.parametrize(
    ("file", "marked", "what", "fix"),
    [(file, *fault) for file, faults in FAULTS.items() for fault in faults],
)
def test_one_fault_is_told_once_at_its_place(
    read_files: Read, file: str, marked: str, what: str, fix: str
) -> None:
    before, _, after = marked.partition("‸")

    _, problems = read_files({file: f"{before}{after}\n"})

    assert [problem.place for problem in problems] == [
        at(file, before.count("\n") + 1, len(before) - before.rfind("\n"))
    ]
    assert what in problems[0].what
    assert fix in problems[0].fix


def test_every_fault_of_every_file_is_told_at_once(read_files: Read) -> None:
    _, problems = read_files(
        {
            "instruments.yml": "a: {tolerance: 1, due: soon}\nb: {x: y}\n",
            "materials.yml": "a: {unit: pounds, density: 3 lb, shelf_life: 2 lb}\n",
            "glossary.yml": "a: {see: [zzz], slang: [a]}\n",
            "cautions.yml": "A: {word: zzz, title: [a]}\n",
            "sources.yml": "a: {standing: zzz}\n",
        }
    )

    told = [(problem.place.file.removeprefix(f"{FOLDER}/"), problem.place.line) for problem in problems]
    assert sorted(told) == sorted(
        [
            *[("instruments.yml", 1)] * 2,
            ("instruments.yml", 2),
            *[("materials.yml", 1)] * 3,
            *[("glossary.yml", 1)] * 3,
            *[("cautions.yml", 1)] * 4,
            *[("sources.yml", 1)] * 3,
        ]
    )


def test_a_fault_in_one_entry_hides_no_other_entry(read_files: Read) -> None:
    reference, _ = read_files({"materials.yml": "a: {unit: pounds}\nb: {unit: lb}\n"})

    assert list(reference.materials) == ["b"]


def test_a_file_with_an_entry_left_out_does_not_say_which_names_there_are(read_files: Read) -> None:
    files = {"materials.yml": "a: {unit: pounds}\nb: {unit: lb}\n", "sources.yml": "a: [\n"}

    assert read_files({**GOOD, **files})[0].files == set(NAMES) - set(files)


def test_an_entry_with_a_fault_elsewhere_stands_without_that_part(read_files: Read) -> None:
    reference, _ = read_files({"materials.yml": "a: {unit: lb, packs: [5 lb], density: 3 lb}\n"})

    assert reference.materials["a"] == Material("a", at("materials.yml", 1), unit("lb"), (quantity(5, "lb"),))
    assert reference.files == {"materials.yml"}


def test_a_pack_with_a_fault_gives_no_price_to_another_pack(read_files: Read) -> None:
    reference, _ = read_files({"materials.yml": "a: {unit: lb, packs: [5 gal, 9 lb], prices: [1, 2]}\n"})

    assert (reference.materials["a"].packs, reference.materials["a"].prices) == ((), ())


def test_a_term_with_a_fault_may_still_be_seen(read_files: Read) -> None:
    _, problems = read_files({"glossary.yml": "a: {means: b, see: [c, d]}\nc: {slang: e}\nd: [f]\n"})

    assert sorted(problem.place.line for problem in problems) == [2, 3]


@pytest.mark.parametrize(
    ("file", "fix"),
    [
        ("instrument.yml", "did you mean 'instruments.yml'?"),
        ("materials.yaml", "did you mean 'materials.yml'?"),
        ("zzz.yml", "the files are instruments.yml, materials.yml"),
    ],
)
def test_a_file_that_would_be_passed_over_is_told(read_files: Read, file: str, fix: str) -> None:
    _, problems = read_files({file: "a: {}\n"})

    assert [problem.place for problem in problems] == [at(file, 1)]
    assert fix in problems[0].fix


def test_other_files_of_the_folder_are_left_alone(read_files: Read) -> None:
    assert read_files({"notes.md": "a", "drum.csv": "a", "._glossary.yml": "a"}) == (Reference(), [])


def test_a_file_that_is_not_utf_8_is_told(make_book: BookMaker) -> None:
    root = make_book({f"{FOLDER}/sources.yml": ""})
    (root / FOLDER / "sources.yml").write_bytes(b"a: {title: caf\xe9}\n")

    reference, problems = read(root)

    assert [str(problem) for problem in problems] == [
        f"{FOLDER}/sources.yml:1:1: this file is not UTF-8 text; save it as UTF-8"
    ]
    assert reference.files == frozenset()


def test_a_file_that_leads_out_of_the_book_is_not_read(make_book: BookMaker, tmp_path: Path) -> None:
    root = make_book({f"{FOLDER}/sources.yml": ""})
    (tmp_path / "sources.yml").write_text(GOOD["sources.yml"], encoding="utf-8")
    (root / FOLDER / "sources.yml").unlink()
    (root / FOLDER / "sources.yml").symlink_to(tmp_path / "sources.yml")

    reference, problems = read(root)

    assert reference == Reference()
    assert ["leads out of the book" in problem.what for problem in problems] == [True]


# ---- in a book


def test_a_book_has_its_reference_and_tells_its_faults_with_the_rest(make_book: BookMaker) -> None:
    root = make_book(
        {
            f"{FOLDER}/materials.yml": "resin: {unit: gal}\nfoam: {unit: pounds}\n",
            "content/inputs/model.yml": "length: 46 inchs\n",
        }
    )

    book, problems = read_book(root)

    assert list(book.reference.materials) == ["resin"]
    assert {problem.place.file for problem in problems} == {
        f"{FOLDER}/materials.yml",
        "content/inputs/model.yml",
    }


def test_a_book_finds_its_reference_in_the_folder_its_settings_name(make_book: BookMaker) -> None:
    root = make_book(
        {
            "mkdocs.yml": "site_name: A test book\ndocs_dir: manual\nplugins:\n  - keelbook: {units: us}\n",
            "manual/reference/materials.yml": "resin: {unit: gal}\n",
        }
    )

    assert list(read_book(root)[0].reference.materials) == ["resin"]


def test_check_tells_a_fault_of_the_reference(make_book: BookMaker, keelbook: Command) -> None:
    ran = keelbook("check", book=make_book({f"{FOLDER}/materials.yml": "foam: {unit: pounds}\n"}))

    assert ran.code == 2
    assert f"{FOLDER}/materials.yml:1:14: there is no unit 'pounds'; did you mean 'lb'?" in ran.err


# ---- any text whatever

WORDS = """
    lb gal piece none 10 50 0 -3 1/2 2026-03-01 20260301 2026-W01-1 9999-99-99 read memory maker's warning
    danger scale keel Keel '' ''''
"""
SCALARS = st.one_of(
    st.sampled_from(
        [*WORDS.split(), "10 lb", "160 oz", "10 lb ± 1 lb", "5 day", "10.2 lb/gal", "72 degF", "1e15 lb"]
    ),
    st.sampled_from(["'{{ a }}'", "a, b", "'  '"]),
    st.text(max_size=8),
)
VALUES = st.one_of(
    SCALARS,
    st.lists(SCALARS, max_size=3).map(lambda items: f"[{', '.join(items)}]"),
    st.just("{a: b}"),
    st.just("[[a]]"),
)
KEYS = """
    tolerance calibrated due note unit packs prices density shelf_life lead_time storage safety_sheet
    means slang see word title text words what standing unitt
"""
ENTRY = st.one_of(
    VALUES,
    st.lists(st.tuples(st.sampled_from(KEYS.split()), VALUES), max_size=6).map(
        lambda pairs: "".join(f"\n  {key}: {value}" for key, value in pairs)
    ),
)
TEXTS = st.one_of(
    st.text(max_size=60),
    st.text(alphabet="ab: {}[],'\"#&*!|>-?%\n\t\r\u2028\x85\ufeff", max_size=40),
    st.lists(st.tuples(SCALARS, ENTRY), max_size=4).map(
        lambda pairs: "".join(f"{name}: {entry}\n" for name, entry in pairs)
    ),
)


@settings(max_examples=300, deadline=None)
@given(text=TEXTS)
@example(text="a: &b {c: *b}\n")
@example(text="a: {b: " * 500)
@example(text="- " * 2_000)
@example(text="? [a]\n: b\n")
def test_any_text_is_a_reference_or_a_list_of_problems(text: str) -> None:
    with tempfile.TemporaryDirectory() as folder:
        root = Path(folder)
        (root / FOLDER).mkdir(parents=True)
        for name in NAMES:
            (root / FOLDER / name).write_bytes(text.encode())

        reference, problems = read(root)

    assert all(problem.what and problem.fix for problem in problems)
    told = {problem.place.file.removeprefix(f"{FOLDER}/") for problem in problems}
    assert told | reference.files == set(NAMES)
    for material in reference.materials.values():
        assert list(material.packs) == sorted(material.packs, key=lambda pack: pack.value)
        assert all(pack.value > 0 and pack.unit is material.unit for pack in material.packs)
        assert len(material.prices) in (0, len(material.packs))
