"""Small columns made by hand, and a printer card of the Quayside Repair Workshop."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Any

import numpy as np

from viewer.cards.printer import Axes, Corner, Heat, Homing, PrinterCard
from viewer.layers.layers import Layers
from viewer.read.events import Events
from viewer.read.machine_state import MachineState, read_machine_state
from viewer.read.moves import BEAD, PLACE, PRIME, RETRACT, TRAVEL, WIPE, Moves
from viewer.read.settings import FIELDS, Settings

Step = dict[str, float]


def moves_of(steps: Sequence[Step]) -> Moves:
    """Make moves from steps of x y z (else as before), e (filament), f (mm/s); ``place`` for homing."""
    here = {"x": 0.0, "y": 0.0, "z": 0.0}
    rows = []
    for step in steps:
        there = {axis: step.get(axis, here[axis]) for axis in here}
        length = float(np.sqrt(sum((there[a] - here[a]) ** 2 for a in here)))
        e = step.get("e", 0.0)
        if "place" in step:
            kind, length = PLACE, 0.0
        elif length > 0.0:
            kind = BEAD if e > 0 else WIPE if e < 0 else TRAVEL
        else:
            kind = PRIME if e > 0 else RETRACT if e < 0 else TRAVEL
        rows.append((there["x"], there["y"], there["z"], length, e, step.get("f", 0.0), kind))
        here = there
    table = np.array(rows, dtype=np.float64).reshape(-1, 7)
    columns = [np.ascontiguousarray(table[:, i], np.float32) for i in range(6)]
    return Moves(*columns, np.arange(1, len(rows) + 1, dtype=np.int32), table[:, 6].astype(np.uint8))


def settings_of(moves: int, *rows: dict[str, float], of_move: Sequence[int] | None = None) -> Settings:
    """Make settings; one empty row where none is given, and row 0 for all moves unless said otherwise."""
    table = np.full((max(len(rows), 1), len(FIELDS)), np.nan)
    for i, row in enumerate(rows):
        for name, value in row.items():
            table[i, FIELDS.index(name)] = value
    index = np.zeros(moves, np.int32) if of_move is None else np.array(of_move, np.int32)
    return Settings(table, index, ())


def events_of(*commands: tuple[str, int]) -> Events:
    """Make events from (text, index of the next move)."""
    letters, codes, first, names, values = [], [], [0], [], []
    for text, _ in commands:
        head, *words = re.findall(r"([A-Z])(-?[0-9.]*)", text)
        letters.append(ord(head[0]))
        codes.append(round(float(head[1]) * 10))
        names += [ord(name) for name, _ in words]
        values += [float(value) if value else np.nan for _, value in words]
        first.append(len(names))
    move = np.array([move for _, move in commands], np.int32)
    return Events(
        np.array(letters, np.uint8),
        np.array(codes, np.int32),
        np.arange(1, len(commands) + 1, dtype=np.int32),
        move,
        np.array(first, np.int32),
        np.array(names, np.uint8),
        np.array(values, np.float64),
    )


def state_of(events: Events, tools: int = 1) -> MachineState:
    """Read the machine's state on a printer with a number of tools."""
    moves = int(events.move.max(initial=0)) + 1
    return read_machine_state(events, (), moves, one_nozzle=tools == 1)


def layers_of(*first_move: int) -> Layers:
    """Make layers from the first move of each, and the end of the last."""
    n = len(first_move) - 1
    return Layers(
        np.array(first_move, np.int32),
        0.2 * np.arange(1, n + 1),
        np.full(n, 0.2),
        np.zeros(n, np.int32),
        np.arange(n) == 0,
        np.zeros(n, np.bool_),
    )


def heron(rule: str = "jerk", **changes: Any) -> PrinterCard:
    """Return the card of the printer Heron; changed where told."""
    values: dict[str, Any] = {
        "name": "Heron",
        "max_speed_mm_s": Axes(x=250.0, y=200.0, z=12.0, e=40.0),
        "max_acceleration_mm_s2": Axes(x=2500.0, y=2000.0, z=150.0, e=3000.0),
        "print_acceleration_mm_s2": 1200.0,
        "travel_acceleration_mm_s2": 1800.0,
        "retract_acceleration_mm_s2": 2200.0,
        "corner": Corner(
            rule=rule,  # type: ignore[arg-type]
            jerk_mm_s=Axes(x=8.0, y=7.0, z=0.4, e=4.0),
            junction_deviation_mm=0.02,
            right_angle_mm_s=5.0,
        ),
        "homing": Homing(seconds=18.0),
        "levelling_s": 50.0,
        "tool_change_s": 15.0,
        "pause_s": 240.0,
        "heat": Heat(
            nozzle_warming_c_s=2.0,
            nozzle_cooling_c_s=1.0,
            plate_warming_c_s=0.5,
            plate_cooling_c_s=0.1,
            room_c=20.0,
        ),
    }
    return PrinterCard(**(values | changes))


def wide_open(rule: str, acceleration: float, **corner: Any) -> PrinterCard:
    """Return a card whose axes never limit anything: one acceleration, one corner rule."""
    wide = Axes(x=1e6, y=1e6, z=1e6, e=1e6)
    return heron(
        max_speed_mm_s=wide,
        max_acceleration_mm_s2=wide,
        print_acceleration_mm_s2=acceleration,
        travel_acceleration_mm_s2=acceleration,
        retract_acceleration_mm_s2=acceleration,
        corner=Corner(rule=rule, **corner),  # type: ignore[arg-type]
    )


def random_steps(seed: int, count: int, *, alone: float = 0.15, planar: bool = False) -> list[Step]:
    """Return a random way through a 40 mm box: beads, travels, wipes, height changes, retracts and primes."""
    random = np.random.default_rng(seed)
    steps: list[Step] = []
    for _ in range(count):
        speed = float(random.choice([15.0, 40.0, 80.0, 150.0, 300.0]))
        if random.random() < alone:
            steps.append({"e": float(random.choice([-0.8, 0.8, -3.0, 3.0])), "f": 35.0})
            continue
        step = {"x": float(random.uniform(0, 40)), "y": float(random.uniform(0, 40)), "f": speed}
        lot = random.random()
        if lot < 0.1 and not planar:
            step = {"z": float(random.uniform(0, 5)), "f": 10.0}
        elif lot < 0.2 and not planar:
            step["z"] = float(random.uniform(0, 5))
        if lot < 0.7:
            step["e"] = float(random.uniform(0.1, 4.0)) * (1 if lot < 0.6 else -1)
        steps.append(step)
    return steps
