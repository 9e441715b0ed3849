"""Live values in the text, and their slips: where a number comes from, its rule, its limits, its users."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache

from kb.calculators.declare import Source
from kb.calculators.judge import Judged
from kb.content.addresses import way
from kb.content.page import LiveValue, Page
from kb.language.quantity import Quantity
from kb.numbers.evaluate import BlockResult, Shown
from kb.pages.cards import limit_text
from kb.pages.templates import escape, piece, set_rule
from kb.pages.view import View, sign, value_pair
from kb.pages.wording import sources_of

_MOST_USERS = 8


def live_value(view: View, live: LiveValue, number: int, shown: Shown) -> str:
    """Return a value in the text: a number that opens its slip, and any verdict worse than *within*."""
    return piece("live").fill({"index": str(number + 1), **_texts(view, live, shown)})


def plain_value(view: View, live: LiveValue, shown: Shown) -> str:
    """Return a value in the text that has no slip."""
    return piece("live_plain").fill(_texts(view, live, shown))


def _texts(view: View, live: LiveValue, shown: Shown) -> dict[str, str]:
    name = "" if view.is_public else live.expression.single_name or ""  # the public is not told it
    other = view.done.show_other(live, view.book.settings.units)
    return {
        "value": value_pair(shown.printed, other, name),
        "verdict": "" if shown.verdict == "within" else sign(shown.verdict),
        "kind": "" if isinstance(shown.value, Quantity) else " word",
    }


def slip(view: View, page: Page, number: int, shown: Shown) -> str:
    """Return the slip of a value: hidden below its paragraph until the value is touched."""
    live = page.live[number]
    here = view.addresses[page.file]
    names = live.expression.names
    if live.expression.single_name:
        rows = _rows(view, here, names[0])
    else:
        rows = piece("slip_rule").fill(
            {
                "rule": escape(set_rule(live.expression.text)),
                "put": escape(view.put_in(live.expression)),
                "gives": escape(set_rule(shown.text)),
            }
        ) + "".join(_named(view, here, name) for name in names)
    return piece("slip").fill(
        {
            "index": str(number + 1),
            "title": escape(_title(view, live)),
            "verdict": "" if shown.verdict == "within" else sign(shown.verdict),
            "rows": rows,
        }
    )


def _title(view: View, live: LiveValue) -> str:
    name = live.expression.single_name
    result = view.result(name) if name else None
    if name and result:
        declared = result.block.calculator.results.get(name.partition(".")[2])
        return declared.q.label if declared else name
    return name or live.expression.text


def _named(view: View, here: str, name: str) -> str:
    return piece("slip_row").fill({"head": view.link(here, name), "text": escape(str(view.printed(name)))})


def _rows(view: View, here: str, name: str) -> str:
    """Return the rows of a single name's slip; an input's are the same on all pages of a folder."""
    if name not in view.done.inputs.values:
        return "".join(_about(view, here, name))
    key = (here.rpartition("/")[0], name)
    if key not in view.slip_rows:
        view.slip_rows[key] = "".join(_about(view, here, name))
    return view.slip_rows[key]


def _about(view: View, here: str, name: str) -> Iterator[str]:
    """Go through the rows of a single name's slip."""
    source = view.done.inputs.values.get(name)
    result = view.result(name)
    if source is not None:
        yield piece("slip_input").fill(
            {
                "link": view.link(here, name),
                "text": escape(source.text),
                "layer": escape(source.layer),
                "file": escape(source.place.file),
                "line": str(source.place.line),
            }
        )
    elif result is not None:
        yield from _result(view, here, name, result)
    elif name.startswith("options."):
        chosen = "chosen" if view.done.values.get(name) else "not chosen"
        yield piece("slip_row").fill({"head": "Option", "text": f"{chosen} in this edition"})
    yield from _users(view, here, name)


def _result(view: View, here: str, name: str, result: BlockResult) -> Iterator[str]:
    block = result.block
    if block.page.file not in view.addresses:
        return  # how a private page's number is made is not for this edition
    one = name.partition(".")[2]
    declared = block.calculator.results.get(one)
    value = str(view.printed(name))
    line = next((line for line in block.lines if line.name == one), None)
    rule = line.expression if line else declared.rule if declared else None
    if rule is not None:
        said, put = view.working(result, one, rule)
        yield piece("slip_rule").fill({"rule": said, "put": put, "gives": view.gives(name)})
    elif declared is not None:
        yield piece("slip_method").fill({"method": escape(declared.q.method), "gives": escape(value)})
    if spread := view.tolerance(name):
        likely = view.likely(name)
        text = f"{spread}, likely {likely}" if likely and likely != spread else spread
        yield piece("slip_row").fill({"head": "Tolerance", "text": escape(text)})
    if mover := view.mover(here, name):
        yield piece("slip_row").fill({"head": "Moves most with", "text": mover})
    yield piece("slip_row").fill(
        {"head": "Made in", "text": view.link(here, name, block.title or block.name)}
    )
    for judged in _limits(view, name, result):
        yield piece("slip_row").fill({"head": "Limit", "text": limit_text(judged, view.book.settings.units)})
    yield _sources(sources_of(block.calculator, view.book.reference))


@cache
def _sources(sources: tuple[Source, ...]) -> str:
    return "".join(
        piece("source").fill(
            {"title": escape(source.title), "what": escape(source.what), "standing": source.standing}
        )
        for source in sources
    )


def _limits(view: View, name: str, result: BlockResult) -> Iterator[Judged]:
    """Go through the limits that judge a number: its block's own, and the yard's."""
    one = name.partition(".")[2]
    own = {limit.limit.name: limit.rule.names for limit in result.block.calculator.limits}
    own.update((rule.name, rule.expression.names) for rule in result.block.limits)
    for judged in result.limits:
        if one in own.get(judged.name, ()) or judged.verdict != "within":
            yield judged
    yield from view.fences_over.get(name, ())


def _users(view: View, here: str, name: str) -> Iterator[str]:
    """Say on which pages a name is used, each once."""
    pages = view.users.get(name, ())
    if not pages:
        return
    links = ", ".join(page_link(view, here, page) for page in pages[:_MOST_USERS])
    more = f" and on {len(pages) - _MOST_USERS} more" if len(pages) > _MOST_USERS else ""
    yield piece("slip_users").fill({"links": links, "more": more})


def page_link(view: View, here: str, page_id: str) -> str:
    """Return a link to a page by its sheet number, or its title where it has none."""
    key = (here.rpartition("/")[0], page_id)
    known = view.page_links.get(key)
    if known is None:
        page = view.pages_by_id[page_id]
        text = page.head.number.text if page.head.number else page.head.title
        there = view.addresses[page.file]
        known = view.page_links[key] = piece("page_link").fill(
            {"way": way(here, there), "text": escape(text), "title": escape(page.head.title)}
        )
    return known
