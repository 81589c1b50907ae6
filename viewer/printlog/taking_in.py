"""A table of prints taken into the log."""

from __future__ import annotations

import os
from dataclasses import dataclass, replace
from pathlib import Path

from viewer.errors import ReadError
from viewer.printlog.csv_rows import prints_of_csv
from viewer.printlog.store import PrintLog


@dataclass(frozen=True, slots=True)
class TakenIn:
    """What became of a table."""

    prints: int
    """Rows of the table."""
    new: int
    """Those that were not in the log yet."""
    unknown_spools: tuple[str, ...]
    """Labels that the log does not have; the prints were noted without them."""


def take_in(log: PrintLog, path: str | os.PathLike[str]) -> TakenIn:
    """Note the prints of a CSV file, all of them or none.

    Raises
    ------
    BeadlineError
        It cannot be read, or a row is not valid.
    """
    try:
        text = Path(path).read_text(encoding="utf-8-sig")
    except (OSError, UnicodeDecodeError) as problem:
        raise ReadError(
            f"{path} cannot be read as a table of text ({problem}); name a CSV file."
        ) from problem
    prints = prints_of_csv(text, str(path))
    known = {state.spool.label for state in log.spools()}
    unknown = sorted({one.spool for one in prints if one.spool is not None} - known)
    new = log.add(replace(one, spool=None) if one.spool in unknown else one for one in prints)
    return TakenIn(len(prints), new, tuple(unknown))
