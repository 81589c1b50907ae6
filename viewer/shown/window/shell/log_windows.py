"""`LogWindows`: opens the form and the page of the print log, and knows what is left on its spools."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal
from PySide6.QtWidgets import QMainWindow

from viewer.shown.window.prints.log_task import LogTask
from viewer.shown.window.shell.commanded_window import CommandedWindow

if TYPE_CHECKING:  # the window is on screen before the engine is imported
    from viewer.printlog.past import Past
    from viewer.printlog.rows import Print, SpoolState
    from viewer.printlog.store import PrintLog
    from viewer.program import Program
    from viewer.shown.window.prints.log_pages import LogPages
    from viewer.shown.window.prints.print_form import PrintForm


class LogWindows(QObject):
    """The print log as the main window sees it.

    Parameters
    ----------
    window
        What was printed, and where notices are said.
    frame
        The same window for Qt: forms open over it.
    """

    spools_read = Signal(object)
    """The spools of the log (`list[SpoolState]`), as they are now."""

    def __init__(self, window: CommandedWindow, frame: QMainWindow) -> None:
        super().__init__(frame)
        self._window, self._frame = window, frame
        self.form: PrintForm | None = None
        """The form that is open."""
        self.pages: LogPages | None = None
        """The window of the log, once it was opened."""
        self._spools = LogTask(self.workshop, "read the spools", self)
        self._spools.done.connect(self._take_spools)
        self._spools.failed.connect(self._complain)
        self._past = LogTask(self.workshop, "ask the print log", self)
        self._past.done.connect(self._take_past)
        self._past.failed.connect(self._complain)

    @property
    def busy(self) -> bool:
        """Whether the log is being read or written to."""
        form = self.form is not None and (self.form.busy or self.form.reading)
        return self._spools.busy or self._past.busy or form or (self.pages is not None and self.pages.busy)

    def workshop(self) -> str:
        """Return name or path of the workshop card, which may say where the log lies."""
        return self._window.cards.workshop

    def note(self) -> None:
        """Open the form about how the program on show went."""
        from viewer.shown.window.prints.print_form import AskedPrint, PrintForm
        from viewer.shown.window.prints.typed_print import computed_print, first_typed, sha256_of

        state, now = self._window.state, datetime.now()
        program = state.program
        if program is None or self.form is not None:
            return
        base = computed_print(program, now)
        typed = first_typed(base, state.start, state.spool_label, now)
        asked = AskedPrint(base, typed, state.layers, lambda: sha256_of(program))
        self.form = form = PrintForm(asked, self.workshop, self._frame)
        form.noted.connect(self._noted)
        form.finished.connect(self._closed)
        form.open()

    def show_pages(self) -> None:
        """Show all prints and spools, in a window beside this one."""
        from viewer.shown.window.prints.log_pages import LogPages

        if self.pages is None:
            self.pages = LogPages(self.workshop, self._frame)
            self.pages.changed.connect(self._look_again)
        self.pages.read()
        self.pages.show()
        self.pages.raise_()
        self.pages.activateWindow()

    def look_at_spools(self) -> None:
        """Read the spools of the log again, beside the window."""
        self._spools.read(lambda log: log.spools(), [])

    def end(self) -> None:
        """Wait for what is being written, before the window goes."""
        if self.form is not None:
            self.form.task.end()
        if self.pages is not None:
            self.pages.end()
            self.pages.close()
        self._spools.end()
        self._past.end()

    def _closed(self) -> None:
        self.form = None

    def _noted(self, one: Print) -> None:
        from viewer.shown.log_text import outcome_text
        from viewer.shown.numbers import duration_text

        self._window.banner.clear("log")
        if not one.sha256:
            self._window.banner.say(
                "log",
                "note",
                f"{one.program} is noted without its SHA-256: its file is gone, or was changed after it was read.",
            )
        self._frame.statusBar().showMessage(
            f"Noted: {one.program} on {one.printer}, {duration_text(one.real_s)}, {outcome_text(one)}.", 8000
        )
        self._look_again()
        if self.pages is not None and self.pages.isVisible():
            self.pages.read()

    def _look_again(self) -> None:
        """Ask the log, which has changed, what it says of the spools and of the program on show."""
        self.look_at_spools()
        program = self._window.state.program
        if program is None or self._window.state.partial:
            return

        def ask(_log: PrintLog) -> tuple[Program, Past]:
            from viewer.printlog.recall import recall

            return program, recall(program, was_printed=True)

        self._past.read(ask, None)

    def _take_past(self, found: tuple[Program, Past] | None) -> None:
        """Let the panes have it, unless another program is on show by now."""
        if found is not None and found[0] is self._window.state.program:
            self._window.state.show_past(found[1])

    def _take_spools(self, spools: list[SpoolState]) -> None:
        """Let the spool that was said have what is left on it now."""
        state = self._window.state
        self.spools_read.emit(spools)
        chosen = next((one for one in spools if one.spool.label == state.spool_label), None)
        if state.spool_label and chosen is not None:
            state.leave_on_spool(chosen.there_g, state.spool_label)

    def _complain(self, sentence: str) -> None:
        self._window.banner.say("log", "warn", sentence)
