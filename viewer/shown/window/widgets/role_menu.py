"""`RoleMenu`: a button whose menu shows and hides the beads of each role."""

from __future__ import annotations

from PySide6.QtCore import Slot
from PySide6.QtGui import QAction
from PySide6.QtWidgets import QMenu, QToolButton, QWidget

from viewer.layers.layers import ROLE_NAMES
from viewer.shown.window.model.view_state import ViewState
from viewer.shown.window.widgets.until_destroyed import listen_until_destroyed


class RoleMenu(QToolButton):
    """Says which roles are shown; a tick for each."""

    def __init__(self, state: ViewState, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("roles")
        self.setText("Roles")
        self.setToolTip("Show or hide the beads of a role")
        self.setPopupMode(QToolButton.ToolButtonPopupMode.InstantPopup)
        self._state = state
        menu = QMenu(self)
        for role, name in enumerate(ROLE_NAMES):
            tick = menu.addAction(name)
            tick.setCheckable(True)
            tick.setData(role)
        menu.triggered.connect(self._choose)
        self.setMenu(menu)
        listen_until_destroyed(self, state, self._show, "roles")
        self._show()

    @Slot(QAction)
    def _choose(self, tick: QAction) -> None:
        self._state.show_role(int(tick.data()), tick.isChecked())

    def _show(self) -> None:
        for tick in self.menu().actions():
            tick.setChecked(tick.data() not in self._state.hidden_roles)
        hidden = len(self._state.hidden_roles)
        self.setText(f"Roles ({hidden} hidden)" if hidden else "Roles")
