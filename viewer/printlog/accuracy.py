"""How good estimates have been, which card value the error points to, and how often prints fail."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from viewer.printlog.estimate import (
    LEAST_PRINTS,
    Floats,
    kept_rows,
    prior_precision,
    shares,
    usable,
)
from viewer.printlog.rows import Outcome, Print
from viewer.printlog.student_t import wilson_interval

CANDIDATES: Final = {
    "heating": "the warming rates (seconds to a heat)",
    "homing and levelling": "the seconds for homing and levelling",
    "speeding up and braking": "the accelerations",
}
"""Causes of the ledger whose seconds hang on one value of the printer card each."""
LEAST_FOR_PROPOSAL: Final = 5
BETTER: Final = 0.8
"""A proposal must bring the error down to this share of it."""


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


@dataclass(frozen=True, slots=True)
class Proposal:
    """A card value that the real times point to; nothing is changed by it."""

    cause: str
    about: str
    """What on the card it is."""
    factor: float
    """Seconds of that cause are multiplied by it: warming and levelling seconds by it, accelerations divided by it."""
    error_before: float
    error_after: float
    """Leave-one-out, as `Accuracy` has them."""


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


def accuracy(prints: Sequence[Print]) -> list[Accuracy]:
    """Return the accuracy by printer, of those with enough prints."""
    found = []
    for printer, past in sorted(_by_printer(prints).items()):
        if len(past) <= LEAST_PRINTS:
            continue
        x, y = shares(past)
        kept = kept_rows(x, y)
        x, y = x[kept], y[kept]
        if len(y) <= LEAST_PRINTS:
            continue
        found.append(
            Accuracy(
                printer, len(y), int((~kept).sum()),
                float(np.mean(np.abs(1.0 - y) / y)), float(np.mean(np.abs(_left_out(x, y) - y) / y)),
            )
        )  # fmt: skip
    return found


def proposals(prints: Sequence[Print]) -> dict[str, Proposal]:
    """Return by printer the one card value whose change would explain the real times best, where one does."""
    found = {}
    for printer, past in sorted(_by_printer(prints).items()):
        if len(past) >= LEAST_FOR_PROPOSAL and (best := _proposal(past)):
            found[printer] = best
    return found


def outcomes(prints: Sequence[Print]) -> list[OutcomeCount]:
    """Return how prints ended by printer and filament."""
    counts: dict[tuple[str, str], list[int]] = defaultdict(lambda: [0, 0])
    for one in prints:
        count = counts[one.printer, one.filament]
        count[0] += 1
        count[1] += one.outcome is Outcome.DONE
    return [
        OutcomeCount(printer, filament, total, done, *wilson_interval(done, total))
        for (printer, filament), (total, done) in sorted(counts.items())
    ]


def _by_printer(prints: Sequence[Print]) -> dict[str, list[Print]]:
    found = defaultdict(list)
    for one in usable(prints):
        found[one.printer].append(one)
    return found


def _left_out(x: Floats, y: Floats) -> Floats:
    """Return for each print, (n,), the share real / computed that the others predict."""
    prior = prior_precision()
    matrices = (prior + x.T @ x)[None] - x[:, :, None] * x[:, None, :]
    sides = (prior.sum(axis=1) + x.T @ y)[None] - x * y[:, None]
    factors = np.linalg.solve(matrices, sides[:, :, None])[:, :, 0]
    return np.asarray(np.sum(x * factors, axis=1))


def _proposal(past: Sequence[Print]) -> Proposal | None:
    x, y = shares(past)
    kept = kept_rows(x, y)
    believed = [one for one, is_kept in zip(past, kept, strict=True) if is_kept]
    y = y[kept]
    if len(y) < LEAST_FOR_PROPOSAL:
        return None
    before = float(np.mean(np.abs(1.0 - y) / y))
    best: Proposal | None = None
    for cause, about in CANDIDATES.items():
        share = np.array([one.parts_s.get(cause, 0.0) / sum(one.parts_s.values()) for one in believed])
        square = float(share @ share)
        if square <= 0.0:
            continue
        # y - 1 = share * (factor - 1), each print left out in turn
        product = share * (y - 1.0)
        rest = square - share**2
        alone = np.divide(product.sum() - product, rest, out=np.zeros_like(rest), where=rest > 1e-12)
        after = float(np.mean(np.abs(1.0 + share * alone - y) / y))
        factor = 1.0 + product.sum() / square
        if factor > 0.0 and (best is None or after < best.error_after):
            best = Proposal(cause, about, float(factor), before, after)
    return best if best is not None and best.error_after < BETTER * before else None
