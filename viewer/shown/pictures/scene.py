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

from viewer.arrays import F32, F64, I32, U8
from viewer.beads.draw import (
    U32,
    UNKNOWN_INDEX,
    palette_index,
    premultiplied,
)
from viewer.beads.section import Beads, range_beads
from viewer.layers.layers import ROLE_NAMES
from viewer.program import Program
from viewer.read.moves import PRIME, RETRACT, TRAVEL, WIPE
from viewer.shown.pictures.bead_values import (
    TAILS_PERCENT,
    UNITS,
    Ranges,
    Span,
    cause_key,
    cause_values,
    span_of,
    values_of,
)
from viewer.shown.pictures.choices import COLOURINGS, MAPS, Colouring
from viewer.shown.pictures.colours import Rgb, role_rgba, scale_rgba, ui
from viewer.why.causes import CauseTimes
from viewer.why.plate_map import plate_map
from viewer.why.ramps import share_of_path

Point = tuple[float, float]
SEAM_SHARE = 0.30
"""How much of the plate's colour the seam takes."""
DIM_SHARE = 0.80
"""How much of the plate's colour beads take that are dimmed: their hue is still told, the lit ones stand out."""


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
    hidden: bool = False
    """Its beads are not drawn."""


@dataclass(frozen=True, slots=True, eq=False)
class ColourKey:
    """What the colours mean: swatches, or a bar with its span."""

    title: str
    unit: str = ""
    swatches: tuple[Swatch, ...] = ()
    span: Span | None = None
    scale: U8 | None = None  # (256, 4)


@dataclass(frozen=True, slots=True, eq=False)
class Cells:
    """Values over the plate, drawn in place of beads."""

    index: U8  # (rows, columns) entries of the palette, row 0 in front; `UNKNOWN_INDEX`: nothing is drawn
    s_per_mm2: F64  # (rows, columns) the values
    left_mm: float
    front_mm: float
    cell_mm: float

    def at(self, point: Point) -> float:
        """Return the value at a place on the plate; 0 beside the cells."""
        column = int(np.floor((point[0] - self.left_mm) / self.cell_mm))
        row = int(np.floor((point[1] - self.front_mm) / self.cell_mm))
        rows, columns = self.index.shape
        return float(self.s_per_mm2[row, column]) if 0 <= row < rows and 0 <= column < columns else 0.0


@dataclass(frozen=True, slots=True, eq=False)
class Colours:
    """What the beads of a layer are drawn in."""

    colouring: Colouring
    dark: bool
    index: U8  # (beads,) entries of `palette`
    palette: U32  # (256,)
    seams: U32  # (256,) the same, closer to the plate's colour
    dim: U32  # (256,) the same, much closer to it: for beads of roles that are not lit
    key: ColourKey
    times: CauseTimes | None = None
    """Of the cause that is looked at; of no use to other colourings than "cause"."""
    cells: Cells | None = None
    travel: U8 | None = None  # (travels,) entries of `palette` where moves beside beads are coloured


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


def build_scene(
    program: Program,
    number: int,
    colouring: Colouring,
    dark: bool,
    ranges: Ranges,
    times: CauseTimes | None = None,
) -> Scene:
    """Gather what is drawn of layer ``number`` (from 1; 0: what there is where no layer was found).

    Parameters
    ----------
    times
        Of the cause that the colouring "cause" shows; None: the time of beads in all.
    """
    first, last = _moves_of(program, number)
    beads = _beads(program, 0 if number <= 1 else first, last)
    earlier = int(np.searchsorted(beads.move, first))
    travel = _segments(program, first, last, (TRAVEL, WIPE))
    return Scene(
        program=program,
        number=number,
        colours=_colours(program, number, (beads, travel), colouring, dark, ranges, times),
        beads=beads,
        usual_mm=float(np.median(beads.width_mm)) if len(beads) else 0.0,
        earlier=earlier,
        below=_below(program, number),
        travel=travel,
        retracts=_segments(program, first, last, (RETRACT,)),
        primes=_segments(program, first, last, (PRIME,)),
        start=_start(beads, earlier),
    )


def recoloured(
    scene: Scene, colouring: Colouring, dark: bool, ranges: Ranges, times: CauseTimes | None = None
) -> Scene:
    """Return the same layer in other colours; nothing is gathered again."""
    drawn = scene.beads, scene.travel
    return replace(
        scene, colours=_colours(scene.program, scene.number, drawn, colouring, dark, ranges, times)
    )


def without_roles(scene: Scene, hidden: frozenset[int]) -> Scene:
    """Return the same layer without the beads of some roles, here and in the layer below; the key says so."""
    if not hidden:
        return scene
    left_out = np.array(sorted(hidden))
    stays = ~np.isin(scene.program.roles[scene.beads.move], left_out)
    names = {ROLE_NAMES[role] for role in hidden}
    key = scene.colours.key
    swatches = tuple(replace(swatch, hidden=swatch.name in names) for swatch in key.swatches)
    below = ~np.isin(scene.program.roles[scene.below.move], left_out)
    return replace(
        scene,
        beads=scene.beads.where(stays),
        earlier=int(np.count_nonzero(stays[: scene.earlier])),
        below=scene.below.where(below),
        colours=replace(scene.colours, index=scene.colours.index[stays], key=replace(key, swatches=swatches)),
    )


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
    program: Program, number: int, drawn: tuple[Beads, Segments], colouring: Colouring, dark: bool, ranges: Ranges,
    times: CauseTimes | None,
) -> Colours:  # fmt: skip
    """Return each bead its colour; where moves beside beads are looked at, those, too."""
    beads = drawn[0]
    if colouring in MAPS:
        return _mapped(program, number, len(beads), colouring, dark, ranges)
    if colouring == "cause":
        return _of_cause(program, drawn, dark, ranges, times)
    index, key, rgba = _coloured(program, number, beads, colouring, dark, ranges)
    return Colours(colouring, dark, index, premultiplied(rgba), *_paler(rgba, dark), key)


def _toward_plate(rgba: npt.NDArray[np.uint8], dark: bool, share: float) -> U32:
    """Return colours closer to the plate's, by a share."""
    plate = np.array([*ui(dark)["plate"], 255])
    return premultiplied(np.rint(rgba * (1.0 - share) + plate * share).astype(np.uint8))


def _paler(rgba: npt.NDArray[np.uint8], dark: bool) -> tuple[U32, U32]:
    """Return the colours of seams, and those of beads that are not lit."""
    return _toward_plate(rgba, dark, SEAM_SHARE), _toward_plate(rgba, dark, DIM_SHARE)


def _of_cause(
    program: Program, drawn: tuple[Beads, Segments], dark: bool, ranges: Ranges, times: CauseTimes | None
) -> Colours:
    """Return the colours of a cause's seconds; beads that have none of it are as pale as those not laid yet."""
    beads, travel = drawn
    rgba = scale_rgba(dark)
    rgba[UNKNOWN_INDEX, :3] = ui(dark)["later"]
    span = ranges.of_cause(times)
    values = [cause_values(program, moves.astype(np.intp), times) for moves in (beads.move, travel.move)]
    title, unit = cause_key(times)
    known = np.concatenate([side[np.isfinite(side)] for side in values])
    key = ColourKey(title, unit, (), span.told_of(known), rgba)
    index, ways = (palette_index(side, span.low, span.high) for side in values)
    beside = times is not None and not times.of_beads
    return Colours(
        "cause", dark, index, premultiplied(rgba), *_paler(rgba, dark), key, times, None, ways if beside else None
    )  # fmt: skip


def _mapped(
    program: Program, number: int, beads: int, colouring: Colouring, dark: bool, ranges: Ranges
) -> Colours:
    """Return the colours of the plate's cells by the time that is spent in them."""
    found = ranges.map_of(program) if colouring == "program map" else plate_map(program, max(number, 1))
    values = found.seconds_per_mm2
    there = values > 0.0
    some = values[there]
    span = span_of(np.append(some, 0.0), (0.0, TAILS_PERCENT[1])).told_of(some)
    index = palette_index(np.where(there, values, np.nan), span.low, span.high)
    rgba = scale_rgba(dark)
    title, unit = UNITS[colouring]
    cells = Cells(index, values, found.left_mm, found.front_mm, found.cell_mm)
    return Colours(
        colouring, dark, np.zeros(beads, np.uint8), premultiplied(rgba), *_paler(rgba, dark),
        ColourKey(title, unit, (), span, rgba), None, cells,
    )  # fmt: skip


def _coloured(
    program: Program, number: int, beads: Beads, colouring: Colouring, dark: bool, ranges: Ranges
) -> tuple[U8, ColourKey, npt.NDArray[np.uint8]]:
    """Return each bead's palette entry, the key, and the palette (256, 4)."""
    if colouring == "role":
        colours = np.zeros((256, 4), np.uint8)
        colours[: len(ROLE_NAMES)] = role_rgba(dark)
        roles = program.roles[beads.move]
        return roles, ColourKey(COLOURINGS["role"], "mm", _swatches(program, beads, roles, dark)), colours
    title, unit = UNITS[colouring]
    scale = scale_rgba(dark)
    if number == 0:
        return np.full(len(beads), UNKNOWN_INDEX, np.uint8), ColourKey(title, unit), scale
    values = values_of(program, beads.move.astype(np.intp), colouring)
    span = ranges.of(colouring, number).told_of(values)
    return palette_index(values, span.low, span.high), ColourKey(title, unit, (), span, scale), scale


def _swatches(program: Program, beads: Beads, roles: U8, dark: bool) -> tuple[Swatch, ...]:
    lengths = np.bincount(roles, program.moves.length_mm[beads.move].astype(np.float64), len(ROLE_NAMES))
    present = np.bincount(roles, minlength=len(ROLE_NAMES)) > 0
    colours = role_rgba(dark).tolist()
    return tuple(
        Swatch(name, (colours[k][0], colours[k][1], colours[k][2]), float(lengths[k]))
        for k, name in enumerate(ROLE_NAMES)
        if present[k]
    )
