"""`Handouts`: the handout of a lesson, made beside the window, then printed or saved."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal, Slot
from PySide6.QtGui import QTextDocument
from PySide6.QtWidgets import QWidget

from viewer.shown.window.threads.newest_task import NewestTask
from viewer.written import write_whole

if TYPE_CHECKING:  # the window is on screen before the engine is imported
    from viewer.lesson.step import Lesson
    from viewer.program import Program

Use = Callable[[str], None]


class Handouts(QObject):
    """Makes one handout at a time, of which only the newest counts: its pictures take a second or more."""

    failed = Signal(object)
    """What went wrong."""

    def __init__(self, parent: QObject) -> None:
        super().__init__(parent)
        self._task = NewestTask("handout", self)
        self._use: Use | None = None
        self._task.done.connect(self._made)
        self._task.failed.connect(self.failed)

    @property
    def busy(self) -> bool:
        """Whether one is being made."""
        return self._task.busy

    def make(self, program: Program, lesson: Lesson | None, answers: bool, use: Use) -> None:
        """Make the handout of a program, and hand its HTML to `use`, in the window's thread.

        Parameters
        ----------
        lesson
            Of this program; None: it is made as well.
        answers
            Whether a page with the answers stands behind the questions.
        """
        from viewer.shown.paper.handout import handout

        self._use = use
        self._task.start(lambda _run: handout(program, lesson, answers))

    @Slot(object)
    def _made(self, html: str) -> None:
        if self._use is not None:
            self._use(html)


def save_handout(html: str, path: Path, name: str) -> None:
    """Save a handout, as HTML where the name ends so, else as PDF.

    Raises
    ------
    OutputError
        The file could not be written; nothing was left half-written.
    """
    if path.suffix.lower() in (".html", ".htm"):
        write_whole(path, [html])
    else:
        from viewer.shown.window.shell.printed.printing import pdf_bytes

        write_whole(path, [pdf_bytes(_document(html), f"Handout: {name}")])


def print_handout(html: str, name: str, parent: QWidget) -> bool:
    """Ask for a printer of paper and print a handout there; False where the person cancelled.

    Raises
    ------
    OutputError
        It could not be printed.
    """
    from viewer.shown.window.shell.printed.printing import print_document

    return print_document(_document(html), "handout", name, parent)


def _document(html: str) -> QTextDocument:
    made = QTextDocument()
    made.setHtml(html)
    return made
