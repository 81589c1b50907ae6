"""Which commands are understood, and what each is in plain words."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

MEANINGS: Final[Mapping[str, str]] = {
    "G0": "go there, usually without laying filament",
    "G1": "go there in a straight line",
    "G2": "go there along an arc, clockwise",
    "G3": "go there along an arc, counter-clockwise",
    "G4": "wait (P milliseconds or S seconds)",
    "G10": "draw filament back by the machine's own length; with P: settings of a tool",
    "G11": "push filament forth again by the machine's own length",
    "G17": "arcs lie in the plane of X and Y",
    "G18": "arcs lie in the plane of Z and X",
    "G19": "arcs lie in the plane of Y and Z",
    "G20": "numbers are inches from here",
    "G21": "numbers are millimetres from here",
    "G28": "home: drive the named axes, or all, to their end stops",
    "G29": "probe how the plate lies",
    "G53": "this line counts in machine coordinates",
    "G54": "work coordinates 1", "G55": "work coordinates 2", "G56": "work coordinates 3",
    "G57": "work coordinates 4", "G58": "work coordinates 5", "G59": "work coordinates 6",
    "G90": "positions are counted from the origin",
    "G91": "positions are counted from where the nozzle is",
    "G92": "call the present position by these numbers; nothing moves",
    "G92.1": "forget what G92 said",
    "M0": "stop until somebody goes on", "M1": "stop until somebody goes on",
    "M17": "motors on", "M18": "motors off", "M84": "motors off",
    "M25": "pause until somebody goes on", "M226": "pause until somebody goes on", "M600": "change the filament by hand",
    "M73": "progress for the display", "M75": "start the print clock", "M77": "stop the print clock",
    "M82": "filament is counted from a zero point", "M83": "filament is counted line by line",
    "M101": "filament on", "M102": "filament on, backward", "M103": "filament off",
    "M104": "set the nozzle's temperature and go on", "M109": "set the nozzle's temperature and wait for it",
    "M140": "set the plate's temperature and go on", "M190": "set the plate's temperature and wait for it",
    "M141": "set the chamber's temperature and go on", "M191": "set the chamber's temperature and wait for it",
    "M105": "report temperatures", "M106": "fan speed", "M107": "fan off", "M108": "stop waiting",
    "M110": "lines are numbered from here", "M112": "emergency stop", "M114": "report the position",
    "M116": "wait for all temperatures", "M117": "show a message", "M118": "send a message",
    "M120": "keep the present modes", "M121": "take up the kept modes again",
    "M200": "filament is counted by volume (D: its diameter)",
    "M201": "largest acceleration of each axis", "M203": "top speed of each axis",
    "M204": "acceleration of printing, travel and retraction", "M205": "speed at corners and other fine limits",
    "M566": "speed change each axis may make at once",
    "M207": "length and speed of G10", "M208": "further length and speed of G11",
    "M220": "all speeds in percent", "M221": "all filament in percent",
    "M400": "wait until all moves are done", "M486": "names the object that comes next",
    "M622": "beginning of a conditional block", "M623": "end of a conditional block",
    "M2": "end of the program", "M30": "end of the program", "M6": "change the tool",
}  # fmt: skip
"""Commands that are understood, in plain words."""

PASSED_OVER: Final[Mapping[str, str]] = {
    "M11": "", "M20": "list files", "M21": "start the card", "M23": "choose a file", "M24": "go on printing",
    "M26": "", "M27": "report progress", "M28": "write a file", "M29": "end writing", "M31": "report the time",
    "M42": "switch a pin", "M80": "power on", "M81": "power off", "M85": "time until power-off", "M92": "steps per mm",
    "M111": "", "M115": "report what the machine is", "M119": "report end stops", "M149": "temperature unit",
    "M150": "light colour", "M155": "report temperatures by itself", "M202": "", "M206": "", "M209": "",
    "M211": "soft end stops", "M217": "", "M218": "offset of a tool", "M240": "take a picture", "M250": "",
    "M280": "", "M290": "", "M300": "sound", "M301": "heater control", "M302": "cold extrusion allowed or not",
    "M303": "", "M304": "", "M355": "light", "M413": "power loss recovery", "M420": "use the plate's probed shape",
    "M425": "", "M500": "keep settings", "M501": "load settings", "M502": "", "M503": "", "M572": "", "M593": "",
    "M601": "pause", "M602": "", "M603": "", "M851": "probe offset", "M862": "check the machine", "M900": "pressure",
    "M907": "motor current", "M914": "", "M915": "", "M999": "",
}  # fmt: skip
"""Commands that change nothing of what is computed here: not worth a finding."""


def unknown_commands(commands: Mapping[str, int]) -> dict[str, int]:
    """Give those that are neither understood nor known to be harmless; fractional ones go with their whole number."""
    return {name: count for name, count in commands.items() if not is_known(name)}


def is_known(name: str) -> bool:
    """Whether a command is understood or known to change nothing that is computed."""
    if name.startswith("T"):
        return True
    stem = name.partition(".")[0]
    return name in MEANINGS or stem in PASSED_OVER or (stem in MEANINGS and stem not in ("G92", "G2", "G3", "G1", "G0"))
