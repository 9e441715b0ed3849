"""The graph of numbers: what rests on what, in which order blocks are worked out, who uses a name."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from graphlib import CycleError, TopologicalSorter
from itertools import pairwise
from typing import Literal

from kb.content.book import Book
from kb.content.page import Page
from kb.numbers.blocks import Bindings, Block
from kb.numbers.measures import RECORD
from kb.problem import Place, Problem

UserKind = Literal["block", "limit", "text", "when", "fence"]


@dataclass(frozen=True, slots=True)
class Use:
    """One use of a name: by which block, limit, text or condition, and where."""

    name: str
    kind: UserKind
    user: str
    page: str
    place: Place


@dataclass(frozen=True, slots=True)
class Graph:
    """The blocks of a book in the order they are worked out, and every use of every name."""

    bindings: Bindings
    order: tuple[str, ...]
    uses: tuple[Use, ...]

    def users_of(self, name: str) -> Iterator[Use]:
        """Go through the uses of a name, and of the names inside it where it is a group or a block."""
        inside = name + "."
        for use in self.uses:
            if use.name == name or use.name.startswith(inside):
                yield use


def build_graph(bindings: Bindings, book: Book) -> tuple[Graph, list[Problem]]:
    """Order the blocks; circles and doubled names are problems."""
    problems = list(_clashes(bindings, book))
    order = _order(bindings, problems)
    return Graph(bindings, order, tuple(_uses(bindings, book.pages))), problems


def _clashes(bindings: Bindings, book: Book) -> Iterator[Problem]:
    """Blocks, measurements, limits and groups of inputs share one name space."""
    groups: dict[str, Place] = {}
    for layer in (book.yard, book.model, *book.options.values(), *book.hulls.values()):
        if layer is not None:
            tops = {**layer.groups, **{path: one.place for path, one in layer.inputs.items()}}
            for path, place in tops.items():
                if "." not in path:
                    groups.setdefault(path, place)
    names: dict[str, Place] = {
        **{name: measure.place for name, measure in bindings.measures.items()},
        **{name: limit.place for name, limit in bindings.limits.items()},
        **{name: block.place for name, block in bindings.blocks.items()},
    }
    for name, place in names.items():
        if name in groups:
            there = groups[name]
            yield Problem(
                place,
                f"'{name}' is an input too, in {there.file}:{there.line}",
                f"rename the input, or '{name}' here",
            )
    known = {**groups, **names}
    for block in bindings.blocks.values():
        yield from _hidden(block, known)


def _hidden(block: Block, known: dict[str, Place]) -> Iterator[Problem]:
    """Inside a formula and a block's limits the block's own names come first; hiding another is an error."""
    for line in block.lines:
        if line.name in known:
            there = known[line.name]
            yield Problem(
                line.name_place,
                f"the line '{line.name}' hides the name in {there.file}:{there.line}",
                "give the line another name",
            )
    for rule in block.limits:
        for name in rule.expression.names:
            first = name.split(".")[0]
            if first in block.own_names and first in known:
                there = known[first]
                yield Problem(
                    rule.place,
                    f"'{first}' is {block.calculator.name}'s own and a name in {there.file}:{there.line}",
                    "rename that input or block, or state the rule in a limit fence",
                )


def _order(bindings: Bindings, problems: list[Problem]) -> tuple[str, ...]:
    blocks = bindings.blocks
    # Lists, since the order of a set of words is another in every process.
    needs = {
        name: list(dict.fromkeys(one for used, _ in block.uses if (one := used.split(".", 1)[0]) in blocks))
        for name, block in blocks.items()
    }
    while True:
        try:
            return tuple(TopologicalSorter(needs).static_order())
        except CycleError as error:
            circle: list[str] = error.args[1][::-1]
            problems.append(_circle(bindings, circle))
            # The circle's blocks are taken out, so that other circles are found too.
            for name in circle:
                needs.pop(name, None)
            needs = {name: [one for one in used if one in needs] for name, used in needs.items()}


def _circle(bindings: Bindings, circle: list[str]) -> Problem:
    steps = []
    for user, used in pairwise(circle):
        place = next(place for name, place in bindings.blocks[user].uses if name.split(".", 1)[0] == used)
        steps.append(f"{user} uses {used} ({place.file}:{place.line})")
    first = bindings.blocks[circle[0]]
    return Problem(
        first.place,
        f"these blocks rest on each other: {', '.join(steps)}",
        "give one of the values as an input",
    )


def _uses(bindings: Bindings, pages: Iterable[Page]) -> Iterator[Use]:
    for block in bindings.blocks.values():
        if block.weights:
            for part in block.weights:
                for name, place in part.uses():
                    yield Use(name, "block", block.name, part.page.id, place)
            continue
        for name, place in block.uses:
            yield Use(name, "block", block.name, block.page.id, place)
    for limit in bindings.limits.values():
        for name, at in limit.rule.expression.places:
            yield Use(name, "limit", limit.rule.name, limit.page.id, limit.rule.place.right(at))
    of_fences: dict[str, list[Use]] = {}
    for use in _uses_of_fences(bindings):
        of_fences.setdefault(use.page, []).append(use)
    for page in pages:
        for live in page.live:
            for name, at in live.expression.places:
                yield Use(name, "text", "", page.id, live.place.right(at))
        for condition in page.conditions:
            for name, at in condition.expression.places:
                yield Use(name, "when", "", page.id, condition.place.right(at))
        yield from of_fences.get(page.id, ())


def _uses_of_fences(bindings: Bindings) -> Iterator[Use]:
    """Go through what measurements, materials and drawings use; the ledger is a block."""
    for measure in bindings.measures.values():
        for name, at in measure.accept.places:
            if name != RECORD:
                place = measure.accept_place.right(at)
                yield Use(name, "fence", measure.name, measure.page.id, place)
        if measure.sets_place is not None:
            yield Use(measure.sets, "fence", measure.name, measure.page.id, measure.sets_place)
    for line in bindings.materials:
        for expression, begin in ((line.expression, line.place), (line.waste, line.waste_place)):
            if expression is not None and begin is not None:
                for name, at in expression.places:
                    yield Use(name, "fence", "materials", line.page.id, begin.right(at))
    for drawing in bindings.drawings.values():
        yield Use(drawing.of, "fence", "drawing", drawing.page.id, drawing.of_place)


def followers(graph: Graph) -> Callable[[str], frozenset[str]]:
    """Return a function that gives all blocks that rest on an input, directly or through other blocks."""
    users: dict[str, set[str]] = {}
    for block in graph.bindings.blocks.values():
        for name, _ in block.uses:
            first = name.partition(".")[0]
            users.setdefault(first if first in graph.bindings.blocks else name, set()).add(block.name)

    def of(name: str) -> frozenset[str]:
        found: set[str] = set()
        waiting = [name]
        while waiting:
            new = users.get(waiting.pop(), set()) - found
            found |= new
            waiting.extend(new)
        return frozenset(found)

    return of


def resting_on(graph: Graph, name: str) -> list[tuple[Use, int]]:
    """Return everything that rests on a name, directly (1) or through other blocks (2, 3, …)."""
    found: list[tuple[Use, int]] = []
    seen: set[str] = set()
    level, names = 1, [name]
    while names:
        following: list[str] = []
        for one in names:
            for use in graph.users_of(one):
                found.append((use, level))
                if use.kind == "block" and use.user not in seen:
                    seen.add(use.user)
                    following.append(use.user)
        level, names = level + 1, following
    return found
