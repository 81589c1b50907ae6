"""`AnswerTile`: one question and its answer; pressed, it leads to the evidence."""

from __future__ import annotations

from typing import Final

from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QFontMetricsF, QKeyEvent, QPainter, QPaintEvent
from PySide6.QtWidgets import QAbstractButton, QWidget

from viewer.checks.questions import Question
from viewer.shown.window.style.icons import icon
from viewer.shown.window.style.inks import is_dark, mixed
from viewer.shown.window.style.scale import CAPTION, VALUE, sized_font, space
from viewer.shown.window.style.signs import SIGNS
from viewer.shown.window.style.tones import tone
from viewer.shown.window.verdict.answer_texts import BRIEFLY, TileText, broken
from viewer.shown.window.verdict.tile_flow import Heights, Need
from viewer.shown.window.widgets.painting import painting
from viewer.verdict import Word

LARGE: Final = 1.35
"""Headline of the time, which is asked for most."""
SIGN_SIDE: Final = 1.2
"""Side of the sign, times the height of the headline's letters."""
LEFT, TOP, RIGHT, BOTTOM = 3, 2, 2, 2
"""Margins about the texts, in steps of the grid."""
TYPICAL: Final = "Nozzle, plate, motors off by line 12 345"
"""Room is kept for a text as long as this while an answer is not known yet: nothing moves when it comes."""


class AnswerTile(QAbstractButton):
    """Paints the question small, the answer large, and what decides it below."""

    def __init__(self, question: Question, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.question = question
        self.text_shown: TileText | None = None
        self.asks_whole, self.lines = True, 2
        """Whether the question stands in full, and how many lines of text stand below the answer (`tile_flow`)."""
        self.cut = False
        """Something did not fit when it was painted last."""
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setCursor(Qt.CursorShape.PointingHandCursor)

    def tell(self, text: TileText) -> None:
        """Show another answer."""
        if text != self.text_shown:
            self.text_shown = text
            self.setAccessibleName(f"{text.asked} {text.headline}")
            self.setAccessibleDescription(text.sentence)
            self.setToolTip(text.spoken)
            self.update()

    def show_as(self, asks_whole: bool, lines: int) -> None:
        """Show the question in full or in a word, and some lines of text below the answer."""
        if (asks_whole, lines) != (self.asks_whole, self.lines):
            self.asks_whole, self.lines = asks_whole, lines
            self.update()

    # ---- how much room it needs

    def need(self) -> Need:
        """Return how wide its texts are."""
        text = self.text_shown
        caption = QFontMetricsF(sized_font(self, CAPTION))
        brief = TYPICAL if text is None or text.word is None else text.brief
        headline = "" if text is None else text.headline
        return Need(
            asked=caption.horizontalAdvance("" if text is None else text.asked) + 2.0,
            briefly=caption.horizontalAdvance(BRIEFLY[self.question]) + 2.0,
            headline=self._headline_width(headline, self._large),
            small_headline=self._headline_width(headline, VALUE),
            words=tuple(caption.horizontalAdvance(word) + 1.0 for word in brief.split()),
            blank=caption.horizontalAdvance(" "),
        )

    def heights(self) -> Heights:
        """Return how high its texts are; the same for all tiles."""
        caption, headline, small = (
            QFontMetricsF(sized_font(self, size, strong=size != CAPTION)).height()
            for size in (CAPTION, LARGE, VALUE)
        )
        return Heights(caption, headline, small, space(TOP + BOTTOM))

    def _headline_width(self, text: str, size: float) -> float:
        metrics = QFontMetricsF(sized_font(self, size, strong=True))
        sign = round(metrics.ascent() * SIGN_SIDE) + space(1) + 2 if self._has_sign else 0
        return metrics.horizontalAdvance(text) + sign + 2.0

    @property
    def _large(self) -> float:
        """Size of the headline in a tile with text."""
        return LARGE if self.question is Question.TIME else VALUE

    @property
    def _has_sign(self) -> bool:
        """Whether a sign stands before the answer; an amount that is fine needs none."""
        text = self.text_shown
        amount = self.question in (Question.TIME, Question.COST)
        return text is not None and text.word is not None and not (text.word is Word.YES and amount)

    # ---- events

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

    # ---- painting

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint the tile."""
        with painting(self) as painter:
            self._paint(painter)

    def _paint(self, painter: QPainter) -> None:
        dark, text = is_dark(self.palette()), self.text_shown
        base, whole = self.palette().base().color(), QRectF(self.rect())
        ground = mixed(tone("accent", dark), base, 0.08) if self.underMouse() or self.isDown() else base
        painter.fillRect(whole, ground)
        painter.fillRect(QRectF(whole.right() - 1.0, 0.0, 1.0, whole.height()), tone("grid", dark))
        if self.y() > 0:  # in a lower row
            painter.fillRect(QRectF(0.0, 0.0, whole.width(), 1.0), tone("grid", dark))
        self.cut = False
        if text is None:
            return
        room = whole.adjusted(space(LEFT), space(TOP), -space(RIGHT), -space(BOTTOM))
        self._question(painter, room, text)
        self._answer(painter, room, text, dark)
        if self.lines:
            self._brief(painter, room, text.brief)
        if self.hasFocus():
            painter.setPen(tone("accent", dark))
            painter.drawRect(whole.adjusted(0.5, 0.5, -1.5, -1.5))

    def _question(self, painter: QPainter, room: QRectF, text: TileText) -> None:
        """Paint the question, and take its height from the room."""
        painter.setFont(sized_font(self, CAPTION))
        metrics = QFontMetricsF(painter.font())
        painter.setPen(tone("faint", is_dark(self.palette())))
        asked = text.asked if self.asks_whole else BRIEFLY[self.question]
        shown = self._elided(asked, metrics, room.width())
        painter.drawText(QRectF(room.left(), room.top(), room.width(), metrics.height()), shown)
        room.setTop(room.top() + metrics.height())

    def _answer(self, painter: QPainter, room: QRectF, text: TileText, dark: bool) -> None:
        """Paint sign and headline, and take their height from the room."""
        font = sized_font(self, self._large if self.lines else VALUE, strong=True)
        metrics = QFontMetricsF(font)
        heights = self.heights()
        high = heights.headline if self.lines else heights.small_headline
        left = room.left()
        if self._has_sign and text.word is not None:
            name, colour = SIGNS[text.word]
            side = round(metrics.ascent() * SIGN_SIDE)
            drawn = icon(name, dark, colour)
            drawn.paint(painter, round(left), round(room.top() + 0.5 * (high - side)), side, side)
            left += side + space(1) + 2
        painter.setFont(font)
        painter.setPen(tone("text" if text.word is not None else "faint", dark))
        box = QRectF(left, room.top(), room.right() - left, high)
        shown = self._elided(text.headline, metrics, box.width())
        painter.drawText(box, Qt.AlignmentFlag.AlignVCenter | Qt.AlignmentFlag.AlignLeft, shown)
        room.setTop(room.top() + high)

    def _brief(self, painter: QPainter, room: QRectF, text: str) -> None:
        """Paint what decides, in as many lines as there are."""
        painter.setFont(sized_font(self, CAPTION))
        metrics = QFontMetricsF(painter.font())
        painter.setPen(self.palette().text().color())
        lines = broken(text, room.width(), self.lines, metrics.horizontalAdvance)
        self.cut |= bool(lines) and lines[-1].endswith("…") and not text.endswith("…")
        for k, line in enumerate(lines):
            box = QRectF(room.left(), room.top() + k * metrics.height(), room.width() + 2.0, metrics.height())
            painter.drawText(box, line)

    def _elided(self, text: str, metrics: QFontMetricsF, width: float) -> str:
        shown = metrics.elidedText(text, Qt.TextElideMode.ElideRight, width)
        self.cut |= shown != text
        return shown
