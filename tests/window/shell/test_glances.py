"""The start page shows programs opened lately: picture, worst answer, time; read from small files."""

import json
from pathlib import Path

import numpy as np
import pytest
from PySide6.QtGui import QImage

from tests.window.conftest import SAMPLES, wait_until_settled
from viewer.numerals import capital
from viewer.printlog.estimate import Estimate
from viewer.printlog.past import Past
from viewer.shown.finding_text import NOTHING_FOUND
from viewer.shown.pictures import part_picture
from viewer.shown.window.shell.recent.entry import GlanceEntry
from viewer.shown.window.shell.recent.glance import PICTURE_PX, Glance, Glances
from viewer.shown.window.shell.recent.glance_maker import _pictures, glance_of
from viewer.shown.window.verdict.answer_texts import answers_of
from viewer.verdict import Question, verdict_of

GLANCE = Glance(
    answer="look", words="Look: Long bridge", amounts="5 min · 0.20 EUR", modified_ns=5, size_bytes=7
)


def test_what_is_written_is_read_and_the_rest_is_forgotten(tmp_path: Path) -> None:
    glances = Glances(tmp_path / "recent")
    lid, tray = Path("/bench/lid.gcode"), Path("/bench/tray.gcode")
    assert glances.read(lid) is None
    glances.write(lid, GLANCE, (b"light", b"dark"))
    glances.write(tray, GLANCE, None)
    assert glances.read(lid) == GLANCE and glances.picture(lid, dark=True).read_bytes() == b"dark"
    assert glances.has_pictures(lid) and not glances.has_pictures(tray)
    glances.forget_others([tray])
    assert glances.read(lid) is None and not glances.has_pictures(lid)
    assert glances.read(tray) == GLANCE


@pytest.mark.parametrize(
    "text", ["", "[]", "{}", '{"answer": "splendid"}', json.dumps({"answer": "yes", "words": "x"}), "\x00"]
)
def test_files_of_another_version_or_damaged_ones_are_as_if_not_there(tmp_path: Path, text: str) -> None:
    glances, program = Glances(tmp_path), Path("/bench/lid.gcode")
    glances.write(program, GLANCE, None)
    (file,) = tmp_path.glob("*.json")
    file.write_text(text)
    assert glances.read(program) is None


def test_the_start_page_shows_what_the_checks_said(window, qtbot, tmp_path):
    faulty, good = (
        SAMPLES / "faulty" / "long-bridge.gcode",
        SAMPLES / "faulty" / "long-bridge.near_miss.gcode",
    )
    seen = {}
    for path in (faulty, good):
        window.open_path(path)
        wait_until_settled(window, qtbot)
        window.glance_maker.make()  # else some seconds later
        qtbot.waitUntil(lambda: not window.glance_maker.task.busy)
        seen[path] = verdict_of(window.state.program, window.state.report)
        assert glance_of(window.state.program, window.state.report, None).answer == seen[path].worst
    window.commands.handlers()["start-page"]()
    wait_until_settled(window, qtbot)
    shown = {one.name: one for one in window.start.findChildren(GlanceEntry) if one.isVisible()}
    assert set(shown) == {faulty.name, good.name}
    look, fine = shown[faulty.name], shown[good.name]
    assert look.glance.answer == "look" and "30.1 mm" in look.accessibleDescription()
    assert (
        fine.glance.words == capital(NOTHING_FOUND) and seen[good].answers[5].headline in fine.glance.amounts
    )
    pictures = [QImage(str(file)) for file in (*look._files, *fine._files)]
    assert all(image.size().toTuple() == PICTURE_PX for image in pictures)
    light = np.frombuffer(pictures[0].convertToFormat(QImage.Format.Format_RGB888).constBits(), np.uint8)
    assert len(np.unique(light)) > 20 and pictures[0] != pictures[1] and pictures[0] != pictures[2]
    for theme in ("light", "dark"):
        window.theme.choose(theme)
        look.grab()
        assert not look.picture(theme == "dark").isNull()

    # the same file under another card: another answer, the same picture
    drawn = look._files[0].stat().st_mtime_ns
    window.open_path(faulty)
    wait_until_settled(window, qtbot)
    window._chosen_cards.take("filament", "petg")
    wait_until_settled(window, qtbot)
    window.glance_maker.make()
    qtbot.waitUntil(lambda: not window.glance_maker.task.busy)
    kept = Glances(window.memory.glances_folder)
    assert "PETG" in kept.read(faulty).amounts and look._files[0].stat().st_mtime_ns == drawn

    # what the print log says comes later, and is in the glance as in the window's answer
    window.glance_maker.rest.stop()
    window.state.show_past(Past(Estimate(5_700.0, 5_352.0, 6_050.0, 12, 0, "Heron")))
    assert window.glance_maker.rest.isActive()
    window.glance_maker.make()
    qtbot.waitUntil(lambda: not window.glance_maker.task.busy)
    answer = next(one for one in answers_of(window.state) if one.question is Question.TIME)
    assert answer.headline.startswith("Likely") and kept.read(faulty).amounts.startswith(answer.headline)


def test_both_pictures_are_drawn_from_the_same_bodies(hook, monkeypatch):
    made = []
    bodies = part_picture.part_of
    monkeypatch.setattr(part_picture, "part_of", lambda *of: made.append(of) or bodies(*of))
    light, dark = _pictures(hook)
    assert light != dark and len(made) == 1


def test_lists_stand_below_each_other_where_it_is_narrow(window, qtbot):
    start = window.start
    assert start._beside
    window.resize(760, 520)
    wait_until_settled(window, qtbot)
    assert not start._beside
    (recent, _), (samples, _) = start._halves
    assert recent.x() == samples.x() and recent.y() < samples.y()
