"""Which prints an estimate may learn from: those whose computed time would be the same under the card of today.

A print taken 20 % longer than computed speaks of the card that it was computed with. Where that card was corrected since,
its error must not be corrected once more.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from viewer.cards.printer import PrinterCard
from viewer.cards.toml_card import card_of_text
from viewer.errors import CardError
from viewer.printlog.estimate import Estimate, corrected_estimate
from viewer.printlog.history import history_of
from viewer.printlog.rows import Print
from viewer.printlog.store import PrintLog
from viewer.program import Program

MOST_PRINTS: Final = 100
"""The latest: an older print says little of a machine as it is now, and a folder of programs asks for them each time."""
TIMING_KEYS: Final = (
    "max_speed_mm_s", "max_acceleration_mm_s2", "print_acceleration_mm_s2", "travel_acceleration_mm_s2",
    "retract_acceleration_mm_s2", "corner", "planner_buffer_moves", "min_segment_time_s", "obeys_program_limits",
    "retract_mm", "retract_mm_s", "homing", "levelling_s", "tool_change_s", "pause_s", "heat",
)  # fmt: skip
"""What of a printer card times are computed from."""


@dataclass(frozen=True, slots=True)
class Learnt:
    """A corrected estimate, and how many prints could not be used for it."""

    estimate: Estimate | None
    prints: int
    """Of that printer, computed as they would be today."""
    other_card: int
    """Of that printer, computed by a card that has changed since."""


def learnt(log: PrintLog, program: Program) -> Learnt:
    """Return what the log's latest prints on a program's printer say of how long it will really take.

    Raises
    ------
    BeadlineError
        The log cannot be read.
    """
    card = program.printer
    found = log.prints(printer=card.name, limit=MOST_PRINTS)
    alike = computed_alike(found, card)
    estimate = corrected_estimate(
        program.figures.time.ledger_s, history_of(alike), card.name, measured=card.motion_measured is not None
    )
    return Learnt(estimate, len(alike), len(found) - len(alike))


def computed_alike(prints: Sequence[Print], card: PrinterCard) -> list[Print]:
    """Return the prints whose time a card would give as it was given then.

    A print that came without its card, or with one that cannot be read any more, counts: nothing speaks against it.
    """
    known: dict[str, bool] = {}
    for one in prints:
        if one.printer_card not in known:
            known[one.printer_card] = _same_times(one.printer_card, card)
    return [one for one in prints if known[one.printer_card]]


def _same_times(text: str, card: PrinterCard) -> bool:
    if not text:
        return True
    try:
        then = card_of_text(text, "printer", "the card of a noted print")
    except CardError:
        return True
    return all(getattr(then, key) == getattr(card, key) for key in TIMING_KEYS)
