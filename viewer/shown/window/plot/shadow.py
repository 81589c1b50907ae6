"""`Shadow`: the layer below the one on show; it follows the picture of the beads and never delays it."""

from __future__ import annotations

from dataclasses import dataclass

from PySide6.QtWidgets import QWidget

from viewer.beads.draw import U32, View
from viewer.beads.section import Beads
from viewer.shown.pictures.layer_picture import draw_below
from viewer.shown.window.plot.drawing import DrawnLayer
from viewer.shown.window.plot.picture_item import PictureItem
from viewer.shown.window.threads.redraw import Redrawer
from viewer.shown.window.widgets.delayed_update import DelayedUpdate

QUICK_MS = 4.0
"""A shadow that is expected to take longer does not come together with the picture."""
REST_MS = 150
"""A shadow that takes long is drawn when the picture has been the same for this time."""


UNDER, OVER = -5.0, 6.0
"""Places in the stack of what is drawn: below the beads (0), or above the extent of a finding (5), which dims others."""
OVER_SHARE = 0.55
"""How much of its colour is laid over the beads: what carries them is grey, what lies over air keeps its colour."""


@dataclass(frozen=True, slots=True, eq=False)
class _Wanted:
    """One shadow: all that it depends on."""

    beads: Beads
    dark: bool
    view: View
    size: tuple[int, int]
    ratio: float
    clearly: bool
    """It lies over the beads, in a colour of its own: a finding is about how they lie on it."""

    def is_as(self, other: _Wanted | None) -> bool:
        """Whether both are the same picture."""
        return other is not None and other.beads is self.beads and other._looks == self._looks

    @property
    def _looks(self) -> tuple[object, ...]:
        return self.dark, self.view, self.size, self.ratio, self.clearly


class Shadow:
    """Draws the layer below into its item: at once where that is quick, else when the view rests.

    Until then the last one is moved and stretched with the view; that of another layer is taken away.
    """

    def __init__(self, item: PictureItem, parent: QWidget) -> None:
        self._item = item
        self._wanted: _Wanted | None = None
        self._done: _Wanted | None = None
        """What is on show."""
        self._redrawer: Redrawer[_Wanted, tuple[_Wanted, U32]] = Redrawer(
            lambda wanted: (
                wanted,
                draw_below(wanted.beads, wanted.dark, wanted.view, wanted.size, wanted.clearly),
            ),
            self._show,
            lambda wanted: len(wanted.beads),
            parent,
            QUICK_MS,
        )
        self._rest = DelayedUpdate(self._draw, REST_MS, parent)

    @property
    def busy(self) -> bool:
        """Whether a shadow is being drawn or waits to be."""
        return self._rest.isActive() or self._redrawer.busy

    def stop(self) -> None:
        """Draw nothing any more; wait for the thread."""
        self._rest.stop()
        self._redrawer.stop()

    def clear(self) -> None:
        """Show none."""
        self._rest.stop()
        self._wanted = self._done = None
        self._item.clear()

    def wait(self) -> None:
        """Leave the processor to a picture that was asked for; `follow` comes after it."""
        self._rest.stop()

    def follow(self, drawn: DrawnLayer, clearly: bool = False) -> None:
        """Have the shadow for a picture that is shown now.

        Parameters
        ----------
        clearly
            Over the beads, whether or not the layer below is shown otherwise.
        """
        request, beads = drawn.request, drawn.scene.below
        if not (clearly or "below" in request.shown) or not len(beads):
            self.clear()
            return
        wanted = _Wanted(beads, request.dark, request.view, drawn.image.shape, request.ratio, clearly)
        if not wanted.is_as(self._wanted):
            self._wanted = wanted
        elif self._done is self._wanted:
            return
        if self._redrawer.is_quick(wanted):
            self.settle()
            return
        if self._done is not None and self._done.beads is not beads:
            self._done = None
            self._item.clear()
        self._rest.start()

    def settle(self) -> None:
        """Draw now what still waits."""
        self._rest.stop()
        if self._wanted is not self._done and self._wanted is not None:
            self._show(self._redrawer.draw_now(self._wanted))

    def _draw(self) -> None:
        if self._wanted is not None:
            self._redrawer.request(self._wanted)

    def _show(self, drawn: tuple[_Wanted, U32]) -> None:
        wanted, image = drawn
        if wanted is self._wanted:
            self._done = wanted
            self._item.setZValue(OVER if wanted.clearly else UNDER)
            self._item.setOpacity(OVER_SHARE if wanted.clearly else 1.0)
            self._item.show_picture(image, wanted.view, wanted.ratio)
