"""A calm line above the picture: what happened, what it means, what can be done."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final, Literal

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import (
    QAbstractButton,
    QFrame,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QSizePolicy,
    QToolButton,
    QWidget,
)

from viewer.shown.window.model.short_words import short_words

NoticeLevel = Literal["note", "warn", "stop"]
Remedy = tuple[str, Callable[[], object]]
"""Words of a button and what it does."""

LONGEST_WORD: Final = 64
"""Letters of a path or name; the whole sentence is the tooltip then."""


class Banner(QFrame):
    """One sentence with its remedies; hidden while there is nothing to say."""

    put_away = Signal()
    """The sentence is gone, by hand or because it holds no more."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("banner")
        self.about = ""
        """What the sentence is about: a word that `clear` is called with."""
        self._sentence = ""
        self._text = QLabel(self)
        self._text.setWordWrap(True)
        self._text.setTextFormat(Qt.TextFormat.PlainText)
        self._text.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        self._text.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Minimum)
        self._buttons: list[QPushButton] = []
        self._away = away = QToolButton(self)
        away.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        away.setText("×")
        away.setAutoRaise(True)
        away.setToolTip("Put this line away")
        away.setAccessibleName("Put this line away")
        away.clicked.connect(self.clear_all)
        self._row = QHBoxLayout(self)
        self._row.setContentsMargins(12, 5, 8, 5)
        self._row.setSpacing(8)
        self._row.addWidget(self._text, 1)
        self._row.addWidget(away)
        self.hide()

    @property
    def sentence(self) -> str:
        """What it says, "" while it is hidden."""
        return "" if self.isHidden() else self._sentence

    def say(self, about: str, level: NoticeLevel, sentence: str, *remedies: Remedy) -> None:
        """Show a sentence in place of the one before."""
        self.about = about
        self._sentence = sentence
        self._text.setText(short_words(sentence, LONGEST_WORD))
        self._text.setToolTip(sentence if self._text.text() != sentence else "")
        self._text.setAccessibleName(sentence)
        self.setProperty("severity", level)
        self.style().unpolish(self)
        self.style().polish(self)
        for button in self._buttons:
            self._row.removeWidget(button)
            button.hide()
            button.deleteLater()
        self._buttons = [self._button(words, do) for words, do in remedies]
        for button in self._buttons:
            self._row.insertWidget(self._row.count() - 1, button)
        self.show()

    def clear(self, *about: str) -> None:
        """Put the sentence away; with words given, only where it is about one of them."""
        if not about or self.about in about:
            self.about = ""
            self.hide()
            self.put_away.emit()

    def clear_all(self) -> None:
        """Put the sentence away, whatever it is about."""
        self.clear()

    def go_to(self) -> None:
        """Move the focus to the first remedy, or to what puts the line away."""
        if not self.isHidden():
            (*self._buttons, self._away)[0].setFocus(Qt.FocusReason.TabFocusReason)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Let Return do what the chosen button says; of itself a button takes only the space bar."""
        button = self.focusWidget()
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter) and isinstance(button, QAbstractButton):
            button.click()
        else:
            super().keyPressEvent(event)

    def _button(self, words: str, do: Callable[[], object]) -> QPushButton:
        button = QPushButton(words, self)
        button.clicked.connect(self.clear_all)
        button.clicked.connect(lambda _checked: do())
        return button
