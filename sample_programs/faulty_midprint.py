"""Faults in the middle of a print: what is switched off, stands still, is fed or set there."""

from __future__ import annotations

from faulty import Fault
from faulty_print import job
from printing import program
from replay import in_layer, replay

MIDDLE = 6
"""The layer of the plain block at whose beginning it goes wrong."""


def before_middle(text: str, commands: str) -> str:
    """Put commands at the beginning of the middle layer."""
    return in_layer(text, MIDDLE, lambda own: f"{commands}\n{own}")


def off_in_print() -> Fault:
    """The nozzle off in the middle, or only cooler, with the motor of the filament let go and a time of rest set."""

    def write(first: str, wrong: bool) -> str:
        return before_middle(
            program(job(first)), "M104 S0" if wrong else "M104 S200\nM140 S50\nM84 E\nM84 S60"
        )

    seconds = sum(
        motion.seconds
        for motion in replay(write("", wrong=True))
        if motion.is_bead and motion.layer >= MIDDLE
    )
    return Fault(
        "off-in-print", f"the nozzle is switched off before layer {MIDDLE} of 10.",
        "there the nozzle is set 5 degC lower and the plate 10 degC, and M84 names only the filament's motor.",
        round(seconds, 1), 0.0, 2.0, "s of beads", write, layer=MIDDLE, place=(110.0, 110.0),
        line=r"^M104 S0$", within=0.15 * seconds,  # speeding up and braking at the corners is left out
    )  # fmt: skip


MIDPRINT = (off_in_print,)
