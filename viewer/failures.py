"""A part of the computation that fails of itself: logged with its traceback, told in a sentence, the rest goes on.

Whoever catches such an exception hands it to `failure_told`, which raises it again where `BEADLINE_RAISE` is set in
the environment. The tests set it for all of them and for every process they start, so that a failure is never taken
for an answer there.
"""

from __future__ import annotations

import logging
import os
import traceback
from pathlib import Path
from typing import Final, Literal

from viewer.errors import BeadlineError
from viewer.release import __version__

RAISE: Final = "BEADLINE_RAISE"
"""Environment variable: anything but "" lets failures raise."""
LOG_FILE: Final = "BEADLINE_LOG"
"""Environment variable: a file to which the log, and so the traceback of each failure, is appended."""
_LOG: Final = logging.getLogger(__name__)
_LOG.addHandler(logging.NullHandler())  # else Python writes the traceback to standard error
_PACKAGE: Final = Path(__file__).parent


def failure_told(done: Literal["checked", "computed", "done"], what: str, problem: Exception) -> str:
    """Log a failure and return the sentence that tells it.

    Parameters
    ----------
    done
        What was not done because of it.
    what
        What failed, as it stands in a sentence: ``the check topples``.
    problem
        The exception, still with its traceback.

    Raises
    ------
    Exception
        `problem` itself, where it is no failure of the code: a `BeadlineError` (a sentence for people already, as
        stopped or file gone), too little memory, or what the system says of files and pipes; or where `RAISE` is set.
    """
    if isinstance(problem, (BeadlineError, MemoryError, OSError)) or os.environ.get(RAISE):
        raise problem
    _LOG.error("%s failed", what, exc_info=problem)
    return (
        f"Not {done}, because it failed: {what} met an error in Beadline {__version__} itself "
        f"({_place_of(problem)}), which says nothing about the program. Send the file and this sentence to whoever "
        "maintains Beadline."
    )


def log_to_file() -> None:
    """Append the log to the file that `LOG_FILE` names; nothing where it names none.

    Raises
    ------
    BeadlineError
        The file cannot be written.
    """
    if not (name := os.environ.get(LOG_FILE)):
        return
    try:
        handler = logging.FileHandler(name, encoding="utf-8")
    except OSError as problem:
        raise BeadlineError(
            f"{LOG_FILE} names {name}, which cannot be written ({problem.strerror}); name another file."
        ) from problem
    handler.setFormatter(logging.Formatter("%(asctime)s %(name)s %(levelname)s %(message)s"))
    logging.getLogger(__package__).addHandler(handler)


def _place_of(problem: Exception) -> str:
    """Return the exception's kind and the innermost line of ours that it came through."""
    kind = type(problem).__name__
    for frame in reversed(traceback.extract_tb(problem.__traceback__)):
        if _PACKAGE in Path(frame.filename).parents:
            return f"{kind}, {Path(frame.filename).relative_to(_PACKAGE).as_posix()} line {frame.lineno}"
    return kind
