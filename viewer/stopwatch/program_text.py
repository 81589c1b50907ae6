"""The test as a program: cautions first, then homing, a slow way to the middle, and the blocks with pauses between."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from typing import Final

from viewer.stopwatch.block import Block
from viewer.stopwatch.blocks import MotionTest
from viewer.stopwatch.caution import CAUTION, HEAT_CAUTION
from viewer.stopwatch.values import value_of

PAUSE_S: Final = 10
"""Between two blocks: to write a time down and put the watch back."""
APPROACH_MM_S: Final = (50.0, 10.0)
"""Of the way to the middle, in X and Y, and in Z; less where the card allows less."""
LINES_SAID: Final = "total lines:"


def program_lines(test: MotionTest) -> list[str]:
    """Return the lines of the test's program, without line ends."""
    body = [*_start(test)]
    for number, block in enumerate(test.blocks, 1):
        body += [*_pause(test, number), *_moves(block)]
    body += _heat(test) if test.heat else []
    body += [
        f"G4 S{PAUSE_S}",
        "M104 S0",
        "M140 S0",
        "M84 X Y ; Z is held: the nozzle is high above the plate",
    ]
    lines = [*_head(test, _mark(body)), *body]
    return [*lines, f"; {LINES_SAID} {len(lines) + 1}"]


def mark_of(test: MotionTest) -> str:
    """Return four letters and digits that tell tests apart; the program has them in its first line."""
    return program_lines(test)[0].split()[3]


def _mark(lines: list[str]) -> str:
    return hashlib.sha256("\n".join(lines).encode()).hexdigest()[:4].upper()


def caution_of(test: MotionTest) -> tuple[str, ...]:
    """Return what must be read first, one sentence each."""
    if test.heat is None:
        return CAUTION
    return (*CAUTION, HEAT_CAUTION.format(heater=test.heat.heater, target=test.heat.target_c))


def _head(test: MotionTest, mark: str) -> Iterator[str]:
    heat = "" if test.heat else ", no heat"
    yield f"; Stopwatch test {mark} of {test.card.name}: motion alone, no filament{heat}"
    yield f"; printer = {test.card.name}"
    yield ";"
    yield "; CAUTION"
    for sentence in caution_of(test):
        yield f"; {sentence}"
    yield ";"
    yield f"; The machine homes, rises to Z{test.room.z_mm:g}, and stands still for {PAUSE_S} s before each block and"
    yield "; after the last. Time each block from its first motion to its last."
    for number, (words, seconds) in enumerate(zip(test.words, test.expected_s, strict=True), 1):
        yield f"; Block {number}: {words}; by the card it takes {seconds:.0f} s"
    yield ";"


def _start(test: MotionTest) -> Iterator[str]:
    card, room = test.card, test.room
    sideways = min(APPROACH_MM_S[0], value_of(card, "speed x"), value_of(card, "speed y"))
    upright = min(APPROACH_MM_S[1], value_of(card, "speed z"))
    yield "M104 S0 ; no heat"
    yield "M140 S0"
    yield "G21 ; mm"
    yield "G90 ; absolute places"
    yield "G28 ; home"
    yield f"G1 Z{_number(room.z_mm)} F{_feed(upright)}"
    yield f"G1 X{_number(room.x_mm)} Y{_number(room.y_mm)} F{_feed(sideways)}"


def _pause(test: MotionTest, number: int) -> Iterator[str]:
    yield f"G4 S{PAUSE_S}"
    yield f"; Block {number}: {test.words[number - 1]}"


def _moves(block: Block) -> Iterator[str]:
    """Yield a line for each move; only what changes is written."""
    before, feed = block.points_mm[0], f" F{_feed(block.speed_mm_s)}"
    for point in block.points_mm[1:]:
        words = [
            f"{letter}{_number(float(point[axis]))}"
            for axis, letter in enumerate("XYZ")
            if abs(point[axis] - before[axis]) > 1e-9
        ]
        yield f"G1 {' '.join(words)}{feed}"
        before, feed = point, ""


def _heat(test: MotionTest) -> Iterator[str]:
    assert test.heat is not None
    number, code = len(test.words), "M109" if test.heat.heater == "nozzle" else "M190"
    off = "M104 S0" if test.heat.heater == "nozzle" else "M140 S0"
    lift = _number(test.room.z_mm + min(5.0, test.room.up_mm))
    yield from _pause(test, number)
    yield f"; {HEAT_CAUTION.format(heater=test.heat.heater, target=test.heat.target_c)}"
    speed = min(APPROACH_MM_S[1], value_of(test.card, "speed z"))
    yield f"G1 Z{lift} F{_feed(speed)} ; start the watch when this lift ends"
    yield "M400"
    yield f"{code} S{_number(test.heat.target_c)}"
    yield off
    yield f"G1 Z{_number(test.room.z_mm)} ; stop it when this begins"


def _feed(speed_mm_s: float) -> str:
    return f"{int(speed_mm_s * 60.0 + 1e-6)}"


def _number(value: float) -> str:
    return f"{value:.3f}".rstrip("0").rstrip(".")
