"""Programs with one planted fault each: what drives, cables, editors and wrong settings do to a good program."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from itertools import pairwise
from typing import Any

Change = Callable[[str], str | bytes]
MARK = re.compile(r"^; layer (\d+) at .*\n", re.MULTILINE)
NUMBER = r"(-?[\d.]+)"
LAYERS = 10
MIDDLE = 6
"""The layer of the block at whose beginning faults are put in."""


@dataclass(frozen=True, slots=True)
class Planted:
    """One fault: how it is made, and the checks that may answer it."""

    name: str
    change: Change
    slugs: frozenset[str]
    cards: Mapping[str, Mapping[str, Any]] = field(default_factory=dict)


def replaced(pattern: str, by: str | Callable[[re.Match[str]], str], count: int = 0) -> Change:
    """Replace what a pattern finds in all lines, or in the first few; it must be there."""

    def change(text: str) -> str:
        made, found = re.subn(pattern, by, text, count=count, flags=re.MULTILINE)
        assert found, pattern
        return made

    return change


def scaled(letter: str, factor: float = 1.0, plus: float = 0.0) -> Change:
    """Multiply the numbers of one letter in lines that move, and add something."""
    word = re.compile(rf"(?<= ){letter}{NUMBER}")

    def one(line: str) -> str:
        if not line.startswith(("G0 ", "G1 ")):
            return line
        return word.sub(lambda found: f"{letter}{float(found[1]) * factor + plus:.5f}", line)

    return lambda text: "\n".join(one(line) for line in text.split("\n"))


def after(*changes: Change) -> Change:
    """Make one change after another."""

    def change(text: str) -> str | bytes:
        made: str | bytes = text
        for one in changes:
            assert isinstance(made, str)
            made = one(made)
        return made

    return change


def pieces(text: str) -> list[str]:
    """Return the beginning, each layer, and the end from the last lift on."""
    starts = [found.start() for found in MARK.finditer(text)]
    assert len(starts) == LAYERS
    end = text.rindex("G0 Z12 F600")
    bounds = [0, *starts, end, len(text)]
    return [text[a:b] for a, b in pairwise(bounds)]


def in_layers(first: int, last: int, change: Change) -> Change:
    """Change only the text of some layers."""

    def made(text: str) -> str:
        own = pieces(text)
        for k in range(first, last + 1):
            one = change(own[k])
            assert isinstance(one, str)
            own[k] = one
        return "".join(own)

    return made


def before_middle(commands: str) -> Change:
    """Put commands at the beginning of the middle layer."""
    return in_layers(MIDDLE, MIDDLE, lambda own: f"{commands}\n{own}")


def at_start(commands: str) -> Change:
    """Put commands behind the homing."""
    return replaced(r"^G28$", f"G28\n{commands}", 1)


def relative(text: str) -> str:
    """Return a program with absolute E as one that counts E from line to line."""
    at, lines = 0.0, []
    for line in text.split("\n"):
        found = re.search(rf" E{NUMBER}", line)
        if found and line.startswith("G1 "):
            lines.append(line.replace(found[0], f" E{float(found[1]) - at:.5f}"))
            at = float(found[1])
        else:
            lines.append("M83" if line == "M82" else line)
    return "\n".join(lines)


def reset_each_layer(text: str) -> str:
    """Return a program with absolute E with G92 E0 at each layer's beginning."""
    own, base, at = pieces(text), 0.0, 0.0
    for k in range(1, len(own)):
        lines = []
        for line in own[k].split("\n"):
            found = re.search(rf" E{NUMBER}", line)
            if found:
                at = float(found[1])
                line = line.replace(found[0], f" E{at - base:.5f}")
            lines.append(line)
        own[k] = "\n".join(lines)
        if k < len(own) - 1:
            own[k] += "G92 E0\n"
            base = at
    return "".join(own)


def without_marks(text: str) -> str:
    """Return a program without its comments."""
    return "\n".join(line for line in text.split("\n") if not line.startswith(";"))


def left_out(first: int, last: int) -> Change:
    return lambda text: "".join(one for k, one in enumerate(pieces(text)) if not first <= k <= last)


def doubled(text: str) -> str:
    own = pieces(text)
    return "".join([*own[: MIDDLE + 1], *own[MIDDLE:]])


def swapped(text: str) -> str:
    own = pieces(text)
    own[MIDDLE], own[MIDDLE + 1] = own[MIDDLE + 1], own[MIDDLE]
    return "".join(own)


def cut_after(share: float) -> Change:
    return lambda text: text[: int(share * len(text))]


def no_lines(first: float, last: float) -> Change:
    """Take a stretch of lines out, from one share of the program to another."""

    def change(text: str) -> str:
        lines = text.split("\n")
        return "\n".join(lines[: int(first * len(lines))] + lines[int(last * len(lines)) :])

    return change


def bytes_at(share: float, damage: bytes) -> Change:
    def change(text: str) -> bytes:
        plain = text.encode()
        at = int(share * len(plain))
        return plain[:at] + damage + plain[at + len(damage) :]

    return change


def numbered(text: str) -> str:
    """Return a program with N words and checksums, without comments."""
    made = []
    for number, line in enumerate((one for one in text.split("\n") if one and one[0] != ";"), 1):
        own = f"N{number} {line}"
        total = 0
        for byte in own.encode():
            total ^= byte
        made.append(f"{own}*{total}")
    return "\n".join(made) + "\n"


def swap_lines(first: int, second: int) -> Change:
    def change(text: str) -> str:
        lines = text.split("\n")
        lines[first], lines[second] = lines[second], lines[first]
        return "\n".join(lines)

    return change


def _fault(name: str, change: Change, slugs: str, **cards: Mapping[str, Any]) -> Planted:
    return Planted(name, change, frozenset(slugs.split()), cards)


MID = "off-in-print stands-still homed-in-print slow-lines"
PATH = "drives-into-print head-hits-print below-plate beyond-reach off-plate"
FAN = "part-fan quick-layers"
LASTING = "lasting-settings"
ACCOUNT = "filament-account cut-short e-counting"

PLANTED: tuple[Planted, ...] = (
    # the file
    _fault("end cut off", cut_after(0.6), "cut-short"),
    _fault("cut within a number", cut_after(0.8), "cut-short"),
    _fault("last lines gone", replaced(r"^G0 X10 Y200 F7200\n(.*\n)*", ""), "cut-short no-shutdown heaters-left-on"),
    _fault("a stretch of lines gone", no_lines(0.4, 0.7), ACCOUNT + " mid-air-start layer-sequence"),
    _fault("a few lines gone", no_lines(0.4, 0.46), ACCOUNT + " mid-air-start layer-sequence gaps"),
    _fault("a run of zero bytes", bytes_at(0.5, bytes(300)), "garbled cut-short"),
    _fault("damaged bytes", bytes_at(0.5, b"\xff\xfe\x81" * 5), "garbled"),
    _fault("a digit lost behind a checksum", after(numbered, replaced("Y117.063", "Y17.063", 1)), "checksum"),
    _fault("lines in the wrong order", after(numbered, swap_lines(200, 300)), "checksum"),
    _fault("two programs in one", lambda text: text + text, "cut-short layer-sequence two-programs filament-account "
           + MID + " " + PATH),
    _fault("exponents", replaced(r"E(\d+)\.(\d+)$", r"E\1\2e-5", 40), "garbled"),
    _fault("commas in numbers", replaced(r"X(\d+)\.(\d+)", r"X\1,\2"), "garbled"),
    _fault("l for 1", replaced("^G1 X", "Gl X", 60), "garbled unknown-commands cut-short"),
    _fault("no E", replaced(r" E-?[\d.]+", ""), "no-beads"),
    _fault("claims of twice the filament", replaced(r"(?<=filament needed: )\S+", "282.26"), "claims-differ"),
    # the machine
    _fault("not homed", replaced("^G28\n", ""), "not-homed"),
    _fault("Z not homed", replaced("^G28$", "G28 X Y"), "not-homed"),
    _fault("inches", replaced("^G21$", "G20"), "off-plate nozzle-mismatch first-layer-height"),
    _fault("inches in the midst", before_middle("G20"), "off-plate"),
    _fault("beside the plate", scaled("X", plus=110.0), "off-plate"),
    _fault("about the origin", after(scaled("X", plus=-110.0), scaled("Y", plus=-110.0)), "off-plate"),
    _fault("twice as large", after(scaled("X", 2.0), scaled("Y", 2.0)), "off-plate nozzle-mismatch"),
    _fault("half as large", after(scaled("X", 0.5), scaled("Y", 0.5)), "nozzle-mismatch"),
    _fault("nozzle of 0.8 mm", lambda text: text, "nozzle-mismatch", printer={"nozzle_mm": 0.8}),
    _fault("nozzle of 0.2 mm", lambda text: text, "nozzle-mismatch thick-layers", printer={"nozzle_mm": 0.2}),
    _fault("second tool", at_start("T1"), "more-tools"),
    _fault("emergency stop", before_middle("M112"), MID),
    _fault("motors off", before_middle("M84"), MID),
    _fault("a wait of ten minutes", before_middle("G4 S600"), MID),
    _fault("homing in the midst", before_middle("G28"), MID + " " + PATH),
    _fault("Z homed in the midst", before_middle("G28 Z"), MID + " " + PATH),
    _fault("origin moved in the midst", before_middle("G92 X0"), "off-plate mid-air-start steep-overhang"),
    _fault("relative in the midst", before_middle("G91"), "off-plate mid-air-start"),
    _fault("steps of an axis changed", at_start("M92 X160"), LASTING),
    _fault("settings stored", at_start("M206 Z-0.2\nM500"), LASTING),
    _fault("cold extrusion allowed", at_start("M302 S0"), LASTING),
    _fault("speeds tenfold", scaled("F", 10.0), "speed-cut beyond-flow first-layer-speed"),
    _fault("speeds in mm/s", scaled("F", 1.0 / 60.0), "" + MID),
    _fault("a digit too many in X", replaced("X102.937 Y105.816", "X1102.937 Y105.816", 1), "off-plate"),
    # heat
    _fault("nozzle never heated", replaced("^M10[49] S(210|150|205)\n", ""), "wrong-heat"),
    _fault("no wait for the nozzle", replaced("^M109 S210$", "M104 S210"), "wrong-heat"),
    _fault("no wait for the plate", replaced("^M190 S60\n", ""), "plate-still-cold"),
    _fault("nozzle off in the midst", before_middle("M104 S0"), MID),
    _fault("plate off in the midst", before_middle("M140 S0"), MID),
    _fault("nozzle at 300", replaced("^M109 S210$", "M109 S300"), "too-hot-for-machine wrong-heat"),
    _fault("nozzle at 2100", replaced("^M109 S210$", "M109 S2100"), "too-hot-for-machine wrong-heat"),
    _fault("nozzle at 250", replaced("^M10[49] S(210|205)$", "M109 S250"), "wrong-heat"),
    _fault("nozzle at 160", replaced("^M10[49] S(210|205)$", "M109 S160"), "wrong-heat"),
    _fault("plate at 150", replaced("^M190 S60$", "M190 S150"), "too-hot-for-machine wrong-heat"),
    _fault("heaters left on", replaced("^M1[04][04] S0\n", ""), "heaters-left-on no-shutdown cut-short"),
    # the filament
    _fault("half the flow", scaled("E", 0.5), "nozzle-mismatch gaps claims-differ"),
    _fault("twice the flow", scaled("E", 2.0), "nozzle-mismatch beyond-flow claims-differ"),
    _fault("filament of 2.85 mm", scaled("E", (1.75 / 2.85) ** 2), "nozzle-mismatch gaps"),
    _fault("flow of 30 %", at_start("M221 S30"), "nozzle-mismatch gaps claims-differ"),
    _fault("absolute E counted relatively", replaced("^M82$", "M83"), "e-counting"),
    _fault("relative E counted absolutely", after(relative, replaced("^M83$", "M82")), "e-counting"),
    _fault("relative E from the middle on", before_middle("M83"), "e-counting"),
    _fault("no G92 at a layer", after(reset_each_layer, in_layers(MIDDLE, MIDDLE, replaced("^G92 E0\n", ""))), ACCOUNT),
    _fault("G92 E0 too many", before_middle("G92 E0"), ACCOUNT),
    _fault("G92 E500 too many", before_middle("G92 E500"), ACCOUNT),
    _fault("primes gone", after(relative, in_layers(2, LAYERS, replaced(r"^G1 E1\.\S+ F2100\n", ""))), ACCOUNT),
    _fault("one prime gone", after(relative, in_layers(MIDDLE, MIDDLE, replaced(r"^G1 E1\.\S+ F2100\n", "", 1))),
           ACCOUNT),
    _fault("pulls gone", after(relative, in_layers(2, LAYERS, replaced(r"^G1 E-1\.\S+ F2100\n", ""))), ACCOUNT),
    _fault("a point lost in E", in_layers(MIDDLE, MIDDLE, replaced(r"E(\d+)\.(\d+)$", r"E\1\2", 1)),
           ACCOUNT + " garbled"),
    _fault("spool nearly empty", lambda text: text, "spool-short", filament={"spool_left_g": 0.2}),
    # layers
    _fault("a layer twice", after(relative, doubled), "layer-sequence"),
    _fault("a layer twice, E absolute", doubled, "layer-sequence filament-account"),
    _fault("layers swapped", after(relative, swapped), "layer-sequence"),
    _fault("layers swapped, without marks", after(relative, swapped, without_marks), "layer-sequence"),
    _fault("a layer left out", after(relative, left_out(MIDDLE, MIDDLE)), "layer-sequence cut-short"),
    _fault("a layer left out, without marks", after(relative, left_out(MIDDLE, MIDDLE), without_marks),
           "layer-sequence cut-short"),
    _fault("three layers left out", after(relative, left_out(4, 6), without_marks), "layer-sequence cut-short"),
    _fault("first layers left out", after(relative, left_out(1, 3), without_marks),
           "first-layer-height layer-sequence mid-air-start"),
    _fault("layers thrice as high", scaled("Z", 3.0), "thick-layers first-layer-height nozzle-mismatch"),
    _fault("too high by 0.3 mm", scaled("Z", plus=0.3), "first-layer-height"),
    _fault("too high by 5 mm", scaled("Z", plus=5.0), "first-layer-height"),
    _fault("too low by 0.4 mm", scaled("Z", plus=-0.4), "off-plate first-layer-height"),
    _fault("first layer at half flow", after(relative, in_layers(1, 1, scaled("E", 0.5))), "gaps first-layer-flow"),
    _fault("first layer at fourfold speed", in_layers(1, 1, scaled("F", 4.0)), "first-layer-speed"),
    _fault("shifted in the midst", in_layers(MIDDLE, LAYERS, scaled("Y", plus=8.0)), "mid-air-start steep-overhang"),
    # the path
    _fault("through the part", before_middle("G0 Z0.4 F600\nG0 X100 Y110 F7200\nG0 X120 Y110\nG0 Z1.2 F600"), PATH),
    _fault("end through the part", replaced("^G0 Z12 F600$", "G0 Z0.6 F600"), PATH),
    _fault("into the plate", before_middle("G0 X20 Y20 F7200\nG0 Z-5 F600\nG0 Z1.2"), PATH),
    _fault("beyond the reach", before_middle("G0 Z20 F600\nG0 X400 Y110 F7200\nG0 X110 Y110\nG0 Z1.2 F600"), PATH),
    # the fan
    _fault("fan never on", replaced("^M106 S255\n", ""), FAN),
    _fault("fan at 1 of 255", replaced("^M106 S255$", "M106 S1"), FAN),
    _fault("fan off in the midst", before_middle("M107"), FAN),
    _fault("fan full in the first layer", replaced("^M107$", "M106 S255", 1), FAN),
)  # fmt: skip
"""All of them."""
