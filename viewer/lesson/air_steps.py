"""Steps about what lies over air: support, bridges, overhangs."""

from __future__ import annotations

from typing import Final

import numpy as np

from viewer.layers.layers import SUPPORT
from viewer.lesson.facts import Facts, around
from viewer.lesson.questions import CLOSER, amount_question
from viewer.lesson.rule import Rule
from viewer.lesson.say import spoken_length, spoken_mass, spoken_share, spoken_time
from viewer.lesson.step import Question, StepView
from viewer.numerals import count_text, number_text
from viewer.shape.spots import Bridge, Overhang, Spot

LEAST_SPAN_MM: Final = 4.0
"""A shorter span needs no care: it is no example of a bridge (common practice, no source)."""
MANY: Final = 8
"""Fewer layers could not be told from half as many and a quarter of them."""


def _bridge(facts: Facts) -> Bridge | None:
    """Return the longest bridge; None where no span is worth the name."""
    longest = max(facts.shape.bridges, key=lambda spot: spot.span_mm, default=None)
    return longest if longest is not None and longest.span_mm >= LEAST_SPAN_MM else None


def _overhang(facts: Facts) -> Overhang | None:
    """Return the largest overhang that can be told in degrees."""
    return max(facts.shape.overhangs, key=lambda spot: spot.area_mm2, default=None)


def _view(spot: Spot | None) -> StepView:
    assert spot is not None
    return StepView(layer=spot.layer - 1, bead=spot.move, box_mm=around(spot.box_mm))


def _support_says(facts: Facts) -> tuple[str, ...]:
    return (
        "Support is printed only to be stood upon; it is broken off afterwards.",
        f"Printing it takes {spoken_time(facts.seconds(SUPPORT))}.",
    )


def _support_asks(facts: Facts) -> Question | None:
    mass, total = facts.grams(SUPPORT), facts.figures.filament.mass_g
    return amount_question(
        facts, "support", "How many grams of this print are support?", mass, spoken_mass,
        f"{spoken_mass(mass)} of {spoken_mass(total)}, or {spoken_share(mass / total)}.", most=total,
    )  # fmt: skip


def _bridge_says(facts: Facts) -> tuple[str, ...]:
    spot, program = _bridge(facts), facts.program
    assert spot is not None
    fan = float(program.settings.column("fan")[program.settings.of_move[spot.move]])
    blows = f"blows at {spoken_share(fan)}" if fan > 0.0 else "is off"
    return (
        f"On layer {spot.layer}, beads cross air and are held at both ends: a bridge.",
        f"While it is laid, the fan {blows}.",
    )


def _bridge_asks(facts: Facts) -> Question | None:
    spot, extent = _bridge(facts), facts.figures.extent
    assert spot is not None
    assert extent is not None
    widest = max(upto - begin for begin, upto in (extent.x, extent.y))
    return amount_question(
        facts, "bridge", "How far do the beads of the longest bridge reach over air?", spot.span_mm, spoken_length,
        f"{spoken_length(spot.span_mm)}, on layer {spot.layer}.",
        most=max(widest, spot.span_mm), ladder=CLOSER,
    )  # fmt: skip


def _overhang_says(facts: Facts) -> tuple[str, ...]:
    spot = _overhang(facts)
    assert spot is not None
    reach, angle = spoken_length(spot.reach_mm), number_text(spot.angle_deg, 2)
    return (
        f"Here layer {spot.layer} reaches {reach} beyond the layer below, {angle} degrees from upright: an overhang.",
        "Its beads are held at one side at most: they may curl or droop.",
    )


def _overhang_asks(facts: Facts) -> Question | None:
    layers = int(np.count_nonzero(facts.shape.overhang_mm2))
    angle = number_text(facts.shape.angle_deg)
    if layers < MANY:
        return None
    return amount_question(
        facts, "overhang", f"How many layers lean out by more than {angle} degrees somewhere?", layers,
        lambda count, _: count_text(round(count)),
        f"{count_text(layers)} of {count_text(facts.layers)} layers do.", most=facts.layers,
    )  # fmt: skip


AIR_STEPS: Final = (
    Rule(
        "support", "Support",
        applies=lambda facts: facts.busiest_layer(SUPPORT) is not None and facts.grams(SUPPORT) > 0.0,
        view=lambda facts: facts.view_of(SUPPORT),
        says=_support_says,
        asks=_support_asks,
        look_for="It stands upright and does not come loose before the part lies on it.",
        caution="Broken support has sharp edges and can fly: wear eye protection.",
    ),
    Rule(
        "bridge", "A bridge",
        applies=lambda facts: _bridge(facts) is not None,
        view=lambda facts: _view(_bridge(facts)),
        says=_bridge_says,
        asks=_bridge_asks,
        look_for="Its beads stay stretched; a few that hang down are no harm.",
    ),
    Rule(
        "overhang", "An overhang",
        applies=lambda facts: _overhang(facts) is not None,
        view=lambda facts: _view(_overhang(facts)),
        says=_overhang_says,
        asks=_overhang_asks,
        look_for="The edge stays flat; if it curls up, the nozzle may knock against it.",
    ),
)  # fmt: skip
