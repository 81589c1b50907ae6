"""Broken cards and the exact sentence that each one gets."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from viewer.cards import list_cards, read_card
from viewer.cards.kinds import Kind
from viewer.cards.toml_card import card_of_text
from viewer.errors import CardError

AXES = "{ x = 300, y = 300, z = 12, e = 60 }"
PRINTER = f"""name = "Heron"
max_speed_mm_s = {AXES}
max_acceleration_mm_s2 = {AXES}
print_acceleration_mm_s2 = 1000
travel_acceleration_mm_s2 = 1500
retract_acceleration_mm_s2 = 1250
"""
CORNER = f"""[corner]
rule = "jerk"
jerk_mm_s = {AXES}
"""
FILAMENT = 'name = "PLA"\ndensity_g_cm3 = 1.24\n'
ROLES = "unlabelled, outline, inner loop, infill, solid, bridge, support, hold-down, purge"

BROKEN: list[tuple[Kind, str, str]] = [
    (
        "printer",
        PRINTER + CORNER + "[heat]\nnozle_max_c = 260\n",
        "line 11: `heat.nozle_max_c` is not a key of a printer card; the nearest known one is "
        "`heat.nozzle_max_c`, correct the spelling.",
    ),
    (
        "printer",
        PRINTER + CORNER + '[heat]\n# hot\nnozzle_max_c = "260"\n',
        'line 12: `heat.nozzle_max_c` is "260", but must be a number; write it without quotes and without a '
        "unit, for example 1.5.",
    ),
    (
        "printer",
        PRINTER + CORNER + "[heat]\nroom_c = 21\npower_w = 100\n",
        "line 12: `heat.power_w` is not a key of a printer card; it belongs above the first [table], move it "
        "there.",
    ),
    (
        "printer",
        "room_c = 21\n" + PRINTER + CORNER,
        "line 1: `room_c` is not a key of a printer card; it belongs in the table `[heat]`, move it there.",
    ),
    (
        "printer",
        FILAMENT,
        "line 2: `density_g_cm3` is not a key of a printer card; it belongs to a filament card, "
        "give this file "
        "as the filament's.",
    ),
    ("printer", PRINTER, "line 1: `corner` is missing; add it."),
    (
        "printer",
        PRINTER + 'corner = "jerk"\n',
        'line 7: `corner` is "jerk", but must be a table; write `corner = { ... }` with rule, jerk_mm_s, '
        "junction_deviation_mm, right_angle_mm_s.",
    ),
    (
        "printer",
        PRINTER + '[corner]\nrule = "jrk"\n',
        'line 8: `corner.rule` is "jrk", but must be one of jerk, junction-deviation, right-angle; the nearest is '
        '"jerk", correct the spelling.',
    ),
    (
        "printer",
        PRINTER + '[corner]\nrule = "junction-deviation"\n',
        'line 7: `corner.junction_deviation_mm` is missing, the rule "junction-deviation" needs it; add it or take '
        "another rule.",
    ),
    (
        "printer",
        PRINTER + '[corner]\nrule = "right-angle"\njunction_deviation_mm = 0.02\n',
        'line 7: `corner.right_angle_mm_s` is missing, the rule "right-angle" needs it; add it or '
        "take another "
        "rule.",
    ),
    (
        "printer",
        PRINTER + 'corner.rule = "jerk"\ncorner.jerk_mm_s.x = 8\n',
        "line 8: `corner.jerk_mm_s.y` is missing; add it.",
    ),
    (
        "printer",
        PRINTER + 'corner = { rule = "jerk", jerk_mm_s = { x = 8, y = 8, z = 0, e = 5 } }\n',
        "line 7: `corner.jerk_mm_s.z` is 0, but must be above 0; correct it.",
    ),
    (
        "printer",
        PRINTER + CORNER + "[plate]\nwidth_mm = 200\n",
        "line 10: `plate.depth_mm` is missing, a rectangle needs it; add it, or leave out the "
        "whole `[plate]` "
        "where it is not known.",
    ),
    (
        "printer",
        PRINTER + CORNER + '[plate]\nshape = "circle"\n',
        "line 10: `plate.diameter_mm` is missing, a circle needs it; add it, or leave out the "
        "whole `[plate]` "
        "where it is not known.",
    ),
    (
        "printer",
        PRINTER + CORNER + '[plate]\nshape = "circle"\ndiameter_mm = 200\ndepth_mm = 200\n',
        'line 13: `plate.depth_mm` is the size of a rectangle, but `plate.shape` is "circle"; remove it or '
        "correct the shape.",
    ),
    (
        "printer",
        PRINTER + CORNER + "[plate]\ndiameter_mm = 200\n",
        'line 11: `plate.diameter_mm` is the size of a circle, but `plate.shape` is "rectangle"; '
        "remove it or "
        "correct the shape.",
    ),
    (
        "printer",
        "[[plate]]\nwidth_mm = 200\n",
        "line 1: `plate` is a list, but must be a table; write `plate = { ... }` with shape, "
        "width_mm, depth_mm, "
        "diameter_mm, left_mm, front_mm.",
    ),
    (
        "printer",
        PRINTER + "tools = 65\n" + CORNER,
        "line 7: `tools` is 65, but must be 64 or less; correct it.",
    ),
    ("printer", PRINTER + "tools = 0\n" + CORNER, "line 7: `tools` is 0, but must be 1 or more; correct it."),
    (
        "printer",
        PRINTER + "tools = 1.5\n" + CORNER,
        "line 7: `tools` is 1.5, but must be a whole number; write it without quotes and without a "
        "point, for "
        "example 1.",
    ),
    (
        "printer",
        PRINTER + 'e_follows_g90 = "yes"\n' + CORNER,
        'line 7: `e_follows_g90` is "yes", but must be true or false; write one of the two, without quotes.',
    ),
    (
        "printer",
        PRINTER + "height_mm = -4\n" + CORNER,
        "line 7: `height_mm` is -4, but must be above 0; correct it, or leave it out where it is not known.",
    ),
    ("printer", PRINTER + "height_mm = inf\n" + CORNER, "line 7: `height_mm` is inf; write a finite number."),
    (
        "printer",
        PRINTER + f"height_mm = 1{'0' * 400}\n" + CORNER,
        f"line 7: `height_mm` is 1{'0' * 35} ..., which cannot be used (number out of range); correct it.",
    ),
    (
        "printer",
        PRINTER + f"height_mm = 1{'0' * 5000}\n" + CORNER,
        "line 7: a number here is too long to be read; shorten it.",
    ),
    ("filament", "# nothing\n", "line 1: `name` is missing; add it."),
    (
        "filament",
        'name = "PLA"\n',
        "line 1: `density_g_cm3` is missing; add it (density of the solid, g/cm3).",
    ),
    ("filament", 'name = " "\ndensity_g_cm3 = 1\n', "line 1: `name` is blank; give the card a name."),
    (
        "filament",
        "density_g_cm3 = 1\nname = 3\n",
        "line 2: `name` is 3, but must be text; put it in double quotes.",
    ),
    (
        "filament",
        'name = "PLA"\ndensity_g_cm3 = 1240\n',
        "line 2: `density_g_cm3` is 1240, denser than any element (22.6 g/cm3); write it in g/cm3, "
        "for example "
        "1.24.",
    ),
    (
        "filament",
        FILAMENT + "nozzle_c = { low = 230, high = 200 }\n",
        "line 3: `nozzle_c.low` is 230, above `nozzle_c.high` (200); write the lower temperature as low.",
    ),
    (
        "filament",
        FILAMENT + "plate_c = {\n low = 60}\n".replace("\n l", "l"),
        "line 3: `plate_c.high` is missing; add it.",
    ),
    (
        "filament",
        FILAMENT + "price_per_kg = 2026-01-31\n",
        "line 3: `price_per_kg` is 2026-01-31, but must be a number; write it without quotes and without a "
        "unit, for example 1.5.",
    ),
    (
        "filament",
        FILAMENT + 'cautions = "hot"\n',
        'line 3: `cautions` is "hot", but must be a list; write it in brackets, for example ["one", "two"].',
    ),
    (
        "filament",
        FILAMENT + 'cautions = [\n  "hot [1]", # one\n  4,\n]\n',
        "line 5: `cautions[1]` is 4, but must be text; put it in double quotes.",
    ),
    (
        "filament",
        FILAMENT + "fan_percent = 255\n",
        "line 3: `fan_percent` is 255, more than full power; write it in percent of full power, 0 to 100.",
    ),
    (
        "filament",
        FILAMENT + 'colour_of_the_spool = "red"\n',
        "line 3: `colour_of_the_spool` is not a key of a filament card; known here are name, density_g_cm3, "
        "diameter_mm, price_per_kg, nozzle_c, plate_c, melt_mm3_s, abrasive, layer_s, "
        "fan_percent, fan_from_layer, spool_left_g, cautions.",
    ),
    (
        "workshop",
        '[hours]\nopens = "9:00"\ncloses = "18:00"\n',
        'line 2: `hours.opens` is "9:00", but must be a time of day; write it as "hh:mm", for '
        'example "09:00".',
    ),
    (
        "workshop",
        '[hours]\nopens = "09:00"\ncloses = "24:00"\n',
        'line 3: `hours.closes` is "24:00", but must be a time of day; write it as "hh:mm", for example '
        '"09:00".',
    ),
    (
        "workshop",
        '[hours]\nopens = "09:00"\ncloses = "09:00\\n"\n',
        'line 3: `hours.closes` is "09:00\\n", but must be a time of day; write it as "hh:mm", for example '
        '"09:00".',
    ),
    (
        "workshop",
        '[hours]\nopens = "09:00"\ncloses = "09:00"\n',
        'line 3: `hours.closes` is "09:00", the same as `hours.opens`; correct one of them, or leave out '
        "`[hours]`.",
    ),
    (
        "workshop",
        '[checks.thin]\noff = true\n[checks."cold nozzle"]\nof = true\n',
        'line 4: `checks."cold nozzle".of` is not a key of a workshop card; the nearest known one is '
        '`checks."cold nozzle".off`, correct the spelling.',
    ),
    (
        "workshop",
        '[checks.thin]\nseverity = "halt"\n',
        'line 2: `checks.thin.severity` is "halt", but must be one of look, note, stop; take one of them.',
    ),
    (
        "workshop",
        "[checks]\nthin = 3\n",
        "line 2: `checks.thin` is 3, but must be a table; write `checks.thin = { ... }` with off, reason, "
        "severity, limit.",
    ),
    (
        "workshop",
        '[words]\nrim = "outline"\n"outer rim" = "outlin"\n',
        f'line 3: `words."outer rim"` is "outlin", but must be one of {ROLES}; the nearest is "outline", '
        "correct the spelling.",
    ),
    (
        "workshop",
        '[words]\nrim = "outline"\nbrow = 3\n',
        "line 3: `words.brow` is 3, but must be text; put it in double quotes.",
    ),
    (
        "workshop",
        '[words]\n" " = "infill"\n',
        'line 2: `words." "` is blank; write the words of the comment as the key.',
    ),
    ("workshop", 'name = "Quay\n', "line 1: this is not TOML (illegal character '\\n'); correct the line."),
    (
        "workshop",
        '\nname = "Q"\nname = "R"\n',
        "line 3: this is not TOML (cannot overwrite a value); correct the line.",
    ),
    ("workshop", 'name = "Q"\n\nx = [1,\n\n', "line 3: this is not TOML (invalid value); correct the line."),
]


@pytest.mark.parametrize(("kind", "text", "sentence"), BROKEN, ids=lambda value: str(value)[:40])
def test_each_broken_card_gets_its_sentence(kind: Kind, text: str, sentence: str, tmp_path: Path) -> None:
    path = tmp_path / "mine.toml"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(CardError) as caught:
        read_card(path, kind)
    assert str(caught.value) == f"{path}, {sentence}"


UNREADABLE: list[tuple[bytes, str]] = [
    (b"", ": the file is empty; write a new card in its place."),
    (
        b"\x89PNG\r\n\x1a\n\0\0",
        ", line 1: this is not UTF-8 text; save the card as UTF-8, or name another file.",
    ),
    (
        "name = 'x'\n".encode("utf-16"),
        ", line 1: this is not UTF-8 text; save the card as UTF-8, or name another file.",
    ),
    (b"name = 'x'\n\0\0\0", ", line 2: this is not text (a zero byte); name a card (.toml)."),
    (b"#" * ((1 << 20) + 1), ": the file is larger than 1 MiB, so it is no card; name a card (.toml)."),
    (b"a = " + b"[" * 5000, ": brackets are nested too deep for a card; remove them."),
]


@pytest.mark.parametrize(("data", "sentence"), UNREADABLE, ids=lambda value: repr(value)[:30])
def test_a_file_that_is_no_card_gets_a_sentence(data: bytes, sentence: str, tmp_path: Path) -> None:
    path = tmp_path / "mine.toml"
    path.write_bytes(data)
    with pytest.raises(CardError) as caught:
        read_card(path, "workshop")
    assert str(caught.value) == f"{path}{sentence}"


def test_missing_folder_and_unreadable(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    missing = tmp_path / "gone.toml"
    with pytest.raises(CardError) as caught:
        read_card(missing, "printer")
    assert str(caught.value) == f"{missing}: there is no such card; correct the name or the folder."
    with pytest.raises(CardError) as caught:
        read_card(tmp_path, "printer")
    assert str(caught.value) == f"{tmp_path}: this is a folder; name a card (.toml) in it."
    with pytest.raises(CardError, match=r"could not be read \(embedded null byte\); check the file"):
        read_card("a\0b.toml", "printer")

    def refuse(*_: Any, **__: Any) -> None:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(Path, "open", refuse)
    with pytest.raises(CardError) as caught:
        read_card(missing, "printer")
    expected = f"{missing}: the card could not be read (Permission denied); check the file and its rights."
    assert str(caught.value) == expected


def test_a_byte_order_mark_and_carriage_returns_are_read(tmp_path: Path) -> None:
    path = tmp_path / "mine.toml"
    path.write_bytes(b"\xef\xbb\xbf" + FILAMENT.replace("\n", "\r\n").encode())
    assert read_card(path, "filament").density_g_cm3 == 1.24
    path.write_bytes(b"\xef\xbb\xbf" + (FILAMENT + "layer = 3\n").replace("\n", "\r\n").encode())
    with pytest.raises(
        CardError, match=r"line 3: `layer` is not a key of a filament card; the nearest .* `layer_s`"
    ):
        read_card(path, "filament")


SOURCES: list[tuple[Kind, str]] = [
    (kind, entry.path.read_text(encoding="utf-8"))
    for kind in ("printer", "filament", "workshop")
    for entry in list_cards(kind)
    if not entry.own
]


@settings(max_examples=300, deadline=None)
@given(st.data())
def test_a_damaged_card_is_read_or_refused_in_one_sentence(data: st.DataObject) -> None:
    kind, text = data.draw(st.sampled_from(SOURCES))
    for _ in range(data.draw(st.integers(1, 3))):
        at = data.draw(st.integers(0, len(text) - 1))
        gone = data.draw(st.integers(0, 30))
        new = data.draw(
            st.sampled_from(
                ["", "[", "]", "{", "}", '"', "'", "=", ".", "\n", "#", "0", "-", "x", '"""', "[[a]]", "\\"]
            )
        )
        text = text[:at] + new + text[at + gone :]
    try:
        card_of_text(text or "#", kind, "damaged.toml")
    except CardError as error:
        sentence = str(error)
        assert sentence.startswith("damaged.toml, line ")
        assert sentence.endswith(".")
        assert "\n" not in sentence
        line = int(sentence.removeprefix("damaged.toml, line ").split(":")[0])
        assert 1 <= line <= text.count("\n") + 1
