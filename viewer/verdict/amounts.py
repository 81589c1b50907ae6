"""The two questions that are answered by an amount: how long it takes, and what it costs."""

from __future__ import annotations

import math
from datetime import datetime
from typing import TYPE_CHECKING

from viewer.checks.evidence import in_words
from viewer.figures.figures import Figures
from viewer.numerals import capital, counted_text, number_text
from viewer.printlog.past import Past
from viewer.timing import clock_time, day_text, minute_up

if TYPE_CHECKING:
    from viewer.printlog.estimate import Estimate


def time_amount(figures: Figures, past: Past) -> str:
    """Return the time in all: ``3 h 18 min``, or ``Likely 3 h 10 to 3 h 31`` where the log has enough prints."""
    if past.estimate is not None:
        return f"Likely {_span(past.estimate)}"
    return in_words(figures.time.total_s)


def time_sentence(figures: Figures, start: datetime | None, past: Past) -> str:
    """Say when the print is done, until when somebody stays beside it, and what else needs somebody.

    A time of day is the full minute by which something is over. Where the print log tells how long prints on this
    printer really take, that comes first; where it could not be read, the reason comes last.
    """
    time = figures.time

    def by(elapsed_s: float) -> str:
        assert start is not None
        return day_text(start, minute_up(clock_time(start, elapsed_s)))

    if past.estimate is None:
        said = f"It takes {in_words(time.total_s)}"
        said += f" and is done at {by(time.total_s)}" if start is not None else ""
    else:
        said = f"Likely {_span(past.estimate)}, from {counted_text(past.estimate.prints, 'print')} on "
        said += f"{past.estimate.printer} (computed {in_words(time.total_s)})"
        if start is not None:
            said += f", done between {by(past.estimate.low_s)} and {by(past.estimate.high_s)}"
    if time.first_layer_done_s is not None:
        at = "" if start is None else f" at {by(time.first_layer_done_s)}"
        said += (
            f"; stay until the first layer is done{at}, {in_words(time.first_layer_done_s)} after the start"
        )
    if time.pauses:
        count = len(time.pauses)
        said += f", and be there at {'the pause' if count == 1 else f'each of {count} pauses'}"
    if time.uncounted:
        said += f"; what {time.uncounted[0].name} takes is not counted"
    more = past.problem or _other_card(past)
    return f"{said}. {more}".rstrip()


def _other_card(past: Past) -> str:
    """Say why prints that were noted give no likely time."""
    if past.estimate is not None or past.other_card == 0:
        return ""
    count = "1 print does" if past.other_card == 1 else f"{past.other_card} prints do"
    return f"Of the print log {count} not count, because the printer card gave other times then."


def _span(estimate: Estimate) -> str:
    """Return ``1 h 29 to 1 h 41``, ``12 to 15 min``; outwards to full minutes."""
    low, high = math.floor(estimate.low_s / 60.0), math.ceil(estimate.high_s / 60.0)
    if high < 60:
        return f"{low} to {high} min"
    texts = (f"{one // 60} h {one % 60:02d}" if one >= 60 else f"{one} min" for one in (low, high))
    return " to ".join(texts)


def spool_sentence(figures: Figures, past: Past) -> str:
    """Say what the chosen spool of the print log holds before and after; "" where none was chosen."""
    if past.spool is None:
        return ""
    left, mass = past.spool.there_g, figures.filament.mass_g
    of = f" ({past.spool.filament})" if past.spool.filament else ""
    said = f"Spool {past.spool.label}{of} has {number_text(left)} g left by the print log"
    if mass > left:
        return f"{said}, {number_text(mass - left)} g too few."
    return f"{said}, {number_text(left - mass)} g after this print."


def time_brief(figures: Figures, start: datetime | None, past: Past) -> str:
    """Return the same without the time in all, in few words: ``done at 15:55; stay until 14:35``."""
    time, said = figures.time, []

    def by(elapsed_s: float) -> str:
        return "" if start is None else day_text(start, minute_up(clock_time(start, elapsed_s)))

    if past.estimate is not None:
        said.append(f"from {counted_text(past.estimate.prints, 'print')}")
    if start is not None and past.estimate is not None:
        said.append(f"done {by(past.estimate.low_s)} to {by(past.estimate.high_s)}")
    elif start is not None:
        said.append(f"done at {by(time.total_s)}")
    if time.first_layer_done_s is not None:
        first = f"{in_words(time.first_layer_done_s)}, for the first layer"
        said.append(f"stay {first}" if start is None else f"stay until {by(time.first_layer_done_s)}")
    if time.pauses:
        count = len(time.pauses)
        said.append(f"be there at {'the pause' if count == 1 else f'{count} pauses'}")
    if time.uncounted:
        said.append(f"without {time.uncounted[0].name}")
    text = "; ".join(said)
    return capital(text)


def cost_amount(figures: Figures) -> str | None:
    """Return the cost in all: ``2.80 EUR``; None where it is not known."""
    cost, currency = figures.filament.cost, figures.filament.currency
    return None if cost is None else _money(cost, currency)


def cost_sentence(figures: Figures) -> str:
    """Say of what the cost is made up, or why it is not known."""
    filament = figures.filament
    currency = filament.currency
    mass = f"{number_text(filament.mass_g)} g of filament"
    if filament.cost is None or filament.material_cost is None:
        return f"It takes {mass}; the filament card has no price, the printer's time costs " + (
            f"{_money(filament.machine_cost, currency)}."
        )
    parts = [f"{mass} {filament.material_cost:.2f}", f"the printer's time {filament.machine_cost:.2f}"]
    if filament.energy_cost is not None:
        parts.append(f"electricity {filament.energy_cost:.2f}")
    return f"It costs {_money(filament.cost, currency)}: {', '.join(parts)}."


def cost_brief(figures: Figures) -> str:
    """Return of what the cost is made up, in few words."""
    filament = figures.filament
    mass = f"{number_text(filament.mass_g)} g of filament"
    if filament.cost is None or filament.material_cost is None:
        return f"{mass}, whose price is not known"
    machine = filament.machine_cost + (filament.energy_cost or 0.0)
    return f"{mass} {filament.material_cost:.2f}, printer {machine:.2f}"


def _money(amount: float, currency: str) -> str:
    return f"{amount:.2f} {currency}"
