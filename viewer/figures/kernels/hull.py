"""The kernel that goes round points: their convex hull."""

# mypy: allow-untyped-defs, allow-untyped-calls
from __future__ import annotations

from viewer.jit import kernel


@kernel
def chain(x, y, corners):
    """Write the rows of the hull's corners, counterclockwise, into ``corners`` (2 n,), and give their number.

    ``x``, ``y`` (n,) are in order of x, then of y. The lower side is laid from left to right, then the upper one back;
    a corner that the next point makes a bend to the right, or none, is taken off again.
    """
    n = len(x)
    count = 0
    for way in range(2):
        least = max(count, 1)
        for step in range(way, n):
            k = step if way == 0 else n - 1 - step
            while count > least:
                a = corners[count - 2]
                b = corners[count - 1]
                if (x[b] - x[a]) * (y[k] - y[a]) > (y[b] - y[a]) * (x[k] - x[a]):
                    break
                count -= 1
            corners[count] = k
            count += 1
    return max(count - 1, 1)  # the leftmost came twice
