"""The take-off: the materials an edition needs, summed from its pages and rounded up to packs."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from functools import reduce
from typing import Any

from kb.calculators.bind import work_out
from kb.calculators.judge import Verdict, worst
from kb.content.page import Page
from kb.content.reference import Material, Reference
from kb.language.compute import called
from kb.language.quantity import (
    LARGEST,
    NoAnswer,
    NoValueError,
    Quantity,
    add,
    divide,
    margin,
    multiply,
)
from kb.language.show import show_parts
from kb.language.units import NUMBER, wanted, what_it_is
from kb.numbers.evaluate import Evaluation
from kb.numbers.materials import CATALOGUE, MaterialLine, material_named
from kb.numbers.packs import packs_for
from kb.numbers.printed import printed
from kb.problem import BookError, Place, Problem


@dataclass(frozen=True, slots=True)
class MaterialUse:
    """What one line asks for in an edition, its waste included, and the verdict that it rests on.

    The amount is in the catalogue's unit; of a material that no catalogue has, in the unit it was given in.
    """

    line: MaterialLine
    amount: Quantity | NoAnswer
    verdict: Verdict = "within"


@dataclass(frozen=True, slots=True)
class Packs:
    """So many packs of one size."""

    count: int
    size: Quantity


@dataclass(frozen=True, slots=True)
class TakeOffLine:
    """One material: how much is needed, and what is bought for it.

    `packs` are the largest first, and none where the catalogue gives none. `bought` is what the packs hold,
    else the need rounded up; `left_over` is what the packs hold beyond the need. `cost` is in the yard's
    money, where packs have prices. Where the need cannot be told, nothing else is.
    """

    material: str
    needed: Quantity | NoAnswer
    uses: tuple[MaterialUse, ...]
    entry: Material | None = None
    packs: tuple[Packs, ...] = ()
    bought: Quantity | None = None
    left_over: Quantity | None = None
    cost: float | None = None

    @property
    def pages(self) -> tuple[Page, ...]:
        """The pages that use it, each once, in the order of the book."""
        return tuple({use.line.page.file: use.line.page for use in self.uses}.values())

    @property
    def verdict(self) -> Verdict:
        """The worst verdict that its quantities rest on."""
        return worst(*(use.verdict for use in self.uses))


def material_uses(done: Evaluation, lines: Iterable[MaterialLine]) -> tuple[list[MaterialUse], list[Problem]]:
    """Work out the lines that are in force in an edition; one that is no amount is told and left out.

    A line whose quantity has no answer stands with that.
    """
    uses: list[MaterialUse] = []
    problems: list[Problem] = []
    first: dict[str, MaterialUse] = {}
    for line in lines:
        if not done.in_force(line.around.conditions):
            continue
        try:
            amount = _amount(done, line)
            names = [*line.expression.names, *(line.waste.names if line.waste else ())]
            use = MaterialUse(line, amount, done.verdict_of(names))
            if isinstance(amount, Quantity):
                _check_kind(first.setdefault(line.material.casefold(), use), line, amount)
            uses.append(use)
        except BookError as error:
            problems.extend(Problem(p.place, p.what, p.fix, done.edition.name) for p in error.problems)
    return uses, problems


def take_off(uses: Iterable[MaterialUse], reference: Reference) -> tuple[TakeOffLine, ...]:
    """Sum the uses of an edition, as `material_uses` gives them, one line a material in order of the book."""
    of_each: dict[str, list[MaterialUse]] = {}
    for use in uses:
        of_each.setdefault(use.line.material.casefold(), []).append(use)
    return tuple(_line(tuple(of_one), reference) for of_one in of_each.values())


def _line(uses: tuple[MaterialUse, ...], reference: Reference) -> TakeOffLine:
    material = uses[0].line.material
    entry = material_named(reference, material)
    amounts: list[Quantity] = []
    for use in uses:
        if isinstance(use.amount, NoAnswer):
            return TakeOffLine(material, use.amount, uses, entry)
        amounts.append(use.amount)
    needed = reduce(add, amounts)
    if entry is None or not entry.packs:
        return TakeOffLine(material, needed, uses, entry, bought=_rounded_up(needed))
    counts = packs_for(needed, entry.packs)
    bought = reduce(
        add,
        (multiply(size, Quantity(Fraction(count))) for count, size in zip(counts, entry.packs, strict=True)),
    )
    beyond = margin(needed, bought)
    left_over = Quantity(max(beyond.value, Fraction(0)), beyond.unit)
    packs = tuple(Packs(count, size) for count, size in zip(counts, entry.packs, strict=True) if count)
    return TakeOffLine(
        material, needed, uses, entry, packs[::-1], bought, left_over, _cost(counts, entry.prices)
    )


def _rounded_up(needed: Quantity) -> Quantity:
    """Return a need as it is printed on its safe side, so that what is bought is what the page says."""
    figures, _ = show_parts(needed, safe="up", is_count=needed.unit is NUMBER)
    return Quantity(Fraction(figures), needed.unit)


def _cost(counts: tuple[int, ...], prices: tuple[float, ...]) -> float | None:
    if not prices:
        return None
    return float(sum(count * Decimal(str(price)) for count, price in zip(counts, prices, strict=True)))


def _amount(done: Evaluation, line: MaterialLine) -> Quantity | NoAnswer:
    """Return a line's quantity with its waste, in the catalogue's unit. Raises `BookError`."""
    problems: list[Problem] = []
    values: list[Any] = []
    for expression, place, check in (
        (line.expression, line.place, _quantity),
        (line.waste, line.waste_place, _share),
    ):
        if expression is None or place is None:
            continue
        try:
            values.append(check(work_out(expression, place, done.lookup), line, place))
        except BookError as error:
            problems.extend(error.problems)
    if problems:
        raise BookError(problems)
    for value in values:
        if isinstance(value, NoAnswer):
            return value
    try:
        amount = _counted(reduce(multiply, values), line)
    except NoValueError:
        amount = None
    if amount is None or amount.value > LARGEST:
        what = f"the quantity of '{line.material}' is too large to be one"
        raise BookError([Problem(line.place, what, "check the values that go in here")])
    return amount


def _quantity(value: Any, line: MaterialLine, place: Place) -> Quantity | NoAnswer:
    """Return what a line's quantity came to, if it is one."""
    if isinstance(value, NoAnswer):
        return value
    if not isinstance(value, Quantity) or value.unit.kind not in ("quantity", "number"):
        what = f"{called(value)} is no quantity of '{line.material}'"
        raise BookError([Problem(place, what, "write one such as 3 lb, 12 ft or a plain count")])
    if value.value < 0:
        what = f"the quantity of '{line.material}' is below zero: {printed(value)}"
        raise BookError([Problem(place, what, "a quantity is zero or more")])
    return value


def _share(value: Any, line: MaterialLine, place: Place) -> Quantity | NoAnswer:
    """Return what a quantity is multiplied by for its waste: 10 % is 1.1."""
    if isinstance(value, NoAnswer):
        return value
    if not isinstance(value, Quantity) or value.unit.kind != "share":
        what = f"the waste of '{line.material}' is {called(value)}, not a share"
        raise BookError([Problem(place, what, "write it in %, such as 10 %")])
    if not 0 <= value.base <= 1:
        what = f"the waste of '{line.material}' is {printed(value)}"
        raise BookError([Problem(place, what, "waste is a share of the quantity, from 0 % to 100 %")])
    return Quantity(1 + value.base)


def _counted(amount: Quantity, line: MaterialLine) -> Quantity:
    """Return an amount as the catalogue counts it: in its unit, by its density where that is needed."""
    entry = line.entry
    if entry is None:
        if not amount.unit.name and amount.unit is not NUMBER:
            what = f"the quantity of '{line.material}' is {wanted(amount.unit)} without a unit of its own"
            fix = "work it out in a formula block, where a line may end in 'in UNIT', and name that line here"
            raise BookError([Problem(line.place, what, fix)])
        return amount
    for one in _readings(amount, entry):
        if one.unit.same_kind(entry.unit):
            return Quantity(one.to(entry.unit), entry.unit)
    counted = f"in {entry.unit}" if entry.unit.name else "by the piece"
    what = f"'{line.material}' is counted {counted}, and this is {called(amount)}: {printed(amount)}"
    fix = f"write {wanted(entry.unit)}, or change its unit in {_where(entry.place)}"
    if {what_it_is(amount.unit), what_it_is(entry.unit)} == {"a mass", "a volume"}:
        fix = f"give its density in {_where(entry.place)}, or write {wanted(entry.unit)}"
    raise BookError([Problem(line.place, what, fix)])


def _readings(amount: Quantity, entry: Material) -> Iterator[Quantity]:
    """Go through an amount as it is, and by its density as a volume or a mass; units tell which was meant."""
    yield amount
    if entry.density is not None:
        yield divide(amount, entry.density)
        yield multiply(amount, entry.density)


def _check_kind(first: MaterialUse, line: MaterialLine, amount: Quantity) -> None:
    """Refuse to sum what no catalogue makes one of: three pieces here, six feet there."""
    if isinstance(first.amount, Quantity) and not first.amount.unit.same_kind(amount.unit):
        what = (
            f"'{line.material}' is {called(amount)} here and {called(first.amount)}"
            f" in {_where(first.line.place)}"
        )
        fix = f"count it in one way, or add it to reference/{CATALOGUE} with its unit and density"
        raise BookError([Problem(line.place, what, fix)])


def _where(place: Place) -> str:
    return f"{place.file}:{place.line}"
