"""What goes to standard output (data) and to standard error (words for a person), and what fails on the way."""

from __future__ import annotations

import io
import os
import sys
from collections.abc import Iterable

from viewer.errors import OutputError


def prepare() -> None:
    """Let no character break the output: a name that is no UTF-8, or a terminal that knows ASCII alone."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="backslashreplace")


def emit(pieces: Iterable[str]) -> None:
    """Write data to standard output.

    Raises
    ------
    BrokenPipeError
        Whoever reads it has enough.
    OutputError
        It could not be written.
    """
    if sys.stdout is None:
        raise OutputError("There is no standard output to write to; redirect it to a file.")
    try:
        for piece in pieces:
            sys.stdout.write(piece)
        sys.stdout.flush()
    except BrokenPipeError:
        _discard_output()
        raise
    except OSError as problem:
        _discard_output()
        raise OutputError(
            f"Standard output could not be written ({problem.strerror or problem}); free some space or redirect it."
        ) from None


def _discard_output() -> None:
    """Let the interpreter's own flush at the end go nowhere: it would fail again, with a traceback."""
    try:
        number = sys.stdout.fileno()
    except (OSError, ValueError):
        return  # not a real stream: the interpreter flushes nothing
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, number)
    os.close(nowhere)


def say(sentence: str) -> None:
    """Tell a person something on standard error; nowhere if that is closed or full."""
    if sys.stderr is None:
        return
    try:
        print(sentence, file=sys.stderr, flush=True)
    except OSError:
        return  # there is nobody left to tell
