"""Flow, speed and seconds of beads against slow twins that share no code with the kernels."""

from __future__ import annotations

import numpy as np
import pytest

from tests.random_program import beads, random_program
from viewer.arrays import read_only
from viewer.program import Program
from viewer.timing.demand import flow_beyond, seconds_by_period
from viewer.timing.kernels import demand as k


@pytest.fixture(scope="module")
def program(tmp_path_factory: pytest.TempPathFactory) -> Program:
    return random_program(tmp_path_factory.mktemp("k"))


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
    found = flow_beyond(m, t, 2.4053, 9.0, 0.05, begin=0)
    assert (found.first_move, found.worst_move, found.beads) == (*places.tolist(), len(over))
    assert flow_beyond(m, t, 2.4053, 9.0, 0.05, begin=lasting[0] + 1).first_move == lasting[1]
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
    seconds, first = seconds_by_period(program.moves, program.timing, bounds)
    for p, (begin, end) in enumerate(bounds.tolist()):
        own = [i for i, _, _ in beads(program) if begin <= i < end]
        assert first[p] == (own[0] if own else -1)
        assert seconds[p] == pytest.approx(sum(float(program.timing.time_s[i]) for i in own), rel=1e-6)
