"""The places of keys, against what the standard library's parser makes of the same text."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from viewer.cards import list_cards
from viewer.cards.toml_places import KeyPath, key_places, line_of

HARD = (Path(__file__).parent / "hard.toml").read_text(encoding="utf-8")
TEXTS = {"hard": HARD} | {
    entry.slug: entry.path.read_text(encoding="utf-8")
    for kind in ("printer", "filament", "workshop")
    for entry in list_cards(kind)
}


def leaves(value: Any, path: KeyPath = ()) -> Iterator[tuple[KeyPath, Any]]:
    if isinstance(value, dict) and value:
        for key, inner in value.items():
            yield from leaves(inner, (*path, key))
    elif isinstance(value, list) and value:
        for index, inner in enumerate(value):
            yield from leaves(inner, (*path, index))
    else:
        yield path, value


@pytest.mark.parametrize("name", sorted(TEXTS))
def test_each_value_stands_where_the_scan_says(name: str) -> None:
    text = TEXTS[name]
    places = key_places(text)
    found = list(leaves(tomllib.loads(text)))
    assert found
    for path, value in found:
        place = places[path]
        assert tomllib.loads("k = " + text[place.value : place.end]) == {"k": value}, path


@pytest.mark.parametrize(
    ("path", "line"),
    [
        (("title",), 2),
        (("single.quoted",), 3),
        (('double "quoted" \u00e9',), 4),
        (("a",), 5),
        (("a", "b", "c"), 5),
        (("a", "x y"), 6),
        (("a", "x y", 1, 1), 6),
        (("a", "x y", 2, "in", "d", "e"), 7),
        (("literal",), 13),
        (("table",), 17),
        (("table", "sub", "k"), 18),
        (("list", 0, "n"), 20),
        (("list", 1), 21),
        (("list", 1, "n"), 22),
        (("list", 1, "below", "m"), 24),
        (("list", 1, "inner", 0, "q"), 26),
        (("table", "none"), 30),
        (("table", "sub", "absent", "deeper"), 17),
        (("absent",), 1),
        ((), 1),
    ],
)
def test_lines_counted_by_hand(path: KeyPath, line: int) -> None:
    assert line_of(HARD, path) == line
