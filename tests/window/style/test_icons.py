"""The icons: every one drawn, in the theme's colour, sharp at one and two pixels a dot, and told apart."""

import re
import tomllib
import xml.etree.ElementTree as ET
from pathlib import Path

import numpy as np
import numpy.typing as npt
import pytest
from PySide6.QtCore import QSize
from PySide6.QtGui import QIcon, QImage
from PySide6.QtWidgets import QApplication, QDialogButtonBox, QStyle

from viewer.errors import OutputError
from viewer.shown.pictures.colours import ui
from viewer.shown.window.actions.table import ACTIONS
from viewer.shown.window.style import icons
from viewer.shown.window.style.icons import PROGRAM_ICON, icon
from viewer.shown.window.style.own_style import DIALOG_ICONS
from viewer.shown.window.style.theme import Theme

ROOT = Path(__file__).parents[3]
NAMES = sorted(path.stem for path in (ROOT / "icons").glob("*.svg"))
PLAIN = [name for name in NAMES if name != PROGRAM_ICON]
OUTSIDE_OF_ACTIONS = {
    "answer_yes",
    "answer_not_known",
    "severity_stop",
    "severity_look",
    "severity_note",
    "find_up",
    "find_down",
    PROGRAM_ICON,
}


def pixels(
    made: QIcon, size: int, ratio: float = 1.0, mode: QIcon.Mode = QIcon.Mode.Normal
) -> npt.NDArray[np.uint8]:
    """(height, width, 4): red, green, blue, alpha."""
    pixmap = made.pixmap(QSize(size, size), ratio, mode)
    image = pixmap.toImage().convertToFormat(QImage.Format.Format_RGBA8888)
    rows = np.frombuffer(bytes(image.constBits()), np.uint8).reshape(image.height(), image.bytesPerLine())
    return rows[:, : 4 * image.width()].reshape(image.height(), image.width(), 4)


def test_all_that_are_asked_for_are_there_and_no_others(qapp: QApplication) -> None:
    assert {path.stem for path in icons._folder().glob("*.svg")} == set(NAMES)
    dialogs = {name for name, _ in DIALOG_ICONS.values()}
    assert {action.icon for action in ACTIONS if action.icon} | OUTSIDE_OF_ACTIONS | dialogs == set(NAMES)


def test_dialogs_have_our_icons(qapp: QApplication) -> None:
    theme = Theme(qapp, "dark")
    box = QDialogButtonBox(QDialogButtonBox.StandardButton.Ok | QDialogButtonBox.StandardButton.Cancel)
    for kind, name in ((box.StandardButton.Ok, "done"), (box.StandardButton.Cancel, "leave")):
        shown = box.button(kind).icon()
        assert shown.isNull() or (pixels(shown, 24) == pixels(icon(name, True), 24)).all()
    for kind, (name, colour) in DIALOG_ICONS.items():
        assert (pixels(qapp.style().standardIcon(kind), 24) == pixels(icon(name, True, colour), 24)).all()
    theme.choose("light")
    folder = qapp.style().standardIcon(QStyle.StandardPixmap.SP_DirIcon)
    assert (pixels(folder, 24) == pixels(icon("folder", False), 24)).all()


@pytest.mark.parametrize("name", NAMES)
def test_each_is_drawn_inside_its_grid(qapp: QApplication, name: str) -> None:
    drawn = pixels(icon(name, False), 48)[:, :, 3] > 64
    assert drawn.shape == (48, 48)
    assert 0.06 < drawn.mean() < 0.55
    rows, columns = np.flatnonzero(drawn.any(axis=1)), np.flatnonzero(drawn.any(axis=0))
    assert rows[0] >= 1 and rows[-1] <= 46 and columns[0] >= 1 and columns[-1] <= 46  # nothing is cut off
    assert max(np.ptp(rows), np.ptp(columns)) >= 28  # and it fills its place


@pytest.mark.parametrize("dark", [False, True])
@pytest.mark.parametrize("name", PLAIN)
def test_each_has_the_themes_text_colour(qapp: QApplication, name: str, dark: bool) -> None:
    image = pixels(icon(name, dark), 48)
    solid = image[image[:, :, 3] == 255][:, :3]
    assert len(solid) > 50
    assert np.abs(solid.astype(int) - ui(dark)["text"]).max() <= 1


def test_a_severity_has_its_own_colour(qapp: QApplication) -> None:
    image = pixels(icon("severity_stop", True, "stop"), 32)
    solid = image[image[:, :, 3] == 255][:, :3]
    assert np.abs(solid.astype(int) - ui(True)["stop"]).max() <= 1


def test_disabled_ones_are_fainter(qapp: QApplication) -> None:
    for name in NAMES:
        usual, faint = (
            pixels(icon(name, False), 24, 1.0, mode) for mode in (QIcon.Mode.Normal, QIcon.Mode.Disabled)
        )
        assert faint[:, :, 3].max() < 0.7 * usual[:, :, 3].max()


def test_two_pixels_a_dot_are_drawn_and_not_blown_up(qapp: QApplication) -> None:
    one, two = pixels(icon("measure", False), 20), pixels(icon("measure", False), 20, 2.0)
    assert (one.shape, two.shape) == ((20, 20, 4), (40, 40, 4))
    assert (two != one.repeat(2, axis=0).repeat(2, axis=1)).any()
    partly = [((image[:, :, 3] > 16) & (image[:, :, 3] < 240)).mean() for image in (one, two)]
    assert partly[1] < partly[0]  # a finer edge


@pytest.mark.parametrize("size", [16, 20])
def test_no_two_look_alike_when_small(qapp: QApplication, size: int) -> None:
    drawn = {name: pixels(icon(name, False), size)[:, :, 3].astype(float) / 255 for name in NAMES}
    for at, first in enumerate(NAMES):
        for second in NAMES[at + 1 :]:
            apart = np.abs(drawn[first] - drawn[second]).sum() / max(drawn[first].sum(), drawn[second].sum())
            assert apart > 0.3, (first, second)


@pytest.mark.parametrize("name", NAMES)
def test_files_are_simple_and_titled(name: str) -> None:
    text = (ROOT / "icons" / f"{name}.svg").read_text()
    drawing = ET.fromstring(text)
    space = "{http://www.w3.org/2000/svg}"
    assert drawing.get("viewBox") == "0 0 24 24"
    assert (drawing.findtext(f"{space}title") or "").strip()
    assert {child.tag.removeprefix(space) for child in drawing} <= {"title", "path", "circle", "rect"}
    colours = set(re.findall(r"#[0-9a-fA-F]{3,6}", text))
    assert len(colours) == (2 if name == PROGRAM_ICON else 0)


def test_an_icon_that_is_not_there_is_a_sentence(qapp: QApplication) -> None:
    with pytest.raises(
        OutputError, match=r"icon .*no_such\.svg could not be read .*; install the program again"
    ):
        icon("no_such", False)


def test_the_package_brings_them_where_they_are_looked_for(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    build = tomllib.loads((ROOT / "pyproject.toml").read_text())["tool"]["hatch"]["build"]["targets"]["wheel"]
    assert build["force-include"]["icons"] == "viewer/shown/window/icons"
    home = tmp_path / "viewer" / "shown" / "window"
    (home / "icons").mkdir(parents=True)
    monkeypatch.setattr(icons, "__file__", str(home / "style" / "icons.py"))
    icons._folder.cache_clear()
    assert icons._folder() == home / "icons"
    (home / "icons").rmdir()
    icons._folder.cache_clear()
    assert icons._folder() == tmp_path / "icons"
    icons._folder.cache_clear()
