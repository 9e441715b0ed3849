"""All that is to be found in an edition, as one file that pages open from a disk can load."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from kb.calculators.plugins import Plugins
from kb.content.addresses import calculator_address, list_address, way
from kb.content.page import Page
from kb.numbers.blocks import Block
from kb.numbers.windows import Window
from kb.pages.fences import ends_of
from kb.pages.search_sheet import shown_words
from kb.pages.search_words import Entry, Shelf, search_file
from kb.pages.sheet import SitePage
from kb.pages.templates import heading, set_rule, set_unit
from kb.pages.terms import Glossary
from kb.pages.view import View

SEARCH = "assets/search-index.js"
_TOP = ""
"""The top of a site, from where the ways of a search lead."""
_MATERIAL = re.compile(r'<tr id="(material-\d+)"><th scope="row">(.*?)</th>(.*?)</tr>', re.DOTALL)
_Found = Iterator[tuple[str, Entry]]
"""Entries, each with the way from the top of the site; an anchor on it is the entry's."""


def search_data(
    view: View,
    sheets: Mapping[str, Sequence[Entry]],
    own: Mapping[str, SitePage],
    plugins: Plugins,
    glossary: Glossary,
) -> str:
    """Return the file that a search reads.

    Args:
        view: the edition.
        sheets: what is to be found on each page that the yard wrote, by its file.
        own: the pages that the book makes itself, by their address.
        plugins: the calculators; none of them is the public's, nor a number, an input or a word.
        glossary: the words of the trade.

    """
    shelves: dict[str, tuple[str, str, list[Entry]]] = {}
    for page in view.pages:
        entries = list(sheets[page.file])
        number = page.head.number.text if page.head.number else ""
        shelves[way(_TOP, view.addresses[page.file])] = (number, entries[0].title, entries)
    for one in own.values():
        shelves.setdefault(way(_TOP, one.address), ("", one.title, []))
    for there, entry in _of_the_book(view, own, plugins, glossary):
        address, _, anchor = there.partition("#")
        shelves[address][2].append(replace(entry, anchor=entry.anchor or anchor))
    terms = () if view.is_public else [(one.term, *one.slang) for one in glossary.terms.values()]
    return search_file((Shelf(address, *shelf) for address, shelf in shelves.items()), terms)


def _of_the_book(view: View, own: Mapping[str, SitePage], plugins: Plugins, glossary: Glossary) -> _Found:
    calculators = {} if view.is_public else plugins.calculators
    pages = {calculator_address(name): one for name, one in calculators.items()}
    for made in own.values():
        if made.address not in pages:
            yield way(_TOP, made.address), Entry("list", "", made.title)
    if view.is_public:
        return
    for page in view.pages:
        for window in view.windows_on(page):
            yield way(_TOP, view.addresses[page.file], f"block-{window.measure.name}"), _measure(view, window)
    yield from _numbers(view)
    yield from _limits(view)
    for path, source in sorted(view.done.inputs.values.items()):
        yield way(_TOP, list_address("inputs"), path), Entry("input", "", path, "", source.text)
    takeoff = own[list_address("takeoff")]
    for anchor, name, rest in _MATERIAL.findall(takeoff.html):
        cells = (shown_words(cell) for cell in rest.split("</td>"))
        text = ", ".join(cell for cell in cells if cell not in ("", "–"))
        yield way(_TOP, takeoff.address), Entry("part", anchor, shown_words(name), text)
    for term in glossary.terms.values():
        there = way(_TOP, list_address("glossary"), glossary.anchors[term.term])
        yield there, Entry("word", "", term.term, term.means, ", ".join(term.slang))
    for address, one in sorted(pages.items()):
        yield way(_TOP, address), Entry("calculator", "", one.name, f"{one.does} {one.use}".strip())


def _measure(view: View, window: Window) -> Entry:
    measure, ends = window.measure, ends_of(view, window)
    accepted = shown_words(" ".join(map(str, (ends.before, ends.first, ends.between, ends.second))))
    more = [measure.instrument and f"with {measure.instrument}", measure.how]
    text = ". ".join(one for one in (accepted or set_rule(ends.rule), *more) if one)
    return Entry("hold" if measure.is_hold else "measure", "", measure.what, text)


def _numbers(view: View) -> _Found:
    """Go through the numbers, each with the way to where it is made."""
    for result in view.done.blocks.values():
        there = view.way_to_block(_TOP, result.block)
        if there is None:
            continue
        title = result.block.title or result.block.calculator.does
        for one in result.outcome.values:
            name = f"{result.block.name}.{one}"
            shown = view.printed(name)
            declared = result.block.calculator.results.get(one)
            label = declared.q.label if declared else heading(one)
            mark = f"{shown.number} {set_unit(shown.unit)}".rstrip()
            yield there, Entry("number", "", label, f"{name}: {title}", mark)


def _limits(view: View) -> _Found:
    """Go through the limits, each with the way to where it is judged."""
    for result in view.done.blocks.values():
        there = view.way_to_block(_TOP, result.block)
        for judged in result.limits if there else ():
            text = f"{_of(result.block)}: {judged.protects}"
            yield there or "", Entry("limit", "", heading(judged.name), text, judged.verdict)
    for name, judged in view.done.limits.items():
        fence = view.done.graph.bindings.limits[name]
        address = view.addresses.get(fence.page.file)
        if address is None or not _shows(view, fence.page, f"limit-{name}"):
            continue
        there = way(_TOP, address, f"limit-{name}")
        yield there, Entry("limit", "", fence.title or heading(name), judged.protects, judged.verdict)


def _of(block: Block) -> str:
    return block.title or heading(block.name)


def _shows(view: View, page: Page, anchor: str) -> bool:
    return view.shows(page.anchors[anchor])
