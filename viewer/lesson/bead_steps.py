"""Steps about what the beads of a layer are for."""

from __future__ import annotations

from typing import Final

from viewer.layers.layers import INFILL, OUTLINE, ROLE_NAMES
from viewer.lesson.facts import Facts
from viewer.lesson.questions import amount_question, choice_question
from viewer.lesson.rule import Rule
from viewer.lesson.say import spoken_mass, spoken_time
from viewer.lesson.step import Question, StepView

LITTLE: Final = 0.02
"""A role with a smaller share of all filament is no example of it: some few beads that shape cannot tell."""


def _is_worth_it(facts: Facts, role: int) -> bool:
    mass = facts.figures.filament.mass_g
    return facts.busiest_layer(role) is not None and facts.grams(role) >= LITTLE * mass > 0.0


def _lit(facts: Facts, *roles: int) -> StepView:
    number = facts.busiest_layer(roles[0])
    return StepView(layer=None if number is None else number - 1, lit_roles=roles)


def _outline_says(facts: Facts) -> tuple[str, ...]:
    return (
        "The outline gives the part its size; it is what everybody sees and touches.",
        f"All outlines together take {spoken_time(facts.seconds(OUTLINE))}.",
    )


def _outline_asks(facts: Facts) -> Question | None:
    most = sorted(facts.figures.filament.by_role.items(), key=lambda item: -item[1]["g"])[:4]
    (first, mass), *rest = [(role, amount["g"]) for role, amount in most]
    if not rest or rest[0][1] > 0.98 * mass:
        return None
    reason = f"{first.capitalize()} takes {spoken_mass(mass)}, {rest[0][0]} {spoken_mass(rest[0][1])}."
    names = [str(role) for role in ROLE_NAMES if role in dict(most)]
    return choice_question(
        facts, "outline", "Which takes most filament in this program?", names, names.index(first), reason
    )


def _infill_says(facts: Facts) -> tuple[str, ...]:
    return (
        "Inside, beads lie apart: infill carries the roof and saves filament and time.",
        f"All of it takes {spoken_time(facts.seconds(INFILL))}.",
    )


def _infill_asks(facts: Facts) -> Question | None:
    mass = facts.grams(INFILL)
    return amount_question(
        facts, "infill", "How many grams of this print are infill?", mass, spoken_mass,
        f"{spoken_mass(mass)} of {spoken_mass(facts.figures.filament.mass_g)} are infill.",
        most=facts.figures.filament.mass_g,
    )  # fmt: skip


BEAD_STEPS: Final = (
    Rule(
        "outline", "The outline",
        applies=lambda facts: _is_worth_it(facts, OUTLINE),
        view=lambda facts: _lit(facts, OUTLINE),
        says=_outline_says,
        asks=_outline_asks,
        look_for="The side of the part: smooth, without gaps or lumps.",
    ),
    Rule(
        "infill", "Infill",
        applies=lambda facts: _is_worth_it(facts, INFILL),
        view=lambda facts: _lit(facts, INFILL),
        says=_infill_says,
        asks=_infill_asks,
        look_for="Lines that cross the inside and end at the walls.",
    ),
)  # fmt: skip
