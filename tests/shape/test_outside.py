"""Beads outside of the printer's room, and bead widths, against slow twins that share no code with the kernels."""

from __future__ import annotations

import math

import numpy as np
import pytest

from tests.random_program import beads, random_program
from viewer.arrays import read_only
from viewer.program import Program
from viewer.shape.kernels import outside as k
from viewer.shape.kernels import widths as kw
from viewer.shape.widths import median_width_mm


@pytest.fixture(scope="module")
def program(tmp_path_factory: pytest.TempPathFactory) -> Program:
    return random_program(tmp_path_factory.mktemp("k"))


def test_outside(program: Program) -> None:
    room = np.array([0.0, 200.0, 10.0, 190.0, 100.0, 100.0, 150.0, 0.9])
    rows = 2 * k.SIDES
    first, worst = np.full(rows, -1, np.int64), np.full(rows, -1, np.int64)
    amount, box = np.zeros(rows), np.tile([np.inf, -np.inf], (rows, 3))
    m = program.moves
    k.find_outside(
        read_only(m.kind),
        read_only(program.roles),
        read_only(m.x_mm),
        read_only(m.y_mm),
        read_only(m.z_mm),
        room,
        0.01,
        first,
        worst,
        amount,
        box,
    )
    beyond = [
        lambda p: 0.0 - p[0], lambda p: p[0] - 200.0, lambda p: 10.0 - p[1], lambda p: p[1] - 190.0,
        lambda p: math.dist(p[:2], (100.0, 100.0)) - 150.0, lambda p: p[2] - 0.9, lambda p: -p[2],
    ]  # fmt: skip
    for side, how_far in enumerate(beyond):
        for group in (0, 1):
            own = [b for b in beads(program) if (program.roles[b[0]] == k.PURGE) == bool(group)]
            far = {i: max(how_far(a), how_far(b)) for i, a, b in own}
            out = [i for i, d in far.items() if d > 0.01]
            row = side + group * k.SIDES
            assert first[row] == (out[0] if out else -1)
            if out:
                assert amount[row] == pytest.approx(max(far.values()), abs=1e-4)
                assert far[int(worst[row])] == pytest.approx(max(far.values()), abs=1e-4)


def test_widths(program: Program) -> None:
    path = np.zeros(kw.WIDTH_BINS)
    m, layers = program.moves, program.layers
    kw.add_widths(
        read_only(m.kind),
        read_only(program.roles),
        read_only(m.fed_mm),
        read_only(m.length_mm),
        read_only(layers.first_move),
        read_only(layers.thickness_mm),
        2.4053,
        path,
    )
    expected: dict[int, float] = {}
    for i, _, _ in beads(program):
        number = int(layers.of_moves([i])[0])
        if not 1 <= number <= len(layers) or program.roles[i] in (7, 8):
            continue
        t = float(layers.thickness_mm[number - 1])
        area = 2.4053 * float(m.fed_mm[i]) / float(m.length_mm[i])
        full = area >= math.pi * t * t / 4
        width = area / t + t * (1 - math.pi / 4) if full else 2 * math.sqrt(area / math.pi)
        place = min(int(width / kw.WIDTH_BIN_MM), kw.WIDTH_BINS - 1)
        expected[place] = expected.get(place, 0.0) + float(m.length_mm[i])
    assert path.sum() == pytest.approx(sum(expected.values()), rel=1e-6)
    total = path.sum()
    for place, length in expected.items():  # a width on a bin's edge may fall to its neighbour
        assert path[max(place - 1, 0) : place + 2].sum() >= length - 1e-3 * total
    median = median_width_mm(m, layers, program.roles, program.filament_diameter_mm)
    assert median is not None
    below = sum(length for place, length in expected.items() if (place + 0.5) * kw.WIDTH_BIN_MM <= median)
    assert below / sum(expected.values()) == pytest.approx(0.5, abs=0.01)
