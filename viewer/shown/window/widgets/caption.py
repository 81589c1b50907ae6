"""A line of text beside a chart or a slider that says in words what is shown there."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtGui import QFontMetricsF, QResizeEvent
from PySide6.QtWidgets import QLabel, QSizePolicy, QWidget

from viewer.shown.window.style.inks import elided


class Caption(QLabel):
    """One line of text in several lengths: the longest that fits is shown, the longest of all is its tooltip."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._texts: tuple[str, ...] = ("",)
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)
        self.setAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)

    @property
    def whole(self) -> str:
        """The longest of its texts."""
        return self._texts[0]

    def show_texts(self, texts: tuple[str, ...]) -> None:
        """Show one of the texts, the longest first."""
        self._texts = texts
        self.setAccessibleName(texts[0])
        self._fit()

    def _fit(self) -> None:
        metrics = QFontMetricsF(self.font())
        fitting = (text for text in self._texts if metrics.horizontalAdvance(text) <= self.width())
        shown = next(fitting, None) or elided(self._texts[-1], self.font(), self.width())
        if shown != self.text():
            self.setText(shown)
            self.setToolTip(self.whole if shown != self.whole else "")

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Fit the text again."""
        super().resizeEvent(event)
        self._fit()
