"""Steps about the part as a whole, its layers, and how it begins on the plate."""

from __future__ import annotations

from typing import Final

import numpy as np

from viewer.layers.layers import HOLD
from viewer.lesson.facts import Facts
from viewer.lesson.questions import amount_question, layer_question
from viewer.lesson.rule import Rule
from viewer.lesson.say import spoken_mass, spoken_time
from viewer.lesson.step import Question, StepView
from viewer.numerals import count_text, number_text, share_text

HOT: Final = "Nozzle and plate are hot enough to burn; keep hands away while the machine moves."


def _layers_say(facts: Facts) -> tuple[str, ...]:
    layers = facts.figures.layers
    assert layers.height_mm is not None
    assert layers.usual_mm is not None
    count = f"{count_text(layers.count)} layers" if layers.count > 1 else "A single layer"
    high = number_text(layers.height_mm)
    if layers.objects > 1:
        first = f"{count}, for {layers.objects} parts one after another, up to {high} mm high."
    else:
        first = f"{count}, from the plate up to {high} mm: this is how the part grows."
    return first, f"Most of them are {number_text(layers.usual_mm)} mm thick."


def _layers_ask(facts: Facts) -> Question | None:
    seconds = np.array([facts.layer_s(number) for number in range(1, facts.layers + 1)])
    right = int(np.argmax(seconds)) + 1
    others = [
        int(number)
        for share in (0.75, 0.5, 0.25)
        for number in np.argsort(seconds)[[round(share * (facts.layers - 1))]] + 1
        if seconds[number - 1] < 0.9 * seconds[right - 1]
    ]
    quick = min(others, default=right, key=lambda number: seconds[number - 1])
    return layer_question(
        facts, "layers", "Which of these layers takes longest to print?", [right, *others], right,
        f"Layer {right} takes {spoken_time(seconds[right - 1])}; layer {quick} takes {spoken_time(seconds[quick - 1])}.",
    )  # fmt: skip


def _first_layer_says(facts: Facts) -> tuple[str, ...]:
    first = facts.figures.first_layer
    watched = "Somebody watches it: if it comes loose, everything after it is lost."
    if first is None:
        return (watched,)
    return (
        f"{count_text(round(first.contact_mm2))} mm² of the print touch the plate and must hold it to the end.",
        watched,
    )


def _first_layer_asks(facts: Facts) -> Question | None:
    time = facts.figures.time
    if time.uncounted or time.first_layer_done_s is None:
        return None
    done = spoken_time(time.first_layer_done_s)
    return amount_question(
        facts, "first-layer", "How long after the start is the first layer done?", time.first_layer_done_s,
        spoken_time, f"{done}, the heating included; the layer alone takes {spoken_time(facts.layer_s(1))}.",
    )  # fmt: skip


def _hold_down_says(facts: Facts) -> tuple[str, ...]:
    mass = spoken_mass(facts.grams(HOLD))
    return (
        "Hold-down is laid only so that the part begins well and sticks; it is taken off afterwards.",
        f"It takes {mass} of filament and {spoken_time(facts.seconds(HOLD))}.",
    )


def _hold_down_asks(facts: Facts) -> Question | None:
    share = facts.grams(HOLD) / facts.figures.filament.mass_g
    return amount_question(
        facts, "hold-down", "How much of all the filament is hold-down?", share, share_text,
        f"{share_text(share)}: {spoken_mass(facts.grams(HOLD))} of {spoken_mass(facts.figures.filament.mass_g)}.",
        most=1.0,
    )  # fmt: skip


def _layer(number: int | None, *roles: int) -> StepView:
    return StepView(layer=None if number is None else number - 1, lit_roles=roles)


PLATE_STEPS: Final = (
    Rule(
        "layers", "Layers",
        applies=lambda _: True,
        view=lambda _: StepView(whole_part=True),
        says=_layers_say,
        asks=_layers_ask,
        look_for="Fine lines around the part: each is the edge of one layer.",
    ),
    Rule(
        "first-layer", "The first layer",
        applies=lambda _: True,
        view=lambda _: _layer(1),
        says=_first_layer_says,
        asks=_first_layer_asks,
        look_for="Beads lie flat and touch each other; no corner lifts from the plate.",
        caution=HOT,
    ),
    Rule(
        "hold-down", "Hold-down",
        applies=lambda facts: facts.busiest_layer(HOLD) is not None and facts.grams(HOLD) > 0.0,
        view=lambda facts: _layer(facts.busiest_layer(HOLD), HOLD),
        says=_hold_down_says,
        asks=_hold_down_asks,
        look_for="Its beads are even all along; if they come and go, stop and look.",
    ),
)  # fmt: skip
