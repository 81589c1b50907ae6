"""The layer table as CSV, for spreadsheets."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator
from typing import TYPE_CHECKING, Any, Final

if TYPE_CHECKING:
    from viewer.program import Program

LAYER_COLUMNS: Final = (
    "layer", "object", "height_mm", "thickness_mm", "time_s", "start_s", "drawn_mm", "bead_mm", "travel_mm",
    "wipe_mm", "mean_flow_mm3_s", "peak_flow_mm3_s",
)  # fmt: skip
"""Columns before those of the roles, whose path stands in ``ROLE_mm``."""
_DECIMALS: Final = 6
_ROWS_A_PIECE: Final = 4096


def layers_csv(program: Program) -> Iterator[str]:
    """Yield the layer table as CSV (RFC 4180), some thousand rows a piece.

    Row 0 is what comes before layer 1 and the last row what comes after the last layer; both have no object,
    height and thickness. So every column adds up to the program's total.
    """
    from viewer.layers.layers import ROLE_NAMES

    roles = [f"{role.replace(' ', '_').replace('-', '_')}_mm" for role in ROLE_NAMES]
    columns = _columns(program)
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow([*LAYER_COLUMNS, *roles])
    for number, row in enumerate(zip(*columns, strict=True)):
        writer.writerow([number, *row])
        if number % _ROWS_A_PIECE == 0:
            yield out.getvalue()
            out.seek(0)
            out.truncate()
    yield out.getvalue()


def _columns(program: Program) -> list[list[Any]]:
    layers, table, timing = program.layers, program.totals.layers, program.timing
    starts = timing.moments.layer_start_s.tolist() or [timing.total_s]
    numbers = [
        timing.ledger.by_layer.sum(axis=1).tolist(),
        [0.0, *starts],
        *(
            column.tolist()
            for column in (
                table.drawn_mm, table.bead_mm, table.travel_mm, table.wipe_mm, table.mean_flow_mm3_s,
                table.peak_flow_mm3_s, *table.role_mm.T,
            )
        ),
    ]  # fmt: skip
    of_layers = [
        (layers.object + 1).tolist(),
        _rounded(layers.height_mm.tolist()),
        _rounded(layers.thickness_mm.tolist()),
    ]
    return [*(["", *column, ""] for column in of_layers), *(_rounded(column) for column in numbers)]


def _rounded(column: list[float]) -> list[float]:
    """Round to what is beyond doubt below float32's digits, and let no -0 through."""
    return [round(value, _DECIMALS) + 0.0 for value in column]
