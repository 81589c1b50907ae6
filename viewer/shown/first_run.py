"""The first run, which compiles the kernels: whether this is one, and what people are told of it everywhere."""

from __future__ import annotations

import os
import sys
from pathlib import Path
from typing import Final

from viewer.kernel_files import family_hash, kernel_files

TAKES: Final = "about a minute"
"""On two cores 20 to 80 s, by the machine; `python -m tests.benchmarks` measures it."""
FIRST_RUN: Final = (
    f"The first run compiles the computing kernels, which takes {TAKES}; later starts are quick."
)


def kernels_are_cached(package: Path | None = None) -> bool:
    """Tell whether machine code of the kernels as they are now lies in the compiler's cache, without the compiler.

    Parameters
    ----------
    package
        Folder of the package; None: this one's.
    """
    return all(_is_cached(source) for source in kernel_files(package))


def kernels_ready(package: Path | None = None) -> tuple[int, int]:
    """Return how many files of kernels lie compiled in the cache, and how many there are."""
    sources = [source for source in kernel_files(package) if b"\n@kernel\n" in source.read_bytes()]
    return sum(_is_cached(source) for source in sources), len(sources)


def _is_cached(source: Path) -> bool:
    """Look for the family's hash in the indices of the folders that the compiler caches in."""
    if b"\n@kernel\n" not in source.read_bytes():
        return True  # helpers and constants alone: compiled into the kernels that use them
    tag = f"py{sys.version_info.major}{sys.version_info.minor}"
    try:
        stamp = family_hash(source.parent)
        for folder, pattern in _cache_places(source):
            for index in folder.glob(f"{pattern}{source.stem}.*{tag}*.nbi"):
                if stamp in index.read_bytes():
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
