"""Layers and objects, on programs whose layers are known."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from tests.programs import START, box, loop, spiral, square
from viewer import Program, open_program
from viewer.arrays import read_only
from viewer.layers.kernels.columns import Moves as MoveColumns
from viewer.layers.kernels.runs import Runs, find_runs
from viewer.read.moves import BEAD, PLACE


def opened(tmp_path: Path, text: str) -> Program:
    path = tmp_path / "program.gcode"
    path.write_text(text)
    with np.errstate(over="ignore"):  # hashes wrap; plain Python would say so, machine code does not
        return open_program(path)


def test_a_box_has_its_layers(tmp_path: Path) -> None:
    layers = opened(tmp_path, START + box(12)[0]).layers
    assert layers.height_mm == pytest.approx(np.arange(1, 13) * 0.2, abs=1e-5)
    assert layers.thickness_mm == pytest.approx(np.full(12, 0.2), abs=1e-5)
    assert layers.objects == 1
    assert layers.is_first.tolist() == [True] + [False] * 11


def test_hops_change_nothing(tmp_path: Path) -> None:
    text, e = box(2)
    hop = "G1 Z5\nG1 X10\nG1 Z0.4\n"
    more, _ = loop(square(5, 60), 0.4, e)
    layers = opened(tmp_path, START + text + hop + more).layers
    assert layers.height_mm == pytest.approx([0.2, 0.4], abs=1e-5)


def test_a_dip_belongs_to_the_layer_it_interrupts(tmp_path: Path) -> None:
    text, e = box(3)
    dip, e = loop(square(3, 55), 0.5, e)
    back, e = loop(square(10, 55), 0.6, e)
    top, _ = loop(square(20), 0.8, e)
    layers = opened(tmp_path, START + text + dip + back + top).layers
    assert layers.height_mm == pytest.approx([0.2, 0.4, 0.6, 0.8], abs=1e-5)


def test_a_spike_is_no_layer(tmp_path: Path) -> None:
    text, e = box(3)
    spike, e = loop([(50, 50), (51, 50)], 2.0, e)
    rest, e = loop(square(20), 0.8, e)
    layers = opened(tmp_path, START + text + spike + rest).layers
    assert layers.height_mm == pytest.approx([0.2, 0.4, 0.6, 0.8], abs=1e-5)


def test_one_object_after_another(tmp_path: Path) -> None:
    first, e = box(5)
    second, _ = box(4, x=100.0, e=e)
    layers = opened(tmp_path, START + first + "G1 Z20\n" + second).layers
    assert layers.objects == 2
    assert layers.is_first.tolist() == [True, *[False] * 4, True, *[False] * 3]
    assert layers.height_mm[5] == pytest.approx(0.2, abs=1e-5)
    assert layers.thickness_mm == pytest.approx(np.full(9, 0.2), abs=1e-5)


@pytest.mark.parametrize("height", [0.1, 0.4, 0.2])
def test_a_priming_line_is_the_prelude(tmp_path: Path, height: float) -> None:
    line, e = loop([(5, 5), (105, 5)], height, 0.0, per_mm=0.1)
    text, _ = box(4, e=e)
    program = opened(tmp_path, START + line + text)
    assert len(program.layers) == 4
    prelude = slice(0, int(program.layers.first_move[0]))
    assert float(
        program.moves.length_mm[prelude][program.moves.kind[prelude] == BEAD].sum()
    ) == pytest.approx(100.0)
    assert program.figures.filament.drawn_mm - program.figures.filament.part_mm == pytest.approx(
        10.0, abs=1e-4
    )


def test_layer_marks_decide_where_they_agree(tmp_path: Path) -> None:
    text, e = START, 0.0
    for k in range(1, 6):  # each layer begins with a ramp of its own height
        ramp, e = loop(square(6), 0.2 * k - 0.1, e)
        piece, e = loop(square(20), 0.2 * k, e)
        text += f"; layer {k}\n{ramp}{piece}"
    layers = opened(tmp_path, text).layers
    assert layers.height_mm == pytest.approx([0.2, 0.4, 0.6, 0.8, 1.0], abs=1e-5)


def test_a_mark_at_the_top_alone_does_not_decide(tmp_path: Path) -> None:
    layers = opened(tmp_path, START + "; layer 1\n" + box(7)[0]).layers
    assert len(layers) == 7


@pytest.mark.parametrize("facets", [24, 60, 240])
def test_a_spiral_is_cut_once_a_turn(tmp_path: Path, facets: int) -> None:
    program = opened(tmp_path, START + spiral(20, facets=facets))
    assert len(program.layers) == pytest.approx(20, abs=1)
    assert program.layers.spiral.all()
    assert program.layers.height_mm[10] - program.layers.height_mm[9] == pytest.approx(0.2, abs=0.01)


@pytest.mark.parametrize("facets", [3, 4, 60])
def test_a_spiral_whose_turns_are_marked_at_a_sharp_corner(tmp_path: Path, facets: int) -> None:
    """A mark at the seam: the corner there belongs to the turn, or a triangle turned 240 degrees."""
    lines = spiral(20, facets=facets).splitlines()
    for turn in reversed(range(20)):
        lines.insert(1 + turn * facets, f"; layer {turn + 1}")
    layers = opened(tmp_path, START + "\n".join(lines) + "\n").layers
    assert len(layers) == 20
    assert layers.spiral[1:].all()


def test_no_beads_no_layers(tmp_path: Path) -> None:
    program = opened(tmp_path, "G28\nG1 X10 F600\n")
    assert len(program.layers) == 0
    assert program.figures.layers.count == 0
    assert program.figures.time.first_layer_done_s is None


def test_find_runs_equals_a_plain_loop() -> None:
    rng = np.random.default_rng(5)
    for _ in range(40):
        n = int(rng.integers(1, 120))
        x, y = rng.uniform(0, 50, n).astype(np.float32), rng.uniform(0, 50, n).astype(np.float32)
        z = (rng.integers(1, 4, n) * 0.2 + (rng.random(n) < 0.3) * rng.uniform(0, 0.01, n)).astype(np.float32)
        length = rng.uniform(0.5, 20, n).astype(np.float32)
        kind = rng.choice(np.array([BEAD, BEAD, BEAD, 0, 3, PLACE], np.uint8), n)
        length[(kind == 3) | (kind == PLACE)] = 0.0
        cuts = np.append(np.sort(rng.integers(0, n + 1, 3)), 2**31 - 1).astype(np.int32)
        out = Runs(np.empty(n, np.int32), np.empty(n, np.int32), *(np.empty(n) for _ in range(4)))
        columns = MoveColumns(*(read_only(column) for column in (x, y, z, length, length, kind)))
        runs = find_runs(columns, read_only(cuts), 0.004, 0.05, out)
        expected = plain_runs(z.tolist(), length.tolist(), kind.tolist(), cuts.tolist())
        assert [(int(a), int(b)) for a, b in zip(out[0][:runs], out[1][:runs], strict=True)] == expected


def plain_runs(
    z: list[float], length: list[float], kind: list[int], cuts: list[int]
) -> list[tuple[int, int]]:
    """The rule of find_runs, said again: lists of beads, each begun where a bead does not go on from the last."""
    groups: list[list[int]] = []
    for i, k in enumerate(kind):
        if k != BEAD:
            continue
        before = z[i - 1] if i else 0.0
        if groups:
            group = groups[-1]
            cut_between = any(group[-1] < cut <= i for cut in cuts)
            travelled = any(
                (length[j] > 0 and kind[j] != BEAD) or kind[j] == PLACE for j in range(group[-1] + 1, i)
            )
            top = max(z[j] for j in group)
            level = abs(z[i] - top) <= 0.004
            rises = not travelled and -0.004 <= z[i] - before <= 0.05 * length[i]
            if not cut_between and (level or rises):
                group.append(i)
                continue
        groups.append([i])
    return [(group[0], group[-1]) for group in groups]


def test_a_low_priming_line_does_not_hide_a_second_object(tmp_path: Path) -> None:
    line, e = loop([(5, 5), (35, 5)], 0.25, 0.0, per_mm=0.1)
    first, e = box(5, thickness=0.28, e=e)
    second, _ = box(5, thickness=0.28, x=100.0, e=e)
    layers = opened(tmp_path, START + line + first + "G1 Z20\n" + second).layers
    assert layers.objects == 2
    assert layers.height_mm == pytest.approx([*(0.28 * np.arange(1, 6))] * 2, abs=1e-5)
