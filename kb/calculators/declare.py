"""What a calculator is: a plain function whose signature says all that pages, shell and checks need."""

from __future__ import annotations

import inspect
import re
import types
import typing
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, fields, is_dataclass
from fractions import Fraction
from typing import Any, Literal, TypeVar

from kb.calculators.section import Section
from kb.content.reference import SignalWord, Standing
from kb.drawing import Picture
from kb.language.expression import Expression, is_name, read_expression
from kb.language.literal import ReadError
from kb.language.quantity import NoAnswer, Quantity
from kb.language.show import Form, Safe, split_form
from kb.language.units import Unit, UnitError, unit

F = TypeVar("F", bound=Callable[..., Any])

Draws = Callable[[Mapping[str, Any], Any], Picture | NoAnswer]
"""What draws a run of a calculator, from its plain arguments, none left out, and what its function gave."""

Kind = Literal["quantity", "number", "count", "flag", "choice", "text", "section", "table"]


class DeclarationError(Exception):
    """A calculator is declared wrongly; the message begins with its file and line."""


class Refusal(Exception):  # noqa: N818 - a calculator refuses; it has not failed
    """Raised by a calculator for a value that cannot be: which parameter, what is wrong, what is possible.

    >>> raise Refusal("reading", "is above the top of the tank", "give a dip from 0 in to 14.3 in")
    Traceback (most recent call last):
    kb.calculators.declare.Refusal: reading is above the top of the tank; give a dip from 0 in to 14.3 in
    """

    def __init__(self, parameter: str, what: str, fix: str) -> None:
        self.parameter = parameter
        self.what = what
        self.fix = fix
        super().__init__(f"{parameter} {what}; {fix}")


@dataclass(frozen=True, slots=True)
class Range:
    """The values from `least` to `most`, both included unless `above` sets the lower end apart.

    `why` says, for a usual range, what a value outside it means.
    """

    least: float = float("-inf")
    most: float = float("inf")
    why: str = ""
    above: float | None = None

    def holds(self, value: float) -> bool:
        """Tell whether a value lies within."""
        return self.least <= value <= self.most and (self.above is None or value > self.above)

    def said(self, one: str) -> str:
        """Return the range in words, with its unit."""
        tail = f" {one}" if one else ""
        top = "" if self.most == float("inf") else f"{self.most:g}{tail}"
        if self.above is not None:
            return f"above {self.above:g}{tail}" + (f" and at most {top}" if top else "")
        if self.least == float("-inf"):
            return f"at most {top}"
        return f"from {self.least:g} to {top}" if top else f"at least {self.least:g}{tail}"


FENCE_KEYS = ("title", "note", "public", "caption", "limits")
"""Keys of a block's fence that are no parameters."""

FALLBACK: Any = object()
"""The default of a parameter whose `Q` says by an expression over the others what is used instead."""

POSITIVE = Range(above=0)
NOT_NEGATIVE = Range(least=0)


@dataclass(frozen=True, slots=True)
class Q:
    """What stands beside the type of a parameter or a result.

    Args:
        unit: the unit the function takes or gives; "" for plain numbers, counts, words, tables.
        label: what it is, in the shop's words.
        valid: outside it the formula does not hold and the value is refused.
        usual: outside it the value stands, with a caution and its reason.
        note: how to measure it, or what to mind.
        fallback: of a parameter that may be left out, an expression over the others that gives it then;
            its default in the signature is `FALLBACK`.
        unset: what is used where a parameter is left out, in words, if its fallback does not say it well.
        safe: of a result, the side it is rounded to.
        rule: of a result, its formula in the book's language, over parameters and other results.
        method: of a result without a rule in one line, how it is found, in words.

    """

    unit: str
    label: str
    valid: Range | None = None
    usual: Range | None = None
    note: str = ""
    fallback: str = ""
    unset: str = ""
    safe: Safe = "nearest"
    rule: str = ""
    method: str = ""


@dataclass(frozen=True, slots=True)
class Limit:
    """An acceptance rule built into a calculator.

    Args:
        name: the name that a yard accepts it by.
        rule: a condition over the calculator's parameters and results.
        protects: what the rule protects.
        where: a condition; the limit exists only where it holds.
        given: a parameter; the limit exists only where that is given.
        if_none: the verdict where a value in the rule has no answer.

    """

    name: str
    rule: str
    protects: str
    where: str = ""
    given: str = ""
    if_none: Literal["within", "outside", "cannot tell"] = "cannot tell"


@dataclass(frozen=True, slots=True)
class Caution:
    """A caution that every card of the calculator carries, under a signal word of ANSI Z535.

    `hazard` is its name in a book's `cautions.yml`; a book that has it shows its own word and text instead.
    """

    word: SignalWord
    text: str
    hazard: str = ""


@dataclass(frozen=True, slots=True)
class Source:
    """Where a rule or a value comes from, and whether it was read, is remembered, or is the maker's.

    `name` is its name in a book's `sources.yml`; a book that has it shows its own entry instead.
    """

    title: str
    what: str
    standing: Standing
    name: str = ""


@dataclass(frozen=True, slots=True)
class Column:
    """A column of a table."""

    name: str
    kind: Kind
    unit: Unit
    q: Q
    optional: bool = False


@dataclass(frozen=True, slots=True)
class Parameter:
    """What a calculator takes under one name; `default_value` is its default with its unit."""

    name: str
    kind: Kind
    unit: Unit
    q: Q
    required: bool
    default: Any = None
    fallback: Expression | None = None
    default_value: Any = None
    choices: tuple[str, ...] = ()
    columns: tuple[Column, ...] = ()
    row: Callable[..., Any] | None = None

    @property
    def default_text(self) -> str:
        """What is used where the parameter is left out, in words."""
        if self.required:
            return ""
        if self.default is None:
            return self.q.unset or self.q.fallback
        if isinstance(self.default, bool):
            return "yes" if self.default else "no"
        return f"{self.default:g} {self.unit}".rstrip() if self.kind != "choice" else str(self.default)


@dataclass(frozen=True, slots=True)
class Result:
    """What a calculator gives under one name."""

    name: str
    kind: Kind
    unit: Unit
    q: Q
    rule: Expression | None = None
    rule_form: Form | None = None
    columns: tuple[Column, ...] = ()


@dataclass(frozen=True, slots=True)
class DeclaredLimit:
    """A limit with its rule and conditions read."""

    limit: Limit
    rule: Expression
    where: Expression | None


@dataclass(frozen=True, slots=True, eq=False)
class Calculator:
    """A calculator as pages, shell and checks see it.

    `own_lines` marks the one sort that takes lines of any name, each an expression, and gives them back.
    """

    name: str
    does: str
    notes: str
    plugin: str
    function: Callable[..., Any]
    parameters: Mapping[str, Parameter]
    results: Mapping[str, Result]
    limits: tuple[DeclaredLimit, ...] = ()
    cautions: tuple[Caution, ...] = ()
    sources: tuple[Source, ...] = ()
    example: Mapping[str, str] = field(default_factory=dict)
    use: str = ""
    not_for: str = ""
    own_lines: bool = False
    draws: Draws | None = None

    @staticmethod
    def of(function: Callable[..., Any]) -> Calculator:
        """Return the declaration of a function that `calculator` marked."""
        declared: Calculator = function.__calculator__  # type: ignore[attr-defined]
        return declared


def calculator(
    *,
    limits: Sequence[Limit] = (),
    cautions: Sequence[Caution] = (),
    sources: Sequence[Source] = (),
    example: Mapping[str, str] | None = None,
    use: str = "",
    not_for: str = "",
    own_lines: bool = False,
    draws: Draws | None = None,
) -> Callable[[F], F]:
    """Mark a function as a calculator; its name, signature and docstring say the rest.

    The function itself is returned, so that it stays an ordinary function. Its results are a frozen
    dataclass. Raises `DeclarationError`, with file and line, where the declaration is wrong.

    Args:
        limits: the acceptance rules built into it.
        cautions: what can hurt; every card carries them.
        sources: where its rules and values come from.
        example: a worked example, a text for each parameter; it is run at each build.
        use: when to use it, in a sentence or two.
        not_for: when not to, and what to turn to then.
        own_lines: it takes lines of any name, each an expression.
        draws: the function that draws a run of it, as a `Drawing` or a `Chart`. It takes the arguments by
            their names, as the function itself has them, and what the function gave; it gives `NoAnswer`
            where there is nothing to draw, and does nothing else.

    """

    def mark(function: F) -> F:
        function.__calculator__ = _declare(  # type: ignore[attr-defined]
            function, tuple(limits), tuple(cautions), tuple(sources), dict(example or {}), (use, not_for),
            own_lines, draws,
        )  # fmt: skip
        return function

    return mark


def _declare(
    function: Callable[..., Any],
    limits: tuple[Limit, ...],
    cautions: tuple[Caution, ...],
    sources: tuple[Source, ...],
    example: dict[str, str],
    used: tuple[str, str],
    own_lines: bool,
    draws: Draws | None,
) -> Calculator:
    name = function.__name__
    check = _Checker(function)
    does, _, notes = inspect.cleandoc(function.__doc__ or "").partition("\n")
    check.that(bool(does), "has no docstring; its first line says what it does")
    check.that(draws is None or callable(draws), "is drawn by something that is no function")
    check.that(draws is None or not own_lines, "takes lines of any name, and cannot be drawn")
    if own_lines:
        return Calculator(
            name, does, _without_examples(notes), function.__module__, function, {}, {}, own_lines=True,
            cautions=cautions, sources=sources, example=example, use=used[0], not_for=used[1],
        )  # fmt: skip
    hints = typing.get_type_hints(function, include_extras=True)
    parameters = {}
    for parameter in inspect.signature(function).parameters.values():
        parameters[parameter.name] = check.parameter(parameter, hints.get(parameter.name))
    given = hints.get("return")
    check.that(is_dataclass(given), "must give a dataclass of results")
    check.that(bool(sources), "names no source; 'common practice, no source' is one too")
    result_hints = typing.get_type_hints(given, include_extras=True)
    names = {*parameters, *result_hints}
    results = {
        one.name: check.result(one.name, result_hints[one.name], names)
        for one in fields(given)  # type: ignore[arg-type]
    }
    said = [
        does,
        notes,
        *used,
        *(one.q.label for one in parameters.values()),
        *(one.q.label for one in results.values()),
    ]
    said += [one.text for one in cautions] + [text for one in sources for text in (one.title, one.what)]
    said += [limit.protects for limit in limits]
    check.that("\0" not in "".join(said), "holds a NUL character in its texts")
    for one in example:
        check.that(one in parameters, f"has an example for '{one}', which it does not take")
    doubled = {limit.name for limit in limits if [other.name for other in limits].count(limit.name) > 1}
    check.that(not doubled, f"has two limits of one name: {', '.join(sorted(doubled))}")
    declared = tuple(check.limit(limit, names) for limit in limits)
    return Calculator(
        name, does, _without_examples(notes), function.__module__, function, parameters, results, declared,
        cautions, sources, example, *used, draws=draws,
    )  # fmt: skip


def _without_examples(notes: str) -> str:
    return re.sub(r"\n*^>>>.*?(?=\n\n|\Z)", "", notes.strip(), flags=re.MULTILINE | re.DOTALL).strip()


class _Checker:
    """Reads one declaration; every failure names the calculator's file and line."""

    def __init__(self, function: Callable[..., Any]) -> None:
        self.function = function

    def fail(self, what: str) -> DeclarationError:
        code = self.function.__code__
        return DeclarationError(f"{code.co_filename}:{code.co_firstlineno}: {self.function.__name__} {what}")

    def that(self, holds: bool, what: str) -> None:
        if not holds:
            raise self.fail(what)

    def unit(self, name: str, text: str) -> Unit:
        try:
            return unit(text)
        except UnitError as error:
            raise self.fail(f"gives '{name}' a unit that is none: {error}") from None

    def parameter(self, parameter: inspect.Parameter, hint: Any) -> Parameter:
        name = parameter.name
        kind, q, details = self.kind(name, hint)
        self.nameable(name)
        plain_kind = parameter.kind in (parameter.POSITIONAL_OR_KEYWORD, parameter.KEYWORD_ONLY)
        self.that(plain_kind, f"takes '{name}' otherwise than by its name")
        required = parameter.default is inspect.Parameter.empty
        default = None if required or parameter.default is FALLBACK else parameter.default
        self.that(
            (parameter.default is FALLBACK) == bool(q.fallback),
            f"must give '{name}' both a fallback in Q and FALLBACK as its default, or neither",
        )
        if not required and default is None:
            self.that(
                bool(q.unset or q.fallback), f"does not say what is used where '{name}' is left out (unset=…)"
            )
        fallback = None
        if q.fallback:
            others = set(inspect.signature(self.function).parameters) - {name}
            fallback, _ = self.rule(name, q.fallback, others)
        one = self.unit(name, q.unit)
        value = default
        if kind in ("quantity", "number", "count") and default is not None:
            value = Quantity(Fraction(repr(default)), one)
        return Parameter(name, kind, one, q, required, default, fallback, value, **details)

    def result(self, name: str, hint: Any, names: set[str]) -> Result:
        kind, q, details = self.kind(name, hint)
        self.nameable(name)
        self.that(
            not (kind in ("quantity", "number", "count") and not q.rule and not q.method),
            f"says neither by which rule nor by which method '{name}' is found",
        )
        rule, form = None, None
        if q.rule:
            rule, form = self.rule(name, q.rule, names)
        return Result(name, kind, self.unit(name, q.unit), q, rule, form, details.get("columns", ()))

    def nameable(self, name: str) -> None:
        self.that(
            is_name(name) and name not in FENCE_KEYS, f"has the name '{name}', which no page could write"
        )

    def rule(self, name: str, text: str, names: set[str]) -> tuple[Expression, Form]:
        try:
            body, form = split_form(text)
            return self.known(read_expression(body), name, names), form
        except ReadError as error:
            raise self.fail(f"has a rule for '{name}' that cannot be read: {error}") from None

    def known(self, expression: Expression, where: str, names: set[str]) -> Expression:
        for name in expression.names:
            self.that(name in names, f"uses the unknown name '{name}' in the rule of '{where}'")
        return expression

    def limit(self, limit: Limit, names: set[str]) -> DeclaredLimit:
        try:
            rule = self.known(read_expression(limit.rule), limit.name, names)
            where = self.known(read_expression(limit.where), limit.name, names) if limit.where else None
        except ReadError as error:
            raise self.fail(f"has a limit '{limit.name}' that cannot be read: {error}") from None
        return DeclaredLimit(limit, rule, where)

    def kind(self, name: str, hint: Any) -> tuple[Kind, Q, dict[str, Any]]:
        """Read the type of one parameter, result or column."""
        args = typing.get_args(hint)
        q = next((extra for extra in args[1:] if isinstance(extra, Q)), None)
        if q is None or typing.get_origin(hint) is not typing.Annotated:
            raise self.fail(f"declares '{name}' without Annotated[…, Q(unit, label)]")
        plain = args[0]
        if isinstance(plain, types.UnionType) or typing.get_origin(plain) is typing.Union:
            rest = [one for one in typing.get_args(plain) if one not in (types.NoneType, NoAnswer)]
            self.that(len(rest) == 1, f"declares '{name}' with more than one type")
            plain = rest[0]
        if plain is bool:
            return "flag", q, {}
        if plain is int:
            self.that(q.unit == "", f"gives the count '{name}' a unit")
            return "count", q, {}
        if plain is float:
            return "quantity" if q.unit else "number", q, {}
        if plain is str:
            return "text", q, {}
        if plain is Section:
            self.that(q.unit == "in", f"takes the section '{name}' in another unit than in")
            return "section", q, {}
        if typing.get_origin(plain) is Literal:
            return "choice", q, {"choices": typing.get_args(plain)}
        if typing.get_origin(plain) is tuple:
            return "table", q, self.table(name, typing.get_args(plain))
        raise self.fail(f"declares '{name}' with a type that no calculator takes: {plain}")

    def table(self, name: str, of: tuple[Any, ...]) -> dict[str, Any]:
        self.that(
            len(of) == 2 and of[1] is Ellipsis and hasattr(of[0], "_fields"),
            f"declares the table '{name}' otherwise than tuple[Row, ...] with a NamedTuple Row",
        )
        row = of[0]
        hints = typing.get_type_hints(row, include_extras=True)
        columns = []
        for column in row._fields:
            kind, q, _ = self.kind(f"{name}.{column}", hints[column])
            columns.append(Column(column, kind, self.unit(column, q.unit), q, column in row._field_defaults))
        return {"columns": tuple(columns), "row": row}
