"""A slow follower of tool and heat: one line after the other, dictionaries instead of columns.

Written from the text of `read_machine_state`, on the words and commands of the slow interpreter.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass, field

from tests.naive.reader import commands_of
from tests.naive.words import parse_line, split_lines

NEVER = (math.nan, 0)
HEATERS = {104: "nozzle", 109: "nozzle", 140: "plate", 190: "plate", 141: "chamber", 191: "chamber"}
NOZZLE_HEAT = 150.0
SET = re.compile(r"SET_HEATER_TEMPERATURE HEATER=(extruder|heater_bed) TARGET=([\d.]+)")


@dataclass
class SlowState:
    """What holds now, and what was met on the way."""

    one_nozzle: bool
    early: bool = False
    """The program homes by G161 or G162."""
    plate_by_109: bool = False
    """M109 is for the plate: in early programs where none of them is as hot as a nozzle."""
    tool: int = 0
    targets: dict[str, tuple[float, int]] = field(default_factory=dict)
    """(degC, line where it is written) by heater: ``nozzle 1``, ``plate``, ``chamber``."""
    working: dict[int, tuple[float, int]] = field(default_factory=dict)
    resting: dict[int, tuple[float, int]] = field(default_factory=dict)
    waits: list[tuple[int, str, float, bool]] = field(default_factory=list)
    """(line, heater or ``all``, target, for cooling too)."""
    changes: list[tuple[int, int]] = field(default_factory=list)
    """(line, tool)."""
    at_moves: list[tuple[int, tuple[float, int], tuple[float, int], tuple[float, int]]] = field(
        default_factory=list
    )
    """Tool and targets of nozzle in use, plate and chamber at each G1 that moves."""

    def nozzle(self, tool: int) -> str:
        return "nozzle 0" if self.one_nozzle else f"nozzle {tool}"

    def target(self, heater: str) -> tuple[float, int]:
        return self.targets.get(heater, NEVER)

    def choose(self, number: float, line: int) -> None:
        if not 0 <= number < 64 or int(number) == self.tool:
            return
        if self.tool in self.resting and not self.one_nozzle:
            self.targets[self.nozzle(self.tool)] = self.resting[self.tool]
        self.tool = int(number)
        self.changes.append((line, self.tool))
        if self.tool in self.working:
            self.targets[self.nozzle(self.tool)] = self.working[self.tool]

    def heat(self, code: float, words: dict[str, float], line: int) -> None:
        named = words.get("T", -1.0)
        heater = HEATERS[int(code)]
        if code == 109 and self.plate_by_109:
            heater, code = "plate", 140
        if heater == "nozzle":
            heater = self.nozzle(int(named) if 0 <= named < 64 else self.tool)
        target = words.get("S", words.get("R"))
        if target is not None:
            self.targets[heater] = (target, line)
        if code in (109, 190, 191):
            self.waits.append((line, heater, self.target(heater)[0], "R" in words and "S" not in words))

    def tool_settings(self, words: dict[str, float], line: int) -> None:
        number = words.get("P", -1.0)
        if not 0 <= number < 64 or "L" in words:
            return
        tool = int(number)
        if "S" in words:
            self.working[tool] = (words["S"], line)
            if tool == self.tool:
                self.targets[self.nozzle(tool)] = self.working[tool]
        if "R" in words:
            self.resting[tool] = (words["R"], line)
            if tool != self.tool and not self.one_nozzle:
                self.targets[self.nozzle(tool)] = self.resting[tool]

    def obey(self, letter: str, number: float, words: dict[str, float], line: int) -> None:
        if letter == "T" or (letter == "M" and number in (6, 135)):
            self.choose(number if letter == "T" else words.get("T", -1.0), line)
            if number == 6 and letter == "M" and self.early:
                self.waits.append((line, "all", math.nan, True))
        elif letter == "M" and number in (133, 134) and self.early:
            named = words.get("T", -1.0)
            own = self.nozzle(int(named) if 0 <= named < 64 else self.tool)
            heater = own if number == 133 else "plate"
            self.waits.append((line, heater, self.target(heater)[0], True))
        elif letter == "M" and number in HEATERS:
            self.heat(number, words, line)
        elif letter == "M" and number == 116:
            self.waits.append((line, "all", math.nan, True))
        elif letter == "G" and number == 10:
            self.tool_settings(words, line)
        elif letter == "G" and number == 1:
            self.at_moves.append(
                (self.tool, self.target(self.nozzle(self.tool)), self.target("plate"), self.target("chamber"))
            )

    def in_words(self, text: str, line: int) -> None:
        if found := SET.match(text):
            heater = "plate" if found[1] == "heater_bed" else self.nozzle(self.tool)
            self.targets[heater] = (float(found[2]), line)


def follow(data: bytes, *, one_nozzle: bool) -> SlowState:
    """Carry out a program whose G1 lines all move."""
    state = SlowState(one_nozzle)
    every = [
        found
        for number, raw in enumerate(split_lines(data), start=1)
        if (line := parse_line(raw, number)).kind == "command"
        for found in commands_of(line.words)
    ]
    state.early = any(letter == "G" and code in (161, 162) for letter, code, _ in every)
    hot = [
        words.get("S", words.get("R")) or 0.0 for letter, code, words in every if (letter, code) == ("M", 109)
    ]
    state.plate_by_109 = state.early and max(hot, default=0.0) < NOZZLE_HEAT
    for number, raw in enumerate(split_lines(data), start=1):
        line = parse_line(raw, number)
        if line.kind == "macro":
            state.in_words(raw.decode(), number)
        for letter, code, words in commands_of(line.words) if line.kind == "command" else []:
            known = {name: value for name, value in words.items() if value is not None}
            state.obey(letter, code, known, number)
    return state
