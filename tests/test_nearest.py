"""The known name that a misspelt one most likely means."""

from __future__ import annotations

from viewer.nearest import nearest_name, nearest_names


def test_the_most_similar_name_comes_first_and_case_is_ignored() -> None:
    known = ["Heron", "Wren", "Heron upstairs"]
    assert nearest_names(" HERN ", known) == ["Heron"]
    assert nearest_names("heron upstair", known)[0] == "Heron upstairs"
    assert nearest_name("wern", known) == "Wren"


def test_nothing_is_suggested_for_what_is_like_nothing() -> None:
    assert nearest_name("kettle", ["Heron", "Wren"]) is None
    assert nearest_name("", ["Heron"]) is None
    assert nearest_names("heron", []) == []
