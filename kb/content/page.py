"""A page read once: its head, its tokens, its blocks and live values, each with its place."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from hashlib import blake2b
from urllib.parse import unquote

from markdown_it.token import Token

from kb.content.anchors import name_anchors
from kb.content.head import Head, Named, read_head
from kb.content.markdown import CONTAINERS, DEEPEST, FENCES, LIVE, UNCLOSED, parse
from kb.content.yamltext import Entries, read_yaml
from kb.language.expression import Expression, is_name, read_expression
from kb.language.literal import ReadError
from kb.language.show import AS_IT_IS, Form, split_form
from kb.problem import Place, Problem, offer

ALLOWED_TAGS = frozenset(["br", "sub", "sup", "kbd", "abbr", "details", "summary"])


@dataclass(frozen=True, slots=True)
class Condition:
    """A `when` container: the condition that its content stands under, and those around it."""

    expression: Expression
    place: Place
    around: tuple[Condition, ...] = ()


@dataclass(frozen=True, slots=True)
class Around:
    """What a place on a page stands in: the conditions, and the `shop` and `public` parts."""

    conditions: tuple[Condition, ...] = ()
    parts: frozenset[str] = frozenset()

    def is_shown(self, in_force: Callable[[tuple[Condition, ...]], bool], *, is_public: bool) -> bool:
        """Tell whether an edition shows what stands there."""
        return ("shop" if is_public else "public") not in self.parts and in_force(self.conditions)


NOWHERE_ELSE = Around()
"""What a place that every edition shows stands in."""


@dataclass(frozen=True, slots=True)
class Fence:
    """A fence of the book as read: `calc`, `limit` and the others; `name` is "" where none was given."""

    kind: str
    words: tuple[str, ...]
    name: str
    body: Entries | None
    place: Place
    word_place: Place
    name_place: Place
    around: Around
    token: int

    @property
    def conditions(self) -> tuple[Condition, ...]:
        """The conditions that it stands under."""
        return self.around.conditions


@dataclass(frozen=True, slots=True)
class LiveValue:
    """A `{{ … }}` in the text: its expression and how it is shown."""

    expression: Expression
    form: Form
    text: str
    place: Place
    conditions: tuple[Condition, ...]


@dataclass(frozen=True, slots=True)
class Link:
    """A link or a picture in the text: where it points, as written."""

    href: str
    place: Place
    is_picture: bool = False


@dataclass(frozen=True, slots=True)
class Page:
    """One page. `id` is its file's name, `digest` its text's; `tokens` is what the renderer goes through.

    `anchors` are all places on it that a link can lead to, and what each stands in.
    """

    id: str
    file: str
    digest: str
    head: Head
    tokens: tuple[Token, ...]
    fences: tuple[Fence, ...]
    live: tuple[LiveValue, ...]
    conditions: tuple[Condition, ...]
    anchors: Mapping[str, Around] = field(default_factory=dict)
    links: tuple[Link, ...] = ()
    hazards: tuple[Named, ...] = ()
    """The hazards that the page calls by name."""

    @property
    def title_place(self) -> Place:
        """Where the page's title stands."""
        return self.head.places.get("title", Place(self.file))


@dataclass(slots=True)
class _Reading:
    file: str
    lines: list[str]
    problems: list[Problem] = field(default_factory=list)
    fences: list[Fence] = field(default_factory=list)
    live: list[LiveValue] = field(default_factory=list)
    conditions: list[Condition] = field(default_factory=list)
    links: list[Link] = field(default_factory=list)
    hazards: list[Named] = field(default_factory=list)
    tags: list[tuple[str, int, Place]] = field(default_factory=list)
    """The allowed tags that stand open, with the level of their token."""
    open: list[tuple[str, Condition | None]] = field(default_factory=list)
    taken: set[tuple[int, int]] = field(default_factory=set)

    def problem(self, place: Place, what: str, fix: str) -> None:
        self.problems.append(Problem(place, what, fix))

    @property
    def in_force(self) -> tuple[Condition, ...]:
        return tuple(condition for _, condition in self.open if condition is not None)

    @property
    def around(self) -> Around:
        parts = frozenset(kind for kind, _ in self.open if kind in ("shop", "public"))
        return Around(self.in_force, parts) if self.open else NOWHERE_ELSE


def read_page(text: str, file: str) -> tuple[Page, list[Problem]]:
    """Read the text of a page; `file` is its path in the book."""
    tokens = parse(text)
    reading = _Reading(file, text.split("\n"))
    if _is_torn(tokens):
        tokens = [token for token in tokens if token.type == "front_matter"]
        where = _search(reading, "[^", 0, len(reading.lines)) or Place(file)
        fix = "begin each footnote at the left edge, after an empty line"
        reading.problem(where, "a footnote stands inside another one's list or quote", fix)
    head = Head()
    for index, token in enumerate(tokens):
        if token.level >= DEEPEST:
            _too_deep(reading, token)
            break
        if token.type == "front_matter":
            head, problems = read_head(token.content, file, 2)
            reading.problems.extend(problems)
        elif token.type.startswith("container_"):
            _container(reading, token)
        elif token.type == "fence":
            _fence(reading, token, index)
        elif token.type == "inline":
            _inline(reading, token)
        elif token.type in ("heading_open", "list_item_open"):
            token.meta["around"] = reading.around
        elif token.type == "html_block":
            _check_html(reading, token.content, token.map or [0, 1], token.level)
    while reading.tags:
        _check_open(reading, reading.tags[-1][1])
    has_head = bool(tokens) and tokens[0].type == "front_matter"
    if text.startswith("---") and not has_head:
        reading.problem(Place(file), "the head of this page does not end", "close it with a line of ---")
    elif not head.title:
        reading.problem(Place(file), "this page has no title", "begin it with ---, title: …, ---")
    page_id = file.rsplit("/", 1)[-1].removesuffix(".md")
    digest = blake2b(text.encode(), digest_size=16).hexdigest()
    own = dict(_own_ids(reading, tokens))
    named, faults = name_anchors(tokens, own)
    for fault in faults:
        place = _search(reading, "{#" + fault.text, fault.line, len(reading.lines))
        fix = "an anchor is small letters, digits and -, once on a page"
        reading.problem(place or Place(file, fault.line + 1), f"'{{#{fault.text}}}' {fault.why}", fix)
    page = Page(
        page_id,
        file,
        digest,
        head,
        tuple(tokens),
        tuple(reading.fences),
        tuple(reading.live),
        tuple(reading.conditions),
        {**own, **{anchor: token.meta["around"] for anchor, token in named.items()}},
        tuple(reading.links),
        tuple(reading.hazards),
    )
    return page, sorted(reading.problems, key=lambda problem: problem.place)


def _is_torn(tokens: Iterable[Token]) -> bool:
    """Tell whether something closes that did not open: the parser moves a footnote out of what holds it."""
    open_types: list[str] = []
    for token in tokens:
        if token.nesting > 0:
            open_types.append(token.type.removesuffix("_open"))
        elif token.nesting < 0 and (not open_types or token.type != f"{open_types.pop()}_close"):
            return True
    return bool(open_types)


def _too_deep(reading: _Reading, token: Token) -> None:
    place = Place(reading.file, (token.map or [0])[0] + 1)
    reading.problem(place, "lists and quotes stand too deep in each other here", "write it flatter")


def _own_ids(reading: _Reading, tokens: Iterable[Token]) -> Iterator[tuple[str, Around]]:
    """Go through the ids that a sheet and its numbers, slips, cards, limits and footnotes have."""
    yield "the-sheet", NOWHERE_ELSE
    for index in range(len(reading.live)):
        yield f"number-{index + 1}", NOWHERE_ELSE
        yield f"slip-{index + 1}", NOWHERE_ELSE
    for fence in reading.fences:
        if fence.name:
            yield f"{'limit' if fence.kind == 'limit' else 'block'}-{fence.name}", fence.around
    for token in tokens:
        if token.type == "footnote_open":
            yield f"fn{token.meta['id'] + 1}", NOWHERE_ELSE
            yield f"fnref{token.meta['id'] + 1}", NOWHERE_ELSE


def _container(reading: _Reading, token: Token) -> None:
    if token.nesting < 0:
        reading.open.pop()
        return
    begin, end = token.map or [0, 0]
    line = reading.lines[begin]
    column = line.find(":::") + 1
    place = Place(reading.file, begin + 1, column)
    if "{{" in token.info:
        at = Place(reading.file, begin + 1, line.find("{{") + 1)
        fix = "write the value in the text below it"
        reading.problem(at, "the title of a container holds no live value", fix)
    if end >= len(reading.lines) or not reading.lines[end].lstrip(" >\t").startswith(":::"):
        reading.problem(place, "this container is not closed", "end it with a line of :::")
    if token.type == "container_hazard_open":
        _hazard(reading, token, place)
    if token.type != "container_when_open":
        reading.open.append((token.type.removeprefix("container_").removesuffix("_open"), None))
        return
    text = token.info.strip()[len("when") :].strip()
    at = Place(reading.file, begin + 1, line.find("when") + len("when") + 2)
    condition: Condition | None = None
    try:
        condition = Condition(read_expression(text), at, reading.in_force)
        reading.conditions.append(condition)
    except ReadError as error:
        reading.problem(at.right(error.at), error.what, error.fix)
    reading.open.append(("when", condition))
    token.meta["condition"] = len(reading.conditions) - 1 if condition else None


def _hazard(reading: _Reading, token: Token, place: Place) -> None:
    """Take the name of a hazard; whether the book has it is for the book to say."""
    name = token.info.strip().removeprefix("hazard").strip()
    token.meta["hazard"] = name
    if not name:
        reading.problem(place, "this hazard has no name", "write :::hazard NAME, one of cautions.yml")
        return
    line = reading.lines[place.line - 1]
    at = line.find(name, line.find("hazard") + len("hazard"))
    reading.hazards.append(Named(name, Place(reading.file, place.line, at + 1)))


def _fence(reading: _Reading, token: Token, index: int) -> None:
    words = token.info.split()
    kind = words[0] if words else ""
    begin = (token.map or [0])[0]
    line = reading.lines[begin]
    marks = _FENCE_MARKS.search(line)
    column = marks.start() + 1 if marks else 1
    place = Place(reading.file, begin + 1, column)
    if kind not in FENCES:
        return
    body = _body(reading, token, begin)
    wanted = 3 if kind == "calc" else 2
    name = words[-1] if len(words) == wanted and kind in ("calc", "limit", "measure") else ""
    name_place = Place(reading.file, begin + 1, line.rfind(words[-1]) + 1)
    head = line.find(words[1], line.find(kind) + len(kind)) if len(words) > 1 else column - 1
    word_place = Place(reading.file, begin + 1, head + 1)
    if kind in ("calc", "limit", "measure"):
        form = "calc CALCULATOR NAME" if kind == "calc" else f"{kind} NAME"
        if len(words) != wanted:
            reading.problem(place, f"'{token.info.strip()}' does not head a {kind} fence", f"write ```{form}")
        elif not is_name(name):
            reading.problem(
                name_place,
                f"'{name}' is not a name for a block",
                "a name is small letters, digits and _, and no word of the language",
            )
            name = ""
    token.meta["fence"] = len(reading.fences)
    reading.fences.append(
        Fence(kind, tuple(words[1:]), name, body, place, word_place, name_place, reading.around, index)
    )


def _body(reading: _Reading, token: Token, begin: int) -> Entries | None:
    """Read a fence's body; inside a list its lines are indented, and columns count that."""
    indent = 0
    for number, content in enumerate(token.content.split("\n")):
        if content.strip():
            indent = max(reading.lines[begin + 1 + number].find(content), 0)
            break
    root, problems = read_yaml(token.content, reading.file, begin + 2, indent + 1)
    reading.problems.extend(problems)
    if isinstance(root, Entries):
        return root
    if root is not None:
        reading.problem(root.place, "a fence's body is lines of name: value", "write name: value")
        return None
    return None if problems else Entries({}, Place(reading.file, begin + 2))


def _inline(reading: _Reading, token: Token) -> None:
    begin, end = token.map or [0, len(reading.lines)]  # a footnote in the text has no lines of its own
    if ":::" in token.content:
        for number, line in enumerate(token.content.split("\n")):
            if line.lstrip().startswith(":::"):
                _stray_container(reading, line.strip(), begin + number)
    for child in _with_pictures(token):
        if child.type == "text":
            continue
        if child.type == LIVE:
            _live(reading, child, begin, end)
        elif child.type == "html_inline":
            _check_html(reading, child.content, [begin, end])
        elif child.type in ("link_open", "image"):
            _link(reading, child, begin, end)
        elif child.type == UNCLOSED:
            place = _find(reading, "{{", begin, end)
            reading.problem(
                place, "'{{' begins a live value that does not end", "close it with }}, or write \\{{"
            )
    if reading.tags:
        _check_open(reading, -1)


def _link(reading: _Reading, token: Token, begin: int, end: int) -> None:
    is_picture = token.type == "image"
    href = str(token.attrGet("src" if is_picture else "href") or "")
    place = _search(reading, f"]({unquote(href)}", begin, end) or _search(reading, f"]({href}", begin, end)
    if place is None and (definition := _search(reading, f"]: {href}", 0, len(reading.lines))):
        place = definition.right(1)
    token.meta["link"] = len(reading.links)
    reading.links.append(Link(href, place.right(2) if place else Place(reading.file, begin + 1), is_picture))


def _with_pictures(token: Token) -> Iterator[Token]:
    """Go through the parts of a text, those in the words of a picture too."""
    for child in token.children or ():
        yield child
        if child.type == "image":
            yield from _with_pictures(child)


def _stray_container(reading: _Reading, text: str, begin: int) -> None:
    place = Place(reading.file, begin + 1, reading.lines[begin].find(":::") + 1)
    words = text.lstrip(":").split()
    if not words:
        reading.problem(
            place,
            "this ::: closes nothing",
            "where containers nest, the outer one is written with four colons",
        )
    elif words[0] not in CONTAINERS:
        fix = offer(words[0], CONTAINERS, f"there are {', '.join(CONTAINERS)}")
        reading.problem(place, f"there is no container '{words[0]}'", fix)
    else:
        reading.problem(place, "this container does not begin a paragraph", "leave an empty line before it")


def _live(reading: _Reading, token: Token, begin: int, end: int) -> None:
    place = _find(reading, "{{" + token.content + "}}", begin, end)
    inside = place.right(2)
    text = token.content
    lead = len(text) - len(text.lstrip())
    try:
        body, form = split_form(text)
        expression = read_expression(body)
    except ReadError as error:
        reading.problem(inside.right(lead + error.at), error.what, error.fix)
        body, form, expression = text, AS_IT_IS, read_expression("0")
        token.meta["live"] = None
        return
    token.meta["live"] = len(reading.live)
    reading.live.append(LiveValue(expression, form, text.strip(), inside.right(lead), reading.in_force))


def _find(reading: _Reading, text: str, begin: int, end: int) -> Place:
    """Return the next place of a text, or of the first line where it is not found."""
    return _search(reading, text, begin, end) or Place(reading.file, begin + 1)


def _search(reading: _Reading, text: str, begin: int, end: int) -> Place | None:
    """Find the next place of a text between two lines that no earlier search has taken.

    Inline tokens carry lines, not columns; within those lines they come in the order of the source.
    """
    first = text.split("\n")[0]
    for number in range(begin, min(end, len(reading.lines))):
        at = reading.lines[number].find(first)
        while at >= 0:
            if (number, at) not in reading.taken and not _escaped(reading.lines[number], at):
                reading.taken.add((number, at))
                return Place(reading.file, number + 1, at + 1)
            at = reading.lines[number].find(first, at + 1)
    return None


def _escaped(line: str, at: int) -> bool:
    return line[:at].endswith("\\") or line[:at].count("`") % 2 == 1


_FENCE_MARKS = re.compile(r"[`~]{3,}")
_TAG = re.compile(r"<(/?[A-Za-z][A-Za-z0-9-]*|[!?])([^>]*)(>?)")
COMMENT = re.compile(r"<!--.*?-->", re.DOTALL)
TASK_BOX = re.compile(
    r'<input class="task-list-item-checkbox"( checked="checked")? disabled="disabled" type="checkbox">'
)


def _check_html(reading: _Reading, html: str, lines: list[int], level: int = -1) -> None:
    """Refuse raw HTML but for a few tags without attributes; comments are dropped.

    The box of a task list is the parser's own. `level` is the depth of a block, -1 within a line.
    """
    if TASK_BOX.fullmatch(html):
        return
    for tag, attributes, end in _TAG.findall(COMMENT.sub("", html)):
        place = _search(reading, f"<{tag}", lines[0], lines[1]) or Place(reading.file, lines[0] + 1)
        name = tag.lstrip("/").lower()
        if name not in ALLOWED_TAGS or not end:
            known = ", ".join(sorted(ALLOWED_TAGS))
            reading.problem(place, f"the tag <{tag}> is not allowed", f"write Markdown, or one of {known}")
        elif attributes.strip(" /") and not (name == "abbr" and _TITLE.fullmatch(attributes.strip())):
            reading.problem(place, f"the tag <{tag}> takes no attributes here", f"write <{tag}>")
        elif level < 0 and name in ("details", "summary"):
            fix = "begin a line with it, after an empty one"
            reading.problem(place, f"<{tag}> cannot stand within a line", fix)
        elif name != "br":
            _balance(reading, name, place, level, closes=tag.startswith("/"))


def _balance(reading: _Reading, name: str, place: Place, level: int, *, closes: bool) -> None:
    """Keep account of the tags that stand open; a tag ends in the text, or at the depth, where it began."""
    if not closes:
        reading.tags.append((name, level, place))
    elif reading.tags and reading.tags[-1][:2] == (name, level):
        reading.tags.pop()
    else:
        reading.problem(place, f"</{name}> closes nothing here", f"open it with <{name}>, or drop it")


def _check_open(reading: _Reading, level: int) -> None:
    """Find tags that stand open where the text of a level ends."""
    while reading.tags and reading.tags[-1][1] == level:
        name, _, place = reading.tags.pop()
        reading.problem(place, f"the tag <{name}> is not closed", f"end it with </{name}>")


_TITLE = re.compile(r"""title=("[^"<>]*"|'[^'<>]*')""")
