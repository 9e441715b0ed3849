"""Drawings asked for: what a page's `drawing` fences want to show of which block."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass

from kb.calculators.declare import Calculator
from kb.content.page import Fence, Page
from kb.content.yamltext import Scalar
from kb.problem import Place, Problem, offer

DRAWING_KEYS = ("of", "view", "caption", "public")


@dataclass(frozen=True, slots=True)
class DrawingFence:
    """A `drawing` fence: the block it draws, one view of it or "" for all, and its caption.

    `place`, `of_place` and `view_place` are those of the fence, of the block's name and of the view's.
    """

    of: str
    view: str
    caption: str
    page: Page
    fence: Fence
    of_place: Place
    view_place: Place


def bind_drawing(page: Page, fence: Fence) -> tuple[DrawingFence | None, list[Problem]]:
    """Bind a `drawing` fence: `of: BLOCK`, and if it likes `view: VIEW` and `caption: TEXT`."""
    if fence.body is None:
        return None, []
    problems: list[Problem] = []
    texts: dict[str, Scalar] = {}
    for key, (key_node, node) in fence.body.entries.items():
        if key not in DRAWING_KEYS:
            fix = offer(key, DRAWING_KEYS, f"it takes {', '.join(DRAWING_KEYS)}")
            problems.append(Problem(key_node.place, f"a drawing has no '{key}'", fix))
        elif isinstance(node, Scalar):
            texts[key] = node
        else:
            problems.append(Problem(node.place, f"'{key}' of a drawing is one text", f"write {key}: …"))
    if "of" not in texts:
        if "of" not in fence.body.entries:
            what = "this drawing does not say what it shows"
            problems.append(Problem(fence.place, what, "add a line of: BLOCK, the name of a calc fence"))
        return None, problems
    named = {key: node.text.strip() for key, node in texts.items()}
    of_place = texts["of"].place
    return (
        DrawingFence(
            named["of"],
            named.get("view", ""),
            named.get("caption", ""),
            page,
            fence,
            of_place,
            texts["view"].place if "view" in texts else fence.place,
        ),
        problems,
    )


def block_problem(
    drawing: DrawingFence, calculators: Mapping[str, Calculator], others: Collection[str]
) -> Problem | None:
    """Return what keeps the block that a fence names from being drawn, if anything does.

    Args:
        drawing: the fence.
        calculators: the calculator of every block.
        others: names of fences that could not be bound, which has been told.

    """
    found = calculators.get(drawing.of)
    if found is None:
        if drawing.of in others:
            return None
        drawable = [name for name, one in calculators.items() if one.draws is not None]
        fix = offer(drawing.of, drawable, "name a calc fence whose card has a drawing")
        return Problem(drawing.of_place, f"there is no block '{drawing.of}'", fix)
    if found.draws is None:
        what = f"'{drawing.of}' has no drawing: its calculator {found.name} draws nothing"
        drawing_ones = sorted({one.name for one in calculators.values() if one.draws is not None})
        fix = f"in this book {', '.join(drawing_ones)} draw" if drawing_ones else "leave this fence out"
        return Problem(drawing.of_place, what, fix)
    return None
