"""`Teaching`: what a lesson does with the window: its keys, the large picture, what the picture shows."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Final

from PySide6.QtCore import QObject, Qt
from PySide6.QtGui import QAction
from PySide6.QtWidgets import QApplication, QDockWidget, QStackedWidget, QToolTip, QWidget

from viewer.lesson.words import Word
from viewer.shown.pictures.part_picture import cut_named
from viewer.shown.window.actions.bindings import lend_keys
from viewer.shown.window.actions.key_guard import KeyGuard
from viewer.shown.window.actions.table import DOCKS
from viewer.shown.window.model.word_tip import word_tip

if TYPE_CHECKING:  # the window is on screen before the panes are imported, and the engine with them
    from viewer.shown.window.shell.panes import Panes

CLICKER: Final = frozenset({Qt.Key.Key_PageUp, Qt.Key.Key_PageDown})
"""Keys that a clicker has."""
SMALL_TITLE: Final = "Layer"
"""Title of the small picture while the whole part stands in the large one."""


class Teaching(QObject):
    """Connects the lesson with pictures and keys.

    Parameters
    ----------
    panes, docks
        Of the window.
    stack
        What stands in the middle: the large picture is its current widget while a program is on show.
    actions
        By their ids; some have other keys while a lesson runs.
    guard
        Leaves keys to lists and texts; the clicker's are not left to them while a lesson runs.
    """

    def __init__(
        self,
        panes: Panes,
        docks: Mapping[str, QDockWidget],
        stack: QStackedWidget,
        actions: Mapping[str, QAction],
        guard: KeyGuard,
    ) -> None:
        super().__init__(stack)
        self._panes, self._docks, self._stack = panes, docks, stack
        self._actions, self._guard = actions, guard
        self.large: QWidget = panes.plot
        """What stands in the large picture."""
        self._lesson_has_cut = False
        self._lent = (False, False)
        """Whether the lesson has the arrows, and Page Up and Down."""
        lesson = panes.lesson
        lesson.box_wanted.connect(panes.plot.look_at_box)
        lesson.part_wanted.connect(self._show_part)
        lesson.turned.connect(self._lend_keys)
        lesson.play.settled.connect(lesson.next.setFocus)
        panes.plot.word_wanted.connect(self._tell_word)
        panes.plot.view.moved_by_hand.connect(lesson.leave)

    def _tell_word(self, word: Word) -> None:
        """Tell a word where the lesson is read, or beside the pointer where there is none."""
        if self._panes.lesson.isVisible():
            self._panes.lesson.explain(word)
        else:
            legend = self._panes.plot.legend
            corner = legend.place_of(word.term).bottomLeft().toPoint()
            QToolTip.showText(legend.mapToGlobal(corner), word_tip(word), legend)

    def _lend_keys(self) -> None:
        lesson = self._panes.lesson
        lent = lesson.running and lesson.on_path, lesson.running
        if lent != self._lent:
            self._lent = lent
            lend_keys(self._actions, *lent)
            self._guard.passed = CLICKER if lesson.running else frozenset()

    def _show_part(self, large: bool, cut: str | None) -> None:
        """Put the whole part into the large picture, or back beside it."""
        part = self._panes.part
        self._swap(part if large else self._panes.plot)
        if large or self._lesson_has_cut:
            self._lesson_has_cut = cut is not None
            part.show_whole(cut_named(cut))

    def _swap(self, wanted: QWidget) -> None:
        """Let two pictures change places."""
        if wanted is self.large:
            return
        small, dock = self.large, self._docks["part"]
        focus = QApplication.focusWidget()
        had_focus = focus is not None and (small.isAncestorOf(focus) or wanted.isAncestorOf(focus))
        on_show = self._stack.currentWidget() is small
        self._stack.addWidget(wanted)
        self._stack.removeWidget(small)
        dock.setWidget(small)
        small.show()
        dock.setWindowTitle(DOCKS["part"] if wanted is self._panes.plot else SMALL_TITLE)
        self.large = wanted
        if on_show:
            self._stack.setCurrentWidget(wanted)
        if had_focus:  # else an arrow key would turn the part, not the page
            (self._panes.lesson.next if self._panes.lesson.isVisible() else wanted).setFocus()
