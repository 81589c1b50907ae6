"""Changes of modes: rows against the independent interpreter, line by line, and literals."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

import msgspec
import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings

from tests.conftest import SAMPLES
from tests.naive.reader import Interpreter
from tests.naive.words import parse_line, split_lines
from tests.strategies import programs
from viewer.cards import load_printer
from viewer.jit import compiler_is_off
from viewer.read import mode_changes as m
from viewer.read.blocks import open_source
from viewer.read.mode_changes import ModeChanges, plane_of, shifted_axes
from viewer.read.modes import speed_at
from viewer.read.scan import Scanned, scan_source

Read = Callable[[bytes], Scanned]
SLOW = settings(
    max_examples=10 if compiler_is_off() else 150, deadline=None, suppress_health_check=list(HealthCheck)
)
PRINTER = load_printer("heron")
E_ONLY = m.E_RELATIVE
X_SHIFTED, Z_SHIFTED = 1 << m.SHIFTED_SHIFT, 4 << m.SHIFTED_SHIFT


@pytest.fixture(scope="module")
def read(tmp_path_factory: pytest.TempPathFactory) -> Read:
    path = tmp_path_factory.mktemp("modes") / "program.gcode"

    def scanned(data: bytes) -> Scanned:
        path.write_bytes(data)
        with np.errstate(over="ignore"):  # hashes wrap; plain Python would say so, machine code does not
            return scan_source(open_source(path), PRINTER).finish()

    return scanned


def naive_modes(data: bytes) -> Iterator[tuple[object, ...]]:
    """Yield what holds behind each line, by the independent interpreter, as `own_modes` says it."""
    home = (PRINTER.homing.x_mm, PRINTER.homing.y_mm, PRINTER.homing.z_mm)
    machine = Interpreter(home, False, PRINTER.retract_mm, PRINTER.retract_mm_s, 1.75, False)
    for number, raw in enumerate(split_lines(data), 1):
        machine.line(parse_line(raw, number))
        modes = machine.modes
        relative_e = bool(modes.relative or modes.relative_e)
        yield (
            bool(modes.relative), relative_e, modes.unit_mm != 1.0, not all(machine.blocks), machine.volumetric,
            modes.plane, pytest.approx(modes.speed_mm_s, rel=1e-6),
        )  # fmt: skip


def own_modes(scan: Scanned, line: int) -> tuple[object, ...]:
    """What holds behind a line."""
    bits = scan.modes.modes_before(line + 1)
    flags = (bool(bits & bit) for bit in (m.RELATIVE, m.E_RELATIVE, m.INCHES, m.SKIPPING, m.BY_VOLUME))
    return (*flags, plane_of(bits), speed_at(scan.moves, scan.modes, line + 1))


def rows(changes: ModeChanges) -> list[tuple[int, int, float]]:
    return list(
        zip(changes.line.tolist(), changes.modes.tolist(), changes.speed_mm_s.round(3).tolist(), strict=True)
    )


@SLOW
@given(data=programs())
def test_any_program_equals_the_independent_interpreter(data: bytes, read: Read) -> None:
    scan = read(data)
    for line, expected in enumerate(naive_modes(data), 1):
        assert own_modes(scan, line) == expected, line


@SLOW
@given(data=programs())
def test_a_row_is_a_change(data: bytes, read: Read) -> None:
    """No row says what the rows before it say already; lines rise."""
    scan = read(data)
    changes = scan.modes
    assert (np.diff(changes.line) > 0).all()
    assert (np.diff(changes.move) >= 0).all()
    before = np.concatenate([np.zeros(1, np.uint16), changes.modes[:-1]])
    for row in np.flatnonzero(changes.modes == before).tolist():
        at = int(changes.move[row])
        later = row > 0 and changes.move[row - 1] == at
        shown = changes.speed_mm_s[row - 1] if later else scan.moves.speed_mm_s[at - 1] if at else 0.0
        assert np.float32(shown) != np.float32(changes.speed_mm_s[row])


@pytest.mark.parametrize("path", sorted(SAMPLES.glob("*.gcode")), ids=lambda path: path.stem)
def test_samples_equal_the_independent_interpreter(path: Path, read: Read) -> None:
    data = path.read_bytes()
    if compiler_is_off() and len(data) > 4000:
        pytest.skip("compiler is off: only small programs")
    scan = read(data)
    for line, expected in enumerate(naive_modes(data), 1):
        if line % 17 == 0:
            assert own_modes(scan, line) == expected, line
    assert len(scan.modes) < len(scan.moves)


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("G21\nG90\nM82\nG17\n", []),  # what holds at the beginning
        ("G91\nG91\nG90\n", [(1, m.RELATIVE | m.E_RELATIVE, 0), (3, 0, 0)]),
        ("M83\nG91\nG90\nM82\n", [(1, E_ONLY, 0), (2, E_ONLY | m.RELATIVE, 0), (3, E_ONLY, 0), (4, 0, 0)]),
        ("G1 X1 F600\nG1 X2 F1200\nG1 E1 F300\n", []),  # the moves tell it
        ("G1 F600\nG1 F600\nG1 F1200\nG1 X1\n", [(1, 0, 10), (3, 0, 20)]),
        ("G1  F600\nG01 F1200\nG1 F1200.0\n", [(1, 0, 10), (2, 0, 20)]),  # not by the fast path
        ("G20\nG1 F60\n", [(1, m.INCHES, 0), (2, m.INCHES, 25.4)]),
        ("G1 X1 F600\nG28\nG1 X2\n", [(2, 0, 10)]),  # homing's row has no speed
        ("M207 S1 F1800\nG1 X1 F600\nG10\nG11\nG1 X2\n", [(3, 0, 10), (4, 0, 10)]),  # a speed of their own
        ("G1 X1 F600\nM120\nG1 X2 F1200\nM121\nG1 X3\n", [(4, 0, 10)]),
        ("M622 J0\nG91\nG1 F600\nM622 J1\nM623\nM623\n", [(1, m.SKIPPING, 0), (6, 0, 0)]),
        ("M200 D1.75\nM200 D0\n", [(1, m.BY_VOLUME, 0), (2, 0, 0)]),
        ("M200 D1.75 T1\nT1\nT0\n", [(2, m.BY_VOLUME, 0), (3, 0, 0)]),
        ("G18\nG19\nG17\n", [(1, 1 << m.PLANE_SHIFT, 0), (2, 2 << m.PLANE_SHIFT, 0), (3, 0, 0)]),
        ("G92 E0\n", []),
        ("G92 X0\nG92 Z1\nG28 X\n", [(1, X_SHIFTED, 0), (2, X_SHIFTED | Z_SHIFTED, 0), (3, Z_SHIFTED, 0)]),
        ("G92 X5\nG92.1\n", [(1, X_SHIFTED, 0), (2, 0, 0)]),
        ("G92\nG28\n", [(1, 7 << m.SHIFTED_SHIFT, 0), (2, 0, 0)]),
        ("M117 G91\n; G91\n(G91) G90\n", []),
    ],
)  # fmt: skip
def test_rows(text: str, expected: list[tuple[int, int, float]], read: Read) -> None:
    assert rows(read(text.encode()).modes) == expected


def test_what_the_fields_say() -> None:
    assert shifted_axes(5 << m.SHIFTED_SHIFT | m.RELATIVE) == {"X", "Z"}
    assert [plane_of(k << m.PLANE_SHIFT | m.INCHES) for k in range(3)] == [17, 18, 19]


def test_the_card_says_whether_g91_counts_for_e(tmp_path: Path) -> None:
    path = tmp_path / "program.gcode"
    path.write_text("M83\nG90\nG91\nM82\n")
    card = msgspec.structs.replace(PRINTER, e_follows_g90=True)
    with np.errstate(over="ignore"):
        changes = scan_source(open_source(path), card).finish().modes
    assert rows(changes) == [
        (1, m.E_RELATIVE, 0),
        (2, 0, 0),
        (3, m.RELATIVE | m.E_RELATIVE, 0),
        (4, m.RELATIVE, 0),
    ]


def test_columns_grow(read: Read) -> None:
    """A change on every line: more rows than the columns begin with."""
    count = 300 if compiler_is_off() else 20_000
    changes = read(b"G91\nG90\n" * count).modes
    assert changes.line.tolist() == list(range(1, 2 * count + 1))
    fast = read(b"G1 F600\nG1 F1200\n" * count).modes
    assert fast.speed_mm_s.tolist() == [10.0, 20.0] * count
