"""Synthetic books for the speed figures: shop prose, steps, tables, five blocks a page, the same for a seed.

`python bench/synthetic.py DIR --pages 100` writes one to look at.
"""

from __future__ import annotations

import argparse
import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from random import Random

PAGES_A_STAGE, FEWEST_STAGES = 40, 4

_SIDES = ("port", "starboard", "forward", "aft", "centre")
_PARTS = ("bilge", "locker", "bulkhead", "stringer", "hatch", "sole", "transom", "bunk", "well")
_THINGS = ("bracket", "backing plate", "liner", "coaming", "hinge rail", "cleat pad", "drain", "access lid",
           "hose run", "cable tray", "filler piece", "landing", "knee", "seal")  # fmt: skip
_VERBS = ("Fit", "Bed", "Laminate", "Align", "Close", "Drill", "Bond", "Trim", "Install", "Test")
_STAGES = ("moulds", "laminate", "frames", "bonding", "fuel", "water", "waste", "wiring", "pumps", "deck")
_PROTECTION = ("safety glasses", "nitrile gloves", "half-mask respirator", "hearing protection",
               "cut-resistant gloves", "disposable suit")  # fmt: skip
_TOOLS = ("tape with 1/16 in marks", "straightedge 4 ft", "scale to 50 lb", "bevel gauge", "torque wrench",
          "hole saw 2 in", "moisture meter", "soft mallet", "feeler gauge", "stick thermometer")  # fmt: skip
_GOODS = ("chopped mat", "woven roving", "peel ply", "bedding compound", "epoxy putty", "hose clamp",
          "fuel hose", "machine screw", "backing plate", "foam sheet", "gel coat", "tie layer",
          "masking tape", "nylon washer", "heat shrink", "sealant")  # fmt: skip
_UNITS = ("pcs", "ft", "sheets", "lb", "rolls", "tubes")

_ADJECTIVES = ("dry", "clean", "marked", "bare", "sanded", "primed", "tabbed", "cured", "scribed", "outer",
               "inner", "lower", "upper", "matching", "numbered", "spare")  # fmt: skip
_NOUNS = ("flange", "batten", "template", "fillet", "laminate", "hose", "clamp", "gasket", "fastener",
          "washer", "landing", "coaming", "cable", "fitting", "tube", "panel edge", "core", "skin", "liner",
          "tab", "datum line", "test plug", "drain hole", "wire loom", "limber hole", "lid")  # fmt: skip
_ACTIONS = ("set", "clamp", "dry-fit", "bed", "scribe", "trim", "wipe", "prime", "tape", "align",
            "lift", "refit", "tighten", "gauge", "label", "photograph", "mask", "abrade")  # fmt: skip
_WHERE = ("on the datum line", "against the bulkhead", "under the deck edge", "at every station mark",
          "along the chine", "behind the access lid", "over the limber holes", "between the stringers",
          "at both ends", "beside the hose run", "clear of the exhaust", "below the waterline")  # fmt: skip
_HOW = ("with even pressure", "by hand only", "in two passes", "without twisting the hose",
        "until the squeeze-out is even", "before the resin warms", "from the middle outward",
        "with the long batten", "while the second person holds the light", "one side at a time")  # fmt: skip
_WHY = ("so that water finds the drain", "because nobody reaches it later", "so that the lid still opens",
        "since the core soaks up what it is given", "so that the load path stays true",
        "because the sender moves with the hull", "so that the next crew finds it dry")  # fmt: skip
_STATES = ("sits flat", "rings solid", "moves freely", "shows no gap", "is tacky", "is hard to a thumbnail",
           "has cooled", "reads dry", "clears the frame", "is square to the keel")  # fmt: skip
_FAULTS = ("stands proud", "rocks", "weeps", "shows a void", "is short at one end", "smells of solvent",
           "has lifted", "is out of square", "carries dust")  # fmt: skip
_PEOPLE = ("the foreman", "the laminator", "the rigger", "the electrician", "the next crew", "the store")
_WORD = re.compile(r"[A-Za-z0-9][\w'/-]*")


@dataclass(frozen=True, slots=True)
class Sheet:
    """One page to be written: its place in the book, and the part of the boat whose inputs it uses."""

    number: int
    stage: str
    title: str
    part: str

    @property
    def id(self) -> str:
        """Its file's name."""
        return f"{self.title.lower().replace(' ', '-')}-{self.tag}"

    @property
    def tag(self) -> str:
        """What makes its blocks' names its own."""
        return f"{self.number:04}"


def write_book(folder: Path, pages: int, seed: int = 1, toleranced: int = 0) -> list[Sheet]:
    """Write a yard's folder; `toleranced` inputs of the model get a tolerance."""
    sheets = plan(pages, seed)
    content = folder / "content"
    (content / "inputs").mkdir(parents=True)
    (folder / "mkdocs.yml").write_text(_settings(stages(pages)), encoding="utf-8")
    (content / "inputs/yard.yml").write_text(_YARD, encoding="utf-8")
    (content / "inputs/model.yml").write_text(_model(Random(f"{seed} model"), toleranced), encoding="utf-8")
    for sheet in sheets:
        path = content / f"procedures/{sheet.stage}/{sheet.id}.md"
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(_Writer(sheet, sheets, Random(f"{seed} {sheet.number}")).page(), encoding="utf-8")
    return sheets


def plan(pages: int, seed: int) -> list[Sheet]:
    """Choose every sheet's stage, title and part, so that any page can link to any other."""
    random = Random(f"{seed} plan")
    names = stages(pages)
    sheets = []
    for number in range(pages):
        side, part = random.choice(_SIDES), random.choice(_PARTS)
        title = f"{random.choice(_VERBS)} the {side} {part} {random.choice(_THINGS)}"
        sheets.append(Sheet(number, names[number * len(names) // pages], title, f"{side}_{part}"))
    return sheets


def stages(pages: int) -> list[str]:
    """Return the names of the stages, about forty pages each."""
    count = max(FEWEST_STAGES, round(pages / PAGES_A_STAGE))
    return [f"{_STAGES[i % len(_STAGES)]}-{i + 1:02}" for i in range(count)]


def _settings(names: Sequence[str]) -> str:
    return (
        "site_name: Synthetic build manual\n"
        "docs_dir: content\nsite_dir: site/shop\nuse_directory_urls: false\n"
        "theme: keelbook\n"
        f"plugins:\n  - keelbook:\n      units: us\n      stages: [{', '.join(names)}]\n"
    )


_YARD = """\
# Invented, as every number of this book.
shop:
  hot_day: 104 degF
  cold_day: 50 degF
  expansion: 7 %
  unusable: 1 1/2 gal
  resin_share: 40 %
  glass: 0.12 lb/ft^2
  overlap: 2 in
  waste: 12 %
  sheet: 32 ft^2
  pot_life: 18 min
  coat: 150 ft^2/gal
  batch: 2 lb
  gasoline: gasoline
  diesel: diesel
  sanding: 8 min
  screw_pitch: 4 in
  tube: 5 in
  bench: 36 in
  clamp_pitch: 6 in
  largest: 400 ft^2
"""


def _model(random: Random, toleranced: int) -> str:
    lines = []
    left = toleranced
    for part in (f"{side}_{part}" for side in _SIDES for part in _PARTS):
        lines.append(f"{part}:")
        for name, value, tolerance in _part_inputs(random):
            lines.append(f"  {name}: {value}{f' ± {tolerance}' if left > 0 else ''}")
            left -= 1
    return "\n".join(lines) + "\n"


def _part_inputs(random: Random) -> Iterator[tuple[str, str, str]]:
    for name, least, most in (("length", 34, 60), ("width", 18, 30), ("depth", 14, 24)):
        fraction = random.choice(("", " 1/8", " 1/4", " 1/2", " 3/4"))
        yield name, f"{random.randint(least, most)}{fraction} in", "1/16 in"
    yield "margin", f"{random.randint(6, 14)} %", "1/2 %"


class _Writer:
    """Writes one page; every choice comes from the page's own random numbers."""

    def __init__(self, sheet: Sheet, sheets: Sequence[Sheet], random: Random) -> None:
        self.sheet, self.sheets, self.random = sheet, sheets, random
        self.tag, self.part = sheet.tag, sheet.part
        # Only earlier pages, not far back, so that nothing runs in a circle and few pages rest on one input.
        reach = range(max(0, sheet.number - PAGES_A_STAGE), sheet.number)
        self.earlier = sheets[random.choice(reach)].tag if reach else None

    def page(self) -> str:
        parts = [self.head(), self.opening(), self.warning(), "## Materials", self.materials(),
                 self.area(), self.inside(), self.text(38), "## Steps", self.load(), self.steps(),
                 "### While it cures", self.text(52), "## Checks", self.checks(), self.reserve(),
                 self.check_table(), self.why(), "## Sign off", self.order(), self.closing()]  # fmt: skip
        return "\n\n".join(parts) + "\n"

    def head(self) -> str:
        crew, time = self.random.randint(1, 3), self.random.choice(("45 min", "1 hr", "1 1/2 hr", "3 hr"))
        protection = ", ".join(self.random.sample(_PROTECTION, 2))
        tools = ", ".join(self.random.sample(_TOOLS, 4))
        return (
            f"---\ntitle: {self.sheet.title}\nnumber: S-{self.tag}\nstage: {self.sheet.stage}\n"
            f"crew: {crew}\ntime: {time}\nprotection: [{protection}]\ntools: [{tools}]\n---"
        )

    # The words

    def sentence(self) -> str:
        pick = self.random.choice
        patterns: tuple[Callable[[], str], ...] = (
            lambda: f"{pick(_ACTIONS)} the {pick(_ADJECTIVES)} {pick(_NOUNS)} {pick(_WHERE)} {pick(_HOW)}.",
            lambda: (
                f"before you {pick(_ACTIONS)} the {pick(_NOUNS)}, {pick(_ACTIONS)} the {pick(_ADJECTIVES)} "
                f"{pick(_NOUNS)} {pick(_WHERE)}, {pick(_WHY)}."
            ),
            lambda: (
                f"the {pick(_NOUNS)} is right when it {pick(_STATES)} and the {pick(_NOUNS)} {pick(_STATES)}."
            ),
            lambda: (
                f"where the {pick(_ADJECTIVES)} {pick(_NOUNS)} {pick(_FAULTS)}, {pick(_ACTIONS)} it "
                f"{pick(_HOW)} and tell {pick(_PEOPLE)}."
            ),
            lambda: f"{pick(_PEOPLE)} will {pick(_ACTIONS)} the {pick(_NOUNS)} {pick(_WHERE)} {pick(_WHY)}.",
            lambda: (
                f"do *not* {pick(_ACTIONS)} the {pick(_NOUNS)} {pick(_WHERE)} until the **{pick(_NOUNS)}** "
                f"{pick(_STATES)}."
            ),
            lambda: (
                f"take tool `T-{self.random.randint(10, 99)}` and {pick(_ACTIONS)} the {pick(_NOUNS)} "
                f"{pick(_HOW)}."
            ),
        )
        text = pick(patterns)()
        return text[0].upper() + text[1:]

    def text(self, words: int, *more: str, indent: str = "") -> str:
        """Return sentences of about so many words, with some others at their end, one a line."""
        sentences = []
        while words > 0:
            sentences.append(self.sentence())
            words -= len(_WORD.findall(sentences[-1]))
        return f"\n{indent}".join((*sentences, *more))

    def link(self) -> str:
        near = self.sheet.number + self.random.choice((-1, 1)) * self.random.randint(1, 60)
        other = self.sheets[near % len(self.sheets)]
        folder = "" if other.stage == self.sheet.stage else f"../{other.stage}/"
        return f"[{other.title.lower()}]({folder}{other.id}.md)"

    # The parts of the page, in their order

    def opening(self) -> str:
        inside = f"The space is {{{{ {self.part}.length }}}} by {{{{ {self.part}.width }}}} inside."
        return self.text(48, inside, f"First {self.link()}.")

    def warning(self) -> str:
        title = self.random.choice(("Hot work", "Solvent", "Pinched fingers", "Fumes below deck"))
        return f":::warning {title}\n{self.text(32)}\n:::"

    def materials(self) -> str:
        rows = ["| Item | Quantity | Unit | Note |", "| --- | ---: | --- | --- |"]
        for goods in self.random.sample(_GOODS, 6):
            count, unit = self.random.randint(1, 40), self.random.choice(_UNITS)
            rows.append(f"| {goods} | {count} | {unit} | {self.random.choice(_WHERE)} |")
        rows.append(f"| resin | {{{{ area_{self.tag}.resin in lb up to 0.1 }}}} | | for one side |")
        return "\n".join(rows)

    def steps(self) -> str:
        load, inside = f"load_{self.tag}", f"inside_{self.tag}"
        endings = {
            2: f"The edge is {{{{ area_{self.tag}.edge in ft to 0.1 }}}} long.",
            4: f"It must hold {{{{ {inside}.volume in gal }}}}, dipped {{{{ {self.part}.depth }}}} deep.",
            5: f"This was made ready when you {self.link()}.",
            7: f"Fill to {{{{ {load}.fill_limit in gal down to 1 }}}} and no further.",
            9: f"Write on the card: usable {{{{ {load}.usable in gal down to 1 }}}}, "
            f"mass {{{{ {load}.mass_full in lb up to 5 }}}}.",
        }
        return "\n\n".join(
            f"{step}. {self.text(19, *((endings[step],) if step in endings else ()), indent='   ')}"
            for step in range(1, 11)
        )

    def checks(self) -> str:
        growth = f"On a hot day it grows by {{{{ load_{self.tag}.heat_growth in gal }}}}."
        return self.text(46, growth, f"Compare with what you wrote when you {self.link()}.")

    def check_table(self) -> str:
        reserve = f"reserve_{self.tag}"
        rows = [
            "| Check | Value | By |",
            "| --- | --- | --- |",
            f"| reserve | {{{{ {reserve}.usable in gal down to 0.5 }}}} | {self.random.choice(_PEOPLE)} |",
            f"| air space | {{{{ {reserve}.air_space in gal }}}} | {self.random.choice(_PEOPLE)} |",
        ]
        rows += [
            f"| {self.random.choice(_NOUNS)} {self.random.choice(_STATES)} | yes | {who} |"
            for who in self.random.sample(_PEOPLE, 3)
        ]
        return "\n".join(rows)

    def why(self) -> str:
        return f":::why\n{self.text(48)}\n:::"

    def closing(self) -> str:
        block = f"order_{self.tag}"
        order = f"Order {{{{ {block}.sheets up to 1 }}}} sheets for {{{{ {block}.total in ft^2 }}}}."
        return self.text(34, order, f"Next, {self.link()}.")

    # The blocks

    def area(self) -> str:
        part = self.part
        return self.block(
            f"formula area_{self.tag}",
            "What is laid up",
            f"panel: {part}.length * {part}.width in ft^2",
            f"edge: 2 * ({part}.length + {part}.width + 2 * shop.overlap) in ft",
            f"mass: panel * shop.glass * {self.random.randint(2, 6)} * (1 + shop.waste) in lb",
            "resin: mass * shop.resin_share / (1 - shop.resin_share) in lb",
        )

    def inside(self) -> str:
        part = self.part
        lost = self.random.choice(("1/4 in", "3/8 in", "1/2 in"))
        return self.block(
            f"formula inside_{self.tag}",
            "What the space holds",
            f"deep: max({part}.depth - {lost}, 6 in)",
            f"volume: {part}.length * {part}.width * deep * (1 - {part}.margin) in gal",
        )

    def load(self) -> str:
        return self.block(
            f"fuel_load load_{self.tag}",
            "What the tank takes",
            f"gross: inside_{self.tag}.volume",
            "expansion: shop.expansion",
            "unusable: shop.unusable",
            "fuel: shop.gasoline",
            "hot_temperature: shop.hot_day",
        )

    def reserve(self) -> str:
        held = f"load_{self.earlier or self.tag}.usable / 2"
        return self.block(
            f"fuel_load reserve_{self.tag}",
            "What stays in reserve",
            f"gross: {held}",
            f"expansion: {self.random.randint(6, 10)} %",
            f"unusable: {self.random.choice(('1/2 gal', '0.4 gal', '3/4 gal'))}",
            "fuel: shop.diesel",
            f"fill_temperature: {self.random.randint(50, 70)} degF",
        )

    def order(self) -> str:
        before = f" + order_{self.earlier}.total / 4" if self.earlier and self.random.random() < 0.4 else ""
        return self.block(
            f"formula order_{self.tag}",
            "What to order",
            f"total: area_{self.tag}.panel * (1 + shop.waste){before} in ft^2",
            "sheets: ceil(total / shop.sheet)",
            "limits:",
            "  in_stock: total <= shop.largest",
        )

    def block(self, info: str, title: str, *lines: str) -> str:
        return "\n".join((f"```calc {info}", f"title: {title}", *lines, "```"))


def main() -> None:
    """Write one book."""
    parser = argparse.ArgumentParser(description="Write a synthetic book.")
    parser.add_argument("folder", type=Path)
    parser.add_argument("--pages", type=int, default=100)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--toleranced", type=int, default=0, metavar="N")
    args = parser.parse_args()
    write_book(args.folder, args.pages, args.seed, args.toleranced)


if __name__ == "__main__":
    main()
