"""What the layer plot draws of one layer, as plain arrays, and the picture made of them; no Qt.

::

    Program, layer, colouring -> Scene  (beads, their colours, the layer below, travel, marks, key)
    Scene, moment             -> Cut    (what is drawn by then, where the nozzle is)
    Scene, Cut, view          -> picture, by the drawing kernel
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from viewer.arrays import F32, I32, U8
from viewer.beads.draw import (
    U32,
    UNKNOWN_INDEX,
    View,
    draw_lines,
    draw_picture,
    palette_index,
    premultiplied,
)
from viewer.beads.section import Beads, range_beads
from viewer.layers.layers import ROLE_NAMES
from viewer.program import Program
from viewer.read.moves import BEAD, KIND_NAMES, PRIME, RETRACT, TRAVEL, WIPE
from viewer.shown.numbers import number_text
from viewer.shown.window.model.view_state import COLOURINGS, Colouring, Shown
from viewer.shown.window.plot.bead_values import UNITS, Ranges, Span, share_of_path, values_of
from viewer.shown.window.style.colours import Rgb, role_rgba, scale_rgba, ui

Point = tuple[float, float]
TRAVEL_PX = 1.1
TRAVEL_ALPHA = 150
MARK_PX = (2.0, 3.6)
"""Least and usual half width of the triangle where filament is pulled back or fed again."""
MARK_MM = 0.6
"""It shrinks to so much where the whole plate is seen, or the marks would hide the part."""
MARK_PEN_PX = 1.5
SEAM_FROM_PX = 5.0
"""Beads at least so wide show their sides; narrower ones would be all seam."""
WIDEN_PX = 0.6
"""Beads of `WIDEN_BELOW_PX` or less are drawn this much wider, up to `SEAM_FROM_PX` ever less: where two edges
share a pixel each leaves some of the plate uncovered, and over many beads that becomes bands that are not there."""
WIDEN_BELOW_PX = 2.5
SEAM_SHARE = 0.30
"""How much of the plate's colour the seam takes."""


@dataclass(frozen=True, slots=True, eq=False)
class Segments:
    """Straight lines, one row each."""

    x0_mm: F32
    y0_mm: F32
    x1_mm: F32
    y1_mm: F32
    move: I32

    def before(self, move: int) -> tuple[F32, F32, F32, F32]:
        """Return the columns of the lines that are done before a move."""
        end = int(np.searchsorted(self.move, move))
        return self.x0_mm[:end], self.y0_mm[:end], self.x1_mm[:end], self.y1_mm[:end]


@dataclass(frozen=True, slots=True)
class Swatch:
    """One role in the key."""

    name: str
    rgb: Rgb
    length_mm: float


@dataclass(frozen=True, slots=True, eq=False)
class Key:
    """What the colours mean: swatches, or a bar with its span."""

    title: str
    unit: str = ""
    swatches: tuple[Swatch, ...] = ()
    span: Span | None = None
    scale: U8 | None = None  # (256, 4)


@dataclass(frozen=True, slots=True, eq=False)
class Colours:
    """What the beads of a layer are drawn in."""

    colouring: Colouring
    dark: bool
    index: U8  # (beads,) entries of `palette`
    palette: U32  # (256,)
    seams: U32  # (256,) the same, closer to the plate's colour
    key: Key


@dataclass(frozen=True, slots=True, eq=False)
class Scene:
    """One layer, ready to be drawn."""

    program: Program
    number: int
    colours: Colours
    beads: Beads
    """With layer 1 come the beads laid before it (purge lines)."""
    usual_mm: float
    """Median width of `beads`."""
    earlier: int
    """How many of `beads` were laid before the layer began: they are drawn at every moment."""
    below: Beads
    travel: Segments
    retracts: Segments  # points
    primes: Segments
    start: Point | None


@dataclass(frozen=True, slots=True)
class Cut:
    """How far a layer is drawn: all moves before `move`, and `share` of its path."""

    move: int
    share: float
    nozzle: Point | None
    whole: bool
    """Nothing of the layer is left out."""


def build_scene(program: Program, number: int, colouring: Colouring, dark: bool, ranges: Ranges) -> Scene:
    """Gather what is drawn of layer ``number`` (from 1; 0: what there is where no layer was found)."""
    first, last = _moves_of(program, number)
    beads = _beads(program, 0 if number <= 1 else first, last)
    earlier = int(np.searchsorted(beads.move, first))
    return Scene(
        program=program,
        number=number,
        colours=_colours(program, number, beads, colouring, dark, ranges),
        beads=beads,
        usual_mm=float(np.median(beads.width_mm)) if len(beads) else 0.0,
        earlier=earlier,
        below=_below(program, number),
        travel=_segments(program, first, last, (TRAVEL, WIPE)),
        retracts=_segments(program, first, last, (RETRACT,)),
        primes=_segments(program, first, last, (PRIME,)),
        start=_start(beads, earlier),
    )


def recoloured(scene: Scene, colouring: Colouring, dark: bool, ranges: Ranges) -> Scene:
    """Return the same layer in other colours; nothing is gathered again."""
    return replace(scene, colours=_colours(scene.program, scene.number, scene.beads, colouring, dark, ranges))


def whole_layer(program: Program, number: int) -> Cut:
    """Return the cut that leaves nothing out."""
    return Cut(_moves_of(program, number)[1], 0.0, None, True)


def cut_at(program: Program, number: int, moment_s: float | None) -> Cut:
    """Return how far layer ``number`` is drawn `moment_s` after its beginning; None: all of it."""
    if moment_s is None or number == 0:
        return whole_layer(program, number)
    timing = program.timing
    elapsed = float(timing.moments.layer_start_s[number - 1]) + moment_s
    move = timing.progress.move_at_time(elapsed)
    first, last = _moves_of(program, number)
    begun = float(timing.progress.time_at_move(move)[0])
    share = share_of_path(program, move, max(elapsed - begun, 0.0))
    x0, y0, _ = program.moves.start_xyz(move)
    x1, y1 = float(program.moves.x_mm[move]), float(program.moves.y_mm[move])
    nozzle = (x0 + share * (x1 - x0), y0 + share * (y1 - y0))
    done = move >= last - 1 and share >= 1.0
    return Cut(last, 0.0, nozzle, True) if done else Cut(max(move, first), share, nozzle, False)


def marks_of(scene: Scene, cut: Cut, shown: frozenset[Shown]) -> tuple[str, ...]:
    """Return the names of the marks that are drawn, for the legend."""
    drawn = {
        "start of the layer": scene.start is not None,
        "nozzle": cut.nozzle is not None and "nozzle" in shown,
        "retract": len(scene.retracts.move) > 0 and "retracts" in shown,
        "prime": len(scene.primes.move) > 0 and "retracts" in shown,
        "travel": len(scene.travel.move) > 0 and "travel" in shown,
        "layer below": len(scene.below) > 0 and "below" in shown,
        "not laid yet": not cut.whole,
    }
    return tuple(name for name, there in drawn.items() if there)


def draw_below(beads: Beads, dark: bool, view: View, size: tuple[int, int]) -> U32:
    """Draw the layer below as a shadow: ``size`` (rows, columns) premultiplied 0xAARRGGBB."""
    image = np.zeros(size, np.uint32)
    _draw_plain(image, beads, ui(dark)["shadow"], view)
    return image


def draw_scene(
    scene: Scene, cut: Cut, shown: frozenset[Shown], view: View, size: tuple[int, int], ratio: float
) -> U32:
    """Draw the layer as a picture: (rows, columns) premultiplied 0xAARRGGBB, clear where nothing lies.

    Parameters
    ----------
    size
        Its rows and columns.
    ratio
        Picture pixels in a pixel of the screen's unit: lines and marks keep their size.
    """
    image = np.zeros(size, np.uint32)
    colours = ui(scene.colours.dark)
    if "travel" in shown:
        alpha = (*colours["travel"], TRAVEL_ALPHA)
        draw_lines(image, scene.travel.before(cut.move), TRAVEL_PX * ratio, _one(alpha), view)
    if not cut.whole:
        _draw_plain(image, later_than(scene, cut), colours["later"], view)
    _draw_beads(image, scene, cut, view, ratio)
    if "retracts" in shown:
        half = min(max(MARK_MM * view.px_per_mm / ratio, MARK_PX[0]), MARK_PX[1]) * ratio / view.px_per_mm
        for points, name, up in ((scene.retracts, "retract", -1.0), (scene.primes, "prime", 1.0)):
            lines = _triangles(points, cut.move, half, up)
            draw_lines(image, lines, (MARK_PEN_PX + 2.0) * ratio, _one((*colours["plate"], 255)), view)
            draw_lines(image, lines, MARK_PEN_PX * ratio, _one((*colours[name], 255)), view)
    return image


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


def _draw_beads(image: U32, scene: Scene, cut: Cut, view: View, ratio: float) -> None:
    """Draw the beads laid so far; wide ones twice, so that their sides show."""
    beads, index = laid_by(scene, cut)
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
    draw_picture(image, _of_width(beads, inner), index, scene.colours.palette, view)


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


def _moves_of(program: Program, number: int) -> tuple[int, int]:
    if number == 0:
        return len(program.moves), len(program.moves)
    own = program.layers.moves_of(number)
    return own.start, own.stop


def _beads(program: Program, first: int, last: int) -> Beads:
    return range_beads(program.moves, program.layers, first, last, program.filament_diameter_mm)


def _below(program: Program, number: int) -> Beads:
    """Return the beads of the layer that this one lies on; none for one that lies on the plate."""
    if number < 2 or bool(program.layers.is_first[number - 1]):
        return Beads.joined([])
    return program.beads_of(number - 1)


def _segments(program: Program, first: int, last: int, kinds: tuple[int, ...]) -> Segments:
    moves = program.moves
    rows = (first + np.flatnonzero(np.isin(moves.kind[first:last], kinds))).astype(np.int32)
    before = np.maximum(rows - 1, 0)
    from_zero = rows == 0
    x0 = np.where(from_zero, np.float32(0.0), moves.x_mm[before]).astype(np.float32)
    y0 = np.where(from_zero, np.float32(0.0), moves.y_mm[before]).astype(np.float32)
    x1, y1 = moves.x_mm[rows], moves.y_mm[rows]
    keep = (x0 != x1) | (y0 != y1) if TRAVEL in kinds else np.ones(len(rows), np.bool_)
    return Segments(x0[keep], y0[keep], x1[keep], y1[keep], rows[keep])


def _start(beads: Beads, earlier: int) -> Point | None:
    if earlier >= len(beads):
        return None
    return float(beads.x0_mm[earlier]), float(beads.y0_mm[earlier])


def _colours(
    program: Program, number: int, beads: Beads, colouring: Colouring, dark: bool, ranges: Ranges
) -> Colours:
    """Return each bead its colour."""
    index, key, rgba = _coloured(program, number, beads, colouring, dark, ranges)
    plate = np.array([*ui(dark)["plate"], 255])
    seams = np.rint(rgba * (1.0 - SEAM_SHARE) + plate * SEAM_SHARE).astype(np.uint8)
    return Colours(colouring, dark, index, premultiplied(rgba), premultiplied(seams), key)


def _coloured(
    program: Program, number: int, beads: Beads, colouring: Colouring, dark: bool, ranges: Ranges
) -> tuple[U8, Key, npt.NDArray[np.uint8]]:
    """Return each bead's palette entry, the key, and the palette (256, 4)."""
    if colouring == "role":
        colours = np.zeros((256, 4), np.uint8)
        colours[: len(ROLE_NAMES)] = role_rgba(dark)
        roles = program.roles[beads.move]
        return roles, Key(COLOURINGS["role"], "mm", _swatches(program, beads, roles, dark)), colours
    title, unit = UNITS[colouring]
    scale = scale_rgba(dark)
    if number == 0:
        return np.full(len(beads), UNKNOWN_INDEX, np.uint8), Key(title, unit), scale
    values = values_of(program, beads.move.astype(np.intp), colouring)
    span = ranges.of(colouring, number).told_of(values)
    return palette_index(values, span.low, span.high), Key(title, unit, (), span, scale), scale


def _swatches(program: Program, beads: Beads, roles: U8, dark: bool) -> tuple[Swatch, ...]:
    lengths = np.bincount(roles, program.moves.length_mm[beads.move].astype(np.float64), len(ROLE_NAMES))
    present = np.bincount(roles, minlength=len(ROLE_NAMES)) > 0
    colours = role_rgba(dark).tolist()
    return tuple(
        Swatch(name, (colours[k][0], colours[k][1], colours[k][2]), float(lengths[k]))
        for k, name in enumerate(ROLE_NAMES)
        if present[k]
    )


def move_text(program: Program, move: int) -> str:
    """Tell one bead (or other move) in a line: line, role, length, width, speed reached, flow."""
    moves, row = program.moves, np.array([move])
    parts = [f"line {int(moves.line[move]):,}".replace(",", "\u202f")]
    speed, length = float(program.timing.peak_mm_s[move]), float(moves.length_mm[move])
    kind = int(moves.kind[move])
    if kind in (RETRACT, PRIME):
        return " · ".join([*parts, KIND_NAMES[kind], f"{abs(float(moves.fed_mm[move])):.2f} mm of filament"])
    if kind != BEAD:
        return " · ".join([*parts, KIND_NAMES[kind], f"{length:.2f} mm long"])
    parts.append(ROLE_NAMES[int(program.roles[move])])
    parts.append(f"{length:.2f} mm long")
    parts.append(f"{float(values_of(program, row, 'width')[0]):.2f} mm wide")
    parts.append(f"{number_text(speed)} mm/s reached")
    parts.append(f"{float(values_of(program, row, 'flow')[0]):.2f} mm³/s")
    return " · ".join(parts)
