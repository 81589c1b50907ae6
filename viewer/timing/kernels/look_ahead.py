r"""The look-ahead: junction speeds lowered to those from which the moves ahead can be met by braking.

::

    speed^2           J_j: highest at junction j
      |   /\            \
      |  /  \___         \  slope of a braking line: 2 a d a move
      | /       \         \
      +-----------------------> moves

With S the running sum of 2 a d and J the squares of the highest junction speeds, the square of the speed at which move i
is entered is at most J_i, J_j + S_j - S_i for every junction j of the next ``depth`` moves, and, where the run goes
on beyond them, S_{i+depth} - S_i: what the controller does not see yet may be a stop.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from viewer.jit import inner_kernel, kernel
from viewer.timing.kernels.columns import Runs

if TYPE_CHECKING:
    from viewer.arrays import F32, F64, I64


class Window(NamedTuple):
    """Room for the junctions in sight: rings whose size is a power of two, so that "& mask" wraps round.

    ``key`` and ``place`` are a queue of junctions with growing keys from front to back: the minimum over a sliding
    window is its front, and each junction enters and leaves it once. O(n).
    """

    key: F64  # J_j + S_j, up to a constant
    place: I64  # j of that key
    ahead: F64  # 2 a d summed from junction j to the end of the run, at j & mask


@inner_kernel
def _window_for(runs, depth):
    """Return rings that hold the most junctions in sight in any run, and two more."""
    ring = 4
    for run in range(len(runs.rest)):
        while ring < min(depth, runs.starts[run + 1] - runs.starts[run]) + 2:
            ring *= 2
    return Window(np.empty(ring), np.empty(ring, np.int64), np.empty(ring))


@inner_kernel
def _brake_from_end(change, junction, first, end, rest):
    """Lower the junctions of one run that is seen as a whole: backwards, each at most the next one plus 2 a d."""
    bound = rest
    for i in range(end - 1, first - 1, -1):
        bound = min(float(junction[i]), bound + float(change[i]))
        junction[i] = bound


@inner_kernel
def _brake_in_sight(change, junction, first, end, rest, depth, window):
    """Lower the junctions of one run of which ``depth`` moves are seen.

    The sum begins at each run's end, so that it keeps its digits.
    """
    key, place, ahead = window.key, window.place, window.ahead
    mask = len(key) - 1
    front, count = 0, 0
    left = 0.0  # 2 a d summed from junction i + 1 to the end of the run
    ahead[end & mask] = 0.0
    later = rest  # highest square at junction i + 1
    for i in range(end - 1, first - 1, -1):
        new = later - left  # the junction i + 1 comes into sight
        while count > 0 and key[(front + count - 1) & mask] >= new:
            count -= 1
        key[(front + count) & mask], place[(front + count) & mask] = new, i + 1
        count += 1
        if place[front] > i + depth:  # one junction a step goes out of sight
            front = (front + 1) & mask
            count -= 1
        left += float(change[i])
        ahead[i & mask] = left
        later = float(junction[i])
        bound = min(later, key[front] + left)
        if i + depth < end:
            bound = min(bound, left - ahead[(i + depth) & mask])
        junction[i] = max(bound, 0.0)  # rounding of the sums


@kernel
def look_ahead(change: F32, junction: F32, runs: Runs, depth: int) -> None:
    """Lower each junction's speed, in place.

    Parameters
    ----------
    change
        (n,) 2 a d of each move, mm2/s2.
    junction
        (n,) squares of the highest junction speeds, mm2/s2; changed.
    runs
        Between full stops; ``rest`` is filled.
    depth
        How many moves are seen ahead; 0: all of the run. Moves without a distance count as moves.
    """
    window = _window_for(runs, depth)
    for run in range(len(runs.rest)):
        first, end = runs.starts[run], runs.starts[run + 1]
        if depth == 0 or depth >= end - first:
            _brake_from_end(change, junction, first, end, runs.rest[run])
        else:
            _brake_in_sight(change, junction, first, end, runs.rest[run], depth, window)
