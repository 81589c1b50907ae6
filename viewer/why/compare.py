"""Two programs beside each other, or one under two cards: figures, time by cause and role, layers, settings, claims."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

import msgspec
import numpy as np

from viewer.arrays import F64, I64
from viewer.program import Program
from viewer.timing.ledger import BOOKED_ROLES
from viewer.why.assumptions import PARTS, parts_of
from viewer.why.ledger import limiters_of_program

SAME_HEIGHT_MM: Final = 0.005
"""Layers whose heights differ by no more are the same: programs write two or three decimals."""


@dataclass(frozen=True, slots=True)
class Pair:
    """One figure of both; None: it has none."""

    name: str
    unit: str
    a: float | None
    b: float | None

    @property
    def more(self) -> float | None:
        """How much more B has; None where one of them has none."""
        return None if self.a is None or self.b is None else self.b - self.a


@dataclass(frozen=True, slots=True)
class Setting:
    """One setting that both do not state alike."""

    name: str
    """What it is about, or the key of the printer card."""
    a: str
    """Empty: not stated."""
    b: str


@dataclass(frozen=True, slots=True, eq=False)
class LayerPairs:
    """Layers matched by their heights, from below; layer 0 stands for one that the other does not have."""

    height_mm: F64  # (n,)
    layer_a: I64  # (n,)
    layer_b: I64  # (n,)
    seconds_a: F64  # (n,)
    seconds_b: F64  # (n,)
    drawn_a_mm: F64  # (n,) filament
    drawn_b_mm: F64  # (n,)

    @property
    def only_a(self) -> int:
        """How many layers only A has."""
        return int(np.count_nonzero(self.layer_b == 0))

    @property
    def only_b(self) -> int:
        """How many layers only B has."""
        return int(np.count_nonzero(self.layer_a == 0))

    @property
    def more_s(self) -> F64:
        """How much longer each layer takes in B, s: (n,); one that is not there takes no time."""
        return self.seconds_b - self.seconds_a

    @property
    def more_mm(self) -> F64:
        """How much more filament each layer draws in B, mm: (n,)."""
        return self.drawn_b_mm - self.drawn_a_mm

    @property
    def both(self) -> int:
        """At how many heights both have a layer."""
        return len(self.height_mm) - self.only_a - self.only_b


@dataclass(frozen=True, slots=True, eq=False)
class Comparison:
    """Two programs beside each other; differences are B less A."""

    figures: tuple[Pair, ...]
    by_cause: tuple[Pair, ...]
    """Seconds by `PARTS`; they add up to the times in all, and so do their differences."""
    by_role: tuple[Pair, ...]
    """Seconds of moves by role, and waits; they add up to the times in all."""
    layers: LayerPairs
    settings: tuple[Setting, ...]
    """What their comments state differently."""
    card_keys: tuple[Setting, ...]
    """Keys in which the printer cards differ."""
    claims: tuple[Pair, ...]


def compare(a: Program, b: Program) -> Comparison:
    """Put two programs beside each other, or one program under two cards (`viewer.with_cards`)."""
    parts = [parts_of(program, limiters_of_program(program)) for program in (a, b)]
    return Comparison(
        figures=_figures(a, b),
        by_cause=tuple(Pair(name, "s", parts[0][name], parts[1][name]) for name in PARTS),
        by_role=_by_role(a, b),
        layers=match_layers(a, b),
        settings=_settings(a, b),
        card_keys=_card_keys(a, b),
        claims=_claims(a, b),
    )


def _figures(a: Program, b: Program) -> tuple[Pair, ...]:
    both = [_figures_of(program) for program in (a, b)]
    return tuple(Pair(name, unit, value, both[1][name][0]) for name, (value, unit) in both[0].items())


def _figures_of(program: Program) -> dict[str, tuple[float | None, str]]:
    figures, used = program.figures, program.figures.filament
    return {
        "time in all": (figures.time.total_s, "s"),
        "time of moves": (figures.time.moving_s, "s"),
        "layers": (float(figures.layers.count), ""),
        "height": (figures.layers.height_mm, "mm"),
        "usual layer": (figures.layers.usual_mm, "mm"),
        "filament": (used.drawn_mm, "mm"),
        "mass": (used.mass_g, "g"),
        "cost": (used.cost, used.currency),
        "path of beads": (figures.path["bead_mm"], "mm"),
        "path of travel": (figures.path["travel_mm"], "mm"),
        "beads": (float(figures.moves["beads"]), ""),
        "retracts": (float(figures.moves["retracts"]), ""),
    }


def _by_role(a: Program, b: Program) -> tuple[Pair, ...]:
    seconds = [program.timing.ledger.by_role.sum(axis=1).tolist() for program in (a, b)]
    return tuple(
        Pair(name, "s", one, other)
        for name, one, other in zip(BOOKED_ROLES, *seconds, strict=True)
        if one != 0.0 or other != 0.0
    )


def match_layers(a: Program, b: Program) -> LayerPairs:
    """Match layers by their heights; of several at one height (objects in turn) the sums count, and the first number."""
    sides = [_by_height(program) for program in (a, b)]
    keys = np.union1d(sides[0][0], sides[1][0])
    columns = []
    for own, table in sides:
        wide = np.zeros((len(keys), table.shape[1]))
        wide[np.searchsorted(keys, own)] = table
        columns.append(wide)
    one, other = columns
    return LayerPairs(
        height_mm=np.asarray(keys * SAME_HEIGHT_MM),
        layer_a=one[:, 0].astype(np.int64), layer_b=other[:, 0].astype(np.int64),
        seconds_a=one[:, 1], seconds_b=other[:, 1], drawn_a_mm=one[:, 2], drawn_b_mm=other[:, 2],
    )  # fmt: skip


def height_steps(program: Program) -> I64:
    """Return the height of each layer in steps of `SAME_HEIGHT_MM`: (layers,); equal ones are matched."""
    return np.round(program.layers.height_mm / SAME_HEIGHT_MM).astype(np.int64)


def _by_height(program: Program) -> tuple[I64, F64]:
    """Return the distinct heights in steps of `SAME_HEIGHT_MM`, and number, seconds and filament at each."""
    n, steps = len(program.layers), height_steps(program)
    keys, first, place = np.unique(steps, return_index=True, return_inverse=True)
    table = np.zeros((len(keys), 3))
    table[:, 0] = first + 1
    np.add.at(table[:, 1], place, program.timing.ledger.by_layer[1 : n + 1].sum(axis=1))
    np.add.at(table[:, 2], place, program.totals.layers.drawn_mm[1 : n + 1])
    return keys, table


def _settings(a: Program, b: Program) -> tuple[Setting, ...]:
    """Return what settings in comments state differently; of several statements of one quantity the first counts."""
    stated: list[dict[str, str]] = []
    for program in (a, b):
        own: dict[str, str] = {}
        for statement in program.remarks.statements:
            values = [_plain(value) for value in statement.values]
            alike = len(set(values)) == 1  # of each tool, or of each mode, the same
            own.setdefault(statement.quantity, values[0] if alike else ", ".join(values))
        stated.append(own)
    return _differing(stated[0], stated[1])


def _plain(value: Any) -> str:
    if isinstance(value, tuple):
        return " x ".join(map(_plain, value))
    return f"{value:g}" if isinstance(value, float) else str(value)


def _differing(one: dict[str, str], other: dict[str, str]) -> tuple[Setting, ...]:
    names = dict.fromkeys([*one, *other])
    return tuple(
        Setting(name, one.get(name, ""), other.get(name, ""))
        for name in names
        if one.get(name, "") != other.get(name, "")
    )


def _card_keys(a: Program, b: Program) -> tuple[Setting, ...]:
    return _differing(*(_flat(msgspec.to_builtins(program.printer)) for program in (a, b)))


def _flat(value: dict[str, Any], before: str = "") -> dict[str, str]:
    """Return the keys of a card with dots between nested ones."""
    found: dict[str, str] = {}
    for key, item in value.items():
        if isinstance(item, dict):
            found |= _flat(item, f"{before}{key}.")
        else:
            found[f"{before}{key}"] = _plain(item)
    return found


def _claims(a: Program, b: Program) -> tuple[Pair, ...]:
    """Return the first claim of each quantity and unit."""
    stated: list[dict[tuple[str, str], float]] = []
    for program in (a, b):
        own: dict[tuple[str, str], float] = {}
        for claim in program.figures.claims:
            own.setdefault((claim.quantity, claim.unit), claim.value)
        stated.append(own)
    keys = dict.fromkeys([*stated[0], *stated[1]])
    return tuple(Pair(key[0], key[1], stated[0].get(key), stated[1].get(key)) for key in keys)
