"""Workers of this machine: processes that vet one program at a time each.

A worker that ends before it answers costs no other program anything. Its own one is tried again when no other worker is
at work, so that one which met too little memory beside others gets all of it; if that ends a worker, too, it is told as
a row.
"""

from __future__ import annotations

import multiprocessing
import os
import signal
import sys
import threading
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from multiprocessing.connection import Connection, wait
from types import ModuleType
from typing import TYPE_CHECKING, Final

from viewer.errors import Stopped
from viewer.survey.work import Done, Work, ended

if TYPE_CHECKING:
    from multiprocessing.context import ForkServerContext, SpawnContext

ATTEMPTS: Final = 2
LOW_PRIORITY: Final = 15
"""Of 19, what workers give way by to all that a person does on the machine."""
SAFE_PATH: Final = "PYTHONSAFEPATH"
"""Python's own variable (3.11 and later): the working folder is no place of modules."""
TOO_LITTLE_MEMORY: Final = 71
"""Exit status of a worker that could not get memory."""
PATIENCE_S: Final = 5.0
"""How long an ended worker's exit status is waited for."""


def cores() -> int:
    """Return how many cores this process may use."""
    try:
        return len(os.sched_getaffinity(0))
    except AttributeError:  # not on every system
        return os.cpu_count() or 1


@dataclass(slots=True)
class _Worker:
    process: multiprocessing.process.BaseProcess
    pipe: Connection
    work: Work | None = None


class Processes:
    """An engine of processes.

    Parameters
    ----------
    jobs
        How many programs are worked on at a time. More than there is work for are never started.
    low_priority
        Whether the workers give way to all else on the machine.
    """

    def __init__(self, jobs: int, *, low_priority: bool = False) -> None:
        self._jobs = jobs
        self._low = low_priority
        self._workers: list[_Worker] = []
        self._context = _context()

    @property
    def process_ids(self) -> list[int]:
        """The workers that there are."""
        return [worker.process.pid or 0 for worker in self._workers]

    def run(self, works: Iterable[Work]) -> Iterator[tuple[Work, Done]]:
        """Do all works and yield each once with what came of it, in the order in which they are done.

        Raises
        ------
        Exception
            What a worker raised: it holds for all programs (a card with a check that does not exist), or it is a failure
            of the code where `viewer.failures.RAISE` is set.
        """
        coming = iter(works)
        again: list[Work] = []
        attempts: dict[str, int] = {}
        more = True
        try:
            while True:
                if more and not again:
                    more = self._hand_out(coming)
                if again and not self._at_work():
                    self._give(self._free_worker(), again.pop(0))
                if not self._at_work():
                    if not more and not again:
                        return
                    continue
                for work, answer in self._answers():
                    if isinstance(answer, Exception):
                        raise answer
                    if isinstance(answer, Done):
                        yield work, answer
                        continue
                    attempts[work.path] = attempts.get(work.path, 0) + 1
                    if attempts[work.path] < ATTEMPTS:
                        again.append(work)
                    else:
                        yield work, ended(work, answer)
        finally:
            self.close()

    def close(self) -> None:
        """End all workers at once."""
        for worker in self._workers:
            worker.process.kill()
        for worker in self._workers:
            worker.process.join()
            worker.pipe.close()
        self._workers.clear()

    def _hand_out(self, coming: Iterator[Work]) -> bool:
        """Give works to workers until all are busy; return whether there may be more."""
        while len(self._at_work()) < self._jobs:
            work = next(coming, None)
            if work is None:
                return False
            self._give(self._free_worker(), work)
        return True

    def _at_work(self) -> list[_Worker]:
        return [worker for worker in self._workers if worker.work is not None]

    def _free_worker(self) -> _Worker:
        free = next((worker for worker in self._workers if worker.work is None), None)
        return free or self._start()

    def _start(self) -> _Worker:
        ours, theirs = self._context.Pipe()
        process = self._context.Process(target=_serve, args=(theirs, self._low), daemon=True)
        with _empty_main(), _without_working_folder():
            process.start()
        theirs.close()
        worker = _Worker(process, ours)
        self._workers.append(worker)
        return worker

    def _give(self, worker: _Worker, work: Work) -> None:
        worker.work = work
        try:
            worker.pipe.send(work)
        except OSError:
            return  # it ended meanwhile: `_answers` meets that as the end of its pipe

    def _answers(self) -> Iterator[tuple[Work, Done | Exception | str]]:
        """Wait, and yield what workers answer; a text says how one ended that does not answer any more."""
        busy = {worker.pipe: worker for worker in self._at_work()}
        for pipe in wait(list(busy)):
            assert isinstance(pipe, Connection)
            worker = busy[pipe]
            work, worker.work = worker.work, None
            assert work is not None
            try:
                answer = pipe.recv()
            except (EOFError, OSError):
                answer = self._how_it_ended(worker)
            yield work, answer

    def _how_it_ended(self, worker: _Worker) -> str:
        """Take a worker away, and say how it ended."""
        worker.process.join(PATIENCE_S)
        code = worker.process.exitcode
        worker.process.kill()
        worker.process.join()
        worker.pipe.close()
        self._workers.remove(worker)
        if code == TOO_LITTLE_MEMORY:
            return "too little memory"
        return f"signal {-code}" if code is not None and code < 0 else f"exit status {code}"


class StandingProcesses(Processes):
    """Workers that stay from one run to the next, until they are sent away: kernels are loaded once.

    `rest` and `stop` may be called from another thread than that of `run`.
    """

    def __init__(self, jobs: int, *, low_priority: bool = False) -> None:
        super().__init__(jobs, low_priority=low_priority)
        self._guard = threading.Lock()
        self._stopped = False

    def close(self) -> None:
        """End the workers that a run has left at work: nobody waits for their answers any more."""
        with self._guard:
            waiting = [worker for worker in self._workers if worker.work is None and not self._stopped]
            self._workers = [worker for worker in self._workers if worker not in waiting]
            super().close()
            self._workers = waiting

    def rest(self) -> None:
        """Send the workers away between two runs; the next run starts others."""
        with self._guard:
            super().close()

    def stop(self) -> None:
        """End all workers in the midst of a run, which raises `Stopped`, as any other run after that."""
        with self._guard:
            self._stopped = True
            for worker in tuple(self._workers):
                worker.process.kill()

    def _start(self) -> _Worker:
        with self._guard:
            if self._stopped:
                raise Stopped
            return super()._start()


def _context() -> SpawnContext | ForkServerContext:
    """Return how workers are started: forked from a process that holds the engine; without forks, each by itself.

    This very process is not forked: its threads (numpy's, Qt's) may hold locks that nobody would open. The process that
    is forked has no threads, and what it holds of the engine is in memory once for all workers.
    """
    if "forkserver" not in multiprocessing.get_all_start_methods():
        return multiprocessing.get_context("spawn")
    context = multiprocessing.get_context("forkserver")
    context.set_forkserver_preload(["viewer.survey.vetting"])
    return context


@contextmanager
def _empty_main() -> Iterator[None]:
    """Let a new process find nothing in the main module.

    It would run the file of the main module once more: a script without ``if __name__ == "__main__"`` would start again
    in each worker, and workers need nothing of it.
    """
    main = sys.modules["__main__"]
    sys.modules["__main__"] = ModuleType("__main__")
    try:
        yield
    finally:
        sys.modules["__main__"] = main


@contextmanager
def _without_working_folder() -> Iterator[None]:
    """Let a new process import nothing from the working folder.

    It is started by ``python -c``, which looks there first: a file ``html.py`` or ``numpy.py`` on a drive that somebody
    brought would be run as soon as a survey is begun on it.
    """
    before = os.environ.get(SAFE_PATH)
    os.environ[SAFE_PATH] = "1"
    try:
        yield
    finally:
        if before is None:
            del os.environ[SAFE_PATH]
        else:
            os.environ[SAFE_PATH] = before


def _serve(pipe: Connection, low_priority: bool) -> None:
    """Answer works until there are no more: what a worker's process does."""
    signal.signal(
        signal.SIGINT, signal.SIG_IGN
    )  # Ctrl-C reaches all of a terminal: who asks ends the workers
    threading.Thread(target=_end_with_parent, daemon=True).start()
    if low_priority and hasattr(os, "nice"):
        os.nice(LOW_PRIORITY)
    from viewer.survey.vetting import vet

    while True:
        try:
            work = pipe.recv()
        except EOFError:
            return
        answer: Done | Exception
        try:
            answer = vet(work)
        except MemoryError:
            os._exit(
                TOO_LITTLE_MEMORY
            )  # as if the system had ended it: tried again when nothing else is at work
        except Exception as problem:  # noqa: BLE001 - raised again by who asked
            answer = problem
        pipe.send(answer)


def _end_with_parent() -> None:
    """End this process when the one that started it is gone, also in the midst of a program."""
    parent = multiprocessing.parent_process()
    if parent is not None:
        parent.join()
        os._exit(1)
