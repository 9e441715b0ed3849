"""The messages a foreman reads, from the pages beside this file.

A case is a heading, what was written, and what must be said of it, one line a problem:

    ## A fraction that is not proper
    ```literal
    11/2 in
    ```
    ```says
    1:1: 11/2 is not a proper fraction; write 1 1/2 or 5 1/2
    ```

The first fence is a `literal`, an `expression`, an `inline` value, an `inputs` file or a `table`.
Expressions may use the names below.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any, NamedTuple

import pytest

from kb.content.inputs import layer_from_text
from kb.content.tables import table_from_text
from kb.language.compute import Computation
from kb.language.expression import Name, read_expression
from kb.language.literal import ReadError, read_literal
from kb.language.show import split_form
from kb.problem import Place, Problem

NAMES: dict[str, Any] = {
    "length": read_literal("46 1/2 in").quantity,
    "weight": read_literal("3 lb").quantity,
    "temperature": read_literal("72 degF").quantity,
    "pieces": read_literal("4").quantity,
    "fuel.kind": "gasoline",
    "washdown": True,
}
FILE = "file"
_CASE = re.compile(r"^## (.+)\n+```(\w+)\n((?:.*\n)*?)```\n+```says\n((?:.*\n)*?)```$", re.MULTILINE)


class Case(NamedTuple):
    """One case of a page."""

    title: str
    kind: str
    text: str
    says: list[str]


def cases() -> Iterator[Case]:
    for page in sorted(Path(__file__).parent.glob("*.md")):
        text = page.read_text(encoding="utf-8")
        found = _CASE.findall(text)
        assert len(found) == text.count("\n## "), f"{page.name} has a case that is not written as the others"
        for title, kind, written, says in found:
            yield Case(f"{page.stem}: {title}", kind, written, says.splitlines())


def lookup(node: Name) -> Any:
    if node.name not in NAMES:
        raise AssertionError(f"no case uses the name {node.name}")
    return NAMES[node.name]


def problems(kind: str, text: str) -> list[Problem]:
    if kind == "inputs":
        return layer_from_text(text, Path("nowhere"), FILE, "model", "content/inputs")[1]
    if kind == "table":
        return table_from_text(text, FILE)[1]
    line = text.removesuffix("\n")
    try:
        if kind == "literal":
            read_literal(line)
        elif kind == "inline":
            split_form(line)
        elif kind == "expression":
            Computation(lookup).of(read_expression(line).tree)
        else:
            raise AssertionError(f"there are no cases of the kind {kind}")
    except ReadError as error:
        return [Problem(Place(FILE, 1, error.at + 1), error.what, error.fix)]
    return []


@pytest.mark.parametrize("case", [pytest.param(case, id=case.title) for case in cases()])
def test_a_foreman_reads_where_it_is_what_was_found_and_what_to_write(case: Case) -> None:
    assert [str(problem).removeprefix(f"{FILE}:") for problem in problems(case.kind, case.text)] == case.says


def test_every_case_has_a_title_of_its_own() -> None:
    titles = [case.title for case in cases()]
    assert len(set(titles)) == len(titles) >= 40
