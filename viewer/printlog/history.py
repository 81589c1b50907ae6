"""Prints as columns, for computing: what was computed of each, and how long it took."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from viewer.printlog.rows import Outcome, Print

HEATING: Final = "heating"
LEVELLING: Final = "homing and levelling"
ACCELERATING: Final = "speeding up and braking"
CAUSES: Final = (HEATING, LEVELLING, "tool changes", "pauses", "dwell", ACCELERATING)
"""The causes of the ledger that are looked at apart; all others are motion."""
PARTS: Final = ("moving", "heat", "waits")
"""What the computed time is split into."""

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class History:
    """Prints as columns, all of the same length n, in any order."""

    printer: NDArray[np.str_]
    filament: NDArray[np.str_]
    is_done: NDArray[np.bool_]
    real_s: Floats
    computed_s: Floats
    causes_s: Floats
    """(n, 6): seconds of each of `CAUSES`."""

    def __len__(self) -> int:
        return len(self.real_s)

    def where(self, mask: NDArray[np.bool_]) -> History:
        """Return some of the prints."""
        return History(
            self.printer[mask], self.filament[mask], self.is_done[mask], self.real_s[mask], self.computed_s[mask],
            self.causes_s[mask],
        )  # fmt: skip

    @property
    def usable(self) -> History:
        """Those that tell how long a whole print takes: done, and of a program that takes time."""
        return self.where(self.is_done & (self.computed_s > 0.0))

    @property
    def ratio(self) -> Floats:
        """Real time / computed time."""
        return self.real_s / self.computed_s

    def share(self, cause: str) -> Floats:
        """Return one cause's share of the computed time."""
        return np.asarray(self.causes_s[:, CAUSES.index(cause)] / self.computed_s)

    @property
    def parts(self) -> Floats:
        """(n, 3): the shares of `PARTS` of the computed time."""
        heat = self.share(HEATING)
        waits = self.causes_s[:, 1:5].sum(axis=1) / self.computed_s
        return np.column_stack([1.0 - heat - waits, heat, waits])


def history_of_rows(rows: Sequence[Sequence[object]]) -> History:
    """Return columns of rows (printer, filament, is done, real s, computed s, then seconds of each of `CAUSES`)."""
    numbers = np.array([row[2:] for row in rows], np.float64).reshape(len(rows), 3 + len(CAUSES))
    return History(
        np.array([row[0] for row in rows], np.str_), np.array([row[1] for row in rows], np.str_),
        numbers[:, 0] > 0.0, numbers[:, 1], numbers[:, 2], numbers[:, 3:],
    )  # fmt: skip


def history_of(prints: Sequence[Print]) -> History:
    """Return prints as columns."""
    return history_of_rows([
        (one.printer, one.filament, one.outcome is Outcome.DONE, one.real_s, one.computed_s, *causes_of(one.parts_s))
        for one in prints
    ])  # fmt: skip


def causes_of(ledger_s: Mapping[str, float]) -> tuple[float, ...]:
    """Return the seconds of each of `CAUSES` in a ledger."""
    return tuple(ledger_s.get(cause, 0.0) for cause in CAUSES)
