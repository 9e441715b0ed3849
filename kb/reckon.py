"""The way from a yard's folder to numbers, one line a stage. Read this module first."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from pathlib import Path

from kb.calculators.plugins import Plugins, load_plugins
from kb.content.book import MODEL, Book, Edition, read_book
from kb.content.links import check_links
from kb.content.named import name_problems
from kb.numbers.blocks import bind_pages
from kb.numbers.drawn import drawing_problems
from kb.numbers.evaluate import Evaluation
from kb.numbers.graph import Graph, build_graph
from kb.numbers.takeoff import material_uses
from kb.numbers.tolerance import evaluate_with_tolerance
from kb.plan.needs import need_problems
from kb.plan.yard import read_yard
from kb.problem import BookError, Problem
from kb.prose import prose_notes


@dataclass(frozen=True, slots=True)
class OpenBook:
    """A book read and bound, ready to be worked out for any edition; `problems` are those found so far."""

    book: Book
    plugins: Plugins
    graph: Graph
    problems: tuple[Problem, ...]

    def evaluate(self, edition: Edition = MODEL) -> Evaluation:
        """Work one edition out."""
        return evaluate_with_tolerance(self.book, self.graph, edition)


@dataclass(frozen=True, slots=True)
class Checked:
    """A book worked out for every edition: its problems, told once each, and the evaluations by name."""

    opened: OpenBook
    evaluations: tuple[Evaluation, ...]
    problems: tuple[Problem, ...]
    notes: tuple[Problem, ...] = ()
    """What is no error and should be known."""


def open_book(root: Path) -> OpenBook:
    """Read a yard's folder: pages, inputs, plugins, and the graph of numbers."""
    book, problems = read_book(root)
    plugins, plugin_problems = load_plugins(root, book.settings.without)
    bindings, binding_problems = bind_pages(
        book.pages, plugins.calculators, root, book.tables, book.reference
    )
    graph, graph_problems = build_graph(bindings, book)
    needs = need_problems(book.pages, bindings.measures)
    named = (*check_links(book), *name_problems(book))
    found = (*problems, *named, *plugin_problems, *binding_problems, *graph_problems, *needs)
    return OpenBook(book, plugins, graph, found)


def check_book(root: Path) -> Checked:
    """Work out the model, every option alone and every hull, and gather every problem once."""
    opened = open_book(root)
    evaluations = tuple(opened.evaluate(edition) for edition in opened.book.editions())
    told = {(p.place, p.what): p for p in opened.problems}
    for done in evaluations:
        for problem in _of_edition(opened, done):
            told.setdefault((problem.place, problem.what), problem)
    notes = {(p.place, p.what): p for done in evaluations[::-1] for p in done.notes}
    notes.update({(p.place, p.what): p for p in prose_notes(opened.book, evaluations[0])})
    return Checked(opened, evaluations, _in_order(told.values()), _in_order(notes.values()))


def _in_order(problems: Iterable[Problem]) -> tuple[Problem, ...]:
    return tuple(sorted(problems, key=lambda problem: problem.place))


def edition_problems(opened: OpenBook, done: Evaluation) -> list[Problem]:
    """Return all that keeps one edition from being built, each problem once, in the order of places."""
    told = {
        (problem.place, problem.what): problem for problem in (*opened.problems, *_of_edition(opened, done))
    }
    return sorted(told.values(), key=lambda problem: problem.place)


def _of_edition(opened: OpenBook, done: Evaluation) -> Iterator[Problem]:
    """Go through what is wrong with an edition: numbers, live values, materials, the yard's hours."""
    yield from done.problems
    yield from live_problems(opened.book, done)
    yield from drawing_problems(done)
    yield from material_uses(done, opened.graph.bindings.materials)[1]
    for problem in read_yard(done.inputs.values)[1]:
        yield replace(problem, edition=done.edition.name)


def live_problems(book: Book, done: Evaluation) -> list[Problem]:
    """Return what is wrong with the live values of an edition's pages."""
    problems: list[Problem] = []
    for page in book.pages:
        for live in page.live:
            if live.conditions and not done.in_force(live.conditions):
                continue
            try:
                done.show(live)
            except BookError as error:
                problems.extend(Problem(p.place, p.what, p.fix, done.edition.name) for p in error.problems)
    return problems
