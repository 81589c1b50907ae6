"""What the slow interpreter hands over: motions as commanded (an arc is one) and totals."""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import dataclass, field

Point = tuple[float, float, float]
KINDS = ("bead", "travel", "wipe", "retract", "prime")


@dataclass(frozen=True, slots=True)
class Motion:
    """One commanded motion that moved something."""

    kind: str
    line: int
    start: Point  # machine, mm
    end: Point
    path_mm: float  # true length, of an arc too
    filament_mm: float  # signed; M221 and M200 applied
    speed_mm_s: float  # 0: none was given yet
    arc: bool
    low: Point  # exact extent of the centre line
    high: Point
    tool: int


@dataclass(slots=True)
class NaiveResult:
    """Motions, and what was counted on the way."""

    motions: list[Motion] = field(default_factory=list)
    lines: int = 0
    zero_bytes: int = 0
    bare_axis_lines: int = 0
    doubtful_lines: list[int] = field(default_factory=list)  # bare text
    macro_lines: list[int] = field(default_factory=list)  # NAME KEY=VALUE
    deleted_lines: list[int] = field(default_factory=list)  # begin with /
    skipped_lines: int = 0  # in a conditional block that is not carried out
    exponent_words: int = 0
    bad_words: int = 0
    checksum_mismatches: list[int] = field(default_factory=list)
    n_out_of_order: list[int] = field(default_factory=list)
    commands: Counter[str] = field(default_factory=Counter)  # as written, carried out or not
    straightened: Counter[str] = field(default_factory=Counter)  # motion codes drawn straight to their end
    arcs_without_centre: list[int] = field(default_factory=list)  # drawn straight
    arcs_disagreeing: list[int] = field(default_factory=list)
    far_lines: list[int] = field(default_factory=list)  # end beyond +-100 m
    drawn_mm: dict[int, float] = field(default_factory=dict)  # by tool
    end_position: Point = (0.0, 0.0, 0.0)

    def count(self, kind: str) -> int:
        return sum(m.kind == kind for m in self.motions)

    def path_mm(self, kind: str) -> float:
        return math.fsum(m.path_mm for m in self.motions if m.kind == kind)

    @property
    def arcs(self) -> int:
        return sum(m.arc for m in self.motions)

    @property
    def path_bead_mm(self) -> float:
        return self.path_mm("bead")

    @property
    def path_travel_mm(self) -> float:
        return self.path_mm("travel")

    @property
    def path_wipe_mm(self) -> float:
        return self.path_mm("wipe")

    @property
    def net_mm(self) -> float:
        return math.fsum(m.filament_mm for m in self.motions)

    @property
    def nominal_s(self) -> float:
        """Path over speed, |filament| over speed where there is no path; nothing where no speed is set."""
        return math.fsum(
            (m.path_mm if m.path_mm > 0 else abs(m.filament_mm)) / m.speed_mm_s
            for m in self.motions
            if m.speed_mm_s > 0
        )

    @property
    def extent_mm(self) -> tuple[Point, Point] | None:
        """Lowest and highest point of the beads' centre lines, None where there is no bead."""
        beads = [m for m in self.motions if m.kind == "bead"]
        if not beads:
            return None
        return (
            (min(m.low[0] for m in beads), min(m.low[1] for m in beads), min(m.low[2] for m in beads)),
            (max(m.high[0] for m in beads), max(m.high[1] for m in beads), max(m.high[2] for m in beads)),
        )
