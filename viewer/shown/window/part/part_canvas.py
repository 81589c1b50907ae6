"""`PartCanvas`: the picture of the part with its marks; turned, moved and zoomed by hand."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from PySide6.QtCore import QPointF, QSize, Qt, Signal
from PySide6.QtGui import QColor, QImage, QKeyEvent, QMouseEvent, QPaintEvent, QPen, QResizeEvent, QWheelEvent
from PySide6.QtWidgets import QApplication, QWidget

from viewer.part.view import PartView, Point3
from viewer.shown.pictures.colours import ui
from viewer.shown.window.part.part_drawing import DrawnPart
from viewer.shown.window.style.inks import is_dark
from viewer.shown.window.widgets.painting import painting

DEGREES_PX: Final = 0.4
"""A pixel of the hand turns the part so far."""
STEP_DEG: Final = 10.0
STEP_PX: Final = 40.0
ZOOM: Final = 1.25
_NOTCH: Final = 120
RING_PX: Final = 6.0
_ARROWS: Final = {
    Qt.Key.Key_Left: (-1.0, 0.0),
    Qt.Key.Key_Right: (1.0, 0.0),
    Qt.Key.Key_Up: (0.0, 1.0),
    Qt.Key.Key_Down: (0.0, -1.0),
}


@dataclass(frozen=True, slots=True)
class Mark:
    """A ring about a place."""

    place: Point3
    colour: str
    """Name of the colour, as in `ui`."""


class PartCanvas(QWidget):
    """Shows what was drawn, and says what the hand wants.

    A view counts in the screen's units; pictures have `devicePixelRatio` pixels to one of them.
    """

    view_wanted = Signal(object)
    """The `PartView` that the hand has turned, moved or zoomed to."""
    home_wanted = Signal()
    picked = Signal(QPointF)
    """A click without a drag."""
    resized = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.view = PartView()
        self.marks: tuple[Mark, ...] = ()
        self._drawn: DrawnPart | None = None
        self._image = QImage()
        self._pressed: QPointF | None = None
        self._last = QPointF()
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setProperty("keeps_keys", True)
        self.setMinimumSize(120, 90)
        self.setAccessibleName("whole part")

    def sizeHint(self) -> QSize:
        """Return a comfortable size."""
        return QSize(320, 260)

    @property
    def picture_size(self) -> tuple[int, int]:
        """Rows and columns of a picture that fills it."""
        ratio = self.devicePixelRatioF()
        return max(1, round(self.height() * ratio)), max(1, round(self.width() * ratio))

    def show_drawn(self, drawn: DrawnPart | None) -> None:
        """Show a picture; None: there is none."""
        self._drawn = drawn
        if drawn is not None:
            rows, columns = drawn.request.size
            # the picture's own bytes, which `drawn` keeps
            self._image = QImage(drawn.image.data, columns, rows, 4 * columns, QImage.Format.Format_RGBX8888)
        self.update()

    def place_of(self, point: Point3) -> QPointF:
        """Return where a place lies, in the screen's units."""
        row, column, _ = self.view.place(point, (self.height(), self.width()))
        return QPointF(column, row)

    # ---- events

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint the picture, then the marks."""
        colours = ui(is_dark(self.palette()))
        with painting(self) as painter:
            painter.fillRect(self.rect(), QColor(*colours["panel"]))
            if self._drawn is None:
                return
            painter.drawImage(self.rect(), self._image)
            painter.setRenderHint(painter.RenderHint.Antialiasing)
            for mark in self.marks:
                for width, name in ((4.0, "halo"), (2.0, mark.colour)):
                    painter.setPen(QPen(QColor(*colours[name]), width))
                    painter.drawEllipse(self.place_of(mark.place), RING_PX, RING_PX)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Tell that another picture is needed."""
        super().resizeEvent(event)
        self.resized.emit()

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Begin to turn or to move."""
        self._pressed = self._last = event.position()
        self.setFocus(Qt.FocusReason.MouseFocusReason)

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Turn with the left button; move with another one, or with Shift."""
        if self._pressed is None:
            return
        now = event.position()
        if self._is_click(now):
            return
        by, self._last = now - self._last, now
        shift = bool(event.modifiers() & Qt.KeyboardModifier.ShiftModifier)
        if event.buttons() & Qt.MouseButton.LeftButton and not shift:
            self._turn(-by.x() * DEGREES_PX, by.y() * DEGREES_PX)
        else:
            self._move(-by.x(), by.y())

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """Pick what lies under a click."""
        if self._pressed is not None and self._is_click(event.position()):
            self.picked.emit(event.position())
        self._pressed = None

    def wheelEvent(self, event: QWheelEvent) -> None:
        """Zoom; what lies under the pointer stays there."""
        at = event.position()
        factor = ZOOM ** (event.angleDelta().y() / _NOTCH)
        self.view_wanted.emit(
            self.view.zoomed(factor, at.x() - 0.5 * self.width(), 0.5 * self.height() - at.y())
        )
        event.accept()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Turn, move and zoom."""
        arrow = _ARROWS.get(Qt.Key(event.key()))
        if arrow is not None and event.modifiers() & Qt.KeyboardModifier.ShiftModifier:
            self._move(arrow[0] * STEP_PX, arrow[1] * STEP_PX)
        elif arrow is not None:
            self._turn(arrow[0] * STEP_DEG, arrow[1] * STEP_DEG)
        elif event.key() in (Qt.Key.Key_PageUp, Qt.Key.Key_PageDown):
            self.view_wanted.emit(self.view.zoomed(ZOOM if event.key() == Qt.Key.Key_PageUp else 1.0 / ZOOM))
        elif event.key() == Qt.Key.Key_Home:
            self.home_wanted.emit()
        else:
            super().keyPressEvent(event)

    def _is_click(self, now: QPointF) -> bool:
        """Whether the hand has hardly moved since it pressed."""
        if self._pressed is None or self._last != self._pressed:
            return False
        return (now - self._pressed).manhattanLength() < QApplication.startDragDistance()

    def _turn(self, turn_deg: float, tilt_deg: float) -> None:
        self.view_wanted.emit(self.view.turned(self.view.turn_deg + turn_deg, self.view.tilt_deg + tilt_deg))

    def _move(self, right_px: float, up_px: float) -> None:
        scale = self.view.px_per_mm
        self.view_wanted.emit(self.view.moved(right_px / scale, up_px / scale))
