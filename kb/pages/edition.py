"""An edition as finished pages: what stands at which address, and the pictures and data beside it."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property, partial
from typing import Any

import segno

from kb.content.addresses import calculator_address, list_address, lists_of, page_address, stage_address, way
from kb.content.links import Links, Target
from kb.content.order import in_build_order
from kb.content.page import Link, LiveValue, Page
from kb.numbers.evaluate import Evaluation, Shown
from kb.numbers.exports import numbers_data
from kb.pages import catalogue, lists
from kb.pages.body import Manner, body
from kb.pages.cards import Card, block_card, limit_card
from kb.pages.fences import drawing_card, materials_card, measure_card, weights_card
from kb.pages.glossary import glossary
from kb.pages.holds import hold_points
from kb.pages.search import SEARCH, search_data
from kb.pages.search_sheet import sheet_entries, values_shown
from kb.pages.search_words import Entry
from kb.pages.sequence import sequence
from kb.pages.sheet import SitePage, fingerprint, needs_first, sheet_skeleton
from kb.pages.skeleton import Skeleton, split
from kb.pages.slips import live_value, plain_value, slip
from kb.pages.takeoff import take_off_page
from kb.pages.templates import escape, shown
from kb.pages.terms import Glossary, PageWords
from kb.pages.view import View
from kb.pages.weights import weights
from kb.reckon import OpenBook

NUMBERS = "numbers.json"
CODES = "codes.json"
"""What a page asks the server for, to learn whether there is a newer copy of it: codes by address."""
_NOTHING = Card("", "")


@dataclass
class EditionPages:
    """The pages of an edition that is worked out and has no errors.

    Args:
        opened: the book.
        done: the edition's numbers.

    """

    opened: OpenBook
    done: Evaluation
    with_marks: bool = False
    """Whether title blocks carry their code as a square to be scanned, as they do on paper."""
    pictures: set[str] = field(default_factory=set)
    """The pictures that the pages made so far show: their addresses in the site and in the content alike."""
    _fingerprints: dict[str, str] = field(default_factory=dict)
    _found: dict[str, list[Entry]] = field(default_factory=dict)

    @cached_property
    def view(self) -> View:
        """What the makers of pages know of this edition."""
        is_public = self.done.edition.is_public
        book = self.opened.book
        pages = tuple(in_build_order(self._chosen(), book.settings.stages))
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
    def glossary(self) -> Glossary:
        """The words that the sheets explain."""
        return Glossary(self.opened.book.reference.terms)

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
        return ("index.html", *stages, *map(list_address, lists_of(view.book.reference)), *calculators)

    @cached_property
    def addresses(self) -> tuple[str, ...]:
        """The address of every page: first those that the yard wrote, then the book's own."""
        return tuple(dict.fromkeys((*(one for one in self.written if one != "index.html"), *self.own)))

    @cached_property
    def data(self) -> dict[str, str]:
        """Files of data beside the pages, by their address."""
        search = search_data(self.view, self._entries, self._own_pages, self.opened.plugins, self.glossary)
        if self.view.is_public:
            return {SEARCH: search}
        data = numbers_data(self.opened.book, self.done, self.view.pages_by_id)
        codes = {self.view.addresses[file]: code for file, code in self._codes.items()}
        codes.pop("index.html", None)  # the cover shows no code
        codes[list_address("board")] = data["fingerprint"]
        return {NUMBERS: _json_text(data), CODES: _json_text(codes), SEARCH: search}

    def page(self, address: str) -> SitePage:
        """Make the page at an address. Raises `KeyError` where there is none."""
        if address == "index.html":
            return lists.cover(self.view, self._codes, self._intro())
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
            made += [
                lists.numbers(view),
                lists.inputs(view),
                lists.limits(view),
                lists.board(view, self._codes),
            ]
            made += [hold_points(view), weights(view), take_off_page(view), sequence(view)]
            made += catalogue.pages(view, self.opened.plugins)
            if view.book.reference.terms:
                made.append(glossary(view))
        return {page.address: page for page in made}

    @cached_property
    def _entries(self) -> dict[str, list[Entry]]:
        """What is to be found on each page that the yard wrote, by its file."""
        for page in self.view.pages:
            if page.file not in self._found:
                self.sheet(page)
        return self._found

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
        words_used = PageWords(self.glossary, page.anchors)
        marked, pictures = self._marked(page, words_used)
        skeleton = split(marked)
        values, words = self._values(page, skeleton)
        self._found[page.file] = sheet_entries(view, page, skeleton.fill(values_shown(values)), values)
        code = self._fingerprints[page.file] = self._fingerprint(page, skeleton, words, pictures)
        values.update(
            self._title_block(),
            fingerprint=code,
            mark=self._mark(page, code),
            terms=words_used.slips(view.addresses[page.file]),
        )
        return SitePage(
            view.addresses[page.file], page.head.title, sheet_skeleton(view, page, marked).fill(values)
        )

    @cached_property
    def _codes(self) -> dict[str, str]:
        """The fingerprints of the sheets by the file of each; the public is told none."""
        if self.view.is_public:
            return {}
        return {page.file: self.fingerprint(page) for page in self.view.pages}

    def _mark(self, page: Page, code: str) -> str:
        """Return a code as a square to be scanned, where this is for paper."""
        if not self.with_marks:
            return ""
        number = page.head.number.text if page.head.number else page.id
        return segno.make(f"{number} {code}", micro=False).svg_inline(border=0, omitsize=True)

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
        needs = [text for one in needs_first(self.view, page) for text in one.words]
        sources = [text for one in self.view.sources_of(page) for text in (one.title, one.what, one.standing)]
        parts = [
            head.title, head.number.text if head.number else "", head.stage.text if head.stage else "",
            str(head.crew or ""), str(head.time or ""), str(head.cure or ""),
            *head.protection, "", *head.tools, "", *needs, "",
            *sources, "", *self._title_block().values(), shown(" ".join(skeleton.texts)), *words,
        ]  # fmt: skip
        root, content = self.opened.book.root, self.opened.book.settings.content
        return fingerprint(parts, ((root / content / address).read_bytes() for address in pictures))

    def _marked(self, page: Page, words: PageWords | None = None) -> tuple[str, list[str]]:
        """Return the HTML of a page's text with its slots, and the pictures that it shows.

        `words` takes up the words of the glossary that the text uses; the public has no slips for them.
        """
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

        def number(link: Link) -> str:
            target = self.links.target(page, link)
            head = target.page.head if target.page is not None and target.page is not page else None
            return head.number.text if head and head.number and not self.view.is_public else ""

        def picture(link: Link) -> str:
            address = self.links.target(page, link).address
            self.pictures.add(address)
            pictures.append(address)
            return way(here, address)

        pictures: list[str] = []
        is_public, hazards = self.view.is_public, self.opened.book.reference.hazards
        manner = Manner(shows, follow, picture, is_public, number, hazards)
        if words is not None and not is_public:
            manner = replace(manner, explain=words.mark)
        return body(page, manner), pictures

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
            if kind in ("block", "limit", "measure", "materials", "weights", "drawing"):
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
        if kind == "drawing":
            return drawing_card(self.view, page.fences[int(name)], name)
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
