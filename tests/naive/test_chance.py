"""The second interpreter, the strategies, the damages and the generated programs, by seeded chance."""

from __future__ import annotations

import cmath
import math
import random
from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import given, settings

from tests import strategies
from tests.benchmarks.generate import generate, numbers_csv
from tests.mutate import mutants
from tests.naive.reader import interpret
from tests.naive.result import KINDS
from tests.naive.words import split_lines


@pytest.mark.parametrize("seed", range(40))
def test_arc_against_a_turned_vector(seed: int) -> None:
    """Length and extent against 20,000 chords of a vector turned in the complex plane."""
    dice = random.Random(seed)
    arm = cmath.rect(dice.uniform(0.2, 50), dice.uniform(-math.pi, math.pi))
    sweep, climb = dice.uniform(0.05, 6.2) * dice.choice([1, -1]), dice.choice([0.0, dice.uniform(-3, 3)])
    turned = [arm * cmath.exp(1j * sweep * i / 20_000) - arm for i in range(20_001)]
    flat = sum(abs(b - a) for a, b in pairwise(turned))
    end = turned[-1]
    centre = f"I{-arm.real:.12f} J{-arm.imag:.12f}"
    if abs(abs(sweep) - math.pi) > 0.3 and seed % 2:
        centre = f"R{abs(arm) * (1 if abs(sweep) < math.pi else -1):.12f}"
    word = "G3" if sweep > 0 else "G2"
    program = f"{word} X{end.real:.12f} Y{end.imag:.12f} Z{climb:.12f} {centre} F60"
    arc = interpret(program.encode()).motions[0]
    assert arc.path_mm == pytest.approx(math.hypot(flat, climb), rel=1e-6)
    for low, high, points in (
        (arc.low[0], arc.high[0], [p.real for p in turned]),
        (arc.low[1], arc.high[1], [p.imag for p in turned]),
    ):
        assert (low, high) == pytest.approx((min(points), max(points)), abs=1e-5)


@settings(max_examples=60, deadline=None)
@given(strategies.programs())
def test_rows_hang_together(program: bytes) -> None:
    """Each motion starts where the last one ended or homing put it; no path is shorter than its chord."""
    result = interpret(program)
    assert result.lines == len(split_lines(program))
    assert sum(result.count(kind) for kind in KINDS) == len(result.motions)
    for motion in result.motions:
        assert motion.path_mm >= math.dist(motion.start, motion.end) * (1 - 1e-9) - 1e-6
        assert all(lo <= v + 1e-9 for lo, v in zip(motion.low, motion.end, strict=True))
        assert all(hi >= v - 1e-9 for hi, v in zip(motion.high, motion.start, strict=True))
    assert sum(result.drawn_mm.values()) >= result.net_mm - 1e-6


@settings(max_examples=60, deadline=None)
@given(strategies.programs())
def test_spelling_changes_nothing(program: bytes) -> None:
    """Lower case, CRLF, tabs and blanks before a line mean the same motions."""
    plain = interpret(program)
    respelt = program.lower().replace(b" ", b"\t").replace(b"\n", b" \r\n \t")
    assert interpret(respelt).motions == plain.motions


@settings(max_examples=100, deadline=None)
@given(strategies.dirty_bytes())
def test_any_bytes_are_stood(data: bytes) -> None:
    result = interpret(data)
    assert result.lines == len(split_lines(data))
    assert result.zero_bytes == data.count(0)


def test_mutants_are_seeded_and_stood() -> None:
    program = b"G21\nG90\nM83\n" + b"".join(b"G1 X%d Y%d E0.5 F1200\n" % (i, i % 7) for i in range(40))
    first = list(mutants(program, seed=3, count=40))
    assert first == list(mutants(program, seed=3, count=40))
    assert first != list(mutants(program, seed=4, count=40))
    assert all(data != program for _, data in first)
    for name, data in first:
        assert interpret(data).lines == len(split_lines(data)), name


@pytest.mark.parametrize("beads_per_layer", [200, 4000, 50_000])
def test_generated_program_is_what_its_maker_says(tmp_path: Path, beads_per_layer: int) -> None:
    polars = pytest.importorskip("polars")
    path, table = tmp_path / "tray.gcode", tmp_path / "tray.csv"
    made = generate(path, 0.0, seed=5, beads_per_layer=beads_per_layer, layers=2)
    data = path.read_bytes()
    result = interpret(data)
    assert (made.bytes, made.lines, made.layers) == (len(data), result.lines, 2)
    assert made.beads == result.count("bead")
    assert result.count("prime") == result.count("retract") - 1 > 0
    assert made.beads / 2 == pytest.approx(beads_per_layer, rel=0.1)
    assert not result.doubtful_lines and not result.bad_words and not result.far_lines
    low, high = result.extent_mm or pytest.fail("no beads")
    assert all(lo > 0 and hi < 235 for lo, hi in zip(low[:2], high[:2], strict=True))
    # width 0.45, thickness 0.2, filament 1.75 mm: filament = length x 0.09 / 2.405, but for the purge line
    part = [m for m in result.motions if m.kind == "bead" and m.end[1] != 5]
    length = math.fsum(m.path_mm for m in part)
    assert math.fsum(m.filament_mm for m in part) == pytest.approx(length * 0.09 / 2.405282, rel=2e-4)
    rows, size = numbers_csv(path, table)
    frame = polars.read_csv(table)
    assert (len(frame), table.stat().st_size) == (rows, size)
    assert frame["E"].sum() == pytest.approx(result.net_mm)
    again = tmp_path / "again.gcode"
    generate(again, 0.0, seed=5, beads_per_layer=beads_per_layer, layers=2)
    assert again.read_bytes() == data


def test_generated_size(tmp_path: Path) -> None:
    made = generate(tmp_path / "tray.gcode", 0.5, seed=1, beads_per_layer=800)
    assert 500_000 <= made.bytes < 540_000
    assert 30 < made.bytes / made.lines < 35
