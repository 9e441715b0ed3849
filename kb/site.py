"""MkDocs as the last shell: it lays finished pages into the theme and writes them; it works nothing out."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

from jinja2 import Environment
from mkdocs.config import config_options
from mkdocs.config.base import Config
from mkdocs.config.defaults import MkDocsConfig
from mkdocs.exceptions import PluginError
from mkdocs.livereload import LiveReloadServer
from mkdocs.plugins import BasePlugin
from mkdocs.structure.files import File, Files
from mkdocs.structure.pages import Page
from mkdocs.theme import Theme

from kb.content.book import MODEL, PUBLIC, THEME
from kb.pages.edition import EditionPages
from kb.pages.sheet import SitePage
from kb.problem import Problem
from kb.reckon import OpenBook, edition_problems, open_book

_SITEMAP = "sitemap.xml"  # MkDocs' own, which would carry today's date


class Options(Config):  # type: ignore[no-untyped-call]
    """What `mkdocs.yml` says under `plugins: - keelbook:`; the engine reads all but `edition` itself."""

    units = config_options.Type(str, default="us")
    stages = config_options.Optional(config_options.Type(list))
    without = config_options.Optional(config_options.Type(list))
    edition = config_options.Choice(("shop", "public"), default="shop")


class Keelbook(BasePlugin[Options]):  # type: ignore[no-untyped-call]
    """Hands the pages of an edition to MkDocs, and lets nothing else of the content reach the site."""

    def __init__(self) -> None:
        self.ready: EditionPages | None = None
        self.edition: EditionPages
        self.pages: dict[str, SitePage] = {}
        self.progress: Callable[[int, int], None] = lambda done, of: None
        self.is_served = False

    def prepare(self, pages: EditionPages, progress: Callable[[int, int], None]) -> None:
        """Give the edition that is built next, where the command has worked it out already."""
        self.ready, self.progress = pages, progress

    def on_startup(self, *, command: str, dirty: bool) -> None:
        """Refuse to send anything but the public edition out of the yard."""
        self.is_served = command == "serve"
        if command == "gh-deploy" and self.config.edition != "public":
            raise PluginError(
                "only the public edition leaves the yard; write 'edition: public' under the plugin keelbook,"
                " or build with `keelbook build --edition public` and look at it first"
            )

    def on_config(self, config: MkDocsConfig) -> MkDocsConfig:
        """Work the book out; a book with errors is not built."""
        config.use_directory_urls = False  # pages open from a disk
        config.markdown_extensions = []
        edition, self.ready = self.ready, None
        if edition is None:
            edition = _work_out(Path(config.config_file_path).parent, self.config.edition)
        self.edition = edition
        if not edition.opened.book.settings.theme:
            config.theme = Theme(name=THEME)
        config.theme.static_templates.discard(_SITEMAP)
        self.pages = {}
        for page in edition.pages():
            self.pages[page.address] = page
            self.progress(len(self.pages), len(edition.addresses))
        return config

    def on_files(self, files: Files, *, config: MkDocsConfig) -> Files:
        """Let through the edition's pages and pictures and the theme's files, and nothing else."""
        docs = Path(config.docs_dir)
        allowed = Files([file for file in files if self._may_pass(file, docs)])
        known = {file.dest_uri for file in allowed}
        for address in self.pages:
            if address in known:
                continue
            allowed.append(File.generated(config, f"{address.removesuffix('.html')}.md", content=""))
        for address, text in self.edition.data.items():
            allowed.append(File.generated(config, address, content=text))
        return allowed

    def _may_pass(self, file: File, docs: Path) -> bool:
        if file.src_dir is None or Path(file.src_dir) != docs:
            return file.src_uri != _SITEMAP
        if file.is_documentation_page():
            return file.dest_uri in self.pages
        return file.src_uri in self.edition.pictures

    def on_env(self, env: Environment, *, config: MkDocsConfig, files: Files) -> Environment:
        """Leave the policy out of served pages: it would stop the script that MkDocs writes into them."""
        if self.is_served:
            env.globals["serving"] = True
        return env

    def on_page_markdown(self, markdown: str, *, page: Page, config: MkDocsConfig, files: Files) -> str:
        """Give the page its title, and MkDocs' own Markdown nothing to do."""
        page.title = self.pages[page.file.dest_uri].title
        return ""

    def on_page_content(self, html: str, *, page: Page, config: MkDocsConfig, files: Files) -> str:
        """Give the page as it was made."""
        return self.pages[page.file.dest_uri].html

    def on_serve(
        self, server: LiveReloadServer, *, config: MkDocsConfig, builder: Callable[..., Any]
    ) -> None:
        """Build again when a calculator of the yard's own changes, too."""
        own = Path(config.config_file_path).parent / "plugins"
        if own.is_dir():
            server.watch(str(own))


def _work_out(root: Path, edition: str) -> EditionPages:
    opened: OpenBook = open_book(root)
    done = opened.evaluate(PUBLIC if edition == "public" else MODEL)
    problems: list[Problem] = edition_problems(opened, done)
    if problems:
        raise PluginError("\n".join(map(str, problems)))
    return EditionPages(opened, done)
