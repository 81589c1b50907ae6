"""What a word of the trade amounts to in one program: a sentence with the program's figures."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

import numpy as np

from viewer.layers.layers import ROLE_NAMES
from viewer.lesson.facts import Facts
from viewer.lesson.say import spoken_length, spoken_mass, spoken_share, spoken_time
from viewer.lesson.words import word
from viewer.numerals import count_text, counted_text, number_text
from viewer.program import Program


def word_here(program: Program, key: str) -> str:
    """Return what a word amounts to in a program, as one sentence; empty where there is nothing to count.

    Raises
    ------
    KeyError
        There is no such word.
    """
    role = word(key).role
    if role is not None:
        return _of_role(program, role)
    found = COUNTED.get(key)
    return "" if found is None else found(program)


def _of_role(program: Program, role: int) -> str:
    """Say how much there is of a role, and on which layer most of it lies."""
    name, figures = ROLE_NAMES[role], program.figures
    laid = program.totals.path_by_role_mm.get(name, 0.0)
    if laid <= 0.0:
        return "This program has none."
    mass = figures.filament.by_role.get(name, {}).get("g", 0.0)
    said = f"Here {spoken_length(laid)} are laid so, {spoken_mass(mass)} of filament"
    paths = program.totals.layers.role_mm[1:-1, role]
    if not len(paths) or paths.max() <= 0.0:
        return f"{said}, all of it outside of the layers."
    return f"{said}; layer {count_text(int(np.argmax(paths)) + 1)} has most of it."


def _layers(program: Program) -> str:
    return _sentence(counted_text(program.figures.layers.count, "layer"))


def _thickness(program: Program) -> str:
    usual = program.figures.layers.usual_mm
    return "" if usual is None else f"Here most layers are {number_text(usual)} mm thick."


def _first_layer(program: Program) -> str:
    first = program.figures.first_layer
    if first is None or not len(program.layers):
        return ""
    return f"Here it touches the plate with {count_text(round(first.contact_mm2))} mm²."


def _travel(program: Program) -> str:
    figures = program.figures
    return _sentence(
        f"{counted_text(figures.moves['travels'], 'travel')}, {spoken_length(figures.path['travel_mm'])} in all"
    )


def _temperature(program: Program) -> str:
    facts = Facts(program)
    kept = [(name, facts.kept(field)) for name, field in (("nozzle", "nozzle_c"), ("plate", "plate_c"))]
    said = ", ".join(f"{name} {value}" for name, value in kept if value is not None)
    return f"Here while beads are laid: {said}." if said else "This program sets none while beads are laid."


def _fan(program: Program) -> str:
    strongest = Facts(program).strongest_fan
    if strongest <= 0.0:
        return "Here it is off while beads are laid."
    return f"Here it blows at up to {spoken_share(strongest)}."


def _time(program: Program) -> str:
    return f"Here it adds up to {spoken_time(program.figures.time.total_s)}."


def _sentence(said: str) -> str:
    return f"Here: {said}."


COUNTED: Final[dict[str, Callable[[Program], str]]] = {
    "layer": _layers,
    "thickness": _thickness,
    "first layer": _first_layer,
    "travel": _travel,
    "retract": lambda program: _sentence(counted_text(program.figures.moves["retracts"], "retraction")),
    "prime": lambda program: _sentence(counted_text(program.figures.moves["primes"], "prime")),
    "wipe": lambda program: _sentence(counted_text(program.figures.moves["wipes"], "wipe")),
    "temperature": _temperature,
    "fan": _fan,
    "tool": lambda program: _sentence(counted_text(program.figures.time.tool_changes, "tool change")),
    "pause": lambda program: _sentence(counted_text(len(program.figures.time.pauses), "pause")),
    "filament": lambda program: _sentence(
        f"{spoken_mass(program.figures.filament.mass_g)}, {spoken_length(program.figures.filament.drawn_mm)}"
    ),
    "time ledger": _time,
}
"""Words without a role that have a figure of their own."""
