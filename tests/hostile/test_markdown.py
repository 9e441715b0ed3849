"""Whatever stands in a book, its pages run and ask nothing: it is refused with its place, or is text."""

from __future__ import annotations

import os
import re
import shutil
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any
from urllib.parse import quote, unquote

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.hostile.conftest import DOT, HEAD, MODEL, SETTINGS, Built
from tests.hostile.reading import Reading, faults

if TYPE_CHECKING:
    from tests.conftest import BookMaker, Command
    from tests.hostile.conftest import Builder

LONG = pytest.mark.skipif("KEELBOOK_LONG" not in os.environ, reason="set KEELBOOK_LONG=1 to run it")
PLACE = re.compile(r"^[^:\n]*[./][^:\n]*:[0-9]+:[0-9]+: .+; .+", re.MULTILINE)


def is_refused(built: Built) -> bool:
    """Check that a book is refused as a whole, with a place and a cure, or else built; tell which."""
    assert built.code in (0, 2), built.said
    if built.code == 2:
        assert PLACE.search(built.said), built.said
        assert not built.site.exists()
        return True
    return False


def check_harmless(built: Built) -> None:
    if not is_refused(built):
        assert faults(built.site) == []


# ---- Markdown

RAW = {
    "script": "<script>alert(1)</script>",
    "large letters": "text <SCRIPT SRC=//example.org/x.js></SCRIPT>",
    "unclosed": "text <script",
    "unclosed block": "<script\n",
    "over lines": "text <scr\nipt>alert(1)</scr\nipt>",
    "attribute over lines": "text <kbd\nonclick\n=\n'alert(1)'\n>x</kbd>",
    "void with slash": "text <br/onclick=alert(1)>",
    "form feed": "text <br\x0conclick=alert(1)>",
    "image": '<img src=x onerror="alert(1)">',
    "svg": "<svg onload=alert(1)>",
    "svg without space": "text <svg/onload=alert(1)//",
    "math": "text <math><mi//xlink:href='data:x,<script>alert(1)</script>'>",
    "frame": "<iframe srcdoc='<script>alert(1)</script>'></iframe>",
    "style": "<style>*{background:url(//example.org)}</style>",
    "style attribute": "text <sub style='position:fixed'>x</sub>",
    "base": "text <base href=//example.org>",
    "refresh": '<meta http-equiv="refresh" content="0;url=javascript:alert(1)">',
    "form": "text <form action=javascript:alert(1)><input type=submit>",
    "link": "text <a href='javascript:alert(1)'>x</a>",
    "custom element": "text <kbd-x onclick=alert(1)>x</kbd-x>",
    "namespace": "text <kbd:x onclick=alert(1)>",
    "abbr with more": 'text <abbr title="x" onmouseover="alert(1)">x</abbr>',
    "abbr without space": 'text <abbr title="x"onmouseover="alert(1)">x</abbr>',
    "abbr that breaks out": 'text <abbr title="\'><script>alert(1)</script>">x</abbr>',
    "abbr with other quotes": "text <abbr title='x\" onmouseover=\"alert(1)'>x</abbr>",
    "abbr without quotes": "text <abbr title=x/onmouseover=alert(1)>x</abbr>",
    "abbr twice": "text <abbr title='x' title='y'>x</abbr>",
    "details": "<details open ontoggle=alert(1)>\n<summary>x</summary>\n</details>",
    "closing tag": "text <kbd>x</kbd onclick=alert(1)>",
    "comment": "text <!-- <script>alert(1)</script> --> text",
    "comment of one": "<!--> <script>alert(1)</script> -->",
    "comment of two": "text <!---> <script>alert(1)</script> -->",
    "comment with bang": "<!-- x --!> <script>alert(1)</script>\n\n-->",
    "comment in comment": "<!-- <!-- --> <script>alert(1)</script> -->",
    "comment in a tag": "text <scr<!-- -->ipt>alert(1)</scr<!-- -->ipt>",
    "comment that makes a tag": "<details>\n<<!-- -->script>alert(1)<<!-- -->/script>\n</details>",
    "comment left open": "text\n\n<!-- <script>alert(1)</script>",
    "conditional comment": "<!--[if IE]><script>alert(1)</script><![endif]-->",
    "cdata": "text <![CDATA[<script>alert(1)</script>]]>",
    "cdata block": "<![CDATA[\n<script>alert(1)</script>\n]]>",
    "instruction": "text <?php echo '<script>' ?>",
    "instruction block": "<?xml-stylesheet href='javascript:alert(1)'?>\n",
    "declaration": "<!DOCTYPE html [<!ENTITY x '<script>'>]>",
    "backtick before": "`<script>alert(1)</script>",
    "backticks uneven": "``<script>`alert(1)</script>",
    "code that ends in a tag": "<kbd title='`'><script>`</script>",
    "escaped": "\\<script>alert(1)\\</script>",
    "half escaped": "\\\\<script>alert(1)</script>",
    "entity": "&lt;script&gt;alert(1)&lt;/script&gt;",
    "entity in html": "<details>\n&lt;script&gt;alert(1)&lt;/script&gt;\n</details>",
    "number entity": "&#60;script&#62;alert(1)&#x3c;/script&#x3e;",
    "box of a task list": '<input class="task-list-item-checkbox" disabled="disabled" type="checkbox" on=x>',
    "in a task list": "- [ ] <img src=x onerror=alert(1)>\n- [x] <input autofocus onfocus=alert(1)>",
    "in a table": "| a |\n| --- |\n| <img src=x onerror=alert(1)> |",
    "in a table's head": "| <svg onload=alert(1)> |\n| --- |\n| x |",
    "in a table's line": '| a |\n| :---" onclick="alert(1) |\n| x |',
    "in a footnote": "text[^1]\n\n[^1]: <script>alert(1)</script>",
    "in a footnote of the line": "text^[<img src=x onerror=alert(1)>]",
    "in a footnote's label": 'text[^"><script>alert(1)</script>]\n\n[^"><script>alert(1)</script>]: note',
    "in a definition": "Term\n:   <script>alert(1)</script>",
    "in a term": "<img src=x onerror=alert(1)>\n:   text",
    "in a container": ":::why\n<script>alert(1)</script>\n:::",
    "in a picture's words": "![<img src=x onerror=alert(1)>](dot.png)",
    "in a heading": "# <img src=x onerror=alert(1)>",
    "in a live value": "{{ size<script>alert(1)</script> }}",
    "after a live value": "{{ size }}<script>alert(1)</script>",
    "in a picture in a picture": "![a ![b <script>alert(1)</script>](dot.png)](dot.png)",
}


@pytest.mark.parametrize("text", RAW.values(), ids=RAW)
def test_raw_html_is_refused_or_shown_as_text(built: Builder, text: str) -> None:
    check_harmless(built({"content/p.md": f"{HEAD}{text}\n"}))


ADDRESSES = {
    "plain": "javascript:alert(1)",
    "mixed letters": "JaVaScRiPt:alert(1)",
    "blank before": " javascript:alert(1)",
    "tab inside": "java\tscript:alert(1)",
    "control before": "\x01javascript:alert(1)",
    "NUL inside": "java\0script:alert(1)",
    "named entity": "javascript&colon;alert(1)",
    "entity": "&#106;avascript:alert(1)",
    "entity of a blank": "&Tab;javascript:alert(1)",
    "entity of a line": "java&NewLine;script:alert(1)",
    "entity of NUL": "java&#0;script:alert(1)",
    "doubled entity": "&amp;#106;avascript:alert(1)",
    "percent": "javascript%3Aalert(1)",
    "percent in the word": "%6Aavascript:alert(1)",
    "percent of a line": "%0Ajavascript:alert(1)",
    "escape": "javascript\\:alert(1)",
    "wide letters": "ｊavascript:alert(1)",
    "soft hyphen": "java\u00adscript:alert(1)",
    "zero width": "\u200bjavascript:alert(1)",
    "vbscript": "vbscript:msgbox(1)",
    "file": "file:///etc/passwd",
    "text": "data:text/html,<script>alert(1)</script>",
    "text in base64": "data:text/html;base64,PHNjcmlwdD5hbGVydCgxKTwvc2NyaXB0Pg==",
    "drawing": "data:image/svg+xml,<svg onload=alert(1)>",
    "picture": "data:image/png;base64,iVBORw0KGgo=",
    "blob": "blob:https://example.org/1",
    "view": "view-source:javascript:alert(1)",
    "no scheme": "//example.org/x.png",
    "backslashes": "\\\\example.org\\x.png",
    "slash and backslash": "/\\example.org/x.png",
    "three slashes": "///example.org/x.png",
    "quote": 'http://example.org/"onclick="alert(1)',
    "apostrophe": "http://example.org/'onclick='alert(1)",
    "angle bracket": "http://example.org/%22%3E<script>alert(1)</script>",
    "no host": "http://[",
    "bad host": "http://[::zz]/",
    "host that folds": "http://ex\u2100mple.org/",
    "port": "http://example.org:999999999/",
    "anchor": '#"><script>alert(1)</script>',
    "question": "p.md?<script>",
    "NUL": "p%00.md",
    "long": "x" * 5000,
    "top": "/etc/passwd",
    "out": "../../../../etc/passwd",
}
WAYS = {
    "link": "[text]({})",
    "link in brackets": "[text](<{}>)",
    "link with a title": '[text]({} "x\\" onclick=\\"alert(1)")',
    "autolink": "<{}>",
    "reference": "[text][r]\n\n[r]: {}",
    "reference in brackets": "[r]\n\n[r]: <{}> 'x\" onclick=\"alert(1)'",
    "picture": "![text]({})",
    "picture in brackets": "![text](<{}> 'x\" onerror=\"alert(1)')",
    "picture by reference": "![text][r]\n\n[r]: {}",
    "picture in a link": "[![text](dot.png)](<{}>)",
    "link in a table": "| a |\n| --- |\n| [text](<{}>) |",
    "link in a footnote": "text[^1]\n\n[^1]: [text](<{}>)",
    "link in a term": "[text](<{}>)\n:   [text](<{}>)",
    "link in a heading": "# [text](<{}>)",
    "link round a value": "[{{ size }}](<{}>)",
}


@pytest.mark.parametrize("address", ADDRESSES.values(), ids=ADDRESSES)
def test_a_link_leads_to_the_book_or_to_a_plain_address(built: Builder, address: str) -> None:
    """Every way to link stands on a page of its own; those that are not refused are built once more."""
    pages = {
        f"content/{name}.md": f"---\ntitle: {name}\n---\n{way.replace('{}', address)}\n"
        for name, way in WAYS.items()
    }
    one = built(pages)
    check_harmless(one)
    if one.code == 2:
        refused = [name for name in pages if f"{name}:" in one.said]
        assert refused
        # A page that falls away is no page any more: nothing else links to it.
        rest = built({**pages, **dict.fromkeys(refused, "---\ntitle: nothing\n---\n")})
        assert rest.code == 0, rest.said
        assert faults(rest.site) == []


NESTED = {
    "value in a picture in a picture": "![a ![b {{ size }}](dot.png)](dot.png)",
    "value in a picture in a link": "[![a {{ size }}](dot.png)](http://example.org/)",
    "link in a picture": "![a [b](p.md) c](dot.png)",
    "footnote in a picture": "![a[^1]](dot.png)\n\n[^1]: note",
    "footnote in a footnote": "a[^1]\n\n[^1]: b[^1] c[^2]\n\n[^2]: d[^1]",
    "value in a footnote of the line": "a^[b {{ size }} [c](p.md)]",
    "value in a term": "Term {{ size }}\n:   what {{ size }}",
    "containers": "::::::why\n:::::warning <x>\n::::notice\ntext\n::::\n:::::\n::::::",
    "fence in a quote in a list": "1. > ```calc formula f\n   > twice: size * 2\n   > ```",
    "brackets": "[" * 500,
    "emphasis": "*a **b " * 300,
    "backticks": "`" * 301 + "a" + "`" * 300,
    "braces": "{{" * 50,
    "comments": "<!--" * 300,
}


@pytest.mark.parametrize("text", NESTED.values(), ids=NESTED)
def test_what_stands_in_each_other_is_refused_or_built(built: Builder, text: str) -> None:
    check_harmless(built({"content/p.md": f"{HEAD}{text}\n"}))


DEEP = {
    "quotes": ">" * 60 + " lowest",
    "lists": "\n".join(" " * 2 * n + "- a" for n in range(60)) + "\n" + " " * 120 + "- lowest",
}


@pytest.mark.parametrize("text", DEEP.values(), ids=DEEP)
def test_text_that_is_nested_too_deep_is_refused_and_not_lost(built: Builder, text: str) -> None:
    one = built({"content/p.md": f"{HEAD}{text}\n"})
    if not is_refused(one):
        assert "lowest" in one.pages["p.html"].text


UNBALANCED = {
    "left open": "<details>\n\nWhat follows is hidden.\n\n1. A step.",
    "left open in a line": "text <sup>raised, and so is all that follows",
    "closed twice": "text <kbd>x</kbd></kbd>",
    "closed without opening": "text </details> text",
    "crossed": "text <sub>a <sup>b</sub> c</sup>",
    "over a step": "1. One <details>\n\n2. Two </details>",
    "summary alone": "<summary>\n",
}


@pytest.mark.parametrize("text", UNBALANCED.values(), ids=UNBALANCED)
def test_a_tag_that_is_not_closed_in_order_is_refused_or_closed(built: Builder, text: str) -> None:
    """A `<details>` left open would hide every step below it, and the title block too."""
    one = built({"content/p.md": f"{HEAD}{text}\n"})
    if not is_refused(one):
        assert one.pages["p.html"].unbalanced == []


@pytest.mark.parametrize(
    "text",
    [
        "## Sheet",
        "## Fn1\n\na[^1]\n\n[^1]: note",
        "## Fnref1\n\na[^1]\n\n[^1]: note",
        "# Slip 1\n\n{{ size }}",
    ],
)
def test_no_heading_takes_the_id_of_another_thing_on_the_page(built: Builder, text: str) -> None:
    one = built({"content/p.md": f"{HEAD}{text}\n"})
    ids = one.pages["p.html"].ids
    assert len(ids) == len(set(ids))


@pytest.mark.parametrize("name", ["sheet", "number_1"])
def test_no_input_takes_the_id_of_another_thing_on_the_page(built: Builder, name: str) -> None:
    one = built({"content/inputs/model.yml": f"{MODEL}{name}: 1 in\n", "content/p.md": HEAD})
    assert one.code == 0
    ids = one.pages["inputs.html"].ids
    assert len(ids) == len(set(ids))


AS_TEXT = {
    "escaped": ("\\<b>bold\\</b>", "<b>bold</b>"),
    "entities": ("&lt;b&gt; &amp;lt;", "<b> &lt;"),
    "code": ("`<script>alert(1)</script>`", "<script>alert(1)</script>"),
    "code of braces": ("`{{ size }}`", "{{ size }}"),
    "fence": ("```html\n<script>alert('&lt;')</script>\n```", "<script>alert('&lt;')</script>"),
    "fence with a hostile name": ('```"><img/src=x/onerror=y>\n<b>\n```', "<b>"),
    "indented": ("    <script>alert(1)</script>", "<script>alert(1)</script>"),
    "less than": ("a < b > c & d", "a < b > c & d"),
    "title of a container": (":::danger <script>x</script>\ntext\n:::", "<script>x</script>"),
    "NUL": ("a\0b", "a\ufffdb"),
    "entity of NUL": ("a&#0;b", "a\ufffdb"),
}


@pytest.mark.parametrize(("text", "shown"), AS_TEXT.values(), ids=AS_TEXT)
def test_text_that_looks_like_markup_is_shown_as_it_is_meant(built: Builder, text: str, shown: str) -> None:
    one = built({"content/p.md": f"{HEAD}{text}\n"})
    assert one.code == 0, one.said
    assert faults(one.site) == []
    assert shown in one.pages["p.html"].text


def test_the_words_of_a_picture_are_its_text_and_nothing_else(built: Builder) -> None:
    words = '5 \\* 3 &lt;b&gt; `<i>` "x" onerror=alert(1) \\<u>'
    one = built({"content/p.md": f"{HEAD}![{words}](dot.png)\n"})
    assert one.code == 0, one.said
    assert faults(one.site) == []
    assert '5 * 3 <b> <i> "x" onerror=alert(1) <u>' in one.pages["p.html"].said


# ---- every other text of a book

PAYLOADS = {
    "script": "<script>alert(1)</script>",
    "quote": '" onmouseover="alert(1)',
    "apostrophe": "' onmouseover='alert(1)",
    "breaking out": '"><img src=x onerror=alert(1)>',
    "title": "</title><script>alert(1)</script>",
    "table": "</td></table><svg onload=alert(1)>",
    "comment": "--><script>alert(1)</script><!--",
    "entity": "&lt;script&gt;&#60;b&#62;",
    "template": "{{ config.site_name }}{% raw %}{{ size }}",
    "template of another": "${7*7}#{7*7}<%= 7*7 %>",
    "address": "javascript:alert(1)",
    "Markdown": "[x](javascript:alert(1)) **bold** ![x](//example.org/x.png)",
    "slot": "live:0 slot:0 \ufdd0live:0\ufdd0 \\0live:0\\0",
}
PLUGIN = '''\
from dataclasses import dataclass
from typing import Annotated, Literal

from kb import Caution, Dimension, Drawing, Leader, Limit, Note, Outline, Q, Range, Source, Value, View
from kb import calculator, hookimpl

TEXT = {text!r}


def draw_label(arguments, results):
    size = Value(results.twice, "in", name="twice")
    box = Outline(((0, 0), (results.twice, 0), (results.twice, 1)))
    long = Dimension((0, 0), (results.twice, 0), "below", size, TEXT)
    items = (box, long, Leader((0, 0), TEXT), Note((1, 1), TEXT))
    return Drawing(TEXT, (View("side", TEXT, (TEXT, size), items),), TEXT)


@dataclass(frozen=True)
class Label:
    text: Annotated[str, Q("", TEXT, method=TEXT, note=TEXT)]
    twice: Annotated[float, Q("in", TEXT, rule="size * 2")]


@calculator(
    sources=[Source(TEXT, TEXT, "maker's")],
    cautions=[Caution("warning", TEXT)],
    limits=[Limit("short", "size <= 9 in", TEXT)],
    example={{"words": "x", "size": "3 in"}},
    draws=draw_label,
)
def label(
    words: Annotated[str, Q("", TEXT, note=TEXT)],
    size: Annotated[float, Q("in", TEXT, note=TEXT, usual=Range(1, 2, TEXT))],
) -> Label:
    """DOC"""
    return Label(words, size * 2)


label.__calculator__ = __import__("dataclasses").replace(label.__calculator__, does=TEXT, notes=TEXT)


@hookimpl
def kb_calculators():
    return (label,)
'''
PAGE = """\
---
title: {t}
number: {t}
stage: {t}
protection: [{t}, {t}]
tools: [{t}]
visibility: shop
---
{{{{ words.said }}}} {{{{ sticker.text }}}} {{{{ sticker.twice in in }}}}

```calc label sticker
title: {t}
note: {t}
caption: {t}
words: words.said
size: size
limits: {{own: twice <= 1 in}}
```

```calc formula f
title: {t}
note: {t}
twice: size * 2
```

```limit own_limit
title: {t}
note: {t}
rule: f.twice <= 1 in
protects: {t}
```

```measure m
title: {t}
what: {t}
note: {t}
with: {t}
accept: value <= 2 in
unit: in
hold: yes
```

```materials
{t}: f.twice
```

```weights
hull: {{mass: 3 lb, x: 1 ft, y: 0 ft, z: 0 ft, group: hull}}
```

```drawing
of: sticker
view: side
caption: {t}
```
"""


def written(text: str) -> str:
    """Return a text as YAML in single quotes, which take everything as it is."""
    return "'" + text.replace("'", "''") + "'"


def everywhere(text: str) -> Mapping[str, str]:
    """Return a book with a text in every place that takes one."""
    quoted = written(text)
    return {
        "mkdocs.yml": SETTINGS.replace("A test book", quoted) + f"      stages: [{quoted}, other]\n",
        "content/p.md": PAGE.format(t=quoted),
        "content/inputs/yard.yml": f"yard: {{name: {quoted}, approves: {quoted}}}\nwords: {{said: 'old'}}\n",
        "content/inputs/model.yml": f"{MODEL}words: {{said: {quoted}}}\nunused: {{text: {quoted}}}\n"
        f"accepted:\n  own_limit: {{by: {quoted}, why: {quoted}, at: 8 in}}\n",
        "plugins/yard.py": PLUGIN.format(text=text),
    }


@pytest.mark.parametrize("edition", ["shop", "public"])
@pytest.mark.parametrize("payload", PAYLOADS.values(), ids=PAYLOADS)
def test_any_text_of_a_book_is_shown_as_text(built: Builder, payload: str, edition: str) -> None:
    files = dict(everywhere(payload))
    if edition == "public":
        files["content/p.md"] = files["content/p.md"].replace("visibility: shop", "visibility: public")
    one = built(files, edition)
    assert one.code == 0, one.said
    assert faults(one.site) == []
    page = one.pages["p.html"]
    assert page.unbalanced == []
    assert payload in page.text
    if edition == "shop":
        for name in ("index", "inputs", "limits", "calculators", "calculators/label", "board"):
            assert payload in one.pages[f"{name}.html"].text
        # title, stage, facts, cards, limits, cautions, measurements, title block: each its own place
        assert page.text.count(payload) >= 20


ODD_NAMES = [
    '"><script>alert(1)</script>',
    "' onclick='alert(1)",
    "a b",
    "größe ½",
    "a#b?c=d&amp;e",
    "100%41",
    "a..%2f..%2fetc",
    "javascript:alert(1)",
    "-->",
    "a\\b",
]


@pytest.mark.parametrize("name", ODD_NAMES)
@pytest.mark.skipif(os.name == "nt", reason="Windows refuses such names itself")
def test_a_file_of_any_name_is_refused_or_reached_by_every_link_to_it(built: Builder, name: str) -> None:
    """Names of pages and pictures; a slash cannot stand in one."""
    name = name.replace("/", "_")
    linking = f"[there](<{quote(name)}.md>) ![x](<{quote(name)}.png>)\n"
    files = {
        f"content/{name}.md": HEAD,
        f"content/{name}.png": DOT,
        "content/q.md": f"---\ntitle: Q\n---\n{linking}",
    }
    one = built(files)
    check_harmless(one)
    if one.code == 0:
        assert (one.site / f"{name}.html").is_file()
        assert (one.site / f"{name}.png").is_file()
        assert dead_links(one) == []


RESERVED = [
    "README.md",
    "readme.md",
    "procedures/README.md",
    "procedures/index.md",
    "index.md",
    "404.md",
    "Index.md",
    "sitemap.xml.md",
    "assets/book.css.md",
    "stages/other.md",
    "x.markdown.md",
]


@pytest.mark.parametrize("name", RESERVED)
def test_a_page_with_a_name_that_mkdocs_treats_apart_is_refused_or_built(built: Builder, name: str) -> None:
    one = built({f"content/{name}": f"{HEAD}Only here.\n", "content/q.md": "---\ntitle: Q\n---\nOther.\n"})
    if not is_refused(one):
        assert faults(one.site) == []
        assert dead_links(one) == []
        assert any("Only here." in page.text for page in one.pages.values())


def dead_links(built: Built) -> list[str]:
    """Return the links within a site that lead to no file of it."""
    dead = []
    for path in built.site.rglob("*.html"):
        for href in re.findall(r'(?:href|src)="([^"#?:]+)[^"]*"', path.read_text(encoding="utf-8")):
            if not (path.parent / unquote(href.replace("&amp;", "&").replace("&#39;", "'"))).is_file():
                dead.append(f"{path.relative_to(built.site)}: {href}")
    return dead


@pytest.mark.parametrize("payload", ["<b>", "a'b", 'a"b', "a b", "../a", ".", "é"])
def test_the_name_of_an_option_or_a_hull_is_plain(built: Builder, payload: str) -> None:
    for file in (f"content/inputs/options/{payload}.yml", f"content/hulls/{payload}/hull.yml"):
        one = built({"content/p.md": HEAD, file: "size: 5 in\n"})
        check_harmless(one)


STAGES = {"of signs alone": ["***", "+++"], "of the same letters": ["Fit out", "fit-out"]}


@pytest.mark.parametrize("stages", STAGES.values(), ids=STAGES)
def test_two_stages_never_share_a_page(built: Builder, stages: list[str]) -> None:
    pages = {
        f"content/p{n}.md": f"---\ntitle: Sheet {n}\nstage: '{one}'\n---\n" for n, one in enumerate(stages)
    }
    quoted = ", ".join(f"'{one}'" for one in stages)
    one = built({"mkdocs.yml": f"{SETTINGS}      stages: [{quoted}]\n", **pages})
    if not is_refused(one):
        assert dead_links(one) == []
        assert len([name for name in one.pages if name.startswith("stages/")]) == 2


# ---- marks of slots

NUL = "\\0"
SLOTS = [f"{NUL}live:0{NUL}", f"{NUL}none such{NUL}", f"odd {NUL}", "\\x00fingerprint\\u0000"]
WITH_SLOTS: dict[str, dict[str, str]] = {
    "title": {"content/p.md": '---\ntitle: "X"\nnumber: S-1\n---\n{{ size }}\n'},
    "number": {"content/p.md": '---\ntitle: T\nnumber: "X"\n---\n{{ size }}\n'},
    "tools": {"content/p.md": '---\ntitle: T\ntools: ["X"]\n---\n{{ size }}\n'},
    "name of the book": {
        "mkdocs.yml": SETTINGS.replace("A test book", '"X"'),
        "content/p.md": f"{HEAD}{{{{ size }}}}\n",
    },
    "stage": {
        "mkdocs.yml": f'{SETTINGS}      stages: ["X"]\n',
        "content/p.md": '---\ntitle: T\nstage: "X"\n---\n{{ size }}\n',
    },
    "measurement": {
        "content/p.md": f'{HEAD}{{{{ size }}}}\n\n```measure m\nwhat: "X"\naccept: value <= 2 in\n```\n'
    },
    "material": {"content/p.md": f'{HEAD}{{{{ size }}}}\n\n```materials\n"X": size\n```\n'},
    "title of a block": {
        "content/p.md": f'{HEAD}{{{{ size }}}}\n\n```calc formula f\ntitle: "X"\nnote: "X"\na: size\n```\n'
    },
    "limit": {
        "content/p.md": f'{HEAD}{{{{ size }}}}\n\n```limit l\nrule: flag\nprotects: "X"\nnote: "X"\n```\n'
    },
    "input": {
        "content/inputs/model.yml": f'{MODEL}yard: {{name: "X"}}\nwords: "X"\n',
        "content/p.md": f"{HEAD}{{{{ size }}}}\n",
    },
    "acceptance": {
        "content/inputs/model.yml": f'{MODEL}accepted:\n  l: {{by: "X", why: "X", at: 4 in}}\n',
        "content/p.md": f"{HEAD}{{{{ size }}}}\n\n```limit l\nrule: size <= 1 in\nprotects: x\n```\n",
    },
}


@pytest.mark.parametrize("files", WITH_SLOTS.values(), ids=WITH_SLOTS)
@pytest.mark.parametrize("text", SLOTS)
def test_no_text_stands_in_for_a_slot(built: Builder, files: dict[str, str], text: str) -> None:
    """YAML's double quotes can write a NUL, which parts the slots of a page."""
    one = built({name: body.replace("X", text) for name, body in files.items()})
    if not is_refused(one):
        assert faults(one.site) == []
        assert one.pages["p.html"].live == 1


@pytest.mark.parametrize("text", ["\0live:0\0", "\0nothing\0", "odd \0"])
def test_no_text_of_a_plugin_stands_in_for_a_slot(built: Builder, text: str) -> None:
    files = {**everywhere("words"), "plugins/yard.py": PLUGIN.format(text=text)}
    one = built(files)
    if not is_refused(one):
        assert faults(one.site) == []
        assert one.pages["p.html"].live == 3


@pytest.mark.parametrize(
    "text",
    [
        "\0live:0\0",
        "\0block:f\0",
        "&#0;live:0&#0;",
        "\ufffdlive:0\ufffd",
        "`\0live:0\0`",
        "```\n\0live:0\0\n```",
        "<kbd>\0live:0\0</kbd>",
        "<details>\n\0live:0\0\n</details>",
        "![\0alt:0\0](dot.png '\0live:0\0')",
        "[x](p.md '\0live:0\0')",
        ":::danger \0live:0\0\n:::",
    ],
)
def test_no_text_of_a_page_stands_in_for_a_slot(built: Builder, text: str) -> None:
    one = built({"content/p.md": f"{HEAD}{{{{ size }}}}\n\n{text}\n"})
    if not is_refused(one):
        assert faults(one.site) == []
        assert one.pages["p.html"].live == 1


@pytest.mark.parametrize("text", ["\\e[31m", "\\x07", "\\u202e", "\\x9b31m"])
def test_no_message_carries_a_control_character(built: Builder, text: str) -> None:
    """A terminal obeys them: what a page says must not paint over what Keelbook says."""
    one = built({"content/p.md": f'---\ntitle: T\nstage: "x{text}"\nneeds: ["y{text}"]\n"z{text}": 1\n---\n'})
    assert is_refused(one)
    assert not re.search("[\0-\x09\x0b-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069]", one.said)


# ---- drawings

DRAWING = '<svg xmlns="http://www.w3.org/2000/svg" xmlns:x="http://www.w3.org/1999/xlink">{}</svg>'
ACTIVE = {
    "script": DRAWING.format("<script>alert(1)</script>"),
    "script of a namespace": '<s:svg xmlns:s="http://www.w3.org/2000/svg"><s:script>alert(1)</s:script></s:svg>',
    "script in an entity": "<!DOCTYPE svg [<!ENTITY e \"&#60;script xmlns='http://www.w3.org/2000/svg'>alert(1)"
    '&#60;/script>">]>' + DRAWING.format("&e;"),
    "attribute of a declaration": '<!DOCTYPE svg [<!ATTLIST svg\nonload CDATA "alert(1)">]>'
    + DRAWING.format(""),
    "event": DRAWING.format("<rect onclick='alert(1)'/>"),
    "event over lines": DRAWING.format("<rect\nonclick\n=\n'alert(1)'/>"),
    "link": DRAWING.format("<a x:href='javascript:alert(1)'><rect/></a>"),
    "link in entities": DRAWING.format("<a x:href='&#106;avascript:alert(1)'><rect/></a>"),
    "link that an animation makes": DRAWING.format(
        "<a><animate attributeName='href' to='&#106;avascript:alert(1)'/></a>"
    ),
    "animation of a namespace": DRAWING.format(
        "<s:set xmlns:s='http://www.w3.org/2000/svg' attributeName='href' to='x'/>"
    ),
    "picture from the net": DRAWING.format("<image href='https://example.org/x.png'/>"),
    "picture without a scheme": DRAWING.format("<image href='//example.org/x.png'/>"),
    "picture from another folder": DRAWING.format("<image href='../hulls/x.png'/>"),
    "foreign object": DRAWING.format(
        "<foreignObject><p xmlns='http://www.w3.org/1999/xhtml'>x</p></foreignObject>"
    ),
    "frame": DRAWING.format("<h:iframe xmlns:h='http://www.w3.org/1999/xhtml' src='//example.org'/>"),
    "style from the net": DRAWING.format("<style>@import '//example.org/a.css'</style>"),
    "fill from the net": DRAWING.format("<rect style='fill:url(//example.org/a.svg#b)'/>"),
    "style sheet": "<?xml-stylesheet href='//example.org/a.css'?>" + DRAWING.format(""),
    "transformation": "<?xml-stylesheet type='text/xsl' href='#t'?>" + DRAWING.format(""),
    "outside entity": "<!DOCTYPE svg [<!ENTITY e SYSTEM 'file:///etc/passwd'>]>" + DRAWING.format("&e;"),
}
QUIET = {
    "plain": DRAWING.format("<title>A tank</title><rect width='3' height='3' fill='red'/>"),
    "own parts": DRAWING.format(
        "<defs><path id='p' d='M0 0h1'/></defs><use x:href='#p'/><rect fill='url(#p)'/>"
    ),
    "words": DRAWING.format("<text>tank one = 2, settings, script</text>"),
}


@pytest.mark.parametrize("drawing", ACTIVE.values(), ids=ACTIVE)
def test_a_drawing_that_does_or_asks_anything_is_refused(built: Builder, drawing: str) -> None:
    assert is_refused(built({"content/p.md": f"{HEAD}![A tank](tank.svg)\n", "content/tank.svg": drawing}))


@pytest.mark.parametrize("coding", ["utf-16", "utf-16-be", "utf-7", "ebcdic-cp-us"])
def test_a_drawing_in_another_coding_hides_nothing(built: Builder, make_book: BookMaker, coding: str) -> None:
    codec = "cp037" if coding.startswith("ebcdic") else coding
    head = f'<?xml version="1.0" encoding="{coding}"?>'
    picture = make_book({}) / "content" / "tank.svg"
    picture.write_bytes((head + ACTIVE["script"]).encode(codec))
    assert is_refused(built({"content/p.md": f"{HEAD}![A tank](tank.svg)\n"}))


@pytest.mark.parametrize("drawing", QUIET.values(), ids=QUIET)
def test_a_plain_drawing_is_shown(built: Builder, drawing: str) -> None:
    one = built({"content/p.md": f"{HEAD}![A tank](tank.svg)\n", "content/tank.svg": drawing})
    assert one.code == 0, one.said
    assert (one.site / "tank.svg").read_text() == drawing


# ---- files outside the book

OUTSIDE = "what-stands-outside"


def check_unseen(one: Built) -> None:
    assert OUTSIDE not in one.said
    for path in one.site.rglob("*"):
        assert not path.is_file() or OUTSIDE.encode() not in path.read_bytes()


LINKED = {
    "page": ("content/p.md", f"{HEAD}{OUTSIDE}\n"),
    "page with errors": ("content/p.md", f"---\n{OUTSIDE}: x\n---\n{{{{ {OUTSIDE} }}}}\n"),
    "picture": ("content/pic.png", OUTSIDE),
    "drawing": ("content/pic.svg", DRAWING.format(OUTSIDE)),
    "inputs": ("content/inputs/model.yml", f"size: 4 in\nword: '{OUTSIDE}'\n"),
    "inputs with errors": ("content/inputs/yard.yml", f"size: {OUTSIDE} x y\n"),
    "option": ("content/inputs/options/big.yml", f"size: {OUTSIDE} x y\n"),
    "hull": ("content/hulls/H1/hull.yml", f"size: {OUTSIDE} x y\n"),
    "table": ("content/inputs/tables/t.csv", f"{OUTSIDE} (zz)\n1\n"),
}


@pytest.mark.parametrize("whole_folder", [False, True], ids=["file", "folder"])
@pytest.mark.parametrize(("name", "text"), LINKED.values(), ids=LINKED)
def test_no_link_of_the_file_system_leads_out_of_the_book(
    make_book: BookMaker, keelbook: Command, tmp_path: Path, name: str, text: str, whole_folder: bool
) -> None:
    outside = tmp_path / "outside" / Path(name).name
    outside.parent.mkdir()
    outside.write_text(text)
    in_content = Path(name).parent == Path("content")
    shown = ("far/" if whole_folder else "") + Path(name).name
    files = {
        "mkdocs.yml": SETTINGS,
        "content/q.md": f"---\ntitle: Q\n---\n{f'![x]({shown})' if 'pic' in name else 'text'}\n",
        "content/inputs/model.yml": f"{MODEL}curve: tables/t.csv\n" if name.endswith(".csv") else MODEL,
    }
    root = make_book({one: body for one, body in files.items() if one != name})
    link = root / name
    if whole_folder:
        outside, link = outside.parent, root / "content" / "far" if in_content else link.parent
        shutil.rmtree(link, ignore_errors=True)
    link.parent.mkdir(parents=True, exist_ok=True)
    link.symlink_to(outside, target_is_directory=whole_folder)
    ran = keelbook("build", book=root)
    one = Built(ran.code, ran.out + ran.err, root / "site" / "shop")
    check_unseen(one)
    # A folder of pages that a link leads to is not looked into; all else is named.
    assert is_refused(one) or (whole_folder and name.endswith(".md"))


PATHS = [
    "../outside/t.csv",
    "tables/../../../../outside/t.csv",
    "{}/outside/t.csv",
    "'../outside/t.csv'",
    "file://{}/outside/t.csv",
]


@pytest.mark.parametrize("path", PATHS)
@pytest.mark.parametrize("where", ["input", "fence", "page", "picture"])
def test_no_path_leads_out_of_the_book(built: Builder, tmp_path: Path, path: str, where: str) -> None:
    outside = tmp_path / "outside" / "t.csv"
    outside.parent.mkdir()
    outside.write_text(f"head (ft),flow (gal/hr)\n1,{OUTSIDE}\n")
    path = path.format(tmp_path)
    page = {
        "input": HEAD,
        "fence": f"{HEAD}```calc label f\nwords: {path}\nsize: size\n```\n",
        "page": f"{HEAD}[x](<{path}>)\n",
        "picture": f"{HEAD}![x](<{path}>)\n",
    }[where]
    model = f"{MODEL}curve: {path}\n" if where == "input" else MODEL
    plugin = PLUGIN.format(text="words")
    one = built({"content/p.md": page, "content/inputs/model.yml": model, "plugins/yard.py": plugin})
    check_unseen(one)
    check_harmless(one)
    is_text = "'" in path if where in ("input", "fence") else path.startswith("file:")
    assert is_refused(one) or is_text


@pytest.mark.parametrize("how", ["absolute", "by dots", "by a link"])
def test_no_folder_of_content_stands_outside_the_book(
    built: Builder, make_book: BookMaker, tmp_path: Path, how: str
) -> None:
    outside = tmp_path / "outside"
    outside.mkdir()
    (outside / "p.md").write_text(f"{HEAD}{OUTSIDE}\n")
    named = {"absolute": str(outside), "by dots": "../outside", "by a link": "linked"}[how]
    root = make_book({})
    (root / "linked").symlink_to(outside, target_is_directory=True)
    one = built({"mkdocs.yml": SETTINGS.replace("docs_dir: content", f"docs_dir: {named}")})
    check_unseen(one)
    assert is_refused(one)


# ---- any mixture

FRAGMENTS = [
    *(text for text in RAW.values() if "\x0c" not in text),
    *PAYLOADS.values(),
    *(f"[x]({address})" for address in ADDRESSES.values()),
    *(f"![x](<{address}>)" for address in ADDRESSES.values()),
    *(text for text, _ in AS_TEXT.values()),
    "{{ size }}", "{{ size in ft up to 1 }}", "{{", "}}", "\\{{ size }}", "{{ f.twice }}",
    "```calc formula f\ntwice: size * 2\n```\n", "```\n", "~~~", "````",
    "```limit l\nrule: size <= 9 in\n```\n", ":::why\n", ":::\n", "::::when flag\n", "::::\n", ":::public\n",
    ":::shop\n", ":::danger x\n", "- ", "1. ", "2) ", "> ", "    ", "\t", "# ", "---\n", "===\n", "* * *\n",
    "| a | b |\n| - | - |\n", "|", "[^1]", "[^1]: ", "^[", "]", "[", "](", ")", "[x]: p.md\n", "![",
    "<kbd>", "</kbd>", "<br>", "<sup>", "</sup>", "<details>\n", "</details>\n", "<summary>", "</summary>",
    "<abbr title='x'>", "</abbr>", "<!--", "-->", "<", ">", "&", "&#0;", "&#x3c;", "\0", "\0live:0\0", "\r",
    "\u2028", "\ufeff", "\u202e", "\x1b[31m", "*", "**", "`", "~~", "\\", "a", "Tank", " ", "{#tank}",
    "{#sheet}", "'", '"', "{.x}", "Term\n: ", "- [ ] ", "- [x] ",
]  # fmt: skip
GLUE = st.sampled_from(["", "", " ", "\n", "\n\n", "\n\n\n"])


@st.composite
def mixtures(draw: st.DrawFn) -> str:
    """Go through texts of fragments, of letters and of both, one in another."""
    parts = draw(st.lists(st.sampled_from(FRAGMENTS) | st.text(max_size=6), min_size=1, max_size=14))
    return "".join(part + draw(GLUE) for part in parts)


def examples(count: int, *, same: bool) -> Callable[[Any], Any]:
    return settings(
        max_examples=count,
        deadline=None,
        derandomize=same,
        database=None,
        suppress_health_check=[
            HealthCheck.too_slow,
            HealthCheck.data_too_large,
            HealthCheck.function_scoped_fixture,
        ],
    )


def encodable(text: str) -> str:
    return text.encode("utf-8", "replace").decode("utf-8")


def check_mixture(built: Builder, text: str) -> None:
    one = built({"content/p.md": HEAD + encodable(text) + "\n"})
    check_harmless(one)
    if one.code == 0 and "{{" not in text:
        assert one.pages["p.html"].live == 0


@given(text=mixtures())
@examples(60, same=True)
def test_any_mixture_is_refused_or_harmless(built: Builder, text: str) -> None:
    check_mixture(built, text)


@LONG
@pytest.mark.long
@given(text=mixtures())
@examples(50_000, same=False)
def test_very_many_mixtures_are_refused_or_harmless(built: Builder, text: str) -> None:
    check_mixture(built, text)


@given(
    text=st.lists(st.sampled_from(sorted(PAYLOADS.values())) | st.text(max_size=8), max_size=4).map("".join)
)
@examples(25, same=True)
def test_any_text_in_every_other_place_is_refused_or_harmless(built: Builder, text: str) -> None:
    check_harmless(built(everywhere(encodable(text))))


def test_the_reader_of_these_tests_finds_what_it_looks_for() -> None:
    """A reader that finds nothing would pass every page."""
    wrong = {
        "<script>x</script>": "element <script>",
        "<p onclick=x>": "attribute onclick",
        "<p style=x>": "attribute style",
        "<a href=' java&#10;script:x'>": "scheme javascript",
        "<img src='data:x,y'>": "scheme data",
        "<img src='//example.org/x'>": "leaves the site",
        "<!-- x -->": "a comment",
        "<?x?>": "instruction",
        "<p id=a id=b>": "stands twice",
        "<script src='assets/a.js'>x</script>": "a script on the page",
    }
    for page, fault in wrong.items():
        assert any(fault in told for told in Reading(page).faults), page
    assert Reading("<p id=a>5 &lt; 6<br></p><script src='../assets/a.js'></script>").faults == []
    assert Reading("<p><b></p></b>").unbalanced
