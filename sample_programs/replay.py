"""What a written program does: its motions with line, layer and role, for saying where a fault lies."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass

from paths import Point
from shapely.geometry import LineString
from writer import FILAMENT_MM2

WORD = re.compile(r"([XYZEF])(-?[\d.]+)")
LAYER = re.compile(r"; layer (\d+) at ")


@dataclass(frozen=True, slots=True)
class Motion:
    """One G0 or G1; layer 0 is what comes before the first layer."""

    line: int
    layer: int
    role: str
    start: tuple[float, float, float]
    end: tuple[float, float, float]
    fed: float  # mm of filament
    speed: float  # mm/s

    @property
    def length(self) -> float:
        """Way of the nozzle, mm."""
        return math.dist(self.start, self.end)

    @property
    def is_bead(self) -> bool:
        """Filament goes forward while the nozzle goes sideways."""
        return self.fed > 0 and self.length > 0

    @property
    def middle(self) -> Point:
        """Half way, mm."""
        return round((self.start[0] + self.end[0]) / 2, 2), round((self.start[1] + self.end[1]) / 2, 2)

    @property
    def way(self) -> LineString:
        """The way in the plane."""
        return LineString([self.start[:2], self.end[:2]])

    @property
    def seconds(self) -> float:
        """Time at the commanded speed."""
        return (self.length or abs(self.fed)) / self.speed

    @property
    def flow(self) -> float:
        """Filament a second at the commanded speed, mm3/s."""
        return self.fed * FILAMENT_MM2 / self.seconds


def replay(text: str) -> list[Motion]:
    """Replay a program in mm with absolute E; words that are no numbers are passed over."""
    motions: list[Motion] = []
    at = {"X": 0.0, "Y": 0.0, "Z": 0.0, "E": 0.0, "F": 0.0}
    layer, role = 0, ""
    for number, line in enumerate(text.split("\n"), start=1):
        if mark := LAYER.match(line):
            layer = int(mark[1])
        elif line.startswith("; role: "):
            role = line[8:]
        elif line.startswith("G92"):
            at["E"] = 0.0
        elif line.startswith(("G0 ", "G1 ")):
            before = dict(at)
            at.update({letter: float(value) for letter, value in WORD.findall(line)})
            start, end = ((p["X"], p["Y"], p["Z"]) for p in (before, at))
            motions.append(Motion(number, layer, role, start, end, at["E"] - before["E"], at["F"] / 60))
    return motions


def beads_of(motions: Iterable[Motion], layer: int) -> list[Motion]:
    """Return the beads of one layer."""
    return [motion for motion in motions if motion.is_bead and motion.layer == layer]


def first_line(text: str, fits: Callable[[Motion], bool]) -> int:
    """Return the line of the first bead that fits."""
    return next(motion.line for motion in replay(text) if motion.is_bead and fits(motion))


def layer_text(text: str, layer: int) -> tuple[str, str, str]:
    """Return what comes before a layer's mark, the layer, and what comes behind it."""
    begin = text.index(f"; layer {layer} at ")
    end = text.find(f"; layer {layer + 1} at ")
    end = end if end >= 0 else len(text)
    return text[:begin], text[begin:end], text[end:]


def in_layer(text: str, layer: int, change: Callable[[str], str]) -> str:
    """Change the text of one layer."""
    before, own, behind = layer_text(text, layer)
    return before + change(own) + behind
