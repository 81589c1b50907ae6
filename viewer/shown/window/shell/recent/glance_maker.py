"""`GlanceMaker`: after a program was judged and nobody has asked for anything else, keeps a glance of it."""

from __future__ import annotations

import logging
from collections.abc import Callable, Collection
from pathlib import Path
from typing import TYPE_CHECKING, Final

from PySide6.QtCore import QObject

from viewer.numerals import capital
from viewer.shown.window.model.view_state import ViewState
from viewer.shown.window.shell.recent.glance import PICTURE_PX, Glance, Glances
from viewer.shown.window.threads.newest_task import NewestTask, Run
from viewer.shown.window.widgets.delayed_update import DelayedUpdate
from viewer.shown.window.widgets.until_destroyed import listen_until_destroyed

if TYPE_CHECKING:  # the window is on screen before the engine is imported
    from viewer.checks.run import Report
    from viewer.printlog.past import Past
    from viewer.program import Program

REST_MS: Final = 1500
"""After the findings: panes are painted by then, and a person who opens one program after another is not held up."""


class GlanceMaker(QObject):
    """Works in a thread of its own, seconds after the checks; a failure costs the picture and nothing else.

    Parameters
    ----------
    recent
        Returns the programs of which glances are kept.
    """

    def __init__(
        self, state: ViewState, glances: Glances, recent: Callable[[], Collection[Path]], parent: QObject
    ) -> None:
        super().__init__(parent)
        self._state, self._glances, self._recent = state, glances, recent
        self.task = NewestTask("glance", self)
        self.task.failed.connect(self._failed)
        self.rest = DelayedUpdate(self.make, REST_MS, self)
        listen_until_destroyed(self, state, self.rest.start, "findings", "past")
        listen_until_destroyed(self, state, self._stop, "program")

    def make(self) -> None:
        """Keep a glance of the program on show, if it is judged; its file may be gone again by then."""
        program, report, past = self._state.program, self._state.report, self._state.past
        if program is None or report is None or self._state.partial or str(program.path) == "-":
            return
        path, recent = program.path.absolute(), list(self._recent())
        self.task.start(
            lambda run: _keep(run, self._glances, path, program, glance_of(program, report, past), recent)
        )

    def _stop(self) -> None:
        self.rest.stop()
        self.task.cancel()

    def _failed(self, problem: BaseException) -> None:
        logging.getLogger(__name__).warning("no picture for the start page", exc_info=problem)


def _keep(
    run: Run, glances: Glances, path: Path, program: Program, glance: Glance, recent: Collection[Path]
) -> None:
    """Write what is to be known of a program; its pictures are drawn only where the file is another one."""
    before = glances.read(path)
    known = before is not None and (before.modified_ns, before.size_bytes) == program.source.stamp
    if known and before == glance and glances.has_pictures(path):
        return
    pictures = None if known and glances.has_pictures(path) else _pictures(program)
    if not run.stop():
        glances.write(path, glance, pictures)
        glances.forget_others(recent)


def glance_of(program: Program, report: Report, past: Past | None) -> Glance:
    """Return what is to be known of a judged program; `past` is what the print log says of it, if anything."""
    from viewer.shown.finding_text import NOTHING_FOUND, readable
    from viewer.verdict import Question, Word, verdict_of

    verdict = verdict_of(program, report, past=past)
    worst = min(verdict.answers, key=lambda answer: answer.word.rank)
    time, cost = verdict.of(Question.TIME).headline, verdict.of(Question.COST).headline
    modified_ns, size_bytes = program.source.stamp
    words = {"no": "No: ", "look": "Look: ", "not known": "Not known: ", "yes": ""}[worst.word.value]
    return Glance(
        answer=worst.word.value,
        words=capital(NOTHING_FOUND) if worst.word is Word.YES else words + readable(worst.brief),
        amounts=f"{time} · {cost} · {program.printer.name}, {program.filament.name}",
        modified_ns=modified_ns,
        size_bytes=size_bytes,
    )


def _pictures(program: Program) -> tuple[bytes, bytes] | None:
    """Draw the whole part from a corner, light and dark; None where there is nothing to draw."""
    from viewer.shown.pictures.part_picture import Wanted, part_of_program, picture_from
    from viewer.shown.pictures.png import png_bytes

    if not len(program.layers):
        return None
    part, (width, height) = part_of_program(program), PICTURE_PX
    light, dark = (
        png_bytes(
            picture_from(
                program, part, "corner", Wanted(width=width, height=height, dark=dark, inscribed=False)
            )
        )
        for dark in (False, True)
    )
    return light, dark
