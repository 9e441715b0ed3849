"""A page as a sheet: rail, head, body and title block, and the sheet's fingerprint."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache
from hashlib import blake2b
from html import unescape

from markupsafe import Markup

from kb.content.addresses import stage_address, up, way
from kb.content.page import Page
from kb.language.quantity import Quantity
from kb.language.show import Form, show
from kb.numbers.exports import code
from kb.pages.skeleton import Skeleton, split
from kb.pages.templates import render
from kb.pages.view import View

NOT_ISSUED = "not issued"
_TAGS = re.compile(r"<[^>]*>")
_SPACE = re.compile(r"\s+")
LISTS = {
    "numbers": "Numbers",
    "inputs": "Inputs",
    "limits": "Limits",
    "calculators": "Calculators",
    "board": "Board",
}


@dataclass(frozen=True, slots=True)
class SitePage:
    """A finished page: its address in the site, its title, and everything between its body's tags."""

    address: str
    title: str
    html: str


@dataclass(frozen=True, slots=True)
class Stop:
    """One stage on the rail, with its procedures where it is the current one."""

    name: str
    title: str
    way: str
    is_here: bool
    procedures: tuple[tuple[str, str, str, bool], ...] = ()


def duration(time: Quantity) -> str:
    """Return a time in hours and minutes.

    >>> from kb.language.quantity import quantity
    >>> duration(quantity(1.25, "hr"))
    '1 hr 15 min'
    """
    return show(time, Form(unit="hr-min"), "nearest")


def stage_title(stage: str) -> str:
    """Return a stage's name as a heading.

    >>> stage_title("water test")
    'Water test'
    """
    return stage[:1].upper() + stage[1:]


def rail(view: View, here: str, stage: str = "", page: Page | None = None) -> Markup:
    """Return the rail: the stages in build order, the current one lit, its procedures below it."""
    stops = tuple(
        Stop(
            name,
            stage_title(name),
            way(here, stage_address(name)) if name in view.stages else "",
            name == stage,
            tuple(_procedures(view, here, name, page)) if name == stage else (),
        )
        for name in view.book.settings.stages
    )
    lists = () if view.is_public else tuple(LISTS.items())
    return render(
        "rail",
        book=view.book.settings.name,
        home=way(here, "index.html"),
        stops=stops,
        lists=[(title, way(here, f"{name}.html"), here == f"{name}.html") for name, title in lists],
        others=[
            (one.head.title, way(here, view.addresses[one.file]), one is page)
            for one in view.stages.get("", ())
            if view.addresses[one.file] != "index.html"
        ],
    )


def _procedures(view: View, here: str, stage: str, page: Page | None) -> Iterable[tuple[str, str, str, bool]]:
    for one in view.stages.get(stage, ()):
        number = one.head.number.text if one.head.number else ""
        yield number, one.head.title, way(here, view.addresses[one.file]), one is page


def sheet_skeleton(view: View, page: Page, body: str) -> Skeleton:
    """Return the whole sheet of a page with its values as slots.

    Besides the body's, its slots are `fingerprint`, `yard`, `approves` and `model`.
    """
    here = view.addresses[page.file]
    stage = page.head.stage.text if page.head.stage else ""
    html = render(
        "sheet",
        rail=rail(view, here, stage, page),
        stage=stage_title(stage),
        stage_way=way(here, stage_address(stage)) if stage else "",
        head=page.head,
        time=duration(page.head.time) if page.head.time else "",
        needs=[_need(view, here, one.text) for one in page.head.needs],
        body=Markup(body),
        number=page.head.number.text if page.head.number else "",
        revision=NOT_ISSUED,
        is_public=view.is_public,
    )
    return split(html)


def _need(view: View, here: str, name: str) -> tuple[str, str]:
    """Return the title and the way of something that a procedure needs first; no way where it is no page."""
    page = view.pages_by_id.get(name)
    return (
        (name.replace("_", " "), "")
        if page is None
        else (page.head.title, way(here, view.addresses[page.file]))
    )


def own_page(view: View, name: str, title: str, content: Markup, stage: str = "") -> SitePage:
    """Return a page that the book makes itself; `name` is its address."""
    html = render("own", rail=rail(view, name, stage), title=title, content=content, top=up(name))
    return SitePage(name, title, str(html))


def fingerprint(printed: Iterable[str], pictures: Iterable[bytes] = ()) -> str:
    """Return the short code of everything that a sheet shows, as HTML; tags and spacing do not count."""
    digest = blake2b(digest_size=5)
    for part in printed:
        digest.update(b"\0" + said(part).encode())
    for picture in pictures:
        digest.update(b"\1" + blake2b(picture, digest_size=16).digest())
    return code(digest.digest())


@lru_cache(maxsize=4096)
def said(html: str) -> str:
    """Return the words of some HTML, as one reads them."""
    return _SPACE.sub(" ", unescape(_TAGS.sub(" ", html))).strip()
