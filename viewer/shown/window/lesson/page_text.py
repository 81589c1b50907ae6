"""What a page of the lesson says, from where the course stands; no Qt."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from viewer.lesson.step import Question, Step
from viewer.lesson.words import Word
from viewer.numerals import capital, counted_text
from viewer.shown.window.lesson.course import Course

WAITS: Final = "A lesson needs all of a program: it begins when everything is read."
LONGEST_NAME: Final = 36
"""Letters of a file's name in a heading; a name has no spaces to be broken at."""
MAKING: Final = "The lesson of this program is being made …"


@dataclass(frozen=True, slots=True)
class PageText:
    """One page in words."""

    caption: str
    """Where the class stands, and the step's title."""
    large: str
    """What is read aloud."""
    look_for: str = ""
    """At the machine."""
    more: str = ""
    """What is read by whoever wants to."""
    caution: str = ""
    words: tuple[str, ...] = ()
    """Keys of the words of the trade that first occur here."""
    score: str = ""
    choices: tuple[str, ...] = ()
    guess: int | None = None
    """Which choice was taken."""
    right: int | None = None
    """Which choice is right; None until one was taken."""
    following: str = "Next"
    """What the button says that turns the page."""


def page_text(course: Course) -> PageText:
    """Return what the page on show says."""
    if course.page == "cover":
        return _cover(course)
    step = course.step
    if step is None:
        return PageText("end of the lesson", _farewell(course), following="Begin again")
    caption, score = f"step {course.number} of {len(course.lesson.steps)} · {step.title}", score_text(course)
    if course.question is not None:
        return _question(course, course.question, caption, score)
    return PageText(
        caption, " ".join(step.sentences), step.look_for, caution=step.caution, words=step.words, score=score,
        following=_to(course.follows),
    )  # fmt: skip


def word_text(word: Word, here: str, beside: PageText) -> PageText:
    """Return what a word of the trade means, and what it amounts to here, beside the page that its reader comes from."""
    said = f"{capital(word.term)}: {_small(word.what)}"
    return PageText(
        "a word of the trade",
        said,
        more=f"{word.why} {word.without} {here}".strip(),
        following=beside.following,
    )


def score_text(course: Course) -> str:
    """Return how many guesses were right; "" before the first."""
    taken = len(course.guesses)
    return f"{course.right} of {taken} right" if taken else ""


def _cover(course: Course) -> PageText:
    steps, asked = course.lesson.steps, sum(step.question is not None for step in course.lesson.steps)
    if not steps:
        return PageText("lesson", "This program gives no lesson: it lays no bead.", following="Next")
    counts = f"{counted_text(len(steps), 'step')}, {counted_text(asked, 'question')} to guess"
    large = f"A lesson about {_short(course.lesson.program)}: {counts}."
    return PageText("lesson", large, more="Arrow keys or a clicker (Page Up, Page Down) turn the pages.",
                    following="Begin")  # fmt: skip


def _question(course: Course, asked: Question, caption: str, score: str) -> PageText:
    guess = course.guess
    if guess is None:
        return PageText(f"{caption} · guess first", asked.text, score=score, choices=asked.choices,
                        following="Skip the guess")  # fmt: skip
    answer = asked.choices[asked.right]
    judged = "Right." if guess == asked.right else "No." if answer in asked.reason else f"No: {answer}."
    return PageText(
        f"{caption} · guess first", f"{judged} {asked.reason}", score=score, choices=asked.choices,
        guess=guess, right=asked.right, following="Next",
    )  # fmt: skip


def _farewell(course: Course) -> str:
    asked = sum(step.question is not None for step in course.lesson.steps)
    taken = len(course.guesses)
    count = (
        f" You guessed {taken} of {counted_text(asked, 'question')}, {course.right} of them right."
        if taken
        else ""
    )
    return f"That was the lesson about {_short(course.lesson.program)}.{count}"


def _short(name: str) -> str:
    """Return a file's name that a heading has room for, shortened in its middle: beginning and ending tell most."""
    if len(name) <= LONGEST_NAME:
        return name
    ending = (LONGEST_NAME - 1) // 2
    return f"{name[: LONGEST_NAME - 1 - ending]}…{name[-ending:]}"


def _to(step: Step | None) -> str:
    return f"Next: {_small(step.title)}" if step is not None else "To the end"


def _small(text: str) -> str:
    """Return a title within a line: its first letter small, unless it begins with an abbreviation."""
    return text if text[1:2].isupper() else text[:1].lower() + text[1:]
