"""Paints the cells of the list of levers: the first line stands out, and a bar shows what a lever saves."""

from __future__ import annotations

from typing import Final

from PySide6.QtCore import QModelIndex, QPersistentModelIndex, QRectF, QSize, Qt
from PySide6.QtGui import QFontMetricsF, QPainter
from PySide6.QtWidgets import QStyle, QStyledItemDelegate, QStyleOptionViewItem

from viewer.shown.window.style.inks import elided, inks_of

SHARE: Final = int(Qt.ItemDataRole.UserRole)
"""Of a cell: the length of its bar, 0 .. 1 of the longest."""
_PAD: Final = 4.0
_BAR: Final = 4.0
"""Height of the bar."""


class LeverPainter(QStyledItemDelegate):
    """Two lines a cell, the second one steps back."""

    def sizeHint(self, option: QStyleOptionViewItem, index: QModelIndex | QPersistentModelIndex) -> QSize:
        """Leave room for the lines and the bar."""
        metrics = QFontMetricsF(option.font)
        lines = str(index.data() or "").split("\n")
        wide = max(metrics.horizontalAdvance(line) for line in lines) + 2.0 * _PAD + 2.0
        return QSize(int(wide), int(2.0 * metrics.height() + _BAR + 2.0 * _PAD))

    def paint(
        self, painter: QPainter, option: QStyleOptionViewItem, index: QModelIndex | QPersistentModelIndex
    ) -> None:
        """Paint ground, lines and bar."""
        inks, metrics = inks_of(option.palette), QFontMetricsF(option.font)
        chosen = bool(option.state & QStyle.StateFlag.State_Selected)
        painter.save()
        painter.setFont(option.font)
        box = QRectF(option.rect)
        painter.fillRect(box, option.palette.highlight() if chosen else option.palette.base())
        ink = option.palette.highlightedText().color() if chosen else inks.text
        room = box.adjusted(_PAD, _PAD, -_PAD, -_PAD)
        side = Qt.AlignmentFlag.AlignRight if index.column() else Qt.AlignmentFlag.AlignLeft
        for row, text in enumerate(str(index.data() or "").split("\n")[:2]):
            line = QRectF(room.left(), room.top() + row * metrics.height(), room.width(), metrics.height())
            painter.setPen(ink if chosen or not row else inks.faint)
            painter.drawText(
                line, side | Qt.AlignmentFlag.AlignVCenter, elided(text, option.font, line.width())
            )
        share = index.data(SHARE)
        if isinstance(share, float) and share > 0.0:
            wide = max(share * room.width(), 2.0)
            bar = QRectF(room.right() - wide, box.bottom() - _BAR - 2.0, wide, _BAR)
            painter.fillRect(bar, ink if chosen else inks.accent)
        painter.restore()
