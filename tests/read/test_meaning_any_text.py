"""Whatever stands in a comment, reading it raises nothing and takes no long time."""

from __future__ import annotations

import time

from hypothesis import given
from hypothesis import strategies as st

from viewer.read.comments import dialect
from viewer.read.comments.claims import claim_kind, read_claim
from viewer.read.comments.marks import object_mark, object_name, word_kind, word_settings
from viewer.read.comments.meaning import classify


@given(st.text(max_size=120), st.booleans(), st.booleans())
def test_no_text_raises(text: str, own_line: bool, word_command: bool) -> None:
    meaning = classify(text, own_line, word_command)
    assert meaning.role in ("", *dialect.ROLES)
    numbers = len(dialect.NUMBER.findall(text))
    for place in (meaning.number_at, meaning.z_at, meaning.height_at, meaning.width_at):
        assert -1 <= place < max(numbers, 1)


WORDS = st.sampled_from(
    [
        *(
            "layer",
            "Layer:",
            "LAYER_COUNT:",
            "z",
            "Z=",
            "height",
            "TYPE:",
            "feature",
            "outer",
            "wall",
            "perimeters",
        ),
        *(
            "infill",
            "support",
            "=",
            ":",
            ";",
            "(",
            ")",
            "5",
            "-5",
            "0.2",
            ".5",
            "filament",
            "used",
            "[mm]",
            "mm",
        ),
        *(
            "cm3",
            "g",
            "1h",
            "32m",
            "01:32:00",
            "time",
            "total",
            "cost",
            "object",
            "printing",
            "NAME=",
            "TARGET=200",
        ),
        *("%", "\\n", ",", "#P_TIME#", "9" * 35, "None", "1e5", "²", "５"),
    ]
)


@given(st.lists(WORDS, max_size=12), st.booleans())
def test_no_heap_of_trade_words_raises(words: list[str], glued: bool) -> None:
    text = ("" if glued else " ").join(words)
    assert classify(text, True, False).kind
    assert classify(text, True, True).kind
    assert all(claim.value > 0.0 for claim in read_claim(text))
    assert isinstance(object_name(text), str)
    assert all(value >= 0.0 for value in word_settings(text).values())
    assert word_kind(text)[0]
    assert claim_kind(text)[0] in ("", "claim", "claim heading", "claim part")
    assert object_mark(text) in ("", "object", "object end")


def test_long_texts_take_no_long_time() -> None:
    """Quadratic matching would take minutes for these."""
    began = time.process_time()
    for text in (
        "a " * 50_000,
        " " * 100_000 + ":",
        "1:" * 50_000,
        "layer 1 " * 20_000,
        "x=" * 50_000,
        "(" * 100_000,
    ):
        classify(text, True, False)
        classify(text, True, True)
    assert time.process_time() - began < 5.0
