"""Blocks and limits bound to their calculators: what each takes, by which expressions."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path

from kb.calculators.bind import Bound, bind, read
from kb.calculators.declare import FENCE_KEYS, Calculator
from kb.content.page import Condition, Fence, Page
from kb.content.reference import Reference
from kb.content.yamltext import Entries, Items, Node, Scalar
from kb.language.expression import Expression, is_name
from kb.language.literal import ReadError
from kb.language.show import Form, split_form
from kb.numbers.drawings import DrawingFence, bind_drawing, block_problem
from kb.numbers.ledger import CALCULATOR as LEDGER_CALCULATOR
from kb.numbers.ledger import LEDGER, WeightLine, bind_weights
from kb.numbers.materials import MaterialLine, bind_materials
from kb.numbers.measures import Measure, bind_measure
from kb.problem import BookError, Place, Problem, offer

LIMIT_KEYS = ("rule", "protects", "title", "note", "public", "caption")


@dataclass(frozen=True, slots=True)
class Line:
    """One line of a `formula` block: an expression, and the unit its result is given in."""

    name: str
    expression: Expression
    form: Form
    place: Place
    name_place: Place


@dataclass(frozen=True, slots=True)
class Rule:
    """An acceptance rule of the yard's own, on a block or in a `limit` fence."""

    name: str
    expression: Expression
    place: Place
    protects: str = ""


@dataclass(frozen=True)
class Block:
    """One use of a calculator on a page."""

    name: str
    calculator: Calculator
    page: Page
    place: Place
    conditions: tuple[Condition, ...]
    parameters: dict[str, Bound]
    places: dict[str, Place]
    lines: tuple[Line, ...] = ()
    limits: tuple[Rule, ...] = ()
    title: str = ""
    note: str = ""
    weights: tuple[WeightLine, ...] = ()
    """The parts that the ledger sums; no other block has any."""
    is_broken: bool = False
    """Whether it misses something it cannot be worked out without; its values are still looked at."""

    @property
    def own_names(self) -> frozenset[str]:
        """The names that its limits and its formula's lines see first."""
        if self.calculator.own_lines:
            return frozenset(line.name for line in self.lines)
        return frozenset((*self.calculator.parameters, *self.calculator.results))

    @property
    def result_names(self) -> tuple[str, ...]:
        """The names of its results."""
        if self.calculator.own_lines:
            return tuple(line.name for line in self.lines)
        return tuple(self.calculator.results)

    @cached_property
    def uses(self) -> tuple[tuple[str, Place], ...]:
        """The names of the book that it rests on, with their places."""
        return tuple(self._uses())

    def _uses(self) -> Iterator[tuple[str, Place]]:
        for bound in self.parameters.values():
            yield from bound.names()
        above: set[str] = set()
        for line in self.lines:
            for name, at in line.expression.places:
                if name not in above:
                    yield name, line.place.right(at)
            above.add(line.name)
        for rule in self.limits:
            for name, at in rule.expression.places:
                if name not in self.own_names:
                    yield name, rule.place.right(at)
        for condition in self.conditions:
            for name, at in condition.expression.places:
                yield name, condition.place.right(at)
        for part in self.weights:
            yield from part.uses()


@dataclass(frozen=True, slots=True)
class LimitFence:
    """A `limit` fence: a rule over any numbers of the book."""

    rule: Rule
    page: Page
    place: Place
    conditions: tuple[Condition, ...]
    title: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True)
class Bindings:
    """Every block, limit fence, measurement and line of material of a book, in the order of its pages."""

    blocks: dict[str, Block]
    limits: dict[str, LimitFence]
    measures: dict[str, Measure]
    materials: tuple[MaterialLine, ...] = ()
    drawings: Mapping[Place, DrawingFence] = field(default_factory=dict)
    """What each `drawing` fence shows, by its place."""
    failed: frozenset[str] = frozenset()
    """Names of fences that could not be bound; what rests on them is not told again."""


def bind_pages(
    pages: Iterable[Page],
    calculators: Mapping[str, Calculator],
    root: Path,
    tables: str,
    reference: Reference,
) -> tuple[Bindings, list[Problem]]:
    """Bind the fences of all pages; what cannot be bound is left out, with its problems."""
    binder = _Binder(calculators, root, tables, reference)
    for page in pages:
        for fence in page.fences:
            binder.fence(page, fence)
    return binder.bindings(), binder.problems


class _Binder:
    def __init__(
        self, calculators: Mapping[str, Calculator], root: Path, tables: str, reference: Reference
    ) -> None:
        self.calculators = calculators
        self.root = root
        self.tables = tables
        self.reference = reference
        self.blocks: dict[str, Block] = {}
        self.limits: dict[str, LimitFence] = {}
        self.measures: dict[str, Measure] = {}
        self.materials: list[MaterialLine] = []
        self.weights: list[WeightLine] = []
        self.drawings: dict[Place, DrawingFence] = {}
        self.places: dict[str, Place] = {}
        self.problems: list[Problem] = []

    def bindings(self) -> Bindings:
        bound = {*self.blocks, *self.limits, *self.measures}
        failed = frozenset(name for name in self.places if name not in bound)
        if self.weights:
            shown = (one for one in self.weights if one.page.head.visibility != "private")
            first = next(shown, self.weights[0])  # its page tells the sums, and no edition has a private one
            self.blocks[LEDGER] = Block(
                LEDGER, LEDGER_CALCULATOR, first.page, first.place, (), {}, {}, title="The ledger",
                weights=tuple(self.weights),
            )  # fmt: skip
        self.check_drawings(failed)
        return Bindings(self.blocks, self.limits, self.measures, tuple(self.materials), self.drawings, failed)

    def check_drawings(self, failed: Collection[str]) -> None:
        calculators = {name: block.calculator for name, block in self.blocks.items()}
        for drawing in self.drawings.values():
            problem = block_problem(drawing, calculators, failed)
            if problem is not None:
                self.problems.append(problem)

    def problem(self, place: Place, what: str, fix: str) -> None:
        self.problems.append(Problem(place, what, fix))

    def fence(self, page: Page, fence: Fence) -> None:
        if fence.kind == "materials":
            lines, problems = bind_materials(page, fence, self.reference)
            self.materials += lines
            self.problems += problems
        elif fence.kind == "weights":
            parts, problems = bind_weights(page, fence)
            self.weights += parts
            self.problems += problems
        elif fence.kind == "drawing":
            drawing, problems = bind_drawing(page, fence)
            self.problems += problems
            if drawing is not None:
                self.drawings[fence.place] = drawing
        if not fence.name or not self.take_name(fence):
            return
        if fence.kind == "calc":
            self.block(page, fence)
        elif fence.kind == "limit":
            self.limit(page, fence)
        elif fence.kind == "measure":
            measure, problems = bind_measure(page, fence, self.reference)
            self.problems += problems
            if measure is not None:
                self.measures[fence.name] = measure

    def take_name(self, fence: Fence) -> bool:
        if fence.name in self.places:
            first = self.places[fence.name]
            self.problem(
                fence.name_place,
                f"the name '{fence.name}' is taken in {first.file}:{first.line}",
                "block names are unique in the whole book; choose another",
            )
            return False
        self.places[fence.name] = fence.name_place
        return True

    def block(self, page: Page, fence: Fence) -> None:
        word = fence.words[0]
        calculator = self.calculators.get(word)
        if calculator is None:
            place = fence.word_place
            fix = offer(word, self.calculators, "`keelbook calc` lists them")
            self.problem(place, f"there is no calculator '{word}'", fix)
            return
        if fence.body is None:
            return
        body = fence.body.entries
        before = len(self.problems)
        parameters: dict[str, Bound] = {}
        lines: list[Line] = []
        places: dict[str, Place] = {}
        for key, (key_node, node) in body.items():
            if key in FENCE_KEYS:
                continue
            places[key] = node.place
            if calculator.own_lines:
                self.line(key_node, node, lines)
            else:
                self.parameter(calculator, key_node, node, parameters)
        if not calculator.own_lines:
            self.missing(calculator, fence, body)
        elif not lines and len(self.problems) == before:
            self.problem(
                fence.place, f"the formula '{fence.name}' has no lines", "write lines of name: expression"
            )
        built_in = [one.limit.name for one in calculator.limits]
        limits = self.own_limits(body["limits"][1], built_in) if "limits" in body else ()
        is_broken = len(self.problems) > before and self.broken(calculator, parameters, lines)
        self.blocks[fence.name] = Block(
            fence.name, calculator, page, fence.place, fence.conditions, parameters, places, tuple(lines),
            tuple(limits), _text_of(body, "title"), _text_of(body, "note"), is_broken=is_broken,
        )  # fmt: skip

    def broken(self, calculator: Calculator, parameters: Mapping[str, Bound], lines: list[Line]) -> bool:
        """Tell whether a block misses something that it cannot be worked out without."""
        if calculator.own_lines:
            return not lines
        return any(one.required and one.name not in parameters for one in calculator.parameters.values())

    def parameter(
        self, calculator: Calculator, key: Scalar, node: Node, parameters: dict[str, Bound]
    ) -> None:
        parameter = calculator.parameters.get(key.text)
        if parameter is None:
            known = [*calculator.parameters, *FENCE_KEYS]
            fix = offer(key.text, known, f"it takes {', '.join(calculator.parameters)}")
            self.problem(key.place, f"{calculator.name} has no parameter '{key.text}'", fix)
            return
        try:
            parameters[key.text] = bind(parameter, node, self.root, self.tables)
        except BookError as error:
            self.problems.extend(error.problems)

    def missing(self, calculator: Calculator, fence: Fence, body: Mapping[str, object]) -> None:
        for parameter in calculator.parameters.values():
            if parameter.required and parameter.name not in body:
                self.problem(
                    fence.place,
                    f"{calculator.name} needs '{parameter.name}' ({parameter.q.label})",
                    f"add a line such as {parameter.name}: {calculator.example.get(parameter.name, '…')}",
                )

    def line(self, key: Scalar, node: Node, lines: list[Line]) -> None:
        if not is_name(key.text):
            self.problem(key.place, f"'{key.text}' is not a name", "use small letters, digits and _")
            return
        if not isinstance(node, Scalar):
            self.problem(node.place, "a formula's line is one expression", "write name: expression")
            return
        place = node.place.right(1) if node.quoted else node.place
        try:
            body, form = split_form(node.text)
            if form.direction or form.step:
                self.problem(
                    place,
                    "a formula's line is not rounded",
                    "use round, ceil or floor, or round where it is shown",
                )
                return
            lines.append(Line(key.text, read(body, place), form, place, key.place))
        except ReadError as error:
            self.problem(place.right(error.at), error.what, error.fix)
        except BookError as error:
            self.problems.extend(error.problems)

    def own_limits(self, node: Node, built_in: Sequence[str]) -> Iterable[Rule]:
        if not isinstance(node, Entries):
            self.problem(node.place, "'limits' is lines of name: rule", "write them indented below it")
            return []
        rules = []
        for key, (key_node, value) in node.entries.items():
            if not is_name(key):
                self.problem(
                    key_node.place, f"'{key}' is not a name for a limit", "use small letters, digits and _"
                )
                continue
            if key in built_in:
                self.problem(
                    key_node.place,
                    f"'{key}' is a limit that the calculator has",
                    "give the limit another name",
                )
                continue
            rule = self.rule(key, value)
            if rule is not None:
                rules.append(rule)
        return rules

    def rule(self, name: str, node: Node, protects: str = "") -> Rule | None:
        if isinstance(node, Items | Entries):
            self.problem(node.place, "a rule is one condition", "write it on one line")
            return None
        place = node.place.right(1) if node.quoted else node.place
        try:
            return Rule(name, read(node.text, place), place, protects)
        except BookError as error:
            self.problems.extend(error.problems)
            return None

    def limit(self, page: Page, fence: Fence) -> None:
        if fence.body is None:
            return
        body = fence.body.entries
        for key, (key_node, _) in body.items():
            if key not in LIMIT_KEYS:
                fix = offer(key, LIMIT_KEYS, f"a limit has {', '.join(LIMIT_KEYS)}")
                self.problem(key_node.place, f"a limit has no '{key}'", fix)
        if "rule" not in body:
            self.problem(
                fence.place, f"the limit '{fence.name}' has no rule", "add a line such as rule: a <= b"
            )
            return
        rule = self.rule(fence.name, body["rule"][1], _text_of(body, "protects"))
        if rule is not None:
            self.limits[fence.name] = LimitFence(
                rule, page, fence.place, fence.conditions, _text_of(body, "title"), _text_of(body, "note")
            )


def _text_of(body: Mapping[str, tuple[Scalar, Node]], key: str) -> str:
    node = body[key][1] if key in body else None
    return node.text if isinstance(node, Scalar) else ""
