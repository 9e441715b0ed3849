"""The pages about the calculators: all of them by plugin, and one for each."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from decimal import Decimal
from functools import lru_cache
from typing import Any

from markupsafe import Markup

from kb.calculators.declare import Calculator
from kb.calculators.door import TableValue
from kb.calculators.plugins import Plugins
from kb.calculators.verified import CheckSource, verification
from kb.calculators.work import work
from kb.content.addresses import calculator_address, list_address, way
from kb.language.systems import System
from kb.numbers.evaluate import BlockResult
from kb.numbers.printed import printed
from kb.pages.cards import limit_row
from kb.pages.sheet import SitePage, own_page
from kb.pages.templates import heading, render, set_rule
from kb.pages.view import View
from kb.pages.wording import cautions_of, sources_of
from kb.problem import BookError


@dataclass(frozen=True, slots=True)
class Line:
    """A calculator in the list of all: where its page is, its checks, and how many blocks use it."""

    name: str
    does: str
    way: str
    checks: Checks | None
    blocks: int


def pages(view: View, plugins: Plugins) -> Iterator[SitePage]:
    """Go through the page of all calculators, grouped by plugin, and the page of each."""
    here = list_address("calculators")
    users: dict[str, list[BlockResult]] = {}
    for result in view.done.blocks.values():
        users.setdefault(result.block.calculator.name, []).append(result)

    def line(one: Calculator) -> Line:
        blocks = len(users.get(one.name, ()))
        return Line(one.name, one.does, way(here, calculator_address(one.name)), _checks(one), blocks)

    known = plugins.calculators
    groups = [
        (plugin, [line(one) for one in plugin.calculators if known[one.name] is one])
        for plugin in plugins.plugins
    ]
    yield own_page(view, here, heading("calculators"), render("calculators", groups=groups))
    for name in sorted(known):
        yield _calculator(view, known[name], users.get(name, []))


def _calculator(view: View, one: Calculator, users: list[BlockResult]) -> SitePage:
    here = calculator_address(one.name)
    used = [
        (result.block.title or result.block.name, there)
        for result in users
        if (there := view.way_to_block(here, result.block))
    ]
    content = render(
        "calculator",
        one=one,
        example=_example(one.function, view.book.settings.units),
        used=used,
        rules=_rules(one),
        checks=_checks(one),
        cautions=cautions_of(one, view.book.reference),
        sources=sources_of(one, view.book.reference),
    )
    return own_page(view, here, one.name, content)


def _rules(one: Calculator) -> dict[str, str]:
    return {name: set_rule(result.q.rule) for name, result in one.results.items() if result.q.rule}


@dataclass(frozen=True, slots=True)
class Checks:
    """The handbook checks of a calculator as its page shows them; `routes` counts the distinct sources."""

    count: int
    greatest: str
    routes: int
    sources: tuple[CheckSource, ...]


def _checks(one: Calculator) -> Checks | None:
    verified = verification(one)
    if verified is None:
        return None
    routes = len({found.source for found in verified.sources})
    return Checks(verified.checks, _percent(verified.greatest_difference), routes, verified.sources)


def _percent(share: float) -> str:
    # Decimal, since 3e-5 of a float times 100 is 0.0030000000000000005.
    return f"{(Decimal(repr(share)) * 100).normalize():f} %"


@dataclass(frozen=True, slots=True)
class Example:
    """The worked example of a calculator, run now: what is given and what comes out."""

    given: tuple[tuple[str, str], ...]
    gives: tuple[tuple[str, str], ...]
    limits: tuple[Markup, ...]
    failed: str = ""


@lru_cache(maxsize=256)
def _example(function: Callable[..., Any], system: System) -> Example | None:
    """Run the worked example of a calculator: once in a process, since nothing but its code decides it."""
    one = Calculator.of(function)
    if not one.example:
        return None
    given = tuple(one.example.items())
    try:
        worked = work(one, one.example)
    except BookError as error:
        return Example(given, (), (), str(error))
    gives = tuple(
        (_label(one, name), _text(one, name, value)) for name, value in worked.outcome.values.items()
    )
    return Example(given, gives, tuple(Markup(limit_row(judged, system)) for judged in worked.limits))


def _label(one: Calculator, name: str) -> str:
    return one.results[name].q.label if name in one.results else name


def _text(one: Calculator, name: str, value: Any) -> str:
    declared = one.results.get(name)
    if declared is None or isinstance(value, TableValue):
        return str(printed(value))
    return str(printed(value, declared.q.safe, is_count=declared.kind == "count"))
