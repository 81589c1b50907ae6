"""Every word of a line in plain language, in the context of what holds there.

::

    line --split_line--> words --command, its arguments, modes--> Explained(word, start, end, meaning)
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass, replace
from functools import reduce
from operator import xor

from viewer.read.comments.claims import read_claim
from viewer.read.comments.dialect import NUMBER, fold
from viewer.read.comments.marks import ends_print, starts_print
from viewer.read.comments.meaning import Meaning, classify
from viewer.read.dialect_arguments import ARGUMENTS
from viewer.read.dialect_commands import MEANINGS, PASSED_OVER, is_known
from viewer.read.modes import Modes, modes_at
from viewer.read.words import Word, split_line
from viewer.units import MAX_TOOLS, MM_PER_INCH, S_PER_MIN

__all__ = ["Explained", "Modes", "command_meaning", "explain_line", "modes_at", "modes_text"]

_MOTIONS = ("G0", "G1", "G2", "G3")
_STRAIGHTENED = frozenset(
    {"G33", "G73", "G76", "G380", *(f"G38.{k}" for k in range(2, 6)), *(f"G{k}" for k in range(81, 90))}
)
_ARC_AXES = {"I": "X", "J": "Y", "K": "Z"}
_CLAIMED = {
    "time_s": "how long the print takes",
    "part_time_s": "how long the part takes",
    "first_layer_time_s": "how long the first layer takes",
    "filament_mm": "how much filament is used",
    "filament_mm3": "how much filament is used",
    "filament_g": "what the filament weighs",
    "cost": "what the print costs",
    "layers": "how many layers there are",
    "height_mm": "how high the part is",
}


@dataclass(frozen=True, slots=True)
class Explained:
    """One word of a line: ``text[start:end]``, and what it means there."""

    word: str
    start: int
    end: int
    meaning: str


def explain_line(text: str, modes: Modes | None = None) -> list[Explained]:
    """Say in plain language what each word of a line means.

    Parameters
    ----------
    text
        One line of a program, without its line end.
    modes
        What holds at the line, from `modes_at`; None: the line is looked at alone, and where its meaning
        hangs on earlier lines both meanings are named.

    Returns
    -------
    list of Explained
        In order of the line; blanks between words are not listed. Empty for a blank line.

    Examples
    --------
    >>> [(found.word, found.meaning) for found in explain_line("G1 X12.5", Modes())][1]
    ('X12.5', 'to 12.5 mm along X, counted from the origin')
    """
    words = split_line(text)
    command = _governing(words)
    here = _on_this_line(words, modes)
    own_line = all(word.kind in ("comment", "line number", "checksum") for word in words)
    found = []
    for word in words:
        said = text[word.start : word.end]
        meaning = _meaning(said, word, command, here, own_line)
        if word.kind == "checksum":
            meaning += _holds(text[: word.start], said)
        found.append(Explained(said, word.start, word.end, meaning))
    return found


def command_meaning(name: str) -> str:
    """Say what a command does, by its name (``G1``, ``M104``, ``T0``)."""
    if name.startswith("T"):
        return _tool(float(name[1:]))
    stem = name.partition(".")[0]
    meaning = MEANINGS.get(name) or PASSED_OVER.get(stem) or MEANINGS.get(stem)
    if _goes_straight(name):
        return "a move that is not interpreted here: taken as straight to its end"
    if not is_known(name):
        meaning = ""
    return meaning or "not interpreted by Beadline; the machine's manual says what it does"


def _tool(number: float) -> str:
    if 0.0 <= number < MAX_TOOLS:
        return f"use tool {int(number)} from here"
    return "no tool has this number: nothing is changed here; the machine's manual says what it does"


def _moves(name: str) -> bool:
    return name in _MOTIONS or _goes_straight(name)


def _goes_straight(name: str) -> bool:
    """Whether it moves in a way that the scanner draws straight to its end (curves, cycles, probing)."""
    return name in _STRAIGHTENED or name.partition(".")[0] in ("G5", "G6")


def modes_text(modes: Modes) -> list[tuple[str, str]]:
    """Say what holds at a line, as pairs of a name and a value, for people."""
    place = ", ".join(
        f"{axis} {_plain(value, 3)}" for axis, value in zip("XYZ", modes.position_mm, strict=True)
    )
    e_unit = "mm³" if modes.by_volume else "inches" if modes.inches else "mm"
    rows = [
        ("units", "inches" if modes.inches else "millimetres"),
        ("positions", "from where the nozzle is" if modes.relative else "from the origin"),
        ("filament", f"{'line by line' if modes.e_relative else 'from a zero point'}, in {e_unit}"),
        ("tool", str(modes.tool)),
        ("speed so far", f"{_plain(modes.speed_mm_s)} mm/s" if modes.speed_mm_s > 0 else "none given yet"),
        ("nozzle", _target(modes.nozzle_c)),
        ("plate", _target(modes.plate_c)),
        ("fan", f"{modes.fan * 100:.0f} %" if modes.fan > 0 else "off"),
        ("nozzle at", f"{place} mm"),
    ]
    if modes.speed_factor != 1.0:
        rows.append(("all speeds", f"{modes.speed_factor * 100:.0f} % (M220)"))
    if modes.shifted:
        rows.append(("origin", f"put elsewhere by G92 along {', '.join(sorted(modes.shifted))}"))
    if modes.plane != 17:
        rows.append(("arcs", f"lie in the plane of {'Z and X' if modes.plane == 18 else 'Y and Z'}"))
    if modes.skipped:
        rows.append(("carried out", "no: inside a conditional block that is passed over"))
    if not modes.complete:
        rows.append(("note", "the line that set the modes has another text by now; open the file again"))
    return rows


def _target(value: float) -> str:
    return "never set" if math.isnan(value) else "off" if value <= 0 else f"to {_plain(value)} °C"


def _plain(value: float, decimals: int = 4) -> str:
    """Return a number without needless zeros."""
    text = f"{value:.{decimals}f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def _written(word: Word) -> str:
    """Return a word's number with all the decimals that a person would read, or as it is."""
    return _plain(word.value, 6)


def _governing(words: tuple[Word, ...]) -> str:
    """Return the command whose arguments the words are: the M word, or else the last G word that takes any."""
    names = [word.name for word in words if word.kind == "command"]
    taking = [name for name in names if _moves(name) or name in ARGUMENTS or name[0] in "MT"]
    return taking[-1] if taking else names[-1] if names else ""


def _on_this_line(words: tuple[Word, ...], modes: Modes | None) -> Modes | None:
    """Apply the modes that the line itself sets before it moves (NISTIR 6556, 3.8)."""
    if modes is None:
        relative = any(word.kind == "command" and word.name == "G91" for word in words)
        return Modes(relative=True, e_relative=True) if relative else None
    for word in words:
        if word.kind == "command" and word.letter == "G":
            if word.name in ("G20", "G21"):
                modes = replace(modes, inches=word.name == "G20")
            elif word.name in ("G90", "G91"):
                relative = word.name == "G91"
                modes = replace(modes, relative=relative, e_relative=modes.e_relative or relative)
            elif word.name == "G53":
                modes = replace(modes, relative=False, shifted=frozenset())
    return modes


def _meaning(said: str, word: Word, command: str, modes: Modes | None, own_line: bool) -> str:
    match word.kind:
        case "command":
            return command_meaning(word.name)
        case "comment":
            return _comment(said, own_line)
        case "line number":
            return f"number of the line, {_written(word)}"
        case "checksum":
            return "checksum: it shows whether the line arrived unharmed"
        case "message":
            return _message(command)
        case "word command":
            return _word_command(said)
        case "tape":
            return "mark of the beginning or end of a program; nothing is carried out"
        case "doubtful":
            return "text without a comment mark; a machine may refuse it, here nothing is carried out"
        case "unread":
            return _unread(word)
        case "repeated":
            return "said a second time in this line; a line end may be lost, or the file damaged here"
        case "misplaced":
            return f"no {command} has such a word; the file may be damaged here"
        case _:
            return _argument(word, command, modes)


def _holds(before: str, said: str) -> str:
    """Say whether a checksum is the exclusive or of the bytes before it; "" where they are not known."""
    stated = re.match(r"\*\s*(\d+)", said)
    if stated is None or not before.isascii():
        return ""
    right = reduce(xor, before.encode("ascii"), 0)
    return ", and it did" if int(stated[1]) == right else f", and it did not: {right} would be right"


def _message(command: str) -> str:
    texts = {"M117": "the message on the display", "M118": "the message that is sent"}
    return texts.get(command, "text that goes with the command")


def _unread(word: Word) -> str:
    if word.letter in ("G", "M") and math.isnan(word.value):
        return "a command without its number; nothing is carried out"
    if word.letter:
        return "this is no number that machines read alike; the file may be damaged here"
    return "this begins no word; the file may be damaged here"


def _argument(word: Word, command: str, modes: Modes | None) -> str:
    if _moves(command) or (not command and word.letter in "XYZEF"):
        meaning = _motion(word, command, modes)
        return meaning if command else f"{meaning}; without a command most machines pass it over"
    if command == "G92":
        return _call(word, modes)
    stem = command.partition(".")[0]
    table = ARGUMENTS.get(command) or ARGUMENTS.get(stem) or {}
    template = table.get(word.letter) or table.get("*")
    if template is None:
        what = "a value" if not math.isnan(word.value) else "a letter"
        return (
            f"{what} for {command} that is not interpreted here" if command else f"{what} without a command"
        )
    with_value, _, bare = template.partition("|")
    if math.isnan(word.value):
        return bare.replace("{letter}", word.letter) or f"{word.letter} without a value"
    if command in ("M106", "M104", "M109", "M140", "M190", "M141", "M191") and word.letter in "SR":
        return _heat_or_fan(word, command)
    return with_value.format(v=_written(word), letter=word.letter)


def _heat_or_fan(word: Word, command: str) -> str:
    if command == "M106":
        power = word.value * 100 if word.value <= 1 else word.value / 2.55
        if word.value == 1:
            return "full power where the program counts to 1, hardly any where it counts to 255"
        full = 1 if 0 < word.value < 1 else 255
        return f"power {_written(word)} of {full}: {min(power, 100):.0f} %"
    if word.value <= 0:
        return "heater off"
    waits = command in ("M109", "M190", "M191")
    how = (
        ""
        if not waits
        else ", and wait while it warms"
        if word.letter == "S"
        else ", and wait: warming or cooling"
    )
    return f"to {_written(word)} °C{how}"


def _motion(word: Word, command: str, modes: Modes | None) -> str:
    letter = word.letter
    if math.isnan(word.value):
        return f"{letter} without a value: it changes nothing"
    if letter in "XYZ":
        return _axis(word, modes)
    if letter == "E":
        return _filament(word, modes)
    if letter == "F":
        return _speed(word, modes)
    if command in ("G2", "G3"):
        return _arc(word, modes)
    return "not a word that a straight move uses; passed over"


def _length(value: float, modes: Modes | None) -> str:
    """Return a written length with its unit, inches in mm too."""
    if modes is not None and modes.inches:
        return f"{_plain(value, 6)} in ({_plain(value * MM_PER_INCH, 3)} mm)"
    return f"{_plain(value, 6)} mm"


def _axis(word: Word, modes: Modes | None) -> str:
    axis = word.letter
    size = _length(abs(word.value), modes)
    if axis == "Z":
        further = f"{size} {'up' if word.value >= 0 else 'down'} from where the nozzle is"
    else:
        further = f"{size} {'further' if word.value >= 0 else 'back'} along {axis}, from where the nozzle is"
    height = " (height)" if axis == "Z" else ""
    to = f"to {_length(word.value, modes)} along {axis}{height}, counted from "
    if modes is None:
        return f"{to}the origin; after G91: {further}"
    if modes.relative:
        return further
    return to + ("where G92 put the origin" if axis in modes.shifted else "the origin")


def _filament(word: Word, modes: Modes | None) -> str:
    if modes is None:
        way = "forward" if word.value >= 0 else "pulled back"
        size = _plain(abs(word.value), 6)
        return f"filament to {_written(word)} mm from its zero point; after M83: {size} mm of filament {way}"
    if modes.e_relative:
        size = f"{_plain(abs(word.value), 6)} mm³" if modes.by_volume else _length(abs(word.value), modes)
        if word.value == 0:
            return "no filament is fed"
        return f"{size} of filament {'forward' if word.value > 0 else 'pulled back'}"
    to = f"{_written(word)} mm³" if modes.by_volume else _length(word.value, modes)
    return f"filament to {to} from its zero point{_fed(modes.fed_mm)}"


def _fed(fed_mm: float) -> str:
    """Say how much an absolute E word feeds."""
    if math.isnan(fed_mm):
        return ""
    if abs(fed_mm) < 1e-9:
        return ": nothing is fed"
    return f": {_plain(abs(fed_mm))} mm are {'fed' if fed_mm > 0 else 'pulled back'}"


def _speed(word: Word, modes: Modes | None) -> str:
    if word.value <= 0:
        return "a speed of zero, which is passed over: the last speed holds"
    scale = MM_PER_INCH if modes is not None and modes.inches else 1.0
    unit = "in" if scale != 1.0 else "mm"
    speed = _plain(word.value * scale / S_PER_MIN, 2)
    return f"at {speed} mm/s ({_written(word)} {unit} a minute), from here on"


def _arc(word: Word, modes: Modes | None) -> str:
    if word.letter in _ARC_AXES:
        axis = _ARC_AXES[word.letter]
        side = "further" if word.value >= 0 else "back"
        size = _length(abs(word.value), modes)
        return f"centre of the arc: {size} {side} along {axis} from where it begins"
    if word.letter == "R":
        long = "; the long way round" if word.value < 0 else ""
        return f"radius of the arc, {_length(abs(word.value), modes)}{long}"
    if word.letter == "P":
        return f"turns of the arc, {_written(word)}"
    return "not a word that an arc uses; passed over"


def _call(word: Word, modes: Modes | None) -> str:
    value = 0.0 if math.isnan(word.value) else word.value
    if word.letter == "E":
        zero = "" if value else ": counting begins again"
        return f"the filament's present place is called {_plain(value, 6)}{zero}"
    if word.letter in "XYZ":
        return f"the present place along {word.letter} is called {_length(value, modes)}; the origin moves"
    return "not a word that G92 uses; passed over"


def _word_command(said: str) -> str:
    meaning = classify(said, False, True)
    what = {
        "object": "names the object that comes next",
        "object end": "the object ends here",
        "limit": "sets a speed, an acceleration, a corner speed or a temperature",
        "layer": "marks a layer",
        "claim": "says how many layers there are",
    }.get(meaning.kind, "not interpreted here")
    name = frozenset(fold(said.split(" ")[0]))
    if starts_print(name):
        what = "begins the print by the machine's own procedure, which may heat, home and level"
    elif ends_print(name):
        what = "ends the print by the machine's own procedure, or switches something off"
    return f"a command in words, for machines that know it: {what}"


def _comment(said: str, own_line: bool) -> str:
    text = said[1:-1] if said.startswith("(") and said.endswith(")") else said[1:]
    return f"comment, not carried out{_comment_says(text.strip(), classify(text, own_line, False))}"


def _comment_says(text: str, meaning: Meaning) -> str:
    if meaning.kind in ("role", "role behind"):
        side = {"wall": " or inner loop", "loop": " or inner loop"}.get(meaning.wall, "")
        what = "what follows is" if meaning.kind == "role" else "this line's bead may be"
        return f": {what} {meaning.role}{side}"
    if meaning.kind == "claim":
        return f": the program's own word on {_claimed(text, meaning)}"
    numbers = NUMBER.findall(text)
    number = numbers[meaning.number_at] if 0 <= meaning.number_at < len(numbers) else ""
    says = {
        "layer": f"layer {number} begins, as the program counts" if number else "a layer begins",
        "width": "states the beads' width, mm",
        "height": "states the layer's thickness, mm",
        "z": "states the height above the plate, mm",
        "object": "names the object that comes next",
        "object end": "the object ends here",
        "setting": "a setting the program was made with",
        "picture": "part of a small picture, as text",
        "claim heading": "heading of the program's own figures",
        "claim part": "part of the program's own figures",
    }.get(meaning.kind)
    return f": {says}" if says else ""


def _claimed(text: str, meaning: Meaning) -> str:
    claims = read_claim(text, meaning.quantity)
    quantity = claims[0].quantity if claims else meaning.quantity
    return _CLAIMED.get(quantity, "how much filament is used" if "filament" in quantity else "itself")
