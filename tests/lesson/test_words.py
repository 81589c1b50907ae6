"""The table of words: complete, without doubles, found by every spelling."""

from __future__ import annotations

import pytest

from tests.lesson.samples import opened
from viewer.jit import compiler_is_off
from viewer.layers.layers import ROLE_NAMES
from viewer.lesson.here import word_here
from viewer.lesson.words import WORDS, find_word, word, word_of_role, words_in


def test_each_word_says_all_there_is_to_say() -> None:
    for one in WORDS:
        for text in (one.what, one.why, one.without, one.here):
            assert text.endswith("."), f"{one.key}: {text}"
            assert max(map(len, (part.split() for part in text.split(". ")))) <= 30, f"{one.key}: {text}"


def test_no_spelling_means_two_words() -> None:
    spelt = [form for one in WORDS for form in dict.fromkeys((one.key, one.term, *one.forms))]
    assert len(spelt) == len(set(spelt))
    assert all(form == form.casefold() for form in spelt)


def test_every_role_has_its_word_under_its_own_name() -> None:
    for number, name in enumerate(ROLE_NAMES):
        assert word_of_role(number).term == name
        assert word(name).role == number


@pytest.mark.parametrize(
    "said, key",
    [
        ("infill", "infill"), ("Bridges", "bridge"), ("inner_loop", "inner loop"), ("retraction", "retract"),
        ("layer  thickness", "thickness"), ("speeding up", "acceleration"),
    ],
)  # fmt: skip
def test_a_word_is_found_as_people_type_it(said: str, key: str) -> None:
    found = find_word(said)
    assert found is not None
    assert found.key == key


@pytest.mark.skipif(compiler_is_off(), reason="a whole program: needs the compiler")
def test_what_a_word_amounts_to_in_a_program() -> None:
    program = opened("coat_hook_pause.gcode")
    figures = program.figures
    for one in WORDS:
        said = word_here(program, one.key)
        assert said == "" or (said.endswith(".") and said[0].isupper()), one.key
        if one.role is not None:
            laid = ROLE_NAMES[one.role] in program.totals.path_by_role_mm
            assert (said == "This program has none.") != laid, one.key
    assert word_here(program, "layer") == f"Here: {figures.layers.count} layers."
    assert word_here(program, "pause") == "Here: 1 pause."
    assert word_here(program, "travel").startswith(f"Here: {figures.moves['travels']} travels, ")
    assert word_here(program, "retract") == f"Here: {figures.moves['retracts']} retractions."
    assert word_here(program, "infill").startswith("Here ")
    assert "1.5 g of filament" in word_here(program, "infill")  # 1.45 by the table of figures


def test_words_of_a_text_come_in_its_order_and_the_longer_one_counts() -> None:
    assert words_in("The first layer: beads, then layers.") == ("first layer", "bead", "layer")
    assert words_in("Unlayered; a beadle.") == ()
