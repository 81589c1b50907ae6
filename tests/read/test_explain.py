"""Words, modes and meanings of lines: against the independent reader, literals, pygcode and NISTIR 6556."""

import math
import os
import subprocess
import sys
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, reject, settings
from hypothesis import strategies as st
from pygcode.gcodes import Word as ForeignWord
from pygcode.gcodes import words2gcodes

import viewer
from tests.naive.reader import Interpreter
from tests.naive.words import parse_line, split_lines
from tests.strategies import programs
from viewer.errors import ReadError, Stopped
from viewer.read.dialect_commands import MEANINGS, PASSED_OVER
from viewer.read.explain import explain_line, modes_text
from viewer.read.find_text import find_line
from viewer.read.modes import Modes, modes_at, read_modes
from viewer.read.raw_lines import raw_blocks
from viewer.read.words import split_line

SAMPLES = Path(__file__).parents[2] / "sample_programs"
SLOW = settings(max_examples=60, deadline=None, suppress_health_check=list(HealthCheck))


def meanings(text: str, modes: Modes | None = None) -> dict[str, str]:
    return {found.word: found.meaning for found in explain_line(text, modes)}


def opened(tmp_path: Path, text: str | bytes) -> viewer.Program:
    path = tmp_path / "drawer_glide.gcode"
    path.write_bytes(text.encode() if isinstance(text, str) else text)
    return viewer.open_program(path)


# ---- words ------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "kinds"),
    [
        ("", []),
        ("   ", []),
        ("G1 X1;note", ["command", "word", "comment"]),
        ("  g1x-2.5 y .5", ["command", "word", "word"]),
        ("N7 G1 X1*33", ["line number", "command", "word", "checksum"]),
        ("(a) G1 (b) X1", ["comment", "command", "comment", "word"]),
        ("M117 Knob 1; half", ["command", "message", "comment"]),
        ("M117 3 of 20", ["command", "message"]),
        ("M117 50% done", ["command", "message"]),
        ("G1 101.694 Y5", ["command", "unread", "word"]),
        ("G 1 X 1 0", ["command", "word"]),
        ("M104 S200 T0", ["command", "word", "word"]),
        ("T1", ["command"]),
        ("M624 AQAA=", ["command", "message"]),
        ("SET_LIMIT SPEED=100 ; slow", ["word command", "comment"]),
        ("release some of the pressure", ["doubtful"]),
        (".....", ["doubtful"]),
        ("%", ["tape"]),
        ("G1 X1.2.3 Y1", ["command", "unread", "word"]),
        ("G1 X1 E1E-5", ["command", "word", "unread"]),
        ("G28 X Y", ["command", "word", "word"]),
        ("G1 X1 E.5G1 X2", ["command", "word", "word", "repeated", "repeated"]),
        ("G1 F600 G0 X2", ["command", "word", "repeated", "word"]),
        ("G1 X9.9e1 E2", ["command", "word", "word", "repeated"]),
        ("G1 X1 Y95.O9", ["command", "word", "word", "misplaced"]),
        ("G1 X1 I2", ["command", "word", "misplaced"]),
        ("G2 X1 I2 P1", ["command", "word", "word", "word"]),
        ("G1 X1 S2 U3 H1 A1", ["command", *["word"] * 5]),
        ("G1 X1,5 Y2", ["command", "word", "unread", "word"]),
        ("G1 X1 E1:2", ["command", "word", "word", "message"]),
        ("G1 X1 down a bit", ["command", "word", "unread"]),
        ("G0 X1 M106 S1 S2 O3", ["command", "word", "command", "word", "word", "word"]),
        ("G1 X1 \x00\x00\x00 Y2", ["command", "word", "unread", "word"]),
    ],
)
def test_kinds_of_words(text: str, kinds: list[str]) -> None:
    assert [word.kind for word in split_line(text)] == kinds


def test_places_of_words_are_those_in_the_text() -> None:
    text = "\tG1  X 12 .5\tE-.03 ; lamp-shade ring"
    words = split_line(text)
    assert [text[word.start : word.end] for word in words] == ["G1", "X 12 .5", "E-.03", "; lamp-shade ring"]
    assert [word.value for word in words[:3]] == [1.0, 12.5, -0.03]


@SLOW
@given(programs())
def test_words_agree_with_the_independent_reader(program: bytes) -> None:
    for number, raw in enumerate(split_lines(program), 1):
        other = parse_line(raw, number)
        if other.kind != "command":
            continue
        own = [w for w in split_line(raw.decode("latin-1")) if w.kind in ("command", "word")]
        assert [(w.letter, None if math.isnan(w.value) else w.value) for w in own] == [
            (w.letter, w.value) for w in other.words
        ]


@SLOW
@given(
    st.sampled_from(["G0 ", "G1 ", "g2 X1", "G3"]),
    st.text(st.sampled_from("XYZEFIJKNOSMG0123.- ,:[{=/h"), max_size=24),
)
def test_what_is_called_damaged_is_what_the_scanner_counts(
    tmp_path_factory: pytest.TempPathFactory, command: str, rest: str
) -> None:
    text = command + rest
    path = tmp_path_factory.mktemp("odd") / "any.gcode"
    path.write_text(f"G28\n{text}\n")
    oddities = viewer.open_program(path).tally.oddities
    counted = [name for name in ("garbled_words", "exponents", "repeated_words") if oddities[name].count]
    odd = [word for word in split_line(text) if word.kind in ("unread", "repeated", "misplaced")]
    assert bool(odd) == bool(counted), (text, odd, counted)


# ---- modes ------------------------------------------------------------------------------------------


def agree(program: viewer.Program, data: bytes, every: int = 1) -> int:
    """Compare the modes before each line with those of the independent interpreter; give how many lines."""
    printer = program.printer
    home = (printer.homing.x_mm, printer.homing.y_mm, printer.homing.z_mm)
    machine = Interpreter(
        home, False, printer.retract_mm, printer.retract_mm_s, printer.filament_diameter_mm, False
    )
    found = read_modes(program)
    assert found.complete
    compared = 0
    for number, raw in enumerate(split_lines(data), 1):
        if number % every == 0:
            modes, other = modes_at(program, number, found), machine.modes
            assert modes.relative == other.relative, number
            assert modes.e_relative == (other.relative or other.relative_e), number
            assert modes.inches == (other.unit_mm != 1.0), number
            assert modes.plane == other.plane, number
            assert modes.tool == machine.tool, number
            assert modes.skipped == (not all(machine.blocks)), number
            assert modes.position_mm == pytest.approx(machine.position, abs=2e-4), number
            assert modes.speed_mm_s == pytest.approx(other.speed_mm_s, rel=1e-6), number
            compared += 1
        machine.line(parse_line(raw, number))
    return compared


@pytest.mark.parametrize(
    "name", ["drawer_glide_inches", "radiator_knob_arcs", "radiator_dial_two_tools", "coat_hook_pause"]
)
def test_modes_agree_with_the_independent_interpreter(name: str) -> None:
    path = SAMPLES / f"{name}.gcode"
    assert agree(viewer.open_program(path), path.read_bytes(), 7) > 1000


@SLOW
@given(programs())
def test_modes_of_any_program_agree(tmp_path_factory: pytest.TempPathFactory, program: bytes) -> None:
    path = tmp_path_factory.mktemp("modes") / "any.gcode"
    path.write_bytes(program)
    try:
        opened_program = viewer.open_program(path)
    except ReadError:
        reject()  # comments alone are no program
    agree(opened_program, program)


MODES_PROGRAM = b"""G21
M82
G1 X1 Y1 F600
G0 X2 G91
G1 X1 E1
G90
M83
M120
G20
G91
M121
G1 F1200
M104 S210
M106 S255
G1 X5 E.1
G92 X0
M622 J0
G91
M623
G28 X
M200 D1.75
T1
M117 G91 and M83 are only words here
G1 X1
"""


def test_modes_line_by_line(tmp_path: Path) -> None:
    program = opened(tmp_path, MODES_PROGRAM)
    at = [modes_at(program, line) for line in range(1, 25)]
    assert [m.relative for m in at].index(True) == 4  # G91 behind a motion on line 4 holds from line 5
    assert [m.relative for m in at[4:12]] == [True, True, False, False, False, False, True, False]
    assert [m.inches for m in at[8:12]] == [False, True, True, False]
    assert at[6].e_relative is False
    assert at[7].e_relative is True
    assert (at[12].speed_mm_s, at[11].speed_mm_s) == (20.0, 10.0)
    assert math.isnan(at[12].nozzle_c)
    assert at[13].nozzle_c == 210.0
    assert (at[13].fan, at[14].fan) == (0.0, 1.0)
    assert at[14].fed_mm == pytest.approx(0.1)
    assert at[16].shifted == {"X"}
    assert [m.skipped for m in at[16:20]] == [False, True, True, False]
    assert at[19].relative is False
    assert at[20].shifted == frozenset()
    assert (at[20].by_volume, at[21].by_volume) == (False, True)
    assert (at[21].tool, at[22].tool) == (0, 1)
    assert at[23].relative is False  # a message's words are no modes
    assert at[23].complete


def test_any_line_ends_and_bounds(tmp_path: Path) -> None:
    for ends in (b"\n", b"\r\n", b"\r"):
        program = opened(tmp_path, MODES_PROGRAM.replace(b"\n", ends))
        assert [modes_at(program, line).relative for line in (4, 5, 7, 11, 12)] == [
            False,
            True,
            False,
            True,
            False,
        ]
    assert modes_at(program, 1).position_mm == (0.0, 0.0, 0.0)
    assert modes_at(program, 10_000).tool == 1


def test_a_changed_file_is_not_trusted(tmp_path: Path) -> None:
    program = opened(tmp_path, MODES_PROGRAM)
    program.path.write_bytes(MODES_PROGRAM.replace(b"G91", b"G90"))
    written_ns, _ = program.source.stamp  # a drive that knows whole seconds only does not tell it
    os.utime(program.path, ns=(written_ns, written_ns))
    modes = modes_at(program, 5)
    assert not modes.complete
    assert any("open the file again" in value for _, value in modes_text(modes))


def test_text_of_another_file_is_not_fetched(tmp_path: Path) -> None:
    program = opened(tmp_path, MODES_PROGRAM)
    assert program.texts.line(1)
    program.path.write_bytes(MODES_PROGRAM[:40])
    with pytest.raises(
        ReadError, match="was changed after it was read: its text is not known; read it again"
    ):
        program.texts.line(1)
    with pytest.raises(ReadError, match="was changed after it was read"):
        find_line(program.texts, "G91", 1)


def test_a_vanished_file_is_a_sentence(tmp_path: Path) -> None:
    program = opened(tmp_path, MODES_PROGRAM)
    program.path.unlink()
    with pytest.raises(ReadError, match="could not be read again"):
        modes_at(program, 5)
    with pytest.raises(ReadError, match="could not be read again"):
        find_line(program.texts, "G91", 1)


def test_reading_modes_stops(tmp_path: Path) -> None:
    program = opened(tmp_path, MODES_PROGRAM)
    with pytest.raises(Stopped):
        read_modes(program, lambda: True)


# ---- meanings ---------------------------------------------------------------------------------------


def test_axes_absolute_relative_inches_and_alone() -> None:
    assert meanings("G1 X12.5", Modes())["X12.5"] == "to 12.5 mm along X, counted from the origin"
    relative = Modes(relative=True, e_relative=True)
    assert meanings("G1 X-3", relative)["X-3"] == "3 mm back along X, from where the nozzle is"
    assert meanings("G1 Z.2", relative)["Z.2"] == "0.2 mm up from where the nozzle is"
    assert "2 in (50.8 mm)" in meanings("G1 Y2", Modes(inches=True))["Y2"]  # 25.4 mm exactly (1959)
    assert "where G92 put the origin" in meanings("G1 X1", Modes(shifted=frozenset("X")))["X1"]
    alone = meanings("G1 X1")["X1"]
    assert "from the origin" in alone and "after G91" in alone
    assert "counted from the origin" in meanings("G91 G90 G1 X1", relative)["X1"]


def test_filament_absolute_relative_volume() -> None:
    assert meanings("G1 E2.4", Modes(fed_mm=0.03125))["E2.4"] == (
        "filament to 2.4 mm from its zero point: 0.0312 mm are fed"
    )
    assert "0.5 mm are pulled back" in meanings("G1 E2.4", Modes(fed_mm=-0.5))["E2.4"]
    assert meanings("G1 E-.8", Modes(e_relative=True))["E-.8"] == "0.8 mm of filament pulled back"
    assert "mm³" in meanings("G1 E1", Modes(e_relative=True, by_volume=True))["E1"]
    assert meanings("G92 E0", Modes())["E0"].endswith("counting begins again")


def test_speed_is_said_in_mm_a_second_too() -> None:
    assert meanings("G1 F1800", Modes())["F1800"] == "at 30 mm/s (1800 mm a minute), from here on"
    assert "25.4 mm/s (60 in a minute)" in meanings("G1 F60", Modes(inches=True))["F60"]
    assert "last speed holds" in meanings("G1 F0", Modes())["F0"]


@pytest.mark.parametrize(
    ("text", "word", "said"),
    [
        ("M109 S210", "S210", "to 210 °C, and wait while it warms"),
        ("M104 S0", "S0", "heater off"),
        ("M106 S128", "S128", "power 128 of 255: 50 %"),
        ("M104 S200 T1", "T1", "of tool 1"),
        ("T3", "T3", "use tool 3 from here"),
        ("T63", "T63", "use tool 63 from here"),
        ("G4 P500", "P500", "500 milliseconds"),
        ("G2 X1 I-3 J0", "I-3", "centre of the arc: 3 mm back along X from where it begins"),
        ("G3 R-4 X1", "R-4", "radius of the arc, 4 mm; the long way round"),
        ("G28 X", "X", "X is homed"),
        ("M84 E", "E", "motor of E"),
        ("N12 G1 X1*5", "N12", "number of the line, 12"),
        ("; layer 4 at 0.8 mm", "; layer 4 at 0.8 mm", "comment, not carried out: layer 4 begins, as the program counts"),
        (";TYPE:outer wall", ";TYPE:outer wall", "comment, not carried out: what follows is outline"),
        ("G1 X1 ; to the hook", "; to the hook", "comment, not carried out"),
        ("G5 X1 I2", "G5", "a move that is not interpreted here: taken as straight to its end"),
        ("M117 Tap washer", "Tap washer", "the message on the display"),
        ("G1 X", "X", "X without a value: it changes nothing"),
        ("G", "G", "a command without its number; nothing is carried out"),
        ("M204 P500", "P500", "printing: 500 mm/s²"),
    ],
)  # fmt: skip
def test_meaning_in_context(text: str, word: str, said: str) -> None:
    assert meanings(text, Modes())[word] == said


def test_unknown_commands_are_not_guessed() -> None:
    found = meanings("M9971 S1", Modes())
    assert "not interpreted" in found["M9971"]
    assert "not interpreted" in found["S1"]


@pytest.mark.parametrize("word", ["T64", "T255", "T1000", "T-1"])
def test_what_is_no_tool_changes_none(tmp_path: Path, word: str) -> None:
    """What `explain` says is what the reader does."""
    assert "nothing is changed" in meanings(word)[word]
    program = opened(tmp_path, f"G28\nG1 X5 E1 F600\nT1\n{word}\nG1 X10 E2 F600\n")
    assert modes_at(program, 5).tool == 1
    assert program.figures.time.tool_changes == 1


def test_every_known_command_has_one_short_sentence() -> None:
    for name, said in {**MEANINGS, **PASSED_OVER}.items():
        assert said and len(said) <= 90 and "{" not in said, name
        assert explain_line(name, Modes())[0].meaning == said


# pygcode, an independent library, names the codes of RS-274 (NISTIR 6556, table 5)
FOREIGN = {
    "G0": "rapid", "G1": "linear", "G2": "clockwise", "G20": "inches", "G21": "millimeters", "G90": "absolute",
    "G91": "incremental", "G17": "xy", "G18": "zx", "G19": "yz", "G4": "dwell",
}  # fmt: skip
OURS = {
    "G0": "go there", "G1": "straight", "G2": "clockwise", "G20": "inches", "G21": "millimetres",
    "G90": "from the origin", "G91": "from where the nozzle is", "G17": "X and Y", "G18": "Z and X", "G19": "Y and Z",
    "G4": "wait",
}  # fmt: skip


@pytest.mark.parametrize("name", FOREIGN)
def test_meanings_agree_with_pygcode(name: str) -> None:
    code = next(iter(words2gcodes([ForeignWord(name)])[0]))
    described = f"{type(code).__name__} {type(code).__doc__} {code.description}".lower()
    assert FOREIGN[name] in described
    assert OURS[name] in MEANINGS[name]


@SLOW
@given(programs())
def test_every_word_of_any_line_has_a_meaning(program: bytes) -> None:
    for raw in split_lines(program):
        text = raw.decode("latin-1")
        for found in explain_line(text):
            assert text[found.start : found.end] == found.word
            assert found.meaning and "{" not in found.meaning and "nan" not in found.meaning.split()


def test_dirt_is_explained_too() -> None:
    for byte in range(256):
        for found in explain_line(f"G1 X1 {bytes([byte]).decode('latin-1') * 3} Y2", Modes()):
            assert found.meaning


def test_a_line_alone_needs_neither_compiler_nor_window() -> None:
    code = (
        "import sys; from viewer.read.explain import explain_line; assert explain_line('G1 X1')[1].meaning;"
        "print(*sorted({'numba', 'PySide6', 'scipy'} & sys.modules.keys()))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == ""


# ---- finding a text ---------------------------------------------------------------------------------


def slow_find(lines: list[str], wanted: str, start: int, forward: bool) -> int | None:
    count = len(lines)
    order = [(start - 1 + (step if forward else -step)) % count for step in range(1, count + 1)]
    return next((at + 1 for at in order if wanted.lower() in lines[at].lower()), None)


def test_find_agrees_with_a_plain_search(tmp_path: Path) -> None:
    lines = [f"G1 X{k % 97} ; hook {k % 1201} knob {k // 700}" for k in range(40_000)]
    program = opened(tmp_path, "\n".join(lines))
    for wanted in ("HOOK 17 ", "knob 56", "x96 ; hook 1200", "nowhere", "knob 57"):
        for start in (1, 2, 16_384, 16_385, 33_000, 39_999, 40_000):
            for forward in (True, False):
                found = find_line(program.texts, wanted, start, forward)
                assert found == slow_find(lines, wanted, start, forward), (wanted, start, forward)


def test_find_stops_and_takes_nothing_for_nothing(tmp_path: Path) -> None:
    program = opened(tmp_path, "G1 X1\nG1 X2\n")
    assert find_line(program.texts, "", 1) is None
    assert find_line(program.texts, "x2", 99) == 2
    with pytest.raises(Stopped):
        find_line(program.texts, "X2", 1, stop=lambda: True)


def test_blocks_hold_every_line_once(tmp_path: Path) -> None:
    data = b"\r\n".join(b"G1 X%d" % k for k in range(1000))
    program = opened(tmp_path, data)
    blocks = list(raw_blocks(program.texts, 256))
    assert [first for first, _ in blocks] == [1, 257, 513, 769]
    assert b"".join(raw for _, raw in blocks) == data.replace(b"\r\n", b"\n")


@pytest.mark.parametrize(
    ("line", "says"), [("N3 G1 X1*98", "and it did"), ("N3 G1 X1*5", "and it did not: 98 would be right")]
)
def test_a_checksum_is_checked(line: str, says: str) -> None:
    """The exclusive or of all bytes before the star (common practice, no source): by hand, byte by byte."""
    right = 0
    for byte in line.partition("*")[0].encode():
        right ^= byte
    assert right == 98
    assert explain_line(line)[-1].meaning.endswith(says)


@pytest.mark.parametrize(
    ("line", "says"), [("print_start EXT=210", "begins the print"), ("PRINT_END", "ends the print")]
)
def test_the_machines_own_procedures_are_named(line: str, says: str) -> None:
    assert says in explain_line(line)[0].meaning
