"""The Glossary page: every word of the trade and of the shop, in the order of the alphabet."""

from __future__ import annotations

from dataclasses import dataclass

from markupsafe import Markup

from kb.content.addresses import list_address
from kb.pages.sheet import SitePage, own_page
from kb.pages.templates import heading, render
from kb.pages.terms import Glossary
from kb.pages.view import View


@dataclass(frozen=True, slots=True)
class Entry:
    """A line of the glossary: a term with its meaning, or a slang word that leads to one.

    `see` are links to terms; a slang word has neither anchor nor meaning.
    """

    word: str
    see: tuple[Markup, ...]
    anchor: str = ""
    means: str = ""
    slang: tuple[str, ...] = ()


def glossary(view: View) -> SitePage:
    """Return the page of all terms and slang words of the book."""
    here = list_address("glossary")
    words = Glossary(view.book.reference.terms)
    entries: list[Entry] = []
    for term in words.terms.values():
        see = tuple(Markup(words.link(here, name, name)) for name in term.see)
        entries.append(Entry(term.term, see, words.anchors[term.term], term.means, term.slang))
        there = (Markup(words.link(here, term.term, term.term)),)
        entries += [Entry(slang, there) for slang in term.slang]
    entries.sort(key=lambda entry: (entry.word.casefold(), entry.word))
    return own_page(view, here, heading("glossary"), render("glossary", entries=entries))
