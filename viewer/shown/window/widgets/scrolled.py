"""`scrolled`: what is higher than its pane scrolls, so that a pane can be as low as its dock wants it."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QScrollArea, QVBoxLayout, QWidget


def scrolled(content: QWidget, pane: QWidget) -> QScrollArea:
    """Fill a pane with a content that scrolls upright where it does not fit; return what scrolls it."""
    area = QScrollArea(pane)
    area.setFocusPolicy(Qt.FocusPolicy.NoFocus)
    area.setWidget(content)
    area.setWidgetResizable(True)
    area.setFrameShape(QScrollArea.Shape.NoFrame)
    area.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
    outer = QVBoxLayout(pane)
    outer.setContentsMargins(0, 0, 0, 0)
    outer.addWidget(area)
    return area
