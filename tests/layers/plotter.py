"""Layers built by hand, which remember what each bead is meant to be."""

from __future__ import annotations

import math

import numpy as np

from viewer.layers.layers import Layers
from viewer.layers.roles import infer_roles
from viewer.read.moves import BEAD, PRIME, TRAVEL, Moves

WIDTH = 0.45


class Plotter:
    """Builds moves and layers, and remembers what each bead is meant to be."""

    def __init__(self) -> None:
        self.x: list[float] = []
        self.y: list[float] = []
        self.kind: list[int] = []
        self.speed: list[float] = []
        self.meant: list[int] = []
        self.begins: list[int] = []
        self.objects: list[int] = []
        self.spirals: list[bool] = []
        self.bead_mm_s = 40.0

    def layer(self, object_number: int = 0, spiral: bool = False) -> Plotter:
        self.begins.append(len(self.x))
        self.objects.append(object_number)
        self.spirals.append(spiral)
        return self

    def move(self, x: float, y: float, kind: int, meant: int = 0, speed: float | None = None) -> None:
        """Add a move; travel is faster than all else unless ``speed``, mm/s, is given."""
        fast = speed if speed is not None else (120.0 if kind == TRAVEL else self.bead_mm_s)
        for column, value in (
            (self.x, x), (self.y, y), (self.kind, kind), (self.meant, meant), (self.speed, fast),
        ):  # fmt: skip
            column.append(value)  # type: ignore[attr-defined]

    def line(self, spots: list[tuple[float, float]], meant: int, travel: bool = True) -> None:
        if travel:
            self.move(*spots[0], TRAVEL)
            self.move(*spots[0], PRIME)
        for spot in spots[1:]:
            self.move(*spot, BEAD, meant)

    def square(
        self, half: float, meant: int, at: float = 50.0, travel: bool = True, gap: float = 0.0
    ) -> None:
        a, b = at - half, at + half
        self.line([(a, a), (b, a), (b, b), (a, b), (a, a + gap)], meant, travel)

    def circle(
        self, radius: float, meant: int, at: float = 50.0, chords: int = 48, backwards: bool = False
    ) -> None:
        turn = [2 * math.pi * i / chords for i in range(chords + 1)][:: -1 if backwards else 1]
        self.line([(at + radius * math.cos(t), at + radius * math.sin(t)) for t in turn], meant)

    def zigzag(self, half: float, spacing: float, meant: int, at: float = 50.0, joined: bool = True) -> None:
        rows = int(2 * half / spacing)
        for i in range(rows + 1):
            y = at - half + i * spacing
            ends = [(at - half, y), (at + half, y)][:: 1 if i % 2 == 0 else -1]
            if joined and i:
                self.move(*ends[0], BEAD, meant)
            self.line(ends, meant, travel=not joined or i == 0)

    def done(self) -> tuple[Moves, Layers]:
        n, layers = len(self.x), len(self.begins)
        ones = np.ones(n, np.float32)
        places = (np.array(self.x, np.float32), np.array(self.y, np.float32), ones)
        moves = Moves(
            *places,
            ones,
            ones,
            np.array(self.speed, np.float32),
            np.arange(1, n + 1, dtype=np.int32),
            np.array(self.kind, np.uint8),
        )
        objects = np.array(self.objects, np.int32)
        found = Layers(
            np.array([*self.begins, n], np.int32), 0.2 * np.arange(1, layers + 1), np.full(layers, 0.2), objects,
            np.diff(objects, prepend=-1) != 0, np.array(self.spirals),
        )  # fmt: skip
        return moves, found

    def wrong(self) -> list[tuple[int, int, int]]:
        """Return (move, meant, found) where the two differ."""
        moves, layers = self.done()
        found = infer_roles(moves, layers, WIDTH)
        assert found.dtype == np.uint8 and len(found) == len(moves)
        assert not found[moves.kind != BEAD].any()
        rows = np.flatnonzero(found != np.array(self.meant))
        return [(int(i), self.meant[i], int(found[i])) for i in rows]
