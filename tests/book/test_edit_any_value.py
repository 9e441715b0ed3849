"""Whatever is typed for an input: exactly its span is replaced, or nothing is."""

from __future__ import annotations

import re
import tempfile
from pathlib import Path

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from kb.content.edit import edit_input
from kb.content.inputs import Layer, read_layer
from kb.problem import BookError

FILE = "content/inputs/model.yml"
TABLES = "content/inputs"
FILES = {
    "flat": ("length: 46 in\nwide: 3 in\n", "length", "46 in"),
    "flat at the end": ("wide: 3 in\nlength: 46 in", "length", "46 in"),
    "flat with CRLF": ("wide: 3 in\r\nlength: 46 in\r\n", "length", "46 in"),
    "nested": ("# ½ of it ⛵\ntank:\n  wide: 3 in\n  length: 46 in   # as bought\n", "tank.length", "46 in"),
    "nested with CRLF": ("tank:\r\n  length: 46 in\r\n  wide: 3 in\r\n", "tank.length", "46 in"),
    "after a mark": ("\ufefftank:\n  length: 46 in\n", "tank.length", "46 in"),
    "in braces": ("tank: {wide: 3 in, length: 46 in, high: 2 in}\n", "tank.length", "46 in"),
    "in quotes": ("tank:\n  length: '46 in' # so\n", "tank.length", "'46 in'"),
    "in double quotes": ('tank:\n  length: "46 in"\n', "tank.length", '"46 in"'),
}
TYPED = st.one_of(
    st.text(max_size=12),
    st.text(alphabet="46 in'\"#:,{}[]%&*!|>@`-+/±\r\n\t?=~.x", max_size=14),
    st.sampled_from(["46 in ± 1/8 in", "27' 6 1/2\"", "7 %", "-3 in", "½ in", "diesel", "no", "2026-03-01"]),
)


def read(root: Path) -> Layer:
    return read_layer(root, FILE, "model", TABLES)[0]


def book_of(folder: Path, text: str) -> Path:
    path = folder / FILE
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(text.encode())
    return folder


@pytest.mark.parametrize("form", FILES)
@settings(max_examples=25, deadline=None)
@given(typed=TYPED)
@example(typed="4 in\rnew: 5 in")
@example(typed="4 in\u2028new: 5 in")
@example(typed="3 in, new: 4 in")
def test_only_the_span_of_the_value_changes_or_nothing_does(form: str, typed: str) -> None:
    text, path, old = FILES[form]
    with tempfile.TemporaryDirectory() as folder:
        root = book_of(Path(folder), text)
        before = read(root)
        try:
            edit_input(root, before, path, typed, TABLES)
        except BookError:
            assert (root / FILE).read_bytes() == text.encode()
            return
        after = read(root)
        written = (root / FILE).read_bytes().decode()

        head, _, tail = text.partition(old)
        assert written.startswith(head)
        assert written.endswith(tail)
        others = {name: one.text for name, one in before.inputs.items() if name != path}
        assert {name: one.text for name, one in after.inputs.items() if name != path} == others
        assert after.inputs[path].text == typed.strip()


@pytest.mark.parametrize("form", FILES)
@settings(max_examples=6, deadline=None)
@given(
    typed=st.one_of(
        st.builds("{} in".format, st.integers(0, 999)),
        st.builds(
            "{}' {} {}/8\"".format, st.integers(1, 40), st.integers(0, 11), st.sampled_from([1, 3, 5, 7])
        ),
        st.builds("{} in ± 1/{} in".format, st.integers(1, 99), st.sampled_from([8, 16, 32])),
        st.builds("-{}.5 mm".format, st.integers(0, 99)),
    )
)
def test_a_quantity_goes_in_as_a_quantity_wherever_it_stands(form: str, typed: str) -> None:
    text, path, _ = FILES[form]
    with tempfile.TemporaryDirectory() as folder:
        root = book_of(Path(folder), text)

        edit_input(root, read(root), path, typed, TABLES)

        literal = read(root).inputs[path].literal
        assert literal is not None
        assert literal.text == typed


@settings(max_examples=80, deadline=None)
@given(typed=TYPED)
@example(typed="")
@example(typed="46' 3x")
@example(typed="46 in # as bought")
@example(typed="46 in: 3")
@example(typed="[1 in, 2 in]")
@example(typed="+46 in")
def test_a_slip_of_the_finger_does_not_turn_a_quantity_into_a_text(typed: str) -> None:
    text, path, _ = FILES["nested"]
    with tempfile.TemporaryDirectory() as folder:
        root = book_of(Path(folder), text)
        try:
            edit_input(root, read(root), path, typed, TABLES)
        except BookError:
            return

        value = read(root).inputs[path].value
        assert not isinstance(value, str) or re.fullmatch(r"[A-Za-z][A-Za-z0-9_-]*", value)


def test_a_text_of_several_words_can_be_changed_into_another(tmp_path: Path) -> None:
    root = book_of(tmp_path, "owner: 'Jo of the yard'  # who decides\n")

    edit_input(root, read(root), "owner", "Ann of the office", TABLES)

    assert read(root).inputs["owner"].value == "Ann of the office"
    assert (root / FILE).read_text().endswith("  # who decides\n")


def test_a_file_that_is_no_longer_text_is_refused_and_kept(tmp_path: Path) -> None:
    root = book_of(tmp_path, "length: 46 in\n")
    layer = read(root)
    (root / FILE).write_bytes(b"length: \xff\n")

    with pytest.raises(BookError):
        edit_input(root, layer, "length", "47 in", TABLES)

    assert (root / FILE).read_bytes() == b"length: \xff\n"


def test_a_file_whose_comments_alone_changed_keeps_the_new_ones(tmp_path: Path) -> None:
    root = book_of(tmp_path, "length: 46 in\n")
    layer = read(root)
    book_of(tmp_path, "# measured twice\nlength: 46 in  # by Jo\n")

    edit_input(root, layer, "length", "47 in", TABLES)

    assert (root / FILE).read_text() == "# measured twice\nlength: 47 in  # by Jo\n"
