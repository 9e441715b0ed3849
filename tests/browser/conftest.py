"""Pages in a real browser, watched for errors and for requests that leave the site."""

from __future__ import annotations

import os
import threading
from collections.abc import Callable, Iterator
from functools import partial
from http.server import SimpleHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any, Literal, Protocol
from urllib.parse import urlsplit

import pytest
from playwright.sync_api import Browser, BrowserContext, ConsoleMessage, Page, sync_playwright

from kb.commands.main import main
from tests.browser.small_book import SmallBook
from tests.tools.find import need

HOME = ("localhost", "127.0.0.1")
ROOT = Path(__file__).parents[2]


class PageOf(Protocol):
    """Opens an empty page of a given size, colour scheme and so on."""

    def __call__(
        self,
        width: int = 1280,
        height: int = 800,
        *,
        scheme: Literal["light", "dark"] = "light",
        javascript: bool = True,
        **more: Any,
    ) -> Page:
        """Open it; `more` goes to playwright's `new_context` as it is."""


Served = Callable[[Path], str]
Axe = Callable[[Page], list[str]]


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """Return Chromium, started once a run; it knows no host but this machine."""
    executable = need("browser")
    away = ",".join(["MAP * ~NOTFOUND", *(f"EXCLUDE {host}" for host in HOME)])
    args = [f"--host-resolver-rules={away}"]
    if getattr(os, "geteuid", lambda: 1)() == 0:
        args.append("--no-sandbox")
    with sync_playwright() as playwright:
        chromium = playwright.chromium.launch(executable_path=executable, args=args)
        yield chromium
        chromium.close()


@pytest.fixture(scope="session")
def book(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the demonstration book as it is built for the shop."""
    site = tmp_path_factory.mktemp("site")
    with pytest.raises(SystemExit) as left:
        main(["--book", str(ROOT), "build", "--site", str(site)])
    assert left.value.code == 0
    return site / "shop"


@pytest.fixture
def complaints() -> Iterator[list[str]]:
    """Return what pages did wrong until now: errors on the console, requests that left the site.

    The test fails if any is left at its end. A test that expects one takes it out.
    """
    told: list[str] = []
    yield told
    assert not told, "\n".join(told)


@pytest.fixture
def page_of(browser: Browser, complaints: list[str]) -> Iterator[PageOf]:
    """Return a function that opens a new page, watched by `complaints`, in a context of its own."""
    contexts: list[BrowserContext] = []

    def page_of(
        width: int = 1280,
        height: int = 800,
        *,
        scheme: Literal["light", "dark"] = "light",
        javascript: bool = True,
        **more: Any,
    ) -> Page:
        context = browser.new_context(
            viewport={"width": width, "height": height},
            color_scheme=scheme,
            java_script_enabled=javascript,
            **more,
        )
        contexts.append(context)
        _watch(context, complaints)
        return context.new_page()

    yield page_of
    for context in contexts:
        context.close()


@pytest.fixture
def page(page_of: PageOf) -> Page:
    """Return a page as a desk's screen shows it."""
    return page_of()


@pytest.fixture
def served() -> Iterator[Served]:
    """Return a function that serves a folder over http and returns its address, ending in a slash."""
    running: list[tuple[ThreadingHTTPServer, threading.Thread]] = []

    def serve(folder: Path) -> str:
        server = ThreadingHTTPServer(("127.0.0.1", 0), partial(_Quiet, directory=str(folder)))
        thread = threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.05}, daemon=True)
        thread.start()
        running.append((server, thread))
        return f"http://127.0.0.1:{server.server_port}/"

    yield serve
    for server, thread in running:
        server.shutdown()
        server.server_close()
        thread.join()


@pytest.fixture
def small(tmp_path: Path) -> SmallBook:
    """Return a small book with steps, not built yet."""
    return SmallBook(tmp_path / "small")


@pytest.fixture(params=["http", "file"])
def opened(request: pytest.FixtureRequest, served: Served) -> Served:
    """Return a function that gives the address of a folder, ending in a slash: from a server, from a disk."""
    return served if request.param == "http" else lambda folder: f"{folder.as_uri()}/"


@pytest.fixture
def axe() -> Axe:
    """Return a function that lists what axe finds wrong with an open page; the page needs JavaScript."""
    script = need("axe").read_text()

    def run(page: Page) -> list[str]:
        page.evaluate(script)
        found = page.evaluate("axe.run()")
        return [
            f"{wrong['id']}: {wrong['help']}: {' '.join(map(str, node['target']))}"
            for wrong in found["violations"]
            for node in wrong["nodes"]
        ]

    return run


class _Quiet(SimpleHTTPRequestHandler):
    # A connection that the browser opens ahead and never uses must not keep its thread.
    timeout = 10

    def log_message(self, *_: object) -> None:
        pass


def _watch(context: BrowserContext, complaints: list[str]) -> None:
    def heard(message: ConsoleMessage) -> None:
        if message.type == "error":
            complaints.append(f"on the console: {message.text} ({message.location['url']})")

    def asked(url: str) -> None:
        where = urlsplit(url)
        if where.scheme in ("http", "https", "ws", "wss") and where.hostname not in HOME:
            complaints.append(f"left the site: {url}")

    context.on("console", heard)
    context.on("weberror", lambda error: complaints.append(f"script failed: {error.error}"))
    context.on("request", lambda request: asked(request.url))
    context.on("page", lambda page: page.on("websocket", lambda socket: asked(socket.url)))
