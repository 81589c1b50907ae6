"""`Explanation`: every word of the current line in plain language, and what holds at that line."""

from __future__ import annotations

from html import escape

from PySide6.QtCore import QEvent, Qt
from PySide6.QtGui import QFontDatabase, QResizeEvent
from PySide6.QtWidgets import QFrame, QTextBrowser, QWidget

from viewer.numerals import counted_text
from viewer.read.explain import Explained, modes_text
from viewer.read.modes import Modes
from viewer.shown.html import NAME_PADDING, VALUE_PADDING, cell, named_values, row, side_by_side, table
from viewer.shown.window.style.inks import is_dark
from viewer.shown.window.style.scale import VALUE, sized_font
from viewer.shown.window.style.tones import tone
from viewer.shown.window.text.line_source import shown_text

SHOWN_WORDS = 60
"""A machine's line has some ten words; more are a damaged file."""
SHOWN_CHARACTERS = 120


class Explanation(QTextBrowser):
    """A page of two parts: the words of the line, the modes."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._wide = False
        self._page: tuple[int, str, list[Explained] | None, Modes | None, str, str] | None = None
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setAccessibleName("What the current line means")
        self.setOpenLinks(False)
        self.setTabChangesFocus(True)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.document().setDocumentMargin(8)

    def explain(
        self,
        number: int,
        summary: str,
        words: list[Explained] | None,
        modes: Modes | None,
        hint: str,
        sentence: str = "",
    ) -> None:
        """Show what a line means.

        Parameters
        ----------
        number
            Of the line; 0: none, and only the hint is shown.
        summary
            What the line does as a whole, "" where there is nothing to say.
        words
            Of the line; None: its text could not be read.
        modes
            What holds there; None while that is being looked up.
        hint
            A sentence in place of the modes, or of everything.
        sentence
            What the line does, to be read first and large; "" where it is not asked for.
        """
        self._page = (number, summary, words, modes, hint, sentence)
        self._write()

    def changeEvent(self, event: QEvent) -> None:
        """Follow light or dark and the size of text."""
        super().changeEvent(event)
        if event.type() in (QEvent.Type.PaletteChange, QEvent.Type.FontChange) and self._page:
            self._write()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Put the two parts side by side where the pane is wide and low, else one below the other."""
        super().resizeEvent(event)
        wide = self.width() >= 520 and self.width() >= 1.5 * self.height()
        if wide != self._wide:
            self._wide = wide
            if self._page:
                self._write()

    def _write(self) -> None:
        assert self._page is not None
        number, summary, known, modes, hint, sentence = self._page
        words = known or []
        dark = is_dark(self.palette())
        faint, accent = tone("faint", dark).name(), tone("command", dark).name()
        family = QFontDatabase.systemFont(QFontDatabase.SystemFont.FixedFont).family()
        if not number:
            self.setHtml(f"<p style='color:{faint}'>{escape(hint)}</p>")
            return
        word_style = f'font-family:"{family}"; color:{accent}; white-space:pre'
        rows = "".join(
            row(
                cell(f"<span style='{word_style}'>{_short(found.word)}</span>", style=NAME_PADDING),
                cell(escape(found.meaning), style=VALUE_PADDING),
            )
            for found in words[:SHOWN_WORDS]
        )
        if len(words) > SHOWN_WORDS:
            rows += row(cell(), cell(f"and {counted_text(len(words) - SHOWN_WORDS, 'more word')}"))
        if known is not None and not known:
            rows = row(cell("A blank line.", style=f"color:{faint}"))
        head = f"<b>Line {number}</b>{f' — {escape(summary)}' if summary else ''}"
        size = sized_font(self, VALUE).pointSizeF()
        first = (
            f"<p style='font-size:{size:.1f}pt; margin:0 0 6px 0'>{escape(sentence)}</p>" if sentence else ""
        )
        line = f"{first}<p style='margin:0 0 4px 0'>{head}</p>{table([rows])}"
        holds = f"<p style='color:{faint}'>{escape(hint)}</p>" if hint else ""
        if modes is not None:
            holds += _modes_html(modes, faint)
        if self._wide:
            self.setHtml(side_by_side(line, holds, left_width="60%", gap_px=18))
        else:
            self.setHtml(f"{line}<div style='font-size:6px'>&nbsp;</div>{holds}")


def _modes_html(modes: Modes, faint: str) -> str:
    pairs = ((name, escape(value)) for name, value in modes_text(modes))
    return f"<p style='margin:0 0 4px 0'><b>What holds here</b></p>{named_values(pairs, faint)}"


def _short(word: str) -> str:
    shown = shown_text(word)
    return escape(shown if len(shown) <= SHOWN_CHARACTERS else shown[:SHOWN_CHARACTERS] + " …")
