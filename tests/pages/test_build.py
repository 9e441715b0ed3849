"""`keelbook build`: what it writes, what it never overwrites, how it ends, what leaves the yard."""

from __future__ import annotations

import shutil
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from kb.commands.main import main
from tests.pages.site_tree import SETTINGS, Site, dead_ends, files_of, fill, markup_faults, process, sheet

if TYPE_CHECKING:
    from tests.conftest import BookMaker, Command

GOOD = {
    "content/p.md": sheet("It is {{ deck.length }}.\n"),
    "content/inputs/model.yml": "deck:\n  length: 48 in\n",
}
BAD = {
    "a name": sheet("It is {{ deck.lenght }}.\n"),
    "a dead link": sheet("See [it](gone.md).\n"),
    "a unit": sheet("It is {{ deck.length in gal }}.\n"),
    "a block": sheet("```calc plank shelf\nlength: deck.length\n```\n"),
    "no title": "Words.\n",
}
OUTSIDE = sheet("```limit fits\nrule: deck.length <= 40 in\n```\n")
UNTOLD = sheet("```calc beam carlin\nspan: 72 in\n```\n")
RUN = "from kb.commands.main import run; run()"


@pytest.mark.parametrize("wrong", BAD.values(), ids=BAD.keys())
def test_a_book_with_an_error_is_not_built_and_the_last_good_edition_stays(
    settled: BookMaker, keelbook: Command, tmp_path: Path, wrong: str
) -> None:
    book, place = settled(GOOD), tmp_path / "out"
    assert keelbook("build", "--site", str(place), book=book).code == 0
    before = files_of(place)

    settled({"content/q.md": wrong})
    ran = keelbook("build", "--site", str(place), book=book)

    assert ran.code == 2
    assert ran.err.startswith("content/q.md")
    assert files_of(place) == before
    assert [path.name for path in place.iterdir()] == ["shop"]


def test_a_book_with_an_error_that_was_never_built_leaves_nothing(
    settled: BookMaker, keelbook: Command, tmp_path: Path
) -> None:
    ran = keelbook("build", "--site", str(tmp_path / "out"), book=settled({"content/q.md": BAD["a name"]}))

    assert ran.code == 2
    assert not (tmp_path / "out").exists() or list((tmp_path / "out").iterdir()) == []


@pytest.mark.parametrize("file", ["notes.txt", "index.html", "deep/er/photo.jpg"])
def test_a_folder_with_other_things_in_it_is_refused_and_untouched(
    settled: BookMaker, keelbook: Command, tmp_path: Path, file: str
) -> None:
    other = tmp_path / "out/shop" / file
    other.parent.mkdir(parents=True)
    other.write_text("mine")

    ran = keelbook("build", "--site", str(tmp_path / "out"), book=settled(GOOD))

    assert ran.code != 0
    assert str(tmp_path / "out/shop") in ran.err
    assert "Traceback" not in ran.err
    assert {name: text.decode() for name, text in files_of(tmp_path / "out").items()} == {
        f"shop/{file}": "mine"
    }


def test_an_empty_folder_is_built_into(settled: BookMaker, keelbook: Command, tmp_path: Path) -> None:
    (tmp_path / "out/shop").mkdir(parents=True)

    assert keelbook("build", "--site", str(tmp_path / "out"), book=settled(GOOD)).code == 0
    assert (tmp_path / "out/shop/p.html").is_file()


def test_what_the_last_edition_had_and_the_new_one_has_not_is_gone(
    settled: BookMaker, keelbook: Command, tmp_path: Path
) -> None:
    book = settled({**GOOD, "content/q.md": sheet("![S](saw.png)\n", "title: Q"), "content/saw.png": ""})
    place = tmp_path / "out"
    keelbook("build", "--site", str(place), book=book)
    assert (place / "shop/saw.png").is_file()
    (book / "content/q.md").unlink()

    assert keelbook("build", "--site", str(place), book=book).code == 0
    assert not (place / "shop/q.html").exists()
    assert not (place / "shop/saw.png").exists()


def test_without_site_an_edition_goes_into_the_book_s_own_folder(
    settled: BookMaker, keelbook: Command
) -> None:
    book = settled(GOOD)

    assert keelbook("build", book=book).code == 0
    assert (book / "site/shop/p.html").is_file()
    assert keelbook("build", book=book).code == 0


@pytest.mark.parametrize("page", [OUTSIDE, UNTOLD], ids=["outside", "cannot tell"])
def test_strict_ends_with_1_where_a_limit_does_not_hold_and_the_pages_are_there(
    settled: BookMaker, keelbook: Command, tmp_path: Path, page: str
) -> None:
    book, place = settled({**GOOD, "content/q.md": page.replace("A page", "Q")}), tmp_path / "out"

    assert keelbook("build", "--site", str(place), "--strict", book=book).code == 1
    assert (place / "shop/q.html").is_file()
    assert keelbook("build", "--site", str(place), book=book).code == 0


def test_strict_ends_with_0_where_every_limit_holds_and_2_where_the_book_has_errors(
    settled: BookMaker, keelbook: Command, tmp_path: Path
) -> None:
    arguments = ("build", "--site", str(tmp_path / "out"), "--strict")
    assert keelbook(*arguments, book=settled(GOOD)).code == 0
    assert keelbook(*arguments, book=settled({"content/q.md": OUTSIDE + BAD["a name"]})).code == 2


@pytest.mark.parametrize("arguments", [["--edition", "shp"], ["--edition"], ["--nothing"], ["now"]])
def test_wrong_use_ends_with_64_and_writes_nothing(
    settled: BookMaker, keelbook: Command, arguments: list[str]
) -> None:
    book = settled(GOOD)
    ran = keelbook("build", *arguments, book=book)

    assert (ran.code, ran.out) == (64, "")
    assert ran.err
    assert not (book / "site").exists()


@pytest.mark.parametrize("theme", ["", "theme: mkdocs\n"], ids=["none", "another"])
def test_a_book_that_names_another_theme_is_refused_or_built_with_the_book_s_own_again_and_again(
    settled: BookMaker, keelbook: Command, tmp_path: Path, theme: str
) -> None:
    book = settled({**GOOD, "mkdocs.yml": SETTINGS.replace("theme: keelbook\n", theme)})
    ran = [keelbook("build", "--site", str(tmp_path / "out"), book=book) for _ in range(2)]

    assert [one.code for one in ran] == ([2, 2] if theme else [0, 0])
    if not theme:
        assert markup_faults((tmp_path / "out/shop/p.html").read_text()) == []
        assert "assets/book.css" in (tmp_path / "out/shop/p.html").read_text()
    else:
        assert ran[0].err.startswith("mkdocs.yml")


PUBLIC = {
    "content/inputs/yard.yml": "yard:\n  name: 'The yard'\n  approves: 'Jo Secretname'\n",
    "content/inputs/model.yml": "deck:\n  length: 48 in\n  hushed: 77.7 in\n",
    "content/open.md": sheet(
        "The deck is {{ deck.length }} long. "
        "See [the shop's](shut.md), [board](board.html) and [this](more.md).\n\n"
        "![A saw](saw.png)\n\n:::shop\nNot this: {{ deck.hushed }}. ![Jig](jig.png) [it](shut.md)\n:::\n\n"
        "```calc plank shelf\ntitle: Hushed shelf\nlength: deck.length\nwidth: 12 in\n```\n",
        "title: How a boat is built\nvisibility: public\ncrew: 7\ntime: 77 hr\nneeds: [shut]",
    ),
    "content/more.md": sheet("More.\n", "title: More\nvisibility: public\nstage: systems"),
    "content/shut.md": sheet("Hushed. ![Plan](plan.png)\n", "title: Hushed title\nnumber: S-77\nstage: hull"),
    "content/own.md": sheet("Very hushed.\n", "title: Hushed, too\nvisibility: private"),
    "content/saw.png": "a",
    "content/jig.png": "b",
    "content/plan.png": "c",
}


@pytest.fixture(scope="module")
def public(tmp_path_factory: pytest.TempPathFactory) -> Site:
    """Return the public edition of a book with things to hide."""
    book = fill(tmp_path_factory.mktemp("public") / "book", PUBLIC)
    with pytest.raises(SystemExit) as left:
        main(["--book", str(book), "build", "--edition", "public", "--site", str(book / "out")])
    assert left.value.code == 0
    return Site(book / "out/public")


def test_the_public_edition_has_the_public_pages_a_cover_and_their_stages_only(public: Site) -> None:
    pages = {"index.html", "open.html", "more.html", "stages/systems.html"}

    assert {name for name in public.files if not name.endswith(".png")} == pages


def test_the_public_edition_has_the_pictures_that_it_shows_and_no_other(public: Site) -> None:
    assert [name for name in public.files if name.endswith(".png")] == ["saw.png"]


@pytest.mark.parametrize(
    "secret",
    [
        "ushed",
        "77",
        "S-77",
        "Secretname",
        "Not this",
        "jig",
        "plan.png",
        "inputs/",
        "model.yml",
        "numbers.json",
        "board.html",
    ],
)
def test_nothing_of_the_shop_is_anywhere_in_the_public_edition(public: Site, secret: str) -> None:
    assert [name for name, text in public.files.items() if secret.encode() in text] == []


def test_the_public_edition_has_no_cards_no_slips_and_no_title_block(public: Site) -> None:
    page = public.page("open.html")

    assert [
        one for css in ("card", "slip", "title-block", "live", "sheet-facts") for one in page.all("", css)
    ] == []
    assert "The deck is 48 in long." in page.text


def test_a_public_page_s_link_to_what_is_not_public_is_plain_text(public: Site) -> None:
    page = public.page("open.html").one("div", "sheet-body")

    assert "See the shop's, board and this." in page.text
    assert [link.attrs["href"] for link in page.all("a")] == ["more.html"]
    assert dead_ends(public) == []
    assert {name: found for name in public.addresses if (found := markup_faults(public.html(name)))} == {}


def test_a_link_to_a_part_that_the_public_edition_lacks_is_never_left_dangling(
    settled: BookMaker, keelbook: Command, tmp_path: Path
) -> None:
    head = "\nvisibility: public"
    files = {
        "content/p.md": sheet(":::shop\n## Jigs\n\nWords.\n:::\n", f"title: P{head}"),
        "content/q.md": sheet("See [jigs](p.md#jigs).\n", f"title: Q{head}"),
    }
    ran = keelbook("build", "--edition", "public", "--site", str(tmp_path / "out"), book=settled(files))

    assert ran.code == 0, ran.err
    assert dead_ends(Site(tmp_path / "out/public")) == []


def test_a_book_without_a_public_page_has_a_public_edition_of_a_cover(
    settled: BookMaker, keelbook: Command, tmp_path: Path
) -> None:
    ran = keelbook("build", "--edition", "public", "--site", str(tmp_path / "out"), book=settled(GOOD))

    assert ran.code == 0
    assert list(files_of(tmp_path / "out/public")) == ["index.html"]


def test_all_builds_both_editions_each_as_it_is_alone(
    settled: BookMaker, keelbook: Command, tmp_path: Path
) -> None:
    book = settled(PUBLIC)
    assert keelbook("build", "--edition", "all", "--site", str(tmp_path / "all"), book=book).code == 0
    for edition in ("shop", "public"):
        keelbook("build", "--edition", edition, "--site", str(tmp_path / "one"), book=book)

    assert files_of(tmp_path / "all") == files_of(tmp_path / "one")


def test_a_shop_s_page_is_there_and_a_private_one_is_not(
    settled: BookMaker, keelbook: Command, tmp_path: Path
) -> None:
    keelbook("build", "--site", str(tmp_path / "out"), book=settled(PUBLIC))

    assert (tmp_path / "out/shop/shut.html").is_file()
    assert not (tmp_path / "out/shop/own.html").exists()
    assert b"Very hushed" not in b"".join(files_of(tmp_path / "out").values())


def test_two_builds_on_two_machines_are_the_same_byte_for_byte(demonstration: Path, tmp_path: Path) -> None:
    built = []
    for name, seed, zone in (("a", "0", "UTC"), ("bb", "4711", "Pacific/Auckland")):
        book = tmp_path / name / "book"
        shutil.copytree(demonstration, book)
        ran = process("-c", RUN, "build", "--edition", "all", cwd=book, PYTHONHASHSEED=seed, TZ=zone)
        assert ran.returncode == 0, ran.stderr
        built.append(files_of(book / "site"))

    assert len(built[0]) > 15
    assert built[0] == built[1]


def test_no_page_says_when_or_where_it_was_built(demo: Site) -> None:
    said = "".join(demo.html(name) for name in demo.addresses) + demo.html("numbers.json")

    assert str(demo.folder.parent) not in said
    assert "/tmp" not in said


SETTINGS_OF = {
    "no name": SETTINGS.replace("site_name: A test book\n", ""),
    "an unknown theme": SETTINGS.replace("theme: keelbook", "theme: keelbok"),
    "no plugin": SETTINGS[: SETTINGS.index("plugins:")] + "plugins: []\n",
    "no folder": SETTINGS.replace("docs_dir: content", "docs_dir: contents"),
    "an unknown plugin": SETTINGS + "  - serch\n",
    "no YAML": SETTINGS + "a: [\n",
    "an unknown option": SETTINGS.replace("units: us", "unitz: us"),
}


@pytest.mark.parametrize("settings", SETTINGS_OF.values(), ids=SETTINGS_OF.keys())
def test_settings_that_cannot_be_used_are_told_like_any_error_and_nothing_is_lost(
    settled: BookMaker, keelbook: Command, tmp_path: Path, settings: str
) -> None:
    book, place = settled(GOOD), tmp_path / "out"
    assert keelbook("build", "--site", str(place), book=book).code == 0
    before = files_of(place)

    settled({"mkdocs.yml": settings})
    ran = keelbook("build", "--site", str(place), book=book)

    if ran.code == 0:  # a book may do without a name
        assert settings == SETTINGS_OF["no name"]
        return
    assert ran.code == 2
    assert "mkdocs.yml" in ran.err
    assert files_of(place) == before
    assert [path.name for path in place.iterdir()] == ["shop"]


@pytest.mark.parametrize("more", ["", "site_url: https://example.org/\nnav: [p.md]\n"], ids=["plain", "more"])
def test_folders_are_named_from_where_one_stands(settled: BookMaker, tmp_path: Path, more: str) -> None:
    settled({**GOOD, "mkdocs.yml": SETTINGS + more})
    ran = process("-c", RUN, "--book", "book", "build", "--site", "out", cwd=tmp_path)

    assert ran.returncode == 0, ran.stderr
    assert (tmp_path / "out/shop/p.html").is_file()
    assert not (tmp_path / "book/out").exists()
    assert sorted(path.name for path in (tmp_path / "out").iterdir()) == ["shop"]


def test_a_book_is_built_from_its_own_folder_and_from_any_other(
    demonstration: Path, demo: Site, tmp_path: Path
) -> None:
    ran = process("-c", RUN, "build", "--site", str(tmp_path), cwd=demonstration)

    assert ran.returncode == 0, ran.stderr
    assert files_of(tmp_path / "shop") == files_of(demo.folder)
