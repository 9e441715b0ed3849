"""The wheel and the sdist, built, looked into, and used in an environment that has nothing else."""

from __future__ import annotations

import os
import subprocess
import sys
import tarfile
import venv
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
_VALUES = ("gross=100 gal", "expansion=5 %", "fuel=diesel")


@pytest.fixture(scope="module")
def built(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Build both distributions into a folder of their own."""
    out = tmp_path_factory.mktemp("dist")
    command = [sys.executable, "-m", "build", "--no-isolation", "--outdir", str(out), str(ROOT)]
    subprocess.run(command, check=True, capture_output=True)
    return out


def test_the_wheel_holds_three_packages_and_nothing_else(built: Path) -> None:
    with zipfile.ZipFile(next(built.glob("*.whl"))) as wheel:
        names = wheel.namelist()

    tops = {name.split("/")[0] for name in names if ".dist-info" not in name}
    assert tops == {"kb", "kb_calculators", "kb_theme"}
    assert "kb/language/units.txt" in names
    assert {"kb/starter/mkdocs.yml", "kb/demonstration/mkdocs.yml"} <= set(names)
    assert {"kb/demonstration/content/first-day.md", "kb_theme/main.html"} <= set(names)


def test_the_sdist_holds_no_environment_and_no_site(built: Path) -> None:
    with tarfile.open(next(built.glob("*.tar.gz"))) as sdist:
        names = [name.split("/", 1)[1] for name in sdist.getnames() if "/" in name]

    assert not [name for name in names if name.startswith((".venv", "site/", "dist/", ".git/"))]
    assert {"Makefile", "mkdocs.yml", "content/inputs/model.yml", "LICENSE"} <= set(names)


@pytest.mark.slow
def test_the_wheel_works_in_an_empty_environment(built: Path, tmp_path: Path) -> None:
    home, work = tmp_path / "environment", tmp_path / "work"
    work.mkdir()
    venv.create(home, with_pip=True)
    programs = home / ("Scripts" if os.name == "nt" else "bin")
    install = [str(programs / "python"), "-m", "pip", "install", "--quiet", str(next(built.glob("*.whl")))]
    subprocess.run(install, check=True, capture_output=True)

    def ran(*command: object, at: Path = work) -> str:
        finished = subprocess.run([*map(str, command)], cwd=at, check=False, capture_output=True, text=True)
        assert finished.returncode == 0, finished.stdout + finished.stderr
        return finished.stdout

    command = programs / "keelbook"
    assert "fill_limit   95.0 gal" in ran(command, "calc", "fuel_load", *_VALUES)
    ran(command, "--book", ROOT, "check", "--strict")
    for book, more in ((work / "small", ()), (work / "demonstration", ("--demonstration",))):
        ran(command, "start", book, *more)
        ran(command, "check", "--strict", at=book)
        ran(command, "build", "--strict", at=book)
        ran(programs / "python", "-m", "mkdocs", "build", "-q", "--site-dir", "other", at=book)
        assert (book / "site/shop/index.html").read_bytes() == (book / "other/index.html").read_bytes()
    assert "@font-face" in (work / "small/site/shop/assets/fonts.css").read_text()
