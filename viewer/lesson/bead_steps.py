"""Steps about what the beads of the part are for."""

from __future__ import annotations

from typing import Final

import numpy as np

from viewer.layers.layers import INFILL, INNER, OUTLINE, ROLE_NAMES, SOLID
from viewer.lesson.facts import Facts, middle_x_mm
from viewer.lesson.questions import ALIKE, amount_question, choice_question, layer_question
from viewer.lesson.rule import Rule
from viewer.lesson.say import spoken_length, spoken_mass, spoken_share, spoken_time
from viewer.lesson.step import Question, StepView
from viewer.numerals import count_text

LITTLE: Final = 0.02
"""A role with a smaller share of all filament is no example of it: some few beads that shape cannot tell."""
MOSTLY: Final = 0.6
"""A layer with a larger share of solid beads is a closed one."""
HARDLY: Final = 0.3


def _is_worth_it(facts: Facts, role: int) -> bool:
    mass = facts.figures.filament.mass_g
    return facts.busiest_layer(role) is not None and facts.grams(role) >= LITTLE * mass > 0.0


def _outline_says(facts: Facts) -> tuple[str, ...]:
    first = "The outline gives the part its size; it is what everybody sees and touches."
    if facts.program.roles_from == "shape":
        return first, "No comment in the program names it: how the paths lie shows what it is."
    return first, f"Everything laid as outline takes {spoken_time(facts.seconds(OUTLINE))}."


def _outline_asks(facts: Facts) -> Question | None:
    masses = {role: amount["g"] for role, amount in facts.figures.filament.by_role.items()}
    most = sorted(masses, key=lambda role: -masses[role])[:4]
    if len(most) < 2 or masses[most[1]] > ALIKE * masses[most[0]]:
        return None
    first, second = most[:2]
    reason = f"{first.capitalize()}: {spoken_mass(masses[first])}; next comes {second}: {spoken_mass(masses[second])}."
    names = [str(role) for role in ROLE_NAMES if role in most]
    text = "Which of these takes most filament in this program?"
    return choice_question(facts, "outline", text, names, names.index(first), reason)


def _inner_says(facts: Facts) -> tuple[str, ...]:
    return (
        "Inner loops back up the outline: together they make the wall.",
        f"All inner loops of this program take {spoken_mass(facts.grams(INNER))} of filament.",
    )


def _inner_asks(facts: Facts) -> Question | None:
    number = facts.busiest_layer(INNER)
    assert number is not None
    path = spoken_length(facts.path_mm(number, INNER))
    return amount_question(
        facts, "inner-loops", f"How far does the nozzle go for the inner loops of layer {number}?",
        facts.path_mm(number, INNER), spoken_length, f"Laid end to end, the inner loops of layer {number} make {path}.",
        most=facts.figures.path["bead_mm"],
    )  # fmt: skip


def _solid_view(facts: Facts) -> StepView:
    """Return the whole part cut open: closed areas lie one on the other, and no layer alone shows that."""
    return StepView(whole_part=True, cut=f"x={middle_x_mm(facts.program):.1f}", lit_roles=(SOLID,))


def _solid_says(facts: Facts) -> tuple[str, ...]:
    closed = int(np.count_nonzero(_solid_shares(facts) >= MOSTLY))
    first = "Where the part must be closed, beads lie side by side: that is called solid."
    if not closed:
        return first, f"All of it takes {spoken_mass(facts.grams(SOLID))} of filament."
    which = "One layer is" if closed == 1 else f"{count_text(closed)} layers are"
    return first, f"{which} mostly solid; all of it takes {spoken_mass(facts.grams(SOLID))} of filament."


def _solid_shares(facts: Facts) -> np.ndarray[tuple[int, ...], np.dtype[np.float64]]:
    """Return how much of the path of each layer's beads is solid: (layers,)."""
    table = facts.program.totals.layers
    path = table.bead_mm[1:-1]
    return np.divide(table.role_mm[1:-1, SOLID], path, out=np.zeros_like(path), where=path > 0.0)


def _solid_asks(facts: Facts) -> Question | None:
    shares = _solid_shares(facts)
    closed = (np.flatnonzero(shares >= MOSTLY) + 1).tolist()
    others = (np.flatnonzero(shares <= HARDLY) + 1).tolist()
    if not closed or not others:
        return None
    right = closed[facts.turn("solid", len(closed))]
    picked = others[:: max(1, len(others) // 3)][:3]
    share, other = shares[right - 1], max(shares[number - 1] for number in picked)
    return layer_question(
        "Which of these layers is mostly solid?", [right, *picked], right,
        f"On layer {right}, {spoken_share(share)} of the path is solid; on the others {spoken_share(other)} at most.",
    )  # fmt: skip


def _infill_says(facts: Facts) -> tuple[str, ...]:
    mass, seconds = spoken_mass(facts.grams(INFILL)), spoken_time(facts.seconds(INFILL))
    return (
        "Inside the walls, infill leaves room: it carries what lies above and saves filament and time.",
        f"All infill of this program takes {mass} and {seconds}.",
    )


def _infill_asks(facts: Facts) -> Question | None:
    assert facts.fill is not None
    number, fill = facts.fill
    share = spoken_share(fill.share)
    covered, room = (count_text(round(area)) for area in (fill.covered_mm2, fill.room_mm2))
    return amount_question(
        facts, "infill", f"Seen from above, how much of the room inside layer {number} does infill cover?",
        fill.share, spoken_share, f"{share}: {covered} of {room} mm² inside the walls of layer {number}.",
        most=1.0,
    )  # fmt: skip


BEAD_STEPS: Final = (
    Rule(
        "outline", "The outline",
        applies=lambda facts: _is_worth_it(facts, OUTLINE),
        view=lambda facts: facts.view_of(OUTLINE),
        says=_outline_says,
        asks=_outline_asks,
        look_for="The side of the part is smooth, without gaps or lumps.",
    ),
    Rule(
        "inner-loops", "Inner loops",
        applies=lambda facts: _is_worth_it(facts, INNER),
        view=lambda facts: facts.view_of(INNER, OUTLINE),
        says=_inner_says,
        asks=_inner_asks,
        look_for="Loops touch each other; no light comes through the wall.",
    ),
    Rule(
        "solid", "Closed areas",
        applies=lambda facts: _is_worth_it(facts, SOLID),
        view=_solid_view,
        says=_solid_says,
        asks=_solid_asks,
        look_for="The top is closed: no slits, and nothing sagging through.",
    ),
    Rule(
        "infill", "Infill",
        applies=lambda facts: _is_worth_it(facts, INFILL) and facts.fill is not None,
        view=lambda facts: StepView(layer=facts.fill[0] - 1 if facts.fill else None, lit_roles=(INFILL,)),
        says=_infill_says,
        asks=_infill_asks,
        look_for="Its lines reach the walls on both sides and hold there.",
    ),
)  # fmt: skip
