"""A small yard's own calculators, and shorthand for what is wrong with a book."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from kb.reckon import check_book

YARD = '''\
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated, Literal, NamedTuple

from kb import FALLBACK, Limit, NoAnswer, POSITIVE, Q, Range, Section, Source, calculator, hookimpl

YARD = [Source("the yard", "its own rule", "maker's")]


@dataclass(frozen=True)
class Plank:
    area: Annotated[float, Q("ft^2", "Area of one face", safe="up", rule="length * width in ft^2")]
    mass: Annotated[float, Q("lb", "Mass", safe="up", method="area, thickness and density")]


@calculator(
    sources=YARD,
    limits=[Limit("bench", "length <= 96 in", "the saw bench")],
    example={"length": "48 in", "width": "12 in"},
)
def plank(
    length: Annotated[float, Q("in", "Length of the plank", valid=POSITIVE)],
    width: Annotated[float, Q("in", "Width", valid=POSITIVE, usual=Range(2, 20, "wider planks cup"))],
    thickness: Annotated[float, Q("in", "Thickness", valid=Range(0.25, 4))] = 1.0,
    wood: Annotated[Literal["oak", "ash"], Q("", "Wood")] = "oak",
    density: Annotated[
        float, Q("lb/ft^3", "Density", fallback='if wood = "oak" then 45 lb/ft^3 else 42 lb/ft^3')
    ] = FALLBACK,
) -> Plank:
    """What a plank weighs."""
    area = length * width / 144
    return Plank(area, area * thickness / 12 * density)


@dataclass(frozen=True)
class Sag:
    sag: Annotated[float | NoAnswer, Q("in", "Sag at the middle", safe="up", rule="span / 120")]


@calculator(sources=YARD, limits=[Limit("flat", "sag <= 1 in", "the fit of the deck")])
def beam(span: Annotated[float, Q("in", "Free span", valid=POSITIVE)]) -> Sag:
    """How far a deck beam sags; above 60 in nobody has measured."""
    return Sag(span / 120 if span <= 60 else NoAnswer("the span was never tried"))


class Point(NamedTuple):
    head: Annotated[float, Q("ft", "Head")]
    flow: Annotated[float, Q("gal/hr", "Flow")]
    note: Annotated[str, Q("", "Remark")] = ""


@dataclass(frozen=True)
class Curve:
    points: Annotated[int, Q("", "Points of the curve", method="counted")]
    most: Annotated[float, Q("gal/hr", "Largest flow", method="the largest of the curve")]
    sorted: Annotated[tuple[Point, ...], Q("", "The curve by head")]


@calculator(sources=YARD)
def curve(points: Annotated[tuple[Point, ...], Q("", "The pump's curve")]) -> Curve:
    """Read a pump's curve."""
    return Curve(len(points), max(point.flow for point in points), tuple(sorted(points)))


@dataclass(frozen=True)
class Round:
    around: Annotated[float, Q("in", "Length round the section", method="side by side")]


@calculator(sources=YARD)
def girth(section: Annotated[Section, Q("in", "Section")]) -> Round:
    """Length of the line round a section with corners."""
    corners = section.points
    sides = zip(corners, (*corners[1:], corners[0]))
    return Round(sum(((a - c) ** 2 + (b - d) ** 2) ** 0.5 for (a, b), (c, d) in sides))


@dataclass(frozen=True)
class Label:
    text: Annotated[str, Q("", "What the label says")]


@calculator(sources=YARD)
def label(
    words: Annotated[str, Q("", "Words on the label")],
    boxed: Annotated[bool, Q("", "With a frame")] = False,
    copies: Annotated[int, Q("", "How many")] = 1,
) -> Label:
    """Set a label."""
    return Label(" ".join([f"[{words}]" if boxed else words] * copies))


@dataclass(frozen=True)
class Counted:
    half: Annotated[float, Q("in", "Half of it", rule="size / 2")]


@calculator(sources=YARD)
def halve(size: Annotated[float, Q("in", "Size")]) -> Counted:
    """Halve a size, and leave a mark in calls.txt for every call."""
    with Path(__file__).with_name("calls.txt").open("a") as calls:
        calls.write(f"{size:g}\\n")
    return Counted(size / 2)


@calculator(sources=YARD)
def shatter(size: Annotated[float, Q("in", "Size")]) -> Counted:
    """Fail, whatever it is given."""
    return Counted(size / 0)


@hookimpl
def kb_calculators():
    return (plank, beam, curve, girth, label, halve, shatter)
'''


@pytest.fixture
def yard() -> dict[str, str]:
    """Return a plugin with small calculators, as a file of a book."""
    return {"plugins/yard.py": YARD}


@pytest.fixture
def told() -> Callable[[Path], list[str]]:
    """Return a function that gives all that is wrong with a book, in the lines a foreman reads."""

    def lines(book: Path) -> list[str]:
        return [str(problem) for problem in check_book(book).problems]

    return lines


@pytest.fixture
def where() -> Callable[[str, str], str]:
    """Return a function that gives line and column of the first place of some words in a text."""

    def place(text: str, words: str) -> str:
        at = text.index(words)
        line = text.count("\n", 0, at) + 1
        return f"{line}:{at - text.rfind(chr(10), 0, at)}"

    return place
