"""The whole part drawn: beads into a depth buffer, the buffer into a picture, and the bead under the pointer."""

# mypy: allow-untyped-calls
from __future__ import annotations

import math
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt

from viewer.arrays import F32, I32, U8, read_only
from viewer.cards.printer import Plate
from viewer.part.kernels import raster, shade
from viewer.part.kernels.columns import Eye, Light, Plane, Some
from viewer.part.order import Grouped, grouped
from viewer.part.solid import Part
from viewer.part.view import Cut, PartView, eye_of, plane_of

LIGHT: Final = Light(-0.52, 0.42, 0.744)
"""From the left, above, and a little from the eye's side: it turns with the eye, so that no side is ever dark."""
SINKING: Final = 2.0
"""As the eye goes below the part the light follows: by this times the sine of the tilt."""
NEAR_PX: Final = 2
WIDE_PX: Final = 7
"""How far, in pixels, a crease is looked for."""
THIN_PX: Final = 2.0
THICK_PX: Final = 5.0
"""Heights of a layer, in pixels, from which on its beads have hardly any profile of their own, or all of it."""
GHOST: Final = 0.14
"""How much of a ghost's colour is seen."""
THREADS: Final = 2
_SAMPLE: Final = 2_000
"""Beads that are looked at to share the picture fairly among threads."""


@dataclass(frozen=True, slots=True, eq=False)
class Look:
    """What colours everything has."""

    index: U8  # (n,) palette entry of each bead
    palette: U8  # (256, 3) red, green, blue
    ground: U8  # (5, 3) beyond the plate, plate, its grid, its edge, glow of the current layer
    muted: float = 0.0
    """Share of the plate's colour that beads of other than the current layer take."""
    glow: float = 0.0
    """Share of the glow's colour that the current layer's beads take."""


@dataclass(frozen=True, slots=True)
class Choice:
    """What of the part is drawn."""

    upto: int | None = None
    """Beads before this row; None: all."""
    lit: tuple[int, int] = (0, 0)
    """The current layer's beads, first and last (exclusive)."""
    ghost: bool = False
    """Beads from `upto` on are drawn, too, but hardly cover what lies behind them."""
    hidden: frozenset[int] = frozenset()
    """Roles that are left out."""
    cut: Cut | None = None


@dataclass(frozen=True, slots=True, eq=False)
class Drawn:
    """A depth buffer that was drawn."""

    bead: I32  # (rows, columns) -1: none
    depth: F32  # (rows, columns) mm towards the eye
    eye: Eye

    def bead_at(self, row: int, column: int) -> int | None:
        """Return the row of the bead that a pixel shows; None where none is."""
        rows, columns = self.bead.shape
        if not (0 <= row < rows and 0 <= column < columns) or self.bead[row, column] < 0:
            return None
        return int(self.bead[row, column])

    def seen(self) -> I32:
        """Return the rows of all beads that are seen, each once, ascending."""
        return np.unique(self.bead[self.bead >= 0])


@dataclass(frozen=True, slots=True, eq=False)
class _Task:
    """What is drawn, and how."""

    part: Part
    view: PartView
    size: tuple[int, int]
    choice: Choice
    beads: Grouped
    threads: int

    @property
    def eye(self) -> Eye:
        """The projection; beads that stand for several layers reach below all others."""
        left, front, bottom = self.part.lowest
        thick = float(self.part.thickness_mm.max(initial=0.0))
        return eye_of(self.view, (left, front, bottom - thick), self.part.highest, self.size)

    @property
    def plane(self) -> Plane:
        """What is cut away."""
        return plane_of(self.choice.cut, self.view, self.part.low, self.part.high)


def draw_depth(
    part: Part,
    view: PartView,
    size: tuple[int, int],
    choice: Choice,
    rows: I32 | Grouped | None = None,
    threads: int = THREADS,
) -> Drawn:
    """Draw beads into a depth buffer of ``size`` (rows, columns).

    Parameters
    ----------
    rows
        Beads that stand for all, ascending, or in groups; None: all.
    threads
        Each draws some rows of the picture; the result does not depend on their number.
    """
    return _drawn(_Task(part, view, size, choice, _grouped(part, rows), threads), None)[0]


def draw_part(
    part: Part, look: Look, view: PartView, size: tuple[int, int], choice: Choice = Choice(), *,
    plate: Plate | None = None, rows: I32 | Grouped | None = None, finer: int = 1, threads: int = THREADS,
) -> tuple[U8, Drawn]:  # fmt: skip
    """Draw the part as a picture (rows, columns, 4) of red, green, blue and 255, and return its depth buffer with it.

    Parameters
    ----------
    plate
        Whose outline and ground are drawn; None: none.
    rows
        Beads that stand for all, ascending, or in groups; None: all.
    finer
        So many pixels a side are drawn for one of the picture, which is their mean.
    """
    big = (size[0] * finer, size[1] * finer)
    wide = PartView(view.turn_deg, view.tilt_deg, view.px_per_mm * finer, view.middle)
    task = _Task(part, wide, big, choice, _grouped(part, rows), threads)
    drawn, bright = _drawn(task, plate)
    picture = _painted(task, drawn, bright, look, plate, finer)
    if choice.ghost and choice.upto is not None:
        ghost, _ = _drawn(task, None, above=True)
        _lay_over(picture, ghost.depth > drawn.depth, look)
    if finer > 1:
        blocks = picture.reshape(size[0], finer, size[1], finer, 4)
        picture = (blocks.sum(axis=(1, 3), dtype=np.uint16) // (finer * finer)).astype(np.uint8)
    return picture, drawn


def _grouped(part: Part, rows: I32 | Grouped | None) -> Grouped:
    if isinstance(rows, Grouped):
        return rows
    return grouped(part, part.rows if rows is None else rows)


def _painted(task: _Task, drawn: Drawn, bright: F32, look: Look, plate: Plate | None, finer: int) -> U8:
    """Return the picture of a depth buffer."""
    rows, columns = task.size
    beads, depth = drawn.bead.reshape(-1), drawn.depth.reshape(-1)
    image = np.empty((len(beads), 4), np.uint8)
    kept, even = np.empty(len(beads), np.float32), np.empty(len(beads), np.float32)
    scale, strength = task.view.px_per_mm, _smoothness(task.part, task.view)
    paint = shade.Paint(
        read_only(look.index), read_only(look.palette), *task.choice.lit, look.muted, look.glow,
        read_only(look.ground), finer,
    )  # fmt: skip
    outline = _plate(plate)

    def band(low: int, high: int) -> None:
        shade.smooth(bright, depth, columns, strength, 8.0 / scale + 0.5, even, low, high)
        shade.darken(depth, columns, NEAR_PX * finer, WIDE_PX * finer, scale, strength, kept, low, high)
        shade.paint_rows(beads, columns, depth, even, kept, drawn.eye, outline, paint, image, low, high)

    _in_parts(_even_edges(rows, task.threads), band)
    return image.reshape(rows, columns, 4)


def _smoothness(part: Part, view: PartView) -> float:
    """Return how far the beads' own profile steps back, 0 .. 1: fully where a layer is hardly more than a pixel high."""
    if not len(part):
        return 0.0
    high_px = float(np.median(part.thickness_mm[:: max(1, len(part) // 10_000)])) * view.px_per_mm
    return min(max((THICK_PX - high_px) / (THICK_PX - THIN_PX), 0.0), 1.0)


def _lay_over(picture: U8, covered: npt.NDArray[np.bool_], look: Look) -> None:
    """Mix a little of the edge's colour into the pixels that the ghost covers."""
    ghost = np.uint16(GHOST * 256.0) * look.ground[3].astype(np.uint16)
    own = picture[..., :3][covered].astype(np.uint16)
    picture[..., :3][covered] = ((own * np.uint16(256.0 - GHOST * 256.0) + ghost) >> 8).astype(np.uint8)


def _drawn(task: _Task, plate: Plate | None, above: bool = False) -> tuple[Drawn, F32]:
    """Return the depth buffer and how bright each pixel is.

    ``above``: the beads from `Choice.upto` on are drawn, not those before.
    """
    eye, (rows, columns) = task.eye, task.size
    tiles = _tiles(task, eye, above)
    outline = _plate(plate)
    beads = np.empty(rows * columns, np.int32)
    depth, bright = np.empty(len(beads), np.float32), np.empty(len(beads), np.float32)

    def band(low: int, high: int) -> None:
        shade.lay_out(tiles, columns, eye, outline, beads, depth, bright, low, high)

    _in_parts(_even_edges(rows, task.threads), band)
    return Drawn(beads.reshape(rows, columns), depth.reshape(rows, columns), eye), bright


def light_of(view: PartView) -> Light:
    """Return the light, of length 1: from above, and gradually from below as the eye goes there."""
    up = LIGHT.up * (1.0 + SINKING * max(min(math.sin(math.radians(view.tilt_deg)), 0.0), -0.75))
    size = math.sqrt(LIGHT.right**2 + LIGHT.near**2 + up**2)
    return Light(LIGHT.right / size, LIGHT.near / size, up / size)


def _tiles(task: _Task, eye: Eye, above: bool) -> raster.Tiles:
    """Return the tiles with all beads drawn, those of several threads side by side."""
    down, across = -(-task.size[0] // raster.HIGH), -(-task.size[1] // raster.WIDE)
    pixels = np.zeros(down * across * 2 * raster.PIXELS, np.int32)
    tiles = raster.Tiles(pixels, np.zeros(down * across, np.int32), across)
    choice, part = task.choice, task.part
    upto = len(part) if choice.upto is None else choice.upto
    hidden = sum(1 << role for role in choice.hidden)
    some = Some(upto, len(part), hidden) if above else Some(0, upto, hidden)
    columns, roles, order = part.columns, read_only(part.roles), task.beads.seen_from(task.view)
    plane, light = task.plane, light_of(task.view)

    def band(low: int, high: int) -> None:
        raster.draw_solid(tiles, columns, roles, order, some, eye, plane, light, low, high)

    _in_parts(_busy_edges(task, eye, down), band)
    return tiles


def _busy_edges(task: _Task, eye: Eye, down: int) -> list[int]:
    """Return where the rows of tiles are divided among threads, so that each has as many beads."""
    rows, part = task.beads.rows, task.part
    if not len(rows) or task.threads == 1:
        return [0, down] if task.threads == 1 else _even_edges(down, task.threads)
    moves = part.end[rows[:: max(1, len(rows) // _SAMPLE)]]
    level = part.x_mm[moves] * np.float32(eye.right_y) - part.y_mm[moves] * np.float32(eye.right_x)
    up = part.z_mm[moves] * np.float32(eye.cos) - level * np.float32(eye.sin)
    at = (eye.down0 - eye.scale * up) / raster.HIGH
    shares = np.arange(1, task.threads) / task.threads
    inner = [int(edge) for edge in np.clip(np.quantile(at, shares), 0, down)]
    return [0, *inner, down]


def _plate(plate: Plate | None) -> shade.Plate:
    """Return the plate's outline for the kernels; one that has no size is no plate."""
    if plate is not None and plate.shape == "circle" and plate.diameter_mm is not None:
        return shade.Plate(
            plate.left_mm, plate.front_mm, plate.left_mm, plate.front_mm, plate.diameter_mm / 2
        )
    box = None if plate is None else plate.box_mm
    if box is None:
        return shade.Plate(np.inf, np.inf, -np.inf, -np.inf, -1.0)
    left, front, right, back = map(float, box)
    return shade.Plate(left, front, right, back, -1.0)


def _even_edges(count: int, threads: int) -> list[int]:
    return [count * k // threads for k in range(threads + 1)]


def _in_parts(edges: list[int], work: Callable[[int, int], None]) -> None:
    """Do ``work`` between each edge and the next at the same time: in as many threads as there are parts."""
    threads = len(edges) - 1
    with ThreadPoolExecutor(max(threads - 1, 1)) as pool:
        others = [pool.submit(work, edges[k], edges[k + 1]) for k in range(1, threads)]
        work(edges[0], edges[1])
        for other in others:
            other.result()
