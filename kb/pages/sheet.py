"""A page as a sheet: rail, head, body and title block, and the sheet's fingerprint."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from hashlib import blake2b

from markupsafe import Markup

from kb.content.addresses import list_address, list_words, lists_of, stage_address, way
from kb.content.page import Page
from kb.language.quantity import Quantity
from kb.language.show import Form, show
from kb.numbers.exports import code
from kb.pages.skeleton import Skeleton, split
from kb.pages.templates import heading, render
from kb.pages.view import View
from kb.plan.needs import needs_of_one

NOT_ISSUED = "not issued"


@dataclass(frozen=True, slots=True)
class SitePage:
    """A finished page: its address in the site, its title, and everything between its body's tags."""

    address: str
    title: str
    html: str


@dataclass(frozen=True, slots=True)
class Entry:
    """A page on the rail: its sheet number, its title, the way to it and its address."""

    number: str
    title: str
    way: str
    address: str


@dataclass(frozen=True, slots=True)
class Stop:
    """One stage on the rail, with its procedures where it is the current one; no way where it has none."""

    title: str
    way: str
    is_here: bool
    procedures: tuple[Entry, ...] = ()


def duration(time: Quantity) -> str:
    """Return a time in hours and minutes.

    >>> from kb.language.quantity import quantity
    >>> duration(quantity(1.25, "hr"))
    '1 hr 15 min'
    """
    return show(time, Form(unit="hr-min"), "nearest")


def rail(view: View, here: str, stage: str = "") -> Markup:
    """Return the rail: the stages in build order, the current one lit, its procedures below it.

    The pages of one folder and stage have the same rail, but for the mark of the page itself.
    """
    key = (here.rpartition("/")[0], stage)
    if key not in view.rails:
        view.rails[key] = split(_rail(view, here, stage))
    return Markup(view.rails[key].fill(_Here(here)))


class _Here(dict[str, str]):
    """The marks of a rail's links: that of the page itself says so, the others nothing."""

    def __init__(self, here: str) -> None:
        super().__init__({here: ' aria-current="page"'})

    def __missing__(self, key: str) -> str:
        return ""


def _rail(view: View, here: str, stage: str) -> Markup:
    stops = tuple(
        Stop(
            heading(name),
            way(here, stage_address(name)) if name in view.stages else "",
            name == stage,
            tuple(_entries(view, here, name)) if name == stage else (),
        )
        for name in view.book.settings.stages
    )
    lists = () if view.is_public else lists_of(view.book.reference)
    words = ("Show US units", "Show metric")
    return render(
        "rail",
        book=view.book.settings.name,
        home=way(here, "index.html"),
        systems=("us", "metric") if view.book.settings.units == "us" else ("metric", "us"),
        units=words if view.book.settings.units == "us" else words[::-1],
        stops=stops,
        lists=[
            *(one for one in _entries(view, here, "") if one.address != "index.html"),
            *(
                Entry("", heading(list_words(name)), way(here, list_address(name)), list_address(name))
                for name in lists
            ),
        ],
    )


def _entries(view: View, here: str, stage: str) -> Iterable[Entry]:
    for page in view.stages.get(stage, ()):
        there = view.addresses[page.file]
        yield Entry(
            page.head.number.text if page.head.number else "", page.head.title, way(here, there), there
        )


def sheet_skeleton(view: View, page: Page, body: str) -> Skeleton:
    """Return the whole sheet of a page with its values as slots.

    Besides the body's, its slots are `terms`, `fingerprint`, `yard`, `approves` and `model`.
    """
    here = view.addresses[page.file]
    stage = page.head.stage.text if page.head.stage else ""
    html = render(
        "sheet",
        rail=rail(view, here, stage),
        address=here,
        stage=heading(stage),
        stage_way=way(here, stage_address(stage)) if stage else "",
        head=page.head,
        time=duration(page.head.time) if page.head.time else "",
        cure=duration(page.head.cure) if page.head.cure else "",
        needs=list(needs_first(view, page)),
        body=Markup(body),
        sources=view.sources_of(page),
        number=page.head.number.text if page.head.number else "",
        revision=NOT_ISSUED,
        is_public=view.is_public,
    )
    return split(html)


@dataclass(frozen=True, slots=True)
class NeedLine:
    """What a procedure needs first: a sheet or a measurement, and what is accepted there first."""

    title: str
    way: str
    holds: tuple[tuple[str, str], ...] = ()

    @property
    def words(self) -> tuple[str, ...]:
        """What paper shows of it."""
        return (self.title, *(what for what, _ in self.holds))


def needs_first(view: View, page: Page) -> Iterator[NeedLine]:
    """Go through what a procedure needs first, in the order of its head."""
    here = view.addresses[page.file]
    measures = view.done.graph.bindings.measures
    for named in page.head.needs:
        need = next(needs_of_one(named, view.pages_by_id, measures), None)
        there = view.addresses.get(need.page.file) if need else None
        if need is None or there is None:
            yield NeedLine(view.title_of(named.text), "")
        elif need.measure is not None and view.shows(need.measure.around):
            yield NeedLine(need.measure.what, way(here, there, f"block-{need.measure.name}"))
        else:
            holds = tuple(
                (window.measure.what, way(here, there, f"block-{window.measure.name}"))
                for window in view.windows_on(need.page)
                if window.measure.is_hold
            )
            yield NeedLine(need.page.head.title, way(here, there), holds)


def own_page(view: View, name: str, title: str, content: Markup, stage: str = "", code: str = "") -> SitePage:
    """Return a page that the book makes itself; `name` is its address.

    With a `code`, a copy of the page can ask the server whether it is the newest.
    """
    html = render("own", rail=rail(view, name, stage), address=name, code=code, title=title, content=content)
    return SitePage(name, title, str(html))


def fingerprint(words: Iterable[str], pictures: Iterable[bytes] = ()) -> str:
    """Return the short code of everything that a sheet shows: its words, and the bytes of its pictures."""
    digest = blake2b(digest_size=5)
    for part in words:
        digest.update(b"\0" + part.encode())
    for picture in pictures:
        digest.update(b"\1" + blake2b(picture, digest_size=16).digest())
    return code(digest.digest())
