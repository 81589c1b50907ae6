"""The frame of the faulty programs: what one is, how its first line speaks, how it is written down."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

from paths import Point

Cards = Mapping[str, object]
"""Card name (printer, filament, workshop) -> the keys that differ from the bundled card."""
Write = Callable[[str, bool], str | bytes]
"""(first line without its semicolon, whether it is the faulty one) -> the program."""
MOVE = re.compile(r"^G[0-3] X(?P<x>\S+) Y(?P<y>\S+)(?P<rest>.*)$")


@dataclass(frozen=True, slots=True)
class Fault:
    """One fault and its near miss; ``name`` is the finding's slug, with ``.variant`` if there are more."""

    name: str
    wrong: str  # what is wrong, in words
    near: str  # what the near miss does instead
    value: float
    near_value: float
    limit: float
    unit: str
    write: Write
    layer: int | None = None
    place: Point | None = None
    line: str = ""  # pattern of the line at fault; its number is looked up
    cards: Cards = field(default_factory=dict)
    near_cards: Cards | None = None  # where they are not those of the faulty one
    start: str | None = None  # clock time at which the print begins

    def files(self) -> dict[str, bytes]:
        """Give the two programs by file name."""
        first = {
            True: f"Faulty on purpose ({self.name}): {self.wrong}",
            False: f"Near miss of {self.name}: {self.near}",
        }
        names = {True: f"{self.name}.gcode", False: f"{self.name}.near_miss.gcode"}
        made = {}
        for is_wrong, value in ((True, self.value), (False, self.near_value)):
            measured = f"Measured {value:g} {self.unit}, limit {self.limit:g} {self.unit}."
            words = f"{first[is_wrong]} {self._where()} {measured}"
            text = self.write(words, is_wrong)
            made[names[is_wrong]] = text if isinstance(text, bytes) else text.encode()
        return made

    def _where(self) -> str:
        parts = [f"x {self.place[0]:.1f}, y {self.place[1]:.1f}"] if self.place else []
        parts += [f"layer {self.layer}"] if self.layer else []
        return f"Where: {', '.join(parts)}." if parts else "Where: the whole program."

    def expected(self, files: Mapping[str, bytes]) -> dict[str, object]:
        """Give what a check should find, for ``EXPECTED.json``."""
        wrong = files[f"{self.name}.gcode"]
        return {
            "slug": self.name.split(".")[0],
            "file": f"{self.name}.gcode",
            "near_miss": f"{self.name}.near_miss.gcode",
            "layer": self.layer,
            "place_mm": list(self.place) if self.place else None,
            "line": self._line_number(wrong.decode("latin-1")),
            "cards": dict(self.cards),
            "near_miss_cards": dict(self.cards if self.near_cards is None else self.near_cards),
            "start": self.start,
            "value": self.value,
            "near_miss_value": self.near_value,
            "limit": self.limit,
            "unit": self.unit,
        }

    def _line_number(self, text: str) -> int | None:
        """Give the line that matches the pattern, else the first bead of the layer near the place."""
        lines = text.split("\n")
        if self.line:
            return next(k for k, line in enumerate(lines, start=1) if re.search(self.line, line))
        if self.layer is None or self.place is None:
            return None
        mark = next(k for k, line in enumerate(lines) if line.startswith(f"; layer {self.layer} at"))
        return next(
            k
            for k, line in enumerate(lines[mark:], start=mark + 1)
            if _is_bead_near(line, self.place, reach_mm=12.0)
        )


def _is_bead_near(line: str, place: Point, reach_mm: float) -> bool:
    found = MOVE.match(line)
    if found is None or " E" not in found["rest"]:
        return False
    return math.dist((float(found["x"]), float(found["y"])), place) <= reach_mm


def longest_travel(text: str, layer: int) -> float:
    """Give the longest way without filament in a layer, mm."""
    part = text.split(f"; layer {layer} at")[1].split(f"; layer {layer + 1} at")[0]
    ways = [0.0]
    here: Point | None = None
    for line in part.splitlines():
        found = MOVE.match(line)
        if found:
            there = (float(found["x"]), float(found["y"]))
            if here and line.startswith("G0"):
                ways.append(math.dist(here, there))
            here = there
    return round(max(ways), 2)


def stated_mass(text: str) -> float:
    """Give the mass a program claims to need, g."""
    found = re.search(r"^; filament mass: (\S+) g", text, re.MULTILINE)
    if found is None:
        message = "The program makes no claim about its filament's mass; write it with comments."
        raise ValueError(message)
    return float(found[1])
