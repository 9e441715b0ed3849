"""Every example of the CommonMark specification through the book's parser.

Source: the package commonmark-spec, which is the specification's own text, version 0.31.2.
"""

from __future__ import annotations

import re

import pytest
from markdown_it import MarkdownIt

from kb.content.markdown import parser

FENCE = "`" * 32
EXAMPLE = re.compile(rf"^{FENCE} example\n(.*?)^\.\n(.*?)^{FENCE}$", re.MULTILINE | re.DOTALL)

EMPTY_QUOTE = "markdown-it-py writes no line end into an empty block quote; the page shows the same"
FRONT_MATTER = "`---` on the first line, closed by another, is the page's head and not a rule"

BY_THE_LIBRARY = {218: EMPTY_QUOTE, 239: EMPTY_QUOTE, 240: EMPTY_QUOTE}
BY_THE_BOOK = {96: FRONT_MATTER, 98: FRONT_MATTER}


class Example:
    """One example: Markdown, and the HTML that the specification asks for."""

    def __init__(self, markdown: str, html: str) -> None:
        self.markdown = markdown.replace("→", "\t")
        self.html = html.replace("→", "\t")


@pytest.fixture(scope="module")
def examples(commonmark_spec: str) -> dict[int, Example]:
    """Return the examples by the numbers that the specification gives them."""
    found = enumerate(EXAMPLE.findall(commonmark_spec), 1)
    return {number: Example(markdown, html) for number, (markdown, html) in found}


def test_every_example_of_the_specification_is_read(
    examples: dict[int, Example], commonmark_spec: str
) -> None:
    assert len(examples) == 652
    assert commonmark_spec.count(f"\n{FENCE} example") == 652


def test_the_library_alone_differs_in_the_named_examples(examples: dict[int, Example]) -> None:
    assert _differing(MarkdownIt("commonmark"), examples) == set(BY_THE_LIBRARY)


def test_the_book_differs_only_where_the_library_or_an_addition_of_its_own_does(
    examples: dict[int, Example],
) -> None:
    assert _differing(parser(), examples) == set(BY_THE_LIBRARY) | set(BY_THE_BOOK)


@pytest.mark.parametrize("number", BY_THE_LIBRARY)
def test_an_empty_quote_differs_in_its_line_end_alone(examples: dict[int, Example], number: int) -> None:
    example = examples[number]
    asked = example.html.replace("<blockquote>\n</blockquote>", "<blockquote></blockquote>")
    assert parser().render(example.markdown) == asked


@pytest.mark.parametrize("number", BY_THE_BOOK)
def test_a_rule_on_the_first_line_is_one_again_after_an_empty_line(
    examples: dict[int, Example], number: int
) -> None:
    example = examples[number]
    assert parser().render(f"\n{example.markdown}") == example.html


def _differing(md: MarkdownIt, examples: dict[int, Example]) -> set[int]:
    return {number for number, example in examples.items() if md.render(example.markdown) != example.html}
