"""Working out an edition: every block once, in order, with limits and what each number rests on."""

from __future__ import annotations

from collections import ChainMap
from collections.abc import Callable, Collection, Iterable, Mapping, MutableMapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from kb.calculators.bind import work_out
from kb.calculators.door import DoorError, Fault, Outcome, run, value_faults
from kb.calculators.judge import Judged, Verdict, accept, judge, judge_across, judge_own, worst
from kb.calculators.work import work_line_of
from kb.content.book import Book, Edition
from kb.content.inputs import Inputs, Layer
from kb.content.page import Condition, LiveValue
from kb.drawing import Picture
from kb.language.compute import Turns
from kb.language.expression import Binary, Expression, Name
from kb.language.literal import ReadError
from kb.language.quantity import NoAnswer, Quantity
from kb.language.show import Safe, check_direction, need_unit, show_parts, shown_unit
from kb.language.systems import System, show_other
from kb.language.units import UnitError
from kb.numbers.blocks import Block, LimitFence, Rule
from kb.numbers.graph import Graph
from kb.numbers.ledger import WeightLine, work_parts
from kb.numbers.measures import RECORD, Measure
from kb.numbers.printed import Printed, printed
from kb.numbers.windows import Window, work_window
from kb.problem import BookError, Place, Problem, offer

_FAILED = NoAnswer("what it rests on could not be read or worked out")


@dataclass(frozen=True, slots=True)
class BlockResult:
    """What one block gave in an edition: its outcome, its limits, and the worst verdict it rests on.

    The lines of a formula are numbers for themselves: each rests on what it uses, not on its neighbours.
    """

    block: Block
    outcome: Outcome
    limits: tuple[Judged, ...]
    rests_on: Verdict
    lines: Mapping[str, Verdict] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Shown:
    """A live value as text, and the verdict of what it rests on."""

    printed: Printed
    verdict: Verdict
    value: Any

    @property
    def text(self) -> str:
        """The number and its unit."""
        return str(self.printed)


@dataclass(slots=True)
class Evaluation:
    """An edition worked out. `values` holds every input and every number under its full name."""

    edition: Edition
    inputs: Inputs
    graph: Graph
    layers: tuple[Layer, ...] = ()
    values: MutableMapping[str, Any] = field(default_factory=dict)
    blocks: dict[str, BlockResult] = field(default_factory=dict)
    limits: dict[str, Judged] = field(default_factory=dict)
    absent: dict[str, Condition] = field(default_factory=dict)
    problems: list[Problem] = field(default_factory=list)
    marked: dict[str, Verdict] = field(default_factory=dict)
    spreads: dict[str, tuple[float, float]] = field(default_factory=dict)
    """By how much a number may lie below and above, in its own unit, where inputs are toleranced."""
    live_spreads: dict[int, float] = field(default_factory=dict)
    """By how much a live value that is more than a name may move, by the id of it."""
    likely: dict[str, tuple[float, float]] = field(default_factory=dict)
    """The same by the root of the sum of squares, for information: nothing is judged by it."""
    movers: dict[str, tuple[str, float]] = field(default_factory=dict)
    """The toleranced input that moves a number most, and by how much."""
    windows: dict[str, Window] = field(default_factory=dict)
    """The window of each measurement that this edition has, by its name."""
    notes: list[Problem] = field(default_factory=list)
    """What is no error and should be known: an `if` that a tolerance carries across its bound."""
    drawings: dict[str, Picture | NoAnswer] = field(default_factory=dict)
    """The drawings of blocks that have been drawn so far."""
    turns: Turns = field(default_factory=Turns)
    asked: set[str] = field(default_factory=set)
    """The limits that a run at the ends of tolerances was to judge."""
    truths: dict[Place, bool] = field(default_factory=dict)
    """Whether each condition holds, by its place; at the ends of tolerances it stays as it is nominally."""
    _shown: dict[int, Shown] = field(default_factory=dict)
    worse: bool = False
    """Whether any number so far rests on a verdict worse than `within`."""

    def lookup(self, node: Name) -> Any:
        """Return the value of a name, or raise `ReadError` with what was meant."""
        try:
            return self.values[node.name]
        except KeyError:
            return self._unknown(node)

    def verdict(self, name: str) -> Verdict:
        """Return the worst verdict that an input or a number rests on."""
        block, _, one = name.partition(".")
        result = self.blocks.get(block)
        own: Verdict = "within" if result is None else result.lines.get(one, result.rests_on)
        return worst(own, self.marked.get(name, "within"))

    def verdict_of(self, names: Iterable[str]) -> Verdict:
        """Return the worst verdict that some names rest on."""
        return worst(*map(self.verdict, names))

    def failed(self, name: str) -> bool:
        """Tell whether a name stands for what could not be read or worked out, which has been told."""
        try:
            value = self.lookup(Name(0, name))
        except ReadError:
            return False
        # A calculator that is given it says so in its own answer's reason.
        return isinstance(value, NoAnswer) and value.why.endswith(_FAILED.why)

    def in_force(self, conditions: tuple[Condition, ...]) -> bool:
        """Tell whether what stands under some conditions exists in this edition."""
        return _failing(self, conditions) is None

    def show(self, live: LiveValue) -> Shown:
        """Return a live value as text, worked out once. Raises `BookError`."""
        known = self._shown.get(id(live))
        if known is None:
            known = self._shown[id(live)] = self._show(live)
        return known

    def _show(self, live: LiveValue) -> Shown:
        value = work_out(live.expression, live.place, self.lookup, self.turns)
        verdict = self.verdict_of(live.expression.names)
        if isinstance(value, NoAnswer | str | bool):
            return Shown(printed(value), verdict, value)
        if not isinstance(value, Quantity):
            raise BookError(
                [Problem(live.place, f"'{live.text}' is not one value", "show a quantity, a word or a flag")]
            )
        safe, is_count = self._safety(live)
        tree = live.expression.tree
        try:
            if isinstance(tree, Binary) and tree.operator in "*/^" and not live.form.unit:
                need_unit(value)
            check_direction(live.form, safe)
            parts = show_parts(value, live.form, safe, is_count=is_count, spread=self._spread(live))
            return Shown(Printed(*parts), verdict, value)
        except (ReadError, UnitError) as error:
            raise BookError([Problem(live.place, error.what, error.fix)]) from None

    def show_other(self, live: LiveValue, system: System) -> Printed | None:
        """Return a live value in the other system of units than the book's, where that has another unit."""
        size = self.show(live).value
        if not isinstance(size, Quantity):
            return None
        safe, is_count = self._safety(live)
        one = shown_unit(size, live.form)
        parts = None if is_count else show_other(size, one, system, live.form, safe, self._spread(live))
        return Printed(*parts) if parts else None

    def _spread(self, live: LiveValue) -> float:
        """Return how far the value of a single name may lie from what is shown, in its own unit."""
        name = live.expression.single_name or ""
        source = self.inputs.values.get(name)
        if source is not None and source.literal is not None:
            return float(max(source.literal.minus, source.literal.plus))
        return max(self.spreads.get(name, (0.0, self.live_spreads.get(id(live), 0.0))))

    def _safety(self, live: LiveValue) -> tuple[Safe, bool]:
        """Return how a live value is rounded: as the result that it names declares."""
        name = live.expression.single_name or ""
        block, _, result = name.partition(".")
        known = self.blocks[block].block.calculator.results.get(result) if block in self.blocks else None
        return ("nearest", False) if known is None else (known.q.safe, known.kind == "count")

    def _unknown(self, node: Name) -> Any:
        name = node.name
        first, _, rest = name.partition(".")
        bindings = self.graph.bindings
        if first in self.absent:
            condition = self.absent[first]
            where = f"{condition.place.file}:{condition.place.line}"
            raise ReadError(
                f"'{first}' does not exist in this edition, since 'when {condition.expression.text}'"
                f" in {where} is false",
                "use it under the same condition",
                node.at,
            )
        if first in bindings.failed or name in self.inputs.failed:
            return _FAILED
        if first in bindings.blocks:
            block = bindings.blocks[first]
            results = block.result_names
            if rest in results:
                return _FAILED
            what = f"'{first}' has no result '{rest}'" if rest else f"'{first}' is a block, not a number"
            fix = offer(rest, results, f"it gives {', '.join(results)}")
            if not rest:
                fix = f"name one of its results, such as {first}.{results[0]}"
            raise ReadError(what, fix, node.at)
        if name in self.inputs.groups:
            inside = next((path for path in self.inputs.values if path.startswith(f"{name}.")), name)
            raise ReadError(
                f"'{name}' is a group of inputs", f"name a value in it, such as {inside}", node.at
            )
        if first == "value":
            raise ReadError("'value' is the record, known in 'accept' only", "name a number", node.at)
        if first == "ledger":
            raise ReadError("there is no ledger: no page has a weights fence", "name a number", node.at)
        if name in bindings.limits or name in bindings.measures:
            raise ReadError(f"'{name}' is no number", "name an input or a result of a block", node.at)
        if self.inputs.is_unread:
            return _FAILED  # a file that could not be read may hold it, and has been told
        raise ReadError(
            f"there is no name '{name}'",
            self._elsewhere(name)
            or offer(name, [*self.values, *self._results()], "the inputs and blocks give every name"),
            node.at,
        )

    def _elsewhere(self, name: str) -> str:
        """Say which option or hull has an input that this edition has not."""
        owners = [layer.name for layer in self.layers if name in layer.inputs]
        return f"only {' and '.join(owners)} gives it; use it under that option" if owners else ""

    def _results(self) -> Iterable[str]:
        for block in self.graph.bindings.blocks.values():
            for result in block.result_names:
                yield f"{block.name}.{result}"


def evaluate(book: Book, graph: Graph, edition: Edition) -> Evaluation:
    """Work an edition out; every problem is gathered, and what rests on a failed block has no answer."""
    inputs, problems = book.inputs(edition)
    layers = (*book.options.values(), *book.hulls.values())
    done = Evaluation(edition, inputs, graph, layers, problems=problems)
    done.values = {path: one.value for path, one in inputs.values.items()}
    for option in book.options:
        done.values[f"options.{option}"] = option in edition.options
    for name in graph.order:
        _work_block(done, graph.bindings.blocks[name])
    for fence in graph.bindings.limits.values():
        _work_limit(done, fence)
    for page in book.pages:
        for condition in page.conditions:
            _failing(done, (*condition.around, condition))
    if done.marked:
        _spread_marks(done)
    for measure in graph.bindings.measures.values():
        _work_window(done, measure)
    if inputs.accepted:
        _check_acceptances(done)
    if edition.name:
        done.problems = [Problem(p.place, p.what, p.fix, edition.name) for p in done.problems]
    return done


def evaluate_again(
    nominal: Evaluation,
    instead: Mapping[str, Any],
    blocks: Collection[str],
    fences: Iterable[str],
    conditions: Iterable[Condition],
) -> Evaluation:
    """Work out again what some inputs move, with other values; each `if` and `when` stays as it is nominally.

    Args:
        nominal: the edition as it is worked out.
        instead: the other values, by the paths of the inputs.
        blocks: those that rest on the inputs, in their order; only they and their limits are in the result.
        fences: the limit fences that rest on them.
        conditions: those of the pages that rest on them, looked at for whether they would turn.

    """
    done = Evaluation(nominal.edition, nominal.inputs, nominal.graph, nominal.layers)
    done.turns, done.truths = Turns(nominal.turns), nominal.truths
    changed = dict(instead)
    for name in blocks:
        for one in nominal.blocks[name].outcome.values:
            changed[f"{name}.{one}"] = _FAILED
    done.values = ChainMap(changed, nominal.values)
    bindings = nominal.graph.bindings
    for name in blocks:
        done.asked.update(f"{name}.{one.name}" for one in nominal.blocks[name].limits)
        _work_block(done, bindings.blocks[name])
    for name in fences:
        done.asked.add(name)
        _work_limit(done, bindings.limits[name])
    for condition in conditions:
        _failing(done, (*condition.around, condition))
    return done


def conclude(done: Evaluation, change: Callable[[str, Judged], Judged]) -> None:
    """Change the verdicts of an edition's limits, and with them what every number rests on."""
    for name, result in done.blocks.items():
        limits = tuple(change(f"{name}.{one.name}", one) for one in result.limits)
        done.blocks[name] = replace(result, limits=limits, rests_on="within", lines={})
    done.limits = {name: change(name, judged) for name, judged in done.limits.items()}
    done.marked = {}
    for name, judged in done.limits.items():
        _mark(done, done.graph.bindings.limits[name], judged)
    _spread_marks(done)


def _mark(done: Evaluation, fence: LimitFence, judged: Judged) -> None:
    """Let the names of a limit fence carry its verdict."""
    if judged.verdict != "within":
        for name in fence.rule.expression.names:
            done.marked[name] = worst(done.marked.get(name, "within"), judged.verdict)


def _failing(done: Evaluation, conditions: tuple[Condition, ...]) -> Condition | None:
    """Return the first condition that is false, or None where all hold."""
    for condition in conditions:
        try:
            truth = work_out(condition.expression, condition.place, done.lookup)
        except BookError as error:
            done.problems.extend(p for p in error.problems if p not in done.problems)
            return condition
        if not isinstance(truth, bool) and any(map(done.failed, condition.expression.names)):
            return condition  # what it rests on has been told
        if not isinstance(truth, bool):
            problem = Problem(
                condition.place,
                f"'{condition.expression.text}' cannot be told",
                "write a condition over values that are known, such as options.NAME",
            )
            if problem not in done.problems:
                done.problems.append(problem)
            return condition
        if done.turns.nominal is None:
            done.truths[condition.place] = truth
        elif done.truths.get(condition.place, truth) != truth:
            done.turns.nominal.crossed.add(condition.place)
            truth = not truth
        if not truth:
            return condition
    return None


def _work_block(done: Evaluation, block: Block) -> None:
    if (condition := _absence(done, block)) is not None:
        done.absent[block.name] = condition
        return
    try:
        if block.is_broken:
            _look_at(done, block)
            return
        outcome = _formula(done, block) if block.calculator.own_lines else _run(done, block)
    except BookError as error:
        done.problems.extend(error.problems)
        return
    limits, problems = _judge(done, block, outcome)
    done.problems.extend(problems)
    for name, value in outcome.values.items():
        done.values[f"{block.name}.{name}"] = value
    done.blocks[block.name] = BlockResult(block, outcome, limits, "within")
    if done.worse or any(one.verdict != "within" for one in limits):
        _rest(done, block.name)


def _absence(done: Evaluation, block: Block) -> Condition | None:
    """Return the condition for which this edition has no such block, or None where it has."""
    if block.weights and not _aboard(done, block):
        return _failing(done, block.weights[0].around.conditions)
    return _failing(done, block.conditions) if block.conditions else None


def _aboard(done: Evaluation, block: Block) -> list[WeightLine]:
    """Return the parts of the ledger that this edition has."""
    return [part for part in block.weights if done.in_force(part.around.conditions)]


def _look_at(done: Evaluation, block: Block) -> None:
    """Find what else is wrong with a block that cannot be worked out. Raises `BookError`."""
    given, problems = _given(done, block)
    faults = [_told(done, block, fault) for fault in value_faults(block.calculator, given)]
    if problems or faults:
        raise BookError([*problems, *faults])


def _given(done: Evaluation, block: Block) -> tuple[dict[str, Any], list[Problem]]:
    """Return the values that a block's parameters are given, and what is wrong with the others."""
    given: dict[str, Any] = {}
    problems: list[Problem] = []
    values = done.values
    if block.weights:
        parts, problems = work_parts(_aboard(done, block), block.place, done.lookup, done.turns)
        return ({} if problems else {"parts": parts}), problems
    for name, bound in block.parameters.items():
        content = bound.content
        if content.__class__ is Expression and content.text in values:
            given[name] = values[content.text]  # a bare name, as most parameters are
            continue
        try:
            given[name] = bound.value(done.lookup, done.turns)
        except BookError as error:
            problems.extend(error.problems)
    return given, problems


def _run(done: Evaluation, block: Block) -> Outcome:
    given, problems = _given(done, block)
    try:
        if problems:
            raise DoorError(*value_faults(block.calculator, given))
        return run(block.calculator, given)
    except DoorError as error:
        faults = [_told(done, block, fault) for fault in error.faults]
        raise BookError([*problems, *faults]) from error


def _told(done: Evaluation, block: Block, fault: Fault) -> Problem:
    """Return a calculator's fault at its line; a value that came from the inputs is named with its place."""
    place = fault.place or block.places.get(fault.parameter, block.place)
    bound = block.parameters.get(fault.parameter)
    source = done.inputs.values.get(bound.text.strip()) if bound is not None else None
    if source is None or fault.place is not None:
        return Problem(place, fault.what, fault.fix)
    where = f"{source.place.file}:{source.place.line}"
    return Problem(place, f"{fault.what} ({source.path} in {where})", fault.fix)


def _formula(done: Evaluation, block: Block) -> Outcome:
    values: dict[str, Any] = {}

    def lookup(node: Name) -> Any:
        if node.name in values:
            return values[node.name]
        if node.name in block.own_names:
            raise ReadError(f"the line '{node.name}' stands below", "move it above this line", node.at)
        return done.lookup(node)

    problems: list[Problem] = []
    for line in block.lines:
        try:
            values[line.name] = work_line_of(line.expression, line.form, line.place, lookup, done.turns)
        except BookError as error:
            problems.extend(error.problems)
            values[line.name] = _FAILED
    if problems:
        raise BookError(problems)
    return Outcome(values, {})


def _judge(done: Evaluation, block: Block, outcome: Outcome) -> tuple[tuple[Judged, ...], list[Problem]]:
    """Judge a block's limits; a rule that cannot be judged is told, and the numbers stand."""
    own = {**outcome.arguments, **outcome.values}
    problems: list[Problem] = []
    judged: list[Judged] = []
    try:
        judged = judge_own(block.calculator, own)
    except DoorError as error:
        problems.extend(_told(done, block, fault) for fault in error.faults)
    for rule in block.limits:
        try:
            judged.append(_judge_rule(done, rule, own))
        except BookError as error:
            problems.extend(error.problems)
    return tuple(_accepted(done, f"{block.name}.{one.name}", one) for one in judged), problems


def _accepted(done: Evaluation, name: str, judged: Judged) -> Judged:
    if done.turns.nominal is not None:
        return judged  # a limit is accepted for its nominal value, not for one at an end
    acceptance = next((one for one in done.inputs.accepted if one.limit == name), None)
    return judged if acceptance is None else accept(judged, acceptance)


def judge_band(done: Evaluation, name: str, judged: Judged, others: Sequence[Judged]) -> Judged:
    """Judge a limit by its full name over the band of its tolerances; an acceptance may hold for it."""
    block, _, limit = name.partition(".")
    if limit:
        result = done.blocks[block]
        own = {**result.outcome.arguments, **result.outcome.values}
        built_in = {one.limit.name: one.rule for one in result.block.calculator.limits}
        rule = built_in.get(limit) or next(one.expression for one in result.block.limits if one.name == limit)
    else:
        own, rule = {}, done.graph.bindings.limits[name].rule.expression

    def lookup(node: Name) -> Any:
        return own[node.name] if node.name in own else done.lookup(node)

    return _accepted(done, name, judge_across(judged, others, rule, lookup))


def _check_acceptances(done: Evaluation) -> None:
    """Find acceptances of limits that do not exist; those of blocks left out of this edition wait."""
    known = set(done.limits)
    for name, result in done.blocks.items():
        known.update(f"{name}.{one.name}" for one in result.limits)
    bindings = done.graph.bindings
    for one in done.inputs.accepted:
        first = one.limit.split(".", 1)[0]
        waits = (
            first in done.absent
            or first in bindings.failed
            or (first in bindings.blocks and first not in done.blocks)
        )
        if one.limit not in known and not waits:
            fix = offer(one.limit, known, "a limit is named as `keelbook check` prints it: block.limit")
            done.problems.append(Problem(one.place, f"there is no limit '{one.limit}' to accept", fix))


def _judge_rule(done: Evaluation, rule: Rule, own: Mapping[str, Any]) -> Judged:
    def lookup(node: Name) -> Any:
        return own[node.name] if node.name in own else done.lookup(node)

    try:
        turns = done.turns if "if " in rule.expression.text else None
        return judge(rule.name, rule.expression, rule.protects, lookup, turns=turns, key=rule.place)
    except ReadError as error:
        raise BookError([Problem(rule.place.right(error.at), error.what, error.fix)]) from None


def _work_limit(done: Evaluation, fence: LimitFence) -> None:
    if fence.conditions and _failing(done, fence.conditions) is not None:
        return
    try:
        judged = _accepted(done, fence.rule.name, _judge_rule(done, fence.rule, {}))
    except BookError as error:
        done.problems.extend(error.problems)
        return
    done.limits[fence.rule.name] = judged
    _mark(done, fence, judged)


def _work_window(done: Evaluation, measure: Measure) -> None:
    if measure.around.conditions and _failing(done, measure.around.conditions) is not None:
        return
    names = [name for name in measure.accept.names if name != RECORD]
    if measure.sets and measure.sets not in done.inputs.values and not done.failed(measure.sets):
        fix = offer(measure.sets, done.inputs.values, "name the input that the size stands for")
        place = measure.sets_place or measure.place
        done.problems.append(Problem(place, f"there is no input '{measure.sets}' to set", fix))
    if any(map(done.failed, names)):
        return  # what it rests on has been told
    try:
        window = work_window(measure, done.lookup, done.turns)
        if window.is_empty or window.is_between_steps:
            raise BookError([_empty(window)])
    except BookError as error:
        done.problems.extend(error.problems)
        return
    done.windows[measure.name] = replace(window, verdict=done.verdict_of(names))


def _empty(window: Window) -> Problem:
    name, low, high = window.measure.name, printed(window.low), printed(window.high)
    what = f"the window of '{name}' is empty: from {low} to {high}"
    fix = "check the sizes that its ends rest on"
    if not window.is_empty:
        what = f"the window of '{name}', from {low} to {high}, has no whole step of its unit in it"
        fix = "give 'unit' a finer step, or widen the window"
    return Problem(window.measure.accept_place, what, fix)


def _spread_marks(done: Evaluation) -> None:
    """Carry the verdicts of limit fences to every number that rests on what they judge."""
    for name in done.graph.order:
        if name in done.blocks:
            _rest(done, name)


def _rest(done: Evaluation, name: str) -> None:
    """Find the worst verdict that a block, and each line of a formula, rests on."""
    result = done.blocks[name]
    block = result.block
    own = worst(*(one.verdict for one in result.limits))
    for condition in block.conditions:
        own = worst(own, done.verdict_of(condition.expression.names))
    lines: dict[str, Verdict] = {}
    for line in block.lines:
        used = line.expression.names
        lines[line.name] = worst(own, *(lines[one] if one in lines else done.verdict(one) for one in used))
    uses = (use for part in _aboard(done, block) for use in part.uses()) if block.weights else block.uses
    rests_on = worst(own, done.verdict_of(used for used, _ in uses))
    done.worse = done.worse or rests_on != "within"
    done.blocks[name] = BlockResult(block, result.outcome, result.limits, rests_on, lines)
