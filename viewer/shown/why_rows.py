"""Why a print takes so long, and what would help, as rows of words."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator

from viewer.numerals import number_text, share_text
from viewer.program import Program
from viewer.shown.cause_words import CAUSE_WORDS
from viewer.shown.finding_text import readable
from viewer.shown.numbers import duration_text
from viewer.shown.overrun_rows import overrun_rows
from viewer.shown.place_rows import place_rows
from viewer.shown.row import Row, amount
from viewer.why.ledger import Booking
from viewer.why.lever import CAUTION, Span
from viewer.why.report import Why
from viewer.why.trials import Outcome, Try

SMALL_SHARE = 0.001
"""Bookings below this share of the whole are put together in one row."""
LITTLE = 0.005
"""Levers that save less than this share are named in one row."""
HELPS = "What would help (each alone, planned again), and what it may cost"


def why_rows(program: Program, found: Why) -> Iterator[Row]:
    """Yield all that is said of why a program takes so long and of what would help."""
    yield from overrun_rows(found.overrun)
    yield from lever_rows(found.outcomes)
    yield from place_rows(found.places, len(program.layers), program.timing.total_s)
    yield from ledger_rows(found.bookings)


def ledger_rows(bookings: Iterable[Booking]) -> Iterator[Row]:
    """Yield the ledger by limiter, the largest first within each group; what is small is summed up."""
    bookings = list(bookings)
    total = math.fsum(one.seconds for one in bookings)
    small = [one for one in bookings if one.seconds < SMALL_SHARE * total]
    for group in dict.fromkeys(one.group for one in bookings):
        own = [one for one in bookings if one.group == group and one not in small]
        for one in sorted(own, key=lambda one: -one.seconds):
            yield _booking(one, total)
    rest = math.fsum(one.seconds for one in small)
    how = f"All that takes less than {share_text(SMALL_SHARE)} each."
    if small:
        yield amount("By limiter", "the rest", rest, "s", how, _timed(rest, total))


def _booking(one: Booking, total_s: float) -> Row:
    name = f"{one.group}: {booking_words(one)}"
    return amount("By limiter", name, one.seconds, "s", _HOW[one.loss], _timed(one.seconds, total_s))


def booking_words(one: Booking) -> str:
    """Return what a booking waits for, in words."""
    if one.loss == "commanded":
        return "at the commanded speed"
    if one.loss == "held back":
        return f"held back by {one.by}"
    if one.loss == "wait":
        return CAUSE_WORDS[one.by][0]
    return f"{one.by}, {one.at}"


_HOW = {
    "commanded": "Distance over commanded speed, with the speed factor M220.",
    "held back": "What a lower limit takes longer than the commanded speed; of several the lowest.",
    "ramps": "What speeding up and braking take longer than the speed limit: by the acceleration that the move has, "
    "at the end where the speed is kept low.",
    "wait": "Waits, as the time ledger has them.",
}


def _timed(seconds: float, total_s: float) -> str:
    return f"{duration_text(seconds)}, {share_text(seconds / total_s if total_s > 0.0 else 0.0)}"


def lever_rows(outcomes: Iterable[Outcome]) -> Iterator[Row]:
    """Yield what each lever gives, the best first, and in one row those that give nothing."""
    outcomes = tuple(outcomes)
    for outcome in outcomes:
        if outcome.helps and outcome.usual.share >= LITTLE:
            yield _lever(outcome)
    little = [outcome for outcome in outcomes if outcome.helps and outcome.usual.share < LITTLE]
    if little:
        how = f"Each saves less than {share_text(LITTLE)} so."
        text = "; ".join(f"{one.title} {saved_text(one.usual.saved_s)}" for one in little)
        yield Row(HELPS, "little", len(little), "", text, how)
    idle = [outcome.title for outcome in outcomes if not outcome.helps]
    if idle:
        how = "Even without any limit they save less than half a second."
        yield Row(HELPS, "nothing", len(idle), "", "; ".join(idle), how)


def _lever(outcome: Outcome) -> Row:
    usual = outcome.usual
    gain = f"{readable(change_text(outcome, usual))}: {saved_text(usual.saved_s)}, {share_text(max(usual.share, 0.0))}"
    rest = [f"{_step(one)}: {saved_text(one.saved_s)}" for one in outcome.tries if one is not usual]
    caution = f" {CAUTION}" if outcome.lever.asks_more else ""
    how = f"{'; '.join(rest)}." if rest else ""
    text = f"{gain}. {outcome.lever.cost}{caution}"
    return amount(HELPS, outcome.title, usual.saved_s, "s", how, text)


def change_text(outcome: Outcome, one: Try) -> str:
    """Return the value now and the value that was tried: "1000 to 2000 mm/s2", for `readable` to write."""
    if not outcome.unit:
        return "done" if outcome.lever.place == "program" else _step(one)
    if one.factor == 0.0:
        return f"{value_text(outcome.now, outcome.unit)} to none"
    if math.isinf(one.factor):
        return f"{value_text(outcome.now, outcome.unit)} to no limit"
    return f"{span_text(outcome.now)} to {span_text(one.value)} {outcome.unit}"


def span_text(span: Span) -> str:
    """Return a value, or the lowest and the highest: "15 ... 60"."""
    low, high = (number_text(value) for value in span)
    return low if low == high else f"{low} ... {high}"


def value_text(span: Span, unit: str) -> str:
    """Return a value, or the lowest and the highest, with its unit: "15 ... 60 mm/s", "1 time", "3 times"."""
    once = unit == "times" and span == (1.0, 1.0)
    return f"{span_text(span)} {'time' if once else unit}".rstrip()


def _step(one: Try) -> str:
    if math.isinf(one.factor):
        return "without limit"
    if one.factor == 0.0:
        return "without any"
    return f"times {number_text(one.factor)}"


def saved_text(saved_s: float, nothing: str = "nothing") -> str:
    """Return how much time is saved: "3 min 2 s less"; `nothing` where that is none to speak of."""
    if abs(saved_s) < 0.05:
        return nothing
    return f"{duration_text(abs(saved_s))} {'less' if saved_s > 0.0 else 'more'}"
