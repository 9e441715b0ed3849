"""Every page that comes out is valid HTML, as the Nu HTML checker reads it."""

from __future__ import annotations

import json
import subprocess
from pathlib import Path

import pytest

from kb.commands.main import main
from tests.tools.find import need

ROOT = Path(__file__).parents[2]
WRONG = '<!doctype html>\n<html lang="en"><title>Tank</title><br /><p id="a"><b id="a">x</b></p>\n'
EVERYTHING = """\
---
title: Everything that Markdown has
number: S-1
stage: systems
crew: 2
time: 1 hr
protection: [gloves]
tools: [tape]
needs: [other]
visibility: public
---
# One {{ size }}

Text *a* **b** ~~c~~ `d`, <kbd>e</kbd>, <sup>f</sup>, <abbr title="g">h</abbr>, [i](other.md), a note[^1].<br>

## Two

1. Step {{ size }} and {{ size in ft-in to 1/16 }}

   - [ ] to do {{ size }}
   - [x] done

2. Step

   | A {{ size }} | B |
   | :--- | ---: |
   | {{ size }} | {{ size * 2 in in }} |

3. > Quoted {{ size }}

Term {{ size }}
:   What it is {{ size }}

<details>
<summary>More</summary>

Below {{ size }}

</details>

:::danger One
Text {{ size }}
:::

::::why
:::notice
Text
:::
::::

```calc formula f
title: A card
note: A note
twice: size * 2
limits: {short: twice <= 1 in}
```

```limit l
rule: f.twice <= 1 in
protects: all
```

```measure m
what: The size
accept: value <= 2 in
unit: in
```

```materials
wood: size
```

![A dot](dot.png "Title")

[^1]: A note with {{ size }}
"""
FILES = {
    "mkdocs.yml": "site_name: All\ntheme: keelbook\ndocs_dir: content\nplugins: [keelbook: {units: us}]\n",
    "content/everything.md": EVERYTHING,
    "content/other.md": "---\ntitle: Other\n---\nText\n",
    "content/dot.png": "a dot",
    "content/inputs/model.yml": "size: 4 in ± 1/8 in\n",
}


def build(book: Path, site: Path) -> None:
    with pytest.raises(SystemExit) as left:
        main(["--book", str(book), "build", "--edition", "all", "--site", str(site)])
    assert left.value.code == 0


def errors(top: Path) -> dict[str, list[str]]:
    """Return the errors of each book's pages; remarks, on slashes for instance, are none.

    The checker starts slowly, so it runs once for all.
    """
    java, checker = need("java"), need("vnu")
    for name, text in FILES.items():
        path = top / "book" / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")
    sites = {"demonstration": ROOT, "starter": ROOT / "kb" / "starter", "everything": top / "book"}
    for name, book in sites.items():
        build(book, top / "sites" / name)
    wrong = top / "sites" / "wrong"
    wrong.mkdir()
    (wrong / "page.html").write_text(WRONG)
    options = ["--stdout", "--exit-zero-always", "--format", "json", "--skip-non-html"]
    command: list[str | Path] = [java, "-Xss2m", "-jar", checker, *options, top / "sites"]
    ran = subprocess.run(command, capture_output=True, text=True, encoding="utf-8", check=True)
    found: dict[str, list[str]] = {name: [] for name in (*sites, "wrong")}
    for told in json.loads(ran.stdout)["messages"]:
        if told["type"] != "info":
            name, _, page = told["url"].partition("/sites/")[2].partition("/")
            found[name].append(f"{page}:{told.get('lastLine', 1)}: {told['message']}")
    return found


def test_every_page_of_every_book_is_valid_html(tmp_path: Path) -> None:
    found = errors(tmp_path)
    alive = found.pop("wrong")
    assert len(alive) == 1  # an error is told, and a remark on a slash is not
    assert found == {"demonstration": [], "starter": [], "everything": []}
