"""`PageView`: a page of the lesson in words, as large as it fits; its choices are buttons."""

from __future__ import annotations

from html import escape
from typing import Final

from PySide6.QtCore import QEvent, Qt, Signal
from PySide6.QtGui import QKeyEvent, QResizeEvent
from PySide6.QtWidgets import QGridLayout, QHBoxLayout, QLabel, QVBoxLayout, QWidget

from viewer.lesson.words import word
from viewer.shown.window.lesson.page_text import PageText
from viewer.shown.window.style.scale import CAPTION, TEXT, VALUE, sized_font, space
from viewer.shown.window.widgets.return_button import ReturnButton
from viewer.shown.window.widgets.scrolled import scrolled

SIZES: Final = (2.0, 1.85, 1.7, 1.5, 1.3, VALUE, TEXT)
"""Sizes of what is read aloud, of which the largest is taken that fits."""
RIGHT, WRONG = "✓", "✗"


class PageButton(ReturnButton):
    """A button of the lesson; it leaves arrows to whoever turns pages by them."""

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Press it on Return; pass arrows on."""
        if event.key() in (Qt.Key.Key_Left, Qt.Key.Key_Right, Qt.Key.Key_Up, Qt.Key.Key_Down):
            event.ignore()
        else:
            super().keyPressEvent(event)


class PageView(QWidget):
    """Caption, what is read aloud, choices, what to look for, caution; it scrolls where nothing smaller fits."""

    taken = Signal(int)
    """The choice that was pressed."""

    word_wanted = Signal(str)
    """Key of the word of the trade that was pressed."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.text: PageText | None = None
        content = QWidget(self)
        self._area = scrolled(content, self)
        for ground in (self._area.viewport(), content):
            ground.setAutoFillBackground(False)
        self.caption, self.score, self.large = QLabel(), QLabel(), QLabel()
        self.more, self.words, self.caution = QLabel(), QLabel(), QLabel()
        for label in (self.caption, self.large, self.more, self.words, self.caution):
            label.setTextFormat(Qt.TextFormat.PlainText)
        for label in (self.large, self.more, self.words, self.caution):
            label.setWordWrap(True)
        self.words.setTextFormat(Qt.TextFormat.RichText)
        links = Qt.TextInteractionFlag
        self.words.setTextInteractionFlags(links.LinksAccessibleByMouse | links.LinksAccessibleByKeyboard)
        self.words.linkActivated.connect(self.word_wanted)
        for label in (self.caption, self.words, self.score):
            label.setProperty("faint", True)
        self.caution.setObjectName("caution")
        self.choices: tuple[PageButton, ...] = ()
        self._grid = QGridLayout()
        self._grid.setSpacing(space(2))
        self._head = head = QHBoxLayout()
        head.setSpacing(space(4))
        head.addWidget(self.caption)
        head.addWidget(self.words, 1)
        head.addWidget(self.score)
        self._column = column = QVBoxLayout(content)
        column.setContentsMargins(space(5), space(2), space(3), space(2))
        column.setSpacing(space(1))
        column.addLayout(head)
        column.addWidget(self.large)
        column.addLayout(self._grid)
        column.addWidget(self.more)
        column.addWidget(self.caution)
        column.addStretch(1)

    @property
    def whole(self) -> bool:
        """Whether all of the page is seen, without scrolling."""
        return self._area.verticalScrollBar().maximum() == 0

    def show_text(self, text: PageText) -> None:
        """Show another page."""
        if text == self.text:
            return
        self.text = text
        self.caption.setText(text.caption)
        self.score.setText(text.score)
        self.large.setText(text.large)
        more = f"At the machine: {text.look_for}" if text.look_for else text.more
        for label, words in (
            (self.more, more),
            (self.caution, f"Caution: {text.caution}" if text.caution else ""),
        ):
            label.setText(words)
            label.setVisible(bool(words))
        self._show_words(text)
        self._show_choices(text)
        self._area.verticalScrollBar().setValue(0)
        self.fit()

    def _show_words(self, text: PageText) -> None:
        """Link the words of the trade; a link keeps the colour that the palette has when the text is set."""
        links = ", ".join(f'<a href="{escape(key)}">{escape(word(key).term)}</a>' for key in text.words)
        self.words.clear()  # a label does not set an equal text again
        self.words.setText(f"words: {links}" if links else "")  # stays in its place also while it is empty

    def _show_choices(self, text: PageText) -> None:
        """Make a button of each choice; when one was taken they say which is right."""
        for old in self.choices:
            self._grid.removeWidget(old)
            old.hide()
            old.deleteLater()
        made = []
        for k, words in enumerate(text.choices):
            sign, said = _judged(text, k)
            button = PageButton(f"{sign}{words}".replace("&", "&&"), self)
            button.setAccessibleName(f"{words}{said}")
            button.setEnabled(text.guess is None)
            if sign:
                button.setProperty("judged", "right" if k == text.right else "wrong")
            button.clicked.connect(lambda _checked=False, k=k: self.taken.emit(k))
            button.setFont(sized_font(self, VALUE))
            made.append(button)
        self.choices = tuple(made)
        self._lay_choices()

    def _lay_choices(self) -> None:
        """Put the choices into as many columns as their texts leave room for."""
        widest = max((button.sizeHint().width() for button in self.choices), default=1)
        room = self.width() - space(10)
        columns = max(1, min(len(self.choices), room // (widest + space(2))))
        if len(self.choices) == 4 and columns == 3:
            columns = 2
        for k, button in enumerate(self.choices):
            self._grid.addWidget(button, k // columns, k % columns)
        for column in range(5):
            self._grid.setColumnStretch(column, 1 if column == columns else 0)

    def fit(self) -> None:
        """Take the largest size at which all of the page is seen; where none is small enough, it scrolls."""
        if self.text is None:
            return
        for label in (self.caption, self.words, self.score):
            label.setFont(sized_font(self, CAPTION))
        room = self._area.viewport().height()
        for times in SIZES:
            self.large.setFont(sized_font(self, times, strong=True))
            for layout in (self._head, self._grid, self._column):  # each keeps what it has computed before
                layout.invalidate()
            if self._column.heightForWidth(self.width()) <= room:
                break

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Fit the page again."""
        super().resizeEvent(event)
        self._lay_choices()
        self.fit()

    def changeEvent(self, event: QEvent) -> None:
        """Follow light or dark and the size of text."""
        super().changeEvent(event)
        text: PageText | None = getattr(self, "text", None)  # None also while the page is being made
        if event.type() == QEvent.Type.PaletteChange and text is not None:
            self._show_words(text)
        if event.type() == QEvent.Type.FontChange and hasattr(self, "_column"):
            for button in self.choices:
                button.setFont(sized_font(self, VALUE))
            self._lay_choices()
            self.fit()


def _judged(text: PageText, choice: int) -> tuple[str, str]:
    """Return sign and words of a choice once one was taken: the right one, and a guess that was not right."""
    if text.right is None or choice not in (text.right, text.guess):
        return "", ""
    return (f"{RIGHT} ", ", right") if choice == text.right else (f"{WRONG} ", ", guessed")
