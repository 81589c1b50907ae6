"""One program of a survey: opened, checked, judged, tried on every printer, drawn: what a worker does."""

from __future__ import annotations

import hashlib
import os
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from viewer.checks.finding import Finding, Severity
from viewer.checks.run import run_checks
from viewer.errors import BeadlineError, CardError, ReadError
from viewer.failures import failure_told
from viewer.program import Program, open_program
from viewer.survey.parts import Answered, FitPart, Problem, VerdictPart, Worst
from viewer.survey.work import Done, Work
from viewer.verdict import verdict_of
from viewer.verdict.fits import Fit, fits_of


def vet(work: Work) -> Done:
    """Do what is wanted of one program.

    Returns
    -------
    Done
        Its parts; or the problem, where the file could not be read or Beadline failed on it.

    Raises
    ------
    CardError
        A card names a check that does not exist: it holds for all programs.
    MemoryError
        Memory is too little, perhaps for what else is at work beside it.
    """
    try:
        with _file_of(work) as path:
            return _vetted(work, path)
    except ReadError as problem:
        return Done(problem=Problem("not read" if _is_still(work) else "changed", str(problem)))
    except (CardError, MemoryError):
        raise
    except BeadlineError as problem:
        return Done(problem=Problem("failed", str(problem)))
    except OSError as problem:
        what = f"{work.path} could not be worked on ({problem.strerror or problem})"
        return Done(
            problem=Problem("failed", f"{what}; see to its drive and to that of the temporary folder.")
        )
    except Exception as problem:  # noqa: BLE001 - told, logged, and raised in tests
        told = failure_told("computed", f"what was made of {work.path}", problem)
        return Done(problem=Problem("failed", told))


@contextmanager
def _file_of(work: Work) -> Iterator[str]:
    """Return the file to read: the program's own, or a copy made of the bytes that came with the work."""
    if work.data is None:
        yield work.path
        return
    handle, name = tempfile.mkstemp(prefix="beadline-", suffix=f"-{Path(work.path).name[-100:]}")
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(work.data)
        yield name
    finally:
        Path(name).unlink(missing_ok=True)


def _vetted(work: Work, path: str) -> Done:
    cards = work.cards
    try:
        program = open_program(path, cards.printer, cards.filament, cards.workshop)
    except ReadError as problem:
        raise ReadError(str(problem).replace(path, work.path)) from None
    try:
        verdict = _verdict_part(program) if work.verdict else None
        fits = tuple(map(_fit_part, fits_of(program, work.printers)))
        picture = None if work.draw is None or not len(program.layers) else work.draw(program)
        _refuse_changed(work)
    finally:
        program.close()
    return Done(verdict=verdict, fits=fits, picture=picture)


def _refuse_changed(work: Work) -> None:
    """Refuse a file that is another one by now than the one that was asked about.

    Raises
    ------
    ReadError
        It is.
    """
    if not _is_still(work):
        raise ReadError(f"{work.path} was changed while it was read; survey it again.")


def _is_still(work: Work) -> bool:
    """Whether the file has the content that the work is about."""
    try:
        return work.data is not None or content_of(work.path) == work.content
    except OSError:
        return False


def content_of(path: str | os.PathLike[str]) -> str:
    """Return the SHA-256 of a file's bytes, hexadecimal.

    Raises
    ------
    OSError
        It cannot be read.
    """
    with open(path, "rb") as file:  # noqa: PTH123 - a path of any kind
        return hashlib.file_digest(file, "sha256").hexdigest()


def _verdict_part(program: Program) -> VerdictPart:
    report = run_checks(program)
    verdict = verdict_of(program, report)
    figures, stated = program.figures, program.made_for
    return VerdictPart(
        word=verdict.worst.value,
        rank=verdict.worst.rank,
        answers=tuple(Answered(one.question.value, one.word.value, one.headline) for one in verdict.answers),
        stops=report.count(Severity.STOP),
        looks=report.count(Severity.LOOK),
        notes=report.count(Severity.NOTE),
        worst=_worst(report.findings[0]) if report.findings else None,
        time_s=float(figures.time.total_s),
        uncounted=bool(figures.time.uncounted),
        mass_g=float(figures.filament.mass_g),
        cost=_float(figures.filament.cost),
        currency=figures.filament.currency,
        height_mm=_float(figures.layers.height_mm),
        layers=figures.layers.count,
        material=None if stated.material is None else stated.material.value,
        nozzle_mm=None if stated.nozzle is None else float(stated.nozzle.value),
        printer=None if stated.printer is None else stated.printer.value,
    )


def _worst(finding: Finding) -> Worst:
    hazard = None if finding.hazard is None else finding.hazard.value
    return Worst(finding.slug, finding.severity.value, finding.sentence, finding.remedy, hazard)


def _fit_part(fit: Fit) -> FitPart:
    return FitPart(
        printer=fit.printer.name,
        fits=fit.fits,
        stops=fit.count(Severity.STOP),
        looks=fit.count(Severity.LOOK),
        time_s=float(fit.time_s),
        cost=_float(fit.cost),
    )


def _float(value: float | None) -> float | None:
    """Return Python's own number for one that may be an array's: rows are kept and sent as plain data."""
    return None if value is None else float(value)
