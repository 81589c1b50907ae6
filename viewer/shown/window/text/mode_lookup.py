"""`ModeLookup`: units, counting and other modes at a line, found by going through the file once, in a thread."""

from __future__ import annotations

import contextlib
from typing import Final

from PySide6.QtCore import QObject, Signal

from viewer.errors import ReadError
from viewer.program import Program
from viewer.read.modes import ModeLines, Modes, modes_at, read_modes
from viewer.shown.window.threads.newest_task import NewestTask, sentence_of

LOOKING_UP: Final = "Units and counting at this line are being looked up …"
NOT_READ: Final = "Units and counting at this line are looked up when all of the program has been read."


class ModeLookup(QObject):
    """Knows the modes of one program, from the first time that they are asked for."""

    changed = Signal()
    """The modes are known now, or `hint` says why not."""

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._program: Program | None = None
        self._lines: ModeLines | None = None
        self.hint = ""
        """A sentence in place of the modes; "" where they are known or nobody asked."""
        self._work = NewestTask("modes", self)
        self._work.done.connect(self._take)
        self._work.failed.connect(self._fail)

    @property
    def busy(self) -> bool:
        """Whether the file is being looked through."""
        return self._work.busy

    def follow(self, program: Program | None) -> None:
        """Answer for another program."""
        self._work.cancel()
        self._program, self._lines, self.hint = program, None, ""

    def begin(self, partial: bool) -> None:
        """Look through the file, unless that is done, under way or has failed; not while it is still being read."""
        program = self._program
        if program is None or self._lines is not None or self.hint not in ("", NOT_READ):
            return
        self.hint = NOT_READ
        if not partial:
            self.hint = LOOKING_UP
            self._work.start(lambda run: read_modes(program, run.stop))

    def at(self, number: int) -> Modes | None:
        """Return what holds at a line; None where it is not known, or the file cannot be read."""
        if self._program is None or self._lines is None:
            return None
        with contextlib.suppress(ReadError):  # the view of lines says so already
            return modes_at(self._program, number, self._lines)
        return None

    def end(self) -> None:
        """Stop and wait for the thread: before this object goes."""
        self._work.end()

    def _take(self, lines: ModeLines) -> None:
        self._lines, self.hint = lines, ""
        self.changed.emit()

    def _fail(self, problem: BaseException) -> None:
        self.hint = sentence_of(problem)
        self.changed.emit()
