"""`Fitting`: which part of the plate the plot shows by itself, and how a person moves it."""

from __future__ import annotations

from typing import Literal

from PySide6.QtCore import QRectF

from viewer.shown.window.model.view_state import ViewState
from viewer.shown.window.plot.plate_item import plate_rect
from viewer.shown.window.plot.plot_view import PlotView

EMPTY_MM = QRectF(0.0, 0.0, 200.0, 200.0)
"""What is seen where neither a part nor a plate is known."""
MIN_MM = 2.0
"""A part is shown as if it were at least this long and wide."""


class Fitting:
    """Keeps the part, or the plate, fitted to the plot until a person moves the view."""

    def __init__(self, state: ViewState, view: PlotView) -> None:
        self._state, self._view = state, view
        self._fitted: Literal["part", "plate"] | None = "part"
        """What is kept fitted; None: a person chose what is seen."""

    def fit_part(self) -> None:
        """Show all of the part, or whatever beads there are."""
        self._fitted = "part"
        extent = None
        if self._state.program is not None:
            totals = self._state.program.totals
            extent = totals.extent or totals.extent_all or totals.extent_moves
        if extent is None:
            self._view.look_at(self._plate() or EMPTY_MM)
            return
        (left, right), (front, back) = extent.x, extent.y
        self._view.look_at(QRectF(left, front, max(right - left, MIN_MM), max(back - front, MIN_MM)))

    def fit_plate(self) -> None:
        """Show the whole plate; where its size is not known, the part."""
        plate = self._plate()
        if plate is None:
            self.fit_part()
        else:
            self._fitted = "plate"
            self._view.look_at(plate)

    def zoom(self, factor: float) -> None:
        """Zoom in (above 1) or out, about the middle."""
        self._fitted = None
        self._view.box.scaleBy((1.0 / factor, 1.0 / factor))

    def move_view(self, right: float, back: float) -> None:
        """Show what lies further to the right and back, in shares of what is seen."""
        self._fitted = None
        seen = self._view.box.viewRect()
        self._view.box.translateBy(x=right * seen.width(), y=back * seen.height())

    def bring_into_view(self, x_mm: float, y_mm: float) -> None:
        """Put a place in the middle if it lies outside of what is seen."""
        if self._view.bring_into_view(x_mm, y_mm):
            self._fitted = None

    def look_at(self, left: float, front: float, wide: float, deep: float) -> None:
        """Show a rectangle of the plate, mm."""
        self._fitted = None
        self._view.look_at(QRectF(left, front, wide, deep))

    def look_at_box(self, box_mm: tuple[float, float, float, float] | None) -> None:
        """Show a rectangle: x low, y low, x high, y high, mm; None: all of the part."""
        if box_mm is None:
            self.fit_part()
        else:
            x0, y0, x1, y1 = box_mm
            self.look_at(x0, y0, x1 - x0, y1 - y0)

    def begin_with_part(self) -> None:
        """Fit the part at the next `refit`: another program is on show."""
        self._fitted = "part"

    def forget(self) -> None:
        """Leave the view as it is: a person moved it by hand."""
        self._fitted = None

    def refit(self) -> None:
        """Fit again what is kept fitted: its size, or the plot's, may have changed."""
        if self._fitted == "part":
            self.fit_part()
        elif self._fitted == "plate":
            self.fit_plate()

    def _plate(self) -> QRectF | None:
        program = self._state.program
        return None if program is None else plate_rect(program.printer.plate)
