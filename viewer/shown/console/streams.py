"""What goes to standard output (data) and to standard error (words for a person), and what fails on the way."""

from __future__ import annotations

import codecs
import io
import os
import re
import sys
from collections.abc import Iterable
from typing import Final

from viewer.errors import OutputError

PLAINER: Final = {"\u202f": " ", "°": "deg", "²": "2", "³": "3"}
"""What stands for our own characters where the output's encoding has no place for them."""
_UNSEEN: Final = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069]|\r(?!\n)")
_UNSEEN_IN_A_LINE: Final = re.compile(r"[\x00-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069]")


def prepare() -> None:
    """Let no character break the output: a name that is no UTF-8, or a terminal that knows ASCII alone."""
    codecs.register_error("beadline-plainer", _plainer)
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="beadline-plainer")


def _plainer(problem: UnicodeError) -> tuple[str | bytes, int]:
    if isinstance(problem, UnicodeEncodeError):
        character = problem.object[problem.start]
        if character in PLAINER:
            return PLAINER[character], problem.start + 1
    return codecs.backslashreplace_errors(problem)


class Painted(str):
    """Text of our own with control sequences in it; what others wrote in it is written out (`shown`) already."""

    __slots__ = ()


def shown(text: str) -> str:
    r"""Return text in which control characters read as ``\x1b``: others write the names and programs that we print.

    A terminal obeys them: it would change colours or titles, or hide what stands before.
    """
    return _UNSEEN.sub(_escaped, text)


def in_one_line(text: str) -> str:
    """Return text as `shown`, line ends written out as well."""
    return _UNSEEN_IN_A_LINE.sub(_escaped, text)


def _escaped(found: re.Match[str]) -> str:
    return found[0].encode("unicode_escape").decode("ascii")


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
            sys.stdout.write(piece if isinstance(piece, Painted) else shown(piece))
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
        print(in_one_line(sentence), file=sys.stderr, flush=True)
    except OSError:
        return  # there is nobody left to tell
