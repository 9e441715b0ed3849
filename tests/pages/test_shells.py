"""The command, MkDocs by itself and the small shell write the same site."""

from __future__ import annotations

import shutil
import subprocess
import warnings
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from click.testing import CliRunner
from mkdocs.__main__ import cli as mkdocs

from kb.pages.edition import EditionPages
from kb.reckon import open_book
from kb.shell import write_site
from tests.pages.site_tree import SETTINGS, Site, dead_ends, fill, process, sheet, site_of

if TYPE_CHECKING:
    from tests.conftest import BookMaker, Command

GOOD = {
    "content/p.md": sheet("It is {{ deck.length }}.\n"),
    "content/inputs/model.yml": "deck:\n  length: 48 in\n",
}
WRONG = {"content/q.md": sheet("It is {{ deck.lenght }}.\n", "title: Q")}


def every_file(folder: Path) -> dict[str, bytes]:
    """Return every file of a site, fonts and styles too."""
    return {
        path.relative_to(folder).as_posix(): path.read_bytes() for path in folder.rglob("*") if path.is_file()
    }


def by_small_shell(root: Path, folder: Path) -> dict[str, bytes]:
    opened = open_book(root)
    write_site(EditionPages(opened, opened.evaluate()), folder)
    return every_file(folder)


def by_mkdocs(root: Path) -> dict[str, bytes]:
    """Run `mkdocs build` in this process, where starting another for each book would take long."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # MkDocs warns of its own parts
        ran = CliRunner().invoke(mkdocs, ["build", "--quiet", "-f", str(root / "mkdocs.yml")])
    assert ran.exit_code == 0, ran.output
    return every_file(root / "site/shop")


def differing(one: dict[str, bytes], other: dict[str, bytes]) -> list[str]:
    return sorted(name for name in one.keys() | other.keys() if one.get(name) != other.get(name))


def test_three_shells_write_the_demonstration_book_alike(
    demo: Site, demonstration: Path, tmp_path: Path
) -> None:
    book = tmp_path / "book"
    shutil.copytree(demonstration, book, ignore=shutil.ignore_patterns("site"))
    ran = process("-m", "mkdocs", "build", "--quiet", "--strict", cwd=book)
    assert ran.returncode == 0, ran.stderr

    command = every_file(demo.folder)
    assert differing(command, every_file(book / "site/shop")) == []
    assert differing(command, by_small_shell(demonstration, tmp_path / "small")) == []
    assert {"numbers.json", "board.html", "assets/book.css"} <= command.keys()


BOOKS = {
    "a first page of its own": {"content/index.md": sheet("Welcome to {{ deck.length }}.\n", "title: Hello")},
    "a first page in a folder": {"content/work/index.md": sheet("Work.\n", "title: Work")},
    "odd names": {
        "content/dip rod.md": sheet("Rod.\n", "title: Rod"),
        "content/größe.md": sheet("Rod.\n", "title: Größe"),
        "content/Work/ROD.md": sheet("Rod.\n", "title: Rod"),
        "content/q.md": sheet("![R](<a b/r 1.png>)\n", "title: Q"),
        "content/a b/r 1.png": "",
    },
    "signs in titles": {
        "mkdocs.yml": SETTINGS.replace("A test book", '"Tom & Jo\'s <26>"'),
        "content/q.md": sheet("Q.\n", "title: 'Cut & <turn> \"it\"'"),
    },
    "other settings of MkDocs": {
        "mkdocs.yml": SETTINGS.replace("use_directory_urls: false\n", "")
        + "site_url: https://example.org/book/\nmarkdown_extensions: [admonition, toc]\nnav: [p.md]\n",
        "content/q.md": sheet("Q.\n", "title: Q"),
    },
    "another folder": {
        "mkdocs.yml": SETTINGS.replace("docs_dir: content", "docs_dir: manual"),
        "manual/q.md": sheet("![R](r.png)\n", "title: Q"),
        "manual/r.png": "",
        "content/p.md": "no page\n",
    },
}
ODD = {
    "a page called README": {"content/README.md": sheet("Read me.\n", "title: Read me")},
    "README in a folder": {"content/work/README.md": sheet("Read me.\n", "title: Read me")},
    "a folder called templates": {"content/templates/rod.md": sheet("Rod.\n", "title: Rod")},
    "a page with a dot": {"content/.rod.md": sheet("Rod.\n", "title: Rod")},
    "a picture in templates": {
        "content/q.md": sheet("![R](templates/r.png)\n", "title: Q"),
        "content/templates/r.png": "",
    },
    "a picture with a dot": {"content/q.md": sheet("![R](.r.png)\n", "title: Q"), "content/.r.png": ""},
}


@pytest.mark.parametrize("files", BOOKS.values(), ids=BOOKS.keys())
def test_three_shells_write_any_book_alike(tmp_path: Path, files: dict[str, str]) -> None:
    book = fill(tmp_path / "book", {**GOOD, **files})
    site = site_of(book)

    command = every_file(site.folder)
    assert differing(command, by_small_shell(book, tmp_path / "small")) == []
    assert differing(command, by_mkdocs(book)) == []
    assert dead_ends(site) == []


@pytest.mark.parametrize("files", ODD.values(), ids=ODD.keys())
def test_a_name_that_mkdocs_treats_in_its_own_way_is_refused_or_built_alike(
    tmp_path: Path, keelbook: Command, files: dict[str, str]
) -> None:
    book = fill(tmp_path / "book", {**GOOD, **files})
    ran = keelbook("build", "--site", str(tmp_path / "out"), book=book)

    is_refused = any(name.endswith(("README.md", ".png")) for name in files)
    assert ran.code == (2 if is_refused else 0), ran.err
    if is_refused:
        assert ran.err.startswith("content/")
        return
    built = every_file(tmp_path / "out/shop")
    assert differing(built, by_small_shell(book, tmp_path / "small")) == []
    assert differing(built, by_mkdocs(book)) == []
    assert dead_ends(Site(tmp_path / "out/shop")) == []


def test_mkdocs_does_not_build_a_book_with_an_error_and_leaves_the_last_site(tmp_path: Path) -> None:
    book = fill(tmp_path / "book", GOOD)
    shutil.copytree(site_of(book).folder, book / "site/shop")
    before = every_file(book / "site/shop")
    fill(book, WRONG)

    ran = process("-m", "mkdocs", "build", cwd=book)

    assert ran.returncode != 0
    # Line 4, and `{{ ` after `It is `.
    assert "content/q.md:4:10: " in ran.stderr + ran.stdout
    assert "'deck.length'" in ran.stderr + ran.stdout
    assert "Traceback" not in ran.stderr
    assert every_file(book / "site/shop") == before


def test_the_command_goes_on_where_mkdocs_built(tmp_path: Path, keelbook: Command) -> None:
    book = fill(tmp_path / "book", GOOD)
    assert process("-m", "mkdocs", "build", "--quiet", cwd=book).returncode == 0

    assert keelbook("build", book=book).code == 0


PUBLIC = {
    "mkdocs.yml": SETTINGS.replace("      units: us\n", "      units: us\n      edition: public\n"),
    "content/open.md": sheet("Open.\n", "title: Open\nvisibility: public"),
}


def test_mkdocs_builds_the_public_edition_where_its_settings_say_so(
    settled: BookMaker, keelbook: Command
) -> None:
    book = settled({**GOOD, **PUBLIC})

    assert keelbook("check", book=book) == (0, keelbook("check", book=book).out, "")
    ran = process("-m", "mkdocs", "build", "--quiet", cwd=book)
    assert ran.returncode == 0, ran.stderr
    site = every_file(book / "site/shop")
    assert {name for name in site if not name.startswith("assets/")} == {"index.html", "open.html"}


def git(*args: str, cwd: Path) -> str:
    command = ["git", "-c", "user.name=Jo", "-c", "user.email=jo@example.org", *args]
    return subprocess.run(command, cwd=cwd, check=True, capture_output=True, text=True).stdout


@pytest.mark.skipif(shutil.which("git") is None, reason="git is not here")
def test_mkdocs_sends_no_shop_edition_out_of_the_yard(tmp_path: Path) -> None:
    book, remote = fill(tmp_path / "book", GOOD), tmp_path / "remote"
    git("init", "--quiet", "--bare", str(remote), cwd=tmp_path)
    git("init", "--quiet", cwd=book)
    git("add", ".", cwd=book)
    git("commit", "--quiet", "-m", "Begin", cwd=book)
    git("remote", "add", "origin", str(remote), cwd=book)

    ran = process("-m", "mkdocs", "gh-deploy", cwd=book)

    assert ran.returncode != 0
    assert "public" in ran.stderr + ran.stdout
    assert "Traceback" not in ran.stderr
    assert git("branch", "--list", "--all", "*gh-pages*", cwd=book) == ""
    assert git("branch", "--list", cwd=remote) == ""
