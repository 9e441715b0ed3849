"""Each page names what it loads, and the browser refuses all else: no script, style or handler in a page."""

from __future__ import annotations

import re
from html.parser import HTMLParser
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from mkdocs.commands.build import build
from mkdocs.config import load_config
from playwright.sync_api import Page

from tests.browser.sample import some

if TYPE_CHECKING:
    from tests.browser.conftest import Served
    from tests.browser.small_book import SmallBook

# On file:// Chromium counts every file as 'self', so that one policy serves both. The typefaces stand in
# their style sheet, since a page moves as they arrive from elsewhere; 'self' does not match what is within.
POLICY = {
    "default-src": "'none'",
    "script-src": "'self'",
    "style-src": "'self'",
    "img-src": "'self'",
    "font-src": "data:",
    "connect-src": "'self'",
    "base-uri": "'none'",
    "form-action": "'none'",
}
WATCH = """window.refused = [];
    document.addEventListener('securitypolicyviolation', (one) => refused.push(one.effectiveDirective))"""


def policy_of(html: str) -> dict[str, str]:
    (content,) = re.findall(r'<meta http-equiv="Content-Security-Policy" content="([^"]*)">', html)
    return dict(one.strip().split(" ", 1) for one in content.split(";"))


class Inline(HTMLParser):
    """What a page carries that should be in a file of its own."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.found: list[str] = []
        self.feed(html)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Note a script without an address, a style, a handler, and an address that is a script."""
        given = dict(attrs)
        if tag == "style" or (tag == "script" and not given.get("src")):
            self.found.append(f"<{tag}> at {self.getpos()}")
        self.found += [
            f"{name}={value!r} at {self.getpos()}"
            for name, value in given.items()
            if name == "style" or name.startswith("on") or str(value).strip().startswith("javascript:")
        ]


def test_a_style_a_handler_and_a_script_in_a_page_are_found() -> None:
    html = '<p style="a"><b onclick="b">x</b><script>c</script><style>d</style><a href="javascript:e">y</a>'
    assert len(Inline(html).found) == 5


def test_every_page_has_the_policy_before_all_else_and_nothing_inline(book: Path, small: SmallBook) -> None:
    for folder in (book, small.build(), small.build("public")):
        for path in some(folder.rglob("*.html")):
            html = path.read_text(encoding="utf-8")
            assert policy_of(html) == POLICY, path.name
            assert html.index("Content-Security-Policy") < min(html.index("<link"), html.index("<script"))
            assert Inline(html).found == [], path.name


def test_nothing_of_a_page_is_refused(page: Page, book: Path, small: SmallBook, opened: Served) -> None:
    page.add_init_script(WATCH)
    for folder in (book, small.build()):
        top = opened(folder)
        for path in some(folder.rglob("*.html")):
            if path.parent.name == "calculators" and path.name != "tank_volume.html":
                continue  # all alike
            page.goto(top + path.relative_to(folder).as_posix())
            assert page.evaluate("refused") == [], path.name
            assert page.evaluate("[...document.styleSheets].every((one) => one.ownerNode.sheet)")
    page.goto(f"{top}cut.html")
    page.wait_for_load_state("networkidle")
    assert page.evaluate("refused") == []
    assert page.locator(".step-tick").count() == 3
    assert page.evaluate("document.querySelector('.sheet-body img').naturalWidth") > 0
    assert page.evaluate("document.fonts.check('1em \"Book Text\"') && document.fonts.size") == 4


@pytest.mark.parametrize("name", ["script-src", "style-src", "img-src", "font-src", "connect-src"])
def test_each_part_of_the_policy_is_needed(
    page: Page, small: SmallBook, served: Served, complaints: list[str], name: str
) -> None:
    folder = small.build()
    path = folder / "cut.html"
    html = path.read_text(encoding="utf-8")
    path.write_text(html.replace(f"{name} {POLICY[name]}; ", ""), encoding="utf-8")
    page.add_init_script(WATCH)
    page.goto(f"{served(folder)}cut.html")
    page.wait_for_load_state("networkidle")
    refused = page.evaluate("refused")
    assert {one.removesuffix("-elem") for one in refused} == {name}
    complaints.clear()


@pytest.mark.parametrize(
    "attempt",
    [
        "const one = document.createElement('script'); one.textContent = 'ran = true'; body.append(one)",
        "body.insertAdjacentHTML('beforeend', '<b onclick=\"ran = true\">x</b>'); body.lastChild.click()",
        "body.insertAdjacentHTML('beforeend', '<img src=\"data:image/gif;base64,R0lGODlhAQABAAAAACw=\">')",
        "body.insertAdjacentHTML('beforeend', '<p style=\"color: red\">x</p>')",
        "body.insertAdjacentHTML('beforeend', '<iframe src=\"index.html\"></iframe>')",
        "fetch('http://127.0.0.1:9/').catch(() => undefined)",
    ],
    ids=["script", "handler", "picture", "style", "frame", "fetch"],
)
def test_what_the_book_did_not_ship_is_refused(
    page: Page, small: SmallBook, opened: Served, complaints: list[str], attempt: str
) -> None:
    page.add_init_script(WATCH)
    page.goto(opened(small.build()) + "cut.html")
    page.evaluate(f"() => {{ const body = document.body; {attempt} }}")
    page.wait_for_function("refused.length > 0")
    assert page.evaluate("window.ran") is None
    complaints.clear()


def test_pages_that_mkdocs_serves_leave_the_policy_out_since_it_writes_a_script_into_them(
    small: SmallBook, tmp_path: Path
) -> None:
    built = small.build()
    config = load_config(str(small.root / "mkdocs.yml"), site_dir=str(tmp_path / "served"))
    config.plugins.on_startup(command="serve", dirty=False)
    build(config)
    html = (tmp_path / "served/cut.html").read_text(encoding="utf-8")
    with_policy = (built / "cut.html").read_text(encoding="utf-8")
    assert "Content-Security-Policy" not in html
    assert re.sub("<meta http-equiv.*\n", "", with_policy) == html
