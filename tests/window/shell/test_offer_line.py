"""The file says what it was made for: one button takes the card, and what is put away stays away."""

from datetime import datetime

from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QPushButton

from tests.checks.on_paper import whole
from tests.window.conftest import press, wait_until_settled


def buttons(window) -> dict[str, QPushButton]:
    return {one.text(): one for one in window.made_for.findChildren(QPushButton) if one.isVisible()}


def test_one_button_takes_the_card_that_the_file_asks_for(window, qtbot, tmp_path):
    petg, plain = tmp_path / "petg.gcode", tmp_path / "plain.gcode"
    petg.write_text("; filament_type = PETG\n" + whole(3))
    plain.write_text(whole(3))
    window.open_path(petg)
    wait_until_settled(window, qtbot)
    assert window.made_for.sentence == "The file says PETG; the card is PLA."
    window.state.leave_on_spool(200.0)  # said of the PLA
    wait_until_settled(window, qtbot)
    QTest.mouseClick(buttons(window)["Use PETG"], Qt.MouseButton.LeftButton)
    wait_until_settled(window, qtbot)
    assert window.state.program.filament.name == window.tool_bar.filament.currentText() == "PETG"
    assert window.memory.card("filament") == "petg" and window.state.spool_left_g is None
    assert window.made_for.isHidden()

    window.choose_cards(None, "pla", None)
    window.opening.use_cards()
    wait_until_settled(window, qtbot)
    assert window.made_for.isVisible()
    press(window, "F9", qtbot)
    assert window.focusWidget() is buttons(window)["Use PETG"]
    window.made_for.clear_all()
    window.state.begin_at(datetime(2024, 5, 6, 14, 30))
    wait_until_settled(window, qtbot)
    assert window.made_for.isHidden()  # put away, and nothing else is to be said
    window.open_path(plain)
    wait_until_settled(window, qtbot)
    assert window.made_for.isHidden()
    window.open_path(petg)
    wait_until_settled(window, qtbot)
    assert window.made_for.isVisible()
    window.commands.handlers()["start-page"]()
    assert window.made_for.isHidden()
