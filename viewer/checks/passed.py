"""What holds where a check found nothing: its evidence in one sentence, with what was measured and its limit.

A check may also yield `Passed` itself; a check that is in neither way here passes without words and is not listed.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

import numpy as np

from viewer.checks.endings.signs import shut_down_signs
from viewer.checks.evidence import counted, unknown_zero_mm
from viewer.checks.filament import seconds_of
from viewer.checks.finding import Passed, Rule
from viewer.checks.first_layer import first_layer_speed_mm_s
from viewer.checks.time import setting_seconds
from viewer.figures.made_for import Stated
from viewer.numerals import number_text, share_text
from viewer.program import Program
from viewer.read.machine_state import CHAMBER, Heater
from viewer.read.moves import BEAD
from viewer.shape import ShapeFigures
from viewer.timing import clock_time, day_text, minute_up
from viewer.timing.demand import held_back

Evidence = Callable[[Program, Rule, "ShapeFigures | None"], str | None]


def passed(slug: str, program: Program, rule: Rule, shape: ShapeFigures | None) -> Passed | None:
    """Return what holds where a check was made and found nothing; None where there is nothing to say.

    Parameters
    ----------
    shape
        What was measured of the shape; None for checks that do not judge it.
    """
    evidence = _EVIDENCE.get(slug)
    sentence = None if evidence is None else evidence(program, rule, shape)
    return None if sentence is None else Passed(slug, sentence)


# the file ------------------------------------------------------------------------------------------------


def _end(program: Program, _rule: Rule, _shape: ShapeFigures | None) -> str:
    return f"{counted(program.tally.lines, 'line')}, and nothing says that the end is missing."


def _text(program: Program, _rule: Rule, _shape: ShapeFigures | None) -> str:
    return f"All {program.tally.lines:,} lines can be read."


def _checksums(program: Program, _rule: Rule, _shape: ShapeFigures | None) -> str:
    checked = program.tally.checked_lines
    return f"{counted(checked, 'line')} with a checksum add up." if checked else "No line carries a checksum."


def _beads(program: Program, _rule: Rule, _shape: ShapeFigures | None) -> str:
    beads = int(np.count_nonzero(program.moves.kind == BEAD))
    return f"{counted(beads, 'bead')} in {counted(len(program.layers), 'layer')}."


def _commands(program: Program, _rule: Rule, _shape: ShapeFigures | None) -> str:
    return f"All {len(program.tally.commands)} kinds of commands are known."


def _shut_down(program: Program, _rule: Rule, _shape: ShapeFigures | None) -> str:
    signs = list(dict.fromkeys(shut_down_signs(program)))
    return f"After the last bead: {', '.join(signs)}." if signs else "The file itself says that it ends."


# the machine ---------------------------------------------------------------------------------------------


def _on_plate(program: Program, _rule: Rule, _shape: ShapeFigures | None) -> str | None:
    extent, plate = program.totals.extent, program.printer.plate
    if extent is None or plate is None:
        return None
    (x0, x1), (y0, y1) = extent.x, extent.y
    said = f"Beads lie from X {x0:.0f} to {x1:.0f} and Y {y0:.0f} to {y1:.0f} mm"
    if plate.width_mm is not None and plate.depth_mm is not None:
        left, front = plate.left_mm, plate.front_mm
        inside = min(x0 - left, left + plate.width_mm - x1, y0 - front, front + plate.depth_mm - y1)
        return f"{said}, {inside:.0f} mm or more inside the plate of {program.printer.name}."
    return f"{said}, all on the plate of {program.printer.name}."


def _homed(_program: Program, _rule: Rule, _shape: ShapeFigures | None) -> str:
    return "X, Y and Z are homed before the first bead."


def _heat_limits(program: Program, rule: Rule, _shape: ShapeFigures | None) -> str | None:
    heat = program.printer.heat
    limits: tuple[tuple[Heater, float | None], ...] = (
        ("nozzle", rule.limit_or(heat.nozzle_max_c)),
        ("plate", heat.plate_max_c),
    )
    parts = []
    for heater, top in limits:
        targets = program.state.targets.of(heater)
        if top is not None and len(targets):
            parts.append(f"{heater} at most {targets.target_c.max():g} of {top:g} degC")
    return f"{_capital(', '.join(parts))}." if parts else None


def _goes_off(program: Program, rule: Rule, _shape: ShapeFigures | None) -> str | None:
    last = program.state.last_targets()
    own = last.rows(last.heater != CHAMBER)
    if not len(own):
        return None
    return f"At the end no heater has a target above {rule.limit or 0.0:g} degC."


def _flow(program: Program, rule: Rule, _shape: ShapeFigures | None) -> str | None:
    known = [v for v in (program.printer.melt_mm3_s, program.filament.melt_mm3_s) if v is not None]
    limit = rule.limit_or(min(known, default=None))
    flows = program.totals.layers.peak_flow_mm3_s[1:-1]
    if limit is None or not len(flows):
        return None
    return f"Beads ask for {flows.max():.1f} mm3/s of filament at most; {limit:g} are melted."


def _speed(program: Program, rule: Rule, _shape: ShapeFigures | None) -> str | None:
    if rule.limit is None:
        return None
    share = held_back(program.moves, program.timing, program.settings, program.printer).share
    return f"The axes reach what is commanded but for {share_text(share)} of the beads' time (limit {rule.limit:g} %)."


def _width(program: Program, _rule: Rule, _shape: ShapeFigures | None) -> str | None:
    widths, nozzle = program.widths, program.printer.nozzle_mm
    if not widths.is_known:
        return None
    return f"Beads are {widths.usual_mm:.2f} mm wide, as a nozzle of {nozzle:g} mm lays them."


def _tools(program: Program, _rule: Rule, _shape: ShapeFigures | None) -> str:
    used = sum(drawn_mm > 0.0 for drawn_mm in program.totals.drawn_by_tool_mm.values())
    return (
        f"It draws filament with {counted(used, 'tool')}; {program.printer.name} has {program.printer.tools}."
    )


def _made_for(program: Program, _rule: Rule, _shape: ShapeFigures | None) -> str | None:
    said = program.made_for
    parts = [str(said.material.value)] if said.material is not None else []
    parts += _stated("a nozzle of", said.nozzle) + _stated("filament of", said.filament_diameter)
    return f"The file says {', '.join(parts)}: as the cards do." if parts else None


def _stated(what: str, stated: Stated[float] | None) -> list[str]:
    return [] if stated is None else [f"{what} {number_text(stated.value)} mm"]


def _stays_on(program: Program, _rule: Rule, _shape: ShapeFigures | None) -> str | None:
    if not len(program.layers):
        return None
    return "Nozzle, plate and motors stay on from the first bead of the part to the last."


# the filament --------------------------------------------------------------------------------------------


def _heat_window(program: Program, _rule: Rule, _shape: ShapeFigures | None) -> str | None:
    card = program.filament
    parts = []
    heaters: tuple[Heater, ...] = ("nozzle", "plate")
    for heater, window in zip(heaters, (card.nozzle_c, card.plate_c), strict=True):
        periods, whole = program.state.periods(heater), slice(0, len(program.moves))
        hot = periods.target_c[seconds_of(program, periods, whole)[0] > 0.0]
        if window is not None and len(hot):
            span = f"{hot.min():g}" if hot.min() == hot.max() else f"{hot.min():g} to {hot.max():g}"
            parts.append(f"{heater} at {span} degC, {card.name} wants {window.low:g} to {window.high:g}")
    return f"{_capital('; '.join(parts))}." if parts else None


def _abrasive(program: Program, _rule: Rule, _shape: ShapeFigures | None) -> str | None:
    if not program.filament.abrasive:
        return f"{program.filament.name} is not abrasive."
    return "The nozzle is hardened." if program.printer.nozzle_hardened else None


def _spool(program: Program, _rule: Rule, _shape: ShapeFigures | None) -> str | None:
    filament = program.figures.filament
    if filament.spool_after_g is None:
        return None
    return (
        f"{filament.mass_g:.0f} g are drawn; {filament.spool_after_g:.0f} g are left on the spool afterwards."
    )


# the first layer -----------------------------------------------------------------------------------------


def _stands(program: Program, rule: Rule, _shape: ShapeFigures | None) -> str | None:
    if unknown_zero_mm(program) is not None or not program.standing:
        return None
    tilt = min(one.tilt_held_deg for one in program.standing)
    return f"It takes {tilt:.0f} degrees of tilt to topple what stands least firmly (limit {rule.limit or 0.0:g})."


def _islands(program: Program, rule: Rule, _shape: ShapeFigures | None) -> str | None:
    areas = [island.area_mm2 for island in program.first_layer.islands if island.has_part]
    if not areas:
        return None
    if len(areas) == 1:
        return f"One piece stands on {areas[0]:.0f} mm2."
    least, limit = min(areas), rule.limit or 0.0
    return f"{len(areas):,} pieces stand on the plate, the smallest on {least:.0f} mm2 (limit {limit:g})."


def _covered(program: Program, rule: Rule, _shape: ShapeFigures | None) -> str | None:
    coverage = program.first_layer.coverage
    if coverage is None:
        return None
    share, limit = share_text(coverage), share_text(rule.limit or 0.0)
    return f"{_capital(share)} of the first layer's outline are covered (limit {limit})."


def _first_speed(program: Program, rule: Rule, _shape: ShapeFigures | None) -> str | None:
    speed = first_layer_speed_mm_s(program)
    if speed is None:
        return None
    return f"Nine tenths of the first layer are laid at {speed:.0f} mm/s or slower (limit {rule.limit or 0.0:g})."


def _first_height(program: Program, _rule: Rule, _shape: ShapeFigures | None) -> str | None:
    first = program.figures.layers.first_mm
    if first is None or unknown_zero_mm(program) is not None:
        return None
    return f"The first layer is {first:g} mm thick, the nozzle {program.printer.nozzle_mm:g} mm wide."


# the shape -----------------------------------------------------------------------------------------------


def _no_starts(program: Program, rule: Rule, _shape: ShapeFigures | None) -> str:
    layers = counted(len(program.layers), "layer")
    return f"In {layers} no piece of {rule.limit or 0.0:g} mm2 begins with nothing below it."


def _overhang(_program: Program, _rule: Rule, shape: ShapeFigures | None) -> str | None:
    if shape is None:
        return None
    most = float(shape.overhang_mm2.max(initial=0.0))
    if most <= 0.0:
        return f"Nothing reaches out further than {shape.angle_deg:g} degrees from upright."
    beyond = f"further than {shape.angle_deg:g} degrees"
    return f"What reaches out {beyond} is {most:.1f} mm2 a layer at most, and does not go on."


def _bridge(_program: Program, rule: Rule, shape: ShapeFigures | None) -> str | None:
    if shape is None:
        return None
    longest = float(shape.bridge_mm.max(initial=0.0))
    said = "No bead bridges air" if longest <= 0.0 else f"The longest bridge is {longest:.1f} mm"
    return f"{said} (limit {rule.limit or 0.0:g} mm)."


def _thin(_program: Program, rule: Rule, _shape: ShapeFigures | None) -> str:
    return f"No wall or post is thinner than {rule.limit or 0.0:g} bead widths over more than 2 mm of height."


def _open_travel(_program: Program, rule: Rule, shape: ShapeFigures | None) -> str | None:
    if shape is None:
        return None
    longest = float(shape.open_mm.max(initial=0.0))
    return f"Without retraction {longest:.0f} mm of open space are crossed at most (limit {rule.limit or 0.0:g})."


# time ----------------------------------------------------------------------------------------------------


def _layers_set(program: Program, rule: Rule, _shape: ShapeFigures | None) -> str | None:
    limit, seconds = rule.limit_or(program.filament.layer_s), setting_seconds(program)
    if limit is None or not len(seconds):
        return None
    half = float(np.median(seconds))
    return f"{program.filament.name} wants {limit:g} s a layer to set; half of the layers have {half:.0f} s or more."


def _claims(program: Program, rule: Rule, _shape: ShapeFigures | None) -> str | None:
    count = len(program.figures.claims)
    return f"{counted(count, 'figure')} that the file states of itself can be followed (limit {rule.limit or 0.0:g} %)."


def _in_hours(program: Program, rule: Rule, _shape: ShapeFigures | None) -> str | None:
    hours, start = program.workshop.hours, rule.start
    if hours is None or start is None:
        return None
    end = minute_up(clock_time(start, program.timing.moments.end_s))
    return f"It ends at {day_text(start, end)}; {program.workshop.name} closes at {hours.closes}."


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


_EVIDENCE: Final[dict[str, Evidence]] = {
    "cut-short": _end,
    "garbled": _text,
    "checksum": _checksums,
    "no-beads": _beads,
    "unknown-commands": _commands,
    "no-shutdown": _shut_down,
    "off-plate": _on_plate,
    "not-homed": _homed,
    "too-hot-for-machine": _heat_limits,
    "heaters-left-on": _goes_off,
    "beyond-flow": _flow,
    "speed-cut": _speed,
    "nozzle-mismatch": _width,
    "more-tools": _tools,
    "made-for": _made_for,
    "off-in-print": _stays_on,
    "wrong-heat": _heat_window,
    "abrasive": _abrasive,
    "spool-short": _spool,
    "topples": _stands,
    "tiny-island": _islands,
    "gaps": _covered,
    "first-layer-speed": _first_speed,
    "first-layer-height": _first_height,
    "mid-air-start": _no_starts,
    "steep-overhang": _overhang,
    "long-bridge": _bridge,
    "thin-feature": _thin,
    "bare-travel": _open_travel,
    "quick-layers": _layers_set,
    "claims-differ": _claims,
    "after-closing": _in_hours,
}
