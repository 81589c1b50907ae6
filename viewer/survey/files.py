"""Which programs files and folders mean."""

from __future__ import annotations

import os
from collections.abc import Iterable
from pathlib import Path
from typing import Final

PROGRAM_ENDINGS: Final = (
    ".gcode",
    ".gco",
    ".gc",
    ".g",
    ".nc",
    ".ngc",
    ".tap",
    ".gcode.gz",
    ".gco.gz",
    ".g.gz",
)
"""Files of a folder that are taken as programs (common practice, no source)."""


def programs_in(named: Iterable[str]) -> tuple[list[str], list[str]]:
    """Return the programs that files and folders mean, and a sentence for each folder that has none."""
    files: list[str] = []
    sentences: list[str] = []
    for name in named:
        if name == "-" or not Path(name).is_dir():
            files.append(name)
            continue
        found = programs_below(name)
        files += found
        if not found:
            endings = ", ".join(PROGRAM_ENDINGS[:5])
            sentences.append(
                f"{name} holds no program (a file that ends in {endings} ...); name another folder or a file."
            )
    return files, sentences


def programs_below(folder: str) -> list[str]:
    """Return the programs in a folder and the folders below it, sorted; hidden ones are left out.

    The walk asks the system once for each folder, not for each file: an archive may hold a hundred thousand.
    """
    found: list[str] = []
    for where, _folders, names in os.walk(folder):
        found += [path for name in names if is_program(name) and (path := _regular(where, name))]
    return sorted(str(Path(path)) for path in found)


def is_program(name: str) -> bool:
    """Whether a file of this name is taken as a program."""
    return name.lower().endswith(PROGRAM_ENDINGS) and not name.startswith(".")


def _regular(where: str, name: str) -> str:
    """Return the path of a file, or of a link that leads nowhere: reading says so; "" where it is something else."""
    path = os.path.join(where, name)  # noqa: PTH118 - a Path for each file of an archive takes longer than the walk
    there = os.path.isfile(path) or (os.path.islink(path) and not os.path.exists(path))  # noqa: PTH110, PTH113, PTH114
    return path if there else ""
