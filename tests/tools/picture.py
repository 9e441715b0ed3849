"""Takes the README's picture: the top of a real sheet of the demonstration book.

`python -m tests.tools.picture` after `make book` and `make tools`.
"""

from __future__ import annotations

from pathlib import Path

from playwright.sync_api import sync_playwright

from tests.tools.find import need

ROOT = Path(__file__).parents[2]
SHEET = ROOT / "site/shop/procedures/systems/dip-rod-and-load.html"
PICTURE = ROOT / "docs/sheet.png"


def main() -> None:
    """Write the picture."""
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=need("browser"), args=["--no-sandbox"])
        page = browser.new_page(viewport={"width": 960, "height": 1500})
        page.goto(SHEET.as_uri())
        PICTURE.parent.mkdir(exist_ok=True)
        page.screenshot(path=PICTURE)
        browser.close()


if __name__ == "__main__":
    main()
