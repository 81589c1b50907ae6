"""`Course`: where a class stands in a lesson, and what was guessed; no Qt."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from viewer.lesson.step import Lesson, Question, Step

Page = Literal["cover", "guess", "told", "end"]
"""Before the first step; the question of a step; its sentences; after the last step."""


@dataclass(slots=True)
class Course:
    """A walk through the pages of a lesson: each step has its question first, then its sentences."""

    lesson: Lesson
    at: int = 0
    """The page on show, counted from 0."""
    guesses: dict[str, int] = field(default_factory=dict)
    """Which choice was taken for the question of each step, by the step's slug; the first guess counts."""
    pages: tuple[tuple[Page, int], ...] = field(init=False)
    """Each page with the step that it belongs to, counted from 0."""

    def __post_init__(self) -> None:
        """Lay out the pages."""
        steps = self.lesson.steps
        pages: list[tuple[Page, int]] = [("cover", 0)]
        for k, step in enumerate(steps):
            pages += [("guess", k)] if step.question is not None else []
            pages.append(("told", k))
        self.pages = (*pages, ("end", max(0, len(steps) - 1)))

    @property
    def page(self) -> Page:
        """What kind of page is on show."""
        return self.pages[self.at][0]

    @property
    def number(self) -> int:
        """Number of the step on show, from 1; 0 on the cover."""
        return 0 if self.page == "cover" else self.pages[self.at][1] + 1

    @property
    def step(self) -> Step | None:
        """The step on show; None on the cover and at the end."""
        page, number = self.pages[self.at]
        return None if page in ("cover", "end") else self.lesson.steps[number]

    @property
    def question(self) -> Question | None:
        """The question on show; None on other pages."""
        return self.step.question if self.page == "guess" and self.step is not None else None

    @property
    def guess(self) -> int | None:
        """The choice that was taken for the question of this step; None: none yet."""
        return None if self.step is None else self.guesses.get(self.step.slug)

    @property
    def follows(self) -> Step | None:
        """The step after the one on show; None where there is none."""
        after = 0 if self.page == "cover" else self.pages[self.at][1] + 1
        return self.lesson.steps[after] if after < len(self.lesson.steps) and self.page != "end" else None

    def go(self, by: int) -> bool:
        """Turn some pages forward or back; tells whether there were any."""
        before = self.at
        self.at = min(max(self.at + by, 0), len(self.pages) - 1)
        return self.at != before

    def take(self, choice: int) -> None:
        """Answer the question on show; a second guess changes nothing."""
        if self.question is not None and self.step is not None:
            self.guesses.setdefault(self.step.slug, choice)

    @property
    def right(self) -> int:
        """How many guesses were right."""
        asked = {step.slug: step.question for step in self.lesson.steps if step.question is not None}
        return sum(asked[slug].right == taken for slug, taken in self.guesses.items())

    def taken_up(self, lesson: Lesson) -> Course:
        """Return the course of the same program read again: at the same step, with the guesses that still hold."""
        made = Course(lesson)
        now = self.step
        if now is not None:
            places = [k for k, (page, n) in enumerate(made.pages)
                      if page == self.page and lesson.steps[n].slug == now.slug]  # fmt: skip
            made.at = places[0] if places else 0
        old = {step.slug: step.question for step in self.lesson.steps}
        kept = {step.slug for step in lesson.steps if step.question and step.question == old.get(step.slug)}
        made.guesses = {slug: taken for slug, taken in self.guesses.items() if slug in kept}
        return made
