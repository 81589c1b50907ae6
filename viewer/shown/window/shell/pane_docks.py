"""`PaneDocks`: makes the panes when nothing else is to be done, and shows or hides them with their docks."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from PySide6.QtCore import QByteArray, QObject, Qt, Signal
from PySide6.QtWidgets import QDockWidget, QMainWindow, QWidget

from viewer.shown.window.actions.table import Arrangement
from viewer.shown.window.model.view_state import ViewState
from viewer.shown.window.shell.arrangement import give_focus, hide_empty_bars, make_docks, make_panes
from viewer.shown.window.shell.memory import LAYOUT, DocksKept, Memory
from viewer.shown.window.shell.proportions import Proportions
from viewer.shown.window.threads.in_turn import InTurn
from viewer.shown.window.widgets.delayed_update import DelayedUpdate

if TYPE_CHECKING:  # the window is on screen before the panes are imported, and the engine with them
    from viewer.shown.window.shell.panes import Panes

ROOMY = 900
"""In a window lower than that, in pixels, a dock that comes on the right stands behind one that is there already."""
BREATH_MS = 5
"""Between steps of what takes long: keys and the mouse come in there."""


class PaneDocks(QObject):
    """The panes of a window and the docks that they stand in.

    Parameters
    ----------
    middle
        What stands in the middle of the window; it is painted first.
    """

    made = Signal()
    """All panes are made."""
    stand = Signal()
    """The docks are about the picture, which has its size now."""

    def __init__(self, window: QMainWindow, state: ViewState, memory: Memory, middle: QWidget) -> None:
        super().__init__(window)
        self._window, self._state, self._memory, self._middle = window, state, memory, middle
        self.panes: Panes | None = None
        """None until they are all made."""
        self.docks: dict[str, QDockWidget] = {}
        self._making: Iterator[Panes | None] | None = None
        self._maker = DelayedUpdate(self.make_by_and_by, 0, self)
        self._docking = DelayedUpdate(self._show, BREATH_MS, self)
        self._in_turn = InTurn(self)
        self._proportions = Proportions(window)
        self.arrangement: Arrangement = memory.arrangement
        """What the docks are arranged for."""
        self._known = False
        """The docks have been shown before."""
        self._by_hand = False
        """A person had changed the arrangement when it was hidden."""
        self._kept: QByteArray | None = None
        """How they stood when they were hidden; None: they are not hidden."""

    # ---- making

    def make(self) -> Panes:
        """Return the panes, made now where they are not yet."""
        while self.panes is None:
            self._make_one()
        return self.panes

    def make_by_and_by(self) -> None:
        """Make one pane whenever nothing else is to be done."""
        if self.panes is None:
            self._make_one()
            self._maker.start()

    def stop(self) -> None:
        """Make no more panes: the window closes."""
        self._maker.stop()

    def _make_one(self) -> None:
        if self._making is None:
            self._making = make_panes(self._state, self._window)
        self.panes = next(self._making)
        if self.panes is not None:
            self.docks = make_docks(self._window, self.panes)
            self.made.emit()

    # ---- showing

    @property
    def busy(self) -> bool:
        """Whether panes are being made, docks being set up, or parts of the window waiting to be painted."""
        to_stand = self._docking.isActive() or (self._state.program is not None and not self.standing)
        return to_stand or self._maker.isActive() or self.painting or self._proportions.busy

    @property
    def painting(self) -> bool:
        """Whether parts of the window wait to be painted."""
        return self._in_turn.busy

    @property
    def standing(self) -> bool:
        """Whether the docks are about the picture, each shown or hidden as the person wants it."""
        return self._known and self._kept is None

    def paint_in_turn(self) -> None:
        """Paint the middle and the docks one after another: another program is on show."""
        if self.standing:
            self._in_turn.paint(self._parts)

    def show_soon(self) -> None:
        """Show the docks in steps: all at once would stop the window for too long."""
        self._window.setUpdatesEnabled(False)
        self._docking.start()

    def hide(self) -> None:
        """Hide the docks, and keep how they stood."""
        if self.standing:
            self._by_hand = self._proportions.changed_by_hand
            self._kept = self._window.saveState(LAYOUT)
            for dock in self.docks.values():
                dock.hide()

    def remember(self) -> None:
        """Keep where the docks stand for the next start."""
        self._memory.put("arrangement", self.arrangement)
        if self._known:
            self._remember_places()

    def _remember_places(self) -> None:
        """Keep what a person changed of the arrangement; what was not changed follows the table."""
        places = self._kept or self._window.saveState(LAYOUT)
        by_hand = self._by_hand if self._kept is not None else self._proportions.changed_by_hand
        self._memory.keep_docks(self.arrangement, DocksKept(places, self._window.size()) if by_hand else None)

    def use(self, arrangement: Arrangement) -> None:
        """Arrange the docks for another job, as the person left them."""
        if arrangement == self.arrangement:
            return
        if self._known:
            self._remember_places()
        self.arrangement = arrangement
        if self.standing:
            self._arrange_as_kept()
            self._proportions.follow()  # docks that were hidden take their least sizes at first
        elif self._known:  # hidden: it is arranged when there is a program again
            self._known, self._kept = False, None

    def _arrange_as_kept(self) -> None:
        kept = self._memory.docks(self.arrangement)
        if kept is not None and self._window.restoreState(kept.places, LAYOUT):
            hide_empty_bars(self._window)
            self._proportions.take_up(self.docks, self.arrangement, kept.window)
        else:
            self._proportions.arrange(self.docks, self.arrangement)

    def arrange(self) -> None:
        """Put every pane where it was at first."""
        self._proportions.arrange(self.docks, self.arrangement)

    def follow_size(self) -> None:
        """Give the docks their shares of the window again: text has another size."""
        self._proportions.follow()

    def toggle(self, name: str) -> None:
        """Show a dock and give it the focus, or hide it; one behind another of the same place comes to the front."""
        dock = self.docks[name]
        if dock.isHidden() or dock.visibleRegion().isEmpty():
            self.bring(name)
            give_focus(dock.widget())
        else:
            dock.hide()

    def bring(self, name: str) -> None:
        """Bring a dock into view."""
        from viewer.shown.window.shell.panes import BEHIND

        dock, other = self.docks[name], self.docks.get(BEHIND.get(name, ""))
        if other is None or other.isHidden() or other.isFloating():
            right = self._window.dockWidgetArea(dock) == Qt.DockWidgetArea.RightDockWidgetArea
            other = self._highest_on_the_right() if right and self._window.height() < ROOMY else None
        if dock.isHidden() and other is not None:
            self._window.tabifyDockWidget(other, dock)
        dock.show()
        dock.raise_()

    def _highest_on_the_right(self) -> QDockWidget | None:
        """Return the dock on the right that has most height, of those in the window; None: none stands there."""
        right = Qt.DockWidgetArea.RightDockWidgetArea
        there = [
            dock
            for dock in self.docks.values()
            if self._window.dockWidgetArea(dock) == right and not (dock.isHidden() or dock.isFloating())
        ]
        return max(there, key=QDockWidget.height, default=None)

    @property
    def _parts(self) -> tuple[QWidget, ...]:
        """What is painted by itself, the picture first."""
        return (self._middle, *self.docks.values())

    def _show(self) -> None:
        self._in_turn.paint((self._window, *self._parts))
        if self._state.program is None or self.standing:
            return
        if self._kept is not None:
            self._window.restoreState(self._kept, LAYOUT)
            hide_empty_bars(self._window)
            self._kept = None
            self._proportions.follow()
        elif not self._known:
            self._arrange_as_kept()
        self._known = True
        self.make().plot.settle(BREATH_MS)
        self.stand.emit()
