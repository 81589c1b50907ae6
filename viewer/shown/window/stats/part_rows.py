"""The figures of Stats, part by part: program, layer, bead; or the sentence that stands in their place; no Qt."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable
from typing import Final, Literal, get_args

from viewer.shown.clock_rows import clock_rows
from viewer.shown.rows import Row, bead_rows, layer_rows
from viewer.shown.window.actions.table import READ_AGAIN
from viewer.shown.window.model.figure_rows import rows_of
from viewer.shown.window.model.view_state import ViewState

Part = Literal["program", "layer", "bead"]
PARTS: Final[tuple[Part, ...]] = get_args(Part)
CSV_HEAD: Final = ("part", "group", "name", "value", "unit", "text", "how")
_NO_PROGRAM: Final = "No program is open. Open one to see its figures."
_NOT_READ: Final = "The figures of the program are shown when all of it has been read."
_HALTED: Final = f"Reading ended early, and the figures need all of the program. {READ_AGAIN}"
_NO_LAYERS: Final = "This program lays no beads, so it has no layers."
_NO_BEAD: Final = "Point at a bead in the layer, or press on it, to see its figures."


def part_rows(state: ViewState, part: Part) -> tuple[tuple[Row, ...], str]:
    """Return the figures of a part; where there are none, the sentence that says why."""
    if state.program is None:
        return (), _NO_PROGRAM
    return {"program": _of_program, "layer": _of_layer, "bead": _of_bead}[part](state)


def _of_program(state: ViewState) -> tuple[tuple[Row, ...], str]:
    assert state.program is not None
    if state.partial:
        return (), _HALTED if state.halted else _NOT_READ
    clock = () if state.start is None else clock_rows(state.program, state.start)
    return (*clock, *rows_of(state.program)), ""


def _of_layer(state: ViewState) -> tuple[tuple[Row, ...], str]:
    assert state.program is not None
    return (layer_rows(state.program, state.layer), "") if state.layer else ((), _NO_LAYERS)


def _of_bead(state: ViewState) -> tuple[tuple[Row, ...], str]:
    """Return the figures of the move under the pointer, or else of the selected one."""
    assert state.program is not None
    move = state.hovered if state.hovered is not None else state.selected
    if move is None or not 0 <= move < len(state.program.moves):
        return (), _NO_BEAD if state.layers else _NO_LAYERS
    return bead_rows(state.program, move), ""


def csv_text(rows: Iterable[tuple[Part, Row]]) -> str:
    """Return figures as CSV (RFC 4180): one row a figure, columns `CSV_HEAD`."""
    text = io.StringIO(newline="")
    writer = csv.writer(text)
    writer.writerow(CSV_HEAD)
    for part, row in rows:
        value = "" if row.value is None else row.value
        writer.writerow((part, row.group, row.name, value, row.unit, row.text, row.how))
    return text.getvalue()
