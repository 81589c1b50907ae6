"""What lies in the watched folders at a moment; no Qt."""

from __future__ import annotations

import os
import time
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from typing import Final

import msgspec

from viewer.errors import Stopped
from viewer.survey.files import is_program

SETTLED_S: Final = 2.0
"""A file that was changed this short a time ago may still be written: it waits until two looks find it the same."""


class Stamp(msgspec.Struct, frozen=True, array_like=True):
    """What tells that a file is the one that was there before."""

    size_bytes: int
    changed_ns: int
    came_s: float
    """When it was written, copied or moved to its place, whichever is last, in seconds of `time.time`."""


@dataclass(frozen=True, slots=True)
class FolderState:
    """One watched folder."""

    folder: str
    programs: int
    sentence: str = ""
    """Why it, or a folder below it, cannot be looked into; "" where all is well."""


@dataclass(slots=True)
class Look:
    """What was found."""

    stamps: dict[str, Stamp] = field(default_factory=dict)
    """Of each program, by its path."""
    unsettled: set[str] = field(default_factory=set)
    """Programs that may still be written."""
    states: list[FolderState] = field(default_factory=list)
    below: list[str] = field(default_factory=list)
    """The folders that could be read, and all below them."""
    around: list[str] = field(default_factory=list)
    """The folders in which watched ones lie, or would lie: where a drive comes and goes."""
    took_s: float = 0.0


def look_into(folders: Iterable[str], before: Look, stop: Callable[[], bool] = lambda: False) -> Look:
    """Return what lies in folders and below them.

    Parameters
    ----------
    before
        The look before this one.
    stop
        Is asked at each folder.

    Raises
    ------
    Stopped
        `stop` has said so.
    """
    begun, now = time.monotonic(), time.time()
    look = Look()
    for folder in folders:
        there = len(look.stamps)
        sentence = _walk(folder, look, stop)
        parent = os.path.dirname(folder)  # noqa: PTH120
        if os.path.isdir(parent):  # noqa: PTH112
            look.around.append(parent)
        look.states.append(FolderState(folder, len(look.stamps) - there, sentence))
    for path, stamp in look.stamps.items():
        if abs(now - stamp.changed_ns * 1e-9) < SETTLED_S and before.stamps.get(path) != stamp:
            look.unsettled.add(path)
    look.took_s = time.monotonic() - begun
    return look


def _walk(root: str, look: Look, stop: Callable[[], bool]) -> str:
    """Note all programs below a folder; return the sentence of the first folder that could not be read, or ""."""
    sentence = ""
    waiting, seen = [root], set(look.below)
    while waiting:
        folder = waiting.pop()
        if folder in seen:
            continue
        if stop():
            raise Stopped
        try:
            waiting += _read(folder, look)
        except OSError as problem:
            sentence = sentence or _sentence(root, folder, problem)
    return sentence


def _read(folder: str, look: Look) -> list[str]:
    """Note the programs of one folder; return the folders in it. A link to a folder is not followed.

    Raises
    ------
    OSError
        It is gone, or may not be read.
    """
    inner = []
    with os.scandir(folder) as found:
        for one in found:
            if one.is_dir(follow_symlinks=False):
                inner.append(one.path)
            elif is_program(one.name):
                try:
                    status = one.stat()
                except FileNotFoundError:
                    continue  # taken away since the folder was read, or a link to nothing
                if one.is_file():
                    came_s = max(status.st_mtime, status.st_ctime)
                    look.stamps[one.path] = Stamp(status.st_size, status.st_mtime_ns, came_s)
    look.below.append(folder)
    return inner


def _sentence(root: str, folder: str, problem: OSError) -> str:
    why = problem.strerror or str(problem)
    if folder == root:
        return f"{folder} cannot be read ({why}): bring the folder or its drive back, and its programs are here again."
    return f"{folder} cannot be read ({why}): see to its rights; the programs of other folders are shown."
