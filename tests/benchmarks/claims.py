"""Our time and filament beside what real programs claim of themselves."""

from __future__ import annotations

from pathlib import Path

from viewer import open_program
from viewer.cards import load_printer


def table(folder: Path, printer: str) -> list[str]:
    """One row a program that claims a time or its filament."""
    card = load_printer(printer)
    rows = [
        "| program | stated time s | ours s | stated / ours | nominal s | filament basis | ratio |",
        "|" + " --- |" * 7,
    ]
    for path in sorted(folder.glob("*.gcode")):
        figures = open_program(path, card).figures
        claims = {claim.quantity: claim for claim in figures.claims[::-1] if claim.tool < 0}
        stated = claims.get("time_s")
        fed = claims.get("filament_mm")
        if stated is None and fed is None:
            continue
        time_cells = (
            f"{stated.value:.0f} | {figures.time.total_s:.0f} | {stated.value / figures.time.total_s:.3f}"
            if stated
            else f"- | {figures.time.total_s:.0f} | -"
        )
        fed_cells = f"{fed.basis} | {fed.ratio:.4f}" if fed and fed.ratio else "- | -"
        rows.append(f"| {path.stem} | {time_cells} | {figures.time.nominal_s:.0f} | {fed_cells} |")
    return rows
