"""What a person types about a print, and the print that it means; no Qt."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from viewer.errors import BeadlineError, ReadError
from viewer.numerals import more_or_less
from viewer.printlog.of_program import check_layer, print_of_program
from viewer.printlog.rows import Outcome, Print
from viewer.program import Program
from viewer.shown.log_times import is_time, times_of
from viewer.shown.numbers import duration_text


class EntryError(BeadlineError):
    """What was typed in some fields means nothing, or contradicts itself."""

    def __init__(self, sentence: str, *fields: str) -> None:
        super().__init__(sentence)
        self.fields = fields
        """As they are named in `TypedPrint`."""


@dataclass(frozen=True, slots=True)
class TypedPrint:
    """The texts of the form; "" where nothing is said."""

    started: str
    ended: str
    outcome: Outcome = Outcome.DONE
    layer: str = ""
    reason: str = ""
    words: str = ""
    weight: str = ""
    spool: str = ""
    charge: str = ""
    for_whom: str = ""
    note: str = ""


def computed_print(program: Program, now: datetime) -> Print:
    """Return the print of a program of which nothing else is known; its times and SHA-256 are still to be said."""
    return print_of_program(program, now - timedelta(seconds=1), now, sha256="")


def sha256_of(program: Program) -> str:
    """Return the SHA-256 of a program's file, which is read; "" where it is gone or another one by now.

    A drive is often pulled before the print is over: how it went can be noted all the same.
    """
    try:
        return program.sha256
    except ReadError:
        return ""


def first_typed(one: Print, start: datetime | None, spool: str, now: datetime) -> TypedPrint:
    """Return what the form begins with for a print that has just ended.

    The start is left to the person where it was not said before: a start reckoned back from the computed time would
    teach the log that estimates are right.
    """
    begun = start is not None and start < now
    return TypedPrint(
        started=moment_text(start, now) if start is not None and begun else "", ended=moment_text(now, now), spool=spool,
        charge=_number_text(one.charge, 2),
    )  # fmt: skip


def typed_of(one: Print) -> TypedPrint:
    """Return a print that is in the log as texts."""
    form = "%Y-%m-%d %H:%M:%S" if one.started.second or one.ended.second else "%Y-%m-%d %H:%M"
    return TypedPrint(
        started=format(one.started, form), ended=format(one.ended, form), outcome=one.outcome,
        layer="" if one.layer is None else str(one.layer), reason=one.reason, words=one.words,
        weight=_number_text(one.weight_g), spool=one.spool or "", charge=_number_text(one.charge), for_whom=one.for_whom,
        note=one.note,
    )  # fmt: skip


def print_of(typed: TypedPrint, base: Print, now: datetime, layers: int = 0) -> Print:
    """Return the print that is meant: `base` with what was typed.

    Parameters
    ----------
    layers
        Of the program; 0: not known, and any layer is taken.

    Raises
    ------
    BeadlineError
        A text means nothing, or they contradict each other; the sentence says which.
    """
    started, ended = typed_times(typed, now, base.computed_s)
    failed, done = typed.outcome is Outcome.FAILED, typed.outcome is Outcome.DONE
    return replace(
        base, started=started, ended=ended, outcome=typed.outcome,
        layer=None if done or not typed.layer.strip() else _layer_of(typed.layer, layers, base.program),
        reason=typed.reason if failed else "", words="" if done else typed.words.strip(),
        weight_g=_amount(typed.weight, "weight", "weight of the print", "12.5"), spool=typed.spool or None,
        charge=_amount(typed.charge, "charge", "charge", "2.50"), for_whom=typed.for_whom.strip(),
        note=typed.note.strip(),
    ).checked()  # fmt: skip


def typed_times(typed: TypedPrint, now: datetime, computed_s: float) -> tuple[datetime, datetime]:
    """Return start and end.

    Raises
    ------
    EntryError
        One is missing or no time, or they contradict each other.
    """
    if not typed.started.strip():
        raise EntryError("Say when the print started, as 9:10 or 2026-03-02 9:10.", "started")
    if not typed.ended.strip():
        raise EntryError("Say when the print ended, as 12:55 or 2026-03-02 12:55.", "ended")
    try:
        started, ended = times_of(typed.started, typed.ended, now, computed_s)
    except BeadlineError as problem:
        no_times = [name for name in ("ended", "started") if not is_time(getattr(typed, name))]
        raise EntryError(str(problem), *(no_times[:1] or ("started", "ended"))) from None
    if ended > now + timedelta(minutes=1):
        still = f"The print cannot have ended at {typed.ended.strip()}, which is still to come."
        raise EntryError(still, "ended")
    return started, ended


def took_text(typed: TypedPrint, computed_s: float, now: datetime) -> str:
    """Return how long it took beside what was computed; what is missing, while the times mean nothing."""
    try:
        started, ended = typed_times(typed, now, computed_s)
    except BeadlineError as problem:
        return str(problem)
    real_s = (ended - started).total_seconds()
    text = f"Took {duration_text(real_s).removesuffix(' 0 s')}"
    if started.date() != now.date():
        text += f", begun on {started:%Y-%m-%d}"
    if computed_s <= 0.0:
        return f"{text}."
    if typed.outcome is not Outcome.DONE:
        return f"{text}; all of it was computed to take {duration_text(computed_s)}."
    return f"{text}, {_against(real_s / computed_s)} computed ({duration_text(computed_s)})."


def moment_text(moment: datetime, now: datetime) -> str:
    """Return a moment as a person writes it: of today without its date."""
    return f"{moment:%H:%M}" if moment.date() == now.date() else f"{moment:%Y-%m-%d %H:%M}"


def _against(ratio: float) -> str:
    return "as" if abs(ratio - 1.0) < 0.0005 else f"{more_or_less(ratio)} than"


def _layer_of(text: str, layers: int, program: str) -> int:
    """Return the number of a layer that the program has; of one whose layers are not known (0) any."""
    if not text.strip().isdecimal() or int(text) < 1:
        raise EntryError(f"{text.strip()!r} is no layer; layers are counted from 1.", "layer")
    if layers:
        try:
            check_layer(int(text), layers, program)
        except BeadlineError as problem:
            raise EntryError(str(problem), "layer") from None
    return int(text)


def _amount(text: str, field: str, what: str, example: str) -> float | None:
    """Return a number that is not negative, None for no text."""
    if not text.strip():
        return None
    try:
        number = float(text.strip().replace(",", "."))
    except ValueError:
        number = math.nan
    if not 0.0 <= number < math.inf:
        raise EntryError(
            f"The {what}, {text.strip()!r}, is no amount; write it as {example}, or leave it empty.", field
        )
    return number


def _number_text(number: float | None, digits: int | None = None) -> str:
    if number is None:
        return ""
    return f"{number:.12g}" if digits is None else f"{number:.{digits}f}"
