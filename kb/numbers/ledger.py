"""The ledger: the mass and the place of everything aboard, from the `weights` fences of all pages."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Annotated, NamedTuple

from kb.calculators.bind import Lookup, read, work_out
from kb.calculators.declare import NOT_NEGATIVE, Calculator, Q, Refusal, Source, calculator
from kb.content.page import Around, Fence, Page
from kb.content.values import Cell, Listed, Shaped
from kb.content.yamltext import Entries, Scalar
from kb.language.compute import Turns
from kb.language.expression import Expression
from kb.language.quantity import NoAnswer
from kb.problem import BookError, Place, Problem, offer

LEDGER = "ledger"
ITEM_KEYS = ("mass", "x", "y", "z", "group", "margin")
_NEEDED = ("mass", "x", "z")


class Part(NamedTuple):
    """One part aboard: its mass, its centre in the hull's axes, and what its mass may grow by."""

    name: Annotated[str, Q("", "Part")]
    mass: Annotated[float, Q("lb", "Mass", valid=NOT_NEGATIVE)]
    x: Annotated[float, Q("in", "Forward of the transom")]
    z: Annotated[float, Q("in", "Above the base line")]
    y: Annotated[float, Q("in", "To starboard")] = 0.0
    margin: Annotated[float, Q("%", "Margin on its mass", valid=NOT_NEGATIVE)] = 0.0


@dataclass(frozen=True, slots=True)
class Sums:
    """The sums of the ledger."""

    mass: Annotated[float, Q("lb", "Mass of everything aboard", method="the sum of the parts")]
    x: Annotated[float, Q("in", "Centre, forward of the transom", method="the moments over the mass")]
    y: Annotated[float, Q("in", "Centre, to starboard", method="the moments over the mass")]
    z: Annotated[float, Q("in", "Centre, above the base line", method="the moments over the mass")]
    most: Annotated[
        float,
        Q("lb", "Mass with every margin", safe="up", method="the sum of the parts, each with its margin"),
    ]


@calculator(
    sources=[Source("statics", "the centre of gravity of a sum of masses", "memory")],
    use="by name: ledger.mass, ledger.x, ledger.y and ledger.z are the sums of all weights fences in force.",
    not_for="anything that no weights fence lists.",
)
def ledger(
    parts: Annotated[tuple[Part, ...], Q("", "Everything that the weights fences list")],
) -> Sums:
    """Sum the mass and the centre of everything aboard.

    >>> ledger((Part("tank", 60, 80, 10), Part("engine", 540, -10, 30, margin=5))).x
    -1.0
    """
    mass = sum(one.mass for one in parts)
    if mass == 0:
        raise Refusal("parts", "weigh nothing", "give one of the parts a mass")
    return Sums(
        mass=mass,
        x=sum(one.mass * one.x for one in parts) / mass,
        y=sum(one.mass * one.y for one in parts) / mass,
        z=sum(one.mass * one.z for one in parts) / mass,
        most=sum(one.mass * (1 + one.margin / 100) for one in parts),
    )


CALCULATOR: Calculator = Calculator.of(ledger)


@dataclass(frozen=True, slots=True)
class WeightLine:
    """A line of a `weights` fence: a part, and the expressions for its mass and place."""

    name: str
    group: str
    expressions: dict[str, tuple[Expression, Place]]
    page: Page
    place: Place
    around: Around

    def uses(self) -> Iterator[tuple[str, Place]]:
        """Go through the names that it rests on, with their places."""
        for expression, place in self.expressions.values():
            for name, at in expression.places:
                yield name, place.right(at)
        for condition in self.around.conditions:
            for name, at in condition.expression.places:
                yield name, condition.place.right(at)


def bind_weights(page: Page, fence: Fence) -> tuple[list[WeightLine], list[Problem]]:
    """Bind a `weights` fence: one line a part, `name: {mass, x, y, z, group, margin}`."""
    lines: list[WeightLine] = []
    problems: list[Problem] = []
    for key, (key_node, node) in (fence.body.entries if fence.body else {}).items():
        if not isinstance(node, Entries):
            what = f"'{key}' is no part with its mass and its place"
            problems.append(
                Problem(node.place, what, f"write {key}: {{mass: 3 lb, x: 1 ft, y: 0 in, z: 8 in}}")
            )
            continue
        line = _line(page, fence, key_node, node, problems)
        if line is not None:
            lines.append(line)
    return lines, problems


def work_parts(
    lines: Iterable[WeightLine], place: Place, lookup: Lookup, turns: Turns
) -> tuple[Listed | NoAnswer, list[Problem]]:
    """Work out some lines to what the ledger takes; where a part has no answer, the whole has none."""
    rows: list[Shaped] = []
    problems: list[Problem] = []
    unknown: NoAnswer | None = None
    for line in lines:
        cells = {"name": Cell(line.name, line.name, line.place)}
        for key, (expression, there) in line.expressions.items():
            try:
                value = work_out(expression, there, lookup, turns)
            except BookError as error:
                problems.extend(error.problems)
                continue
            if isinstance(value, NoAnswer):
                unknown = unknown or NoAnswer(f"the {key} of '{line.name}': {value.why}")
            cells[key] = Cell(value, expression.text, there)
        rows.append(Shaped(cells, line.place))
    return unknown or Listed(tuple(rows), place), problems


def _line(
    page: Page, fence: Fence, name: Scalar, node: Entries, problems: list[Problem]
) -> WeightLine | None:
    expressions: dict[str, tuple[Expression, Place]] = {}
    group = ""
    before = len(problems)
    for key, (key_node, value) in node.entries.items():
        if key not in ITEM_KEYS:
            fix = offer(key, ITEM_KEYS, f"a part has {', '.join(ITEM_KEYS)}")
            problems.append(Problem(key_node.place, f"a part has no '{key}'", fix))
        elif not isinstance(value, Scalar):
            problems.append(Problem(value.place, f"'{key}' is one value", f"write {key}: …"))
        elif key == "group":
            group = value.text.strip()
        else:
            place = value.place.right(1) if value.quoted else value.place
            try:
                expressions[key] = (read(value.text, place), place)
            except BookError as error:
                problems.extend(error.problems)
    for key in _NEEDED:
        if key not in node.entries:
            what = f"'{name.text}' has no {key}"
            problems.append(Problem(name.place, what, f"add {key}: … inside its braces"))
    if len(problems) > before:
        return None
    return WeightLine(name.text, group, expressions, page, name.place, fence.around)
