"""`Saving`: pictures, figures and job sheets, saved where a person says, or printed."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from pathlib import Path

from PySide6.QtWidgets import QFileDialog, QMainWindow

from viewer.errors import BeadlineError, OutputError
from viewer.shown.window.shell.commanded_window import CommandedWindow
from viewer.shown.window.shell.printed.handout import Handouts
from viewer.shown.window.threads.newest_task import sentence_of
from viewer.written import spare


class Saving:
    """Asks where to, writes, and says what became of it.

    Parameters
    ----------
    window
        What is saved.
    frame
        The same window for Qt: dialogs open over it, and its status bar says what was done.
    """

    def __init__(self, window: CommandedWindow, frame: QMainWindow) -> None:
        self._window, self._frame = window, frame
        self._state = window.state
        self.handouts = Handouts(frame)
        """Makes handouts beside the window."""
        self.handouts.failed.connect(self._complain)

    def picture(self) -> None:
        """Ask where to, and save the picture."""
        name, _ = QFileDialog.getSaveFileName(
            self._frame, "Save the picture", self._suggested(f"_layer_{self._state.layer}.png"),
            "Pictures (*.png);;Drawings (*.svg)",
        )  # fmt: skip
        if name:
            self._write(Path(name), lambda path: self._window.panes.plot.save_picture(str(path)))

    def figures(self) -> None:
        """Ask where to, and save the figures."""
        name, _ = QFileDialog.getSaveFileName(
            self._frame, "Save the figures", self._suggested("_figures.csv"), "Tables (*.csv)"
        )
        if name:
            self._write(Path(name), self._window.panes.stats.export_csv)

    def sheet(self) -> None:
        """Ask where to, and save the job sheet."""
        name, _ = QFileDialog.getSaveFileName(
            self._frame,
            "Save the job sheet",
            self._suggested("_sheet.pdf"),
            "Documents (*.pdf);;Pages (*.html)",
        )
        if name:
            self._write(Path(name), self._save_sheet_as)

    def _save_sheet_as(self, path: Path) -> None:
        from viewer.shown.window.shell.printed.job_sheet import save_sheet

        program = self._state.program
        if program is not None:
            save_sheet(program, self._state.report, path, self._state.start, self._state.past)

    def print_sheet(self) -> None:
        """Ask for a printer of paper, and print the job sheet."""
        from viewer.shown.window.shell.printed.job_sheet import print_sheet

        program = self._state.program
        if program is not None:
            self._guarded(
                lambda: print_sheet(
                    program, self._state.report, self._frame, self._state.start, self._state.past
                )
            )

    def handout(self, answers: bool = False) -> None:
        """Ask where to, and save the handout of the lesson; with the answers on a page of their own, or without."""
        title = "Save the handout with answers" if answers else "Save the handout"
        name, _ = QFileDialog.getSaveFileName(
            self._frame, title, self._suggested("_answers.pdf" if answers else "_handout.pdf"),
            "Documents (*.pdf);;Pages (*.html)",
        )  # fmt: skip
        if name:
            self._make_handout(
                answers, lambda html: self._write(Path(name), partial(self._save_handout, html))
            )

    def print_handout(self) -> None:
        """Make the handout of the lesson, then ask for a printer of paper, and print it."""
        from viewer.shown.window.shell.printed.handout import print_handout

        program = self._state.program
        if program is not None:
            self._make_handout(
                False,
                lambda html: self._guarded(lambda: print_handout(html, program.path.name, self._frame)),
            )

    def _make_handout(self, answers: bool, use: Callable[[str], None]) -> None:
        program = self._state.program
        if program is not None:
            self._frame.statusBar().showMessage("The handout is being made …")
            lesson = self._window.panes.lesson.lesson_of(program)
            self.handouts.make(program, lesson, answers, use)

    def _save_handout(self, html: str, path: Path) -> None:
        from viewer.shown.window.shell.printed.handout import save_handout

        if self._state.program is not None:
            save_handout(html, path, self._state.program.path.name)

    def _complain(self, problem: BaseException) -> None:
        """Say what went wrong while a handout was made."""
        self._frame.statusBar().clearMessage()
        self._window.banner.say("output", "stop", sentence_of(problem))

    def _write(self, path: Path, write: Callable[[Path], object]) -> None:
        def do() -> None:
            if self._state.program is not None:
                spare(path, self._state.program.path)
            try:
                write(path)
            except OSError as problem:
                why = problem.strerror or str(problem)
                raise OutputError(f"{path} could not be written ({why}); choose another place.") from problem
            self._window.banner.clear("output")
            self._frame.statusBar().showMessage(f"Saved as {path}.", 8000)

        self._guarded(do)

    def _guarded(self, do: Callable[[], object]) -> None:
        try:
            do()
        except BeadlineError as problem:
            self._window.banner.say("output", "stop", str(problem))

    def _suggested(self, ending: str) -> str:
        program = self._state.program
        if program is None:
            return ending.lstrip("_")
        stem = program.path.name.split(".")[0] or "program"
        return str(program.path.parent / f"{stem}{ending}")
