"""Find a text in all of a program's file, line by line, block after block."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from viewer.errors import Stopped
from viewer.read.raw_lines import BLOCK_LINES, raw_block
from viewer.read.texts import LINES_APART, Texts

_STEP = BLOCK_LINES // LINES_APART // 8
"""Half a megabyte at once: it is looked through in a millisecond, so stopping is prompt."""


def find_line(
    texts: Texts,
    wanted: str,
    start: int,
    forward: bool = True,
    stop: Callable[[], bool] | None = None,
) -> int | None:
    """Return the next line that holds a text, upper and lower case alike; round the end back to `start`.

    Parameters
    ----------
    texts
        Of the program.
    wanted
        What to look for; not over line ends.
    start
        Line to start from; it is itself looked at last.
    forward
        Downward, or upward.
    stop
        Asked every millisecond or so.

    Returns
    -------
    int or None
        The line's number, None where no line holds the text.

    Raises
    ------
    ReadError
        When the file is gone or its drive fails.
    Stopped
        `stop` said so.
    """
    needle = wanted.encode("utf-8").lower()
    if not needle or not len(texts.index):
        return None
    find = _first_in if forward else _last_in
    for block, lo, hi in _order(texts, min(max(start, 1), texts.lines), forward):
        if stop is not None and stop():
            raise Stopped
        first = block * LINES_APART + 1
        row = find(raw_block(texts, block, _STEP).lower(), needle, lo - first, hi - first)
        if row is not None:
            return first + row
    return None


def _order(texts: Texts, start: int, forward: bool) -> Iterator[tuple[int, int, int]]:
    """Yield blocks in the order of looking, with the lines of each that count: (block, first, end)."""
    blocks = range(0, len(texts.index), _STEP)
    lines = _STEP * LINES_APART
    own = (start - 1) // lines
    end = texts.lines + 1
    below, above = (own * _STEP, start + 1, end), (own * _STEP, 1, start)
    rest = [(block, 1, end) for block in blocks]
    if forward:
        yield below
        yield from rest[own + 1 :]
        yield from rest[:own]
        yield (own * _STEP, 1, start + 1)
    else:
        yield above
        yield from reversed(rest[:own])
        yield from reversed(rest[own + 1 :])
        yield (own * _STEP, start, end)


def _first_in(raw: bytes, needle: bytes, lo: int, hi: int) -> int | None:
    """Return the first row lo <= row < hi of a block that holds the needle."""
    at = _row_start(raw, lo)
    while at is not None and (at := raw.find(needle, at)) >= 0:
        row = raw.count(b"\n", 0, at)
        return row if row < hi else None
    return None


def _last_in(raw: bytes, needle: bytes, lo: int, hi: int) -> int | None:
    """Return the last row lo <= row < hi of a block that holds the needle."""
    end = _row_start(raw, hi)
    at = raw.rfind(needle, 0, len(raw) if end is None else end)
    if at < 0:
        return None
    row = raw.count(b"\n", 0, at)
    return row if row >= lo else None


def _row_start(raw: bytes, row: int) -> int | None:
    """Return where a row begins, None behind the last."""
    at = 0
    for _ in range(row):
        at = raw.find(b"\n", at) + 1
        if at == 0:
            return None
    return at
