"""The survey: what is remembered is looked up, the rest is worked on, and every program has one row."""

from __future__ import annotations

import hashlib
import os
from collections.abc import Generator, Iterable, Iterator
from dataclasses import dataclass, field
from itertools import chain
from pathlib import Path
from typing import Final

import msgspec

from viewer.cards.kinds import Cards
from viewer.cards.printer import PrinterCard
from viewer.read.blocks import unreadable_text
from viewer.survey.parts import (
    FitPart,
    Problem,
    VerdictPart,
    code_version,
    fit_key,
    picture_key,
    verdict_key,
)
from viewer.survey.row import Row
from viewer.survey.store import Remembered
from viewer.survey.work import Done, Draw, Engine, Work

NO_PICTURE: Final = b""
"""Remembered in place of a picture: there is no part to draw."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """Under which cards programs are judged, and what their rows are to hold."""

    cards: Cards
    printers: tuple[PrinterCard, ...]
    """Those that are tried, in the order in which they are told."""
    draw: Draw | None = None
    """None: rows have no pictures."""


@dataclass(slots=True)
class _Keys:
    """The keys of a row's parts: the same for all programs."""

    verdict: str
    fits: dict[str, PrinterCard]
    picture: str

    @classmethod
    def of(cls, wanted: Wanted) -> _Keys:
        fits = {fit_key(printer, wanted.cards): printer for printer in wanted.printers}
        return cls(verdict_key(wanted.cards), fits, picture_key(wanted.cards))


@dataclass(slots=True)
class _Program:
    """A content that is worked on, and all files that have it."""

    paths: list[str]
    parts: dict[tuple[str, str], bytes] = field(default_factory=dict)
    """What is remembered of it."""


class Survey:
    """A survey of programs.

    Parameters
    ----------
    wanted
        Cards, printers, pictures.
    store
        What is remembered; each row is there as soon as it is done.
    engine
        Does what is not remembered.
    """

    def __init__(self, wanted: Wanted, store: Remembered, engine: Engine) -> None:
        self._wanted = wanted
        self._store = store
        self._engine = engine
        self._keys = _Keys.of(wanted)
        self._code = code_version()
        self._at_work: dict[str, _Program] = {}
        self._ready: list[Row] = []

    def rows(self, paths: Iterable[str]) -> Generator[Row, None, None]:
        """Yield one row for each file, those first that are remembered.

        Raises
        ------
        CardError
            A card names a check that does not exist.
        BeadlineError
            What is remembered cannot be read or written, or the engine has no workers.
        """
        works = self._works(paths)
        first = next(works, None)
        yield from self._taken()
        if first is None:
            return
        self._store.forget_other_code()
        for work, done in self._engine.run(chain((first,), works)):
            yield from self._taken()
            yield from self._rows_of(work, done)
        yield from self._taken()

    def remembered(self, files: Iterable[tuple[str, int, int]]) -> list[Row]:
        """Return the rows of those files of which all is remembered; no file is read.

        Parameters
        ----------
        files
            Path, size (bytes) and time of change (ns) of each.

        Returns
        -------
        list of Row
            Without pictures, which `Remembered.picture` returns one at a time.

        Raises
        ------
        BeadlineError
            What is remembered cannot be read.
        """
        contents = self._store.contents(files)
        parts = self._store.parts_of(set(contents.values()))
        rows = []
        for path, content in contents.items():
            have = parts.get(content, {})
            if ("problem", "") in have or self._missing(path, content, have) is None:
                rows.append(self._row(path, content, have))
        return rows

    def _taken(self) -> list[Row]:
        """Return the rows that were made from what is remembered since the last time."""
        ready, self._ready = self._ready, []
        return ready

    def _works(self, paths: Iterable[str]) -> Iterator[Work]:
        """Yield what has to be worked on; rows that need no work are put into `_ready`."""
        for path in paths:
            try:
                content = self._content(path)
            except (OSError, ValueError) as problem:
                self._ready.append(_unreadable(path, problem))
                continue
            if content in self._at_work:
                self._at_work[content].paths.append(path)
                continue
            parts = self._store.parts(content, self._wanted.draw is not None)
            work = self._missing(path, content, parts)
            if work is None or ("problem", "") in parts:
                self._ready.append(self._row(path, content, parts))
                continue
            self._at_work[content] = _Program([path], parts)
            yield work

    def _content(self, path: str) -> str:
        """Return the SHA-256 of a file; it is read only where size or time of change are not the known ones."""
        status = os.stat(path)  # noqa: PTH116
        if known := self._store.contents([(path, status.st_size, status.st_mtime_ns)]):
            return known[path]
        with open(path, "rb") as file:  # noqa: PTH123
            status = os.fstat(file.fileno())
            content = hashlib.file_digest(file, "sha256").hexdigest()
        self._store.note_content(path, status.st_size, status.st_mtime_ns, content)
        return content

    def _missing(self, path: str, content: str, parts: dict[tuple[str, str], bytes]) -> Work | None:
        """Return the work of what is not remembered of a program; None: all is."""
        keys, wanted = self._keys, self._wanted
        verdict = ("verdict", keys.verdict) not in parts
        printers = tuple(card for key, card in keys.fits.items() if ("fit", key) not in parts)
        draw = None if ("picture", keys.picture) in parts else wanted.draw
        if not verdict and not printers and draw is None:
            return None
        return Work(
            path=path, content=content, cards=wanted.cards, verdict=verdict, printers=printers, draw=draw,
            code=self._code,
        )  # fmt: skip

    def _rows_of(self, work: Work, done: Done) -> Iterator[Row]:
        """Remember what was done, and yield the rows of all files with that content."""
        program = self._at_work.pop(work.content)
        fresh = self._parts_of(work, done)
        if fresh:
            self._store.note_parts(work.content, [(kind, key, data) for (kind, key), data in fresh.items()])
        for path in program.paths:
            if done.problem is not None and not fresh:
                sentence = done.problem.sentence.replace(work.path, path)
                yield Row(
                    path=path,
                    content=work.content,
                    verdict=None,
                    problem=Problem(done.problem.kind, sentence),
                )
            else:
                yield self._row(path, work.content, program.parts | fresh)

    def _parts_of(self, work: Work, done: Done) -> dict[tuple[str, str], bytes]:
        """Return what is to be remembered of what was done.

        A file that cannot be read stays so, by its content. Other problems are not remembered: a file that ended its
        worker may have met too little memory.
        """
        if done.problem is not None:
            if done.problem.kind != "not read":
                return {}
            told = Problem(done.problem.kind, done.problem.sentence.replace(work.path, _PATH))
            return {("problem", ""): msgspec.json.encode(told)}
        parts: dict[tuple[str, str], bytes] = {}
        if done.verdict is not None:
            parts["verdict", self._keys.verdict] = msgspec.json.encode(done.verdict)
        cards = {
            fit_key(card, self._wanted.cards): fit for card, fit in zip(work.printers, done.fits, strict=True)
        }
        parts |= {("fit", key): msgspec.json.encode(fit) for key, fit in cards.items()}
        if work.draw is not None:
            parts["picture", self._keys.picture] = done.picture or NO_PICTURE
        return parts

    def _row(self, path: str, content: str, parts: dict[tuple[str, str], bytes]) -> Row:
        """Return the row of a program from its parts; always from their remembered form, so that rows are equal."""
        if told := parts.get(("problem", "")):
            problem = msgspec.json.decode(told, type=Problem)
            problem = Problem(problem.kind, problem.sentence.replace(_PATH, path))
            return Row(path=path, content=content, verdict=None, problem=problem)
        keys = self._keys
        picture = parts.get(("picture", keys.picture), NO_PICTURE) if self._wanted.draw else NO_PICTURE
        return Row(
            path=path,
            content=content,
            verdict=msgspec.json.decode(parts["verdict", keys.verdict], type=VerdictPart),
            fits=tuple(msgspec.json.decode(parts["fit", key], type=FitPart) for key in keys.fits),
            picture=picture or None,
        )


_PATH: Final = "\0"
"""Stands for the file's path in a remembered sentence: another file may have the same content."""


def _unreadable(path: str, problem: OSError | ValueError) -> Row:
    """Return the row of a file whose bytes cannot be had."""
    return Row(
        path=path, content=None, verdict=None, problem=Problem("not read", unreadable_text(path, problem))
    )


def without_repeats(paths: Iterable[str]) -> list[str]:
    """Return paths without those that name a file which one before them names, too."""
    seen: dict[str, str] = {}
    for path in paths:
        seen.setdefault(str(Path(path).absolute()), path)
    return list(seen.values())
