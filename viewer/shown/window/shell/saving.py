"""`Saving`: pictures, figures and job sheets, saved where a person says, or printed."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtWidgets import QFileDialog, QMainWindow

from viewer.errors import BeadlineError, OutputError
from viewer.shown.window.shell.commanded_window import CommandedWindow
from viewer.shown.window.shell.printed.handout import Handouts
from viewer.shown.window.threads.newest_task import sentence_of
from viewer.written import spare

if TYPE_CHECKING:  # the window is on screen before the engine is imported
    from viewer.program import Program


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
        from viewer.shown.window.shell.printed.job_sheet import save_sheet

        state, program = self._state, self._state.program
        if name and program is not None:
            self._write(
                Path(name), lambda path: save_sheet(program, state.report, path, state.start, state.past)
            )

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
        program = self._state.program
        title = "Save the handout with answers" if answers else "Save the handout"
        name, _ = QFileDialog.getSaveFileName(
            self._frame, title, self._suggested("_answers.pdf" if answers else "_handout.pdf"),
            "Documents (*.pdf);;Pages (*.html)",
        )  # fmt: skip
        if name and program is not None:
            self._make_handout(program, answers, partial(self._save_handout, program, Path(name)))

    def print_handout(self) -> None:
        """Make the handout of the lesson, then ask for a printer of paper, and print it."""
        from viewer.shown.window.shell.printed.handout import print_handout

        program = self._state.program
        if program is not None:
            self._make_handout(
                program,
                False,
                lambda html: self._guarded(lambda: print_handout(html, program.path.name, self._frame)),
            )

    def _make_handout(self, program: Program, answers: bool, use: Callable[[str], None]) -> None:
        self._frame.statusBar().showMessage("The handout is being made …")
        lesson = self._window.panes.lesson.lesson_of(program)
        self.handouts.make(program, lesson, answers, use)

    def _save_handout(self, program: Program, path: Path, html: str) -> None:
        """Save the handout of a program that another one may have replaced while it was made."""
        from viewer.shown.window.shell.printed.handout import save_handout

        self._write(path, lambda to: save_handout(html, to, program.path.name), program)

    def _complain(self, problem: BaseException) -> None:
        """Say what went wrong while a handout was made."""
        self._frame.statusBar().clearMessage()
        self._window.banner.say("output", "stop", sentence_of(problem))

    def _write(self, path: Path, write: Callable[[Path], object], program: Program | None = None) -> None:
        """Write something of a program, None: of the one on show, and say where it is; never over the program."""
        written = program or self._state.program

        def do() -> None:
            if written is not None:
                spare(path, written.path)
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
