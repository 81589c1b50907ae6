"""From a request for a picture of the whole part to the picture; no Qt.

::

    program --prepare--> Prepared (bodies) --find_visible--> the same (and which can be seen)
    PartRequest, Prepared --draw--> DrawnPart
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace
from typing import Final, Literal

import numpy as np

from viewer.arrays import I32, U8
from viewer.part.draw import Choice, Drawn, Look, draw_part
from viewer.part.order import grouped
from viewer.part.solid import Part
from viewer.part.view import Axis, Cut, PartView, Point3
from viewer.part.visible import Quick, quick_of, visible_rows
from viewer.program import Program
from viewer.shown.pictures.bead_values import Ranges
from viewer.shown.pictures.choices import Colouring
from viewer.shown.pictures.colours import ui
from viewer.shown.pictures.inscriptions import inscribe
from viewer.shown.pictures.part_picture import FINE_PIXELS, MUTED, look_of, part_of_program
from viewer.shown.pictures.scene import cut_at
from viewer.why.causes import CauseTimes

SHARP_BEADS = 50_000
"""Parts of more beads are drawn coarsely while they turn, where the picture has more than `SHARP_PIXELS` pixels."""
SHARP_PIXELS = 300_000

Above = Literal["shown", "ghost", "hidden"]
ABOVES: Final[dict[Above, str]] = {
    "shown": "Layers above shown",
    "ghost": "Layers above as a ghost",
    "hidden": "Layers above hidden",
}
CUTS: Final[dict[Axis | None, str]] = {
    None: "No cut",
    "x": "Cut across X",
    "y": "Cut across Y",
    "eye": "Cut facing the eye",
}
DIMMED: Final = 254
"""Entry of the palette for beads that are dimmed: no role has it, and the value scale has a neighbour's colour there."""
GLOW: Final = 0.3
"""How much of white the layer on show takes where all of the part is there."""


@dataclass(frozen=True, slots=True)
class PartRequest:
    """One picture wanted: all that it depends on."""

    program: Program
    view: PartView
    size: tuple[int, int]
    number: int
    moment_s: float | None
    above: Above
    cut_axis: Axis | None
    cut_share: float
    """Where the cut is, 0 .. 1 of the part."""
    hidden: frozenset[int]
    colouring: Colouring
    dark: bool
    lit: frozenset[int]
    """Roles that stay bright while the others are dimmed; empty: all are bright."""
    fine: bool
    """All beads, at four times the pixels; else what is drawn within a frame."""
    times: CauseTimes | None = None
    """Of the cause that is looked at."""


@dataclass(frozen=True, slots=True, eq=False)
class DrawnPart:
    """One picture and what it shows."""

    request: PartRequest
    image: U8  # (rows, columns, 4)
    drawn: Drawn
    part: Part
    every: int
    """One of so many layers was drawn."""
    coarse: bool
    """Each pixel that was drawn stands for four."""

    def move_at(self, row: float, column: float) -> int | None:
        """Return the move that lays the bead at a place of the picture; None where there is none."""
        rows, columns = self.request.size
        finer = self.drawn.bead.shape[0] / rows
        if not (0 <= row < rows and 0 <= column < columns):
            return None
        bead = self.drawn.bead_at(int(row * finer), int(column * finer))
        return None if bead is None else int(self.part.end[bead])


@dataclass(slots=True, eq=False)
class Prepared:
    """What the pictures of one program are drawn from."""

    program: Program
    part: Part
    visible: I32 | None = None
    """Beads that can be seen from outside; None: not known yet."""
    ranges: Ranges = field(init=False)
    full: Quick = field(init=False)
    """All beads."""
    _looks: dict[tuple[Colouring, bool, frozenset[int], CauseTimes | None], Look] = field(
        default_factory=dict
    )
    _quick: dict[bool, Quick] = field(default_factory=dict)

    def __post_init__(self) -> None:
        """Take the spans of the values of the same program, and put all beads in order."""
        self.ranges = Ranges(self.program)
        self.full = Quick(self.part, grouped(self.part, self.part.rows), 1)

    def look(self, colouring: Colouring, dark: bool, lit: frozenset[int], times: CauseTimes | None) -> Look:
        """Return the colours of the beads, computed when first asked for; those of roles that are not lit are dimmed.

        Of causes only the last one's are kept.
        """
        key = colouring, dark, lit, times if colouring == "cause" else None
        if key not in self._looks:
            for other in tuple(self._looks):  # another thread may draw from the same meanwhile
                if other[0] == "cause":
                    self._looks.pop(other, None)
            look = look_of(self.program, self.part, colouring, dark, self.ranges, times)
            self._looks[key] = dimmed(look, self.program.roles[self.part.end], lit) if lit else look
        return self._looks[key]

    def quick(self, whole: bool) -> Quick:
        """Return what is drawn while the part is turned: of the whole part only what can be seen from outside."""
        outside = whole and self.visible is not None
        if outside not in self._quick:
            rows = self.visible if outside and self.visible is not None else self.part.rows
            self._quick[outside] = quick_of(self.part, self.program.layers, rows)
        return self._quick[outside]


def prepare(program: Program) -> Prepared:
    """Return what pictures of a program are drawn from; what can be seen of it is not known yet."""
    return Prepared(program, part_of_program(program))


def find_visible(prepared: Prepared) -> None:
    """Find the beads that can be seen from outside; pictures may be drawn in other threads meanwhile."""
    prepared.visible = visible_rows(prepared.part)


def draw(request: PartRequest, prepared: Prepared) -> DrawnPart:
    """Draw the part."""
    choice = _choice(request, prepared.part)
    look = prepared.look(request.colouring, request.dark, request.lit, request.times)
    if choice.lit[1] > choice.lit[0]:
        look = replace(look, glow=GLOW) if choice.upto is None else replace(look, muted=MUTED)
    whole = choice.upto is None and choice.cut is None and not choice.hidden
    quick = prepared.full if request.fine else prepared.quick(whole)
    finer = 2 if request.fine and request.size[0] * request.size[1] <= FINE_PIXELS else 1
    coarse = not request.fine and len(prepared.part) > SHARP_BEADS and math.prod(request.size) > SHARP_PIXELS
    view, size = _halved(request.view, request.size) if coarse else (request.view, request.size)
    image, drawn = draw_part(
        quick.part, look, view, size, choice,
        plate=request.program.printer.plate, rows=quick.rows, finer=finer,
    )  # fmt: skip
    if coarse:
        image = np.ascontiguousarray(
            image.repeat(2, axis=0).repeat(2, axis=1)[: request.size[0], : request.size[1]]
        )
    inscribe(image[..., :3], request.view, ui(request.dark)["faint"], ui(request.dark)["panel"])
    return DrawnPart(request, image, drawn, prepared.part, quick.every, coarse)


def while_it_turns(drawn: DrawnPart) -> str:
    """Return what is left out of a picture for the sake of turning; "" if nothing is."""
    fewer = "" if drawn.every == 1 else f"one of {drawn.every} layers is drawn"
    coarse = "one pixel stands for four" if drawn.coarse else ""
    said = " and ".join(text for text in (fewer, coarse) if text)
    return f"While it turns, {said}." if said else ""


def _halved(view: PartView, size: tuple[int, int]) -> tuple[PartView, tuple[int, int]]:
    """Return the same view in half as many rows and columns."""
    return replace(view, px_per_mm=0.5 * view.px_per_mm), ((size[0] + 1) // 2, (size[1] + 1) // 2)


def dimmed(look: Look, roles: U8, lit: frozenset[int]) -> Look:
    """Return colours in which the beads of all other roles come close to the plate's; `roles` has that of each bead."""
    away = ~np.isin(roles, np.array(sorted(lit)))
    palette, index = look.palette.copy(), look.index.copy()
    palette[DIMMED] = np.rint(0.5 * look.ground[1] + 0.5 * look.ground[3]).astype(np.uint8)
    index[away] = DIMMED
    return replace(look, index=index, palette=palette)


def _choice(request: PartRequest, part: Part) -> Choice:
    """Return what of the part is drawn, and which beads are those of the layer on show."""
    cut = _cut(request, part)
    if request.number == 0:
        return Choice(hidden=request.hidden, cut=cut)
    own = request.program.layers.moves_of(request.number)
    end = cut_at(request.program, request.number, request.moment_s).move
    first, upto = (int(k) for k in np.searchsorted(part.end, [own.start, end]))
    if request.above == "shown":
        return Choice(lit=(first, upto), hidden=request.hidden, cut=cut)
    return Choice(upto, (first, upto), request.above == "ghost", request.hidden, cut)


def _cut(request: PartRequest, part: Part) -> Cut | None:
    """Return the cut at its share of the part: 0 takes nearly all away, 1 nothing."""
    axis, share = request.cut_axis, request.cut_share
    if axis is None:
        return None
    if axis == "x":
        return Cut("x", part.low[0] + share * (part.high[0] - part.low[0]))
    if axis == "y":
        return Cut("y", part.high[1] - share * (part.high[1] - part.low[1]))
    return Cut("eye", (2.0 * share - 1.0) * _deep(part, request.view))


def _deep(part: Part, view: PartView) -> float:
    """Return how far the part reaches from its middle towards the eye, mm."""
    half = [0.5 * (high - low) for low, high in zip(part.low, part.high, strict=True)]
    return sum(abs(t) * h for t, h in zip(view.toward, half, strict=True))


def share_of_cut(cut: Cut, part: Part, view: PartView) -> float:
    """Return where a cut is in shares of the part, as `PartRequest.cut_share`."""
    if cut.axis == "x":
        return (cut.at_mm - part.low[0]) / (part.high[0] - part.low[0])
    if cut.axis == "y":
        return (part.high[1] - cut.at_mm) / (part.high[1] - part.low[1])
    return 0.5 * (cut.at_mm / _deep(part, view) + 1.0)


def middle_of(program: Program, move: int) -> Point3:
    """Return the middle of a move, mm."""
    start, moves = program.moves.start_xyz(move), program.moves
    end = float(moves.x_mm[move]), float(moves.y_mm[move]), float(moves.z_mm[move])
    return 0.5 * (start[0] + end[0]), 0.5 * (start[1] + end[1]), 0.5 * (start[2] + end[2])
