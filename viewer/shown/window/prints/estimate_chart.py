"""What the plot of estimates against real times shows: points, range and ticks; no Qt."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from viewer.printlog.against import Point
from viewer.printlog.estimate import INTERVAL
from viewer.shown.log_text import percent_text

MAX_POINTS: Final = 400
"""More could not be told apart; the latest are drawn."""
_TIMES_S: Final = (
    (60.0, "1 min"), (120.0, "2 min"), (300.0, "5 min"), (600.0, "10 min"), (1200.0, "20 min"), (1800.0, "30 min"),
    (3600.0, "1 h"), (7200.0, "2 h"), (14_400.0, "4 h"), (28_800.0, "8 h"), (57_600.0, "16 h"), (86_400.0, "1 day"),
    (172_800.0, "2 days"), (345_600.0, "4 days"), (691_200.0, "8 days"),
)  # fmt: skip
_STEPS: Final = (0.02, 0.05, 0.1, 0.2, 0.5, 1.0, 2.0, 5.0)
_MARGIN: Final = 0.02


@dataclass(frozen=True, slots=True)
class EstimateChart:
    """Points over the computed time (a logarithmic axis), real times as shares of it."""

    points: tuple[Point, ...] = ()
    """In the order of their computed times."""
    span_s: tuple[float, float] = (1800.0, 3600.0)
    shares: tuple[float, float] = (0.9, 1.1)
    """Lowest and highest share; a point beyond is drawn at the edge."""
    time_ticks: tuple[tuple[float, str], ...] = ()
    share_ticks: tuple[tuple[float, str], ...] = ()

    def x(self, computed_s: float) -> float:
        """Return where a computed time lies, from 0 to 1."""
        low, high = self.span_s
        return math.log(computed_s / low) / math.log(high / low)

    def y(self, share: float) -> float:
        """Return where a share lies, from 0 (the lowest) to 1; one beyond the range at its edge."""
        low, high = self.shares
        return min(max((share - low) / (high - low), 0.0), 1.0)


def chart_of(points: Sequence[Point]) -> EstimateChart:
    """Return the chart of one printer's prints."""
    latest = sorted(sorted(points, key=lambda one: one.number)[-MAX_POINTS:], key=lambda one: one.computed_s)
    if not latest:
        return EstimateChart()
    first, last = latest[0].computed_s / 1.15, latest[-1].computed_s * 1.15
    believed = [one for one in latest if one.believed] or latest
    low = min(min(one.real, one.low) for one in believed)
    high = max(max(one.real, one.high) for one in believed)
    low, high = min(low - _MARGIN, 0.95), max(high + _MARGIN, 1.05)
    step = next((step for step in _STEPS if (high - low) / step <= 7.0), _STEPS[-1])
    first_tick = math.ceil((low - 1.0) / step)
    shares = [1.0 + k * step for k in range(first_tick, math.floor((high - 1.0) / step) + 1)]
    return EstimateChart(
        points=tuple(latest), span_s=(first, last), shares=(low, high),
        time_ticks=tuple(tick for tick in _TIMES_S if first <= tick[0] <= last),
        share_ticks=tuple((share, _share_text(share)) for share in shares),
    )  # fmt: skip


def held_text(points: Sequence[Point]) -> str:
    """Return how many prints lie in their intervals."""
    believed = [one for one in points if one.believed]
    held = sum(one.held for one in believed)
    text = (
        f"{held} of {len(believed)} real times lie in their interval, which should hold {percent_text(INTERVAL)}; "
        "each print is estimated from the others."
    )
    left = len(points) - len(believed)
    if left:
        text += f" {left} left out: the end was probably noted too late."
    if len(points) > MAX_POINTS:
        text += f" The latest {MAX_POINTS} are drawn."
    return text


def _share_text(share: float) -> str:
    percent = round(100.0 * (share - 1.0))
    return "as computed" if percent == 0 else f"{percent:+d} %".replace("-", "\N{MINUS SIGN}")
