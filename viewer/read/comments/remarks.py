"""What the notes of a program say: marks by move, claims, and what was not understood."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from viewer.arrays import F64, I32
from viewer.read.blocks import Source
from viewer.read.comments.claims import Claim, read_claim
from viewer.read.comments.dialect import ROLES, fold
from viewer.read.comments.marks import (
    command_name,
    ends_print,
    needs_no_reading,
    object_name,
    starts_print,
    word_settings,
)
from viewer.read.comments.meaning import Meaning, classify, stands
from viewer.read.comments.settling import left_open, settle_roles
from viewer.read.comments.statements import Statement, read_statements
from viewer.read.events import Events
from viewer.read.notes import DOUBTFUL, MESSAGE, OWN_LINE, WORD_COMMAND, Notes
from viewer.read.texts import fetch_places

TEXTS_LIMIT = 20_000
"""At most this many different object and limit texts are fetched; a program has some dozens."""
CLAIMS_LIMIT = 200
MIN_STEPS = 3
"""A claim with so many values at so many places is progress; the totals of objects in turn repeat."""
UNREAD_SHOWN = 50
NAMES_LIMIT = 100
"""At most this many names of word commands are counted separately; a program has some dozens."""
NAME_LENGTH = 40
FURTHER = "(others)"
"""Stands for the names beyond the limit."""


@dataclass(frozen=True, slots=True, eq=False)
class Marks:
    """Values that hold from a move on: (n,) each, in order of the program."""

    move: I32
    value: F64
    line: I32

    @classmethod
    def empty(cls) -> Marks:
        """Return no marks."""
        return cls(move=np.zeros(0, np.int32), value=np.zeros(0), line=np.zeros(0, np.int32))

    def __len__(self) -> int:
        """Return the number of marks."""
        return len(self.move)


@dataclass(frozen=True, slots=True)
class StatedClaim:
    """A claim and where it stands."""

    line: int
    text: str
    claim: Claim


@dataclass(frozen=True, slots=True)
class WordCommand:
    """How often a word command stands in the program, and where first."""

    count: int
    first_line: int


@dataclass(frozen=True, slots=True)
class Procedure:
    """A word command by which the machine begins or ends the print in its own way."""

    line: int
    move: int
    """The next move."""
    name: str


@dataclass(frozen=True, slots=True, eq=False)
class Remarks:
    """All that comments and word commands say."""

    roles: Marks
    """Value: place in `viewer.read.comments.dialect.ROLES`."""
    layers: Marks
    """Value: the number stated, NaN where none is."""
    heights: Marks
    """Value: height above the plate of a layer mark, mm."""
    thicknesses: Marks
    """Value: stated thickness, mm."""
    widths: Marks
    """Value: stated bead width, mm."""
    objects: Marks
    """Value: number of the object, -1 where one ends."""
    object_names: tuple[str, ...]
    limits: tuple[tuple[int, int, dict[str, float]], ...]
    """(move, line, fields of the settings table) of word commands."""
    claims: tuple[StatedClaim, ...]
    unread: dict[str, int]
    """Comments between moves that look like marks in unknown words: text and count."""
    word_commands: dict[str, WordCommand]
    """Those that nobody reads and whose meaning is not known, by name."""
    starts: tuple[Procedure, ...]
    """The machine's own procedures that begin the print: what they do, and how long, is not in the program."""
    ends: tuple[Procedure, ...]
    """Those that end a print, wherever they stand."""
    statements: tuple[Statement, ...] = ()
    """What settings state that the program was made for."""
    open_roles: frozenset[str] = frozenset()
    """Roles that comments do not tell from finer ones, see `viewer.read.comments.settling.left_open`: shape tells."""

    @classmethod
    def empty(cls) -> Remarks:
        """Return the remarks of a program without comments and word commands."""
        none = Marks.empty()
        return cls(
            roles=none,
            layers=none,
            heights=none,
            thicknesses=none,
            widths=none,
            objects=none,
            object_names=(),
            limits=(),
            claims=(),
            unread={},
            word_commands={},
            starts=(),
            ends=(),
        )


def read_remarks(notes: Notes, events: Events, source: Source, further: Mapping[str, str]) -> Remarks:
    """Say what the notes mean.

    Parameters
    ----------
    further
        The workshop card's trade words: words of a comment to a role's name.

    Raises
    ------
    CardError
        A further word names a role that does not exist.
    ReadError
        The file is gone before its comments could be read again.
    """
    meanings = [
        classify(text, bool(flags & OWN_LINE), bool(flags & WORD_COMMAND), further)
        if not flags & (DOUBTFUL | MESSAGE)
        else Meaning("nothing")
        for text, flags in zip(notes.shape_text, notes.shape_flags, strict=True)
    ]
    standing = _standing(notes, events, meanings)
    of_row = np.where(standing, notes.shape, -1)
    present = sorted(set(of_row[of_row >= 0].tolist()))
    spellings = [meanings[shape] for shape in present]
    settled = settle_roles(spellings)
    by_kind: dict[str, list[int]] = {}
    final: dict[int, Meaning] = dict(zip(present, settled, strict=True))
    for shape, meaning in final.items():
        by_kind.setdefault(meaning.kind, []).append(shape)
    objects, names = _objects(notes, of_row, final, source)
    return Remarks(
        roles=_role_marks(notes, of_row, final),
        layers=_numbers(notes, of_row, final, "number_at", ("layer",)),
        heights=_numbers(notes, of_row, final, "z_at", ("layer", "z")),
        thicknesses=_numbers(notes, of_row, final, "height_at", ("layer", "height", "width")),
        widths=_numbers(notes, of_row, final, "width_at", ("layer", "height", "width")),
        objects=objects,
        object_names=names,
        limits=_limits(notes, of_row, by_kind.get("limit", []), source),
        claims=_claims(notes, of_row, final, source),
        unread=_unread(notes, of_row, by_kind.get("unread", [])),
        word_commands=_word_commands(notes, meanings, source),
        starts=_procedures(notes, starts_print),
        ends=_procedures(notes, ends_print),
        statements=read_statements(notes, source),
        open_roles=left_open(spellings, settled),
    )


def _procedures(notes: Notes, fits: Callable[[frozenset[str]], bool]) -> tuple[Procedure, ...]:
    """Return the word commands whose name's words fit."""
    shapes = [
        number
        for number, (text, flags) in enumerate(zip(notes.shape_text, notes.shape_flags, strict=True))
        if flags & WORD_COMMAND and fits(frozenset(fold(text.split(" ")[0])))
    ]
    return tuple(
        Procedure(
            int(notes.line[row]), int(notes.move[row]), notes.shape_text[int(notes.shape[row])].split(" ")[0]
        )
        for row in _rows(notes.shape, shapes).tolist()
    )


def _standing(notes: Notes, events: Events, meanings: list[Meaning]) -> npt.NDArray[np.bool_]:
    """Tell of each row whether its meaning counts where it stands."""
    n = len(notes)
    if not n:
        return np.zeros(0, np.bool_)
    near = np.diff(notes.line, prepend=np.int32(-9))
    gap = (near == 2) & ~np.isin(notes.line - 1, events.line)
    own = (notes.flags & OWN_LINE) > 0
    same_move = np.diff(notes.move, prepend=np.int32(-1)) == 0
    begins = ~(own & ((near == 1) | gap) & same_move)
    run = np.cumsum(begins) - 1
    run_length = np.bincount(run)[run]
    known = notes.shape >= 0
    short = np.array([stands(meaning, 1) for meaning in meanings], np.bool_)
    long = np.array([stands(meaning, 1 << 30) for meaning in meanings], np.bool_)
    from viewer.read.comments.meaning import BLOCK_LINES

    shape = np.maximum(notes.shape, 0)
    if not len(short):
        return np.zeros(n, np.bool_)
    return known & np.where(run_length < BLOCK_LINES, short[shape], long[shape])


def _rows(of_row: npt.NDArray[np.int32], shapes: list[int]) -> npt.NDArray[np.intp]:
    return np.flatnonzero(np.isin(of_row, shapes)) if shapes else np.zeros(0, np.intp)


def _role_marks(notes: Notes, of_row: npt.NDArray[np.int32], final: dict[int, Meaning]) -> Marks:
    shapes = [shape for shape, meaning in final.items() if meaning.kind == "role"]
    rows = _rows(of_row, shapes)
    number = {shape: float(ROLES.index(final[shape].role)) for shape in shapes}
    values = np.array([number[shape] for shape in of_row[rows].tolist()])
    return Marks(notes.move[rows], values, notes.line[rows])


def _numbers(
    notes: Notes, of_row: npt.NDArray[np.int32], final: dict[int, Meaning], where: str, kinds: tuple[str, ...]
) -> Marks:
    """Return the marks that carry a number at `where`; layer marks count for `number_at` without one, too."""
    all_rows, all_values = [], []
    for shape, meaning in final.items():
        place = getattr(meaning, where)
        if meaning.kind not in kinds or (
            place < 0 and not (where == "number_at" and meaning.kind == "layer")
        ):
            continue
        rows = np.flatnonzero(of_row == shape)
        column = {0: notes.first, 1: notes.second}.get(place)
        all_rows.append(rows)
        all_values.append(column[rows] if column is not None else np.full(len(rows), np.nan))
    if not all_rows:
        return Marks.empty()
    rows, values = np.concatenate(all_rows), np.concatenate(all_values)
    order = np.argsort(rows, kind="stable")
    return Marks(notes.move[rows[order]], values[order], notes.line[rows[order]])


def _distinct_texts(
    notes: Notes, rows: npt.NDArray[np.intp], source: Source
) -> tuple[list[str], npt.NDArray[np.intp]]:
    """Return the different texts of some rows, and which of them each row has (-1 beyond the limit)."""
    _, where, of_row = np.unique(notes.exact[rows], return_index=True, return_inverse=True)
    kept = rows[where[:TEXTS_LIMIT]]
    texts = fetch_places(source, notes.offset[kept], notes.length[kept].tolist())
    return texts, np.where(of_row < TEXTS_LIMIT, of_row, -1)


def _objects(
    notes: Notes, of_row: npt.NDArray[np.int32], final: dict[int, Meaning], source: Source
) -> tuple[Marks, tuple[str, ...]]:
    begins = [shape for shape, meaning in final.items() if meaning.kind == "object"]
    ends = [shape for shape, meaning in final.items() if meaning.kind == "object end"]
    rows = _rows(of_row, begins + ends)
    if not len(rows):
        return Marks.empty(), ()
    texts, which = _distinct_texts(notes, rows, source)
    names: dict[str, int] = {}
    number_of_text = [names.setdefault(object_name(text), len(names)) for text in texts]
    numbers = np.append(np.array(number_of_text, np.float64), -1.0)[which]
    numbers = np.where(np.isin(of_row[rows], ends), -1.0, numbers)
    return Marks(notes.move[rows], numbers, notes.line[rows]), tuple(names)


def _limits(
    notes: Notes, of_row: npt.NDArray[np.int32], shapes: list[int], source: Source
) -> tuple[tuple[int, int, dict[str, float]], ...]:
    rows = _rows(of_row, shapes)
    if not len(rows):
        return ()
    texts, which = _distinct_texts(notes, rows, source)
    settings = [*[word_settings(text) for text in texts], {}]
    places = zip(notes.move[rows].tolist(), notes.line[rows].tolist(), which.tolist(), strict=True)
    return tuple((int(move), int(line), settings[k]) for move, line, k in places)


def _claims(
    notes: Notes, of_row: npt.NDArray[np.int32], final: dict[int, Meaning], source: Source
) -> tuple[StatedClaim, ...]:
    shapes = [
        shape for shape, meaning in final.items() if meaning.kind in ("claim", "claim heading", "claim part")
    ]
    rows = _rows(of_row, [shape for shape in shapes if not _is_progress(notes, of_row == shape)])[
        :CLAIMS_LIMIT
    ]
    texts = fetch_places(source, notes.offset[rows], notes.length[rows].tolist())
    found: list[StatedClaim] = []
    heading = ""
    for row, text in zip(rows.tolist(), texts, strict=True):
        kind = final[int(of_row[row])].kind
        if kind == "claim heading":
            heading = text
            continue
        claims = read_claim(text, heading if kind == "claim part" else "")
        found.extend(StatedClaim(int(notes.line[row]), text, claim) for claim in claims)
    return tuple(found)


def _is_progress(notes: Notes, own: npt.NDArray[np.bool_]) -> bool:
    """Whether claims that differ in digits alone change along the program: time so far, time left."""
    if np.count_nonzero(own) < MIN_STEPS:
        return False
    return len(np.unique(notes.exact[own])) >= MIN_STEPS <= len(np.unique(notes.move[own]))


def _unread(notes: Notes, of_row: npt.NDArray[np.int32], shapes: list[int]) -> dict[str, int]:
    counts = {notes.shape_text[shape]: int(np.count_nonzero(of_row == shape)) for shape in shapes[:2000]}
    most = sorted(counts.items(), key=lambda item: (-item[1], item[0]))
    return dict(most[:UNREAD_SHOWN])


def _word_commands(notes: Notes, meanings: list[Meaning], source: Source) -> dict[str, WordCommand]:
    """Count the word commands that nobody reads, by name; the rarest of too many names go into one entry.

    Commands of one shape may differ in the digits of their names (``TOOL_1``): those texts are looked at one by one.
    """
    plain: list[int] = []
    numbered: list[int] = []
    for shape, (text, flags) in enumerate(zip(notes.shape_text, notes.shape_flags, strict=True)):
        if flags & WORD_COMMAND and meanings[shape].kind == "nothing" and not needs_no_reading(text):
            has_digits = any(map(str.isdigit, command_name(text)))
            (numbered if has_digits else plain).append(shape)
    found: dict[str, WordCommand] = {}
    rows = _rows(notes.shape, plain)
    _count_names(found, notes, rows, notes.shape[rows], notes.shape_text)
    if numbered:
        rows = _rows(notes.shape, numbered)
        texts, which = _distinct_texts(notes, rows, source)
        _count_names(found, notes, rows, which, [*texts, FURTHER])
    if len(found) <= NAMES_LIMIT:
        return found
    most = sorted(found, key=lambda name: (name == FURTHER, -found[name].count, found[name].first_line))
    rest = [found[name] for name in most[NAMES_LIMIT:]]
    total = WordCommand(sum(c.count for c in rest), min(c.first_line for c in rest))
    return {name: found[name] for name in most[:NAMES_LIMIT]} | {FURTHER: total}


def _count_names(
    found: dict[str, WordCommand],
    notes: Notes,
    rows: npt.NDArray[np.intp],
    which: npt.NDArray[np.intp] | npt.NDArray[np.int32],
    texts: Sequence[str],
) -> None:
    """Add rows to what was found; row i has the text ``texts[which[i]]``."""
    distinct, first, counts = np.unique(which, return_index=True, return_counts=True)
    for text, row, count in zip(distinct.tolist(), rows[first].tolist(), counts.tolist(), strict=True):
        name = command_name(texts[text])[:NAME_LENGTH]
        line = int(notes.line[row])
        before = found.get(name, WordCommand(0, line))
        found[name] = WordCommand(before.count + count, min(before.first_line, line))


def fill_forward(move: I32, value: F64, moves: int, missing: float) -> F64:
    """Spread values that hold from a move on over all moves: (moves,); later marks at one move win."""
    bounds = np.minimum(np.append(move, moves), moves).astype(np.int64)
    lengths = np.maximum(np.diff(bounds), 0)
    first = int(bounds[0])
    return np.concatenate([np.full(first, missing), np.repeat(value, lengths)])
