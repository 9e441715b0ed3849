"""Markdown to tokens: the configured parser, and the rule for live values.

Only this module and the page's renderer know markdown-it-py. CommonMark stays true; tables, footnotes,
definition lists, task lists, front matter, containers and `{{ … }}` are added.
"""

from __future__ import annotations

from functools import cache

from markdown_it import MarkdownIt
from markdown_it.parser_block import RuleFuncBlockType
from markdown_it.ruler import Ruler
from markdown_it.rules_block import StateBlock, table
from markdown_it.rules_inline import StateInline
from markdown_it.token import Token
from mdit_py_plugins.container import container_plugin
from mdit_py_plugins.deflist import deflist_plugin
from mdit_py_plugins.footnote import footnote_plugin
from mdit_py_plugins.front_matter import front_matter_plugin
from mdit_py_plugins.tasklists import tasklists_plugin

CONTAINERS = ("danger", "warning", "caution", "notice", "hazard", "why", "when", "public", "shop")
FENCES = ("calc", "limit", "measure", "materials", "weights", "drawing")
DEEPEST = 40
"""How deep lists and quotes may stand in each other; the parser would drop what is deeper."""
LIVE = "live"
"""The type of the token that stands for `{{ … }}`; its content is the text between the braces."""
UNCLOSED = "live_unclosed"
"""The type of the token that stands for a `{{` that does not end."""


@cache
def parser() -> MarkdownIt:
    """Return the one parser of the book."""
    md = MarkdownIt("commonmark", {"maxNesting": DEEPEST + 2}).enable(["table", "strikethrough"])
    # What a link may lead to is said where links are checked, with its place.
    md.validateLink = lambda url: True  # type: ignore[method-assign]
    md.use(front_matter_plugin).use(deflist_plugin).use(footnote_plugin).use(tasklists_plugin)
    md.use(container_plugin, "any", validate=_opens)
    md.inline.ruler.before("escape", LIVE, _live)
    md.block.ruler.at("table", _table, {"alt": ["paragraph", "reference"]})
    md.block.ruler.__class__ = _Ruler
    return md


class _Ruler(Ruler[RuleFuncBlockType]):
    """The rules of the parser; what may end a paragraph is one rule, which sees at a glance what cannot.

    Of all that ends a paragraph only a table begins with a letter, and most lines do. Without this every rule
    is tried on every line of text, twice.
    """

    def getRules(self, chainName: str = "") -> list[RuleFuncBlockType]:  # noqa: N802, N803 - the parser's names
        """Return the rules of a chain."""
        return [self._ends_paragraph] if chainName == "paragraph" else super().getRules(chainName)

    def _ends_paragraph(self, state: StateBlock, line: int, end: int, silent: bool) -> bool:
        at = state.bMarks[line] + state.tShift[line]
        if at < state.eMarks[line] and state.src[at].isalpha():
            return _table(state, line, end, silent)
        return any(rule(state, line, end, silent) for rule in Ruler.getRules(self, "paragraph"))


def _table(state: StateBlock, start: int, end: int, silent: bool) -> bool:
    """Try a table only where the next line can be one's second; on most lines that saves the trying."""
    if start + 2 > end:
        return False
    at = state.bMarks[start + 1] + state.tShift[start + 1]
    return at < state.eMarks[start + 1] and state.src[at] in "|-:" and table(state, start, end, silent)


def parse(text: str) -> list[Token]:
    """Parse the text of a page into tokens; a container's are named after its kind: `container_why_open`."""
    tokens = parser().parse(text)
    kinds: list[str] = []
    for token in tokens:
        # One rule for all kinds: a rule for each would be tried on every line.
        if token.type == "container_any_open":
            kinds.append(_kind(token.info))
            token.type = f"container_{kinds[-1]}_open"
        elif token.type == "container_any_close":
            token.type = f"container_{kinds.pop()}_close"
    return tokens


def _kind(info: str) -> str:
    return info.strip().split(" ", 1)[0]


def _opens(info: str, *_: object) -> bool:
    return _kind(info) in CONTAINERS


def _live(state: StateInline, silent: bool) -> bool:
    """Read `{{ … }}`; a `{{` that does not end becomes a token that the page refuses."""
    if not state.src.startswith("{{", state.pos):
        return False
    end = state.src.find("}}", state.pos + 2, state.posMax)
    if end < 0 or "{{" in state.src[state.pos + 2 : end]:
        if not silent:
            state.push(UNCLOSED, "", 0).content = "{{"
        state.pos += 2
        return True
    if not silent:
        token = state.push(LIVE, "", 0)
        token.content = state.src[state.pos + 2 : end]
        token.markup = "{{"
    state.pos = end + 2
    return True
