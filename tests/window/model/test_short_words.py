"""Long names keep their beginning and their ending."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from viewer.shown.window.model.short_words import short_words


def test_a_name_keeps_its_ending():
    told = short_words(f"{'tap_washer_tray_' * 8}second.gcode was changed.", 24)
    assert told == "tap_washer_tray_…d.gcode was changed."


@given(st.text(max_size=200), st.integers(8, 60))
def test_no_word_is_longer_and_short_texts_stay(text, longest):
    told = short_words(text, longest)
    assert max(map(len, told.split(" "))) <= longest
    assert len(told.split(" ")) == len(text.split(" "))
    if max(map(len, text.split(" "))) <= longest:
        assert told == text
