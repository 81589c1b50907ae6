"""`EvidenceItem`: shades the extent of the chosen finding, draws its measures and dims the rest of the layer."""

from __future__ import annotations

from typing import Final

from PySide6.QtCore import QLineF, QPointF, QRectF, Qt
from PySide6.QtGui import (
    QColor,
    QFontMetricsF,
    QPainter,
    QPainterPath,
    QPainterPathStroker,
    QPen,
    QPolygonF,
    QRegion,
    QTransform,
)

from viewer.shown.window.plot.evidence import DrawnEvidence, MeasureLine
from viewer.shown.window.plot.marks_item import SEVERITY_INK
from viewer.shown.window.plot.px_item import PxItem

DIM: Final = 0.62
"""How much of the plate's colour lies over what is not meant."""
SHADE: Final = 0.3
ROOM_PX: Final = 9
"""What is left undimmed about the extent."""
MOST_HOLES: Final = 300
"""Of more parts the whole rectangle about them stays undimmed."""


class EvidenceItem(PxItem):
    """Lies above the beads and below the marks."""

    def __init__(self) -> None:
        super().__init__()
        self.evidence: DrawnEvidence | None = None
        self.severity = "look"
        self.setZValue(5)

    def paint_px(self, painter: QPainter, area: QRectF, world: QTransform) -> None:
        """Paint dimming, shades and measures."""
        if self.evidence is None:
            return
        ink = self.ink(SEVERITY_INK.get(self.severity, "accent"))
        shape = self._shapes(self.evidence, world)
        # about a dear place the colours say how dear: they are framed, not shaded
        self._dim(painter, area, shape, self._measured(self.evidence, world))
        fill = QColor(ink)
        fill.setAlphaF(0.0 if self.severity == "place" else SHADE)
        for path in shape:
            painter.fillPath(path, fill)
            for colour, width in ((self.ink("halo"), 3.6), (ink, 1.8)):
                pen = QPen(colour, width)
                pen.setJoinStyle(Qt.PenJoinStyle.RoundJoin)
                painter.strokePath(path, pen)
        for measure in self.evidence.measures:
            self._measure(painter, area, world, measure, ink)

    def _shapes(self, evidence: DrawnEvidence, world: QTransform) -> list[QPainterPath]:
        """Return areas and stretches in pixels."""
        shapes = []
        for corners in evidence.areas:
            path = QPainterPath()
            path.addPolygon(QPolygonF([world.map(QPointF(*corner)) for corner in corners]))
            path.closeSubpath()
            shapes.append(path)
        for stretch in evidence.stretches:
            line = QPainterPath(world.map(QPointF(*stretch.points[0])))
            for point in stretch.points[1:]:
                line.lineTo(world.map(QPointF(*point)))
            shapes.append(_thick(line, max(stretch.width_mm * abs(world.m11()), 5.0)))
        return shapes

    def _measured(self, evidence: DrawnEvidence, world: QTransform) -> list[QRectF]:
        ends = [(world.map(QPointF(*one.start)), world.map(QPointF(*one.end))) for one in evidence.measures]
        return [QRectF(a, b).normalized() for a, b in ends]

    def _dim(
        self, painter: QPainter, area: QRectF, shapes: list[QPainterPath], measured: list[QRectF]
    ) -> None:
        """Lay the plate's colour over all but the extent."""
        holes = [path.boundingRect() for path in shapes] + measured
        if len(holes) > MOST_HOLES:
            whole = QRectF()
            for hole in holes:
                whole = whole.united(hole)
            holes = [whole]
        rest = QRegion(area.toAlignedRect())
        for hole in holes:
            rest -= QRegion(hole.adjusted(-ROOM_PX, -ROOM_PX, ROOM_PX, ROOM_PX).toAlignedRect())
        colour = self.ink("plate")
        colour.setAlphaF(DIM)
        painter.save()
        painter.setClipRegion(rest)
        painter.fillRect(area, colour)
        painter.restore()

    def _measure(
        self, painter: QPainter, area: QRectF, world: QTransform, measure: MeasureLine, ink: QColor
    ) -> None:
        """Draw a line with a tick at each end and its text beside it; a cross where it has no length."""
        a, b = world.map(QPointF(*measure.start)), world.map(QPointF(*measure.end))
        line = QLineF(a, b)
        path = QPainterPath()
        if line.length() < 1.0:
            for turn in (0.0, 90.0):
                arm = QLineF.fromPolar(9.0, turn)
                path.moveTo(a - arm.p2())
                path.lineTo(a + arm.p2())
            across = QPointF(0.0, 1.0)
        else:
            path.moveTo(a)
            path.lineTo(b)
            across = QPointF(-line.dy() / line.length(), line.dx() / line.length())
            for end in (a, b):
                path.moveTo(end - across * 6.0)
                path.lineTo(end + across * 6.0)
        for colour, width in ((self.ink("halo"), 5.0), (ink, 2.0)):
            painter.strokePath(path, QPen(colour, width))
        if measure.text:
            self._label(painter, area, (a + b) * 0.5, across, measure.text)

    def _label(self, painter: QPainter, area: QRectF, middle: QPointF, across: QPointF, text: str) -> None:
        """Write a text beside a place, inside of what is seen."""
        font = painter.font()
        font.setBold(True)
        painter.setFont(font)
        metrics = QFontMetricsF(font)
        box = QRectF(0.0, 0.0, metrics.horizontalAdvance(text) + 12.0, metrics.height() + 4.0)
        up = -1.0 if across.y() > 0 else 1.0
        away = 0.5 * (box.width() * abs(across.x()) + box.height() * abs(across.y())) + 10.0
        box.moveCenter(middle + across * (up * away))
        box.moveLeft(min(max(box.left(), area.left() + 4.0), area.right() - box.width() - 4.0))
        box.moveTop(min(max(box.top(), area.top() + 4.0), area.bottom() - box.height() - 4.0))
        ink = self.ink(SEVERITY_INK.get(self.severity, "accent"))
        painter.setPen(QPen(ink, 1.0))
        painter.setBrush(self.ink("panel"))
        painter.drawRoundedRect(box, 4.0, 4.0)
        painter.setPen(ink)
        painter.drawText(box, Qt.AlignmentFlag.AlignCenter, text)


def _thick(line: QPainterPath, width: float) -> QPainterPath:
    """Return the outline of a line of some width with round ends."""
    stroker = QPainterPathStroker()
    stroker.setWidth(width)
    stroker.setCapStyle(Qt.PenCapStyle.RoundCap)
    stroker.setJoinStyle(Qt.PenJoinStyle.RoundJoin)
    return stroker.createStroke(line)
