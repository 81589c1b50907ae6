"""The path against what is printed and against the machine's room: nozzle, head, plate and reach."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import Final

import numpy as np

from viewer.arrays import F64, Bool
from viewer.checks.evidence import counted, first_bead, last_bead, layer_of, line_of, tuned, unknown_zero_mm
from viewer.checks.finding import (
    Check,
    Finding,
    Hazard,
    NotChecked,
    Outcome,
    Passed,
    Rule,
    Severity,
    with_rest,
)
from viewer.checks.midprint.span import first_bead_words
from viewer.program import Program
from viewer.read.homing import ONE_WAY_CODES, homings
from viewer.read.moves import BEAD, PLACE, TRAVEL, WIPE
from viewer.shape.outside import room_of
from viewer.shape.path.head import HeadStrike, Part, find_head_strikes
from viewer.shape.path.heights import Strike, Tops, find_strikes, low_moves, tops_of
from viewer.shape.path.reach import SIDES, Beyond, below_plate, beyond_sides, travels

INTO: Final = "drives-into-print"
HEAD: Final = "head-hits-print"
BELOW: Final = "below-plate"
REACH: Final = "beyond-reach"

LAYERS_DEEP: Final = 1.5
"""A seam that begins as a ramp, or a bead that swells, lies no more than this many layers above the nozzle (common
practice, no source)."""
SHORT_MM: Final = 2.0
"""A path in the print that is shorter than this is to be looked at; the nozzle may push through."""
MAX_SHOWN: Final = 20
"""Places for which a finding is made; the rest is counted."""
DEEP_MM: Final = 0.5
"""A plate on springs gives way by about this much (common practice, no source)."""


def tolerance_mm(program: Program, rule: Rule) -> float:
    """Return how deep below the top of what is printed a path may run, mm: the nozzle's bore, and more than a layer."""
    if rule.limit_is_set and rule.limit is not None:
        return rule.limit
    thickest = float(np.quantile(program.layers.thickness_mm, 0.9))
    return round(max(program.printer.nozzle_mm, LAYERS_DEEP * thickest), 3)


def _known_until(program: Program) -> int:
    """Return the first move from which on the height is not known: an axis was driven to an end stop, somewhere."""
    events, begin = program.events, int(program.layers.first_move[0])
    rows = [row for row in homings(events).tolist() if events.code[row] in ONE_WAY_CODES]
    return min(
        (int(events.move[row]) for row in rows if events.move[row] > begin), default=len(program.moves)
    )


def _low(program: Program, tops: Tops, tolerance: float) -> Bool:
    """Return the moves (n,) that go lower than what was printed before.

    Homing between beads is left out, and so is what follows it until the next bead: the way out of the place where the
    card says that homing ends would be told as a second fault.
    """
    low = low_moves(program.shape_columns, tops, tolerance)
    low[_known_until(program) :] = False
    beads = np.flatnonzero(program.moves.kind == BEAD)
    for move in np.flatnonzero(low & (program.moves.kind == PLACE)).tolist():
        after = int(np.searchsorted(beads, move))
        if after < len(beads):
            low[move : beads[after]] = False
    return low


def _into_print(program: Program, rule: Rule) -> Iterator[Outcome]:
    if not len(program.layers):
        return
    tolerance = tolerance_mm(program, rule)
    columns = program.shape_columns
    tops = tops_of(columns)
    low = _low(program, tops, tolerance)
    strikes, total = find_strikes(columns, tops, low, tolerance)
    if not strikes:
        ways = int(np.count_nonzero(np.isin(program.moves.kind, (TRAVEL, WIPE))))
        yield Passed(
            INTO, f"On none of {ways:,} travels and wipes does the nozzle go more than {tolerance:g} mm below the top "
            f"of what is printed there; {int(np.count_nonzero(low)):,} moves go lower than the highest bead before them.",
        )  # fmt: skip
        return
    worst = sorted(strikes, key=lambda one: (_weight(program, one).rank, -one.depth_mm))[:MAX_SHOWN]
    found = [_strike_finding(program, rule, one, tolerance) for one in worst]
    yield from with_rest(found, len(strikes) if total else 0, "place")


def _weight(program: Program, strike: Strike) -> Severity:
    """Return how grave a strike is; where homing ends is the card's word, and short ways may be pushed through."""
    is_homing = program.moves.kind[strike.move] == PLACE
    return Severity.LOOK if is_homing or strike.length_mm < SHORT_MM else Severity.STOP


def _strike_finding(program: Program, rule: Rule, strike: Strike, tolerance: float) -> Finding:
    is_homing = program.moves.kind[strike.move] == PLACE
    grave = _weight(program, strike)
    return Finding(
        slug=INTO,
        severity=rule.weigh(grave),
        sentence=_strike_sentence(program, strike),
        lines=tuple(dict.fromkeys((line_of(program, strike.move), line_of(program, strike.laid_by)))),
        layer=layer_of(program, strike.move),
        place_mm=tuned(strike.place_mm),
        value=strike.depth_mm,
        limit=tolerance,
        unit="mm deep",
        remedy=_HOMING if is_homing else _LIFT if grave is Severity.STOP else _SEE,
        hazard=Hazard.MOVING_PARTS,
        move=strike.move,
    )


_LIFT: Final = "Do not print it: have it made again so that the nozzle is lifted over what is printed."
_SEE: Final = "Look at the place in the picture; have it made again so that the nozzle is lifted there."
_HOMING: Final = (
    "Find out how this printer homes Z; where it goes down, take the line out or home X and Y alone."
)


def _strike_sentence(program: Program, strike: Strike) -> str:
    move = strike.move
    line, z = line_of(program, move), strike.place_mm[2]
    layer = layer_of(program, strike.laid_by)
    stands = f"what was printed there in layer {layer}, which is {strike.top_mm:.2f} mm high"
    if program.moves.kind[move] == PLACE:
        return f"Homing in line {line} drives the nozzle to Z {z:.2f} by the printer card, into {stands}."
    last = last_bead(program)
    what = {TRAVEL: "travel", WIPE: "wipe", BEAD: "bead"}[int(program.moves.kind[move])]
    after = " after the last bead" if last is not None and move > last else ""
    return (
        f"The {what} in line {line}{after} drives the nozzle, at Z {z:.2f}, {strike.depth_mm:.2f} mm deep into {stands}; "
        f"{strike.length_mm:.1f} mm of the way lie in it."
    )


def _head_hits(program: Program, rule: Rule) -> Iterator[Outcome]:
    if not len(program.layers):
        return
    head, name = program.printer.head, program.printer.name
    tolerance = tolerance_mm(program, rule)
    tops = tops_of(program.shape_columns)
    low = _low(program, tops, tolerance)
    homed = np.flatnonzero(low & (program.moves.kind == PLACE))
    low[homed.min(initial=len(low)) :] = False  # where homing at the end leaves the nozzle is the card's word
    if not low.any():
        yield Passed(
            HEAD, "Nothing stands higher than the nozzle when it passes: no move goes lower than the highest bead "
            f"before it, by more than {tolerance:g} mm.",
        )  # fmt: skip
        return
    higher = float((tops.highest_mm[low] - tops.low_mm[low]).max())
    if not head.has_outline and head.gantry_mm is None:
        yield NotChecked(
            HEAD, f"The nozzle goes up to {higher:.1f} mm lower than what stands on the plate, and the head of {name} is "
            "unknown (head in the printer card): whether head or carriage strike it was not checked.",
        )  # fmt: skip
        return
    if not head.has_outline or head.gantry_mm is None:
        part = "carriage and gantry" if head.has_outline else "head"
        yield NotChecked(HEAD, f"How low the {part} of {name} reach is unknown: not checked.")
    strikes = list(find_head_strikes(program.shape_columns, tops, low, head, tolerance))
    for strike in strikes:
        yield _head_finding(program, rule, strike, tolerance)
    if not strikes:
        yield Passed(
            HEAD, f"The nozzle goes up to {higher:.1f} mm lower than what stands on the plate, and what is known of the "
            f"head of {name} strikes nothing.",
        )  # fmt: skip


def _head_finding(program: Program, rule: Rule, found: HeadStrike, tolerance: float) -> Finding:
    strike = found.strike
    x, y, z = strike.place_mm
    underside = z
    top = underside + strike.depth_mm
    nozzle_z = underside - found.raised_mm
    away = math.dist((x, y), found.struck_mm)
    is_sure = found.is_sure and found.part is Part.HEAD
    return Finding(
        slug=HEAD,
        severity=rule.weigh(Severity.STOP if is_sure else Severity.LOOK),
        sentence=f"With the nozzle at X {x:.1f} Y {y:.1f} Z {nozzle_z:.2f} (line {line_of(program, strike.move):,}) the "
        f"{found.part.value} of {program.printer.name}, {found.raised_mm:g} mm above the nozzle's tip, strikes what "
        f"stands {away:.0f} mm away at X {found.struck_mm[0]:.0f} Y {found.struck_mm[1]:.0f} and is {top:.2f} mm high "
        f"({counted(found.moves, 'move')} in all).",
        lines=tuple(dict.fromkeys((line_of(program, strike.move), line_of(program, found.laid_by)))),
        layer=layer_of(program, strike.move),
        place_mm=tuned((x, y, nozzle_z)),
        value=strike.depth_mm,
        limit=tolerance,
        unit="mm below its top",
        remedy="Have it made again with the objects further apart, in another order, or all together layer by layer.",
        hazard=Hazard.MOVING_PARTS,
        move=strike.move,
    )


def _edges_of(program: Program) -> F64:
    """Return left, right, front and back of the plate, of a round one its bounding square; infinite where unknown."""
    bounds = room_of(program.printer).bounds_mm
    x, y, radius = bounds[4:7].tolist()
    if math.isfinite(radius):
        return np.array([x - radius, x + radius, y - radius, y + radius])
    return bounds[:4]


def _below_plate(program: Program, rule: Rule) -> Iterator[Outcome]:
    begin = first_bead(program)
    if begin is None or not len(program.layers):
        return
    if unknown_zero_mm(program) is not None:
        yield NotChecked(
            BELOW, "Z does not count from the plate: whether travel goes below its surface was not checked."
        )
        return
    beads = (program.moves.kind == BEAD) & (program.moves.z_mm < 0.0)
    if beads.any():
        return  # off-plate tells it
    chosen = travels(program.shape_columns, begin, _known_until(program))
    limit = rule.limit or 0.0
    found = below_plate(program.shape_columns, chosen, _edges_of(program), limit)
    if found is not None:
        yield _below_finding(program, rule, found, limit)
        return
    lowest = float(program.moves.z_mm[chosen].min(initial=np.inf))
    if math.isfinite(lowest):
        yield Passed(
            BELOW,
            f"From the {first_bead_words(program, begin)} on no travel goes below the plate; the lowest ends at Z "
            f"{lowest:.2f}.",
        )


def _below_finding(program: Program, rule: Rule, found: Beyond, limit: float) -> Finding:
    move = found.worst_move
    place = tuple(float(getattr(program.moves, name)[move]) for name in ("x_mm", "y_mm", "z_mm"))
    return Finding(
        slug=BELOW,
        severity=rule.weigh(Severity.STOP if found.beyond_mm > DEEP_MM else Severity.LOOK),
        sentence=f"Travel in line {line_of(program, move):,} drives the nozzle {found.beyond_mm:.2f} mm below the "
        f"plate's surface ({counted(found.moves, 'move')} in all).",
        lines=(line_of(program, move),),
        layer=layer_of(program, move),
        place_mm=tuned((place[0], place[1], place[2])),
        value=found.beyond_mm,
        limit=limit,
        unit="mm below the plate",
        remedy="Do not print it as it is: take the line out or have it made again; the nozzle is driven into the plate.",
        hazard=Hazard.MOVING_PARTS,
        move=move,
    )


_EDGE_WORDS: Final = (
    *(f"beyond the {side} edge of the plate" for side in ("left", "right", "front", "back")),
    "above the print height",
)


def _beyond_reach(program: Program, rule: Rule) -> Iterator[Outcome]:
    begin = _homed_at(program)
    if begin is None:
        return
    chosen = travels(
        program.shape_columns, begin, _known_until(program) if len(program.layers) else len(program.moves)
    )
    printer = program.printer
    reach = printer.reach
    known = (reach.left_mm, reach.right_mm, reach.front_mm, reach.back_mm, reach.top_mm)
    top = float(printer.height_mm) if printer.height_mm is not None else math.inf
    plate = np.append(_edges_of(program), top)
    limit = rule.limit or 0.0
    bounds = np.array([_bound(side, one) for side, one in enumerate(known)])
    found = [one for one in beyond_sides(program.shape_columns, chosen, bounds) if one.beyond_mm > limit]
    for one in found:
        yield _reach_finding(program, rule, one, float(bounds[one.side]), limit)
    off = [one for one in beyond_sides(program.shape_columns, chosen, plate) if known[one.side] is None]
    if off:
        yield NotChecked(REACH, _unknown_reach(printer.name, off))
    elif not np.isfinite(np.where(np.isfinite(bounds), bounds, plate)).all():
        yield NotChecked(
            REACH, f"Plate or height and reach of {printer.name} are unknown: travel was not checked there."
        )
    elif not found:
        yield Passed(
            REACH,
            f"All {int(np.count_nonzero(chosen)):,} travels and wipes end where {printer.name} reaches.",
        )


def _bound(side: int, known: float | None) -> float:
    unknown = math.inf if SIDES[side] in ("right", "back", "top") else -math.inf
    return unknown if known is None else float(known)


def _homed_at(program: Program) -> int | None:
    """Return the first move after the last homing before the first bead, else the first bead; None: no bead.

    Before it the machine does not know where it is.
    """
    bead = first_bead(program)
    if bead is None:
        return None
    moves = [int(program.events.move[row]) for row in homings(program.events).tolist()]
    return max((move for move in moves if move <= bead), default=bead)


def _unknown_reach(name: str, off: Sequence[Beyond]) -> str:
    parts = [f"{one.beyond_mm:.1f} mm {_EDGE_WORDS[one.side]}" for one in off]
    return (
        f"Travel goes {', '.join(parts)} of {name}, and how far the nozzle reaches there is unknown (reach "
        "in the printer card): not checked."
    )


def _reach_finding(program: Program, rule: Rule, found: Beyond, edge: float, limit: float) -> Finding:
    move = found.worst_move
    place = tuple(float(getattr(program.moves, name)[move]) for name in ("x_mm", "y_mm", "z_mm"))
    axis = "XXYYZ"[found.side]
    at = place["XYZ".index(axis)]
    return Finding(
        slug=REACH,
        severity=rule.severity,
        sentence=f"Travel goes to {axis} {at:.1f} (line {line_of(program, move):,}), and the nozzle of "
        f"{program.printer.name} reaches {axis} {edge:g} ({counted(found.moves, 'move')} in all).",
        lines=tuple(dict.fromkeys((line_of(program, move), line_of(program, found.first_move)))),
        layer=layer_of(program, move),
        place_mm=tuned((place[0], place[1], place[2])),
        value=found.beyond_mm,
        limit=limit,
        unit="mm beyond",
        remedy="Have it made again for this printer: the axis is driven against its end and loses its place, or the "
        "machine stops.",
        hazard=Hazard.MOVING_PARTS,
        move=move,
    )


PATH_CHECKS: Final = (
    Check(
        slug=INTO, theme="the machine", title="Nozzle driven into the print",
        looks_at="Every travel, wipe and bead, and where homing behind the last bead ends, against the beads laid before "
        "it: whether the nozzle goes deeper below their top than its bore or "
        f"{LAYERS_DEEP:g} layers. Where {SHORT_MM:g} mm of the way and more lie in the print it is a stop.",
        why="The nozzle tears the part off the plate or bends itself, and the motors lose their place.",
        what_to_do="Have it made again so that the nozzle is lifted over what is printed. For homing: find out how the "
        "printer homes Z, and home X and Y alone where the part stands in the way.",
        cannot_see="What is wider than the nozzle's bore (see head-hits-print), parts that curl up, homing between "
        "beads, moves that the machine makes by itself, the way that homing takes, and all moves behind the first layer "
        "that follow G161 or G162, which leave an axis at a place that is not known.",
        severity=Severity.STOP, limit=None, unit="mm deep",
        limit_source="the nozzle's bore (printer card), and 1.5 layers", hazard=Hazard.MOVING_PARTS, run=_into_print,
    ),
    Check(
        slug=HEAD, theme="the machine", title="Head or carriage against the print",
        looks_at="Where the nozzle goes lower than what stands on the plate (objects printed in turn, the end): "
        "whether the head, a rectangle about the nozzle, or the gantry, a bar along X as deep as the head, strikes it. A "
        "head 5 mm smaller that still strikes it is a stop.",
        why="The head knocks the finished object over, or the gantry sits down on it.",
        what_to_do="Have it made again with the objects further apart, in another order, or all together layer by layer.",
        cannot_see="The true shape of the head: the card knows a rectangle and two heights. Cables, hoses and ducts "
        "count only where the card's values hold them, and what follows homing at the end is left out. The "
        "machine's manual has the last word.",
        severity=Severity.STOP, limit=None, unit="mm below its top",
        limit_source="the printer card's head; the nozzle's bore and 1.5 layers are let pass",
        hazard=Hazard.MOVING_PARTS, run=_head_hits,
    ),
    Check(
        slug=BELOW, theme="the machine", title="Travel below the plate",
        looks_at="Whether travel and wipes from the first bead on, purge too, end below the plate's surface, over the "
        f"plate. More than {DEEP_MM:g} mm is a stop. Beads below the plate are told by off-plate.",
        why="The nozzle is driven into the plate: both are damaged.",
        what_to_do="Take the line out, or have the program made again.",
        cannot_see="The true height of the plate, and probing before the first bead, which touches the plate on purpose.",
        severity=Severity.STOP, limit=0.05, unit="mm below the plate", hazard=Hazard.MOVING_PARTS, run=_below_plate,
    ),
    Check(
        slug=REACH, theme="the machine", title="Travel beyond the machine's reach",
        looks_at="Whether all travel after homing ends where the nozzle reaches by the printer card (reach), in X, Y and "
        "Z. What stays over the plate counts as reached.",
        why="An axis that is driven against its end skips and loses its place; some machines stop.",
        what_to_do="Have it made again for this printer.",
        cannot_see="Limits that the machine itself holds to, and clips, brushes and other things in the way.",
        severity=Severity.LOOK, limit=0.0, unit="mm beyond", limit_source="the printer card's reach",
        hazard=Hazard.MOVING_PARTS, run=_beyond_reach,
    ),
)  # fmt: skip
"""The checks of this module."""
