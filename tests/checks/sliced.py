"""Parts sliced by hand into programs: solid shapes of concentric loops, walls, bridges, support, travel."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

import shapely
from shapely.geometry.base import BaseGeometry

from tests.checks.on_paper import END, START, Changes, opened
from viewer.checks.finding import Finding, NotChecked, Rule
from viewer.checks.first_layer import FIRST_LAYER_CHECKS
from viewer.checks.policy import policy_of
from viewer.checks.shape import SHAPE_CHECKS, overhang_angle_deg
from viewer.program import Program
from viewer.shape import shape_of

WIDTH = 0.45
THICK = 0.2
Point = tuple[float, float]
CHECKS = {check.slug: check for check in (*FIRST_LAYER_CHECKS, *SHAPE_CHECKS)}


def section(thick: float = THICK, width: float = WIDTH) -> float:
    return (width - thick) * thick + math.pi * thick**2 / 4


SPACING = section() / THICK


@dataclass
class Layer:
    """Paths of one layer: role and points."""

    paths: list[tuple[str, Sequence[Point]]] = field(default_factory=list)
    thick: float = THICK
    retract: bool = True

    def solid(self, shape: BaseGeometry, role: str = "outline", inside: str = "solid") -> Layer:
        """Fill a shape with loops from its edge inwards."""
        name, rest = role, shape.buffer(-WIDTH / 2)
        while not rest.is_empty:
            for part in getattr(rest, "geoms", [rest]):
                for ring in (part.exterior, *part.interiors):
                    self.paths.append((name, list(ring.coords)))
            name, rest = inside, rest.buffer(-SPACING)
        return self

    def line(self, role: str, *points: Point) -> Layer:
        self.paths.append((role, list(points)))
        return self

    def lines(self, role: str, low: Point, high: Point, step: float = SPACING) -> Layer:
        """Lay lines along X that fill a box."""
        count = max(round((high[1] - low[1]) / step), 1)
        for k in range(count):
            y = low[1] + (k + 0.5) * (high[1] - low[1]) / count
            ends = [(low[0], y), (high[0], y)]
            self.paths.append((role, ends if k % 2 == 0 else ends[::-1]))
        return self


def text(layers: Sequence[Layer], comments: bool = True, start: str = START) -> str:
    """Write a program; E is absolute."""
    out, e, z = [start], 0.0, 0.0
    for number, layer in enumerate(layers, 1):
        z += layer.thick
        out.append(
            f"; layer {number} at {z:.3f} mm\nG0 Z{z:.3f} F600\n" if comments else f"G0 Z{z:.3f} F600\n"
        )
        for role, points in layer.paths:
            if comments:
                out.append(f"; role: {role}\n")
            (x, y), *rest = points
            go = f"G0 X{x:.4f} Y{y:.4f} F9000\n"
            out.append(f"G1 E{e - 1:.5f} F2100\n{go}G1 E{e:.5f} F2100\n" if layer.retract else go)
            for ax, ay in rest:
                e += math.hypot(ax - x, ay - y) * section(layer.thick) / (math.pi * 1.75**2 / 4)
                out.append(f"G1 X{ax:.4f} Y{ay:.4f} E{e:.5f} F1500\n")
                x, y = ax, ay
    return "".join(out) + END


def stacked(heights: int, shape: Callable[[int], BaseGeometry | None]) -> list[Layer]:
    """Solid layers of the shape that each number, from 1, has."""
    found = []
    for number in range(1, heights + 1):
        own = shape(number)
        found.append(Layer() if own is None else Layer().solid(own))
    return found


def disc(x: float, y: float, radius: float) -> BaseGeometry:
    return shapely.Point(x, y).buffer(radius, quad_segs=32)


def cone(half_angle_deg: float, layers: int = 20, radius: float = 6.0) -> list[Layer]:
    """A cone that stands on its tip's side and widens upwards."""
    step = THICK * math.tan(math.radians(half_angle_deg))
    return stacked(layers, lambda number: disc(110, 110, radius + (number - 1) * step))


def printed(
    folder: Path, layers: Sequence[Layer], changes: Changes | None = None, comments: bool = True
) -> Program:
    return opened(folder, text(layers, comments), changes)


def outcomes(program: Program, *slugs: str) -> list[Finding | NotChecked]:
    """What some checks say; of none named, all of the shape."""
    chosen = [CHECKS[slug] for slug in slugs] if slugs else list(SHAPE_CHECKS)
    rules: Mapping[str, Rule] = policy_of(chosen, program.workshop).rules
    found: list[Finding | NotChecked] = []
    shape = None
    for check in chosen:
        if check.slug not in rules:
            continue
        if check.run is not None:
            found += check.run(program, rules[check.slug])
        if check.judge is not None:
            shape = shape or shape_of(program.shape_columns, overhang_angle_deg(rules))
            found += check.judge(program, shape, rules[check.slug])
    return found


def findings(program: Program, *slugs: str) -> list[Finding]:
    return [
        one
        for one in outcomes(program, *slugs)
        if isinstance(one, Finding) and (not slugs or one.slug in slugs)
    ]


def square(x: float, y: float, wide: float, deep: float | None = None) -> BaseGeometry:
    half, other = wide / 2, (wide if deep is None else deep) / 2
    return shapely.box(x - half, y - other, x + half, y + other)


def line_of_layer(program: Program, number: int) -> tuple[int, int]:
    """First and last line of a layer's moves."""
    own = program.layers.moves_of(number)
    return int(program.moves.line[own.start]), int(program.moves.line[own.stop - 1])
