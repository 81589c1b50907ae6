"""What lies in the plot: the plate below the picture, the picture of the beads, the marks above it.

They paint in pixels of the screen, so that lines and marks keep their size at every zoom; `to_px` takes mm there.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
import pyqtgraph as pg
from PySide6.QtCore import QLineF, QPointF, QRectF, Qt
from PySide6.QtGui import (
    QBrush,
    QColor,
    QFontMetricsF,
    QImage,
    QPainter,
    QPainterPath,
    QPen,
    QPixmap,
    QPolygonF,
    QRegion,
    QTransform,
)
from PySide6.QtWidgets import QWidget

from viewer.beads.draw import U32, View
from viewer.cards.printer import Plate
from viewer.shown.window.plot.bead_values import round_step
from viewer.shown.window.plot.scene import Point
from viewer.shown.window.style.colours import Rgb, ui

ToPx = Callable[[Point], QPointF]
GRID_FROM_PX = 36.0
"""Lines of the plate's grid are at least so far apart."""
HATCH_TILE_PX = 256
"""A multiple of a hatching pattern's 8."""
MIN_OUTLINE_PX = 7.0
"""A selected bead is outlined at least so wide, or it would be lost when the whole plate is seen."""


class _PxItem(pg.GraphicsObject):  # type: ignore[misc] # pyqtgraph ships no types
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


class PlateItem(_PxItem):
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
    if plate.shape == "circle":
        if plate.diameter_mm is None:
            return None
        r = 0.5 * plate.diameter_mm
        return QRectF(plate.left_mm - r, plate.front_mm - r, 2.0 * r, 2.0 * r)
    if plate.width_mm is None or plate.depth_mm is None:
        return None
    return QRectF(plate.left_mm, plate.front_mm, plate.width_mm, plate.depth_mm)


class PictureItem(_PxItem):
    """The picture of the beads; between two pictures the old one is moved and stretched to where it belongs."""

    def __init__(self) -> None:
        super().__init__()
        self._image: QImage | None = None
        self._pixels: U32 | None = None
        """What `_image` shows: it shares their memory."""
        self._view = View(0.0, 0.0, 1.0)

    def show_picture(self, pixels: U32, view: View, ratio: float) -> None:
        """Show another picture: (rows, columns) premultiplied 0xAARRGGBB, `ratio` to one of the screen's unit."""
        rows, columns = pixels.shape
        flat = np.ascontiguousarray(pixels)
        image = QImage(flat.data, columns, rows, 4 * columns, QImage.Format.Format_ARGB32_Premultiplied)
        image.setDevicePixelRatio(ratio)
        self._image, self._pixels, self._view = image, flat, view
        self.update()

    @property
    def view_of_picture(self) -> View | None:
        """Where the picture that is shown looks; None: none is."""
        return None if self._image is None else self._view

    def clear(self) -> None:
        """Show none."""
        if self._image is not None:
            self._image = self._pixels = None
            self.update()

    def paint_px(self, painter: QPainter, area: QRectF, world: QTransform) -> None:
        """Paint the picture pixel by pixel where the view is that of the picture."""
        if self._image is None:
            return
        ratio = self._image.devicePixelRatio()
        scale = self._view.px_per_mm / ratio
        corner = world.map(QPointF(self._view.left_mm, self._view.top_mm))
        if abs(world.m11() / scale - 1.0) < 1e-6:
            painter.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform, False)
            painter.drawImage(
                QPointF(round(corner.x() * ratio) / ratio, round(corner.y() * ratio) / ratio), self._image
            )
            return
        stretch = world.m11() / self._view.px_per_mm
        painter.drawImage(
            QRectF(corner.x(), corner.y(), self._image.width() * stretch, self._image.height() * stretch),
            self._image,
        )


@dataclass(frozen=True, slots=True)
class Outline:
    """The footprint of one move, to be outlined."""

    start: Point
    end: Point
    width_mm: float


@dataclass(frozen=True, slots=True)
class FindingMark:
    """A place that a finding points at."""

    at: Point
    severity: str


SEVERITY_INK: Final = {"stop": "stop", "look": "warn", "note": "accent"}


class MarksItem(_PxItem):
    """Start of the layer, nozzle, findings, the bead under the pointer, the selected one, the measured distance."""

    def __init__(self) -> None:
        super().__init__()
        self.start: Point | None = None
        self.nozzle: Point | None = None
        self.findings: tuple[FindingMark, ...] = ()
        self.selected: Outline | None = None
        self.hovered: Outline | None = None
        self.measured: tuple[Point, Point] | None = None
        self.setZValue(10)

    def paint_px(self, painter: QPainter, area: QRectF, world: QTransform) -> None:
        """Paint all marks, what matters most last."""

        def to_px(point: Point) -> QPointF:
            return world.map(QPointF(*point))

        px_a_mm = abs(world.m11())
        if self.start is not None:
            self._dot(painter, to_px(self.start))
        for mark in self.findings:
            self._diamond(painter, to_px(mark.at), self.ink(SEVERITY_INK.get(mark.severity, "accent")))
        for outline, width in ((self.hovered, 1.2), (self.selected, 2.2)):
            if outline is not None:
                self._capsule(
                    painter, to_px(outline.start), to_px(outline.end), outline.width_mm * px_a_mm, width
                )
        if self.nozzle is not None:
            self._nozzle(painter, to_px(self.nozzle))
        if self.measured is not None:
            self._distance(painter, area, to_px, self.measured)

    def _twice(self, painter: QPainter, path: QPainterPath, width: float, ink: str) -> None:
        """Draw a line over a wider one in the plate's colour: it then stands out from any bead."""
        for colour, wide in ((self.ink("halo"), width + 2.4), (self.ink(ink), width)):
            pen = QPen(colour, wide)
            pen.setJoinStyle(Qt.PenJoinStyle.RoundJoin)
            painter.strokePath(path, pen)

    def _dot(self, painter: QPainter, at: QPointF) -> None:
        painter.setPen(QPen(self.ink("halo"), 2.0))
        painter.setBrush(self.ink("selection"))
        painter.drawEllipse(at, 4.0, 4.0)

    def _diamond(self, painter: QPainter, at: QPointF, colour: QColor) -> None:
        r = 7.0
        corners = [QPointF(0, -r), QPointF(r, 0), QPointF(0, r), QPointF(-r, 0)]
        painter.setPen(QPen(self.ink("halo"), 2.0))
        painter.setBrush(colour)
        painter.drawPolygon(QPolygonF([at + corner for corner in corners]))

    def _capsule(self, painter: QPainter, a: QPointF, b: QPointF, width_px: float, pen_px: float) -> None:
        """Outline all points within half the width of a segment."""
        r = 0.5 * max(width_px, MIN_OUTLINE_PX)
        angle = math.degrees(math.atan2(-(b.y() - a.y()), b.x() - a.x()))
        path = QPainterPath()
        path.arcMoveTo(QRectF(b.x() - r, b.y() - r, 2 * r, 2 * r), angle - 90.0)
        path.arcTo(QRectF(b.x() - r, b.y() - r, 2 * r, 2 * r), angle - 90.0, 180.0)
        path.arcTo(QRectF(a.x() - r, a.y() - r, 2 * r, 2 * r), angle + 90.0, 180.0)
        path.closeSubpath()
        painter.setBrush(Qt.BrushStyle.NoBrush)
        self._twice(painter, path, pen_px, "selection")

    def _nozzle(self, painter: QPainter, at: QPointF) -> None:
        path = QPainterPath()
        path.addEllipse(at, 7.0, 7.0)
        for dx, dy in ((1, 0), (-1, 0), (0, 1), (0, -1)):
            path.moveTo(at + QPointF(4.0 * dx, 4.0 * dy))
            path.lineTo(at + QPointF(11.0 * dx, 11.0 * dy))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        self._twice(painter, path, 1.8, "selection")

    def _distance(self, painter: QPainter, area: QRectF, to_px: ToPx, ends: tuple[Point, Point]) -> None:
        a, b = to_px(ends[0]), to_px(ends[1])
        path = QPainterPath(a)
        path.lineTo(b)
        for end in (a, b):
            path.addEllipse(end, 3.5, 3.5)
        self._twice(painter, path, 1.6, "accent")
        text = measured_text(*ends)
        metrics = QFontMetricsF(painter.font())
        box = QRectF(0.0, 0.0, metrics.horizontalAdvance(text) + 12.0, metrics.height() + 6.0)
        box.moveCenter((a + b) * 0.5)
        box.moveLeft(min(max(box.left(), area.left() + 4.0), area.right() - box.width() - 4.0))
        box.moveBottom(min(a.y(), b.y()) - 10.0)  # beside both ends, not over them
        if box.top() < area.top() + 4.0:
            box.moveTop(min(max(a.y(), b.y()) + 10.0, area.bottom() - box.height() - 4.0))
        painter.setPen(QPen(self.ink("accent"), 1.0))
        painter.setBrush(self.ink("panel"))
        painter.drawRoundedRect(box, 4.0, 4.0)
        painter.setPen(self.ink("text"))
        painter.drawText(box, Qt.AlignmentFlag.AlignCenter, text)


def measured_text(a: Point, b: Point) -> str:
    """Return dx, dy and the distance between two points."""
    dx, dy = b[0] - a[0], b[1] - a[1]
    return f"dx {dx:+.2f} mm   dy {dy:+.2f} mm   distance {math.hypot(dx, dy):.2f} mm"
