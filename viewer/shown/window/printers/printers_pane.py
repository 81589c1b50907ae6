"""`PrintersPane`: which of the printers takes the program, with its time and cost on each."""

from __future__ import annotations

from datetime import datetime
from typing import Final, NamedTuple

from PySide6.QtCore import QModelIndex, Qt, Signal
from PySide6.QtGui import QKeyEvent, QResizeEvent, QShowEvent
from PySide6.QtWidgets import QLabel, QListView, QProgressBar, QVBoxLayout, QWidget

from viewer.errors import Stopped
from viewer.program import Program
from viewer.shown.window.model.view_state import ViewState
from viewer.shown.window.printers.fit_lines import FitLine, fit_line, head_text, word_of
from viewer.shown.window.printers.fit_list import FitPainter, FitRows
from viewer.shown.window.threads.newest_task import NewestTask, Run, sentence_of
from viewer.shown.window.widgets.until_destroyed import end_with, listen_until_destroyed
from viewer.verdict.fits import Fit, KnownPrinters, fits_of, known_printers

_NO_PROGRAM: Final = "No program is open. Open one to see which printers take it."
_WAITS: Final = "Waits until the program is read and checked."
_AT_WORK: Final = "Trying the printers…"


class _Asked(NamedTuple):
    """What the fits depend on: another chosen printer changes none of them."""

    program: Program
    start: datetime | None

    def same(self, other: _Asked | None) -> bool:
        """Whether the fits are the same: of one reading of the file, with one filament and one start."""
        if other is None or self.start != other.start:
            return False
        mine, theirs = self.program, other.program
        return (mine.source, mine.filament, mine.workshop) == (
            theirs.source,
            theirs.filament,
            theirs.workshop,
        )


class PrintersPane(QWidget):
    """A row for each printer card; choosing a row takes that card. Nothing is computed while nobody sees it."""

    chosen = Signal(str)
    """What names the printer card that the person chose."""

    def __init__(self, state: ViewState, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._state = state
        self._asked: _Asked | None = None
        """What is on show, or being computed."""
        self._known = KnownPrinters((), ())
        self._fits: list[tuple[str, Fit]] = []
        self.head, self.told = QLabel(self), QLabel(self)
        self.share = QProgressBar(self)
        self.rows = FitRows(self)
        self.list = _FitView(self)
        self._task = NewestTask("printers", self)
        self._arrange()
        self._connect()
        self._show()

    def _arrange(self) -> None:
        self.list.setModel(self.rows)
        self.list.setItemDelegate(FitPainter(self.list))
        self.list.setAccessibleName("what each printer makes of the program")
        self.setFocusProxy(self.list)
        self.share.setTextVisible(False)
        self.share.setMaximumHeight(6)
        self.share.setAccessibleName("how many printers are tried")
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(2)
        for label in (self.head, self.told):
            label.setWordWrap(True)
            label.setMargin(6)
        self.told.setProperty("faint", "true")
        for part, stretch in ((self.head, 0), (self.share, 0), (self.list, 1), (self.told, 0)):
            column.addWidget(part, stretch)

    def _connect(self) -> None:
        self.list.clicked.connect(self._choose)
        self.list.entered_by_key.connect(self._choose)
        self._task.posted.connect(self._take)
        self._task.done.connect(lambda _: self._end())
        self._task.failed.connect(self._fail)
        listen_until_destroyed(self, self._state, self._show, "program", "start", "findings")
        end_with(self, self._task.cancel)

    @property
    def busy(self) -> bool:
        """Whether printers are being tried."""
        return self._task.busy

    def showEvent(self, event: QShowEvent) -> None:
        """Try the printers on what came while the pane was hidden."""
        super().showEvent(event)
        self._show()

    # ---- computing

    def _show(self) -> None:
        """Try the printers on the program on show, if anybody sees it and it is checked."""
        program = self._state.program
        ready = program is not None and not self._state.partial and self._state.report is not None
        if program is None or (not ready and self._asked is None):
            self._clear(_NO_PROGRAM if program is None else _WAITS)
            return
        asked = _Asked(program, self._state.start)
        if asked.same(self._asked):
            self._tell()
        elif ready and self.isVisible():
            self._start(asked)
        elif self._asked is not None and self._asked.program.source is not program.source:
            self._clear(_WAITS)

    def _clear(self, sentence: str) -> None:
        self._task.cancel()
        self._asked, self._fits = None, []
        self.rows.show(())
        self.share.hide()
        self.told.hide()
        self.head.setText(sentence)

    def _start(self, asked: _Asked) -> None:
        self._asked, self._fits = asked, []
        self.head.setText(_AT_WORK)
        self.share.setMaximum(0)
        self.share.show()
        self.told.hide()
        self._task.start(lambda run: _try_all(run, asked))

    def _take(self, posted: KnownPrinters | tuple[str, Fit]) -> None:
        """Take the printers that there are, or what one of them makes of the program."""
        if isinstance(posted, KnownPrinters):
            self._known = posted
            self.share.setMaximum(max(len(posted.cards), 1))
            self.told.setText("\n".join(posted.broken))
            self.told.setVisible(bool(posted.broken))
        else:
            self._fits.append(posted)
        self.share.setValue(len(self._fits))
        self._tell()

    def _end(self) -> None:
        self.share.hide()
        self._tell()

    def _fail(self, problem: BaseException) -> None:
        self._clear("")
        self.head.setText(sentence_of(problem))

    # ---- showing

    def _tell(self) -> None:
        """Show what is known; while the same number of printers stays, so does the one that is pointed out."""
        program, row = self._state.program, self.list.currentIndex().row()
        if program is None:
            return
        lines = [
            fit_line(slug, fit, fit.printer.name == program.printer.name) for slug, fit in self._sorted()
        ]
        if tuple(lines) != self.rows.lines:
            self.rows.show(lines)
            if 0 <= row < len(lines):
                self.list.setCurrentIndex(self.rows.index(row))
        total = len(self._known.cards)
        self.head.setText(
            f"{_AT_WORK} {len(lines)} of {total}" if self.busy else head_text(lines, program.filament.name)
        )

    def _sorted(self) -> list[tuple[str, Fit]]:
        """Return those that take the program first, the quickest of them first."""
        return sorted(self._fits, key=lambda one: (-word_of(one[1]).rank, one[1].time_s))

    def _choose(self, index: QModelIndex) -> None:
        line: FitLine = self.rows.lines[index.row()]
        if not line.chosen:
            self.chosen.emit(line.slug)


class _FitView(QListView):
    """Rows of different heights; Return chooses one."""

    entered_by_key = Signal(QModelIndex)

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self.setUniformItemSizes(False)
        self.setFrameShape(QListView.Shape.NoFrame)
        self.setVerticalScrollMode(QListView.ScrollMode.ScrollPerPixel)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setMouseTracking(True)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Choose the row on Return."""
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter) and self.currentIndex().isValid():
            self.entered_by_key.emit(self.currentIndex())
        else:
            super().keyPressEvent(event)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Lay the rows out again: their texts are broken at another width."""
        super().resizeEvent(event)
        self.scheduleDelayedItemsLayout()


def _try_all(run: Run, asked: _Asked) -> None:
    """Post the printers that there are, then one after another what it makes of the program."""
    known = known_printers()
    run.post(known)
    fits = fits_of(asked.program, [card for _, card in known.cards], asked.start)
    for (slug, _), fit in zip(known.cards, fits, strict=True):
        if run.stop():
            raise Stopped
        run.post((slug, fit))
