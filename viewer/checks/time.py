"""Theme: time. Whether layers get time to set, claims hold, and somebody is there."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import datetime, timedelta
from datetime import time as day_time
from typing import Final

import numpy as np
import numpy.typing as npt

from viewer.arrays import F64
from viewer.cards.workshop import Hours
from viewer.checks.evidence import counted, first_bead_in, in_words, middle_of_layer
from viewer.checks.extents import whole_layer
from viewer.checks.finding import Check, Finding, Hazard, NotChecked, Outcome, Passed, Rule, Severity
from viewer.checks.holds import joined
from viewer.checks.questions import Question
from viewer.checks.widths import DIAMETER_MM, claimed_diameter, is_other_kind
from viewer.figures.claims import ComparedClaim
from viewer.numerals import more_or_less, number_text, told_apart
from viewer.program import Program
from viewer.timing import clock_time, day_text, minute_up
from viewer.timing.clock import DWELL
from viewer.timing.ledger import WAITS_FROM

TIME: Final = "time"

IN_A_ROW: Final = 3
"""A lone quick layer cools while the next is laid; three in a row pile up heat (common practice, no source)."""


def _quick_layers(program: Program, rule: Rule) -> Iterator[Outcome]:
    limit = rule.limit_or(program.filament.layer_s)
    if limit is None:
        yield NotChecked(
            "quick-layers",
            f"How long a layer of {program.filament.name} takes to set is unknown: not checked.",
        )
        return
    seconds = setting_seconds(program)
    judged = ~_part_turns(program)
    quick = np.flatnonzero((seconds < limit) & judged)
    if not len(quick):
        if judged.any():
            least, enough = told_apart(float(seconds[judged].min()), limit)
            what = f"{program.filament.name} sets in {enough} s"
            yield Passed("quick-layers", f"The quickest layer takes {least} s; {what}.")
        return
    runs = np.split(quick, np.flatnonzero(np.diff(quick) > 1) + 1)
    longest = max(len(run) for run in runs)
    worst = int(quick[np.argmin(seconds[quick])]) + 1
    own = Severity.LOOK if longest >= IN_A_ROW else Severity.NOTE
    move = first_bead_in(program, worst)
    yield Finding(
        slug="quick-layers",
        severity=rule.weigh(own),
        sentence=_too_quick([int(row) + 1 for row in quick], worst, limit, float(seconds[worst - 1])),
        lines=(int(program.moves.line[move]),),
        layer=worst,
        place_mm=middle_of_layer(program, worst),
        value=float(seconds[worst - 1]),
        limit=float(limit),
        unit="s",
        remedy="Print two of them at once or slower, or see that the fan runs: soft layers sag and curl up.",
        move=move,
        extents=whole_layer(program, worst),
    )


def setting_seconds(program: Program) -> F64:
    """Return how long each layer has to set, (n,) s: its time without waits for heat, homing and people."""
    count = len(program.layers)
    table = program.timing.ledger.by_layer[1 : count + 1]
    dwell = program.timing.ledger.by_layer[1 : count + 2, DWELL]
    seconds = table[:, :WAITS_FROM].sum(axis=1)
    # a wait behind a layer is booked to the next one, but serves both
    return np.asarray(seconds + np.maximum(dwell[:-1], dwell[1:]))


def _part_turns(program: Program) -> npt.NDArray[np.bool_]:
    """Tell of each layer whether it is the last turn of a spiral, which ends before it is whole, or what is behind it."""
    spiral = program.layers.spiral
    ends = spiral & ~np.append(spiral[1:], False)
    return np.asarray(ends | (np.append(False, spiral[:-1]) & ~spiral))


def _too_quick(numbers: list[int], worst: int, limit: float, least_s: float) -> str:
    """Say which layers take less than the limit, and how long the quickest of them takes."""
    said = "The filament gets too little time to set: "
    least, enough = told_apart(least_s, limit)
    if len(numbers) == 1:
        return f"{said}layer {worst} takes {least} s, less than {enough} s."
    first, last = numbers[0], numbers[-1]
    which = f"layers {first} to {last}"
    if last - first + 1 > len(numbers):
        which = f"{len(numbers):,} layers between {first} and {last}"
    return f"{said}{which} take less than {enough} s, layer {worst} only {least} s."


TIME_PERCENT: Final = 30.0
"""Programs estimate for another machine than the card's: half of real ones differ by 6 to 41 % and more."""
LAYERS_APART: Final = 2


def _claims_differ(program: Program, rule: Rule) -> Iterator[Outcome]:
    claims = program.figures.claims
    if not claims:
        yield NotChecked(
            "claims-differ", "The program says nothing of its own time or filament: nothing to compare."
        )
        return
    limit = rule.limit or 0.0
    filament = [claim for claim in claims if claim.quantity.startswith("filament") and claim.basis == "none"]
    lengths = [claim for claim in claims if claim.quantity == "filament_mm"]
    if any(claim.basis != "none" for claim in lengths):
        filament = []  # the length is right: volume and mass follow from diameter and density, see below
    yield from _differing(rule, filament, "filament", limit, Severity.LOOK)
    yield from _other_diameter(program, rule, claims)
    yield from _differing(rule, _other_times(program, limit), "time", max(limit, TIME_PERCENT), Severity.NOTE)
    there = len(program.layers)
    layers = [claim for claim in claims if claim.quantity == "layers" and claim.value >= there + LAYERS_APART]
    yield from _differing(rule, layers, "layers", limit, Severity.NOTE)
    compared = [claim for claim in claims if _is_compared(claim, filament, there)]
    left_out = _left_out([claim for claim in claims if claim not in compared])
    if not compared:
        yield NotChecked("claims-differ", left_out)
        return
    yield Passed(
        "claims-differ",
        f"What the program says of its own {_quantities(compared)} agrees with what is computed "
        f"({'; '.join((counted(len(compared), 'claim'), *_tolerances(program, compared, limit)))}). "
        f"{left_out}".rstrip(),
    )


def _tolerances(program: Program, claims: Sequence[ComparedClaim], limit: float) -> Iterator[str]:
    """Yield how closely claims of filament and of time agree, and which of our times a time was compared with."""
    if any(claim.quantity.startswith("filament") for claim in claims):
        yield f"filament to {limit:g} %"
    if any(claim.quantity == "time_s" for claim in claims):
        moving, total = in_words(program.timing.moving_s), in_words(program.timing.total_s)
        ours = f" of the {moving} of the moves alone or the {total} with waits" if moving != total else ""
        yield f"time to {max(limit, TIME_PERCENT):g} %{ours}"


def _is_compared(claim: ComparedClaim, filament: Sequence[ComparedClaim], layers: int) -> bool:
    """Whether a claim would have been a finding if it differed; `filament` are those of filament that fit no basis."""
    if claim.quantity.startswith("filament"):
        return claim.ratio is not None and (claim.basis != "none" or claim in filament)
    if claim.quantity == "layers":
        return claim.value > layers - LAYERS_APART
    return claim.quantity == "time_s" and claim.ratio is not None


def _left_out(claims: Sequence[ComparedClaim]) -> str:
    """Say which claims were not compared, and why; "" where all were."""
    of_cards = [claim for claim in claims if claim.quantity.startswith("filament")]
    fewer = [claim for claim in claims if claim.quantity == "layers"]
    others = [claim for claim in claims if claim not in of_cards and claim not in fewer]
    times = ", ".join(
        f"{number_text(claim.ratio)} times ours" for claim in of_cards if claim.ratio is not None
    )
    depend = "depend on diameter and density, and the length agrees"
    parts = (
        [f"volume or mass ({counted(len(of_cards), 'claim')}, {times}: they {depend})"] if of_cards else []
    )
    parts += (
        [f"{_quantities(fewer)} ({counted(len(fewer), 'claim')} of fewer than there are)"] if fewer else []
    )
    parts += [f"{_quantities(others)} ({counted(len(others), 'claim')}: only shown)"] if others else []
    return f"Not compared: {joined(parts)}." if parts else ""


def _quantities(claims: Sequence[ComparedClaim]) -> str:
    """Return what claims are of: ``filament and time``."""
    return joined(dict.fromkeys(_CLAIMED.get(claim.quantity, "layers") for claim in claims))


def _other_times(program: Program, limit: float) -> list[ComparedClaim]:
    """Return the claims of time that fit neither all of the time nor that of the moves: many leave waits out."""
    share = max(limit, TIME_PERCENT) / 100.0
    low, high = (1.0 - share) * program.timing.moving_s, (1.0 + share) * program.timing.total_s
    return [
        claim
        for claim in program.figures.claims
        if claim.quantity == "time_s" and not _fits(claim.value, low, high)
    ]


def _fits(seconds: float, low: float, high: float) -> bool:
    """Whether a time that is stated, as it was rounded, may lie between two others."""
    half = half_step_s(seconds)
    return low - half <= seconds <= high + half


def half_step_s(seconds: float) -> float:
    """Return half a unit of the last part of a time that is stated: whole minutes may be rounded by 30 s."""
    return 30.0 if seconds % 60.0 == 0.0 else 0.5


def _differing(
    rule: Rule, claims: list[ComparedClaim], what: str, limit: float, own: Severity
) -> Iterator[Outcome]:
    """Say how much the claims of one kind differ, if they do; the first one speaks."""
    off = [claim for claim in claims if claim.ratio is not None and abs(claim.ratio - 1.0) * 100.0 > limit]
    if not off or off[0].ratio is None or off[0].ours is None:
        return
    first, percent = off[0], (off[0].ratio - 1.0) * 100.0
    computed = off[0].ours
    amount, ours = (f"{text} {first.unit}".strip() for text in told_apart(first.value, computed))
    if what == "time":
        amount, ours = in_words(first.value), in_words(computed)
    yield Finding(
        slug="claims-differ",
        severity=rule.weigh(own),
        sentence=f"The program claims {more_or_less(off[0].ratio)} {what} ({amount}) than computed ({ours}).",
        lines=tuple(dict.fromkeys(claim.line for claim in off)),
        value=percent,
        limit=limit,
        unit="%",
        remedy=_REMEDY[what],
    )


_CLAIMED: Final = {
    "filament_mm": "filament", "filament_mm3": "filament", "filament_g": "filament", "time_s": "time",
    "first_layer_time_s": "time of the first layer", "part_time_s": "time of the part", "height_mm": "height",
    "cost": "cost",
}  # fmt: skip
_REMEDY: Final = {
    "filament": "See whether the file is whole and unedited, and the filament card has the right diameter.",
    "time": "See whether it was made for this printer: programs estimate for the machine they were made for.",
    "layers": "See whether the file is whole.",
}


def _other_diameter(program: Program, rule: Rule, claims: tuple[ComparedClaim, ...]) -> Iterator[Outcome]:
    """Compare the diameter that follows from a claimed length and volume with the card's.

    Where the filament is of the other kind, 1.75 mm or 2.85 to 3 mm, `nozzle-mismatch` says so.
    """
    ours, claimed = program.filament_diameter_mm, claimed_diameter(claims, program.filament_diameter_mm)
    if claimed is None or is_other_kind(claimed.diameter_mm, ours):
        return
    stated = program.made_for.filament_diameter_mm
    if stated is not None and abs(stated - ours) > DIAMETER_MM:  # made-for says so
        return
    if abs(claimed.diameter_mm - ours) > DIAMETER_MM + claimed.uncertain_mm:
        yield Finding(
            slug="claims-differ",
            severity=rule.weigh(Severity.LOOK),
            sentence=f"By its own length and volume the program was made for filament of {claimed.diameter_mm:.2f} mm; "
            f"the card says {ours:g} mm.",
            lines=claimed.lines,
            value=claimed.diameter_mm,
            limit=ours,
            unit="mm",
            remedy="Have it made again for this filament: too much or too little comes out otherwise.",
        )


def _after_closing(program: Program, rule: Rule) -> Iterator[Outcome]:
    hours, start = program.workshop.hours, rule.start
    if hours is None:
        yield NotChecked(
            "after-closing", f"The opening hours of {program.workshop.name} are unknown: not checked."
        )
        return
    if start is None:
        yield NotChecked(
            "after-closing", "When the print starts is unknown: not checked (give its start, as 14:30)."
        )
        return
    moments = program.timing.moments
    end = clock_time(start, moments.end_s)
    closing = _closing_after(start, hours)
    over = (end - closing).total_seconds() / 60.0
    limit = rule.limit or 0.0
    if not is_open(start, hours):
        over += 24.0 * 60.0  # the closing that is past counts, not the next one
    if over > limit:
        yield _late(program, rule, start, end, closing, hours, over)
    elif uncounted := program.figures.time.uncounted:
        yield NotChecked(
            "after-closing", f"By what is in the program it ends at {day_text(start, minute_up(end))}; how long "
            f"{uncounted[0].name} (line {uncounted[0].line}) heats and homes is not known, and was not counted.",
        )  # fmt: skip
    yield from _lonely_pauses(program, rule, start, hours)
    closes = f"it closes at {closing:%H:%M}"
    yield Passed("after-closing", f"It ends at {day_text(start, minute_up(end))}; {closes}.")


def _late(
    program: Program, rule: Rule, start: datetime, end: datetime, closing: datetime, hours: Hours, over: float
) -> Finding:
    if is_open(start, hours):
        ends = minute_up(end)
        minutes = (ends - closing).total_seconds() / 60.0
        said = f"Begun at {start:%H:%M} it ends at {day_text(start, ends)}, "
        said += f"{minutes:.0f} min after closing ({closing:%H:%M})."
    else:
        said = f"It begins at {start:%H:%M}, outside the opening hours ({hours.opens} to {hours.closes})."
    done = program.timing.moments.first_layer_done_s
    if done is not None and is_open(start, hours) and clock_time(start, done) > closing:
        said += " Not even the first layer is done by then."
    return Finding(
        slug="after-closing",
        severity=rule.severity,
        sentence=said,
        value=over,
        limit=rule.limit or 0.0,
        unit="min after closing",
        remedy="Start it earlier or on another day; printers left alone have started fires: follow the "
        "machine's "
        "manual, the local rules and the place's own policy.",
    )


def _lonely_pauses(program: Program, rule: Rule, start: datetime, hours: Hours) -> Iterator[Outcome]:
    """Find pauses that begin when nobody is there."""
    moments = program.timing.moments
    alone = [
        (clock_time(start, at), int(row))
        for at, row in zip(moments.pause_s.tolist(), moments.pause_event.tolist(), strict=True)
        if not is_open(clock_time(start, at), hours)
    ]
    if alone:
        when, row = alone[0]
        move = int(program.events.move[row])
        layer = int(program.layers.of_moves([move])[0])
        yield Finding(
            slug="after-closing",
            severity=rule.severity,
            sentence=f"It pauses at {day_text(start, when)}, when nobody is there "
            f"({counted(len(alone), 'such pause')}).",
            lines=tuple(int(program.events.line[row]) for _, row in alone[:20]),
            layer=layer if 1 <= layer <= len(program.layers) else None,
            value=float(len(alone)),
            limit=0.0,
            unit="pauses",
            remedy="Start it so that somebody can answer: the nozzle stays hot over the part while it waits.",
            hazard=Hazard.HEAT,
            move=min(move, len(program.moves) - 1),
        )


def is_open(moment: datetime, hours: Hours) -> bool:
    """Whether somebody is there; hours may pass midnight (18:00 to 02:00)."""
    opens, closes = day_time.fromisoformat(hours.opens), day_time.fromisoformat(hours.closes)
    now = moment.time()
    return opens <= now < closes if opens < closes else now >= opens or now < closes


def _closing_after(start: datetime, hours: Hours) -> datetime:
    """Return the first closing time after the start."""
    closes = day_time.fromisoformat(hours.closes)
    closing = start.replace(hour=closes.hour, minute=closes.minute, second=0, microsecond=0)
    return closing if closing > start else closing + timedelta(days=1)


TIME_CHECKS: Final = (
    Check(
        slug="quick-layers", theme=TIME, title="Layers too quick to set",
        looks_at="The time of every layer, without waits for heat, homing and people, against the filament "
        "card's.",
        why="The next layer is laid on a soft one: walls sag, corners curl up, thin towers wobble.",
        what_to_do="Print several at once, or slower, and see that the fan runs.",
        cannot_see="How well the fan cools, and whether a layer's beads lie apart from those below; the "
        "last layers of a "
        "part are often quick without harm.",
        severity=Severity.LOOK, limit=None, unit="s", limit_source="the filament card (layer_s)",
        question=Question.SHAPE,
        run=_quick_layers,
    ),
    Check(
        slug="claims-differ", theme=TIME, title="Claims that do not hold",
        looks_at="The program's own figures for filament and time against those computed here, and whether it claims "
        f"more layers than there are (by {LAYERS_APART} or more). Filament is compared with every usual way of counting "
        f"it; time differs by more than {TIME_PERCENT:g} % before it counts.",
        why="A file that claims more than it holds may be cut or edited; one made for other filament feeds "
        "it wrongly.",
        what_to_do="See whether the file is whole and made for this printer and this filament.",
        cannot_see="Which of the two is right about time: it depends on the machine. Fewer layers claimed than there are "
        "are passed over: some programs count a spiral as one, or the layers of one object.",
        severity=Severity.LOOK, limit=5.0, unit="%", question=Question.WHOLE, run=_claims_differ,
    ),
    Check(
        slug="after-closing", theme=TIME, title="When nobody is there",
        looks_at="When the print would end and when it pauses, given its start, against the opening hours.",
        why="A printer left alone can start a fire or go on printing into the air, and a pause waits all "
        "night with a "
        "hot nozzle.",
        what_to_do="Start it at another time, and follow the machine's manual, the local rules and the "
        "place's own "
        "policy on printing unattended.",
        cannot_see="Days on which the place is closed, and whether somebody stays longer.",
        severity=Severity.LOOK, limit=0.0, unit="min after closing", limit_source="the workshop card (hours)",
        run=_after_closing,
    ),
)  # fmt: skip
"""The checks of this theme."""
