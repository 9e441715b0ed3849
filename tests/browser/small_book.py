"""A small book with steps, built again after a change, at the same place as a yard does it."""

from __future__ import annotations

import os
import time
from dataclasses import dataclass, field
from pathlib import Path

import pytest

from kb.commands.main import main

FILES = {
    "mkdocs.yml": """\
site_name: A test book
docs_dir: content
theme: keelbook
plugins:
  - keelbook:
      units: us
""",
    "content/inputs/model.yml": "deck:\n  length: 46 1/2 in\n",
    "content/cut.md": """\
---
title: Cut the plank
number: S-1
stage: systems
visibility: public
---

```calc formula plank
half: deck.length / 2
```

1. Cut {{ deck.length }} of [oak](other.md).
2. Lay it down.
   1. Turn it.
   2. Wipe it.

   ```limit short
   rule: deck.length <= 90 in
   ```

   :::caution
   It is heavy.
   :::
3. Look at it.

![A dot](dot.svg)
""",
    "content/other.md": """\
---
title: Fetch oak
number: S-2
stage: systems
---

1. Fetch oak.
2. Stack it.
""",
    "content/dot.svg": '<svg xmlns="http://www.w3.org/2000/svg" width="9" height="9"><circle r="4"/></svg>\n',
}
AHEAD = 3600
"""Seconds: a file that seems to come from the future is never taken for fresh without asking."""


@dataclass
class SmallBook:
    """A book in a folder; each `build` puts its edition in the place of the last."""

    root: Path
    built: int = field(default=0)

    def build(self, edition: str = "shop", **changes: str) -> Path:
        """Build it with `deck.length` or a page (`cut`, `other`) changed, and return the edition's folder."""
        files = dict(FILES)
        for name, text in changes.items():
            if name == "length":
                files["content/inputs/model.yml"] = f"deck:\n  length: {text}\n"
            else:
                files[f"content/{name}.md"] = text
        for name, text in files.items():
            path = self.root / name
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_text(text, encoding="utf-8")
        with pytest.raises(SystemExit) as left:
            main(["--book", str(self.root), "build", "--edition", edition])
        assert left.value.code == 0
        self.built += 1
        folder = self.root / "site" / edition
        for path in folder.rglob("*"):
            self._stamp(path)
        return folder

    def put(self, path: Path, content: bytes) -> None:
        """Write a file of the built site, newer than all before."""
        path.write_bytes(content)
        self.built += 1
        self._stamp(path)

    def _stamp(self, path: Path) -> None:
        # Over http a file counts as new by the second, and two builds may come within one.
        when = time.time() + AHEAD + 60 * self.built
        os.utime(path, (when, when))
