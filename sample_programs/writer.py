"""The lines of a program: a `Writer` knows where the nozzle is, how E is counted, how numbers are spelled."""

from __future__ import annotations

import math
from dataclasses import dataclass

FILAMENT_MM = 1.75
FILAMENT_MM2 = math.pi * FILAMENT_MM**2 / 4
DENSITY_G_CM3 = 1.24
"""PLA, as on most makers' data sheets (value from memory)."""
MM_PER_INCH = 25.4


def section_mm2(width_mm: float, thickness_mm: float) -> float:
    """Return the area of a bead's oblong section, mm2: A = (w - t) t + pi t^2/4.

    ::

         ____________
        (____________)   t high, w wide, half circles at both ends
    """
    return (width_mm - thickness_mm) * thickness_mm + math.pi * thickness_mm**2 / 4


def checksum(text: str) -> int:
    """Return the exclusive or of the bytes of a numbered line before its ``*``."""
    total = 0
    for byte in text.encode("ascii"):
        total ^= byte
    return total


@dataclass(frozen=True, slots=True)
class Dialect:
    """How a program is spelled."""

    inches: bool = False
    relative_e: bool = False
    numbered: bool = False  # N words and checksums
    comments: bool = True
    machine_retracts: bool = False  # G10 and G11 instead of E alone
    arcs: bool = False  # runs of chords on one circle are written as G2 and G3


class Writer:
    """Writes lines and remembers what they did to the machine; all arguments in mm, mm/s, mm2."""

    def __init__(self, dialect: Dialect) -> None:
        self.dialect = dialect
        self.lines: list[str] = []
        self.x = self.y = self.z = 0.0
        self.tool = 0
        self.travel_mm_s = 120.0
        self.pulled_mm = 0.0  # filament pulled back at the moment
        self.drawn_mm: dict[int, float] = {}  # by tool: how far filament has gone forward in all
        self._fed_mm: dict[int, float] = {}  # by tool: sum of E, retraction included
        self._unit = MM_PER_INCH if dialect.inches else 1.0
        self._places = 4 if dialect.inches else 3
        self._e_exact = 0.0  # in the program's unit, since the start or the last G92 E0
        self._e_written = 0.0
        self._f_written = ""
        self._role = ""
        self._number = 0

    def text(self) -> str:
        """Return the whole program."""
        return "\n".join(self.lines) + "\n"

    def say(self, words: str) -> None:
        """Write a comment on a line of its own (nothing where the dialect has none)."""
        if self.dialect.comments:
            self.lines.append(f"; {words}")

    def role(self, name: str) -> None:
        """Say what the beads that follow are for, where it changes."""
        if name != self._role:
            self._role = name
            self.say(f"role: {name}")

    def command(self, text: str) -> None:
        """Write a command, numbered and with its checksum where the dialect wants that."""
        if self.dialect.numbered:
            self._number += 1
            numbered = f"N{self._number} {text}"
            text = f"{numbered}*{checksum(numbered)}"
        self.lines.append(text)

    def zero_e(self) -> None:
        """Count E from 0 again."""
        self._e_exact = self._e_written = 0.0
        self.command("G92 E0")

    def homed(self) -> None:
        """Take note that homing has put the axes at 0."""
        self.x = self.y = self.z = 0.0

    def choose(self, tool: int) -> None:
        """Change the tool; each counts its own filament, and E from 0."""
        self.tool = tool
        self.command(f"T{tool}")
        self.zero_e()

    def travel(self, x: float, y: float) -> None:
        """Go to a place without filament."""
        self.x, self.y = self._grid(x), self._grid(y)
        self._motion("G0", self._xy(), self.travel_mm_s)

    def lift(self, z: float, speed: float = 10.0) -> None:
        """Go to a height."""
        if self._grid(z) != self.z:
            self.z = self._grid(z)
            self._motion("G0", [f"Z{self._spell(self.z, self._places)}"], speed)

    def bead(self, x: float, y: float, area: float, speed: float, z: float | None = None) -> None:
        """Lay a straight bead of a section to a place (and a height)."""
        start = (self.x, self.y, self.z)
        self.x, self.y = self._grid(x), self._grid(y)
        words = self._xy()
        if z is not None:
            self.z = self._grid(z)
            words.append(f"Z{self._spell(self.z, self._places)}")
        length = math.dist(start, (self.x, self.y, self.z))
        self._motion("G1", [*words, *self._feed(area * length / FILAMENT_MM2)], speed)

    def arc(
        self, end: tuple[float, float], centre: tuple[float, float], left: bool, area: float, speed: float
    ) -> None:
        """Lay a bead along an arc in the plane, ``left`` turning counter-clockwise."""
        i, j = centre[0] - self.x, centre[1] - self.y
        radius = math.hypot(i, j)
        first = math.atan2(-j, -i)
        self.x, self.y = self._grid(end[0]), self._grid(end[1])
        last = math.atan2(self.y - centre[1], self.x - centre[0])
        sweep = (last - first if left else first - last) % math.tau
        words = [*self._xy(), f"I{self._spell(i, self._places)}", f"J{self._spell(j, self._places)}"]
        fed = self._feed(area * radius * sweep / FILAMENT_MM2)
        self._motion("G3" if left else "G2", [*words, *fed], speed)

    def pull(self, length_mm: float, speed: float = 35.0) -> None:
        """Retract, if nothing is pulled back yet."""
        if self.pulled_mm or not length_mm:
            return
        self.pulled_mm = length_mm
        if self.dialect.machine_retracts:
            self.command("G10")
        else:
            self._motion("G1", self._feed(-length_mm), speed)

    def push(self, speed: float = 35.0) -> None:
        """Prime what was pulled back."""
        if not self.pulled_mm:
            return
        if self.dialect.machine_retracts:
            self.command("G11")
        else:
            self._motion("G1", self._feed(self.pulled_mm), speed)
        self.pulled_mm = 0.0

    def _grid(self, value_mm: float) -> float:
        return round(value_mm / self._unit, self._places) * self._unit

    def _spell(self, value_mm: float, places: int) -> str:
        text = f"{value_mm / self._unit:.{places}f}"
        if places:
            text = text.rstrip("0").rstrip(".")
        return "0" if text == "-0" else text

    def _xy(self) -> list[str]:
        return [f"X{self._spell(self.x, self._places)}", f"Y{self._spell(self.y, self._places)}"]

    def _feed(self, length_mm: float) -> list[str]:
        """Feed filament; rounding errors are carried on, so that they never add up."""
        self._e_exact += length_mm / self._unit
        before, self._e_written = self._e_written, round(self._e_exact, 5)
        step = round(self._e_written - before, 5)
        fed = self._fed_mm.get(self.tool, 0.0) + step * self._unit
        self._fed_mm[self.tool] = fed
        self.drawn_mm[self.tool] = max(self.drawn_mm.get(self.tool, 0.0), fed)
        value = step if self.dialect.relative_e else self._e_written
        return [f"E{self._spell(value * self._unit, 5)}"]

    def _motion(self, code: str, words: list[str], speed: float) -> None:
        f = f"F{self._spell(speed * 60, 2 if self.dialect.inches else 0)}"
        if f != self._f_written:
            words = [*words, f]
            self._f_written = f
        self.command(" ".join([code, *words]))
