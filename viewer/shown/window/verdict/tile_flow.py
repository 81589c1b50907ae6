"""How seven tiles share a width so that nothing in them is cut: rows, questions whole or short, lines of text; no Qt.

The richest way that fits is taken. Text counts only as far as it leaves the picture its room; question and answer are
always there.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final, NamedTuple

HIGHEST: Final = 0.155
"""Share of the window's height that tiles with text may take: the picture is what the window is for."""
ROWS: Final = 3
"""The most rows."""
LINES: Final = (2, 3, 4)


@dataclass(frozen=True, slots=True)
class Need:
    """What one tile has to show: widths in pixels."""

    asked: float
    """The question in full."""
    briefly: float
    """The question in a word or two."""
    headline: float
    """The answer, in a tile with text, its sign included."""
    small_headline: float
    """The answer, in a tile without."""
    words: tuple[float, ...]
    """Of what decides."""
    blank: float


class Heights(NamedTuple):
    """Heights of what stands in a tile, pixels."""

    caption: float
    headline: float
    small_headline: float
    margins: float


class Flow(NamedTuple):
    """How the tiles are laid out."""

    rows: tuple[tuple[int, ...], ...]
    """Widths of the tiles of each row, pixels; together they have the whole width."""
    asks_whole: bool
    """The question stands in full."""
    lines: int
    """Lines of text below the answer."""
    height: int
    """Of one row, pixels."""


class _Way(NamedTuple):
    rows: int
    asks_whole: bool
    lines: int


def flow_of(needs: Sequence[Need], heights: Heights, margin: float, width: int, highest: float) -> Flow:
    """Return the richest way in which the tiles fit; where none does, the barest.

    Parameters
    ----------
    margin
        Left and right of a tile's texts together, pixels.
    highest
        How high the tiles may be where text stands in them, pixels.
    """
    ways = list(_ways())
    for way in ways:
        widths = [_least(need, way) + margin for need in needs]
        high = _height(heights, way)
        rows = _rows(len(needs), way.rows)
        if way.lines and way.rows * high > highest:
            continue
        if all(sum(widths[first:last]) <= width for first, last in rows):
            break
    else:
        way = ways[-1]
    shared = tuple(tuple(_shared(widths[first:last], width)) for first, last in rows)
    return Flow(shared, way.asks_whole, way.lines, high)


def _ways() -> Iterator[_Way]:
    for rows in (1, 2):
        for lines in LINES:
            yield _Way(rows, True, lines)
            yield _Way(rows, False, lines)
    yield _Way(1, True, 0)
    for rows in range(1, ROWS + 1):
        yield _Way(rows, False, 0)


def _least(need: Need, way: _Way) -> float:
    """Return the width in which one tile's texts fit."""
    asked = need.asked if way.asks_whole else need.briefly
    if not way.lines:
        return max(asked, need.small_headline)
    return max(asked, need.headline, _broken_width(need.words, need.blank, way.lines))


def _broken_width(words: Sequence[float], blank: float, lines: int) -> float:
    """Return the least width, to a pixel, at which words stand in so many lines."""
    low, high = max(words, default=0.0), sum(words) + blank * max(len(words) - 1, 0)
    while high - low > 1.0:
        middle = 0.5 * (low + high)
        low, high = (low, middle) if _line_count(words, blank, middle) <= lines else (middle, high)
    return high


def _line_count(words: Sequence[float], blank: float, width: float) -> int:
    count, at = 1, 0.0
    for word in words:
        if at > 0.0 and at + blank + word > width:
            count, at = count + 1, word
        else:
            at += word if at == 0.0 else blank + word
    return count


def _height(heights: Heights, way: _Way) -> int:
    answer = heights.headline if way.lines else heights.small_headline
    return round(heights.caption * (1 + way.lines) + answer + heights.margins)


def _rows(count: int, rows: int) -> list[tuple[int, int]]:
    """Return first and end of the tiles of each row; the upper rows have one more where they cannot be equal."""
    each, more = divmod(count, rows)
    ends = [0]
    for row in range(rows):
        ends.append(ends[-1] + each + (row < more))
    return list(pairwise(ends))


def _shared(least: Sequence[float], width: int) -> list[int]:
    """Share out a width: each has what it needs, and of what is left as much as the others."""
    spare = (width - sum(least)) / len(least)
    edges, at = [0], 0.0
    for one in least:
        at += one + spare
        edges.append(round(at))
    return [right - left for left, right in pairwise(edges)]
