"""The scanner against the independent interpreter of `tests.naive`, and against itself cut into blocks."""

from __future__ import annotations

from collections.abc import Callable
from functools import reduce
from operator import xor
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.conftest import SAMPLES
from tests.naive.reader import interpret
from tests.strategies import dirty_bytes, programs
from viewer.cards import PrinterCard, load_printer
from viewer.errors import ReadError
from viewer.jit import compiler_is_off
from viewer.read.blocks import Source, open_source
from viewer.read.moves import BEAD, PLACE, Moves
from viewer.read.scan import Tally, scan_source

FEW = 6 if compiler_is_off() else 60
GOOD = sorted(SAMPLES.glob("*.gcode")) + sorted(SAMPLES.glob("faulty/*.gcode"))


@pytest.fixture(scope="module")
def printer() -> PrinterCard:
    return load_printer("heron")


@pytest.fixture(scope="module")
def write(tmp_path_factory: pytest.TempPathFactory) -> Callable[[bytes], Source]:
    folder = tmp_path_factory.mktemp("programs")

    def written(data: bytes) -> Source:
        path = folder / "program.gcode"
        path.write_bytes(data)
        return open_source(path)

    return written


def scanned(source: Source, printer: PrinterCard, block_bytes: int | None = None) -> tuple[Moves, Tally]:
    with np.errstate(over="ignore"):  # hashes wrap; plain Python would say so, machine code does not
        scan = scan_source(source, printer, block_bytes=block_bytes).finish()
    return scan.moves, scan.tally


def sums(moves: Moves, tally: Tally) -> dict[str, float]:
    """Counts as commanded and path sums, as the conventions of the console say."""
    first = np.diff(moves.line, prepend=-1) != 0
    length, fed = moves.length_mm.astype(float), moves.fed_mm.astype(float)
    speed = moves.speed_mm_s.astype(float)
    found: dict[str, float] = {"lines": tally.lines, "arcs": tally.arcs}
    for kind, name in enumerate(("travel", "bead", "wipe", "retract", "prime")):
        found[name] = int(np.count_nonzero((moves.kind == kind) & first))
        found[f"{name} mm"] = float(length[moves.kind == kind].sum())
    way = np.where(length > 0.0, length, np.abs(fed))
    going = (speed > 0.0) & (moves.kind != PLACE)
    found["nominal s"] = float((way[going] / speed[going]).sum())
    found["net mm"] = float(fed.sum())
    return found


def naive_sums(data: bytes, printer: PrinterCard) -> dict[str, float]:
    result = interpret(
        data,
        retract_mm=printer.retract_mm,
        retract_mm_s=printer.retract_mm_s,
        filament_mm=printer.filament_diameter_mm,
    )
    found: dict[str, float] = {"lines": result.lines, "arcs": result.arcs}
    for name in ("travel", "bead", "wipe", "retract", "prime"):
        found[name] = result.count(name)
        found[f"{name} mm"] = result.path_mm(name)
    found["nominal s"] = result.nominal_s
    found["net mm"] = result.net_mm
    return found


def assert_same(data: bytes, moves: Moves, tally: Tally, printer: PrinterCard) -> None:
    ours, theirs = sums(moves, tally), naive_sums(data, printer)
    for name, expected in theirs.items():
        assert ours[name] == pytest.approx(expected, rel=1e-4, abs=1e-4 * max(1, len(moves)) ** 0.5), name


@pytest.mark.parametrize("path", GOOD, ids=lambda path: path.stem)
def test_samples_equal_the_independent_interpreter(path: Path, printer: PrinterCard) -> None:
    if compiler_is_off() and path.stat().st_size > 4000:
        pytest.skip("compiler is off: only small programs")
    moves, tally = scanned(open_source(path), printer)
    data = path.read_bytes()
    result = interpret(data, retract_mm=printer.retract_mm, retract_mm_s=printer.retract_mm_s)
    assert_same(data, moves, tally, printer)
    assert tally.commands == dict(result.commands)
    if result.extent_mm is not None:
        beads = np.flatnonzero(moves.kind == BEAD)
        for axis, column in enumerate((moves.x_mm, moves.y_mm, moves.z_mm)):
            ends = np.concatenate([column[beads], column[np.maximum(beads - 1, 0)]])
            assert float(ends.min()) == pytest.approx(result.extent_mm[0][axis], abs=1e-4)
            assert float(ends.max()) == pytest.approx(result.extent_mm[1][axis], abs=1e-4)


@given(data=programs())
def test_any_program_equals_the_independent_interpreter(
    data: bytes, printer: PrinterCard, write: Callable[[bytes], Source]
) -> None:
    try:
        source = write(data)
    except ReadError:
        return
    moves, tally = scanned(source, printer)
    assert_same(data, moves, tally, printer)


@given(data=st.one_of(dirty_bytes(), st.binary(max_size=3000)))
def test_any_bytes_never_raise(data: bytes, printer: PrinterCard, write: Callable[[bytes], Source]) -> None:
    try:
        source = write(data)
    except ReadError as problem:
        assert str(problem).endswith(".")
        return
    moves, tally = scanned(source, printer)
    assert np.isfinite(moves.x_mm).all()
    assert np.isfinite(moves.length_mm).all()
    assert (np.abs(moves.x_mm) <= 100_001).all()
    assert tally.lines >= 1


@given(data=st.one_of(programs(), dirty_bytes()), block=st.integers(1, 400))
def test_blocks_may_end_anywhere(
    data: bytes, block: int, printer: PrinterCard, write: Callable[[bytes], Source]
) -> None:
    try:
        source = write(data)
    except ReadError:
        return
    with np.errstate(over="ignore"):
        whole = scan_source(source, printer).finish()
        cut = scan_source(source, printer, block_bytes=block).finish()
    for ours, theirs in zip(whole[:4], cut[:4], strict=True):
        for name in set(type(ours).__slots__) - {
            "shape",
            "shape_text",
            "shape_flags",
        }:  # numbered as blocks come
            np.testing.assert_array_equal(getattr(ours, name), getattr(theirs, name), err_msg=name)
    assert whole.tally.oddities == cut.tally.oddities
    assert whole.tally.commands == cut.tally.commands
    assert (whole.tally.lines, whole.tally.unterminated) == (cut.tally.lines, cut.tally.unterminated)
    np.testing.assert_array_equal(whole.line_index, cut.line_index)


def test_a_line_of_many_megabytes_is_met(printer: PrinterCard, write: Callable[[bytes], Source]) -> None:
    if compiler_is_off():
        pytest.skip("compiler is off: only small programs")
    data = b"G1 X10 E1 F600\nG1 X20 " + b"Y1 " * 6_000_000 + b"\r\nG1 X30 E1\n"
    moves, tally = scanned(write(data), printer)
    assert tally.lines == 3
    assert tally.oddities["long_lines"].count == 1
    assert moves.line.tolist()[-1] == 3


ARC_KRAMER = b"G21 G90\nG1 X7 Y7 F600\nG17 G2 x10 y16 i3 j4\n"


def test_arc_of_nistir_6556(printer: PrinterCard, write: Callable[[bytes], Source]) -> None:
    """T. Kramer, F. Proctor, E. Messina, The NIST RS274NGC Interpreter - Version 3, NISTIR 6556 (2000), 3.5.3.

    From (7, 7) clockwise about (10, 11) with radius 5 to (10, 16): arc length 5 x 2.4981 = 12.490.
    """
    moves, tally = scanned(write(ARC_KRAMER), printer)
    arc = moves.line == 3
    assert tally.arcs == 1
    assert float(moves.length_mm[arc].astype(float).sum()) == pytest.approx(12.490, abs=6e-4)
    radii = np.hypot(moves.x_mm[arc] - 10.0, moves.y_mm[arc] - 11.0)
    assert radii == pytest.approx(np.full(radii.shape, 5.0), abs=1e-4)
    assert (float(moves.x_mm[-1]), float(moves.y_mm[-1])) == (10.0, 16.0)
    assert float(moves.x_mm[arc].min()) == pytest.approx(5.0, abs=1e-4), "clockwise by the left side"
    x, y = np.append(7.0, moves.x_mm[arc]), np.append(7.0, moves.y_mm[arc])
    middle = np.hypot((x[1:] + x[:-1]) / 2 - 10.0, (y[1:] + y[:-1]) / 2 - 11.0)
    assert (5.0 - middle).max() <= 0.01 + 1e-5, "chord error"


@pytest.mark.parametrize(
    ("text", "end"),
    [
        ("G1 X1 Y2 F600\nG92 X10\nG1 X11", (2.0, 2.0, 0.0)),
        ("G91\nG1 X1.5 F600\nG1 X1.5 Y-2", (3.0, -2.0, 0.0)),
        ("G20\nG1 X1 F10", (25.4, 0.0, 0.0)),
        ("g1x1.5y2f600", (1.5, 2.0, 0.0)),
        ("G 0 x +0. 12 34 y 7", (0.1234, 7.0, 0.0)),
        ("N10 G1 X3 F600*32", (3.0, 0.0, 0.0)),
        ("G1 X5 F600\nG28 X\nG1 Y4", (0.0, 4.0, 0.0)),
        ("G1 X+.5 Y-.015 F600", (0.5, -0.015, 0.0)),
        ("G1 X12.34567890123456789 F600", (12.345678901, 0.0, 0.0)),
        ("G1 X1 F600\nX99 Y99", (1.0, 0.0, 0.0)),
        ("G1 X1 F600\nG5 X4 Y5 I1 J1", (4.0, 5.0, 0.0)),
        ("G92 X5\nG1 X6 F600\nG92.1\nG1 X6", (6.0, 0.0, 0.0)),
        ("G1 X9 F600\nG92\nG1 X1", (10.0, 0.0, 0.0)),
        ("G92 X5\nG53 G1 X3 F600", (3.0, 0.0, 0.0)),
        ("M1002 judge_flag g28_flag\nG1 X2 F600", (2.0, 0.0, 0.0)),
        ("M117 G1 X9\nG1 X2 F600", (2.0, 0.0, 0.0)),
        ("release G1 X9\nG1 X2 F600", (2.0, 0.0, 0.0)),
        ("G1 X1 F600\r\nG1 X2\rG1 X3\n", (3.0, 0.0, 0.0)),
        ("\ufeffG1 X4 F600", (4.0, 0.0, 0.0)),
        ("G1 X1 F600\nG91\nG2 X2 I1 J0", (3.0, 0.0, 0.0)),
        ("G18\nG1 X1 Z0 F600\nG2 X3 Z0 I1 K0", (3.0, 0.0, 0.0)),
    ],
)
def test_where_the_nozzle_ends(
    text: str, end: tuple[float, float, float], printer: PrinterCard, write: Callable[[bytes], Source]
) -> None:
    moves, _ = scanned(write(text.encode()), printer)
    assert (float(moves.x_mm[-1]), float(moves.y_mm[-1]), float(moves.z_mm[-1])) == pytest.approx(
        end, abs=1e-5
    )


@pytest.mark.parametrize(
    ("text", "drawn"),
    [
        ("M83\nG1 X1 E1 F600\nG1 E-1\nG1 E1\nG1 X2 E1", [1, -1, 1, 1]),
        ("M82\nG1 X1 E1 F600\nG92 E0\nG1 X2 E2", [1, 2]),
        ("M83\nM221 S50\nG1 X1 E1 F600", [0.5]),
        ("M83\nM200 D2\nG1 X1 E3.14159265358979 F600", [1.0]),
        ("M83\nM200 D2\nT1\nG1 X1 E3.14159265358979 F600", [1.0]),  # without T: all tools
        ("M83\nM200 D2 T1\nG1 X1 E2 F600\nT1\nG1 X2 E3.14159265358979", [2.0, 1.0]),
        ("M83\nM200 D2 S0\nG1 X1 E2 F600\nM200 S1\nG1 X2 E3.14159265358979\nM200 D0\nG1 X3 E2", [2, 1, 2]),
        ("M83\nM200 S1\nG1 X1 E2.4052819 F600", [1.0]),  # the card's 1.75 mm: pi/4 1.75^2
        ("G1 X10Y10E5 F600\nG1 X11Y11E7\nG1X12Y12E-5", [5, 2, -12]),  # words without blanks, no exponents
        ("M83\nG1 X1.5e-05 Y1 E2 F600\nG1 X9 E3", [2, 3]),
        ("G1 X1 E5 F600\nG1 X2 E99999999999\nG1 X3 E6", [5, 1]),  # the second line is beyond measure
        ("G1 X5 F600\nG92 X1 G1 Y3\nG1 X2 E1", [0, 1]),  # a line's axis words go to one command
        ("M207 S2 F1200\nM208 S0.5\nG10\nG10\nG11\nG11", [-2, 2.5]),
        ("G10 P0 S195 R160\nM83\nG1 X1 E1 F600", [1]),
        ("G91\nG1 X1 E1 F600\nG1 X1 E1", [1, 1]),
        ("M83\nM120\nM82\nG1 X1 E5 F600\nM121\nG1 X2 E1", [5, 1]),
        ("M83\nG1 X1 E1E-5 F600\nG1 X2 E+8", [0, 8]),
        ("G20\nM83\nG1 X1 E0.1 F600", [2.54]),
    ],
)
def test_filament_fed(
    text: str, drawn: list[float], printer: PrinterCard, write: Callable[[bytes], Source]
) -> None:
    moves, _ = scanned(write(text.encode()), printer)
    assert moves.fed_mm.tolist() == pytest.approx(drawn, rel=1e-6)


def summed(*lines: str) -> str:
    """Lines with their checksums: the exclusive or of the bytes before the star."""
    return "".join(f"{line}*{reduce(xor, line.encode())}\n" for line in lines)


@pytest.mark.parametrize(
    ("text", "name", "count", "line"),
    [
        ("G1 X1E-5 F600\n", "exponents", 1, 1),
        ("G1 X1\nG1 X1..2 Y3\n", "garbled_words", 1, 2),
        ("\nX5 Y2\n", "bare_axis_lines", 1, 2),
        ("a line that lost its mark\n", "doubtful_lines", 1, 1),
        ("G1 X1 E.5G1 X2 E.1\n", "repeated_words", 1, 1),
        ("G1 F600 G0 X2\n", "repeated_words", 1, 1),
        ("G1 X9.9e1 E.5\n", "repeated_words", 1, 1),
        ("G1 X1 G1 X2 M106 S1 S2\n", "garbled_words", 0, 0),
        ("G1 Z1\nG0 X1 M106 S1 S2 O3\n", "repeated_words", 0, 0),
        ("G92 X1 X2\n", "repeated_words", 0, 0),
        ("G1 X1 Y95.O9\n", "garbled_words", 1, 1),
        ("G1 X1 N5 Y2\n", "garbled_words", 1, 1),
        ("G1 X1 I2\n", "garbled_words", 1, 1),
        ("G3 X2 I1 P1\nG1 S2 U3 V1 H1 A1 R1 D1\n", "garbled_words", 0, 0),
        ("G1 101.694 Y5\n", "garbled_words", 1, 1),
        ("G1 X1,5 Y2\n", "garbled_words", 1, 1),
        ("G1 X1 E1:2 Y{lift} Z[2*3]\n", "garbled_words", 0, 0),
        ("G1 X1 down a bit\n", "garbled_words", 1, 1),
        ("N1 G1 X1*99\n", "wrong_checksums", 1, 1),
        ("N1 G1 X1* 99 ; said\n", "wrong_checksums", 1, 1),
        ("N1 G1 X1 ; see *7\n", "wrong_checksums", 0, 0),
        ("N3 G1 X1\nN1 G1 X2\nN1 G1 X3\n", "line_numbers_out_of_order", 2, 2),
        ("N10 G1 X1\nN20 G1 X2\n", "line_numbers_out_of_order", 0, 0),
        ("N10 G1 X1\nN20 G1 X2\n", "line_numbers_left_out", 0, 0),
        (summed("N1 G1 X1", "N5 G1 X2", "N6 G1 X3"), "line_numbers_left_out", 3, 2),
        (summed("N8 G1 X1", "N9 M110 N0", "N1 G1 X2", "N2 M110 N7"), "line_numbers_out_of_order", 0, 0),
        (summed("N8 G1 X1", "N9 M110 N0", "N1 G1 X2", "N2 M110 N7"), "line_numbers_left_out", 0, 0),
        (summed("N8 G1 X1") + "N99 G1*5\n" + summed("N10 G1 X2"), "line_numbers_out_of_order", 0, 0),
        (summed("N8 G1 X1") + "N99 G1*5\n" + summed("N10 G1 X2"), "line_numbers_left_out", 0, 0),
        ("N" + "9" * 40 + " G1*5\nN" + "9" * 40 + " G1\n", "line_numbers_left_out", 0, 0),
        ("G1 X1\n\0\0\0\0\n", "zero_bytes", 4, 2),
        ("G1 X200000\n", "too_far", 1, 1),
        ("G2 X5 Y5\n", "bad_arcs", 1, 1),
        ("G5 X5 Y5 I1 J1\n", "straightened", 1, 1),
        ("SET_LIMITS ACCEL=1000\n", "word_commands", 1, 1),
    ],
)
def test_oddities_are_counted(
    text: str, name: str, count: int, line: int, printer: PrinterCard, write: Callable[[bytes], Source]
) -> None:
    _, tally = scanned(write(text.encode()), printer)
    assert (tally.oddities[name].count, tally.oddities[name].first_line) == (count, line)


def test_a_blank_ends_the_number_of_a_command(printer: PrinterCard, write: Callable[[bytes], Source]) -> None:
    """`M117 3 of 20` shows a text: it is neither M1173 nor damage."""
    _, tally = scanned(write(b"M117 3 of 20\nM118 5 layers\nM117 50% done\nG 1 X 1 0\nT 1\n"), printer)
    assert tally.commands == {"G1": 1, "M117": 2, "M118": 1, "T1": 1}
    assert tally.oddities["garbled_words"].count == 0
    moves, tally = scanned(write(b"G1 101.694 Y5 F600\n"), printer)
    assert (tally.commands, tally.oddities["garbled_words"].count) == ({"G1": 1}, 1)
    assert (float(moves.x_mm[-1]), float(moves.y_mm[-1])) == (0.0, 5.0)


def test_a_line_is_fetched_again_by_its_number(
    printer: PrinterCard, write: Callable[[bytes], Source]
) -> None:
    from viewer.read.texts import Texts

    text = "".join(f"G1 X{i} ; line {i}\n" for i in range(1, 1001))
    source = write(text.encode())
    with np.errstate(over="ignore"):
        *_, tally, index = scan_source(source, printer, block_bytes=777).finish()
    texts = Texts(source, index, tally.lines)
    for number in (1, 2, 127, 128, 129, 130, 256, 257, 999, 1000):
        assert texts.line(number) == f"G1 X{number} ; line {number}"
    assert texts.fetch(990, 50) == [f"G1 X{i} ; line {i}" for i in range(990, 1001)]
    assert texts.line(1001) == ""


def test_lost_text_on_every_line_takes_one_row(
    printer: PrinterCard, write: Callable[[bytes], Source]
) -> None:
    source = write(b"1\n2\n" * 500 + b"; mark\n" + b"1\n" * 3)
    with np.errstate(over="ignore"):
        scan = scan_source(source, printer).finish()
    notes, tally = scan.notes, scan.tally
    assert tally.oddities["doubtful_lines"].count == 1003
    assert notes.line.tolist() == [1, 1001, 1002]


def test_arcs_beyond_all_measure_are_drawn_coarsely(
    printer: PrinterCard, write: Callable[[bytes], Source]
) -> None:
    """5 bytes may ask for 67 chords: 40,000 such lines stay bounded, their length and extent stay true."""
    if compiler_is_off():
        pytest.skip("compiler is off: only small programs")
    moves, tally = scanned(write(b"G1 F600\n" + b"G2I9\n" * 40_000), printer)
    assert len(moves) < 2_000_000 + 100_000 + 4 * 40_000 + 100
    assert tally.arcs == 40_000
    assert tally.oddities["arcs_capped"].count > 1000
    assert moves.length_mm.sum(dtype=np.float64) == pytest.approx(40_000 * 18.0 * np.pi, rel=1e-6)
    last = moves.line == 40_001
    assert np.count_nonzero(last) == 4
    assert (float(moves.x_mm[last].max()), float(moves.y_mm[last].min())) == pytest.approx((18.0, -9.0))
