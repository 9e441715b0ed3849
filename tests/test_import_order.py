"""Data flows one way: a module imports only what stands above it."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
ORDER = [
    "kb.problem",
    "kb.language.units",
    "kb.language.quantity",
    "kb.language.literal",
    "kb.language.mentions",
    "kb.language.expression",
    "kb.language.compute",
    "kb.language.show",
    "kb.language.systems",
    "kb.content.yamltext",
    "kb.content.values",
    "kb.content.files",
    "kb.content.tables",
    "kb.content.inputs",
    "kb.content.reference",
    "kb.content.fields",
    "kb.content.reference_files",
    "kb.content.markdown",
    "kb.content.head",
    "kb.content.anchors",
    "kb.content.page",
    "kb.content.passages",
    "kb.content.actions",
    "kb.content.addresses",
    "kb.content.order",
    "kb.content.book",
    "kb.content.svg",
    "kb.content.links",
    "kb.content.named",
    "kb.content.edit",
    "kb.drawing",
    "kb.calculators.section",
    "kb.calculators.declare",
    "kb.calculators.hookspecs",
    "kb.calculators.plugins",
    "kb.calculators.door",
    "kb.calculators.draw",
    "kb.calculators.bind",
    "kb.calculators.judge",
    "kb.calculators.work",
    "kb.calculators.verified",
    "kb.numbers.measures",
    "kb.numbers.materials",
    "kb.numbers.ledger",
    "kb.numbers.drawings",
    "kb.numbers.blocks",
    "kb.numbers.graph",
    "kb.numbers.printed",
    "kb.numbers.windows",
    "kb.numbers.evaluate",
    "kb.numbers.narrowing",
    "kb.numbers.drawn",
    "kb.numbers.tolerance",
    "kb.numbers.packs",
    "kb.numbers.takeoff",
    "kb.numbers.exports",
    "kb.numbers.takeoff_exports",
    "kb.plan.needs",
    "kb.plan.calendar",
    "kb.plan.sequence",
    "kb.plan.yard",
    "kb.plan.work",
    "kb.prose",
    "kb.reckon",
    "kb.pages.skeleton",
    "kb.pages.templates",
    "kb.pages.body",
    "kb.pages.view",
    "kb.pages.wording",
    "kb.pages.lettering",
    "kb.pages.ink",
    "kb.pages.dimensioning",
    "kb.pages.projection",
    "kb.pages.plot",
    "kb.pages.drawings",
    "kb.pages.cards",
    "kb.pages.slips",
    "kb.pages.fences",
    "kb.pages.sheet",
    "kb.pages.holds",
    "kb.pages.weights",
    "kb.pages.takeoff",
    "kb.pages.bars",
    "kb.pages.sequence",
    "kb.pages.lists",
    "kb.pages.catalogue",
    "kb.pages.terms",
    "kb.pages.glossary",
    "kb.pages.search_words",
    "kb.pages.search_sheet",
    "kb.pages.search",
    "kb.pages.edition",
    "kb.shell",
    "kb.site",
    "kb.publish",
    "kb.paper",
    "kb.commands.common",
    "kb.commands.check",
    "kb.commands.numbers",
    "kb.commands.takeoff",
    "kb.commands.uses",
    "kb.commands.calc",
    "kb.commands.made",
    "kb.commands.printing",
    "kb.commands.build",
    "kb.commands.sequence",
    "kb.commands.start",
    "kb.commands.main",
]
ALONE = {
    "pint": {"kb.language.units"},
    "yaml": {"kb.content.yamltext"},
    "markdown_it": {
        "kb.content.markdown",
        "kb.content.anchors",
        "kb.content.page",
        "kb.content.passages",
        "kb.pages.body",
    },
    "mdit_py_plugins": {"kb.content.markdown"},
    "openpyxl": {"kb.numbers.takeoff_exports"},
    "mkdocs": {"kb.site", "kb.commands.build"},
    "kb_calculators": set(),
}


def modules() -> Iterator[tuple[str, Path]]:
    engine = [path for path in sorted((ROOT / "kb").rglob("*.py")) if "starter" not in path.parts]
    for path in engine:
        parts = path.relative_to(ROOT).with_suffix("").parts
        yield ".".join(parts[:-1] if parts[-1] == "__init__" else parts), path


FILES = dict(modules())
PACKAGES = {name for name, path in FILES.items() if path.name == "__init__.py"}


def imports(path: Path) -> set[str]:
    """Return the full names of the modules that a file imports, wherever in it the import stands."""
    found = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            found.update(alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path} has a relative import"
            names = {f"{node.module}.{alias.name}" for alias in node.names}
            found.update(names & FILES.keys() or {node.module or ""})
    return found


def test_every_module_has_its_place_in_the_order() -> None:
    assert sorted(FILES.keys() - PACKAGES) == sorted(ORDER)


@pytest.mark.parametrize("name", ORDER)
def test_a_module_imports_only_what_stands_above_it(name: str) -> None:
    above = set(ORDER[: ORDER.index(name)])

    assert {one for one in imports(FILES[name]) if one.split(".")[0] == "kb"} <= above


@pytest.mark.parametrize("name", sorted(PACKAGES - {"kb"}))
def test_a_package_imports_nothing_of_ours(name: str) -> None:
    assert not {one for one in imports(FILES[name]) if one.split(".")[0] == "kb"}


def test_the_names_for_plugins_come_from_the_language_and_the_calculators() -> None:
    sources = {one.rpartition(".")[0] for one in imports(FILES["kb"]) - {"kb.drawing"}}

    assert sources <= {"kb.language", "kb.calculators"}


@pytest.mark.parametrize("package", sorted(ALONE))
def test_a_package_from_outside_is_known_only_where_it_belongs(package: str) -> None:
    users = {name for name, path in FILES.items() if package in {one.split(".")[0] for one in imports(path)}}

    assert users == ALONE[package]


def test_the_map_for_developers_shows_this_order() -> None:
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    table = text.partition("## The map")[2].partition("\n## ")[0]
    shown, folder = [], ""
    for row in re.findall(r"^\| (`.*?) \|", table, re.MULTILINE):
        for path in re.findall(r"`([\w/]+)\.py`", row):
            folder, _, stem = path.rpartition("/") if "/" in path else (folder, "", path)
            shown.append(f"{folder}/{stem}".replace("/", "."))

    assert shown == [name for name in ORDER if not name.startswith("kb.commands.")]
