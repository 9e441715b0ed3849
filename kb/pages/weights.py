"""The page of weights: the ledger by groups, its centre, and how far margins reach."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from markupsafe import Markup

from kb.content.addresses import list_address
from kb.content.values import Cell, Listed, Shaped
from kb.language.quantity import NoAnswer, Quantity
from kb.language.systems import show_other
from kb.language.units import unit
from kb.numbers.ledger import LEDGER, WeightLine
from kb.numbers.printed import Printed, printed
from kb.pages.sheet import SitePage, own_page
from kb.pages.slips import page_link
from kb.pages.templates import heading, render
from kb.pages.view import View, value_pair

_LB, _IN = unit("lb"), unit("in")
_OTHER = "other"
_ELSEWHERE = "listed on no sheet of this edition"


@dataclass(frozen=True, slots=True)
class Sizes:
    """Mass in lb, and centre in in."""

    mass: float
    x: float
    y: float
    z: float


@dataclass(frozen=True, slots=True)
class PartRow:
    """A part with its mass and place as text, and the way to the sheet that lists it."""

    name: str
    sheet: Markup
    cells: tuple[Markup, ...]


@dataclass(frozen=True, slots=True)
class Group:
    """The parts of one group, their sum and its centre, and its share of the whole."""

    title: str
    rows: tuple[PartRow, ...]
    sums: tuple[Markup, ...]
    share: str


def weights(view: View) -> SitePage:
    """Return the page of the ledger."""
    here = list_address("weights")
    result = view.done.blocks.get(LEDGER)
    mass = result.outcome.values["mass"] if result else None
    if result is None or isinstance(mass, NoAnswer):
        why = mass.why if isinstance(mass, NoAnswer) else ""
        return own_page(view, here, heading("weights"), render("weights", groups=(), why=why))
    lines = [line for line in result.block.weights if view.done.in_force(line.around.conditions)]
    table = result.outcome.arguments["parts"]
    assert isinstance(table, Listed)
    sizes = [_sizes(row) for row in table.items if isinstance(row, Shaped)]
    by_group: dict[str, list[int]] = {}
    for at, line in enumerate(lines):
        group = line.group if line.page.id in view.pages_by_id else ""
        by_group.setdefault(group or _OTHER, []).append(at)
    whole = _summed(sizes)
    groups = [_group(view, here, title, lines, sizes, members, whole) for title, members in by_group.items()]
    total = {
        name: Markup(value_pair(view.printed(f"{LEDGER}.{name}"), view.other(f"{LEDGER}.{name}")))
        for name in result.outcome.values
    }
    ids = dict.fromkeys(
        page for name in view.users if name.startswith(f"{LEDGER}.") for page in view.users[name]
    )
    users = Markup(", ").join(Markup(page_link(view, here, page)) for page in ids)
    return own_page(
        view, here, heading("weights"), render("weights", groups=groups, total=total, users=users)
    )


def _group(
    view: View,
    here: str,
    title: str,
    lines: Sequence[WeightLine],
    sizes: Sequence[Sizes],
    members: Sequence[int],
    whole: Sizes,
) -> Group:
    rows = tuple(_row(view, here, lines[at], sizes[at]) for at in members)
    sums = _summed([sizes[at] for at in members])
    return Group(heading(title), rows, _cells(view, sums), f"{100 * sums.mass / whole.mass:.0f} %")


def _row(view: View, here: str, line: WeightLine, sizes: Sizes) -> PartRow:
    """Return a part as a row; what a page says that the edition lacks is its mass and place alone."""
    if line.page.id not in view.pages_by_id:
        return PartRow(_ELSEWHERE, Markup(), _cells(view, sizes))
    return PartRow(line.name, Markup(page_link(view, here, line.page.id)), _cells(view, sizes))


def _sizes(row: Shaped) -> Sizes:
    def size(key: str, one: str) -> float:
        cell: Cell | None = row.cells.get(key)
        return float(cell.value.to(unit(one))) if cell is not None else 0.0

    return Sizes(size("mass", "lb"), size("x", "in"), size("y", "in"), size("z", "in"))


def _summed(sizes: Sequence[Sizes]) -> Sizes:
    mass = sum(one.mass for one in sizes)
    if mass == 0:
        return Sizes(0.0, 0.0, 0.0, 0.0)
    x, y, z = (sum(one.mass * getattr(one, axis) for one in sizes) / mass for axis in ("x", "y", "z"))
    return Sizes(mass, x, y, z)


def _cells(view: View, sizes: Sizes) -> tuple[Markup, ...]:
    found = []
    for size, one in ((sizes.mass, _LB), (sizes.x, _IN), (sizes.y, _IN), (sizes.z, _IN)):
        value = Quantity(size, one) if size else Quantity(Fraction(0), one)
        parts = show_other(value, one, view.book.settings.units)
        found.append(Markup(value_pair(printed(value), Printed(*parts) if parts else None)))
    return tuple(found)
