"""A card that is saved again keeps what the person wrote beside its values."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path
from typing import Any

import msgspec
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.cards.test_card_round_trip import filaments, printers, workshops
from viewer.cards import (
    CheckRule,
    FilamentCard,
    Hours,
    PrinterCard,
    Window,
    WorkshopCard,
    load_printer,
    read_card,
    write_card,
)
from viewer.cards.kinds import Card, Kind, kind_of
from viewer.cards.toml_card import card_of_text
from viewer.cards.toml_edit import changed_text
from viewer.cards.toml_text import text_of_card
from viewer.errors import CardError

replace = msgspec.structs.replace

FULL = """\
# The grey filament of the Quayside Repair Workshop (Kai 3, Möwe).

name = 'Grey "Möwe"'   # as on the box
density_g_cm3 = 1.240  # weighed: 10 m, 29.8 g
price_per_kg = 24.90   # since the last order
    nozzle_c = {low = 190.0,   high = 0xE6}  # in °C
abrasive = false

# What everybody forgets:
cautions = [
    "Dry it first.",   # four hours
    'Keep the lid shut.',
]
# The end.
"""


def changed(text: str, card: Card) -> str:
    """Return the text changed to state the card, which is checked."""
    new = changed_text(text, tomllib.loads(text), card)
    assert card_of_text(new, kind_of(card), "mine.toml") == card
    return new


def filament(text: str) -> FilamentCard:
    card = card_of_text(text, "filament", "mine.toml")
    assert isinstance(card, FilamentCard)
    return card


@pytest.mark.parametrize("kind", ["printer", "filament", "workshop"])
def test_nothing_changes_where_nothing_differs(kind: Kind) -> None:
    folder = Path(__file__).parents[2] / "viewer" / "cards" / "bundled" / f"{kind}s"
    paths = sorted(folder.glob("*.toml"))
    assert paths
    for path in paths:
        text = path.read_text(encoding="utf-8")
        assert changed(text, card_of_text(text, kind, "")) == text
    assert changed(FULL, filament(FULL)) == FULL


def test_only_the_changed_value_changes() -> None:
    card = replace(filament(FULL), price_per_kg=26.5)
    assert changed(FULL, card) == FULL.replace("24.90   #", "26.5   #")
    card = replace(filament(FULL), nozzle_c=Window(low=195.0, high=230.0))
    assert changed(FULL, card) == FULL.replace("low = 190.0,", "low = 195,")
    card = replace(filament(FULL), name="Blau")
    assert changed(FULL, card) == FULL.replace("""'Grey "Möwe"'""", '"Blau"')


def test_a_list_that_changes_is_written_again_in_its_place() -> None:
    new = changed(FULL, replace(filament(FULL), cautions=("Dry it first.",)))
    assert new == re.sub(
        r"cautions = \[.*\n\]", 'cautions = [\n    "Dry it first.",\n]', FULL, flags=re.DOTALL
    )


def test_a_new_key_has_the_structs_words_and_stands_behind_the_last_one() -> None:
    new = changed(FULL, replace(filament(FULL), layer_s=8.0))
    line = "layer_s = 8  # shortest layer time that lets a layer set, s\n"
    assert new == FULL.replace("# The end.\n", f"{line}# The end.\n")
    assert changed(
        "name = 'a'\ndensity_g_cm3 = 1", FilamentCard(name="a", density_g_cm3=1.0, layer_s=8.0)
    ) == (f"name = 'a'\ndensity_g_cm3 = 1\n{line}")


def test_a_key_that_is_no_longer_known_stays_as_a_comment() -> None:
    new = changed(FULL, replace(filament(FULL), price_per_kg=None, nozzle_c=None))
    assert "\n# price_per_kg = 24.90   # since the last order\n" in new
    assert "\n    # nozzle_c = {low = 190.0,   high = 0xE6}  # in °C\n" in new
    assert len(new.splitlines()) == len(FULL.splitlines())


def test_what_was_not_known_is_filled_in_where_its_comment_stands() -> None:
    card = FilamentCard(name="PLA", density_g_cm3=1.24)
    known = replace(card, layer_s=8.0, nozzle_c=Window(low=190.0, high=230.0))
    assert changed(text_of_card(card), known) == text_of_card(known)
    empty = WorkshopCard(name="Quayside", checks={"thin": CheckRule(off=True)})
    new = changed(text_of_card(empty), replace(empty, hours=Hours(opens="09:00", closes="17:30")))
    assert "Not known" not in new.partition("[checks]")[0]
    assert new.endswith('\n\n# When somebody is there, hh:mm.\n[hours]\nopens = "09:00"\ncloses = "17:30"\n')


DOTTED = """\
name = "Heron upstairs" # ours
max_speed_mm_s = { x = 150, y = 150,  z = 10, e = 50 } # belt is new
max_acceleration_mm_s2 = { x = 1e3, y = 1_000, z = 100, e = 5000 }
print_acceleration_mm_s2 = 800
travel_acceleration_mm_s2 = 1000
retract_acceleration_mm_s2 = 1000
plate.width_mm = 220 # measured
# the plate was turned once
plate.depth_mm = 210
corner = { rule = "jerk", jerk_mm_s = { x = 8.0, y = 8.00, z = 0.4, e = 5 } } # from the display

# Heat: see the notebook.
[heat] # both
\tnozzle_max_c = 260 # hot end 2

# Homing, timed.
[homing]
seconds = 31
"""


def printer(text: str) -> PrinterCard:
    card = card_of_text(text, "printer", "mine.toml")
    assert isinstance(card, PrinterCard)
    return card


def test_dotted_keys_and_nested_inline_tables() -> None:
    card = printer(DOTTED)
    corner = replace(card.corner, jerk_mm_s=replace(card.corner.jerk_mm_s, y=9.0))
    new = changed(
        DOTTED, replace(card, corner=corner, plate=replace(card.plate, depth_mm=205.0, left_mm=-5.0))
    )
    expected = DOTTED.replace("y = 8.00", "y = 9").replace(
        "depth_mm = 210\n",
        "depth_mm = 205\nplate.left_mm = -5  # X of the left edge (rectangle) or of the centre (circle), mm\n",
    )
    assert new == expected


def test_a_nested_inline_table_that_gets_a_key_keeps_the_spelling_of_the_others() -> None:
    card = printer(DOTTED)
    new = changed(DOTTED, replace(card, corner=replace(card.corner, right_angle_mm_s=5.0)))
    line = 'corner = { rule = "jerk", jerk_mm_s = { x = 8.0, y = 8.00, z = 0.4, e = 5 }, right_angle_mm_s = 5 } # from'
    assert line in new
    assert new == re.sub("corner = .* # from", line, DOTTED)


def test_dotted_keys_that_are_no_longer_known() -> None:
    card = printer(DOTTED)
    new = changed(DOTTED, replace(card, plate=type(card.plate)()))
    assert "\n# plate.width_mm = 220 # measured\n# the plate was turned once\n# plate.depth_mm = 210\n" in new


def test_a_new_key_of_a_table_stands_above_the_comment_of_the_next_table() -> None:
    card = printer(DOTTED)
    new = changed(DOTTED, replace(card, heat=replace(card.heat, plate_max_c=100.0)))
    assert (
        "# hot end 2\n\tplate_max_c = 100  # hottest target of the plate, degC\n\n# Homing, timed.\n" in new
    )


WORKSHOP = """\
name = "Quayside"
[checks.thin] # see below
off = true
reason = "lampshades" # ask the keeper

[words] # ours
"Außen wand" = "outline"

[checks.over-air]
limit = 3.50
[hours]
opens = "09:00"
closes = "17:30"
"""


def test_tables_out_of_order_are_changed_added_to_and_taken_out() -> None:
    card = card_of_text(WORKSHOP, "workshop", "mine.toml")
    assert isinstance(card, WorkshopCard)
    checks = {"over-air": CheckRule(limit=4.0, off=True), "cold start": CheckRule(severity="note")}
    new = changed(WORKSHOP, replace(card, checks=checks, words={**card.words, "ramp": "support"}, hours=None))
    assert (
        new
        == """\
name = "Quayside"
# [checks.thin] # see below
# off = true
# reason = "lampshades" # ask the keeper

[words] # ours
"Außen wand" = "outline"
ramp = "support"

[checks.over-air]
limit = 4
off = true
# [hours]
# opens = "09:00"
# closes = "17:30"

[checks."cold start"]
off = false
reason = ""  # why it is off; shown in place of its findings
severity = "note"  # stop, look or note, in place of its own
# limit =  # in the check's own unit; `beadline explain SLUG` names it (not known)
"""
    )


@pytest.mark.parametrize("end", ["\n", "\r\n"])
@pytest.mark.parametrize("mark", ["", "\ufeff"])
def test_line_ends_and_the_byte_order_mark_stay(end: str, mark: str, tmp_path: Path) -> None:
    path = tmp_path / "grey.toml"
    path.write_bytes((mark + FULL.replace("\n", end)).encode())
    write_card(replace(read_card(path, "filament"), price_per_kg=26.0, layer_s=9.0), path)
    stored = path.read_bytes().decode()
    new = changed(FULL, replace(filament(FULL), price_per_kg=26.0, layer_s=9.0))
    assert stored == mark + new.replace("\n", end)
    assert read_card(path, "filament").price_per_kg == 26.0


def test_a_card_with_faults_is_mended_in_place(tmp_path: Path) -> None:
    path = tmp_path / "grey.toml"
    path.write_text(
        FULL.replace("abrasive = false", 'abrasive = "no" # ask\ncolour = "grey" # RAL 7040'), "utf-8"
    )
    write_card(filament(FULL), path)
    expected = FULL.replace("abrasive = false", 'abrasive = false # ask\n# colour = "grey" # RAL 7040')
    assert path.read_text("utf-8") == expected


@pytest.mark.parametrize("stored", [b"name = = 3 # notes of a year\n", b"\xff\xfe", b"a\0b"])
def test_what_is_no_toml_is_not_overwritten(stored: bytes, tmp_path: Path) -> None:
    path = tmp_path / "grey.toml"
    path.write_bytes(stored)
    with pytest.raises(CardError, match="line 1: this is not"):
        write_card(filament(FULL), path)
    assert path.read_bytes() == stored


def test_an_empty_file_gets_the_whole_card(tmp_path: Path) -> None:
    path = tmp_path / "grey.toml"
    path.touch()
    write_card(filament(FULL), path)
    assert path.read_text("utf-8") == text_of_card(filament(FULL))


SPELLINGS = st.sampled_from(["as written", "dotted", "inline"])


def spelt(card: Card, spelling: str) -> str:
    """Return a card's text; its tables as inline tables or dotted keys on request, each line with a comment."""
    if spelling == "as written":
        return re.sub(r"(?<=[0-9}e])$", " # kept", text_of_card(card), flags=re.MULTILINE)
    from viewer.cards.complaint import shown_key
    from viewer.cards.toml_text import inline_table, value_text

    def inline(value: Any) -> str:
        if isinstance(value, dict):
            return inline_table({key: inline(inner) for key, inner in value.items() if inner is not None})
        return value_text(value)

    def lines(prefix: str, table: dict[str, Any]) -> list[str]:
        found = []
        for key, value in table.items():
            name = prefix + shown_key(key)
            if isinstance(value, dict) and value and spelling == "dotted":
                found += lines(f"{name}.", value)
            elif value is not None:
                found.append(f"{name} = {inline(value)} # kept")
        return found

    return "\n".join(lines("", msgspec.to_builtins(card))) + "\n"


@settings(max_examples=80, deadline=None)
@given(
    st.tuples(printers, printers) | st.tuples(filaments, filaments) | st.tuples(workshops, workshops),
    SPELLINGS,
)
def test_any_card_becomes_any_other_and_no_comment_is_lost(cards: tuple[Card, Card], spelling: str) -> None:
    before, after = cards
    text = spelt(before, spelling)
    assert card_of_text(text, kind_of(before), "mine.toml") == before
    assert changed(text, before) == text
    new = changed(text, after)
    assert new.count("# kept") >= text.count("# kept")
    changed(new, before)


def test_a_saved_printer_card_keeps_its_bundled_comments(tmp_path: Path) -> None:
    path = tmp_path / "wren.toml"
    write_card(load_printer("wren"), path)
    before = path.read_text("utf-8").splitlines()
    write_card(replace(load_printer("wren"), nozzle_mm=0.6), path)
    after = path.read_text("utf-8").splitlines()
    assert [(b, a) for b, a in zip(before, after, strict=True) if b != a] == [
        ("nozzle_mm = 0.4  # bore of the nozzle, mm", "nozzle_mm = 0.6  # bore of the nozzle, mm")
    ]
