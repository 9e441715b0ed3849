"""Links and pictures of the pages: what each leads to, and whether that exists."""

from __future__ import annotations

import posixpath
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from urllib.parse import unquote, urlsplit

from kb.content.addresses import NEVER, PICTURES, list_address, lists_of, page_address, stage_address
from kb.content.book import Book
from kb.content.files import leads_out
from kb.content.page import Link, Page
from kb.content.svg import not_plain
from kb.problem import Problem, nearest

_OUTSIDE = ("http", "https", "mailto", "tel")


@dataclass(frozen=True, slots=True)
class Target:
    """What a link leads to: a page or picture of the site with its address, or an address outside.

    `page` is the page of the book, where it is one that the yard wrote.
    """

    address: str
    anchor: str = ""
    is_outside: bool = False
    is_picture: bool = False
    page: Page | None = None


class LinkError(ValueError):
    """A link that leads nowhere: what is wrong and what to do."""

    def __init__(self, what: str, fix: str) -> None:
        self.what = what
        self.fix = fix
        super().__init__(f"{what}; {fix}")


class Links:
    """The pages, pictures and generated pages of a book that a link can lead to."""

    def __init__(self, book: Book) -> None:
        self.book = book
        self.content = book.settings.content
        self.pages: Mapping[str, Page] = {page.file: page for page in book.pages}
        stages = (stage_address(stage) for stage in book.settings.stages)
        self.own = frozenset(("index.html", *map(list_address, lists_of(book.reference)), *stages))

    def target(self, page: Page, link: Link) -> Target:
        """Return what a link of a page leads to. Raises `LinkError`."""
        href = link.href
        try:
            parts = urlsplit(href)
        except ValueError:
            raise LinkError(f"the link '{href}' cannot be read", "check its brackets") from None
        if parts.scheme or parts.netloc:
            return self._outside(link, parts.scheme)
        path, anchor = unquote(parts.path), unquote(parts.fragment)
        if not path:
            return self._on_page(page, page, anchor)
        if parts.query:
            raise LinkError(f"the link '{href}' asks a question", "a page of the book takes none; drop the ?")
        if path.startswith("/"):
            raise LinkError(
                f"the link '{href}' begins at the top", "write the way from this page's own folder"
            )
        file = posixpath.normpath(posixpath.join(posixpath.dirname(page.file), path))
        if not file.startswith(f"{self.content}/"):
            raise LinkError(
                f"the link '{href}' leads out of {self.content}/", "link to a page or picture in it"
            )
        if link.is_picture:
            return self._picture(href, file)
        if file in self.pages:
            return self._on_page(page, self.pages[file], anchor)
        inside = file.removeprefix(f"{self.content}/")
        if inside in self.own:
            if anchor:
                what = f"the link '{href}' leads into a page that the book makes itself"
                raise LinkError(what, "link to the page as a whole; its places come and go with the book")
            return Target(inside)
        if posixpath.splitext(file)[1].lower() in PICTURES:
            return self._picture(href, file)
        raise self._missing(page, href, file)

    def _outside(self, link: Link, scheme: str) -> Target:
        if link.is_picture:
            raise LinkError(
                f"the picture '{link.href}' stands outside the book",
                "put it beside the page: no page asks the net",
            )
        if scheme not in _OUTSIDE:
            raise LinkError(
                f"the link '{link.href}' cannot be followed", f"write {', '.join(_OUTSIDE)}, or a page"
            )
        return Target(link.href, is_outside=True)

    def _on_page(self, page: Page, there: Page, anchor: str) -> Target:
        if anchor and anchor not in there.anchors:
            near = nearest(anchor, sorted(there.anchors))
            where = "this page" if there is page else there.file
            raise LinkError(
                f"there is no anchor '#{anchor}' on {where}",
                f"did you mean '#{near}'?"
                if near
                else "give the heading or step an anchor of its own: {#name}",
            )
        return Target(page_address(there.file, self.content), anchor, page=there)

    def _picture(self, href: str, file: str) -> Target:
        inside = file.removeprefix(f"{self.content}/")
        if posixpath.splitext(file)[1].lower() not in PICTURES:
            raise LinkError(f"'{href}' is no picture", f"a page shows {', '.join(PICTURES)}")
        if inside.split("/", 1)[0] in NEVER or any(part.startswith(".") for part in inside.split("/")):
            raise LinkError(
                f"'{href}' stands in a folder that never leaves the yard", "put it beside the page"
            )
        path = self.book.root / file
        if not path.is_file():
            raise LinkError(f"there is no picture '{file}'", "check its name and folder")
        if leads_out(self.book.root, path):
            raise LinkError(f"'{href}' leads out of the book", "copy the picture into the book")
        if path.suffix.lower() == ".svg" and (why := not_plain(path.read_bytes())):
            raise LinkError(f"'{href}' is more than a picture: it holds {why}", "save it as a plain drawing")
        return Target(inside, is_picture=True)

    def _missing(self, page: Page, href: str, file: str) -> LinkError:
        if not file.endswith((".md", ".html")):
            return LinkError(
                f"'{href}' is no page and no picture", "nothing else of the content reaches a site"
            )
        stems = {posixpath.basename(one).removesuffix(".md"): one for one in self.pages}
        near = nearest(posixpath.basename(file).rsplit(".", 1)[0], stems)
        if near is None:
            return LinkError(f"there is no page '{file}'", "check its name and folder")
        there = posixpath.relpath(stems[near], posixpath.dirname(page.file))
        return LinkError(f"there is no page '{file}'", f"did you mean '{there}'?")


def check_links(book: Book) -> Iterator[Problem]:
    """Find links and pictures that lead nowhere, and pages that the book's own would overwrite."""
    links = Links(book)
    for page in book.pages:
        for link in page.links:
            try:
                links.target(page, link)
            except LinkError as error:
                yield Problem(link.place, error.what, error.fix)
    yield from _overwritten(book.pages, links)


def _overwritten(pages: Iterable[Page], links: Links) -> Iterator[Problem]:
    for page in pages:
        address = page_address(page.file, links.content)
        if (address in links.own and address != "index.html") or address.startswith("calculators/"):
            what = f"the book makes a page of its own at {address}"
        elif posixpath.basename(page.file) == "README.md":
            what = "a README is no page: MkDocs would make it the first page of its folder"
        else:
            continue
        yield Problem(page.title_place, what, "give this file another name")
