"""Homing commands: G28, and the early dialect's G161 and G162."""

from __future__ import annotations

from typing import Final

import numpy as np
import numpy.typing as npt

from viewer.read.events import Events

AXES: Final = "XYZ"
HOMING_CODES: Final = (280, 1610, 1620)
"""G28, G161 (to the lowest end stops), G162 (to the highest)."""
ONE_WAY_CODES: Final = (1610, 1620)


def homings(events: Events) -> npt.NDArray[np.intp]:
    """Return the rows of all commands that drive axes to their end stops, in program order."""
    return np.flatnonzero((events.letter == ord("G")) & np.isin(events.code, HOMING_CODES))


def homed_axes(events: Events, row: int) -> frozenset[str]:
    """Return the axes that a homing command homes: those that it names, or all."""
    return frozenset(events.words(row)) & frozenset(AXES) or frozenset(AXES)


def homes_one_way(events: Events) -> bool:
    """Return whether a program homes by G161 or G162: it is written in the early dialect.

    Some numbers mean something else there (common practice, no source; read from programs that explain each line):
    M109 sets the plate, M133 and M134 wait for nozzle and plate, M6 waits for all heaters, M135 T takes a tool,
    M126 and M127 switch the fan.
    """
    return bool(np.any((events.letter == ord("G")) & np.isin(events.code, ONE_WAY_CODES)))
