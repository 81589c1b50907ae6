"""How good estimates have been, which card value the error points to, and how often prints fail."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from viewer.printlog.estimate import LEAST_PRINTS, kept_rows, left_out, prior_precision
from viewer.printlog.history import ACCELERATING, HEATING, LEVELLING, History
from viewer.printlog.student_t import wilson_interval

CANDIDATES: Final = {
    HEATING: "the warming rates",
    LEVELLING: "the seconds for homing and levelling",
    ACCELERATING: "the accelerations",
}
"""Causes of the ledger whose seconds hang on one value of the printer card each."""
RATES: Final = frozenset({HEATING, ACCELERATING})
"""Causes whose card values are rates (degC/s, mm/s2): a larger one takes fewer seconds."""
LEAST_FOR_PROPOSAL: Final = 5
BETTER: Final = 0.8
"""A proposal must bring the error down to this share of it."""
LIKE: Final = 1.05
"""Proposals whose errors differ by less than this factor cannot be told apart."""


@dataclass(frozen=True, slots=True)
class Accuracy:
    """Leave-one-out: each print estimated from the others of its printer."""

    printer: str
    prints: int
    left_out: int
    computed_error: float
    """Mean distance of the computed from the real time, as a share of the real one."""
    corrected_error: float
    """The same of the corrected estimate."""

    @property
    def helps(self) -> bool:
        """Whether the correction comes nearer to the real times; else they are estimated as computed."""
        return self.corrected_error < self.computed_error


@dataclass(frozen=True, slots=True)
class Proposal:
    """A card value that the real times point to; nothing is changed by it."""

    cause: str
    about: str
    """What on the card it is."""
    factor: float
    """Seconds of that cause are multiplied by it; a rate on the card (`RATES`) is divided by it."""
    error_before: float
    error_after: float
    """Leave-one-out, as `Accuracy` has them."""
    rivals: tuple[Proposal, ...] = ()
    """Others that explain these prints about as well, by a larger change."""


@dataclass(frozen=True, slots=True)
class OutcomeCount:
    """How prints ended, of one printer and filament."""

    printer: str
    filament: str
    prints: int
    done: int
    low: float
    high: float
    """The interval that holds the true rate of done prints with 90 % (Wilson)."""

    @property
    def not_done(self) -> int:
        """How many prints did not come to a good end."""
        return self.prints - self.done

    @property
    def share_done(self) -> float:
        """The share of prints that were done, 0 .. 1."""
        return self.done / self.prints


def accuracy(history: History) -> list[Accuracy]:
    """Return the accuracy by printer, of those with enough prints."""
    found = []
    for printer, past in _by_printer(history):
        x, y = past.parts, past.ratio
        kept = kept_rows(x, y)
        n_left_out, x, y = int((~kept).sum()), x[kept], y[kept]
        if len(y) > LEAST_PRINTS:
            corrected = left_out(x, y, np.ones(len(y), bool), prior_precision())[0]
            found.append(
                Accuracy(
                    printer, len(y), n_left_out,
                    float(np.mean(np.abs(1.0 - y) / y)), float(np.mean(np.abs(corrected - y) / y)),
                )
            )  # fmt: skip
    return found


def proposals(history: History) -> dict[str, Proposal]:
    """Return by printer the one card value whose change would explain the real times best, where one does."""
    return {printer: best for printer, past in _by_printer(history) if (best := _proposal(past))}


def outcomes(history: History) -> list[OutcomeCount]:
    """Return how prints ended by printer and filament."""
    done: Counter[tuple[str, str]] = Counter()
    total: Counter[tuple[str, str]] = Counter()
    for printer, filament, is_done in zip(
        history.printer.tolist(), history.filament.tolist(), history.is_done.tolist(), strict=True
    ):
        total[printer, filament] += 1
        done[printer, filament] += is_done
    return [
        OutcomeCount(*names, count, done[names], *wilson_interval(done[names], count))
        for names, count in sorted(total.items())
    ]


def _by_printer(history: History) -> Iterator[tuple[str, History]]:
    """Yield the usable prints of each printer that has more than `LEAST_PRINTS`."""
    past = history.usable
    for printer in np.unique(past.printer):
        mask = past.printer == printer
        if mask.sum() > LEAST_PRINTS:
            yield str(printer), past.where(mask)


def _proposal(past: History) -> Proposal | None:
    past = past.where(kept_rows(past.parts, past.ratio))
    y = past.ratio
    if len(y) < LEAST_FOR_PROPOSAL:
        return None
    before = float(np.mean(np.abs(1.0 - y) / y))
    found = []
    for cause, about in CANDIDATES.items():
        share = past.share(cause)
        square = float(share @ share)
        if square <= 0.0:
            continue
        # y - 1 = share * (factor - 1), each print left out in turn
        product = share * (y - 1.0)
        rest = square - share**2
        alone = np.divide(product.sum() - product, rest, out=np.zeros_like(rest), where=rest > 1e-12)
        after = float(np.mean(np.abs(1.0 + share * alone - y) / y))
        factor = 1.0 + product.sum() / square
        if factor > 0.0 and after < BETTER * before:
            found.append(Proposal(cause, about, float(factor), before, after))
    if not found:
        return None
    least = min(one.error_after for one in found)
    equal = sorted(
        (one for one in found if one.error_after <= LIKE * least), key=lambda one: abs(math.log(one.factor))
    )
    return replace(equal[0], rivals=tuple(equal[1:]))
