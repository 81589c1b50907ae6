"""The card form as a person uses it: every value is there, wrong ones are said beside them, saving writes a card."""

from pathlib import Path

import msgspec
import pytest
from PySide6.QtCore import QPoint, QPointF, Qt
from PySide6.QtGui import QWheelEvent
from PySide6.QtWidgets import QApplication, QComboBox, QDialog, QLineEdit
from pytestqt.qtbot import QtBot

from tests.window.conftest import show_active, wait_until_active
from viewer.cards import (
    FilamentCard,
    Kind,
    PrinterCard,
    WorkshopCard,
    cards_folder,
    list_cards,
    load_filament,
    load_printer,
    load_workshop,
    new_card,
    read_card,
)
from viewer.cards.kinds import STRUCTS, Card
from viewer.shown.window.card_form.check import assemble, check_card, number_of
from viewer.shown.window.card_form.fields import TableEditor
from viewer.shown.window.card_form.form import CardForm
from viewer.shown.window.card_form.shape import FURTHER, label_and_unit, plain_card, sections_of, value_at

LOADERS = {"printer": load_printer, "filament": load_filament, "workshop": load_workshop}
KINDS: tuple[Kind, ...] = ("printer", "filament", "workshop")


def form_of(qtbot: QtBot, kind: Kind, card: Card | None = None) -> CardForm:
    form = CardForm(kind, card or LOADERS[kind]())
    qtbot.addWidget(form)
    show_active(form, qtbot)
    return form


def type_in(qtbot: QtBot, form: CardForm, path: tuple[str, ...], text: str) -> None:
    field = form.editors[path].widget
    assert isinstance(field, QLineEdit)
    field.selectAll()
    qtbot.keyClick(field, Qt.Key.Key_Delete)
    qtbot.keyClicks(field, text)


def note(form: CardForm, *path: str) -> str:
    return form.notes[path].text()


# ---- the form is the card ---------------------------------------------------------------------------


@pytest.mark.parametrize("kind", KINDS)
def test_every_value_of_the_card_is_in_the_form_once(kind: Kind) -> None:
    paths = [field.path for section in sections_of(kind) for row in section.rows for field in row.fields]
    assert len(paths) == len(set(paths))
    assert {path[0] for path in paths} == set(STRUCTS[kind].__struct_fields__)
    assert FURTHER not in [section.title for section in sections_of(kind)]
    plain = plain_card(LOADERS[kind]())
    leaves = [path for path in _leaves(plain) if value_at(plain, path) is not None]
    assert [path for path in leaves if path not in paths] == []


def _leaves(value: object, path: tuple[str, ...] = ()) -> list[tuple[str, ...]]:
    if isinstance(value, dict) and path[:1] not in (("checks",), ("words",)):
        return [leaf for key, inner in value.items() for leaf in _leaves(inner, (*path, key))]
    return [path]


@pytest.mark.parametrize("kind", KINDS)
def test_every_bundled_card_passes_unchanged(qtbot: QtBot, kind: Kind) -> None:
    for entry in list_cards(kind):
        card = read_card(entry.path, kind)
        form = form_of(qtbot, kind, card)
        assert form.save.isEnabled(), form.problem.text()
        assert form._valid == card


def test_units_and_descriptions_are_shown(qtbot: QtBot) -> None:
    form = form_of(qtbot, "printer")
    assert note(form, "nozzle_mm") == "bore of the nozzle, mm"
    assert form.editors[("nozzle_mm",)].widget.toolTip() == "bore of the nozzle, mm"
    assert form.editors[("max_speed_mm_s", "x")].widget.accessibleName() == "max speed X, mm/s"
    for name, expected in {
        "melt_mm3_s": ("melt", "mm³/s"), "density_g_cm3": ("density", "g/cm³"), "power_w": ("power", "W"),
        "room_c": ("room", "°C"), "plate_cooling_c_s": ("plate cooling", "°C/s"), "name": ("name", ""),
    }.items():  # fmt: skip
        assert label_and_unit(name) == expected


# ---- wrong values -----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("kind", "path", "typed", "said"),
    [
        ("printer", ("nozzle_mm",), "-0.4", "It is -0.4, but must be above 0; correct it."),
        ("printer", ("nozzle_mm",), "", "It is empty; write a value."),
        (
            "printer",
            ("height_mm",),
            "0",
            "must be above 0; correct it, or leave it out where it is not known.",
        ),
        ("printer", ("plate", "width_mm"), "22,5", "“22,5” is no number; write one like 1.5 with a point"),
        ("printer", ("plate", "width_mm"), "", "It is missing, a rectangle needs it"),
        ("printer", ("plate", "diameter_mm"), "200", "is the size of a circle, but plate.shape is"),
        ("printer", ("tools",), "1.5", "It is 1.5, but must be a whole number; write it without a point"),
        ("printer", ("tools",), "65", "must be 64 or less"),
        ("printer", ("max_speed_mm_s", "y"), "fast", "“fast” is no number"),
        ("printer", ("nozzle_mm",), "nan", "“nan” is no number"),
        ("printer", ("name",), "", "It is empty; write a name."),
        ("filament", ("density_g_cm3",), "1240", "denser than any element"),
        ("filament", ("nozzle_c", "low"), "400", "above nozzle_c.high"),
        ("workshop", ("hours", "opens"), "9", "must be a time of day"),
        ("workshop", ("hours", "closes"), "09:00", "the same as hours.opens"),
    ],
)
def test_a_wrong_value_is_said_beside_it_and_not_saved(
    qtbot: QtBot, kind: Kind, path: tuple[str, ...], typed: str, said: str
) -> None:
    form = form_of(qtbot, kind)
    before = note(form, *path)
    type_in(qtbot, form, path, typed)
    assert said in note(form, *path)
    assert not form.save.isEnabled()
    assert "One value cannot be used" in form.problem.text()
    value = value_at(plain_card(form.card), path)
    type_in(qtbot, form, path, "" if value is None else str(value))
    assert note(form, *path) == before
    assert form.save.isEnabled()


def test_several_wrong_values_are_all_said(qtbot: QtBot) -> None:
    form = form_of(qtbot, "printer")
    for path, text in (
        (("nozzle_mm",), "-1"),
        (("filament_diameter_mm",), "x"),
        (("tools",), "0"),
        (("plate", "depth_mm"), "-3"),
    ):
        type_in(qtbot, form, path, text)
    assert "4 values cannot be used" in form.problem.text()
    assert "above 0" in note(form, "nozzle_mm")
    assert "no number" in note(form, "filament_diameter_mm")
    assert "1 or more" in note(form, "tools")
    assert "above 0" in note(form, "plate", "depth_mm")


def test_half_a_window_of_temperatures(qtbot: QtBot) -> None:
    form = form_of(qtbot, "filament")
    type_in(qtbot, form, ("plate_c", "low"), "")
    assert "It is missing" in note(form, "plate_c", "low")
    type_in(qtbot, form, ("plate_c", "high"), "")
    assert form.save.isEnabled()
    assert isinstance(form._valid, FilamentCard)
    assert form._valid.plate_c is None


def test_another_corner_rule_wants_another_value(qtbot: QtBot) -> None:
    form = form_of(qtbot, "printer")
    choice = form.editors[("corner", "rule")].widget
    assert isinstance(choice, QComboBox)
    choice.setCurrentText("junction-deviation")
    assert "needs it" in note(form, "corner", "junction_deviation_mm")
    type_in(qtbot, form, ("corner", "junction_deviation_mm"), "0.02")
    assert form.save.isEnabled()


def test_the_wheel_changes_no_choice(qtbot: QtBot) -> None:
    form = form_of(qtbot, "printer")
    choice = form.editors[("corner", "rule")].widget
    assert isinstance(choice, QComboBox)
    centre = QPointF(choice.rect().center())
    turned = QWheelEvent(
        centre, choice.mapToGlobal(centre), QPoint(), QPoint(0, -120), Qt.MouseButton.NoButton,
        Qt.KeyboardModifier.NoModifier, Qt.ScrollPhase.NoScrollPhase, False,
    )  # fmt: skip
    QApplication.sendEvent(choice, turned)
    assert choice.currentText() == "jerk"


# ---- saving -----------------------------------------------------------------------------------------


def test_save_as_a_new_card(qtbot: QtBot) -> None:
    form = form_of(qtbot, "printer")
    type_in(qtbot, form, ("name",), "Heron by the window")
    type_in(qtbot, form, ("nozzle_mm",), "0.6")
    assert form.problem.text() == "Saving makes a new card."
    qtbot.mouseClick(form.save, Qt.MouseButton.LeftButton)
    assert form.result() == QDialog.DialogCode.Accepted
    assert form.path == cards_folder("printer") / "heron-by-the-window.toml"
    saved = load_printer("heron by the window")
    assert saved == form.card
    assert saved == msgspec.structs.replace(load_printer("heron"), name="Heron by the window", nozzle_mm=0.6)
    assert "# bore of the nozzle" in form.path.read_text()


def test_save_in_place_of_a_bundled_card_and_again(qtbot: QtBot) -> None:
    form = form_of(qtbot, "filament")
    assert "in place of the bundled card" in form.problem.text()
    type_in(qtbot, form, ("spool_left_g",), "412")
    wait_until_active(form, qtbot)
    qtbot.keyClick(form, Qt.Key.Key_S, Qt.KeyboardModifier.ControlModifier)
    qtbot.waitUntil(lambda: form.path is not None, timeout=2000)
    assert load_filament("pla").spool_left_g == 412
    form = form_of(qtbot, "filament", load_filament("pla"))
    assert "Saving changes your card “PLA”; its comments stay." in form.problem.text()
    type_in(qtbot, form, ("spool_left_g",), "")
    qtbot.mouseClick(form.save, Qt.MouseButton.LeftButton)
    assert load_filament("pla").spool_left_g is None
    assert len(list(cards_folder("filament").glob("*.toml"))) == 1


def test_saving_again_keeps_what_the_person_wrote_in_the_file(qtbot: QtBot) -> None:
    path = new_card("filament", "Grey", "petg")
    text = path.read_text("utf-8").replace("density_g_cm3 = ", "# weighed in May\ndensity_g_cm3 = ")
    path.write_text(text, "utf-8")
    form = form_of(qtbot, "filament", load_filament("grey"))
    type_in(qtbot, form, ("density_g_cm3",), "1.25")
    qtbot.mouseClick(form.save, Qt.MouseButton.LeftButton)
    assert form.path == path
    changed = [
        (a, b) for a, b in zip(text.splitlines(), path.read_text("utf-8").splitlines(), strict=True) if a != b
    ]
    assert len(changed) == 1
    assert changed[0][1].startswith("density_g_cm3 = 1.25")


def test_cautions_line_by_line(qtbot: QtBot) -> None:
    form = form_of(qtbot, "filament")
    editor = form.editors[("cautions",)].widget
    editor.clear()  # type: ignore[attr-defined]
    for sentence in ("Dry it first.", "Close the lid."):
        qtbot.keyClicks(editor, sentence)
        qtbot.keyClick(editor, Qt.Key.Key_Return)
    assert isinstance(form._valid, FilamentCard)
    assert form._valid.cautions == ("Dry it first.", "Close the lid.")


def test_rules_of_checks_and_trade_words(qtbot: QtBot) -> None:
    form = form_of(qtbot, "workshop")
    rules, words = form.editors[("checks",)], form.editors[("words",)]
    assert isinstance(rules, TableEditor)
    assert isinstance(words, TableEditor)
    qtbot.mouseClick(rules.add, Qt.MouseButton.LeftButton)
    for column, text in ((0, "gaps"), (2, "note"), (3, "0.8"), (4, "open work")):
        rules.table.item(0, column).setText(text)
    rules.table.item(0, 1).setCheckState(Qt.CheckState.Checked)
    qtbot.mouseClick(words.add, Qt.MouseButton.LeftButton)
    words.table.item(0, 0).setText("rim line")
    words.table.item(0, 1).setText("outlin")
    assert "outline" in note(form, "words")
    assert not form.save.isEnabled()
    words.table.item(0, 1).setText("outline")
    qtbot.mouseClick(form.save, Qt.MouseButton.LeftButton)
    saved = load_workshop("quayside")
    assert isinstance(saved, WorkshopCard)
    assert saved.words == {"rim line": "outline"}
    rule = saved.checks["gaps"]
    assert (rule.off, rule.severity, rule.limit, rule.reason) == (True, "note", 0.8, "open work")
    form = form_of(qtbot, "workshop", saved)
    assert form._valid == saved
    again = form.editors[("checks",)]
    assert isinstance(again, TableEditor)
    again.table.setCurrentCell(0, 0)
    qtbot.mouseClick(again.remove, Qt.MouseButton.LeftButton)
    assert isinstance(form._valid, WorkshopCard)
    assert form._valid.checks == {}


def test_a_place_that_cannot_be_written_is_a_sentence(
    qtbot: QtBot, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    form = form_of(qtbot, "printer")
    type_in(qtbot, form, ("name",), "Dipper in the yard")
    (tmp_path / "printers").write_text("a file where the folder should be")
    monkeypatch.setenv("BEADLINE_CARDS", str(tmp_path))
    qtbot.mouseClick(form.save, Qt.MouseButton.LeftButton)
    assert form.result() != QDialog.DialogCode.Accepted
    assert "printers" in form.problem.text()
    assert form.isVisible()


def test_cancel_writes_nothing(qtbot: QtBot) -> None:
    form = form_of(qtbot, "printer")
    type_in(qtbot, form, ("nozzle_mm",), "0.8")
    qtbot.keyClick(form, Qt.Key.Key_Escape)
    assert form.result() == QDialog.DialogCode.Rejected
    assert not cards_folder("printer").exists()
    assert form.card == load_printer("heron")


# ---- without a window -------------------------------------------------------------------------------


def test_numbers_as_typed() -> None:
    assert [number_of(text) for text in ("", " 1.5 ", "2", "x", "inf")] == [None, 1.5, 2.0, "x", "inf"]
    assert [number_of(text, True) for text in ("3", "3.5", "many")] == [3, 3.5, "many"]


def test_tables_that_stay_empty_are_left_out() -> None:
    assert assemble({("name",): "Wren", ("plate", "width_mm"): None, ("heat", "room_c"): 20.0}) == {
        "name": "Wren",
        "heat": {"room_c": 20.0},
    }


def test_faults_are_all_found_at_once() -> None:
    card = load_printer("wren")
    raw = plain_card(card)
    raw["nozzle_mm"], raw["tools"], raw["corner"] = -1, "two", {"rule": "leap"}
    made, found = check_card("printer", raw, card)
    assert made is None
    assert set(found) == {("nozzle_mm",), ("tools",), ("corner", "rule")}
    made, found = check_card("printer", plain_card(card), card)
    assert isinstance(made, PrinterCard)
    assert (made, found) == (card, {})


def test_own_cards_of_another_file_name_are_changed_where_they_lie(qtbot: QtBot) -> None:
    path = new_card("printer", "Wren upstairs", "wren")
    moved = path.rename(path.with_name("upstairs.toml"))
    form = form_of(qtbot, "printer", load_printer("wren upstairs"))
    type_in(qtbot, form, ("height_mm",), "180")
    qtbot.mouseClick(form.save, Qt.MouseButton.LeftButton)
    assert form.path == moved
    assert load_printer("wren upstairs").height_mm == 180
