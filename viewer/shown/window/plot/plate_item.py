"""The plate: its outline with a grid in round mm, and hatching where no bead may lie."""

from __future__ import annotations

import math

from PySide6.QtCore import QLineF, QPointF, QRectF, Qt
from PySide6.QtGui import (
    QBrush,
    QPainter,
    QPainterPath,
    QPen,
    QPixmap,
    QRegion,
    QTransform,
)

from viewer.cards.printer import Plate
from viewer.shown.pictures.bead_values import round_step
from viewer.shown.window.plot.px_item import PxItem

GRID_FROM_PX = 36.0
"""Lines of the plate's grid are at least so far apart."""


HATCH_TILE_PX = 256
"""A multiple of a hatching pattern's 8."""


class PlateItem(PxItem):
    """The plate's outline with a grid in round mm; hatching where no bead may lie."""

    def __init__(self) -> None:
        super().__init__()
        self.plate: Plate | None = None
        self._tile, self._tile_of = QPixmap(), (0, 0, 0.0)
        self.setZValue(-10)

    def paint_px(self, painter: QPainter, area: QRectF, world: QTransform) -> None:
        """Paint plate, grid and hatching."""
        painter.fillRect(area, self.ink("plate"))
        outline = None if self.plate is None else plate_path(self.plate)
        if outline is None:
            self._paint_grid(painter, area, world)
            return
        here = world.map(outline)
        inside = here.boundingRect().intersected(area)
        beyond = self._hatching(painter.device().devicePixelRatioF())
        painter.setRenderHint(QPainter.RenderHint.Antialiasing, False)  # the outline covers the steps
        if self.plate is not None and self.plate.shape == "circle":
            whole = QPainterPath()
            whole.addRect(area)
            painter.fillPath(whole.subtracted(here), beyond)
            painter.save()
            painter.setClipPath(here, Qt.ClipOperation.IntersectClip)
            self._paint_grid(painter, inside, world)
            painter.restore()
        else:  # no path is filled and none is clipped by, which took a fifth of a frame
            painter.save()
            painter.setClipRegion(
                QRegion(area.toAlignedRect()) - QRegion(inside.toRect()), Qt.ClipOperation.IntersectClip
            )
            painter.fillRect(area, beyond)
            painter.restore()
            self._paint_grid(painter, inside, world)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setPen(QPen(self.ink("edge"), 1.6))
        painter.drawPath(here)

    def _hatching(self, ratio: float) -> QBrush:
        """Return the hatching on the plate's colour: as a tile it is copied, which a pattern of lines is not."""
        wanted = self.ink("plate").rgb(), self.ink("beyond").rgb(), ratio
        if wanted != self._tile_of:
            self._tile = QPixmap(HATCH_TILE_PX, HATCH_TILE_PX)
            self._tile.setDevicePixelRatio(ratio)
            self._tile.fill(self.ink("plate"))
            painter = QPainter(self._tile)
            painter.fillRect(QRectF(0.0, 0.0, HATCH_TILE_PX, HATCH_TILE_PX),
                             QBrush(self.ink("beyond"), Qt.BrushStyle.BDiagPattern))  # fmt: skip
            painter.end()
            self._tile_of = wanted
        return QBrush(self._tile)

    def _paint_grid(self, painter: QPainter, inside: QRectF, world: QTransform) -> None:
        """Paint lines in round mm across a rectangle in pixels."""
        px_a_mm = abs(world.m11())
        if px_a_mm <= 0.0 or inside.isEmpty():
            return
        step = round_step(GRID_FROM_PX / px_a_mm)
        painter.setPen(QPen(self.ink("grid"), 1.0))
        seen = world.inverted()[0].mapRect(inside)
        lines = []
        for k in range(math.ceil(seen.left() / step), math.floor(seen.right() / step) + 1):
            x = world.map(QPointF(k * step, 0.0)).x()
            lines.append(QLineF(x, inside.top(), x, inside.bottom()))
        for k in range(math.ceil(seen.top() / step), math.floor(seen.bottom() / step) + 1):
            y = world.map(QPointF(0.0, k * step)).y()
            lines.append(QLineF(inside.left(), y, inside.right(), y))
        painter.drawLines(lines)


def plate_path(plate: Plate) -> QPainterPath | None:
    """Return the plate's outline in mm; None where its size is not known."""
    rect = plate_rect(plate)
    if rect is None:
        return None
    path = QPainterPath()
    if plate.shape == "circle":
        path.addEllipse(rect)
    else:
        path.addRect(rect)
    return path


def plate_rect(plate: Plate) -> QRectF | None:
    """Return the rectangle about the plate in mm; None where its size is not known."""
    if plate.box_mm is None:
        return None
    left, front, right, back = plate.box_mm
    return QRectF(left, front, right - left, back - front)
