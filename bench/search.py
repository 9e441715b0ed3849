"""The search in a real browser: from opening it and typing a query to the first result, pages from a disk.

Without options it takes books of 1,000 and 3,000 pages. Targets 100 ms and 250 ms, alarm 500 ms. Beside it
stands a general search library over the same texts, where `tests/tools` has one.
"""

from __future__ import annotations

import argparse
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator, Sequence
from pathlib import Path
from statistics import median

from playwright.sync_api import Browser, sync_playwright

from bench.synthetic import write_book
from tests.tools.find import need

TARGETS = {1000: 100, 3000: 250}
ALARM = 500
QUERIES = (
    "bed the hose",
    "limber holes",
    "S-0042",
    "fill limit",
    "starboard bulkhead hinge rail",
    "bulkhed clampp",
    "1 1/2 gal",
    "resin before it warms",
)
OUT = Path(__file__).parent / "out"
LIBRARY = Path(__file__).parents[1] / "tests/tools/node_modules/minisearch/dist/umd/index.js"
FIRST = """(query) => new Promise((done) => {
  const start = performance.now();
  new MutationObserver(() => {
    if (document.querySelector('.search a.find')) { done(performance.now() - start); }
  }).observe(document.documentElement, { childList: true, subtree: true });
  document.dispatchEvent(new KeyboardEvent('keydown', { key: '/', cancelable: true }));
  const field = document.getElementById('search-field');
  field.value = query;
  field.dispatchEvent(new Event('input'));
})"""
NEXT = """(query) => {
  const field = document.getElementById('search-field');
  const letters = [...query].map((_, at) => query.slice(0, at + 1));
  return Promise.all([letters.reduce((before, text) => before.then((times) => new Promise((done) => {
    const start = performance.now();
    new MutationObserver((_, watch) => { watch.disconnect(); done([...times, performance.now() - start]); })
      .observe(document.querySelector('.search-told'), { childList: true });
    field.value = text;
    field.dispatchEvent(new Event('input'));
  })), Promise.resolve([]))]).then(([times]) => times);
}"""
OTHER = """({ entries, query }) => {
  const start = performance.now();
  const other = new MiniSearch({ fields: ['title', 'text'] });
  other.addAll(entries);
  const made = JSON.stringify(other);
  const indexed = performance.now();
  const loaded = MiniSearch.loadJSON(made, { fields: ['title', 'text'] });
  const read = performance.now();
  loaded.search(query, { prefix: true, fuzzy: 0.2, combineWith: 'AND' });
  return [indexed - start, performance.now() - indexed, made.length / 1e6];
}"""
ENTRIES = """() => {
  const found = [];
  keelbookSearch.take = (data) => data.entries.split('\\n').forEach((line, id) => {
    const [, , mark, title, text] = line.split('\\t');
    found.push({ id, title, text: `${mark} ${text}` });
  });
  return new Promise((done) => {
    const script = document.createElement('script');
    script.src = 'assets/search-index.js';
    script.onload = () => done(found);
    document.head.append(script);
  });
}"""


def built(root: Path, pages: int) -> Path:
    """Build a synthetic book, and return its first page."""
    folder = root / f"book-{pages}"
    write_book(folder, pages)
    program = Path(sys.executable).parent / "keelbook"
    subprocess.run([program, "--book", folder, "build"], check=True, stdout=subprocess.DEVNULL)
    return folder / "site/shop/index.html"


def first_results(browser: Browser, first: Path, rounds: int) -> Iterator[float]:
    """Go through the milliseconds to the first result, each in a browser page that has loaded nothing yet."""
    for query in QUERIES * rounds:
        page = browser.new_page()
        page.goto(first.as_uri())
        yield page.evaluate(FIRST, query)
        page.close()


def letters(browser: Browser, first: Path) -> list[float]:
    """Return the milliseconds from each letter of the queries to what it finds, once the data is there."""
    page = browser.new_page()
    page.goto(first.as_uri())
    page.evaluate(FIRST, QUERIES[0])
    times = [one for query in QUERIES for one in page.evaluate(NEXT, query)]
    page.close()
    return times


def beside(browser: Browser, first: Path) -> tuple[float, float, float]:
    """Return of the other library: milliseconds to index, to load and search, and megabytes of its index."""
    page = browser.new_page()
    page.goto(first.as_uri())
    entries = page.evaluate(ENTRIES)
    page.evaluate(LIBRARY.read_text(encoding="utf-8"))
    indexing, searching, size = page.evaluate(OTHER, {"entries": entries, "query": QUERIES[0]})
    page.close()
    return indexing, searching, size


def measured(browser: Browser, root: Path, pages: int, args: argparse.Namespace) -> bool:
    """Print the figures of one size; tell whether they are beyond the alarm."""
    start = time.perf_counter()
    first = built(root, pages)
    size = (first.parent / "assets/search-index.js").stat().st_size / 1e6
    print(f"\n{pages} pages, built in {time.perf_counter() - start:.0f} s, the data {size:.1f} MB")
    opening = list(first_results(browser, first, args.rounds))
    target = TARGETS.get(pages, max(TARGETS.values()))
    _say("opening to first result", opening, f"target {target} ms, alarm {ALARM} ms")
    _say("each further letter", letters(browser, first), "")
    if LIBRARY.is_file():
        indexing, searching, other = beside(browser, first)
        made = f"index {other:.1f} MB made in {indexing:.0f} ms"
        print(f"  minisearch: load and search {searching:.0f} ms, {made}")
    else:
        print("  minisearch is not in tests/tools: nothing to stand beside")
    return median(opening) > ALARM


def _say(what: str, times: Sequence[float], aim: str) -> None:
    text = f"  {what}: median {median(times):.0f} ms, least {min(times):.0f}, most {max(times):.0f}"
    print(f"{text}   ({aim})" if aim else text)


def main() -> int:
    """Print the figures; exit 1 beyond the alarm."""
    parser = argparse.ArgumentParser(description="Time the search in Chromium.")
    parser.add_argument("--pages", type=int, nargs="*", default=sorted(TARGETS))
    parser.add_argument("--rounds", type=int, default=2)
    args = parser.parse_args()
    OUT.mkdir(exist_ok=True)
    beyond = False
    with tempfile.TemporaryDirectory(prefix="search-", dir=OUT) as folder, sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=need("browser"), args=["--no-sandbox"])
        for pages in args.pages:
            beyond = measured(browser, Path(folder), pages, args) or beyond
        browser.close()
    return int(beyond)


if __name__ == "__main__":
    sys.exit(main())
