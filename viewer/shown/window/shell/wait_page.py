"""What stands in the middle while a program is read and nothing of it can be shown yet."""

from __future__ import annotations

from typing import Final

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QLabel, QProgressBar, QVBoxLayout, QWidget

from viewer.checks.questions import Question
from viewer.shown.window.model.short_words import short_words
from viewer.shown.window.style.scale import space
from viewer.shown.window.widgets.texts import wrapped

READING: Final[dict[Question, str]] = {
    Question.WHOLE: "A stick that was pulled out too early leaves half a file. The end is looked at first: whether"
    " heaters and motors go off there, and whether every line can be read.",
    Question.PRINTER: "Every bead is compared with the plate and the height of the chosen printer, every speed and"
    " temperature with what it can do.",
    Question.FILAMENT: "Temperatures and flow are compared with the filament card, and the spool with what is needed.",
    Question.FIRST_LAYER: "How much of it touches the plate, how fast and how thick it is laid, and from which tilt on"
    " the part would tip over.",
    Question.SHAPE: "Beads over air, walls thinner than a bead, pieces that begin on nothing.",
    Question.TIME: "Speeding up, braking and heating are counted, so it is seldom what the file claims.",
    Question.COST: "Filament by mass, the printer's time, electricity: the workshop card has the prices.",
}
"""What each question is answered by: something to read while the kernels are compiled, once."""


class WaitPage(QWidget):
    """Says what is being read and, where that takes long, why, how far it is and what will be answered."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        column = QVBoxLayout(self)
        column.setContentsMargins(space(8), space(6), space(8), space(6))
        column.setSpacing(space(2))
        column.addStretch(1)
        self._name = wrapped("", level="headline")
        self._why = wrapped("", faint=True)
        self.bar = QProgressBar(self)
        self.bar.setTextVisible(False)
        self.bar.setMaximumHeight(space(2))
        self.bar.setMaximumWidth(420)
        self.bar.setAccessibleName("how many kernels are compiled")
        self.count = wrapped("", faint=True)
        self._answers = QLabel(self)
        self._answers.setWordWrap(True)
        self._answers.setTextFormat(Qt.TextFormat.RichText)
        self._answers.setText(
            "".join(f"<p style='margin:0 0 6px 0'><b>{one.asked}</b> {READING[one]}</p>" for one in Question)
        )
        for part in (self._name, self._why, self.bar, self.count, self._answers):
            column.addWidget(part)
        column.addStretch(2)
        self._show_progress(False)

    def _show_progress(self, on: bool) -> None:
        for part in (self.bar, self.count, self._answers):
            part.setVisible(on)

    def wait_for(self, name: str) -> None:
        """Say what is being read."""
        self._name.setText(f"Reading {short_words(name)} …")
        self._why.setText("")
        self._show_progress(False)

    def explain(self, why: str) -> None:
        """Say why it takes longer."""
        self._why.setText(why)

    def tell_ready(self, ready: int, of: int) -> None:
        """Show how many kernels are compiled, and what will be answered when they are."""
        self.bar.setMaximum(max(of, 1))
        self.bar.setValue(ready)
        self.count.setText(f"{ready} of {of} kernels are compiled.")
        self._show_progress(True)

    @property
    def words(self) -> str:
        """All that stands on the page above the questions."""
        return f"{self._name.text()}\n{self._why.text()}".strip()
