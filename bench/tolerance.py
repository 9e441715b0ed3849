"""What tolerance costs: an edition worked out with 0, 5, 20 and 80 toleranced inputs, beside the plain one.

`python bench/tolerance.py [--pages 300]`. The cost is that of the blocks that rest on the inputs, twice each,
and of at most 256 corners, not of the whole book again and again.
"""

from __future__ import annotations

import argparse
import gc
import shutil
import tempfile
import time
from pathlib import Path
from statistics import median

from bench.synthetic import write_book
from kb.content.book import MODEL
from kb.numbers.evaluate import evaluate
from kb.numbers.tolerance import evaluate_with_tolerance
from kb.reckon import open_book

OUT = Path(__file__).parent / "out"


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--pages", type=int, default=300)
    parser.add_argument("--rounds", type=int, default=3)
    chosen = parser.parse_args()
    OUT.mkdir(exist_ok=True)
    print(f"{chosen.pages} pages, median of {chosen.rounds}")
    print("toleranced  plain ms  with tolerance ms  ratio")
    for toleranced in (0, 5, 20, 80):
        folder = Path(tempfile.mkdtemp(dir=OUT))
        try:
            write_book(folder, chosen.pages, toleranced=toleranced)
            plain, whole = times(folder, chosen.rounds)
        finally:
            shutil.rmtree(folder)
        print(f"{toleranced:10}  {plain:8.0f}  {whole:17.0f}  {whole / plain:5.1f}")


def times(folder: Path, rounds: int) -> tuple[float, float]:
    """Return the milliseconds of an evaluation without and with tolerance."""
    opened = open_book(folder)
    plain, whole = [], []
    gc.disable()
    for _ in range(rounds):
        start = time.perf_counter()
        evaluate(opened.book, opened.graph, MODEL)
        middle = time.perf_counter()
        evaluate_with_tolerance(opened.book, opened.graph, MODEL)
        plain.append((middle - start) * 1e3)
        whole.append((time.perf_counter() - middle) * 1e3)
    gc.enable()
    return median(plain), median(whole)


if __name__ == "__main__":
    main()
