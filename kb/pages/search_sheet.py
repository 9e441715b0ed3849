"""What is to be found on a sheet, from what the sheet shows."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from html import unescape

from kb.content.page import Page
from kb.pages.search_words import Entry
from kb.pages.templates import heading
from kb.pages.view import View

_PARTS = re.compile(
    r'<h[2-6] id="(?P<heading>[^"]*)">(?P<title>.*?)</h[2-6]>'
    r'|<li class="step" id="(?P<step>[^"]*)"><a [^>]*>(?P<number>\d+)</a>(?P<text>.*?)</div></li>\n'
    r"|<thead>.*?</thead>|<tr>(?P<row>.*?)</tr>"
    r'|<section class="card fence .*?</section>',
    re.DOTALL,
)
_CELLS = re.compile(r"</t[dh]>")
_ROWS = re.compile(r"<tr>.*?</tr>", re.DOTALL)
_HEAD = re.compile(r"<th [^>]*>(.*?)<span [^>]*>(.*?)</span></th>")
_BLOCK_TABLE = re.compile(r'<details class="block-table">.*?</details>', re.DOTALL)
_NOTE = re.compile(r'<sup class="footnote-ref">.*?</sup>|<a href="#fnref[^>]*>[^<]*</a>')
_WITHIN_LINES = re.compile(r"</?(?:a|abbr|b|code|del|em|i|kbd|s|span|strong|sub|sup)\b[^>]*>")
_TAG = re.compile(r"<[^>]*>")
_LETTER = re.compile(r"[^\W\d_]")


def shown_words(html: str) -> str:
    """Return some HTML of a page as a reader sees it, in one line.

    >>> shown_words("<p>Weigh <b>97</b>&nbsp;lb.</p><p>Pour</p>")
    'Weigh 97 lb. Pour'
    """
    if "<" in html:
        html = _TAG.sub(" ", _WITHIN_LINES.sub("", _NOTE.sub("", html)))
    if "&" in html:
        html = unescape(html)
    return " ".join(html.split())


def values_shown(values: Mapping[str, str]) -> dict[str, str]:
    """Return the values of a sheet's slots as a search reads them: no slips, of lists only their rows."""
    shown = {}
    for key, html in values.items():
        kind = key.partition(":")[0]
        if kind in ("live", "plain"):
            shown[key] = html
        elif kind in ("materials", "weights"):
            shown[key] = "".join(_ROWS.findall(html))
        else:
            shown[key] = ""
    return shown


def sheet_entries(view: View, page: Page, body: str, values: Mapping[str, str]) -> list[Entry]:
    """Return what is to be found on a sheet: itself, its headings, its steps, and the rows of its tables.

    `body` is its text with `values_shown` filled in; `values` are those of all its slots.
    """
    found: list[Entry] = []
    anchor, title = "", ""
    running: list[str] = []
    at = begun = 0

    def close() -> None:
        text = shown_words(" ".join(running))
        running.clear()
        found.insert(begun, Entry("heading", anchor, title, text) if title else _sheet(view, page, text))

    for part in _PARTS.finditer(body):
        running.append(body[at : part.start()])
        at = part.end()
        if part["heading"] is not None:
            close()
            begun = len(found)
            anchor, title = part["heading"], shown_words(part["title"]) or part["heading"]
        elif part["step"] is not None:
            text = shown_words(part["text"])
            found.append(Entry("step", part["step"], "", text, part["number"]))
        elif part["row"] is not None:
            found.extend(_row(anchor, part["row"]))
    running.append(body[at:])
    close()
    for key, html in values.items():
        if key.startswith("block:") and "block-table" in html:
            anchor = f"block-{key.removeprefix('block:')}"
            for table in _BLOCK_TABLE.findall(html):
                found.extend(_result_rows(anchor, table))
    return found


def _sheet(view: View, page: Page, text: str) -> Entry:
    """Return the entry of the sheet itself: its title, and what stands before its first heading."""
    head = page.head
    if view.addresses[page.file] == "index.html":
        return Entry("sheet", "", view.book.settings.name, text)
    stage = heading(head.stage.text) if head.stage else ""
    more = () if view.is_public else (*head.protection, *head.tools)
    return Entry("sheet", "", head.title, " ".join([text, ", ".join(more)]).strip(), stage)


def _result_rows(anchor: str, table: str) -> Iterator[Entry]:
    """Give the rows of a result's table, such as pieces by their labels, with the heads of their columns."""
    head, *rows = _ROWS.findall(table)
    heads = [(shown_words(name), shown_words(unit)) for name, unit in _HEAD.findall(head)]
    for row in rows:
        cells = [shown_words(cell) for cell in _CELLS.split(row)[: len(heads)]]
        told = [f"{name} {cell} {unit}".rstrip() for (name, unit), cell in zip(heads, cells, strict=True)]
        yield from _part(anchor, cells, told)


def _row(anchor: str, row: str) -> Iterator[Entry]:
    """Give the row of a table; not one that holds nothing but figures."""
    cells = [text for cell in _CELLS.split(row) if (text := shown_words(cell))]
    yield from _part(anchor, cells, cells)


def _part(anchor: str, cells: Sequence[str], told: Sequence[str]) -> Iterator[Entry]:
    """Give a row under its first cell that holds a letter; `told` are its cells as they are shown."""
    named = next((place for place, cell in enumerate(cells) if _LETTER.search(cell)), None)
    if named is not None:
        yield Entry("part", anchor, cells[named], ", ".join([*told[:named], *told[named + 1 :]]))
