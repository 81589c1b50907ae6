"""Why a print takes so long, and two programs beside each other, as plain objects: what ``--json`` prints."""

from __future__ import annotations

from typing import Any

import msgspec

from viewer.printlog.past import Past
from viewer.program import Program
from viewer.shown.data import SCHEMA
from viewer.why.compare import Comparison, LayerPairs, Pair
from viewer.why.lever import CAUTION
from viewer.why.report import Why, why
from viewer.why.trials import Outcome


def why_object(program: Program, found: Why | None = None, past: Past | None = None) -> dict[str, Any]:
    """Return why a program takes so long and what would help, the object that ``why --json`` prints.

    Parameters
    ----------
    found
        From `viewer.why.report.why`; None: it is computed here.
    past
        What the print log says; without it nothing of it is used.
    """
    took = past.took if past is not None else None
    found = found or why(program, took_s=None if took is None else took.seconds)
    return {
        "schema": SCHEMA,
        "path": str(program.path),
        "printer": program.printer.name,
        "total_s": program.timing.total_s,
        "overrun": {**msgspec.to_builtins(found.overrun), "actual_from_log": msgspec.to_builtins(took)},
        "ledger": msgspec.to_builtins(found.bookings),
        "places": [_without_move(msgspec.to_builtins(place)) for place in found.places],
        "levers": [outcome_object(outcome) for outcome in found.outcomes],
    }


def _without_move(place: dict[str, Any]) -> dict[str, Any]:
    """Return a place without the number of its move, a row of our columns: whoever reads it has the line."""
    del place["dearest_move"]
    return place


def outcome_object(outcome: Outcome) -> dict[str, Any]:
    """Return what one lever gives as a plain object; a value without limit is null."""
    lever = outcome.lever
    return {
        "lever": lever.name, "title": outcome.title, "place": lever.place, "unit": outcome.unit,
        "cost": lever.cost, "caution": CAUTION if lever.asks_more else None,
        "now": list(outcome.now), "tries": [msgspec.to_builtins(one) for one in outcome.tries],
    }  # fmt: skip


def compare_object(a: Program, b: Program, found: Comparison) -> dict[str, Any]:
    """Return two programs beside each other, the object that ``compare --json`` prints; differences are B less A."""
    return {
        "schema": SCHEMA,
        "a": {"path": str(a.path), "printer": a.printer.name},
        "b": {"path": str(b.path), "printer": b.printer.name},
        "figures": [_pair(pair) for pair in found.figures],
        "by_cause": [_pair(pair) for pair in found.by_cause],
        "by_role": [_pair(pair) for pair in found.by_role],
        "layers": _layers(found.layers),
        "settings": msgspec.to_builtins(found.settings),
        "card_keys": msgspec.to_builtins(found.card_keys),
        "claims": [_pair(pair) for pair in found.claims],
    }


def _pair(pair: Pair) -> dict[str, Any]:
    return {"name": pair.name, "unit": pair.unit, "a": pair.a, "b": pair.b, "more": pair.more}


def _layers(pairs: LayerPairs) -> list[dict[str, Any]]:
    columns = ("height_mm", "layer_a", "layer_b", "seconds_a", "seconds_b", "drawn_a_mm", "drawn_b_mm")
    rows = zip(*(getattr(pairs, name).tolist() for name in columns), strict=True)
    return [dict(zip(columns, row, strict=True)) for row in rows]
