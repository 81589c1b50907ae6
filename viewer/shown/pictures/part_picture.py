"""`part_picture`: the whole part of a program as a picture, for console, paper and Python; no display is needed."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from viewer.arrays import U8
from viewer.beads.draw import UNKNOWN_INDEX, palette_index
from viewer.errors import BeadlineError
from viewer.layers.layers import ROLE_NAMES
from viewer.nearest import nearest_name
from viewer.part.draw import Choice, Look, draw_part
from viewer.part.solid import Part, part_of
from viewer.part.view import Cut, PartView, Side, fitted, named_view
from viewer.program import Program
from viewer.shown.pictures.bead_values import Ranges, cause_values, values_of
from viewer.shown.pictures.choices import MAPS, WIDTH_PX, Colouring
from viewer.shown.pictures.colours import role_rgba, scale_rgba, ui
from viewer.shown.pictures.inscriptions import inscribe
from viewer.why.causes import CauseTimes

ASPECT: Final = 0.75
"""Height of a picture for its width, where none is asked for."""
FINE_PIXELS: Final = 2.0e6
"""Pictures of up to so many pixels are drawn at four times as many and averaged; larger ones at their own size."""
MUTED: Final = 0.45
"""How much of the plate's colour the beads before the lit layer take."""
LARGEST_PX: Final = 8000


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """What a picture of the whole part is to show."""

    width: int = WIDTH_PX
    height: int | None = None
    """None: three quarters of the width."""
    turn_deg: float | None = None
    """None: that of the named view."""
    tilt_deg: float | None = None
    cut: Cut | None = None
    layer: int | None = None
    """Layers above this one are left out, and it is lit; None: all are there."""
    roles: Collection[str] = ()
    """Roles that are shown; none: all."""
    colouring: Colouring = "role"
    dark: bool = False
    inscribed: bool = True
    """Whether axes and scale are drawn, which are not readable in a small picture."""

    @property
    def size(self) -> tuple[int, int]:
        """Rows and columns.

        Raises
        ------
        BeadlineError
            A picture cannot be that small or that large.
        """
        rows = round(self.width * ASPECT) if self.height is None else self.height
        if not (16 <= self.width <= LARGEST_PX and 16 <= rows <= LARGEST_PX):
            raise BeadlineError(f"A picture has 16 to {LARGEST_PX} pixels a side, not {self.width} x {rows}.")
        return rows, self.width


def part_picture(program: Program, side: Side = "corner", wanted: Wanted = Wanted()) -> U8:
    """Draw the whole part of a program.

    Parameters
    ----------
    program
        What to draw.
    side
        The named view: corner, front, side or top.
    wanted
        Size, cut, layer, roles and colours.

    Returns
    -------
    array
        (rows, columns, 3) of red, green and blue.

    Raises
    ------
    BeadlineError
        There is no such layer or role, or the size is none.
    """
    return picture_from(program, part_of_program(program), side, wanted)


def part_of_program(program: Program) -> Part:
    """Return all beads of a program as bodies: several pictures can be drawn from them."""
    return part_of(program.moves, program.layers, program.roles, program.filament_diameter_mm)


def picture_from(program: Program, part: Part, side: Side, wanted: Wanted) -> U8:
    """Draw the bodies of a program from a named side, fitted into the picture: see `part_picture`."""
    size = wanted.size
    view = named_view(side)
    turn = view.turn_deg if wanted.turn_deg is None else wanted.turn_deg
    view = view.turned(turn, view.tilt_deg if wanted.tilt_deg is None else wanted.tilt_deg)
    view = fitted(view, part.low, part.high, size)
    return draw_wanted(program, part, view, wanted)


def draw_wanted(program: Program, part: Part, view: PartView, wanted: Wanted) -> U8:
    """Draw a part as it is wanted, from a view of its own zoom: (rows, columns, 3)."""
    size = wanted.size
    look = look_of(program, part, wanted.colouring, wanted.dark, Ranges(program))
    choice = replace(
        choice_of(program, part, wanted.layer), hidden=hidden_roles(wanted.roles), cut=wanted.cut
    )
    finer = 2 if size[0] * size[1] <= FINE_PIXELS else 1
    if wanted.layer is not None:
        look = replace(look, muted=MUTED)
    image, _ = draw_part(part, look, view, size, choice, plate=program.printer.plate, finer=finer)
    image = np.ascontiguousarray(image[..., :3])
    if wanted.inscribed:
        inscribe(image, view, ui(wanted.dark)["faint"], ui(wanted.dark)["panel"])
    return image


BRIGHT: Final = (255, 255, 255)
"""What the colours of the current layer are mixed with: they become brighter, and keep their hue."""


def look_of(
    program: Program,
    part: Part,
    colouring: Colouring,
    dark: bool,
    ranges: Ranges,
    times: CauseTimes | None = None,
) -> Look:
    """Return each bead its colour: the same as in the picture of its layer; under maps of the plate, its role's.

    Parameters
    ----------
    times
        Of the cause that the colouring "cause" shows.
    """
    names = ui(dark)
    ground = np.array([names["panel"], names["plate"], names["grid"], names["edge"], BRIGHT], np.uint8)
    palette = np.zeros((256, 3), np.uint8)
    if colouring == "role" or colouring in MAPS:
        palette[: len(ROLE_NAMES)] = role_rgba(dark)[:, :3]
        return Look(program.roles[part.end], palette, ground)
    palette[:] = scale_rgba(dark)[:, :3]
    if colouring == "cause":
        palette[UNKNOWN_INDEX] = names["later"]
        span = ranges.of_cause(times)
        seconds = cause_values(program, part.end.astype(np.intp), times)
        return Look(palette_index(seconds, span.low, span.high), palette, ground)
    values = values_of(program, part.end.astype(np.intp), colouring)
    if colouring == "time":  # each layer has its own span
        values = values / _layer_seconds(program, part)
        return Look(palette_index(values, 0.0, 1.0), palette, ground)
    span = ranges.of(colouring, 1)
    return Look(palette_index(values, span.low, span.high), palette, ground)


def _layer_seconds(program: Program, part: Part) -> np.ndarray[tuple[int, ...], np.dtype[np.float64]]:
    """Return the time of the layer that each bead belongs to, s; NaN in none."""
    starts = np.asarray(program.timing.moments.layer_start_s, np.float64)
    numbers = program.layers.of_moves(part.end)
    lasting = np.concatenate([[np.nan], np.maximum(np.diff(starts), 1e-9), [np.nan]])
    return lasting[np.minimum(numbers, len(lasting) - 1)]


def choice_of(program: Program, part: Part, layer: int | None) -> Choice:
    """Return which beads are drawn up to a layer, and which of them are its own; None: all, none of them lit.

    Raises
    ------
    BeadlineError
        There is no such layer.
    """
    if layer is None:
        return Choice()
    if not 1 <= layer <= len(program.layers):
        raise BeadlineError(f"There is no layer {layer}; the program has {len(program.layers)}.")
    own = program.layers.moves_of(layer)
    first, upto = (int(k) for k in np.searchsorted(part.end, [own.start, own.stop]))
    return Choice(upto=upto, lit=(first, upto))


def hidden_roles(shown: Collection[str]) -> frozenset[int]:
    """Return the numbers of all roles but some; of none if none is named.

    Raises
    ------
    BeadlineError
        There is no such role.
    """
    for name in shown:
        if name not in ROLE_NAMES:
            near = nearest_name(name, ROLE_NAMES)
            known = f"the nearest is {near}" if near else f"there are {', '.join(ROLE_NAMES)}"
            raise BeadlineError(f"There is no role {name}; {known}.")
    return frozenset(k for k, name in enumerate(ROLE_NAMES) if shown and name not in shown)


def cut_named(text: str | None) -> Cut | None:
    """Return the cut that a text names, as in "x=40"; None where there is no text.

    Raises
    ------
    BeadlineError
        It is none.
    """
    if text is None:
        return None
    axis, _, place = text.lower().replace(" ", "").partition("=")
    try:
        at = float(place.removesuffix("mm"))
    except ValueError:
        axis, at = "", 0.0
    if axis == "x":
        return Cut("x", at)
    if axis == "y":
        return Cut("y", at)
    if axis == "eye":
        return Cut("eye", at)
    raise BeadlineError(
        f"{text!r} is no cut; write x=40, y=40, or eye=0 for one through the middle that faces the eye."
    )
