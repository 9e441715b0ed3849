"""The published tools and texts that markup is held to."""

from __future__ import annotations

import json
import subprocess
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.tools.find import need

Invalid = Callable[..., list[str]]


@pytest.fixture(scope="session")
def commonmark_spec() -> str:
    """Return the text of the CommonMark specification."""
    return need("spec").read_text(encoding="utf-8")


@pytest.fixture(scope="session")
def invalid() -> Invalid:
    """Return a function that lists what the Nu HTML checker says of files and of all pages in folders."""
    java, checker = need("java"), need("vnu")
    options = ["--stdout", "--exit-zero-always", "--format", "json", "--skip-non-html"]

    def check(*paths: Path) -> list[str]:
        command = [java, "-Xss2m", "-jar", checker, *options, *paths]
        ran = subprocess.run(command, capture_output=True, text=True, encoding="utf-8", check=True)
        return [
            f"{told.get('url', '').removeprefix('file:')}:{told.get('lastLine', 1)}: {told['message']}"
            for told in json.loads(ran.stdout)["messages"]
        ]

    return check
