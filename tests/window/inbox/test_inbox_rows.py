"""What the inbox shows of programs, what lies in its folders, and what is kept of it; no window."""

from __future__ import annotations

import os
import time
from collections.abc import Iterator
from datetime import datetime, timedelta
from pathlib import Path

import pytest
from msgspec.structs import replace

from tests.survey.bench import FAULTY, Here, folder_of_programs, wanted
from viewer.errors import Stopped
from viewer.shown.window.inbox.folder_look import FolderState, Look, Stamp, look_into
from viewer.shown.window.inbox.inbox_asking import found_in
from viewer.shown.window.inbox.inbox_rows import (
    CAME,
    COLUMNS,
    InboxRow,
    Wish,
    arranged,
    came_text,
    row_of,
    without_repeated_folders,
)
from viewer.shown.window.inbox.inbox_texts import (
    EMPTY,
    GONE,
    NO_FOLDER,
    NOTHING_WANTED,
    WAITING,
    count_line,
    empty_text,
)
from viewer.shown.window.inbox.kept_rows import keep_rows, kept_path, kept_rows
from viewer.shown.window.inbox.newest_first import NewestFirst
from viewer.shown.window.model.card_names import CardNames
from viewer.survey.files import programs_below
from viewer.survey.parts import Problem, code_version
from viewer.survey.row import Row
from viewer.survey.run import Survey
from viewer.survey.store import Remembered, survey_path

NOW = datetime(2026, 3, 4, 9, 30)
NAMES = CardNames("heron", "pla", "quayside")


def row(name: str, word: str, time_s: float | None, days: float, decides: str = "") -> InboxRow:
    came = (NOW - timedelta(days=days)).timestamp()
    gravity = ({"not read": 0, "no": 1, "look": 2, "yes": 4}[word], 0, 0)
    return InboxRow(
        path=f"/in/{name}", name=name, folder="/in", content=name, word=word, gravity=gravity, decides=decides,
        time_s=time_s, time="", mass_g=time_s, mass="", best="Heron", came_s=came, lasts=True,
        words=f"/in/{name}\n{decides}\nheron".lower(),
    )  # fmt: skip


ROWS = [
    row("tray", "yes", 60.0, 0.1),
    row("Hook", "no", 500.0, 1.3, "Beads lie beyond the edge"),
    row("knob", "not read", None, 1.5, "is not text"),
    row("cap", "look", 30.0, 9.0, "A corner may lift"),
]


def test_of_programs_that_came_together_the_one_that_needs_a_person_stands_first() -> None:
    second = 1.0 / 86400.0
    copied = [
        row(f"p{k}", word, 1.0, 0.5 - k * second) for k, word in enumerate(("yes", "look", "no", "yes"))
    ]
    before, after = row("before", "no", 1.0, 0.6), row("after", "yes", 1.0, 0.1)
    rows = [*copied, before, after]
    assert [one.name for one in arranged(rows, Wish(), NOW)] == ["after", "p2", "p1", "p0", "p3", "before"]
    oldest = arranged(rows, Wish(column=CAME, falling=False), NOW)
    assert [one.name for one in oldest] == ["before", "p2", "p1", "p0", "p3", "after"]


def test_it_says_why_no_program_is_shown() -> None:
    there, gone = FolderState("/in", 0), FolderState("/drive", 0, "/drive cannot be read.")
    assert empty_text(0, 0, []) == NO_FOLDER and empty_text(0, 0, [there]) == EMPTY
    assert empty_text(0, 3, [there]) == WAITING and empty_text(5, 3, [there]) == NOTHING_WANTED
    assert empty_text(0, 0, [gone]) == GONE and empty_text(0, 0, [gone, there]) == EMPTY


def test_a_name_with_a_line_end_stands_in_one_line() -> None:
    found = Row(
        path="/in/two\nlines \u202e.gcode", content=None, verdict=None,
        problem=Problem(kind="not read", sentence="/in/two\nlines \u202e.gcode is empty."),
    )  # fmt: skip
    shown = row_of(found, Stamp(0, 0, 0.0))
    assert shown.path == found.path
    assert shown.name == r"two\nlines \u202e.gcode" and shown.decides == r"two\nlines \u202e.gcode is empty."


def column(title: str) -> int:
    return next(k for k, one in enumerate(COLUMNS) if one.title == title)


@pytest.mark.parametrize(
    ("wish", "names"),
    [
        (Wish(), "tray Hook knob cap"),
        (Wish(column=CAME, falling=False), "cap knob Hook tray"),
        (Wish(column=column("Program"), falling=False), "cap Hook knob tray"),
        (Wish(column=column("Verdict"), falling=False), "knob Hook cap tray"),
        (Wish(column=column("Time"), falling=True), "Hook tray cap knob"),
        (Wish(column=column("Time"), falling=False), "cap tray Hook knob"),
        (Wish(since_yesterday=True), "tray Hook"),
        (Wish(verdict="look"), "cap"),
        (Wish(words="EDGE beads"), "Hook"),
        (Wish(words="edge cap"), ""),
    ],
)
def test_rows_are_found_and_sorted_and_what_is_not_known_stands_last(wish: Wish, names: str) -> None:
    # 2026-03-04 9:30 less 1.3 days is 2:18 of the day before; less 1.5 days is 21:30 two days before
    assert [one.name for one in arranged(ROWS, wish, NOW)] == names.split()


def test_texts_of_rows() -> None:
    assert [came_text(one, NOW) for one in ROWS] == [
        "today 07:06",
        "yesterday 02:18",
        "2026-03-02 21:30",
        "2026-02-23 09:30",
    ]
    assert count_line(1, ROWS, 2).startswith(
        "1 of 4 programs: 1 not read, 1 no, 1 look, 1 yes   ·   2 being vetted"
    )
    assert without_repeated_folders(["/in/a/", "/in", "/in/b/c", "/out", "/in"]) == ["/in", "/out"]


def test_the_newest_is_taken_first_also_of_those_that_come_meanwhile() -> None:
    queue = NewestFirst()
    queue.add({name: Stamp(1, 1, came) for name, came in (("old", 1.0), ("new", 3.0), ("gone", 2.0))})
    taken = queue.taken(lambda: False)
    assert next(taken) == "new"
    queue.add({"newest": Stamp(1, 1, 9.0)})
    queue.keep({"old", "newest"})
    assert [*taken] == ["newest", "old"] and len(queue) == 0


def test_a_file_that_may_still_be_written_waits_and_a_folder_that_is_gone_is_a_sentence(
    tmp_path: Path,
) -> None:
    folder = folder_of_programs(tmp_path / "in")
    gone = str(tmp_path / "drive")
    written = folder / "written.gcode"
    written.write_text("G28\n")
    os.utime(folder / "checksum.gcode", (1e9, 1e9))
    look = look_into([str(folder), gone], Look())
    assert sorted(look.stamps) == [path for path in programs_below(str(folder)) if Path(path).name[0] != "."]
    assert str(written) in look.unsettled and str(folder / "checksum.gcode") not in look.unsettled
    here, there = look.states
    assert (here.programs, here.sentence) == (len(look.stamps), "")
    assert there.programs == 0 and there.sentence.startswith(
        f"{gone} cannot be read (No such file or directory): bring"
    )
    assert {str(folder), str(folder / "monday" / "room 3")} <= set(look.below)
    assert look.around == [str(tmp_path), str(tmp_path)]
    written.write_text("G28\nG1 X1\n")
    again = look_into([str(folder)], look)
    assert again.unsettled == {str(written)}  # it grew
    assert look_into([str(folder)], again).unsettled == set()
    with pytest.raises(Stopped):
        look_into([str(folder)], again, lambda: True)


@pytest.fixture
def vetted(tmp_path: Path) -> Iterator[Path]:
    """A folder whose programs were surveyed, except for one."""
    folder = tmp_path / "in"
    folder.mkdir()
    (folder / "checksum.gcode").write_bytes((FAULTY / "checksum.gcode").read_bytes())
    (folder / "broken.gcode").write_bytes(b"PK\x03\x04" + bytes(200))
    for path in folder.iterdir():
        os.utime(path, (time.time() - 60.0, time.time() - 60.0))
    with Remembered(survey_path(), code_version()) as store:
        paths = programs_below(str(folder))
        rows = list(Survey(wanted(draw), store, Here()).rows(paths))
        files = [(path, Path(path).stat().st_size, Path(path).stat().st_mtime_ns) for path in paths]
        remembered = Survey(wanted(draw), store, Here()).remembered(files)
        assert {one.path: (one.verdict, one.fits, one.problem) for one in remembered} == {
            one.path: (one.verdict, one.fits, one.problem) for one in rows
        }
        assert store.picture(rows[-1].content or "", "another key") == b""
    (folder / "new.gcode").write_text("G28\n")
    os.utime(folder / "new.gcode", (1e9, 1e9))
    yield folder


def draw(_program: object) -> bytes:
    return b"picture"


def test_remembered_rows_are_looked_up_kept_ones_hold_while_nothing_has_changed(
    vetted: Path,
) -> None:
    found = found_in([str(vetted)], NAMES, None, lambda: False)
    assert sorted(one.name for one in found.rows) == ["broken.gcode", "checksum.gcode"]
    assert list(found.missing) == [str(vetted / "new.gcode")] and found.known == found.look.stamps
    broken = next(one for one in found.rows if one.word == "not read")
    assert broken.decides == "broken.gcode is a zip container; unpack it and open the program inside."
    assert not found_in([str(vetted)], NAMES, found, lambda: False).rows

    rows, stamps = {one.path: one for one in found.rows}, found.look.stamps
    keep_rows(found.asked.key, rows, stamps)
    assert kept_rows(found.asked.key, stamps) == found.rows
    keep_rows(found.asked.key, rows | {broken.path: replace(broken, lasts=False)}, stamps)
    assert [one.name for one in kept_rows(found.asked.key, stamps)] == ["checksum.gcode"]
    keep_rows(found.asked.key, rows, stamps)
    assert kept_rows("other cards", stamps) == []
    moved = {**stamps, str(vetted / "broken.gcode"): Stamp(204, 0, 0.0)}
    assert [one.name for one in kept_rows(found.asked.key, moved)] == ["checksum.gcode"]
    survey_path().unlink()
    assert len(found_in([str(vetted)], NAMES, None, lambda: False).rows) == 2
    kept_path().write_bytes(b"\x00")
    assert found_in([str(vetted)], NAMES, None, lambda: False).rows == []
