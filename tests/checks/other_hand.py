"""Programs as written by somebody else: other units, other extrusion, other heights, with or without comments.

Parts are shapes of shapely; a layer has two loops and parallel lines, turned from layer to layer. The writer keeps
the line number of every bead, so that a test knows which lines lay a fault.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import shapely
from shapely import affinity
from shapely.geometry import LineString
from shapely.geometry.base import BaseGeometry

FILAMENT_MM2 = math.pi * 1.75**2 / 4
Point = tuple[float, float]


@dataclass(frozen=True)
class Style:
    """How somebody writes."""

    thick: float = 0.2
    first: float = 0.2
    width: float = 0.45
    inches: bool = False
    relative: bool = False
    says: str = "roles and layers"  # or "roles", or "nothing"
    purge: bool = True
    numbered: bool = False
    crlf: bool = False

    def top(self, number: int) -> float:
        """Height of a layer's beads, from 1."""
        return self.first + (number - 1) * self.thick

    def pitch(self, thick: float) -> float:
        """Spacing at which oblong beads just fill the space: A / t."""
        return self.width - thick * (1.0 - math.pi / 4.0)


@dataclass(frozen=True)
class Laid:
    """A bead that was written."""

    line: int
    layer: int  # of the object at work, from 1
    way: LineString


class Hand:
    """Writes one program; all arguments in mm and mm/s."""

    def __init__(self, style: Style) -> None:
        self.style = style
        self.lines: list[str] = []
        self.laid: list[Laid] = []
        self.x = self.y = self.z = self.e = 0.0
        self.thick = style.first
        self.layer = 0  # counted through all objects
        self.before = 0  # layers of the objects that are done
        self.role = ""
        self.retracts = True
        self.speed = 20.0
        self.number = 0
        self._begin()

    def text(self) -> str:
        """The whole program, with its end."""
        self._write("G1 E-1" if self.style.relative else f"G1 E{self._number(self.e - 1.0, 5)}")
        self.lift(self.z + 8.0)
        for word in ("M104 S0", "M140 S0", "M107", "M84"):
            self._write(word)
        end = "\r\n" if self.style.crlf else "\n"
        return end.join(self.lines) + end

    def command(self, words: str) -> int:
        """Write a command as it stands; give its line."""
        self._write(words)
        return len(self.lines)

    def next_object(self) -> None:
        """What was laid is done; layers count from 1 again."""
        self.before = self.layer

    def begin_layer(self, number: int) -> None:
        """Go up (or, at 1, back) to a layer of the object at work."""
        self.layer += 1
        self.thick = self.style.first if number == 1 else self.style.thick
        if self.style.says == "roles and layers":
            self.lines.append(f"; layer {self.layer}")
        if self.layer == 2:
            self._write("M106 S255")  # PLA wants the part fan
        height = self.style.top(number)
        if height < self.z:  # the next object: high over what stands, and down beside it
            self._feed(-1.0)
            self.lift(self.z + 5.0)
            self._feed(1.0)
        self.height = height

    def solid(self, shape: BaseGeometry, angle_deg: float, fill: str = "solid infill") -> None:
        """Lay two loops and lines that fill what is left."""
        pitch = self.style.pitch(self.thick)
        for name, inset in (
            ("outer wall", 0.5 * self.style.width),
            ("inner wall", 0.5 * self.style.width + pitch),
        ):
            for part in pieces(shape.buffer(-inset, join_style="mitre")):
                for ring in (part.exterior, *part.interiors):
                    self.path(name, list(ring.coords))
        room = shape.buffer(-0.5 * self.style.width - 1.75 * pitch, join_style="mitre")
        self.fill(room, angle_deg, pitch, fill)

    def fill(self, room: BaseGeometry, angle_deg: float, pitch: float, role: str) -> None:
        """Lay parallel lines, to and fro."""
        turned = affinity.rotate(room, -angle_deg, origin=(0, 0))
        if turned.is_empty:
            return
        left, low, right, high = turned.bounds
        count = max(int((high - low) / pitch), 1)
        for k in range(count):
            y = low + (k + 0.5) * (high - low) / count
            cut = turned.intersection(LineString([(left - 1, y), (right + 1, y)]))
            for part in getattr(cut, "geoms", [cut]):
                if part.length > 0.3:
                    ends = list(affinity.rotate(part, angle_deg, origin=(0, 0)).coords)
                    self.path(role, ends if k % 2 == 0 else ends[::-1])

    def path(self, role: str, points: Sequence[tuple[float, ...]], speed: float | None = None) -> list[int]:
        """Go to the first point and lay beads along the others; give their lines."""
        if role != self.role and self.style.says != "nothing":
            self.lines.append(f"; {role}")
        self.role = role
        self.go(float(points[0][0]), float(points[0][1]))
        return [self._bead(float(p[0]), float(p[1]), speed or self.speed) for p in points[1:]]

    def go(self, x: float, y: float) -> int:
        """Travel; retracted where the way is long. Return the line of the travel."""
        way = math.dist((self.x, self.y), (x, y))
        pulls = self.retracts and way > 3.0
        if pulls:
            self._feed(-1.0)
        if self.z < self.height:
            self.lift(self.height)
        line = len(self.lines)
        if way > 1e-6:
            self.x, self.y = x, y
            line = self.command(f"G0 X{self._number(x)} Y{self._number(y)} F{self._number(9000.0, 2)}")
        if self.z > self.height:
            self.lift(self.height)
        if pulls:
            self._feed(1.0)
        return line

    def lift(self, z: float) -> None:
        """Go to a height."""
        self.z = z
        self._write(f"G0 Z{self._number(z)} F{self._number(600.0, 2)}")

    def laid_in(self, layer: int, area: BaseGeometry) -> list[Laid]:
        """Beads of a layer whose footprint reaches well into an area."""
        near = area.buffer(0.5 * self.style.width - 0.05)
        return [bead for bead in self.laid if bead.layer == layer and bead.way.intersects(near)]

    def covered(self, layer: int, area: BaseGeometry) -> float:
        """How much the beads that lie within an area of a layer cover, mm2."""
        own = [bead.way for bead in self.laid if bead.layer == layer and area.buffer(0.01).covers(bead.way)]
        return float(shapely.union_all([way.buffer(0.5 * self.style.width) for way in own]).area)

    def _begin(self) -> None:
        start = ("G20" if self.style.inches else "G21", "G90", "M83" if self.style.relative else "M82")
        for words in (*start, "M140 S55", "M104 S200", "G28", "M190 S55", "M109 S200", "G92 E0"):
            self._write(words)
        self.height = 0.25
        if self.style.purge:
            self.thick = 0.25
            self.path("purge line", [(15.0, 3.0), (45.0, 3.0)])

    def _bead(self, x: float, y: float, speed: float) -> int:
        way = LineString([(self.x, self.y), (x, y)])
        area = (self.style.width - self.thick) * self.thick + math.pi * self.thick**2 / 4
        fed = area * float(way.length) / FILAMENT_MM2
        self.e += fed
        e = fed if self.style.relative else self.e
        self.x, self.y = x, y
        words = (
            f"G1 X{self._number(x)} Y{self._number(y)} E{self._number(e, 6)} F{self._number(60.0 * speed, 2)}"
        )
        line = self.command(words)
        self.laid.append(Laid(line, self.layer - self.before, way))
        return line

    def _feed(self, length: float) -> None:
        self.e += length
        e = length if self.style.relative else self.e
        self._write(f"G1 E{self._number(e, 6)} F{self._number(2100.0, 2)}")

    def _number(self, value: float, places: int = 4) -> str:
        return f"{value / 25.4 if self.style.inches else value:.{places + (1 if self.style.inches else 0)}f}"

    def _write(self, words: str) -> None:
        if self.style.numbered:
            self.number += 1
            words = f"N{self.number} {words}"
            total = 0
            for byte in words.encode():
                total ^= byte
            words = f"{words}*{total}"
        self.lines.append(words)


def pieces(shape: BaseGeometry) -> list[shapely.Polygon]:
    """Its polygons."""
    return [part for part in getattr(shape, "geoms", [shape]) if not part.is_empty]


def rectangle(x: float, y: float, wide: float, deep: float) -> BaseGeometry:
    """About a middle."""
    return shapely.box(x - wide / 2, y - deep / 2, x + wide / 2, y + deep / 2)
