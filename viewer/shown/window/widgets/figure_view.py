"""How figures look: name to the left, value to the right; where both do not fit side by side, one above the other.

::

    Time
    in all                     31 min 34 s
    slowest layer
                        5 min 33 s, layer 26
"""

from __future__ import annotations

from typing import Final

from PySide6.QtCore import QModelIndex, QPersistentModelIndex, QPointF, QRectF, QSize, Qt
from PySide6.QtGui import (
    QColor,
    QFont,
    QFontMetricsF,
    QPainter,
    QPalette,
    QResizeEvent,
    QTextLayout,
    QTextOption,
)
from PySide6.QtWidgets import QListView, QStyle, QStyledItemDelegate, QStyleOptionViewItem, QWidget

from viewer.shown.rows import Row
from viewer.shown.window.style.inks import inks_of
from viewer.shown.window.widgets.figure_model import ENTRY, StatsModel

SIDE: Final = 8.0
"""Left and right of the text, logical pixels."""
ABOVE: Final = 2.0
HEADING_ABOVE: Final = 8.0
BETWEEN: Final = 14.0
"""Least distance between name and value on one line, logical pixels."""

Index = QModelIndex | QPersistentModelIndex


class StatsView(QListView):
    """A list of figures as wide as the pane; texts wrap, nothing is cut off."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setItemDelegate(FigureDelegate(self))
        self.setResizeMode(QListView.ResizeMode.Adjust)
        self.setVerticalScrollMode(QListView.ScrollMode.ScrollPerPixel)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setVerticalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOn)  # else wrapping would flicker
        self.setFrameShape(QListView.Shape.NoFrame)

    def show_model(self, model: StatsModel) -> None:
        """Show a model; heights follow its texts."""
        self.setModel(model)
        model.dataChanged.connect(lambda *_: self.scheduleDelayedItemsLayout())

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Wrap texts at the new width."""
        super().resizeEvent(event)
        self.scheduleDelayedItemsLayout()


class FigureDelegate(QStyledItemDelegate):
    """Paints a heading, or a name and its value."""

    def __init__(self, view: QListView) -> None:
        super().__init__(view)
        self._view = view

    def sizeHint(self, option: QStyleOptionViewItem, index: Index) -> QSize:
        """Return the height that the texts need at the view's width."""
        width, entry = float(self._view.viewport().width()), index.data(ENTRY)
        high = QFontMetricsF(option.font).height()
        if not isinstance(entry, Row):
            return QSize(int(width), int(high + HEADING_ABOVE + 2 * ABOVE))
        lines = [] if side_by_side(entry, option.font, width) else [entry.name, entry.text]
        inner = width - 2 * SIDE
        needed = sum(wrapped(text, option.font, inner, False)[1] for text in lines) or high
        return QSize(int(width), int(needed + 2 * ABOVE + 0.999))

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: Index) -> None:
        """Paint one entry."""
        entry, inks = index.data(ENTRY), inks_of(self._view.palette())
        area, chosen = QRectF(option.rect), bool(option.state & QStyle.StateFlag.State_Selected)
        palette = self._view.palette()
        painter.save()
        painter.setFont(option.font)
        if chosen:
            painter.fillRect(area, palette.color(QPalette.ColorRole.Highlight))
        over = palette.color(QPalette.ColorRole.HighlightedText)
        box = area.adjusted(SIDE, ABOVE, -SIDE, -ABOVE)
        if isinstance(entry, Row):
            self._paint_row(
                painter, entry, box, over if chosen else inks.faint, over if chosen else inks.text
            )
        else:
            bold = QFont(painter.font())
            bold.setWeight(QFont.Weight.DemiBold)
            painter.setFont(bold)
            painter.setPen(over if chosen else inks.accent)
            painter.drawText(box, Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignBottom, str(entry))
        painter.restore()

    def _paint_row(self, painter: QPainter, row: Row, box: QRectF, name: QColor, value: QColor) -> None:
        if side_by_side(row, painter.font(), box.width() + 2 * SIDE):
            painter.setPen(name)
            painter.drawText(box, Qt.AlignmentFlag.AlignLeft, row.name)
            painter.setPen(value)
            painter.drawText(box, Qt.AlignmentFlag.AlignRight, row.text)
            return
        top = box.top()
        for text, pen, right in ((row.name, name, False), (row.text, value, True)):
            painter.setPen(pen)
            layout, height = wrapped(text, painter.font(), box.width(), right)
            layout.draw(painter, QPointF(box.left(), top))
            top += height


def side_by_side(row: Row, font: QFont, width: float) -> bool:
    """Whether name and value fit on one line of a view of this width."""
    metrics = QFontMetricsF(font)
    needed = metrics.horizontalAdvance(row.name) + metrics.horizontalAdvance(row.text)
    return needed + BETWEEN + 2 * SIDE <= width


def wrapped(text: str, font: QFont, width: float, right: bool) -> tuple[QTextLayout, float]:
    """Lay out a text in lines no wider than `width`, inside words where there are no blanks; and its height."""
    layout, option = QTextLayout(text, font), QTextOption()
    option.setWrapMode(QTextOption.WrapMode.WrapAtWordBoundaryOrAnywhere)
    option.setAlignment(Qt.AlignmentFlag.AlignRight if right else Qt.AlignmentFlag.AlignLeft)
    layout.setTextOption(option)
    layout.beginLayout()
    height = 0.0
    while (line := layout.createLine()).isValid():
        line.setLineWidth(max(width, 1.0))
        line.setPosition(QPointF(0.0, height))
        height += line.height()
    layout.endLayout()
    return layout, height
