"""A yard's folder, read whole: settings, pages, and the layers of inputs."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

from kb.content.addresses import NEVER, stage_address
from kb.content.files import leads_out, read_text
from kb.content.inputs import Inputs, Layer, lay_over, read_layer
from kb.content.page import Page, read_page
from kb.content.reference import Reference
from kb.content.reference_files import read_reference
from kb.content.yamltext import Entries, Items, Node, Scalar, read_yaml
from kb.language.systems import System
from kb.problem import Place, Problem, offer

SETTINGS = "mkdocs.yml"
THEME = "keelbook"
_DEFAULT_STAGES = ("hull", "systems", "close-up", "fit-out", "water test")
_PLAIN_KEYS = {"site_name", "site_url", "docs_dir", "site_dir", "theme", "use_directory_urls", "plugins"}
_OWN_KEYS = ("units", "stages", "without", "edition")
_NAME = re.compile(r"[A-Za-z0-9][A-Za-z0-9_-]*")


@dataclass(frozen=True, slots=True)
class Settings:
    """What `mkdocs.yml` says of the book."""

    name: str = "Untitled book"
    content: str = "content"
    stages: tuple[str, ...] = _DEFAULT_STAGES
    units: System = "us"
    without: dict[str, Place] = field(default_factory=dict)
    theme: str = ""
    is_plain: bool = True
    """Whether MkDocs is asked for nothing of its own: no other plugin, no other theme, no hook."""


@dataclass(frozen=True, slots=True)
class Edition:
    """Which book is built: the model, the model with options, or one hull; for the shop or the public.

    `name` stands in messages; the model's is empty.
    """

    name: str = ""
    options: tuple[str, ...] = ()
    hull: str = ""
    is_public: bool = False


MODEL = Edition()
PUBLIC = Edition("public edition", is_public=True)


@dataclass(frozen=True, slots=True)
class Book:
    """Everything a yard wrote, read and not yet reckoned."""

    root: Path
    settings: Settings
    pages: tuple[Page, ...] = ()
    yard: Layer | None = None
    model: Layer | None = None
    options: dict[str, Layer] = field(default_factory=dict)
    hulls: dict[str, Layer] = field(default_factory=dict)
    reference: Reference = field(default_factory=Reference)

    @property
    def tables(self) -> str:
        """The folder that names of CSV files are relative to."""
        return f"{self.settings.content}/inputs"

    def editions(self) -> Iterator[Edition]:
        """Go through what `check` runs: the model, every option alone, every hull."""
        yield MODEL
        for option in self.options:
            yield Edition(f"with option {option}", (option,))
        for hull in self.hulls:
            yield self.hull_edition(hull)

    def hull_edition(self, hull: str) -> Edition:
        """Return the edition of one hull."""
        return Edition(f"hull {hull}", tuple(cell.text for cell in self.hulls[hull].options), hull)

    def inputs(self, edition: Edition) -> tuple[Inputs, list[Problem]]:
        """Lay the layers of an edition over each other: yard, model, options, hull."""
        layers = [self.yard, self.model, *(self.options.get(name) for name in edition.options)]
        if edition.hull:
            layers.append(self.hulls[edition.hull])
        return lay_over(layer for layer in layers if layer is not None)


def is_book(root: Path) -> bool:
    """Tell whether a folder holds a book."""
    return (root / SETTINGS).is_file()


def read_book(root: Path) -> tuple[Book, list[Problem]]:
    """Read a yard's folder; every problem of every file is told at once."""
    problems: list[Problem] = []
    settings = _read_settings(root, problems)
    pages = _read_pages(root, settings, problems)
    yard, model, options, hulls = _read_layers(root, settings, problems)
    reference, found = read_reference(root, settings.content)
    problems.extend(found)
    book = Book(root, settings, pages, yard, model, options, hulls, reference)
    _check_hulls(book, problems)
    return book, problems


def read_settings(root: Path) -> Settings:
    """Read what a book's `mkdocs.yml` says, without its pages and inputs."""
    return _read_settings(root, [])


def _text(root: Path, file: str, problems: list[Problem]) -> str | None:
    text, found = read_text(root, file)
    problems.extend(found)
    return text


def _read_settings(root: Path, problems: list[Problem]) -> Settings:
    text = _text(root, SETTINGS, problems)
    if text is None:
        return Settings()
    node, found = read_yaml(text, SETTINGS)
    problems.extend(found)
    if not isinstance(node, Entries):
        return Settings()
    top = {key: value for key, (_, value) in node.entries.items()}
    own, places = _own_settings(top.get("plugins"))
    for key, place in places.items():
        if key not in _OWN_KEYS:
            fix = offer(key, _OWN_KEYS, f"there are {', '.join(_OWN_KEYS)}")
            problems.append(Problem(place, f"there is no setting '{key}'", fix))
    stages: dict[str, str] = {}
    for stage in _items(own.get("stages")):
        address = stage_address(stage.text)
        if address in stages or address == stage_address(""):
            what = f"the stage '{stage.text}' " + (
                f"has the address of '{stages[address]}'" if address in stages else "has no letter or figure"
            )
            problems.append(Problem(stage.place, what, "give it another name"))
        stages.setdefault(address, stage.text)
    content = (_word(top.get("docs_dir")) or "content").rstrip("/")
    if leads_out(root, root / content) or (root / content).resolve() == root.resolve():
        where = top["docs_dir"].place
        problems.append(
            Problem(where, f"'{content}' is no folder inside the book", "write docs_dir: content")
        )
        content = "content"
    word = _word(own.get("units")) or "us"
    units: System = "metric" if word == "metric" else "us"
    if word not in ("us", "metric"):
        fix = "write units: us or units: metric"
        problems.append(Problem(own["units"].place, f"there are no '{word}' units", fix))
    return Settings(
        name=_word(top.get("site_name")) or "Untitled book",
        content=content,
        stages=_words(own.get("stages")) or _DEFAULT_STAGES,
        units=units,
        without={one.text: one.place for one in _items(own.get("without"))},
        theme=_theme(top.get("theme"), problems),
        is_plain=_is_plain(top),
    )


def _theme(node: Node | None, problems: list[Problem]) -> str:
    """Return the theme that is named; "" where none is."""
    if isinstance(node, Entries):
        node = node.entries["name"][1] if "name" in node.entries else None
    name = _word(node)
    if node is not None and name != THEME:
        fix = f"write theme: {THEME}; parts of your own go into a custom_dir"
        problems.append(Problem(node.place, f"the pages of a book do not fit the theme '{name}'", fix))
    return name


def _is_plain(top: dict[str, Node]) -> bool:
    """Tell whether settings say nothing that only MkDocs itself could do."""
    theme, plugins = top.get("theme"), top.get("plugins")
    has_parts = isinstance(theme, Entries) and list(theme.entries) != ["name"]
    few = not isinstance(plugins, Items) or len(plugins.items) == 1
    return few and not has_parts and top.keys() <= _PLAIN_KEYS


def _own_settings(plugins: Node | None) -> tuple[dict[str, Node], dict[str, Place]]:
    """Return the options under `plugins: - keelbook:` and where their keys stand."""
    items = plugins.items if isinstance(plugins, Items) else ()
    for item in items:
        if isinstance(item, Entries) and "keelbook" in item.entries:
            body = item.entries["keelbook"][1]
            if isinstance(body, Entries):
                values = {key: value for key, (_, value) in body.entries.items()}
                return values, {key: node.place for key, (node, _) in body.entries.items()}
    return {}, {}


def _word(node: Node | None) -> str:
    return node.text.strip() if isinstance(node, Scalar) else ""


def _items(node: Node | None) -> list[Scalar]:
    items = node.items if isinstance(node, Items) else ()
    return [item for item in items if isinstance(item, Scalar) and item.text]


def _words(node: Node | None) -> tuple[str, ...]:
    return tuple(item.text for item in _items(node))


def _read_pages(root: Path, settings: Settings, problems: list[Problem]) -> tuple[Page, ...]:
    pages: list[Page] = []
    ids: dict[str, str] = {}
    numbers: dict[str, str] = {}
    folder = root / settings.content
    for path in sorted(folder.rglob("*.md")):
        parts = path.relative_to(folder).parts
        if parts[0] in NEVER or any(part.startswith(".") for part in parts):
            continue  # notes beside inputs and hulls are no pages, hidden files are hidden
        file = path.relative_to(root).as_posix()
        text = _text(root, file, problems)
        if text is None:
            continue
        page, found = read_page(text, file)
        problems.extend(found)
        problems.extend(_check_page(page, settings, ids, numbers))
        pages.append(page)
    if not folder.is_dir():
        problems.append(
            Problem(Place(SETTINGS), f"there is no folder '{settings.content}'", "check docs_dir")
        )
    return tuple(pages)


def _check_page(
    page: Page, settings: Settings, ids: dict[str, str], numbers: dict[str, str]
) -> Iterator[Problem]:
    """Check what a page must not share; `ids` and `numbers` give the file of each page before."""
    if page.id in ids:
        yield Problem(
            Place(page.file), f"two pages are called '{page.id}': this and {ids[page.id]}", "rename one file"
        )
    ids.setdefault(page.id, page.file)
    number = page.head.number
    if number is not None:
        if number.text in numbers:
            yield Problem(
                number.place,
                f"the sheet number {number.text} is taken by {numbers[number.text]}",
                "give every sheet a number of its own",
            )
        numbers.setdefault(number.text, page.file)
    stage = page.head.stage
    if stage and stage.text not in settings.stages:
        yield Problem(
            stage.place,
            f"there is no stage '{stage.text}'",
            offer(stage.text, settings.stages, f"the stages of {SETTINGS} are {', '.join(settings.stages)}"),
        )


def _read_layers(
    root: Path, settings: Settings, problems: list[Problem]
) -> tuple[Layer | None, Layer | None, dict[str, Layer], dict[str, Layer]]:
    inputs = f"{settings.content}/inputs"

    def layer(file: str, name: str) -> Layer | None:
        if not (root / file).is_file():
            return None
        one, found = read_layer(root, file, name, inputs)
        problems.extend(found)
        return one

    options = {}
    for path in sorted((root / inputs / "options").glob("*.yml")):
        file = path.relative_to(root).as_posix()
        if not re.fullmatch(r"[a-z][a-z0-9_]*", path.stem):
            problems.append(
                Problem(
                    Place(file),
                    f"'{path.stem}' is not a name for an option",
                    "use small letters, digits and _",
                )
            )
            continue
        options[path.stem] = layer(file, f"option {path.stem}")
    hulls = {}
    for path in sorted((root / settings.content / "hulls").glob("*/hull.yml")):
        file = path.relative_to(root).as_posix()
        if not _NAME.fullmatch(path.parent.name):
            problems.append(
                Problem(
                    Place(file), f"'{path.parent.name}' is not a hull's name", "use letters, digits, - and _"
                )
            )
            continue
        hulls[path.parent.name] = layer(file, f"hull {path.parent.name}")
    return (
        layer(f"{inputs}/yard.yml", "yard"),
        layer(f"{inputs}/model.yml", "model"),
        {name: one for name, one in options.items() if one is not None},
        {name: one for name, one in hulls.items() if one is not None},
    )


def _check_hulls(book: Book, problems: list[Problem]) -> None:
    for layer in (book.yard, book.model, *book.options.values()):
        if layer is not None:
            problems.extend(
                Problem(cell.place, "only a hull chooses options", "move 'options' to the hull's hull.yml")
                for cell in layer.options[:1]
            )
    for layer in book.hulls.values():
        for cell in layer.options:
            if cell.text not in book.options:
                fix = offer(cell.text, book.options, f"options are files in {book.tables}/options/")
                problems.append(Problem(cell.place, f"there is no option '{cell.text}'", fix))
