"""The whole part drawn: beads into a depth buffer, the buffer into a picture, and the bead under the pointer."""

# mypy: allow-untyped-calls
from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt

from viewer.arrays import F32, I32, U8, read_only
from viewer.cards.printer import Plate
from viewer.part.kernels import raster, shade
from viewer.part.kernels.columns import Eye, Plane
from viewer.part.solid import Part
from viewer.part.view import Cut, PartView, eye_of, plane_of

U64 = npt.NDArray[np.uint64]
LIGHT: Final = shade.Light(-0.52, 0.42, 0.744)
"""From the left, above, and a little from the eye's side: it turns with the eye, so that no side is ever dark."""
NEAR_PX: Final = 2
WIDE_PX: Final = 7
"""How far, in pixels, a crease is looked for."""
THIN_PX: Final = 2.0
THICK_PX: Final = 5.0
"""Heights of a layer, in pixels, from which on its beads have hardly any profile of their own, or all of it."""
GHOST: Final = 0.14
"""How much of a ghost's colour is seen."""
THREADS: Final = 2
_ROW: Final = np.uint64(0xFFFFFFFF)


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

    keys: U64  # (rows, columns)
    depth: F32  # (rows, columns) mm towards the eye
    eye: Eye
    left_out: int
    """Beads of the choice that were not drawn, to be quick."""

    def bead_at(self, row: int, column: int) -> int | None:
        """Return the row of the bead that a pixel shows; None where none is."""
        rows, columns = self.keys.shape
        if not (0 <= row < rows and 0 <= column < columns) or not self.keys[row, column]:
            return None
        return int(self.keys[row, column] & _ROW)

    def seen(self) -> I32:
        """Return the rows of all beads that are seen, each once, ascending."""
        keys = self.keys[self.keys != 0]
        return np.unique(keys & _ROW).astype(np.int32)


def draw_depth(
    part: Part,
    view: PartView,
    size: tuple[int, int],
    choice: Choice,
    rows: I32 | None = None,
    threads: int = THREADS,
) -> Drawn:
    """Draw beads into a depth buffer of ``size`` (rows, columns).

    Parameters
    ----------
    rows
        Beads that stand for all, ascending; None: all.
    threads
        Each draws a share of the beads into a buffer of its own; the result does not depend on their number.
    """
    return _joined(part, view, size, choice, _buffers(part, view, size, choice, rows, threads), None)[0]


def draw_part(
    part: Part, look: Look, view: PartView, size: tuple[int, int], choice: Choice = Choice(), *,
    plate: Plate | None = None, rows: I32 | None = None, finer: int = 1, threads: int = THREADS,
) -> tuple[U8, Drawn]:  # fmt: skip
    """Draw the part as a picture (rows, columns, 4) of red, green, blue and 255, and return its depth buffer with it.

    Parameters
    ----------
    plate
        Whose outline and ground are drawn; None: none.
    rows
        Beads that stand for all, ascending; None: all.
    finer
        So many pixels a side are drawn for one of the picture, which is their mean.
    """
    big = (size[0] * finer, size[1] * finer)
    wide = PartView(view.turn_deg, view.tilt_deg, view.px_per_mm * finer, view.middle)
    buffers = _buffers(part, wide, big, choice, rows, threads)
    drawn, bright = _joined(part, wide, big, choice, buffers, plate)
    flat, depth = drawn.keys.reshape(-1), drawn.depth.reshape(-1)
    image = np.empty((len(flat), 4), np.uint8)
    kept, even = np.empty(len(flat), np.float32), np.empty(len(flat), np.float32)
    strength = _smoothness(part, wide)
    reach = 8.0 / wide.px_per_mm + 0.5
    paint = shade.Paint(
        read_only(look.index),
        read_only(look.palette),
        *choice.lit,
        look.muted,
        look.glow,
        read_only(look.ground),
        finer,
    )

    def band(low: int, high: int) -> None:
        shade.smooth(bright, depth, big[1], strength, reach, even, low, high)
        shade.darken(
            depth, big[1], NEAR_PX * finer, WIDE_PX * finer, wide.px_per_mm, strength, kept, low, high
        )
        shade.paint_rows(flat, big[1], depth, even, kept, drawn.eye, _plate(plate), paint, image, low, high)

    _in_parts(big[0], threads, band)
    picture = image.reshape(*big, 4)
    if choice.ghost and choice.upto is not None:
        ghost, _ = _joined(
            part, wide, big, choice, _buffers(part, wide, big, choice, rows, threads, above=True), None
        )
        _lay_over(picture, ghost.depth > drawn.depth, look)
    if finer > 1:
        blocks = picture.reshape(size[0], finer, size[1], finer, 4)
        picture = (blocks.sum(axis=(1, 3), dtype=np.uint16) // (finer * finer)).astype(np.uint8)
    return picture, drawn


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


def _buffers(
    part: Part, view: PartView, size: tuple[int, int], choice: Choice, rows: I32 | None, threads: int,
    above: bool = False,
) -> list[U64]:  # fmt: skip
    """Return one depth buffer for each thread, of the beads before `Choice.upto` or of those from there on."""
    chosen = part.rows if rows is None else rows
    upto = len(part) if choice.upto is None else choice.upto
    border = int(np.searchsorted(chosen, upto))
    chosen = chosen[border:] if above else chosen[:border]
    count = len(chosen)
    hidden = sum(1 << role for role in choice.hidden)
    eye, plane = _seen(part, view, size, choice)
    columns = part.columns
    roles = read_only(part.roles)

    def share(k: int) -> U64:
        own = np.zeros(size[0] * size[1], np.uint64)
        raster.draw_solid(
            own, size[1], columns, read_only(chosen), roles, hidden, eye, plane, count, k, threads
        )
        return own

    with ThreadPoolExecutor(max(threads - 1, 1)) as pool:
        others = [pool.submit(share, k) for k in range(1, threads)]
        return [share(0), *(other.result() for other in others)]


def _seen(part: Part, view: PartView, size: tuple[int, int], choice: Choice) -> tuple[Eye, Plane]:
    eye = eye_of(view, part.lowest, part.highest, size)
    return eye, plane_of(choice.cut, view, part.low, part.high)


def _joined(
    part: Part, view: PartView, size: tuple[int, int], choice: Choice, buffers: list[U64], plate: Plate | None
) -> tuple[Drawn, F32]:
    """Return the nearest of all buffers, and how bright each pixel is."""
    one, *others = buffers
    for more in others[1:]:
        np.maximum(one, more, out=one)
    other = others[0] if others else one
    depth, bright = np.empty(len(one), np.float32), np.empty(len(one), np.float32)
    eye, plane = _seen(part, view, size, choice)
    columns = part.columns

    def band(low: int, high: int) -> None:
        shade.light_up(
            one, other, size[1], columns, eye, plane, LIGHT, _plate(plate), depth, bright, low, high
        )

    _in_parts(size[0], len(buffers), band)
    return Drawn(one.reshape(size), depth.reshape(size), eye, 0), bright


def _plate(plate: Plate | None) -> shade.Plate:
    """Return the plate's outline for the kernels; one that has no size is no plate."""
    if plate is not None and plate.shape == "circle" and plate.diameter_mm is not None:
        return shade.Plate(
            plate.left_mm, plate.front_mm, plate.left_mm, plate.front_mm, plate.diameter_mm / 2
        )
    if plate is None or plate.width_mm is None or plate.depth_mm is None or plate.shape == "circle":
        return shade.Plate(np.inf, np.inf, -np.inf, -np.inf, -1.0)
    left, front = float(plate.left_mm), float(plate.front_mm)
    return shade.Plate(left, front, left + plate.width_mm, front + plate.depth_mm, -1.0)


def _in_parts(count: int, threads: int, work: Callable[[int, int], None]) -> None:
    """Do ``work`` for as many bands of rows as threads, at the same time."""
    edges = [count * k // threads for k in range(threads + 1)]
    with ThreadPoolExecutor(max(threads - 1, 1)) as pool:
        others = [pool.submit(work, edges[k], edges[k + 1]) for k in range(1, threads)]
        work(edges[0], edges[1])
        for other in others:
            other.result()
