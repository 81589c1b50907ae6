"""What a worker is told to do for one program, and what it returns."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, Protocol

from viewer.cards.kinds import Cards
from viewer.cards.printer import PrinterCard
from viewer.survey.parts import FitPart, Problem, VerdictPart

if TYPE_CHECKING:  # not at run time: who hands out work need not wait for the engine
    from viewer.program import Program

Draw = Callable[["Program"], bytes]
"""Draws a program's small picture; a function of a module, so that workers can be told its name."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Work:
    """One program, and which parts of its row are wanted."""

    path: str
    content: str
    """SHA-256 of the file's bytes, hexadecimal."""
    cards: Cards
    verdict: bool
    printers: tuple[PrinterCard, ...]
    """Those whose fits are wanted."""
    draw: Draw | None
    """None: no picture is wanted."""
    code: str
    """`viewer.survey.parts.code_version` of whoever asks."""
    data: bytes | None = None
    """The file's bytes, for a worker that does not see the file."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Done:
    """The parts that were wanted; or what kept the program from having a verdict."""

    verdict: VerdictPart | None = None
    fits: tuple[FitPart, ...] = ()
    picture: bytes | None = None
    problem: Problem | None = None


class Engine(Protocol):
    """Whatever has workers: this machine's cores, or a cluster."""

    def run(self, works: Iterable[Work]) -> Iterator[tuple[Work, Done]]:
        """Do all works, in any order, and yield each once with what came of it.

        A work is taken from `works` when a worker is free for it. Whoever stops iterating closes the generator, which
        ends the workers.
        """
        ...


def ended(work: Work, how: str) -> Done:
    """Return what came of a work that ended its worker, and then the next one, too.

    Parameters
    ----------
    how
        How they ended, as it stands in brackets: ``signal 9``.
    """
    sentence = (
        f"{work.path} ended each process that worked on it ({how}); memory may be too little for it: look at it "
        "alone (`beadline vet`) on a computer with more."
    )
    return Done(problem=Problem("ended", sentence))
