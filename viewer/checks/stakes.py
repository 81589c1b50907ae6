"""How much is at stake where a check finds something: among findings of one severity the larger stake comes first."""

from __future__ import annotations

from enum import IntEnum
from typing import Final

from viewer.checks.finding import Finding


class Stake(IntEnum):
    """What is lost in the worst case; smaller comes first."""

    HARM = 0
    """People, the machine, the room: whatever calls for caution."""
    PRINT = 1
    """The whole print, with its time and filament."""
    PART = 2
    """A place of the part: its strength, its looks."""
    ACCOUNT = 3
    """What is said of it: times, amounts, costs."""


STAKES: Final[dict[str, Stake]] = {
    **dict.fromkeys(
        (
            "off-plate", "not-homed", "too-hot-for-machine", "heaters-left-on", "no-shutdown", "drives-into-print",
            "head-hits-print", "below-plate", "beyond-reach", "off-in-print", "stands-still", "homed-in-print",
        ),
        Stake.HARM,
    ),
    **dict.fromkeys(
        (
            "cut-short", "garbled", "checksum", "no-beads", "more-tools", "nozzle-mismatch", "made-for",
            "plate-still-cold", "wrong-heat", "abrasive", "spool-short", "e-counting", "filament-account", "topples",
            "gaps", "first-layer-height", "mid-air-start", "layer-sequence", "after-closing",
        ),
        Stake.PRINT,
    ),
    **dict.fromkeys(
        (
            "beyond-flow", "part-fan", "tiny-island", "first-layer-speed", "steep-overhang", "long-bridge",
            "thin-feature", "bare-travel", "thick-layers", "quick-layers",
        ),
        Stake.PART,
    ),
    **dict.fromkeys(
        ("unknown-commands", "speed-cut", "slow-lines", "lasting-settings", "claims-differ"), Stake.ACCOUNT
    ),
}  # fmt: skip
"""Of every check (common practice, no source); a finding that names a hazard has the stake `HARM` whatever its check."""


EDGES: Final = frozenset({"off-plate", "beyond-reach"})
"""Checks whose value and limit are places."""
PLATE_MM: Final = 200.0
"""A distance beyond an edge counts as a share of this, a usual plate's side (common practice, no source)."""


def stake_of(finding: Finding) -> Stake:
    """Return how much is at stake in one finding of one of our checks."""
    return Stake.HARM if finding.hazard is not None else STAKES[finding.slug]


def beyond(finding: Finding) -> float:
    """Return how far a value lies beyond its limit, as a share of the limit; 0 where it has none to compare with.

    Where the limit is an edge, its place says nothing: the left one lies at 0 mm.
    """
    if finding.value is not None and finding.limit is not None and finding.slug in EDGES:
        return abs(finding.value - finding.limit) / PLATE_MM
    if finding.value is None or not finding.limit:
        return 0.0
    return abs(finding.value - finding.limit) / abs(finding.limit)
