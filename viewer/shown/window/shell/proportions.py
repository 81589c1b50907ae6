"""`Proportions`: the docks keep their shares of the window when it becomes larger or smaller.

Of itself the window keeps each dock's size in pixels and gives all that is new to the picture: panes that were made
in a small window stay small in a large one, and those of a large one leave the picture no room in a small one.
"""

from __future__ import annotations

from collections.abc import Mapping

from PySide6.QtCore import QEvent, QObject, QPoint, QSize, Qt, Signal
from PySide6.QtGui import QMouseEvent
from PySide6.QtWidgets import QDockWidget, QMainWindow

from viewer.shown.window.actions.table import Arrangement
from viewer.shown.window.shell.arrangement import arrange_docks, give_shares, is_low, is_narrow
from viewer.shown.window.widgets.delayed_update import DelayedUpdate

Places = dict[str, tuple[Qt.DockWidgetArea, bool, bool, frozenset[str]]]
"""Of each dock: area, whether it floats, whether it is hidden, what stands behind or before it."""


class Proportions(QObject):
    """Watches the window's size and the hand that moves what separates the docks."""

    moved = Signal()
    """A person changed the size of a dock."""

    def __init__(self, window: QMainWindow) -> None:
        super().__init__(window)
        self._window = window
        self._docks: Mapping[str, QDockWidget] = {}
        self._arrangement: Arrangement = "check"
        self._at_first: Places | None = None
        """Where the docks stood when they had been arranged; None: a person's arrangement was taken up."""
        self._class = (False, False)
        self._pressed = False
        self._shares: dict[str, tuple[float, float]] | None = None
        """Width and height of the docks as a person wants them; None: as the table says."""
        self._delay = DelayedUpdate(self._follow, 0, self)
        window.installEventFilter(self)

    @property
    def busy(self) -> bool:
        """Whether the docks are about to be given other sizes."""
        return self._delay.isActive()

    @property
    def changed_by_hand(self) -> bool:
        """Whether a person has moved, hidden or sized a dock since they were arranged."""
        return self._at_first is None or self._shares is not None or self._places() != self._at_first

    def arrange(self, docks: Mapping[str, QDockWidget], arrangement: Arrangement) -> None:
        """Put the docks where they are at first."""
        self._docks, self._arrangement, self._shares = docks, arrangement, None
        arrange_docks(self._window, docks, arrangement)
        self._at_first = self._places()
        self._class = is_low(self._window), is_narrow(self._window)

    def take_up(self, docks: Mapping[str, QDockWidget], arrangement: Arrangement, before: QSize) -> None:
        """Take up what a person arranged in a window of another size."""
        self._docks, self._arrangement, self._at_first = docks, arrangement, None
        self._shares = self._shares_of(before)
        self._delay.start()

    def _places(self) -> Places:
        names = {dock: name for name, dock in self._docks.items()}
        return {
            name: (
                self._window.dockWidgetArea(dock),
                dock.isFloating(),
                dock.isHidden(),
                frozenset(names[other] for other in self._window.tabifiedDockWidgets(dock)),
            )
            for name, dock in self._docks.items()
        }

    def _in_place(self) -> list[str]:
        """Return the docks that have a size of their own: on show, in the window, in front."""
        return [
            name
            for name, dock in self._docks.items()
            if not (dock.isHidden() or dock.isFloating() or dock.visibleRegion().isEmpty())
        ]

    def _shares_of(self, window: QSize) -> dict[str, tuple[float, float]]:
        wide, high = max(window.width(), 1), max(window.height(), 1)
        sizes = {name: self._docks[name].size() for name in self._in_place()}
        return {name: (size.width() / wide, size.height() / high) for name, size in sizes.items()}

    def follow(self) -> None:
        """Give the docks their shares of the window, soon."""
        if self._docks:
            self._delay.start()

    def _follow(self) -> None:
        window = self._window
        if not self._in_place():
            return
        if not self.changed_by_hand and (is_low(window), is_narrow(window)) != self._class:
            self.arrange(self._docks, self._arrangement)
        elif self._shares is None:
            give_shares(window, self._docks, self._arrangement)
        else:
            known = [name for name in self._in_place() if name in self._shares]
            docks = [self._docks[name] for name in known]
            for side, total, way in (
                (0, window.width(), Qt.Orientation.Horizontal),
                (1, window.height(), Qt.Orientation.Vertical),
            ):
                window.resizeDocks(docks, [round(self._shares[name][side] * total) for name in known], way)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Follow the window's size; note that a hand has moved what separates the docks."""
        if event.type() == QEvent.Type.Resize:
            self.follow()
        elif event.type() == QEvent.Type.MouseButtonPress and isinstance(event, QMouseEvent):
            self._pressed = self._window.isSeparator(_place(event))
        elif event.type() == QEvent.Type.MouseButtonRelease and self._pressed:
            self._pressed = False
            self._shares = self._shares_of(self._window.size())
            self.moved.emit()
        return super().eventFilter(watched, event)


def _place(event: QMouseEvent) -> QPoint:
    return event.position().toPoint()
