"""The templates of sheets, cards and slips, from the theme."""

from __future__ import annotations

import re
from collections.abc import Hashable
from functools import cache
from html import escape as html_escape
from typing import Any

from jinja2 import Environment, PackageLoader, StrictUndefined, Template
from markupsafe import Markup

from kb.pages.skeleton import Skeleton, slot, split

_SPECIAL = re.compile("[&<>\"']")
_NOT_ON_PAPER = re.compile(r' (?:id|href|src|title)="[^"]*"')
_TERM = re.compile(r'<a class="term" [^>]*>([^<]*)</a>')
"""A word of the glossary; on paper it is a word like any other."""
_RAISED = {"2": "²", "3": "³", "4": "⁴"}
_POWER = re.compile(r"(?<=[A-Za-z_)]) ?\^ ?([234])(?![0-9.])")
_SIGNS = {" * ": " × ", " / ": " ÷ ", " - ": " − ", " <= ": " ≤ ", " >= ": " ≥ "}


@cache
def _environment() -> Environment:
    one = Environment(
        loader=PackageLoader("kb_theme", "partials"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    one.globals["slot"] = slot
    one.filters.update(rule=set_rule, unit=set_unit, heading=heading)
    return one


@cache
def _template(name: str) -> Template:
    return _environment().get_template(f"{name}.html")


def render(name: str, **values: Any) -> Markup:
    """Render a template of the theme; a value that it misses is an error."""
    return Markup(_template(name).render(values))


@cache
def piece(name: str, **structure: Hashable) -> Skeleton:
    """Return one of the theme's small pieces as a skeleton, to be filled many times.

    `structure` is what decides its shape, such as a calculator; it is rendered once for each.
    """
    macro = getattr(_template("pieces").module, name)
    return split(str(macro(**structure)))


def heading(name: str) -> str:
    """Return a name, of a block or of a stage, as a heading.

    >>> heading("label_holds_load"), heading("water test")
    ('Label holds load', 'Water test')
    """
    words = name.replace("_", " ")
    return words[:1].upper() + words[1:]


def escape(text: str) -> str:
    """Return a text as HTML shows it; most texts of a book hold nothing to escape."""
    return html_escape(text) if _SPECIAL.search(text) else text


def set_rule(text: str) -> str:
    """Return a rule as it is set in print: with the signs of arithmetic and raised powers.

    >>> set_rule("gross * (1 - share) <= 4 ft^3")
    'gross × (1 − share) ≤ 4 ft³'
    """
    if " " in text:
        for written, sign in _SIGNS.items():
            text = text.replace(written, sign)
    return _POWER.sub(lambda match: _RAISED[match[1]], text) if "^" in text else text


def set_unit(unit: str) -> str:
    """Return a unit as it is set in print.

    >>> set_unit("lbf*in^2")
    'lbf·in²'
    """
    return set_rule(unit).replace("*", "·")


def said(html: str) -> str:
    """Return the words of some HTML, without its tags.

    >>> said("<p>Weigh <b>97</b> lb</p>")
    'Weigh 97 lb'
    """
    # Our HTML holds no '>' but at the end of a tag: text has it escaped.
    return " ".join(" ".join(part[part.find(">") + 1 :] for part in html.split("<")).split())


def shown(html: str) -> str:
    """Return the HTML of a text without what paper does not show: where links lead, and names of places.

    >>> shown('<h2 id="a">Weigh <a href="b.html">it</a></h2>')
    '<h2>Weigh <a>it</a></h2>'
    """
    return " ".join(_NOT_ON_PAPER.sub("", _TERM.sub(r"\1", html)).split())
