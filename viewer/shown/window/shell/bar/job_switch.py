"""`JobSwitch`: one button for each arrangement of the window, side by side."""

from __future__ import annotations

from collections.abc import Mapping

from PySide6.QtCore import Qt
from PySide6.QtGui import QAction
from PySide6.QtWidgets import QHBoxLayout, QToolButton, QWidget

from viewer.shown.window.actions.table import ARRANGEMENTS


class JobSwitch(QWidget):
    """Shows which arrangement the window has, and changes it."""

    def __init__(self, made: Mapping[str, QAction], parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAccessibleName("what the window is arranged for")
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 2, 6, 2)
        row.setSpacing(0)
        last = len(ARRANGEMENTS) - 1
        for k, (name, (word, _key, tip)) in enumerate(ARRANGEMENTS.items()):
            button = QToolButton(self)
            button.setDefaultAction(made[f"arrange-{name}"])
            button.setToolButtonStyle(Qt.ToolButtonStyle.ToolButtonTextOnly)
            button.setFocusPolicy(Qt.FocusPolicy.TabFocus)
            button.setObjectName("job")
            button.setProperty("end", "first" if k == 0 else "last" if k == last else "middle")
            button.setAccessibleName(word)
            button.setAccessibleDescription(tip)
            row.addWidget(button)
