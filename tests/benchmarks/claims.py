"""Our time and filament beside what real programs claim of themselves."""

from __future__ import annotations

from pathlib import Path

import msgspec

from viewer import open_program
from viewer.cards import Axes, Corner, Heat, Homing, PrinterCard, load_printer
from viewer.program import Program

_STATED = {
    "accelerations": ("accel_print_mm_s2",),
    "axis limits": ("accel_x_mm_s2", "max_x_mm_s"),
    "corners": ("jerk_x_mm_s", "junction_deviation_mm", "corner_mm_s"),
}


def plain_card() -> PrinterCard:
    """A machine that takes its limits from the program and does nothing but move.

    Programs state the time of their moves: heating, homing and levelling take no time here, and the controller's own
    slowness (look-ahead, smallest segment) is left out. Where a program states no limit, those of a usual machine hold
    (common practice, no source): 500 mm/s, 1000 mm/s2, 8 mm/s at corners.
    """
    fast = Heat(nozzle_warming_c_s=1e6, nozzle_cooling_c_s=1e6, plate_warming_c_s=1e6, plate_cooling_c_s=1e6)
    return msgspec.structs.replace(
        load_printer("heron"), heat=fast, homing=Homing(seconds=0.0), levelling_s=0.0, tool_change_s=0.0,
        min_segment_time_s=0.0, planner_buffer_moves=0, max_speed_mm_s=Axes(x=500.0, y=500.0, z=20.0, e=120.0),
        max_acceleration_mm_s2=Axes(x=20000.0, y=20000.0, z=500.0, e=10000.0), print_acceleration_mm_s2=1000.0,
        travel_acceleration_mm_s2=1000.0, retract_acceleration_mm_s2=1500.0,
        corner=Corner(rule="jerk", jerk_mm_s=Axes(x=8.0, y=8.0, z=0.4, e=4.5)),
    )  # fmt: skip


def stated_limits(program: Program) -> str:
    """Name the kinds of limits that a program states."""
    columns = {kind: [program.settings.column(field) for field in fields] for kind, fields in _STATED.items()}
    found = [kind for kind, fields in columns.items() if any((field == field).any() for field in fields)]
    return ", ".join(found) or "none"


def table(folder: Path) -> list[str]:
    """One row a program that claims a time or its filament."""
    card = plain_card()
    rows = [
        "| program | limits it states | stated s | ours s | stated / ours | path over speed s | filament | ratio |",
        "|" + " --- |" * 8,
    ]
    for path in sorted(folder.glob("*.gcode")):
        program = open_program(path, card)
        figures = program.figures
        claims = {claim.quantity: claim for claim in figures.claims[::-1] if claim.tool < 0}
        stated, fed = claims.get("time_s"), claims.get("filament_mm")
        if stated is None and fed is None:
            continue
        ours = figures.time.total_s
        of_time = (
            f"{stated.value:.0f} | {ours:.0f} | {stated.value / ours:.3f}"
            if stated
            else f"- | {ours:.0f} | -"
        )
        of_filament = f"{fed.basis} | {fed.ratio:.4f}" if fed and fed.ratio else "- | -"
        cells = f"{path.stem} | {stated_limits(program)} | {of_time} | {figures.time.nominal_s:.0f} | {of_filament}"
        rows.append(f"| {cells} |")
    return rows
