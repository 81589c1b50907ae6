"""`AnswerTile`: one question and its answer; pressed, it leads to the evidence."""

from __future__ import annotations

from typing import Final

from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QFontMetricsF, QKeyEvent, QPainter, QPaintEvent
from PySide6.QtWidgets import QAbstractButton, QSizePolicy, QWidget

from viewer.checks.questions import Question
from viewer.shown.window.style.icons import icon
from viewer.shown.window.style.inks import mixed
from viewer.shown.window.style.scale import CAPTION, VALUE, sized_font, space
from viewer.shown.window.style.tones import is_dark, tone
from viewer.shown.window.verdict.answer_texts import BRIEFLY, TileText, broken
from viewer.shown.window.widgets.painting import painting
from viewer.verdict import Word

SIGNS: Final[dict[Word, tuple[str, str]]] = {
    Word.YES: ("answer_yes", "good"),
    Word.LOOK: ("severity_look", "warn"),
    Word.NO: ("severity_stop", "stop"),
    Word.NOT_KNOWN: ("answer_not_known", "faint"),
}
"""Icon and colour (`colours.ui`) of each answer: told apart by shape, too."""
SENTENCE_LINES: Final = 2
LARGE: Final = 1.35
"""Headline of the time, which is asked for most."""


class AnswerTile(QAbstractButton):
    """Paints the question small, the answer large, and what decides it below; a text that does not fit is cut."""

    def __init__(self, question: Question, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.question = question
        self.text_shown: TileText | None = None
        self.brief = False
        """Without the sentence: there is no room for it."""
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Expanding)
        self.setCursor(Qt.CursorShape.PointingHandCursor)

    def tell(self, text: TileText) -> None:
        """Show another answer."""
        if text != self.text_shown:
            self.text_shown = text
            self.setAccessibleName(f"{text.asked} {text.headline}")
            self.setAccessibleDescription(text.sentence)
            self.setToolTip(text.spoken)
            self.update()

    def be_brief(self, brief: bool) -> None:
        """Show or leave out the sentence."""
        if brief != self.brief:
            self.brief = brief
            self.update()

    def needed_height(self) -> int:
        """Return the height that its texts need."""
        caption = QFontMetricsF(sized_font(self, CAPTION)).height()
        headline = QFontMetricsF(sized_font(self, self._large)).height()
        tallest = max(headline, QFontMetricsF(sized_font(self, LARGE)).height())
        below = 0.0 if self.brief else SENTENCE_LINES * caption
        return round(caption + tallest + below + space(4))

    @property
    def _large(self) -> float:
        return LARGE if self.question is Question.TIME and not self.brief else VALUE

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Press it on Return, too."""
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self.click()
        else:
            super().keyPressEvent(event)

    def enterEvent(self, event: object) -> None:
        """Show that it can be pressed."""
        super().enterEvent(event)  # type: ignore[arg-type]
        self.update()

    def leaveEvent(self, event: object) -> None:
        """Show it as before."""
        super().leaveEvent(event)  # type: ignore[arg-type]
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint the tile."""
        with painting(self) as painter:
            self._paint(painter)

    def _paint(self, painter: QPainter) -> None:
        dark, text = is_dark(self), self.text_shown
        base, whole = self.palette().base().color(), QRectF(self.rect())
        ground = mixed(tone("accent", dark), base, 0.08) if self.underMouse() or self.isDown() else base
        painter.fillRect(whole, ground)
        painter.fillRect(QRectF(whole.right() - 1.0, 0.0, 1.0, whole.height()), tone("grid", dark))
        if text is None:
            return
        room = whole.adjusted(space(3), space(2), -space(2), -space(1))
        room.setTop(
            self._line(painter, room, BRIEFLY[self.question] if self.brief else text.asked, CAPTION, "faint")
            + 1.0
        )
        self._answer(painter, room, text, dark)
        if not self.brief:
            self._sentence(painter, room, text.sentence)
        if self.hasFocus():
            painter.setPen(tone("accent", dark))
            painter.drawRect(whole.adjusted(0.5, 0.5, -1.5, -1.5))

    def _line(self, painter: QPainter, room: QRectF, text: str, size: float, colour: str) -> float:
        """Paint one line; return where it ends below."""
        painter.setFont(sized_font(self, size))
        metrics = QFontMetricsF(painter.font())
        painter.setPen(tone(colour, is_dark(self)))
        shown = metrics.elidedText(text, Qt.TextElideMode.ElideRight, room.width())
        painter.drawText(QRectF(room.left(), room.top(), room.width(), metrics.height()), shown)
        return room.top() + metrics.height()

    def _answer(self, painter: QPainter, room: QRectF, text: TileText, dark: bool) -> None:
        """Paint icon and headline, and take their height from the room."""
        font = sized_font(self, self._large, strong=True)
        metrics = QFontMetricsF(font)
        high = max(metrics.height(), QFontMetricsF(sized_font(self, LARGE)).height())
        left = room.left()
        if text.word is not None and not (
            text.word is Word.YES and self.question in (Question.TIME, Question.COST)
        ):
            name, colour = SIGNS[text.word]
            side = round(metrics.ascent() * 1.2)
            drawn = icon(name, dark, colour)
            drawn.paint(painter, round(left), round(room.top() + 0.5 * (high - side)), side, side)
            left += side + space(1) + 2
        painter.setFont(font)
        painter.setPen(tone("text" if text.word is not None else "faint", dark))
        box = QRectF(left, room.top(), room.right() - left, high)
        shown = metrics.elidedText(text.headline, Qt.TextElideMode.ElideRight, box.width())
        painter.drawText(box, Qt.AlignmentFlag.AlignVCenter | Qt.AlignmentFlag.AlignLeft, shown)
        room.setTop(room.top() + high)

    def _sentence(self, painter: QPainter, room: QRectF, sentence: str) -> None:
        painter.setFont(sized_font(self, CAPTION))
        metrics = QFontMetricsF(painter.font())
        painter.setPen(self.palette().text().color())
        for k, line in enumerate(broken(sentence, room.width(), SENTENCE_LINES, metrics.horizontalAdvance)):
            box = QRectF(room.left(), room.top() + k * metrics.height(), room.width() + 2.0, metrics.height())
            painter.drawText(box, line)
