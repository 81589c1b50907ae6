"""`LogForm`: a small form that writes to the print log; Return saves, Esc leaves it."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import (
    QDialog,
    QDialogButtonBox,
    QGridLayout,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from viewer.errors import BeadlineError
from viewer.shown.window.prints.log_task import LogTask, Workshop
from viewer.shown.window.style.inks import is_dark
from viewer.shown.window.style.scale import VALUE, sized_font, space
from viewer.shown.window.style.tones import tone
from viewer.shown.window.widgets.short_label import ShortLabel

if TYPE_CHECKING:
    from viewer.printlog.store import PrintLog


class LogForm(QDialog):
    """Rows of fields; what could not be noted is said above the buttons, and what was typed stays.

    A form says in `work` what its values do to the log.
    """

    noted = Signal(object)
    """What the work returned, when it was done."""

    def __init__(self, title: str, save: str, workshop: Workshop, parent: QWidget | None) -> None:
        super().__init__(parent)
        self.setWindowTitle(title)
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self._unit = self.fontMetrics().horizontalAdvance("0")
        self._word = save
        self.task = LogTask(workshop, "note in the print log", self)
        self.task.done.connect(self._done)
        self.task.failed.connect(self.complain)
        self.grid = QGridLayout()
        self.grid.setHorizontalSpacing(space(3))
        self.grid.setVerticalSpacing(space(2))
        self.grid.setColumnMinimumWidth(0, self._unit * 11)
        self.grid.setColumnStretch(1, 1)
        self.problem = QLabel(wordWrap=True)
        self.problem.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        self.problem.hide()
        self.save = QPushButton(save)
        self.save.setDefault(True)
        buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Cancel)
        buttons.addButton(self.save, QDialogButtonBox.ButtonRole.ActionRole)
        buttons.button(QDialogButtonBox.StandardButton.Cancel).setAutoDefault(False)
        buttons.rejected.connect(self.reject)
        self.save.clicked.connect(self._save)
        column = QVBoxLayout(self)
        column.setContentsMargins(space(5), space(4), space(5), space(4))
        column.setSpacing(space(3))
        column.addLayout(self.grid)
        column.addWidget(self.problem)
        column.addStretch(1)
        column.addWidget(buttons)

    @property
    def busy(self) -> bool:
        """Whether something is being written."""
        return self.task.busy

    def work(self) -> Callable[[PrintLog], object]:
        """Return what the values on show do to the log.

        Raises
        ------
        BeadlineError
            They mean nothing.
        """
        raise NotImplementedError

    def complain(self, sentence: str) -> None:
        """Say why nothing was noted; what was typed stays."""
        self.save.setText(self._word)
        self.problem.setText(sentence)
        self.problem.setAccessibleName(sentence)
        self.problem.setStyleSheet(f"color: {tone('stop', is_dark(self.palette())).name()}")
        self.problem.show()

    def refuse(self, problem: BeadlineError) -> None:
        """Say why what was typed cannot be noted."""
        self.complain(str(problem))

    def reject(self) -> None:
        """Close, unless something is being written: then its outcome is still to be said."""
        if not self.busy:
            super().reject()

    # built up ----------------------------------------------------------------------------------------

    def head(self, title: str, about: str) -> None:
        """Add what the form is about above its rows."""
        name, more = ShortLabel(self), ShortLabel(self)
        name.setText(title)
        name.setFont(sized_font(self, VALUE, strong=True))
        more.setText(about)
        more.setProperty("faint", True)
        for label in (name, more):
            label.setContentsMargins(0, 0, 0, 0)
        box = QVBoxLayout()
        box.setSpacing(0)
        box.setContentsMargins(0, 0, 0, space(2))
        box.addWidget(name)
        box.addWidget(more)
        self.grid.addLayout(box, self.grid.rowCount(), 0, 1, 2)

    def row(self, label: str, *parts: QWidget) -> QWidget:
        """Add a row of a label and what stands beside it; return the box about both, which can be hidden."""
        at = self.grid.rowCount()
        name, box = QLabel(label), QWidget()
        name.setBuddy(parts[0])
        line = QHBoxLayout(box)
        line.setContentsMargins(0, 0, 0, 0)
        line.setSpacing(space(2))
        for part in parts:
            line.addWidget(part)
        if not any(isinstance(part, QLineEdit) and part.minimumWidth() == 0 for part in parts):
            line.addStretch(1)
        self.grid.addWidget(name, at, 0)
        self.grid.addWidget(box, at, 1)
        return box

    def field(self, name: str, text: str = "", columns: int = 0, hint: str = "") -> QLineEdit:
        """Return a field for a text; `columns`: its width in digits, 0 as wide as there is room."""
        field = QLineEdit(text)
        field.setAccessibleName(name)
        field.setPlaceholderText(hint)
        if columns:
            field.setFixedWidth(self._unit * columns)
        return field

    # saved -------------------------------------------------------------------------------------------

    def _save(self) -> None:
        if self.busy:
            return
        try:
            work = self.work()
        except BeadlineError as problem:
            self.refuse(problem)
            return
        self.problem.hide()
        self.save.setText("Writing…")  # it stays enabled: else the keys would go to Cancel
        self.task.write(work)

    def _done(self, outcome: object) -> None:
        self.noted.emit(outcome)
        self.accept()
