"""The seconds of the test's blocks on a machine, by the planner that plans every program."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from msgspec.structs import replace

from viewer.arrays import F32, F64, I64, freeze
from viewer.cards.printer import PrinterCard
from viewer.read.moves import TRAVEL, Moves
from viewer.read.settings import FIELDS, Settings
from viewer.stopwatch.block import Block
from viewer.timing.limits import limits_for
from viewer.timing.plan import Plan, plan


@dataclass(frozen=True, slots=True, eq=False)
class Replan:
    """All blocks as the planner's columns, made once; the machine stands still between two blocks."""

    moves: Moves
    settings: Settings
    starts: I64
    """(blocks + 1,) first move of each block."""

    @classmethod
    def of(cls, blocks: Sequence[Block]) -> Replan:
        """Take the blocks' paths; a first move without a length puts the nozzle where they start."""
        start = blocks[0].points_mm[0]
        points = np.concatenate([start[None], *(block.points_mm[1:] for block in blocks)])
        counts = [len(block.points_mm) - 1 for block in blocks]
        speeds = np.repeat([block.speed_mm_s for block in blocks], counts)
        moves = _moves(points, np.concatenate([[1.0], speeds]).astype(np.float32))
        settings = Settings(np.full((1, len(FIELDS)), np.nan), np.zeros(len(moves), np.int32), ())
        freeze(settings.table, settings.of_move)
        return cls(moves, settings, np.cumsum([1, *counts]))

    def plan(self, card: PrinterCard) -> Plan:
        """Return the plan of all moves on one machine."""
        limits = limits_for(self.settings, replace(card, obeys_program_limits=False))  # the test states none
        return plan(self.moves, self.settings, limits, self.starts[:-1], card.planner_buffer_moves)

    def seconds(self, card: PrinterCard) -> F64:
        """Return how long each block takes on one machine, (blocks,), s."""
        moved = self.plan(card)
        return np.diff(moved.moving_before(self.starts))


def _moves(points_mm: F64, speed_mm_s: F32) -> Moves:
    """Return travels from point to point, (n, 3); the first has no length."""
    length = np.linalg.norm(np.diff(points_mm, axis=0, prepend=points_mm[:1]), axis=1)
    x, y, z = (np.ascontiguousarray(points_mm[:, axis], np.float32) for axis in range(3))
    n = len(points_mm)
    moves = Moves(
        x_mm=x, y_mm=y, z_mm=z, length_mm=length.astype(np.float32), fed_mm=np.zeros(n, np.float32),
        speed_mm_s=speed_mm_s, line=np.arange(1, n + 1, dtype=np.int32), kind=np.full(n, TRAVEL, np.uint8),
    )  # fmt: skip
    freeze(
        moves.x_mm,
        moves.y_mm,
        moves.z_mm,
        moves.length_mm,
        moves.fed_mm,
        moves.speed_mm_s,
        moves.line,
        moves.kind,
    )
    return moves


def junction_speed(card: PrinterCard, inside_deg: float) -> float:
    """Return how fast the machine goes round a corner of this angle inside, mm/s, where nothing else holds it back."""
    turn = np.radians(180.0 - inside_deg)
    length = 10_000.0  # long enough to reach any speed
    points = np.array([[0.0, 0.0, 0.0], [length, 0.0, 0.0], [length, 0.0, 0.0]])
    points[2] += length * np.array([np.cos(turn), np.sin(turn), 0.0])
    top = min(card.max_speed_mm_s.x, card.max_speed_mm_s.y)
    moves = _moves(points, np.full(3, top, np.float32))
    settings = Settings(np.full((1, len(FIELDS)), np.nan), np.zeros(3, np.int32), ())
    freeze(settings.table, settings.of_move)
    planned = plan(moves, settings, limits_for(settings, card), (), 0)
    return float(planned.entry_mm_s[2])
