"""Spools in words; no Qt."""

from __future__ import annotations

from typing import TYPE_CHECKING

from viewer.shown.spool import left_text

if TYPE_CHECKING:
    from viewer.printlog.rows import SpoolState


def spool_text(state: SpoolState) -> str:
    """Return a spool for a choice: ``blue PLA, 640 g left``."""
    return f"{state.spool.label}, {left_text(state.left_g)} left"
