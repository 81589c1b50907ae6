"""100,000 beads drawn at 1200 x 900, and the first compilation of all kernels."""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import time

import numpy as np

from viewer.beads.draw import View, draw_picture
from viewer.beads.section import Beads


def hundred_thousand(seed: int = 1) -> tuple[Beads, np.ndarray, np.ndarray]:
    """Beads of 0.45 mm that fill a layer of 200 x 200 mm, with a role each."""
    rng = np.random.default_rng(seed)
    rows, pieces = 444, 225
    y = np.repeat(np.arange(rows) * 0.45, pieces).astype(np.float32)
    x0 = np.tile(np.arange(pieces) * (200.0 / pieces), rows).astype(np.float32)
    x1 = (x0 + 200.0 / pieces).astype(np.float32)
    n = len(y)
    beads = Beads(
        x0,
        y,
        x1,
        y.copy(),
        np.full(n, 0.45, np.float32),
        np.full(n, 0.2, np.float32),
        np.arange(n, dtype=np.int32),
    )
    palette = (rng.integers(0, 256, (256,)).astype(np.uint32) * 0x010203) | np.uint32(0xFF000000)
    return beads, rng.integers(0, 9, n).astype(np.uint8), palette


def drawing_ms(threads: int, repeats: int = 9) -> float:
    """Best time of one picture, ms."""
    beads, index, palette = hundred_thousand()
    image = np.zeros((900, 1200), np.uint32)
    best = 1e9
    for _ in range(repeats):
        begin = time.perf_counter()
        draw_picture(image, beads, index, palette, View(0.0, 200.0, 4.5), threads=threads)
        best = min(best, time.perf_counter() - begin)
    return best * 1e3


def compile_s() -> float:
    """Time of `viewer.warm.warm_up` in a fresh cache, s."""
    with tempfile.TemporaryDirectory() as folder:
        code = (
            "import time; begin = time.perf_counter(); from viewer.warm import warm_up; warm_up();"
            "print(time.perf_counter() - begin)"
        )
        done = subprocess.run(
            [sys.executable, "-c", code], capture_output=True, text=True, check=True,
            env={**os.environ, "NUMBA_CACHE_DIR": folder},
        )  # fmt: skip
    return float(done.stdout.split()[-1])
