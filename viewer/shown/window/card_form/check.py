"""From what a person typed to a card, with a sentence for every value that cannot be.

Nothing here knows Qt. The rules are those of reading a card's file (`viewer.cards`).
"""

from __future__ import annotations

import copy
import math
from collections.abc import Mapping
from typing import Any

import msgspec

from viewer.cards import Kind
from viewer.cards.complaint import Complaint, complaint_of
from viewer.cards.kinds import STRUCTS, Card
from viewer.cards.sense import complaints
from viewer.shown.window.card_form.shape import Field, KeyPath, plain_card

_MOST = 60
"""More faults than fields: the search ends in any case."""


def number_of(text: str, whole: bool = False) -> float | int | str | None:
    """Read a number as a person types it; None where nothing stands, the text itself where it is no number."""
    text = text.strip()
    if not text:
        return None
    try:
        number = float(text)
    except ValueError:
        return text
    if not math.isfinite(number):
        return text  # nan and inf are words here
    return int(number) if whole and number == int(number) else number


def assemble(values: Mapping[KeyPath, object]) -> dict[str, Any]:
    """Put values at their paths; what is None is left out, and so are tables that stay empty."""
    raw: dict[str, Any] = {}
    for path, value in values.items():
        if value is None:
            continue
        table = raw
        for step in path[:-1]:
            table = table.setdefault(step, {})
        table[path[-1]] = value
    return raw


def check_card(kind: Kind, raw: dict[str, Any], valid: Card) -> tuple[Card | None, dict[KeyPath, str]]:
    """Make a card of plain values.

    Parameters
    ----------
    raw
        As a card's file would hold them.
    valid
        Any valid card of the kind: its values stand in for wrong ones while further faults are looked for.

    Returns
    -------
    card, sentences
        The card, None where there are faults; a sentence for each faulty value by its path.
    """
    found: dict[KeyPath, str] = {}
    stand_in, trial = plain_card(valid), copy.deepcopy(raw)
    card: Card | None = None
    for _ in range(_MOST):
        try:
            card = msgspec.convert(trial, STRUCTS[kind])
            break
        except msgspec.ValidationError as error:
            complaint = complaint_of(error, trial, kind)
        path = tuple(str(step) for step in complaint.path)
        found[path] = _sentence(complaint)
        _replace(trial, complaint.path, stand_in)
    if card is None:
        return None, found
    stood_in = {path[0] for path in found}  # what a stand-in does not go with is no fault of its own
    for complaint in complaints(card):
        if complaint.path[0] not in stood_in:
            found.setdefault(tuple(str(step) for step in complaint.path), _sentence(complaint))
    return (card, found) if not found else (None, found)


def not_usable(field: Field, value: object) -> str:
    """Complain about a field that is left empty but may not be, or a text where a number is due; "" else."""
    if value is None and field.required:
        return f"It is empty; write {'a name' if field.path == ('name',) else 'a value'}."
    if not isinstance(value, str) or field.kind not in ("number", "whole"):
        return ""
    like = "1" if field.kind == "whole" else "1.5"
    comma = " with a point, not a comma" if "," in value else ""
    return f"“{value[:20]}” is no number; write one like {like}{comma}, without its unit."


def _sentence(complaint: Complaint) -> str:
    text = f"It {complaint.wrong}; {complaint.remedy}.".replace("`", "").replace("without quotes and ", "")
    return text.replace("[plate]", "plate").replace("[hours]", "hours")


def _replace(raw: dict[str, Any], path: tuple[str | int, ...], stand_in: Any) -> None:
    """Put the valid value in place of the faulty one; where there is none, take the faulty one out."""
    table: Any = raw
    for at, step in enumerate(path[:-1]):
        stand_in = stand_in.get(step) if isinstance(stand_in, dict) else None
        inner = table.get(step) if isinstance(table, dict) else table[int(step)]
        if not isinstance(inner, dict | list):
            table[step] = stand_in
            return
        if at + 1 < len(path):
            table = inner
    key: Any = path[-1]
    if isinstance(stand_in, dict) and stand_in.get(key) is not None:
        table[key] = stand_in[key]
    else:
        del table[key]
