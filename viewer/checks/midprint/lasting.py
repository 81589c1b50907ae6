"""Settings that outlive the print: the machine keeps them until it is told otherwise, some also when switched off."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Final

import numpy as np

from viewer.checks.finding import Check, Finding, Outcome, Passed, Rule, Severity
from viewer.program import Program
from viewer.read.homing import homings
from viewer.read.mode_changes import shifted_axes

SLUG: Final = "lasting-settings"
COLD_PUSH_C: Final = 160.0
"""Machines refuse to push filament below 160 to 180 degC (common practice, no source)."""
KEPT_BY_M500: Final = ("M92", "M201", "M203", "M204", "M205", "M206", "M218", "M301", "M304", "M851")
"""What M500 keeps, if a program has set it before (common practice, no source)."""
_MOST: Final = 20

_Words = Mapping[str, float]


@dataclass(frozen=True, slots=True)
class _Lasting:
    """One setting that stays."""

    line: int
    said: str
    severity: Severity


@dataclass(slots=True)
class _Kept:
    """What stays so far, by command (and by what it is for); and what was set before."""

    lasting: dict[str, _Lasting] = field(default_factory=dict)
    set_before: dict[str, None] = field(default_factory=dict)
    shifted_mm: float = 0.0
    """Of M290."""
    end_stops: dict[str, bool] = field(default_factory=dict)
    """Axes whose soft end stops are off."""
    pushed: dict[str, bool] = field(default_factory=dict)
    """Soft end stops kept aside (M211 S)."""

    def put(
        self, name: str, said: str, line: int, *, stays: bool = True, severity: Severity = Severity.LOOK
    ) -> None:
        """Take down a setting, or forget it where it is back to normal."""
        self.lasting.pop(name, None)
        if stays:
            self.lasting[name] = _Lasting(line, said, severity)


_Answer = Callable[[_Kept, _Words, int], None]


def _stated(words: _Words) -> bool:
    """Whether any word has a value: without one these commands only report."""
    return any(not math.isnan(value) for value in words.values())


def _sets(said: str, name: str, severity: Severity = Severity.LOOK) -> _Answer:
    """Return the answer to a command that sets something as soon as it has a value."""

    def answer(kept: _Kept, words: _Words, line: int) -> None:
        if _stated(words):
            kept.put(name, said, line, severity=severity)

    return answer


def _shift(kept: _Kept, words: _Words, line: int) -> None:
    kept.shifted_mm += sum(words.get(axis, 0.0) for axis in "ZS" if not math.isnan(words.get(axis, 0.0)))
    said = f"the height is shifted by {kept.shifted_mm:g} mm (M290)"
    kept.put("M290", said, line, stays=abs(kept.shifted_mm) > 0.0005)


def _cold_push(kept: _Kept, words: _Words, line: int) -> None:
    if not words:
        return  # some machines report, some allow it
    least = words.get("S", math.nan)
    allowed = words.get("P", 0.0) > 0.0 or least < COLD_PUSH_C
    kept.put("M302", "filament may be pushed through a cold nozzle (M302)", line, stays=allowed)


def _soft_end_stops(kept: _Kept, words: _Words, line: int) -> None:
    if "R" in words:
        kept.end_stops = dict(kept.pushed)
    elif "S" in words and math.isnan(words["S"]):
        kept.pushed = dict(kept.end_stops)
    else:
        named = {axis: words[axis] == 0.0 for axis in "XYZ" if not math.isnan(words.get(axis, math.nan))}
        every = dict.fromkeys("XYZ", words["S"] == 0.0) if "S" in words else {}
        kept.end_stops = {**kept.end_stops, **every, **named}
    off = [axis for axis, is_off in sorted(kept.end_stops.items()) if is_off]
    kept.put("M211", f"the soft end stops of {', '.join(off)} are off (M211)", line, stays=bool(off))


def _keep(kept: _Kept, _words: _Words, line: int) -> None:
    before = f", after {', '.join(kept.set_before)}" if kept.set_before else ""
    kept.put("M500", f"the machine keeps its settings as they are for good (M500{before})", line)


def _load(kept: _Kept, _words: _Words, line: int) -> None:
    kept.put("M502", "", line, stays=False)
    kept.put(
        "M501",
        "the settings kept in the machine replace those set by hand (M501)",
        line,
        severity=Severity.NOTE,
    )


def _factory(kept: _Kept, _words: _Words, line: int) -> None:
    kept.put("M502", "all settings are those of the factory (M502)", line)


def _offsets(kept: _Kept, words: _Words, line: int) -> None:
    if words.get("L") in (2.0, 20.0) and any(axis in words for axis in "XYZ"):
        kept.put("G10", f"the offset of work coordinates is another one (G10 L{words['L']:g})", line)


def _factor(name: str, what: str) -> _Answer:
    """Return the answer to a command that sets a percentage."""

    def answer(kept: _Kept, words: _Words, line: int) -> None:
        percent, tool = words.get("S", math.nan), words.get("T", math.nan)
        key = f"{name} T{tool:g}"
        if "R" in words:
            kept.put(key, "", line, stays=False)
        elif percent > 0.0:
            said = f"{what} stays at {percent:g} % ({name})"
            kept.put(key, said, line, stays=percent != 100.0, severity=Severity.NOTE)

    return answer


_ANSWERS: Final[Mapping[tuple[str, int], _Answer]] = {
    ("M", 920): _sets("the motors' steps for each mm are others (M92)", "M92"),
    ("M", 2060): _sets("home lies somewhere else (M206)", "M206"),
    ("M", 2180): _sets("a tool's nozzle lies somewhere else (M218)", "M218"),
    ("M", 8510): _sets("the probe lies somewhere else (M851)", "M851"),
    ("M", 3010): _sets("the nozzle's heater is controlled in another way (M301)", "M301", Severity.NOTE),
    ("M", 3040): _sets("the plate's heater is controlled in another way (M304)", "M304", Severity.NOTE),
    ("M", 2900): _shift,
    ("M", 3020): _cold_push,
    ("M", 2110): _soft_end_stops,
    ("M", 5000): _keep,
    ("M", 5010): _load,
    ("M", 5020): _factory,
    ("G", 100): _offsets,
    ("M", 2200): _factor("M220", "the speed of everything"),
    ("M", 2210): _factor("M221", "the flow of everything"),
}
_CODES: Final = np.array([(ord(letter) << 24) + code for letter, code in _ANSWERS])
_SETTERS: Final = np.array([(ord("M") << 24) + 10 * int(name[1:]) for name in KEPT_BY_M500])


def _lasting_settings(program: Program, rule: Rule) -> Iterator[Outcome]:
    found = sorted(_what_stays(program), key=lambda one: one.line)
    for severity in (Severity.LOOK, Severity.NOTE):
        if own := [one for one in found if one.severity is severity]:
            yield _finding(rule, own, severity)
    if not found:
        yield Passed(
            SLUG,
            "Nothing that it sets of offsets, steps, end stops, factors and heat control stays that way.",
        )


def _what_stays(program: Program) -> list[_Lasting]:
    """Return what is set at the end of the program and was not set back."""
    events, kept = program.events, _Kept()
    keys = (events.letter.astype(np.int64) << 24) + events.code
    rows = np.flatnonzero(np.isin(keys, np.concatenate([_CODES, _SETTERS])))
    for row in rows.tolist():
        words, line = events.words(row), int(events.line[row])
        letter, code = chr(events.letter[row]), int(events.code[row])
        if keys[row] in _SETTERS and _stated(words):
            kept.set_before[f"M{code // 10}"] = None
        if answer := _ANSWERS.get((letter, code)):
            answer(kept, words, line)
    return [*kept.lasting.values(), *_shifted_origin(program)]


def _shifted_origin(program: Program) -> Iterator[_Lasting]:
    """Yield that G92 has put the origin elsewhere, and no homing follows."""
    modes = program.modes
    axes = sorted(shifted_axes(int(modes.modes[-1]))) if len(modes) else []
    if not axes:
        return
    shifted = np.array([shifted_axes(bits) == frozenset(axes) for bits in modes.modes.tolist()])
    line = int(modes.line[np.flatnonzero(~shifted)[-1] + 1]) if not shifted.all() else int(modes.line[0])
    at = homings(program.events)
    if len(at) and int(program.events.line[at[-1]]) > line:
        return
    yield _Lasting(
        line, f"the origin of {', '.join(axes)} stays shifted until it is homed (G92)", Severity.NOTE
    )


def _finding(rule: Rule, own: Sequence[_Lasting], severity: Severity) -> Finding:
    said = "; ".join(f"{one.said[:-1]}, line {one.line:,})" for one in own[:_MOST])
    return Finding(
        slug=SLUG,
        severity=rule.weigh(severity),
        sentence=f"What it sets outlives the print: {said}.",
        lines=tuple(one.line for one in own[:_MOST]),
        value=float(len(own)),
        limit=0.0,
        unit="settings that stay",
        remedy="See whether that is meant for this machine; if not, take the lines out, or set it back by hand after the "
        "print.",
    )


LASTING_CHECK: Final = Check(
    slug=SLUG, theme="the machine", title="Settings that outlive the print",
    looks_at="What is set and not set back by the end: steps (M92), home, probe and tool offsets (M206, M851, M218, G10 "
    "L2 and L20), the shift of the height (M290), soft end stops (M211), cold filament (M302), kept, loaded and factory "
    "settings (M500, M501, M502). As notes: heat control (M301, M304), factors of speed and flow (M220, M221), a shifted "
    "origin (G92).",
    why="The next print runs with them, whoever starts it: off by some millimetres, through the end stops or at half the "
    "flow.",
    what_to_do="Take the lines out if they are not meant for this machine, or set it back after the print.",
    cannot_see="What the machine had before, what it sets back by itself at the end or at the next start, and what its "
    "own procedures set. Accelerations and speeds (M201 to M205) are left out: programs set them for themselves.",
    severity=Severity.LOOK, limit=None, unit="", run=_lasting_settings,
)  # fmt: skip
"""The check of this module."""
