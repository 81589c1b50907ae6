"""`Drawing`: from a request for a picture of a layer to the picture; keeps what the next one will need again."""

from __future__ import annotations

from dataclasses import dataclass

from viewer.beads.draw import U32, View, nearest_bead
from viewer.program import Program
from viewer.shown.window.bead_values import Ranges
from viewer.shown.window.scene import Cut, Scene, build_scene, cut_at, draw_below, draw_scene, rows_between
from viewer.shown.window.view_state import Colouring, Shown


@dataclass(frozen=True, slots=True)
class Request:
    """One picture wanted: all that it depends on."""

    program: Program
    number: int
    moment_s: float | None
    colouring: Colouring
    shown: frozenset[Shown]
    dark: bool
    view: View
    rows: int
    columns: int
    ratio: float

    @property
    def weight(self) -> float:
        """How much there is to draw: moves of the layer and of the one below."""
        first = self.program.layers.first_move
        if self.number == 0:
            return 1.0
        below = max(self.number - 2, 0) if "below" in self.shown else self.number - 1
        return float(first[self.number] - first[below]) + 1000.0


@dataclass(frozen=True, slots=True, eq=False)
class Drawn:
    """One picture and what it shows."""

    request: Request
    scene: Scene
    cut: Cut
    image: U32


class Drawing:
    """Makes pictures; keeps the last scene, as mostly only the view or the moment changes."""

    def __init__(self) -> None:
        self._ranges: Ranges | None = None
        self._scene: Scene | None = None
        self._below: tuple[Scene, frozenset[Shown], View, tuple[int, int], U32] | None = None

    def draw(self, request: Request) -> Drawn:
        """Draw one picture; called by one thread at a time."""
        if self._ranges is None or self._ranges.program is not request.program:
            self._ranges = Ranges(request.program)
        scene = self._scene
        if scene is None or not self._fits(scene, request):
            scene = build_scene(
                request.program, request.number, request.colouring, request.dark, self._ranges
            )
            self._scene = scene
            nearest_bead(0.0, 0.0, rows_between(scene.beads, 0, 1))  # compiled here, not under the pointer
        cut = cut_at(request.program, request.number, request.moment_s)
        image = draw_scene(
            scene, cut, request.shown, request.view, self._shadow(scene, request), request.ratio
        )
        return Drawn(request, scene, cut, image)

    def _shadow(self, scene: Scene, request: Request) -> U32:
        """Give the layer below; the last one again while only the moment changes."""
        wanted = request.shown & {"below"}, request.view, (request.rows, request.columns)
        kept = self._below
        if kept is not None and kept[0] is scene and kept[1:4] == wanted:
            return kept[4]
        image = draw_below(scene, *wanted)
        self._below = (scene, *wanted, image)
        return image

    @staticmethod
    def _fits(scene: Scene, request: Request) -> bool:
        return (
            scene.program is request.program
            and scene.number == request.number
            and scene.colouring == request.colouring
            and scene.dark == request.dark
        )
