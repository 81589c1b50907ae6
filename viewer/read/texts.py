"""Text fetched again from the file: any line by its number, any comment by its place."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from viewer.arrays import I64
from viewer.read.blocks import Source

LINES_APART = 128
"""The offset of every line of this number is kept by the scanner."""
FETCHED_BYTES = 16 << 20
"""Most that is read at once: a damaged program may hold a line of many megabytes."""
SHOWN_BYTES = 4096
"""Of a longer line only the beginning is fetched."""


@dataclass(frozen=True, slots=True, eq=False)
class Texts:
    """Lines of a program by number, read from the file when asked for."""

    source: Source
    index: I64
    """Offset of lines 1, 129, 257 ... in the plain file."""
    lines: int

    def fetch(self, first: int, count: int) -> list[str]:
        """Return `count` lines from number `first` (from 1), fewer at the end of the file.

        Raises
        ------
        ReadError
            When the file is gone or another one, or its drive fails.
        """
        first = max(1, first)
        count = min(count, self.lines - first + 1)
        if count <= 0:
            return []
        block = (first - 1) // LINES_APART
        last_block = (first + count - 2) // LINES_APART + 1
        start = int(self.index[block])
        with self.source.again() as file:
            file.seek(start)
            stop = int(self.index[last_block]) if last_block < len(self.index) else self.source.size_bytes
            raw = file.read(min(stop - start, FETCHED_BYTES))
        lines = raw.replace(b"\r\n", b"\n").replace(b"\r", b"\n").split(b"\n")
        skip = (first - 1) - block * LINES_APART
        found = lines[skip : skip + count]
        return [line[:SHOWN_BYTES].decode("utf-8", "replace") for line in found]

    def line(self, number: int) -> str:
        """Return one line, "" where there is none."""
        found = self.fetch(number, 1)
        return found[0] if found else ""


def fetch_places(
    source: Source, offsets: Sequence[int] | npt.NDArray[np.int64], lengths: Iterable[int]
) -> list[str]:
    """Return the texts at some places of the plain file, in their order.

    Raises
    ------
    ReadError
        When the file is gone or another one, or its drive fails.
    """
    found = []
    with source.again() as file:
        for offset, length in zip(offsets, lengths, strict=True):
            file.seek(int(offset))
            found.append(file.read(min(int(length), SHOWN_BYTES)).decode("utf-8", "replace"))
    return found
