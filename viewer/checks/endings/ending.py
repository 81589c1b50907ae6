"""Whether a program is whole: what a program that was cut short lacks at its end, and what is left behind.

What a whole program ends with was looked at in some dozens of real ones (common practice, no source). Nearly all
switch the nozzle off and then the motors; a few only home, or leave it to the machine (``print_end``); after
that many write what they claim and a block of settings in alphabetical order.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt

from viewer.checks.endings.signs import (
    claims_at_end,
    homes_at_end,
    is_heated,
    parks_at_end,
    shut_down_signs,
    words_of_end,
)
from viewer.checks.endings.stated_lines import StatedLines, stated_lines
from viewer.checks.evidence import last_bead
from viewer.program import Program
from viewer.read.comments.dialect import NOISE, fold, word_set
from viewer.read.comments.marks import ends_print
from viewer.read.moves import BEAD

TRAILER_LINES: Final = 1200
"""Blocks of settings have up to some hundreds of lines."""
MIN_SETTINGS: Final = 8
MIN_EARLY: Final = 4
"""Settings that get no farther than c are a block's beginning though they are few."""
MIN_PROGRESS: Final = 5
WHOLE_PERCENT: Final = 98.0
LAYERS_MISSING: Final = 0.1
LAST_LAYER: Final = 0.9
"""Of the beads of the layer below: a last layer with less may have been cut off."""
CONTROL_BYTES: Final = "".join(chr(code) for code in (*range(9), 11, 12, *range(14, 32), 127))
BEAT_LINES: Final = 120
MIN_BEATS: Final = 12
_MOTIONS: Final = frozenset({"G0", "G1", "G2", "G3", "G00", "G01", "G02", "G03"})
"""Every program has them behind each bead but the last."""

_SETTING: Final = re.compile(r";\s*([a-z][a-z0-9_]*)\s*=(.*)")
_WHOLE_COMMAND: Final = re.compile(
    r"\s*(?:N\s*\d+\s*)?(?:"
    r"M0*(?:84|18|2|30|107|82|83|77|81|400)|G0*(?:90|91|21)|%"
    r"|G0*28(?:\s*[XYZ]0?(?:\.0*)?)*"
    r"|M0*(?:84|18)(?:\s*[XYZE]0?)+"
    r"|M0*(?:104|140|109|190|106|141)(?:\s*[TP]\d+)?\s*S\s*0(?:\.0*)?"
    r"|M0*73\s*P\s*100(?:\s*R\s*0)?"
    r"|M0*11[78]\s(?P<message>.*)"
    r")\s*(?:\*\d+\s*)?(?:[;(](?P<comment>.*))?",
    re.IGNORECASE,
)
"""Commands that stand at the end of a program and are whole: a digit less and they would be others."""
_AMOUNT: Final = re.compile(r"\d\s*(?:mm[23³]?|cm[3³]?|g|kg|s|sec|min|h|%)$")
"""A claim that ends with its unit is whole."""
_LAST_WORDS: Final = NOISE | word_set(
    "axis axe xy positioning mode msg complete completed cooldown heatbed bye ready all now extrusion "
    "off on present idle z program screen them again out away relative absolute beep ok"
)
"""What a remark about the shut-down may end with; half a word is none of these."""


@dataclass(frozen=True, slots=True)
class Ending:
    """What was seen at the end of a program with beads; its parts are sentences without a full stop."""

    cut: tuple[str, ...]
    """Why the machine's part of the program breaks off; empty: it does not."""
    doubts: tuple[str, ...]
    """Why something may be missing though there is a shut-down."""
    torn: tuple[str, ...]
    """Why only comments behind it break off."""
    hints: tuple[str, ...]
    """Where there is no shut-down: what speaks for a missing end all the same, without proving it."""
    switches_off: bool
    """Something is switched off behind the last bead (nozzle, motors, the machine's own end), or the axes are homed."""
    is_whole: bool
    """Its own words prove the end: it is there though nothing is switched off."""
    share: float | None
    """How much of the program is there by its own claims, 0 .. 1; None: it claims nothing."""


def look_at_end(program: Program) -> Ending:
    """Collect what speaks for a program that was cut short."""
    last = last_bead(program)
    torn_line = _torn_line(program)
    counted_lines = stated_lines(program)
    proved = counted_lines is not None and counted_lines.agrees
    may_end_so = not torn_line or _may_end_so(torn_line, program.texts.line(program.tally.lines - 1))
    is_torn = bool(torn_line) and not proved
    homes = last is not None and not is_torn and homes_at_end(program, last)
    switches_off = any(shut_down_signs(program)) or homes
    said = last is not None and (
        (may_end_so and any(words_of_end(program, last))) or (not is_torn and parks_at_end(program, last))
    )
    is_whole = proved or said
    shut_down = (
        switches_off or is_whole or (last is not None and not is_torn and claims_at_end(program, last))
    )
    cut = [*_zeros(program), *_open_blocks(program, of_settings=False)]
    doubts = [*_missing_lines(counted_lines), *_early_progress(program), *_missing_layers(program)]
    torn = [*_open_blocks(program, of_settings=True), *_torn_trailer(program)]
    if not shut_down:
        cut, doubts, torn = [*cut, *doubts, *torn], [], []
    if is_torn and (not may_end_so or (not shut_down and is_heated(program))):
        harmless = shut_down and (_is_comment(torn_line) or _WHOLE_COMMAND.fullmatch(torn_line))
        (torn if harmless else cut).append(f"the last line has no end: {torn_line[-40:]!r}")
    hints = () if shut_down or cut else tuple(_hints(program))
    if cut and not shut_down and is_heated(program):
        cut.insert(0, "there is no shut-down (heaters off, motors off) after the last bead")
    return Ending(
        cut=tuple(cut), doubts=tuple(doubts), torn=tuple(torn), hints=hints, switches_off=switches_off,
        is_whole=shut_down, share=_share(program),
    )  # fmt: skip


def _torn_line(program: Program) -> str:
    """Return the last line where it has no end, "" where it has one."""
    if not program.tally.unterminated:
        return ""
    line = program.texts.line(program.tally.lines).rstrip(
        CONTROL_BYTES
    )  # 0x1A was once put behind every text
    return line if line.strip() else ""


def _missing_lines(counted: StatedLines | None) -> Iterator[str]:
    """Compare the number of lines stated with those there are."""
    if counted is not None and counted.is_short:
        yield f"it states {counted.stated:,} lines (line {counted.line:,}) and has {counted.there:,}"


def breaks_off(program: Program) -> tuple[str, ...]:
    """Return what speaks for a missing end where nothing is laid: no shut-down is no sign of it there."""
    torn = _torn_line(program)
    if torn and _may_end_so(torn, program.texts.line(program.tally.lines - 1)):
        torn = ""
    return (
        *_zeros(program),
        *_open_blocks(program, of_settings=False),
        *_missing_lines(stated_lines(program)),
        *_missing_layers(program),
        *([f"the last line has no end: {torn[-40:]!r}"] if torn else []),
    )


def _zeros(program: Program) -> Iterator[str]:
    zeros = program.tally.oddities["zero_bytes"]
    if zeros.count:
        yield f"{zeros.count:,} zero bytes stand where text should be (from line {zeros.first_line:,})"


def _hints(program: Program) -> Iterator[str]:
    """Look, for want of a shut-down, whether what is laid last breaks off in the middle of something.

    A last layer that is smaller than the one below is no hint where that one is smaller than its own: the part tapers.
    """
    last = last_bead(program)
    if last is None:
        return
    if _TRAVEL.fullmatch(program.texts.line(program.tally.lines)) and _ends_among_beads(program, last):
        yield "it ends with a travel to a place where nothing is laid"
    if np.any(program.remarks.layers.line > int(program.moves.line[last])):
        yield "a layer is announced of which nothing is laid"
    if command := _missing_beat(program, last):
        yield f"{command} follows on every bead but the last"
    laid = program.totals.layers.bead_mm[1:-1]
    if len(laid) == 1:
        yield "it has but one layer"
    elif not program.layers.is_first[-1] and laid[-1] < LAST_LAYER * laid[-2] and not _tapers(laid):
        yield f"its last layer has {100.0 * laid[-1] / laid[-2]:.0f} % of the beads of the one below"


def _tapers(laid_mm: npt.ArrayLike) -> bool:
    """Whether the layers below the last one get smaller, one after the other."""
    below = np.asarray(laid_mm)[-4:-1]
    return len(below) == 3 and bool(np.all(below[1:] < below[:-1]))


_TRAVEL: Final = re.compile(r"\s*(?:N\s*\d+\s*)?G0*[01](?:\s*[XYZF][-+.\d]+)+\s*(?:[;(*].*)?", re.IGNORECASE)


def _ends_among_beads(program: Program, last: int) -> bool:
    """Whether the nozzle ends over the part, no higher than the last bead: nobody parks it there."""
    moves, extent = program.moves, program.totals.extent_all
    if extent is None or float(moves.z_mm[-1]) > float(moves.z_mm[last]):
        return False
    x, y = float(moves.x_mm[-1]), float(moves.y_mm[-1])
    return extent.x[0] <= x <= extent.x[1] and extent.y[0] <= y <= extent.y[1]


def _missing_beat(program: Program, last: int) -> str:
    """Return the command that stands behind all beads of the last lines but the last bead, "" where none does."""
    moves = program.moves
    end = int(moves.line[last])
    start = int(np.searchsorted(moves.line, end - BEAT_LINES))
    lines = moves.line[start : last + 1][moves.kind[start : last + 1] == BEAD].tolist()
    first = max(1, end - BEAT_LINES)
    texts = [*program.texts.fetch(first, end - first + 2), ""]
    behind: list[str] = [texts[line + 1 - first].partition(" ")[0] for line in lines]
    if len(behind) <= MIN_BEATS or len(set(behind[:-1])) > 1 or behind[-1] == behind[0]:
        return ""
    return "" if behind[0] in _MOTIONS else behind[0]


def _open_blocks(program: Program, of_settings: bool) -> Iterator[str]:
    """Return blocks that are begun and never ended: those of settings, or all others."""
    starts, ends = (_block_names(program, word) for word in ("start", "end"))
    for name in sorted(starts - ends):
        if of_settings == bool(_SETTINGS_WORDS & set(name)):
            yield f"the block {' '.join(name).upper()} is begun and not ended"


_SETTINGS_WORDS: Final = frozenset({"config", "configuration", "setting", "parameter"})


def _early_progress(program: Program) -> Iterator[str]:
    progress = program.events.values("P", program.events.rows("M", 73))
    progress = progress[np.isfinite(progress)]
    if len(progress) < MIN_PROGRESS or not progress.min() < progress.max() < WHOLE_PERCENT:
        return
    # told at the beginning of each layer only, it ends a step (and its rounding) before 100
    if 100.0 - progress.max() > float(np.diff(progress).max()) + 1.0:
        yield f"its own progress (M73) stops at {progress.max():.0f} %"


def _block_names(program: Program, word: str) -> set[tuple[str, ...]]:
    """Return the names of blocks whose comments say ``NAME_BLOCK_START`` or ``NAME_BLOCK_END``."""
    notes = program.notes
    found = {
        fold(notes.shape_text[shape])
        for shape in np.unique(notes.shape[notes.shape >= 0]).tolist()
        if len(notes.shape_text[shape]) < 60
    }
    return {words[:-1] for words in found if len(words) >= 2 and words[-2:] == ("block", word)}


def claimed_layers(program: Program) -> float:
    """Return how many layers the program says it has; 0 where it says nothing."""
    return max((c.claim.value for c in program.remarks.claims if c.claim.quantity == "layers"), default=0.0)


def _missing_layers(program: Program) -> Iterator[str]:
    """Compare the layers claimed with those there are: by beads or by marks, whichever are more."""
    claimed, there = (
        claimed_layers(program),
        max(len(program.layers), len(np.unique(program.remarks.layers.move))),
    )
    if claimed > there + max(2.0, LAYERS_MISSING * claimed):
        yield f"it claims {claimed:.0f} layers and has {there}"


def _share(program: Program) -> float | None:
    """Estimate how much is there: by layers, else by progress; never all of it."""
    claimed = claimed_layers(program)
    if claimed > 0.0:
        return min(1.0, len(program.layers) / claimed)
    progress = program.events.values("P", program.events.rows("M", 73))
    progress = progress[np.isfinite(progress)]
    return float(progress.max()) / 100.0 if len(progress) else None


def _is_comment(line: str) -> bool:
    return line.lstrip().startswith((";", "("))


def _may_end_so(line: str, before: str) -> bool:
    """Whether a last line without its end, or the one `before` it, speaks for a whole program."""
    if line[-1] in " \t":
        return False  # a blank at the end waits for something
    if command := _WHOLE_COMMAND.fullmatch(line):
        said = command["message"] or command["comment"]
        words = fold(said or "")
        return said is None or (
            bool(words) and words[-1] in _LAST_WORDS and said.count("(") <= said.count(")")
        )
    text = line.strip()
    return _comment_may_end_so(text, before) if _is_comment(text) else ends_print(_name_words(text))


def _name_words(text: str) -> frozenset[str]:
    return frozenset(fold(text.split(" ")[0]))


def _comment_may_end_so(text: str, before: str) -> bool:
    """Whether a comment can be the last: a closed one, a claim with its unit, a key near z, a known last word.

    Among other comments a last word is no sign: a block of settings has the same words.
    """
    setting = _SETTING.fullmatch(text)
    if setting is not None:
        return setting[1][0] in "xyz" and bool(setting[2].strip())
    if text.endswith(("}", ")", "--", "==")) or _AMOUNT.search(text):
        return True
    words = fold(text)
    if not words or not text[-1].isalpha() or (_is_comment(before) and "end" not in words):
        return False
    return words[-1] in _LAST_WORDS or "end" in words[:2]


def _torn_trailer(program: Program) -> Iterator[str]:
    """Look for a block of settings behind the end that breaks off: keys from a to z, or braces."""
    last = program.tally.lines
    lines = program.texts.fetch(max(1, last - TRAILER_LINES), TRAILER_LINES + 1)
    comments: list[str] = []
    for line in reversed(lines):
        if line.strip() and not line.lstrip().startswith(";"):
            break
        comments.append(line.strip())
    comments.reverse()
    settings = [found[1] for found in map(_SETTING.match, comments) if found is not None]
    keys = _rising_end(settings)
    begins = "abcd" if len(settings) - len(keys) >= MIN_SETTINGS else "ab"  # a second block may begin later
    enough = MIN_SETTINGS if keys and keys[-1][0] > "c" else MIN_EARLY
    if len(keys) >= enough and keys[0][0] in begins and keys[-1][0] < "t":
        yield f"its settings run from {keys[0]} to {keys[-1]} and break off there"
    opened = next((k for k, text in enumerate(comments) if '{"' in text), None)
    if opened is not None:
        text = "".join(comments[opened:])
        if text.count("{") > text.count("}"):
            yield "its settings are not closed by a brace"


def _rising_end(keys: list[str]) -> list[str]:
    """Return the last keys that stand in the order of the alphabet: claims or other blocks may stand before them."""
    first = next((k for k in range(len(keys) - 1, 0, -1) if keys[k - 1] > keys[k]), 0)
    return keys[first:]
