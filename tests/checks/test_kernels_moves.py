"""The kernels against slow twins that share no code with them."""

from __future__ import annotations

import math

import numpy as np
import pytest

from tests.checks.on_paper import START, opened
from viewer.arrays import read_only
from viewer.checks.kernels import moves as k
from viewer.program import Program
from viewer.read.moves import BEAD


@pytest.fixture(scope="module")
def program(tmp_path_factory: pytest.TempPathFactory) -> Program:
    """Random beads and travels in seven layers, fast and slow, wide and narrow."""
    dice = np.random.default_rng(7)
    lines, e = [START], 0.0
    for n in range(1, 8):
        lines.append(f"G1 Z{0.2 * n:.2f} F{dice.integers(900, 9000)}")
        for _ in range(60):
            x, y = dice.uniform(-20, 240, 2)
            e += float(dice.uniform(0.0, 9.0)) * (dice.random() < 0.7)
            lines.append(f"G1 X{x:.3f} Y{y:.3f} E{e:.4f} F{dice.integers(900, 30000)}")
            if dice.random() < 0.05:
                lines.append(f"M104 S{dice.integers(150, 260)}\nM203 X{dice.integers(20, 300)}")
    return opened(tmp_path_factory.mktemp("k"), "\n".join(lines) + "\nM104 S0\nM84\n")


def beads(program: Program) -> list[tuple[int, tuple[float, ...], tuple[float, ...]]]:
    """(move, start, end) of every bead, in double precision."""
    moves = program.moves
    ends = [tuple(map(float, row)) for row in zip(moves.x_mm, moves.y_mm, moves.z_mm, strict=True)]
    return [
        (i, ends[i - 1] if i else (0.0, 0.0, 0.0), end) for i, end in enumerate(ends) if moves.kind[i] == BEAD
    ]


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


def test_flow(program: Program) -> None:
    places, sums = np.full(2, -1, np.int64), np.zeros(4)
    m, t = program.moves, program.timing
    k.find_flow(
        read_only(m.kind),
        read_only(m.fed_mm),
        read_only(m.length_mm),
        read_only(m.speed_mm_s),
        read_only(t.peak_mm_s),
        read_only(t.time_s),
        2.4053,
        9.0,
        0.05,
        places,
        sums,
    )
    flows = {
        i: 2.4053 * float(m.fed_mm[i]) * float(t.peak_mm_s[i]) / float(m.length_mm[i])
        for i, _, _ in beads(program)
    }
    over = [i for i, flow in flows.items() if flow > 9.0]
    lasting = [i for i in over if t.time_s[i] >= 0.05]
    assert len(lasting) > 5
    assert sums[2] == len(over)
    assert sums[0] == pytest.approx(sum(float(t.time_s[i]) for i in over), rel=1e-6)
    assert sums[1] == pytest.approx(max(flows[i] for i in lasting), rel=1e-6)
    assert list(places) == [lasting[0], max(lasting, key=lambda i: flows[i])]
    commanded = [flows[i] * float(m.speed_mm_s[i]) / float(t.peak_mm_s[i]) for i in lasting]
    assert sums[3] == pytest.approx(max(commanded), rel=1e-6)


def test_held_back(program: Program) -> None:
    tops = np.array([[80.0, 120.0, 12.0, 3.0, 200.0, 1.0], [40.0, 90.0, 12.0, 60.0, 100.0, 0.5]])
    m = program.moves
    of_move = (np.arange(len(m)) % 2).astype(np.int32)
    places, sums = np.full(2, -1, np.int64), np.zeros(4)
    k.find_held_back(
        read_only(m.kind),
        read_only(m.x_mm),
        read_only(m.y_mm),
        read_only(m.z_mm),
        read_only(m.length_mm),
        read_only(m.fed_mm),
        read_only(m.speed_mm_s),
        read_only(program.timing.time_s),
        read_only(of_move),
        tops,
        places,
        sums,
    )
    ratio = {}
    for i, a, b in beads(program):
        top = tops[i % 2]
        seconds = float(m.length_mm[i]) / (float(m.speed_mm_s[i]) * top[5])
        ways = [abs(q - p) for p, q in zip(a, b, strict=True)] + [abs(float(m.fed_mm[i]))]
        least = max(
            [way / v for way, v in zip(ways, top[:4], strict=True)] + [float(m.length_mm[i]) / top[4]]
        )
        ratio[i] = least / seconds
    over = [i for i, r in ratio.items() if r > 1.001]
    assert 10 < len(over) < len(ratio)
    assert list(places) == [over[0], max(over, key=lambda i: ratio[i])]
    assert sums[0] == pytest.approx(sum(float(program.timing.time_s[i]) for i in over), rel=1e-6)
    assert sums[1] == pytest.approx(sum(float(program.timing.time_s[i]) for i in ratio), rel=1e-6)
    assert sums[2] / sums[3] == pytest.approx(max(ratio.values()), rel=1e-4)


def test_periods_cover_all_beads_once(program: Program) -> None:
    periods = program.state.periods("nozzle")
    assert len(periods) > 5
    bounds = np.stack([periods.begin, periods.end], axis=1)
    assert bounds[0, 0] == 0
    assert bounds[-1, 1] == len(program.moves)
    assert (bounds[1:, 0] == bounds[:-1, 1]).all()
    seconds, first = np.zeros(len(periods)), np.full(len(periods), -1, np.int64)
    k.sum_by_period(read_only(program.moves.kind), read_only(program.timing.time_s), bounds, seconds, first)
    for p, (begin, end) in enumerate(bounds.tolist()):
        own = [i for i, _, _ in beads(program) if begin <= i < end]
        assert first[p] == (own[0] if own else -1)
        assert seconds[p] == pytest.approx(sum(float(program.timing.time_s[i]) for i in own), rel=1e-6)


def test_widths(program: Program) -> None:
    path = np.zeros(k.WIDTH_BINS)
    m, layers = program.moves, program.layers
    k.spread_widths(
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
        place = min(int(width / k.WIDTH_BIN_MM), k.WIDTH_BINS - 1)
        expected[place] = expected.get(place, 0.0) + float(m.length_mm[i])
    assert path.sum() == pytest.approx(sum(expected.values()), rel=1e-6)
    total = path.sum()
    for place, length in expected.items():  # a width on a bin's edge may fall to its neighbour
        assert path[max(place - 1, 0) : place + 2].sum() >= length - 1e-3 * total
