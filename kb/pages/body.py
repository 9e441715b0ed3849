"""Tokens of a page to HTML, with its values, cards and slips as slots."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping, MutableMapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from markdown_it.common.utils import escapeHtml
from markdown_it.renderer import RendererHTML
from markdown_it.token import Token
from markupsafe import Markup

from kb.content.markdown import LIVE, parser
from kb.content.page import ALLOWED_TAGS, COMMENT, TASK_BOX, Link, Page
from kb.content.reference import SIGNAL_WORDS, Hazard
from kb.pages.skeleton import slot
from kb.pages.templates import render

_SLIPS_MAY_FOLLOW = frozenset(
    ("paragraph_close", "heading_close", "table_open", "table_close", "dl_open", "dl_close")
)
_TAG = re.compile(r"</?([A-Za-z][A-Za-z0-9]*)((?:\s+title=(?:\"[^\"<>]*\"|'[^'<>]*'))?)\s*/?>")
_HEADS = frozenset(("heading_open", "th_open", "dt_open"))
"""What opens a text that is a head and no running text."""
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
        number: the sheet number that a link leads to, which paper shows beside it; "" where there is none.
        hazards: the cautions that the page may call by name.
        explain: puts a running text into HTML, with the words of the glossary linked to their slips.

    """

    shows: Sequence[bool]
    way: Callable[[Link], str | None]
    picture: Callable[[Link], str]
    is_public: bool = False
    number: Callable[[Link], str] = lambda link: ""
    hazards: Mapping[str, Hazard] = field(default_factory=dict)
    explain: Callable[[str], str] = escapeHtml


def body(page: Page, manner: Manner) -> str:
    """Return the HTML of a page's text.

    Its slots: `live:N` for a value, `alt:N` for one in the words of a picture, `slip:N` for its slip,
    `block:NAME`, `limit:NAME` and `measure:NAME` for the cards, `materials:N`, `weights:N` and `drawing:N`
    for those of the page's fence N.
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
                is_head = tokens[index - 1].type in _HEADS
                children = token.children or []
                parts.append(
                    self.renderInline(children, self.options, env)
                    if is_head
                    else "".join(self.running(children, env))
                )
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

    def running(self, children: Sequence[Token], env: Env) -> Iterator[str]:
        """Render a running text; words of the glossary are found across the ends of its lines."""
        at = 0
        while at < len(children):
            token, rule = children[at], self.rules.get(children[at].type)
            if token.type == "text" and not self.around.links:
                end = at + 1
                while end < len(children) and children[end].type in ("text", "softbreak"):
                    end += 1
                yield self.manner.explain("".join(one.content or "\n" for one in children[at:end]))
                at = end
                continue
            render_one = rule or self.renderToken
            yield render_one(children, at, self.options, env)
            at += 1

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
        if way is None:
            return ""
        number = self.manner.number(self.page.links[token.meta["link"]])
        said = "".join(one.content for one in tokens[idx + 1 : idx + 3] if one.type == "text")
        on_paper = f' data-to="{escapeHtml(number)}"' if number and number not in said else ""
        return f'<a href="{escapeHtml(way)}"{told}{on_paper}>'

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
        """Leave a slot for a fence of the book; any other is code."""
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
        return slot(f"{fence.kind}:{token.meta['fence']}")

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
        if kind in SIGNAL_WORDS:
            title = token.info.strip()[len(kind) :].strip()
            return render(f"signal_{side}", word=kind, title=title, text="") + "\n"
        if kind == "hazard":
            return self.hazard(token) if side == "open" else render("signal_close") + "\n"
        if kind == "why":
            return render(f"why_{side}") + "\n"
        return ""

    def hazard(self, token: Token) -> str:
        """Open the signal box of a hazard, in the book's own wording."""
        one = self.manner.hazards[token.meta["hazard"]]
        text = Markup(self.manner.explain(one.text))
        return render("signal_open", word=one.word, title=one.title, text=text) + "\n"


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
