"""`keelbook uses`: everything that rests on an input or a number."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from tests.conftest import BookMaker, Command

PAGE = """\
---
title: A page
---
```calc plank other
length: planking.length
width: 1 ft
```

```calc formula bundle
mass: 3 * other.mass
```

Carry {{ bundle.mass }}; the deck is {{ planking.length }} long.

```limit light
rule: bundle.mass <= 90 lb
```

:::when planking.length > 3 ft
Two hands.
:::
"""
FILES = {
    "content/p.md": PAGE,
    "content/inputs/model.yml": "planking:\n  length: 4 ft\nspare:\n  paint: red\n",
    "content/inputs/options/teak.yml": "planking:\n  caulk: 1/4 in\n",
}


@pytest.fixture
def uses(make_book: BookMaker, keelbook: Command, yard: dict[str, str]) -> Command:
    def run(name: str, *arguments: str) -> object:
        return keelbook("uses", name, *arguments, book=make_book({**yard, **FILES}))

    return run


def places(out: str) -> list[str]:
    return [line.split()[0] for line in out.splitlines()]


def test_an_input_is_used_by_blocks_texts_and_conditions_at_their_places(uses: Command) -> None:
    ran = uses("planking.length")

    assert ran.code == 0
    assert {"content/p.md:5:9", "content/p.md:13:41", "content/p.md:19:9"} <= set(places(ran.out))


def test_what_rests_on_an_input_through_other_blocks_is_told_too(uses: Command) -> None:
    assert {"content/p.md:10:11", "content/p.md:13:10", "content/p.md:16:7"} <= set(
        places(uses("planking.length").out)
    )


def test_a_number_is_used_by_the_block_that_takes_it_and_not_by_its_own(uses: Command) -> None:
    assert places(uses("other.mass").out)[0] == "content/p.md:10:11"
    assert "content/p.md:5:9" not in places(uses("other.mass").out)


def test_a_limit_that_judges_a_number_is_among_its_uses(uses: Command) -> None:
    line = next(line for line in uses("bundle.mass").out.splitlines() if line.startswith("content/p.md:16:7"))

    assert "limit light" in line


@pytest.mark.parametrize("name", ["planking", "other", "bundle"])
def test_a_group_or_a_block_may_be_named_as_a_whole(uses: Command, name: str) -> None:
    ran = uses(name)

    assert ran.code == 0
    assert places(ran.out)[0].startswith("content/p.md:")


def test_a_name_that_nothing_rests_on_says_so(uses: Command) -> None:
    ran = uses("spare.paint")

    assert ran.code == 0
    assert "nothing rests on 'spare.paint'" in ran.out


def test_an_unknown_name_ends_with_64_and_the_nearest(uses: Command) -> None:
    ran = uses("planking.lenght")

    assert (ran.code, ran.out) == (64, "")
    assert "'planking.length'" in ran.err


def test_an_input_that_only_an_option_has_is_known(uses: Command) -> None:
    ran = uses("planking.caulk")

    assert (ran.code, ran.err) == (0, "")
    assert "nothing rests on" in ran.out


def test_json_gives_every_use_with_its_place(uses: Command) -> None:
    found = json.loads(uses("other.mass", "--json").out)

    first = found["uses"][0]

    assert found["name"] == "other.mass"
    assert (first["file"], first["line"], first["column"]) == ("content/p.md", 10, 11)
    assert first["user"] == "bundle"


def test_every_use_is_told_once(uses: Command) -> None:
    lines = uses("planking").out.splitlines()

    assert len(lines) == len(set(lines))
