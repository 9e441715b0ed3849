"""What stands in a built site, as a hostile reader sees it: its elements, its text, every byte decoded."""

from __future__ import annotations

import base64
import html
import re
import zlib
from collections.abc import Iterable, Iterator
from html.parser import HTMLParser
from pathlib import Path
from urllib.parse import unquote, unquote_to_bytes

# What the theme's templates and Markdown itself make; a new element of the theme is entered here.
OF_THE_THEME = frozenset(
    """
    html head meta title link body header footer main nav section aside svg path button
    figure figcaption g text tspan desc defs pattern rect
    p a span div b i em strong s del code pre blockquote hr br img sup sub kbd abbr
    h1 h2 h3 h4 h5 h6 ul ol li dl dt dd details summary
    table caption thead tbody tfoot tr th td
    """.split()  # noqa: SIM905 - read as a list of words
)
VOID = frozenset(("meta", "link", "br", "hr", "img", "path", "input"))
ADDRESSES = frozenset(
    "href src xlink:href action formaction poster background cite data srcset ping".split()  # noqa: SIM905
)
MAY_LEAVE = frozenset(("http", "https", "mailto", "tel"))
_SCHEME = re.compile(r"([a-z][a-z0-9+.-]*):")
_OWN_SCRIPT = re.compile(r"(?:\.{1,2}/)*assets/[\w.-]+\.js")
_UNSEEN = re.compile(r"[\x00-\x20\x7f-\xa0\u200b-\u200f\u2028\u2029\ufeff]+")


class Reading(HTMLParser):
    """One page read: its text, its attributes, and what should not be there."""

    def __init__(self, page: str) -> None:
        super().__init__(convert_charrefs=True)
        self.faults: list[str] = []
        self.unbalanced: list[str] = []
        self.ids: list[str] = []
        self.live = 0
        self._open: list[str] = []
        self._texts: list[str] = []
        self._values: list[str] = []
        self.feed(page)
        self.close()
        self.unbalanced += [f"<{tag}> is not closed" for tag in self._open]

    @property
    def text(self) -> str:
        """All text between the tags."""
        return "".join(self._texts)

    @property
    def said(self) -> str:
        """All text, and all values of attributes."""
        return "\n".join([self.text, *self._values])

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Open an element."""
        self._element(tag, attrs)
        if tag not in VOID:
            self._open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Take an element that closes itself."""
        self._element(tag, attrs)

    def handle_endtag(self, tag: str) -> None:
        """Close an element, if it is the one that stands open."""
        if self._open[-1:] == [tag]:
            self._open.pop()
        else:
            self.unbalanced.append(f"</{tag}> closes nothing, or too early")

    def handle_data(self, data: str) -> None:
        """Take a text."""
        self._texts.append(data)
        if self._open[-1:] == ["script"]:
            self.faults.append(f"a script on the page: {data[:80]}")

    def handle_comment(self, data: str) -> None:
        """Refuse a comment: the author's own are dropped, and the theme has none."""
        self.faults.append(f"a comment: {data[:80]}")

    def handle_pi(self, data: str) -> None:
        """Refuse an instruction."""
        self.faults.append(f"a processing instruction: {data[:80]}")

    def unknown_decl(self, data: str) -> None:
        """Refuse a section such as CDATA."""
        self.faults.append(f"a declaration: {data[:80]}")

    def handle_decl(self, decl: str) -> None:
        """Refuse any declaration but that of the document."""
        if decl.lower() != "doctype html":
            self.faults.append(f"a declaration: {decl[:80]}")

    def _element(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = {name: value or "" for name, value in attrs}
        is_own = tag == "script" and _OWN_SCRIPT.fullmatch(given.get("src", ""))
        if tag not in OF_THE_THEME and not is_own:
            self.faults.append(f"the element <{tag}>")
        if len(given) != len(attrs):
            self.faults.append(f"an attribute stands twice in <{tag}>")
        self._values += given.values()
        self.ids += [value for name, value in given.items() if name == "id"]
        self.live += "live" in given.get("class", "").split()
        for name, value in given.items():
            is_policy = name == "http-equiv" and value == "Content-Security-Policy"
            if name.startswith("on") or (name in ("style", "srcdoc", "http-equiv") and not is_policy):
                self.faults.append(f"the attribute {name} in <{tag}>")
            if name in ADDRESSES and (fault := _wrong_address(tag, value)):
                self.faults.append(f"{fault} in <{tag} {name}>: {value[:80]}")


def _wrong_address(tag: str, value: str) -> str:
    """Say what is wrong with an address, as a browser reads it: without blanks and control characters."""
    plain = _UNSEEN.sub("", html.unescape(value)).lower().replace("\\", "/")
    scheme = _SCHEME.match(plain)
    if scheme and (tag != "a" or scheme[1] not in MAY_LEAVE):
        return f"the scheme {scheme[1]}"
    return "an address without a scheme that leaves the site" if plain.startswith("//") else ""


def faults(site: Path) -> list[str]:
    """Return what stands on the pages of a site and has no business there."""
    told = []
    for path in sorted(site.rglob("*.html")):
        page = path.read_text(encoding="utf-8")
        told += [f"{path.relative_to(site)}: {fault}" for fault in Reading(page).faults]
        if "\0" in page:
            told.append(f"{path.relative_to(site)}: a NUL")
    return told


def seen(data: bytes) -> Iterator[str]:
    """Go through all that some bytes may mean to one who wants to know; in small letters."""
    yield from _forms(data)
    for packed in _unpacked(data):
        yield from _forms(packed)


def _forms(data: bytes) -> Iterator[str]:
    for text in (data.decode("utf-8", "replace"), data.decode("utf-16-le", "replace")):
        yield from _written(text)
    yield from _written(data[1:].decode("utf-16-le", "replace"))
    for run in re.findall(rb"[A-Za-z0-9+/_-]{12,}={0,2}", data):
        plain = run.translate(bytes.maketrans(b"-_", b"+/")).rstrip(b"=")
        for start in range(4):
            part = plain[start:]
            padded = part + b"A" * (-len(part) % 4)
            yield base64.b64decode(padded).decode("utf-8", "replace").lower()


def _written(text: str) -> Iterator[str]:
    plain = html.unescape(html.unescape(unquote(text)))
    plain = re.sub(r"\\u([0-9a-fA-F]{4})|\\x([0-9a-fA-F]{2})", lambda m: chr(int(m[1] or m[2], 16)), plain)
    yield text.lower()
    yield plain.lower()
    yield re.sub(r"(?<=\d)[,.'’\s\u00a0\u202f\u2009](?=\d)", "", plain)
    yield re.sub(r"<[^>]*>", "", plain).lower()


def _unpacked(data: bytes) -> Iterator[bytes]:
    # Both of zlib's own heads and that of gzip, wherever they stand.
    for match in re.finditer(rb"\x78[\x01\x5e\x9c\xda]|\x1f\x8b\x08", data):
        try:
            yield zlib.decompressobj(47).decompress(data[match.start() :])
        except zlib.error:
            continue
    if b"%" in data:
        yield unquote_to_bytes(data)


def found(site: Path, marks: Iterable[str]) -> set[tuple[str, str]]:
    """Return each mark that a site holds, with the file: in a name, in a text, or in any coding of it."""
    wanted = [mark.lower() for mark in marks]
    hits = set()
    for path in sorted(site.rglob("*")):
        name = path.relative_to(site).as_posix()
        if not path.is_file() or path.name == "fonts.css":
            continue
        for text in (unquote(name).lower(), *seen(path.read_bytes())):
            hits |= {(mark, name) for mark in wanted if mark in text}
    return hits
