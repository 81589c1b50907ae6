"""Steps about motion and time."""

from __future__ import annotations

from typing import Final

from viewer.lesson.facts import Facts
from viewer.lesson.questions import choice_question
from viewer.lesson.rule import Rule
from viewer.lesson.say import spoken_time
from viewer.lesson.step import Question, StepView
from viewer.timing import CAUSES

CAUSES_SAID: Final = {
    "laying": "laying beads",
    "held back": "limits of the machine",
    "speeding up and braking": "speeding up and braking",
    "travel": "travel",
    "retract and prime": "retract and prime",
    "height changes": "going up and down",
    "dwell": "ordered waits",
    "heating": "heating",
    "homing and levelling": "homing and levelling",
    "tool changes": "tool changes",
    "pauses": "pauses",
}
"""The causes of the time ledger as they are said in a lesson."""


def _hour_says(facts: Facts) -> tuple[str, ...]:
    time = facts.figures.time
    laying = facts.booked("laying")
    without = ", without what the machine does by itself at the start" if time.uncounted else ""
    return (
        f"The print takes {spoken_time(time.total_s)}{without}.",
        f"For {spoken_time(laying)} of it, beads are laid at the speed that the program asks for.",
    )


def _hour_asks(facts: Facts) -> Question | None:
    others = [(facts.booked(cause), cause) for cause in CAUSES if cause != "laying"]
    largest = sorted((pair for pair in others if pair[0] > 0.0), reverse=True)[:4]
    if len(largest) < 2 or largest[1][0] > 0.98 * largest[0][0]:
        return None
    (most, first), (second, then) = largest[:2]
    names = [CAUSES_SAID[cause] for cause in CAUSES if cause in {name for _, name in largest}]
    reason = (
        f"{CAUSES_SAID[first].capitalize()} takes {spoken_time(most)}; "
        f"{CAUSES_SAID[then]} comes next with {spoken_time(second)}."
    )
    text = "Besides laying beads, what takes most of the time?"
    return choice_question(facts, "hour", text, names, names.index(CAUSES_SAID[first]), reason)


TIME_STEPS: Final = (
    Rule(
        "hour", "Where the hour goes",
        applies=lambda facts: facts.figures.time.total_s > 0.0,
        view=lambda _: StepView(whole_part=True),
        says=_hour_says,
        asks=_hour_asks,
        look_for="Listen: short beads make the machine rattle; there it hardly gets up to speed.",
    ),
)  # fmt: skip
