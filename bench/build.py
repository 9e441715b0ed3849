"""The whole build beside plain MkDocs: the same pages, whole processes, one after the other in turn.

`python bench/build.py --pages 100` is the short run; without options it takes 100 and 1,000 pages, three
rounds; `--growth` adds 300 and 3,000. Target 0.70 of MkDocs at the largest size, alarm 1.0; growth 1.05,
alarm 1.15.
"""

from __future__ import annotations

import argparse
import cProfile
import gc
import os
import pstats
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from math import log
from pathlib import Path
from statistics import median

from bench.plain import write_plain
from bench.synthetic import write_book

TARGET, ALARM = 0.70, 1.0
GROWTH_TARGET, GROWTH_ALARM = 1.05, 1.15
GROWTH_PAGES = (300, 3000)
PROFILE_PAGES, PROFILE_LINES = 300, 25
OUT = Path(__file__).parent / "out"


@dataclass(slots=True)
class Project:
    """One folder and the command that builds it, with the seconds of every run, on the wall and in use."""

    name: str
    pages: int
    folder: Path
    command: Sequence[str]
    sources: frozenset[str]
    seconds: list[float] = field(default_factory=list)
    busy: list[float] = field(default_factory=list)

    @property
    def middle(self) -> float:
        """The median of its runs, in seconds."""
        return median(self.seconds)

    def run(self) -> None:
        """Build once from nothing but the sources, so that no run leans on an earlier one."""
        for path in self.folder.iterdir():
            if path.name not in self.sources:
                shutil.rmtree(path) if path.is_dir() else path.unlink()
        used, start = _children(), time.perf_counter()
        done = subprocess.run(
            self.command, cwd=self.folder, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, text=True
        )
        self.seconds.append(time.perf_counter() - start)
        self.busy.append(_children() - used)
        if done.returncode:
            sys.exit(f"{self.name}, {self.pages} pages, ended with {done.returncode}:\n{done.stderr[-2000:]}")

    def site(self) -> tuple[int, int, float]:
        """Return how many pages and files it wrote, and their size in megabytes."""
        files = [path for path in (self.folder / "site").rglob("*") if path.is_file()]
        html = sum(path.suffix == ".html" for path in files)
        return html, len(files), sum(path.stat().st_size for path in files) / 1e6


def _children() -> float:
    """Return the processor time of the processes run so far; on a busy machine it says more than the wall."""
    times = os.times()
    return times.children_user + times.children_system


def keelbook_project(root: Path, pages: int, command: str, toleranced: int = 0) -> Project:
    """Write a synthetic book; `command` is what is timed, `build` but for trials."""
    folder = root / f"book-{pages}"
    write_book(folder, pages, toleranced=toleranced)
    program = shutil.which("keelbook", path=str(Path(sys.executable).parent))
    if program is None:
        sys.exit("there is no keelbook beside this Python; run .venv/bin/python bench/build.py")
    name = "keelbook" if command == "build" else f"keelbook {command}"
    return Project(name, pages, folder, (program, "--book", ".", command), _sources(folder))


def plain_project(root: Path, book: Project, *, search: bool) -> Project:
    """Write the same pages for plain MkDocs."""
    folder = root / f"plain-{book.pages}"
    write_plain(book.folder, folder, search=search)
    command = (sys.executable, "-m", "mkdocs", "build", "-q")
    return Project("mkdocs", book.pages, folder, command, _sources(folder))


def _sources(folder: Path) -> frozenset[str]:
    return frozenset(path.name for path in folder.iterdir())


def in_turn(projects: Sequence[Project], rounds: int) -> None:
    """Run every project once a round: what else the machine does then falls on all of them."""
    for number in range(rounds):
        for project in projects:
            project.run()
        runs = ", ".join(f"{one.name} {one.pages}: {one.seconds[-1]:.2f} s" for one in projects)
        print(f"  round {number + 1}: {runs}", file=sys.stderr)


def side_by_side(root: Path, args: argparse.Namespace) -> bool:
    """Print the build beside MkDocs for each size; tell whether the largest is beyond the alarm."""
    ratio = 0.0
    rows = []
    for pages in sorted(args.pages):
        book = keelbook_project(root, pages, args.command, args.toleranced)
        plain = plain_project(root, book, search=args.search)
        in_turn((book, plain), args.rounds)
        if args.command == "build" and book.site()[0] < pages:
            sys.exit(f"keelbook wrote {book.site()[0]} of {pages} pages; its time says nothing")
        ratio = book.middle / plain.middle
        rows += [_row(book, f"{ratio:.2f}"), _row(plain, "1.00")]
        if not args.keep:
            shutil.rmtree(book.folder)
            shutil.rmtree(plain.folder)
    print(f"Whole processes, median of {args.rounds}, one after the other in turn")
    _print_rows(rows)
    print(f"ratio at {max(args.pages)} pages {ratio:.2f}   (target {TARGET:.2f}, alarm {ALARM:.2f})")
    return ratio > ALARM


def growth(root: Path, args: argparse.Namespace) -> bool:
    """Print how the build grows with the pages; tell whether it is beyond the alarm."""
    small, large = (keelbook_project(root, pages, args.command, args.toleranced) for pages in GROWTH_PAGES)
    in_turn((small, large), args.rounds)
    exponent = log(large.middle / small.middle) / log(large.pages / small.pages)
    print("\nGrowth")
    _print_rows([_row(small, ""), _row(large, "")])
    print(f"exponent {exponent:.3f}   (target {GROWTH_TARGET:.2f}, alarm {GROWTH_ALARM:.2f})")
    return exponent > GROWTH_ALARM


_HEAD = ("build", "pages", "seconds", "least", "most", "cpu", "ratio", "pages/s", "html", "files", "MB")


def _row(project: Project, ratio: str) -> tuple[str, ...]:
    html, files, size = project.site()
    times = (project.middle, min(project.seconds), max(project.seconds), median(project.busy))
    seconds = (f"{one:.2f}" for one in times)
    rate = f"{project.pages / project.middle:.0f}"
    return (project.name, str(project.pages), *seconds, ratio, rate, str(html), str(files), f"{size:.1f}")


def _print_rows(rows: Sequence[Sequence[str]]) -> None:
    table = [_HEAD, *rows]
    widths = [max(map(len, column)) for column in zip(*table, strict=True)]
    for name, *cells in table:
        print("  ".join((name.ljust(widths[0]), *map(str.rjust, cells, widths[1:]))))


def profile(root: Path, args: argparse.Namespace) -> None:
    """Print the functions that one build in this process spends most time in."""
    from kb.commands.main import main as keelbook

    book = keelbook_project(root, PROFILE_PAGES, args.command, args.toleranced)
    profiler = cProfile.Profile()
    code: object = 0
    gc.disable()  # as the command does
    profiler.enable()
    try:
        keelbook(["--book", str(book.folder), args.command])
    except SystemExit as end:
        code = end.code
    profiler.disable()
    if code:
        sys.exit(f"keelbook {args.command} ended with {code}")
    pstats.Stats(profiler).strip_dirs().sort_stats("tottime").print_stats(PROFILE_LINES)


@contextmanager
def _folder(keep: bool) -> Iterator[Path]:
    """Give a folder for the books, away again afterwards."""
    OUT.mkdir(exist_ok=True)
    root = Path(tempfile.mkdtemp(prefix="build-", dir=OUT))
    try:
        yield root
    finally:
        if keep:
            print(f"\nkept: {root}")
        else:
            shutil.rmtree(root)


def main() -> int:
    """Print the figures; exit 1 beyond an alarm."""
    args = _arguments()
    beyond = False
    with _folder(args.keep) as root:
        if args.profile:
            profile(root, args)
            return 0
        if args.pages:
            beyond = side_by_side(root, args)
        if args.growth:
            beyond = growth(root, args) or beyond
    return int(beyond)


def _arguments() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description="Time the build beside plain MkDocs.")
    parser.add_argument(
        "--pages", type=int, nargs="*", default=[100, 1000], help="sizes; none with --growth alone"
    )
    parser.add_argument("--rounds", type=int, default=3)
    parser.add_argument("--growth", action="store_true", help="time 300 and 3,000 pages too")
    parser.add_argument("--profile", action="store_true", help="only profile one build of 300 pages")
    parser.add_argument("--search", action="store_true", help="let MkDocs write its search index")
    parser.add_argument("--toleranced", type=int, default=0, metavar="N", help="inputs with a tolerance")
    parser.add_argument("--command", default="build", help="time another command, such as check")
    parser.add_argument("--keep", action="store_true", help="leave the books and sites")
    return parser.parse_args()


if __name__ == "__main__":
    sys.exit(main())
