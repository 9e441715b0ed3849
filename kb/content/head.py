"""The front matter of a page: what stands in a sheet's head."""

from __future__ import annotations

from dataclasses import dataclass, field

from kb.content.yamltext import Entries, Items, Node, Scalar, read_yaml
from kb.language.literal import Literal, ReadError, read_literal
from kb.language.quantity import Quantity, quantity
from kb.language.units import unit
from kb.problem import Place, Problem, offer

VISIBILITIES = ("shop", "public", "private")


@dataclass(frozen=True, slots=True)
class Named:
    """A word with its place."""

    text: str
    place: Place


@dataclass(frozen=True, slots=True)
class Head:
    """A page's front matter.

    `needs` names procedures and measurements, `sources` those of `sources.yml`. `time` is what the work
    takes, `cure` what goes by after it before the next may begin.
    """

    title: str = ""
    number: Named | None = None
    stage: Named | None = None
    crew: int | None = None
    time: Quantity | None = None
    cure: Quantity | None = None
    protection: tuple[str, ...] = ()
    tools: tuple[str, ...] = ()
    needs: tuple[Named, ...] = ()
    sources: tuple[Named, ...] = ()
    visibility: str = "shop"
    places: dict[str, Place] = field(default_factory=dict)


_KEYS = (
    "title", "number", "stage", "crew", "time", "cure", "protection", "tools", "needs", "sources",
    "visibility",
)  # fmt: skip
_YEAR = quantity(365, "day")


def read_head(text: str, file: str, line: int) -> tuple[Head, list[Problem]]:
    """Read the YAML between the two `---` lines; `line` is the first line between them."""
    root, problems = read_yaml(text, file, line)
    if not isinstance(root, Entries):
        if root is not None:
            problems.append(Problem(root.place, "front matter is lines of name: value", "write title: …"))
        return Head(), problems
    reader = _HeadReader(problems)
    entries: dict[str, Node] = {}
    places: dict[str, Place] = {}
    for key, (key_node, value) in root.entries.items():
        if key not in _KEYS:
            fix = offer(key, _KEYS, f"front matter has {', '.join(_KEYS)}")
            problems.append(Problem(key_node.place, f"there is no '{key}' in a page's head", fix))
            continue
        entries[key] = value
        places[key] = value.place
    return reader.head(entries, places), problems


class _HeadReader:
    def __init__(self, problems: list[Problem]) -> None:
        self.problems = problems

    def head(self, entries: dict[str, Node], places: dict[str, Place]) -> Head:
        return Head(
            title=self.text(entries.get("title")),
            number=self.named(entries.get("number")),
            stage=self.named(entries.get("stage")),
            crew=self.count(entries.get("crew")),
            time=self.time(entries.get("time")),
            cure=self.time(entries.get("cure")),
            protection=tuple(one.text for one in self.words(entries.get("protection"))),
            tools=tuple(one.text for one in self.words(entries.get("tools"))),
            needs=self.words(entries.get("needs")),
            sources=self.words(entries.get("sources")),
            visibility=self.visibility(entries.get("visibility")),
            places=places,
        )

    def problem(self, place: Place, what: str, fix: str) -> None:
        self.problems.append(Problem(place, what, fix))

    def text(self, node: Node | None) -> str:
        named = self.named(node)
        return named.text if named else ""

    def named(self, node: Node | None) -> Named | None:
        if node is None:
            return None
        if not isinstance(node, Scalar):
            self.problem(node.place, "this must be one line of text", "write name: text")
            return None
        if not node.text.strip():
            self.problem(node.place, "there is no value here", "write one, or drop the line")
            return None
        return Named(node.text.strip(), node.place)

    def words(self, node: Node | None) -> tuple[Named, ...]:
        if node is None:
            return ()
        items = node.items if isinstance(node, Items) else (node,)
        return tuple(one for one in map(self.named, items) if one is not None)

    def literal(self, node: Node | None) -> Literal | None:
        named = self.named(node)
        if named is None:
            return None
        try:
            return read_literal(named.text)
        except ReadError as error:
            self.problem(named.place.right(error.at), error.what, error.fix)
            return None

    def count(self, node: Node | None) -> int | None:
        literal = self.literal(node)
        if literal is None or node is None:
            return None
        size = literal.quantity
        if size.unit.kind != "number" or size.value != int(size.value) or size.value < 1:
            self.problem(node.place, f"'{literal.text}' is not a number of people", "write a count such as 2")
            return None
        return int(size.value)

    def time(self, node: Node | None) -> Quantity | None:
        literal = self.literal(node)
        if literal is None or node is None:
            return None
        if not literal.quantity.unit.same_kind(unit("hr")) or literal.quantity.value < 0:
            self.problem(node.place, f"'{literal.text}' is not a time", "write one such as 3 hr or 45 min")
            return None
        if literal.quantity.base > _YEAR.base:
            self.problem(
                node.place, f"'{literal.text}' is longer than a year", "write one such as 3 hr or 45 min"
            )
            return None
        return literal.quantity

    def visibility(self, node: Node | None) -> str:
        named = self.named(node)
        if named is None:
            return "shop"
        if named.text not in VISIBILITIES:
            fix = offer(named.text, VISIBILITIES, f"choose {', '.join(VISIBILITIES)}")
            self.problem(named.place, f"there is no visibility '{named.text}'", fix)
            return "shop"
        return named.text
