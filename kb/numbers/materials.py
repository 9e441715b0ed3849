"""Materials bound: what a page's `materials` fences ask for."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from kb.calculators.bind import read
from kb.content.page import Around, Fence, Page
from kb.content.reference import Material, Reference
from kb.content.yamltext import Entries, Node, Scalar
from kb.language.expression import Expression
from kb.problem import BookError, Place, Problem, offer

CATALOGUE = "materials.yml"
LINE_KEYS = ("quantity", "waste")
TEXT_KEYS = ("title", "note", "public", "caption")
"""Keys of the fence that are no materials."""


@dataclass(frozen=True, slots=True)
class MaterialLine:
    """A line of a `materials` fence: how much of one material its page asks for.

    `place` is where the quantity stands. `waste` is a share, such as 10 %, of the quantity, for what is cut
    off or left in the pail. It is counted here, once: a quantity that a calculator gives with waste in it
    takes none. `entry` is the material in the yard's catalogue, whose spelling `material` then has.
    """

    material: str
    expression: Expression
    waste: Expression | None
    page: Page
    place: Place
    around: Around
    waste_place: Place | None = None
    entry: Material | None = None


def bind_materials(
    page: Page, fence: Fence, reference: Reference
) -> tuple[list[MaterialLine], list[Problem]]:
    """Bind a `materials` fence: lines `name: quantity` or `name: {quantity: …, waste: …}`.

    Where the yard has a catalogue, a name that is not in it is a problem; its line stands without an entry.
    """
    binder = _Binder(page, fence, reference)
    return binder.lines(), binder.problems


def material_named(reference: Reference, name: str) -> Material | None:
    """Return the material of the catalogue that has a name, in large letters or small."""
    same = (one for one in reference.materials.values() if one.name.casefold() == name.casefold())
    return next(same, None)


class _Binder:
    def __init__(self, page: Page, fence: Fence, reference: Reference) -> None:
        self.page = page
        self.fence = fence
        self.reference = reference
        self.problems: list[Problem] = []

    def problem(self, place: Place, what: str, fix: str) -> None:
        self.problems.append(Problem(place, what, fix))

    def lines(self) -> list[MaterialLine]:
        if self.fence.body is None:
            return []
        named = [pair for key, pair in self.fence.body.entries.items() if key not in TEXT_KEYS]
        if not named:
            fix = "add a line such as pour foam part A: 12 lb"
            self.problem(self.fence.place, "this materials fence names no material", fix)
        return [line for key, node in named if (line := self.line(key, node)) is not None]

    def line(self, key: Scalar, node: Node) -> MaterialLine | None:
        name = key.text.strip()
        if not name:
            self.problem(key.place, "this material has no name", "write name: quantity")
            return None
        entry = self.entry(name, key.place)
        parts = self.parts(name, key, node)
        quantity = self.expression(parts["quantity"]) if "quantity" in parts else None
        waste = self.expression(parts["waste"]) if "waste" in parts else None
        if quantity is None or ("waste" in parts and waste is None):
            return None
        return MaterialLine(
            entry.name if entry else name,
            quantity,
            waste,
            self.page,
            _inside(parts["quantity"]),
            self.fence.around,
            _inside(parts["waste"]) if waste else None,
            entry,
        )

    def entry(self, name: str, place: Place) -> Material | None:
        entry = material_named(self.reference, name)
        if entry is None and CATALOGUE in self.reference.files:
            names = [one.name for one in self.reference.materials.values()]
            fix = offer(name, names, f"add it to reference/{CATALOGUE} with its unit")
            self.problem(place, f"there is no material '{name}' in the catalogue", fix)
        return entry

    def parts(self, name: str, key: Scalar, node: Node) -> Mapping[str, Scalar]:
        """Return what a line gives: its quantity, and its waste where it has one."""
        if isinstance(node, Scalar):
            return {"quantity": node}
        form = f"write {name}: 3 lb, or {name}: {{quantity: 3 lb, waste: 10 %}}"
        if not isinstance(node, Entries):
            self.problem(node.place, f"'{name}' has a list where one quantity is wanted", form)
            return {}
        parts: dict[str, Scalar] = {}
        for part, (part_node, value) in node.entries.items():
            if part not in LINE_KEYS:
                fix = offer(part, LINE_KEYS, "a material has a quantity and its waste")
                self.problem(part_node.place, f"a material has no '{part}'", fix)
            elif not isinstance(value, Scalar):
                self.problem(value.place, f"'{part}' is one value", form)
            else:
                parts[part] = value
        if "quantity" not in node.entries:
            self.problem(key.place, f"'{name}' does not say how much", form)
        return parts

    def expression(self, node: Scalar) -> Expression | None:
        try:
            return read(node.text, _inside(node))
        except BookError as error:
            self.problems.extend(error.problems)
            return None


def _inside(node: Scalar) -> Place:
    """Return where a value's text begins, inside its quotes."""
    return node.place.right(1) if node.quoted else node.place
