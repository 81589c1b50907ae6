"""The causes of the time ledger in words: what each is called, and what is booked to it."""

from __future__ import annotations

from typing import Final

CAUSE_WORDS: Final[dict[str, tuple[str, str]]] = {
    "laying": (
        "laying at the commanded speed",
        "Path of the beads over their commanded speed (with the speed factor M220).",
    ),
    "held back": (
        "held back by the machine's limits",
        "What beads take longer because an axis or the drive may not go as fast as commanded.",
    ),
    "speeding up and braking": (
        "speeding up and braking",
        "What beads take longer because speed changes at corners and ends only as fast as the acceleration allows.",
    ),
    "travel": ("travel", "Moves sideways that lay nothing, wipes too."),
    "retract and prime": ("retract and prime", "Filament alone, back and forward, while the nozzle stands."),
    "height changes": ("height changes", "Moves up or down without any way sideways."),
    "dwell": ("dwell", "Waits that the program orders (G4)."),
    "heating": (
        "heating",
        "Waits for nozzle or plate: what is left to heat at the card's rates when the program begins to wait.",
    ),
    "homing and levelling": (
        "homing and levelling",
        "The printer card's seconds for each homing, a third of them for each axis it names, and for each probing.",
    ),
    "tool changes": ("tool changes", "The printer card's seconds for each change to another tool."),
    "pauses": ("pauses", "The printer card's seconds until somebody answers, for each pause."),
}
"""Cause as in `viewer.timing.CAUSES`: (name, how it is computed)."""
