"""When things happen: layers, pauses, tool changes, the end; and which move runs at a moment."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from viewer.arrays import F32, F64, I32, read_only
from viewer.layers.layers import Layers
from viewer.timing.clock import PAUSE, TOOL_CHANGE, Waits
from viewer.timing.kernels.trapezoids import BLOCK
from viewer.timing.plan import moving_before


@dataclass(frozen=True, slots=True, eq=False)
class ElapsedTime:
    """From a move to the elapsed time, waits included, and back."""

    time_s: F32  # (n,) of every move
    block_s: F64  # (ceil(n / 1024),) time of all moves before every 1024th
    waits: Waits

    def time_at_move(self, moves: npt.ArrayLike) -> F64:
        """Return when each of these moves begins, after the waits before it, in seconds; n: the end."""
        marks = np.atleast_1d(np.asarray(moves))
        return self.moving_before(marks) + self.waits.before(marks)

    def moving_before(self, moves: npt.ArrayLike) -> F64:
        """Return the time of all moves before each of these, waits left out, in seconds."""
        return moving_before(self.time_s, self.block_s, np.atleast_1d(np.asarray(moves)))

    def move_at_time(self, elapsed_s: float) -> int:
        """Return the move that runs at a moment; during a wait the move before it, before the first move 0.

        Of several that begin at the same moment (those that take no time) it is the last.
        """
        if not len(self.time_s):
            return 0
        block_moves = np.arange(len(self.block_s)) * BLOCK
        begins = self.block_s + self.waits.before(block_moves)
        block = max(int(np.searchsorted(begins, elapsed_s, side="right")) - 1, 0)
        first = block * BLOCK
        times = self.time_s[first : first + BLOCK].astype(np.float64)
        moving = np.cumsum(np.concatenate([self.block_s[block : block + 1], times[:-1]]))
        begins = moving + self.waits.before(np.arange(first, first + len(times)))
        return first + max(int(np.searchsorted(begins, elapsed_s, side="right")) - 1, 0)


@dataclass(frozen=True, slots=True, eq=False)
class Moments:
    """Elapsed seconds since the start of the program."""

    layer_start_s: F64  # (layers + 1,) of layer k at k - 1; the last entry is the end of the last layer
    pause_s: F64  # (pauses,) when each begins
    pause_event: I32  # (pauses,) row of `Events`
    tool_change_s: F64  # (tool changes,) when each begins
    tool_change_event: I32  # (tool changes,) row of `Events`
    end_s: float

    @property
    def first_layer_done_s(self) -> float | None:
        """When the last move of layer 1 has ended; None where there is no layer."""
        return float(self.layer_start_s[1]) if len(self.layer_start_s) > 1 else None


def moments_of(progress: ElapsedTime, layers: Layers) -> Moments:
    """Return the moments of a program.

    A layer starts when the one before has ended: the waits before its first move are its own, but those
    before layer 1 are the prelude's. Differences of `layer_start_s` are the sums of `Ledger.by_layer`.
    """
    waits = progress.waits
    first = layers.first_move
    starts = moving_before(progress.time_s, progress.block_s, first) + waits.before(
        first.astype(np.int64) - 1
    )
    starts[:1] = progress.time_at_move(first[:1])
    pauses, changes = waits.cause == PAUSE, waits.cause == TOOL_CHANGE
    return Moments(
        layer_start_s=read_only(starts),
        pause_s=read_only(waits.start_s[pauses]),
        pause_event=read_only(waits.event[pauses]),
        tool_change_s=read_only(waits.start_s[changes]),
        tool_change_event=read_only(waits.event[changes]),
        end_s=float(progress.time_at_move(len(progress.time_s))[0]),
    )
