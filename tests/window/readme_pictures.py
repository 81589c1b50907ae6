"""Make the pictures of window, inbox and print log in README.md, light and dark.

    python -m tests.window.readme_pictures [FOLDER]

They are grabbed off screen from the real windows with sample programs and the invented print log;
FOLDER is sample_programs/pictures unless another one is named.
"""

from __future__ import annotations

import os
import shutil
import sys
import tempfile
from pathlib import Path

os.environ["QT_QPA_PLATFORM"] = "offscreen"

from PySide6.QtCore import QSettings
from PySide6.QtGui import QImage
from PySide6.QtWidgets import QApplication, QWidget

from sample_programs import demo_log
from tests.window.pictures import settle
from viewer.shown.window.model.view_state import ViewState
from viewer.shown.window.shell.main_window import MainWindow
from viewer.shown.window.shell.memory import Memory
from viewer.shown.window.style.theme import Look, Theme

ROOT = Path(__file__).parents[2]
FOLDER = ROOT / "sample_programs" / "pictures"
PROGRAM = Path("sample_programs") / "coat_hook_pause.gcode"
LAYER = 12
"""Shows outline, inner loops and infill."""
BEAD = 5
"""The bead that is selected, counted from the beginning of the layer: its line is explained."""
SIZE = (1280, 800)
SMALL = (1280, 600)
"""Of the inbox and the print log."""
WATCHED = Path(tempfile.gettempdir()) / "quayside" / "Monday"
"""Its path stands in the picture of the inbox."""
LOOKS: tuple[Look, ...] = ("light", "dark")
CAME = {
    "coat hook.gcode": "coat_hook_pause.gcode", "knob, third try.gcode": "radiator_knob_arcs.gcode",
    "small parts.gcode": "small_parts_plate.gcode", "dial.gcode": "radiator_dial_two_tools.gcode",
    "bracket from the door.gcode": "faulty/mid-air-start.gcode", "glide.gcode": "faulty/off-plate.gcode",
    "half a tray.gcode": "faulty/cut-short.gcode", "hook, PETG.gcode": "faulty/wrong-heat.gcode",
}  # fmt: skip
"""The samples that lie in the watched folder, by the names that they have there."""


def take(folder: Path) -> list[Path]:
    """Save the pictures of window, inbox and print log, light and dark; returns their paths."""
    application = QApplication.instance() or QApplication(sys.argv[:1])
    assert isinstance(application, QApplication)
    os.chdir(ROOT)  # the program's path stands in the picture
    with tempfile.TemporaryDirectory() as scratch:
        os.environ["BEADLINE_CACHE"] = scratch
        os.environ["BEADLINE_PRINT_LOG"] = str(Path(scratch) / "log.sqlite3")
        memory = Memory(QSettings(str(Path(scratch) / "window.ini"), QSettings.Format.IniFormat))
        window = MainWindow(ViewState(), memory, Theme(application, "light", 1.0))
        window.resize(*SIZE)
        window.show()
        camera = _Camera(application, window, folder)
        _open_program(camera)
        camera.take(window, "window")
        camera.take(_inbox(camera, WATCHED), "inbox")
        camera.take(_print_log(camera), "print_log")
        window.close()
    shutil.rmtree(WATCHED.parent)
    return camera.taken


class _Camera:
    """Saves what widgets look like, light and dark."""

    def __init__(self, application: QApplication, window: MainWindow, folder: Path) -> None:
        self.window, self.folder, self._application = window, folder, application
        self.taken: list[Path] = []

    def settle(self) -> None:
        settle(self._application, self.window)

    def take(self, widget: QWidget, name: str) -> None:
        """Save two pictures of a widget, as small as they get."""
        for look in LOOKS:
            self.window.theme.choose(look)
            self.settle()
            path = self.folder / f"{name}_{look}.png"
            opaque = widget.grab().toImage().convertToFormat(QImage.Format.Format_RGB888)
            assert opaque.save(str(path), "PNG", 0), path  # 0: as small as it gets
            self.taken.append(path)


def _open_program(camera: _Camera) -> None:
    window = camera.window
    window.open_path(PROGRAM)
    camera.settle()
    window.state.show_layer(LAYER)
    for _ in range(BEAD):
        window.state.step_bead(1)


def _inbox(camera: _Camera, folder: Path) -> QWidget:
    """Return the inbox, which watches a folder of samples and of a file that is no program."""
    folder.mkdir(parents=True)
    for name, sample in CAME.items():
        shutil.copyfile(ROOT / "sample_programs" / sample, folder / name)
    shutil.copyfile(FOLDER / "window_light.png", folder / "photo of the part.gcode")
    camera.window.memory.set_watched([str(folder)])
    camera.window.commands.inbox.show()
    page = camera.window.commands.inbox.page
    assert page is not None
    page.resize(*SMALL)
    camera.settle()
    return page


def _print_log(camera: _Camera) -> QWidget:
    """Return the log of the invented prints, at the page of its estimates."""
    demo_log.main(os.environ["BEADLINE_PRINT_LOG"])
    camera.window.commands.log.show_pages()
    pages = camera.window.commands.log.pages
    assert pages is not None
    pages.resize(*SMALL)
    pages.tabs.setCurrentWidget(pages.estimates)
    camera.settle()
    return pages


def main() -> int:
    folder = Path(sys.argv[1]).resolve() if len(sys.argv) > 1 else FOLDER
    folder.mkdir(parents=True, exist_ok=True)
    for path in take(folder):
        print(f"{path} {path.stat().st_size // 1024} KiB")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
