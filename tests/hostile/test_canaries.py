"""Nothing reaches a site but what it is for: a mark stands in every private thing, and every byte is read."""

from __future__ import annotations

import base64
import gzip
import json
import re
import struct
import subprocess
import sys
import zlib
from collections.abc import Callable
from html import escape
from pathlib import Path
from urllib.parse import quote

import pytest

from kb.calculators.declare import Calculator
from kb.calculators.plugins import load_plugins
from kb.commands.main import main
from kb.content.addresses import LISTS
from tests.hostile.reading import Reading, faults, found

MARKS = {
    # what no edition of the model shows
    "hull": "zqhullvalue",
    "hull comment": "zqhullcomment",
    "records": "zqrecords",
    "revisions": "zqrevisions",
    "reference": "zqreference",
    "table": "zqtablecell",
    "unused table": "zqunusedtable",
    "option": "zqoptionvalue",
    "option comment": "zqoptioncomment",
    "yard comment": "zqyardcomment",
    "model comment": "zqmodelcomment",
    "notes": "zqnotes",
    "settings in content": "zqtoml",
    "program in content": "zqprogram",
    "document": "zqdocument",
    "private title": "zqprivatetitle",
    "private number": "zqprivatenumber",
    "private text": "zqprivatetext",
    "private file": "zqprivatefile",
    "private block": "zqprivateblock",
    "private line": "zqprivateline",
    "private block's title": "zqprivateheading",
    "private limit": "zqprivatelimit",
    "private protects": "zqprivateprotects",
    "private picture": "zqprivatepicture",
    "comment": "zqpagecomment",
    "comment in a line": "zqlinecomment",
    "false condition": "zqfalsecondition",
    "false condition's footnote": "zqfalsefootnote",
    "false condition's picture": "zqfalsepicture",
    "unreferenced picture": "zqlostpicture",
    "hidden page": "zqhiddenpage",
    "hidden file": "zqhiddenfile",
    "hidden folder": "zqhiddenfolder",
    "backup": "zqbackup",
    "plugin comment": "zqplugincomment",
    "settings comment": "zqsettingscomment",
    "outside content": "zqoutsidecontent",
}
FOR_THE_SHOP = {
    # what the shop's edition shows and the public's does not
    "yard value": "zqyardvalue",
    "yard name": "zqyardname",
    "model value": "zqmodelvalue",
    "unused value": "zqunusedvalue",
    "input name": "zqinputname",
    "shop title": "zqshoptitle",
    "shop number": "zqshopnumber",
    "shop text": "zqshoptext",
    "shop file": "zqshopfile",
    "shop block": "zqshopblock",
    "shop block's title": "zqshopheading",
    "shop note": "zqshopnote",
    "shop limit": "zqshoplimit",
    "shop protects": "zqshopprotects",
    "shop picture": "zqshoppicture",
    "accepted": "zqacceptedwhy",
    "measurement": "zqmeasurement",
    "material": "zqmaterial",
    "calculator": "zqcalculator",
    "calculator's words": "zqdoes",
    "source": "zqsource",
    "word": "zqglossaryword",
    "shop container": "zqshopcontainer",
    "shop container's picture": "zqcontainerpicture",
    "shop container's footnote": "zqcontainerfootnote",
    "public fence": "zqpublicfence",
    "public tools": "zqpublictools",
}
PUBLIC = {"title": "zqpublictitle", "text": "zqpublictext", "picture": "zqpublicpicture", "stage": "systems"}
PRIVATE_SIZE = "731946"
SHOP_SIZE = "604.8193"
PUBLIC_SIZE = "52.25"

M = {**MARKS, **FOR_THE_SHOP, **{f"public {name}": mark for name, mark in PUBLIC.items()}}
SETTINGS = f"""\
# {M["settings comment"]}
site_name: A book of marks  # {M["settings comment"]}
docs_dir: content
site_dir: site/plain
theme: keelbook
use_directory_urls: false
plugins:
  - keelbook:
      units: us
      without: [tanks]
"""
PLUGIN = f'''\
# {M["plugin comment"]}
from dataclasses import dataclass
from typing import Annotated

from kb import Q, Source, calculator, hookimpl


@dataclass(frozen=True)
class Doubled:
    twice: Annotated[float, Q("in", "Twice it", rule="size * 2")]


@calculator(sources=[Source("{M["source"]}", "its own rule", "maker's")], example={{"size": "4 in"}})
def {M["calculator"]}(size: Annotated[float, Q("in", "Size")]) -> Doubled:
    """Double a size, {M["calculator's words"]}."""
    return Doubled(size * 2)  # {M["plugin comment"]}


@hookimpl
def kb_calculators():
    return ({M["calculator"]},)
'''
PUBLIC_PAGE = f"""\
---
title: {M["public title"]}
number: E-1
stage: systems
tools: [{M["public tools"]}]
visibility: public
---
<!-- {M["comment"]} -->
{M["public text"]} <!-- {M["comment in a line"]} --> {{{{ shown.size }}}} and a [way]({M["shop file"]}.md) in.
[Numbers](../numbers.html).

![Words](pics/{M["public picture"]}.png)

:::shop
{M["shop container"]} ![x](pics/{M["shop container's picture"]}.png) and a note[^1] on {{{{ secret.size }}}}.
:::

:::when flag
{M["false condition"]} ![x](pics/{M["false condition's picture"]}.png) and a note[^2].
:::

```calc formula open_block
title: {M["public fence"]}
twice: shown.size * 2
```

```measure open_check
what: {M["public fence"]}
accept: value <= secret.size
unit: in
```

[^1]: {M["shop container's footnote"]}

[^2]: {M["false condition's footnote"]}
"""
SHOP_PAGE = f"""\
---
title: {M["shop title"]}
number: {M["shop number"]}
stage: systems
visibility: shop
---
{M["shop text"]} {{{{ secret.size }}}} <!-- {M["comment"]} --> ![x](pics/{M["shop picture"]}.png)

```calc {M["calculator"]} {M["shop block"]}
title: {M["shop block's title"]}
note: {M["shop note"]}
size: secret.size  # {M["comment"]}
```

```limit {M["shop limit"]}
rule: {M["shop block"]}.twice <= 1 in
protects: {M["shop protects"]}
```

```measure shop_check
what: {M["measurement"]}
accept: value <= 2 in
unit: in
```

```materials
{M["material"]}: secret.size
```
"""
PRIVATE_PAGE = f"""\
---
title: {M["private title"]}
number: {M["private number"]}
stage: systems
visibility: private
---
{M["private text"]} ![x](pics/{M["private picture"]}.png)

```calc formula {M["private block"]}
title: {M["private block's title"]}
{M["private line"]}: {PRIVATE_SIZE} in
```

```limit {M["private limit"]}
rule: {M["private block"]}.{M["private line"]} <= 1 in
protects: {M["private protects"]}
```
"""
TEXTS = {
    "mkdocs.yml": SETTINGS,
    "plugins/yard.py": PLUGIN,
    "notes.txt": M["outside content"],
    "content/explainer/open.md": PUBLIC_PAGE,
    f"content/explainer/{M['shop file']}.md": SHOP_PAGE,
    f"content/explainer/{M['private file']}.md": PRIVATE_PAGE,
    "content/inputs/yard.yml": f"# {M['yard comment']}\n"
    f"yard: {{name: '{M['yard name']}', approves: 'her'}}\nshop: {{word: '{M['yard value']}'}}\n",
    "content/inputs/model.yml": f"""\
# {M["model comment"]}
shown: {{size: {PUBLIC_SIZE} in}}  # {M["model comment"]}
secret: {{size: {SHOP_SIZE} in, word: '{M["model value"]}'}}
flag: no
{M["input name"]}: {{never: '{M["unused value"]}'}}
curve: tables/used.csv
accepted:
  {M["shop limit"]}: {{by: her, why: '{M["accepted"]}', at: 1209.6386 in}}
""",
    "content/inputs/options/big.yml": f"# {M['option comment']}\nsecret: {{word: '{M['option']}'}}\n",
    "content/inputs/tables/used.csv": f"head (ft),what\n1,{M['table']}\n",
    "content/inputs/tables/unused.csv": f"head (ft),what\n1,{M['unused table']}\n",
    "content/hulls/H-1/hull.yml": f"# {M['hull comment']}\noptions: [big]\nsecret: {{word: '{M['hull']}'}}\n",
    "content/hulls/H-1/records.csv": f"measurement,value\nshop_check,{M['records']}\n",
    "content/revisions/A.json": json.dumps({"note": M["revisions"]}),
    "content/reference/glossary.yml": f"tank: {{means: {M['word']}}}\n",
    "content/reference/sources.yml": f"a: {{title: {M['reference']}, what: a, standing: read}}\n",
    "content/notes.txt": M["notes"],
    "content/explainer/notes.txt": M["notes"],
    "content/more.toml": f"a = '{M['settings in content']}'\n",
    "content/run.py": f"# {M['program in content']}\n",
    "content/extra.js": f"// {M['program in content']}\n",
    "content/extra.html": f"<p>{M['program in content']}</p>\n",
    "content/.env": M["hidden file"],
    "content/.hidden.md": f"---\ntitle: {M['hidden page']}\n---\n{M['hidden page']}\n",
    "content/.drafts/draft.md": f"---\ntitle: {M['hidden folder']}\n---\n{M['hidden folder']}\n",
    "content/explainer/open.md~": M["backup"],
    "content/explainer/open.md.bak": M["backup"],
    "content/explainer/#open.md#": M["backup"],
}
DOCUMENT = b"PK\x03\x04\0" + zlib.compress(M["document"].encode()) + M["document"].encode("utf-16-le")
SHOWN = ["public picture", "shop picture", "shop container's picture"]
PICTURES = [*SHOWN, "private picture", "false condition's picture"]


def picture(mark: str) -> bytes:
    """Return a small picture with a mark in its data."""

    def chunk(kind: bytes, body: bytes) -> bytes:
        return struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))

    size = struct.pack(">IIBBBBB", 1, 1, 8, 0, 0, 0, 0)
    body = chunk(b"IHDR", size) + chunk(b"IDAT", zlib.compress(b"\0\0")) + chunk(b"IEND", b"")
    return b"\x89PNG\r\n\x1a\n" + body + mark.encode()


def write(root: Path, edition: str) -> None:
    """Write the book with its marks; plain MkDocs builds the edition that its settings name."""
    named = "" if edition == "shop" else f"      edition: {edition}\n"
    for name, text in {**TEXTS, "mkdocs.yml": SETTINGS + named}.items():
        path = root / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")
    (root / "content" / "order.docx").write_bytes(DOCUMENT)
    shown = root / "content" / "explainer" / "pics"
    shown.mkdir()
    for name in PICTURES:
        (shown / f"{M[name]}.png").write_bytes(picture(M[name]))
    (shown / f"{M['unreferenced picture']}.png").write_bytes(picture(M["unreferenced picture"]))


def by_keelbook(root: Path, edition: str) -> Path:
    write(root, "shop")
    with pytest.raises(SystemExit) as left:
        main(["--book", str(root), "build", "--edition", edition])
    assert left.value.code == 0
    return root / "site" / edition


def by_mkdocs(root: Path, edition: str) -> Path:
    write(root, edition)
    command = [sys.executable, "-m", "mkdocs", "build", "--quiet"]
    ran = subprocess.run(command, cwd=root, capture_output=True, text=True, check=False)
    assert ran.returncode == 0, ran.stderr
    return root / "site" / "plain"


Maker = Callable[[Path, str], Path]
WAYS = [pytest.param(by_keelbook, id="keelbook"), pytest.param(by_mkdocs, id="mkdocs")]


@pytest.fixture(scope="module", params=WAYS)
def shop(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the shop's edition of the book of marks, by the command and by plain MkDocs."""
    make: Maker = request.param
    return make(tmp_path_factory.mktemp("shop"), "shop")


@pytest.fixture(scope="module", params=WAYS)
def public(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the public edition of the book of marks, by the command and by plain MkDocs."""
    make: Maker = request.param
    return make(tmp_path_factory.mktemp("public"), "public")


def files(site: Path) -> set[str]:
    """Return the files of a site but for the theme's own."""
    every = {path.relative_to(site).as_posix() for path in site.rglob("*") if path.is_file()}
    own = {name for name in every if name.startswith("assets/")} - {"assets/search-index.js"}
    theme = Path(__file__).parents[2] / "site_templates" / "kb_theme"
    assert own == {
        path.relative_to(theme).as_posix() for path in (theme / "assets").rglob("*") if path.is_file()
    }
    return every - own - {"assets/search-index.js"}


def test_the_shop_gets_its_pages_their_pictures_and_the_numbers_and_no_other_file(shop: Path) -> None:
    lists = {f"{name}.html" for name in ("index", *LISTS)}
    assert files(shop) == {
        *lists,
        "numbers.json",
        "codes.json",
        "stages/systems.html",
        f"calculators/{M['calculator']}.html",
        *(f"calculators/{one.name}.html" for one in load_plugins()[0].calculators.values() if shown(one)),
        "explainer/open.html",
        f"explainer/{M['shop file']}.html",
        *(f"explainer/pics/{M[name]}.png" for name in SHOWN),
    }


def shown(calculator: Calculator) -> bool:
    """Tell whether the book, which does without the tanks, knows a calculator."""
    return calculator.plugin != "tanks"


def private_to_its_page() -> set[str]:
    return {mark for name, mark in MARKS.items() if name.startswith("private")} | {PRIVATE_SIZE}


def in_the_false_part() -> set[str]:
    return {mark for name, mark in MARKS.items() if name.startswith("false condition")}


def hidden() -> set[str]:
    return {MARKS[name] for name in ("hidden page", "hidden file", "hidden folder", "backup")}


def test_the_shop_sees_no_record_revision_note_or_comment_and_no_other_hull(shop: Path) -> None:
    rest = {*MARKS.values()} - private_to_its_page() - in_the_false_part() - hidden()
    assert found(shop, rest) == set()


def test_the_shop_sees_nothing_of_a_private_page(shop: Path) -> None:
    assert found(shop, private_to_its_page()) == set()


def test_the_shop_sees_nothing_of_what_a_condition_leaves_out(shop: Path) -> None:
    """Nor its pictures, nor the footnotes that only it refers to."""
    assert found(shop, in_the_false_part()) == set()


def test_hidden_files_and_backups_are_no_pages(shop: Path) -> None:
    assert found(shop, hidden()) == set()


def test_the_shop_sees_all_that_is_its_own(shop: Path) -> None:
    """Marks that nobody finds anywhere would prove nothing."""
    marks = {*FOR_THE_SHOP.values(), *PUBLIC.values(), SHOP_SIZE}
    assert {mark for mark, _ in found(shop, marks)} == marks


def test_the_public_gets_public_pages_and_the_pictures_they_show_and_no_other_file(public: Path) -> None:
    assert files(public) == {
        "index.html",
        "stages/systems.html",
        "explainer/open.html",
        f"explainer/pics/{M['public picture']}.png",
    }


def in_the_shop_part() -> set[str]:
    return {mark for name, mark in FOR_THE_SHOP.items() if name.startswith("shop container")}


def test_the_public_sees_nothing_of_the_shop(public: Path) -> None:
    marks = {*MARKS.values(), *FOR_THE_SHOP.values(), PRIVATE_SIZE, SHOP_SIZE, "1209.63", "604.81", "605 in"}
    assert found(public, marks - in_the_shop_part() - in_the_false_part()) == set()


def test_the_public_sees_nothing_of_the_parts_for_the_shop_on_its_own_pages(public: Path) -> None:
    """Nor their pictures, nor the footnotes that only they refer to."""
    assert found(public, in_the_shop_part() | in_the_false_part()) == set()


def test_the_public_sees_no_calculator_code_path_or_name_from_the_yard(public: Path) -> None:
    words = ("formula", "numbers.json", "content/", ".md", ".yml", ".csv", "layer", "sheet code")
    names = ("open_block", "open_check", "secret", "flag", "board.html", "inputs.html", "data-code=")
    assert found(public, (*words, *names, "not issued", "hull or model")) == set()
    for path in public.rglob("*.html"):
        assert not re.search(r"\b[0-9A-HJKMNP-TV-Z]{4}-[0-9A-HJKMNP-TV-Z]{4}\b", path.read_text())


def test_the_public_reads_values_without_the_names_that_the_yard_gave_them(public: Path) -> None:
    assert "52.3" in Reading((public / "explainer/open.html").read_text()).text
    assert found(public, ["shown.size"]) == set()


def test_the_public_sees_all_that_is_public_and_can_go_nowhere_else(public: Path) -> None:
    assert {mark for mark, _ in found(public, PUBLIC.values())} == {*PUBLIC.values()}
    assert faults(public) == []
    for path in public.rglob("*.html"):
        for href in re.findall(r'(?:href|src)="([^"#:]+)[^"]*"', path.read_text()):
            assert (path.parent / href).resolve().is_file(), href


CODINGS: dict[str, Callable[[str], bytes]] = {
    "plain": str.encode,
    "large letters": lambda mark: mark.upper().encode(),
    "UTF-16": lambda mark: mark.encode("utf-16-le"),
    "UTF-16 at an odd place": lambda mark: b"x" + mark.encode("utf-16-le"),
    "gzip": lambda mark: gzip.compress(mark.encode()),
    "deflate in a picture": lambda mark: b"IDAT" + zlib.compress(mark.encode()),
    "base64": lambda mark: base64.b64encode(mark.encode()),
    "base64 in an address": lambda mark: b"data:x;base64," + base64.urlsafe_b64encode(b"ab" + mark.encode()),
    "percent": lambda mark: "".join(f"%{ord(letter):02x}" for letter in mark).encode(),
    "percent in an address": lambda mark: quote(f"<{mark}>").encode(),
    "entities": lambda mark: "".join(f"&#{ord(letter)};" for letter in mark).encode(),
    "entities twice": lambda mark: escape("".join(f"&#x{ord(letter):x};" for letter in mark)).encode(),
    "JavaScript": lambda mark: "".join(f"\\u{ord(letter):04x}" for letter in mark).encode(),
    "parted by tags": lambda mark: f"<b>{mark[:4]}</b>{mark[4:]}".encode(),
}


@pytest.mark.parametrize("code", CODINGS.values(), ids=CODINGS)
def test_the_scanner_finds_a_mark_in_any_coding(tmp_path: Path, code: Callable[[str], bytes]) -> None:
    (tmp_path / "page.html").write_bytes(b"<p>some text " + code("zqalivemark") + b" and more</p>")
    assert found(tmp_path, ["zqalivemark", "zqothermark"]) == {("zqalivemark", "page.html")}


@pytest.mark.parametrize("text", ["731946", "731,946", "731 946", "731\u00a0946", "731&nbsp;946"])
def test_the_scanner_finds_a_size_however_it_is_grouped(tmp_path: Path, text: str) -> None:
    (tmp_path / "page.html").write_text(f"<td>{text}</td>")
    assert found(tmp_path, [PRIVATE_SIZE]) == {(PRIVATE_SIZE, "page.html")}


def test_the_scanner_reads_names_of_files_and_every_source_of_the_book(tmp_path: Path) -> None:
    """In the book itself it finds each mark where it was put."""
    write(tmp_path, "shop")
    marks = {*MARKS.values(), *FOR_THE_SHOP.values(), *PUBLIC.values(), PRIVATE_SIZE, SHOP_SIZE}
    assert {mark for mark, _ in found(tmp_path, marks)} == marks
