"""What comments state about the filament that the program was made for: its diameter."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Final

import numpy as np

from viewer.read.blocks import Source
from viewer.read.comments.dialect import NUMBER
from viewer.read.notes import OWN_LINE, Notes
from viewer.read.texts import fetch_places

MAX_TEXTS: Final = 20
"""Comments that are fetched; a program states its diameter once, or once a tool."""
PLAUSIBLE_MM: Final = (1.0, 4.0)
"""Filament is made from 1.75 to 3 mm thick (common practice, no source); the rest is a placeholder or another unit."""

_DIAMETER: Final = re.compile(
    r"\W*(?:filament|material)[\s_]*diameters?(?:\s*#?\s*[0-9]+)?(?:[\s_]*[\[(]?mm[\])]?)?\s*[=:,]\s*(?P<values>[0-9.].*)",
    re.IGNORECASE | re.DOTALL,
)


@dataclass(frozen=True, slots=True)
class StatedDiameter:
    """A comment that states the filament's diameter; one value a tool."""

    line: int
    values_mm: tuple[float, ...]


def read_diameter(text: str) -> tuple[float, ...]:
    """Return the diameters, mm, that a comment states: ``filament_diameter = 2.85,2.85``; none where it states none."""
    found = _DIAMETER.fullmatch(text.strip())
    if found is None:
        return ()
    values = (float(number.group()) for number in NUMBER.finditer(found["values"]))
    return tuple(value for value in values if PLAUSIBLE_MM[0] <= value <= PLAUSIBLE_MM[1])


def stated_diameters(notes: Notes, source: Source) -> tuple[StatedDiameter, ...]:
    """Return the comments that state a filament's diameter, in order.

    Raises
    ------
    ReadError
        The file is gone before its comments could be read again.
    """
    shapes = [
        number
        for number, (text, flags) in enumerate(zip(notes.shape_text, notes.shape_flags, strict=True))
        if flags & OWN_LINE and _DIAMETER.match(text)
    ]
    if not shapes:
        return ()
    rows = np.flatnonzero(np.isin(notes.shape, shapes))[:MAX_TEXTS]
    texts = fetch_places(source, notes.offset[rows], notes.length[rows].tolist())
    read = ((line, read_diameter(text)) for line, text in zip(notes.line[rows].tolist(), texts, strict=True))
    return tuple(StatedDiameter(line, values) for line, values in read if values)
