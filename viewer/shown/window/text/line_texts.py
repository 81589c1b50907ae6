"""What one line of the program makes, in a few words; no Qt."""

from __future__ import annotations

import numpy as np

from viewer.layers.layers import ROLE_NAMES
from viewer.program import Program
from viewer.read.moves import BEAD, KIND_NAMES
from viewer.shown.numbers import distance_text


def line_summary(program: Program, number: int) -> str:
    """Say in a few words what a line makes; "" where it makes no move."""
    lines = program.moves.line
    key = lines.dtype.type(number)  # a plain int would make numpy copy all lines
    lo, hi = (int(np.searchsorted(lines, key, side)) for side in ("left", "right"))
    if lo == hi:
        return ""
    kind = int(program.moves.kind[lo])
    name = f"bead, {ROLE_NAMES[int(program.roles[lo])]}" if kind == BEAD else KIND_NAMES[kind]
    if KIND_NAMES[kind] == "place":
        return "the nozzle's place is set by homing"
    path = float(program.moves.length_mm[lo:hi].sum(dtype=np.float64))
    parts = [name, *([distance_text(path)] if path > 0 else [])]
    if hi - lo > 1:
        parts.append(f"an arc as {hi - lo} straight moves")
    layer = int(program.layers.of_moves([lo])[0])
    if 1 <= layer <= len(program.layers):
        parts.append(f"layer {layer}")
    return ", ".join(parts)
