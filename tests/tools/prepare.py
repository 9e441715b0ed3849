"""Fetch what the tests need beside Python's packages, and say what is left out for want of it.

`python -m tests.tools.prepare` fetches and says; with `--only-say` it fetches nothing.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys

import click

from tests.tools import find


def main() -> None:
    """Fetch what is missing where the machine can, then say what still is."""
    if "--only-say" not in sys.argv[1:]:
        _fetch_packages()
        _fetch_browser()
    _say_what_is_left_out()


def _fetch_packages() -> None:
    if all(find.installed(name) == version for name, version in find.pinned().items()):
        return
    npm = shutil.which("npm")
    if npm is None:
        return
    # No package's own script runs: all that the tests read lies in the packages as they come.
    quiet = ["--ignore-scripts", "--no-audit", "--no-fund", "--loglevel=error"]
    _try("The npm packages of tests/tools", [npm, "ci", *quiet], cwd=str(find.HERE))


def _fetch_browser() -> None:
    if find.browser() is not None:
        return
    # The full Chromium, since a system's browser is one too: both start in the same way.
    command = [sys.executable, "-m", "playwright", "install", "--no-shell", "chromium"]
    _try("Playwright's Chromium", command)
    find.browser.cache_clear()


def _try(what: str, command: list[str], cwd: str | None = None) -> None:
    env = {"PLAYWRIGHT_DOWNLOAD_CONNECTION_TIMEOUT": "10000", **os.environ}
    click.echo(f"{what}: fetching")
    try:
        ran = subprocess.run(command, cwd=cwd, env=env, capture_output=True, text=True, check=False)
    except OSError as error:
        click.echo(f"{what}: {error}")
        return
    if ran.returncode:
        said = (ran.stderr or ran.stdout).strip().splitlines() or [f"exit {ran.returncode}"]
        click.echo(f"{what} could not be fetched: {said[0]}")


def _say_what_is_left_out() -> None:
    missing = {name: tool for name, tool in find.TOOLS.items() if tool.find() is None}
    if not missing:
        return
    fate = "FAILS, since CI is set" if find.on_ci() else "is left out"
    click.echo(f"\nThis machine lacks tools, so what rests on them {fate}:")
    for name, tool in missing.items():
        click.echo(f"  {name}: {tool.checks}; {tool.cure}")
    click.echo("On Debian, all at once: apt install chromium default-jre-headless npm")


if __name__ == "__main__":
    main()
