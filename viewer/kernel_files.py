"""Where the kernels lie, and the hash of each family; known without the compiler.

A family is a folder named ``kernels``: a kernel, its helper kernels and its constants live in one such folder. The
compiler's cache would look at the file of the outermost kernel alone; `viewer.jit` gives it the family's hash instead.
"""

from __future__ import annotations

import hashlib
from pathlib import Path

FOLDER = "kernels"


def kernel_files(package: Path | None = None) -> tuple[Path, ...]:
    """Return all files with kernels, sorted.

    Parameters
    ----------
    package
        Folder of the package; None: this one's.
    """
    home = package or Path(__file__).resolve().parent
    return tuple(path for path in sorted(home.rglob(f"{FOLDER}/*.py")) if path.name != "__init__.py")


def family_hash(folder: Path) -> bytes:
    """Return the SHA-256 of all Python files of a family: names and contents, 32 bytes.

    Raises
    ------
    OSError
        A file cannot be read.
    """
    digest = hashlib.sha256()
    for path in sorted(folder.glob("*.py")):
        content = path.read_bytes()
        digest.update(f"{path.name} {len(content)}\n".encode())
        digest.update(content)
    return digest.digest()
