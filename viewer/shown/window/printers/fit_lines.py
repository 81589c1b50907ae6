"""What the Printers pane says of each printer; no Qt."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from viewer.checks.finding import Severity
from viewer.numerals import counted_text
from viewer.shown.finding_text import readable
from viewer.shown.fit_text import counts_text, fit_text
from viewer.shown.numbers import clock_text, duration_text, money_text
from viewer.verdict import Word
from viewer.verdict.fits import Fit


@dataclass(frozen=True, slots=True)
class FitLine:
    """One printer: what it makes of the program."""

    slug: str
    """What names its card."""
    name: str
    chosen: bool
    """Figures are computed with it now."""
    word: Word
    """For the sign: no where it does not fit or something says stop."""
    fits: str
    found: str
    """How many findings of the printer there are, and the gravest one's sentence."""
    time: str
    amounts: tuple[str, ...]
    """Cost, and when it is done where the start is known."""

    @property
    def spoken(self) -> str:
        """All of it as one text, for screen readers."""
        chosen = " (chosen)" if self.chosen else ""
        return f"{self.name}{chosen}: {self.fits}. {self.found}. {', '.join((self.time, *self.amounts))}"


def fit_line(slug: str, fit: Fit, chosen: bool) -> FitLine:
    """Return the line of one printer."""
    counts = counts_text(fit)
    grave = [one for one in fit.findings if one.severity is not Severity.NOTE and one.slug != "off-plate"]
    done = () if fit.start is None else (f"done {clock_text(fit.start, fit.time_s)}",)
    return FitLine(
        slug=slug,
        name=fit.printer.name,
        chosen=chosen,
        word=word_of(fit),
        fits=fit_text(fit),
        found=f"{counts}: {readable(grave[0].sentence).rstrip('.')}" if grave else counts,
        time=duration_text(fit.time_s),
        amounts=(money_text(fit.cost, fit.currency), *done),
    )


def word_of(fit: Fit) -> Word:
    """Return what a printer's sign says: the gravest of fitting and findings."""
    if fit.fits is False or fit.count(Severity.STOP):
        return Word.NO
    if fit.count(Severity.LOOK) and not fit.nothing_extruded:
        return Word.LOOK
    return Word.NOT_KNOWN if fit.fits is None else Word.YES


def head_text(lines: Sequence[FitLine], filament: str) -> str:
    """Say how many printers take the program with the chosen filament."""
    taken = sum(1 for line in lines if line.word in (Word.YES, Word.LOOK))
    return f"With {filament}: {taken} of {counted_text(len(lines), 'printer')} can take it. Choose one to use its card."
