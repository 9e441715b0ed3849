"""The page of the take-off: what the sheets ask for, in packs, and what has to be ordered first."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction

from markupsafe import Markup

from kb.content.addresses import list_address, list_words
from kb.language.quantity import Quantity
from kb.language.systems import show_other
from kb.language.units import NUMBER
from kb.numbers.printed import Printed, printed
from kb.numbers.takeoff import MaterialUse, TakeOffLine, take_off
from kb.pages.fences import amount
from kb.pages.sheet import SitePage, own_page
from kb.pages.slips import page_link
from kb.pages.templates import heading, piece, render
from kb.pages.view import View, sign, value_pair

MONEY = "yard.money"
"""The input that says what prices are in."""
_FIRST = 6
"""Materials named as those to order first: a short list is read."""


@dataclass(frozen=True, slots=True)
class TakeOffRow:
    """A material of the take-off as its page shows it; "" for what it has not."""

    anchor: str
    material: str
    note: str
    needed: Markup
    verdict: str
    fetch: Markup
    bought: Markup
    left_over: Markup
    cost: str
    sheets: Markup
    lead_time: str
    shelf_life: str
    storage: str
    safety_sheet: str
    is_listed: bool

    @property
    def is_told(self) -> bool:
        """Whether the catalogue says how it comes and keeps."""
        return any((self.lead_time, self.shelf_life, self.storage, self.safety_sheet))


def take_off_page(view: View) -> SitePage:
    """Return the page of all materials: how much, in which packs, how they come and keep, and for what."""
    here = list_address("takeoff")
    lines = take_off(_in_build_order(view), view.book.reference)
    money = view.done.inputs.values.get(MONEY)
    rows = {line.material: _row(view, here, line, f"material-{place}") for place, line in enumerate(lines, 1)}
    costs = [line.cost for line in lines if line.cost is not None]
    content = render(
        "takeoff",
        model=view.model,
        rows=tuple(rows.values()),
        first=[rows[line.material] for line in _to_order_first(lines)],
        has_costs=bool(costs),
        total=_price(sum(costs)),
        cost_head=f"Cost, {money.text}" if money else "Cost",
        without_price=[line.material for line in lines if line.cost is None],
        unlisted=[row.material for row in rows.values() if not row.is_listed],
    )
    return own_page(view, here, heading(list_words("takeoff")), content)


def _in_build_order(view: View) -> Iterator[MaterialUse]:
    """Go through the uses of the edition's pages, in the order of the build."""
    of_page: dict[str, list[MaterialUse]] = {}
    for use in view.material_uses.values():
        of_page.setdefault(use.line.page.file, []).append(use)
    for page in view.pages:
        yield from of_page.get(page.file, ())


def _to_order_first(lines: Iterable[TakeOffLine]) -> Sequence[TakeOffLine]:
    """Return the materials that take longest to come, the longest first; none that no one needs."""

    def wait(line: TakeOffLine) -> float:
        return float(line.entry.lead_time.base) if line.entry and line.entry.lead_time else 0.0

    waited_for = (line for line in lines if wait(line) > 0 and _is_needed(line))
    return sorted(waited_for, key=wait, reverse=True)[:_FIRST]


def _is_needed(line: TakeOffLine) -> bool:
    return not isinstance(line.needed, Quantity) or line.needed.value > 0


def _row(view: View, here: str, line: TakeOffLine, anchor: str) -> TakeOffRow:
    entry = line.entry
    return TakeOffRow(
        anchor=anchor,
        material=line.material,
        note=entry.note if entry else "",
        needed=amount(view, line.needed),
        verdict="" if line.verdict == "within" else Markup(sign(line.verdict)),
        fetch=Markup("<br>").join(_packs(view, line)),
        bought=_bought(view, line),
        left_over=amount(view, line.left_over, "down") if line.left_over is not None else Markup(),
        cost=_price(line.cost) if line.cost is not None else "",
        sheets=Markup(", ").join(Markup(page_link(view, here, page.id)) for page in line.pages),
        lead_time=_time(entry.lead_time if entry else None),
        shelf_life=_time(entry.shelf_life if entry else None),
        storage=entry.storage if entry else "",
        safety_sheet=entry.safety_sheet if entry else "",
        is_listed=entry is not None,
    )


def _packs(view: View, line: TakeOffLine) -> Iterator[Markup]:
    """Go through the packs to fetch in words, such as 2 × 5 gal."""
    for packs in line.packs:
        count = Quantity(Fraction(packs.count))
        if packs.size.unit is not NUMBER:
            yield _times(count, _held(view, packs.size))
        elif packs.size.value == 1:
            yield _pieces(view, count)
        else:
            yield _times(count, _pieces(view, packs.size))


def _times(count: Quantity, size: Markup) -> Markup:
    return Markup(piece("times").fill({"count": str(printed(count, is_count=True)), "size": str(size)}))


def _pieces(view: View, count: Quantity) -> Markup:
    word = "piece" if count.value == 1 else "pieces"
    return Markup(piece("pieces").fill({"count": str(_held(view, count)), "word": word}))


def _held(view: View, size: Quantity) -> Markup:
    """Return what packs hold, to the last whole unit; in the other system no more than they hold."""
    own = printed(size, is_count=size.value == int(size.value))
    parts = show_other(size, size.unit, view.book.settings.units, safe="down")
    return Markup(value_pair(own, Printed(*parts) if parts else None))


def _bought(view: View, line: TakeOffLine) -> Markup:
    if line.bought is None:
        return Markup()
    return _held(view, line.bought) if line.packs else amount(view, line.bought)


def _time(time: Quantity | None) -> str:
    """Return a time in words, such as 21 days."""
    if time is None:
        return ""
    shown = printed(time)
    return f"{shown}s" if shown.unit in ("day", "week") and shown.number != "1" else str(shown)


def _price(cost: float) -> str:
    return f"{cost:.2f}"
