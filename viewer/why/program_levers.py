"""Levers in what the program was made with: speeds by role, travel, retracts, hops, pauses, the order of heating."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

import numpy as np

from viewer.arrays import F32, F64, Bool, freeze, read_only
from viewer.layers.layers import ROLE_NAMES
from viewer.read.machine_state import CHAMBER, Targets
from viewer.read.moves import BEAD, PRIME, RETRACT, TRAVEL
from viewer.timing.clock import PAUSE_CODES
from viewer.why.inputs import Inputs
from viewer.why.lever import LESS, MORE, NONE_AT_ALL, Lever, Span

_MESSAGE: Final = 1170
"""M117, which takes no time, stands in the place of what is left out."""

_ROLE_COSTS: Final = {
    "outline": "The outer face: ringing, rounded corners and dull patches show.",
    "inner loop": "Walls bond less, and their corners press on the outline.",
    "infill": "Less strength where hot filament is dragged or laid too thin; the hot end must melt more.",
    "solid": "Gaps in top faces; the hot end must melt more.",
    "bridge": "Bridges sag or tear.",
    "support": "Supports may break loose, and leave a rougher face below the part.",
}
_OF_ROLE: Final = {
    "unlabelled": "unlabelled beads", "outline": "outlines", "inner loop": "inner loops", "bridge": "bridges",
    "first layer": "the first layer",
}  # fmt: skip
_SPEED_COST: Final = "The hot end must melt more, layers bond less, and ringing grows."


def _first_layers(inputs: Inputs) -> Bool:
    """Return which moves belong to a layer on the plate: (n,)."""
    layers = inputs.layers
    mask = np.zeros(len(inputs.moves), np.bool_)
    for k in np.flatnonzero(layers.is_first):
        mask[int(layers.first_move[k]) : int(layers.first_move[k + 1])] = True
    return mask


def _beads(inputs: Inputs, role: int | None) -> Bool:
    """Return the beads of a role above the first layer, or, without a role, those of first layers: (n,)."""
    beads = inputs.moves.kind == BEAD
    first = _first_layers(inputs)
    return np.asarray(beads & first if role is None else beads & ~first & (inputs.roles == role))


def _sideways(inputs: Inputs) -> Bool:
    """Return which moves go in X or Y: (n,)."""
    moves = inputs.moves
    return np.asarray(
        (np.diff(moves.x_mm, prepend=np.float32(0.0)) != 0.0)
        | (np.diff(moves.y_mm, prepend=np.float32(0.0)) != 0.0)
    )


def _travels(inputs: Inputs) -> Bool:
    return np.asarray((inputs.moves.kind == TRAVEL) & _sideways(inputs))


def _retracts(inputs: Inputs) -> Bool:
    return np.asarray((inputs.moves.kind == RETRACT) | (inputs.moves.kind == PRIME))


def _speeds(inputs: Inputs, which: Bool) -> Span | None:
    """Return the 5th and the 95th percentile of the commanded speeds of some moves, weighed by way."""
    moves = inputs.moves
    which = which & (moves.speed_mm_s > 0.0)
    if not which.any():
        return None
    speeds, ways = moves.speed_mm_s[which], np.maximum(moves.length_mm, np.abs(moves.fed_mm))[which]
    order = np.argsort(speeds)
    summed = np.cumsum(ways[order], dtype=np.float64)
    places = np.minimum(np.searchsorted(summed, np.array([0.05, 0.95]) * summed[-1]), len(order) - 1)
    low, high = speeds[order[places]].tolist()
    return low, high


def _role_speed(role: int | None) -> Lever:
    name = "first layer" if role is None else ROLE_NAMES[role]
    cost = "The first layer may not stick." if role is None else _ROLE_COSTS.get(name, _SPEED_COST)

    def change(inputs: Inputs, factor: float) -> Inputs:
        return inputs.with_speeds(_beads(inputs, role), factor)

    return Lever(
        f"speed-{name.replace(' ', '-')}", f"speed of {_OF_ROLE.get(name, name)}", "program", "mm/s", MORE, 5.0,
        cost, False,
        lambda inputs: _speeds(inputs, _beads(inputs, role)), change,
    )  # fmt: skip


def _travel_speed() -> Lever:
    return Lever(
        "travel-speed", "travel speed", "program", "mm/s", MORE, 5.0,
        "Lost steps where the motors are at their end; noise.", True,
        lambda inputs: _speeds(inputs, _travels(inputs)),
        lambda inputs, factor: inputs.with_speeds(_travels(inputs), factor),
    )  # fmt: skip


def _retract_speed() -> Lever:
    return Lever(
        "retract-speed", "retract speed", "program", "mm/s", MORE, 5.0,
        "The drive may grind the filament.", True,
        lambda inputs: _speeds(inputs, _retracts(inputs)),
        lambda inputs, factor: inputs.with_speeds(_retracts(inputs), factor),
    )  # fmt: skip


def _retract_length() -> Lever:
    def change(inputs: Inputs, factor: float) -> Inputs:
        fed = inputs.moves.fed_mm.copy()
        which = _retracts(inputs)
        fed[which] *= np.float32(factor)
        return inputs.with_moves(replace(inputs.moves, fed_mm=fed))

    def value(inputs: Inputs) -> Span | None:
        lengths = np.abs(inputs.moves.fed_mm[_retracts(inputs)])
        if not len(lengths):
            return None
        low, high = np.percentile(lengths, [5, 95]).tolist()
        return low, high

    return Lever(
        "retract-length",
        "retract length",
        "program",
        "mm",
        LESS,
        0.0,
        "Strings and blobs.",
        False,
        value,
        change,
    )


def _hop_floor(inputs: Inputs) -> tuple[Bool, F64]:
    """Return which moves end above the beads before and after them, and the higher of those beads: (n,), (n,) mm.

    Moves before the first bead and after the last one are none of them.
    """
    z = inputs.moves.z_mm.astype(np.float64)
    n = len(z)
    beads = np.flatnonzero(inputs.moves.kind == BEAD)
    place = np.searchsorted(beads, np.arange(n), side="right")
    between = (place > 0) & (place < len(beads)) & (inputs.moves.kind != BEAD)
    floor = np.full(n, np.inf)
    before, after = beads[place[between] - 1], beads[place[between]]
    floor[between] = np.maximum(z[before], z[after])
    return np.asarray(between & (z > floor)), floor


def _hop_height() -> Lever:
    def change(inputs: Inputs, factor: float) -> Inputs:
        moves = inputs.moves
        hops, floor = _hop_floor(inputs)
        z = moves.z_mm.astype(np.float64)
        z[hops] = floor[hops] + factor * (z[hops] - floor[hops])
        heights = z.astype(np.float32)
        return inputs.with_moves(replace(moves, z_mm=heights, length_mm=_lengths(inputs, heights)))

    def value(inputs: Inputs) -> Span | None:
        hops, floor = _hop_floor(inputs)
        heights = (inputs.moves.z_mm - floor)[hops]
        if not len(heights):
            return None
        low, high = np.percentile(heights, [5, 95]).tolist()
        return low, high

    return Lever(
        "hop-height", "height of hops", "program", "mm", LESS, 0.0,
        "The nozzle may hit what curls up, and scar the top.", False, value, change,
    )  # fmt: skip


def _lengths(inputs: Inputs, z: F32) -> F32:
    """Return the paths of all moves with other heights: only what the height adds changes, (n,) mm."""
    moves = inputs.moves
    old = np.diff(moves.z_mm.astype(np.float64), prepend=0.0)
    new = np.diff(z.astype(np.float64), prepend=0.0)
    lengths = moves.length_mm.astype(np.float64)
    changed = old != new
    flat = np.maximum(lengths[changed] ** 2 - old[changed] ** 2, 0.0)
    flat[~_sideways(inputs)[changed]] = 0.0
    lengths[changed] = np.sqrt(flat + new[changed] ** 2)
    return lengths.astype(np.float32)


def _left_out(name: str, title: str, letter: str, codes: tuple[int, ...], cost: str) -> Lever:
    """Return the lever that leaves out commands."""

    def rows(inputs: Inputs) -> Bool:
        return np.asarray((inputs.events.letter == ord(letter)) & np.isin(inputs.events.code, codes))

    def change(inputs: Inputs, factor: float) -> Inputs:
        if factor > 0.0:
            return inputs
        which = rows(inputs)
        letters, numbers = inputs.events.letter.copy(), inputs.events.code.copy()
        letters[which], numbers[which] = ord("M"), _MESSAGE
        freeze(letters, numbers)
        return replace(inputs, events=replace(inputs.events, letter=letters, code=numbers))

    def value(inputs: Inputs) -> Span | None:
        count = float(np.count_nonzero(rows(inputs)))
        return (count, count) if count else None

    return Lever(name, title, "program", "times", NONE_AT_ALL, 0.0, cost, False, value, change)


def _heated_together(inputs: Inputs) -> Targets | None:
    """Return the targets with those before the first bead set all at the first of them; None: nothing changes."""
    targets = inputs.state.targets
    beads = np.flatnonzero(inputs.moves.kind == BEAD)
    early = (targets.event >= 0) & (targets.heater != CHAMBER) & (targets.target_c > 0.0)
    early &= targets.move <= (beads[0] if len(beads) else 0)
    rows = np.flatnonzero(early)
    if len(np.unique(targets.heater[rows])) < 2:
        return None
    kept, last = np.ones(len(targets), np.bool_), {}
    for row in rows.tolist():
        last[int(targets.heater[row])] = row
    kept[rows] = False
    kept[list(last.values())] = True
    event = targets.event.copy()
    event[list(last.values())] = targets.event[rows].min()
    return replace(targets, event=read_only(event)).rows(kept)


def _heat_together() -> Lever:
    def change(inputs: Inputs, factor: float) -> Inputs:
        together = _heated_together(inputs) if factor == 0.0 else None
        return inputs if together is None else replace(inputs, state=replace(inputs.state, targets=together))

    def value(inputs: Inputs) -> Span | None:
        return (1.0, 1.0) if len(inputs.state.waits) and _heated_together(inputs) is not None else None

    return Lever(
        "heat-together", "heat nozzle and plate together", "program", "", NONE_AT_ALL, 0.0,
        "The hot nozzle drips while the plate still warms, and filament ages in it; both heaters draw power at once.",
        False, value, change, waits_only=True,
    )  # fmt: skip


PROGRAM_LEVERS: Final[tuple[Lever, ...]] = (
    _role_speed(None),
    *(_role_speed(role) for role in range(len(ROLE_NAMES))),
    _travel_speed(),
    _retract_speed(),
    _retract_length(),
    _hop_height(),
    _left_out(
        "pauses", "pauses", "M", PAUSE_CODES, "What the pause was for (an insert, a change of colour) is left out."
    ),
    _left_out("dwells", "dwells", "G", (40,), "What the wait was for (cooling, settling) is left out."),
    _heat_together(),
)  # fmt: skip
"""In the order in which they are applied, after those of the machine."""
