"""The store: several processes, ends in mid-write, full drives, damage, versions; and what is kept of spools."""

from __future__ import annotations

import os
import shutil
import signal
import sqlite3
import subprocess
import sys
import tempfile
import time
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import numpy as np
import pytest

from tests.printlog.bench import START, Bench, made
from viewer import sqlite_file
from viewer.errors import BeadlineError
from viewer.printlog.csv_rows import csv_of, prints_of_csv
from viewer.printlog.history import history_of
from viewer.printlog.log_file import own_path
from viewer.printlog.months import Month, months_of
from viewer.printlog.rows import Entry, Outcome, Print, Spool, Weighing
from viewer.printlog.schema import MIGRATIONS
from viewer.printlog.store import VARIABLE, PrintLog, log_path

WRITER = """
import sys
from dataclasses import replace
from tests.printlog.bench import made
from viewer.printlog.store import PrintLog

with PrintLog(sys.argv[1]) as log:
    for number in range(int(sys.argv[2])):
        log.add([replace(made({"laying": 60.0}, 61.0), note=f"{sys.argv[3]} {number}")])
        print(number, flush=True)
"""


def writer(path: Path, rows: int, name: str) -> subprocess.Popen[str]:
    return subprocess.Popen(
        [sys.executable, "-c", WRITER, str(path), str(rows), name], stdout=subprocess.PIPE, text=True,
        cwd=Path(__file__).parents[2],
    )  # fmt: skip


@pytest.fixture
def path(tmp_path: Path) -> Path:
    """A file in a folder that a bench shares."""
    return tmp_path / "log" / "prints.sqlite3"


@pytest.fixture
def own(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The file in the person's own folder, for this process and those that it starts."""
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    path = own_path()
    assert tmp_path in path.parents
    return path


def journal(path: Path) -> str:
    with PrintLog(path) as log:
        return str(log._base.execute("PRAGMA journal_mode").fetchone()[0])


def test_what_was_noted_comes_back(path: Path) -> None:
    with PrintLog(path) as log:
        log.add_spool(Spool(label="blue", filament="PLA", full_g=1000.0, begun=START))
        one = replace(
            made({"laying": 3000.0, "heating": 135.0}, 4000.0), outcome=Outcome.FAILED, layer=12, reason="warped",
            words="corner", weight_g=9.5, spool="blue", charge=2.5, currency="EUR", for_whom="bench 3", note="again",
            printer_card='name = "Heron"\n', filament_card='name = "PLA"\n',
        )  # fmt: skip
        assert log.add([one, one]) == 1
    with PrintLog(path) as log:
        (found,) = log.prints()
        assert replace(found, number=None) == one
        assert found.number is not None
        assert log.prints(words="CORNER") == [found] and log.prints(words="salt") == []
        assert log.prints(printer="Wren") == [] and log.prints(sha256="0" * 64) == [found]
        log.forget_person(found.number)
        assert log.prints()[0].for_whom == ""
        log.delete(found.number)
        assert log.count() == 0
        with pytest.raises(BeadlineError, match="no print"):
            log.delete(found.number)


def test_what_is_deleted_is_not_in_the_file_any_more(path: Path) -> None:
    with PrintLog(path) as log:
        log.add([replace(made({"laying": 60.0}, 61.0), for_whom="Quayside bench nine")])
        number = log.prints()[0].number
        assert number is not None
        log.forget_person(number)
    left = b"".join(file.read_bytes() for file in path.parent.iterdir())
    assert b"Quayside bench nine" not in left


def test_two_processes_lose_nothing(own: Path) -> None:
    write_with_two(own, 1_000)
    assert journal(own) == "wal"


def test_two_processes_lose_nothing_in_a_shared_folder(path: Path) -> None:
    write_with_two(path, 100)
    assert journal(path) == "delete"


def write_with_two(path: Path, rows: int) -> None:
    both = [writer(path, rows, name) for name in ("one", "two")]
    assert [len(process.communicate()[0].split()) for process in both] == [rows, rows]
    with PrintLog(path) as log:
        notes = {one.note for one in log.prints()}
    assert notes == {f"{name} {number}" for name in ("one", "two") for number in range(rows)}


def test_a_process_that_is_killed_loses_nothing_that_it_said_was_noted(own: Path, path: Path) -> None:
    for number in range(2):
        for file in (own, path):
            kill_in_mid_write(file, number, 0.05 * (number + 1))


def kill_in_mid_write(path: Path, number: int, after_s: float) -> None:
    process = writer(path, 100_000, f"run{number}")
    assert process.stdout is not None
    process.stdout.readline()
    time.sleep(after_s)
    os.kill(process.pid, signal.SIGKILL)
    said = 1 + len(process.stdout.read().split())
    process.stdout.close()
    process.wait()
    with PrintLog(path) as log:
        found = log.prints(words=f"run{number} ")
        log.check()
    assert len(found) in (said, said + 1)  # one may have been written and not said


def test_a_file_system_that_locks_by_files_alone(own: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """As network folders may: no memory that processes share, so that no WAL can be had."""
    real = sqlite3.connect

    def connect(file: Path, **more: float) -> sqlite3.Connection:
        return real(f"file:{file}?vfs=unix-dotfile", uri=True, **more)  # type: ignore[call-overload,no-any-return]

    monkeypatch.setattr(sqlite3, "connect", connect)
    monkeypatch.setattr(sqlite_file, "BUSY_S", 0.05)
    with PrintLog(own) as log, PrintLog(own) as other:
        assert log._base.execute("PRAGMA journal_mode").fetchone()[0] == "delete"
        log._base.execute("BEGIN IMMEDIATE")
        with pytest.raises(BeadlineError, match="another process"):
            other.add([made({"laying": 60.0}, 61.0)])
        log._base.execute("ROLLBACK")
        assert other.add([made({"laying": 60.0}, 61.0)]) == 1 and log.count() == 1


LIMITED = """
import os, resource, sys
from dataclasses import replace
from tests.printlog.bench import made
from viewer.errors import BeadlineError
from viewer.printlog.store import PrintLog

path, how = sys.argv[1:]
if how == "read-only":
    if os.getuid() == 0:
        os.setuid(65534)  # root may write anywhere
    many = [made({"laying": 60.0}, 61.0)]
else:
    limit = os.path.getsize(path) + 20_000
    resource.setrlimit(resource.RLIMIT_FSIZE, (limit, limit))
    many = [replace(made({"laying": 60.0}, 61.0), note="x" * 900) for _ in range(60)]
with PrintLog(path) as log:
    try:
        log.add(many)
    except BeadlineError as problem:
        print(problem)
    print(log.count(), log.history().computed_s.tolist())
"""


@pytest.mark.parametrize(("how", "said"), [("read-only", "may only be read"), ("no-room", "was changed")])
def test_a_folder_that_takes_no_more(own: Path, how: str, said: str) -> None:
    """A drive that ends, and a folder without the right to write: in a process of its own, by the system's means."""
    with tempfile.TemporaryDirectory() as reachable:  # pytest's own folders are closed to others
        folder = Path(reachable)
        path = folder / "prints.sqlite3"
        with PrintLog(own) as log:
            log.add([made({"laying": 60.0}, 61.0)])
        shutil.copy(own, path)  # with its WAL emptied on closing, but still of that kind
        if how == "read-only":
            path.chmod(0o444)
            folder.chmod(0o555)
        else:
            folder.chmod(0o755)
        run = subprocess.run(
            [sys.executable, "-c", LIMITED, str(path), how], cwd=Path(__file__).parents[2], capture_output=True,
            text=True, check=False,
        )  # fmt: skip
        folder.chmod(0o755)
        with PrintLog(path) as log:
            assert log.count() == 1
    sentence, rest = run.stdout.split("\n", 1)
    assert said in sentence and rest == "1 [60.0]\n", run.stdout + run.stderr


def test_damage_in_the_middle_is_found_and_not_copied(path: Path, tmp_path: Path) -> None:
    with PrintLog(path) as log:
        log.add([replace(made({"laying": 60.0}, 61.0), note="x" * 900) for _ in range(40)])
        log.check()
    content = bytearray(path.read_bytes())
    content[-8192:] = b"\xff" * 8192
    path.write_bytes(content)
    with PrintLog(path) as log:
        for do in (log.check, lambda: log.back_up(tmp_path / "copy.sqlite3")):
            with pytest.raises(BeadlineError, match="is damaged"):
                do()
    assert not (tmp_path / "copy.sqlite3").exists()


def test_a_full_drive_is_told_and_nothing_is_half_noted(path: Path) -> None:
    with PrintLog(path) as log:
        pages = log._base.execute("PRAGMA page_count").fetchone()[0]
        log._base.execute(f"PRAGMA max_page_count = {pages}")
        many = [replace(made({"laying": 60.0}, 61.0), note="x" * 900) for _ in range(60)]
        with pytest.raises(BeadlineError, match="full"):
            log.add(many)
        assert log.count() == 0


def test_a_log_that_may_only_be_read_can_be_read(path: Path) -> None:
    with PrintLog(path) as log:
        log.add([made({"laying": 60.0}, 61.0)])
        log._base.execute("PRAGMA query_only = ON")
        with pytest.raises(BeadlineError, match="may only be read"):
            log.add([made({"laying": 60.0}, 61.0)])
        assert log.count() == 1


def test_a_damaged_log_is_told_and_left_alone(path: Path) -> None:
    path.parent.mkdir()
    path.write_bytes(b"no database at all, but longer than a hundred bytes" * 4)
    before = path.read_bytes()
    with pytest.raises(BeadlineError, match="damaged"):
        PrintLog(path)
    assert path.read_bytes() == before


def test_a_log_of_a_newer_version_is_refused(path: Path) -> None:
    with PrintLog(path) as log:
        log._base.execute(f"PRAGMA user_version = {len(MIGRATIONS) + 1}")
    with pytest.raises(BeadlineError, match="newer Beadline"):
        PrintLog(path)


def test_a_log_that_another_process_holds_is_told(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sqlite_file, "BUSY_S", 0.05)
    with PrintLog(path) as log:
        other = sqlite3.connect(path)
        other.execute("BEGIN EXCLUSIVE")
        with pytest.raises(BeadlineError, match="another process"):
            log.add([made({"laying": 60.0}, 61.0)])
        other.rollback()
        other.close()
        assert log.add([made({"laying": 60.0}, 61.0)]) == 1


def test_a_folder_that_cannot_be_made(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    with pytest.raises(BeadlineError, match="cannot be made"):
        PrintLog(tmp_path / "file" / "prints.sqlite3")


def test_a_backup_is_whole_and_can_be_opened(path: Path, tmp_path: Path) -> None:
    with PrintLog(path) as log:
        log.add([made({"laying": 60.0}, 61.0)])
        log.back_up(tmp_path / "copy.sqlite3")
    with PrintLog(tmp_path / "copy.sqlite3") as copy:
        assert copy.count() == 1


def test_spools_lose_what_prints_draw_and_scales_correct_it(path: Path) -> None:
    def drawn(grams: float, hours: float) -> Print:
        one = made({"laying": 60.0}, 3600.0)
        moved = timedelta(hours=hours)
        return replace(
            one, computed_g=grams, spool="blue", started=one.started + moved, ended=one.ended + moved
        )

    with PrintLog(path) as log:
        log.add_spool(Spool(label="blue", filament="PLA", full_g=1000.0, tare_g=200.0, begun=START))
        log.weigh(Weighing("blue", START, 1200.0))
        log.add([drawn(100.0, 1.0), replace(drawn(50.0, 2.0), weight_g=60.0)])
        (state,) = log.spools()
        assert state.left_g == pytest.approx(840.0) and state.drawn_g == pytest.approx(160.0)
        assert state.drift is None
        log.weigh(Weighing("blue", START + timedelta(hours=4), 1020.0))
        log.add([drawn(20.0, 5.0)])
        (state,) = log.spools()
        assert state.left_g == pytest.approx(800.0)
        assert state.drift == pytest.approx(180.0 / 150.0)
        for weighing, said in (
            (Weighing("red", START, 900.0), "no spool"),
            (Weighing("blue", START, 10.0), "empty"),
        ):
            with pytest.raises(BeadlineError, match=said):
                log.weigh(weighing)
        with pytest.raises(BeadlineError, match="already"):
            log.add_spool(Spool(label="blue", filament="PLA", full_g=1.0, begun=START))


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"ended": START - timedelta(hours=1)}, "before it started"),
        ({"ended": START + timedelta(days=90)}, "days"),
        ({"outcome": Outcome.FAILED, "reason": "gremlins"}, "no reason"),
        ({"reason": "warped"}, "Only a print that failed"),
        ({"layer": 3}, "belongs to a print"),
        ({"weight_g": -1.0}, "slip"),
    ],
)
def test_what_contradicts_itself_is_refused_and_nothing_is_noted(
    path: Path, change: dict[str, object], said: str
) -> None:
    good = made({"laying": 60.0}, 61.0)
    with PrintLog(path) as log:
        with pytest.raises(BeadlineError, match=said):
            log.add([good, replace(good, uid="other", **change)])  # type: ignore[arg-type]
        assert log.count() == 0


def test_a_print_can_be_changed_and_the_old_words_are_gone(own: Path) -> None:
    with PrintLog(own) as log:
        log.add_spool(Spool(label="blue", filament="PLA", full_g=1000.0, begun=START))
        log.add(
            [
                replace(
                    made({"laying": 60.0}, 61.0),
                    for_whom="Quayside bench nine",
                    printer_card='name = "Heron"\n',
                )
            ]
        )
        (old,) = log.prints()
        new = replace(old, for_whom="", outcome=Outcome.STOPPED, layer=3, spool="blue", weight_g=4.0)
        log.change(new)
        assert old.number is not None and log.print_of(old.number) == new
        assert b"Quayside bench nine" not in b"".join(file.read_bytes() for file in own.parent.iterdir())
        with pytest.raises(BeadlineError, match="no spool red"):
            log.change(replace(new, spool="red"))
        with pytest.raises(BeadlineError, match="belongs to a print"):
            log.change(replace(new, outcome=Outcome.DONE))
        assert log.print_of(old.number) == new
        log.delete(old.number)
        with pytest.raises(BeadlineError, match="no print"):
            log.change(new)
        with pytest.raises(BeadlineError, match="deleted"):
            log.print_of(old.number)


def test_a_spool_ends_and_goes_and_its_prints_stay(path: Path) -> None:
    with PrintLog(path) as log:
        log.add_spool(Spool(label="blue", filament="PLA", full_g=1000.0, tare_g=200.0, begun=START))
        log.weigh(Weighing("blue", START, 1200.0))
        log.add([replace(made({"laying": 60.0}, 61.0), spool="blue")])
        log.end_spool("blue", START)
        (state,) = log.spools()
        assert state.spool.emptied == START and state.weighings == (Weighing("blue", START, 1200.0),)
        log.end_spool("blue", None)
        assert log.spools()[0].spool.emptied is None
        log.delete_spool("blue")
        assert log.spools() == [] and log.prints()[0].spool is None
        for do in (log.delete_spool, lambda label: log.end_spool(label, None)):
            with pytest.raises(BeadlineError, match="no spool blue"):
                do("blue")


def test_lines_of_the_list_and_what_months_cost(path: Path) -> None:
    one = replace(made({"laying": 3000.0}, 3600.0), charge=2.5, currency="EUR", uid="a")
    moved = timedelta(days=40)
    later = replace(
        one, started=one.started + moved, ended=one.ended + moved, weight_g=10.0, charge=1.5, uid="b"
    )
    stopped = replace(later, outcome=Outcome.STOPPED, charge=None, uid="c")
    with PrintLog(path) as log:
        log.add([one, later, stopped])
        entries, prints = log.entries(), log.prints()
        assert log.entries(2) == entries[:2]
    assert [entry.number for entry in entries] == [one.number for one in prints] == [3, 2, 1]
    for entry, found in zip(entries, prints, strict=True):
        for name in set(Entry._fields) - {"started", "ended", "drawn_g"}:
            assert getattr(entry, name) == getattr(found, name), name
        assert entry.real_s == found.real_s and entry.started == found.started.isoformat(timespec="seconds")
    assert [entry.drawn_g for entry in entries] == [10.0, 10.0, 12.5]
    assert months_of(entries) == [
        Month("2026-04", 2, 1, 7200.0, 20.0, (("EUR", 1.5),), 1),
        Month("2026-03", 1, 1, 3600.0, 12.5, (("EUR", 2.5),), 0),
    ]  # fmt: skip


def test_csv_out_and_in_again(path: Path) -> None:
    one = replace(
        made({"laying": 60.5, "heating": 30.0}, 61.0), words='said "stop", twice', note="two\nlines", weight_g=3.25,
        outcome=Outcome.STOPPED, layer=4, invented=True, charge=0.5, currency="EUR",
    )  # fmt: skip
    text = "".join(csv_of([one]))
    assert prints_of_csv(text, "prints.csv") == [one]
    with PrintLog(path) as log:
        assert log.add(prints_of_csv(text, "prints.csv")) == 1
        assert log.add(prints_of_csv(text, "prints.csv")) == 0


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("program,printer\na,b\n", "no column started"),
        (
            "program,printer,started,ended,outcome\na,Heron,yesterday,2026-03-02T10:00,done\n",
            "line 2: started",
        ),
        (
            "program,printer,started,ended,outcome\na,Heron,2026-03-02T09:00,2026-03-02T10:00,lost\n",
            "line 2: outcome",
        ),
    ],
)
def test_a_table_that_is_not_right_names_line_and_column(text: str, said: str) -> None:
    with pytest.raises(BeadlineError, match=said):
        prints_of_csv(text, "prints.csv")


def test_columns_of_the_store_are_those_of_its_rows(path: Path) -> None:
    bench = Bench(np.random.default_rng(3))
    with PrintLog(path) as log:
        log.add(
            [
                *(bench.print_() for _ in range(20)),
                replace(bench.print_(), printer="Wren", outcome=Outcome.STOPPED),
            ]
        )
        for printer in (None, "Wren"):
            found, expected = log.history(printer), history_of(log.prints(printer=printer)[::-1])
            order, same = np.argsort(found.computed_s), np.argsort(expected.computed_s)
            assert np.array_equal(found.causes_s[order], expected.causes_s[same])
            assert np.allclose(found.real_s[order], expected.real_s[same], atol=1.0)
            assert np.array_equal(found.is_done[order], expected.is_done[same])
            assert np.array_equal(found.printer[order], expected.printer[same])
        assert len(log.history("Wren").usable) == 0 and len(log.history("Lark")) == 0


def test_where_the_log_lies(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv(VARIABLE, "/shared/bench.sqlite3")
    assert log_path("/card/log.sqlite3") == Path("/shared/bench.sqlite3")
    monkeypatch.delenv(VARIABLE)
    assert log_path("/card/log.sqlite3") == Path("/card/log.sqlite3")
    assert log_path().name == "prints.sqlite3"
