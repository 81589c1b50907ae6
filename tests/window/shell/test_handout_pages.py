"""The handout from the window: made beside it, saved as PDF or HTML; two to four pages, the answers on one more."""

from __future__ import annotations

import re
import threading
from pathlib import Path

import pytest
from PySide6.QtWidgets import QFileDialog

from tests.lesson.samples import lesson
from tests.lesson.samples import opened as sample
from tests.window.conftest import SAMPLES, wait_until_settled
from viewer.jit import compiler_is_off
from viewer.shown.paper import handout as paper
from viewer.shown.window.shell.printed.handout import Handouts, save_handout

pytestmark = pytest.mark.skipif(compiler_is_off(), reason="pictures of the whole part: needs the compiler")


def pages(path: Path) -> int:
    (count,) = re.findall(rb"/Count (\d+)", path.read_bytes())
    return int(count)


def test_a_handout_is_saved_with_its_answers_on_a_page_of_their_own(window, qtbot, tmp_path, monkeypatch):
    window.open_path(SAMPLES / "radiator_dial_two_tools.gcode")
    wait_until_settled(window, qtbot)
    path = tmp_path / "answers.pdf"
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_: (str(path), ""))
    made = []
    monkeypatch.setattr(Handouts, "_made", lambda self, html: (made.append(html), self._use(html)))
    window.actions_by_id["save-answers"].trigger()
    assert window.busy, "it is made beside the window"
    wait_until_settled(window, qtbot)
    assert window.statusBar().currentMessage() == f"Saved as {path}."
    assert 3 <= pages(path) <= 5
    (html,) = made
    assert "radiator_dial_two_tools.gcode" in html
    save_handout(html, tmp_path / "answers.html", "radiator_dial_two_tools.gcode")
    assert (tmp_path / "answers.html").read_text(encoding="utf-8") == html


def test_a_handout_is_of_the_program_it_was_asked_of_whatever_is_on_show_then(
    opened, qtbot, tmp_path, monkeypatch
):
    path, go_on = tmp_path / "handout.html", threading.Event()
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_: (str(path), ""))

    def slowly(program, _lesson, _answers) -> str:
        assert go_on.wait(60)
        return program.path.name

    monkeypatch.setattr(paper, "handout", slowly)
    opened.actions_by_id["save-handout"].trigger()
    opened.state.show_program(None)
    go_on.set()
    wait_until_settled(opened, qtbot)
    assert path.read_text(encoding="utf-8") == "tap_washer_tray.gcode"


@pytest.mark.usefixtures("qapp")
@pytest.mark.parametrize(("answers", "count"), [(False, 3), (True, 4)])
def test_three_pages_of_a4_and_one_for_the_answers(answers: bool, count: int, tmp_path: Path) -> None:
    name = "coat_hook_pause.gcode"
    path = tmp_path / "handout.pdf"
    save_handout(paper.handout(sample(name), lesson(name), answers, finer=1), path, name)
    assert pages(path) == count
