"""An edition as finished pages: what stands at which address, and the pictures and data beside it."""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from functools import cached_property, partial
from typing import Any

from kb.content.addresses import LISTS, calculator_address, list_address, page_address, stage_address, way
from kb.content.book import Book
from kb.content.links import Links, Target
from kb.content.page import Link, LiveValue, Page
from kb.numbers.evaluate import Evaluation, Shown
from kb.numbers.exports import numbers_data
from kb.pages import catalogue, lists
from kb.pages.body import Manner, body
from kb.pages.cards import Card, block_card, limit_card
from kb.pages.fences import materials_card, measure_card, weights_card
from kb.pages.sheet import SitePage, fingerprint, sheet_skeleton
from kb.pages.skeleton import Skeleton, split
from kb.pages.slips import live_value, plain_value, slip
from kb.pages.templates import escape, shown
from kb.pages.view import View
from kb.reckon import OpenBook

NUMBERS = "numbers.json"
_NOTHING = Card("", "")
_FIGURES = re.compile(r"(\d+)")


@dataclass
class EditionPages:
    """The pages of an edition that is worked out and has no errors.

    Args:
        opened: the book.
        done: the edition's numbers.

    """

    opened: OpenBook
    done: Evaluation
    pictures: set[str] = field(default_factory=set)
    """The pictures that the pages made so far show: their addresses in the site and in the content alike."""
    _fingerprints: dict[str, str] = field(default_factory=dict)

    @cached_property
    def view(self) -> View:
        """What the makers of pages know of this edition."""
        is_public = self.done.edition.is_public
        book = self.opened.book
        pages = tuple(sorted(self._chosen(), key=lambda page: _order(book, page)))
        return View(book, self.done, pages, is_public)

    def _chosen(self) -> Iterator[Page]:
        allowed = ("public",) if self.done.edition.is_public else ("public", "shop")
        for page in self.opened.book.pages:
            if page.head.visibility in allowed:
                yield page

    @cached_property
    def links(self) -> Links:
        """Where the links of the pages lead."""
        return Links(self.opened.book)

    @cached_property
    def written(self) -> Mapping[str, Page]:
        """The pages that the yard wrote, by their address."""
        return {page_address(page.file, self.opened.book.settings.content): page for page in self.view.pages}

    @cached_property
    def own(self) -> tuple[str, ...]:
        """The addresses of the pages that the book makes itself."""
        view = self.view
        stages = [stage_address(stage) for stage in view.book.settings.stages if stage in view.stages]
        if view.is_public:
            return ("index.html", *stages)
        calculators = [calculator_address(name) for name in sorted(self.opened.plugins.calculators)]
        return ("index.html", *stages, *map(list_address, LISTS), *calculators)

    @cached_property
    def addresses(self) -> tuple[str, ...]:
        """The address of every page: first those that the yard wrote, then the book's own."""
        return tuple(dict.fromkeys((*(one for one in self.written if one != "index.html"), *self.own)))

    @cached_property
    def data(self) -> dict[str, str]:
        """Files of data beside the pages, by their address."""
        if self.view.is_public:
            return {}
        data = numbers_data(self.opened.book, self.done, self.view.pages_by_id)
        return {NUMBERS: _json_text(data)}

    def page(self, address: str) -> SitePage:
        """Make the page at an address. Raises `KeyError` where there is none."""
        if address == "index.html":
            return lists.cover(self.view, self._intro())
        if address in self.written:
            return self.sheet(self.written[address])
        return self._own_pages[address]

    def pages(self) -> Iterator[SitePage]:
        """Make every page, those that the yard wrote first."""
        for address in self.addresses:
            yield self.page(address)

    @cached_property
    def _own_pages(self) -> dict[str, SitePage]:
        view = self.view
        made = [lists.stage_page(view, stage) for stage in view.book.settings.stages if stage in view.stages]
        if not view.is_public:
            codes = {page.file: self.fingerprint(page) for page in view.pages}
            made += [lists.numbers(view), lists.inputs(view), lists.limits(view), lists.board(view, codes)]
            made += catalogue.pages(view, self.opened.plugins)
        return {page.address: page for page in made}

    def _intro(self) -> str:
        """Return the text of the yard's own first page, if it wrote one."""
        page = self.written.get("index.html")
        if page is None:
            return ""
        skeleton = split(self._marked(page)[0])
        return skeleton.fill(self._values(page, skeleton)[0])

    def sheet(self, page: Page) -> SitePage:
        """Make the sheet of a page."""
        view = self.view
        marked, pictures = self._marked(page)
        skeleton = split(marked)
        values, words = self._values(page, skeleton)
        code = self._fingerprints[page.file] = self._fingerprint(page, skeleton, words, pictures)
        values.update(self._title_block(), fingerprint=code)
        return SitePage(
            view.addresses[page.file], page.head.title, sheet_skeleton(view, page, marked).fill(values)
        )

    def _title_block(self) -> dict[str, str]:
        inputs = self.done.inputs.values
        yard, approves = (
            inputs[path].text if path in inputs else "" for path in ("yard.name", "yard.approves")
        )
        return {"yard": escape(yard), "approves": escape(approves), "model": escape(self.view.model)}

    def fingerprint(self, page: Page) -> str:
        """Return the fingerprint of a sheet: all that it shows but its slips, which paper does not have."""
        if page.file not in self._fingerprints:
            self.sheet(page)
        return self._fingerprints[page.file]

    def _fingerprint(self, page: Page, skeleton: Skeleton, words: list[str], pictures: Iterable[str]) -> str:
        head = page.head
        needs = [self.view.title_of(one.text) for one in head.needs]
        parts = [
            head.title, head.number.text if head.number else "", head.stage.text if head.stage else "",
            str(head.crew or ""), str(head.time or ""), *head.protection, "", *head.tools, "", *needs, "",
            *self._title_block().values(), shown(" ".join(skeleton.texts)), *words,
        ]  # fmt: skip
        root, content = self.opened.book.root, self.opened.book.settings.content
        return fingerprint(parts, ((root / content / address).read_bytes() for address in pictures))

    def _marked(self, page: Page) -> tuple[str, list[str]]:
        """Return the HTML of a page's text with its slots, and the pictures that it shows."""
        done = self.done
        shows = [done.in_force((*one.around, one)) for one in page.conditions]
        here = self.view.addresses[page.file]

        def follow(link: Link) -> str | None:
            target = self.links.target(page, link)
            if target.is_outside:
                return target.address
            if target.page is not None and target.page.file not in self.view.addresses:
                return None
            if target.address.endswith(".html") and target.page is None and target.address not in self.own:
                return None
            if target.is_picture:
                self.pictures.add(target.address)
            return way(here, target.address, self._shown_anchor(target))

        def picture(link: Link) -> str:
            address = self.links.target(page, link).address
            self.pictures.add(address)
            pictures.append(address)
            return way(here, address)

        pictures: list[str] = []
        return body(page, Manner(shows, follow, picture, self.view.is_public)), pictures

    def _shown_anchor(self, target: Target) -> str:
        """Return the anchor a link leads to, or none where this edition does not show what stands there."""
        if target.page is None or target.anchor not in target.page.anchors:
            return target.anchor
        return target.anchor if self.view.shows(target.page.anchors[target.anchor]) else ""

    def _values(self, page: Page, skeleton: Skeleton) -> tuple[dict[str, str], list[str]]:
        """Return the text of every slot of a page's body, and the words that paper shows of them."""
        view, done = self.view, self.done
        here = view.addresses[page.file]
        values: dict[str, str] = {}
        seen: dict[int, Shown] = {}
        told: set[str] = set()
        words: list[str] = []
        for key in skeleton.keys:
            kind, _, name = key.partition(":")
            if kind in ("block", "limit", "measure", "materials", "weights"):
                card = self._card(page, here, kind, name, told)
                values[key] = card.html
                words.append(card.words)
                continue
            index = int(name)
            live: LiveValue = page.live[index]
            if index not in seen:
                seen[index] = done.show(live)
            if kind == "live":
                values[key] = live_value(view, live, index, seen[index])
                words += [seen[index].text, seen[index].verdict]
            elif kind == "plain":
                values[key] = plain_value(view, live, seen[index])
                words += [seen[index].text, seen[index].verdict]
            elif kind == "alt":
                text, verdict = seen[index].text, seen[index].verdict
                values[key] = escape(text if verdict == "within" else f"{text} ({verdict})")
                words += [text, verdict]
            else:
                values[key] = slip(view, page, index, seen[index])
        return values, words

    def _card(self, page: Page, here: str, kind: str, name: str, told: set[str]) -> Card:
        """Return the card of a fence; `told` are calculators whose cautions the page has given."""
        if kind == "limit":
            return limit_card(self.view, here, name) if name in self.done.limits else _NOTHING
        if kind == "measure":
            return measure_card(self.view, name) if name in self.done.windows else _NOTHING
        if kind == "materials":
            return materials_card(self.view, page, page.fences[int(name)])
        if kind == "weights":
            return weights_card(self.view, page, page.fences[int(name)])
        if name not in self.done.blocks:
            return _NOTHING
        calculator = self.done.blocks[name].block.calculator.name
        is_first = calculator not in told
        told.add(calculator)
        return block_card(self.view, here, name, with_cautions=is_first)


def _json_text(data: Mapping[str, Any]) -> str:
    """Return data as JSON, a line for each block and input."""
    # The encoder written in C does not indent.
    line = partial(json.dumps, ensure_ascii=False, allow_nan=False)
    parts = []
    for key, value in data.items():
        if isinstance(value, dict):
            lines = ",\n".join(f"{line(name)}: {line(one)}" for name, one in value.items())
            value = f"{{\n{lines}\n}}"
        else:
            value = line(value)
        parts.append(f"{line(key)}: {value}")
    return "{\n" + ",\n".join(parts) + "\n}\n"


def _order(book: Book, page: Page) -> tuple[object, ...]:
    """Return the place of a page in the order of the build: stage, sheet number, title."""
    stages = book.settings.stages
    stage = page.head.stage.text if page.head.stage else ""
    number = page.head.number.text if page.head.number else "~"
    natural = tuple(int(part) if part.isdigit() else part for part in _FIGURES.split(number))
    return stages.index(stage) if stage in stages else len(stages), natural, page.head.title, page.file
