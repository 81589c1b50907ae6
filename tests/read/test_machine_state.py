"""The tool in use and the heat targets: worked by hand, and against a slow follower by seeded chance."""

from __future__ import annotations

import math
from pathlib import Path
from time import perf_counter

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.naive.heat import follow
from tests.naive.reader import interpret
from viewer.cards import load_printer
from viewer.figures.kernels import tables
from viewer.jit import compiler_is_off
from viewer.read.blocks import open_source
from viewer.read.comments.remarks import read_remarks
from viewer.read.events import Events
from viewer.read.kernels import state as scan_state
from viewer.read.machine_state import ALL_HEATERS, CHAMBER, PLATE, MachineState, read_machine_state
from viewer.read.scan import scan_source
from viewer.units import MAX_TOOLS

MOVE = "G1 X{} E1 F600\n"


def read(path: Path, text: str, *, one_nozzle: bool = False) -> MachineState:
    path.write_text(text)
    source = open_source(path)
    with np.errstate(over="ignore"):
        moves, events, notes, *_ = scan_source(source, load_printer("heron")).finish()
    limits = read_remarks(notes, events, source, {}).limits
    return read_machine_state(events, limits, len(moves), one_nozzle=one_nozzle)


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "program.gcode"


def moved(*lines: str) -> str:
    """A move behind each line."""
    return "".join(f"{line}\n{MOVE.format(k)}" for k, line in enumerate(lines, 1))


def plain(values: np.ndarray) -> list[float]:
    """NaN as -1."""
    return [-1.0 if math.isnan(v) else v for v in values.tolist()]


def nozzle(state: MachineState) -> list[float]:
    return plain(state.target_of("nozzle", np.arange(state.moves)))


def test_one_tool_limit() -> None:
    """Kernels cannot import the constant of everybody else."""
    assert tables.TOOLS == MAX_TOOLS
    assert scan_state.TOOL_AREA - scan_state.TOOL_FLOW == MAX_TOOLS
    assert scan_state.REAL_SIZE >= scan_state.TOOL_AREA + MAX_TOOLS


@pytest.mark.parametrize("change", ["T1", "M6 T1", "M06 T1", "T1 ; the other one", "T1\nM6", "M6 T1.0"])
def test_every_form_of_a_tool_change(path: Path, change: str) -> None:
    state = read(path, moved("M104 S200", "M104 T1 S250", change))
    assert state.tool_of([0, 1, 2]).tolist() == [0, 0, 1]
    assert nozzle(state) == [200, 200, 250]
    assert state.tools.tool.tolist() == [1]
    assert state.tools.move.tolist() == [2]


@pytest.mark.parametrize("signal", ["T0", "T-1", "T64", "T255", "T1000", "M6", "M6 T-1", "M6 T64", "M6 P1"])
def test_what_changes_no_tool(path: Path, signal: str) -> None:
    state = read(path, moved("M104 S200", signal))
    assert len(state.tools) == 0
    assert nozzle(state) == [200, 200]


def test_the_later_line_counts_before_one_move(path: Path) -> None:
    state = read(path, "M104 S200\nT1\nM104 S230\nT0\nM140 S60\nM140 S70\n" + MOVE.format(1))
    assert nozzle(state) == [200]
    assert plain(state.target_of("plate", [0])) == [70]
    # before each line is carried out
    assert plain(state.target_at_line("nozzle", range(1, 8))) == [-1, 200, -1, 230, 200, 200, 200]
    assert plain(state.target_at_line("plate", [5, 6, 7])) == [-1, 60, 70]
    assert state.tool_at_line([2, 3, 4, 5]).tolist() == [0, 1, 1, 0]


def test_one_nozzle_is_set_by_every_tool(path: Path) -> None:
    text = moved("M104 S200", "T1", "M104 T0 S190", "M104 T1 S0")
    assert nozzle(read(path, text, one_nozzle=True)) == [200, 200, 190, 0]
    assert nozzle(read(path, text)) == [200, -1, -1, 0]


def test_working_and_resting_temperatures(path: Path) -> None:
    text = moved(
        "G10 P0 S195 R160", "G10 P1 S210 R150", "T1", "M104 S215", "T0", "G10 P1 S220", "T1", "G10 P0 R-273"
    )
    state = read(path, text)
    assert nozzle(state) == [195, 195, 210, 215, 195, 195, 220, 220]
    rows = zip(state.targets.heater.tolist(), state.targets.target_c.tolist(), strict=True)
    assert list(rows) == [
        (0, 195), (1, 150), (0, 160), (1, 210), (1, 215), (1, 150), (0, 195), (0, 160), (1, 220), (0, -273),
    ]  # fmt: skip
    # where it holds from, and where it is written
    assert state.targets.line.tolist() == [1, 3, 5, 5, 7, 9, 9, 13, 13, 15]
    assert state.targets.stated_line.tolist() == [1, 3, 1, 3, 7, 3, 1, 1, 11, 15]
    # one nozzle does not rest
    assert nozzle(read(path, text, one_nozzle=True)) == [195, 195, 210, 215, 195, 195, 220, 220]


def test_g10_with_l_is_no_temperature(path: Path) -> None:
    assert len(read(path, moved("G10 L2 P1 S5 R3 X1", "G10", "G10 S1")).targets) == 0


def test_plate_chamber_and_words(path: Path) -> None:
    state = read(path, moved(
        "M140 S60", "SET_HEATER_TEMPERATURE HEATER=heater_bed TARGET=65", "M141 S40", "M191 S45",
        "SET_HEATER_TEMPERATURE HEATER=extruder TARGET=220",
    ))  # fmt: skip
    assert plain(state.target_of("plate", range(5))) == [60, 65, 65, 65, 65]
    assert plain(state.target_of("chamber", range(5))) == [-1, -1, 40, 45, 45]
    assert nozzle(state) == [-1, -1, -1, -1, 220]
    assert state.targets.event.tolist() == [0, -1, 1, 2, -1]
    assert state.targets.of("plate").line.tolist() == [1, 3]


def test_waits(path: Path) -> None:
    state = read(
        path, moved("M104 S200", "M109", "M190 S60", "M109 T1 R170", "M116", "M191 S40", "M109 S210 R210")
    )
    assert state.waits.line.tolist() == [3, 5, 7, 9, 11, 13]
    assert state.waits.move.tolist() == [1, 2, 3, 4, 5, 6]
    assert state.waits.heater.tolist() == [0, PLATE, 1, ALL_HEATERS, CHAMBER, 0]
    assert plain(state.waits.target_c) == [200, 60, 170, -1, 40, 210]
    assert state.waits.cooling.tolist() == [False, False, True, True, False, False]
    assert state.waits.of("plate").line.tolist() == [5, 9]
    assert state.waits.of("nozzle").line.tolist() == [3, 7, 9, 13]


def test_periods(path: Path) -> None:
    text = MOVE.format(9) + moved("M104 S200", "T1", "T0\nM104 S190\nM104 S200", "M104 S0") + "M104 S5\n"
    state = read(path, text)
    found = state.periods("nozzle")
    assert plain(found.target_c) == [-1, 200, -1, 200, 0]
    assert found.line.tolist() == [0, 2, 0, 8, 10]
    assert found.begin.tolist() == [0, 1, 2, 3, 4]
    assert found.end.tolist() == [1, 2, 3, 4, 5]
    assert [len(state.periods(heater)) for heater in ("plate", "chamber")] == [1, 1]  # type: ignore[arg-type]


def test_last_targets(path: Path) -> None:
    state = read(path, moved("M104 T1 S200", "M140 S60", "M104 S210", "M141 S40", "M104 T1 S0"))
    last = state.last_targets()
    assert last.heater.tolist() == [1, PLATE, 0, CHAMBER]
    assert last.target_c.tolist() == [0, 60, 210, 40]


def test_nothing_at_all(path: Path) -> None:
    state = read(path, MOVE.format(1))
    assert nozzle(state) == [-1]
    assert state.tool_of([0]).tolist() == [0]
    assert len(state.last_targets()) == len(state.waits) == len(state.steps("nozzle")) == 0
    assert (len(state.periods("nozzle")), state.periods("nozzle").end.tolist()) == (1, [1])
    empty = read_machine_state(changing(0), (), 0, one_nozzle=True)
    assert empty.periods("nozzle").end.tolist() == [0]


EARLY_START = "G162 X Y F2500\nG161 Z F1100\nM132 X Y Z A B\n"
HOMINGS = 3  # rows of moves in it


def test_the_early_dialect_waits_by_numbers_of_its_own(path: Path) -> None:
    """Common practice, no source: read from programs that explain each line."""
    state = read(path, EARLY_START + moved("M109 S65 T0", "M104 S200 T0", "M6 T0", "M134 T0", "M133 T0"))
    assert nozzle(state)[HOMINGS:] == [-1.0, 200.0, 200.0, 200.0, 200.0]
    assert state.target_of("plate", HOMINGS + np.arange(5)).tolist() == [65.0] * 5
    assert state.waits.heater.tolist() == [ALL_HEATERS, PLATE, 0]
    assert plain(state.waits.target_c) == [-1.0, 65.0, 200.0]
    assert state.waits.cooling.all()


def test_an_m109_as_hot_as_a_nozzle_is_for_the_nozzle_in_the_early_dialect_too(path: Path) -> None:
    state = read(path, EARLY_START + moved("M109 S220", "M109 S0"))
    assert nozzle(state)[HOMINGS:] == [220.0, 0.0]
    assert len(state.waits) == 2


def test_the_early_waits_mean_nothing_elsewhere(path: Path) -> None:
    state = read(path, "G28\n" + moved("M140 S60", "M104 S200", "M133 T0", "M134 T0", "M6 T0", "M109 S65"))
    assert state.waits.heater.tolist() == [0]
    assert nozzle(state)[-1] == 65.0


def test_columns_are_read_only(path: Path) -> None:
    state = read(path, moved("M109 S200", "T1"))
    for table in (state.tools, state.targets, state.waits, state.steps("nozzle"), state.periods("nozzle")):
        with pytest.raises(ValueError, match="read-only"):
            table.line[0] = 5


TOOL = st.sampled_from(
    ["T0", "T1", "T2", "T63", "T64", "T-1", "T255", "M6 T0", "M6 T1", "M6 T2", "M6", "T1\nM6"]
)
HOMING = "G161 Z F100"  # a row of moves of its own
EARLY = st.sampled_from([HOMING, "M133 T1", "M133", "M134 T0", "M135 T1", "M135 T0"])
DEGREES = st.sampled_from([0, 150, 180, 200, 215.5, 250])
NAMED = st.sampled_from(["", "", " T0", " T1", " T2", " T99", " T"])


@st.composite
def heat_lines(draw: st.DrawFn) -> str:
    code = draw(st.sampled_from([104, 104, 109, 140, 190, 141, 191]))
    named = draw(NAMED) if code in (104, 109) else ""
    value = draw(st.sampled_from(["", " S{}", " S{}", " R{}", " S{} R30"])).format(draw(DEGREES))
    return draw(st.sampled_from([f"M{code}{named}{value}", f"M{code}{value}{named}"]))


@st.composite
def g10_lines(draw: st.DrawFn) -> str:
    words = [f"S{draw(DEGREES)}", f"R{draw(DEGREES)}", "X1"]
    some = draw(st.lists(st.sampled_from(words), unique_by=lambda word: word[0]))
    return " ".join(["G10", draw(st.sampled_from(["P0", "P1", "P2", "P99", "L2 P1"])), *some])


@st.composite
def word_lines(draw: st.DrawFn) -> str:
    heater = draw(st.sampled_from(["extruder", "heater_bed"]))
    return f"SET_HEATER_TEMPERATURE HEATER={heater} TARGET={draw(DEGREES)}"


LINES = st.lists(
    st.one_of(
        TOOL,
        TOOL,
        heat_lines(),
        heat_lines(),
        g10_lines(),
        word_lines(),
        EARLY,
        st.just("M116"),
        st.just("MOVE"),
    ),
    min_size=1,
    max_size=40,
)


@given(LINES, st.booleans())
@settings(max_examples=10 if compiler_is_off() else 150, deadline=None)
def test_against_a_slow_follower(
    tmp_path_factory: pytest.TempPathFactory, lines: list[str], one_nozzle: bool
) -> None:
    text = "G91\n" + "\n".join("G1 X1 E1" if line == "MOVE" else line for line in [*lines, "MOVE"]) + "\n"
    state = read(tmp_path_factory.mktemp("state") / "a.gcode", text, one_nozzle=one_nozzle)
    slow = follow(text.encode(), one_nozzle=one_nozzle)
    moves = np.flatnonzero([line == "MOVE" for line in [*lines, "MOVE"] if line in ("MOVE", HOMING)])
    tools, nozzles, plates, chambers = zip(*slow.at_moves, strict=True)
    assert state.tool_of(moves).tolist() == list(tools)
    assert [motion.tool for motion in interpret(text.encode()).motions] == list(tools)
    for heater, expected in (("nozzle", nozzles), ("plate", plates), ("chamber", chambers)):
        wanted = plain(np.array([target for target, _ in expected]))
        assert plain(state.target_of(heater, moves)) == wanted  # type: ignore[arg-type]
        periods = state.periods(heater)  # type: ignore[arg-type]
        assert plain(np.repeat(periods.target_c, periods.end - periods.begin)[moves]) == wanted
        lines_of_moves = np.repeat(periods.line, periods.end - periods.begin)[moves]
        assert lines_of_moves.tolist() == [line for _, line in expected]
    assert list(zip(state.tools.line.tolist(), state.tools.tool.tolist(), strict=True)) == slow.changes
    names = {PLATE: "plate", CHAMBER: "chamber", ALL_HEATERS: "all"}
    heaters = [names.get(number, f"nozzle {number}") for number in state.waits.heater.tolist()]
    columns = (state.waits.line.tolist(), heaters, plain(state.waits.target_c), state.waits.cooling.tolist())
    waits = [(line, heater, -1.0 if math.isnan(c) else c, cooling) for line, heater, c, cooling in slow.waits]
    assert list(zip(*columns, strict=True)) == waits
    last = state.last_targets()
    numbers = {"plate": PLATE, "chamber": CHAMBER}
    final = {
        numbers.get(heater, int(heater[7:] or 0)): target for heater, (target, _) in slow.targets.items()
    }
    assert dict(zip(last.heater.tolist(), last.target_c.tolist(), strict=True)) == final


def changing(count: int) -> Events:
    """Return `count` events: in turn a tool change and a temperature, with one move between."""
    turn = np.arange(count)
    is_tool = turn % 2 == 0
    return Events(
        np.where(is_tool, ord("T"), ord("M")).astype(np.uint8),
        np.where(is_tool, 10 * ((turn // 2 + 1) % 4), 1040).astype(np.int32),
        (turn + 1).astype(np.int32),
        turn.astype(np.int32),
        np.concatenate([[0], np.cumsum(~is_tool)]).astype(np.int32),
        np.full(int((~is_tool).sum()), ord("S"), np.uint8),
        200.0 + np.arange(int((~is_tool).sum())) % 7,
    )


def test_many_tool_changes_are_quick() -> None:
    """100,000 changes are told without a loop over them (0.05 s on a machine of two slow cores)."""
    events = changing(200_000)
    begun = perf_counter()
    state = read_machine_state(events, (), len(events), one_nozzle=False)
    periods = state.periods("nozzle")
    tools = state.tool_of(np.arange(len(events)))
    assert perf_counter() - begun < 2.0
    assert (len(state.tools), len(state.targets)) == (100_000, 100_000)
    assert tools[:9].tolist() == [1, 1, 2, 2, 3, 3, 0, 0, 1]
    assert periods.end[-1] == len(events)
    assert plain(state.target_of("nozzle", [0, 1, 2, 8, 9])) == [-1, 200, -1, 200, 204]
