"""`InboxWork`: watches folders, and vets what comes with one process of low priority, beside the window."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Final

from PySide6.QtCore import QFileSystemWatcher, QObject, Signal

from viewer.shown.window.inbox.newest_first import NewestFirst
from viewer.shown.window.model.card_names import CardNames
from viewer.shown.window.threads.newest_task import NewestTask, Run, sentence_of
from viewer.shown.window.widgets.delayed_update import DelayedUpdate
from viewer.survey.processes import StandingProcesses

if TYPE_CHECKING:  # the window is on screen before the engine is imported
    from viewer.shown.window.inbox.inbox_asking import Asked, Found
    from viewer.survey.row import Row

SETTLE_MS: Final = 250
"""Folders report each file several times; they are looked into when nothing was reported for this time."""
AROUND_MS: Final = 1500
"""The same for the folders around watched ones, in which much else may go on."""
UNSETTLED_MS: Final = 500
"""Until the next look, while files may still be written."""
POLL_MS: Final = 15_000
"""Until the next look in any case: many drives report nothing."""
POLL_SHARE: Final = 20
"""A look that takes long is made less often: this many times what the last one took lies between two, at least."""
REST_MS: Final = 60_000
"""An idle worker gives its memory back after this time."""
MAX_WATCHED: Final = 2000
"""Folders that are watched; systems limit their number, and those beyond are looked into as drives are."""
END_S: Final = 10.0


class InboxWork(QObject):
    """Looks, vets and tells; it begins with `begin` and rests after `pause`.

    Parameters
    ----------
    cards
        Returns the cards that are chosen, at each look.
    """

    found = Signal(object)
    """A `Found`: the folders were looked into."""
    vetted = Signal(object)
    """A `viewer.survey.row.Row`."""
    failed = Signal(str)
    """A sentence: nothing can be vetted, or looked up, until that is mended."""
    turned = Signal()
    """Vetting began or ended."""

    def __init__(self, cards: Callable[[], CardNames], parent: QObject) -> None:
        super().__init__(parent)
        self._cards = cards
        self._folders: tuple[str, ...] = ()
        self._looked: tuple[str, ...] = ()
        """Those of the look that is under way."""
        self._found: Found | None = None
        self._begun = False
        self._stuck = False
        """Vetting has failed for a reason that holds for all: it is tried again at the next look."""
        self.waiting = NewestFirst()
        self._engine = StandingProcesses(1, low_priority=True)
        self._inside: frozenset[str] = frozenset()
        """Folders whose programs are shown; what changes in others may be a drive that comes or goes."""
        self._watcher = QFileSystemWatcher(self)
        self._looking = NewestTask("look into the inbox", self)
        self._vetting = NewestTask("vet the inbox", self)
        self._soon = DelayedUpdate(self.look, SETTLE_MS, self)
        self._poll = DelayedUpdate(self.look, POLL_MS, self)
        self._rest = DelayedUpdate(self._engine_rests, REST_MS, self)
        self._watcher.directoryChanged.connect(self._changed)
        self._looking.done.connect(self._take)
        self._looking.failed.connect(self._look_failed)
        self._vetting.posted.connect(self._take_row)
        self._vetting.done.connect(self._vetted_all)
        self._vetting.failed.connect(self._vetting_failed)

    @property
    def busy(self) -> bool:
        """Whether folders are looked into, or will be in a moment, or programs are vetted."""
        return self._begun and (self._looking.busy or self._vetting.busy or self._soon.isActive())

    @property
    def vetting(self) -> bool:
        """Whether programs are vetted."""
        return self._vetting.busy

    @property
    def process_ids(self) -> list[int]:
        """The processes that vet; they stay for a while when nothing waits."""
        return self._engine.process_ids

    def watch(self, folders: Sequence[str]) -> None:
        """Watch these folders from now on."""
        self._folders = tuple(folders)
        if self._begun:
            self.look()

    def begin(self) -> None:
        """Look into the folders now and go on watching them."""
        self._begun = True
        self.look()

    def pause(self) -> None:
        """Neither watch nor vet; what is done is remembered, and `begin` goes on from there."""
        self._begun = False
        self._soon.stop()
        self._poll.stop()
        self._looking.cancel()
        self._break_off()
        self._found = None  # what waited is found again
        self._watch_folders([])
        self.turned.emit()

    def end(self) -> None:
        """Pause, and wait for the threads: before this object goes."""
        self.pause()
        self._looking.end(END_S)
        self._vetting.end(END_S)
        self._rest.stop()

    def look(self) -> None:
        """Look into the folders now, beside the window."""
        if not self._begun:
            return
        folders, before, names = self._folders, self._found, self._cards()
        if self._looking.busy and folders == self._looked:
            self._look_in(SETTLE_MS)  # a look that takes long is not begun again and again
            return
        self._looked = folders

        def run(run: Run) -> Found:
            from viewer.shown.window.inbox.inbox_asking import found_in

            return found_in(folders, names, before, run.stop)

        self._soon.stop()
        self._looking.start(run)

    def _changed(self, folder: str) -> None:
        took_s = 0.0 if self._found is None else self._found.look.took_s
        around_ms = max(AROUND_MS, round(1000.0 * POLL_SHARE * took_s))
        self._look_in(SETTLE_MS if folder in self._inside else around_ms)

    def _look_in(self, milliseconds: int) -> None:
        """Look after a while, unless a look is to come before: reports without end must not put it off."""
        if self._begun and not 0 <= self._soon.remainingTime() <= milliseconds:
            self._soon.start(milliseconds)

    # heard -------------------------------------------------------------------------------------------

    def _take(self, found: Found) -> None:
        before, self._found = self._found, found
        if before is not None and before.asked.key != found.asked.key:
            self._break_off()
        self._watch_folders([*found.look.around, *found.look.below])
        self._inside = frozenset(found.look.below)
        self._poll.start(max(POLL_MS, round(1000.0 * POLL_SHARE * found.look.took_s)))
        if found.look.unsettled:
            self._look_in(UNSETTLED_MS)
        self.waiting.keep(found.look.stamps)
        self.waiting.add(found.missing)
        self._stuck = False
        self.found.emit(found)
        self._vet(found.asked)

    def _vet(self, asked: Asked) -> None:
        """Vet what waits, unless that is under way."""
        if self._vetting.busy or not len(self.waiting) or self._stuck:
            return
        waiting, engine = self.waiting, self._engine

        def run(run: Run) -> None:
            from viewer.shown.window.inbox.inbox_asking import vet_all

            vet_all(waiting.taken(run.stop), asked.wanted, engine, run.post)

        self._rest.stop()
        self._vetting.start(run)
        self.turned.emit()

    def _take_row(self, row: Row) -> None:
        """Tell of a program; look again where it is gone or another one by now."""
        if row.problem is not None and row.problem.kind == "changed" and self._found is not None:
            self._found.known.pop(row.path, None)
        if row.content is None or (row.problem is not None and row.problem.kind == "changed"):
            self._look_in(UNSETTLED_MS)
        self.vetted.emit(row)

    def _vetted_all(self, _outcome: object) -> None:
        if self._found is not None:
            self._vet(self._found.asked)  # what has come since the last one was taken
        if not self._vetting.busy:
            self._rest.start()
            self.turned.emit()

    def _vetting_failed(self, problem: BaseException) -> None:
        self._stuck = True
        self._found = None  # so that the next look finds again what was not vetted
        self.waiting.keep(())
        self.failed.emit(sentence_of(problem))
        self.turned.emit()

    def _look_failed(self, problem: BaseException) -> None:
        self._poll.start(POLL_MS)
        self.failed.emit(sentence_of(problem))

    def _break_off(self) -> None:
        """End what is vetted; other processes begin with what waits then."""
        self.waiting.keep(())
        engine, self._engine = self._engine, StandingProcesses(1, low_priority=True)
        busy = self._vetting.busy
        self._vetting.cancel()
        engine.stop()
        if not busy:
            engine.rest()

    def _engine_rests(self) -> None:
        if not self._vetting.busy:
            self._engine.rest()

    def _watch_folders(self, below: Sequence[str]) -> None:
        """Let the system report changes in these folders; it skips those that it cannot watch, and they are polled."""
        wanted, watched = set(below[:MAX_WATCHED]), set(self._watcher.directories())
        if gone := sorted(watched - wanted):
            self._watcher.removePaths(gone)
        if new := sorted(wanted - watched):
            self._watcher.addPaths(new)
