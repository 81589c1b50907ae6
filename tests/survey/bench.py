"""What the tests of surveys share: small programs, an engine without processes, and drawings that end their worker."""

from __future__ import annotations

import gzip
import os
import shutil
import signal
from collections.abc import Iterable, Iterator
from datetime import datetime
from pathlib import Path

from tests.conftest import SAMPLES
from viewer.cards import Cards, list_cards, load_filament, load_printer, load_workshop
from viewer.program import Program
from viewer.shown.json_text import json_text
from viewer.shown.survey.data import survey_object
from viewer.survey.row import Row, in_order
from viewer.survey.run import Wanted
from viewer.survey.vetting import vet
from viewer.survey.work import Done, Draw, Work

FAULTY = SAMPLES / "faulty"
DEADLY = "deadly"
"""A file with this in its name ends the process that draws it."""
GREEDY = "greedy"
"""A file with this in its name wants more memory than there is when it is drawn."""


def folder_of_programs(folder: Path) -> Path:
    """Fill a folder: programs to look at and to stop for, one packed, a twin, a broken one, a hidden one, notes."""
    below = folder / "monday" / "room 3"
    below.mkdir(parents=True)
    shutil.copy(FAULTY / "checksum.gcode", folder / "checksum.gcode")
    shutil.copy(FAULTY / "off-plate.gcode", below / "off-plate.gcode")
    packed = gzip.compress((FAULTY / "claims-differ.gcode").read_bytes(), mtime=0)
    (below / "claims.gcode.gz").write_bytes(packed)
    shutil.copy(FAULTY / "checksum.gcode", below / "twin.gcode")
    (folder / "broken.gcode").write_bytes(b"PK\x03\x04" + bytes(200))
    (folder / "notes.txt").write_text("not a program")
    (folder / ".hidden.gcode").write_text("G28\n")
    return folder


def changed_copies(source: Path, folder: Path, count: int) -> list[Path]:
    """Write copies of a program that differ in their bytes."""
    folder.mkdir(parents=True, exist_ok=True)
    text = source.read_text()
    copies = []
    for number in range(count):
        path = folder / f"copy {number:04d}.gcode"
        path.write_text(f"; copy {number}\n{text}")
        copies.append(path)
    return copies


def wanted(draw: Draw | None = None) -> Wanted:
    """Return the bundled cards, all printers."""
    cards = Cards(load_printer("heron"), load_filament("pla"), load_workshop("quayside"))
    printers = tuple(load_printer(entry.path) for entry in list_cards("printer"))
    return Wanted(cards=cards, printers=printers, draw=draw)


class Here:
    """An engine that works in this process, and remembers what it was asked for."""

    def __init__(self) -> None:
        self.asked: list[Work] = []

    def run(self, works: Iterable[Work]) -> Iterator[tuple[Work, Done]]:
        for work in works:
            self.asked.append(work)
            yield work, vet(work)


def draw_moves(program: Program) -> bytes:
    """Stand in for a picture, end the process for a deadly file, and lack memory for a greedy one."""
    if DEADLY in program.path.name:
        os.kill(os.getpid(), signal.SIGKILL)
    if GREEDY in program.path.name:
        raise MemoryError
    return b"%d moves" % len(program.moves)


def as_bytes(rows: list[Row]) -> bytes:
    """Return all that rows hold, sorted, as bytes."""
    pictures = b"\n".join(row.picture or b"" for row in in_order(rows))
    plain = survey_object(in_order(rows), datetime(2026, 3, 2, 8, 0))
    return json_text(plain, indented=True).encode() + pictures
