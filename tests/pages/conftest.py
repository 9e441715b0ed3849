"""Books built through the command, and their pages read as trees."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from kb.commands.main import main
from tests.pages.site_tree import Site

if TYPE_CHECKING:
    from tests.conftest import BookMaker, Command

ROOT = Path(__file__).parents[2]

SETTINGS = """\
site_name: A test book
docs_dir: content
site_dir: site/shop
theme: keelbook
use_directory_urls: false
plugins:
  - keelbook:
      units: us
      stages: [hull, systems]
"""

YARD = '''\
from dataclasses import dataclass
from typing import Annotated, NamedTuple

from kb import Caution, Limit, NoAnswer, POSITIVE, Q, Source, calculator, hookimpl

BY_HAND = Source("Planks by hand", "page 3", "read")
BY_HEART = Source("The yard", "what it knows", "memory")


class Cut(NamedTuple):
    number: Annotated[int, Q("", "Cut")]
    at: Annotated[float, Q("in", "From the end", safe="down")]


@dataclass(frozen=True)
class Plank:
    area: Annotated[float, Q("ft^2", "Area of one face", safe="up", rule="length * width in ft^2")]
    mass: Annotated[float, Q("lb", "Mass", safe="up", method="area and weight of the wood")]
    cuts: Annotated[tuple[Cut, ...], Q("", "Cuts")]


@calculator(
    sources=[BY_HAND, BY_HEART],
    limits=[Limit("bench", "length <= 96 in", "the saw bench")],
    cautions=[Caution("danger", "The blade takes fingers.")],
    example={"length": "48 in", "width": "13 in"},
)
def plank(
    length: Annotated[float, Q("in", "Length", valid=POSITIVE)],
    width: Annotated[float, Q("in", "Width", valid=POSITIVE)],
    weight: Annotated[float, Q("lb/ft^2", "Weight of the wood")] = 3.0,
) -> Plank:
    """What a plank weighs."""
    area = length * width / 144
    return Plank(area, area * weight, (Cut(1, length / 2), Cut(2, length)))


@dataclass(frozen=True)
class Sag:
    sag: Annotated[float | NoAnswer, Q("in", "Sag", safe="up", rule="span / 120")]


@calculator(sources=[BY_HEART], limits=[Limit("flat", "sag <= 1 in", "the fit of the deck")])
def beam(span: Annotated[float, Q("in", "Free span", valid=POSITIVE)]) -> Sag:
    """How far a beam sags."""
    return Sag(span / 120 if span <= 60 else NoAnswer("the span was never tried"))


@hookimpl
def kb_calculators():
    return (plank, beam)
'''

PNG = bytes.fromhex(
    "89504e470d0a1a0a0000000d4948445200000001000000010802000000907753de0000000c49444154"
    "789c63f8ffff3f0005fe02fe0def46b80000000049454e44ae426082"
)

BookBuilder = Callable[..., Site]


@pytest.fixture
def settled(make_book: BookMaker) -> BookMaker:
    """Return `make_book` with the theme named and a small yard's calculators; pictures are one dot."""

    def make(files: Mapping[str, str]) -> Path:
        pictures = [name for name in files if name.endswith(".png")]
        texts = {name: text for name, text in files.items() if name not in pictures}
        root = make_book({"mkdocs.yml": SETTINGS, "plugins/yard.py": YARD, **texts})
        for name in pictures:
            (root / name).parent.mkdir(parents=True, exist_ok=True)
            (root / name).write_bytes(PNG + files[name].encode())
        return root

    return make


@pytest.fixture
def build(settled: BookMaker, keelbook: Command, tmp_path: Path) -> BookBuilder:
    """Return a function that builds a book of some files, and gives its site."""

    def built(files: Mapping[str, str], edition: str = "shop") -> Site:
        place = tmp_path / "out"
        ran = keelbook("build", "--edition", edition, "--site", str(place), book=settled(files))
        assert ran.code == 0, ran.err
        return Site(place / edition)

    return built


@pytest.fixture(scope="session")
def demonstration(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a copy of the demonstration book."""
    root = tmp_path_factory.mktemp("demonstration") / "book"
    root.mkdir()
    shutil.copy(ROOT / "mkdocs.yml", root)
    shutil.copytree(ROOT / "content", root / "content")
    return root


@pytest.fixture(scope="session")
def demo(demonstration: Path, tmp_path_factory: pytest.TempPathFactory) -> Site:
    """Return the demonstration book as the shop reads it."""
    place = tmp_path_factory.mktemp("demo")
    with pytest.raises(SystemExit) as left:
        main(["--book", str(demonstration), "build", "--site", str(place)])
    assert left.value.code == 0
    return Site(place / "shop")
