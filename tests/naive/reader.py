"""The second interpreter: slow, plain, float64, written from the design text alone.

Decisions where the text leaves a choice (each has a test or a note in `words` and `arcs`):

* An M command takes every word behind it on its line as its own, so ``M1006 A0 M100 E37`` is one command;
  G commands share a line. T is a tool word only as the first word of a line or with M6.
* Words of a line act in RS-274's order: modes first, motion last. A line with G10 G28 G29 G30 G92 gives its
  axis words to that command and moves nothing else. Of two motion words the first holds.
* F that is zero or negative changes nothing; before the first F the speed is 0.
* ``M622 J0 ... M623`` is skipped, ``M622 J1`` (or without J) is carried out: the judgement before it is taken
  as true, so that of two opposite blocks exactly one counts. They nest; unclosed, they last to the end.
* M120 keeps distance modes, units, plane and F, M121 brings them back; positions and offsets stay.
* M101/M102 and M103 count only where no motion of the whole program carries E: the moves in X Y between are
  beads with filament 0.
* M221 without T holds for all tools; it acts on every E, not on G10 and G11. M207/M208 lengths follow G20.
* M200 D: E is a volume, filament = E / (pi D^2 / 4); D0 or S0 ends it, S1 takes `filament_mm` if no D came.
* G92 X without a value sets 0. G92.1 and G92.2 clear the offsets of X Y Z; E has no machine zero and is left.
* G161 and G162 home like G28, and so does M132 if it names an axis; until such an axis moves, a G92 says where it
  stands (in Z only if that is not below 0). M135 T takes a tool. A B C U V W behind G92 are axes that are not followed;
  A0 zeroes the filament while tool 0 is in use, B0 while tool 1 is.
* G53 takes the line's X Y Z as machine millimetres, also under G91. G54-G59 change nothing (tables unknown).
* A path under 1e-7 mm is none, filament under 1e-9 mm is none: an offset's rounding is no motion.
* Lines with ``/`` first are not carried out (block delete on). A line whose checksum fails is carried out.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from tests.naive import arcs
from tests.naive.result import Motion, NaiveResult, Point
from tests.naive.words import Line, Word, parse_line, split_lines

AXES = "XYZ"
INCH_MM = 25.4
FAR_MM = 100_000.0
NO_PATH_MM = 1e-7
NO_FILAMENT_MM = 1e-9
MOTION = (0.0, 1.0, 2.0, 3.0)
# Splines, canned cycles, probing: they move; calibration codes carry axis letters (G29.1 Z-0.02) and do not.
PROBES = (38.2, 38.3, 38.4, 38.5, 380.0)
STRAIGHTENED = (5.0, 5.1, 5.2, 6.0, 33.0, 73.0, 76.0, *map(float, range(81, 90)), *PROBES)
TAKES_AXES = (10.0, 28.0, 29.0, 30.0, 92.0, 161.0, 162.0)


@dataclass(frozen=True, slots=True)
class Modes:
    """What M120 keeps."""

    relative: bool = False
    relative_e: bool = False
    unit_mm: float = 1.0
    plane: int = 17
    speed_mm_s: float = 0.0


def commands_of(words: list[Word]) -> list[tuple[str, float, dict[str, float | None]]]:
    """Return (letter, number, words) of each command on a line, in the order written."""
    found: list[tuple[str, float, dict[str, float | None]]] = []
    own: dict[str, float | None] = {}
    for i, word in enumerate(words):
        if word.letter == "M" and word.value is not None:
            later: dict[str, float | None] = {}
            for w in words[i + 1 :]:
                later.setdefault(w.letter, w.value)
            found.append(("M", word.value, later))
            break
        if word.letter == "G" and word.value is not None:
            found.append(("G", word.value, own))
        elif word.letter == "T" and i == 0 and word.value is not None:
            found.append(("T", word.value, own))
        else:
            own.setdefault(word.letter, word.value)
    return found


def command_name(letter: str, number: float) -> str:
    return f"{letter}{int(number)}" if number == int(number) else f"{letter}{number:g}"


class Interpreter:
    """The machine's state; `line` is called once a line."""

    def __init__(
        self,
        home: Point,
        bare_axis_words: bool,
        retract_mm: float,
        retract_mm_s: float,
        filament_mm: float,
        switched: bool,
    ) -> None:
        self.home, self.bare_axis_words, self.switched = home, bare_axis_words, switched
        self.result = NaiveResult()
        self.modes = Modes()
        self.kept: list[Modes] = []
        self.position: list[float] = [0.0, 0.0, 0.0]
        self.offset: list[float] = [0.0, 0.0, 0.0]
        self.untold: dict[str, float] = {}
        """Axes at end stops whose place is not known, and where they are taken to stand."""
        self.e_mm = 0.0
        self.tool = 0
        self.motion = 1.0
        self.blocks: list[bool] = []
        self.switch_on = False
        self.flow_all = 1.0
        self.flow_of: dict[int, float] = {}
        self.volume_diameter_mm = filament_mm
        self.volumetric = False
        self.retracted_mm: float | None = None
        self.retract = (retract_mm, retract_mm_s)
        self.recover: tuple[float, float | None] = (0.0, None)
        self.sum_mm: dict[int, float] = {}
        self.last_n: int | None = None

    def set_modes(self, **changes: float) -> None:
        fields = {name: getattr(self.modes, name) for name in Modes.__slots__} | changes
        self.modes = Modes(**fields)

    # --- one line ---

    def line(self, line: Line) -> None:
        self.count(line)
        found = commands_of(line.words) if line.kind == "command" else []
        for letter, number, _ in found:
            self.result.commands[command_name(letter, number)] += 1
        if found and found[-1][:2] in (("M", 622.0), ("M", 623.0)):
            self.block(found[-1][1], found[-1][2])
        elif not all(self.blocks):
            self.result.skipped_lines += line.kind != "empty"
        elif line.kind == "axes" and self.bare_axis_words:
            self.move(self.motion, {w.letter: w.value for w in reversed(line.words)}, False, line.number)
        else:
            self.obey(found, line.number)

    def count(self, line: Line) -> None:
        result = self.result
        lists = {"text": result.doubtful_lines, "macro": result.macro_lines, "deleted": result.deleted_lines}
        if line.kind in lists:
            lists[line.kind].append(line.number)
        result.bare_axis_lines += line.kind == "axes"
        result.exponent_words += line.exponents
        result.bad_words += line.bad_words
        if line.checksum_ok is False:
            result.checksum_mismatches.append(line.number)
        if line.n is not None:
            resets = line.first("M") == 110.0
            if self.last_n is not None and line.n <= self.last_n and not resets:
                result.n_out_of_order.append(line.number)
            self.last_n = None if resets else line.n

    def block(self, code: float, words: dict[str, float | None]) -> None:
        if code == 622:
            self.blocks.append(words.get("J") != 0)
        elif self.blocks:
            self.blocks.pop()

    def obey(self, found: list[tuple[str, float, dict[str, float | None]]], number: int) -> None:
        motions = [
            (code, words)
            for letter, code, words in found
            if letter == "G" and code in (*MOTION, *STRAIGHTENED)
        ]
        g_codes = [code for letter, code, _ in found if letter == "G"]
        for letter, code, words in found:
            if letter == "T":
                self.choose_tool(code)
            elif letter == "M":
                self.m_command(code, words)
            elif code not in (*MOTION, *STRAIGHTENED):
                self.g_command(code, words, number)
        taken = any(code in TAKES_AXES or code in (92.1, 92.2) for code in g_codes)
        if motions and not taken:
            code, words = motions[0]
            self.motion = code if code in MOTION else self.motion
            self.move(code, words, 53.0 in g_codes, number)
        elif found and found[0][0] == "G" and all(c in range(17, 22) or c in (90, 91, 53) for c in g_codes):
            self.take_speed(found[0][2])  # `G90 F3000`: F is modal

    # --- modes ---

    def choose_tool(self, number: float) -> None:
        if 0 <= number < 64:
            self.tool = int(number)

    def g_command(self, code: float, words: dict[str, float | None], number: int) -> None:
        if code in (17, 18, 19):
            self.set_modes(plane=int(code))
        elif code in (20, 21):
            self.set_modes(unit_mm=INCH_MM if code == 20 else 1.0)
        elif code in (90, 91):
            self.set_modes(relative=code == 91)
        elif code in (28, 161, 162):
            self.go_home(words, untold=code != 28)
        elif code == 92:
            self.set_position(words)
        elif code in (92.1, 92.2):
            self.offset = [0.0, 0.0, 0.0]
        elif code in (10, 11) and "L" not in words and "P" not in words:
            self.retraction(code == 10, number)

    def m_command(self, code: float, words: dict[str, float | None]) -> None:
        value = {k: v for k, v in words.items() if v is not None}
        unit = self.modes.unit_mm
        if code in (82, 83):
            self.set_modes(relative_e=code == 83)
        elif code in (101, 102, 103):
            self.switch_on = code != 103
        elif code == 120:
            self.kept.append(self.modes)
        elif code == 121 and self.kept:
            self.modes = self.kept.pop()
        elif code == 132 and set(words) & set(AXES):
            self.go_home(words, untold=True)
        elif code in (6, 135) and "T" in value:
            self.choose_tool(value["T"])
        elif code == 200:
            self.set_volumetric(value)
        elif code == 221 and "S" in value:
            self.set_flow(value)
        elif code == 207:
            speed = value["F"] * unit / 60 if value.get("F", 0) > 0 else self.retract[1]
            self.retract = (value["S"] * unit if "S" in value else self.retract[0], speed)
        elif code == 208:
            recover = value["F"] * unit / 60 if value.get("F", 0) > 0 else self.recover[1]
            self.recover = (value["S"] * unit if "S" in value else self.recover[0], recover)

    def set_volumetric(self, value: dict[str, float]) -> None:
        if "D" in value:
            self.volumetric = value["D"] > 0
            self.volume_diameter_mm = (
                value["D"] * self.modes.unit_mm if value["D"] > 0 else self.volume_diameter_mm
            )
        if "S" in value:
            self.volumetric = value["S"] > 0

    def set_flow(self, value: dict[str, float]) -> None:
        if "T" in value:
            self.flow_of[int(value["T"])] = value["S"] / 100
        else:
            self.flow_all = value["S"] / 100
            self.flow_of.clear()

    # --- places ---

    def go_home(self, words: dict[str, float | None], untold: bool) -> None:
        named = [axis for axis in AXES if axis in words] or list(AXES)
        for axis in named:
            self.untold.pop(axis, None)
            if untold:
                self.untold[axis] = self.home[AXES.index(axis)]
            self.position[AXES.index(axis)] = self.home[AXES.index(axis)]
            self.offset[AXES.index(axis)] = 0.0

    def set_position(self, words: dict[str, float | None]) -> None:
        named = [letter for letter in "XYZE" if letter in words]
        if not named and not set(words) & set("ABCUVW"):
            named = list("XYZE")
        if self.tool < 2 and words.get("AB"[self.tool]) == 0.0:
            self.e_mm = 0.0
        for letter in named:
            mm = (words.get(letter) or 0.0) * self.modes.unit_mm
            if letter == "E":
                self.e_mm = mm
                continue
            here = self.position[AXES.index(letter)]
            stated = words.get(letter) is not None and (letter != "Z" or mm >= 0.0)
            if stated and letter in self.untold and here == self.untold[letter]:
                self.position[AXES.index(letter)] = mm
                self.offset[AXES.index(letter)] = 0.0
            else:
                self.offset[AXES.index(letter)] = self.position[AXES.index(letter)] - mm

    def take_speed(self, words: dict[str, float | None]) -> None:
        speed = words.get("F")
        if speed is not None and speed > 0:
            self.set_modes(speed_mm_s=speed * self.modes.unit_mm / 60)

    def target(self, words: dict[str, float | None], machine: bool) -> Point:
        place = list(self.position)
        for i, axis in enumerate(AXES):
            value = words.get(axis)
            if value is None:
                continue
            mm = value * self.modes.unit_mm
            place[i] = mm if machine else place[i] + mm if self.modes.relative else mm + self.offset[i]
        return (place[0], place[1], place[2])

    def feed(self, words: dict[str, float | None]) -> float:
        """Carry out E and return the millimetres of filament fed."""
        value = words.get("E")
        if value is None:
            return 0.0
        mm = value * self.modes.unit_mm
        delta = mm if self.modes.relative or self.modes.relative_e else mm - self.e_mm
        self.e_mm += delta
        area = math.pi * self.volume_diameter_mm**2 / 4 if self.volumetric else 1.0
        return delta * self.flow_of.get(self.tool, self.flow_all) / area

    # --- motion ---

    def move(self, code: float, words: dict[str, float | None], machine: bool, number: int) -> None:
        self.take_speed(words)
        start: Point = (self.position[0], self.position[1], self.position[2])
        end = self.target(words, machine)
        filament = self.feed(words)
        if code in STRAIGHTENED:
            self.result.straightened[command_name("G", code)] += 1
        arc = self.arc(code, words, start, end) if code in (2, 3) else None
        if code in (2, 3) and arc is None:
            self.result.arcs_without_centre.append(number)
        if arc is not None and arc.disagree:
            self.result.arcs_disagreeing.append(number)
        if max(map(abs, end)) > FAR_MM:
            self.result.far_lines.append(number)
        self.position = list(end)
        self.record(start, end, arc, filament, self.modes.speed_mm_s, number)

    def arc(self, code: float, words: dict[str, float | None], start: Point, end: Point) -> arcs.Arc | None:
        a, b, _ = arcs.PLANES[self.modes.plane]
        unit, clockwise = self.modes.unit_mm, code == 2
        radius = words.get("R")
        centre: tuple[float, float] | None
        if radius is not None:
            centre = arcs.centre_from_radius((start[a], start[b]), (end[a], end[b]), radius * unit, clockwise)
        else:
            away = [(words.get("IJK"[axis]) or 0.0) * unit for axis in (a, b)]
            centre = (start[a] + away[0], start[b] + away[1])
        if centre is None:
            return None
        turns = max(1, min(10_000, int(words.get("P") or 1)))
        return arcs.draw(start, end, centre, self.modes.plane, clockwise, turns)

    def retraction(self, back: bool, number: int) -> None:
        here: Point = (self.position[0], self.position[1], self.position[2])
        if back and self.retracted_mm is None:
            self.retracted_mm = self.retract[0]
            self.record(here, here, None, -self.retract[0], self.retract[1], number)
        elif not back and self.retracted_mm is not None:
            length = self.retracted_mm + self.recover[0]
            self.retracted_mm = None
            self.record(here, here, None, length, self.recover[1] or self.retract[1], number)

    def record(
        self, start: Point, end: Point, arc: arcs.Arc | None, filament: float, speed: float, number: int
    ) -> None:
        path = arc.length_mm if arc else math.dist(start, end)
        path = path if path > NO_PATH_MM else 0.0
        filament = filament if abs(filament) > NO_FILAMENT_MM else 0.0
        if path == 0 and filament == 0:
            return
        kind = ("bead" if filament > 0 else "wipe") if path > 0 else ("prime" if filament > 0 else "retract")
        if filament == 0:
            sideways = start[:2] != end[:2] or arc is not None
            kind = "bead" if self.switched and self.switch_on and sideways else "travel"
        low = arc.low if arc else tuple(map(min, start, end))
        high = arc.high if arc else tuple(map(max, start, end))
        self.result.motions.append(
            Motion(kind, number, start, end, path, filament, speed, arc is not None, low, high, self.tool)  # type: ignore[arg-type]
        )
        self.draw_filament(filament)

    def draw_filament(self, filament: float) -> None:
        total = self.sum_mm.get(self.tool, 0.0) + filament
        self.sum_mm[self.tool] = total
        self.result.drawn_mm[self.tool] = max(self.result.drawn_mm.get(self.tool, 0.0), total)


def moves_filament(line: Line) -> bool:
    """Tell whether a line is a motion with an E of its own."""
    return any(
        letter == "G" and code in (*MOTION, *STRAIGHTENED) and words.get("E") is not None
        for letter, code, words in commands_of(line.words)
    )


def interpret(
    data: bytes,
    *,
    home: Point = (0.0, 0.0, 0.0),
    bare_axis_words: bool = False,
    retract_mm: float = 1.0,
    retract_mm_s: float = 35.0,
    filament_mm: float = 1.75,
) -> NaiveResult:
    """Interpret a whole program, line after line."""
    lines = [parse_line(raw, number) for number, raw in enumerate(split_lines(data), start=1)]
    switched = not any(moves_filament(line) for line in lines if line.kind == "command")
    machine = Interpreter(home, bare_axis_words, retract_mm, retract_mm_s, filament_mm, switched)
    for line in lines:
        machine.line(line)
    machine.result.end_position = (machine.position[0], machine.position[1], machine.position[2])
    machine.result.lines = len(lines)
    machine.result.zero_bytes = data.count(0)
    return machine.result
