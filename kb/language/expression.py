"""The expression language: its tree, and the parser that reads it.

The whole grammar stands here. From loosest to tightest:

    choice      if condition then choice else choice
    or, and, not
    comparison  sum [< <= > >= sum [< <= > >= sum]]  |  sum = sum  |  sum != sum
    sum         product [+ - product]…
    product     signed [* / signed]…
    signed      - signed | power
    power       part [^ signed]                      to the right
    part        quantity | name | "text" | true | false | name(choice, …) | (choice)
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache

from kb.language.literal import KEYWORDS, ReadError, Scanned, scan_quantity, starts_number
from kb.language.quantity import Quantity
from kb.problem import nearest

FUNCTIONS = ("min", "max", "abs", "sqrt", "round", "ceil", "floor", "sin", "cos", "tan")
RESERVED = frozenset(
    [
        "in",
        "value",
        "true",
        "false",
        "none",
        "ledger",
        "options",
        "record",
        "accepted",
        *KEYWORDS,
        *FUNCTIONS,
    ]
)
"""Words that no block, measurement, limit fence or input group may have as its name."""

_NO_NAMES = RESERVED - {"value", "ledger", "options"}  # these three begin names of the book's own
MOST_CHARACTERS = 500
MOST_NODES = 200
DEEPEST = 40


@dataclass(frozen=True, slots=True)
class Node:
    """A part of an expression; `at` is its column in the text, from 0."""

    at: int


@dataclass(frozen=True, slots=True)
class Constant(Node):
    """A quantity, a quoted text, or true or false."""

    value: Quantity | str | bool


@dataclass(frozen=True, slots=True)
class Name(Node):
    """A name with dots."""

    name: str


@dataclass(frozen=True, slots=True)
class Negative(Node):
    """Minus something."""

    of: Node


@dataclass(frozen=True, slots=True)
class Binary(Node):
    """An operation of arithmetic: one of `+ - * / ^`."""

    operator: str
    left: Node
    right: Node
    hint: str = ""


@dataclass(frozen=True, slots=True)
class Comparison(Node):
    """Operands and the comparisons between them; two comparisons form a window."""

    operators: tuple[str, ...]
    operands: tuple[Node, ...]


@dataclass(frozen=True, slots=True)
class Not(Node):
    """The contrary of a condition."""

    of: Node


@dataclass(frozen=True, slots=True)
class Joined(Node):
    """Conditions joined by `and` or by `or`."""

    operator: str
    parts: tuple[Node, ...]


@dataclass(frozen=True, slots=True)
class Choice(Node):
    """`if condition then one else another`."""

    condition: Node
    then: Node
    otherwise: Node


@dataclass(frozen=True, slots=True)
class Call(Node):
    """A function of the language and its arguments."""

    function: str
    arguments: tuple[Node, ...]


@dataclass(frozen=True, slots=True)
class Expression:
    """A text that was read, its tree, and the names it uses in order of appearance, each with its column."""

    text: str
    tree: Node
    places: tuple[tuple[str, int], ...]

    @property
    def names(self) -> tuple[str, ...]:
        """The names it uses, each once."""
        return tuple(dict.fromkeys(name for name, _ in self.places))

    @property
    def single_name(self) -> str | None:
        """The name, where the expression is nothing but one."""
        return self.tree.name if isinstance(self.tree, Name) else None


@dataclass(slots=True)
class _Token:
    kind: str  # number, name, text, operator, end
    text: str
    at: int
    end: int
    scanned: Scanned | None = None


_NAME = re.compile(r"[A-Za-z_][A-Za-z0-9_]*(?:\.[A-Za-z0-9_]+)*")
_GOOD_NAME = re.compile(r"[a-z][a-z0-9_]*(?:\.[a-z][a-z0-9_]*)*")
_OPERATOR = re.compile(r"<=|>=|!=|==|&&|\|\||\*\*|[-+*/^<>=(),−×÷·]")
_OTHER_OPERATORS = {"==": "=", "&&": "and", "||": "or", "**": "^", "×": "*", "·": "*", "÷": "/"}
_SPACES = " \u00a0\t"


@lru_cache(maxsize=20_000)
def read_expression(text: str) -> Expression:
    """Read an expression, or raise `ReadError`."""
    if len(text) > MOST_CHARACTERS:
        raise ReadError(
            f"this expression has {len(text)} characters",
            f"an expression has {MOST_CHARACTERS} at most; name its parts in a formula block",
        )
    if _GOOD_NAME.fullmatch(text) and text.split(".", 1)[0] not in _NO_NAMES:
        return Expression(text, Name(0, text), ((text, 0),))  # what most parameters are
    parser = _Parser(text)
    tree = parser.whole()
    return Expression(text, tree, tuple(parser.names))


def is_name(text: str) -> bool:
    """Tell whether a text may name a block, a measurement, a limit or an input group."""
    return re.fullmatch(r"[a-z][a-z0-9_]*", text) is not None and text not in RESERVED


def _tokens(text: str) -> Iterator[_Token]:
    at = 0
    while True:
        while at < len(text) and text[at] in _SPACES:
            at += 1
        if at >= len(text):
            yield _Token("end", "", at, at)
            return
        token = _token(text, at)
        yield token
        at = token.end


def _token(text: str, at: int) -> _Token:
    if starts_number(text, at):
        scanned = scan_quantity(text, at)
        return _Token("number", text[at : scanned.end], at, scanned.end, scanned)
    one = text[at]
    if one in "\"'":
        end = text.find(one, at + 1)
        if end < 0:
            raise ReadError(f"a text begins with {one} and does not end", "close it with the same mark", at)
        return _Token("text", text[at + 1 : end], at, end + 1)
    if match := _NAME.match(text, at):
        word = match[0]
        if not _GOOD_NAME.fullmatch(word):
            raise ReadError(
                f"'{word}' is not a name",
                "a name is small letters, digits and _, each part beginning with a letter",
                at,
            )
        if text[match.end() : match.end() + 1] == ".":
            raise ReadError(f"'{word}.' ends in a dot", "write the name after the dot, or leave it out", at)
        return _Token("name", word, at, match.end())
    if match := _OPERATOR.match(text, at):
        operator = match[0]
        if operator in _OTHER_OPERATORS:
            hint = _OTHER_OPERATORS[operator]
            advice = "write = to compare words; for sizes write a window such as a <= x <= b"
            raise ReadError(
                f"'{operator}' is not an operator",
                advice if operator == "==" else f"write {hint}",
                at,
            )
        return _Token("operator", "-" if operator == "−" else operator, at, match.end())
    if one == "%":
        raise ReadError("'%' stands alone", "% follows a number, as in 5 %", at)
    if one == "±" or text.startswith("+/-", at):
        raise ReadError(
            "a tolerance stands in inputs only", "write it where the value is given, in the inputs", at
        )
    if one in "{}[]:;#@$!?|&~`\\":
        raise ReadError(f"'{one}' is not part of the expression language", "see the manual's page on it", at)
    raise ReadError(f"'{one}' cannot be read here", "write names, quantities and operators", at)


class _Parser:
    """One pass over the tokens of one text, from left to right."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.tokens = _tokens(text)
        self.names: list[tuple[str, int]] = []
        self.nodes = 0
        self.depth = 0
        self.token = next(self.tokens)
        self.last_end = 0
        self.last = self.token

    def whole(self) -> Node:
        if self.token.kind == "end":
            raise ReadError("there is nothing here", "write a name, a quantity or an expression", 0)
        tree = self.choice()
        if self.token.kind != "end":
            raise self.unexpected()
        return tree

    # -- tools

    def advance(self) -> _Token:
        token = self.token
        self.last_end = token.end
        self.last = token
        self.token = next(self.tokens)
        return token

    def sees(self, kind: str, *texts: str) -> bool:
        return self.token.kind == kind and self.token.text in texts

    def enter(self) -> None:
        self.depth += 1
        if self.depth > DEEPEST:
            raise ReadError(
                f"this expression is nested more than {DEEPEST} deep",
                "name its parts in a formula block",
                self.token.at,
            )

    def leave(self) -> None:
        self.depth -= 1

    def count(self) -> None:
        self.nodes += 1
        if self.nodes > MOST_NODES:
            raise ReadError(
                f"this expression has more than {MOST_NODES} parts",
                "name its parts in a formula block",
                self.token.at,
            )

    def unexpected(self) -> ReadError:
        token = self.token
        if token.kind == "end":
            return ReadError("the expression breaks off", "write what follows the last operator", token.at)
        if token.kind in ("number", "name", "text"):
            if token.kind == "name" and token.text in ("in", "to", "up", "down"):
                return ReadError(
                    f"'{token.text}' cannot stand here",
                    "'in UNIT', 'up', 'down' and 'to STEP' end an inline value or a formula's line",
                    token.at,
                )
            return ReadError(
                f"'{token.text}' follows without an operator",
                "put an operator between the two",
                token.at,
            )
        return ReadError(
            f"'{token.text}' cannot stand here", "write a name or a quantity before it", token.at
        )

    def expect(self, kind: str, text: str, advice: str) -> _Token:
        if not self.sees(kind, text):
            found = f"'{self.token.text}'" if self.token.kind != "end" else "the end"
            raise ReadError(f"'{text}' was expected, not {found}", advice, self.token.at)
        return self.advance()

    def check_spaces(self, operator: _Token) -> None:
        """Refuse arithmetic without a space on both sides, so that 1/2 and 41-1/2 stay numbers."""
        text = self.text
        before = text[operator.at - 1 : operator.at]
        after = text[operator.end : operator.end + 1]
        if before in _SPACES and (after in _SPACES and after):
            return
        left, right = text[: operator.at].rstrip(), text[operator.end :].lstrip()
        if not right:
            raise self.unexpected()
        readings = f"write {left} {operator.text} {right}"
        if operator.text == "-" and re.search(r"(?:^| )[0-9]+$", left) and re.match(r"[0-9]+/[0-9]", right):
            readings += f", or {left}-{right} for a mixed number"
        if operator.text == "^":
            readings += "; only a unit takes ^ without spaces"
        raise ReadError(f"'{operator.text}' has no space on both sides", readings, operator.at)

    # -- grammar

    def choice(self) -> Node:
        if not self.sees("name", "if"):
            return self.any_of()
        self.enter()
        at = self.advance().at
        condition = self.any_of()
        self.expect("name", "then", "write if … then … else …")
        then = self.choice()
        self.expect("name", "else", "write if … then … else …; both values are needed")
        otherwise = self.choice()
        self.leave()
        self.count()
        return Choice(at, condition, then, otherwise)

    def any_of(self) -> Node:
        return self.joined("or", self.all_of)

    def all_of(self) -> Node:
        return self.joined("and", self.contrary)

    def joined(self, word: str, part: object) -> Node:
        read = part if callable(part) else self.contrary
        first: Node = read()
        if not self.sees("name", word):
            return first
        parts = [first]
        while self.sees("name", word):
            self.advance()
            parts.append(read())
        self.count()
        return Joined(first.at, word, tuple(parts))

    def contrary(self) -> Node:
        if not self.sees("name", "not"):
            return self.comparison()
        self.enter()
        at = self.advance().at
        of = self.contrary()
        self.leave()
        self.count()
        return Not(at, of)

    def comparison(self) -> Node:
        operands = [self.sum()]
        operators: list[str] = []
        at = self.token.at
        while self.sees("operator", "<", "<=", ">", ">=", "=", "!="):
            operators.append(self.advance().text)
            operands.append(self.sum())
        if not operators:
            return operands[0]
        directions = {operator[0] for operator in operators}
        if len(operators) > 2 or (len(operators) == 2 and directions not in ({"<"}, {">"})):
            raise ReadError(
                "these comparisons do not form a window",
                "write a <= x <= b, or join them with and",
                at,
            )
        self.count()
        return Comparison(at, tuple(operators), tuple(operands))

    def sum(self) -> Node:
        left = self.product()
        while self.sees("operator", "+", "-"):
            operator = self.advance()
            self.check_spaces(operator)
            before = left
            right = self.product()
            self.count()
            left = Binary(operator.at, operator.text, before, right, self.mixed_hint(operator, before, right))
        return left

    def mixed_hint(self, operator: _Token, left: Node, right: Node) -> str:
        """Refuse `27' - 6"`, and note where `41 - 1/2 in` may have meant 41-1/2 in."""
        if operator.text != "-" or not (isinstance(left, Constant) and isinstance(right, Constant)):
            return ""
        first, second = (
            self.text[left.at : operator.at].strip(),
            self.text[operator.end : self.last_end].strip(),
        )
        if first[-1:] in "'′’" and second[-1:] in '"″”':
            raise ReadError(
                f"'{first} - {second}' can be read in two ways",
                f"write {first}-{second} for one length, or {first[:-1]} ft - {second[:-1]} in",
                left.at,
            )
        if isinstance(left.value, Quantity) and re.match(r"[0-9]+/[0-9]+", second) and first.isdigit():
            return f"write {first}-{second} for {first} and {second.split(' ')[0]}"
        return ""

    def product(self) -> Node:
        left = self.signed()
        while self.sees("operator", "*", "/"):
            before = self.last
            operator = self.advance()
            self.check_spaces(operator)
            if operator.text == "/":
                self.check_division(before)
            right = self.signed()
            self.count()
            left = Binary(operator.at, operator.text, left, right)
        return left

    def check_division(self, before: _Token) -> None:
        """Refuse `1 / 2 in`, which is half an inch or one divided by two inches."""
        scanned = self.token.scanned
        if before.text.isdigit() and scanned is not None and scanned.has_unit:
            bare, over = before.text, self.token.text
            raise ReadError(
                f"'{bare} / {over}' can be read in two ways",
                f"write {bare}/{over} for a fraction, or {bare} / ({over}) to divide",
                before.at,
            )

    def signed(self) -> Node:
        if not self.sees("operator", "-"):
            return self.power()
        self.enter()
        at = self.advance().at
        of = self.signed()
        self.leave()
        self.count()
        return Negative(at, of)

    def power(self) -> Node:
        base = self.part()
        if not self.sees("operator", "^"):
            return base
        operator = self.advance()
        self.check_spaces(operator)
        self.enter()
        exponent = self.signed()
        self.leave()
        self.count()
        return Binary(operator.at, "^", base, exponent)

    def part(self) -> Node:
        self.count()
        token = self.token
        if token.kind == "number" and token.scanned is not None:
            self.advance()
            return Constant(token.at, token.scanned.quantity)
        if token.kind == "text":
            self.advance()
            return Constant(token.at, token.text)
        if token.kind == "name" and token.text not in KEYWORDS:
            return self.name()
        if self.sees("operator", "("):
            self.enter()
            self.advance()
            inner = self.choice()
            self.expect("operator", ")", "close the bracket")
            self.leave()
            return inner
        raise self.unexpected()

    def name(self) -> Node:
        token = self.advance()
        if self.sees("operator", "("):
            return self.call(token)
        first = token.text.split(".")[0]
        if token.text in ("true", "false"):
            return Constant(token.at, token.text == "true")
        if first in FUNCTIONS:
            raise ReadError(f"'{first}' is a function", f"write {first}(…)", token.at)
        if first in _NO_NAMES:
            raise ReadError(
                f"'{first}' cannot stand here",
                "it is a word of the language; write a name",
                token.at,
            )
        self.names.append((token.text, token.at))
        return Name(token.at, token.text)

    def call(self, token: _Token) -> Node:
        if token.text not in FUNCTIONS:
            near = nearest(token.text, FUNCTIONS)
            advice = f"did you mean '{near}'?" if near else f"there are {', '.join(FUNCTIONS)}"
            raise ReadError(f"there is no function '{token.text}'", advice, token.at)
        self.enter()
        self.advance()
        arguments = [self.choice()]
        while self.sees("operator", ","):
            self.advance()
            arguments.append(self.choice())
        self.expect("operator", ")", "close the bracket")
        self.leave()
        most = {"min": 99, "max": 99, "round": 2, "ceil": 2, "floor": 2}.get(token.text, 1)
        if len(arguments) > most:
            raise ReadError(
                f"{token.text} takes {most} value{'s' if most > 1 else ''}, not {len(arguments)}",
                "leave the others out",
                token.at,
            )
        return Call(token.at, token.text, tuple(arguments))
