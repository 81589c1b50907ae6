"""Blocks of whole lines read again from the file, as bytes: for looking through all of it quickly."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from viewer.read.texts import LINES_APART, Texts

BLOCK_LINES: Final = 1024 * LINES_APART
"""Lines looked through at once: about 4 MB, some milliseconds."""


def raw_blocks(texts: Texts, block_lines: int = BLOCK_LINES) -> Iterator[tuple[int, bytes]]:
    r"""Yield (number of its first line, bytes) of blocks of whole lines, line ends as ``\n``.

    Raises
    ------
    ReadError
        When the file is gone or another one, or its drive fails.
    """
    step = max(1, block_lines // LINES_APART)
    for block in range(0, len(texts.index), step):
        yield block * LINES_APART + 1, raw_block(texts, block, step)


def raw_block(texts: Texts, block: int, step: int) -> bytes:
    r"""Return the bytes of `step` x 128 lines from line 128 `block` + 1 on, line ends as ``\n``.

    Raises
    ------
    ReadError
        When the file is gone or another one, or its drive fails.
    """
    start = int(texts.index[block])
    with texts.source.again() as file:
        file.seek(start)
        raw = file.read(int(texts.index[block + step]) - start if block + step < len(texts.index) else -1)
    return raw.replace(b"\r\n", b"\n").replace(b"\r", b"\n") if b"\r" in raw else raw
