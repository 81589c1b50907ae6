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
    "G10": "pull filament back by the machine's own length; with P: settings of a tool",
    "G11": "feed filament again by the machine's own length",
    "G17": "arcs lie in the plane of X and Y",
    "G18": "arcs lie in the plane of Z and X",
    "G19": "arcs lie in the plane of Y and Z",
    "G20": "numbers are inches from here",
    "G21": "numbers are millimetres from here",
    "G28": "home: drive the named axes, or all, to their end stops",
    "G29": "probe how the plate lies",
    "G161": "home: drive the named axes to their lowest end stops",
    "G162": "home: drive the named axes to their highest end stops",
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
    "M132": "take up where the named axes stand at their end stops, as the machine has stored it",
    "M133": "wait for the nozzle's temperature, on machines that home by G161 and G162",
    "M134": "wait for the plate's temperature, on machines that home by G161 and G162",
    "M135": "change the tool", "M126": "fan on, on machines that home by G161 and G162",
    "M127": "fan off, on machines that home by G161 and G162",
    "M2": "end of the program", "M30": "end of the program", "M6": "change the tool",
}  # fmt: skip
"""Commands that are understood, in plain words."""

PASSED_OVER: Final[Mapping[str, str]] = {
    "G130": "current of the motors", "M70": "show a message", "M72": "play a tune",
    "M11": "output of the control board", "M20": "list the files on the memory card",
    "M21": "start the memory card", "M23": "choose a file", "M24": "go on printing",
    "M26": "choose a place in the file", "M27": "report how far the file is",
    "M28": "begin to write a file", "M29": "end writing the file", "M31": "report the time so far",
    "M42": "switch an output pin", "M80": "power supply on", "M81": "power supply off",
    "M85": "switch off after so long without work", "M92": "motor steps for each mm",
    "M111": "how much the machine reports of itself", "M115": "report what the machine is",
    "M119": "report the end stops", "M149": "unit of temperatures", "M150": "colour of the light",
    "M155": "report temperatures by itself", "M202": "largest acceleration of travel",
    "M206": "where home lies", "M209": "retraction by the machine itself on or off",
    "M211": "soft end stops on or off", "M217": "how a tool is changed",
    "M218": "where a tool's nozzle lies", "M240": "take a picture", "M250": "contrast of the display",
    "M280": "place of a servo", "M290": "shift the height a little while printing", "M300": "make a sound",
    "M301": "how the nozzle's heater is controlled", "M302": "filament may or may not be pushed while cold",
    "M303": "let the machine tune a heater", "M304": "how the plate's heater is controlled",
    "M355": "light on or off", "M413": "whether the machine goes on after a power cut",
    "M420": "use the plate's probed shape", "M425": "make up for play in the axes",
    "M500": "keep the settings for good", "M501": "load the kept settings",
    "M502": "settings of the factory", "M503": "report the settings",
    "M572": "filament ahead of speed changes", "M593": "how shaking is damped", "M601": "pause",
    "M602": "go on after a pause", "M603": "lengths for a change of filament",
    "M851": "where the probe lies", "M862": "check that this is the machine the program was made for",
    "M900": "filament ahead of speed changes", "M907": "current of the motors",
    "M914": "how a motor feels that it is blocked", "M915": "levels the Z axis",
    "M999": "go on after a stop",
}  # fmt: skip
"""Commands that change nothing of what is computed here: not worth a finding."""


def unknown_commands(commands: Mapping[str, int]) -> dict[str, int]:
    """Return those that are neither understood nor known to be harmless; fractional ones go with their whole number."""
    return {name: count for name, count in commands.items() if not is_known(name)}


def is_known(name: str) -> bool:
    """Whether a command is understood or known to change nothing that is computed."""
    if name.startswith("T"):
        return True
    stem = name.partition(".")[0]
    return (
        name in MEANINGS
        or stem in PASSED_OVER
        or (stem in MEANINGS and stem not in ("G92", "G2", "G3", "G1", "G0"))
    )
