"""Faults in the middle of a print: what is switched off, stands still, is fed or set there."""

from __future__ import annotations

import re
from dataclasses import replace

from faulty import Fault
from faulty_print import PLAIN, job
from paths import Point
from printing import program
from replay import Motion, in_layer, replay

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


TALL = 20
"""Layers of a block that takes some minutes."""
HIGH = 11
"""The layer of the tall block at whose beginning it goes wrong."""
FAN_LAYER = 5
"""The layer from which on PLA wants the part fan, by its card."""


def before_high(text: str, commands: str, layer: int = HIGH) -> str:
    """Put commands at the beginning of a layer of the tall block."""
    return in_layer(text, layer, lambda own: f"{commands}\n{own}")


def tall(first: str) -> str:
    """Return the program of the tall block."""
    return program(job(first, layers=TALL))


def seconds_from(layer: int) -> float:
    """Return the time of the tall block's beads from a layer on, s."""
    return sum(motion.seconds for motion in replay(tall("")) if motion.is_bead and motion.layer >= layer)


def part_fan() -> Fault:
    """The fan off for good in the middle, or only for the last layer."""
    whole = seconds_from(FAN_LAYER)
    return Fault(
        "part-fan", f"the part fan is turned off before layer {HIGH} of {TALL}.",
        f"the part fan is turned off for the last of {TALL} layers.",
        round(100.0 * seconds_from(HIGH) / whole, 1), round(100.0 * seconds_from(TALL) / whole, 1), 10.0, "% of the time",
        lambda first, wrong: before_high(tall(first), "M106 S0", HIGH if wrong else TALL),
        layer=HIGH, place=(110.0, 110.0), line=r"^M106 S0$",
        within=2.0,  # speeding up and braking at the corners is left out
    )  # fmt: skip


def part_fan_in_layer_1() -> Fault:
    """The fan at full power from the first bead on, or at half."""
    return Fault(
        "part-fan.layer-1", "the part fan runs at full power in layer 1.", "the part fan runs at half power in layer 1.",
        100.0, 0.0, 50.0, "% of the time",
        lambda first, wrong: before_high(tall(first), "M106 S255" if wrong else "M106 S128", 1),
        layer=1, place=(110.0, 110.0), line=r"^M106 S255$",
    )  # fmt: skip


def part_fan_at_one() -> Fault:
    """The fan's power counted to 1 or to 255."""
    return Fault(
        "part-fan.one", "the part fan is switched on by M106 S1.", "the part fan is switched on by M106 S255.",
        1.0, 255.0, 255.0, "power (S)",
        lambda first, wrong: re.sub("^M106 S255$", "M106 S1", tall(first), flags=re.M) if wrong else tall(first),
        layer=2, place=(110.0, 110.0), line=r"^M106 S1$",
    )  # fmt: skip


def place_before(layer: int) -> Point:
    """Return where the nozzle stands when a layer of the tall block begins."""
    return [motion for motion in replay(tall("")) if motion.layer < layer][-1].end[:2]


def stands_still() -> Fault:
    """A wait on the part, or a short one there and a long one above it."""
    above = "G4 S4\nG0 Z7 F600\nG4 S20"
    return Fault(
        "stands-still", "the nozzle waits for 20 s on the part.",
        "the nozzle waits for 4 s on the part, and for 20 s lifted by 5 mm.",
        20.0, 4.0, 5.0, "s", lambda first, wrong: before_high(tall(first), "G4 S20" if wrong else above),
        layer=HIGH - 1, place=place_before(HIGH), line=r"^G4 S20$",
    )  # fmt: skip


def pauses_on_the_part() -> Fault:
    """A pause on the part, or above it: 0 s on it; how long people take is the printer card's."""
    return Fault(
        "stands-still.pause", "the program waits for somebody with the nozzle on the part.",
        "the nozzle is lifted by 20 mm before the pause.",
        300.0, 0.0, 5.0, "s",
        lambda first, wrong: before_high(tall(first), "M0" if wrong else "G0 Z22 F600\nM0"),
        layer=HIGH - 1, place=place_before(HIGH), line=r"^M0$",
    )  # fmt: skip


def homed_in_print() -> Fault:
    """Z homed on the part, or before it is begun."""
    laid = max(motion.end[2] for motion in replay(tall("")) if motion.is_bead and motion.layer < HIGH)
    return Fault(
        "homed-in-print", f"Z is homed with the nozzle above the part, before layer {HIGH}.",
        "Z is homed before layer 1.",
        laid, 0.0, 1.0, "mm of part below",
        lambda first, wrong: before_high(tall(first), "G28 Z0", HIGH if wrong else 1),
        layer=HIGH, place=(110.0, 110.0), line=r"^G28 Z0$", within=1e-4,
    )  # fmt: skip


def slow_lines() -> Fault:
    """One line that creeps for more than a minute, or for less."""

    def write(first: str, wrong: bool) -> str:
        creeps = rf"\1 F{12 if wrong else 20}\n\3 F\2\n"
        line = r"^(G1 X\S+ Y\S+ E\S+) F(\d+)\n(G1 X\S+ Y\S+ E\S+)\n"
        return in_layer(tall(first), HIGH, lambda own: re.sub(line, creeps, own, count=1, flags=re.M))

    def longest(wrong: bool) -> float:
        return round(max(motion.seconds for motion in replay(write("", wrong)) if motion.is_bead), 2)

    return Fault(
        "slow-lines", "one wall is commanded at 0.2 mm/s (F12).", "one wall is commanded at 0.33 mm/s (F20).",
        longest(True), longest(False), 60.0, "s", write, layer=HIGH, place=(110.0, 110.0), line=r"^G1 X.* F12$",
        within=0.5,  # speeding up and braking are left out
    )  # fmt: skip


def lasting_settings() -> Fault:
    """The soft end stops off for good, or only for a while."""
    return Fault(
        "lasting-settings", "the soft end stops are turned off and stay off.",
        "the soft end stops are turned off and on again.",
        1.0, 0.0, 0.0, "settings that stay",
        lambda first, wrong: tall(first).replace("G28\n", "G28\nM211 S0\n" + ("" if wrong else "M211 S1\n"), 1),
        line=r"^M211 S0$",
    )  # fmt: skip


def plate_still_cold() -> Fault:
    """Nothing waits for the plate, or M190 does."""
    recipe = replace(PLAIN, plate_c=70)
    warm = program(job("", recipe))
    moving = sum(motion.seconds for motion in replay(warm) if motion.layer == 0)
    homing, nozzle = (
        25.0,
        (210.0 - (21.0 + 2.0 * 25.0)) / 2.0,
    )  # by the card of Heron: M104 warms it while it homes
    short = 70.0 - (21.0 + 0.3 * (homing + nozzle + moving))
    return Fault(
        "plate-still-cold", "nothing waits until the plate has its 70 degC.", "M190 waits for the plate.",
        round(short, 1), 0.0, 10.0, "degC short",
        lambda first, wrong: program(job(first, recipe)).replace("M190 S70\n", "" if wrong else "M190 S70\n", 1),
        layer=1, place=first_bead(warm).middle, line=r"^M140 S70$", within=1.0,  # the way to the first bead is left out
    )  # fmt: skip


def first_bead(text: str) -> Motion:
    """Return the first bead of layer 1."""
    return next(motion for motion in replay(text) if motion.is_bead and motion.layer == 1)


MIDPRINT = (
    off_in_print, part_fan, part_fan_in_layer_1, part_fan_at_one, stands_still, pauses_on_the_part, homed_in_print,
    slow_lines, lasting_settings, plate_still_cold,
)  # fmt: skip
