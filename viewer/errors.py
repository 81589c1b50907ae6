"""The exceptions a caller may meet.

::

    BeadlineError            one sentence: what, where, what to do
      +- ReadError           the program could not be read (missing, unreadable, not text, empty)
      |    +- NotAProgramError  it is a folder, or holds no program
      +- CardError           a printer, filament or workshop card is not valid
      +- OutputError         a result could not be written
      +- Stopped             the caller's ``stop`` said so

A strange line *in* a program is never an exception: it is a row in a column.
"""

from __future__ import annotations


class BeadlineError(Exception):
    """Anything that goes wrong for a reason a person can act on; ``str()`` is one sentence."""


class ReadError(BeadlineError):
    """The program could not be read."""


class NotAProgramError(ReadError):
    """What was named is a folder, or a file that holds no program: reading it another time would not help."""


class CardError(BeadlineError):
    """A card is not valid; the sentence names the file, the line and the key."""


class OutputError(BeadlineError):
    """A result could not be written; nothing was left half-written."""


class Stopped(BeadlineError):  # noqa: N818 - it is what happened, not what went wrong
    """The caller asked to stop."""

    def __init__(self, what: str = "Stopped before the end; nothing was written.") -> None:
        super().__init__(what)
