"""Inputs in layers, YAML kept as written, and tables: rules 13 and 20."""

from __future__ import annotations

from datetime import date
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest

from kb.content.inputs import Input, Layer, lay_over, layer_from_text, read_layer
from kb.content.tables import read_table, table_from_text
from kb.content.values import Cell, Listed, Shaped, Table
from kb.content.yamltext import Entries, Scalar, read_yaml
from kb.language.quantity import Quantity
from kb.language.units import unit
from kb.problem import Place, Problem

FILE = "content/inputs/model.yml"
TABLES = "content/inputs"


def read(text: str, root: Path = Path("nowhere"), name: str = "model", file: str = FILE) -> Layer:
    """Read inputs that have no problem."""
    layer, problems = layer_from_text(text, root, file, name, TABLES)
    assert [str(problem) for problem in problems] == []
    return layer


def problems_of(text: str, root: Path = Path("nowhere")) -> list[Problem]:
    """Read inputs that have one problem at least."""
    _, problems = layer_from_text(text, root, FILE, "model", TABLES)
    assert problems
    return problems


def value(text: str) -> Any:
    """Return what a value in a plain line is read as."""
    return read(f"a: {text}\n").inputs["a"].value


def at(line: int, column: int) -> Place:
    return Place(FILE, line, column)


# ---- 13: the form decides


@pytest.mark.parametrize(
    ("text", "size", "word"),
    [
        ("46 1/2 in", Fraction(93, 2), "in"),
        ("27' 6 1/2\"", Fraction(661, 2), "in"),
        ("27'-6\"", Fraction(330), "in"),
        ("-3 in", Fraction(-3), "in"),
        ("72 degF", Fraction(72), "degF"),
        ("5 %", Fraction(5), "%"),
        ("4 lb/ft3", Fraction(4), "lb/ft^3"),
        ("1.20", Fraction(6, 5), ""),
        ("010", Fraction(10), ""),  # never octal
        ("1e3", Fraction(1000), ""),
        ("12", Fraction(12), ""),
    ],
)
def test_rule_13_a_quantity_or_a_plain_number(text: str, size: Fraction, word: str) -> None:
    found = value(text)
    assert isinstance(found, Quantity)
    assert found.to(unit(word)) == size


def test_rule_13_a_quantity_keeps_its_tolerance_and_its_text() -> None:
    one = read("wall: 46 1/2 in ± 1/8 in\n").inputs["wall"]
    assert one.text == "46 1/2 in ± 1/8 in"
    assert one.literal is not None
    assert (one.literal.minus, one.literal.plus) == (Fraction(1, 8), Fraction(1, 8))


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("yes", True),
        ("no", False),
        ("true", True),
        ("false", False),
        ("2026-03-01", date(2026, 3, 1)),
        ("vee", "vee"),
        ("Hypalon", "Hypalon"),
        ("A1-15", "A1-15"),
        ("two_part", "two_part"),
        ("M6", "M6"),
        ("on", "on"),  # YAML's other flags are words here
        ("off", "off"),
        ("y", "y"),
        ("null", "null"),
        ("'free text'", "free text"),
        ('"free text"', "free text"),
        ("'it''s'", "it's"),
        ("'a: b, c # d'", "a: b, c # d"),
        ("'yes'", "yes"),
        ("'2026-03-01'", "2026-03-01"),
        ("''", ""),
    ],
)
def test_rule_13_flags_dates_words_and_quoted_text(text: str, expected: object) -> None:
    found = value(text)
    assert found == expected
    assert type(found) is type(expected)


def test_rule_13_a_list_and_a_mapping_with_shape_are_values() -> None:
    layer = read("box: {shape: vee, width: 25 in, height: 14 in}\nends: [1 in, 2 in, [3 in, word]]\n")
    box, ends = layer.inputs["box"].value, layer.inputs["ends"].value
    assert isinstance(box, Shaped)
    assert {name: cell.text for name, cell in box.cells.items()} == {
        "shape": "vee",
        "width": "25 in",
        "height": "14 in",
    }
    assert box.cells["width"].place == at(1, 26)
    assert isinstance(ends, Listed)
    first, second, third = ends.items
    assert isinstance(first, Cell)
    assert first.value.to(unit("in")) == 1
    assert isinstance(second, Cell)
    assert second.place == at(2, 14)
    assert isinstance(third, Listed)
    assert [item.text for item in third.items if isinstance(item, Cell)] == ["3 in", "word"]
    assert set(layer.groups) == set()


@pytest.mark.parametrize(
    "text",
    [
        "ring:\n  - 1 in\n  - 2 in\n",
        "ring:\n- 1 in\n- 2 in\n",
        "ring: [1 in, 2 in]\n",
        "ring: [ 1 in,\n  2 in ]\n",
        "ring: # two\n  - 1 in # one\n  - 2 in\n",
    ],
)
def test_rule_13_a_list_may_be_written_in_any_of_yamls_ways(text: str) -> None:
    ring = read(text).inputs["ring"].value
    assert isinstance(ring, Listed)
    assert [item.text for item in ring.items if isinstance(item, Cell)] == ["1 in", "2 in"]


@pytest.mark.parametrize(
    "text",
    [
        "baffles:\n  - {x: 1 in, hole: 2 in}\n  - {x: 3 in, hole: 4 in}\n",
        "baffles:\n  - x: 1 in\n    hole: 2 in\n  - x: 3 in\n    hole: 4 in\n",
        "baffles: [{x: 1 in, hole: 2 in}, {x: 3 in, hole: 4 in}]\n",
    ],
)
def test_rules_13_and_20_a_list_of_mappings_loses_nothing_and_is_read(text: str) -> None:
    rows = read(text).inputs["baffles"].value
    assert isinstance(rows, Listed)
    assert [[cell.text for cell in row.cells.values()] for row in rows.items if isinstance(row, Shaped)] == [
        ["1 in", "2 in"],
        ["3 in", "4 in"],
    ]


def test_rule_13_a_mapping_without_shape_is_a_group() -> None:
    layer = read("fuel:\n  tank:\n    length: 46 in\n  kind: gasoline\npump: {bore: 1 1/8 in}\n")
    assert set(layer.inputs) == {"fuel.tank.length", "fuel.kind", "pump.bore"}
    assert set(layer.groups) == {"fuel", "fuel.tank", "pump"}


def test_rule_13_a_name_ending_in_csv_is_a_table_relative_to_inputs(tmp_path: Path) -> None:
    (tmp_path / TABLES / "tables").mkdir(parents=True)
    (tmp_path / TABLES / "tables/pump-main.csv").write_text("head (ft),flow (gph)\n0,800\n")
    table = read("curve: tables/pump-main.csv\n", tmp_path).inputs["curve"].value
    assert isinstance(table, Table)
    assert table.file == f"{TABLES}/tables/pump-main.csv"
    assert table.rows[0][1].value.to(unit("gal/hr")) == 800


@pytest.mark.parametrize(
    "text", ["tables/none.csv", "../secret.csv", "tables/../../secret.csv", "/etc/passwd.csv"]
)
def test_rule_13_a_table_that_is_not_there_or_outside_is_an_error_at_its_place(
    text: str, tmp_path: Path
) -> None:
    (tmp_path / TABLES).mkdir(parents=True)
    (tmp_path / "content/secret.csv").write_text("a\n1\n")
    (problem,) = problems_of(f"pump:\n  curve: {text}\n", tmp_path)
    assert problem.place == at(2, 10)
    assert text in problem.what


def test_rule_13_a_problem_inside_a_table_stands_at_its_place_in_the_table(tmp_path: Path) -> None:
    (tmp_path / TABLES).mkdir(parents=True)
    (tmp_path / TABLES / "p.csv").write_text("head (ft),flow (gph)\n0,800\n5,6 inx\n")
    (problem,) = problems_of("curve: p.csv\n", tmp_path)
    assert problem.place == Place(f"{TABLES}/p.csv", 3, 5)


@pytest.mark.parametrize(
    "text",
    [
        "fuel.tank.length",
        "fuel.tank.length + 1 in",
        "2 * 3 in",
        "41 in + 3 in",
        "41 in - 3 in",
        "41 in / 2",
        "(41 in)",
        "min(3 in, 4 in)",
        "if a then 1 in else 2 in",
        "length - 1 in",
        "a < 3 in",
        "sqrt(4)",
    ],
)
def test_rule_13_what_looks_like_an_expression_is_an_error_that_points_to_formula(text: str) -> None:
    (problem,) = problems_of(f"a: {text}\n")
    assert "formula" in str(problem)
    assert problem.place.line == 1


@pytest.mark.parametrize(
    "text",
    [
        "two words",
        "it's here",
        "2-B",
        "1/4-20",
        "9word",
        "x:y",
        "~",
        "2026-13-01",
        "2026-02-30",
        "2026-3-1",
        "12:30",
        "11/2 in",
        "1,200 in",
        "72 F",
        "5 inchs",
        "±1 in",
        "+1 in",
        "=5",
        ".nan",
        "",
        "# only a comment",
        "£5",
        "٣ in",
    ],
)
def test_rule_13_any_other_form_is_an_error_in_its_line(text: str) -> None:
    (problem,) = problems_of(f"ok: 1 in\na: {text}\n")
    assert problem.place.line == 2
    assert problem.place.file == FILE


@pytest.mark.parametrize(
    ("text", "column"),
    [
        ("a: 5 inchs\n", 6),
        ("a:   5 inchs\n", 8),
        ("a: 41 in ± 1,2 in\n", 13),
        ("a: 72 degF ± 2 F\n", 16),
        ("a: x y\n", 4),
    ],
)
def test_rule_13_the_column_is_that_of_the_part_at_fault(text: str, column: int) -> None:
    (problem,) = problems_of(text)
    assert problem.place == at(1, column)


@pytest.mark.parametrize("text", ["two words", "see the drawing", "it's here", "the owner's own"])
def test_rules_13_and_20_free_text_is_offered_in_quotes_that_read_back_the_same(text: str) -> None:
    (problem,) = problems_of(f"a: {text}\n")
    assert value(problem.fix[problem.fix.index("'") :]) == text


def test_rule_13_every_value_at_fault_is_told_and_the_rest_is_read() -> None:
    layer, problems = layer_from_text(
        "a: 5 inchs\nb: 6 in\ng:\n  c: 7 galls\n  d: 8 in\n", Path("nowhere"), FILE, "model", TABLES
    )
    assert [problem.place for problem in problems] == [at(1, 6), at(4, 8)]
    assert set(layer.inputs) == {"b", "g.d"}


@pytest.mark.parametrize("key", ["Fuel", "fuel-tank", "fuel.tank", "1a", "_a", "é", "a b"])
def test_rule_7_an_inputs_name_is_small_letters_digits_and_underscores(key: str) -> None:
    (problem,) = problems_of(f"{key}: 5 in\n")
    assert problem.place == at(1, 1)
    (problem,) = problems_of(f"g:\n  {key}: 5 in\n")
    assert problem.place == at(2, 3)


@pytest.mark.parametrize("word", ["in", "min", "value", "ledger", "record", "none", "if", "sqrt", "true"])
def test_rule_8_a_word_of_the_language_is_no_top_level_input_but_stands_after_a_dot(word: str) -> None:
    (problem,) = problems_of(f"{word}: 5 in\n")
    assert problem.place == at(1, 1)
    assert f"line.{word}" in read(f"line:\n  {word}: 5 in\n").inputs


def test_rule_5_no_tolerance_stands_inside_a_list_or_shape() -> None:
    assert problems_of("a: [1 in ± 1/8 in, 2 in]\n")[0].place == at(1, 5)
    assert problems_of("a: {shape: box, width: 1 in ± 1/8 in}\n")[0].place == at(1, 24)


def test_rule_13_the_group_accepted_holds_limits_accepted_in_spite_of_their_verdict() -> None:
    layer = read(
        "accepted:\n  tank_foam.density: {by: Ann, why: tested here, at: 1.9 lb/ft^3}\n"
        "  ring.gap:\n    by: Bo\n    why: 'seen, measured'\n    at: 1/4 in\nwall: 1 in\n"
    )
    one, other = layer.accepted
    assert (one.limit, one.by, one.why, one.place.line) == ("tank_foam.density", "Ann", "tested here", 2)
    assert one.at is not None
    assert one.at.quantity.to(unit("lb/ft^3")) == Fraction(19, 10)
    assert (other.limit, other.why) == ("ring.gap", "seen, measured")
    assert set(layer.inputs) == {"wall"}


@pytest.mark.parametrize(
    ("text", "line", "column"),
    [
        ("accepted:\n  a.b: {by: Ann, why: tested}\n", 2, 3),
        ("accepted:\n  a.b: {by: Ann, at: 5 in}\n", 2, 3),
        ("accepted:\n  a.b: {why: tested, at: 5 in}\n", 2, 3),
        ("accepted:\n  a.b: {by: , why: tested, at: 5 in}\n", 2, 3),
        ("accepted:\n  a.b: Ann\n", 2, 3),
        ("accepted:\n  a.b: {by: Ann, why: tested, at: 5 inx}\n", 2, 37),
        ("accepted: Ann\n", 1, 11),
    ],
)
def test_rule_13_an_acceptance_says_by_whom_why_and_at_which_value(text: str, line: int, column: int) -> None:
    assert problems_of(text)[0].place == at(line, column)


# ---- 20: every scalar as written


def test_rule_20_every_scalar_is_kept_as_written_with_its_place() -> None:
    node, problems = read_yaml("g:\n  a: 1.20\n  b: no\n  c:  1:30\n  d: 010\n  e: ~\n  f: 1e3 \n", "f.yml")
    assert problems == []
    assert isinstance(node, Entries)
    group = node.entries["g"][1]
    assert isinstance(group, Entries)
    found = {
        key: (one.text, one.place.line, one.place.column)
        for key, (_, one) in group.entries.items()
        if isinstance(one, Scalar)
    }
    assert found == {
        "a": ("1.20", 2, 6),
        "b": ("no", 3, 6),
        "c": ("1:30", 4, 7),
        "d": ("010", 5, 6),
        "e": ("~", 6, 6),
        "f": ("1e3", 7, 6),
    }


def test_rule_20_a_text_inside_a_page_has_the_places_of_the_page() -> None:
    node, problems = read_yaml("a: 1\nb: {c: 2}\n", "page.md", line=11, column=3)
    assert problems == []
    assert isinstance(node, Entries)
    assert node.entries["a"][1].place == Place("page.md", 11, 6)
    inner = node.entries["b"][1]
    assert isinstance(inner, Entries)
    assert inner.entries["c"][1].place == Place("page.md", 12, 10)


@pytest.mark.parametrize(
    "text",
    [
        ">5 in",
        "> 5 in",
        "*5 in",
        "* 5 in",
        "&5 in",
        "& 5 in",
        "[5 in] long",
        "{5 in} long",
        "% 5",
        "@tank",
        '"5 in',
        "!5 in",
        "! 5 in",
        "- 5 in",
        "-",
        "? 5 in",
        "?",
        "| 5 in",
        "`5 in`",
        "'5 in",
    ],
)
@pytest.mark.parametrize("key", ["a", "long_name"])
def test_rule_20_a_value_with_a_leading_sign_of_yaml_gets_an_error_that_says_what_to_quote(
    text: str, key: str
) -> None:
    (problem,) = problems_of(f"ok: 1 in\n{key}: {text}\n")
    assert problem.place == at(2, len(key) + 3)
    assert "quote" in problem.fix
    node, _ = read_yaml(problem.fix[problem.fix.index(f"{key}: '") :] + "\n", FILE)
    assert isinstance(node, Entries)
    mended = node.entries[key][1]
    assert isinstance(mended, Scalar)
    assert mended.text == text


@pytest.mark.parametrize(
    "text",
    [
        "5 in: 6 in",
        "see: there",
        "x: y # z",
        "ends with:",
        "5 in #4",
        "x #y",
        "'a' b",
        '"a" b',
        "5 in  #4 # five",
    ],
)
def test_rule_20_a_value_that_yaml_would_cut_or_split_gets_an_error_that_says_what_to_quote(
    text: str,
) -> None:
    (problem,) = problems_of(f"ok: 1 in\na: {text}\n")
    assert problem.place == at(2, 4)
    assert "quote" in problem.fix
    mended = problem.fix[problem.fix.index("a: '") :]
    assert read(mended + "\n").inputs["a"].value == text


@pytest.mark.parametrize(
    ("text", "bad", "place"),
    [
        ("g:\n  - % 5\n", "% 5", at(2, 5)),
        ("g:\n  - @tank\n", "@tank", at(2, 5)),
        ("g:\n  - > 5 in\n", "> 5 in", at(2, 5)),
        ("g: [1 in, % 5]\n", "% 5", at(1, 11)),
        ("g: {a: 1 in, b: @tank}\n", "@tank", at(1, 17)),
        ("g: {a: `x`}\n", "`x`", at(1, 8)),
        ("g: {a: *b}\n", "*b", at(1, 8)),
    ],
)
def test_rule_20_a_value_inside_a_list_or_mapping_that_yaml_refuses_gets_an_error_that_says_what_to_quote(
    text: str, bad: str, place: Place
) -> None:
    (problem,) = problems_of(text)
    assert problem.place == place
    assert f"'{bad}'" in problem.fix


@pytest.mark.parametrize(
    ("text", "line"),
    [
        ("g:\n  - 5 in #4\n", 2),
        ("g:\n- x #y\n", 2),
        ("'a': 5 in #4\n", 1),
        ('"a": 5 in #4\n', 1),
        ("g: [1 in,\n  5 in #4\n  ]\n", 2),
        ("g: {a: 1 in,\n  b: 5 in #4\n  }\n", 2),
        ("g: [1 in, 5 in] #4\n", 1),
        ("a: 5 in\t#4\n", 1),
        ("a:\n  5 in #4\n", 2),
    ],
)
def test_rule_20_nothing_is_cut_at_a_hash_without_a_space_wherever_it_stands(text: str, line: int) -> None:
    assert problems_of(text)[0].place.line == line


@pytest.mark.parametrize(
    "text",
    [
        "{}5 in # four",
        "{}5 in # four: five",
        "{}5 in # four #5",
        '{}5 in # see it\'s "here"',
        "{}5 in  #  four",
        "{}5 in\t# four",
        "{}5 in #",
        "# four: five #6\n{}5 in",
        "{}5 in\n# four #5",
        "\n{}5 in\n\n",
        "{}'5 in' # four",
        "{}'5 in' # four #5",
    ],
)
@pytest.mark.parametrize("key", ["a: ", '"a": '])
def test_rule_20_a_hash_and_a_space_after_a_value_is_a_comment(key: str, text: str) -> None:
    found = read(text.replace("{}", key) + "\n").inputs["a"].value
    assert found in ("5 in", Quantity(Fraction(5), unit("in")))


@pytest.mark.parametrize("text", ["a: [1 in, 2 in] # four #5\n", "a: {shape: x, b: 2 in} # four #5\n"])
def test_rule_20_a_comment_after_a_list_or_mapping_is_a_comment(text: str) -> None:
    assert set(read(text).inputs) == {"a"}


def test_rule_20_a_hash_inside_a_word_is_no_comment() -> None:
    (problem,) = problems_of("a: 5 in#4\n")
    assert problem.place == at(1, 8)


@pytest.mark.parametrize(
    ("text", "column"),
    [
        ("a: {shape: box, width: 1,200 in}\n", 26),
        ("a: {b: 1,5 in}\n", 10),
        ("a: {b: x, y}\n", 11),
    ],
)
def test_rule_20_a_comma_that_parts_a_flow_mapping_gets_an_error(text: str, column: int) -> None:
    (problem,) = problems_of(text)
    assert problem.place == at(1, column)
    assert "comma" in str(problem)


@pytest.mark.parametrize(
    ("text", "line"),
    [
        ("a: !!str 5\n", 1),
        ("a: !x {b: 5 in}\n", 1),
        ("g:\n  a: [!x 5 in]\n", 2),
        ("!x a: 5 in\n", 1),
        ("!x\na: 5 in\n", 1),
        ("a: &b 5 in\n", 1),
        ("g: [&b 5 in, 6 in]\n", 1),
        ("&g\na: 5 in\n", 1),
        ("a: &b {c: 5 in}\nd: *b\n", 1),
        ("g: [&b 5 in, *b]\n", 1),
        ("g: [*b]\n", 1),
        ("<<: {a: 5 in}\n", 1),
        ("g:\n  <<: {a: 5 in}\n", 2),
        ("a: 5 in\na: 6 in\n", 2),
        ("a: 5 in\nb: 1 in\na: 5 in\n", 3),
        ("g: {a: 5 in, a: 6 in}\n", 1),
        ("g:\n  a: 5 in\ng:\n  b: 6 in\n", 3),
        ("g:\n  a: {b: 5 in}\n  a: 1 in\n", 3),
        ("a: 5 in\n'a': 6 in\n", 2),
        ("g: [&g [*g]]\n", 1),
        ("g: {a: &g {b: *g}}\n", 1),
        ("- &g [*g]\n", 1),
    ],
)
def test_rule_20_tags_anchors_aliases_merge_keys_and_doubled_keys_are_refused(text: str, line: int) -> None:
    assert line in [problem.place.line for problem in problems_of(text)]


@pytest.mark.parametrize(
    ("text", "line"),
    [
        ("a: 5 in\n  6 in\n", 1),
        ("a: >\n  5 in\n", 1),
        ("a: |\n  5 in\n", 1),
        ("a: 'x\n  y'\n", 1),
        ("g:\n\ta: 5 in\n", 2),
        ("a: 5 in\n b: 6 in\n", 2),
        ("a: [1 in\n", 1),
        ("a: 5 in\n---\nb: 6 in\n", 2),
        ("? [a, b]\n: 5 in\n", 1),
        ("length:46 in\n", 1),
        ("length = 46 in\n", 1),
        ("- a\n- b\n", 1),
        ("word\n", 1),
    ],
)
def test_rule_20_what_is_no_group_of_single_lines_is_an_error_near_its_line(text: str, line: int) -> None:
    assert line in [problem.place.line for problem in problems_of(text)]


def test_rule_20_a_file_with_the_line_ends_of_windows_reads_the_same() -> None:
    text = "g:\n  a: 5 in\n  b: word\nc: {d: 6 in}\noptions: [x]\n"
    ours, theirs = read(text), read(text.replace("\n", "\r\n"))
    assert {path: (one.value, one.text, one.place) for path, one in ours.inputs.items()} == {
        path: (one.value, one.text, one.place) for path, one in theirs.inputs.items()
    }
    plain = read("a: 5 in\r\nb: word\r\n")
    assert [one.text for one in plain.inputs.values()] == ["5 in", "word"]


@pytest.mark.parametrize("text", ["", "\n", "# nothing yet\n", "---\n"])
def test_rule_20_an_empty_file_of_inputs_holds_nothing(text: str) -> None:
    layer, _ = layer_from_text(text, Path("nowhere"), FILE, "model", TABLES)
    assert layer.inputs == {}


def test_an_inputs_file_that_is_not_utf_8_is_a_problem_and_a_byte_order_mark_none(tmp_path: Path) -> None:
    (tmp_path / "latin.yml").write_bytes("a: 41½ in\n".encode("latin-1"))
    layer, (problem,) = read_layer(tmp_path, "latin.yml", "model", TABLES)
    assert (layer.inputs, problem.place.file) == ({}, "latin.yml")
    assert "UTF-8" in str(problem)
    (tmp_path / "marked.yml").write_bytes(b"\xef\xbb\xbfa: 41 in\n")
    layer, problems = read_layer(tmp_path, "marked.yml", "model", TABLES)
    assert problems == []
    assert layer.inputs["a"].place == Place("marked.yml", 1, 4)


# ---- layers

YARD = "crew: 2\nfoam:\n  density: 2.1 lb/ft^3\n"
MODEL = (
    "# the model\nfuel:\n  tank:\n    length: 46 1/2 in ± 1/8 in\n    wall: 0.19 in\n"
    "foam:\n  density: 2.3 lb/ft^3\n"
)
OPTION = "fuel:\n  tank:\n    length: 52 in\n"
HULL = "options: [long_tank, washdown]\nfuel: {tank: {length: 52 1/4 in}}\n"


def four() -> list[Layer]:
    return [
        read(YARD, name="yard", file="content/inputs/yard.yml"),
        read(MODEL, name="model"),
        read(OPTION, name="option long_tank", file="content/inputs/options/long_tank.yml"),
        read(HULL, name="hull 31", file="content/hulls/31/hull.yml"),
    ]


def origin(one: Input) -> tuple[str, str, str]:
    return one.text, one.layer, str(one.place)


def test_a_later_layer_overrides_an_earlier_one_and_each_value_remembers_its_layer_file_and_line() -> None:
    inputs, problems = lay_over(four())
    assert problems == []
    length = inputs.values["fuel.tank.length"]
    assert origin(length) == ("52 1/4 in", "hull 31", "content/hulls/31/hull.yml:2:23")
    assert length.literal is not None
    assert not length.literal.is_toleranced  # the model's tolerance does not cling to the hull's value
    assert [origin(one) for one in length.overrides] == [
        ("52 in", "option long_tank", "content/inputs/options/long_tank.yml:3:13"),
        ("46 1/2 in ± 1/8 in", "model", "content/inputs/model.yml:4:13"),
    ]
    assert origin(inputs.values["fuel.tank.wall"]) == ("0.19 in", "model", "content/inputs/model.yml:5:11")
    assert origin(inputs.values["crew"]) == ("2", "yard", "content/inputs/yard.yml:1:7")
    density = inputs.values["foam.density"]
    assert origin(density) == ("2.3 lb/ft^3", "model", "content/inputs/model.yml:7:12")
    assert [one.layer for one in density.overrides] == ["yard"]
    assert inputs.values["crew"].overrides == ()


def test_the_first_words_of_all_paths_are_the_top_level() -> None:
    inputs, _ = lay_over(four())
    assert set(inputs.top_level) == {"crew", "foam", "fuel"}


def test_rule_18_a_hull_chooses_options_by_the_names_of_their_files() -> None:
    assert [cell.text for cell in four()[3].options] == ["long_tank", "washdown"]
    assert [cell.place for cell in read("options:\n  - a\n  - b\n").options] == [at(2, 5), at(3, 5)]
    assert problems_of("options: [a b]\n")[0].place == at(1, 11)


def test_a_table_or_shape_is_overridden_as_a_whole() -> None:
    model = read("box: {shape: vee, width: 25 in, height: 14 in}\n")
    hull = read("box: {shape: box, width: 20 in, height: 12 in}\n", name="hull 31", file="hull.yml")
    inputs, problems = lay_over([model, hull])
    assert problems == []
    box = inputs.values["box"].value
    assert isinstance(box, Shaped)
    assert box.cells["shape"].value == "box"
    assert inputs.values["box"].overrides[0].layer == "model"


@pytest.mark.parametrize(
    ("earlier", "later", "place"),
    [
        ("tank:\n  length: 46 in\n", "tank: 52 in\n", "hull.yml:1:7"),
        ("tank: 52 in\n", "tank:\n  length: 46 in\n", "hull.yml:1:1"),
        ("a:\n  b:\n    c: 1 in\n", "a:\n  b: 1 in\n", "hull.yml:2:6"),
        ("a:\n  b: 1 in\n", "a:\n  b:\n    c: 1 in\n", "hull.yml:2:3"),
        ("a: {shape: box, width: 1 in}\n", "a:\n  width: 1 in\n", "hull.yml:1:1"),
        ("a:\n  width: 1 in\n", "a: {shape: box, width: 1 in}\n", "hull.yml:1:4"),
        ("a: [1 in]\n", "a:\n  b: 1 in\n", "hull.yml:1:1"),
    ],
)
def test_a_group_in_one_layer_that_is_a_value_in_another_is_a_problem_of_the_later(
    earlier: str, later: str, place: str
) -> None:
    _, problems = lay_over([read(earlier), read(later, name="hull 31", file="hull.yml")])
    assert place in [str(problem.place) for problem in problems]
    assert any(FILE in problem.what for problem in problems)


def test_a_later_acceptance_of_the_same_limit_takes_the_earlier_ones_place() -> None:
    text = "accepted:\n  a.b: {by: Ann, why: tested, at: 5 in}\n"
    later = read(text.replace("Ann", "Bo"), name="hull 31", file="hull.yml")
    inputs, _ = lay_over([read(text), later])
    assert [(one.by, one.layer) for one in inputs.accepted] == [("Bo", "hull 31")]


# ---- tables


def table(text: str) -> Table:
    found, problems = table_from_text(text, "p.csv")
    assert [str(problem) for problem in problems] == []
    assert found is not None
    return found


def table_problems(text: str) -> list[Problem]:
    found, problems = table_from_text(text, "p.csv")
    assert found is None
    assert problems
    return problems


def test_a_heading_gives_its_column_a_name_and_a_unit() -> None:
    found = table("Head (ft),Flow Rate (gph),note\n0,800,free\n5 1/2,600,\n")
    assert [(one.name, one.unit.name if one.unit else None) for one in found.headings] == [
        ("head", "ft"),
        ("flow_rate", "gph"),
        ("note", None),
    ]
    assert found.rows[0][0].value.to(unit("ft")) == 0
    assert found.rows[1][0].value.to(unit("ft")) == Fraction(11, 2)
    assert found.rows[1][1].value.to(unit("gal/hr")) == 600
    assert [row[2].value for row in found.rows] == ["free", None]


def test_a_cell_may_be_written_in_another_unit_of_its_columns_kind() -> None:
    found = table("head (ft),share (%)\n18 in,5\n5' 6\",5 %\n-3,1/2\n")
    assert [row[0].value.to(unit("ft")) for row in found.rows] == [Fraction(3, 2), Fraction(11, 2), -3]
    assert [row[1].value.to(unit("%")) for row in found.rows] == [5, 5, Fraction(1, 2)]


def test_a_cell_in_a_column_without_a_unit_is_a_number_a_quantity_or_a_label() -> None:
    found = table("size,area\n4/0,2 in^2\n2-B,3\n16,word\n")
    first, second, third = found.rows
    assert [row[0].value for row in (first, second)] == ["4/0", "2-B"]
    assert third[0].value.to(unit("")) == 16
    assert first[1].value.to(unit("in^2")) == 2
    assert (second[1].value.to(unit("")), third[1].value) == (3, "word")


def test_cells_and_headings_know_their_places() -> None:
    found = table('head (ft), flow (gph)\n\n 1 ,"2"\n"3",4\n')
    assert [(one.place.line, one.place.column) for one in found.headings] == [(1, 1), (1, 12)]
    assert [[(cell.place.line, cell.place.column) for cell in row] for row in found.rows] == [
        [(3, 2), (3, 6)],
        [(4, 2), (4, 5)],
    ]


@pytest.mark.parametrize(
    ("text", "line", "column"),
    [
        ("head (fx),flow\n1,2\n", 1, 1),
        ("flow,temp (F)\n1,2\n", 1, 6),
        ("head (ft),head (in)\n1,2\n", 1, 11),
        ("head [ft]\n1\n", 1, 1),
        ("a,\n1,2\n", 1, 3),
        ("a,1\n1,2\n", 1, 3),
        ("head (ft)\n1 lb\n", 2, 1),
        ("a,head (ft)\nx,1 ftx\n", 2, 5),
        ("head (ft)\n11/2\n", 2, 1),
        ('head (ft)\n"1,200"\n', 2, 3),
        ("head (ft)\n1 ± 1\n", 2, 1),
        ("head (ft)\n1e400\n", 2, 1),
        ("head (ft)\n5 %\n", 2, 1),
        ("share (%)\n5 in/ft\n", 2, 1),
        ("a,b\n1,2\n1,2,3\n", 3, 1),
        ("a,b\n1\n", 2, 1),
        ('a,b\n1,"2\n', 2, 1),
        ("", 1, 1),
        ("\n\n", 1, 1),
        ('a,b (in)\n"x, ""y""",5 inx\n', 2, 14),
    ],
)
def test_a_table_that_cannot_be_read_is_told_with_line_and_column(text: str, line: int, column: int) -> None:
    assert [str(problem.place) for problem in table_problems(text)] == [f"p.csv:{line}:{column}"]


def test_every_cell_at_fault_is_told() -> None:
    places = [str(one.place) for one in table_problems("x (in),y (in)\n1 inx,1\n1,1 iny\n2,2 lb\n")]
    assert places == ["p.csv:2:3", "p.csv:3:5", "p.csv:4:3"]


@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_a_table_may_have_any_line_ends(end: str) -> None:
    found = table(end.join(["head (ft),flow (gph)", "0,800", "5,600", ""]))
    assert [str(row[0].place) for row in found.rows] == ["p.csv:2:1", "p.csv:3:1"]
    assert [cell.text for row in found.rows for cell in row] == ["0", "800", "5", "600"]


def test_a_quoted_cell_over_two_lines_is_never_one_number() -> None:
    found, problems = table_from_text('head (ft)\n"1\n2"\n', "p.csv")
    assert found is None
    assert problems[0].place.line in (2, 3)


def test_after_a_quoted_cell_over_two_lines_the_places_are_right() -> None:
    (problem,) = table_problems('label,x (in)\n"a\nb",1\nc,5 inx\n')
    assert str(problem.place) == "p.csv:4:5"


def test_a_table_file_may_begin_with_a_byte_order_mark_and_is_utf_8(tmp_path: Path) -> None:
    (tmp_path / "p.csv").write_bytes(b"\xef\xbb\xbfhead (ft)\r\n1\r\n")
    found, problems = read_table(tmp_path / "p.csv", "tables/p.csv")
    assert problems == []
    assert found is not None
    assert str(found.headings[0].place) == "tables/p.csv:1:1"
    (tmp_path / "q.csv").write_bytes("größe (in)\n1\n".encode("latin-1"))
    found, problems = read_table(tmp_path / "q.csv", "tables/q.csv")
    assert found is None
    assert "UTF-8" in str(problems[0])
    assert read_table(tmp_path / "r.csv", "tables/r.csv")[1][0].place == Place("tables/r.csv")


def test_a_scalar_of_yaml_knows_its_span_in_the_text() -> None:
    text = "a: 5 in # four\nb: 'it''s'\n"
    node, _ = read_yaml(text, "f.yml")
    assert isinstance(node, Entries)
    spans = [one for _, one in node.entries.values() if isinstance(one, Scalar)]
    assert [text[one.start : one.end].rstrip() for one in spans] == ["5 in", "'it''s'"]
    assert [one.text for one in spans] == ["5 in", "it's"]
