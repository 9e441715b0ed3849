"""A book as a plain MkDocs project: the same pages in Python-Markdown's dialect, every number filled in.

This is what the build is measured against: what a yard would get that wrote its numbers by hand.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

from kb.calculators.declare import Calculator
from kb.content.page import Page
from kb.language.quantity import NoAnswer, Quantity
from kb.language.show import show
from kb.numbers.evaluate import BlockResult, Evaluation
from kb.reckon import open_book

_LIVE = re.compile(r"\{\{(.*?)\}\}")
_CALC = re.compile(r"^```calc \w+ (\w+)\n.*?^```$", re.MULTILINE | re.DOTALL)
_CONTAINER = re.compile(r"^:::(\w+) ?([^\n]*)\n(.*?)^:::$", re.MULTILINE | re.DOTALL)

_SETTINGS = """\
site_name: {name}
docs_dir: docs
use_directory_urls: false
theme:
  name: null
  custom_dir: theme
plugins: {plugins}
markdown_extensions: [tables, admonition, toc]
"""

_PAGE = """\
<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<title>{{ page.title }} - {{ config.site_name }}</title>
<link rel="stylesheet" href="{{ 'plain.css'|url }}">
</head>
<body>
<header><a href="{{ nav.homepage.url|url }}">{{ config.site_name }}</a></header>
{% if page.parent %}
<nav>
<h2>{{ page.parent.title }}</h2>
<ul>
{%- for one in page.parent.children %}
<li><a href="{{ one.url|url }}"
{%- if one is sameas page %} aria-current="page"{% endif %}>{{ one.title }}</a></li>
{%- endfor %}
</ul>
</nav>
{% endif %}
<main>
<h1>{{ page.title }}</h1>
{% if page.meta.number %}
<dl>
<dt>Sheet</dt><dd>{{ page.meta.number }}</dd>
<dt>Stage</dt><dd>{{ page.meta.stage }}</dd>
<dt>Crew</dt><dd>{{ page.meta.crew }}</dd>
<dt>Time</dt><dd>{{ page.meta.time }}</dd>
<dt>Protection</dt><dd>{{ page.meta.protection|join(', ') }}</dd>
<dt>Tools</dt><dd>{{ page.meta.tools|join(', ') }}</dd>
</dl>
{% endif %}
{{ page.content }}
</main>
<footer>
{% if page.previous_page %}
<a rel="prev" href="{{ page.previous_page.url|url }}">{{ page.previous_page.title }}</a>
{% endif %}
{% if page.next_page %}
<a rel="next" href="{{ page.next_page.url|url }}">{{ page.next_page.title }}</a>
{% endif %}
</footer>
</body>
</html>
"""

_STYLE = """\
body { max-width: 70rem; margin: auto; font: 1rem/1.5 sans-serif }
nav { float: left; width: 16rem }
main { margin-left: 18rem }
table { border-collapse: collapse }
td, th { border: 1px solid #888; padding: 0.2rem 0.5rem }
"""


def write_plain(book: Path, folder: Path, *, search: bool = False) -> None:
    """Write a book as a plain MkDocs project. Raises `ValueError` where the book has errors."""
    opened = open_book(book)
    done = opened.evaluate()
    if problems := (*opened.problems, *done.problems):
        raise ValueError("\n".join(map(str, problems[:5])))
    docs, theme = folder / "docs", folder / "theme"
    theme.mkdir(parents=True)
    docs.mkdir()
    settings = _SETTINGS.format(name=opened.book.settings.name, plugins="[search]" if search else "[]")
    (folder / "mkdocs.yml").write_text(settings, encoding="utf-8")
    (theme / "main.html").write_text(_PAGE, encoding="utf-8")
    (theme / "plain.css").write_text(_STYLE, encoding="utf-8")
    (docs / "index.md").write_text(f"# {opened.book.settings.name}\n", encoding="utf-8")
    for page in opened.book.pages:
        path = docs / Path(page.file).relative_to(opened.book.settings.content)
        path.parent.mkdir(parents=True, exist_ok=True)
        text = (book / page.file).read_text(encoding="utf-8")
        path.write_text(plain_page(text, page, done), encoding="utf-8")


def plain_page(text: str, page: Page, done: Evaluation) -> str:
    """Return a page's text with its numbers in place of what works them out."""
    text = _CONTAINER.sub(_admonition, text)
    text = _CALC.sub(lambda match: _table(done.blocks[match[1]]), text)
    return _LIVE.sub(_filler(page, done), text)


def _admonition(match: re.Match[str]) -> str:
    kind, title, body = match.groups()
    head = f'!!! {kind} "{title}"' if title else f"!!! {kind}"
    return "\n".join((head, *(f"    {line}".rstrip() for line in body.splitlines())))


def _filler(page: Page, done: Evaluation) -> Callable[[re.Match[str]], str]:
    """Return what replaces a page's live values, which come in the order of its text."""
    lives = iter(page.live)

    def fill(match: re.Match[str]) -> str:
        live = next(lives)
        if live.text != match[1].strip():
            raise ValueError(f"{page.file}: expected '{live.text}', found '{match[1].strip()}'")
        return done.show(live).text

    return fill


def _table(result: BlockResult) -> str:
    """Return a block's results and limits as Markdown."""
    lines = [f"**{result.block.title or result.block.name}**", "", "| Number | Value |", "| --- | ---: |"]
    lines += [f"| {name} | {value} |" for name, value in _results(result)]
    if result.limits:
        lines += ["", "| Limit | Rule | Protects | Verdict |", "| --- | --- | --- | --- |"]
        lines += [f"| {one.name} | `{one.rule}` | {one.protects} | {one.verdict} |" for one in result.limits]
    return "\n".join(lines)


def _results(result: BlockResult) -> Iterator[tuple[str, str]]:
    for name, value in result.outcome.values.items():
        yield _label(result.block.calculator, name), _text(result.block.calculator, name, value)


def _label(calculator: Calculator, name: str) -> str:
    return calculator.results[name].q.label if name in calculator.results else name


def _text(calculator: Calculator, name: str, value: Any) -> str:
    if isinstance(value, Quantity):
        safe = calculator.results[name].q.safe if name in calculator.results else "nearest"
        return show(value, safe=safe)
    return f"none ({value.why})" if isinstance(value, NoAnswer) else str(value)
