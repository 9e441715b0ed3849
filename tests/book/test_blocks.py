"""Blocks, live values and containers on a page: rules 7, 8, 14, 15, 17 and 18, with their places."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from kb.reckon import OpenBook, open_book

if TYPE_CHECKING:
    from tests.conftest import BookMaker

HEAD = "---\ntitle: A page\n---\n"
PAGE = "content/p.md"
Told = Callable[[Path], list[str]]
Where = Callable[[str, str], str]
INPUTS = {"content/inputs/model.yml": "deck: {length: 48 in, wood: ash, word: 'bilge', flag: yes}\n"}


def value_of(opened: OpenBook, name: str) -> float:
    done = opened.evaluate()
    assert (*opened.problems, *done.problems) == ()
    return float(done.values[name].value)


PLACES = [
    ("1. Cut it.\n\n   ```calc plank a\n   length: 48 in\n   width: nowhere.x\n   ```\n", "nowhere.x"),
    ("- a\n  - b\n\n    ```calc plank a\n    length: 48 in\n    width: nowhere.x\n    ```\n", "nowhere.x"),
    ("> ```calc plank a\n> length: 48 in\n> width: nowhere.x\n> ```\n", "nowhere.x"),
    (":::why\n\n```calc plank a\nlength: 48 in\nwidth: nowhere.x\n```\n:::\n", "nowhere.x"),
    ("~~~~calc plank a\nlength: 48 in\n\n# remark\nwidth:   'nowhere.x'\n~~~~\n", "nowhere.x"),
    ("   ```calc plank a\n   length: 48 in\n   width: nowhere.x\n   ```\n", "nowhere.x"),
    ("| a | b |\n|---|---|\n| 1 | {{ 2 in }} |\n| {{ 2 in }} | {{ 2 in + nowhere.x }} |\n", "nowhere.x"),
    (":::why\nText.\n\n- One {{ 2 in }},\n  two {{ nowhere.x }}\n:::\n", "nowhere.x"),
    ("# Heading of {{ nowhere.x }}\n", "nowhere.x"),
    ("Text[^1].\n\n[^1]: At {{ nowhere.x }}.\n", "nowhere.x"),
    ("Term\n: About {{ nowhere.x }}\n", "nowhere.x"),
    ("- [ ] Do {{ nowhere.x }}\n", "nowhere.x"),
    ("**Bold {{ nowhere.x }}** `{{ nowhere.x }}`\n", "nowhere.x"),
    ("`{{ missing.y }}` and {{ nowhere.x }}\n", "nowhere.x"),
    ("```limit fits\nrule: nowhere.x <= 2 in\n```\n", "nowhere.x"),
    ("```calc formula a\nx: 2 in\ny: x + nowhere.x\n```\n", "nowhere.x"),
    ("```calc plank a\nlength: 48 in\nwidth: 2 in\nlimits:\n  own: length <= nowhere.x\n```\n", "nowhere.x"),
    (":::when nowhere.x > 1 in\nText.\n:::\n", "nowhere.x"),
    ("::::: when nowhere.x > 1 in\nText.\n:::::\n", "nowhere.x"),
    ("```calc plank a\nlength: 48 in\nwidth: 3 inn\n```\n", "inn"),
    ("```calc plank a\nlength: 48 in\nwdth: 3 in\nwidth: 3 in\n```\n", "wdth"),
    ("```calc plnk a\nlength: 48 in\n```\n", "plnk"),
    ("````calc plnk a\nlength: 48 in\n````\n", "plnk"),
    ("``` calc plnk a\nlength: 48 in\n```\n", "plnk"),
    ("```calc plank Aa\nlength: 48 in\n```\n", "Aa"),
    ("```calc plank value\nlength: 48 in\nwidth: 3 in\n```\n", "value"),
    ("```limit fits\nrul: 1 in <= 2 in\nrule: 1 in <= 2 in\n```\n", "rul"),
    ("```calc curve a\npoints: [{head: 5 ft, flow: 3 in}]\n```\n", "3 in"),
    ("```calc curve a\npoints:\n  - head: 5 ft\n    flow: nowhere.x\n```\n", "nowhere.x"),
    ("```calc girth a\nsection: {shape: box, width: 3 in, height: nowhere.x}\n```\n", "nowhere.x"),
    ("```calc curve a\npoints: tables/none.csv\n```\n", "tables/none.csv"),
    ("```calc curve a\npoints: '@none.csv'\n```\n", "@none.csv"),
    ("Text {{ 2 in/2 }}\n", "/2"),
    ("Text {{ 1 in <div>\n", "{{"),
]  # fmt: skip


@pytest.mark.parametrize(("text", "words"), PLACES, ids=[text[:40] for text, _ in PLACES])
@pytest.mark.parametrize("end", ["\n", "\r\n"], ids=["LF", "CRLF"])
def test_an_error_has_the_line_and_column_of_the_word(
    make_book: BookMaker, yard: dict[str, str], told: Told, where: Where, text: str, words: str, end: str
) -> None:
    lines = told(make_book({**yard, PAGE: (HEAD + text).replace("\n", end)}))

    assert lines
    assert lines[0].startswith(f"{PAGE}:{where(HEAD + text, words)}: ")


def plank(name: str, more: str = "") -> str:
    return f"```calc plank {name}\nlength: 48 in\nwidth: 12 in\n{more}```\n\n"


def test_rule_7_a_name_is_taken_once_in_the_whole_book(
    make_book: BookMaker, yard: dict[str, str], told: Told
) -> None:
    files = {"content/a.md": HEAD + plank("deck"), "content/b.md": HEAD + "Text.\n\n" + plank("deck")}

    (line,) = told(make_book({**yard, **files}))

    assert line.startswith("content/b.md:6:15: ")
    assert "'deck'" in line
    assert "content/a.md:4" in line


@pytest.mark.parametrize(
    "second",
    [
        "```limit one\nrule: 1 in <= 2 in\n```\n",
        "```measure one\nwhat: it\naccept: value > 1 in\nunit: in\n```\n",
    ],
    ids=["limit", "measure"],
)
def test_rule_7_limits_and_measurements_share_the_name_space_of_blocks(
    make_book: BookMaker, yard: dict[str, str], told: Told, second: str
) -> None:
    (line,) = told(make_book({**yard, PAGE: HEAD + plank("one") + second}))

    assert line.startswith(f"{PAGE}:9:")
    assert "'one'" in line


@pytest.mark.parametrize("layer", ["inputs/model.yml", "inputs/yard.yml", "hulls/A-1/hull.yml"])
@pytest.mark.parametrize("fence", [plank("deck"), "```limit deck\nrule: 1 in <= 2 in\n```\n"])
def test_rule_7_a_block_and_a_group_of_inputs_of_one_name_clash(
    make_book: BookMaker, yard: dict[str, str], told: Told, layer: str, fence: str
) -> None:
    files = {**yard, f"content/{layer}": "# x\ndeck:\n  length: 48 in\n", PAGE: HEAD + fence}

    (line,) = told(make_book(files))

    assert line.startswith(f"{PAGE}:4:")
    assert f"content/{layer}:" in line


def test_rule_7_a_line_of_a_formula_may_not_hide_another_name(make_book: BookMaker, told: Told) -> None:
    page = HEAD + "```calc formula sums\nother: 1 in\ndeck: 2 in\n```\n"

    (line,) = told(make_book({**INPUTS, PAGE: page}))

    assert line.startswith(f"{PAGE}:6:")
    assert "'deck'" in line
    assert "content/inputs/model.yml:1" in line


def test_rule_7_a_block_s_limit_may_not_mean_two_things(
    make_book: BookMaker, yard: dict[str, str], told: Told
) -> None:
    files = {
        **yard,
        "content/inputs/model.yml": "length:\n  most: 9 in\n",
        PAGE: HEAD + plank("one", "limits:\n  short: length <= 96 in\n"),
    }

    (line,) = told(make_book(files))

    assert line.startswith(f"{PAGE}:8:10: ")
    assert "'length'" in line


def test_rule_7_a_formula_sees_its_own_lines_first_and_only_those_above(
    make_book: BookMaker, told: Told
) -> None:
    (line,) = told(make_book({PAGE: HEAD + "```calc formula f\nx: y + 1 in\ny: 2 in\n```\n"}))

    assert line.startswith(f"{PAGE}:5:4: ")
    assert "'y'" in line


def test_rule_14_a_missing_parameter_is_named_at_the_block(
    make_book: BookMaker, yard: dict[str, str], told: Told
) -> None:
    (line,) = told(make_book({**yard, PAGE: HEAD + "```calc plank one\nlength: 48 in\n```\n"}))

    assert line.startswith(f"{PAGE}:4:")
    assert "'width'" in line


def test_rule_14_quotes_make_no_difference_for_a_number(make_book: BookMaker, yard: dict[str, str]) -> None:
    page = HEAD + "```calc plank a\nlength: \"48 in\"\nwidth: '12 in'\n```\n"

    assert value_of(open_book(make_book({**yard, PAGE: page})), "a.area") == 4


@pytest.mark.parametrize(("word", "mass"), [("oak", 15), ("ash", 14), ("'ash'", 14), ("deck.wood", 14)])
def test_rule_14_a_choice_takes_a_listed_word_or_a_name(
    make_book: BookMaker, yard: dict[str, str], word: str, mass: float
) -> None:
    opened = open_book(make_book({**yard, **INPUTS, PAGE: HEAD + plank("a", f"wood: {word}\n")}))

    assert value_of(opened, "a.mass") == pytest.approx(mass)


def test_rule_14_a_word_that_is_no_choice_is_answered_with_the_nearest(
    make_book: BookMaker, yard: dict[str, str], told: Told
) -> None:
    (line,) = told(make_book({**yard, PAGE: HEAD + plank("a", "wood: oakk\n")}))

    assert line.startswith(f"{PAGE}:7:7: ")
    assert "'oak'" in line


@pytest.mark.parametrize(
    ("words", "text"),
    [("'deck.word'", "deck.word"), ("deck.word", "bilge"), ('"Two words: x"', "Two words: x")],
)
def test_rule_14_a_text_is_quoted_text_or_a_name(
    make_book: BookMaker, yard: dict[str, str], words: str, text: str
) -> None:
    page = HEAD + f"```calc label a\nwords: {words}\nboxed: deck.flag\n```\n"
    done = open_book(make_book({**yard, **INPUTS, PAGE: page})).evaluate()

    assert done.problems == []
    assert done.values["a.text"] == f"[{text}]"


def test_rule_14_a_text_without_quotes_is_refused(
    make_book: BookMaker, yard: dict[str, str], told: Told
) -> None:
    (line,) = told(make_book({**yard, PAGE: HEAD + "```calc label a\nwords: Two words\n```\n"}))

    assert line.startswith(f"{PAGE}:5:8: ")
    assert "quotes" in line


def test_rule_14_a_table_comes_from_the_inputs_folder(make_book: BookMaker, yard: dict[str, str]) -> None:
    files = {
        "content/inputs/tables/x.csv": "head (ft),flow (gal/hr),note\n5,60,low\n2,90,high\n",
        "content/inputs/model.yml": "pump: {curve: tables/x.csv}\n",
        PAGE: HEAD
        + "```calc curve a\npoints: tables/x.csv\n```\n\n```calc curve b\npoints: pump.curve\n```\n",
    }
    opened = open_book(make_book({**yard, **files}))

    assert value_of(opened, "a.most") == value_of(opened, "b.most") == 90


@pytest.mark.parametrize("key", ["title", "note", "public", "caption"])
def test_rule_15_some_keys_of_a_fence_are_no_parameters(
    make_book: BookMaker, yard: dict[str, str], told: Told, key: str
) -> None:
    assert told(make_book({**yard, PAGE: HEAD + plank("a", f"{key}: to 1\n")})) == []


def test_rule_15_a_block_takes_limits_of_the_yard_s_own(make_book: BookMaker, yard: dict[str, str]) -> None:
    more = "limits:\n  light: mass <= 10 lb\n  short: length <= deck.length\n"
    done = open_book(make_book({**yard, **INPUTS, PAGE: HEAD + plank("a", more)})).evaluate()

    verdicts = {one.name: one.verdict for one in done.blocks["a"].limits}

    assert verdicts == {"bench": "within", "light": "outside", "short": "within"}


def test_rule_15_a_limit_of_the_yard_may_not_carry_the_name_of_a_built_in_one(
    make_book: BookMaker, yard: dict[str, str], told: Told
) -> None:
    lines = told(make_book({**yard, PAGE: HEAD + plank("a", "limits:\n  bench: length <= 9 ft\n")}))

    assert [line.split(": ")[0] for line in lines] == [f"{PAGE}:8:3"]


@pytest.mark.parametrize("rule", ["mass", "length + 1 in", "'text'"])
def test_rule_15_a_rule_that_is_no_condition_is_refused(
    make_book: BookMaker, yard: dict[str, str], told: Told, rule: str
) -> None:
    (line,) = told(make_book({**yard, PAGE: HEAD + plank("a", f"limits:\n  light: {rule}\n")}))

    assert line.startswith(f"{PAGE}:8:")


def test_rule_15_a_line_of_a_formula_may_end_in_a_unit(make_book: BookMaker) -> None:
    page = HEAD + "```calc formula f\nx: 2 ft * 3 ft in ft^2\ny: x in in^2\n'z': \"12 in\"\n```\n"
    done = open_book(make_book({PAGE: page})).evaluate()

    assert done.problems == []
    assert [(float(done.values[n].value), done.values[n].unit.name) for n in ("f.x", "f.y", "f.z")] == [
        (6, "ft^2"), (864, "in^2"), (12, "in")
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("line", "words"),
    [("x: 2 ft in lb", "lb"), ("x: 2 ft in inn", "inn"), ("x: 2 ft in in up", ""),
     ("x: 2 ft in in to 1", ""), ("x:", "x"), ("X: 2 ft", "X"), ("in: 2 ft", "in")],
)  # fmt: skip
def test_rule_15_a_line_that_is_wrong_is_told_on_its_line(
    make_book: BookMaker, told: Told, line: str, words: str
) -> None:
    (problem,) = told(make_book({PAGE: HEAD + f"```calc formula f\na: 1 in\n{line}\n```\n"}))

    assert problem.startswith(f"{PAGE}:6:")
    assert words in problem


def test_an_empty_formula_is_told(make_book: BookMaker, told: Told) -> None:
    (line,) = told(make_book({PAGE: HEAD + "```calc formula f\n```\n"}))

    assert line.startswith(f"{PAGE}:4:")


@pytest.mark.parametrize("heading", ["calc plank", "calc", "calc plank a b", "limit", "limit a b"])
def test_a_fence_with_a_wrong_head_is_told(
    make_book: BookMaker, yard: dict[str, str], told: Told, heading: str
) -> None:
    (line,) = told(make_book({**yard, PAGE: HEAD + f"```{heading}\nrule: 1 in <= 2 in\n```\n"}))

    assert line.startswith(f"{PAGE}:4:")
    assert "calc CALCULATOR NAME" in line or "limit NAME" in line


BOXED = HEAD + ":::when options.boxed\n\n" + plank("a") + ":::\n\n"
OPTION = {"content/inputs/options/boxed.yml": "", "content/hulls/A-1/hull.yml": "options: [boxed]\n"}


def test_rule_18_a_block_in_a_false_when_does_not_exist_in_that_edition(
    make_book: BookMaker, yard: dict[str, str], told: Told
) -> None:
    book = make_book({**yard, **OPTION, PAGE: BOXED.replace(":::\n\n", "{{ a.area }}\n:::\n\n")})
    opened = open_book(book)

    assert told(book) == []
    assert "a.area" not in opened.evaluate().values
    assert "a.area" in opened.evaluate(opened.book.hull_edition("A-1")).values


@pytest.mark.parametrize(
    "use",
    ["{{ a.area }}\n", "```calc formula f\nx: a.area\n```\n", "```limit f\nrule: a.area > 1 ft^2\n```\n",
     ":::when a.area > 1 ft^2\nText.\n:::\n"],
    ids=["text", "formula", "limit", "when"],
)  # fmt: skip
def test_rule_18_using_it_from_elsewhere_is_an_error_of_that_edition_alone(
    make_book: BookMaker, yard: dict[str, str], told: Told, where: Where, use: str
) -> None:
    text = BOXED + use
    book = make_book({**yard, **OPTION, PAGE: text})

    (line,) = told(book)

    assert line.startswith(f"{PAGE}:{where(text, 'a.area')}: ")
    assert "'a'" in line
    assert "options.boxed" in line
    assert "A-1" not in line


def test_rule_18_an_error_of_the_edition_with_the_option_names_the_option(
    make_book: BookMaker, yard: dict[str, str], told: Told
) -> None:
    page = BOXED.replace("when options.boxed", "when not options.boxed") + "{{ a.area }}\n"

    lines = told(make_book({**yard, "content/inputs/options/boxed.yml": "", PAGE: page}))

    assert len(lines) == 1
    assert "boxed" in lines[0].split(";")[0].split("(")[-1]


def test_rule_18_nested_conditions_must_all_hold(make_book: BookMaker, yard: dict[str, str]) -> None:
    page = (
        HEAD
        + "::::when 1 in < 2 in\n\n:::when options.boxed\n\n"
        + plank("a")
        + ":::\n\n"
        + plank("b")
        + "::::\n"
    )
    opened = open_book(make_book({**yard, **OPTION, PAGE: page}))

    assert opened.problems == ()
    assert {"b.area", "a.area"} & opened.evaluate().values.keys() == {"b.area"}


def test_rule_18_an_unknown_option_is_told_with_its_place_and_the_nearest(
    make_book: BookMaker, told: Told
) -> None:
    page = HEAD + ":::when options.boxd\nText.\n:::\n"

    (line,) = told(make_book({**OPTION, PAGE: page}))

    assert line.startswith(f"{PAGE}:4:9: ")
    assert "boxed" in line


@pytest.mark.parametrize("condition", ["", "1 in", "'text'", "options.boxed and"])
def test_a_condition_that_is_none_is_told(make_book: BookMaker, told: Told, condition: str) -> None:
    (line,) = told(make_book({**OPTION, PAGE: HEAD + f":::when {condition}\nText.\n:::\n"}))

    assert line.startswith(f"{PAGE}:4:")


CONTAINERS = [
    (":::why\nText.\n", 4, "closed"),
    ("::::why\n\n:::warning\nText.\n:::\n", 4, "closed"),
    (":::wyh\nText.\n:::\n", 4, "'why'"),
    ("Text.\n\n:::\n", 6, ""),
    ("- a\n\n  :::why\n  Text.\n", 6, "closed"),
    (":::whyever\nText.\n:::\n", 4, "'whyever'"),
]


@pytest.mark.parametrize(("text", "line", "words"), CONTAINERS, ids=[text[:24] for text, _, _ in CONTAINERS])
def test_a_container_that_is_unclosed_unknown_or_stray_is_told(
    make_book: BookMaker, told: Told, text: str, line: int, words: str
) -> None:
    lines = told(make_book({PAGE: HEAD + text}))

    assert lines
    assert lines[0].startswith(f"{PAGE}:{line}:")
    assert words in lines[0]


@pytest.mark.parametrize(
    "text",
    [":::warning Hot iron\nText.\n:::\n", ":::why\n\n- a\n- b\n\n:::\n", "Text.\n:::why\nMore.\n:::\n",
     "- a\n\n  :::why\n  Text.\n  :::\n\n- b\n", "::::why\n\n:::warning\nText.\n:::\n\n::::\n",
     "> :::why\n> Text.\n> :::\n", "```\n:::nothing\n```\n", "    :::nothing\n", "Text ::: more\n",
     "````text\n```calc nothing here\n```\n````\n", "- [ ] To do\n- [x] Done\n"],
)  # fmt: skip
def test_a_container_or_code_that_is_right_is_left_alone(make_book: BookMaker, told: Told, text: str) -> None:
    assert told(make_book({PAGE: HEAD + text})) == []


@pytest.mark.parametrize(
    ("text", "place"),
    [("<div>x</div>\n", "4:1"), ("A <span>b</span>\n", "4:3"), ("A\nb <b>c</b>\n", "5:3"),
     ("<details>\n<script>x</script>\n</details>\n", "5:1"), ("<sup onclick='x()'>2</sup>\n", "4:1"),
     ("A <br> <img src=x>\n", "4:8"), ("| a |\n|---|\n| <i>b</i> |\n", "6:3"), ("</div>\n", "4:1"),
     ("<!-- x -->\n<iframe src='y'>\n", "5:1"), ("<script\nsrc='y'>\n</script>\n", "4:1"),
     ("<abbr onclick='x()'>n</abbr>\n", "4:1"), ("a\n\n<?php x ?>\n", "6:1"),
     ("A <b title='>' >x</b>\n", "4:3"), ("<textarea\n", "4:1")],
)  # fmt: skip
def test_rule_17_any_other_tag_is_refused_with_its_place(
    make_book: BookMaker, told: Told, text: str, place: str
) -> None:
    lines = told(make_book({PAGE: HEAD + text}))

    assert lines
    assert lines[0].startswith(f"{PAGE}:{place}: ")


@pytest.mark.parametrize(
    "text",
    ["H<sub>2</sub>O<br>x<sup>2</sup> <kbd>A</kbd>\n", "<abbr title='National'>N</abbr>\n",
     "<details>\n<summary>More</summary>\n\nText.\n\n</details>\n", "<!-- <div> {{ missing.y }} -->\n",
     "`<div>` and \\<div>\n", "```html\n<div>\n```\n", "<br/> <https://example.org>\n", "1 < 2 > 0\n",
     "Text \\{{ missing.y }} and `{{ missing.y }}`\n", "```text\n{{ missing.y }}\n```\n",
     "<details>\n{{ missing.y }}\n</details>\n", "A <!-- {{ missing.y }} --> b\n",
     "<abbr title='{{ missing.y }}'>N</abbr>\n"],
)  # fmt: skip
def test_rule_17_a_few_tags_are_allowed_and_code_html_and_a_backslash_keep_braces_literal(
    make_book: BookMaker, told: Told, text: str
) -> None:
    assert told(make_book({PAGE: HEAD + text})) == []


@pytest.mark.parametrize("name", ["in", "to", "true", "options", "ledger", "min", "9a", "a-b", "a.b", "Deck"])
@pytest.mark.parametrize("fence", ["calc plank", "limit"])
def test_rule_8_what_is_no_name_cannot_name_a_block(
    make_book: BookMaker, yard: dict[str, str], told: Told, name: str, fence: str
) -> None:
    body = "rule: 1 in <= 2 in\n" if fence == "limit" else "length: 48 in\nwidth: 12 in\n"

    (line,) = told(make_book({**yard, PAGE: HEAD + f"```{fence} {name}\n{body}```\n"}))

    assert line.startswith(f"{PAGE}:4:{len(fence) + 5}: ")
    assert f"'{name}'" in line


@pytest.mark.parametrize("use", ["value + 1 in", "ledger.mass", "fits", "gauge"])
def test_a_name_that_is_no_number_is_told(
    make_book: BookMaker, yard: dict[str, str], told: Told, use: str
) -> None:
    page = HEAD + (
        "```limit fits\nrule: 1 in <= 2 in\n```\n\n"
        "```measure gauge\nwhat: it\naccept: value > 1 in\nunit: in\n```\n\n"
    )

    (line,) = told(make_book({**yard, PAGE: page + f"{{{{ {use} }}}}\n"}))

    assert line.startswith(f"{PAGE}:14:4: ")
    assert f"'{use.split()[0]}'" in line or "ledger" in line
