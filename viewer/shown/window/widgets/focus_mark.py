"""`FocusMark`: a line at the head of the pane that has the keys (WCAG 2.2, 2.4.7: focus visible)."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import QEvent, QObject, Qt
from PySide6.QtGui import QPaintEvent
from PySide6.QtWidgets import QApplication, QWidget

from viewer.shown.window.style.inks import is_dark
from viewer.shown.window.style.tones import tone
from viewer.shown.window.widgets.painting import painting

THICK_PX = 2


class FocusMark(QWidget):
    """Follows the focus from pane to pane; it lies beside the pane, so that pictures of one do not have it.

    Parameters
    ----------
    pane_of
        Returns the pane that a widget belongs to, None where it belongs to none.
    window
        The mark lies in it while no pane has the focus.
    """

    def __init__(self, pane_of: Callable[[QWidget], QWidget | None], window: QWidget) -> None:
        super().__init__(window)
        self._pane_of = pane_of
        self._pane: QWidget | None = None
        self.setAttribute(Qt.WidgetAttribute.WA_TransparentForMouseEvents)
        self.hide()
        application = QApplication.instance()
        assert isinstance(application, QApplication)
        application.focusChanged.connect(self._follow)
        self._follow(None, application.focusWidget())

    def _follow(self, _old: QWidget | None, new: QWidget | None) -> None:
        pane = None if new is None else self._pane_of(new)
        if pane is self._pane:
            return
        if self._pane is not None:
            self._pane.removeEventFilter(self)
        self._pane = pane
        if pane is None:
            self.hide()
        else:
            pane.installEventFilter(self)
            self.setParent(pane.parentWidget())
            self._place()
            self.show()  # another parent hides it

    def _place(self) -> None:
        if self._pane is not None:
            at = self._pane.geometry()
            self.setGeometry(at.x(), at.y(), at.width(), THICK_PX)
            self.raise_()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Stay at the head of the pane."""
        if event.type() in (QEvent.Type.Resize, QEvent.Type.Move):
            self._place()
        return super().eventFilter(watched, event)

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint the line."""
        with painting(self) as painter:
            painter.fillRect(self.rect(), tone("accent", is_dark(self.palette())))
