"""Faults of the filament's account and of the order of layers: what E words and heights say that no mark tells."""

from __future__ import annotations

import re
import statistics
from collections.abc import Callable
from dataclasses import replace

from faulty import Fault
from faulty_print import PLAIN, plain_block
from printing import Job, program
from replay import in_layer, layer_text, replay
from writer import FILAMENT_MM2, Dialect

MIDDLE = 6
"""The layer of the plain block in which it goes wrong."""
NOZZLE_MM = 0.4


def counted_from_line_to_line(first: str) -> str:
    """Write the printing of a square block whose E is counted from line to line."""
    return program(Job((first,), (plain_block(),), PLAIN, Dialect(relative_e=True)))


def drawn_per_mm(text: str) -> float:
    """Return what half of the beads draw for a mm where the E of each line is taken as fed by it."""
    e, rates = 0.0, []
    for motion in replay(text):
        e += motion.fed
        if motion.is_bead:
            rates.append(e / motion.length)
    return statistics.median(rates)


def e_counting() -> Fault:
    """Absolute E under M83, or relative E under it."""

    def write(first: str, wrong: bool) -> str:
        if not wrong:
            return counted_from_line_to_line(first)
        return program(Job((first,), (plain_block(),), PLAIN)).replace("\nM82\n", "\nM83\n", 1)

    value = drawn_per_mm(write("", wrong=True))
    return Fault(
        "e-counting", "E is written from the start of the program, but M83 counts it from line to line.",
        "E is written and counted from line to line.",
        round(value, 3), 0.034, 2.4 * NOZZLE_MM**2 / FILAMENT_MM2, "mm of filament a mm of path", write,
        place=(70.0, 4.0), line=r"^G1 X.* E", within=0.01 * value,  # coordinates have three decimals
        also=("beyond-flow", "nozzle-mismatch", "claims-differ", "bare-travel", "speed-cut"),
    )  # fmt: skip


def filament_account() -> Fault:
    """A prime that is missing once."""

    def write(first: str, wrong: bool) -> str:
        text = counted_from_line_to_line(first)
        return (
            in_layer(text, MIDDLE, lambda own: re.sub(r"^G1 E1 F.*\n", "", own, count=1, flags=re.M))
            if wrong
            else text
        )

    before, own, _ = layer_text(write("", wrong=True), MIDDLE)
    at = before.count("\n") + 1 + own[: own.index("\nG1 X")].count("\n") + 1
    bead = next(motion for motion in replay(write("", wrong=True)) if motion.line == at)
    return Fault(
        "filament-account", f"in layer {MIDDLE} filament is pulled back once and not fed again.",
        "filament is fed again after each pull.",
        1.0, 0.0, 0.3, "mm of filament", write, layer=MIDDLE, place=bead.middle,
        line=lambda text: text.count("\n", 0, text.index("\nG1 E-1 F", text.index(f"; layer {MIDDLE} at "))) + 2,
        within=0.1,  # the first bead may draw a little more than the median
    )  # fmt: skip


def layer_sequence() -> Fault:
    """A layer left out, or left out of a part that is made lower by it."""

    def write(first: str, wrong: bool) -> str:
        body = plain_block()
        above = body[MIDDLE:]
        if not wrong:
            above = [replace(layer, top=round(layer.top - PLAIN.thickness, 3)) for layer in above]
        return program(Job((first,), ([*body[: MIDDLE - 1], *above],), PLAIN))

    return Fault(
        "layer-sequence", f"layer {MIDDLE} of 10 was left out.",
        "the layers above the one left out are lowered by its height.",
        2.0, 1.0, 1.7, "usual heights", write, layer=MIDDLE, place=(110.0, 110.0),
        line=lambda text: replay_line(text, MIDDLE + 1), within=0.01,
    )  # fmt: skip


def replay_line(text: str, layer: int) -> int:
    """Return the first bead of a layer, by its mark, in a program that counts E from line to line."""
    before, own, _ = layer_text(text, layer)
    return before.count("\n") + 1 + own[: own.index("\nG1 X")].count("\n") + 1


def thick_layers() -> Fault:
    """Layers of a nozzle's diameter, or of eight tenths of it."""

    def write(first: str, wrong: bool) -> str:
        recipe = replace(PLAIN, thickness=0.42 if wrong else 0.32, width=0.5)
        return program(Job((first,), (plain_block(recipe, layers=6),), recipe))

    return Fault(
        "thick-layers", "layers are 0.42 mm thick, for a nozzle of 0.4 mm.", "layers are 0.32 mm thick.",
        1.05, 0.8, 0.8, "nozzle diameters", write, layer=2, place=(110.0, 110.0),
        line=lambda text: replay_line(text, 2), within=0.001,
    )  # fmt: skip


ACCOUNT: tuple[Callable[[], Fault], ...] = (e_counting, filament_account, layer_sequence, thick_layers)
