"""Where a class stands in a lesson, what was guessed, and what each page says; without a window."""

from __future__ import annotations

from viewer.lesson.step import Lesson, Question, Step, StepView
from viewer.lesson.words import WORDS, word
from viewer.shown.window.lesson.course import Course
from viewer.shown.window.lesson.page_text import page_text, word_text
from viewer.shown.window.lesson.words_page import words_page

ASKED = Question("How many layers are there?", ("10", "20"), 1, "20 layers of 0.2 mm make 4 mm.")


def step(slug: str, question: Question | None = None) -> Step:
    return Step(
        slug,
        f"About {slug}",
        (f"This is {slug}.", "It is needed."),
        ("layer",),
        StepView(),
        question,
        "Look.",
        "Hot.",
    )


def made(*steps: Step) -> Course:
    return Course(Lesson("tray.gcode", steps))


def test_a_question_comes_before_the_sentences_of_its_step() -> None:
    course = made(step("layers", ASKED), step("end"))
    assert [page for page, _ in course.pages] == ["cover", "guess", "told", "told", "end"]
    said = []
    while True:
        text = page_text(course)
        said.append((course.number, text.large, text.following))
        if not course.go(1):
            break
    assert said == [
        (0, "A lesson about tray.gcode: 2 steps, 1 question to guess.", "Begin"),
        (1, ASKED.text, "Skip the guess"),
        (1, "This is layers. It is needed.", "Next: about end"),
        (2, "This is end. It is needed.", "To the end"),
        (2, "That was the lesson about tray.gcode.", "Begin again"),
    ]
    course.go(-2)
    text = page_text(course)
    assert (text.caption, text.look_for, text.caution) == ("step 1 of 2 · About layers", "Look.", "Hot.")
    assert course.go(-99)
    assert course.page == "cover"


def test_the_first_guess_counts_and_the_answer_has_its_reason() -> None:
    course = made(step("layers", ASKED), step("more", ASKED), step("end"))
    course.take(0)
    assert course.guesses == {}, "nothing is asked on the cover"
    course.go(1)
    assert page_text(course).right is None, "the answer is not told before a guess"
    course.take(0)
    course.take(1)
    text = page_text(course)
    assert (text.guess, text.right, text.score) == (0, 1, "0 of 1 right")
    assert text.large == f"No. {ASKED.reason}"
    course.go(2)
    course.take(1)
    assert page_text(course).large == f"Right. {ASKED.reason}"
    course.go(99)
    assert page_text(course).large.endswith("You guessed 2 of 2 questions, 1 of them right.")


def test_a_program_that_is_read_again_leaves_the_class_where_it_was() -> None:
    course = made(step("layers", ASKED), step("more", ASKED), step("end"))
    course.go(1)
    course.take(1)
    course.go(2)
    course.take(1)
    other = ASKED._replace(reason="Another reason.")
    again = course.taken_up(Lesson("tray.gcode", (step("new"), step("layers", other), step("more", ASKED))))
    assert again.step is not None
    assert (again.step.slug, again.page, again.guesses) == ("more", "guess", {"more": 1})
    assert course.taken_up(Lesson("tray.gcode", (step("new"),))).page == "cover"


def test_a_word_is_told_beside_the_page_and_all_stand_on_one_page() -> None:
    course = made(step("layers"), step("end"))
    course.go(1)
    page = page_text(course)
    told = word_text(word("layer"), "Here 45 of them.", page)
    assert told.large.startswith("Layer: ")
    assert word("layer").without in told.more
    assert told.more.endswith("Here 45 of them.")
    assert told.following == page.following
    written = words_page()
    assert all(f">{one.term[:1].upper()}{one.term[1:]}</h3>" in written for one in WORDS)
