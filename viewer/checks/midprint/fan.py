"""The part fan: never on or off for good where the filament wants it, full on in layer 1, power that may be too small."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np

from viewer.arrays import F64, I64
from viewer.checks.evidence import counted, in_words, line_of
from viewer.checks.finding import Check, Finding, NotChecked, Outcome, Passed, Rule, Severity
from viewer.checks.midprint.span import part_span, where
from viewer.program import Program
from viewer.read.comments.statements import material_of
from viewer.read.events import Events
from viewer.timing.demand import seconds_by_period

SLUG: Final = "part-fan"
REST_PERCENT: Final = 10.0
"""The last tenth of the beads' time may be laid without a fan: some programs end like that."""
LEAST_S: Final = 60.0
"""Beads that take less in all tell nothing (no source)."""
FULL: Final = 0.99
LAYER_1_PERCENT: Final = 50.0
FAN_ON: Final = 1060
FAN_CODES: Final = (FAN_ON, 1070)
OTHER_FAN_CODES: Final = (1260, 1270)


@dataclass(frozen=True, slots=True)
class _Powers:
    """Stretches of moves with one power of the part fan, in order, those without beads left out."""

    begin: I64
    """(n,) first bead."""
    power: F64
    """(n,) 0 .. 1."""
    seconds: F64
    """(n,) of their beads."""

    def behind(self, move: int) -> _Powers:
        """Return those that begin at or behind a move."""
        own = self.begin >= move
        return _Powers(self.begin[own], self.power[own], self.seconds[own])


def _part_fan(program: Program, rule: Rule) -> Iterator[Outcome]:
    share, span = program.filament.fan_percent, part_span(program)
    if share is None:
        yield NotChecked(SLUG, f"Whether {program.filament.name} wants the part fan is unknown: not checked.")
        return
    if span is None:
        return
    first_wanted = _first_wanted(program)
    powers = _powers(program, span, first_wanted)
    found = [
        *_at_most_one(program, rule),
        *_full_in_layer_1(program, rule, powers),
        *([] if first_wanted is None else _no_fan(program, rule, powers.behind(first_wanted), share / 100.0)),
    ]
    doubt = _other_fans(program, span) or (_other_filament(program, span) if found else "")
    if doubt:
        yield NotChecked(SLUG, f"{doubt}: the part fan was not checked.")
    elif found:
        yield from found
    else:
        yield Passed(SLUG, _what_holds(program, powers, first_wanted, share))


def _first_wanted(program: Program) -> int | None:
    """Return the first move of the layer from which on the filament wants the fan; None: there is no such layer."""
    layer = program.filament.fan_from_layer
    return int(program.layers.first_move[layer - 1]) if layer <= len(program.layers) else None


def _powers(program: Program, span: tuple[int, int], first_wanted: int | None) -> _Powers:
    """Return the powers from the first bead to the last, divided where layer 2 and the wish for the fan begin."""
    settings = program.settings
    levels, number = np.unique(settings.column("fan"), return_inverse=True)
    level = number.astype(np.int32)[settings.of_move[span[0] : span[1] + 1]]
    cuts = [span[0], *(move for move in program.layers.first_move[1:2].tolist() if move <= span[1])]
    cuts += [] if first_wanted is None or first_wanted > span[1] else [first_wanted]
    begin = np.unique(np.append(np.flatnonzero(np.diff(level)) + 1 + span[0], cuts)).astype(np.int64)
    begin = begin[begin >= span[0]]
    bounds = np.stack([begin, np.append(begin[1:], span[1] + 1)], axis=1)
    seconds, first = seconds_by_period(program.moves, program.timing, bounds)
    with_beads = first >= 0
    power = levels[level[begin - span[0]]]
    return _Powers(first[with_beads], power[with_beads], seconds[with_beads])


def _fan_line(events: Events, move: int) -> int | None:
    """Return the line of the last command for the part fan before a move; None where there is none."""
    rows = np.flatnonzero(
        (events.letter == ord("M")) & np.isin(events.code, FAN_CODES) & (events.move <= move)
    )
    rows = rows[~(events.values("P", rows) > 0.0)]
    return int(events.line[rows[-1]]) if len(rows) else None


def _no_fan(program: Program, rule: Rule, powers: _Powers, share: float) -> Iterator[Finding]:
    """Say that the fan as good as never runs, or stops for good while more than the last beads are still to be laid."""
    if not len(powers.begin):
        return
    total = float(powers.seconds.sum())
    lasts = _without_fan(powers, share, total)
    limit, bead = rule.limit or 0.0, int(powers.begin[lasts.first])
    percent = 100.0 * lasts.seconds / total if total > 0.0 else 0.0
    if lasts.seconds < LEAST_S or percent <= limit:
        return
    line, name = _fan_line(program.events, bead), program.filament.name
    time, power = in_words(lasts.seconds), 100.0 * lasts.highest
    wants = f"{name} wants it at {100.0 * share:g} % or more from layer {program.filament.fan_from_layer} on"
    if lasts.for_good:
        to = "off" if power <= 0.0 else f"down to {power:.0f} %"
        said = f"Line {line} turns the part fan {to} for good, and {time} of beads follow; {wants}."
    elif lasts.seconds < total:
        of = f"{time} of {in_words(total)} of beads"
        said = f"The part fan does not run at {100.0 * share:g} % or more in {of}; {wants}."
    elif power > 0.0:
        said = f"The part fan never runs at more than {power:.0f} % in {time} of beads; {wants}."
    else:
        said = f"The part fan never runs in {time} of beads; {wants}."
    yield _finding(
        program, rule, bead, said, line if lasts.for_good else None, percent, limit, "% of the time",
        f"Switch the fan on by hand from layer {program.filament.fan_from_layer} on, or have it made again for {name}: "
        "overhangs, bridges and small layers sag without it.",
    )  # fmt: skip


@dataclass(frozen=True, slots=True)
class _Without:
    """Beads that are laid without the fan."""

    first: int
    """The stretch with which it begins."""
    seconds: float
    highest: float
    """The highest power there, 0 .. 1."""
    for_good: bool
    """The fan ran before, and these are all until the end."""


def _without_fan(powers: _Powers, share: float, total: float) -> _Without:
    """Return all beads without the fan where it runs for a tenth of the time at most, else those behind its last run.

    A fan that stood as long before (half as long at least) is controlled by the layers' time, and no fault.
    """
    runs = powers.power >= share
    seconds = np.where(runs, 0.0, powers.seconds)
    if seconds.sum() >= (1.0 - REST_PERCENT / 100.0) * total:
        first = int(np.argmax(~runs))
        return _Without(
            first, float(seconds.sum()), float(powers.power[~runs].max(initial=0.0)), for_good=False
        )
    ran = np.flatnonzero(runs)
    last = int(ran[-1]) + 1
    still = float(powers.seconds[last:].sum())
    gaps = np.add.reduceat(seconds, ran)[:-1]  # behind each run until the next
    if last == len(runs) or gaps.max(initial=0.0) >= 0.5 * still:
        return _Without(0, 0.0, 0.0, for_good=False)
    return _Without(last, still, float(powers.power[last:].max()), for_good=True)


def _full_in_layer_1(program: Program, rule: Rule, powers: _Powers) -> Iterator[Finding]:
    """Say that the fan runs at full power for most of layer 1."""
    first = program.layers.first_move
    if program.filament.fan_from_layer < 2 or len(first) < 2:
        return
    own = powers.begin < first[1]
    full = own & (powers.power >= FULL)
    total = float(powers.seconds[own].sum())
    percent = 100.0 * float(powers.seconds[full].sum()) / total if total > 0.0 else 0.0
    if percent <= LAYER_1_PERCENT:
        return
    bead = int(powers.begin[full][0])
    yield _finding(
        program, rule, bead,
        f"The part fan runs at full power for {percent:.0f} % of layer 1: beads that cool at once do not stick to the "
        "plate.",
        _fan_line(program.events, bead), percent, LAYER_1_PERCENT, "% of the time",
        "Switch the fan off by hand until layer 1 is done, or have it made again without the fan there.",
    )  # fmt: skip


def _at_most_one(program: Program, rule: Rule) -> Iterator[Finding]:
    """Say that the power never exceeds 1: full on machines that count to 1, as good as off on those that count to 255."""
    events = program.events
    rows = events.rows("M", FAN_ON / 10)
    rows = rows[~(events.values("P", rows) > 0.0)]
    power = events.values("S", rows)
    on = np.flatnonzero(power > 0.0)
    if not len(on) or np.isnan(power).any() or power.max() > 1.0:
        return
    parts = bool(np.any((power > 0.0) & (power < 1.0)))
    row, highest = int(rows[on[0]]), float(power.max())
    bead = min(int(events.move[row]), len(program.moves) - 1)
    found = _finding(
        program, rule, bead,
        f"The power of the part fan never exceeds S{highest:g}: machines that count it from 0 to 255 leave the fan as "
        "good as off.",
        int(events.line[row]), highest, 255.0, "power (S)",
        "See in the machine's manual whether it counts fan power from 0 to 1 or from 0 to 255; S255 is full power there.",
        Severity.NOTE if parts else Severity.LOOK,
    )  # fmt: skip
    yield found


def _finding(
    program: Program, rule: Rule, bead: int, said: str, line: int | None,
    value: float, limit: float, unit: str, remedy: str, own: Severity = Severity.LOOK,
) -> Finding:  # fmt: skip
    layer, place = where(program, bead)
    return Finding(
        slug=SLUG,
        severity=rule.weigh(own),
        sentence=said,
        lines=(line_of(program, bead),) if line is None else (line, line_of(program, bead)),
        layer=layer,
        place_mm=place,
        value=value,
        limit=limit,
        unit=unit,
        remedy=remedy,
        move=bead,
    )


def _other_fans(program: Program, span: tuple[int, int]) -> str:
    """Return why the fan's power is not known; "" where it is."""
    events = program.events
    by_m = events.letter == ord("M")
    if np.any(by_m & np.isin(events.code, OTHER_FAN_CODES)):
        return "It switches something by M126 and M127, which is a fan on some machines"
    rows = np.flatnonzero(by_m & (events.code == FAN_ON))
    numbered = events.values("P", rows) > 0.0
    if len(rows) and numbered.all():
        return "It switches only fans with numbers (M106 P)"
    start = next((one for one in program.remarks.starts if one.move <= span[0]), None)
    if not len(rows) and start is not None:
        return f"It leaves the beginning to the machine's own {start.name}, which may switch the fan on"
    return ""


def _other_filament(program: Program, span: tuple[int, int]) -> str:
    """Return why the program may be for another filament; "" where nothing says so."""
    stated, ours = program.made_for.material, material_of(program.filament.name)
    if stated is not None and ours and stated.value != ours:
        return f"It says that it was made for {stated.value}, not {program.filament.name}"
    return _other_heat(program, span)


def _other_heat(program: Program, span: tuple[int, int]) -> str:
    """Tell whether the nozzle's targets, for most of the time, are none for the filament."""
    window = program.filament.nozzle_c
    if window is None:
        return ""
    periods = program.state.periods("nozzle")
    bounds = np.stack([np.maximum(periods.begin, span[0]), np.minimum(periods.end, span[1] + 1)], axis=1)
    seconds, _ = seconds_by_period(program.moves, program.timing, bounds)
    target = periods.target_c
    if seconds[(target >= window.low) & (target <= window.high)].sum() >= 0.5 * seconds.sum():
        return ""
    if seconds[np.isnan(target)].sum() > 0.5 * seconds.sum():
        return (
            "It does not set the nozzle's temperature, so that it is not known for which filament it was made"
        )
    return f"The nozzle is set to what {program.filament.name} does not want"


def _what_holds(program: Program, powers: _Powers, first_wanted: int | None, share: float) -> str:
    card = program.filament
    on = np.flatnonzero(powers.power > 0.0)
    if first_wanted is None:
        has = counted(len(program.layers), "layer")
        return f"It has {has}; {card.name} wants the part fan from layer {card.fan_from_layer} on."
    if not len(on) or first_wanted > int(powers.begin[-1]):
        return (
            f"Without the part fan, and less than {LEAST_S:g} s of beads from layer {card.fan_from_layer} on."
        )
    wanted = powers.behind(first_wanted)
    ran = wanted.power >= share / 100.0
    percent = 100.0 * float(wanted.seconds[ran].sum()) / max(float(wanted.seconds.sum()), 1e-9)
    layer, _ = where(program, int(powers.begin[on[0]]))
    return (
        f"From layer {card.fan_from_layer} on the part fan has {share:g} % of its power or more for {percent:.0f} % of "
        f"the time ({card.name} wants {share:g} %), at most {100.0 * float(powers.power.max()):.0f} %; it first runs in "
        f"layer {layer}."
    )


FAN_CHECK: Final = Check(
    slug=SLUG, theme="the filament", title="Part fan",
    looks_at="Where the filament card says how much of the part fan's power the filament wants, and from which layer on "
    f"(fan_percent, fan_from_layer): whether the fan never runs like that, or stops for good before the last "
    f"{REST_PERCENT:g} % of the beads' time. Whether it runs at full power in layer 1. Whether its power (M106 S) never "
    "exceeds 1.",
    why="Without the fan overhangs, bridges and small layers of some filaments sag; with it the first layer does not "
    "stick.",
    what_to_do="Switch the fan by hand, or have the program made again for the filament.",
    cannot_see="Which machine counts power from 0 to 1 and which to 255, and what the machine's own procedures and other "
    "fan commands (M126, M106 with a fan's number) do: programs with only those are not checked, nor are those whose "
    "nozzle targets or comments are for another filament.",
    severity=Severity.LOOK, limit=REST_PERCENT, unit="% of the time",
    limit_source="common practice, no source; how much fan a filament wants is the filament card's", run=_part_fan,
)  # fmt: skip
"""The check of this module."""
