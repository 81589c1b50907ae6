"""The filament's account: pulled back against fed again, and E numbers that are counted the wrong way."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

import numpy as np

from viewer.checks.evidence import counted, layer_of, line_of, middle_of
from viewer.checks.finding import Check, Finding, NotChecked, Outcome, Passed, Rule, Severity, with_rest
from viewer.figures.account import BACK_SHARE, Account, OtherCount, counted_otherwise, keep_account
from viewer.numerals import number_text, share_text
from viewer.program import Program
from viewer.units import filament_area_mm2

ACCOUNT: Final = "filament-account"
COUNT: Final = "e-counting"
MOST_SECTIONS: Final = 2.4
"""No bead has a larger section than this many squared nozzle diameters (on 60 whole programs at most 2.0)."""
MUCH_BEYOND_MM: Final = 5.0
"""A lump of 12 mm3 and more may catch the nozzle (common practice, no source)."""
OFTEN: Final = 0.5
"""Share of the primes."""
PULLED_OUT_MM: Final = 100.0
"""Pulled back so far, filament of 1.75 mm has left the hot end, and mostly the drive (common practice, no source)."""
MOST_TOLD: Final = 5


def stretches_counted_otherwise(program: Program) -> list[OtherCount]:
    """Return the stretches whose E numbers only make sense if they are counted the other way."""
    return counted_otherwise(program.moves, program.modes, _most_mm_per_mm(program))


def _most_mm_per_mm(program: Program) -> float:
    """Return the filament for a mm of path that no bead exceeds, by the larger one of the nozzles of card and program."""
    nozzle = max(program.printer.nozzle_mm, getattr(program.made_for.nozzle, "value", 0.0))
    return MOST_SECTIONS * nozzle**2 / filament_area_mm2(program.filament_diameter_mm)


def _find_counting(program: Program, rule: Rule) -> Iterator[Outcome]:
    stretches = stretches_counted_otherwise(program)
    for one in stretches:
        yield _counted_otherwise(program, rule, one)
    if not stretches:
        yield Passed(COUNT, "The E numbers make beads as they are counted.")


def _counted_otherwise(program: Program, rule: Rule, one: OtherCount) -> Finding:
    line = line_of(program, one.first)
    ways = ("from line to line (M83)", "from the last G92 (M82)")
    is_by, fits = ways if one.is_relative else ways[::-1]
    if one.is_relative:
        seen = f"half of its beads draw more than {number_text(one.fed_mm_per_mm)} mm of filament for each mm of path"
    else:
        seen = f"filament goes back in {share_text(one.back_share)} of its moves along a path"
    stated = _states_counting(program)
    why = "" if stated else "; the program does not say which way it counts, so that the machine decides"
    return Finding(
        slug=COUNT,
        severity=rule.weigh(Severity.STOP if stated else Severity.LOOK),
        sentence=f"From line {line} on, E is counted {is_by}, and {seen}: the numbers were written to be counted "
        f"{fits}{why}.",
        lines=(line,),
        layer=layer_of(program, one.first),
        place_mm=middle_of(program, one.first),
        value=one.fed_mm_per_mm if one.is_relative else one.back_share,
        limit=_most_mm_per_mm(program) if one.is_relative else BACK_SHARE,
        unit="mm of filament a mm of path" if one.is_relative else "of the moves along a path",
        remedy="Do not print it so: see where M82 or M83 was put in, taken out or changed, and have it made again.",
        move=one.first,
    )


def _states_counting(program: Program) -> bool:
    """Return whether the program says which way E is counted."""
    return any(name in program.tally.commands for name in ("M82", "M83"))


def _find_account(program: Program, rule: Rule) -> Iterator[Outcome]:
    if not len(program.layers):
        return
    if stretches_counted_otherwise(program):
        yield NotChecked(ACCOUNT, "E is counted otherwise than it was written: its account was not made.")
        return
    limit = rule.limit or 0.0
    account = keep_account(program.moves, program.events, program.layers)
    found = [*_unprimed(program, rule, account, limit), *_overprimed(program, rule, account, limit)]
    yield from found
    if not found:
        yield Passed(ACCOUNT, _balanced(account, limit))


def _balanced(account: Account, limit: float) -> str:
    if not account.usual_pull_mm:
        return "No filament is pulled back between the first layer and the last bead."
    most = max(account.owed_mm.max(initial=0.0), account.beyond_mm.max(initial=0.0))
    return f"What is pulled back is fed again before the next bead to {max(most, 0.01):.2f} mm; {limit:g} mm may lack."


def _unprimed(program: Program, rule: Rule, account: Account, limit: float) -> Iterator[Finding]:
    own = np.flatnonzero(account.owed_mm > limit)
    worst = own[np.argsort(-account.owed_mm[own], kind="stable")][:MOST_TOLD]
    found = [
        _unprimed_at(program, rule, int(account.unprimed[k]), float(account.owed_mm[k]), limit) for k in worst
    ]
    yield from with_rest(found, len(own), "place")


def _unprimed_at(program: Program, rule: Rule, move: int, owed: float, limit: float) -> Finding:
    grave = owed >= PULLED_OUT_MM
    empty = owed / max(_usual(program), 1e-6)
    path = (
        f"some {empty:.0f} mm of path get nothing" if empty < 1e4 else "nothing more comes out of the nozzle"
    )
    pulled = int(np.flatnonzero(program.moves.fed_mm[:move] < 0.0)[-1])
    return Finding(
        slug=ACCOUNT,
        severity=rule.weigh(Severity.STOP if grave else Severity.LOOK),
        sentence=f"Line {line_of(program, pulled)} pulls filament back, and {owed:.2f} mm of it are not fed again before "
        f"the beads from line {line_of(program, move):,} on: {path}.",
        lines=(line_of(program, pulled), line_of(program, move)),
        layer=layer_of(program, move),
        place_mm=middle_of(program, move),
        value=owed,
        limit=limit,
        unit="mm of filament",
        remedy="See whether a G92 E or a line that feeds filament is missing before it; have the program made again.",
        move=move,
    )


def _usual(program: Program) -> float:
    """Return the filament that half of the beads' path does not exceed, mm for a mm."""
    table = program.totals.layers
    return float(table.volume_mm3.sum() / max(table.bead_mm.sum(), 1e-6)) / filament_area_mm2(
        program.filament_diameter_mm
    )


def _overprimed(program: Program, rule: Rule, account: Account, limit: float) -> Iterator[Finding]:
    own = np.flatnonzero(account.beyond_mm > limit)
    if not len(own):
        return
    worst = int(own[np.argmax(account.beyond_mm[own])])
    move, beyond = int(account.overprimed[worst]), float(account.beyond_mm[worst])
    often = len(own) > OFTEN * account.primes
    heavy = often or beyond >= MUCH_BEYOND_MM
    yield Finding(
        slug=ACCOUNT,
        severity=rule.weigh(Severity.LOOK if heavy else Severity.NOTE),
        sentence=f"At {counted(len(own), 'place')} more filament is fed without a path than was pulled back, in line "
        f"{line_of(program, move)} by {beyond:.2f} mm: it comes out as a lump.",
        lines=tuple(line_of(program, int(account.overprimed[k])) for k in (worst, *own[:3].tolist())),
        layer=layer_of(program, move),
        place_mm=middle_of(program, move),
        value=beyond,
        limit=limit,
        unit="mm of filament",
        remedy="See whether lines that pull filament back are missing before these; have the program made again.",
        move=move,
    )


ACCOUNT_CHECKS: Final = (
    Check(
        slug=COUNT, theme="the filament", title="E counted the wrong way",
        looks_at="Whether the E numbers make beads as they are counted (M82: from the last G92, M83: from line to "
        "line), or only the other way: half of the beads draw more than 2.4 squared nozzle diameters allow while the "
        "differences of the numbers are those of beads, or 30 % of the moves along a path pull filament back and hardly "
        "any is fed in all.",
        why="Counted the wrong way, metres of filament are fed at once, or it goes to and fro and nothing is laid.",
        what_to_do="See where M82 or M83 was put in, taken out or changed, and have the program made again.",
        cannot_see="Fewer than 30 moves. What a machine counts by itself where the program says neither M82 nor M83.",
        severity=Severity.STOP, limit=None, unit="", run=_find_counting,
        limit_source="measured on 60 whole programs, of which none comes near",
    ),
    Check(
        slug=ACCOUNT, theme="the filament", title="Pulled back and not fed again",
        looks_at="The highest position that the filament has reached, against where it stands when a bead begins (less "
        "what this bead draws beyond its path), and where a prime ends. From the first layer to the last bead; tool "
        "changes, pauses and filament changes begin the account again.",
        why="A bead that begins while filament is still pulled back stays empty until it has come back; what is fed "
        "beyond comes out as a lump.",
        what_to_do="See whether a line that feeds or a G92 E is missing there; have the program made again.",
        cannot_see="What the machine adds by itself. Whether the lengths pulled back suit hot end and drive. Runs of "
        "beads below 3 mm between two pulls.",
        severity=Severity.LOOK, limit=0.3, unit="mm of filament", run=_find_account,
        limit_source="about 10 mm of a bead; whole programs differ by less than 0.05 mm (measured on 60)",
    ),
)  # fmt: skip
"""Checks of what the E words say."""
