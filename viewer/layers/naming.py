"""The role of every move: from comments where they name roles, else from shape."""

from __future__ import annotations

from typing import Final, Literal

import numpy as np

from viewer.arrays import I32, U8
from viewer.layers.layers import HOLD, INFILL, INNER, OUTLINE, PURGE, ROLE_NAMES, SOLID, Layers
from viewer.layers.spacing import LateSpacing, Spacing
from viewer.read.comments.remarks import Marks, Remarks, fill_forward
from viewer.read.moves import BEAD, Moves

RolesFrom = Literal["comments", "shape", "none"]

WIDEST: Final = 2.5
"""A larger distance, in nozzle diameters, is no bead's width: such lines do not touch (common practice, no source)."""
ALIKE: Final = 0.15
"""A distance that differs from the nozzle's diameter by no more than this share is what such a nozzle lays."""


def guess_roles(moves: Moves, layers: Layers, spacing: Spacing, nozzle_mm: float) -> U8:
    """Return the role of every move, (moves,), read from shape alone.

    Widths count in distances of neighbouring beads that touch, ``spacing``, where these are measured with certainty: a
    program may be made for another nozzle than the card's, ``nozzle_mm``.
    """
    from viewer.layers.roles import infer_roles

    return infer_roles(moves, layers, usual_width_mm(spacing, nozzle_mm))


def usual_width_mm(spacing: Spacing, nozzle_mm: float) -> float:
    """Return the width that beads are taken for: the nozzle's diameter, or their surely measured distance."""
    off = abs(spacing.distance_mm - nozzle_mm)
    other = spacing.is_sure and off > ALIKE * nozzle_mm and spacing.distance_mm < WIDEST * nozzle_mm
    return spacing.distance_mm if other else nozzle_mm


def name_roles(
    moves: Moves, layers: Layers, remarks: Remarks, spacing: LateSpacing, nozzle_mm: float
) -> tuple[U8, RolesFrom]:
    """Return the role of every move, (moves,), and where it comes from.

    Beads before the first layer are purge whatever a comment says. Layers that the program numbers below 0 are a raft
    (common practice, no source): their beads are hold-down, even where a comment calls them support.
    """
    n = len(moves)
    if len(remarks.roles):
        roles = fill_forward(_marked(remarks.roles, moves), remarks.roles.value, n, 0.0).astype(np.uint8)
        source: RolesFrom = "comments"
        if remarks.open_roles and len(layers):
            _refine(roles, guess_roles(moves, layers, spacing.found, nozzle_mm), remarks.open_roles)
    elif len(layers):
        roles = guess_roles(moves, layers, spacing.found, nozzle_mm)
        source = "shape"
    else:
        roles = np.zeros(n, np.uint8)
        source = "none"
    _hold_by_rafts(roles, moves, remarks)
    prelude = int(layers.first_move[0]) if len(layers) else n
    roles[:prelude][moves.kind[:prelude] == BEAD] = PURGE
    roles.flags.writeable = False
    return roles, source


def _refine(roles: U8, guessed: U8, open_roles: frozenset[str]) -> None:
    """Let shape tell inner loops from outlines and solid from infill where comments have one word for both."""
    for role, finer in ((OUTLINE, INNER), (INFILL, SOLID)):
        if ROLE_NAMES[role] in open_roles:
            roles[(roles == role) & (guessed == finer)] = finer


def _marked(marks: Marks, moves: Moves) -> I32:
    """Return the first move that each mark holds for: behind a command it is that line's own."""
    return np.minimum(marks.move, np.searchsorted(moves.line, marks.line).astype(np.int32))


def _hold_by_rafts(roles: U8, moves: Moves, remarks: Remarks) -> None:
    """Take beads behind layer marks with numbers below 0 for hold-down, but not a purge tower's."""
    marks = remarks.layers
    if not (marks.value < 0.0).any():
        return
    number = fill_forward(marks.move, marks.value, len(moves), 0.0)
    roles[(number < 0.0) & (moves.kind == BEAD) & (roles != PURGE)] = HOLD
