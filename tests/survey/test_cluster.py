"""A real scheduler with two workers on this machine: equal rows, files that are not seen, a worker that is killed."""

from __future__ import annotations

import os
import signal
import socket
import subprocess
import sys
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.survey.bench import FAULTY, Here, as_bytes, changed_copies, draw_moves, folder_of_programs, wanted
from viewer.errors import BeadlineError
from viewer.jit import compiler_is_off
from viewer.survey import cluster
from viewer.survey.cluster import Cluster, vet_there
from viewer.survey.files import programs_below
from viewer.survey.parts import code_version
from viewer.survey.run import Survey
from viewer.survey.store import Remembered
from viewer.survey.work import Work

pytestmark = pytest.mark.skipif(
    compiler_is_off(), reason="needs the compiler: each worker would take minutes"
)


@pytest.fixture
def scheduler() -> Iterator[tuple[str, list[subprocess.Popen[bytes]]]]:
    """A scheduler's address and its two workers, started as the documentation of dask.distributed has it."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        address = f"tcp://127.0.0.1:{free.getsockname()[1]}"
    dask = [sys.executable, "-m", "dask"]
    quiet = {"stdout": subprocess.DEVNULL, "stderr": subprocess.DEVNULL}
    started = [
        subprocess.Popen([*dask, "scheduler", "--host", address, "--no-dashboard"], **quiet),  # type: ignore[call-overload]
        *(
            subprocess.Popen(
                [*dask, "worker", address, "--nthreads", "1", "--no-nanny", "--no-dashboard"], **quiet
            )  # type: ignore[call-overload]
            for _ in range(2)
        ),
    ]
    try:
        yield address, started[1:]
    finally:
        for process in started:
            process.kill()
            process.wait()


@pytest.mark.filterwarnings("ignore::DeprecationWarning", "ignore::ResourceWarning")
def test_a_lost_worker_loses_no_row_and_rows_are_equal(
    scheduler: tuple[str, list[subprocess.Popen[bytes]]], tmp_path: Path
) -> None:
    """Half of the files lie where the workers do not see them: below this process's own files."""
    address, workers = scheduler
    folder = folder_of_programs(tmp_path / "programs")
    changed_copies(FAULTY / "checksum.gcode", tmp_path / "elsewhere", 3)
    unseen = os.open(tmp_path / "elsewhere", os.O_RDONLY)
    paths = [*programs_below(str(folder)), *programs_below(f"/proc/self/fd/{unseen}/.")]
    assert len(paths) == 8
    with Remembered(tmp_path / "here", code_version()) as store:
        expected = list(Survey(wanted(draw_moves), store, Here()).rows(paths))
    rows = []
    with Remembered(tmp_path / "there", code_version()) as store:
        for row in Survey(wanted(draw_moves), store, Cluster(address)).rows(paths):
            rows.append(row)
            if len(rows) == 1:
                workers[0].send_signal(signal.SIGKILL)
    os.close(unseen)
    assert Counter(row.path for row in rows) == Counter(paths)
    assert as_bytes(rows) == as_bytes(expected)


def test_where_nobody_answers_is_a_sentence(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(cluster, "PATIENCE_S", 0.3)
    with pytest.raises(BeadlineError, match="There is no scheduler at tcp"):
        list(Cluster("tcp://127.0.0.1:9").run([]))


def test_a_worker_with_another_version_refuses() -> None:
    what = wanted()
    work = Work(
        path="x", content="", cards=what.cards, verdict=True, printers=(), draw=None, code="Beadline 0.1"
    )
    with pytest.raises(BeadlineError, match="install the same on both"):
        vet_there(work)
