"""Theme: the file. Whether the program switches the machine off when the part is done."""

from __future__ import annotations

from collections.abc import Iterator

from viewer.checks.endings.ending import Ending, look_at_end
from viewer.checks.endings.signs import is_heated, plate_goes_off
from viewer.checks.evidence import heaters_on_at_end, hottest_at_end, last_bead
from viewer.checks.finding import Check, Finding, Hazard, Outcome, Passed, Rule, Severity
from viewer.checks.holds import the_end
from viewer.program import Program


def lacks_shut_down(program: Program) -> Ending | None:
    """Return the end of a program that switches nothing off, and is not called cut short; None for any other."""
    if last_bead(program) is None:
        return None
    end = look_at_end(program)
    switched = end.switches_off or (end.is_whole and plate_goes_off(program))
    return None if switched or end.cut or end.hints else end


def _no_shut_down(program: Program, rule: Rule) -> Iterator[Outcome]:
    end, last = lacks_shut_down(program), last_bead(program)
    if last is None:
        return
    if end is None:
        seen = look_at_end(program)
        if not seen.cut and not seen.hints:
            hottest = hottest_at_end(program)
            yield Passed("no-shutdown", f"{the_end(program)}; the hottest last target is {hottest:g} degC.")
        return
    heated, left_on = is_heated(program), heaters_on_at_end(program)
    if end.is_whole and not left_on:
        yield Passed("no-shutdown", f"{the_end(program)}, and no heater is left on.")
        return  # it says itself that this is the end, and nothing stays hot
    what = "what was heated by hand stays hot" if not heated else "the motors stay on"
    if left_on:
        what = f"{left_on} {'stay' if ' and ' in left_on else 'stays'} on"
    doubt = "" if end.is_whole else "; or its end is missing"
    yield Finding(
        slug="no-shutdown",
        severity=rule.severity,
        sentence=f"The program ends without a shut-down (heaters off, motors off) after the last bead: {what}{doubt}.",
        lines=(program.tally.lines,),
        value=hottest_at_end(program),
        limit=0.0,
        unit="degC at the end",
        remedy="Have somebody there at the end to switch the machine off"
        + ("." if end.is_whole else "; if it is not meant to end so, copy it again."),
        hazard=Hazard.HEAT if left_on or not heated else None,
        move=last,
    )


SHUT_DOWN_CHECK = Check(
    slug="no-shutdown", theme="the file", title="No shut-down",
    looks_at="Whether anything is switched off after the last bead: nozzle or motors off, a homing, an end procedure. "
    "A program whose end is called cut short is left to that check.",
    why="The nozzle stays hot over the finished part, and nobody is told that it is.",
    what_to_do="Be there at the end and switch the machine off, or have the program made with a shut-down.",
    cannot_see="What the machine does by itself at the end of a file; and whether a missing end was ever there, where "
    "the program says nothing about its own length.",
    severity=Severity.LOOK, limit=None, unit="", hazard=Hazard.HEAT,
    limit_source="the ends of real programs; common practice, no source", run=_no_shut_down,
)  # fmt: skip
"""The check of this module."""
