"""The marks above the picture: findings, outlines of beads, the nozzle, a measured distance."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import (
    QColor,
    QFontMetricsF,
    QPainter,
    QPainterPath,
    QPen,
    QPolygonF,
    QTransform,
)

from viewer.shown.pictures.scene import Point
from viewer.shown.window.plot.nozzle_event import NozzleEvent
from viewer.shown.window.plot.px_item import PxItem

LARGE: Final = 2.4
"""So many times as large is the nozzle's mark in a lesson."""
ToPx = Callable[[Point], QPointF]


MIN_OUTLINE_PX = 7.0
"""Least width of the outline of a selected bead, or it would be lost when the whole plate is seen."""


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


class MarksItem(PxItem):
    """Start of the layer, nozzle, findings, the bead under the pointer, the selected one, the measured distance."""

    def __init__(self) -> None:
        super().__init__()
        self.start: Point | None = None
        self.nozzle: Point | None = None
        self.happened: NozzleEvent | None = None
        """What the nozzle has just done with the filament."""
        self.large = False
        """The nozzle is seen from the last row of a class."""
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
        if self.happened is not None:
            self._happened(painter, area, to_px(self.happened.at), self.happened)
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
        path, r = QPainterPath(), 7.0 * (LARGE if self.large else 1.0)
        path.addEllipse(at, r, r)
        for dx, dy in ((1, 0), (-1, 0), (0, 1), (0, -1)):
            path.moveTo(at + QPointF(dx, dy) * (0.57 * r))
            path.lineTo(at + QPointF(dx, dy) * (1.57 * r))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        self._twice(painter, path, 3.2 if self.large else 1.8, "selection")

    def _happened(self, painter: QPainter, area: QRectF, at: QPointF, event: NozzleEvent) -> None:
        """Write beside the nozzle what it has just done, with the triangle of its mark, tip down for a retract."""
        metrics = QFontMetricsF(painter.font())
        side, away = metrics.height(), 12.0 * (LARGE if self.large else 1.0)
        wide = metrics.horizontalAdvance(event.text) + side + 18.0
        box = QRectF(at.x() + away, at.y() - away - side - 8.0, wide, side + 8.0)
        if box.right() > area.right() - 4.0:
            box.moveRight(at.x() - away)
        box.moveTop(max(box.top(), area.top() + 4.0))
        self._note(painter, box, event.kind)
        up = -1.0 if event.kind == "retract" else 1.0
        middle, r = QPointF(box.left() + 6.0 + 0.5 * side, box.center().y()), 0.4 * side
        painter.setBrush(self.ink(event.kind))
        painter.setPen(Qt.PenStyle.NoPen)
        corners = ((-r, 0.8 * r * up), (r, 0.8 * r * up), (0.0, -r * up))
        painter.drawPolygon(QPolygonF([middle + QPointF(*corner) for corner in corners]))
        painter.setPen(self.ink("text"))
        painter.drawText(box.adjusted(side + 10.0, 0.0, 0.0, 0.0), Qt.AlignmentFlag.AlignVCenter, event.text)

    def _note(self, painter: QPainter, box: QRectF, ink: str) -> None:
        """Draw the ground that a text stands on."""
        painter.setPen(QPen(self.ink(ink), 1.0))
        painter.setBrush(self.ink("panel"))
        painter.drawRoundedRect(box, 4.0, 4.0)

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
        self._note(painter, box, "accent")
        painter.setPen(self.ink("text"))
        painter.drawText(box, Qt.AlignmentFlag.AlignCenter, text)


def measured_text(a: Point, b: Point) -> str:
    """Return dx, dy and the distance between two points."""
    dx, dy = b[0] - a[0], b[1] - a[1]
    return f"dx {dx:+.2f} mm   dy {dy:+.2f} mm   distance {math.hypot(dx, dy):.2f} mm"
