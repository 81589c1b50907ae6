"""Whether the first bead of the part waits until the plate is hot."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from viewer.checks.evidence import line_of, middle_of
from viewer.checks.finding import Check, Finding, Hazard, NotChecked, Outcome, Passed, Rule, Severity
from viewer.checks.midprint.span import part_span, where
from viewer.checks.midprint.switched_off import COLD_C
from viewer.program import Program
from viewer.timing import plate_before

SLUG: Final = "plate-still-cold"
SHORT_C: Final = 10.0
"""A plate that lacks less is as good as there: the card's rates are no truer (no source)."""


def _plate_still_cold(program: Program, rule: Rule) -> Iterator[Outcome]:
    span = part_span(program)
    if span is None:
        return
    bead = span[0]
    if start := next((one for one in program.remarks.starts if one.move <= bead), None):
        said = f"Line {start.line} leaves the beginning to the machine's own {start.name}"
        yield NotChecked(
            SLUG, f"{said}: whether it waits for the plate is not in the program and was not checked."
        )
        return
    heat = plate_before(
        bead, program.events, program.state, program.timing.progress.moving_before, program.printer
    )
    short, limit = heat.target_c - heat.is_c, rule.limit or 0.0
    if heat.target_c < COLD_C:
        heated = f"is set to {heat.target_c:g} degC, hand-warm" if heat.target_c > 0.0 else "is not heated"
        yield Passed(SLUG, f"The plate {heated}: there is nothing to wait for.")
    elif short <= limit:
        yield Passed(
            SLUG, f"The plate has {heat.is_c:.0f} of {heat.target_c:g} degC when the first bead of the part is laid; it "
            f"may lack {limit:g} degC.",
        )  # fmt: skip
    else:
        yield _finding(program, rule, bead, heat.is_c, heat.target_c)


def _finding(program: Program, rule: Rule, bead: int, is_c: float, target_c: float) -> Finding:
    sets = program.state.targets.of("plate")
    last = sets.stated_line[sets.move <= bead][-1:].tolist()
    return Finding(
        slug=SLUG,
        severity=rule.severity,
        sentence=f"The first bead of the part does not wait for the plate (M190): by the printer card it has some "
        f"{is_c:.0f} degC of {target_c:g} by then.",
        lines=(*last, line_of(program, bead)),
        layer=where(program, bead)[0],
        place_mm=middle_of(program, bead),
        value=target_c - is_c,
        limit=rule.limit or 0.0,
        unit="degC short",
        remedy="Heat the plate by hand before the print, or have it made again: the first layer comes off a cold plate.",
        hazard=Hazard.HEAT,
        move=bead,
    )


PLATE_CHECK: Final = Check(
    slug=SLUG, theme="the filament", title="Plate still cold",
    looks_at=f"Whether the plate, if it is heated at all, lacks more than {SHORT_C:g} degC of its target when the first "
    "bead of the part is laid: nothing waits for it (M190, M116) and it had too little time.",
    why="The first layer does not stick to a plate that is too cold, and a part that comes off is lost hours later.",
    what_to_do="Heat the plate by hand before the print, or have the program made again.",
    cannot_see="True temperatures: how quickly the plate heats is the printer card's, and whether it was warm before is "
    "not in the program. What the machine's own beginning waits for.",
    severity=Severity.LOOK, limit=SHORT_C, unit="degC short", hazard=Hazard.HEAT, run=_plate_still_cold,
)  # fmt: skip
"""The check of this module."""
