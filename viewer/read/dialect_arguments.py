"""What the letters behind a command mean, in plain words."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

_HEAT: Final = {"S": "to {v} °C", "R": "to {v} °C", "T": "of tool {v}", "P": "heater {v}"}
_PAUSE: Final = {"S": "for {v} s", "P": "for {v} ms"}
_AXES_MM_S2: Final = {letter: letter + ": {v} mm/s²" for letter in "XYZ"}

_MOTORS: Final = {
    **{letter: f"motor of {letter}|motor of {letter}" for letter in "XYZE"},
    "S": "after {v} s without a move",
}
_OWN: Final = "as the machine defines it: {letter} {v}|as the machine defines it: {letter}"

_ONE_WAY: Final = {
    **{letter: letter + " is homed|" + letter + " is homed" for letter in "XYZ"},
    "F": "at {v} mm a minute",
}

ARGUMENTS: Final[Mapping[str, Mapping[str, str]]] = {
    "G4": {"P": "{v} milliseconds", "S": "{v} seconds"},
    "G10": {
        "P": "tool {v}",
        "S": "while printing {v} °C",
        "R": "while waiting {v} °C",
        "L": "kind of setting, {v}",
    },
    "G28": {
        **{letter: letter + " is homed|" + letter + " is homed" for letter in "XYZ"},
        "W": "as the machine defines it|without probing the plate afterwards, on some machines",
        "*": _OWN,
    },
    **dict.fromkeys(("G161", "G162"), _ONE_WAY),
    "M132": {letter: f"{letter}|{letter}" for letter in "XYZAB"},
    "M133": {"T": "tool {v}", "P": "for {v} s at the longest"},
    "M134": {"T": "heater {v}", "P": "for {v} s at the longest"},
    "M135": {"T": "tool {v}"},
    "G29": {"*": "how to probe, " + _OWN.replace("|", "|how to probe, ")},
    "M0": _PAUSE,
    "M1": _PAUSE,
    "M25": _PAUSE,
    "M226": _PAUSE,
    "M601": _PAUSE,
    "M73": {
        "P": "{v} % done",
        "R": "{v} minutes left",
        "Q": "{v} % done, quiet mode",
        "S": "{v} minutes left, quiet mode",
    },
    "M84": _MOTORS,
    "M18": _MOTORS,
    "M17": _MOTORS,
    "M104": _HEAT,
    "M109": _HEAT,
    "M140": _HEAT,
    "M190": _HEAT,
    "M141": _HEAT,
    "M191": _HEAT,
    "M106": {"S": "power {v}", "P": "fan number {v}"},
    "M107": {"P": "fan number {v}"},
    "M110": {"N": "from {v}"},
    "M200": {
        "D": "filament {v} mm thick (0: counted by length)",
        "S": "on (1) or off (0): {v}",
        "T": "of tool {v}",
    },
    "M201": {**_AXES_MM_S2, "E": "filament: {v} mm/s²"},
    "M202": {**_AXES_MM_S2, "E": "filament: {v} mm/s²"},
    "M203": {
        **{letter: letter + ": {v} mm/s (above 2000: mm a minute)" for letter in "XYZ"},
        "E": "filament: {v} mm/s (above 2000: mm a minute)",
    },
    "M204": {
        "P": "printing: {v} mm/s²",
        "T": "travel: {v} mm/s²",
        "R": "filament alone: {v} mm/s²",
        "S": "printing and travel: {v} mm/s²",
    },
    "M205": {
        **{letter: letter + " may change speed at once by {v} mm/s" for letter in "XYZ"},
        "E": "filament may change speed at once by {v} mm/s",
        "J": "a corner may leave the path by {v} mm",
        "S": "slowest speed of printing, {v} mm/s",
        "T": "slowest speed of travel, {v} mm/s",
        "B": "shortest time of a move, {v} µs",
        "P": "{v}, as the machine defines it",
    },
    "M566": {
        **{letter: letter + ": {v} mm a minute" for letter in "XYZ"},
        "E": "filament: {v} mm a minute",
        "P": "when it applies, as the machine defines it: {v}",
    },
    "M207": {
        "S": "pull back {v} mm",
        "F": "at {v} mm a minute",
        "Z": "lift by {v} mm",
        "W": "{v} mm at a tool change",
    },
    "M208": {
        "S": "feed {v} mm further",
        "F": "at {v} mm a minute",
        "W": "{v} mm further at a tool change",
    },
    "M220": {
        "S": "{v} % of the commanded speed|",
        "B": "keep the present one|keep the present one",
        "R": "take up the kept one|take up the kept one",
    },
    "M221": {
        "S": "{v} % of the commanded filament",
        "T": "of tool {v}",
        "D": "of tool {v}",
        "P": "of tool {v}",
    },
    "M300": {"S": "pitch {v} Hz", "P": "for {v} ms"},
    "M486": {
        "S": "object number {v} (-1: none)",
        "T": "{v} objects in all",
        "A": "its name follows|its name follows",
    },
    "M600": {letter: letter + ": {v}, where and how far, as the machine defines it" for letter in "XYZEUL"},
    "M6": {"T": "tool {v}"},
    "M622": {"J": "carried out when the answer was {v}; 0 is passed over here"},
    "M900": {"K": "strength {v}"},
    "M572": {"S": "strength {v}", "D": "of drive {v}"},
    "M92": {letter: letter + ": {v} steps for each mm" for letter in "XYZE"},
    "T": {"*": _OWN},
}
"""By command: letter to meaning; ``{v}`` is the number, behind ``|`` stands the meaning of the letter alone.

``*`` is any letter.
"""
