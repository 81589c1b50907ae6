"""`LessonPane`: the lesson of the program on show, page by page; it sets the view of each step.

::

    program --NewestTask: lesson_of--> Lesson --> Course --page_text--> PageView
                                                     |
                                       StepView -----+--> ViewState, and signals for what is no state
"""

from __future__ import annotations

from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Final

from PySide6.QtCore import QEvent, Signal, Slot
from PySide6.QtGui import QPaintEvent, QResizeEvent, QShowEvent
from PySide6.QtWidgets import QGridLayout, QHBoxLayout, QWidget

from viewer.lesson.step import Lesson, StepView
from viewer.lesson.words import Word, word
from viewer.shown.window.lesson.course import Course
from viewer.shown.window.lesson.page_text import MAKING, WAITS, PageText, page_text, word_text
from viewer.shown.window.lesson.page_view import PageButton, PageView
from viewer.shown.window.lesson.play_box import PlayBox
from viewer.shown.window.model.view_state import ViewState
from viewer.shown.window.style.scale import VALUE, sized_font, space
from viewer.shown.window.threads.newest_task import NewestTask, sentence_of
from viewer.shown.window.widgets.delayed_update import DelayedUpdate
from viewer.shown.window.widgets.painting import painting
from viewer.shown.window.widgets.until_destroyed import end_with, listen_until_destroyed

if TYPE_CHECKING:
    from viewer.program import Program

NEXT_LETTERS: Final = 28
"""Width of the button that turns the page, in letters."""
LEAST_LINES: Final = 9.2
"""Where text is large: height that it keeps whatever stands above it, so that a step with its caution is read whole."""
USUAL_SHARE: Final = 0.2
"""Of the window's height; where so many lines take less, its dock's share is enough."""
LARGEST_SHARE: Final = 0.32
"""Of the window's height: no more is kept."""
LESSON_PACE: Final = 1.0
"""A lesson plays at real pace until somebody chooses another."""
Seen = tuple[int, int | None, frozenset[int]]


class LessonPane(QWidget):
    """Steps, questions and the way through them; nothing of it is computed before the pane is on show.

    Parameters
    ----------
    state
        What is shown; the pane listens to it and sets what a step shows.
    """

    box_wanted = Signal(object)
    """The rectangle that the picture is to show: x low, y low, x high, y high, mm; None: all of the part."""
    part_wanted = Signal(bool, object)
    """Whether the whole part stands in the large picture, and the cut through it (`StepView.cut`)."""
    turned = Signal()
    """Another page is on show, the path was left or found again, or the lesson begins or ends."""

    def __init__(self, state: ViewState, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._state = state
        self.course: Course | None = None
        """None until the lesson is made."""
        self._made_of: Program | None = None
        self._path: Path | None = None
        """The file of which the lesson is, or is being made; another folder may hold one of the same name."""
        self._about: Word | None = None
        """A word that is told beside the path."""
        self._here = ""
        """What it amounts to in the program."""
        self._expected: Seen | None = None
        """What a step has set; None: no step has set anything yet."""
        self._moved = False
        """A hand has moved the picture since."""
        self._pace_before: float | None = None
        """The pace of playing outside the lesson; None: the lesson has not changed it."""
        self._hint = ""
        self._task = NewestTask("lesson", self)
        self._later = DelayedUpdate(self._follow, 0, self)
        self.page = PageView(self)
        self.next, self.back, self.back_to_step = (PageButton(self) for _ in range(3))
        self.play = PlayBox(state, self)
        self._arrange()
        self._listen()
        self._tell()

    def _arrange(self) -> None:
        self.next.setObjectName("next-page")
        self.next.setDefault(True)
        self.back.setText("Back")
        self.back.setToolTip("The page before (Left, Page Up)")
        self.next.setToolTip("The next page (Right, Page Down)")
        self.back_to_step.setText("Back to this step")
        self.back_to_step.setToolTip("Show again what this step is about")
        side = QGridLayout()
        side.setSpacing(space(2))
        side.setContentsMargins(0, space(2), space(3), space(2))
        side.addWidget(self.next, 0, 0, 1, 2)
        side.addWidget(self.back, 1, 0)
        side.addWidget(self.back_to_step, 1, 1)
        side.addWidget(self.play, 2, 0, 1, 2)
        side.setRowStretch(3, 1)
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(space(2))
        row.addWidget(self.page, 1)
        row.addLayout(side)
        self.setFocusProxy(self.next)
        self._size_text()

    def _listen(self) -> None:
        listen = partial(listen_until_destroyed, self, self._state)
        listen(self._later.start, "program", "teaching", "findings", "halted")
        listen(self._look, "layer", "selection", "lit")
        end_with(self, self._task.end)
        self.next.clicked.connect(lambda: self.turn(1))
        self.back.clicked.connect(lambda: self.turn(-1))
        self.back_to_step.clicked.connect(self.return_to_step)
        self.page.taken.connect(self._guess)
        self.page.word_wanted.connect(lambda key: self.explain(word(key)))
        self._task.done.connect(self._take)
        self._task.failed.connect(self._fail)

    # ---- what it offers

    @property
    def busy(self) -> bool:
        """Whether the lesson is being made, or is about to be."""
        return self._task.busy or self._later.isActive()

    def lesson_of(self, program: Program) -> Lesson | None:
        """Return the lesson of a program if it is made; None: it is not."""
        return None if self.course is None or program is not self._made_of else self.course.lesson

    @property
    def running(self) -> bool:
        """Whether a step is on show: keys that turn pages are the lesson's."""
        return self.course is not None and self._state.teaching and self.course.page != "cover"

    @property
    def on_path(self) -> bool:
        """Whether the picture still shows what the step has set."""
        return not self._moved and self._expected in (None, self._seen)

    def turn(self, pages: int) -> None:
        """Turn some pages forward or back; after the end a lesson begins again."""
        if self.course is None or not self.course.lesson.steps:
            return
        if self._about is not None and pages < 0:
            self.return_to_step()
            return
        if self.course.page == "cover" and self._pace_before is None:
            self._pace_before = self._state.pace
            self._state.choose_pace(LESSON_PACE)
        if self.course.page == "end" and pages > 0:
            self.course = Course(self.course.lesson)
        elif not self.course.go(pages):
            return
        self.return_to_step()

    def return_to_step(self) -> None:
        """Show what the step on show is about, whatever was looked at meanwhile."""
        self._about = None
        step = None if self.course is None else self.course.step
        self._apply(StepView() if step is None else step.view)
        self._tell()

    def leave(self) -> None:
        """Note that a hand has moved the picture: one button leads back."""
        if self.running and not self._moved:
            self._moved = True
            self._tell()

    def explain(self, word: Word) -> None:
        """Tell a word of the trade beside the path."""
        self._about, self._here = word, ""
        program = self._state.program
        if program is not None and not self._state.partial:
            from viewer.lesson.here import word_here

            self._here = word_here(program, word.key)
        self._tell()

    def show_lesson(self, lesson: Lesson) -> None:
        """Take a lesson that was made; of the same program read again the class stays at its step."""
        self.course = Course(lesson) if self.course is None else self.course.taken_up(lesson)
        self._hint = ""
        self._tell()

    # ---- the lesson

    def _follow(self) -> None:
        """Make the lesson of a program that is whole, when it is to be seen; let the picture go when teaching ends."""
        state, program = self._state, self._state.program
        if not state.teaching:
            self._let_go()
        if program is None or state.partial:
            self._task.cancel()
            self._made_of = None
            self._forget_other(program)
            self._hint = WAITS if program is not None else ""
        elif self.isVisible() and program is not self._made_of:
            self._make(program)
        self._tell()

    def _make(self, program: Program) -> None:
        """Make the lesson in the background, from the shape that the checks have measured, as soon as they have."""
        from viewer.lesson.lesson import lesson_of

        self._hint = MAKING
        self._forget_other(program)
        self._path = program.path
        report = self._state.report
        if report is not None or self._state.halted:
            self._made_of = program
            self._task.start(lambda _run: lesson_of(program, None if report is None else report.shape))

    def _forget_other(self, program: Program | None) -> None:
        """Forget the lesson of another program than the one on show."""
        if self.course is not None and (program is None or program.path != self._path):
            self.course = self._about = None
            self._let_go()
            self._moved = False

    def _let_go(self) -> None:
        """Undo what only a lesson shows: dimmed beads, the whole part in the large picture, the lesson's pace."""
        if self._expected is not None:
            self._expected = None
            self._state.light_roles(frozenset())
            self.part_wanted.emit(False, None)
            self._moved = True  # one button leads back when the lesson goes on
        if self._pace_before is not None:
            self._state.choose_pace(self._pace_before)
            self._pace_before = None

    @Slot(object)
    def _take(self, lesson: Lesson) -> None:
        self.show_lesson(lesson)

    @Slot(object)
    def _fail(self, problem: BaseException) -> None:
        self.course, self._hint = None, sentence_of(problem)
        self._tell()

    @Slot(int)
    def _guess(self, choice: int) -> None:
        """Take a guess, and let the keys go on with the pages."""
        if self.course is not None:
            self.course.take(choice)
            self.next.setFocus()
            self._tell()

    # ---- the view of a step

    def _apply(self, view: StepView) -> None:
        """Show what a step is about."""
        state = self._state
        with state.together():
            state.play(0.0)
            state.show_evidence(())
            if view.layer is not None:
                state.show_layer(view.layer + 1)
            state.show_moment(None)
            state.select(view.bead)
            for role in view.lit_roles:
                state.show_role(role, True)
            state.light_roles(frozenset(view.lit_roles))
        self.part_wanted.emit(view.whole_part, view.cut)
        self.box_wanted.emit(view.box_mm)
        self._expected, self._moved = self._seen, False

    @property
    def _seen(self) -> Seen:
        return self._state.layer, self._state.selected, self._state.lit_roles

    def _look(self) -> None:
        """Offer the way back where the picture shows something else than the step has set."""
        if self._expected is not None:
            self._tell()

    # ---- what is shown

    def _tell(self) -> None:
        text = self._text()
        away = self.running and not self.on_path
        self.page.show_text(text)
        self._tell_next(text.following)
        self.next.setEnabled(self.course is not None and bool(self.course.lesson.steps))
        self.back.setEnabled(self.course is not None and self.course.at > 0)
        self.back_to_step.setVisible(away or self._about is not None)
        self.turned.emit()

    def _tell_next(self, following: str) -> None:
        """Write on the button what comes next, as far as it has room."""
        room = self.next.width() - space(5)
        fits = self.next.fontMetrics().horizontalAdvance(following) <= room
        self.next.setText((following if fits else following.partition(":")[0]).replace("&", "&&"))
        self.next.setAccessibleName(following)

    def _text(self) -> PageText:
        page = PageText("lesson", self._hint or WAITS) if self.course is None else page_text(self.course)
        return page if self._about is None else word_text(self._about, self._here, page)

    def _size_text(self) -> None:
        self.next.setFont(sized_font(self, VALUE, strong=True))
        least, high = LEAST_LINES * self.fontMetrics().height(), self.window().height()
        self.setMinimumHeight(int(min(least, LARGEST_SHARE * high)) if least > USUAL_SHARE * high else 0)
        wide = NEXT_LETTERS * self.next.fontMetrics().averageCharWidth()
        for widget in (self.next, self.play):
            widget.setFixedWidth(min(wide, max(self.width() // 4, 200)))

    # ---- events

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint the ground; a widget that fills itself would count as covering its dock."""
        with painting(self) as painter:
            painter.fillRect(self.rect(), self.palette().base())

    def showEvent(self, event: QShowEvent) -> None:
        """Make the lesson now that it is to be seen."""
        super().showEvent(event)
        self._later.start()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Leave most of the room to what is read aloud."""
        super().resizeEvent(event)
        self._size_text()
        self._tell()

    def changeEvent(self, event: QEvent) -> None:
        """Follow the size of text."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.FontChange and hasattr(self, "play"):
            self._size_text()
