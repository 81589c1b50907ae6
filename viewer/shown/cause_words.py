"""The causes of the time ledger in words: what each is called, and what is booked to it."""

from __future__ import annotations

from typing import Final

from viewer.why.causes import CAUSE_NAMES, Cause

_HOW: Final[dict[str, str]] = {
    "laying": "Path of the beads over their commanded speed (with the speed factor M220).",
    "held back": "What beads take longer because an axis or the drive may not go as fast as commanded.",
    "speeding up and braking":
        "What beads take longer because speed changes at corners and ends only as fast as the acceleration allows.",
    "travel": "Moves sideways that lay nothing, wipes too.",
    "retract and prime": "Filament alone, back and forward, while the nozzle stands.",
    "height changes": "Moves up or down without any way sideways.",
    "dwell": "Waits that the program orders (G4).",
    "heating": "Waits for nozzle or plate: what is left to heat at the card's rates when the program begins to wait.",
    "homing and levelling":
        "The printer card's seconds for each homing, a third of them for each axis it names, and for each probing.",
    "tool changes":
        "The printer card's seconds for each change to another tool; one taken before filament is fed takes no time.",
    "pauses": "The printer card's seconds until somebody answers, for each pause.",
}  # fmt: skip
CAUSE_WORDS: Final = {cause: (CAUSE_NAMES[cause], how) for cause, how in _HOW.items()}
"""Cause as in `viewer.timing.CAUSES`: (name, how it is computed)."""

CAUSE_GROUPS: Final[dict[str, tuple[str, ...]]] = {
    "laying": ("laying",),
    "held back": ("held back",),
    "speeding up and braking": ("speeding up and braking",),
    "travel": ("travel",),
    "retract, height": ("retract and prime", "height changes"),
    "waits": ("dwell", "heating", "homing and levelling", "tool changes", "pauses"),
}
"""Causes put together where each gets a colour: few colours can be told apart."""
GROUP_OF: Final = {cause: group for group, causes in CAUSE_GROUPS.items() for cause in causes}


def cause_title(cause: Cause) -> str:
    """Return what a cause that is looked at is called: "held back by the top speed of X"."""
    return f"held back by the {cause.limit}" if cause.limit else CAUSE_WORDS[cause.name][0]
