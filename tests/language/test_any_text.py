"""Any text whatever: what is printed reads back, exact stays exact, and only problems are raised."""

from __future__ import annotations

import os
import tracemalloc
from collections.abc import Callable
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from kb.content.inputs import lay_over, layer_from_text
from kb.content.tables import table_from_text
from kb.language.compute import Computation
from kb.language.expression import Name, read_expression
from kb.language.literal import ReadError, read_literal
from kb.language.quantity import NoAnswer, Quantity
from kb.language.show import CHAINS, Form, Safe, show, split_form
from kb.language.units import unit, unit_words
from kb.problem import BookError

LONG = pytest.mark.skipif("KEELBOOK_LONG" not in os.environ, reason="set KEELBOOK_LONG=1 to run it")


def examples(count: int) -> Callable[[Any], Any]:
    return settings(
        max_examples=count,
        deadline=None,
        suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
    )


FEW, QUICK, MANY = examples(500), examples(1_000), examples(100_000)


# ---- values, and how they are printed

UNITS = [
    "in",
    "ft",
    "mm",
    "gal",
    "L",
    "lb",
    "psi",
    "%",
    "in/ft",
    "mm/m",
    "gpm",
    "lb/ft^3",
    "deg",
    "fl oz",
    "degF",
    "",
]
SHOP_STEPS = [Fraction(1, n) for n in (2, 4, 8, 16, 32, 64)]
DECIMAL_STEPS = [
    Fraction(1, 1000),
    Fraction(1, 100),
    Fraction(1, 10),
    Fraction(1, 2),
    Fraction(1),
    Fraction(5),
]
CHAIN_FAMILIES = {"ft-in": "in", "yd-ft": "ft", "lb-oz": "oz", "hr-min": "min", "hr-min-s": "s", "min-s": "s"}
SAFE: list[Safe] = ["up", "down", "nearest"]

fractions = st.fractions(min_value=-(10**7), max_value=10**7, max_denominator=10_000)
sizes = st.one_of(
    fractions,
    st.fractions(min_value=-50, max_value=50, max_denominator=64),
    st.integers(-(10**9), 10**9).map(Fraction),
    st.floats(-1e9, 1e9, allow_nan=False).filter(lambda value: value == 0 or abs(value) > 1e-9),
)


def is_as_close_as_asked(
    value: Fraction | float, again: Fraction | float, step: Fraction, safe: Safe
) -> None:
    """Check that a printed value lies within its rounding step, on its safe side."""
    hair = (abs(Fraction(value)) + step) / 10**9
    moved = Fraction(again) - Fraction(value)
    low = {"up": Fraction(0), "down": -step, "nearest": -step / 2}[safe]
    high = {"up": step, "down": Fraction(0), "nearest": step / 2}[safe]
    assert low - hair <= moved <= high + hair


def check_steps(value: Fraction | float, word: str, step: Fraction, safe: Safe, shop: bool) -> None:
    text = show(Quantity(value, unit(word)), Form(word, None, step, shop), safe)
    is_as_close_as_asked(value, read_literal(text).quantity.to(unit(word)), step, safe)


def check_figures(value: Fraction | float, word: str, safe: Safe) -> None:
    text = show(Quantity(value, unit(word)), Form(word), safe)
    again = read_literal(text).quantity.to(unit(word))
    size = abs(Fraction(value))
    step = Fraction(1)  # of three figures
    while size and step * 1000 <= size:
        step *= 10
    while size and step * 100 > size:
        step /= 10
    is_as_close_as_asked(value, again, step, safe)


def check_chain(value: Fraction | float, chain: str, step: Fraction, safe: Safe, shop: bool) -> None:
    last = unit(CHAIN_FAMILIES[chain])
    text = show(Quantity(value, last), Form(chain, None, step, shop), safe)
    is_as_close_as_asked(value, read_literal(text).quantity.to(last), step, safe)


def check_other_system(value: Fraction | float, one: str, other: str, safe: Safe) -> None:
    size = Quantity(value, unit(one))
    text = show(size, Form(other), safe)
    again = read_literal(text).quantity
    assert again.unit == unit(other)
    there = size.to(unit(other))
    assert abs(float(again.value) - float(there)) <= 0.0101 * abs(float(there))
    hair = 1e-9 * abs(float(there))
    assert safe != "up" or float(again.value) >= float(there) - hair
    assert safe != "down" or float(again.value) <= float(there) + hair


def check_exact(top: int, bottom_power: int, word: str) -> None:
    """Check that a shop fraction is read exactly, and comes back exactly from what is printed."""
    value = Fraction(top, 2**bottom_power)
    whole, rest = divmod(abs(value), 1)
    text = f"{'-' if value < 0 else ''}{whole or ''} {rest}".strip() if rest else f"{value}"
    text = text.replace("- ", "-")
    read = read_literal(f"{text} {word}").quantity
    assert isinstance(read.value, Fraction)
    assert read.value == value
    printed = show(read, Form(word, None, Fraction(1, 2**bottom_power), True))
    assert read_literal(printed).quantity.value == value


def check_exact_chain(feet: int, inches: int, sixty_fourths: int) -> None:
    rest = Fraction(sixty_fourths, 64)
    value = feet * 12 + inches + rest
    text = f"{feet} ft {inches} {rest} in" if rest else f"{feet} ft {inches} in"
    read = read_literal(text).quantity
    assert read.to(unit("in")) == value
    for marks in (
        text.replace(" ft", "'").replace(" in", '"'),
        f"{feet}'-{text.split('ft ')[1].replace(' in', '″')}",
    ):
        assert read_literal(marks).quantity.to(unit("in")) == value
    printed = show(read, Form("ft-in", None, Fraction(1, 64), True))
    assert read_literal(printed).quantity.to(unit("in")) == value


def check_arithmetic(a: Fraction, b: Fraction, word: str) -> None:
    """Check that what is written exactly is reckoned exactly: there and back gives the same."""
    values = {"a": Quantity(a, unit(word)), "b": Quantity(b, unit(word))}

    def value(text: str) -> Quantity:
        found = Computation(lambda node: values[node.name]).of(read_expression(text).tree)
        assert isinstance(found, Quantity)
        return found

    assert value("a + b - b").value == a
    assert value("a * 3 / 3").to(unit(word)) == a
    assert value("a / 7 * 7").to(unit(word)) == a
    assert value("-(-a)").value == a
    assert value("if a < b then a else b").to(unit(word)) == min(a, b)
    assert value("min(a, b)").value == min(a, b)
    assert value("max(a, b)").value == max(a, b)


steps_arguments = (sizes, st.sampled_from(UNITS), st.sampled_from(DECIMAL_STEPS), st.sampled_from(SAFE))
shop_arguments = (
    sizes,
    st.sampled_from(["in", "ft", "mm", "lb"]),
    st.sampled_from(SHOP_STEPS),
    st.sampled_from(SAFE),
)
figure_arguments = (sizes, st.sampled_from(UNITS), st.sampled_from(SAFE))
chain_arguments = (
    sizes,
    st.sampled_from(sorted(CHAINS)),
    st.one_of(
        st.tuples(st.sampled_from(SHOP_STEPS), st.just(True)),
        st.tuples(st.sampled_from(DECIMAL_STEPS), st.just(False)),
    ),
    st.sampled_from(SAFE),
)
systems = st.sampled_from(
    [("in", "mm"), ("ft", "m"), ("gal", "L"), ("lb", "kg"), ("psi", "kPa"), ("gpm", "L/min")]
)
exact_arguments = (
    st.integers(-(10**9), 10**9),
    st.integers(0, 6),
    st.sampled_from(["in", "ft", "lb", "gal"]),
)
feet_and_inches = (st.integers(0, 10**6), st.integers(0, 11), st.integers(0, 63))


@FEW
@given(*steps_arguments)
def test_rule_16_a_value_printed_to_a_step_is_read_back_within_that_step(
    value: Fraction | float, word: str, step: Fraction, safe: Safe
) -> None:
    check_steps(value, word, step, safe, False)


@FEW
@given(*shop_arguments)
def test_rule_16_a_value_printed_in_shop_fractions_is_read_back_within_its_step(
    value: Fraction | float, word: str, step: Fraction, safe: Safe
) -> None:
    check_steps(value, word, step, safe, True)


@FEW
@given(*figure_arguments)
def test_rule_16_a_value_printed_in_three_figures_is_read_back_within_them(
    value: Fraction | float, word: str, safe: Safe
) -> None:
    check_figures(value, word, safe)


@FEW
@given(*chain_arguments)
def test_rule_16_a_value_printed_as_a_chain_is_read_back_within_its_step(
    value: Fraction | float, chain: str, step: tuple[Fraction, bool], safe: Safe
) -> None:
    check_chain(value, chain, *step[:1], safe, step[1])


@FEW
@given(sizes, systems, st.booleans(), st.sampled_from(SAFE))
def test_rule_16_a_value_printed_in_the_other_system_is_read_back_on_its_safe_side(
    value: Fraction | float, pair: tuple[str, str], swapped: bool, safe: Safe
) -> None:
    one, other = reversed(pair) if swapped else pair
    check_other_system(value, one, other, safe)


@FEW
@given(*exact_arguments)
def test_rule_1_a_shop_fraction_survives_reading_and_printing_exactly(
    top: int, power: int, word: str
) -> None:
    check_exact(top, power, word)


@FEW
@given(*feet_and_inches)
def test_rule_1_feet_and_inches_survive_reading_and_printing_exactly(
    feet: int, inches: int, rest: int
) -> None:
    check_exact_chain(feet, inches, rest)


@FEW
@given(fractions, fractions, st.sampled_from(UNITS[:-2]))
def test_rule_9_exact_sizes_are_reckoned_exactly(a: Fraction, b: Fraction, word: str) -> None:
    check_arithmetic(a, b, word)


# ---- any text

NASTY = (
    "0123456789" * 3
    + "./,-+*^<>=!%()[]{}'\"′″’”½¼⅞±−×÷·°µΩ²³ \t\n\r\x00\x07\x1b\u00a0\u200b\u2028\ufeff٣２①𝟙é漢🛥"
    + "#:;|&@`~?\\$_"
    + "abcdefglnoptuxEFCKLN"
)
WORDS = [word for word in unit_words() if word.isascii()]
LANGUAGE = """
    then else and or not if to up down in min max abs sqrt round ceil floor sin cos tan true false none
    value ledger record accepted options yes no shape inf nan F C K sq pounds
"""
PIECES = [
    *WORDS,
    *LANGUAGE.split(),
    *["a", "b.c", "fuel.kind", "t", "flag", "missing", "untold", "line.in", "x"],
    *[
        "1",
        "2",
        "12",
        "0",
        "007",
        "1/2",
        "5/8",
        "11/2",
        "1/0",
        "41-1/2",
        "3.5",
        ".5",
        "1e3",
        "1e-99",
        "1e15",
        "9" * 20,
    ],
    *[
        "1,200",
        "1,5",
        "2026-03-01",
        "½",
        "7 %",
        "72 degF",
        "27' 6 1/2\"",
        "4 lb/ft^3",
        "1 1/hr",
        "± 1/8 in",
        "-3 in",
    ],
    *[" ", " ", " ", " ", "  ", "\t", "\n", "\n  ", "\r\n", "\u00a0"],
    *[
        " + ",
        " - ",
        " * ",
        " / ",
        " ^ ",
        " = ",
        " != ",
        " <= ",
        " < ",
        " > ",
        "==",
        "+",
        "-",
        "*",
        "/",
        "^",
        "±",
        "+/-",
    ],
    *[
        "(",
        ")",
        "[",
        "]",
        "{",
        "}",
        ",",
        ", ",
        ":",
        ": ",
        "#",
        " # ",
        " #",
        "'",
        '"',
        "- ",
        "? ",
        "&a ",
        "*a",
        "!t ",
        "<<",
    ],
    *[
        "tables/p.csv",
        "../p.csv",
        "a: ",
        "b:\n",
        "g: {a: ",
        "head (ft)",
        "flow (gph)",
        ",\n",
        "--- ",
        "...\n",
        "%",
        "|",
        ">",
    ],
]
texts = st.one_of(
    st.text(alphabet=NASTY, max_size=60),
    st.text(max_size=30),
    st.lists(st.sampled_from(PIECES), max_size=25).map("".join),
    st.lists(st.sampled_from(PIECES), max_size=12).map(" ".join),
)
VALUES: dict[str, Any] = {
    "a": Quantity(Fraction(83, 2), unit("in")),
    "b.c": Quantity(2**0.5, unit("lb")),
    "x": Quantity(Fraction(7), unit("")),
    "t": Quantity(72.0, unit("degF")),
    "line.in": Quantity(1e300, unit("in")),
    "fuel.kind": "gasoline",
    "flag": True,
    "untold": None,
    "missing": NoAnswer("the pump does not lift so high"),
}


def lookup(node: Name) -> Any:
    if node.name not in VALUES:
        raise ReadError(f"there is no name '{node.name}'", "check it", node.at)
    return VALUES[node.name]


def check_error(text: str, error: ReadError) -> None:
    """Check that an error has words, and a place inside its text or right after it."""
    assert error.what
    assert error.fix
    assert 0 <= error.at <= len(text)


def check_literal(text: str) -> None:
    try:
        literal = read_literal(text)
    except ReadError as error:
        check_error(text, error)
        return
    assert -(10**15) <= literal.quantity.value <= 10**15
    assert literal.minus >= 0
    assert literal.plus >= 0


def check_expression(text: str) -> None:
    try:
        tree = read_expression(text).tree
        value = Computation(lookup).of(tree)
    except ReadError as error:
        check_error(text, error)
        return
    assert value is None or isinstance(value, Quantity | NoAnswer | bool | str)
    run = Computation(lookup, decisions=[None] * 200)
    try:
        run.of(tree)
    except ReadError as error:
        check_error(text, error)


def check_inline(text: str) -> None:
    try:
        body, form = split_form(text)
    except ReadError as error:
        check_error(text, error)
        return
    assert body in text
    try:
        value = Computation(lookup).of(read_expression(body).tree)
        if isinstance(value, Quantity):
            shown = show(value, form)
            assert shown
            assert "\n" not in shown
    except ReadError as error:
        check_error(text, error)


def check_inputs(text: str) -> None:
    try:
        layer, problems = layer_from_text(text, Path("nowhere"), "inputs.yml", "model", "inputs")
        lay_over([layer, layer])
    except BookError as error:
        problems = list(error.problems)
    last = (
        text.count("\n")
        + text.count("\r")
        + text.count("\u2028")
        + text.count("\x85")
        + text.count("\u2029")
        + 2
    )
    for problem in problems:
        assert problem.what
        assert problem.fix
        assert problem.place.line <= last


def check_table(text: str) -> None:
    try:
        table, problems = table_from_text(text, "p.csv")
    except BookError as error:
        table, problems = None, list(error.problems)
    assert (table is None) == bool(problems)
    for problem in problems:
        assert problem.what
        assert problem.fix
        assert 1 <= problem.place.line <= len(text.splitlines()) + 1


CHECKS = [check_literal, check_expression, check_inline, check_inputs, check_table]


@QUICK
@given(texts)
def test_rule_1_any_text_is_a_literal_or_an_error_of_the_language(text: str) -> None:
    check_literal(text)


@QUICK
@given(texts)
def test_rule_12_any_text_is_an_expression_or_an_error_of_the_language(text: str) -> None:
    check_expression(text)


@QUICK
@given(texts)
def test_rule_16_any_text_is_an_inline_value_or_an_error_of_the_language(text: str) -> None:
    check_inline(text)


@QUICK
@given(texts)
def test_rule_20_any_text_is_a_layer_or_a_list_of_problems(text: str) -> None:
    check_inputs(text)


@QUICK
@given(
    st.one_of(
        texts,
        st.lists(st.lists(st.sampled_from(PIECES), max_size=4).map(",".join), max_size=5).map("\n".join),
    )
)
def test_rule_13_any_text_is_a_table_or_a_list_of_problems(text: str) -> None:
    check_table(text)


# ---- long and hostile texts


LONG_LINES = {
    "spaces inside": "5 in" + " " * 10_000 + "x",
    "spaces after in": "x in" + " " * 10_000 + "x",
    "spaces after to": "x to 1" + " " * 10_000 + "x",
    "many in": "x" + " in" * 2_000,
    "many up": "x" + " up" * 2_000,
    "many to": "x" + " to 1" * 2_000,
    "many digits": "9" * 10_000,
    "many digits of a fraction": "1/" + "9" * 10_000 + " in",
    "many digits of a mixed number": "1 1/" + "9" * 10_000 + " in",
    "two long numbers": "1 " + "9" * 10_000,
    "a long exponent": "1e" + "9" * 10_000,
    "a long power of a unit": "5 in^" + "9" * 10_000,
    "a long product of units": "5 " + "*".join(["GPa^6"] * 2_000),
    "a short product of big units": "5 " + "*".join(["GPa^6"] * 6),
    "a long quotient of units": "5 1/" + "/".join(["um^6"] * 2_000),
    "a long unit that is none": "5 " + "in*" * 2_000 + "inx",
    "a long word": "5 " + "x" * 10_000,
    "a long name": "x" * 10_000,
    "a long chain": "5 ft " * 2_000,
    "many commas": "1" + ",234" * 2_000,
    "many brackets": "(" * 10_000 + "1" + ")" * 10_000,
    "many minus": "-" * 10_000 + "1",
    "many not": "not " * 2_000 + "flag",
    "many choices": "if flag then 1 else " * 2_000 + "2",
    "many powers": "2 ^ " * 2_000 + "2",
    "the deepest": "(" * 40 + "1" + ")" * 40,
    "a quote that does not end": "'" + "x" * 10_000,
}
LONG_INPUTS = {
    "spaces before a comment": "a: x" + " " * 10_000 + "#\n",
    "spaces before a hash": "a: x" + " " * 10_000 + "#y\n",
    "spaces before a word": "a: x" + " " * 10_000 + "y\n",
    "spaces after a list": "a: [x]" + " " * 10_000 + "y\n",
    "many lists": "a: " + "[" * 10_000 + "]" * 10_000 + "\n",
    "many mappings": "a: " + "{a: " * 5_000 + "1" + "}" * 5_000 + "\n",
    "many levels": "".join(" " * n + "a:\n" for n in range(500)),
    "many dashes": "- " * 5_000 + "a\n",
    "many question marks": "? " * 5_000 + "a\n",
    "many quotes": "a: " + "'" * 10_000 + "\n",
    "many double quotes": 'a: "' + '\\"' * 10_000 + "\n",
    "many hashes": "a: x" + " # " * 5_000 + "\n",
    "many colons": "a: x" + ": " * 5_000 + "\n",
    "a doubling of aliases": "a: [&l0 [x, x], "
    + ", ".join(f"&l{n} [*l{n - 1}, *l{n - 1}]" for n in range(1, 15))
    + "]\n",
    "a list inside itself": "a: [&a [*a]]\n",
    "a mapping inside itself": "a: {b: &a {c: *a}}\n",
}
LONG_TABLES = {
    "spaces in a heading": "a" + " " * 1_000 + "!\n1\n",
    "spaces in a heading's unit": "a (" + " " * 1_000 + "(\n1\n",
    "spaces round a cell": "a\n" + " " * 10_000 + "1" + " " * 10_000 + "\n",
    "a long row": "a," * 2_000 + "\n" + "1," * 2_000 + "\n",
    "many cells in quotes": '"a",' * 2_000 + "\n",
    "a quote that does not end": 'a\n"' + "x\n" * 10_000,
    "many columns of one name": ",".join(["a"] * 2_000) + "\n",
    "many columns": ",".join(f"a{n} (in)" for n in range(1_000)) + "\n" + ",".join(["1"] * 1_000) + "\n",
}
HOSTILE = [
    *[(check, text, name) for name, text in LONG_LINES.items() for check in CHECKS[:3]],
    *[(check_inputs, f"a: {text}\n", name) for name, text in LONG_LINES.items() if "(" not in text],
    *[(check_inputs, text, name) for name, text in LONG_INPUTS.items()],
    *[(check_table, text, name) for name, text in LONG_TABLES.items()],
]
MOST_BYTES = 30_000_000


@pytest.mark.parametrize(
    ("check", "text"),
    [one[:2] for one in HOSTILE],
    ids=[f"{check.__name__}: {name}" for check, _, name in HOSTILE],
)
def test_rule_12_a_long_or_hostile_text_is_read_or_refused(check: Callable[[str], None], text: str) -> None:
    """Thousands of anything come back at all; how soon is not asked here."""
    read_literal("1 in")  # the unit file is read once, and not counted
    check(text)


@pytest.mark.parametrize(
    ("check", "text"),
    [
        (check_inputs, LONG_INPUTS["a doubling of aliases"]),
        (check_inputs, LONG_INPUTS["many lists"]),
        (check_literal, LONG_LINES["a long product of units"]),
        (check_expression, "sqrt(2) ^ 9 * ((1e15 ^ 9) ^ 2) ^ 2"),
        (check_expression, "(((7 m^6 ^ 9) ^ 2) ^ 2) ^ 2"),
        (check_table, LONG_TABLES["a long row"]),
    ],
)
def test_rule_12_a_long_or_hostile_text_takes_little_memory(check: Callable[[str], None], text: str) -> None:
    read_literal("1 in")
    tracemalloc.start()
    try:
        check(text)
        _, most = tracemalloc.get_traced_memory()
    finally:
        tracemalloc.stop()
    assert most < MOST_BYTES


# ---- the same for as long as one likes


@pytest.mark.long
@LONG
@MANY
@given(*steps_arguments)
def test_long_steps(value: Fraction | float, word: str, step: Fraction, safe: Safe) -> None:
    check_steps(value, word, step, safe, False)


@pytest.mark.long
@LONG
@MANY
@given(*shop_arguments)
def test_long_shop_fractions(value: Fraction | float, word: str, step: Fraction, safe: Safe) -> None:
    check_steps(value, word, step, safe, True)


@pytest.mark.long
@LONG
@MANY
@given(*figure_arguments)
def test_long_figures(value: Fraction | float, word: str, safe: Safe) -> None:
    check_figures(value, word, safe)


@pytest.mark.long
@LONG
@MANY
@given(*chain_arguments)
def test_long_chains(value: Fraction | float, chain: str, step: tuple[Fraction, bool], safe: Safe) -> None:
    check_chain(value, chain, step[0], safe, step[1])


@pytest.mark.long
@LONG
@MANY
@given(sizes, systems, st.booleans(), st.sampled_from(SAFE))
def test_long_other_system(value: Fraction | float, pair: tuple[str, str], swapped: bool, safe: Safe) -> None:
    one, other = reversed(pair) if swapped else pair
    check_other_system(value, one, other, safe)


@pytest.mark.long
@LONG
@MANY
@given(*exact_arguments)
def test_long_exact_fractions(top: int, power: int, word: str) -> None:
    check_exact(top, power, word)


@pytest.mark.long
@LONG
@MANY
@given(*feet_and_inches)
def test_long_exact_feet_and_inches(feet: int, inches: int, rest: int) -> None:
    check_exact_chain(feet, inches, rest)


@pytest.mark.long
@LONG
@MANY
@given(fractions, fractions, st.sampled_from(UNITS[:-2]))
def test_long_exact_arithmetic(a: Fraction, b: Fraction, word: str) -> None:
    check_arithmetic(a, b, word)


@pytest.mark.long
@LONG
@pytest.mark.parametrize("check", CHECKS)
def test_long_any_text(check: Callable[[str], None]) -> None:
    @MANY
    @given(texts)
    def run(text: str) -> None:
        check(text)

    run()
