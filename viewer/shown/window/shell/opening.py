"""Opening programs: what is asked of the loader, what its answers change, and what is said about them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal

from viewer.shown.first_run import FIRST_RUN, KernelCount, kernels_are_cached
from viewer.shown.window.model.card_names import CardNames
from viewer.shown.window.model.view_state import ViewState
from viewer.shown.window.shell.banner import Banner
from viewer.shown.window.shell.file_watch import FileWatch
from viewer.shown.window.shell.memory import Memory
from viewer.shown.window.shell.wait_page import WaitPage
from viewer.shown.window.threads.loader import Loader
from viewer.shown.window.widgets.delayed_update import DelayedUpdate

if TYPE_CHECKING:
    from viewer.checks.run import Report
    from viewer.printlog.past import Past
    from viewer.program import Program

LONG_WAIT_MS = 1500
"""Nothing read by then: the kernels are being compiled, or the drive is slow; the window says so."""
COUNT_MS = 500
"""From one count of the compiled kernels to the next."""
SLOW_DRIVE = "It takes longer than usual: the drive is slow, or the computer busy."
STAYS_USABLE = "The window stays usable meanwhile."


class Opening(QObject):
    """Between the loader, the view state, the file on disk and the banner."""

    turned = Signal()
    """What is in the middle of the window, or whether something is under way, may be another now."""
    told = Signal(str)
    """What is to be known of the start; "" when it is over."""
    cards_stay = Signal(str, str)
    """A choice of cards came to nothing: names of printer and filament that are used on."""

    outdated = Signal(bool)
    """What is on show is not what the person asked for last, because that could not be opened; or it is again."""

    def __init__(
        self,
        state: ViewState,
        memory: Memory,
        banner: Banner,
        waiting: WaitPage,
        cards: Callable[[], CardNames],
    ) -> None:
        super().__init__()
        self._state, self._memory, self._banner, self._waiting, self._cards = (
            state,
            memory,
            banner,
            waiting,
            cards,
        )
        self.loader = Loader(self)
        self.watch = FileWatch(self)
        self._telling = False
        """Start and spool are being told to be others, but nothing is to be computed again."""
        self._other_job: tuple[datetime | None, float | None, str] | None = None
        """Start and spool of the program that stays on show if the one that is being read cannot be."""
        self._again = False
        """What is being read was opened by a person, and nothing of it was shown yet."""
        self._long_wait = DelayedUpdate(self._explain_wait, LONG_WAIT_MS, self)
        self._counting = DelayedUpdate(self._count_kernels, COUNT_MS, self)
        self._kernels: KernelCount | None = None
        self.watch.turned.connect(self._file_turned)
        loader = self.loader
        loader.began.connect(lambda _about: self.turned.emit())
        loader.prepared.connect(self._engine_is_there)
        loader.previewed.connect(self._previewed)
        loader.loaded.connect(self._loaded)
        loader.checked.connect(self._checked)
        loader.recalled.connect(self._recalled)
        loader.failed.connect(self._failed)
        loader.ended.connect(self._ended)
        state.listen("start", self._start_changed)
        state.listen("spool", self.use_cards)

    def prepare(self) -> None:
        """Get the engine ready while nothing is to be read."""
        self._long_wait.start()
        self.loader.prepare()

    def open_path(self, path: Path, again: bool = True) -> None:
        """Read a program in the background; what is on show stays until there is something of the new one.

        Parameters
        ----------
        again
            It begins with its first layer; False: one that is on show already keeps its place.
        """
        self._again = again
        self._begin_job(path)
        self._banner.clear("file", "reading", "output")
        self._waiting.wait_for(path.name)
        if self._state.program is not None and self._state.program.path == path:
            self._state.halt(False)
        self.loader.open(path, self._cards(), self._state.start)
        self._long_wait.start()
        self.turned.emit()

    def _begin_job(self, path: Path) -> None:
        """Forget start and spool where another program is opened: they were said of the one on show."""
        program, state = self._state.program, self._state
        if program is None or path in (program.path, self.loader.path):
            return
        self._other_job = (state.start, state.spool_left_g, state.spool_label)
        self._tell_job(None, None, "")

    def _tell_job(self, start: datetime | None, spool_left_g: float | None, spool: str) -> None:
        """Show a start and a spool without computing again what is on show."""
        self._telling = True
        try:
            self._state.begin_at(start)
            self._state.leave_on_spool(spool_left_g, spool)
        finally:
            self._telling = False

    def _stay_with_job(self) -> None:
        """Take start and spool back: the program that they were said of stays on show."""
        if self._other_job is not None and self._state.program is not None:
            self._tell_job(*self._other_job)
        self._other_job = None

    def open_again(self) -> None:
        """Read the program on show again."""
        if self._state.program is not None:
            self.open_path(self._state.program.path, again=False)

    def use_cards(self) -> None:
        """Compute what is on show, or being read, under the cards that are chosen now."""
        if self._telling:
            return
        program, reading = self._state.program, self.loader.path
        if reading is not None:
            self.open_path(reading, again=self._again)
        elif program is not None and self._state.partial:
            self.open_path(program.path, again=False)
        elif program is not None:
            self._state.halt(False)
            self.loader.change_cards(program, self._cards(), self._state.start)

    def cancel(self) -> None:
        """Stop reading or checking, and say what that means."""
        reading, busy = self.loader.path, self.loader.busy
        self.loader.cancel()
        self._halt()
        self._stay_with_job()
        if reading is not None and self._state.partial:
            sentence = f"Reading was stopped: only the beginning of {reading.name} is shown."
            self._banner.say(
                "reading", "warn", sentence, ("Read all of it", lambda: self.open_path(reading, again=False))
            )
        elif reading is not None:
            sentence = f"Reading {reading.name} was stopped."
            self._banner.say("reading", "note", sentence, ("Read it", lambda: self.open_path(reading)))
        elif busy and self._state.program is not None:
            sentence = "The checks were stopped, so nothing is known of findings."
            self._banner.say("reading", "warn", sentence, ("Check again", self._check_again))

    def put_away(self) -> None:
        """Show no program any more."""
        self.loader.cancel()
        self.watch.follow(None)
        self._banner.clear()
        program = self._state.program
        self._state.show_program(None)
        self._other_job = None
        self._tell_job(None, None, "")
        if program is not None:
            program.close()
        self.turned.emit()

    def close(self) -> None:
        """Wait for the worker and delete temporary copies."""
        self._long_wait.stop()
        self._counting.stop()
        self.watch.follow(None)
        self.loader.close()
        program = self._state.program
        self._state.show_program(None)  # panes stop what they do beside the window
        if program is not None:
            program.close()

    def _halt(self) -> None:
        """Tell the panes that they wait in vain for the rest of the program on show, or for its findings."""
        state = self._state
        state.halt(state.program is not None and (state.partial or state.report is None))

    def _check_again(self) -> None:
        self._state.halt(False)
        if self._state.program is not None:
            self.loader.check(self._state.program, self._state.start)

    def _start_changed(self) -> None:
        """Check what is on show under the new start; what is under way is checked again at its end."""
        if not self._telling and not self.loader.busy and not self._state.partial:
            self._check_again()

    def _previewed(self, program: Program) -> None:
        self.watch.follow(None)
        self._other_job = None
        self._state.show_program(program, partial=True, again=self._again)
        self._again = False
        name = program.path.name
        self._banner.say(
            "reading",
            "note",
            f"This is the beginning of {name}; the rest is still being read.",
        )

    def _loaded(self, program: Program) -> None:
        self._long_wait.stop()
        self._other_job = None
        self._banner.clear("reading", "file")
        if not len(program.layers):
            sentence = f"{program.path.name} lays no filament, so there is no layer to show."
            self._banner.say("reading", "warn", sentence)
        self._state.show_program(program, again=self._again)
        self._again = False
        if str(program.path) != "-":
            self._memory.opened(program.path.absolute())
        self.watch.follow(program.source)

    def _checked(self, report: Report) -> None:
        self._state.show_report(report)
        if report.start != self._state.start:  # it was said while the checks ran
            self._check_again()

    def _recalled(self, past: Past) -> None:
        from viewer.printlog.past import ChosenSpool

        state = self._state
        if state.spool_label and state.spool_left_g is not None:
            past = replace(past, spool=ChosenSpool(state.spool_label, state.spool_left_g))
        state.show_past(past)

    def _failed(self, sentence: str, reading: Path | None) -> None:
        self._halt()
        self._stay_with_job()
        shown, more = self._state.program, ""
        if shown is not None and self._state.partial:
            more = " What was read before stays on show."
        elif shown is not None and reading is not None:
            more = f" {shown.path.name} stays on show."
        if shown is not None:
            self.cards_stay.emit(shown.printer.name, shown.filament.name)
        remedies = []
        if reading is not None and self.loader.may_try_again:
            remedies = [("Try again", lambda: self.open_path(reading))]
        self._banner.say("reading", "stop", sentence + more, *remedies)
        self.outdated.emit(
            shown is not None and not self._state.partial and reading not in (None, shown.path)
        )

    def _ended(self) -> None:
        self._long_wait.stop()
        self.told.emit("")
        self.turned.emit()

    def _engine_is_there(self) -> None:
        """Count from now on: before, it is the start that takes its time, not the drive."""
        if self.loader.busy and kernels_are_cached():
            self._long_wait.start()

    def _explain_wait(self) -> None:
        """Say why nothing is shown yet."""
        if self._state.program is None and self.loader.busy:
            compiling = not kernels_are_cached()
            if not compiling and not self.loader.is_prepared:
                return  # `_engine_is_there` will count again
            why = f"{FIRST_RUN} {STAYS_USABLE}" if compiling else SLOW_DRIVE
            if compiling:
                self._count_kernels()
            if self.loader.path is not None:
                self._waiting.explain(why)
            elif compiling:
                self.told.emit(why)

    def _count_kernels(self) -> None:
        """Say at the first start how many kernels are compiled, again and again until there is something to show."""
        if not self.loader.busy or self._state.program is not None:
            return
        self._kernels = self._kernels or KernelCount()
        ready, of = self._kernels.ready(), self._kernels.of
        if self.loader.path is not None:
            self._waiting.tell_ready(ready, of)
        else:
            self.told.emit(f"{FIRST_RUN} {ready} of {of} kernels are compiled. {STAYS_USABLE}")
        if ready < of:
            self._counting.start()

    def _file_turned(self, what: str) -> None:
        program = self._state.program
        if program is None:
            return
        name = program.path.name
        again = ("Read it again", self.open_again)
        if what == "same":
            self._banner.clear("file")
        elif what == "gone":
            sentence = (
                f"{name} is not at its place any more. What was read of it stays on show, but its text cannot be"
                " fetched; put the drive back, or open it from elsewhere."
            )
            self._banner.say("file", "warn", sentence, again)
        else:
            sentence = f"{name} was changed after it was read; what is shown is the old one."
            self._banner.say("file", "warn", sentence, again)
