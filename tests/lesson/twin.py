"""The answers to a lesson's questions, computed by other means: loops over moves, polygons, the file's own text."""

from __future__ import annotations

import math
import re
from collections import defaultdict
from collections.abc import Callable
from functools import cache
from itertools import takewhile

import numpy as np
import shapely
from shapely.geometry import LineString
from shapely.ops import unary_union

from viewer import Program
from viewer.beads.section import layer_beads
from viewer.layers.layers import ROLE_NAMES
from viewer.lesson.step import Step
from viewer.read.moves import BEAD, RETRACT, TRAVEL, WIPE
from viewer.shape import ShapeFigures

Answer = float | str


def amount(text: str) -> float:
    """Return the number that a choice says, in its smallest unit: s, mm, g, mm/s, share, or a plain number."""
    units = {
        "h": 3600.0,
        "min": 60.0,
        "s": 1.0,
        "m": 1000.0,
        "mm": 1.0,
        "%": 0.01,
        "g": 1.0,
        "mm/s": 1.0,
        "": 1.0,
    }
    text = text.removeprefix("layer ").removeprefix("below ")
    found = re.findall(r"([\d.]+)\s*(mm/s|min|mm|m|h|s|g|%|)", text)
    assert found, text
    return sum(float(number) * units[unit] for number, unit in found)


@cache
def _grams_by_role(program: Program) -> dict[str, float]:
    """Add up filament over all moves: what was pulled back counts only once it is fed beyond where it was."""
    per_mm = math.pi / 4.0 * program.filament_diameter_mm**2 * program.filament.density_g_cm3 / 1000.0
    tools = program.settings.column("tool")[program.settings.of_move].tolist()
    owed: dict[float, float] = defaultdict(float)  # by tool: how far it is pulled back
    found: dict[str, float] = defaultdict(float)
    for tool, fed, role in zip(tools, program.moves.fed_mm.tolist(), program.roles.tolist(), strict=True):
        owed[tool] -= fed
        if owed[tool] < 0.0:
            found[ROLE_NAMES[role]] -= owed[tool] * per_mm
            owed[tool] = 0.0
    return found


def _grams(program: Program, role: str | None = None) -> float:
    found = _grams_by_role(program)
    return sum(found.values()) if role is None else found[role]


def _layer_seconds(program: Program) -> list[float]:
    """Return the time of each layer: its moves and ordered waits, without heat, homing, tools and pauses."""
    timing, found = program.timing, []
    for k in range(len(program.layers)):
        own = slice(int(program.layers.first_move[k]), int(program.layers.first_move[k + 1]))
        found.append(math.fsum(timing.time_s[own].tolist()))
    return found


def _edge(program: Program, _step: Step, _shape: ShapeFigures) -> Answer:
    """Return the least distance of any part bead of the first layers to the sides of a rectangular plate."""
    plate = program.printer.plate
    assert plate.shape == "rectangle" and plate.width_mm and plate.depth_mm
    least = math.inf
    for number in (np.flatnonzero(program.layers.is_first) + 1).tolist():
        beads = layer_beads(program.moves, program.layers, number, program.filament_diameter_mm)
        for k in range(len(beads)):
            if ROLE_NAMES[program.roles[beads.move[k]]] in ("hold-down", "purge"):
                continue
            r = float(beads.width_mm[k]) / 2.0
            for x, y in ((beads.x0_mm[k], beads.y0_mm[k]), (beads.x1_mm[k], beads.y1_mm[k])):
                least = min(least, x - r - plate.left_mm, plate.left_mm + plate.width_mm - x - r)
                least = min(least, y - r - plate.front_mm, plate.front_mm + plate.depth_mm - y - r)
    return float(least)


def _slowest_of_choices(program: Program, step: Step, _shape: ShapeFigures) -> Answer:
    assert step.question is not None
    seconds = _layer_seconds(program)
    return max(step.question.choices, key=lambda choice: seconds[round(amount(choice)) - 1])


def _solid_of_choices(program: Program, step: Step, _shape: ShapeFigures) -> Answer:
    assert step.question is not None

    def share(choice: str) -> float:
        own = program.layers.moves_of(round(amount(choice)))
        laid = solid = 0.0
        for k in range(own.start, own.stop):
            if program.moves.kind[k] == BEAD:
                laid += float(program.moves.length_mm[k])
                solid += float(program.moves.length_mm[k]) * (ROLE_NAMES[program.roles[k]] == "solid")
        return solid / laid

    return max(step.question.choices, key=share)


def _first_layer_done(program: Program, _step: Step, _shape: ShapeFigures) -> Answer:
    end = int(program.layers.first_move[1])
    waits = program.timing.waits
    before = [float(s) for s, move in zip(waits.seconds, waits.move, strict=True) if move < end]
    return math.fsum(program.timing.time_s[:end].tolist()) + math.fsum(before)


def _hold_share(program: Program, _step: Step, _shape: ShapeFigures) -> Answer:
    return _grams(program, "hold-down") / _grams(program)


def _purge_share(program: Program, _step: Step, _shape: ShapeFigures) -> Answer:
    return _grams(program, "purge") / _grams(program)


def _support(program: Program, _step: Step, _shape: ShapeFigures) -> Answer:
    return _grams(program, "support")


def _heaviest(program: Program, step: Step, _shape: ShapeFigures) -> Answer:
    assert step.question is not None
    return max(step.question.choices, key=lambda role: _grams(program, role))


def _inner_path(program: Program, step: Step, _shape: ShapeFigures) -> Answer:
    assert step.view.layer is not None
    own = program.layers.moves_of(step.view.layer + 1)
    return math.fsum(
        float(program.moves.length_mm[k])
        for k in range(own.start, own.stop)
        if program.moves.kind[k] == BEAD and ROLE_NAMES[program.roles[k]] == "inner loop"
    )


def _infill_share(program: Program, step: Step, _shape: ShapeFigures) -> Answer:
    """Return how much of the holes of walls and solid areas, as polygons, the infill covers."""
    assert step.view.layer is not None
    beads = layer_beads(program.moves, program.layers, step.view.layer + 1, program.filament_diameter_mm)
    drawn: dict[bool, list[shapely.Polygon]] = {True: [], False: []}
    for k in range(len(beads)):
        ends = [
            (float(beads.x0_mm[k]), float(beads.y0_mm[k])),
            (float(beads.x1_mm[k]), float(beads.y1_mm[k])),
        ]
        line = LineString(ends).buffer(float(beads.width_mm[k]) / 2.0, quad_segs=4)
        drawn[ROLE_NAMES[program.roles[beads.move[k]]] == "infill"].append(line)
    closed, infill = unary_union(drawn[False]), unary_union(drawn[True])
    pieces = closed.geoms if hasattr(closed, "geoms") else [closed]
    rooms = unary_union([shapely.Polygon(ring) for piece in pieces for ring in piece.interiors]).difference(
        closed
    )
    middles = [shapely.Point(line.centroid) for line in drawn[True]]
    tree = shapely.STRtree(middles)
    filled = [room for room in getattr(rooms, "geoms", [rooms]) if len(tree.query(room, "contains"))]
    return float(sum(room.intersection(infill).area for room in filled) / sum(room.area for room in filled))


def _bridge(_program: Program, _step: Step, shape: ShapeFigures) -> Answer:
    return float(np.max(shape.bridge_mm))


def _overhanging(_program: Program, _step: Step, shape: ShapeFigures) -> Answer:
    return float(sum(1 for area in shape.overhang_mm2 if area > 0.0))


def _is_pulled(program: Program, step: Step, _shape: ShapeFigures) -> Answer:
    """Go from the travel back to the bead before and on to the bead behind it."""
    move = step.view.bead
    assert move is not None
    kind = program.moves.kind
    assert kind[move] == TRAVEL
    first = last = move
    while kind[first - 1] != BEAD:
        first -= 1
    while kind[last + 1] != BEAD:
        last += 1
    return "yes" if any(kind[k] in (RETRACT, WIPE) for k in range(first, last + 1)) else "no"


def _feeding_word(program: Program, step: Step, _shape: ShapeFigures) -> Answer:
    assert step.view.bead is not None
    text = program.texts.line(int(program.moves.line[step.view.bead]))
    (word,) = re.findall(r"E[-+.\d]+", text.partition(";")[0])
    return str(word)


def _reached(program: Program, step: Step, _shape: ShapeFigures) -> Answer:
    assert step.view.bead is not None
    return float(program.timing.peak_mm_s[step.view.bead])


def _heating(program: Program, _step: Step, _shape: ShapeFigures) -> Answer:
    waits = program.timing.waits
    names = (
        "laying",
        "held back",
        "speeding up and braking",
        "travel",
        "retract and prime",
        "height changes",
        "dwell",
    )
    return math.fsum(
        float(s) for s, cause in zip(waits.seconds, waits.cause, strict=True) if cause == len(names)
    )


def _first_pause(program: Program, _step: Step, _shape: ShapeFigures) -> Answer:
    """Return when the first M0, M25, M226, M600 or M601 of the file comes, by the moves and waits before it."""
    stops = re.compile(r"\s*(?:N\d+\s*)?M0*(?:0|1|25|226|600|601)\b")
    line = next(
        n for n, text in enumerate(program.texts.fetch(1, program.tally.lines), 1) if stops.match(text)
    )
    waits = program.timing.waits
    before = [
        float(s)
        for s, event in zip(waits.seconds, waits.event, strict=True)
        if program.events.line[event] < line
    ]
    moved = program.timing.time_s[program.moves.line < line]
    return math.fsum(moved.tolist()) + math.fsum(before)


def _costliest(program: Program, step: Step, _shape: ShapeFigures) -> Answer:
    assert step.question is not None
    said = {"held back by the machine's limits": "held back"}
    booked = program.figures.time.ledger_s
    assert not any("laying" in choice for choice in step.question.choices)
    return max(step.question.choices, key=lambda choice: booked[said.get(choice, choice)])


def _switching_off(program: Program, _step: Step, _shape: ShapeFigures) -> Answer:
    lines = [
        re.sub(r"^N\d+|\*\d+$|\(.*?\)|;.*", "", line).strip()
        for line in program.texts.fetch(1, program.tally.lines)
    ]
    nozzle = [line for line in lines if re.match(r"M10[49]\b", line)]
    cold = list(takewhile(lambda line: re.search(r"S0*(?:\.0*)?$", line), reversed(nozzle)))
    return cold[
        -1
    ]  # the first of those after which nothing heats it; the cards of these tests have one nozzle


ANSWERS: dict[str, Callable[[Program, Step, ShapeFigures], Answer]] = {
    "plate": _edge, "layers": _slowest_of_choices, "first-layer": _first_layer_done, "hold-down": _hold_share,
    "outline": _heaviest, "inner-loops": _inner_path, "solid": _solid_of_choices, "infill": _infill_share,
    "support": _support, "bridge": _bridge, "overhang": _overhanging, "travel": _is_pulled, "line": _feeding_word,
    "speed": _reached, "heat": _heating, "pauses": _first_pause, "tools": _purge_share, "time": _costliest,
    "end": _switching_off,
}  # fmt: skip
