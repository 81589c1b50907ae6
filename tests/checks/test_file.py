"""The file: cut short, garbled, checksums, nothing extruded, commands not interpreted."""

from __future__ import annotations

import random
from pathlib import Path

import pytest

from tests.checks.on_paper import END, START, findings, line_with, opened, passed, whole
from viewer.checks.endings.ending import look_at_end
from viewer.checks.finding import Finding, Severity
from viewer.errors import ReadError
from viewer.program import Program

KEYS = (
    "a_first bottom bridge cooling density fan gap infill layer nozzle speed support temperature travel "
    "walls xy_gap z_gap"
)
SETTINGS = "".join(f"; {key} = {k}\n" for k, key in enumerate(KEYS.split()))
PLAIN = whole(8)
WITH_CLAIMS = "; number of layers: 8\n" + whole(8) + "; filament needed: 19.2 mm\n"
WITH_SETTINGS = whole(8) + "; filament needed: 19.2 mm\n" + SETTINGS
WITH_BLOCKS = (
    "; EXECUTABLE_BLOCK_START\n" + whole(8) + "; EXECUTABLE_BLOCK_END\n; CONFIG_BLOCK_START\n" + SETTINGS
    + "; CONFIG_BLOCK_END\n\n"
)  # fmt: skip
BY_PROCEDURE = whole(8, START.replace("G28", "PRINT_START NOZZLE=210"), "print_end ; the machine's own\n")
WINDOWS = whole(8).replace("\n", "\r\n")
KINDS = {
    "plain": PLAIN, "claims": WITH_CLAIMS, "settings": WITH_SETTINGS, "blocks": WITH_BLOCKS,
    "procedure": BY_PROCEDURE, "windows": WINDOWS,
}  # fmt: skip


def told(program: Program) -> list[Finding]:
    """What a keeper is told of a missing end, by whichever check."""
    named = [one for slug in ("cut-short", "no-beads", "no-shutdown") for one in findings(program, slug)]
    return [one for one in named if one.slug != "no-shutdown" or "its end is missing" in one.sentence]


@pytest.mark.parametrize("kind", KINDS)
def test_a_whole_program_is_not_called_cut(tmp_path: Path, kind: str) -> None:
    assert not findings(opened(tmp_path, KINDS[kind]), "cut-short")


@pytest.mark.parametrize(
    "end",
    [
        "M104 S0\nM84", "M104 S0\nM84 ; motors off", "M104 S0\nG28 X0 Y0\n;End of Gcode", "M104 S0\nM30", "G28\n",
        "M109 R0\nM18 X Y E", "END_PRINT", "M104 S0\n; filament needed: 19.2 mm", "M84\n\n\n", "M104 S0\n; "
        "the end\n",
        "G28 X0\nM104 S0\n", "G28 X0\nM107\n", "M104 S0\nM140 S0 ; plate (all off)",
        "M140 S0\nTURN_OFF_HEATERS\n", "; filament needed: 19.2 mm\n", "M104 S0\nM117 Print finished.",
    ],
)  # fmt: skip
def test_whole_ends_of_many_kinds(tmp_path: Path, end: str) -> None:
    assert not findings(opened(tmp_path, whole(3, end=end)), "cut-short")


@pytest.mark.parametrize(
    "end",
    [
        "", "G1 X1", "M140 S0\n", "G1 Z20\nM10", "M106 S0\nM2", "; layer 4\n", "M104 S0\nM8", "M104 S0\nG1 "
        "X0 Y2",
        "M104 S0 ; turn off te", "M104 S0\nM84 ; disable mot", "G28 X", "M104 S0\n; filament nee",
        "G28 X0 ; home\n", "M104 S0\nM140 S0 ; plate off (",
        "M104 S0\nM84\n; infill_", "M104 S205\nM84" + "\0" * 40, "M104 S0\n" + "\0" * 8,
    ],
)  # fmt: skip
def test_torn_ends_of_many_kinds(tmp_path: Path, end: str) -> None:
    assert len(told(opened(tmp_path, whole(3, end=end)))) == 1


@pytest.mark.parametrize(("through", "is_whole"), [("s", False), ("r", False), ("z", True), ("d", True)])
def test_claims_before_settings_do_not_hide_that_they_break_off(
    tmp_path: Path, through: str, is_whole: bool
) -> None:
    keys = [f"{letter}_width" for letter in "abcdefghijklmnopqrstuvwxyz" if letter <= through]
    end = "M104 S0\nM84\n; filament used = 19.2mm\n; cost = 2\n" + "".join(f"; {key} = 1\n" for key in keys)
    assert (not findings(opened(tmp_path, whole(3, end=end)), "cut-short")) == is_whole


@pytest.mark.parametrize(("keys", "is_whole"), [("a b c", True), ("a b ba c", False), ("b c d e", True)])
def test_a_few_settings_that_break_off_early(tmp_path: Path, keys: str, is_whole: bool) -> None:
    end = "M104 S0\nM84\n" + "".join(f"; {key}_width = 1\n" for key in keys.split())
    assert (not findings(opened(tmp_path, whole(3, end=end)), "cut-short")) == is_whole


@pytest.mark.parametrize(("through", "is_whole"), [("s", False), ("x", True)])
def test_a_second_block_of_settings_that_breaks_off(tmp_path: Path, through: str, is_whole: bool) -> None:
    keys = [f"{letter}_width" for letter in "abcdefghijklmnopqrstuvwxyz"]
    keys += [f"{letter}_speed" for letter in "defghijklmnopqrstuvwx" if letter <= through]
    end = "M104 S0\nM84\n" + "".join(f"; {key} = 1\n" for key in keys)
    assert (not findings(opened(tmp_path, whole(3, end=end)), "cut-short")) == is_whole


@pytest.mark.parametrize("kind", KINDS)
def test_cut_at_random_places(tmp_path: Path, kind: str) -> None:
    """All but the last 0.1 %: what is missed are cuts between two lines of the shut-down or behind it."""
    data = KINDS[kind].encode()
    dice = random.Random(20240229)
    places = [dice.randrange(1, len(data) - max(1, len(data) // 1000)) for _ in range(150)]
    missed = []
    for place in places:
        try:
            program = opened(tmp_path, data[:place])
        except ReadError:
            continue
        if not told(program):
            missed.append(place)
    shut_down = data.index(b"print_end" if kind == "procedure" else b"M104 S0")
    assert [data[:place][-30:] for place in missed if place < shut_down] == []
    assert len(missed) <= 6  # these programs have 4 kB: their shut-down is 1 % of them


def test_a_cut_in_the_beads_is_a_stop_with_its_place(tmp_path: Path) -> None:
    cut = WITH_CLAIMS[: WITH_CLAIMS.index("Z1.0000")] + "X5"
    (found,) = findings(opened(tmp_path, cut), "cut-short")
    assert found.severity is Severity.STOP
    assert found.lines == (cut.count("\n") + 1,)
    assert found.layer == 4
    assert found.value == pytest.approx(0.5)  # 4 layers of the 8 it claims
    assert "4 of the 8 layers that it claims are there" in found.sentence


def test_what_is_there_by_progress_is_never_all(tmp_path: Path) -> None:
    cut = whole(3, START + "".join(f"M73 P{percent}\n" for percent in (10, 50, 99.6)), "G1 X1")
    (found,) = findings(opened(tmp_path, cut), "cut-short")
    assert "by its own progress (M73) 99.6 % of it is there" in found.sentence


def test_only_comments_torn_is_not_a_stop(tmp_path: Path) -> None:
    cut = WITH_SETTINGS[: WITH_SETTINGS.index("infill") + 3]
    (found,) = findings(opened(tmp_path, cut), "cut-short")
    assert found.severity is Severity.LOOK
    assert "whole" in found.sentence


def test_settings_that_break_off_between_two_lines(tmp_path: Path) -> None:
    cut = WITH_SETTINGS[: WITH_SETTINGS.index("; speed")]
    (found,) = findings(opened(tmp_path, cut), "cut-short")
    assert "from a_first to nozzle" in found.sentence


def test_settings_in_braces(tmp_path: Path) -> None:
    text = whole(3) + ';SETTING {"quality": "[general]\\nversion = 4",\n;SETTING  "walls": ["2"]\n'
    assert len(findings(opened(tmp_path, text), "cut-short")) == 1
    assert not findings(opened(tmp_path, text + ";SETTING }\n"), "cut-short")


def test_progress_that_stops_early(tmp_path: Path) -> None:
    progress = "".join(f"M73 P{p}\n" for p in range(0, 60, 10))
    assert "50 %" in look_at_end(opened(tmp_path, whole(3, START + progress))).doubts[0]
    assert not look_at_end(opened(tmp_path, whole(3, START + progress, END + "M73 P100\n"))).doubts


@pytest.mark.parametrize("layers", [8, 15, 25, 33, 40])
def test_progress_told_at_the_beginning_of_each_layer_only(tmp_path: Path, layers: int) -> None:
    progress = [f"M73 P{100 * k // layers}\n" for k in range(layers)]
    assert not look_at_end(opened(tmp_path, whole(3, START + "".join(progress)))).doubts
    early = look_at_end(opened(tmp_path, whole(3, START + "".join(progress[:-2])))).doubts
    assert len(early) == 1


def test_layers_that_are_missing_in_the_middle(tmp_path: Path) -> None:
    (found,) = findings(opened(tmp_path, "; layer count: 20\n" + whole(8)), "cut-short")
    assert "claims 20 layers and has 8" in found.sentence
    assert found.severity is Severity.LOOK
    assert not findings(opened(tmp_path, "; layer count: 9\n" + whole(8)), "cut-short")


def test_the_card_switches_cut_short_off_or_lowers_it(tmp_path: Path) -> None:
    cut = whole(3, end="G1 X1")
    off = {"workshop": {"checks": {"cut-short": {"off": True, "reason": "our machines stop by themselves"}}}}
    assert not findings(opened(tmp_path, cut, off), "cut-short")
    look = {"workshop": {"checks": {"cut-short": {"severity": "look"}}}}
    assert findings(opened(tmp_path, cut, look), "cut-short")[0].severity is Severity.LOOK


def test_what_never_heats_needs_no_shut_down(tmp_path: Path) -> None:
    start = "G90\nM82\nG28\nG92 E0\nG1 F3000\n"
    assert not findings(opened(tmp_path, whole(3, start, "")), "cut-short")
    assert findings(opened(tmp_path, whole(3, start, "G1 X5")), "cut-short")


COLD = "G90\nM83\nG28\nG1 F3000\n"


def cold_layers(*sides: float) -> str:
    """Squares without heat, end or comments; G92 E0 behind every bead, as one origin writes it."""
    text = COLD
    for k, side in enumerate(sides, 1):
        corners = [(50, 50), (50 + side, 50), (50 + side, 50 + side), (50, 50 + side), (50, 50)] * 4
        text += f"G1 X50 Y50 Z{0.2 * k:.1f}\n"
        text += "".join(f"G1 X{x} Y{y} E0.6\nG92 E0\n" for x, y in corners[1:])
    return text


def test_without_heat_and_end_nothing_tells_a_whole_program(tmp_path: Path) -> None:
    program = opened(tmp_path, cold_layers(20, 20, 19))
    assert not findings(program, "cut-short")
    assert "or its end is missing" in told(program)[0].sentence


@pytest.mark.parametrize(
    ("text", "why"),
    [
        (cold_layers(20, 20) + "G1 X50 Y50\n", "a travel to a place where nothing is laid"),
        (cold_layers(20, 20) + "G1 X70 Y50 Z0.4\n", "a travel to a place where nothing is laid"),
        (cold_layers(20, 20).removesuffix("G92 E0\n"), "G92 follows on every bead but the last"),
        (cold_layers(20, 20, 17), "its last layer has 85 % of the beads"),
        (cold_layers(20), "it has but one layer"),
        (cold_layers(20, 20) + "; layer 3\n", "a layer is announced of which nothing is laid"),
    ],
)
def test_without_heat_and_end_hints_are_told(tmp_path: Path, text: str, why: str) -> None:
    (found,) = findings(opened(tmp_path, text), "cut-short")
    assert why in found.sentence
    assert found.severity is Severity.LOOK


def test_a_parked_nozzle_is_no_hint(tmp_path: Path) -> None:
    for parked in ("G1 X0 Y0\n", "G1 X60 Y60 Z30\n"):
        assert not findings(opened(tmp_path, cold_layers(20, 20) + parked), "cut-short")


def test_garbled(tmp_path: Path) -> None:
    text = whole(3).replace("E0.6", "E1E-5", 1)
    (found,) = findings(opened(tmp_path, text), "garbled")
    assert found.lines == (line_with(text, "E1E-5"),)
    assert "number with an exponent" in found.sentence
    assert not findings(opened(tmp_path, "; Düse 0,4 mm, 60 °C\n" + whole(3)), "garbled")
    rule = {"workshop": {"checks": {"garbled": {"limit": 1.0}}}}
    assert not findings(opened(tmp_path, text, rule), "garbled")


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        ("{line}{line}", "1 line with two motions or a letter twice"),
        ("G1 X7e1 Y50.0000 E0.6", "1 line with two motions or a letter twice"),
        ("G1 X70.O000 Y50.0000 E0.6", "1 word that cannot be read"),
        ("G1 70.0000 Y50.0000 E0.6", "1 word that cannot be read"),
    ],
)
def test_damage_that_leaves_every_word_a_word(tmp_path: Path, wrong: str, said: str) -> None:
    text = whole(3)
    line = next(line for line in text.split("\n") if line.startswith("G1 X70.0000 Y50.0000 E"))
    text = text.replace(line, wrong.format(line=line), 1)
    (found,) = findings(opened(tmp_path, text), "garbled")
    assert said in found.sentence
    assert found.severity is Severity.LOOK
    assert found.lines == (line_with(text, wrong.format(line=line)),)


@pytest.mark.parametrize("mark", ["\x1a", "\x1a\x1a\n", "\x04", "G28\x1a", "; done\x1a"])
def test_control_bytes_behind_a_whole_program_are_a_note(tmp_path: Path, mark: str) -> None:
    program = opened(tmp_path, whole(3) + mark)
    assert not findings(program, "cut-short")
    assert [found.severity for found in findings(program, "garbled")] in ([], [Severity.NOTE])


def test_control_bytes_elsewhere_are_damage(tmp_path: Path) -> None:
    text = whole(3)
    (found,) = findings(opened(tmp_path, text.replace("G92 E0", "\x1aG92 E0", 1)), "garbled")
    assert found.severity is Severity.LOOK
    (found,) = findings(opened(tmp_path, text + "G1\x02 X5\x1a"), "garbled")
    assert found.severity is Severity.LOOK
    assert findings(opened(tmp_path, whole(3, end="G1 X5\x1a")), "cut-short")


def test_a_text_for_the_display_is_not_garbled(tmp_path: Path) -> None:
    program = opened(tmp_path, whole(3) + "M117 3 of 20\nM118 5 layers\nM117 50% done\n")
    assert not findings(program, "garbled")
    assert not findings(program, "unknown-commands")


def numbered(text: str) -> str:
    """Line numbers and checksums: the exclusive or of all bytes before the star."""
    lines = []
    for k, line in enumerate(text.strip().split("\n"), 1):
        body = f"N{k} {line}"
        check = 0
        for byte in body.encode():
            check ^= byte
        lines.append(f"{body}*{check}")
    return "\n".join(lines) + "\n"


def test_checksum(tmp_path: Path) -> None:
    text = numbered(whole(2))
    assert not findings(opened(tmp_path, text), "checksum")
    wrong = text.replace("X70.0000 Y50.0000 E", "X71.0000 Y50.0000 E", 1)
    (found,) = findings(opened(tmp_path, wrong), "checksum")
    assert found.lines == (line_with(wrong, "X71.0000"),)
    assert found.value == 1.0
    rule = {"workshop": {"checks": {"checksum": {"limit": 1.0}}}}
    assert not findings(opened(tmp_path, wrong, rule), "checksum")


def test_lines_out_of_order(tmp_path: Path) -> None:
    lines = numbered(whole(2)).split("\n")
    lines[14], lines[15] = lines[15], lines[14]
    (found,) = findings(opened(tmp_path, "\n".join(lines)), "checksum")
    assert found.sentence == "There is 1 line numbered out of order."
    assert found.lines == (16,)


def test_line_numbers_left_out(tmp_path: Path) -> None:
    lines = numbered(whole(2)).split("\n")
    del lines[14]
    (found,) = findings(opened(tmp_path, "\n".join(lines)), "checksum")
    assert found.sentence == "There is 1 line number left out."
    assert found.lines == (15,)


def test_line_numbers_in_steps_of_ten(tmp_path: Path) -> None:
    lines = [f"N{10 * k} {line}" for k, line in enumerate(whole(2).split("\n"), 1)]
    assert not findings(opened(tmp_path, "\n".join(lines)), "checksum")


def test_no_beads(tmp_path: Path) -> None:
    (found,) = findings(opened(tmp_path, START + "G1 X50 Y50\nG1 E5\n" + END), "no-beads")
    assert found.severity is Severity.STOP
    assert not findings(opened(tmp_path, START + "G1 X50 Y50 E1\n" + END), "no-beads")
    off = {"workshop": {"checks": {"no-beads": {"off": True}}}}
    assert not findings(opened(tmp_path, START + END, off), "no-beads")


def test_unknown_commands(tmp_path: Path) -> None:
    text = whole(2).replace("G92 E0\n", "G92 E0\nM7777 S1\nG99\nM7777\n", 1)
    (found,) = findings(opened(tmp_path, text), "unknown-commands")
    assert found.severity is Severity.NOTE
    assert found.value == 3.0
    assert found.lines == (line_with(text, "M7777"), line_with(text, "G99"))
    assert "M7777 (2), G99 (1)" in found.sentence
    known = "G92 E0\nM400\nM117 Go\nM900 K0.04\nSET_PRESSURE_ADVANCE ADVANCE=0.04\n"
    assert not findings(opened(tmp_path, whole(2).replace("G92 E0\n", known, 1)), "unknown-commands")
    rule = {"workshop": {"checks": {"unknown-commands": {"limit": 3.0}}}}
    assert not findings(opened(tmp_path, text, rule), "unknown-commands")


def test_unknown_commands_in_words(tmp_path: Path) -> None:
    extra = "WIPE_NOZZLE TIMES=3\nwipe_nozzle\nM7777\nTOOL_1 SPEED=5\nTOOL_2 SPEED=5\nWIPE_NOZZLE TIMES=4\n"
    text = whole(2).replace("G92 E0\n", f"G92 E0\n{extra}", 1)
    program = opened(tmp_path, text)
    (found,) = findings(program, "unknown-commands")
    assert found.value == 6.0
    assert "WIPE_NOZZLE (2), wipe_nozzle (1), M7777 (1), TOOL_1 (1), TOOL_2 (1)" in found.sentence
    first = line_with(text, "WIPE_NOZZLE")
    assert found.lines == tuple(range(first, first + 5))
    assert program.unknown_commands == {
        "M7777": 1, "WIPE_NOZZLE": 2, "wipe_nozzle": 1, "TOOL_1": 1, "TOOL_2": 1,
    }  # fmt: skip


@pytest.mark.parametrize(
    "known",
    [
        "SET_LIMIT ACCEL=5000", "OBJECT_START NAME=hook", "DEFINE_OBJECT NAME=hook", "START_PRINT", "print_end",
        "HEATERS_OFF", "SHOW_MESSAGE TEXT=ready", "SHOW MSG=ready", "HEAT_NOZZLE TEMP=210", "SHOW LAYER_COUNT=8",
    ],
)  # fmt: skip
def test_words_whose_meaning_is_known_are_no_unknown_commands(tmp_path: Path, known: str) -> None:
    text = whole(2).replace("G92 E0\n", f"G92 E0\n{known}\n", 1)
    assert not findings(opened(tmp_path, text), "unknown-commands")


def test_names_without_end_are_bounded(tmp_path: Path) -> None:
    extra = "".join(f"{a}{b}_PURGE\n" for a in "ABCDEFGHIJKL" for b in "ABCDEFGHIJKL")
    extra += "".join(f"TOOL_{k}\n" for k in range(50))
    program = opened(tmp_path, whole(2) + extra)
    assert len(program.unknown_commands) == 101
    assert sum(program.unknown_commands.values()) == 144 + 50


def test_layers_of_objects_in_turn_are_said_to_be_theirs(tmp_path: Path) -> None:
    lift = "G92 E0\nG1 Z20 F3000\n"
    text = whole(3, start=START + ";LAYER_COUNT:3\n", end=lift) + whole(3, start="", x=120.0)
    program = opened(tmp_path, text)
    assert program.layers.objects == 2
    (said,) = passed(program, "cut-short")
    assert said.endswith("; it claims 3 layers and has 6, 2 objects one after another.")
