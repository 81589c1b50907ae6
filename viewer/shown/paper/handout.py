"""The handout of a lesson: two to four pages of paper made of one program, for those who learn with it.

Plain tables and pictures, as the job sheet: a browser prints it, and simple rich-text engines do as well.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from html import escape
from typing import Final

import numpy as np

from viewer.layers.layers import ROLE_NAMES
from viewer.lesson.facts import middle_x_mm
from viewer.lesson.lesson import lesson_of
from viewer.lesson.sentence import as_sentence, line_said
from viewer.lesson.step import Lesson, Question, Step
from viewer.lesson.words import word, word_of_role
from viewer.numerals import count_text, counted_text, number_text
from viewer.part.view import Cut
from viewer.program import Program
from viewer.read.explain import explain_line
from viewer.read.modes import modes_at
from viewer.shown.html import cell, heading, row, side_by_side, table
from viewer.shown.numbers import distance_text, size_text
from viewer.shown.paper.handout_pictures import box_of_layers, layer_image, part_image
from viewer.shown.paper.image_tag import image_tag
from viewer.shown.paper.job_sheet import HAZARDS
from viewer.shown.pictures.colours import role_rgba
from viewer.shown.pictures.part_picture import part_of_program
from viewer.shown.rows import program_rows

PART_PX: Final = (328, 260)
LAYER_PX: Final = (216, 186)
BAR_PX: Final = 200
"""Width of the longest bar of the time ledger. All sizes in pixels of 1/96 inch."""
BAR_INK: Final = (70, 92, 110)
FINER: Final = 2
"""Pixels of a picture for each of these: nearly 200 an inch."""
LETTERS: Final = "ABCD"
NEW_PAGE: Final = ' style="page-break-before: always"'
STYLE: Final = """
@page { size: A4; margin: 15mm; }
body { font-family: "Liberation Sans", Arial, sans-serif; font-size: 9.5pt; color: #000000; max-width: 180mm; }
h1 { font-size: 16pt; margin-top: 0px; margin-bottom: 2px; }
h2 { font-size: 12pt; margin-top: 10px; margin-bottom: 3px; page-break-after: avoid; }
h3 { font-size: 9.5pt; margin-top: 2px; margin-bottom: 2px; }
p { margin-top: 2px; margin-bottom: 2px; }
tr { page-break-inside: avoid; }
th { font-weight: normal; color: #333333; }
code { font-family: "Liberation Mono", monospace; }
"""
"""Sizes in points and pixels: simple rich-text engines know no other."""


def handout(program: Program, lesson: Lesson | None = None, answers: bool = False, finer: int = FINER) -> str:
    """Return the handout of a lesson as one HTML page without anything outside of it: no script, no link.

    Parameters
    ----------
    lesson
        Of this program; None: it is made here.
    answers
        Whether a page with the answers stands behind the questions.
    finer
        Pixels of the pictures for each pixel of 1/96 inch on paper.

    Raises
    ------
    ReadError
        When the file of the program is gone or another one.
    """
    lesson = lesson_of(program) if lesson is None else lesson
    name = escape(lesson.program)
    body = [f"<h1>What this program prints: {name}</h1>", f"<p>{escape(_in_short(program))}</p>"]
    if lesson.steps:
        asked = [step for step in lesson.steps if step.question is not None and step.slug != "line"]
        body += _whole(program, finer)
        body += _layers(program, lesson, finer)
        body += [*_line(program, lesson), *_time(program), *_words(lesson)]
        told = any(step.question is not None and step.slug == "line" for step in lesson.steps)
        body += [*_questions(asked), *([_LINE_TOLD] if told else []), *_cautions(lesson)]
        body += _answers(asked) if answers else ()
    else:
        body.append("<p>There is no layer in it, and so there is nothing to teach with it.</p>")
    head = f'<meta charset="utf-8"><title>Handout: {name}</title><style>{STYLE}</style>'
    return (
        f'<!DOCTYPE html>\n<html lang="en"><head>{head}</head>\n<body>\n'
        + "\n".join(body)
        + "\n</body></html>\n"
    )


def _in_short(program: Program) -> str:
    figures = program.figures
    parts = [
        counted_text(program.tally.lines, "line"), counted_text(figures.layers.count, "layer"),
        f"{number_text(figures.filament.mass_g)} g of {program.filament.name}", f"computed for {program.printer.name}",
        f"nozzle {program.printer.nozzle_mm:g} mm",
    ]  # fmt: skip
    return ", ".join(parts) + "."


def _whole(program: Program, finer: int) -> Iterator[str]:
    """Yield the whole part and a cut through it, side by side."""
    at, part = middle_x_mm(program), part_of_program(program)
    size = "" if (extent := program.figures.extent) is None else (
        f", {number_text(extent.x[1] - extent.x[0])} by {number_text(extent.y[1] - extent.y[0])} mm wide and deep"
    )  # fmt: skip
    whole = f"The whole print, seen from the front and above{size}. Each colour is a role; the list below names them."
    inside = f"The same print cut open at X {number_text(at)} mm, so that its inside is seen."
    yield "<h2>The whole print, and what is inside</h2>"
    yield table(
        [
            row(
                cell(part_image(program, part, None, whole, PART_PX, finer)),
                cell(part_image(program, part, Cut("x", at), inside, PART_PX, finer)),
            ),
            row(
                cell("<p>Seen from the front and above.</p>"),
                cell(f"<p>Cut open at X {number_text(at)} mm.</p>"),
            ),
        ],
        width="100%",
    )


def _layers(program: Program, lesson: Lesson, finer: int) -> Iterator[str]:
    """Yield three layers and one legend for all of them."""
    numbers = _three(program, lesson)
    yield "<h2>Three of its layers, seen from above</h2>"
    box = box_of_layers(program, numbers)
    pictures = [
        layer_image(program, number, box, _said_of(program, number), LAYER_PX, finer) for number in numbers
    ]
    titles = [
        f"<h3>Layer {number}</h3><p>top at {size_text(float(program.layers.height_mm[number - 1]))} mm</p>"
        for number in numbers
    ]
    yield table([row(*map(cell, titles)), row(*map(cell, pictures))], width="100%", padding=1)
    yield "<h3>What the colours mean</h3>"
    yield table(_legend(program, numbers), width="100%", padding=1)


def _three(program: Program, lesson: Lesson) -> list[int]:
    """Return layer 1, the layer that shows the inside, and one more that a step looks at, or the last; rising."""
    of_step = {step.slug: step.view.layer + 1 for step in lesson.steps if step.view.layer is not None}
    wanted = [
        1,
        *(of_step[slug] for slug in ("infill", "support", "bridge", "overhang", "solid") if slug in of_step),
    ]
    count = program.figures.layers.count
    return sorted(list(dict.fromkeys([*wanted, count, (count + 1) // 2]))[:3])


def _said_of(program: Program, number: int) -> str:
    laid = ", ".join(f"{role} {distance_text(mm)}" for role, mm in _paths(program, [number]).items())
    return f"Layer {number} from above, the front edge at the bottom. Length of its beads by role: {laid}."


def _paths(program: Program, numbers: list[int]) -> dict[str, float]:
    """Return the path of the beads of some layers by role; roles without any are left out."""
    paths = program.totals.layers.role_mm[numbers].sum(axis=0)
    return {name: float(mm) for name, mm in zip(ROLE_NAMES, paths, strict=True) if mm > 0.0}


def _legend(program: Program, numbers: list[int]) -> Iterator[str]:
    """Yield a row for each role: its colour, its name, how much of it each layer has, what it is."""
    colours = role_rgba(False)
    yield row(*(heading(text) for text in ("", "", *(f"layer {number}" for number in numbers), "")))
    for name in _paths(program, numbers):
        role = ROLE_NAMES.index(name)
        ink = "#{:02x}{:02x}{:02x}".format(*colours[role, :3].tolist())
        lengths = [float(program.totals.layers.role_mm[number, role]) for number in numbers]
        yield row(
            cell(f'<span style="color:{ink}">&#9632;</span>', width="3%"),
            cell(f"<b>{escape(name)}</b>", width="13%"),
            *(cell(distance_text(mm) if mm else "none", width="10%") for mm in lengths),
            cell(escape(word_of_role(role).what)),
        )


def _line(program: Program, lesson: Lesson) -> Iterator[str]:
    """Yield one line of the program word by word; nothing where no step shows one."""
    move = next((step.view.bead for step in lesson.steps if step.slug == "line"), None)
    if move is None:
        return
    number = int(program.moves.line[move])
    text = program.texts.line(number)
    yield f"<h2{NEW_PAGE}>One line of the program, word by word</h2>"
    yield f"<p><code><b>{escape(text.strip())}</b></code></p>"
    said = as_sentence(f"line {count_text(number)}", line_said(program, number))
    yield f"<p>{escape(said)}</p>"
    yield table(
        (
            row(cell(f"<code>{escape(found.word)}</code>", width="16%"), cell(escape(found.meaning)))
            for found in explain_line(text, modes_at(program, number))
        ),
        width="100%",
        padding=1,
    )


def _time(program: Program) -> Iterator[str]:
    """Yield the time ledger with a bar for each cause; causes without time are left out."""
    rows = [shown for shown in program_rows(program) if shown.group == "Time ledger" and shown.value]
    longest = max((float(shown.value) for shown in rows if isinstance(shown.value, float)), default=0.0)
    yield "<h2>Where the time goes</h2>"
    yield table(
        (
            row(
                cell(escape(shown.name), width="34%"),
                cell(escape(shown.text), width="24%"),
                cell(_bar(float(shown.value) / longest), width="42%"),
            )
            for shown in rows
            if isinstance(shown.value, float)
        ),
        width="100%",
        padding=1,
    )


def _bar(share: float) -> str:
    """Return a bar; its text stands beside it, so that it has none of its own."""
    width = max(1, round(BAR_PX * share))
    return (
        image_tag(np.full((1, 1, 3), BAR_INK, np.uint8), "", width, 8) + "&nbsp;"
    )  # a line of text sets its height


def _words(lesson: Lesson) -> Iterator[str]:
    """Yield the words of the trade that occur, in two columns."""
    keys = {key for step in lesson.steps for key in step.words}
    known = sorted(keys, key=lambda key: word(key).term)
    texts = [f"<p><b>{escape(word(key).term)}</b>: {escape(word(key).what)}</p>" for key in known]
    half = (len(texts) + 1) // 2
    yield "<h2>Words of the trade in this lesson</h2>"
    yield side_by_side("\n".join(texts[:half]), "\n".join(texts[half:]), left_width="50%", gap_px=16)


_LINE_TOLD: Final = (
    "<p>The question about one line, which the window asks too, is answered on the pages before.</p>"
)


def _questions(asked: Iterable[Step]) -> Iterator[str]:
    yield f"<h2{NEW_PAGE}>Guess first, then look it up</h2>"
    for number, step in enumerate(asked, 1):
        question = _of(step)
        choices = " &nbsp; ".join(
            f"[&nbsp;&nbsp;] {letter}&nbsp;{escape(choice)}"
            for letter, choice in zip(LETTERS, question.choices, strict=False)
        )
        yield f"<p><b>{number}.</b> {escape(question.text)}<br>{choices}</p>"


def _answers(asked: Iterable[Step]) -> Iterator[str]:
    yield f"<h2{NEW_PAGE}>Answers</h2>"
    for number, step in enumerate(asked, 1):
        question = _of(step)
        right, reason = question.choices[question.right], question.reason
        told = reason if reason.casefold().startswith(right.casefold()) else f"{right}. {reason}"
        yield f"<p><b>{number}.</b> {escape(step.title)}: <b>{LETTERS[question.right]}</b> {escape(told)}</p>"


def _of(step: Step) -> Question:
    assert step.question is not None
    return step.question


def _cautions(lesson: Lesson) -> Iterator[str]:
    said = dict.fromkeys(step.caution for step in lesson.steps if step.caution)
    yield "<h2>Before you stand beside a machine</h2>"
    yield f"<p>{escape(HAZARDS)} This handout says what was computed, and no more.</p>"
    yield f"<p>{escape(' '.join(said))}</p>"
