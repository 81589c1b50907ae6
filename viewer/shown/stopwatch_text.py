"""The stopwatch test in words and as plain objects."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import asdict
from typing import Any

from viewer.shown.finding_text import readable
from viewer.shown.numbers import duration_text, number_text, share_text
from viewer.shown.row import Row
from viewer.stopwatch import Measured, MotionTest, Proposal
from viewer.stopwatch.program_text import PAUSE_S, caution_of, mark_of
from viewer.stopwatch.proposal import CONFIDENCE

HOW = (
    "Start the watch when a block begins to move, stop it when it stands still, and write the time down during the "
    f"pause of {PAUSE_S} s."
)
BLOCKS = "Blocks"
VALUES = "Values"
CHANGES = "For the card"
LAST_WORD = "Nothing was changed, and the machine's manual has the last word."


def block_rows(test: MotionTest) -> Iterator[Row]:
    """Yield the blocks, each with the seconds that it takes by the card."""
    for number, (words, seconds) in enumerate(zip(test.words, test.expected_s, strict=True), 1):
        yield Row(BLOCKS, f"{number}  {words}", seconds, "s", f"by the card {seconds:.1f} s", "")


def value_rows(found: Proposal) -> Iterator[Row]:
    """Yield the values that were measured."""
    for one in found.values:
        yield Row(
            VALUES,
            _name_text(one, found.test.card.corner.rule),
            one.value if one.is_known else None,
            one.unit,
            value_text(one),
            "",
        )
    if found.warming_c_s is not None and found.test.heat is not None:
        heat = found.test.card.heat
        heater = found.test.heat.heater
        card = heat.nozzle_warming_c_s if heater == "nozzle" else heat.plate_warming_c_s
        text = (
            f"{found.warming_c_s:.3g} °C/s ({found.warming_low_c_s:.3g} to {found.warming_high_c_s:.3g}); "
            f"the card has {card:g}"
        )
        yield Row(VALUES, f"warming of the {heater}", found.warming_c_s, "degC/s", text, "")


def change_rows(found: Proposal) -> Iterator[Row]:
    """Yield what the card would say instead; what agrees with it stays."""
    for change in found.changes:
        yield Row(CHANGES, change.key, change.proposed, "", f"{change.proposed:g}, now {change.now:g}", "")


def value_text(one: Measured) -> str:
    """Return ``1420 mm/s² (1390 to 1450); the card has 1500``."""
    unit = readable(one.unit)
    card = f"the card has {number_text(one.card)}"
    if one.low is None:
        return f"these times do not tell it; {card}"
    if one.high is None:
        return f"at least {_digits(one.low)} {unit}; {card}"
    said = f"{_digits(one.value)} {unit} ({_digits(one.low)} to {_digits(one.high)}); {card}"
    return f"{said}, which agrees" if one.agrees else said


def _digits(value: float) -> str:
    """Return a value with three digits, and four from 1000 on."""
    return f"{float(f'{value:.3g}'):g}" if value < 1000.0 else f"{round(value, -1):.0f}"


def _name_text(one: Measured, rule: str) -> str:
    if one.name == "corner":
        return f"corner ({rule.replace('-', ' ')})"
    kind, axis = one.name.split()
    return f"{'acceleration' if kind == 'acceleration' else 'top speed'} along {axis.upper()}"


def summary_lines(found: Proposal) -> Iterator[str]:
    """Yield sentences behind the table: what the intervals are, what does not fit, what was not measured."""
    yield f"In brackets: what holds with {share_text(CONFIDENCE)} confidence, from the error of a hand on a stopwatch."
    if found.doubt:
        yield found.doubt
    yield from (f"Not measured: {sentence[:1].lower()}{sentence[1:]}" for sentence in found.test.not_measured)


def whole_text(test: MotionTest) -> str:
    """Return how long the whole test takes, roughly."""
    return duration_text(sum(test.expected_s) + PAUSE_S * (len(test.words) + 1) + test.card.homing.seconds)


def test_object(test: MotionTest) -> dict[str, Any]:
    """Return a test as a plain object for JSON."""
    return {
        "printer": test.card.name,
        "mark": mark_of(test),
        "caution": list(caution_of(test)),
        "pause_s": PAUSE_S,
        "room_mm": asdict(test.room),
        "blocks": [
            {"block": number, "words": words, "expected_s": seconds}
            for number, (words, seconds) in enumerate(zip(test.words, test.expected_s, strict=True), 1)
        ],
        "not_measured": list(test.not_measured),
    }


def proposal_object(found: Proposal) -> dict[str, Any]:
    """Return what a timed test says as a plain object for JSON."""
    warming = None
    if found.warming_c_s is not None and found.test.heat is not None:
        warming = {
            "heater": found.test.heat.heater, "c_s": found.warming_c_s, "low_c_s": found.warming_low_c_s,
            "high_c_s": found.warming_high_c_s,
        }  # fmt: skip
    return {
        "printer": found.test.card.name,
        "mark": mark_of(found.test),
        "confidence": CONFIDENCE,
        "timed_s": list(found.timed_s),
        "planned_s": list(found.planned_s),
        "values": [{**asdict(one), "agrees": one.agrees} for one in found.values],
        "warming": warming,
        "changes": [asdict(one) for one in found.changes],
        "doubt": found.doubt or None,
        "not_measured": list(found.test.not_measured),
    }
