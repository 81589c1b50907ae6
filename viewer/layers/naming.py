"""The role of every move: from comments where they name roles, else from shape."""

from __future__ import annotations

from typing import Literal

import numpy as np

from viewer.arrays import U8
from viewer.layers.layers import PURGE, Layers
from viewer.read.comments.remarks import Remarks, fill_forward
from viewer.read.moves import BEAD, Moves

RolesFrom = Literal["comments", "shape", "none"]


def name_roles(moves: Moves, layers: Layers, remarks: Remarks, nozzle_mm: float) -> tuple[U8, RolesFrom]:
    """Return the role of every move, (moves,), and where it comes from.

    Beads before the first layer are purge whatever a comment says.
    """
    n = len(moves)
    if len(remarks.roles):
        roles = fill_forward(remarks.roles.move, remarks.roles.value, n, 0.0).astype(np.uint8)
        source: RolesFrom = "comments"
    elif len(layers):
        from viewer.layers.roles import infer_roles

        roles = infer_roles(moves, layers, nozzle_mm).copy()
        source = "shape"
    else:
        roles = np.zeros(n, np.uint8)
        source = "none"
    prelude = int(layers.first_move[0]) if len(layers) else n
    roles[:prelude][moves.kind[:prelude] == BEAD] = PURGE
    roles.flags.writeable = False
    return roles, source
