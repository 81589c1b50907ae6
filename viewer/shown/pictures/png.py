"""Pictures as PNG, with nothing but the standard library's compressor."""

from __future__ import annotations

import struct
import zlib
from typing import Final

import numpy as np

from viewer.arrays import U8

SIGNATURE: Final = b"\x89PNG\r\n\x1a\n"
LEVEL: Final = 3
"""Of compression: higher ones take several times as long for a tenth less."""
_UP: Final = 2
"""Filter "up" of the specification: each row less the row above."""


def png_bytes(image: U8) -> bytes:
    """Return a picture (rows, columns, 3) of red, green and blue as a PNG file.

    Source: Portable Network Graphics (PNG) Specification (Third Edition), W3C, sections 5, 9 and 11.
    """
    rows, columns, _ = image.shape
    flat = np.ascontiguousarray(image).reshape(rows, 3 * columns)
    lines = np.empty((rows, 3 * columns + 1), np.uint8)
    lines[:, 0] = _UP
    lines[:, 1:] = flat
    lines[1:, 1:] -= flat[:-1]  # modulo 256, as the specification has it
    header = struct.pack(">IIBBBBB", columns, rows, 8, 2, 0, 0, 0)  # 8 bits, red green blue
    pixels = zlib.compress(lines.tobytes(), LEVEL)
    return SIGNATURE + b"".join(
        _chunk(*one) for one in ((b"IHDR", header), (b"IDAT", pixels), (b"IEND", b""))
    )


def _chunk(kind: bytes, content: bytes) -> bytes:
    """Return a chunk: length, kind, content and the checksum of both."""
    return struct.pack(">I", len(content)) + kind + content + struct.pack(">I", zlib.crc32(kind + content))
