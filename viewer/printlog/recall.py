"""What the print log has to say of a program that is about to be printed, or was: read only, and never in the way."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from pathlib import Path
from typing import Final

from viewer.errors import BeadlineError
from viewer.printlog.comparable import MOST_PRINTS, learnt
from viewer.printlog.past import ChosenSpool, Past, Took
from viewer.printlog.rows import Outcome, SpoolState
from viewer.printlog.store import PrintLog, log_path
from viewer.program import Program

WAIT_S: Final = 1.0
"""How long an answer waits for a process that keeps the log to itself; whoever notes a print waits longer."""


def recall(
    program: Program, spool: ChosenSpool | None = None, was_printed: bool = False, wait_s: float = WAIT_S
) -> Past:
    """Return what the log says of a program; where there is no log, nothing is read and nothing is made.

    Parameters
    ----------
    spool
        The one it is to draw from, from `spool_of`.
    was_printed
        Look for earlier prints of this very program, too; its file is read for that.
    wait_s
        How long to wait for a process that keeps the log to itself.

    Notes
    -----
    A log that is damaged, locked or of a newer version is told in `Past.problem`: whoever wants to know how long a
    print takes gets the computed time all the same.
    """
    path = log_path(program.workshop.print_log)
    if not _is_there(path):
        return Past(spool=spool)
    if _is_locked(path, wait_s):
        locked = f"The print log {path} is being written to by another process, so it was not asked."
        return Past(spool=spool, problem=locked)
    try:
        with PrintLog(path) as log:
            found = learnt(log, program)
            took = _took(log, program.sha256, program.printer.name) if was_printed else None
            return Past(found.estimate, spool, took, found.other_card)
    except BeadlineError as problem:
        return Past(spool=spool, problem=str(problem))


def _took(log: PrintLog, sha256: str, printer: str) -> Took | None:
    found = log.prints(printer=printer, sha256=sha256, limit=MOST_PRINTS)
    done = [one for one in found if one.outcome is Outcome.DONE]
    return Took(done[0].real_s, done[0].started, len(done)) if done else None


def spool_of(label: str, workshop_says: str | None = None) -> ChosenSpool:
    """Return a spool of the log by its label, in any case.

    Raises
    ------
    BeadlineError
        There is no such spool, or the log cannot be read.
    """
    path = log_path(workshop_says)
    states: list[SpoolState] = []
    if _is_there(path):
        with PrintLog(path) as log:
            states = log.spools()
    wanted = label.strip().casefold()
    for state in states:
        if state.spool.label.casefold() == wanted:
            return ChosenSpool(state.spool.label, state.left_g, state.spool.filament, state.drift)
    known = ", ".join(state.spool.label for state in states) or "none yet"
    raise BeadlineError(f"There is no spool {label!r} in the print log {path}; it has: {known}.")


def _is_locked(path: Path, wait_s: float) -> bool:
    """Whether another process keeps the log to itself for longer than that; what else is wrong, opening it tells."""
    try:
        with closing(sqlite3.connect(path, timeout=wait_s)) as base:
            base.execute("PRAGMA schema_version").fetchone()
    except sqlite3.OperationalError as problem:
        return "locked" in str(problem)
    except sqlite3.DatabaseError:
        return False
    return False


def _is_there(path: Path) -> bool:
    try:
        return path.exists()
    except OSError:
        return True  # whoever opens it is told what is wrong with it
