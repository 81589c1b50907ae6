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


class KernelCount:
    """Counts the compiled files of kernels again and again; what was there at one look is not looked for at the next.

    Parameters
    ----------
    package
        Folder of the package; None: this one's.
    """

    def __init__(self, package: Path | None = None) -> None:
        sources = [source for source in kernel_files(package) if _has_kernels(source)]
        self.of = len(sources)
        """How many files of kernels there are."""
        self._stamps = {folder: family_hash(folder) for folder in {source.parent for source in sources}}
        self._missing = sources

    def ready(self) -> int:
        """Return how many files of kernels lie compiled in the cache."""
        self._missing = [one for one in self._missing if not _is_in_cache(one, self._stamps[one.parent])]
        return self.of - len(self._missing)


def _is_cached(source: Path) -> bool:
    """Look for the family's hash in the indices of the folders that the compiler caches in."""
    try:
        # helpers and constants alone are compiled into the kernels that use them
        return not _has_kernels(source) or _is_in_cache(source, family_hash(source.parent))
    except OSError:
        return False  # a wrong guess costs one line of text


def _has_kernels(source: Path) -> bool:
    return b"\n@kernel\n" in source.read_bytes()


def _is_in_cache(source: Path, stamp: bytes) -> bool:
    tag = f"py{sys.version_info.major}{sys.version_info.minor}"
    try:
        for folder, pattern in _cache_places(source):
            for index in folder.glob(f"{pattern}{source.stem}.*{tag}*.nbi"):
                if stamp in index.read_bytes():
                    return True
    except OSError:
        return False  # it may just be written
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
