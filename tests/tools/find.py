"""Where the tools stand that tests need and Python's packages do not bring."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import NamedTuple

import pytest

HERE = Path(__file__).parent
MODULES = HERE / "node_modules"
BROWSERS = ("chromium", "chromium-browser", "google-chrome")
ASK = """
from playwright.sync_api import sync_playwright
with sync_playwright() as playwright:
    print(playwright.chromium.executable_path)
"""


class Tool(NamedTuple):
    """A tool: where it is, what rests on it, and how to get it."""

    find: Callable[[], Path | None]
    checks: str
    cure: str


@cache
def browser() -> Path | None:
    """Return the system's Chromium, or else the one that playwright has fetched."""
    for name in BROWSERS:
        found = shutil.which(name)
        if found and _runs(found, "--version"):
            return Path(found)
    # In a process of its own: playwright's event loop would stay with the caller.
    told = subprocess.run([sys.executable, "-c", ASK], capture_output=True, text=True, check=False)
    own = told.stdout.strip()
    return Path(own) if own and _runs(own, "--version") else None


@cache
def java() -> Path | None:
    """Return the Java that runs the HTML checker."""
    found = shutil.which("java")
    return Path(found) if found and _runs(found, "-version") else None


def axe() -> Path | None:
    """Return the script that checks a page for accessibility."""
    return _packed("axe-core", "axe.min.js")


def vnu() -> Path | None:
    """Return the HTML checker; it needs Java to run."""
    return _packed("vnu-jar", "build/dist/vnu.jar")


def spec() -> Path | None:
    """Return the text of the CommonMark specification."""
    return _packed("commonmark-spec", "spec.txt")


NPM_CURE = "make test fetches it where npm (apt install npm) and the network are there"
TOOLS = {
    "browser": Tool(browser, "pages in a browser", "install Chromium (apt install chromium)"),
    "java": Tool(java, "valid HTML", "install Java (apt install default-jre-headless)"),
    "axe": Tool(axe, "accessibility of pages", NPM_CURE),
    "vnu": Tool(vnu, "valid HTML", NPM_CURE),
    "spec": Tool(spec, "the examples of the CommonMark specification", NPM_CURE),
}


def need(name: str) -> Path:
    """Return where a tool is; without it skip the test, or fail it where CI is set."""
    tool = TOOLS[name]
    path = tool.find()
    if path is None:
        reason = f"{name} is missing; {tool.cure}"
        if on_ci():
            pytest.fail(reason, pytrace=False)
        pytest.skip(reason)
    return path


def on_ci() -> bool:
    """Tell whether continuous integration runs this, where nothing may be left out."""
    return os.environ.get("CI", "").lower() not in ("", "0", "false")


def pinned() -> dict[str, str]:
    """Return the npm packages with the version that each must have."""
    packages: dict[str, str] = json.loads((HERE / "package.json").read_text())["dependencies"]
    return packages


def installed(package: str) -> str | None:
    """Return the version of an npm package that is here."""
    path = MODULES / package / "package.json"
    return json.loads(path.read_text())["version"] if path.exists() else None


def _packed(package: str, name: str) -> Path | None:
    path = MODULES / package / name
    return path if path.exists() and installed(package) == pinned()[package] else None


def _runs(*command: str) -> bool:
    """Tell whether a program is more than a stub that says what to install."""
    try:
        return subprocess.run(command, capture_output=True, check=False).returncode == 0
    except OSError:
        return False
