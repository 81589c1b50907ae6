"""`PxItem`: an item of the plot that paints in pixels of the screen, so that marks keep their size at every zoom."""

from __future__ import annotations

from typing import Any

import pyqtgraph as pg
from PySide6.QtCore import QRectF
from PySide6.QtGui import (
    QColor,
    QPainter,
    QTransform,
)
from PySide6.QtWidgets import QWidget

from viewer.shown.pictures.colours import Rgb, ui


class PxItem(pg.GraphicsObject):  # type: ignore[misc] # pyqtgraph ships no types
    """An item over the whole view that paints in pixels."""

    def __init__(self) -> None:
        super().__init__()
        self.colours: dict[str, Rgb] = ui(False)

    def boundingRect(self) -> QRectF:
        """Return the part of the world that is seen."""
        view = self.viewRect()
        return QRectF() if view is None else QRectF(view)

    def viewRangeChanged(self) -> None:
        """Follow the view."""
        self.prepareGeometryChange()
        self.update()

    def paint(self, painter: QPainter, option: Any, widget: QWidget | None = None) -> None:
        """Change to pixels and paint."""
        world = painter.worldTransform()
        painter.save()
        painter.setTransform(QTransform())
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        area = world.mapRect(self.boundingRect())
        painter.setClipRect(area)
        self.paint_px(painter, area, world)
        painter.restore()

    def paint_px(self, painter: QPainter, area: QRectF, world: QTransform) -> None:
        """Paint in pixels within `area`; `world` maps mm to them."""
        raise NotImplementedError

    def ink(self, name: str) -> QColor:
        """Return a colour by its name."""
        return QColor(*self.colours[name])
