"""What a row is made of, and on what each part of it depends.

A program's row has three kinds of parts: the verdict under the cards that were named, one fit for each printer card,
and a small picture. A part depends on the program's bytes, on some of the cards and on the code that computed it; its
key says on which, so that a changed card costs those parts only that it has a say in.
"""

from __future__ import annotations

import hashlib
import sys
from collections.abc import Iterable
from functools import cache
from importlib.metadata import version
from pathlib import Path
from typing import Any, Final

import msgspec

from viewer.cards.kinds import Cards
from viewer.cards.printer import PrinterCard
from viewer.cards.workshop import WorkshopCard
from viewer.checks.questions import Question
from viewer.release import __version__
from viewer.verdict.answer import Word

WITHOUT_A_SAY: Final = ("print_log", "hours")
"""Keys of the workshop card that no part depends on: opening hours count only where the start is known."""
PICTURE_KEYS: Final = (
    *("homing", "retract_mm", "retract_mm_s", "bare_axis_words", "e_follows_g90"),
    *("nozzle_mm", "filament_diameter_mm", "plate", "tools"),
)
"""Keys of the printer card that a picture depends on: how the file is read, and the plate."""
NOT_COMPUTING: Final = ("shown/window", "shown/console")
"""Folders of the package whose code computes nothing of a row."""


class Answered(msgspec.Struct, frozen=True):
    """The answer to one of the seven questions (`viewer.verdict`)."""

    question: str
    word: str
    headline: str


class Worst(msgspec.Struct, frozen=True):
    """The gravest finding (`viewer.checks.finding`)."""

    slug: str
    severity: str
    sentence: str
    remedy: str
    hazard: str | None


class VerdictPart(msgspec.Struct, frozen=True, kw_only=True):
    """What the program is under the cards that were named."""

    word: str
    """The gravest answer."""
    rank: int
    """Its rank: 0 for no, 1 for look, 2 for not known, 3 for yes."""
    answers: tuple[Answered, ...]
    stops: int
    looks: int
    notes: int
    worst: Worst | None
    """None: nothing was found."""
    time_s: float
    uncounted: bool
    """Whether the machine does something in it whose time is not known."""
    mass_g: float
    cost: float | None
    """None: the filament card has no price."""
    currency: str
    height_mm: float | None
    layers: int
    material: str | None
    """As the program states it, as `nozzle_mm` and `printer`; None: it does not, or not the same everywhere."""
    nozzle_mm: float | None
    printer: str | None


class FitPart(msgspec.Struct, frozen=True, kw_only=True):
    """What one printer card makes of the program (`viewer.verdict.fits`)."""

    printer: str
    fits: bool | None
    """None: the card does not say how large plate and height are, or nothing is extruded."""
    stops: int
    looks: int
    time_s: float
    cost: float | None


class Problem(msgspec.Struct, frozen=True):
    """Why a program has no verdict."""

    kind: str
    """``not read``; ``changed``: gone, or another file by now; ``ended``: it ended the process that worked on it;
    ``failed``: Beadline itself failed on it."""
    sentence: str


def best_fit(fits: Iterable[FitPart], verdict: VerdictPart | None = None) -> FitPart | None:
    """Return the fit of the printer that takes the program best; None where none takes it.

    It fits there and nothing says stop; of such printers the one with the fewest findings to look at, then the quickest.
    A program whose verdict is "no" for another reason than the printer is printed on none.
    """
    if verdict is not None and any(
        one.word == Word.NO.value and one.question != Question.PRINTER.value for one in verdict.answers
    ):
        return None
    taking = [fit for fit in fits if fit.fits and not fit.stops]
    return min(taking, key=lambda fit: (fit.looks, fit.time_s, fit.printer), default=None)


@cache
def code_version() -> str:
    """Return what the code is that computes rows: release, interpreter, libraries, and a hash of our own files.

    Rows that another code computed are not taken for this one's, and workers must have the same.
    """
    home = Path(__file__).resolve().parent.parent
    digest = hashlib.sha256()
    for path in sorted(home.rglob("*.py")):
        name = path.relative_to(home).as_posix()
        if not name.startswith(NOT_COMPUTING):
            content = path.read_bytes()
            digest.update(f"{name} {len(content)}\n".encode())
            digest.update(content)
    python = f"{sys.version_info.major}.{sys.version_info.minor}"
    libraries = [f"{name} {version(name)}" for name in ("numpy", "numba")]
    return ", ".join([f"Beadline {__version__} ({digest.hexdigest()[:12]})", f"Python {python}", *libraries])


def verdict_key(cards: Cards) -> str:
    """Return the key of a verdict under these cards."""
    return _hash(cards.printer, cards.filament, _workshop(cards.workshop))


def fit_key(printer: PrinterCard, cards: Cards) -> str:
    """Return the key of what a printer card makes of a program with this filament at this place."""
    return _hash(printer, cards.filament, _workshop(cards.workshop))


def picture_key(cards: Cards) -> str:
    """Return the key of a picture."""
    printer = [getattr(cards.printer, key) for key in PICTURE_KEYS]
    return _hash(printer, cards.filament_diameter_mm, sorted(cards.workshop.words.items()))


def _workshop(card: WorkshopCard) -> dict[str, Any]:
    return {key: value for key, value in msgspec.structs.asdict(card).items() if key not in WITHOUT_A_SAY}


def _hash(*values: object) -> str:
    return hashlib.sha256(msgspec.json.encode(values, order="deterministic")).hexdigest()
