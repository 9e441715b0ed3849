"""What the makers of pages know of an edition: its values as text, its addresses, and who uses what."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any, TypeVar

from kb.calculators.judge import Judged, Verdict
from kb.content.addresses import list_address, page_address, way
from kb.content.book import Book
from kb.content.page import Around, Page
from kb.content.reference import KnownSource
from kb.language.expression import Expression
from kb.language.quantity import NoAnswer, Quantity
from kb.language.show import Safe
from kb.language.systems import counterpart, show_other
from kb.language.units import Unit
from kb.numbers.blocks import Block
from kb.numbers.evaluate import BlockResult, Evaluation
from kb.numbers.graph import Use
from kb.numbers.ledger import LEDGER, WeightLine
from kb.numbers.materials import MaterialLine
from kb.numbers.printed import Printed, printed, unit_text
from kb.numbers.takeoff import MaterialUse, material_uses
from kb.numbers.windows import Window
from kb.pages.skeleton import Skeleton
from kb.pages.templates import escape, piece, set_rule, set_unit
from kb.problem import Place

_Line = TypeVar("_Line", MaterialLine, WeightLine)
_NOISE = 5e-4
"""A share of a number below which its spread tells a shop nothing."""
_OVER = re.compile(r"(?:^|[ (])[0-9]+ / $")
"""A whole number that something is divided into, at the end of a text."""
_UNDER = re.compile(r" / [0-9]")
_FINE = 6
"""Figures of a number in a working."""
SHAPES: Mapping[Verdict, str] = {"within": "●", "accepted": "◐", "cannot tell": "◇", "outside": "■"}
"""The shape that stands beside each verdict, since colour alone says nothing."""


@dataclass
class View:
    """One edition, seen by those who write its pages; every value is put into words once.

    `pages` are those of the edition, in the order of the build.
    """

    book: Book
    done: Evaluation
    pages: tuple[Page, ...]
    is_public: bool = False
    rails: dict[tuple[str, str], Skeleton] = field(default_factory=dict)
    page_links: dict[tuple[str, str], str] = field(default_factory=dict)
    slip_rows: dict[tuple[str, str], str] = field(default_factory=dict)
    _printed: dict[str, Printed] = field(default_factory=dict)
    _working: dict[str, tuple[str, str]] = field(default_factory=dict)
    _own: dict[str, dict[str, str]] = field(default_factory=dict)

    @cached_property
    def addresses(self) -> dict[str, str]:
        """The address of each page of the edition, by its file."""
        return {page.file: page_address(page.file, self.book.settings.content) for page in self.pages}

    @cached_property
    def stages(self) -> dict[str, list[Page]]:
        """The pages of each stage in order; those of no stage stand under ""."""
        found: dict[str, list[Page]] = {}
        for page in self.pages:
            found.setdefault(page.head.stage.text if page.head.stage else "", []).append(page)
        return found

    @cached_property
    def uses(self) -> dict[str, list[Use]]:
        """The uses of each name, by the name as it is written."""
        found: dict[str, list[Use]] = {}
        for use in self.done.graph.uses:
            found.setdefault(use.name, []).append(use)
        return found

    @cached_property
    def users(self) -> dict[str, tuple[str, ...]]:
        """The ids of the pages of the edition that use each name, each once."""
        return {
            name: tuple(dict.fromkeys(use.page for use in uses if use.page in self.pages_by_id))
            for name, uses in self.uses.items()
        }

    @cached_property
    def fences_over(self) -> dict[str, list[Judged]]:
        """The limits of the yard's own that stand over each name."""
        found: dict[str, list[Judged]] = {}
        for name, judged in self.done.limits.items():
            for one in self.done.graph.bindings.limits[name].rule.expression.names:
                found.setdefault(one, []).append(judged)
        return found

    @cached_property
    def material_uses(self) -> dict[Place, MaterialUse]:
        """What each line of a `materials` fence asks for, by the place of its quantity."""
        lines = self.done.graph.bindings.materials
        return {use.line.place: use for use in material_uses(self.done, lines)[0]}

    @cached_property
    def materials_on(self) -> dict[str, list[MaterialLine]]:
        """The lines of the `materials` fences of each page, by its file."""
        return _by_page(self.done.graph.bindings.materials)

    @cached_property
    def parts_on(self) -> dict[str, list[WeightLine]]:
        """The lines of the `weights` fences of each page, by its file."""
        ledger = self.done.graph.bindings.blocks.get(LEDGER)
        return _by_page(ledger.weights if ledger else ())

    @cached_property
    def pages_by_id(self) -> dict[str, Page]:
        """The pages of the edition by their ids."""
        return {page.id: page for page in self.pages}

    def windows_on(self, page: Page) -> Iterator[Window]:
        """Go through the windows of a page's measurements, in the order of the page."""
        for fence in page.fences:
            window = self.done.windows.get(fence.name) if fence.kind == "measure" else None
            if window is not None and self.shows(fence.around):
                yield window

    def title_of(self, name: str) -> str:
        """Return the title of a page by its id; of anything else, its name in words."""
        page = self.pages_by_id.get(name)
        return page.head.title if page else name.replace("_", " ")

    def sources_of(self, page: Page) -> tuple[KnownSource, ...]:
        """Return the sources that a page names; the public is not told them."""
        if self.is_public:
            return ()
        return tuple(self.book.reference.sources[one.text] for one in page.head.sources)

    @cached_property
    def model(self) -> str:
        """What stands in the title block for hull or model."""
        return self.done.edition.hull or "model"

    def printed(self, name: str) -> Printed:
        """Return the value of an input or number as text, in its own unit."""
        known = self._printed.get(name)
        if known is None:
            known = self._printed[name] = self._print(name)
        return known

    def other(self, name: str) -> Printed | None:
        """Return the value of a name in the other system of units, rounded to its own safe side."""
        value = self.done.values.get(name)
        result = self.result(name)
        if not isinstance(value, Quantity) or value.unit.name == "":
            return None
        declared = result.block.calculator.results.get(name.partition(".")[2]) if result else None
        safe: Safe = "nearest" if declared is None else declared.q.safe
        spread = max(self.done.spreads.get(name, (0.0, 0.0)))
        parts = show_other(value, value.unit, self.book.settings.units, safe=safe, spread=spread)
        return Printed(*parts) if parts else None

    def _print(self, name: str) -> Printed:
        source = self.done.inputs.values.get(name)
        if source is not None:
            return Printed(source.text)
        value = self.done.values.get(name)
        if value is None:
            return Printed("?")
        result = self.result(name)
        declared = result.block.calculator.results.get(name.partition(".")[2]) if result else None
        spread = max(self.done.spreads.get(name, (0.0, 0.0)))
        if declared is None:
            return printed(value, spread=spread)
        return printed(value, declared.q.safe, is_count=declared.kind == "count", spread=spread)

    def result(self, name: str) -> BlockResult | None:
        """Return the block that gives a number."""
        return self.done.blocks.get(name.partition(".")[0])

    def tolerance(self, name: str) -> str:
        """Return how far a number may lie below and above, in words; "" where nothing moves it."""
        return self._spread(name, self.done.spreads)

    def tolerance_in_other_units(self, name: str) -> str:
        """Return the same in the other system of units; "" where both use the same."""
        value = self.done.values.get(name)
        other = counterpart(value.unit, self.book.settings.units) if isinstance(value, Quantity) else None
        return self._spread(name, self.done.spreads, other) if other else ""

    def likely(self, name: str) -> str:
        """Return how far a number may lie by the root of the sum of squares."""
        return self._spread(name, self.done.likely)

    def _spread(
        self, name: str, spreads: Mapping[str, tuple[float, float]], other: Unit | None = None
    ) -> str:
        value, spread = self.done.values.get(name), spreads.get(name, (0.0, 0.0))
        if not isinstance(value, Quantity) or max(spread) <= _NOISE * abs(float(value.value)):
            return ""
        one = other or value.unit
        factor = float(value.unit.scale / one.scale)
        minus, plus = (set_rule(str(printed(Quantity(size * factor, one), "up"))) for size in spread)
        return f"± {plus}" if minus == plus else f"+ {plus}, − {minus}"

    def mover(self, here: str, name: str) -> str:
        """Return, as HTML, the input whose tolerance moves a number most, and by how much; "" if none."""
        if name not in self.done.movers:
            return ""
        path, by = self.done.movers[name]
        value = self.done.values[name]
        size = set_rule(str(printed(Quantity(by, value.unit), "up")))
        return piece("mover").fill({"link": self.link(here, path), "by": escape(size)})

    def own(self, result: BlockResult) -> dict[str, str]:
        """Return the values of a block's own names as text: what went in, and what came out.

        They are finer than what is shown, so that a working works out.
        """
        name = result.block.name
        known = self._own.get(name)
        if known is None:
            known = {one: _finely(value) for one, value in result.outcome.arguments.items()}
            known.update((one, _finely(value)) for one, value in result.outcome.values.items())
            self._own[name] = known
        return known

    def working(self, result: BlockResult, name: str, rule: Expression) -> tuple[str, str]:
        """Return a result's rule, and the same with its values put in, as HTML."""
        key = f"{result.block.name}.{name}"
        known = self._working.get(key)
        if known is None:
            put = self.put_in(rule, self.own(result))
            known = self._working[key] = (escape(set_rule(rule.text)), escape(put))
        return known

    def finely(self, name: str) -> str:
        """Return the value of a name as a working shows it: an input as written, a number to six figures."""
        source = self.done.inputs.values.get(name)
        return source.text if source is not None else _finely(self.done.values.get(name, NoAnswer("none")))

    def gives(self, name: str) -> str:
        """Return, as HTML, what a working gives: finer than what is shown, and what is shown."""
        finely, said = self.finely(name), str(self.printed(name))
        if finely == said or isinstance(self.done.values.get(name), NoAnswer):
            return escape(set_rule(said))
        return piece("gives").fill({"finely": escape(set_rule(finely)), "shown": escape(set_rule(said))})

    def put_in(self, expression: Expression, own: Mapping[str, str] | None = None) -> str:
        """Return an expression with values in place of its names; `own` are those of its block."""
        text, parts, at = expression.text, list[str](), 0
        for name, start in expression.places:
            value = own[name] if own is not None and name in own else self.finely(name)
            parts += [text[at:start], value]
            at = start + len(name)
            # A power would seem to be the unit's, and a whole number over a size a fraction of its unit.
            is_sized = " " in value and (text.startswith(" ^", at) or _OVER.search("".join(parts[:-1])))
            if is_sized or (value.isdigit() and _UNDER.match(text, at)):
                parts[-1] = f"({value})"
        return set_rule("".join([*parts, text[at:]]))

    def way_to(self, here: str, name: str) -> str | None:
        """Return the way to where an input or a number is made, if this edition shows it."""
        if self.is_public:
            return None
        if name in self.done.inputs.values:
            return way(here, "inputs.html", name)
        result = self.result(name)
        return self.way_to_block(here, result.block) if result else None

    def way_to_block(self, here: str, block: Block) -> str | None:
        """Return the way to a block's card; to its row among the numbers, where the card is not shown."""
        if block.weights:
            return way(here, list_address("weights"))
        there = self.addresses.get(block.page.file)
        if there is None:
            return None
        anchor = f"block-{block.name}"
        if self.shows(block.page.anchors[anchor]):
            return way(here, there, anchor)
        return way(here, "numbers.html", f"{block.name}.{block.result_names[0]}")

    def shows(self, around: Around) -> bool:
        """Tell whether this edition shows what stands in some parts of a page."""
        return around.is_shown(self.done.in_force, is_public=self.is_public)

    def link(self, here: str, name: str, text: str = "") -> str:
        """Return a link, as HTML, to where a name is made."""
        there = self.way_to(here, name)
        shown = escape(text or name)
        return piece("link").fill({"way": there, "text": shown}) if there else shown


def _by_page(lines: Iterable[_Line]) -> dict[str, list[_Line]]:
    found: dict[str, list[_Line]] = {}
    for line in lines:
        found.setdefault(line.page.file, []).append(line)
    return found


def _finely(value: Any) -> str:
    if isinstance(value, NoAnswer):
        return "none"
    if isinstance(value, Quantity) and isinstance(value.value, float):
        return f"{value.value:.{_FINE}g} {unit_text(value)}".rstrip()
    return str(printed(value))


def value_pair(own: Printed, other: Printed | None, name: str = "") -> str:
    """Return a value as HTML: in the book's units, and in the other ones for a reader who asks for them."""
    texts = {
        "name": piece("named").fill({"name": name}) if name else "",
        "number": escape(own.number),
        "unit": escape(set_unit(own.unit)),
    }
    if other is not None and own.unit:
        others = {"other number": escape(other.number), "other unit": escape(set_unit(other.unit))}
        return piece("both").fill({**texts, **others})
    if texts["unit"]:
        texts["unit"] = piece("unit").fill({"unit": texts["unit"]})
    return piece("value").fill(texts)


def sign(verdict: Verdict) -> str:
    """Return a verdict as HTML: its word and its shape."""
    return piece("verdict", verdict=verdict, shape=SHAPES[verdict]).texts[0]
