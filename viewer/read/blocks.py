"""A file as line-aligned blocks of bytes; what is no program gets a sentence here."""

from __future__ import annotations

import gzip
import io
import os
import sys
import tempfile
import zlib
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO

import numpy as np

from viewer.arrays import U8
from viewer.errors import NotAProgramError, ReadError, Stopped

BLOCK_BYTES = 4 << 20
MAX_LINE_BYTES = 65536
"""Longer lines are read up to here; the rest of the line is passed over and counted."""
PADDING = 64
UNPACKED_LIMIT_BYTES = 4 << 30
UNPACKED_RATIO = 60
"""Real programs pack 3 to 10 times; what unpacks to more than this is no program (common practice, no source)."""

_SIGNATURES = (
    (b"PK\x03\x04", "a zip container; unpack it and open the program inside"),
    (b"PK\x05\x06", "an empty zip container; ask its sender for the program itself"),
    (b"\x89PNG", "a picture (PNG), not a program; pick the machine-instruction file beside it"),
    (b"\xff\xd8\xff", "a picture (JPEG), not a program; pick the machine-instruction file beside it"),
    (b"GIF8", "a picture (GIF), not a program; pick the machine-instruction file beside it"),
    (b"%PDF", "a PDF document, not a program; pick the machine-instruction file beside it"),
    (b"7z\xbc\xaf\x27\x1c", "a 7z container; unpack it and open the program inside"),
    (b"\xfd7zXZ", "an xz container; unpack it and open the program inside"),
    (b"BZh", "a bzip2 container; unpack it and open the program inside"),
    (b"GCDE", "a program in a binary form, which is not read; save it as plain text G-code"),
    (b"\x7fELF", "an executable for a computer, not a program for a printer"),
    (b"MZ\x90", "an executable for a computer, not a program for a printer"),
    (b"solid ", "a shape (STL), not a program; it must be turned into machine instructions first"),
    (b"\xff\xfe", "text in UTF-16; save it again as plain text (UTF-8)"),
    (b"\xfe\xff", "text in UTF-16; save it again as plain text (UTF-8)"),
)


@dataclass(frozen=True, slots=True)
class Source:
    """Where a program's bytes are; `plain` is the file to fetch lines from (unpacked where it was packed)."""

    path: Path
    """As the user named it (`-` for standard input)."""
    plain: Path
    size_bytes: int
    """Of `plain`."""
    file_bytes: int
    """Of the file itself, packed or not."""
    temporary: bool
    """`plain` is ours and may be deleted."""
    stamp: tuple[int, int]
    """(modification time in ns, size) of the user's file when it was opened."""

    def changed(self) -> bool:
        """Whether the user's file is gone or another one by now."""
        try:
            now = self.path.stat()
        except OSError:
            return not self.temporary
        return (now.st_mtime_ns, now.st_size) != self.stamp

    @contextmanager
    def again(self) -> Iterator[io.BufferedReader]:
        """Open the plain file once more, to fetch texts from it.

        Raises
        ------
        ReadError
            It is gone, its drive fails, or it is another one by now: the places that are known mean nothing in it.
        """
        try:
            with self.plain.open("rb") as file:
                now = os.fstat(file.fileno())
                if not self.temporary and (now.st_mtime_ns, now.st_size) != self.stamp:
                    raise ReadError(
                        f"{self.path} was changed after it was read: its text is not known; read it again."
                    )
                yield file
        except OSError as problem:
            raise ReadError(
                f"The text of {self.path} could not be read again ({_reason(problem)}); is the drive still there?"
            ) from None

    def close(self) -> None:
        """Delete the temporary copy, if there is one."""
        if self.temporary:
            self.plain.unlink(missing_ok=True)


def open_source(path: str | os.PathLike[str]) -> Source:
    """Look at a file and say what it is.

    Parameters
    ----------
    path
        Of a program, plain or gzip; ``-`` reads standard input.

    Raises
    ------
    ReadError
        When it is missing, unreadable, empty, a folder or no text.
    """
    if os.fspath(path) == "-":
        return _from_stream(sys.stdin.buffer, Path("-"))
    path = Path(path)
    try:
        if path.is_dir():
            raise NotAProgramError(
                f"{path} is a folder; name a program file in it, or survey all of it (`beadline survey`)."
            )
        with path.open("rb") as file:
            status = os.fstat(file.fileno())
            head = file.read(65536)
            if head[:2] == b"\x1f\x8b":
                return _unpacked(path, (status.st_mtime_ns, status.st_size), str(path))
    except (OSError, ValueError) as problem:
        raise ReadError(unreadable_text(path, problem)) from None
    if not path.is_file():
        return _special(path, head)
    _refuse_what_is_no_program(str(path), head, status.st_size)
    return Source(path, path, status.st_size, status.st_size, False, (status.st_mtime_ns, status.st_size))


def unreadable_text(path: str | Path, problem: OSError | ValueError) -> str:
    """Return why a file could not be read, and what to do about it, in one sentence."""
    if isinstance(problem, FileNotFoundError):
        return f"{path} does not exist; look at the name and whether the drive is still there."
    if isinstance(problem, PermissionError):
        return f"{path} may not be read; ask its owner for the right to read it."
    return f"{path} could not be read ({_reason(problem)}); copy it to this computer again."


def blocks(
    source: Source, stop: Callable[[], bool] | None = None, block_bytes: int = BLOCK_BYTES
) -> Iterator[tuple[U8, int, int, int, bool]]:
    """Read the file block by block; each ends at a line's end.

    Yields
    ------
    buffer, begin, end, offset, unterminated
        ``buffer[begin:end]`` are whole lines, ``buffer[0]`` lies at `offset` in the file. The buffer is used
        again for the next block. `unterminated`: the last line of the file had no end, and got one here.

    Raises
    ------
    ReadError
        When the drive fails midway.
    Stopped
        When `stop` says so.
    """
    front = MAX_LINE_BYTES + 1  # room before the bytes just read for those of an unfinished line
    buffers = [np.zeros(front + block_bytes + PADDING, np.uint8) for _ in range(2)]
    turn = 0
    offset = -front  # in the file, of buffer[0]
    begin = front  # where the held bytes begin
    dropping = False  # inside the rest of a line that is too long
    try:
        file = source.plain.open("rb", buffering=0)
    except OSError as problem:
        raise ReadError(
            f"{source.path} could not be read ({_reason(problem)}); is the drive still there?"
        ) from None
    # one block is read while the one before it is scanned
    with file, ThreadPoolExecutor(1) as ahead:
        reading = ahead.submit(_fill, file, buffers[0], front, block_bytes, source.path)
        while True:
            if stop is not None and stop():
                raise Stopped
            got, buffer = reading.result(), buffers[turn]
            end = front + got
            if got == 0:
                if dropping:
                    yield buffer, 0, 0, offset + front, True
                elif begin < end:
                    ended = int(buffer[end - 1]) in (10, 13)
                    buffer[end] = 10
                    yield buffer, begin, end if ended else end + 1, offset, not ended
                return
            turn = 1 - turn
            reading = ahead.submit(_fill, file, buffers[turn], front, block_bytes, source.path)
            if dropping:
                at = _first_line_end(buffer[begin:end])
                begin = end if at < 0 else begin + at
                dropping = at < 0
            last = _last_line_end(buffer, begin, end)
            if last > begin:
                yield buffer, begin, last, offset, False
            begin = last
            if (
                end - begin > MAX_LINE_BYTES
            ):  # beyond all measure: its first part counts, the rest is passed over
                kept = begin + MAX_LINE_BYTES + 1
                spared = buffer[kept].copy()
                buffer[kept] = 10
                yield buffer, begin, kept + 1, offset, False
                buffer[kept] = spared
                dropping = True
                begin = end - 1 if buffer[end - 1] == 13 else end  # its LF may still come
            held = end - begin
            buffers[turn][front - held : front] = buffer[begin:end]
            begin = front - held
            offset += got


def _fill(file: BinaryIO, buffer: U8, held: int, block_bytes: int, path: Path) -> int:
    """Read on behind the held bytes; returns how many came (0 at the end)."""
    view = memoryview(buffer)[held : held + block_bytes]  # type: ignore[arg-type]
    try:
        return int(file.readinto(view) or 0)  # type: ignore[attr-defined]
    except OSError as problem:
        raise ReadError(
            f"Reading {path} broke off ({_reason(problem)}); is the drive still there? Copy the file again."
        ) from None


def _last_line_end(buffer: U8, begin: int, end: int) -> int:
    """Return the place behind the last line end; a CR at the very end waits for its LF."""
    at = end - 1 if end > begin and buffer[end - 1] == 13 else end
    for low in (max(begin, at - 1024), max(begin, at - MAX_LINE_BYTES), begin):
        ends = np.flatnonzero((buffer[low:at] == 10) | (buffer[low:at] == 13))
        if len(ends):
            return low + int(ends[-1]) + 1
    return begin


def _first_line_end(part: U8) -> int:
    """Return the place behind the first line end, -1 where there is none; with a CR its LF."""
    ends = np.flatnonzero((part == 10) | (part == 13))
    if not len(ends):
        return -1
    at = int(ends[0])
    return at + 2 if part[at] == 13 and at + 1 < len(part) and part[at + 1] == 10 else at + 1


def _from_stream(stream: BinaryIO, path: Path) -> Source:
    """Keep a stream in a temporary file: lines are fetched from it again later."""
    handle, name = tempfile.mkstemp(prefix="beadline-", suffix=".gcode")
    plain = Path(name)
    named = "Standard input" if str(path) == "-" else str(path)
    try:
        with os.fdopen(handle, "wb") as out:
            while chunk := stream.read(1 << 20):
                out.write(chunk)
        size = plain.stat().st_size
        with plain.open("rb") as file:
            head = file.read(65536)
        if head[:2] == b"\x1f\x8b":
            unpacked = _unpacked(plain, (0, size), named)
            plain.unlink()
            return Source(path, unpacked.plain, unpacked.size_bytes, size, True, (0, size))
        if size == 0 and str(path) == "-":
            raise ReadError("Standard input is empty (0 bytes); look at the command before the pipe.")
        _refuse_what_is_no_program(named, head, size)
    except OSError as problem:
        plain.unlink(missing_ok=True)
        raise ReadError(
            f"{named} could not be kept in {plain.parent} ({_reason(problem)}); make room there."
        ) from None
    except BaseException:
        plain.unlink(missing_ok=True)
        raise
    return Source(path, plain, size, size, True, (0, size))


def _special(path: Path, head: bytes) -> Source:
    """Read a pipe or a device once, like standard input."""
    import io

    try:
        with path.open("rb") as file:
            rest = file.read(UNPACKED_LIMIT_BYTES)
    except OSError as problem:
        raise ReadError(f"{path} could not be read ({_reason(problem)}); name a program file.") from None
    return _from_stream(io.BytesIO(head + rest), path)


def _unpacked(path: Path, stamp: tuple[int, int], named: str) -> Source:
    """Unpack gzip into a temporary file, within bounds."""
    limit = min(UNPACKED_LIMIT_BYTES, max(64 << 20, UNPACKED_RATIO * stamp[1]))
    handle, name = tempfile.mkstemp(prefix="beadline-", suffix=".gcode")
    plain = Path(name)
    size = 0
    head = b""
    try:
        with os.fdopen(handle, "wb") as out, gzip.open(path, "rb") as packed:
            while chunk := packed.read(1 << 20):
                head = head or chunk[:65536]
                size += len(chunk)
                if size > limit:
                    raise ReadError(
                        f"{named} unpacks to more than {limit >> 20} MiB, which no program does; not opened."
                    )
                out.write(chunk)
        _refuse_what_is_no_program(named, head, size)
    except (EOFError, zlib.error, gzip.BadGzipFile) as problem:
        plain.unlink(missing_ok=True)
        why = "its end is missing" if isinstance(problem, EOFError) else "its bytes do not add up"
        raise ReadError(f"{named} is packed with gzip but damaged: {why}; copy it again.") from None
    except OSError as problem:
        plain.unlink(missing_ok=True)
        raise ReadError(
            f"{named} could not be unpacked ({_reason(problem)}); make room in {plain.parent}."
        ) from None
    except BaseException:
        plain.unlink(missing_ok=True)
        raise
    return Source(path, plain, size, stamp[1], True, stamp)


def _refuse_what_is_no_program(path: str, head: bytes, size: int) -> None:
    """Say in one sentence what a file is that holds no program."""
    if size == 0:
        raise NotAProgramError(
            f"{path} is empty (0 bytes); copy it again, and wait until the drive has finished."
        )
    for signature, what in _SIGNATURES:
        if head.startswith(signature):
            raise NotAProgramError(f"{path} is {what}.")
    if not head.strip(b"\0"):
        raise NotAProgramError(
            f"{path} begins with nothing but zero bytes: it was not written to its end; copy it again."
        )
    if head.startswith(b"version ") and b"\noid " in head[:400] and size < 1024:
        raise NotAProgramError(
            f"{path} only points to a program kept elsewhere (version, oid, size); fetch the program itself."
        )
    raw = np.frombuffer(head, np.uint8)
    control = (raw < 32) & (raw != 9) & (raw != 10) & (raw != 13) & (raw != 0) & (raw != 27)
    if np.count_nonzero(control) > 0.03 * len(raw) + 8 or np.count_nonzero(raw > 127) > 0.4 * len(raw) + 16:
        raise NotAProgramError(
            f"{path} is not text, so it is no G-code program; see whether the right file was picked."
        )


def _reason(problem: BaseException) -> str:
    return getattr(problem, "strerror", None) or str(problem) or type(problem).__name__
