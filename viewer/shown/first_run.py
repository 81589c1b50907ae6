"""The first run, which compiles the kernels: whether this is one, and what people are told of it everywhere."""

from __future__ import annotations

import hashlib
import os
import struct
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import Final

TAKES: Final = "about a minute"
"""On two cores 20 to 80 s, by the machine; `python -m tests.benchmarks` measures it."""
FIRST_RUN: Final = (
    f"The first run compiles the computing kernels, which takes {TAKES}; later starts are quick."
)
KERNEL_FILES: Final = (
    "read/_kernels.py",
    "layers/_kernels.py",
    "timing/_kernels.py",
    "figures/_kernels.py",
    "figures/_kernels_bodies.py",
    "figures/_kernels_hull.py",
    "beads/_kernels.py",
    "beads/_kernels_regions.py",
    "beads/_kernels_section.py",
    "layers/_kernels_roles.py",
    "checks/_kernels_moves.py",
    "checks/_kernels_shape.py",
    "checks/_kernels_travel.py",
)
"""All files with kernels."""


def kernels_are_cached(files: Sequence[str] = KERNEL_FILES, package: Path | None = None) -> bool:
    """Tell whether machine code of the kernels as they are now lies in the compiler's cache, without the compiler.

    Parameters
    ----------
    files
        Kernel files, as paths in the package.
    package
        Folder of the package; None: this one's.
    """
    home = package or Path(__file__).resolve().parents[1]
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
