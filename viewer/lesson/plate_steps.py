"""Steps about the part as a whole, its layers, and how it begins on the plate."""

from __future__ import annotations

from typing import Final

import numpy as np

from viewer.layers.layers import HOLD
from viewer.lesson.facts import Facts
from viewer.lesson.questions import CLOSER, amount_question, layer_question
from viewer.lesson.rule import Rule
from viewer.lesson.say import spoken_length, spoken_mass, spoken_share, spoken_time
from viewer.lesson.step import Question, StepView
from viewer.numerals import count_text, number_text

HOT: Final = "Nozzle and plate are hot enough to burn; keep hands away while the machine moves."
CLEARLY: Final = 0.8
"""A layer that takes less than this share of another one's time is clearly quicker."""


def _plate_says(facts: Facts) -> tuple[str, ...]:
    extent, high = facts.figures.extent, facts.figures.layers.height_mm
    assert extent is not None
    assert high is not None
    wide, deep = (spoken_length(upto - begin) for begin, upto in (extent.x, extent.y))
    return (
        f"The print covers {wide} by {deep} of the plate and is {number_text(high)} mm high.",
        "The machine counts from its zero: X to the right, Y to the back, Z upwards.",
    )


def _plate_asks(facts: Facts) -> Question | None:
    first, box = facts.figures.first_layer, facts.program.printer.plate.box_mm
    if first is None or first.edge_mm is None or box is None:
        return None
    most = 0.5 * min(box[2] - box[0], box[3] - box[1])
    return amount_question(
        facts, "plate", "How far does the part stay away from the edge of the plate?", first.edge_mm,
        spoken_length, f"The part's nearest bead lies {spoken_length(first.edge_mm)} from the edge.",
        most=most, ladder=CLOSER,
    )  # fmt: skip


def _layers_say(facts: Facts) -> tuple[str, ...]:
    layers = facts.figures.layers
    assert layers.height_mm is not None
    assert layers.usual_mm is not None
    assert layers.first_mm is not None
    high, usual, first = (number_text(mm) for mm in (layers.height_mm, layers.usual_mm, layers.first_mm))
    if layers.count == 1:
        return (f"The print is a single layer, {first} mm thick.",)
    count = f"{count_text(layers.count)} layers"
    if layers.objects > 1:
        begin = f"{count} make {count_text(layers.objects)} objects, one after another, up to {high} mm high."
    else:
        begin = f"The print grows from the plate upwards: {count} make {high} mm."
    other = "" if usual == first else f", the first {first} mm"
    return begin, f"Most of them are {usual} mm thick{other}."


def _layers_ask(facts: Facts) -> Question | None:
    seconds = np.array([facts.layer_s(number) for number in range(1, facts.layers + 1)])
    right = int(np.argmax(seconds)) + 1
    order = np.argsort(seconds, kind="stable")
    places = (round(share * (facts.layers - 1)) for share in (0.75, 0.5, 0.25))
    others = [
        number
        for number in dict.fromkeys(int(order[place]) + 1 for place in places)
        if seconds[number - 1] < CLEARLY * seconds[right - 1]
    ]
    if not others:
        return None
    longest, quick = float(seconds[right - 1]), min(others, key=lambda number: float(seconds[number - 1]))
    return layer_question(
        "Which of these layers takes longest to print?", [right, *others], right,
        f"Layer {right} takes {spoken_time(longest)}, layer {quick} {spoken_time(float(seconds[quick - 1]))}.",
    )  # fmt: skip


def _first_layer_says(facts: Facts) -> tuple[str, ...]:
    first = facts.figures.first_layer
    watched = "Somebody watches it: if it comes loose, everything after it is lost."
    if first is None or first.contact_mm2 <= 0.0:
        return (watched,)
    area = count_text(round(first.contact_mm2))
    return f"The print touches the plate with {area} mm² and must hold there to the end.", watched


def _first_layer_asks(facts: Facts) -> Question | None:
    time = facts.figures.time
    if time.uncounted or time.first_layer_done_s is None:
        return None
    done = spoken_time(time.first_layer_done_s)
    return amount_question(
        facts, "first-layer", "How long after the start is the first layer done?", time.first_layer_done_s,
        spoken_time, f"{done} with all waits before it; the layer alone takes {spoken_time(facts.layer_s(1))}.",
        most=time.total_s,
    )  # fmt: skip


def _hold_down_says(facts: Facts) -> tuple[str, ...]:
    return (
        "Hold-down is laid only so that the print begins well and sticks; it is taken off afterwards.",
        f"It takes {spoken_mass(facts.grams(HOLD))} of filament and {spoken_time(facts.seconds(HOLD))}.",
    )


def _hold_down_asks(facts: Facts) -> Question | None:
    mass, total = facts.grams(HOLD), facts.figures.filament.mass_g
    return amount_question(
        facts, "hold-down", "How much of all the filament is hold-down?", mass / total, spoken_share,
        f"{spoken_share(mass / total)}: {spoken_mass(mass)} of {spoken_mass(total)}.", most=1.0,
    )  # fmt: skip


PLATE_STEPS: Final = (
    Rule(
        "plate", "Plate and zero",
        applies=lambda facts: facts.figures.extent is not None,
        view=lambda facts: StepView(layer=0, box_mm=facts.program.printer.plate.box_mm),
        says=_plate_says,
        asks=_plate_asks,
        look_for="The plate is clean, empty and level before anything begins.",
    ),
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
        view=lambda _: StepView(layer=0),
        says=_first_layer_says,
        asks=_first_layer_asks,
        look_for="Beads lie flat and touch each other; no edge of the print lifts from the plate.",
        caution=HOT,
    ),
    Rule(
        "hold-down", "Hold-down",
        applies=lambda facts: facts.busiest_layer(HOLD) is not None and facts.grams(HOLD) > 0.0,
        view=lambda facts: facts.view_of(HOLD),
        says=_hold_down_says,
        asks=_hold_down_asks,
        look_for="Its beads are even all along; if they come and go, stop and look.",
    ),
)  # fmt: skip
