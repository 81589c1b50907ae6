"""Workers of other machines, by dask.distributed: the same function, mapped by a scheduler that is there already.

A worker is told the path where it sees the file, and gets the bytes where it does not. The scheduler gives the work of a
lost worker to another one; a file that ends one worker after another is told as a row.
"""

from __future__ import annotations

import logging
import os
import threading
from collections.abc import Iterable, Iterator
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from viewer.errors import BeadlineError
from viewer.survey.parts import Problem, code_version
from viewer.survey.work import Done, Work, ended

if TYPE_CHECKING:
    from distributed import Client

PATIENCE_S: Final = 10.0
"""How long a scheduler, and then its first worker, is waited for."""
RETRIES: Final = 2
"""How often the scheduler tries again what failed on a worker (too little memory for a moment)."""
AHEAD: Final = 2
"""Works that are handed out for each thread of the workers: none waits for the network, and few files lie in memory."""
NOT_SEEN: Final = "not seen"
"""Kind of problem: this worker does not see the file."""

_ONE_AT_A_TIME: Final = threading.Lock()


class Cluster:
    """An engine of the workers at a scheduler.

    Parameters
    ----------
    address
        Of the scheduler: ``tcp://scheduler:8786``.
    """

    def __init__(self, address: str) -> None:
        self._address = address

    def run(self, works: Iterable[Work]) -> Iterator[tuple[Work, Done]]:
        """Do all works and yield each once with what came of it, in the order in which they are done.

        Raises
        ------
        BeadlineError
            dask.distributed is not installed, the scheduler does not answer or ends, it has no workers, or one of them
            has another version.
        """
        client = _connected(self._address)
        try:
            yield from self._run(client, iter(works))
        finally:
            client.close(timeout=0.2)

    def _run(self, client: Client, coming: Iterator[Work]) -> Iterator[tuple[Work, Done]]:
        from distributed import as_completed

        ahead = AHEAD * max(1, _checked_threads(client, self._address))
        running: dict[Any, Work] = {}
        finished = as_completed(loop=client.loop)
        number = 0

        def submit(work: Work) -> None:
            nonlocal number
            number += 1
            key = f"beadline-{number}-{work.content[:12]}"
            future = client.submit(vet_there, work, key=key, pure=False, retries=RETRIES)
            running[future] = work
            finished.add(future)

        while True:
            while len(running) < ahead and (work := next(coming, None)) is not None:
                submit(work)
            if not running:
                return
            future = next(finished)
            work = running.pop(future)
            done = self._done(future, work)
            if done.problem is not None and done.problem.kind == NOT_SEEN:
                sent = _with_data(work)
                if isinstance(sent, Work):
                    submit(sent)
                    continue
                done = sent
            yield work, done

    def _done(self, future: Any, work: Work) -> Done:
        """Return what came of a work.

        Raises
        ------
        Exception
            What the worker raised: it holds for all programs.
        """
        from distributed import CancelledError
        from distributed.scheduler import KilledWorker

        try:
            done: Done = future.result()
        except MemoryError:
            return ended(work, "too little memory")
        except KilledWorker as problem:
            return ended(work, f"{problem.allowed_failures + 1} workers were lost")
        except CancelledError as problem:
            raise BeadlineError(
                f"The scheduler at {self._address} is gone; start it again. Rows that are done are remembered."
            ) from problem
        return done


def _connected(address: str) -> Client:
    try:
        import dask
        from distributed import Client
    except ModuleNotFoundError:
        raise BeadlineError(
            "--on needs dask.distributed, which is not installed; install it with `pip install 'beadline[cluster]'`."
        ) from None
    logging.getLogger("distributed").setLevel(
        logging.CRITICAL
    )  # what goes wrong is told in our own sentences
    # bytes travel with their work: the scheduler still has them when a worker is lost
    dask.config.set({"distributed.admin.large-graph-warning-threshold": "8 GiB"})
    try:
        return Client(address, timeout=PATIENCE_S, set_as_default=False)
    except (OSError, ValueError) as problem:
        raise BeadlineError(
            f"There is no scheduler at {address}; write its address as tcp://HOST:8786, and see that it is running."
        ) from problem


def _checked_threads(client: Client, address: str) -> int:
    """Return how many threads the workers have, once all are known to have this very code.

    Raises
    ------
    BeadlineError
        There is no worker, or one has another version.
    """
    try:
        client.wait_for_workers(1, timeout=PATIENCE_S)
    except TimeoutError:
        raise BeadlineError(
            f"The scheduler at {address} has no worker; start one there with `dask worker {address}`."
        ) from None
    try:
        found = client.run(code_version)
    except ModuleNotFoundError:
        raise BeadlineError(
            f"The workers at {address} do not have Beadline; install the same version there as here: {code_version()}."
        ) from None
    for worker, code in found.items():
        if code != code_version():
            raise BeadlineError(_other_version(worker, code))
    threads: dict[str, int] = client.nthreads()
    return sum(threads.values())


def _other_version(worker: str, code: str) -> str:
    return f"The worker {worker} has {code}, and here is {code_version()}; install the same on both."


def _with_data(work: Work) -> Work | Done:
    """Return a work with the file's bytes; or what is to be told of a file that is gone or another one."""
    import hashlib

    try:
        data = Path(work.path).read_bytes()
    except OSError as problem:
        why = problem.strerror or problem
        return Done(problem=Problem("changed", f"{work.path} could not be read ({why}); survey it again."))
    if hashlib.sha256(data).hexdigest() != work.content:
        told = f"{work.path} was changed while it was read; survey it again."
        return Done(problem=Problem("changed", told))
    return replace(work, data=data)


def vet_there(work: Work) -> Done:
    """Do a work on a worker, one program at a time in each process whatever its threads.

    Raises
    ------
    BeadlineError
        This worker has another version than who asks.
    """
    if work.code != code_version():
        raise BeadlineError(_other_version("that took this work", code_version()))
    from viewer.survey.vetting import content_of, vet

    with _ONE_AT_A_TIME:
        if work.data is None:
            try:
                seen = content_of(os.path.abspath(work.path)) == work.content  # noqa: PTH100
            except OSError:
                seen = False
            if not seen:
                return Done(problem=Problem(NOT_SEEN, work.path))
        return vet(work)
