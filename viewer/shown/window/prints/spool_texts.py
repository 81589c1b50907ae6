"""Spools in words; no Qt."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from viewer.printlog.rows import SpoolState


def left_text(grams: float) -> str:
    """Return what is left: ``640 g``; nothing is left where prints drew more than there was."""
    return f"{max(grams, 0.0):.0f} g"


def spool_text(state: SpoolState) -> str:
    """Return a spool for a choice: ``blue PLA, 640 g left``."""
    return f"{state.spool.label}, {left_text(state.left_g)} left"
