"""What a lesson is, as data: steps, each with a view, sentences, a question, what to look for at the machine."""

from __future__ import annotations

from typing import NamedTuple


class StepView(NamedTuple):
    """What a step shows; what is None stays as it is."""

    layer: int | None = None  # counted from 0
    bead: int | None = None  # the row of `Moves` that is selected
    box_mm: tuple[float, float, float, float] | None = (
        None  # x low, y low, x high, y high: what the picture shows
    )
    lit_roles: tuple[int, ...] = ()  # roles that stay bright, all others are dimmed; empty: all are bright
    whole_part: bool = False  # the whole part stands in the large picture instead of the layer
    cut: str | None = None  # a cut through the whole part as `beadline picture --cut` has it, as in "x=40"


class Question(NamedTuple):
    """A question with choices drawn from the program, and its computed answer."""

    text: str
    choices: tuple[str, ...]  # two to four
    right: int  # which of the choices
    reason: str  # one sentence with the figures that decide it


class Step(NamedTuple):
    """One step of a lesson."""

    slug: str  # names the step, as in "first-layer"
    title: str
    sentences: tuple[str, ...]  # one or two, at most 20 words each
    words: tuple[str, ...]  # words of the trade that first occur here: keys of the table of words
    view: StepView
    question: Question | None = None
    look_for: str = ""  # at the machine
    caution: str = ""  # where the step touches heat, moving parts or fumes


class Lesson(NamedTuple):
    """The lesson of one program."""

    program: str  # name of the file
    steps: tuple[Step, ...]
