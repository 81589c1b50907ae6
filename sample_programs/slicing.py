"""From a part to layers of paths with roles: `slice_part`."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

import shapely
from paths import Point, Points, in_order, inset, islands, joined, lines, loops
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

ShapeAt = Callable[[float], BaseGeometry]
"""The part's cross-section at a height in mm."""
NOWHERE = Polygon()

SPEEDS = {
    "outline": 30.0, "inner loop": 45.0, "infill": 60.0, "solid": 45.0, "bridge": 25.0,
    "support": 45.0, "support interface": 35.0, "brim": 20.0, "skirt": 20.0, "purge block": 45.0,
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Recipe:
    """How a part is printed; lengths in mm, speeds in mm/s, temperatures in degC."""

    thickness: float = 0.2
    first_thickness: float = 0.2
    width: float = 0.45
    first_width: float = 0.5
    loops: int = 2
    bottom: int = 3  # solid layers
    top: int = 3
    infill: float = 0.2
    first_spread: float = 1.0  # factor on the spacing of the first layer's lines
    bridge_deg: float = 0.0
    brim_loops: int = 0
    skirt_loops: int = 1
    speeds: Mapping[str, float] = field(default_factory=lambda: SPEEDS)
    first_speed: float = 20.0
    travel_speed: float = 120.0
    least_layer_s: float = 8.5
    retract: float = 1.0
    hop: float = 0.2
    nozzle_c: int = 205
    first_nozzle_c: int = 210
    plate_c: int = 60

    def spacing(self, width: float, thickness: float) -> float:
        """Return how far apart neighbouring beads lie so that they just fill the space: A / t."""
        return width - thickness * (1 - 0.7853981634)

    @property
    def pitch(self) -> float:
        """Spacing of beads above the first layer."""
        return self.spacing(self.width, self.thickness)

    def wall(self, beads: int) -> float:
        """Return how thick a wall of so many beads is."""
        return self.width + (beads - 1) * self.pitch


@dataclass(frozen=True, slots=True)
class Path:
    """A run of beads of one role."""

    role: str
    points: Points
    width: float


@dataclass(frozen=True, slots=True)
class Layer:
    """What is laid at one height; ``within`` is where travel stays over the part."""

    number: int
    top: float  # height of the beads' tops above the plate
    thickness: float
    paths: tuple[Path, ...]
    within: BaseGeometry


def slice_part(
    shape_at: ShapeAt, height: float, recipe: Recipe, support_at: ShapeAt = lambda z: NOWHERE
) -> list[Layer]:
    """Cut a part into layers, from the plate up."""
    count = round((height - recipe.first_thickness) / recipe.thickness) + 1
    tops = [recipe.first_thickness + k * recipe.thickness for k in range(count)]
    middles = [tops[0] / 2, *(top - recipe.thickness / 2 for top in tops[1:])]
    shapes = [shape_at(z) for z in middles]
    props = [support_at(z) for z in middles]
    layers = []
    here: Point = (0.0, 0.0)
    for k, top in enumerate(tops):
        made = [*_hold_down(shapes, props, k, recipe), *_support(props, k, recipe)]
        made += _part(shapes, props, k, recipe, made[-1].points[-1] if made else here)
        here = made[-1].points[-1] if made else here
        t = recipe.thickness if k else recipe.first_thickness
        layers.append(Layer(k + 1, top, t, tuple(made), shapes[k]))
    return layers


def _hold_down(shapes: list[BaseGeometry], props: list[BaseGeometry], k: int, recipe: Recipe) -> list[Path]:
    """Lay a brim (touching) or a skirt (4 mm away) round the first layer, from outside inwards."""
    if k > 0:
        return []
    foot = shapely.union_all([shapes[0], props[0]]).buffer(1.0).buffer(-1.0)
    pitch = recipe.spacing(recipe.first_width, recipe.first_thickness)
    brim = [((n + 0.5) * pitch, "brim") for n in range(recipe.brim_loops)]
    away = 4.0 + recipe.brim_loops * pitch
    skirt = [(away + n * pitch, "skirt") for n in range(recipe.skirt_loops)]
    return [
        Path(role, ring, recipe.first_width)
        for out, role in reversed([*brim, *skirt])
        for ring in loops(foot.buffer(out, quad_segs=4), holes=False)
    ]


def _support(props: list[BaseGeometry], k: int, recipe: Recipe) -> list[Path]:
    """Lay support: stacked lines, and two denser layers across them under what they carry."""
    area = inset(props[k], recipe.width / 2)
    if area.is_empty:
        return []
    last = any(k + n >= len(props) or props[k + n].is_empty for n in (1, 2))
    role, angle, spacing = ("support interface", 0.0, 0.8) if last else ("support", 90.0, 2.0)
    width = recipe.width if k else recipe.first_width
    start = (area.bounds[0], area.bounds[1])
    ordered = in_order(lines(area, angle, spacing), start)
    return [Path(role, points, width) for points in joined(ordered, area, 1.5 * spacing)]


def _part(
    shapes: list[BaseGeometry], props: list[BaseGeometry], k: int, recipe: Recipe, here: Point
) -> list[Path]:
    """Lay one layer of the part, island by island: loops from inside outwards, then what fills them."""
    width, thickness = (recipe.width, recipe.thickness) if k else (recipe.first_width, recipe.first_thickness)
    pitch = recipe.spacing(width, thickness)
    covered = _covered(shapes, k, recipe)
    held = shapely.union_all([shapes[k - 1], props[k - 1]]).buffer(0.2) if k else shapes[0]
    made: list[Path] = []
    for island in islands(shapes[k]):
        for n in reversed(range(recipe.loops)):
            role = "inner loop" if n else "outline"
            made += [Path(role, ring, width) for ring in loops(inset(island, width / 2 + n * pitch))]
        room = inset(island, width / 2 + (recipe.loops - 0.25) * pitch)
        for area in islands(room):
            here = made[-1].points[-1] if made else here
            made += _filled(area, covered, held, k, recipe, width, pitch, here)
    return made


def _covered(shapes: list[BaseGeometry], k: int, recipe: Recipe) -> BaseGeometry:
    """Return where a layer has part above and below it for as many layers as tops and bottoms are thick."""
    near = range(k - recipe.bottom, k + recipe.top + 1)
    if near.start < 0 or near.stop > len(shapes):
        return NOWHERE
    if all(shapes[j] is shapes[k] for j in near):
        return shapes[k]
    return shapely.intersection_all([shapes[j] for j in near])


def _filled(
    room: Polygon, covered: BaseGeometry, held: BaseGeometry, k: int, recipe: Recipe,
    width: float, pitch: float, here: Point,
) -> list[Path]:  # fmt: skip
    """Fill one area: bridges over air, solid at tops and bottoms, infill between."""
    air = _opened(room.difference(held), 0.4)
    bridge = air.buffer(1.2, join_style="mitre").intersection(room)
    solid = _opened(room.difference(covered), 0.3).buffer(0.8).intersection(room).difference(bridge)
    inner = room.difference(solid).difference(bridge)
    turn = 45.0 if k % 2 else -45.0
    spread = pitch * (recipe.first_spread if k == 0 else 1.0)
    made: list[Path] = []
    for role, area, angle, spacing in (
        ("bridge", bridge, recipe.bridge_deg, pitch),
        ("solid", solid, turn, spread),
        ("infill", inner, 45.0, pitch / recipe.infill),
    ):
        ordered = in_order(lines(area, angle, spacing), here)
        found = ordered if role == "infill" else joined(ordered, room, 2.0 * spacing)
        made += [Path(role, points, width) for points in found]
        here = made[-1].points[-1] if made else here
    return made


def _opened(area: BaseGeometry, by_mm: float) -> BaseGeometry:
    """Drop slivers narrower than twice a distance."""
    return area.buffer(-by_mm).buffer(by_mm)
