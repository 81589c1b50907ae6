"""Faults of the file itself: cut short, garbled, wrong checksums, commands nobody knows."""

from __future__ import annotations

import random
import re

from faulty import Fault
from faulty_print import job, numbered
from printing import program
from replay import replay
from writer import checksum

SEED = 20240229
LAYERS = 10
"""Of the plain block."""


def cut_short() -> Fault:
    """A program that ends in the middle of a number, or ends whole with words after its shut-down."""

    def write(first: str, wrong: bool) -> str:
        text = program(job(first))
        if not wrong:
            return text + "; checked at the bench\n\n"
        ends = [found.end() for found in re.finditer(r"^G1 X\d\d", text, re.MULTILINE)]
        return text[: ends[int(0.6 * len(ends))]]

    cut = write("", wrong=True)
    marks, last = re.findall(r"^; layer (\d+) at", cut, re.MULTILINE), replay(cut.rpartition("\n")[0])[-1]
    return Fault(
        "cut-short", "the program ends in the middle of a number; its shut-down is missing.",
        "whole; only a remark and an empty line come after the shut-down.", int(marks[-1]) / LAYERS, 1.0, 1.0,
        "of the program, by its own claims", write, layer=int(marks[-1]), place=last.end[:2],
        line=lambda text: text.count("\n") + 1, also=("heaters-left-on", "claims-differ"),
    )  # fmt: skip


def garbled() -> Fault:
    """Three lines that are no text, two numbers with an exponent, or a remark in another alphabet."""

    def write(first: str, wrong: bool) -> bytes:
        lines = program(job(first)).encode().split(b"\n")
        if not wrong:
            return b"\n".join([lines[0], "; Düse 0,4 mm, 60 °C, geprüft".encode(), *lines[1:]])
        dice = random.Random(SEED)
        beads = [k for k, line in enumerate(lines) if line.startswith(b"G1 X") and b" E" in line]
        for k in beads[40:43]:
            lines[k] = lines[k][:6] + bytes(dice.randrange(0x80, 0x100) for _ in range(12)) + lines[k][9:]
        for k in beads[60:62]:
            lines[k] = lines[k].split(b" E")[0] + b" E1E-5"
        return b"\n".join(lines)

    return Fault(
        "garbled", "three lines hold bytes that are no text, and two hold a number with an exponent (E1E-5).",
        "only a remark with letters beyond ASCII (UTF-8).", 5.0, 0.0, 0.0, "places", write,
        line=r"[\x80-\xff]",
    )  # fmt: skip


def checksums() -> Fault:
    """One digit changed after the checksum was made, or all right and begun with M110."""

    def write(first: str, wrong: bool) -> str:
        lines = numbered(first).splitlines()
        if wrong:
            k = next(k for k, line in enumerate(lines) if line.startswith("N200 "))
            lines[k] = re.sub(r"(\d)(?=\*)", lambda m: str((int(m[1]) + 1) % 10), lines[k])
        else:
            start = "N0 M110 N0"
            lines.insert(1, f"{start}*{checksum(start)}")
        return "\n".join(lines) + "\n"

    return Fault(
        "checksum", "in the line numbered N200 one digit differs from what its checksum was made of.",
        "all checksums add up; numbering is set with M110.", 1.0, 0.0, 0.0, "lines", write, line=r"^N200 ",
    )  # fmt: skip


def unknown_commands() -> Fault:
    """Commands no machine has, or rare ones that many have."""

    def write(first: str, wrong: bool) -> str:
        extra = "M7777 S1\nG99 X1\nM7777 S0\n" if wrong else "M400\nM117 Half done\nM73 P50\n"
        return program(job(first)).replace("; layer 5 at", f"{extra}; layer 5 at")

    return Fault(
        "unknown-commands",
        "before the fifth layer stand M7777 (twice) and G99, which no machine is known to have.",
        "there stand M400, M117 and M73, which are rare but known.", 3.0, 0.0, 0.0, "commands", write,
        line=r"^M7777",
    )  # fmt: skip


TEXT = (cut_short, garbled, checksums, unknown_commands)
