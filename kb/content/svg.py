"""Drawings as pictures: an SVG file is shown only where it holds nothing but a drawing."""

from __future__ import annotations

import re
from xml.etree import ElementTree

_ELEMENTS = frozenset(
    [
        "svg",
        "g",
        "path",
        "rect",
        "circle",
        "ellipse",
        "line",
        "polyline",
        "polygon",
        "text",
        "tspan",
        "title",
        "desc",
        "defs",
        "marker",
        "pattern",
        "linearGradient",
        "radialGradient",
        "stop",
        "clipPath",
        "mask",
        "symbol",
        "use",
        "style",
    ]
)
_NAMESPACE = "http://www.w3.org/2000/svg"
_DECLARATION = re.compile(r"<!(?!--|\[CDATA\[)|<\?(?!xml\s)", re.IGNORECASE)
_LEADS_AWAY = re.compile(r"url\(\s*[\"']?(?!#)|@import|javascript:|expression\(", re.IGNORECASE)


def not_plain(data: bytes) -> str:
    """Return what a drawing holds that no picture needs, in words; "" of a plain one."""
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        return "text that is not UTF-8"
    if _DECLARATION.search(text):
        return "a declaration"
    try:
        root = ElementTree.fromstring(text)
    except ElementTree.ParseError:
        return "faulty XML"
    return next((why for element in root.iter() if (why := _not_plain(element))), "")


def _not_plain(element: ElementTree.Element) -> str:
    space, _, name = element.tag.rpartition("}")
    if name not in _ELEMENTS or space not in ("", f"{{{_NAMESPACE}"):
        return f"'{name}'"
    for key, value in element.attrib.items():
        plain = key.rpartition("}")[2].lower()
        if plain.startswith("on"):
            return f"'{plain}'"
        if plain in ("href", "src", "base") and not value.strip().startswith("#"):
            return "a link"
        if _LEADS_AWAY.search(value):
            return "a link"
    texts = "".join((*element.itertext(), element.tail or ""))
    return "a link" if name == "style" and (len(element) or _LEADS_AWAY.search(texts)) else ""
