"""The figures of one layer, and of one move, as rows."""

from __future__ import annotations

import math
from collections.abc import Iterator

from viewer.beads.section import flow_mm3_s, range_beads, section_area
from viewer.layers.layers import ROLE_NAMES
from viewer.program import Program
from viewer.read.moves import BEAD, KIND_NAMES
from viewer.shown.cause_words import CAUSE_WORDS
from viewer.shown.numbers import (
    UNKNOWN,
    count_text,
    distance_text,
    duration_text,
    number_text,
    place_text,
    share_text,
    size_text,
)
from viewer.shown.program_rows import timed_share
from viewer.shown.row import Row, amount
from viewer.timing import CAUSES


def layer_rows(program: Program, number: int) -> tuple[Row, ...]:
    """Return the figures of layer `number`, from 1.

    Raises
    ------
    IndexError
        There is no such layer.
    """
    if not 1 <= number <= len(program.layers):
        raise IndexError(f"layer {number} of {len(program.layers)}")
    groups = (_layer, _layer_paths, _layer_roles, _layer_ledger)
    return tuple(row for group in groups for row in group(program, number))


def _layer(program: Program, number: int) -> Iterator[Row]:
    group, layers, row = "Layer", program.layers, number - 1
    starts = program.timing.moments.layer_start_s
    text = f"{count_text(number)} of {count_text(len(layers))}"
    yield Row(group, "number", number, "", text, "Counted from 1, in the order of the program.")
    height, thickness = float(layers.height_mm[row]), float(layers.thickness_mm[row])
    how = "Top of its beads above the plate." + (" It rises along a spiral." if layers.spiral[row] else "")
    yield amount(group, "height", height, "mm", how, f"{size_text(height)} mm")
    how = "Above the layer it rests on, or the plate."
    yield amount(group, "thickness", thickness, "mm", how, f"{size_text(thickness)} mm")
    if layers.objects > 1:
        text = f"{int(layers.object[row]) + 1} of {layers.objects}"
        how = "Objects printed one after another, from 1."
        yield Row(group, "object", int(layers.object[row]) + 1, "", text, how)
    lines = program.moves.line[layers.moves_of(number)]
    text = f"{int(lines[0])} to {int(lines[-1])}"
    yield Row(
        group, "lines", int(lines[0]), "", text, "Lines of the program with its first and its last move."
    )
    begins, ends = float(starts[row]), float(starts[number])
    how = "From the end of the layer before to its own end, waits included."
    yield amount(group, "time", ends - begins, "s", how, duration_text(ends - begins))
    how = "Since the start of the program."
    yield amount(group, "begins after", begins, "s", how, duration_text(begins))
    yield amount(group, "done after", ends, "s", how, duration_text(ends))


def _layer_paths(program: Program, number: int) -> Iterator[Row]:
    group, table = "Filament and paths", program.totals.layers
    drawn = float(table.drawn_mm[number])
    yield amount(
        group, "filament drawn", drawn, "mm", "Forward beyond where it was before.", distance_text(drawn)
    )
    for name, column in (("beads", table.bead_mm), ("travel", table.travel_mm), ("wipes", table.wipe_mm)):
        mm = float(column[number])
        yield amount(group, f"path of {name}", mm, "mm", "In three dimensions.", distance_text(mm))
    mean = float(table.mean_flow_mm3_s[number])
    yield amount(group, "mean flow", mean, "mm³/s", "Volume of the beads over their time.")
    peak = float(table.peak_flow_mm3_s[number])
    yield amount(
        group, "peak flow", peak, "mm³/s", "Highest cross-section times speed reached, of all its beads."
    )


def _layer_roles(program: Program, number: int) -> Iterator[Row]:
    paths = program.totals.layers.role_mm[number]
    total = float(program.totals.layers.bead_mm[number])
    for role, mm in zip(ROLE_NAMES, paths.tolist(), strict=True):
        if mm > 0.0:
            text = f"{distance_text(mm)}, {share_text(min(mm / total, 1.0))}"
            yield amount("Roles", role, mm, "mm", "Path of the beads of this role.", text)


def _layer_ledger(program: Program, number: int) -> Iterator[Row]:
    booked = program.timing.ledger.by_layer[number]
    total = float(booked.sum())
    for cause, seconds in zip(CAUSES, booked.tolist(), strict=True):
        name, how = CAUSE_WORDS[cause]
        yield amount("Time ledger", name, seconds, "s", how, timed_share(seconds, total))


def bead_rows(program: Program, move: int) -> tuple[Row, ...]:
    """Return the figures of one move, by its row in ``program.moves``; those of a bead where it is one.

    Raises
    ------
    IndexError
        There is no such move.
    """
    if not 0 <= move < len(program.moves):
        raise IndexError(f"move {move} of {len(program.moves)}")
    rows = [*_move(program, move), *_move_speed(program, move), *_move_settings(program, move)]
    if program.moves.kind[move] == BEAD:
        rows += _section(program, move)
    return tuple(rows)


def _move(program: Program, move: int) -> Iterator[Row]:
    moves, group = program.moves, "Move"
    kind, line = KIND_NAMES[moves.kind[move]], int(moves.line[move])
    yield Row(group, "kind", kind, "", kind, "From what moves: the nozzle, the filament, or both.")
    yield Row(group, "line", line, "", str(line), "Line of the program that commands it.")
    layer = int(program.layers.of_moves([move])[0])
    text = (
        "before layer 1"
        if layer == 0
        else "after the last"
        if layer > len(program.layers)
        else count_text(layer)
    )
    yield Row(group, "layer", layer, "", text, "The layer to which it belongs.")
    if kind == "bead":
        role = ROLE_NAMES[program.roles[move]]
        yield Row(group, "role", role, "", role, "What it is for, by comments or by shape.")
    end = (float(moves.x_mm[move]), float(moves.y_mm[move]), float(moves.z_mm[move]))
    for name, place in (("from", moves.start_xyz(move)), ("to", end)):
        x, y, z = place
        text = f"X {size_text(round(x, 3))} Y {size_text(round(y, 3))} Z {size_text(round(z, 3))}"
        yield Row(group, name, text, "mm", f"{text} mm", "In the machine's coordinates.")
    length, fed = float(moves.length_mm[move]), float(moves.fed_mm[move])
    yield amount(
        group, "length", length, "mm", "Of its path; a chord of an arc carries its share of the arc."
    )
    yield amount(group, "filament", fed, "mm", "Fed along it; negative: pulled back.")


def _move_speed(program: Program, move: int) -> Iterator[Row]:
    timing, group = program.timing, "Speed and time"
    commanded, peak = float(program.moves.speed_mm_s[move]), float(timing.peak_mm_s[move])
    text = None if commanded > 0.0 else "none stated yet"
    yield amount(group, "commanded", commanded, "mm/s", "The word F, without the speed factor M220.", text)
    yield amount(
        group, "begins with", float(timing.entry_mm_s[move]), "mm/s", "By the corner rule and look-ahead."
    )
    yield amount(group, "reached", peak, "mm/s", "Highest speed along it within limits and acceleration.")
    seconds = float(timing.time_s[move])
    yield amount(group, "takes", seconds, "s", "Speeding up, cruising and braking.", duration_text(seconds))
    begins = float(timing.progress.time_at_move(move)[0])
    yield amount(group, "begins after", begins, "s", "Since the start of the program.", duration_text(begins))


def _move_settings(program: Program, move: int) -> Iterator[Row]:
    settings, group = program.settings, "Settings"
    row = int(settings.of_move[move])
    how = "As the program set it before."
    tool = int(settings.column("tool")[row])
    yield Row(group, "tool", tool, "", str(tool), how)
    for name, field in (("nozzle", "nozzle_c"), ("plate", "plate_c")):
        target = float(settings.column(field)[row])
        known = not math.isnan(target)
        text = f"{number_text(target)} °C" if known else "never set"
        yield amount(group, name, target if known else None, "°C", "Target; the heater may lag behind.", text)
    fan = float(settings.column("fan")[row])
    yield amount(group, "fan", 100.0 * fan, "%", how, share_text(fan))
    number = int(settings.column("object")[row])
    if number >= 0:
        names = settings.object_names
        name = names[number] if number < len(names) else str(number)
        yield Row(group, "object", name, "", name, "From the program's object marks.")


def _section(program: Program, move: int) -> Iterator[Row]:
    moves, diameter, group = program.moves, program.filament_diameter_mm, "Bead"
    bead = range_beads(moves, program.layers, move, move + 1, diameter)
    area = float(section_area(moves.fed_mm[move], moves.length_mm[move], diameter))
    width, thickness = float(bead.width_mm[0]), float(bead.thickness_mm[0])
    how = "Of the oblong section that holds the filament fed at the layer's thickness."
    yield amount(group, "width", width, "mm", how, f"{number_text(width)} mm")
    yield amount(group, "thickness", thickness, "mm", "Its layer's.", f"{size_text(thickness)} mm")
    yield amount(group, "section", area, "mm²", "Filament fed times its cross-section, over the path.")
    flow = float(flow_mm3_s(area, program.timing.peak_mm_s[move]))
    yield amount(group, "flow", flow, "mm³/s", "Section times the speed reached, not the one commanded.")
    melt = program.printer.melt_mm3_s
    text = f"{UNKNOWN}: no melt rate on the printer card" if melt is None else share_text(flow / melt)
    how = "Flow over what the hot end melts at most (printer card)."
    yield amount(group, "of the melt rate", None if melt is None else flow / melt, "", how, text)
    at = f"X {place_text((bead.x0_mm[0] + bead.x1_mm[0]) / 2)} Y {place_text((bead.y0_mm[0] + bead.y1_mm[0]) / 2)}"
    yield Row(group, "middle", at, "mm", f"{at} mm", "Halfway along it.")
