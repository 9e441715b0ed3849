"""The drawings of an edition: each block's drawn once, and every fence that asks for one looked at."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from kb.calculators.door import DoorError
from kb.calculators.draw import draw
from kb.drawing import Chart, Picture
from kb.language.expression import read_expression
from kb.language.literal import ReadError
from kb.language.quantity import NoAnswer
from kb.numbers.drawings import DrawingFence
from kb.numbers.evaluate import Evaluation
from kb.problem import BookError, Problem, offer


def drawing_of(done: Evaluation, name: str) -> Picture | NoAnswer | None:
    """Return the drawing of a block, drawn once; None where its calculator draws nothing.

    Raises `BookError` where the drawing fails.
    """
    if name not in done.drawings:
        result = done.blocks[name]
        calculator = result.block.calculator
        if calculator.draws is None:
            return None
        try:
            done.drawings[name] = draw(calculator, result.outcome)
        except DoorError as error:
            place = result.block.place
            raise BookError([Problem(place, fault.what, fault.fix) for fault in error.faults]) from error
    return done.drawings[name]


def drawing_problems(done: Evaluation) -> Iterator[Problem]:
    """Go through what is wrong with the drawings of an edition, and with the fences that show them."""
    failed: set[str] = set()
    for name in done.blocks:
        try:
            drawing_of(done, name)
        except BookError as error:
            failed.add(name)
            yield from (replace(problem, edition=done.edition.name) for problem in error.problems)
    for fence in done.graph.bindings.drawings.values():
        if fence.of in failed or not done.in_force(fence.fence.conditions):
            continue
        problem = _fence_problem(done, fence)
        if problem is not None:
            yield replace(problem, edition=done.edition.name)


def _fence_problem(done: Evaluation, fence: DrawingFence) -> Problem | None:
    if fence.of in done.absent:
        block = done.graph.bindings.blocks[fence.of]
        try:
            done.lookup(read_expression(f"{fence.of}.{block.result_names[0]}").tree)  # type: ignore[arg-type]
        except ReadError as error:
            return Problem(fence.of_place, error.what, error.fix)
    if fence.of not in done.blocks or not fence.view:
        return None
    picture = drawing_of(done, fence.of)
    if isinstance(picture, Chart):
        return Problem(fence.view_place, f"'{fence.of}' is a chart without views", "leave view out")
    if picture is None or isinstance(picture, NoAnswer):
        return None
    views = [one.name for one in picture.views]
    if fence.view in views:
        return None
    what = f"the drawing of '{fence.of}' has no view '{fence.view}'"
    return Problem(fence.view_place, what, offer(fence.view, views, f"it has {', '.join(views)}"))
