"""Tokens of a page to HTML, with its values, cards and slips as slots."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping, MutableMapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from markdown_it.common.utils import escapeHtml
from markdown_it.renderer import RendererHTML
from markdown_it.token import Token

from kb.content.markdown import LIVE, parser
from kb.content.page import ALLOWED_TAGS, COMMENT, TASK_BOX, Fence, Link, Page
from kb.content.yamltext import Entries, Items, Node, Scalar
from kb.pages.skeleton import slot
from kb.pages.templates import render

SIGNALS = ("danger", "warning", "caution", "notice")
_SLIPS_MAY_FOLLOW = frozenset(
    ("paragraph_close", "heading_close", "table_open", "table_close", "dl_open", "dl_close")
)
_TAG = re.compile(r"</?([A-Za-z][A-Za-z0-9]*)((?:\s+title=(?:\"[^\"<>]*\"|'[^'<>]*'))?)\s*/?>")
_ENDS = {
    "paragraph_close": "\n",
    "bullet_list_close": "\n",
    "tr_close": "\n",
    "dd_close": "\n",
    "dt_close": "\n",
}
Env = MutableMapping[str, Any]


@dataclass(frozen=True, slots=True)
class Manner:
    """How a page is rendered in an edition.

    Args:
        shows: for each condition of the page, whether it holds.
        way: the address that a link leads to from this page, or None where the edition has none.
        picture: the address of a picture.
        is_public: whether this is the public edition, without slips, cards and the shop's own parts.

    """

    shows: Sequence[bool]
    way: Callable[[Link], str | None]
    picture: Callable[[Link], str]
    is_public: bool = False


def body(page: Page, manner: Manner) -> str:
    """Return the HTML of a page's text.

    Its slots: `live:N` for a value, `alt:N` for one in the words of a picture, `slip:N` for its slip,
    `block:NAME` and `limit:NAME` for the cards.
    """
    return _Body(page, manner).whole()


@dataclass(slots=True)
class _Open:
    """What stands open around a token."""

    slips: list[int] = field(default_factory=list)
    links: list[bool] = field(default_factory=list)
    """For each link, whether this edition has what it leads to."""
    held: int = 0


class _Body(RendererHTML):
    """One page's rendering; the methods named after tokens are called by the renderer."""

    def __init__(self, page: Page, manner: Manner) -> None:
        super().__init__(None)
        others = parser().renderer.rules  # type: ignore[attr-defined]
        self.rules = {
            **{name: rule for name, rule in others.items() if "container" not in name},
            **self.rules,
        }
        self.page = page
        self.manner = manner
        self.around = _Open()
        self.options: Any = parser().options
        self.notes: dict[int, int] = {}
        self.shift = int(any(token.type == "heading_open" and token.tag == "h1" for token in page.tokens))

    def whole(self) -> str:
        """Render all tokens that this edition shows."""
        tokens, env = self.page.tokens, dict[str, Any]()
        parts: list[str] = []
        index = 0
        while index < len(tokens):
            token = tokens[index]
            rule = self.rules.get(token.type)
            if token.type == "footnote_block_open" and not self.notes:
                break  # nothing that this edition shows has a footnote
            if token.type == "footnote_open" and token.meta["id"] not in self.notes:
                index = _end(tokens, index) + 1
                continue
            if token.type == "inline":
                parts.append(self.renderInline(token.children or [], self.options, env))
            elif rule is not None:
                parts.append(rule(tokens, index, self.options, env))
            elif token.type.startswith("container_") and token.nesting > 0 and not self.is_shown(token):
                index = _end(tokens, index)
            else:
                parts.append(self.renderToken(tokens, index, self.options, env))
            if token.type in _SLIPS_MAY_FOLLOW:
                parts.extend(self.after(token))
            index += 1
        return "".join(parts)

    def is_shown(self, token: Token) -> bool:
        """Tell whether a container exists in this edition."""
        if token.type == "container_when_open":
            condition = token.meta.get("condition")
            return condition is not None and self.manner.shows[condition]
        if token.type == "container_shop_open":
            return not self.manner.is_public
        if token.type == "container_public_open":
            return self.manner.is_public
        return True

    def after(self, token: Token) -> Iterator[str]:
        """Set the slips of a paragraph's values below it; a table's and a list of terms' after the whole."""
        around = self.around
        if token.type in ("table_open", "dl_open"):
            around.held += 1
        elif token.type in ("table_close", "dl_close"):
            around.held -= 1
        if around.slips and not around.held and token.nesting < 0:
            for number in around.slips:
                yield slot(f"slip:{number}")
            around.slips.clear()

    def heading_open(self, tokens: Sequence[Token], idx: int, options: Any, env: Env) -> str:
        """Open a heading; the sheet's title is the only one of the first level."""
        level = min(int(tokens[idx].tag[1]) + self.shift, 6)
        return f'<h{level} id="{escapeHtml(tokens[idx].meta["anchor"])}">'

    def heading_close(self, tokens: Sequence[Token], idx: int, options: Any, env: Env) -> str:
        """Close a heading."""
        return f"</h{min(int(tokens[idx].tag[1]) + self.shift, 6)}>\n"

    def ordered_list_open(self, tokens: Sequence[Token], idx: int, options: Any, env: Env) -> str:
        """Open a list; that of the steps is known by its class."""
        start = tokens[idx].attrGet("start")
        attributes = "" if start is None else f' start="{start}"'
        return f'<ol class="steps"{attributes}>\n' if "steps" in tokens[idx].meta else f"<ol{attributes}>\n"

    def list_item_open(self, tokens: Sequence[Token], idx: int, options: Any, env: Env) -> str:
        """Open an item; a step has a number that links to itself."""
        token = tokens[idx]
        if "step" not in token.meta:
            return self.renderToken(tokens, idx, options, env)
        anchor, number = escapeHtml(token.meta["anchor"]), token.meta["step"]
        return (
            f'<li class="step" id="{anchor}"><a class="step-number" href="#{anchor}"'
            f' aria-label="Step {number}">{number}</a><div class="step-text">'
        )

    def list_item_close(self, tokens: Sequence[Token], idx: int, options: Any, env: Env) -> str:
        """Close an item."""
        opening = _begin(tokens, idx)
        return "</div></li>\n" if "step" in tokens[opening].meta else "</li>\n"

    def table_open(self, tokens: Sequence[Token], idx: int, options: Any, env: Env) -> str:
        """Open a table, which scrolls by itself where it is wider than the screen."""
        return '<div class="wide"><table>\n'

    def table_close(self, tokens: Sequence[Token], idx: int, options: Any, env: Env) -> str:
        """Close a table."""
        return "</table></div>\n"

    def th_open(self, tokens: Sequence[Token], idx: int, options: Any, env: Env) -> str:
        """Open a cell of a table's head."""
        return f"<th{_side(tokens[idx])}>"

    def td_open(self, tokens: Sequence[Token], idx: int, options: Any, env: Env) -> str:
        """Open a cell of a table."""
        return f"<td{_side(tokens[idx])}>"

    def live(self, tokens: Sequence[Token], idx: int, options: Any, env: Env) -> str:
        """Leave a slot for a value; one that stands in a link has no slip of its own."""
        number = tokens[idx].meta["live"]
        if self.around.links or self.manner.is_public:
            return slot(f"plain:{number}")
        self.around.slips.append(number)
        return slot(f"live:{number}")

    def footnote_ref(self, tokens: Sequence[Token], idx: int, options: Any, env: Env) -> str:
        """Refer to a footnote; those that the edition shows are numbered in their order."""
        number = self.notes.setdefault(tokens[idx].meta["id"], len(self.notes) + 1)
        again = tokens[idx].meta.get("subId", 0)
        mark = f"fnref{number}" + (f":{again}" if again else "")
        return f'<sup class="footnote-ref"><a href="#fn{number}" id="{mark}">[{number}]</a></sup>'

    def footnote_open(self, tokens: Sequence[Token], idx: int, options: Any, env: Env) -> str:
        """Open a footnote."""
        return f'<li id="fn{self.notes[tokens[idx].meta["id"]]}" class="footnote-item">'

    def footnote_anchor(self, tokens: Sequence[Token], idx: int, options: Any, env: Env) -> str:
        """Lead back from a footnote to where it was referred to."""
        number = self.notes[tokens[idx].meta["id"]]
        again = tokens[idx].meta.get("subId", 0)
        mark = f"fnref{number}" + (f":{again}" if again else "")
        return f' <a href="#{mark}" class="footnote-backref" aria-label="Back to the text">↩</a>'

    def link_open(self, tokens: Sequence[Token], idx: int, options: Any, env: Env) -> str:
        """Open a link, if what it leads to is in this edition."""
        token = tokens[idx]
        way = self.manner.way(self.page.links[token.meta["link"]])
        self.around.links.append(way is not None)
        title = token.attrGet("title")
        told = f' title="{escapeHtml(str(title))}"' if title else ""
        return "" if way is None else f'<a href="{escapeHtml(way)}"{told}>'

    def link_close(self, tokens: Sequence[Token], idx: int, options: Any, env: Env) -> str:
        """Close a link."""
        return "</a>" if self.around.links.pop() else ""

    def image(self, tokens: Sequence[Token], idx: int, options: Any, env: Env) -> str:
        """Render a picture with its words."""
        token = tokens[idx]
        way = self.manner.picture(self.page.links[token.meta["link"]])
        words = "".join(_words(token.children or ()))
        title = token.attrGet("title")
        told = f' title="{escapeHtml(str(title))}"' if title else ""
        return f'<img src="{escapeHtml(way)}" alt="{words}"{told}>'

    def html_inline(self, tokens: Sequence[Token], idx: int, options: Any, env: Env) -> str:
        """Let the few tags pass that a page may hold; the box of a task list is drawn."""
        if box := TASK_BOX.fullmatch(tokens[idx].content):
            return f'<span class="box" role="img" aria-label="{"done" if box[1] else "to do"}"></span>'
        return _clean(tokens[idx].content)

    def html_block(self, tokens: Sequence[Token], idx: int, options: Any, env: Env) -> str:
        """Let the few tags pass that a page may hold."""
        return _clean(tokens[idx].content)

    def fence(self, tokens: Sequence[Token], idx: int, options: Any, env: Env) -> str:
        """Leave a slot for a card; show any other fence of the book as it is written."""
        token = tokens[idx]
        if "fence" not in token.meta:
            return f"<pre><code>{escapeHtml(token.content)}</code></pre>\n"
        fence = self.page.fences[token.meta["fence"]]
        if self.manner.is_public:
            return ""
        if fence.kind == "calc":
            return slot(f"block:{fence.name}")
        if fence.kind == "limit":
            return slot(f"limit:{fence.name}")
        if fence.kind == "measure":
            return slot(f"measure:{fence.name}")
        if fence.kind in ("materials", "weights"):
            return slot(f"{fence.kind}:{token.meta['fence']}")
        return render("fence", fence=fence, title=_title(fence), rows=list(_rows(fence.body)))

    def renderToken(  # noqa: N802 - the renderer's own name
        self, tokens: Sequence[Token], idx: int, options: Any, env: Env
    ) -> str:
        """Render any other token; containers get the markup of their kind."""
        token = tokens[idx]
        if not token.type.startswith("container_"):
            if token.hidden:
                return ""
            if token.attrs or not token.nesting:
                return super().renderToken(tokens, idx, options, env)
            return f"<{token.tag}>" if token.nesting > 0 else f"</{token.tag}>{_ENDS.get(token.type, '')}"
        kind, _, side = token.type.removeprefix("container_").rpartition("_")
        if kind in SIGNALS:
            name = f"signal_{side}"
            return render(name, word=kind, title=token.info.strip()[len(kind) :].strip()) + "\n"
        if kind == "why":
            return render(f"why_{side}") + "\n"
        return ""


def _end(tokens: Sequence[Token], index: int) -> int:
    """Return where the container that opens at an index closes."""
    opening = tokens[index]
    kind = opening.type.removesuffix("_open") + "_close"
    for at in range(index + 1, len(tokens)):
        if tokens[at].type == kind and tokens[at].level == opening.level:
            return at
    return len(tokens) - 1


def _begin(tokens: Sequence[Token], index: int) -> int:
    """Return where the item that closes at an index opens."""
    level = tokens[index].level
    return next(
        at
        for at in range(index - 1, -1, -1)
        if tokens[at].type == "list_item_open" and tokens[at].level == level
    )


def _side(token: Token) -> str:
    """Return the class of a cell that is set to a side."""
    style = str(token.attrGet("style") or "")
    side = style.removeprefix("text-align:").strip()
    return f' class="{side}"' if side in ("left", "right", "center") else ""


def _words(children: Sequence[Token]) -> Iterator[str]:
    """Go through the words of a picture."""
    for child in children:
        if child.type == LIVE:
            yield slot(f"alt:{child.meta['live']}")
        elif child.type in ("softbreak", "hardbreak"):
            yield " "
        elif child.type in ("text", "code_inline"):
            yield escapeHtml(child.content)
        elif child.children:
            yield from _words(child.children)


def _clean(html: str) -> str:
    """Drop comments and let the allowed tags pass; whatever else stands there becomes text."""
    html = COMMENT.sub("", html)
    parts: list[str] = []
    at = 0
    for tag in _TAG.finditer(html):
        if tag[1].lower() in ALLOWED_TAGS and (not tag[2] or tag[1].lower() == "abbr"):
            parts += [_text(html[at : tag.start()]), tag[0]]
            at = tag.end()
    return "".join([*parts, _text(html[at:])])


def _text(text: str) -> str:
    return text.replace("<", "&lt;").replace(">", "&gt;")


def _title(fence: Fence) -> str:
    entries: Mapping[str, tuple[Scalar, Node]] = fence.body.entries if fence.body is not None else {}
    for key in ("title", "what"):
        if key in entries and isinstance(node := entries[key][1], Scalar):
            return node.text
    return fence.name.replace("_", " ") or fence.kind


def _rows(body: Node | None, before: str = "") -> Iterator[tuple[str, str]]:
    """Go through the lines of a fence as they are written."""
    if isinstance(body, Entries):
        for key, (_, node) in body.entries.items():
            yield from _rows(node, f"{before}{key}" if not before else f"{before} {key}")
    elif isinstance(body, Items):
        for number, item in enumerate(body.items, 1):
            yield from _rows(item, f"{before} {number}".strip())
    elif isinstance(body, Scalar):
        yield before, body.text
