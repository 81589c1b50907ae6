"""`PlotView`: the plot's frame: axes in mm, zoom, pan, pointer and measuring; it knows nothing of layers."""

from __future__ import annotations

import math
from typing import Final

import pyqtgraph as pg
from PySide6.QtCore import QCoreApplication, QEvent, QObject, QPointF, QRectF, Qt, Signal
from PySide6.QtGui import QColor, QFont, QKeyEvent, QPen
from PySide6.QtWidgets import QGraphicsGridLayout, QWidget

from viewer.beads.draw import View
from viewer.shown.pictures.colours import ui
from viewer.shown.pictures.scene import Point
from viewer.shown.pictures.svg import SeenArea
from viewer.shown.window.plot.evidence_item import EvidenceItem
from viewer.shown.window.plot.marks_item import MarksItem
from viewer.shown.window.plot.measuring import Measuring
from viewer.shown.window.plot.picture_item import PictureItem
from viewer.shown.window.plot.plate_item import PlateItem
from viewer.shown.window.widgets.delayed_update import DelayedUpdate

pg.setConfigOption("mouseRateLimit", -1)  # else the last move before the pointer rests may be dropped

PADDING: Final = 0.06
MIN_MM: Final = 0.2
MAX_MM: Final = 1e6
STEP_PX: Final = 8.0
"""An arrow key moves the measuring point so far; with Shift one pixel."""
_ARROWS: Final = {
    Qt.Key.Key_Left: (-1.0, 0.0),
    Qt.Key.Key_Right: (1.0, 0.0),
    Qt.Key.Key_Up: (0.0, 1.0),
    Qt.Key.Key_Down: (0.0, -1.0),
}
_PLACES: Final = {"top": (0, 1), "left": (1, 0), "right": (1, 2), "bottom": (2, 1)}
"""Row and column of each axis about the box."""
_ENTER: Final = (Qt.Key.Key_Return, Qt.Key.Key_Enter)


HOLD_MS = 50
"""Three frames: a longer wait would be felt, and what is painted meanwhile takes its time from the picture."""


class PlotView(pg.GraphicsView):  # type: ignore[misc] # pyqtgraph ships no types
    """Axes with a locked aspect over plate, picture and marks.

    Not a `PlotWidget`, which makes menus of some fifty widgets that nobody could open.
    """

    seen_changed = Signal()
    """Another part of the world is seen, or at another size."""
    moved_by_hand = Signal()
    pointed = Signal(object)
    """The `Point` under the pointer in mm, or None where it has left."""
    picked = Signal(object)
    """The `Point` clicked on in mm."""
    measuring_ended = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.enableMouse(False)
        self.box = pg.ViewBox(lockAspect=1.0, enableMenu=False)
        self._axes = {side: pg.AxisItem(side) for side in _PLACES}
        self._arrange()
        self.setAccessibleName("Layer plot")
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setFrameStyle(0)
        self.setMinimumSize(160, 120)
        self.box.setLimits(minXRange=MIN_MM, minYRange=MIN_MM, maxXRange=MAX_MM, maxYRange=MAX_MM)
        self.plate, self.below, self.picture, self.marks = (
            PlateItem(),
            PictureItem(),
            PictureItem(),
            MarksItem(),
        )
        self.evidence = EvidenceItem()
        self.below.setZValue(-5)
        for item in (self.plate, self.below, self.picture, self.evidence, self.marks):
            self.box.addItem(item, ignoreBounds=True)
        self._measuring = Measuring(self.marks, self._middle)
        self._holding = DelayedUpdate(self.let_go, HOLD_MS, self)
        self._frame()
        # of itself it would move what it holds while it is painted, and everything would be painted twice a frame
        self.box.sigRangeChanged.connect(lambda *_: self.box.updateMatrix())
        self.box.sigRangeChanged.connect(lambda *_: self.seen_changed.emit())
        self.box.sigResized.connect(lambda *_: self.seen_changed.emit())
        self.box.sigRangeChangedManually.connect(lambda *_: self.moved_by_hand.emit())
        self.scene().sigMouseMoved.connect(self._on_pointer)
        self.scene().sigMouseClicked.connect(self._on_click)

    def _arrange(self) -> None:
        """Put the axes about the box."""
        whole, grid = pg.GraphicsWidget(), QGraphicsGridLayout()
        grid.setContentsMargins(2, 8, 12, 2)
        grid.setSpacing(0)
        grid.addItem(self.box, 1, 1)
        for side, axis in self._axes.items():
            axis.linkToView(self.box)
            axis.setZValue(0.5)
            grid.addItem(axis, *_PLACES[side])
        grid.setRowStretchFactor(1, 100)
        grid.setColumnStretchFactor(1, 100)
        whole.setLayout(grid)
        self.setCentralItem(whole)

    def _frame(self) -> None:
        """Set up the axes: mm without prefixes, room for five digits."""
        for side, text in (("bottom", "X, mm"), ("left", "Y, mm")):
            axis = self._axes[side]
            axis.enableAutoSIPrefix(False)
            axis.setLabel(text)
            # else the plot jumps while it is moved; and a third, finest row of ticks took most of an axis's time
            axis.setStyle(autoReduceTextSpace=False, maxTickLevel=1)
        for side in ("top", "right"):
            self._axes[side].setStyle(showValues=False, tickLength=0)
            self._axes[side].setTicks([])

    def recolour(self, dark: bool, font: QFont) -> None:
        """Take the colours for light or dark, and the window's font."""
        colours = ui(dark)
        self.setBackground(QColor(*colours["panel"]))
        for axis in self._axes.values():
            axis.setPen(QPen(QColor(*colours["edge"]), 1.0))
            axis.setTextPen(QColor(*colours["text"]))
            axis.setTickFont(font)
            axis.label.setFont(font)
        for item in (self.plate, self.picture, self.evidence, self.marks):
            item.colours = colours
            item.update()

    def look_at(self, rect: QRectF) -> None:
        """Show all of a rectangle in mm, with some room about it."""
        self.box.setRange(rect, padding=PADDING, disableAutoRange=True)

    def hold(self) -> None:
        """Paint nothing for a moment: a new picture is on its way, and to paint the old one first would delay it."""
        if not self._holding.isActive():
            self.setUpdatesEnabled(False)
            self._holding.start()

    @property
    def held(self) -> bool:
        """Whether painting waits for a new picture."""
        return self._holding.isActive()

    def let_go(self) -> None:
        """Paint again."""
        self._holding.stop()
        self.setUpdatesEnabled(True)

    def paint_now(self) -> None:
        """Paint what has changed, here and in the rest of the window, before anything else that waits."""
        QCoreApplication.sendPostedEvents(self.scene(), QEvent.Type.MetaCall)

    def bring_into_view(self, x_mm: float, y_mm: float) -> bool:
        """Put a place in the middle if it lies outside of what is seen; tells whether it did."""
        seen = self.box.viewRect()
        if seen.contains(x_mm, y_mm):
            return False
        middle = seen.center()
        self.box.translateBy(x=x_mm - middle.x(), y=y_mm - middle.y())
        return True

    def geometry_px(self, ratio: float) -> tuple[View, int, int] | None:
        """Return what a picture of the view needs: where it looks, rows and columns; None where it is too small.

        Parameters
        ----------
        ratio
            Picture pixels to one of the screen's unit.
        """
        seen, width, height = self.box.viewRect(), self.box.width(), self.box.height()
        if width < 2.0 or height < 2.0 or seen.width() <= 0.0:
            return None
        view = View(seen.left(), seen.bottom(), width * ratio / seen.width())
        return view, math.ceil(height * ratio), math.ceil(width * ratio)

    @property
    def seen_area(self) -> SeenArea:
        """The rectangle of the plate that is seen."""
        seen = self.box.viewRect()
        return SeenArea(seen.left(), seen.top(), seen.width(), seen.height())

    @property
    def mm_a_px(self) -> float:
        """How many mm a pixel of the screen's unit spans."""
        return float(self.box.viewRect().width() / max(self.box.width(), 1.0))

    # ------------------------------------------------------------------ pointer

    def _point(self, position: QPointF) -> Point:
        place = self.box.mapSceneToView(position)
        return float(place.x()), float(place.y())

    def _on_pointer(self, position: QPointF) -> None:
        if not self.box.sceneBoundingRect().contains(position):
            self.pointed.emit(None)
            return
        point = self._point(position)
        self._measuring.follow(point)
        self.pointed.emit(point)

    def _on_click(self, event: pg.GraphicsScene.mouseEvents.MouseClickEvent) -> None:
        inside = self.box.sceneBoundingRect().contains(event.scenePos())
        if event.button() != Qt.MouseButton.LeftButton or not inside:
            return
        point = self._point(event.scenePos())
        if self.measuring:
            self._measuring.set_end(point)
        else:
            self.picked.emit(point)

    def viewportEvent(self, event: QEvent) -> bool:
        """Notice that the pointer has left."""
        if event.type() == QEvent.Type.Leave:
            self.pointed.emit(None)
        return bool(super().viewportEvent(event))

    # ------------------------------------------------------------------ measuring

    @property
    def measuring(self) -> bool:
        """Whether two points are being chosen or shown."""
        return self._measuring.on

    def start_measuring(self, on: bool) -> None:
        """Start or end measuring: two clicks set the ends, or arrows and Enter."""
        self._measuring.start(on)
        self.viewport().setCursor(Qt.CursorShape.CrossCursor if on else Qt.CursorShape.ArrowCursor)
        if on:
            self.setFocus()

    def _middle(self) -> Point:
        """Return the middle of what is seen."""
        middle = self.box.viewRect().center()
        return float(middle.x()), float(middle.y())

    def event(self, event: QEvent) -> bool:
        """Claim the measuring keys before the window's actions take them."""
        if event.type() == QEvent.Type.ShortcutOverride and self.measuring and isinstance(event, QKeyEvent):
            key = event.key()
            if key in _ARROWS or key in _ENTER:  # Escape is the window's, which then ends measuring
                event.accept()
                return True
        return bool(super().event(event))

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Measure by keyboard; everything else goes on to the window."""
        if not self.measuring:
            QObject.event(self, event)
            event.ignore()
            return
        key = Qt.Key(event.key())
        if key == Qt.Key.Key_Escape:
            self.start_measuring(False)
            self.measuring_ended.emit()
        elif key in _ENTER:
            self._measuring.set_end_by_key()
        elif key in _ARROWS:
            step = self.mm_a_px * (1.0 if event.modifiers() & Qt.KeyboardModifier.ShiftModifier else STEP_PX)
            self._measuring.move_by_key(_ARROWS[key][0] * step, _ARROWS[key][1] * step)
        else:
            event.ignore()
