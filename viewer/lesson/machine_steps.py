"""Steps about heat, people, tools, the whole time, and the end."""

from __future__ import annotations

import re
from typing import Final

import numpy as np

from viewer.figures.heat import last_target
from viewer.layers.layers import PURGE
from viewer.lesson.facts import Facts
from viewer.lesson.questions import ALIKE, CLOSER, amount_question, choice_question
from viewer.lesson.rule import Rule
from viewer.lesson.say import spoken_mass, spoken_share, spoken_time, spoken_times
from viewer.lesson.step import Question, StepView
from viewer.numerals import capital, count_text
from viewer.read.moves import BEAD
from viewer.timing import CAUSES
from viewer.why.causes import CAUSE_NAMES

END_LINES: Final = 60
"""Lines after the last bead from which the choices of a question are taken."""
FUMES: Final = (
    "Hot metal burns, and melted plastic gives off fumes and fine particles: air the room, do not touch."
)


def _heat_says(facts: Facts) -> tuple[str, ...]:
    nozzle, plate = facts.kept("nozzle_c"), facts.kept("plate_c")
    named = [f"the {name} at {kept}" for name, kept in (("nozzle", nozzle), ("plate", plate)) if kept]
    return f"The program keeps {' and '.join(named)}.", _fan_said(facts)


def _fan_said(facts: Facts) -> str:
    strongest = facts.strongest_fan
    if strongest <= 0.0:
        return "The fan is off while beads are laid."
    if facts.targets["fan"][0].max(initial=0.0) <= 0.0:
        return f"The fan is off on layer 1 and blows at up to {spoken_share(strongest)} later."
    return f"The fan blows at up to {spoken_share(strongest)}, on layer 1 too."


def _heat_asks(facts: Facts) -> Question | None:
    waits = facts.booked("heating")
    if facts.figures.time.uncounted:
        return None
    return amount_question(
        facts, "heat", "How long does this print wait for heat?", waits, spoken_time,
        f"{spoken_time(waits)} of {spoken_time(facts.figures.time.total_s)}, by the heating rates of the printer card.",
        most=facts.figures.time.total_s,
    )  # fmt: skip


def _pauses_say(facts: Facts) -> tuple[str, ...]:
    pauses = facts.figures.time.pauses
    return (
        f"{capital(spoken_times(len(pauses)))} the program stops and waits for a person.",
        f"The first pause comes on layer {pauses[0].layer}; hot metal waits there until somebody answers.",
    )


def _pauses_ask(facts: Facts) -> Question | None:
    pause, time = facts.figures.time.pauses[0], facts.figures.time
    if time.uncounted:
        return None
    return amount_question(
        facts, "pauses", "How long after the start must somebody be there?", pause.at_s, spoken_time,
        f"After {spoken_time(pause.at_s)}: line {count_text(pause.line)} stops the print.",
        most=time.total_s, ladder=CLOSER,
    )  # fmt: skip


def _tools_say(facts: Facts) -> tuple[str, ...]:
    return (
        f"The program changes to another tool {spoken_times(facts.figures.time.tool_changes)}.",
        f"The changes take {spoken_time(facts.booked('tool changes'))}, by the printer card.",
    )


def _tools_ask(facts: Facts) -> Question | None:
    mass, total = facts.grams(PURGE), facts.figures.filament.mass_g
    if total <= 0.0:
        return None
    return amount_question(
        facts, "tools", "How much of all the filament is purged?", mass / total, spoken_share,
        f"{spoken_share(mass / total)}: {spoken_mass(mass)} of {spoken_mass(total)}.", most=1.0,
    )  # fmt: skip


def _time_says(facts: Facts) -> tuple[str, ...]:
    time = facts.figures.time
    without = ", without what the machine does by itself at the start" if time.uncounted else ""
    return (
        f"The print takes {spoken_time(time.total_s)}{without}.",
        f"For {spoken_time(facts.booked('laying'))} of it, beads are laid at the speed that is asked for.",
    )


def _time_asks(facts: Facts) -> Question | None:
    booked = {
        cause: facts.booked(cause) for cause in CAUSES if cause != "laying" and facts.booked(cause) > 0.0
    }
    largest = sorted(booked, key=lambda cause: -booked[cause])[:4]
    if len(largest) < 2 or booked[largest[1]] > ALIKE * booked[largest[0]]:
        return None
    first, second = largest[:2]
    names = [CAUSE_NAMES[cause] for cause in CAUSES if cause in largest]
    reason = (
        f"{CAUSE_NAMES[first].capitalize()}: {spoken_time(booked[first])}; "
        f"next comes {CAUSE_NAMES[second]}: {spoken_time(booked[second])}."
    )
    text = "Apart from laying at the commanded speed, what takes most of the time?"
    return choice_question(facts, "time", text, names, names.index(CAUSE_NAMES[first]), reason)


def _end_says(facts: Facts) -> tuple[str, ...]:
    program = facts.program
    nozzle, plate = (last_target(program.state, program.moves, heater) for heater in ("nozzle", "plate"))
    cool = "Metal stays hot for minutes: let it cool before you take the part off."
    if nozzle is None:
        return "The program never sets how hot the nozzle is: somebody else must switch it off.", cool
    if not nozzle.is_off:
        return "No line of the program switches the nozzle off: look whether the machine does.", cool
    if plate is None or plate.is_off:
        both = "the nozzle is" if plate is None else "the nozzle and the plate are"
        return f"When the program ends, {both} switched off.", cool
    return "When the program ends, the nozzle is switched off, but the plate is not.", cool


def _end_asks(facts: Facts) -> Question | None:
    """Ask for the line that switches the nozzle off, among others of the program's end."""
    program = facts.program
    nozzle = last_target(program.state, program.moves, "nozzle")
    if nozzle is None or not nozzle.is_off or not nozzle.after_beads:
        return None
    last = int(program.moves.line[np.flatnonzero(program.moves.kind == BEAD)[-1]])
    right = _command_of(program.texts.line(nozzle.line))
    lines = map(_command_of, program.texts.fetch(last + 1, END_LINES))
    others = [line for line in dict.fromkeys(lines) if line and not re.match(r"M10[49]\b|G10\b|T", line)]
    if not right or not others:
        return None
    choices = [right, *(line for line in others if line != right)][:4]
    reason = f"{right}, in line {count_text(nozzle.line)}."
    return choice_question(facts, "end", "Which of these lines switches the nozzle off?", choices, 0, reason)


def _command_of(line: str) -> str:
    """Return a line without comment, number and checksum; empty where nothing is left, or more than people would read."""
    text = re.sub(r"\(.*?\)|^\s*N\d+|\*\d+\s*$", "", line.partition(";")[0]).strip()
    return text if len(text) <= 30 else ""


MACHINE_STEPS: Final = (
    Rule(
        "heat", "Fan and heat",
        applies=lambda facts: bool(facts.kept("nozzle_c") or facts.kept("plate_c")),
        view=lambda _: StepView(),
        says=_heat_says,
        asks=_heat_asks,
        look_for="The display shows the temperatures; where the fan runs, it is heard.",
        caution=FUMES,
    ),
    Rule(
        "pauses", "Pauses",
        applies=lambda facts: len(facts.figures.time.pauses) > 0,
        view=lambda facts: StepView(layer=max(facts.figures.time.pauses[0].layer, 1) - 1),
        says=_pauses_say,
        asks=_pauses_ask,
        look_for="The machine tells on its display what it waits for.",
        caution="The nozzle stays hot during a pause; keep hands away from it.",
    ),
    Rule(
        "tools", "Tool changes",
        applies=lambda facts: facts.figures.time.tool_changes > 0,
        view=lambda facts: facts.view_of(PURGE) if facts.busiest_layer(PURGE) else StepView(),
        says=_tools_say,
        asks=_tools_ask,
        look_for="The new filament comes clean before it touches the part.",
    ),
    Rule(
        "time", "Where the time goes",
        applies=lambda facts: facts.figures.time.total_s > 0.0,
        view=lambda _: StepView(whole_part=True),
        says=_time_says,
        asks=_time_asks,
        look_for="The machine may show another time: it counts in its own way.",
    ),
    Rule(
        "end", "The end",
        applies=lambda _: True,
        view=lambda facts: StepView(layer=facts.layers - 1),
        says=_end_says,
        asks=_end_asks,
        look_for="The nozzle moves away from the part and the temperatures fall.",
        caution="Take the part off when plate and nozzle are cool; follow the machine's manual.",
    ),
)  # fmt: skip
