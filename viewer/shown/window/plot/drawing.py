"""`Drawing`: from a request for a picture of a layer to the picture; keeps what the next one will need again."""

from __future__ import annotations

import math
from dataclasses import dataclass

from viewer.beads.draw import U32, View, nearest_bead
from viewer.program import Program
from viewer.shown.pictures.area_picture import draw_areas
from viewer.shown.pictures.bead_values import Ranges
from viewer.shown.pictures.layer_picture import draw_scene, rows_between
from viewer.shown.pictures.scene import Cut, Scene, build_scene, cut_at, recoloured, without_roles
from viewer.shown.window.model.view_state import Colouring, Shown, ViewState
from viewer.why.areas import Areas
from viewer.why.causes import CauseTimes

EMPTY = 20_000.0
"""An empty picture takes as long as drawing this number of moves: 4 ms, and 5 to 9 ms more for 100,000 beads."""


@dataclass(frozen=True, slots=True)
class PictureRequest:
    """One picture wanted: all that it depends on."""

    program: Program
    """As it is timed: under a trial another one than on its card."""
    number: int
    moment_s: float | None
    colouring: Colouring
    shown: frozenset[Shown]
    dark: bool
    view: View
    rows: int
    columns: int
    ratio: float
    lit: frozenset[int] = frozenset()
    """Roles that stay bright while the others are dimmed; empty: all are bright."""
    of_card: Program | None = None
    """The program as on its card, whose values the colours span; None: it is no other one."""
    times: CauseTimes | None = None
    """Of the cause that is looked at."""
    areas: Areas | None = None
    """What the layer and another program have alone, to be hatched."""
    hidden: frozenset[int] = frozenset()
    """Roles that are left out."""

    @property
    def scale_of(self) -> Program:
        """The program whose values the colours span."""
        return self.of_card or self.program


def request_of(
    state: ViewState, geometry: tuple[View, int, int] | None, ratio: float, dark: bool
) -> PictureRequest | None:
    """Return the picture of the layer on show; None where there is no program or no room for it.

    Parameters
    ----------
    geometry
        Where the picture looks, its rows and columns.
    ratio
        Picture pixels to one of the screen's unit.
    """
    if state.program is None or state.timed is None or geometry is None:
        return None
    view, rows, columns = geometry
    return PictureRequest(
        program=state.timed, number=state.layer, moment_s=state.moment_s, colouring=state.colouring, shown=state.shown,
        dark=dark, view=view, rows=rows, columns=columns, ratio=ratio, lit=state.lit_roles, of_card=state.program,
        times=state.times, areas=state.areas_here, hidden=state.hidden_roles,
    )  # fmt: skip


@dataclass(frozen=True, slots=True, eq=False)
class DrawnLayer:
    """One picture and what it shows."""

    request: PictureRequest
    scene: Scene
    cut: Cut
    image: U32


class Drawing:
    """Makes pictures; keeps the last scene, as mostly only the view, the moment or the colours change."""

    def __init__(self) -> None:
        self._ranges: Ranges | None = None
        self._scene: Scene | None = None
        self._without: tuple[Scene, frozenset[int], Scene] | None = None
        """The last scene, what roles were left out of it, and what stayed."""

    def weight(self, request: PictureRequest) -> float:
        """How much there is to draw: moves of the layer; infinite where all of the program is to be looked through."""
        ranges = self._ranges
        if ranges is None or ranges.program is not request.scale_of:
            ranges = Ranges(request.scale_of)
        if not ranges.knows(request.colouring, request.times):
            return math.inf
        if request.number == 0:
            return EMPTY
        first = request.program.layers.first_move
        return float(first[request.number] - first[request.number - 1]) + EMPTY

    def draw(self, request: PictureRequest) -> DrawnLayer:
        """Draw one picture; called by one thread at a time."""
        self._scene = self._scene_of(request)
        scene = self._without_roles(self._scene, request.hidden)
        cut = cut_at(request.program, request.number, request.moment_s)
        size = (request.rows, request.columns)
        image = draw_scene(scene, cut, request.shown, request.view, size, request.ratio, request.lit)
        if request.areas is not None:
            draw_areas(image, request.areas, request.view, request.dark, request.ratio)
        return DrawnLayer(request, scene, cut, image)

    def _without_roles(self, scene: Scene, hidden: frozenset[int]) -> Scene:
        """Return what is drawn of a scene; the same object as long as nothing changes."""
        kept = self._without
        if kept is None or kept[0] is not scene or kept[1] != hidden:
            kept = self._without = (scene, hidden, without_roles(scene, hidden))
        return kept[2]

    def _scene_of(self, request: PictureRequest) -> Scene:
        """Return the layer as it is to be drawn; of the last one what still holds."""
        program, number, colouring, dark = request.program, request.number, request.colouring, request.dark
        if self._ranges is None or self._ranges.program is not request.scale_of:
            self._ranges = Ranges(request.scale_of)
        times = request.times
        kept = self._scene
        if kept is None or kept.program is not program or kept.number != number:
            scene = build_scene(program, number, colouring, dark, self._ranges, times)
            nearest_bead(0.0, 0.0, rows_between(scene.beads, 0, 1))  # compiled here, not under the pointer
            return scene
        if (kept.colours.colouring, kept.colours.dark) != (colouring, dark) or _other_times(kept, request):
            return recoloured(kept, colouring, dark, self._ranges, times)
        return kept


def _other_times(kept: Scene, request: PictureRequest) -> bool:
    """Whether another cause is to be shown than a scene shows."""
    return request.colouring == "cause" and kept.colours.times is not request.times
