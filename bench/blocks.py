"""Reading and evaluating blocks: one, and a graph of 5,000, beside one pint operation as the yardstick.

Run `make bench`. Target 60 µs a block (read and evaluated, no solver), alarm 200 µs.
"""

from __future__ import annotations

import gc
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from statistics import median

import pint

from kb.content.page import read_page
from kb.reckon import open_book

TARGET, ALARM = 60.0, 200.0
BLOCKS, A_PAGE = 5000, 5

MODEL = """\
tank:
  gross: 88 1/2 gal
  expansion: 7 %
  unusable: 1 1/2 gal
  kind: gasoline
shop:
  hot: 104 degF
"""


def page(number: int) -> str:
    """Return a page of five blocks; each rests on inputs and on the block before it."""
    blocks = []
    for i in range(number * A_PAGE, (number + 1) * A_PAGE):
        gross = "tank.gross" if i % A_PAGE == 0 else f"load_{i - 1}.usable"
        blocks.append(
            f"```calc fuel_load load_{i}\n"
            f"gross: {gross}\nexpansion: tank.expansion\nunusable: tank.unusable\nfuel: tank.kind\n"
            f"hot_temperature: shop.hot\nfill_temperature: {50 + i % 20} degF\n```\n\n"
            f"Fill to {{{{ load_{i}.fill_limit in gal down to 1 }}}}.\n"
        )
    return f"---\ntitle: Page {number}\n---\n\n" + "\n".join(blocks)


def timed(work: Callable[[], object], rounds: int = 5) -> float:
    """Return the median of some runs, in seconds."""
    times = []
    for _ in range(rounds):
        start = time.perf_counter()
        work()
        times.append(time.perf_counter() - start)
    return median(times)


def main() -> int:
    """Print the figures; exit 1 beyond the alarm."""
    gc.disable()  # as the command does
    with tempfile.TemporaryDirectory() as folder:
        root = Path(folder)
        (root / "mkdocs.yml").write_text("site_name: Bench\ndocs_dir: content\n")
        (root / "content/inputs").mkdir(parents=True)
        (root / "content/inputs/model.yml").write_text(MODEL)
        texts = [page(number) for number in range(BLOCKS // A_PAGE)]
        for number, text in enumerate(texts):
            (root / f"content/page-{number}.md").write_text(text)
        opened = open_book(root)
        assert not opened.problems, opened.problems[:3]
        parse = timed(lambda: [read_page(text, "page.md") for text in texts], 3)
        whole = timed(lambda: open_book(root), 3)
        evaluate = timed(opened.evaluate)
        done = opened.evaluate()
        assert len(done.blocks) == BLOCKS
        reading = timed(lambda: _read_bodies(texts), 3)
    registry = pint.UnitRegistry()
    a, b = registry.Quantity(3.0, "inch"), registry.Quantity(4.0, "inch")
    yardstick = timed(lambda: [a * b for _ in range(10_000)]) / 10_000
    each = (reading + evaluate) / BLOCKS * 1e6
    print(f"one pint multiplication                      {yardstick * 1e6:8.1f} µs")
    print(f"block body read and bound                    {reading / BLOCKS * 1e6:8.1f} µs")
    print(f"block evaluated, in a graph of {BLOCKS}          {evaluate / BLOCKS * 1e6:8.1f} µs")
    print(f"block read and evaluated                     {each:8.1f} µs   ({TARGET:.0f}, alarm {ALARM:.0f})")
    print(f"graph of {BLOCKS} blocks, evaluated               {evaluate * 1e3:8.1f} ms")
    print(f"{len(texts)} pages parsed, Markdown and all           {parse * 1e3:8.1f} ms")
    print(f"the same book opened from disk               {whole * 1e3:8.1f} ms")
    return 1 if each > ALARM else 0


def _read_bodies(texts: list[str]) -> int:
    """Read and bind every block's body, without the Markdown around it."""
    from kb.calculators.bind import bind
    from kb.calculators.declare import Calculator
    from kb.content.yamltext import Entries, read_yaml
    from kb_calculators.tanks.fuel import fuel_load

    parameters = Calculator.of(fuel_load).parameters
    count, here = 0, Path()
    for text in texts:
        for body in text.split("```")[1::2]:
            node, _ = read_yaml(body.partition("\n")[2], "page.md", 5)
            assert isinstance(node, Entries)
            for key, (_, value) in node.entries.items():
                bind(parameters[key], value, here, "")
                count += 1
    return count


if __name__ == "__main__":
    sys.exit(main())
