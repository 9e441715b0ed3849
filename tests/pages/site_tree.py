"""Books to build, their sites as trees, and what HTML does not allow in a page."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from html.parser import HTMLParser
from pathlib import Path
from posixpath import dirname, join, normpath
from urllib.parse import unquote, urlsplit

import pytest

from kb.commands.main import main

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

_words = re.compile(r"\w+").findall
_VOID = frozenset(_words("area base br col embed hr img input link meta source track wbr"))
_INLINE_ONLY = frozenset(_words("p h1 h2 h3 h4 h5 h6 span strong em b s i code kbd sub sup abbr small pre"))
_BLOCK = frozenset(
    _words(
        "address article aside blockquote body dd details div dl dt fieldset figure footer form h1 h2 h3 h4"
        " h5 h6 header hr li main nav ol p pre section summary table tbody td tfoot th thead tr ul"
    )
)
_SECTIONS = frozenset(_words("article aside nav section header footer h1 h2 h3 h4 h5 h6"))
_CHILDREN = {
    "dl": {"dt", "dd", "div"},
    "ul": {"li"},
    "ol": {"li"},
    "table": {"thead", "tbody", "tfoot", "tr", "caption"},
    "thead": {"tr"},
    "tbody": {"tr"},
    "tfoot": {"tr"},
    "tr": {"td", "th"},
}
_PARENTS = {
    "li": {"ul", "ol"},
    "dt": {"dl", "div"},
    "dd": {"dl", "div"},
    "tr": {"thead", "tbody", "tfoot", "table"},
    "td": {"tr"},
    "th": {"tr"},
    "summary": {"details"},
}


@dataclass
class Node:
    """An element of a page, as written: nothing is mended."""

    tag: str
    attrs: dict[str, str] = field(default_factory=dict)
    children: list[Node | str] = field(default_factory=list)
    parent: Node | None = None

    @property
    def text(self) -> str:
        """Return all its words, with single spaces."""
        return " ".join(self.raw.split())

    @property
    def raw(self) -> str:
        """Return its text as written."""
        return "".join(one if isinstance(one, str) else one.raw for one in self.children)

    @property
    def classes(self) -> list[str]:
        """Return its classes."""
        return self.attrs.get("class", "").split()

    @property
    def id(self) -> str:
        """Return its id, or nothing."""
        return self.attrs.get("id", "")

    @property
    def parts(self) -> list[Node]:
        """Return the elements that stand directly in it."""
        return [one for one in self.children if isinstance(one, Node)]

    def walk(self) -> Iterator[Node]:
        """Go through itself and all elements in it, in order."""
        yield self
        for one in self.parts:
            yield from one.walk()

    def all(self, tag: str = "", css: str = "", **attrs: str) -> list[Node]:
        """Find the elements in it by tag, class and attributes (`data_number` for `data-number`)."""
        wanted = {key.replace("_", "-"): value for key, value in attrs.items()}
        return [
            one
            for one in self.walk()
            if one is not self
            and (not tag or one.tag == tag)
            and (not css or css in one.classes)
            and all(one.attrs.get(key) == value for key, value in wanted.items())
        ]

    def one(self, tag: str = "", css: str = "", **attrs: str) -> Node:
        """Find the only such element."""
        (found,) = self.all(tag, css, **attrs)
        return found

    def by_id(self, name: str) -> Node:
        """Find the only element of an id."""
        (found,) = [one for one in self.walk() if one.id == name]
        return found

    def within(self, tag: str = "", css: str = "") -> bool:
        """Tell whether it stands in such an element."""
        above = self.parent
        while above is not None:
            if (not tag or above.tag == tag) and (not css or css in above.classes):
                return True
            above = above.parent
        return False


class _Reader(HTMLParser):
    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.root = Node("#page")
        self.open = self.root
        self.faults: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        node = Node(tag, {key: value or "" for key, value in attrs}, [], self.open)
        if len(node.attrs) < len(attrs):
            self.faults.append(f"{self.getpos()}: <{tag}> has an attribute twice")
        self.open.children.append(node)
        if tag not in _VOID:
            self.open = node

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.handle_starttag(tag, attrs)
        if tag not in _VOID:
            self.handle_endtag(tag)

    def handle_endtag(self, tag: str) -> None:
        if self.open.tag != tag or self.open.parent is None:
            self.faults.append(f"{self.getpos()}: </{tag}> closes <{self.open.tag}>")
            return
        self.open = self.open.parent

    def handle_data(self, data: str) -> None:
        self.open.children.append(data)


def _read(html: str) -> tuple[Node, list[str]]:
    reader = _Reader()
    reader.feed(html)
    reader.close()
    if reader.open is not reader.root:
        reader.faults.append(f"<{reader.open.tag}> is not closed")
    return reader.root, reader.faults


def tree(html: str) -> Node:
    """Read a page as a tree; tags that do not match fail."""
    root, faults = _read(html)
    assert not faults, faults
    return root


def markup_faults(html: str) -> list[str]:
    """Say what of a page HTML does not allow: tags that cross, wrong nesting, an id given twice."""
    root, faults = _read(html)
    ids: set[str] = set()
    for node in root.walk():
        if node.id in ids:
            faults.append(f"the id '{node.id}' is there twice")
        if node.id:
            ids.add(node.id)
        faults += _nesting(node)
    return faults


def _nesting(node: Node) -> Iterator[str]:
    above = node.parent
    if above is None:
        return
    said = f"<{node.tag} id='{node.id}' class='{node.attrs.get('class', '')}'> in <{above.tag}>"
    allowed = _CHILDREN.get(above.tag)
    if allowed and node.tag not in allowed:
        yield said
    if node.tag in _PARENTS and above.tag not in _PARENTS[node.tag]:
        yield said
    if node.tag in _BLOCK and any(node.within(tag) for tag in _INLINE_ONLY):
        yield f"{said}, inside text"
    if node.tag in _BLOCK and node.within("summary") and not node.tag.startswith("h"):
        yield f"{said}, inside a summary"
    if node.tag in _SECTIONS and (node.within("th") or node.within("dt")):
        yield f"{said}, inside a head"
    if node.tag in ("a", "details", "summary", "button", "input") and node.within("a"):
        yield f"{said}, inside a link"
    if node.tag == "img" and "alt" not in node.attrs:
        yield f"{said} has no words"
    if node.tag in _CHILDREN:
        stray = "".join(one for one in node.children if isinstance(one, str)).strip()
        if stray:
            yield f"'{stray}' stands loose in <{node.tag}>"


@dataclass(frozen=True)
class Site:
    """A built edition: its folder."""

    folder: Path

    def html(self, address: str) -> str:
        """Return a page as written."""
        return (self.folder / address).read_text(encoding="utf-8")

    def page(self, address: str) -> Node:
        """Read a page as a tree."""
        return tree(self.html(address))

    @property
    def addresses(self) -> list[str]:
        """Return the address of every page."""
        return sorted(path.relative_to(self.folder).as_posix() for path in self.folder.rglob("*.html"))

    @property
    def files(self) -> dict[str, bytes]:
        """Return every file of the site."""
        return files_of(self.folder)

    def code(self, address: str) -> str:
        """Return the fingerprint in a sheet's title block."""
        return self.page(address).one("div", "tb-code").one("dd").text

    @property
    def sheets(self) -> list[str]:
        """Return the addresses of the pages that have a title block."""
        return [address for address in self.addresses if 'class="title-block"' in self.html(address)]


def files_of(folder: Path) -> dict[str, bytes]:
    """Return every file below a folder with its bytes, fonts and styles left out."""
    return {
        name: path.read_bytes()
        for path in sorted(folder.rglob("*"))
        if path.is_file() and not (name := path.relative_to(folder).as_posix()).startswith("assets/")
    }


def dead_ends(site: Site) -> list[str]:
    """Return the links and pictures of a site that lead nowhere in it."""
    pages = {address: site.page(address) for address in site.addresses}
    ids = {address: {node.id for node in page.walk() if node.id} for address, page in pages.items()}
    dead = []
    for here, page in pages.items():
        for node in page.walk():
            href = node.attrs.get("href") or node.attrs.get("src")
            if not href or (parts := urlsplit(href)).scheme:
                continue
            there = normpath(join(dirname(here), unquote(parts.path))) if parts.path else here
            missing = not (site.folder / there).is_file()
            lost = parts.fragment and there in ids and unquote(parts.fragment) not in ids[there]
            if missing or lost:
                dead.append(f"{here}: {href}")
    return dead


def sheet(body: str, head: str = "title: A page") -> str:
    """Return a page of some text."""
    return f"---\n{head}\n---\n{body}"


def process(*args: str, cwd: Path, **environment: str) -> subprocess.CompletedProcess[str]:
    """Run this Python as a process of its own."""
    command = [sys.executable, *args]
    env = {**os.environ, **environment}
    return subprocess.run(command, cwd=cwd, env=env, check=False, capture_output=True, text=True)


def fill(root: Path, files: Mapping[str, str]) -> Path:
    """Write a book with the theme named and a small yard's calculators; pictures are one dot each."""
    for name, text in {"mkdocs.yml": SETTINGS, "plugins/yard.py": YARD, **files}.items():
        path = root / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(PNG + text.encode() if name.endswith(".png") else text.encode())
    return root


def site_of(root: Path, *more: str) -> Site:
    """Build the shop's edition of a book beside it."""
    place = root.with_name(f"{root.name}-out")
    with pytest.raises(SystemExit) as left:
        main(["--book", str(root), "build", "--site", str(place), *more])
    assert left.value.code == 0
    return Site(place / "shop")
