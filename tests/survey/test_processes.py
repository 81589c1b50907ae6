"""Workers of this machine: equal rows, workers that are killed, files that end their worker, and Ctrl-C in the midst."""

from __future__ import annotations

import os
import shutil
import signal
import subprocess
import sys
import time
from collections import Counter
from pathlib import Path

import pytest

from tests.survey.bench import (
    DEADLY,
    FAULTY,
    GREEDY,
    Here,
    as_bytes,
    changed_copies,
    draw_moves,
    folder_of_programs,
    wanted,
)
from viewer import warm
from viewer.errors import Stopped
from viewer.jit import compiler_is_off
from viewer.survey import vetting
from viewer.survey.files import programs_below
from viewer.survey.parts import code_version
from viewer.survey.processes import Processes, StandingProcesses
from viewer.survey.row import Row
from viewer.survey.run import Survey
from viewer.survey.store import Remembered

pytestmark = pytest.mark.skipif(
    compiler_is_off(), reason="needs the compiler: each worker would take minutes"
)


def test_a_killed_worker_costs_no_row_and_a_file_that_ends_its_worker_is_named(tmp_path: Path) -> None:
    folder = folder_of_programs(tmp_path / "programs")
    changed_copies(FAULTY / "checksum.gcode", folder, 4)
    paths = programs_below(str(folder))
    with Remembered(tmp_path / "here", code_version()) as store:
        expected = list(Survey(wanted(draw_moves), store, Here()).rows(paths))
    deadly = folder / f"{DEADLY}.gcode"
    shutil.copy(FAULTY / "off-plate.below.gcode", deadly)

    engine, rows, killed = Processes(2), list[Row](), list[int]()
    with Remembered(tmp_path / "there", code_version()) as store:
        for row in Survey(wanted(draw_moves), store, engine).rows([str(deadly), *paths]):
            rows.append(row)
            if len(rows) == 1:
                killed += engine.process_ids[:1]
                os.kill(killed[0], signal.SIGKILL)
    assert killed and engine.process_ids == []
    assert Counter(row.path for row in rows) == Counter([str(deadly), *paths])
    named = next(row for row in rows if row.path == str(deadly))
    assert named.problem is not None and named.problem.kind == "ended"
    assert named.problem.sentence.startswith(f"{deadly} ended each process that worked on it (signal 9)")
    assert as_bytes([row for row in rows if row is not named]) == as_bytes(expected)


def test_standing_workers_stay_between_runs_and_end_in_the_midst_of_one(tmp_path: Path) -> None:
    paths = [str(path) for path in changed_copies(FAULTY / "checksum.gcode", tmp_path / "in", 3)]
    engine = StandingProcesses(1, low_priority=True)
    with Remembered(tmp_path / "store", code_version()) as store:
        survey = Survey(wanted(draw_moves), store, engine)
        assert [row.word for row in survey.rows(paths[:1])] == ["look"]
        workers = engine.process_ids
        assert len(workers) == 1
        coming = survey.rows(paths[1:])
        assert next(coming).path == paths[1] and engine.process_ids == workers
        coming.close()  # the second program is not waited for, nor the worker that may be at it
        assert [row.path for row in survey.rows(paths[2:])] == paths[2:]
        engine.rest()
        assert engine.process_ids == []
        engine.stop()
        others = changed_copies(FAULTY / "off-plate.gcode", tmp_path / "others", 1)
        with pytest.raises(Stopped):
            list(survey.rows(map(str, others)))


def test_ctrl_c_keeps_the_rows_that_are_done(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("BEADLINE_CACHE", str(tmp_path / "cache"))
    copies = changed_copies(FAULTY / "checksum.gcode", tmp_path / "programs", 400)
    command = [
        sys.executable,
        "-m",
        "viewer",
        "survey",
        str(tmp_path / "programs"),
        "--jobs",
        "1",
        "--csv",
        "-",
    ]
    process = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
    until = time.monotonic() + 120.0
    while time.monotonic() < until and remembered(tmp_path, copies) < 3:
        time.sleep(0.05)
    process.send_signal(signal.SIGINT)
    out, err = process.communicate(timeout=10.0)
    assert (process.returncode, out) == (130, "")
    done = remembered(tmp_path, copies)
    assert 3 <= done < len(copies)
    assert "programs done and remembered" in err and int(err.split()[1]) in (done, done - 1)


def remembered(tmp_path: Path, copies: list[Path]) -> int:
    """Return how many verdicts the store holds."""
    path = tmp_path / "cache" / "survey.sqlite3"
    if not path.exists():
        return 0
    with Remembered(path, code_version()) as store:
        return int(store._base.execute("SELECT count(*) FROM part WHERE kind = 'verdict'").fetchone()[0])


def test_a_drive_that_fails_is_a_row(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    copies = changed_copies(FAULTY / "checksum.gcode", tmp_path, 2)

    def failing(path: str, *_cards: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(vetting, "open_program", failing)
    with Remembered(tmp_path / "s", code_version()) as store:
        rows = list(Survey(wanted(), store, Here()).rows(map(str, copies)))
    assert [row.problem and row.problem.kind for row in rows] == ["failed", "failed"]
    assert all(row.problem and "No space left on device" in row.problem.sentence for row in rows)


def test_a_worker_without_memory_is_tried_again_alone(tmp_path: Path) -> None:
    (tmp_path / "programs").mkdir()
    large = shutil.copy(FAULTY / "off-plate.gcode", tmp_path / "programs" / f"{GREEDY}.gcode")
    engine = Processes(1)
    with Remembered(tmp_path / "s", code_version()) as store:
        (row,) = Survey(wanted(draw_moves), store, engine).rows([str(large)])
    assert row.problem is not None and "(too little memory)" in row.problem.sentence


def test_nothing_in_the_working_folder_is_run(tmp_path: Path) -> None:
    """A drive that somebody brought may hold files named as modules; a survey is begun in it."""
    drive, elsewhere, mark = tmp_path / "drive", tmp_path / "elsewhere", tmp_path / "was run"
    for folder in (drive, elsewhere):
        folder.mkdir()
    for name in ("html", "numpy", "viewer", "multiprocessing"):
        (drive / f"{name}.py").write_text(f"open({str(mark)!r}, 'a').write({name!r})\n")
    (drive / "broken.gcode").write_bytes(b"PK\x03\x04" + bytes(200))
    script = elsewhere / "survey.py"
    script.write_text(
        "from viewer.__main__ import main\nraise SystemExit(main(['survey', '.', '--jobs', '1']))\n"
    )
    home = {"PYTHONPATH": str(Path(__file__).parents[2]), "BEADLINE_CACHE": str(tmp_path)}
    kept = {name: value for name, value in os.environ.items() if name != "PYTHONSAFEPATH"}
    done = subprocess.run(
        [sys.executable, script], check=False, cwd=drive, env=kept | home, capture_output=True, text=True
    )
    assert not mark.exists()
    assert done.returncode == 2 and "zip container" in done.stdout


def test_the_process_that_compiles_takes_no_module_from_the_working_folder(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked: list[list[str]] = []
    monkeypatch.setattr(warm.subprocess, "Popen", lambda command, **_: asked.append(command))
    monkeypatch.setattr(warm.os, "cpu_count", lambda: 2)
    warm.compile_elsewhere()
    monkeypatch.undo()
    *command, code = asked[0]
    paths = code.partition("from viewer")[0] + "import viewer; print(sys.path)"
    shown = subprocess.run([*command, paths], cwd=tmp_path, capture_output=True, text=True, check=True)
    assert "''" not in shown.stdout and str(tmp_path) not in shown.stdout
