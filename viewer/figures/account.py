"""The filament's account: what is pulled back and not fed again before the next bead, and what is fed beyond that.

The account is kept as the highest position that the filament has reached. Below it nothing comes out of the nozzle:

    owed(i) = max(fed(0) + .. + fed(k), k <= i) - (fed(0) + .. + fed(i))

A prime that ends above that height pushes filament out on the spot. Many programs feed what is owed with the first bead
after a travel: that is no debt, since the bead draws it beyond what its own path takes.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt

from viewer.arrays import F64
from viewer.layers.layers import Layers
from viewer.read.events import Events
from viewer.read.mode_changes import E_RELATIVE, ModeChanges
from viewer.read.moves import BEAD, PRIME, RETRACT, WIPE, Moves
from viewer.timing.clock import PAUSE_CODES

Rows = npt.NDArray[np.intp]

BREAKS: Final = (*PAUSE_CODES, 1250, 6030, 7010, 7020)
"""Pauses, and M125, M603, M701, M702 (ten times the number): filament may be moved there by hand or by the machine, and
the account begins again."""
RUN_MM: Final = 3.0
"""Shorter runs of beads between two pulls lay nothing that matters."""
MIN_MOVES: Final = 30
"""A stretch of one way of counting E is judged from so many moves that feed along a path."""


@dataclass(frozen=True, slots=True, eq=False)
class Account:
    """Places within the layers where the account does not balance, one row a place."""

    unprimed: Rows
    """Beads that begin while filament is owed, the first after it was pulled back."""
    owed_mm: F64
    """Filament owed at each of these, less what the bead draws beyond its path."""
    overprimed: Rows
    """Primes that feed more than was pulled back."""
    beyond_mm: F64
    """Filament that each of these feeds beyond that."""
    primes: int
    """How many primes there are."""
    usual_pull_mm: float
    """Median length that is pulled back before a travel, mm; 0 where nothing is."""


def keep_account(moves: Moves, events: Events, layers: Layers) -> Account:
    """Compare what is pulled back with what is fed again, from the first layer to the last bead.

    Notes
    -----
    A tool change, a pause or a filament change begins the account again: what is fed by hand is not in the program.
    """
    first, end = (int(layers.first_move[0]), int(layers.first_move[-1])) if len(layers) else (0, 0)
    fed = moves.fed_mm[:end].astype(np.float64)
    reached = np.cumsum(fed)
    top = np.zeros(end)
    bounds = np.unique(np.concatenate([[0], np.clip(_breaks(events), 0, end), [end]])).astype(np.intp)
    for begin, until in zip(bounds[:-1].tolist(), bounds[1:].tolist(), strict=True):
        base = reached[begin] - fed[begin]
        top[begin:until] = np.maximum.accumulate(np.concatenate([[base], reached[begin:until]]))[:-1]
    kind = moves.kind[:end]
    beads = first + np.flatnonzero(kind[first:] == BEAD)
    unprimed, owed = _unprimed(moves, fed, top - (reached - fed), beads)
    primes = first + np.flatnonzero(kind[first:] == PRIME)
    primes = primes[~np.isin(primes, _behind_breaks(bounds, beads, primes))]
    beyond = np.maximum(reached[primes] - top[primes], 0.0)
    pulls = -fed[first:][kind[first:] == RETRACT]
    usual = float(np.median(pulls)) if len(pulls) else 0.0
    return Account(unprimed, owed, primes[beyond > 0.0], beyond[beyond > 0.0], len(primes), usual)


def _breaks(events: Events) -> Rows:
    """Return the moves before which the account begins again."""
    tools = events.letter == ord("T")
    pauses = (events.letter == ord("M")) & np.isin(events.code, BREAKS)
    return np.unique(events.move[tools | pauses]).astype(np.intp)


def _behind_breaks(bounds: Rows, beads: Rows, primes: Rows) -> Rows:
    """Return the primes between a break of the account and the next bead: a nozzle is filled there."""
    if not len(primes):
        return primes
    bead_before = np.searchsorted(beads, primes) - 1
    last_bead = np.where(bead_before >= 0, beads[np.maximum(bead_before, 0)] if len(beads) else -1, -1)
    last_break = bounds[np.searchsorted(bounds, primes, side="right") - 1]
    return primes[last_break > last_bead]


def _unprimed(moves: Moves, fed: F64, owed: F64, beads: Rows) -> tuple[Rows, F64]:
    """Return the beads that begin while filament is owed that was pulled back since the bead before, and how much.

    Beads that end before `RUN_MM` in another pull or prime are part of the drawing back itself.
    """
    if not len(beads):
        return beads, np.zeros(0)
    path = moves.length_mm[beads].astype(np.float64)
    usual = float(np.median(fed[beads] / np.maximum(path, 1e-6)))
    left = np.maximum(owed[beads] - fed[beads], 0.0)
    grown = owed[beads] - np.concatenate([[0.0], left[:-1]])
    missing = grown - np.maximum(fed[beads] - usual * path, 0.0)
    hit = (missing > 0.0) & (_path_until_pull(moves, beads, path) >= RUN_MM)
    return beads[hit], missing[hit]


def _path_until_pull(moves: Moves, beads: Rows, path: F64) -> F64:
    """Return the path of the beads from each one on until filament is moved without a bead, mm."""
    others = np.flatnonzero((moves.kind == RETRACT) | (moves.kind == PRIME) | (moves.kind == WIPE))
    after = np.append(others, len(moves))[np.searchsorted(others, beads)]
    walked: F64 = np.concatenate([[0.0], np.cumsum(path)])
    return walked[np.searchsorted(beads, after)] - walked[:-1]


@dataclass(frozen=True, slots=True)
class OtherCount:
    """A stretch of the program whose E numbers only make sense if they are counted the other way."""

    is_relative: bool
    """How the stretch counts by its modes; the numbers fit the other way."""
    first: int
    """First move that feeds."""
    last: int
    fed_mm_per_mm: float
    """Median of what the beads draw for a mm of path, as counted."""
    back_share: float
    """Share of the moves along a path that pull filament back."""


def counted_otherwise(moves: Moves, modes: ModeChanges, most_mm_per_mm: float) -> list[OtherCount]:
    """Find stretches whose E is counted absolutely but written relatively, or the other way round.

    Parameters
    ----------
    most_mm_per_mm
        Filament fed for a mm of path that no bead exceeds.

    Notes
    -----
    Absolute numbers counted relatively: half of the beads draw more than any bead can, but the *differences* of
    successive numbers are those of beads. Relative numbers counted absolutely: the numbers rise and fall, so that
    filament goes back as often as forth along the path, and in all hardly any is fed.
    """
    found = []
    flags = np.concatenate([[False], (modes.modes & E_RELATIVE) != 0])
    starts = np.concatenate([[0], modes.move]).astype(np.intp)
    change = np.flatnonzero(np.diff(flags.astype(np.int8), prepend=-1))
    ends = np.append(starts[change[1:]], len(moves))
    for at, end in zip(change.tolist(), ends.tolist(), strict=True):
        found += _judged(moves, int(starts[at]), int(end), bool(flags[at]), most_mm_per_mm)
    return found


def _judged(moves: Moves, begin: int, end: int, is_relative: bool, most: float) -> list[OtherCount]:
    kind = moves.kind[begin:end]
    along = begin + np.flatnonzero((kind == BEAD) | (kind == WIPE))
    if len(along) < MIN_MOVES:
        return []
    fed, path = moves.fed_mm[along].astype(np.float64), moves.length_mm[along].astype(np.float64)
    forth = fed > 0.0
    rate = fed / np.maximum(path, 1e-6)
    back = float(1.0 - forth.mean())
    median = float(np.median(rate[forth])) if forth.any() else 0.0
    one = OtherCount(is_relative, int(along[0]), int(along[-1]), median, back)
    if is_relative and forth.any() and median > most:
        feeding = begin + np.flatnonzero(moves.fed_mm[begin:end] != 0.0)
        steps = np.diff(moves.fed_mm[feeding].astype(np.float64))
        long = moves.length_mm[feeding[1:]].astype(np.float64)
        fits = (steps > 0.0) & (steps <= most * long)
        is_bead = moves.kind[feeding[1:]] == BEAD
        return [one] if is_bead.any() and float(fits[is_bead].mean()) >= FITTING else []
    drawn = float(fed[forth].sum())
    if not is_relative and back >= BACK_SHARE and float(fed.sum()) < NET_SHARE * drawn:
        return [one]
    return []


FITTING: Final = 0.6
"""Share of the beads whose differences must be those of beads."""
BACK_SHARE: Final = 0.3
"""On 60 whole programs at most 0.13 of the moves along a path pull filament back (wipes)."""
NET_SHARE: Final = 0.3
"""What is fed in all, over what is fed forth: 0.8 and more in whole programs."""
