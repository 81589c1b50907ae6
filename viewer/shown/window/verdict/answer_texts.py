"""What the tiles of the Answers pane say; no Qt."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

from viewer.checks.questions import Question
from viewer.checks.run import Report
from viewer.program import Program
from viewer.shown.finding_text import readable
from viewer.shown.window.model.view_state import ViewState
from viewer.verdict import Answer, Word, verdict_of

AMOUNTS: Final = (Question.TIME, Question.COST)
"""What is known without the checks."""
BRIEFLY: Final[dict[Question, str]] = {
    Question.WHOLE: "File whole?",
    Question.PRINTER: "Printer?",
    Question.FILAMENT: "Filament?",
    Question.FIRST_LAYER: "First layer?",
    Question.SHAPE: "Shape?",
    Question.TIME: "How long?",
    Question.COST: "Cost?",
}
"""The questions where there is room for no more; the tooltip has all of it."""


MAX_NAME: Final = 16
"""Letters of a card's name in a question."""


@dataclass(frozen=True, slots=True)
class TileText:
    """One question with its answer, as a tile shows it."""

    question: Question
    asked: str
    word: Word | None
    """None: not answered yet."""
    headline: str
    sentence: str
    brief: str
    """What decides, in few words."""

    @property
    def spoken(self) -> str:
        """All of it as one text, for screen readers and the tooltip."""
        return " ".join(
            part for part in (self.asked, f"{self.headline}." if self.headline else "", self.sentence) if part
        )


def answers_of(state: ViewState) -> tuple[Answer, ...]:
    """Return the seven answers; none until the checks have run."""
    if state.program is None or state.partial or state.report is None:
        return ()
    return verdict_of(state.program, state.report, past=state.past).answers


def tile_texts(state: ViewState, answers: tuple[Answer, ...]) -> tuple[TileText, ...]:
    """Return the texts of the seven tiles, in the order of `Question`."""
    return tuple(
        TileText(
            a.question,
            asked(a.question, state),
            a.word,
            a.headline,
            readable(a.sentence),
            readable(a.brief),
        )
        for a in answers
    ) or _early(state)


def asked(question: Question, state: ViewState) -> str:
    """Return a question with the names of the chosen cards, as short as it can be asked."""
    printer = "this printer" if state.program is None else state.program.printer.name
    filament = "this filament" if state.program is None else state.program.filament.name
    printer, filament = _short(printer), _short(filament)
    short: dict[Question, str] = {
        Question.PRINTER: f"Does it suit {printer}?",
        Question.FILAMENT: f"Does {filament} suit it?",
        Question.TIME: "How long, until when to stay?",
    }
    return short.get(question, question.asked)


def _short(name: str) -> str:
    """Return a card's name as far as a tile has room for it."""
    return name if len(name) <= MAX_NAME else f"{name[: MAX_NAME - 1].rstrip()}…"


def _early(state: ViewState) -> tuple[TileText, ...]:
    """Return the tiles while nothing is judged: time and cost are known as soon as all is read."""
    whole = state.program if state.program is not None and not state.partial else None
    known = _amounts(whole, state) if whole is not None else {}
    why = "" if state.program is None else _waits(state)
    return tuple(
        TileText(
            question,
            asked(question, state),
            None,
            known[question].headline if question in known else "…",
            readable(known[question].sentence) if question in known else why,
            readable(known[question].brief) if question in known else why,
        )
        for question in Question
    )


def _amounts(program: Program, state: ViewState) -> dict[Question, Answer]:
    verdict = verdict_of(program, Report((), start=state.start), past=state.past)
    return {question: verdict.of(question) for question in AMOUNTS}


def _waits(state: ViewState) -> str:
    if state.halted:
        return "Reading or checking ended early."
    return "Still being read." if state.partial else "Being checked."


def broken(text: str, room: float, lines: int, width: Callable[[str], float]) -> list[str]:
    """Break a text at blanks into lines that fit; the last one ends in an ellipsis where more does not.

    Parameters
    ----------
    room
        Width of a line.
    width
        Returns how wide a text is.
    """
    words, found = text.split(), [""]
    for k, word in enumerate(words):
        longer = f"{found[-1]} {word}".strip()
        if width(longer) <= room:
            found[-1] = longer
        elif len(found) < lines and found[-1]:
            found.append(word)
        else:
            found[-1] = _cut(" ".join([found[-1], *words[k:]]).strip(), room, width)
            return found
        if width(found[-1]) > room:
            found[-1] = _cut(found[-1], room, width)
    return found


def _cut(text: str, room: float, width: Callable[[str], float]) -> str:
    """Return as much of a text as fits before an ellipsis."""
    least, most = 0, len(text)
    while least < most:
        middle = (least + most + 1) // 2
        if width(f"{text[:middle].rstrip()}…") <= room:
            least = middle
        else:
            most = middle - 1
    return f"{text[:least].rstrip()}…"
