"""Files written whole or not at all: cards, job sheets, tables, pictures."""

from __future__ import annotations

import os
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import BinaryIO

from viewer.errors import OutputError

unfinished: set[Path] = set()
"""Files that are being written now; whoever ends the process at once removes them first."""


def spare(path: str | os.PathLike[str], program: str | os.PathLike[str]) -> None:
    """Refuse to write over the program that is looked at, under whatever name.

    Raises
    ------
    OutputError
        `path` is the file of `program`.
    """
    try:
        is_same = Path(path).expanduser().samefile(program)
    except (OSError, ValueError):
        return  # one of them is not there: nothing to lose
    if is_same:
        raise OutputError(f"{path} is the program itself, which would be lost; choose another name.")


def write_whole(path: str | os.PathLike[str], pieces: Iterable[str | bytes]) -> None:
    """Write `pieces` one after another to `path` through a file beside it, so that nothing is half-written.

    A device or a pipe is written to as it is; a link stays a link, its target is replaced.

    Parameters
    ----------
    path
        Where to; its folder must exist.
    pieces
        Text (written as UTF-8) or bytes.

    Raises
    ------
    OutputError
        If it could not be written; what lay there before is untouched.
    """
    named = Path(path)
    try:
        target = named.expanduser().resolve()
        if target.is_dir():
            raise OutputError(f"{named} is a folder; name a file in it to write to.")
        if target.exists() and not target.is_file():
            with target.open("wb") as device:
                _write(device, pieces)
            return
        with beside(target) as file:
            _write(file, pieces)
    except FileNotFoundError:
        raise OutputError(
            f"{named} could not be written: its folder does not exist; make it first."
        ) from None
    except (OSError, ValueError) as problem:
        why = getattr(problem, "strerror", None) or problem
        raise OutputError(
            f"{named} could not be written ({why}), nothing was left behind; free some space or choose another place."
        ) from None


def _write(file: BinaryIO, pieces: Iterable[str | bytes]) -> None:
    for piece in pieces:
        file.write(piece.encode("utf-8", "backslashreplace") if isinstance(piece, str) else piece)
    file.flush()


@contextmanager
def beside(target: Path) -> Iterator[BinaryIO]:
    """Open a file beside `target` that takes its place when all went well.

    Raises
    ------
    OSError
        It could not be written; what lay there before is untouched.
    """
    part = target.with_name(f".{target.name[:200]}.{os.urandom(4).hex()}.part")
    unfinished.add(part)
    try:
        with part.open("xb") as file:
            yield file
            os.fsync(file.fileno())  # else a power cut may leave the new name on an empty file
        if target.exists():
            part.chmod(target.stat().st_mode & 0o7777)
        part.replace(target)
    finally:
        part.unlink(missing_ok=True)
        unfinished.discard(part)
