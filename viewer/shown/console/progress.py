"""How far it is, on standard error where a person watches; and a word before the first run's long wait."""

from __future__ import annotations

import hashlib
import os
import struct
import sys
import time
from collections.abc import Sequence
from pathlib import Path
from typing import Final

from viewer.shown.console.streams import in_one_line, say
from viewer.shown.first_run import FIRST_RUN

SILENT_S: Final = 0.3
"""What is done sooner shows no progress."""
EVERY_S: Final = 0.1

NOT_KEPT: Final = (
    "What was compiled could not be kept, so that every run compiles anew; "
    "let NUMBA_CACHE_DIR name a folder that can be written to."
)

KERNEL_FILES: Final = (
    "read/_kernels.py",
    "layers/_kernels.py",
    "timing/_kernels.py",
    "figures/_kernels.py",
    "beads/_kernels.py",
    "beads/_kernels_section.py",
    "layers/_kernels_roles.py",
    "checks/_kernels_moves.py",
    "checks/_kernels_shape.py",
    "checks/_kernels_travel.py",
)
"""All files with kernels."""


class Progress:
    """One line on standard error, written over; silent where nobody watches."""

    def __init__(self, name: str) -> None:
        name = in_one_line(name)
        self._name = name if len(name) <= 50 else f"...{name[-47:]}"
        self._begun = self._told = time.monotonic()
        self._shown = False
        self._on = sys.stderr is not None and sys.stderr.isatty() and os.environ.get("TERM", "") != "dumb"

    def __call__(self, stage: str, share: float) -> None:
        """Show the stage and the share of it that is done."""
        now = time.monotonic()
        if not self._on or now - self._begun < SILENT_S or now - self._told < EVERY_S:
            return
        self._told, self._shown = now, True
        done = f" {int(100 * share)} %" if 0.0 < share < 1.0 else ""
        self._write(f"\r\x1b[K{self._name}: {stage}{done}")

    def clear(self) -> None:
        """Take the line away."""
        if self._shown:
            self._shown = False
            self._write("\r\x1b[K")

    def _write(self, text: str) -> None:
        try:
            sys.stderr.write(text)
            sys.stderr.flush()
        except OSError:
            self._on = False  # the terminal is gone


def prepare_first_run() -> None:
    """Where kernels are not compiled yet, say so in one line and compile them all, on two cores."""
    if os.environ.get("NUMBA_DISABLE_JIT", "0") in ("", "0") and not kernels_are_cached():
        say(FIRST_RUN)
        from viewer.warm import warm_up

        warm_up()
        if not kernels_are_cached():
            say(NOT_KEPT)


def kernels_are_cached(files: Sequence[str] = KERNEL_FILES, package: Path | None = None) -> bool:
    """Tell whether machine code of the kernels as they are now lies in the compiler's cache, without the compiler.

    Parameters
    ----------
    files
        Kernel files, as paths in the package.
    package
        Folder of the package; None: this one's.
    """
    home = package or Path(__file__).resolve().parents[2]
    return all(_is_cached(home / name) for name in files)


def _is_cached(source: Path) -> bool:
    """Look for the source's stamp in the indices of the folders that the compiler caches in.

    The stamp is the SHA-256 of the source, in older releases of the compiler the time of its last change.
    """
    tag = f"py{sys.version_info.major}{sys.version_info.minor}"
    try:
        stamps = (hashlib.sha256(source.read_bytes()).digest(), struct.pack(">d", source.stat().st_mtime))
        for folder, pattern in _cache_places(source):
            for index in folder.glob(f"{pattern}{source.stem}.*{tag}*.nbi"):
                if any(stamp in index.read_bytes() for stamp in stamps):
                    return True
    except OSError:
        return False  # a wrong guess costs one line of text
    return False


def _cache_places(source: Path) -> list[tuple[Path, str]]:
    elsewhere = f"{source.parent.name}_*/"  # the folder's name and a hash of its path
    if named := os.environ.get("NUMBA_CACHE_DIR"):
        return [(Path(named), elsewhere)]
    places = [(source.parent / "__pycache__", "")]
    if not os.access(source.parent, os.W_OK):
        import platformdirs

        places.append((platformdirs.user_cache_path("numba", appauthor=False), elsewhere))
    return places
