"""The print log in words and as plain objects, for console and window."""

from __future__ import annotations

from dataclasses import asdict
from datetime import datetime
from typing import Any, Final

from viewer.numerals import counted_text
from viewer.printlog.accuracy import RATES, Accuracy, OutcomeCount, Proposal
from viewer.printlog.estimate import INTERVAL, Estimate
from viewer.printlog.months import Month
from viewer.printlog.past import Past
from viewer.printlog.rows import Entry, Print, SpoolState
from viewer.shown.numbers import duration_text, money_text

_NO_HELP: Final = "The correction does not help: times stand as computed, with the spread of these prints."


def estimate_text(estimate: Estimate) -> str:
    """Return ``likely 1 h 29 min to 1 h 41 min, from 12 prints on Heron``."""
    low, high = duration_text(estimate.low_s), duration_text(estimate.high_s)
    text = f"likely {low} to {high}, from {counted_text(estimate.prints, 'print')} on {estimate.printer}"
    if estimate.left_out:
        word = "print was" if estimate.left_out == 1 else "prints were"
        text += f" ({estimate.left_out} {word} left out: the end was probably noted too late)"
    return text


def took_text(past: Past | None) -> str:
    """Say how long this very program took before, or why the log does not say; "" where it was not noted."""
    if past is None or past.took is None:
        return "" if past is None else past.problem
    took = past.took
    times = "" if took.prints == 1 else f", the last of {took.prints} prints"
    return f"It took {duration_text(took.seconds)} on {took.started:%d %B %Y}{times}, by the print log."


def outcome_text(one: Print) -> str:
    """Return ``done``, ``stopped at layer 12``, or ``failed at layer 3: came off the plate``."""
    return _outcome_text(one.outcome.value, one.layer, one.reason)


def entry_outcome_text(one: Entry) -> str:
    """Return the same of a line of the list."""
    return _outcome_text(one.outcome, one.layer, one.reason)


def _outcome_text(outcome: str, layer: int | None, reason: str) -> str:
    text = outcome + (f" at layer {layer}" if layer is not None else "")
    return f"{text}: {reason}" if reason else text


def accuracy_text(one: Accuracy) -> str:
    """Return how good the estimates of a printer have been."""
    text = (
        f"{one.printer}: the computed time was off by {percent_text(one.computed_error, 1)} on average, the corrected "
        f"one by {percent_text(one.corrected_error, 1)} ({counted_text(one.prints, 'print')}, computed by the cards of "
        "their time, each estimated from the others)."
    )
    return text if one.helps else f"{text} {_NO_HELP}"


def proposal_text(printer: str, one: Proposal) -> str:
    """Return what on a card the real times point to, and what to do."""
    text = (
        f"{printer}: the real times point to {_change(one)}; with it the error falls from "
        f"{percent_text(one.error_before, 1)} to {percent_text(one.error_after, 1)}."
    )
    if one.rivals:
        text += f" These prints cannot tell it from {' or '.join(map(_change, one.rivals))}."
    return f"{text} Measure before you change the card; nothing was changed."


def _change(one: Proposal) -> str:
    """Return a proposal as ``the warming rates on the card, divided by 1.50``."""
    way = "divided by" if one.cause in RATES else "times"
    return f"{one.about} on the card, {way} {one.factor:.2f}"


def month_text(one: Month) -> str:
    """Return what a month of prints took and cost."""
    text = f"{one.month}: {one.done} of {counted_text(one.prints, 'print')} done"
    return f"{text}, {duration_text(one.real_s)}, {one.drawn_g:.0f} g, charged: {charges_text(one)}"


def charges_text(one: Month) -> str:
    """Return ``12.40 EUR``, with the prints for which nothing is noted."""
    text = " and ".join(money_text(amount, currency) for currency, amount in one.charges) or "nothing"
    return text + (f" ({one.uncharged} without a charge)" if one.uncharged else "")


def drift_text(drift: float) -> str:
    """Return how far the scales and the computed masses of a spool's prints are apart."""
    return f"the scales say {percent_text(drift)} of what was computed was drawn"


def outcome_count_text(one: OutcomeCount) -> str:
    """Return how often prints were done, with the interval of the true rate."""
    return (
        f"{one.printer}, {one.filament}: {one.done} of {one.prints} done "
        f"({percent_text(one.low)} to {percent_text(one.high)} with {percent_text(INTERVAL)} confidence)"
    )


def print_object(one: Print) -> dict[str, Any]:
    """Return a print as a plain object for JSON, without the text of its cards."""
    plain = {name: _plain(value) for name, value in asdict(one).items() if not name.endswith("_card")}
    return {**plain, "real_s": one.real_s}


def spool_object(state: SpoolState) -> dict[str, Any]:
    """Return a spool as a plain object for JSON."""
    spool = {name: _plain(value) for name, value in asdict(state.spool).items()}
    return {**spool, "left_g": state.left_g, "drawn_g": state.drawn_g, "drift": state.drift}


def percent_text(share: float, digits: int = 0) -> str:
    """Return a share as ``3.0 %``."""
    return f"{100.0 * share:.{digits}f} %"


def _plain(value: Any) -> Any:
    return value.isoformat(timespec="seconds") if isinstance(value, datetime) else value


def taken_in_text(new: int, prints: int) -> str:
    """Return how many prints of a file were new to the log."""
    one = new == 1 or prints == 1
    of = f"{new} of {counted_text(prints, 'print')}"
    return f"{of} {'was' if one else 'were'} new and {'is' if one else 'are'} noted."
