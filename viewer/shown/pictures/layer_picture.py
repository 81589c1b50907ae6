"""The picture of a layer, drawn by the kernel from a `Scene`; no Qt."""

from __future__ import annotations

import numpy as np

from viewer.arrays import F32, U8
from viewer.beads.draw import (
    U32,
    UNKNOWN_INDEX,
    Grid,
    View,
    draw_lines,
    draw_picture,
    premultiplied,
)
from viewer.beads.section import Beads
from viewer.shown.pictures.cells import cells_at_pixels
from viewer.shown.pictures.choices import Shown
from viewer.shown.pictures.colours import Rgb, ui
from viewer.shown.pictures.scene import Cells, Cut, Scene, Segments

TRAVEL_PX = 1.1


TRAVEL_ALPHA = 150
LOOKED_AT_PX = 1.8
"""Width of travel where its seconds are looked at."""
SHADES = 8


MARK_PX = (2.0, 3.6)
"""Least and greatest half width, in pixels, of the triangle where filament is pulled back or fed again."""


MARK_MM = 0.6
"""Half width of the triangle in mm, kept between the pixels of `MARK_PX`: where the whole plate is seen larger marks
would hide the part."""


MARK_PEN_PX = 1.5


SEAM_FROM_PX = 5.0
"""Least width, in pixels, of beads that show their sides; narrower ones would be all seam."""


SOFT = 0.6
"""How much of the sides' colour a bead takes from its middle line outwards: a solid area reads as lines laid side by
side."""


WIDEN_PX = 0.6
"""Beads of `WIDEN_BELOW_PX` or less are drawn this much wider, up to `SEAM_FROM_PX` ever less: where two edges
share a pixel each leaves some of the plate uncovered, and over many beads that becomes bands that are not there."""


WIDEN_BELOW_PX = 2.5


def draw_below(beads: Beads, dark: bool, view: View, size: tuple[int, int], clearly: bool = False) -> U32:
    """Draw the layer below as a shadow: ``size`` (rows, columns) premultiplied 0xAARRGGBB.

    Parameters
    ----------
    clearly
        In a colour that is seen over other beads, too.
    """
    image = np.zeros(size, np.uint32)
    _draw_plain(image, beads, ui(dark)["edge" if clearly else "shadow"], view)
    return image


def draw_scene(
    scene: Scene,
    cut: Cut,
    shown: frozenset[Shown],
    view: View,
    size: tuple[int, int],
    ratio: float,
    lit: frozenset[int] = frozenset(),
) -> U32:
    """Draw the layer as a picture: (rows, columns) premultiplied 0xAARRGGBB, clear where nothing lies.

    Parameters
    ----------
    size
        Its rows and columns.
    ratio
        Picture pixels in a pixel of the screen's unit: lines and marks keep their size.
    lit
        Roles (numbers) whose beads stay bright while the others are dimmed; empty: all are bright.
    """
    image = np.zeros(size, np.uint32)
    colours = ui(scene.colours.dark)
    if scene.colours.cells is not None:
        return draw_cells(scene.colours.cells, scene.colours.palette, view, size)
    if "travel" in shown and scene.colours.travel is None:
        alpha = (*colours["travel"], TRAVEL_ALPHA)
        draw_lines(image, scene.travel.before(cut.move), TRAVEL_PX * ratio, _one(alpha), view)
    if not cut.whole:
        _draw_plain(image, later_than(scene, cut), colours["later"], view)
    _draw_beads(image, scene, cut, view, ratio, lit)
    if scene.colours.travel is not None:
        _draw_travel(image, scene, cut, view, ratio)
    if "retracts" in shown:
        half = min(max(MARK_MM * view.px_per_mm / ratio, MARK_PX[0]), MARK_PX[1]) * ratio / view.px_per_mm
        for points, name, up in ((scene.retracts, "retract", -1.0), (scene.primes, "prime", 1.0)):
            lines = _triangles(points, cut.move, half, up)
            draw_lines(image, lines, (MARK_PEN_PX + 2.0) * ratio, _one((*colours["plate"], 255)), view)
            draw_lines(image, lines, MARK_PEN_PX * ratio, _one((*colours[name], 255)), view)
    return image


def draw_cells(cells: Cells, palette: U32, view: View, size: tuple[int, int]) -> U32:
    """Draw values over the plate: ``size`` (rows, columns) premultiplied 0xAARRGGBB, clear where there are none."""
    clear = palette.copy()
    clear[UNKNOWN_INDEX] = 0
    grid = Grid(cells.left_mm, cells.front_mm, cells.cell_mm)
    return clear[cells_at_pixels(cells.index, grid, view, size, beside=UNKNOWN_INDEX)]


def _draw_travel(image: U32, scene: Scene, cut: Cut, view: View, ratio: float) -> None:
    """Draw moves beside beads in the colours of their values, in `SHADES` shades, the dearest above the others."""
    assert scene.colours.travel is not None
    columns = scene.travel.before(cut.move)
    index = scene.colours.travel[: len(columns[0])].astype(np.int64)
    for shade in range(SHADES):
        own = (index != UNKNOWN_INDEX) & (index * SHADES // UNKNOWN_INDEX == shade)
        if own.any():
            colour = int(scene.colours.palette[(2 * shade + 1) * UNKNOWN_INDEX // (2 * SHADES)])
            x0, y0, x1, y1 = (column[own] for column in columns)
            draw_lines(image, (x0, y0, x1, y1), LOOKED_AT_PX * ratio, colour, view)


def rows_between(beads: Beads, first: int, last: int) -> Beads:
    """Return some beads without copying them."""
    own = slice(first, last)
    return Beads(
        beads.x0_mm[own], beads.y0_mm[own], beads.x1_mm[own], beads.y1_mm[own], beads.width_mm[own],
        beads.thickness_mm[own], beads.move[own],
    )  # fmt: skip


def laid_by(scene: Scene, cut: Cut) -> tuple[Beads, U8]:
    """Return the beads laid so far, the last one as far as it is laid, and their palette entries."""
    done = int(np.searchsorted(scene.beads.move, cut.move))
    beads = rows_between(scene.beads, 0, done)
    if done < len(scene.beads) and int(scene.beads.move[done]) == cut.move and cut.share > 0.0:
        begun = _shortened(rows_between(scene.beads, done, done + 1), cut.share)
        return Beads.joined([beads, begun]), scene.colours.index[: done + 1]
    return beads, scene.colours.index[:done]


def later_than(scene: Scene, cut: Cut) -> Beads:
    """Return the beads that are not laid yet, the one that is being laid among them."""
    done = int(np.searchsorted(scene.beads.move, cut.move))
    return rows_between(scene.beads, max(done, scene.earlier), len(scene.beads))


def _draw_beads(
    image: U32, scene: Scene, cut: Cut, view: View, ratio: float, lit: frozenset[int] = frozenset()
) -> None:
    """Draw the beads laid so far; wide ones twice, so that their sides show; those that are not lit below, dimmed."""
    beads, index = laid_by(scene, cut)
    if lit:
        bright = np.isin(scene.program.roles[beads.move], np.array(sorted(lit)))
        dimmed, shining = np.flatnonzero(~bright), np.flatnonzero(bright)
        if len(dimmed):
            draw_picture(image, beads.where(dimmed), index[dimmed], scene.colours.dim, view)
        beads, index = beads.where(shining), index[shining]
    if not len(beads):
        return
    usual_px = scene.usual_mm * view.px_per_mm
    if usual_px < SEAM_FROM_PX * ratio:
        share = (SEAM_FROM_PX - usual_px / ratio) / (SEAM_FROM_PX - WIDEN_BELOW_PX)
        wide = beads.width_mm + np.float32(WIDEN_PX * min(share, 1.0) / view.px_per_mm)
        draw_picture(image, _of_width(beads, wide), index, scene.colours.palette, view)
        return
    draw_picture(image, beads, index, scene.colours.seams, view)
    seam_mm = min(0.07 * usual_px, 1.25 * ratio) / view.px_per_mm
    inner = np.maximum(beads.width_mm - 2.0 * seam_mm, 0.5 * beads.width_mm).astype(np.float32)
    draw_picture(image, _of_width(beads, inner), index, scene.colours.palette, view, soft=SOFT)


def _of_width(beads: Beads, width_mm: F32) -> Beads:
    """Return the beads with other widths."""
    return Beads(
        beads.x0_mm, beads.y0_mm, beads.x1_mm, beads.y1_mm, width_mm, beads.thickness_mm, beads.move
    )  # fmt: skip


def _shortened(bead: Beads, share: float) -> Beads:
    """Return one bead's first part."""
    x1 = bead.x0_mm + np.float32(share) * (bead.x1_mm - bead.x0_mm)
    y1 = bead.y0_mm + np.float32(share) * (bead.y1_mm - bead.y0_mm)
    return Beads(bead.x0_mm, bead.y0_mm, x1, y1, bead.width_mm, bead.thickness_mm, bead.move)


def _draw_plain(image: U32, beads: Beads, colour: Rgb, view: View) -> None:
    if len(beads):
        palette = np.full(256, _one((*colour, 255)), np.uint32)
        draw_picture(image, beads, np.zeros(len(beads), np.uint8), palette, view)


def _one(rgba: tuple[int, int, int, int]) -> int:
    return int(premultiplied(np.array(rgba, np.uint8)))


def _triangles(points: Segments, before: int, half_mm: float, up: float) -> tuple[F32, F32, F32, F32]:
    """Return the sides of a triangle about each point, its tip up (1) or down (-1)."""
    _, _, x, y = points.before(before)
    corner_x = np.array([-half_mm, half_mm, 0.0], np.float32)
    corner_y = np.array([-0.8 * half_mm, -0.8 * half_mm, half_mm], np.float32) * np.float32(up)
    xs, ys = x[:, None] + corner_x, y[:, None] + corner_y
    return xs.ravel(), ys.ravel(), np.roll(xs, 1, axis=1).ravel(), np.roll(ys, 1, axis=1).ravel()
