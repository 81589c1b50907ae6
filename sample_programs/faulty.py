"""The frame of the faulty programs: what one is, how its first line speaks, how it is written down."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

from paths import Point
from replay import first_line

Cards = Mapping[str, object]
"""Card name (printer, filament, workshop) -> the keys that differ from the bundled card."""
Write = Callable[[str, bool], str | bytes]
"""(first line without its semicolon, whether it is the faulty one) -> the program."""
Line = Callable[[str], int]
"""The faulty program -> the line at fault."""


def _said(values: Mapping[str, object]) -> str:
    """Return a card's keys as its file would: ``heat.room_c = 20``."""
    flat = [
        (f"{key}.{name}" if name else key, one)
        for key, value in values.items()
        for name, one in (value.items() if isinstance(value, Mapping) else [("", value)])
    ]
    return ", ".join(f"{key} = {str(one).lower() if isinstance(one, bool) else one}" for key, one in flat)


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
    line: str | Line = ""  # of the line at fault: a pattern, or what finds it
    within: float = 0.0  # how far from `value` an honest measurement may lie, and why, stands beside it
    also: tuple[str, ...] = ()  # slugs of other findings, which the fault brings with it
    cards: Cards = field(default_factory=dict)
    near_cards: Cards | None = None  # where they are not those of the faulty one
    start: str | None = None  # clock time at which the print begins

    def files(self) -> dict[str, bytes]:
        """Return the two programs by file name."""
        first = {
            True: f"Faulty on purpose ({self.name}): {self.wrong}",
            False: f"Near miss of {self.name}: {self.near}",
        }
        names = {True: f"{self.name}.gcode", False: f"{self.name}.near_miss.gcode"}
        made = {}
        for is_wrong, value in ((True, self.value), (False, self.near_value)):
            about = "About" if self.within else "Measured"
            measured = f"{about} {value:g} {self.unit}, limit {self.limit:g} {self.unit}."
            words = f"{first[is_wrong]}{self._under(is_wrong)} {self._where()} {measured}"
            text = self.write(words, is_wrong)
            made[names[is_wrong]] = text if isinstance(text, bytes) else text.encode()
        return made

    def _under(self, is_wrong: bool) -> str:
        """Say what the cards must say, or when the print must start, for the fault to be one."""
        cards = self.cards if is_wrong or self.near_cards is None else self.near_cards
        parts = [f"{kind} card with {_said(values)}" for kind, values in cards.items()]
        parts += [f"a start at {self.start}"] if self.start else []
        return f" Under a {' and a '.join(parts)}.".replace("a a start", "a start") if parts else ""

    def _where(self) -> str:
        parts = [f"x {self.place[0]:.1f}, y {self.place[1]:.1f}"] if self.place else []
        parts += [f"layer {self.layer}"] if self.layer else []
        return f"Where: {', '.join(parts)}." if parts else "Where: the whole program."

    def expected(self, files: Mapping[str, bytes]) -> dict[str, object]:
        """Return what a check should find, for ``EXPECTED.json``."""
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
            "within": self.within,
            "near_miss_value": self.near_value,
            "limit": self.limit,
            "unit": self.unit,
            "also": list(self.also),
        }

    def _line_number(self, text: str) -> int | None:
        """Return the line at fault; None where it is no one line's."""
        if callable(self.line):
            return self.line(text)
        if not self.line:
            return None
        found = re.search(self.line, text, re.MULTILINE)
        if found is None:
            message = f"No line of {self.name} matches {self.line!r}."
            raise ValueError(message)
        return text.count("\n", 0, found.start()) + 1


def bead_near(layer: int, place: Point, reach_mm: float) -> Line:
    """Return what finds the first bead of a layer whose both ends lie near a place."""
    return lambda text: first_line(
        text,
        lambda bead: (
            bead.layer == layer
            and max(math.dist(end[:2], place) for end in (bead.start, bead.end)) <= reach_mm
        ),
    )


def first_of_part(text: str) -> int:
    """Return the first bead of the first layer that is no hold-down."""
    return first_line(text, lambda bead: bead.layer == 1 and bead.role not in ("skirt", "brim"))


def stated_mass(text: str) -> float:
    """Return the mass a program claims to need, g."""
    found = re.search(r"^; filament mass: (\S+) g", text, re.MULTILINE)
    if found is None:
        message = "The program makes no claim about its filament's mass; write it with comments."
        raise ValueError(message)
    return float(found[1])
