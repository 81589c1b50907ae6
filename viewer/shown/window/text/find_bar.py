"""`FindBar`: the fields to find words and to go to a line, and what came of it."""

from __future__ import annotations

from PySide6.QtCore import QEvent, QObject, Qt, Signal
from PySide6.QtGui import QIntValidator, QKeyEvent
from PySide6.QtWidgets import QBoxLayout, QHBoxLayout, QLabel, QLineEdit, QToolButton, QWidget

from viewer.shown.window.style.icons import icon
from viewer.shown.window.style.inks import is_dark
from viewer.shown.window.widgets.short_label import ShortLabel

NARROW_LETTERS = 70
"""Width of a pane, in letters, below which the fields stand in two rows."""


class FindBar(QWidget):
    """Hidden by its pane while nobody uses it and there is little room."""

    wants_find = Signal(str, bool)
    """A text to look for; whether forward."""
    wants_line = Signal(int)
    """A line to go to."""
    left = Signal()
    """A person has left a field with Esc."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.wanted = QLineEdit(placeholderText="Find in the program", clearButtonEnabled=True)
        self.number = QLineEdit(placeholderText="Line")
        self.up, self.down = QToolButton(autoRaise=True), QToolButton(autoRaise=True)
        self.message = ShortLabel()  # the panes beside it need their room, whatever it says
        self._asked = False
        self._arrange()
        self.wanted.returnPressed.connect(lambda: self.find_typed(True))
        self.down.clicked.connect(lambda: self.find_typed(True))
        self.up.clicked.connect(lambda: self.find_typed(False))
        self.number.returnPressed.connect(self._go)
        for field in (self.wanted, self.number):
            field.installEventFilter(self)
        self._draw_icons()

    def _arrange(self) -> None:
        self.number.setValidator(QIntValidator(1, 2_000_000_000))
        self.number.setFixedWidth(self.number.fontMetrics().horizontalAdvance("0" * 13))
        self.wanted.setMinimumWidth(self.wanted.fontMetrics().horizontalAdvance("0" * 10))
        self.wanted.setMaximumWidth(self.wanted.fontMetrics().horizontalAdvance("0" * 36))
        self.up.setToolTip("Find upward (Shift+F3)")
        self.down.setToolTip("Find downward (F3 or Enter)")
        self.message.setProperty("faint", True)
        finding, going = QHBoxLayout(), QHBoxLayout()
        finding.addWidget(self.wanted, 1)
        finding.addWidget(self.up)
        finding.addWidget(self.down)
        going.addWidget(QLabel("Go to"))
        going.addWidget(self.number)
        going.addWidget(self.message, 3)
        self._rows = rows = QBoxLayout(QBoxLayout.Direction.LeftToRight, self)
        rows.setContentsMargins(8, 3, 8, 3)
        rows.setSpacing(10)
        for row, stretch in ((finding, 1), (going, 2)):
            row.setSpacing(4)
            rows.addLayout(row, stretch)

    def fold(self, width: int) -> None:
        """Put what goes to lines below what finds words where a pane has no width for both."""
        narrow = width < NARROW_LETTERS * self.fontMetrics().averageCharWidth()
        way = QBoxLayout.Direction
        self._rows.setDirection(way.TopToBottom if narrow else way.LeftToRight)
        self._rows.setSpacing(3 if narrow else 10)

    @property
    def used(self) -> bool:
        """Whether a person types here, or something is said here."""
        focused = any(field.hasFocus() for field in (self.wanted, self.number))
        return self._asked or focused or bool(self.message.text())

    def find_typed(self, forward: bool) -> None:
        """Look for the text that stands in the field."""
        self.wants_find.emit(self.wanted.text(), forward)

    def ask(self, field: QLineEdit) -> None:
        """Let the keys go to a field; the pane may be resized before the field has the focus."""
        self._asked = True
        self.show()
        field.setFocus(Qt.FocusReason.ShortcutFocusReason)
        field.selectAll()
        self._asked = False

    def set_there(self, there: bool) -> None:
        """Let the fields be used, or not."""
        for widget in (self.wanted, self.number, self.up, self.down):
            widget.setEnabled(there)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Leave a field on Esc; claimed first, for the window has an action of that key."""
        esc = isinstance(event, QKeyEvent) and event.key() == Qt.Key.Key_Escape
        if esc and event.type() == QEvent.Type.ShortcutOverride:
            event.accept()
            return True
        if esc and event.type() == QEvent.Type.KeyPress:
            self.left.emit()
            return True
        return super().eventFilter(watched, event)

    def changeEvent(self, event: QEvent) -> None:
        """Draw the icons again when light turns dark."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.PaletteChange and hasattr(self, "message"):
            self._draw_icons()

    def _draw_icons(self) -> None:
        dark = is_dark(self.palette())
        self.up.setIcon(icon("find_up", dark))
        self.down.setIcon(icon("find_down", dark))

    def _go(self) -> None:
        if self.number.text():
            self.wants_line.emit(int(self.number.text()))
