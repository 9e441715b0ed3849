"""Finding plugins: the installed ones and the book's own `plugins/*.py`."""

from __future__ import annotations

import importlib.util
import inspect
import sys
import traceback
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial
from importlib.metadata import entry_points
from pathlib import Path
from types import ModuleType
from typing import Any

import pluggy

from kb.calculators import hookspecs
from kb.calculators.declare import Calculator, DeclarationError
from kb.problem import Place, Problem, offer

GROUP = "kb.plugins"


@dataclass(frozen=True, slots=True)
class Plugin:
    """A plugin that was loaded: its name, where its code is, its calculators, and what it is for."""

    name: str
    file: str
    calculators: tuple[Calculator, ...]
    does: str = ""


@dataclass(frozen=True, slots=True)
class Plugins:
    """Every plugin, and every calculator by its name."""

    plugins: tuple[Plugin, ...]
    calculators: dict[str, Calculator]


def load_plugins(
    root: Path | None = None, without: Mapping[str, Place] | None = None
) -> tuple[Plugins, list[Problem]]:
    """Load the installed plugins and those of a book; one that fails is a problem, and the rest goes on.

    A plugin is trusted code: loading it runs it.

    Args:
        root: the book's folder, whose `plugins/*.py` are loaded too.
        without: names of plugins that are left out, with the places that say so.

    """
    manager = pluggy.PluginManager(hookspecs.PROJECT)
    manager.add_hookspecs(hookspecs)
    problems: list[Problem] = []
    loaded: list[Plugin] = []
    found = list(_found(root))
    names = [name for name, _, _ in found]
    left_out = without or {}
    for name, place in left_out.items():
        if name not in names:
            fix = offer(name, names, f"the plugins are {', '.join(names)}")
            problems.append(Problem(place, f"there is no plugin '{name}' to leave out", fix))
    for name, file, load in found:
        if name in left_out:
            continue
        plugin = _load(manager, name, file, load, problems)
        if plugin is not None:
            loaded.append(plugin)
    return Plugins(tuple(loaded), _by_name(loaded, problems)), problems


def _found(root: Path | None) -> Iterator[tuple[str, str, Callable[[], ModuleType]]]:
    for entry in sorted(entry_points(group=GROUP), key=lambda one: one.name):
        yield entry.name, entry.value, entry.load
    if root is not None:
        for path in sorted((root / "plugins").glob("*.py")):
            yield path.stem, f"plugins/{path.name}", partial(_from_file, path)


def _from_file(path: Path) -> ModuleType:
    """Run a file as a module; it stands in `sys.modules` first, where dataclasses look for it."""
    name = f"kb_local_{path.stem}"
    spec = importlib.util.spec_from_file_location(name, path)
    if spec is None or spec.loader is None:
        raise ImportError(f"{path.name} is no Python file")
    module = importlib.util.module_from_spec(spec)
    sys.modules[name] = module
    try:
        spec.loader.exec_module(module)
    except BaseException:
        del sys.modules[name]
        raise
    return module


def _load(
    manager: pluggy.PluginManager,
    name: str,
    file: str,
    load: Callable[[], ModuleType],
    problems: list[Problem],
) -> Plugin | None:
    try:
        module = load()
        manager.register(module, name)
    except (Exception, SystemExit) as error:
        problems.append(_failed(name, file, error))
        return None
    if (problem := _unknown_hook(manager, module, name, file)) is not None:
        manager.unregister(module)
        problems.append(problem)
        return None
    try:
        functions = manager.subset_hook_caller(
            "kb_calculators", [other for other in manager.get_plugins() if other is not module]
        )()
        if not functions:
            problems.append(_gives_nothing(module, name, file))
            return None
        declared = [_declared(function, module) for group in functions for function in group]
        calculators = tuple(replace(one, plugin=name) for one in declared)
    except Exception as error:
        problems.append(_failed(name, file, error))
        return None
    does = inspect.getdoc(module) or ""
    return Plugin(name, file, calculators, does.partition("\n")[0])


def _gives_nothing(module: ModuleType, name: str, file: str) -> Problem:
    return Problem(
        Place(file, _hook_line(module)),
        f"the plugin '{name}' gives no calculators: its kb_calculators returns nothing",
        "return a tuple of the functions marked with @calculator",
    )


def _hook_line(module: ModuleType) -> int:
    hook: Any = getattr(module, "kb_calculators", None)
    return hook.__code__.co_firstlineno if hasattr(hook, "__code__") else 1


def _declared(function: Any, module: ModuleType) -> Calculator:
    if not hasattr(function, "__calculator__"):
        name = getattr(function, "__name__", repr(function))
        raise DeclarationError(
            f"{module.__file__}:{_hook_line(module)}: '{name}' is not marked with @calculator"
        )
    return Calculator.of(function)


def _failed(name: str, file: str, error: Exception | SystemExit) -> Problem:
    if isinstance(error, DeclarationError):
        place, _, what = str(error).partition(": ")
        source, _, number = place.rpartition(":")
        return Problem(
            Place(_relative(source, file), int(number)),
            f"the plugin '{name}' declares a calculator wrongly: {what}",
            "mend the declaration; the book goes on without this plugin",
        )
    if isinstance(error, SyntaxError):
        line = error.lineno or 1
    else:
        frames = traceback.extract_tb(error.__traceback__)
        own = [frame for frame in frames if _relative(frame.filename, file) == file]
        line = (own or frames)[-1].lineno or 1 if frames else 1
    return Problem(
        Place(file, line),
        f"the plugin '{name}' failed to load ({type(error).__name__}: {error})",
        "mend it, or leave it out with 'without' in mkdocs.yml; the book goes on without it",
    )


def _relative(source: str, file: str) -> str:
    """Return a plugin's file as the book names it, where it is that file."""
    return file if Path(source).name == Path(file).name or not file.endswith(".py") else source


def _unknown_hook(manager: pluggy.PluginManager, module: ModuleType, name: str, file: str) -> Problem | None:
    known = {"kb_calculators"}
    for attribute in dir(module):
        options = manager.parse_hookimpl_opts(module, attribute)
        if options is not None and (options.get("specname") or attribute) not in known:
            function: Any = getattr(module, attribute)
            return Problem(
                Place(file, function.__code__.co_firstlineno),
                f"the plugin '{name}' implements a hook '{attribute}' that does not exist",
                "there is one hook, kb_calculators",
            )
    if not any(manager.parse_hookimpl_opts(module, one) for one in dir(module)):
        return Problem(
            Place(file),
            f"the plugin '{name}' gives no calculators",
            "write a function kb_calculators marked with @hookimpl that returns them",
        )
    return None


def _by_name(plugins: Sequence[Plugin], problems: list[Problem]) -> dict[str, Calculator]:
    calculators: dict[str, Calculator] = {}
    owners: dict[str, Plugin] = {}
    for plugin in plugins:
        for one in plugin.calculators:
            if one.name in calculators:
                code = one.function.__code__
                problems.append(
                    Problem(
                        Place(plugin.file, code.co_firstlineno),
                        f"two calculators are called '{one.name}':"
                        f" one in '{owners[one.name].name}' and one in '{plugin.name}'",
                        f"rename one of them; '{owners[one.name].name}' is used for now",
                    )
                )
                continue
            calculators[one.name] = one
            owners[one.name] = plugin
    return calculators
